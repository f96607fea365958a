from __future__ import annotations

import itertools
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest

from linecheck.music.form import Form
from linecheck.place import form_loss
from linecheck.place.form_loss import find_form
from tests.measure_form import draw_take, match
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
    return find_form(steps, ends, pitches, velocities, form)[:2]


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


@pytest.mark.parametrize(("first", "second"), [(4, 8), (-4, -8), (4, 12), (4, -4), (2, 6)])
def test_a_jump_after_a_jump_takes_nothing_from_the_first(first: int, second: int) -> None:
    course: list[tuple[int, int | None]] = [(40 * 48, first), (48 * 48, second), (56 * 48, 0)]
    for seed in range(4):
        _, truth, _, losses = lost("Round the Gasworks", course, seed=seed)
        found, missed, false = match(truth, [x for x in losses if x.certain], 48)
        assert (len(found), missed, false) == (2, [], [])
        for slip, loss in found:
            assert slip.step - 48 <= loss.step <= max(slip.step, slip.shown_step or 0) + 96


def test_of_places_over_the_same_chords_the_likeliest_size_is_told() -> None:
    # The A of this form comes three times: 4 beats ahead is also 28 and 60 behind for a while.
    for seed in range(6):
        _, _, _, losses = lost("Ticket Window", [(40 * 48, 4), (47 * 48, 0)], seed=seed)
        assert [x.offset_beats for x in losses if x.certain] == [4]


def test_a_line_is_not_back_in_place_for_its_last_beats_alone() -> None:
    line, _, _, _ = lost("Tollgate Shuffle", [(20 * 48, 4), (60 * 48 - 24, 0)])
    spans, losses = found_in(line, Form(CHARTS["Tollgate Shuffle"], 5))
    [loss] = [x for x in losses if x.certain]
    assert loss.recovered_step is None
    assert spans[-1].offset_beats == 4
    last = line[-1]._replace(step=60 * 48 - 12, end_step=60 * 48, pitch=29)  # the tonic
    spans, losses = found_in([*line[:-1], last], Form(CHARTS["Tollgate Shuffle"], 5))
    assert [x.recovered_step for x in losses if x.certain] == [None]


def test_a_return_that_the_chart_cannot_show_is_none() -> None:
    bars = "F6 | D7 | Gm7 | C7 | Am7 | Ab7 | Gm7 | Gm7"
    tune = chart("Two bars alike", "F", "A", {"A": bars})
    form = Form(tune, 5)
    for seed in range(4):
        plan = Plan(["walking"] * 5, walking=PLAIN, course=[(18 * 48, 4)])
        line, _ = play_plan(tune, plan, np.random.default_rng(seed))
        cut = [note for note in line if note.step < 39 * 48]  # bar 7 of the last chorus is the end
        [loss] = [x for x in found_in(cut, form)[1] if x.certain]
        assert (loss.offset_beats, loss.recovered_step) == (4, None)


def test_wandering_is_adrift() -> None:
    _, _, _, losses = lost("Market Square", [(48 * 48, None), (60 * 48, 0)])
    [loss] = [x for x in losses if x.certain]
    assert (loss.kind, loss.offset_beats) == ("adrift", None)
    assert abs(loss.step - 48 * 48) <= 96


def test_a_soloist_who_wanders_is_adrift_for_all_of_it() -> None:
    style = SoloStyle(chord_on_beat=0.95, target_change=0.9)
    course: list[tuple[int, int | None]] = [(32 * 48, None), (48 * 48, 0)]
    plan = Plan(["solo"] * 3, soloing=style, course=course, adrift="notes")
    tune = CHARTS["Round the Gasworks"]
    whole = 0
    for seed in range(12):
        line, _ = play_plan(tune, plan, np.random.default_rng(seed))
        [loss] = [x for x in found_in(line, Form(tune, 3))[1] if x.certain]
        assert (loss.kind, loss.offset_beats) == ("adrift", None)
        assert loss.recovered_step is not None
        near = (abs(loss.step - 32 * 48), abs(loss.recovered_step - 48 * 48))
        whole += max(near) <= 96
        assert max(near) <= 5 * 48
    assert whole >= 10


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
    spans, losses, _ = find_form(steps, ends, pitches, velocities, Form(CHARTS["Slow Ferry"], 1))
    assert losses == ()
    assert [s.offset_beats for s in spans] == [0.0] * bool(notes)


@pytest.mark.parametrize("seed", range(6))
def test_where_the_chords_stand_still_nothing_is_pretended(seed: int) -> None:
    # One chord for eight bars: a slip of a bar or two inside them shows nowhere.
    _, truth, _, losses = lost("Two Still Rooms", [(48, 4), (6 * 48, 0)], choruses=2, seed=seed)
    assert truth[0].shown_step is None
    assert not [x for x in losses if x.certain]


