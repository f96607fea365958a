"""The stage as a whole: takes made of a plain walking blues, to a click, free and written."""

from dataclasses import replace

import numpy as np
import pytest

from linecheck.faults import OptionFault, TakeFault
from linecheck.place import place_line
from linecheck.read.chart_toml import read_chart_toml
from linecheck.terms import Chart, FileMeter, Meter, Take, TakeNote, TempoMap

BLUES = """
title = "Pewter Ladle"
key = "F"
form = ["A"]
[sections]
A = "| F7 | Bb7 | F7 | Cm7 F7 | Bb7 | Bdim7 | F7 | Am7b5 D7b9 | Gm7 | C7 | F7 D7 | Gm7 C7 |"
"""
LINE = (
    *(29, 33, 36, 33, 34, 38, 41, 40, 41, 36, 33, 35, 36, 34, 29, 33),
    *(34, 32, 29, 33, 35, 38, 41, 40, 41, 39, 36, 34, 33, 36, 38, 42),
    *(43, 41, 38, 37, 36, 40, 43, 40, 41, 36, 38, 42, 43, 38, 36, 28),
)
QUARTER_S = 0.5


@pytest.fixture
def chart(tmp_path) -> Chart:
    path = tmp_path / "kettle.toml"
    path.write_text(BLUES, encoding="utf-8")
    return read_chart_toml(path)


def take_of(notes: list[tuple[float, float, int]], *, kind: str = "played") -> Take:
    """A take at 120 from (onset, length, pitch) in quarters, with 5 ms of human error."""
    error = np.random.default_rng(7).normal(0, 0.01, len(notes)) if kind == "played" else [0.0]
    return Take(
        source="kettle.mid",
        kind=kind,
        notes=tuple(
            TakeNote(
                max(0.0, at + late) * QUARTER_S,
                length * QUARTER_S,
                pitch,
                80,
                max(0.0, at + late),
                length,
            )
            for (at, length, pitch), late in zip(
                notes, np.resize(error, len(notes)).tolist(), strict=True
            )
        ),
        tempo_map=TempoMap((0.0,), (0.0,), (QUARTER_S,)),
        meters=(FileMeter(0.0, Meter(4, 4)),),
    )


def walk(choruses: int, start: float = 0.0) -> list[tuple[float, float, int]]:
    return [(start + i, 0.9, LINE[i % 48]) for i in range(48 * choruses)]


def freely(take: Take) -> Take:
    """The same playing with a wandering tempo, its file's beats left as they were."""
    at = np.array([n.onset_s for n in take.notes])
    warped = at + 1.1 * np.sin(at / 9)
    return replace(
        take,
        notes=tuple(
            replace(n, onset_s=float(s), onset_quarters=float(s) / QUARTER_S)
            for n, s in zip(take.notes, warped - warped[0], strict=True)
        ),
    )


def test_a_click_take_is_placed_by_the_files_own_beats(chart: Chart) -> None:
    line = place_line(take_of(walk(2)), chart)
    assert [n.step for n in line.notes] == [12 * i for i in range(96)]
    assert (line.grid, line.choruses, line.tempo_bpm) == ("tempo-map", 2, 120.0)
    assert line.beats_s[:2] == (0.0, 0.5)
    assert len(line.beats_s) == 96
    assert line.losses == ()
    assert line.placement_spread_ms == pytest.approx(5, abs=2)


@pytest.mark.parametrize(
    ("before", "bars"),
    [
        ([], 0),
        ([], 2),  # silence
        ([(float(i), 0.2, 40) for i in range(4)], 1),  # a count-in
        ([(3.0, 0.9, 28)], 1),  # a pickup
    ],
)
def test_beat_one_comes_after_silence_a_count_in_or_a_pickup(
    chart: Chart, before: list[tuple[float, float, int]], bars: int
) -> None:
    line = place_line(take_of([*before, *walk(2, 4.0 * bars)]), chart)
    assert line.beats_s[0] == 4.0 * bars * QUARTER_S
    assert [n.step for n in line.notes[len(before) :]] == [12 * i for i in range(96)]
    assert all(n.step < 0 for n in line.notes[: len(before)])


@pytest.mark.parametrize("click", [True, False])
def test_hits_that_count_in_to_the_middle_of_the_form_are_not_of_the_form(
    chart: Chart, click: bool
) -> None:
    middle = [(at - 12.0, lasts, pitch) for at, lasts, pitch in walk(3, 0.0)[16:]]
    take = take_of([*((float(i), 0.2, 40) for i in range(4)), *middle])
    line = place_line(take if click else freely(take), chart)
    assert [n.step for n in line.notes[4:]] == [12 * i for i in range(16, 144)]
    assert all(n.step < 0 for n in line.notes[:4])
    assert line.losses == ()
    (span,) = line.spans
    assert (span.step, span.offset_beats) == (16 * 12, 0.0)
    (told,) = (text for text in line.warnings if "count-in" in text)
    assert told.startswith("the line begins at bar 5 of the form after a count-in of ")


