from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np
import pytest

from linecheck.music.form import Form
from linecheck.place.form_loss import find_form
from tests.synthetic.charts import chart, named_charts
from tests.synthetic.lines import (
    LineNote,
    Plan,
    SoloStyle,
    WalkingStyle,
    generate_solo,
    generate_walking,
    play_plan,
)

if TYPE_CHECKING:
    from linecheck.terms import FormSpan, Loss

CHARTS = {c.title: c for c in named_charts()}
PLAIN = WalkingStyle()


def found_in(line: list[LineNote], form: Form) -> tuple[tuple[FormSpan, ...], tuple[Loss, ...]]:
    steps, ends, pitches, velocities = zip(*line, strict=True)
    return find_form(steps, ends, pitches, velocities, form)


def lost(title: str, course: list[tuple[int, int | None]], choruses: int = 5, seed: int = 0):
    plan = Plan(["walking"] * choruses, walking=PLAIN, course=course)
    line, truth = play_plan(CHARTS[title], plan, np.random.default_rng(seed))
    spans, losses = found_in(line, Form(CHARTS[title], choruses))
    return line, truth, spans, losses


@pytest.mark.parametrize("title", sorted(CHARTS))
def test_a_clean_walking_line_is_in_place_throughout(title: str) -> None:
    line = generate_walking(CHARTS[title], 3, np.random.default_rng(4), PLAIN)
    spans, losses = found_in(line, Form(CHARTS[title], 3))
    assert not [x for x in losses if x.certain]
    assert spans[0].step <= line[0].step
    assert spans[-1].end_step >= line[-1].end_step


@pytest.mark.parametrize("offset", [4, -4, 16, -16, 2, -2, 1, -1, 8])
def test_a_slip_of_six_bars_is_found_with_its_size_and_place(offset: int) -> None:
    _, truth, _, losses = lost("Ticket Window", [(40 * 48, offset), (47 * 48, 0)])
    [loss] = [x for x in losses if x.certain]
    assert loss.offset_beats == offset
    assert loss.kind == ("ahead" if offset > 0 else "behind")
    assert abs(loss.step - truth[0].shown_step) <= 120
    assert loss.recovered_step is not None
    assert abs(loss.recovered_step - 47 * 48) <= 96
    assert loss.confidence > 0.5


def test_a_line_that_never_comes_back_has_no_recovery() -> None:
    _, _, spans, losses = lost("Tollgate Shuffle", [(20 * 48, 4)])
    [loss] = [x for x in losses if x.certain]
    assert (loss.kind, loss.offset_beats, loss.recovered_step) == ("ahead", 4, None)
    assert spans[-1].offset_beats == 4


def test_a_second_jump_before_recovery_is_a_loss_of_its_own() -> None:
    _, _, _, losses = lost("Round the Gasworks", [(40 * 48, 4), (56 * 48, -16), (72 * 48, 0)])
    certain = [x for x in losses if x.certain]
    assert [x.offset_beats for x in certain] == [4, -16]
    assert certain[0].recovered_step is None
    assert certain[1].recovered_step is not None


def test_wandering_is_adrift() -> None:
    _, _, _, losses = lost("Market Square", [(48 * 48, None), (60 * 48, 0)])
    [loss] = [x for x in losses if x.certain]
    assert (loss.kind, loss.offset_beats) == ("adrift", None)
    assert abs(loss.step - 48 * 48) <= 96


def test_spans_cover_the_line_without_a_gap_and_agree_with_the_losses() -> None:
    line, _, spans, losses = lost(
        "Round the Gasworks", [(40 * 48, 4), (56 * 48, None), (72 * 48, 0)]
    )
    assert spans[0].step <= line[0].step
    assert spans[-1].end_step >= line[-1].end_step
    assert all(a.end_step == b.step for a, b in itertools.pairwise(spans))
    starts = {s.step: s.offset_beats for s in spans}
    for loss in losses:
        if loss.certain:
            assert starts[loss.step] == loss.offset_beats


def test_transposing_line_and_chart_together_changes_nothing() -> None:
    low = chart("Low", "F", "A", {"A": "F7 | Bb7 | F7 | Cm7 F7 | Bb7 | Bdim7 | F7 | D7b9"})
    high = chart("High", "Ab", "A", {"A": "Ab7 | Db7 | Ab7 | Ebm7 Ab7 | Db7 | Ddim7 | Ab7 | F7b9"})
    plan = Plan(["walking"] * 6, walking=PLAIN, course=[(10 * 48, 8), (22 * 48, 0)])
    line, _ = play_plan(low, plan, np.random.default_rng(2))
    moved = [n._replace(pitch=n.pitch + 3) for n in line]
    assert found_in(line, Form(low, 6)) == found_in(moved, Form(high, 6))


def test_a_solo_on_changes_keeps_its_place_and_a_slip_of_a_chorus_half_is_found() -> None:
    style = SoloStyle(chord_on_beat=0.95, target_change=0.9)
    tune = CHARTS["Stairwell"]
    line = generate_solo(tune, 4, np.random.default_rng(1), style)
    assert not [x for x in found_in(line, Form(tune, 4))[1] if x.certain]
    plan = Plan(["solo"] * 5, soloing=style, course=[(20 * 48, 4), (44 * 48, 0)])
    lost_line, _ = play_plan(tune, plan, np.random.default_rng(5))
    certain = [x for x in found_in(lost_line, Form(tune, 5))[1] if x.certain]
    assert [x.offset_beats for x in certain] == [4]


@pytest.mark.parametrize("notes", [0, 1, 2])
def test_a_line_of_next_to_nothing_is_in_place(notes: int) -> None:
    line = [(12 * i, 12 * i + 12, 40, 80) for i in range(notes)]
    steps, ends, pitches, velocities = zip(*line, strict=True) if line else ((), (), (), ())
    spans, losses = find_form(steps, ends, pitches, velocities, Form(CHARTS["Slow Ferry"], 1))
    assert losses == ()
    assert [s.offset_beats for s in spans] == [0.0] * bool(notes)
