"""Notes pushed over a landing: which of them are anticipations, and what they are judged by."""

from __future__ import annotations

import pytest

from linecheck.music.form import Form
from linecheck.terms import Meter
from tests.label_lines import FOUR_FOUR, chart_of, label, line_of, notes_of, pitch_of, placed

CHART = "| F7 | Bb7 | Bb7 | F7 |"
D3, F3 = pitch_of("D3"), pitch_of("F3")


def pushed(step, end_step, *more, bars=CHART, meter=FOUR_FOUR, before=12):
    """The label of a D3 from ``step`` to ``end_step``, with an F2 before and ``more`` after."""
    notes = (placed(0, pitch_of("F2"), before), placed(step, D3, end_step - step), *more)
    return label(notes, chart_of(bars, meter=meter)).notes[1]


@pytest.mark.parametrize(
    ("before", "pushes"),
    [(2, False), (3, True), (4, True), (6, True), (8, True), (9, False), (12, False)],
)
def test_the_off_beat_before_is_the_nearest_eighth(before, pushes):
    note = pushed(48 - before, 60)
    assert note.anticipation is pushes
    assert note.function == ("third" if pushes else "tension")
    assert note.chord == ("Bb7" if pushes else "F7")


@pytest.mark.parametrize(
    ("after", "held"), [(-1, False), (0, False), (2, False), (3, True), (40, True)]
)
def test_held_over_means_heard_over(after, held):
    assert pushed(42, 48 + after).anticipation is held


@pytest.mark.parametrize("attack", [46, 48, 50])
def test_another_attack_at_the_change_makes_it_none(attack):
    note = pushed(42, 60, placed(attack, F3))
    assert (note.anticipation, note.chord) == (False, "F7")


def test_a_ghost_at_the_change_is_an_attack():
    assert not pushed(42, 60, placed(48, F3, 1, velocity=15)).anticipation


def test_an_attack_after_the_change_is_no_matter():
    assert pushed(42, 51, placed(51, F3)).anticipation
    assert pushed(42, 54, placed(54, F3)).anticipation


def test_where_no_chord_changes_it_is_no_anticipation_but_meets_the_landing():
    notes = (placed(90, D3, 18),)
    labels = label(notes, chart_of(CHART))
    assert not labels.notes[0].anticipation
    landing = labels.landings[2]
    assert (landing.met, landing.anticipated, landing.function) == (True, True, "third")


def test_one_chord_in_two_spellings_is_no_change():
    assert not pushed(42, 60, bars="| Bb7 | Bbdom7 |").anticipation
    assert pushed(42, 60, bars="| Bb7 | Bbm7 |").anticipation


def test_inside_the_bar():
    assert pushed(18, 36, bars="| F7 Bb7 |").anticipation
    assert not pushed(18, 36, bars="| F7 | Bb7 |").anticipation


def test_over_the_end_of_the_chorus():
    chart = chart_of("| Bb7 | F7 |")
    notes = (placed(90, pitch_of("Bb2"), 24), placed(186, pitch_of("Bb2"), 24))
    labels = label(notes, chart, choruses=2)
    assert [note.anticipation for note in labels.notes] == [True, True]
    assert labels.notes[0].place.chorus == 1
    assert labels.landings[2].anticipated


def test_no_chord_is_not_anticipated_but_a_chord_after_it_is():
    into, out_of = pushed(42, 60, bars="| Bb7 | N.C. |"), pushed(42, 60, bars="| N.C. | Bb7 |")
    assert (into.anticipation, into.function) == (False, "third")
    assert (out_of.anticipation, out_of.function) == (True, "third")


def test_where_the_beat_is_an_eighth_the_eighth_before_is_a_beat_before():
    assert pushed(60, 84, bars="| F7 | Bb7 |", meter=Meter(6, 8)).anticipation
    assert not pushed(48, 84, bars="| F7 | Bb7 |", meter=Meter(6, 8)).anticipation
    assert not pushed(36, 60, bars="| F7 | Bb7 |", meter=Meter(4, 4)).anticipation


def test_a_pickup_pushed_over_the_first_beat_one_meets_it_and_stays_a_pickup():
    labels = label((placed(-6, pitch_of("F2"), 18),), chart_of(CHART))
    note, landing = labels.notes[0], labels.landings[0]
    assert (note.place.chorus, note.place.bar, note.place.beat) == (0, None, None)
    assert (note.function, note.chord, note.anticipation) == (None, None, False)
    assert (landing.met, landing.anticipated, landing.function, landing.note) == (
        True,
        True,
        "root",
        0,
    )


def test_early_by_jitter_is_not_pushed():
    notes = (placed(48, D3, placement_ms=-25.0),)
    assert not label(notes, chart_of(CHART)).notes[0].anticipation


def test_in_its_own_place_a_note_is_pushed_by_the_chords_there():
    from linecheck.label import label_line
    from linecheck.terms import FormSpan

    # One bar ahead all the way: the D pushed from bar 1 stands before bar 3 of Bb7 Bb7, no change.
    chart = chart_of(CHART)
    line = line_of((placed(42, D3, 18),), chart, spans=(FormSpan(0, 192, 4.0, 1.0),))
    note = label_line(line, Form(chart, 1), chart.key).notes[0]
    assert note.anticipation
    assert (note.function, note.function_in_own_place) == ("third", "third")
    line = line_of((placed(90, D3, 18),), chart, spans=(FormSpan(0, 192, 4.0, 1.0),))
    note = label_line(line, Form(chart, 1), chart.key).notes[0]
    # By the clock bars 2 to 3 stay on Bb7; in its own place F7 comes, of which D is a tension.
    assert (note.function, note.function_in_own_place) == ("third", "tension")


def test_texts_and_notes_agree():
    assert notes_of("D3:1.5", step=42) == (placed(42, D3, 18),)