def test_beat_one_given_before_a_count_in_leaves_its_hits_out(chart: Chart) -> None:
    middle = [(at - 12.0, lasts, pitch) for at, lasts, pitch in walk(3, 0.0)[16:]]
    take = freely(take_of([*((float(i), 0.2, 40) for i in range(4)), *middle]))
    found = place_line(take, chart)
    given = place_line(take, chart, first_beat_one=f"{found.beats_s[0]:.2f}s")
    assert [n.step for n in given.notes] == [n.step for n in found.notes]
    from_the_hits = place_line(take, chart, first_beat_one="0.0s")
    assert [n.step for n in from_the_hits.notes[:5]] == [0, 12, 24, 36, 48]


def test_a_count_in_that_was_taken_is_said(chart: Chart) -> None:
    counted = take_of([*((float(i), 0.2, 40) for i in range(4)), *walk(2, 4.0)])
    said = "chorus 1 begins after a count-in of"
    assert place_line(counted, chart).warnings == (f"{said} one bar",)
    assert f"{said} 4 notes" in place_line(freely(counted), chart).warnings
    assert place_line(take_of(walk(2, 8.0)), chart).warnings == ()


@pytest.mark.parametrize("click", [None, False])
def test_a_line_that_begins_in_the_middle_of_the_form_is_said(
    chart: Chart, click: bool | None
) -> None:
    late = take_of([(at - 16.0, length, pitch) for at, length, pitch in walk(4)[16:]])
    line = place_line(late, chart, click=click)
    assert line.notes[0].step == 16 * 12
    assert "the line begins at bar 5 of the form" in line.warnings


def test_a_last_hit_on_the_one_adds_no_chorus(chart: Chart) -> None:
    line = place_line(take_of([*walk(2), (96.0, 3.0, 29)]), chart)
    assert line.choruses == 2
    assert line.notes[-1].step == 96 * 12


def test_a_free_take_finds_its_beats_and_says_so(chart: Chart) -> None:
    take = freely(take_of(walk(4)))
    line = place_line(take, chart)
    assert line.grid == "tracked"
    assert [n.step for n in line.notes] == [12 * i for i in range(192)]
    assert any("not played to the click" in w for w in line.warnings)
    assert np.abs(np.array(line.beats_s[:192]) - [n.onset_s for n in take.notes]).max() < 0.03


def test_click_and_free_can_be_said(chart: Chart) -> None:
    take = take_of(walk(4))
    assert place_line(take, chart, click=False).grid == "tracked"
    assert place_line(freely(take), chart, click=True).grid == "tempo-map"


def test_a_written_line_is_placed_as_it_is_written(chart: Chart) -> None:
    notes = [*walk(1), (48.0, 2.0, 29), (50.5, 0.5, 33)]
    line = place_line(take_of(notes, kind="written"), chart)
    assert line.grid == "written"
    assert [n.step for n in line.notes][-2:] == [48 * 12, 50 * 12 + 6]
    assert line.placement_spread_ms == 0


@pytest.mark.parametrize(("given", "first_s"), [("2", 2.0), ("1:3", 1.0), ("2.1s", 2.0)])
def test_a_given_beat_one_is_taken_on_a_grid(chart: Chart, given: str, first_s: float) -> None:
    line = place_line(take_of(walk(2)), chart, first_beat_one=given)
    assert line.beats_s[0] == first_s
    assert line.notes[0].step == -round(first_s / QUARTER_S) * 12


def test_a_given_beat_one_is_taken_in_a_free_take(chart: Chart) -> None:
    take = freely(take_of(walk(3)))
    line = place_line(take, chart, first_beat_one=f"{take.notes[8].onset_s:.2f}s")
    assert line.notes[8].step == 0


def test_a_free_take_has_no_bars_to_give(chart: Chart) -> None:
    with pytest.raises(OptionFault, match="in seconds"):
        place_line(freely(take_of(walk(3))), chart, first_beat_one="2")


def test_a_take_shorter_than_a_bar_is_refused(chart: Chart) -> None:
    with pytest.raises(TakeFault, match="at least one bar"):
        place_line(take_of(walk(1)[:3]), chart)


@pytest.mark.parametrize("click", [None, True, False])
@pytest.mark.parametrize("notes", range(1, 10))
def test_few_notes_of_one_pitch_are_a_take_or_too_short(
    chart: Chart, notes: int, click: bool | None
) -> None:
    take = take_of([(float(i), 0.9, 29) for i in range(notes)])
    try:
        line = place_line(take, chart, click=click)
    except TakeFault as fault:
        assert "at least one bar" in str(fault) or "no steady beat" in str(fault)  # noqa: PT017
    else:
        assert len(line.notes) == notes >= 4


def test_four_quarter_notes_fill_a_bar(chart: Chart) -> None:
    assert place_line(take_of(walk(1)[:4]), chart).choruses == 1


def test_clock_time_has_no_click(chart: Chart) -> None:
    take = replace(take_of(walk(1)), tempo_map=None)
    with pytest.raises(OptionFault, match="no beats"):
        place_line(take, chart, click=True)


