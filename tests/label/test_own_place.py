"""Labels in the line's own place, and which spans count."""

from __future__ import annotations

import pytest

from linecheck.terms import FormSpan, Loss
from tests.label_lines import chart_of, label

CHART = chart_of("| F7 | Bb7 | Ebmaj7 | Am7 |")
# The roots and leading notes of bars 2, 3, 4, 1: a bar ahead of the chart.
AHEAD = "Bb2 D3 F3 E3 Eb3 G3 Bb2 Bb2 A2 C3 E3 E2 F2 A2 C3 C3"


def spans(*cuts):
    """Spans of ``(first beat, offset)``, to beat 16."""
    ends = [first for first, _ in cuts[1:]] + [16]
    return tuple(
        FormSpan(12 * first, 12 * end, offset, 0.9)
        for (first, offset), end in zip(cuts, ends, strict=True)
    )


def functions(labels, own=False):
    return [note.function_in_own_place if own else note.function for note in labels.notes]


def test_in_place_the_two_are_the_same():
    labels = label("F2 A2 B2 B2 Bb2 D3 Ab2 E3 Eb3", CHART)
    assert functions(labels) == functions(labels, own=True)


def test_a_bar_ahead_is_judged_by_the_clock_and_good_in_its_own_place():
    labels = label(AHEAD, CHART, spans=spans((0, 4.0)))
    good = ["root", "third", "fifth", "approach", "root", "third", "fifth", "fifth"]
    assert functions(labels, own=True)[:8] == good
    # B flat and E flat over F7 and Bb7, on the landings, by the clock: an eleventh.
    assert functions(labels)[0] == "outside"
    assert functions(labels)[4] == "outside"


def test_the_form_goes_round():
    labels = label(AHEAD, CHART, spans=spans((0, 4.0)))
    # Bar 4 of the clock is bar 1 in its own place.
    assert functions(labels, own=True)[12:] == ["root", "third", "fifth", "fifth"]
    assert labels.notes[12].chord == "Am7"


def test_behind_before_the_first_bar_is_the_end_of_the_form():
    labels = label("A2 C3 E3 E2 F2 A2 C3 A2", CHART, spans=spans((0, -4.0)))
    assert functions(labels, own=True) == [
        "root",
        "third",
        "fifth",
        "fifth",
        "root",
        "third",
        "fifth",
        "third",
    ]


def test_adrift_there_is_no_own_place():
    labels = label(AHEAD, CHART, spans=spans((0, 0.0), (4, None), (8, 0.0)))
    assert functions(labels, own=True)[4:8] == [None] * 4
    assert None not in functions(labels, own=True)[8:]
    assert None not in functions(labels)


def test_only_the_notes_of_the_span():
    labels = label("F2 A2 C3 D3 " + AHEAD.split(" ", 4)[4], CHART, spans=spans((0, 0.0), (4, 4.0)))
    assert functions(labels)[:4] == functions(labels, own=True)[:4]
    assert functions(labels, own=True)[4] == "root"


def test_an_approach_in_its_own_place_leads_to_the_chord_there():
    # One bar ahead: E over the clock's F7 is no step into a tone of the clock's next chord, Bb7.
    labels = label(AHEAD, CHART, spans=spans((0, 4.0)))
    assert (functions(labels)[3], functions(labels, own=True)[3]) == ("outside", "approach")
    assert labels.notes[3].approach is None


def test_a_ghost_has_no_function_there_either():
    labels = label("Bb2 D3:0.5 D3:0.5x F3", CHART, spans=spans((0, 4.0)))
    assert functions(labels, own=True)[2] is None


@pytest.mark.parametrize(("certain", "offset"), [(True, 4.0), (False, 0.0)])
def test_a_loss_that_is_only_possible_touches_nothing(certain, offset):
    loss = Loss(0, "ahead", 4.0, None, 0.5, certain=certain)
    labels = label(AHEAD, CHART, spans=spans((0, 4.0)), losses=(loss,))
    assert labels.spans[0].offset_beats == offset
    assert (functions(labels) == functions(labels, own=True)) is not certain


def test_notes_before_and_after_all_spans_are_in_place():
    labels = label(AHEAD, CHART, spans=(FormSpan(48, 96, 4.0, 0.9),))
    same = [a == b for a, b in zip(functions(labels), functions(labels, own=True), strict=True)]
    assert same[:4] == [True] * 4
    assert same[8:] == [True] * 8
    assert not all(same)
