"""What a side shows and the other keeps: by hand, and what must hold of every pair of lines."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linecheck.comparison import compare_audits
from linecheck.comparison_terms import ComparedSide
from linecheck.judge.carry_over import Chosen, carried_over
from linecheck.music.form import Form
from linecheck.steps import audit
from linecheck.terms import FormSpan
from tests.judge.random_lines import audit as labelled
from tests.judge.random_lines import drawn_line, lines, written
from tests.label_lines import chart_of, label
from tests.measure_carry_over import SHOWS_ALL, drawn, soloed, take_of
from tests.synthetic.charts import named_charts
from tests.synthetic.lines import monophonic, walk

CHART = chart_of("| F7 | Bb7 |", "| Gm7 C7 | F7 |")
WALK = "F2 A2 C3 A2 Bb2 D2 F2 F#2 G2 Bb2 C2 E2 F2 A2 C3 E2"
# Misses Bb7 (E over it), Gm7 (Ab), meets F7, C7 and the last F7.
SOLO = "F2:.5 A2:.5 C3 A2:.5 C3:.5 A2 E2:.5 F2:.5 F2 F2:.5 D2:.5 F2 Ab2:.5 G2:.5 Bb2 C3:.5 E3:.5 C3 F2 A2:.5 C3:.5 E2 F2"
MIRRORED = {"kept": "kept", "dropped": "added", "added": "dropped"}
FEW = settings(max_examples=40, deadline=None)


def side(labels, *choruses, name="line", style="walking"):
    return Chosen(ComparedSide(name, f"{name}.mid", style, choruses or (1,)), labels)


def compared(before, after, chart=CHART):
    return carried_over(chart, before, after)


def outcomes(comparison, kind):
    return [
        (place.bar, place.beat, place.outcome) for place in comparison.places if place.kind == kind
    ]


@pytest.fixture
def made():
    return compared(side(label(WALK, CHART)), side(label(SOLO, CHART), name="solo", style="solo"))


def test_landings_by_hand(made):
    assert outcomes(made, "landings") == [
        (1, 1, "kept"), (2, 1, "dropped"), (3, 1, "dropped"), (3, 3, "kept"), (4, 1, "kept"),
    ]  # fmt: skip
    landings = made.carried[0]
    assert (landings.kept.shown, landings.kept.asked, landings.kept.choruses) == (3, 5, 1)
    assert landings.before.share == 1
    assert landings.after.share == pytest.approx(0.6)
    assert landings.change[0] == pytest.approx(-0.4)


def test_bars_sections_and_form_by_hand(made):
    assert outcomes(made, "bars") == [
        (1, None, "kept"), (2, None, "dropped"), (3, None, "dropped"), (4, None, "kept"),
    ]  # fmt: skip
    assert outcomes(made, "sections") == [(1, None, "kept"), (3, None, "dropped")]
    assert {outcome for _, _, outcome in outcomes(made, "form")} == {"kept"}


def test_the_first_break_is_the_first_dropped_bar(made):
    (found,) = made.first_breaks
    assert (found.chorus, found.bar, found.section, found.why) == (1, 2, "A", "Bb7 not landed on")


def test_a_bar_lost_in_the_form_is_dropped_even_where_it_lands():
    lost = (FormSpan(0, 96, 0.0, 1.0), FormSpan(96, 192, None, 0.9))
    solo = label(WALK, CHART, spans=lost)
    made = compared(side(label(WALK, CHART)), side(solo, name="solo"))
    assert [o for _, _, o in outcomes(made, "landings")] == ["kept"] * 5
    assert [o for _, _, o in outcomes(made, "form")] == ["kept", "kept", "dropped", "dropped"]
    assert [o for _, _, o in outcomes(made, "bars")] == ["kept", "kept", "dropped", "dropped"]
    assert made.first_breaks[0].why == "the form is lost"


def test_a_breath_of_the_solo_is_not_asked_for():
    eighths = ("F2 A2 C3 A2 C3 A2 F2 A2", "G2 A2 Bb2 D3 C3 E3 C3 E3", "F2 A2 C3 A2 F2 A2 E2 F2")
    first, *rest = (" ".join(f"{n}:.5" for n in bar.split()) for bar in eighths)
    solo = label(" ".join((first, "-:4", *rest)), CHART)
    assert solo.solo_bars[1]
    made = compared(side(label(WALK, CHART)), side(solo, name="solo", style="solo"))
    assert outcomes(made, "landings")[1] == (2, 1, "open")
    assert made.carried[0].kept.asked == 4


def test_what_only_the_solo_lands_on_is_added():
    line = WALK.replace("Bb2 D2 F2 F#2", "E2 D2 F2 F#2")
    made = compared(side(label(line, CHART)), side(label(WALK, CHART), name="solo"))
    assert outcomes(made, "landings")[1] == (2, 1, "added")
    assert made.carried[0].kept.asked == 4


def test_half_of_the_choruses_are_enough_to_show_a_place():
    line = label(f"{WALK} {WALK.replace('Bb2 D2', 'E2 D2')}", CHART, 2)
    made = compared(side(line, 1, 2), side(line, 2, name="solo"))
    assert made.places[1].before == (1, 2)
    assert made.places[1].outcome == "dropped"


# ---- what must hold of all -------------------------------------------------------------------


def whole(made, name="line"):
    bars, line = made
    labels, _ = labelled(bars, line)
    return written(bars), side(labels, *range(1, line.choruses + 1), name=name)


@FEW
@given(lines())
def test_a_take_compared_with_itself_keeps_everything(made):
    chart, one = whole(made)
    comparison = compared(one, one, chart)
    assert {place.outcome for place in comparison.places} <= {"kept", "neither", "open"}
    for carried in comparison.carried:
        assert carried.before == carried.after
        assert carried.change is None or carried.change[0] == 0
        if made[1].choruses == 1:
            assert carried.kept.share in (None, 1)


@FEW
@given(st.integers(0, 10**6))
def test_swapping_the_sides_mirrors(seed):
    import random

    bars, line = drawn_line(random.Random(seed))
    _, other = drawn_line(random.Random(seed + 1))
    form_beats = 4 * len(bars) * line.choruses
    notes = tuple(n for n in other.notes if n.step < 12 * form_beats)
    chart, one = whole((bars, line))
    labels, _ = labelled(bars, replace(line, notes=notes or line.notes))
    two = side(labels, *range(1, line.choruses + 1), name="solo")
    there, back = compared(one, two, chart), compared(two, one, chart)
    for here, mirrored in zip(there.places, back.places, strict=True):
        assert mirrored.outcome == MIRRORED.get(here.outcome, here.outcome)
        assert (mirrored.before, mirrored.after) == (here.after, here.before)
    for here, mirrored in zip(there.carried, back.carried, strict=True):
        assert (mirrored.before, mirrored.after) == (here.after, here.before)
        if here.change is not None:
            by, low, high = here.change
            assert mirrored.change == pytest.approx((-by, -high, -low))
    for here, mirrored in zip(there.traits, back.traits, strict=True):
        assert (mirrored.before, mirrored.after) == (here.after, here.before)


@FEW
@given(lines(), st.integers(1, 11))
def test_transposing_both_together_changes_nothing(made, shift):
    bars, line = made
    moved = replace(line, notes=tuple(replace(n, pitch=n.pitch + shift) for n in line.notes))
    labels, _ = labelled(bars, line)
    moved_labels, _ = labelled(bars, moved, shift)
    choruses = range(1, line.choruses + 1)
    one = compared(side(labels, choruses[0]), side(labels, choruses[-1]), written(bars))
    other = compared(
        side(moved_labels, choruses[0]), side(moved_labels, choruses[-1]), written(bars, shift)
    )
    assert other.carried == one.carried
    assert [replace(p, chord="") for p in other.places] == [
        replace(p, chord="") for p in one.places
    ]
    assert [t for t in other.traits if t.unit != "pitch"] == [
        t for t in one.traits if t.unit != "pitch"
    ]


# ---- whole takes of known carry-over ---------------------------------------------------------


@pytest.mark.parametrize("share", [0.4, 0.8, 1.0])
def test_the_audit_finds_what_a_synthetic_solo_kept(share):
    rng = np.random.default_rng(11)
    for chart in named_charts()[:3]:
        form = Form(chart)
        line = walk(form, 0, 2 * form.steps, rng, SHOWS_ALL)
        kept = []
        for chorus in (2, 3):
            solo, keeps = soloed(form, chorus, rng, lambda n: drawn(rng, "independent", share, n))
            line += solo
            kept.append((sum(keeps), len(keeps)))
        found = audit(chart, take_of(monophonic(line)), click=True, first_beat_one="1")
        landings = compare_audits(found, walking=(1, 2), solo=(3, 4)).carried[0].kept
        assert (landings.shown, landings.asked) == tuple(map(sum, zip(*kept, strict=True)))
        assert landings.low <= share <= landings.high
        assert found.carry_over is not None
        assert found.carry_over.before.choruses == (1, 2)