def test_tempo_changes_no_place(chart: Chart) -> None:
    take = take_of(walk(2))
    slow = replace(
        take,
        tempo_map=TempoMap((0.0,), (0.0,), (1.0,)),
        notes=tuple(
            replace(n, onset_s=n.onset_s * 2, duration_s=n.duration_s * 2) for n in take.notes
        ),
    )
    fast, slower = place_line(take, chart), place_line(slow, chart)
    assert [n.step for n in fast.notes] == [n.step for n in slower.notes]
    assert fast.spans == slower.spans


# Four bars in quarters, then two times the same in eighths: a beat is of two lengths.
MIXED = """
title = "Cellar Steps"
key = "F"
form = ["A", "B"]
[sections]
A = "| F7 | Bb7 | F7 | Cm7 F7 |"
B = { meter = "6/8", bars = "| Gm7 | C7 | F7 | Bb7 | F7 | C7 | F7 | F7 |" }
"""
MIXED_QUARTERS = 4 * 4 + 8 * 3
MIXED_STEPS = (4 * 4 + 8 * 6) * 12


@pytest.fixture
def mixed(tmp_path) -> Chart:
    path = tmp_path / "cellar.toml"
    path.write_text(MIXED, encoding="utf-8")
    return read_chart_toml(path)


def walk_mixed(choruses: int) -> list[tuple[float, float, int]]:
    """Four quarters in a bar of 4/4, six eighths in one of 6/8, of the chords that stand there."""
    notes: list[tuple[float, float, int]] = []
    at = 0.0
    for _ in range(choruses):
        for root, last in ((29, 4), (34, 4), (29, 4), (36, 5)):
            notes += [(at + i, 0.9, root + up) for i, up in enumerate((0, 4, 7, last))]
            at += 4
        for root in (31, 36, 29, 34, 29, 36, 29, 29):
            third = 3 if root == 31 else 4
            moves = (0, third, 7, 10, 7, third)
            notes += [(at + i / 2, 0.45, root + up) for i, up in enumerate(moves)]
            at += 3
    return notes


def mixed_meters(choruses: int) -> tuple[FileMeter, ...]:
    return tuple(
        FileMeter(float(MIXED_QUARTERS * chorus + after), meter)
        for chorus in range(choruses)
        for after, meter in ((0, Meter(4, 4)), (16, Meter(6, 8)))
    )


def late(take: Take, by_s: float) -> Take:
    """Every note later by as much, and none of it by chance."""
    quarters = [round(2 * (n.onset_quarters or 0.0)) / 2 + by_s / QUARTER_S for n in take.notes]
    return replace(
        take,
        notes=tuple(
            replace(n, onset_s=at * QUARTER_S, onset_quarters=at)
            for n, at in zip(take.notes, quarters, strict=True)
        ),
    )


def test_a_beat_of_another_length_is_as_late_in_milliseconds(mixed: Chart) -> None:
    take = replace(late(take_of(walk_mixed(3)), 0.02), meters=mixed_meters(3))
    line = place_line(take, mixed)
    assert [n.step for n in line.notes] == [12 * i for i in range(3 * MIXED_STEPS // 12)]
    assert [n.placement_ms for n in line.notes] == pytest.approx([20.0] * len(line.notes), abs=1.5)
    assert line.placement_spread_ms == pytest.approx(0.0, abs=0.5)


def test_a_beat_of_another_length_is_no_other_tempo(mixed: Chart) -> None:
    take = replace(take_of(walk_mixed(3)), meters=mixed_meters(3))
    assert place_line(take, mixed).feel is not None
    for feel in (place_line(take, mixed).feel.whole, *place_line(take, mixed).feel.choruses):
        assert feel.tempo_change == pytest.approx(0.0, abs=0.02)
        # 64 beats in 40 quarter notes
        assert feel.tempo * MIXED_QUARTERS * 12 / MIXED_STEPS == pytest.approx(120, abs=1)


def test_a_free_take_keeps_its_place_where_the_beat_changes(mixed: Chart) -> None:
    take = freely(take_of(walk_mixed(4)))
    line = place_line(take, mixed)
    assert (line.grid, line.choruses, line.losses) == ("tracked", 4, ())
    assert [n.step for n in line.notes] == [12 * i for i in range(4 * MIXED_STEPS // 12)]
    away = np.array(line.beats_s[: len(take.notes)]) - [n.onset_s for n in take.notes]
    assert np.abs(away).max() < 0.04
    given = place_line(take, mixed, first_beat_one=f"{take.notes[64].onset_s:.2f}s")
    assert given.notes[64].step == 0


def test_a_line_that_begins_where_the_beat_is_another_is_said(mixed: Chart) -> None:
    notes = [(at - 16, length, pitch) for at, length, pitch in walk_mixed(3)[16:]]
    meters = mixed_meters(3)[1:]
    take = replace(
        take_of(notes), meters=tuple(replace(m, quarters=m.quarters - 16) for m in meters)
    )
    line = place_line(take, mixed)
    assert line.notes[0].step == 16 * 12
    assert "the line begins at bar 5 of the form" in line.warnings
