"""Notes outside the choruses, notes over no chord, names, and the stretch that is judged."""

from __future__ import annotations

import pytest

from linecheck.label import label_line
from linecheck.music.form import Form
from linecheck.terms import Key, Meter
from tests.label_lines import chart_of, label, line_of, notes_of, pitch_of, placed

CHART = chart_of("| F7 | Bb7 |", "| Ebmaj7 | F7 |", key=Key("Bb", minor=False))
TWO_BARS = "F2 A2 C3 A2 Bb2 D3 F3 D3 "


def test_a_pickup_has_a_name_and_nothing_else():
    note = label((placed(-12, pitch_of("E2")), placed(0, pitch_of("F2"))), CHART).notes[0]
    assert (note.place.chorus, note.place.bar, note.place.beat) == (0, None, None)
    assert (note.section, note.chord, note.degree, note.function) == (None, None, None, None)
    assert (note.approach, note.landing, note.name) == (None, False, "E2")
    flat = label((placed(-12, pitch_of("Gb2")), placed(0, pitch_of("F2"))), CHART).notes[0]
    assert flat.name == "Gb2"


def test_the_intro_is_labelled_as_chorus_0():
    chart = chart_of("| F7 |", intro="| Gm7 | C7 |")
    notes = label(notes_of("G2 Bb2 D3 Db3 C3 E3 G3 E3 F3", step=-96), chart).notes
    assert [(n.place.chorus, n.place.bar, n.section) for n in notes[::4]] == [
        (0, 1, "I"),
        (0, 2, "I"),
        (1, 1, "A"),
    ]
    assert notes[3].function == "approach"
    assert notes[4].landing


def test_a_last_hit_on_the_one_after_the_form():
    note = label(TWO_BARS * 2 + "F2", CHART).notes[-1]
    assert (note.place.chorus, note.place.bar, note.place.beat) == (2, 1, 1.0)
    assert (note.function, note.chord, note.landing) == ("root", "F7", True)


def test_the_ending_is_the_chorus_after_the_last():
    chart = chart_of("| F7 |", ending="| Bb7 | F6 |")
    notes = label("F2 A2 C3 A2 Bb2 D3 F3 D3 F2:4", chart).notes
    assert [(n.place.chorus, n.place.bar, n.section) for n in notes[4::4]] == [
        (2, 1, "T"),
        (2, 2, "T"),
    ]


def test_over_no_chord_there_is_a_name_and_no_function():
    note = label("F2 A2 C3 A2 Gb2", chart_of("| F7 | N.C. |")).notes[4]
    assert (note.chord, note.function, note.degree, note.approach) == ("N.C.", None, None, None)
    assert note.function_in_own_place is None


def test_names_and_degrees_follow_the_chord():
    notes = label("F2 Eb3 B2 Gb2 Bb2 C#3 Ab2 D3", CHART).notes
    assert [n.name for n in notes] == ["F2", "Eb3", "B2", "Gb2", "Bb2", "C#3", "Ab2", "D3"]
    assert [n.degree for n in notes] == ["1", "b7", "#11", "b9", "1", "#9", "b7", "3"]


def test_a_form_for_another_number_of_choruses_is_laid_out_anew():
    line = line_of(notes_of(TWO_BARS * 2 + "F2"), CHART)
    for choruses in (None, 1, 3):
        assert label_line(line, Form(CHART, choruses), CHART.key).notes[-1].place.chorus == 2


def test_a_line_of_no_notes():
    labels = label((), CHART)
    assert labels.notes == ()
    assert [landing.counted for landing in labels.landings] == [False] * 4
    assert (labels.judged_from, labels.judged_to) == (0, 0)


# ---- the stretch that is judged --------------------------------------------------------------


def judged(notes, choruses=1, chart=CHART):
    found = notes if isinstance(notes, tuple) else notes_of(notes)
    labels = label(found, chart, choruses)
    return labels.judged_from, labels.judged_to


@pytest.mark.parametrize(
    ("notes", "stretch"),
    [
        (TWO_BARS * 2, (0, 192)),
        (TWO_BARS + "Eb2", (0, 144)),  # cut off: to the end of its bar
        (TWO_BARS + "Eb2:5", (0, 192)),  # held into the last bar
        ("F2:5 -:1", (0, 96)),
        ("-:4 " + TWO_BARS, (48, 144)),
        ("F2 -:14 F2", (0, 192)),
        ("F2 -:11 F2x", (0, 192)),  # a ghost is playing too
    ],
)
def test_from_the_bar_where_it_begins_to_the_bar_where_it_ends(notes, stretch):
    assert judged(notes) == stretch


def test_a_note_that_only_rings_into_a_bar_does_not_reach_it():
    assert judged((placed(36, 41, 14),)) == (0, 48)
    assert judged((placed(36, 41, 18),)) == (0, 96)


def test_what_runs_on_after_the_form_shows_that_it_was_played_out():
    assert judged("F2 -:15 F2") == (0, 192)
    assert judged("F2 -:3") == (0, 48)


def test_pickups_and_intro_do_not_count():
    assert judged((placed(-12, 40), placed(0, 41))) == (0, 48)
    assert judged((placed(-12, 40),)) == (0, 0)


def test_in_a_waltz():
    chart = chart_of("| F7 | Bb7 |", meter=Meter(3, 4))
    assert judged("F2 A2 C3", chart=chart) == (0, 36)
