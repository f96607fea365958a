"""Which landings there are, which are met and by what, and which are counted."""

from __future__ import annotations

import pytest

from linecheck.terms import Meter
from tests.label_lines import chart_of, label, notes_of, pitch_of, placed

BARS = "| F7 | Bb7 D7 | D7 |"
F2, BB2 = pitch_of("F2"), pitch_of("Bb2")


def landing_at(step, notes, bars="| F7 | Bb7 | F7 | F7 |", choruses=1):
    labels = label(notes if isinstance(notes, tuple) else notes_of(notes), chart_of(bars), choruses)
    return next(landing for landing in labels.landings if landing.step == step)


def test_a_landing_is_where_a_chord_begins_and_every_beat_one():
    labels = label("F2", chart_of(BARS), choruses=2)
    assert [landing.step for landing in labels.landings] == [0, 48, 72, 96, 144, 192, 216, 240]
    places = [(p.chorus, p.bar, p.beat) for p in (landing.place for landing in labels.landings)]
    assert places[:4] == [(1, 1, 1.0), (1, 2, 1.0), (1, 2, 3.0), (1, 3, 1.0)]
    assert places[4:] == [(2, *place[1:]) for place in places[:4]]
    assert [landing.chord for landing in labels.landings[:4]] == ["F7", "Bb7", "D7", "D7"]
    assert [landing.opens_section for landing in labels.landings[:4]] == [True, False, False, False]


@pytest.mark.parametrize(
    ("name", "function"), [("Bb2", "root"), ("D3", "third"), ("F3", "fifth"), ("Ab2", "seventh")]
)
def test_any_chord_tone_meets_it(name, function):
    landing = landing_at(48, f"F2 A2 C3 F2 {name}")
    assert (landing.met, landing.function, landing.anticipated, landing.note) == (
        True,
        function,
        False,
        4,
    )


@pytest.mark.parametrize(("name", "function"), [("C3", "tension"), ("Eb3", "outside")])
def test_no_other_note_does_but_it_is_named(name, function):
    landing = landing_at(48, f"F2 A2 C3 F2 {name}")
    assert (landing.met, landing.function, landing.note) == (False, function, 4)


def test_how_early_or_late_it_was_struck():
    assert landing_at(48, (placed(48, BB2, placement_ms=-18.5),)).placement_ms == -18.5
    assert landing_at(48, "F2 A2 C3 F2").placement_ms is None


@pytest.mark.parametrize(
    ("step", "met"),
    [
        (45, True),
        (46, True),
        (47, True),
        (48, True),
        (49, True),
        (51, True),
        (52, False),
        (54, False),
    ],
)
def test_within_a_quarter_of_a_beat(step, met):
    note = placed(step, BB2, 12)
    landing = landing_at(48, (placed(0, F2), note))
    assert landing.met is met
    assert landing.note == (1 if met else None)


def test_a_short_note_before_it_is_not_struck_for_it():
    assert landing_at(48, (placed(0, F2), placed(45, BB2, 3))).note is None


def test_the_note_on_the_landing_itself_decides():
    wrong_then_right = (placed(0, F2), placed(48, pitch_of("C3"), 3), placed(51, BB2, 9))
    landing = landing_at(48, wrong_then_right)
    assert (landing.met, landing.note) == (False, 1)
    right_then_wrong = (placed(45, BB2, 3), placed(48, pitch_of("C3"), 9))
    assert not landing_at(48, right_then_wrong).met


def test_of_two_notes_on_one_place_either_meets_it():
    grace = (placed(48, pitch_of("A2"), 0), placed(48, BB2, 11))
    landing = landing_at(48, grace)
    assert (landing.met, landing.note) == (True, 1)
    landing = landing_at(48, grace[::-1])
    assert (landing.met, landing.note) == (True, 0)


def test_a_ghost_meets_nothing():
    landing = landing_at(48, "F2 A2 C3 F2 Bb2x F2 Bb2 Bb2")
    assert (landing.met, landing.function, landing.note) == (False, None, 4)


def test_a_note_beside_a_ghost_on_the_same_place_is_the_one_named():
    both = (placed(0, F2), placed(48, BB2, 1, 10), placed(48, pitch_of("C3"), 11))
    landing = landing_at(48, both)
    assert (landing.met, landing.note, landing.function) == (False, 2, "tension")


def test_pushed_and_held_over():
    landing = landing_at(48, "F2 A2 C3 C3:0.5 Bb2:1.5")
    assert (landing.met, landing.anticipated, landing.note) == (True, True, 4)
    assert not landing_at(48, "F2 A2 C3 C3:0.5 Bb2:0.5").met
    assert not landing_at(48, "F2 A2 C3 Bb2:2").met


def test_pushed_by_a_wrong_note():
    landing = landing_at(48, "F2 A2 C3 C3:0.5 Eb3:1.5")
    assert (landing.met, landing.anticipated, landing.function) == (False, True, "outside")


def test_held_from_further_back_is_not_struck_for_it():
    landing = landing_at(48, "F2 A2 Bb2:4")
    assert (landing.met, landing.note, landing.counted) == (False, None, True)


