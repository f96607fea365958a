"""Which bars a plan is made of, in which order, and what it says of them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from linecheck import audit, read_take
from linecheck.demo import demo_take
from linecheck.faults import OptionFault
from linecheck.practice import drill
from linecheck.practice.as_terminal import terminal_page
from linecheck.practice.in_words import bars_text, spot_title, why
from linecheck.practice.practice_plan import Trouble
from linecheck.practice.spots import weak_spots
from linecheck.practice.weak_changes import weak_changes
from linecheck.terms import FormSpan
from tests.hand_made_audit import hand_made_audit
from tests.label_lines import chart_of


@pytest.fixture(scope="module")
def oskar():
    take = demo_take("oskar")
    return audit(take.chart, take.take)


def trouble(bar, points, beat=1.0, chord="F7"):
    return Trouble(bar, beat, chord, points, asked=2, missed=1, outside=0, silent=0)


def spots(chart, *troubles, most=5):
    return [[index + 1 for index in s.bars] for s in weak_spots(chart, troubles, most)]


CHART = chart_of("C7 | F7 | Bb7 | Eb7 | Ab7 | Db7 | Gb7 | B7 | E7 | A7 D7 | G7 | F#m7")


def test_a_change_over_the_bar_line_is_practised_with_the_bar_before():
    assert spots(CHART, trouble(5, 2.0)) == [[4, 5]]


def test_bar_one_is_practised_with_the_last_bar_of_the_form():
    assert spots(CHART, trouble(1, 2.0)) == [[12, 1]]


def test_a_change_within_a_bar_is_practised_with_the_bar_after():
    assert spots(CHART, trouble(10, 2.0, beat=3.0)) == [[10, 11]]


def test_what_pays_most_comes_first_and_what_pays_little_waits():
    found = spots(CHART, trouble(3, 1.0), trouble(8, 4.0), trouble(11, 0.3))
    assert found == [[7, 8], [2, 3]]


def test_spots_that_share_a_bar_are_joined_up_to_four_bars():
    joined = spots(CHART, trouble(3, 3.0), trouble(4, 2.0), trouble(5, 1.0))
    assert joined == [[2, 3, 4, 5]]
    found = spots(CHART, trouble(3, 3.0), trouble(4, 2.0), trouble(5, 1.0), trouble(6, 0.9))
    assert found == [[2, 3, 4, 5], [5, 6]]


def test_at_most_so_many_spots():
    many = [trouble(bar, 1.0) for bar in (2, 5, 8, 11)]
    assert len(spots(CHART, *many, most=3)) == 3


def test_the_same_chords_are_one_spot_wherever_they_stand():
    chart = chart_of("Gm7 | C7 | F6 | D7", "Gm7 | C7 | A7 | D7")
    (spot,) = weak_spots(chart, [trouble(2, 1.0, chord="C7"), trouble(6, 1.5, chord="C7")])
    assert spot.bars == [4, 5]
    assert spot.also_at == [[0, 1]]
    assert spot.points == 2.5


def test_a_bar_of_no_chord_is_no_lead_in():
    chart = chart_of("F7 | N.C. | Bb7 | C7")
    assert spots(chart, trouble(3, 1.0, chord="Bb7")) == [[3]]


@pytest.mark.parametrize("bars", [1, 2, 3])
def test_a_very_short_form_is_practised_whole(bars):
    chart = chart_of(" | ".join(["F7", "Bb7", "C7"][:bars]))
    (found,) = spots(chart, *(trouble(n, 1.0) for n in range(1, bars + 1)))
    assert sorted(found) == list(range(1, bars + 1))


def test_all_that_a_take_lost_is_laid_to_some_change():
    for name in ("oskar", "tomasz", "paola", "ruben"):
        take = demo_take(name)
        found = audit(take.chart, take.take)
        total = sum(change.points for change in weak_changes(found).values())
        assert total == pytest.approx(100 - found.judgement.commitment)


def test_a_form_loss_is_practised_where_it_begins():
    take = demo_take("tomasz")
    plan = drill(audit(take.chart, take.take))
    assert plan.spots[0].loop.numbers == (6, 7)
    assert why(plan.spots[0]) == ["G7 in bar 7: here the form was lost: one bar ahead."]


def test_the_points_of_a_loss_are_those_of_all_its_bars():
    take = demo_take("tomasz")
    (spot, *_) = drill(audit(take.chart, take.take)).spots
    told = f"1. Bars 6 to 7: worth 7.4 points with the bars lost after it, about {spot.minutes} "
    assert spot_title(spot, 1).startswith(told)


def test_a_take_that_fits_no_place_nearly_throughout_has_no_spot(oskar):
    end = oskar.labels.judged_to
    for adrift, spots in ((0.9, False), (0.7, True)):
        begins = round((1 - adrift) * end)
        spans = (FormSpan(0, begins, 0.0, 0.9), FormSpan(begins, end, None, 0.9))
        plan = drill(replace(oskar, labels=replace(oskar.labels, spans=spans)))
        assert plan.adrift is not spots
        assert bool(plan.spots) is spots
        assert ("Is it the right chart" in terminal_page(plan).as_text()) is not spots


def test_a_missed_landing_is_told_with_what_was_played(oskar):
    changes = weak_changes(oskar)
    steps = 48
    gm7 = changes[8 * steps]
    assert (gm7.bar, gm7.chord, gm7.missed, gm7.asked) == (9, "Gm7", 2, 2)
    assert gm7.instead == ("A1, the 9",)


def test_the_plan_of_a_careless_take(oskar):
    plan = drill(oskar)
    points = [spot.points for spot in plan.spots]
    assert points == sorted(points, reverse=True)
    assert len(points) <= 5
    assert sum(points) <= 100 - plan.commitment + 1e-9
    assert all(spot.minutes > 0 for spot in plan.spots)
    told = terminal_page(plan).as_text()
    flowing = " ".join(told.split())
    assert "Gm7 in bar 9: the landing was missed in 2 of 2 choruses (you played A1" in flowing
    assert "If a hand hurts, stop and ask a teacher or a doctor." in flowing
    assert max(map(len, told.splitlines())) <= 80


def test_bars_that_a_person_names_are_practised_whatever_the_take_shows(oskar):
    plan = drill(oskar, bars=((3, 3), (12, 1)))
    assert [spot.loop.numbers for spot in plan.spots] == [(3,), (12, 1)]
    assert "You chose 2 spots to practise." in terminal_page(plan).as_text()


@pytest.mark.parametrize(
    ("bars", "told"),
    [
        ((0, 1), "bars 0-1: the chart has bars 1 to 12, and 0 was read"),
        ((3, 13), "bars 3-13: the chart has bars 1 to 12, and 13 was read"),
        ((3, 8), "bars 3-8: 6 bars were read; expected 4 at most"),
    ],
)
def test_bars_that_cannot_be_practised_are_told(oskar, bars, told):
    with pytest.raises(OptionFault, match=told):
        drill(oskar, bars=(bars,))


def test_bars_without_a_chord_cannot_be_practised():
    audited = hand_made_audit()
    chart = chart_of("F7 | N.C. | F7 | F7")
    with pytest.raises(OptionFault, match="all of it is N"):
        drill(
            replace(audited, chart=chart, judgement=replace(audited.judgement, costs=())),
            bars=((2, 2),),
        )


def test_the_same_take_gives_the_same_plan(oskar):
    assert drill(oskar) == drill(oskar)


@pytest.mark.parametrize(
    ("numbers", "text"), [((7,), "bar 7"), ((7, 8), "bars 7 to 8"), ((12, 1), "bars 12 to 1")]
)
def test_bars_in_words(numbers, text):
    assert bars_text(numbers) == text


def test_a_take_without_a_fault_grows_where_every_landing_was_a_root():
    take = demo_take("idris")
    found = audit(take.chart, take.take)
    assert found.judgement.commitment == 100
    plan = drill(found)
    assert 1 <= len(plan.spots) <= 2
    for spot in plan.spots:
        functions = {
            landing.function
            for landing in found.labels.landings
            if landing.counted and landing.place.bar in spot.loop.numbers
        }
        assert functions == {"root"}
        assert spot.points == 0
        assert len({target.chord.symbol for target in spot.loop.targets}) > 1
    flowing = " ".join(terminal_page(plan).as_text().split())
    assert "landed on by the root in all 2 choruses; try its third or seventh." in flowing
    assert "worth" not in flowing


def test_bars_that_were_missed_while_the_line_was_lost_are_not_called_faultless():
    one = demo_take("tomasz")  # chorus 3: from bar 7 one bar ahead
    (spot,) = drill(audit(one.chart, one.take), bars=[(9, 10)]).spots
    assert spot.missed == 2
    assert why(spot) == [
        "You chose these bars; 2 landings were missed in them while the line was out of place."
    ]
    (clean,) = drill(audit(one.chart, one.take), bars=[(2, 3)]).spots
    assert why(clean) == ["You chose these bars; the take shows no fault in them."]


def test_a_plan_asks_first_whether_the_take_was_read_rightly():
    one = demo_take("lena")
    take = read_take(one.take)
    lower = tuple(replace(note, pitch=note.pitch - 5) for note in take.notes)
    plan = drill(audit(one.chart, replace(take, notes=lower)))
    said = " ".join(terminal_page(plan).as_text().split())
    assert "5 half steps lower, in D (--key D): is the key right? " in said
    assert drill(audit(one.chart, one.take)).questions == ()