@pytest.mark.parametrize("seed", range(4))
def test_a_jump_between_like_sections_begins_where_the_harmony_first_shows_it(seed: int) -> None:
    # From the first A to the second: the chords part company at the bridge, bar 9 by the count.
    course: list[tuple[int, int | None]] = [(34 * 48, 32), (52 * 48, 0)]
    _, truth, _, losses = lost("Market Square", course, seed=seed)
    [loss] = [x for x in losses if x.certain]
    assert loss.offset_beats == 32
    assert truth[0].shown_step == 40 * 48
    assert abs(loss.step - 40 * 48) <= 48


def test_offsets_that_the_chart_cannot_tell_apart_are_given_as_the_smaller() -> None:
    # Two choruses of this chart's four-bar turn-round are one and the same eight bars.
    tune = chart("Twice", "C", "AA", {"A": "Cmaj7 | A7 | Dm7 | G7"})
    plan = Plan(["walking"] * 8, walking=PLAIN, course=[(16 * 48, 4), (40 * 48, 0)])
    line, _ = play_plan(tune, plan, np.random.default_rng(1))
    [loss] = [x for x in found_in(line, Form(tune, 8))[1] if x.certain]
    assert loss.offset_beats == 4  # not −12, which sounds the same


def test_a_long_line_taken_in_parts_tells_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    course: list[tuple[int, int | None]] = []
    for chorus in (1, 5, 9, 13):
        course += [(chorus * 32 * 48 + 10 * 48, 4), (chorus * 32 * 48 + 26 * 48, 0)]
    plan = Plan(["walking"] * 16, walking=PLAIN, course=course)
    line, _ = play_plan(CHARTS["Ticket Window"], plan, np.random.default_rng(0))
    form = Form(CHARTS["Ticket Window"], 16)
    _, whole = found_in(line, form)
    monkeypatch.setattr(form_loss, "PART_BEATS", 400)
    spans, parts = found_in(line, form)
    sure = [[(x.step, x.offset_beats) for x in some if x.certain] for some in (parts, whole)]
    assert sure[0] == sure[1]
    assert [offset for _, offset in sure[0]] == [4.0] * 4
    assert all(a.end_step == b.step for a, b in pairwise(spans))


def test_a_pedal_and_a_held_rest_are_not_adrift() -> None:
    tune = CHARTS["Harbour Lights Out"]
    line = generate_walking(tune, 3, np.random.default_rng(8), PLAIN)
    form = Form(tune, 3)
    pedal = [n._replace(pitch=34) if 40 * 48 <= n.step < 48 * 48 else n for n in line]
    assert not [x for x in found_in(pedal, form)[1] if x.certain]
    rest = [n for n in line if not 40 * 48 <= n.step < 48 * 48]
    assert not [x for x in found_in(rest, form)[1] if x.certain]


def test_a_perhaps_leaves_the_spans_in_place() -> None:
    for seed in range(12):
        _, _, spans, losses = lost("Slow Ferry", [(20 * 48, 4), (23 * 48, 0)], seed=seed)
        unsure = [x for x in losses if not x.certain]
        if unsure and len(losses) == len(unsure):
            assert [s.offset_beats for s in spans] == [0.0]
            return
    pytest.fail("no loss was only possible")


def test_bars_without_a_chord_tell_nothing() -> None:
    tune = chart("Break", "F", "AB", {"A": "F7 | Bb7 | F7 | Cm7 F7", "B": "N.C. | % | % | C7"})
    form = Form(tune, 4)
    rng = np.random.default_rng(0)
    line = [
        n._replace(pitch=int(rng.integers(28, 48))) if n.step % (8 * 48) >= 4 * 48 else n
        for n in generate_walking(tune, 4, rng, PLAIN)
        if not n.step % (8 * 48) >= 7 * 48
    ]
    assert not [x for x in found_in(line, form)[1] if x.certain]


def test_a_synthetic_range_is_found_as_measured() -> None:
    # A small sample of tests/measure_form.py, with thresholds well below its figures.
    rng = np.random.default_rng(77)
    right = false = count = 0
    for _ in range(24):
        tune, choruses, _, line, truth = draw_take(rng, "walking", 2, "plain", named_charts()[1::2])
        certain = [x for x in found_in(line, Form(tune, choruses))[1] if x.certain]
        pairs, missed, wrong = match(truth, certain, tune.meter.beats * 12)
        right += len(pairs)
        count += len(pairs) + len(missed)
        false += len(wrong)
    assert 2 * right / (right + count + false) > 0.7
    assert false <= 5
