"""Which notes are ghosts, and that a take without dynamics has none."""

from __future__ import annotations

from dataclasses import replace

import pytest

import linecheck
from linecheck.label.ghost_notes import find_ghosts
from tests.label_lines import chart_of, label, line_of, notes_of, placed

CHART = chart_of("| F7 | Bb7 | F7 | F7 |")


def ghosts(notes, grid="tempo-map"):
    return [
        i for i, ghost in enumerate(find_ghosts(line_of(tuple(notes), CHART, grid=grid))) if ghost
    ]


def line_with(velocity, steps, loud=80, length=11):
    notes = [placed(12 * beat, 40, length, loud) for beat in range(12)]
    notes[6] = placed(72, 40, steps, velocity)
    return notes


@pytest.mark.parametrize(
    ("velocity", "steps", "is_ghost"),
    [
        (30, 2, True),
        (30, 6, True),  # very soft: up to half a beat
        (30, 7, False),
        (40, 4, True),
        (46, 4, False),
        (46, 3, True),  # soft: short as well
        (46, 5, False),
        (50, 1, False),  # not soft enough
        (80, 1, False),
    ],
)
def test_very_soft_against_its_neighbours_and_very_short(velocity, steps, is_ghost):
    assert ghosts(line_with(velocity, steps)) == ([6] if is_ghost else [])


def test_the_level_of_the_recording_is_no_matter():
    assert ghosts(line_with(15, 2, loud=40)) == [6]
    assert ghosts(line_with(30, 2, loud=40)) == []


@pytest.mark.parametrize("velocity", [1, 20, 64, 127])
def test_a_take_of_one_velocity_has_no_ghosts(velocity):
    notes = [placed(6 * i, 40, 1 + i % 5, velocity) for i in range(20)]
    assert ghosts(notes) == []


def test_a_quiet_passage_is_not_a_passage_of_ghosts():
    notes = [placed(3 * i, 40, 2, 90 if i < 30 else 40) for i in range(60)]
    found = ghosts(notes)
    assert not [i for i in found if i > 38]


def test_a_run_of_ghosts_between_notes():
    notes = [placed(4 * i, 40, 3 if i % 3 == 0 else 1, 85 if i % 3 == 0 else 28) for i in range(30)]
    assert ghosts(notes) == [i for i in range(30) if i % 3]


def test_a_whole_stretch_of_ghosts():
    notes = [placed(12 * i, 40, 11, 80) for i in range(40)]
    notes[20:] = [placed(12 * i, 40, 1, 20) for i in range(20, 40)]
    assert ghosts(notes) == list(range(20, 40))


def test_short_is_a_share_of_the_beat_at_any_tempo():
    line = line_of(tuple(line_with(30, 6)), CHART)
    for factor in (0.25, 4.0):
        slower = replace(
            line,
            notes=tuple(
                replace(n, onset_s=n.onset_s * factor, duration_s=n.duration_s * factor)
                for n in line.notes
            ),
            beats_s=tuple(beat * factor for beat in line.beats_s),
        )
        assert find_ghosts(slower) == find_ghosts(line)


def test_length_is_by_the_clock_not_by_the_place():
    # Struck late for its place: it stops eight steps after it but sounds for two.
    late = replace(placed(72, 40, 8, 46), duration_s=2 / 12 * 0.5)
    notes = line_with(46, 2)
    notes[6] = late
    assert ghosts(notes) == [6]


def test_in_a_written_line_the_notation_says_it():
    assert ghosts(line_with(8, 1), grid="written") == []  # a very short note in pppp
    for steps in (1, 3, 11):  # however long, however short the beat
        notes = line_with(80, steps)
        notes[6] = replace(notes[6], ghost=True)
        assert ghosts(notes, grid="written") == [6]


def test_a_crossed_head_in_a_score_is_a_ghost(tmp_path):
    from linecheck.place import place_line
    from linecheck.read.take_written import read_take_abc

    path = tmp_path / "line.abc"
    path.write_text(
        "X:1\nT:Made for a test\nM:4/4\nL:1/4\nK:F clef=bass\n"
        "!ppp!F, A, C [K: style=x] A, [K: style=normal] | F, A, C A, |\n",
        encoding="utf-8",
    )
    line = place_line(read_take_abc(path), CHART)
    assert [i for i, ghost in enumerate(find_ghosts(line)) if ghost] == [3]


@pytest.mark.parametrize(("meter", "unit"), [("12/16", 16), ("4/4", 4), ("4/2", 2)])
def test_a_crossed_head_is_a_ghost_in_every_meter(tmp_path, meter, unit):
    chart, line = tmp_path / "chart.toml", tmp_path / "line.abc"
    chart.write_text(
        f'title = "T"\nkey = "C"\nmeter = "{meter}"\nform = ["A"]\n[sections]\nA = "| C6 | C6 |"\n',
        encoding="utf-8",
    )
    bar = "C E G A " * (3 if unit == 16 else 1)
    line.write_text(
        f"X:1\nM:{meter}\nL:1/{unit}\nK:C clef=bass\n!pppp![K: style=x]C [K: style=normal]{bar[1:]}"
        f"| {bar.replace('A', 'A/4 A/4 A/4 A/4', 1)} |\n",
        encoding="utf-8",
    )
    found = linecheck.audit(chart, line).labels.notes
    assert [i for i, note in enumerate(found) if note.ghost] == [0]


def test_without_beats_the_places_give_the_length():
    line = replace(line_of(tuple(line_with(30, 2)), CHART), beats_s=())
    assert [i for i, ghost in enumerate(find_ghosts(line)) if ghost] == [6]


def test_a_ghost_is_listed_and_not_judged():
    note = label(notes_of("F2 A2:0.5 A2:0.5x C3 D3"), CHART).notes[2]
    assert note.ghost
    assert (note.function, note.function_in_own_place, note.approach) == (None, None, None)
    assert (note.chord, note.degree, note.name) == ("F7", "3", "A2")