# ---- what is counted -------------------------------------------------------------------------


def test_over_no_chord_nothing_is_counted():
    labels = label("F2 A2 C3 F2  F2 F2 F2 F2  F2 A2 C3 A2", chart_of("| F7 | N.C. | F7 |"))
    assert [landing.counted for landing in labels.landings] == [True, False, True]
    assert (labels.landings[1].met, labels.landings[1].function) == (False, None)


def test_after_the_take_ends_nothing_is_counted():
    labels = label("F2 A2 C3 F2  Bb2 D3 F3 D3 F2", chart_of("| F7 | Bb7 | F7 | F7 | F7 |"))
    assert [landing.counted for landing in labels.landings] == [True, True, True, False, False]


def test_before_the_take_begins_nothing_is_counted():
    labels = label(notes_of("Bb2 D3 F3 D3 F2 A2 C3 A2", step=48), chart_of("| F7 | Bb7 | F7 |"))
    assert [landing.counted for landing in labels.landings] == [False, True, True]


def test_silence_between_is_counted_in_walking():
    labels = label("F2 A2 C3 F2 -:8 F2 A2 C3 A2", chart_of("| F7 | Bb7 | F7 | F7 |"))
    assert [landing.counted for landing in labels.landings] == [True] * 4
    assert labels.styles == ("walking",)


PHRASE = "F2:0.5 G2:0.5 A2:0.5 C3:0.5 Eb3:0.5 D3:0.5 C3:0.5 A2:0.5"


def test_a_breath_of_a_solo_costs_no_landing():
    labels = label(f"{PHRASE} -:4 {PHRASE} {PHRASE}", chart_of("| F7 | Bb7 | F7 | F7 |"))
    assert labels.styles == ("solo",)
    assert [landing.counted for landing in labels.landings] == [True, False, True, True]


@pytest.mark.parametrize(("rest", "counted"), [("1.5", True), ("2", False)])
def test_a_breath_is_a_rest_of_two_beats_or_more(rest, counted):
    phrase = " ".join(PHRASE.split()[:-1])  # ends half a beat before the bar
    after = " ".join(PHRASE.split()[: 16 - int(float(rest) * 2) - 7])
    chart = chart_of("| F7 | Bb7 | F7 |")
    labels = label(f"{phrase} -:{rest} {after} {PHRASE}", chart)
    assert labels.styles == ("solo",)
    assert labels.landings[1].note is None
    assert labels.landings[1].counted is counted


@pytest.mark.parametrize("walked", ["F2 A2 C3 D3", "F2 A2 C3 -"])
def test_the_silence_of_walking_makes_no_breath_of_the_solo_after_it(walked):
    chorus = " ".join(["F2 A2 C3 A2"] * 7)
    solo = " ".join(PHRASE.split()[2:])
    bars = " ".join(["| F7"] * 8)
    line = f"{chorus} {walked} -:1 {solo} " + " ".join([PHRASE] * 7)
    labels = label(line, chart_of(bars), choruses=2)
    assert labels.styles == ("walking", "solo")
    assert (labels.landings[8].note, labels.landings[8].counted) == (None, True)


def test_a_landing_that_a_note_is_held_over_is_no_breath():
    labels = label(f"{PHRASE[:-6]} A2:4.5 {PHRASE} {PHRASE}", chart_of("| F7 | Bb7 | F7 | F7 |"))
    assert labels.styles == ("solo",)
    assert labels.landings[1].counted


def test_muffling_a_held_note_makes_no_breath_of_what_it_was_held_over():
    phrase = " ".join(PHRASE.split()[:-1])
    chart = chart_of("| F7 | Bb7 | F7 | F7 | F7 |")
    held = label(f"{phrase} A2:4.5 {PHRASE} {PHRASE} {PHRASE}", chart)
    muffled = label(f"{phrase} A2:0.5x -:4 {PHRASE} {PHRASE} {PHRASE}", chart)
    assert held.landings[1].counted
    assert muffled.landings[1].counted


def test_a_ghost_is_played_for_a_landing_and_no_breath():
    labels = label(f"{PHRASE} A2x -:3 {PHRASE} {PHRASE}", chart_of("| F7 | Bb7 | F7 | F7 |"))
    assert labels.styles == ("solo",)
    assert (labels.landings[1].counted, labels.landings[1].met) == (True, False)


def test_the_intro_and_the_ending_have_no_landings_of_their_own():
    chart = chart_of("| F7 | Bb7 |", intro="| C7 |", ending="| F6 |")
    labels = label(notes_of("C2 E2 G2 C2 F2 A2 C3 A2 Bb2 D3 F3 D3 F2:4", step=-48), chart)
    assert [landing.step for landing in labels.landings] == [0, 48]
    assert labels.notes[0].landing
    assert labels.notes[-1].landing


def test_in_a_waltz():
    labels = label("F2 A2 C3 Bb2 D3 F3", chart_of("| F7 | Bb7 |", meter=Meter(3, 4)))
    assert [(landing.step, landing.met) for landing in labels.landings] == [(0, True), (36, True)]
