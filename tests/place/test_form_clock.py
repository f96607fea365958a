from __future__ import annotations

import numpy as np
import pytest

from linecheck.music.form import Form
from linecheck.place.form_clock import count_choruses, first_beat_one_on_grid
from linecheck.terms import Chart, Take, TakeNote
from tests.synthetic.charts import chart, named_charts
from tests.synthetic.lines import LineNote, SoloStyle, WalkingStyle, generate_walking, solo, walk

CHARTS = {c.title: c for c in named_charts()}
BLUES = CHARTS["Tollgate Shuffle"]
WITH_INTRO = CHARTS["Late Tram"]


def played(notes: list[LineNote]) -> Take:
    return Take(
        "made",
        "played",
        tuple(
            TakeNote(n.step / 24, 0.4, n.pitch, n.velocity, n.step / 12, (n.end_step - n.step) / 12)
            for n in notes
        ),
        None,
    )


def bar_lines(notes: list[LineNote], beats: int = 4) -> list[float]:
    return [float(b * beats) for b in range(notes[-1].end_step // (12 * beats) + 2)]


def moved(notes: list[LineNote], steps: int) -> list[LineNote]:
    return [n._replace(step=n.step + steps, end_step=n.end_step + steps) for n in notes]


def walking(of: Chart, start: int = 0, choruses: int = 2, seed: int = 0) -> list[LineNote]:
    form = Form(of)
    rng = np.random.default_rng(seed)
    return walk(form, start, choruses * form.steps, rng, WalkingStyle())


def hits(beats: list[int], pitch: int = 36, last: int = 3) -> list[LineNote]:
    return [LineNote(12 * b, 12 * b + last, pitch, 50) for b in beats]


def beat_one(notes: list[LineNote], of: Chart = BLUES, beats: int = 4) -> float:
    return first_beat_one_on_grid(played(notes), bar_lines(notes, beats), Form(of)).quarters


@pytest.mark.parametrize("title", sorted(CHARTS))
def test_a_line_from_the_first_downbeat_on_begins_there(title: str) -> None:
    if CHARTS[title].intro:
        return
    found = beat_one(walking(CHARTS[title]), CHARTS[title], CHARTS[title].meter.beats)
    assert found == 0.0


@pytest.mark.parametrize("bars", [1, 2, 5])
def test_leading_empty_bars_are_left_out(bars: int) -> None:
    assert beat_one(moved(walking(BLUES), 48 * bars)) == 4.0 * bars


@pytest.mark.parametrize(
    ("pattern", "bars"),
    [
        ([0, 1, 2, 3], 1),
        ([0, 1, 2, 3, 4, 5, 6, 7], 2),
        ([0, 2, 4, 5, 6, 7], 2),
        ([0, 2, 4, 5, 6], 2),
    ],
)
@pytest.mark.parametrize("seed", range(3))
def test_a_count_in_is_left_out(pattern: list[int], bars: int, seed: int) -> None:
    line = hits(pattern) + moved(walking(BLUES, seed=seed), 48 * bars)
    assert beat_one(line) == 4.0 * bars


def test_a_line_of_repeated_roots_is_not_taken_for_a_count_in() -> None:
    roots = {"F7": 41, "Bb7": 34, "Cm7": 36, "Bdim7": 35, "Am7b5": 33, "D7b9": 38, "Gm7": 31, "C7": 36, "D7": 38}  # fmt: skip
    form = Form(BLUES)
    line = [
        LineNote(s, s + 11, roots[form.chord(s).symbol], 80)  # type: ignore[union-attr]
        for s in range(0, 2 * form.steps, 12)
    ]
    assert beat_one(line) == 0.0


@pytest.mark.parametrize("first", [42, 36, 30])
def test_a_pickup_comes_before_beat_one(first: int) -> None:
    up = [LineNote(s, s + 6, 34 + s // 6, 80) for s in range(first, 48, 6)]
    assert beat_one(up + moved(walking(BLUES), 48)) == 4.0


def test_a_solo_that_begins_after_a_breath_keeps_the_first_downbeat() -> None:
    tune = CHARTS["Stairwell"]
    line = solo(Form(tune), 0, 1536, np.random.default_rng(3), SoloStyle(target_change=0.95))
    late = [n for n in line if n.step >= 18]
    assert beat_one(late, tune) == 0.0


def test_a_take_that_begins_with_the_bridge_has_beat_one_before_its_first_note() -> None:
    tune = CHARTS["Ticket Window"]
    line = moved(walking(tune, start=16 * 48), -16 * 48)
    found = first_beat_one_on_grid(played(line), bar_lines(line), Form(tune))
    assert found.quarters == -64.0
    assert "bar 17 of the form" in found.reason


def test_an_intro_is_before_chorus_one_and_may_be_left_out() -> None:
    without = walking(WITH_INTRO)
    assert beat_one(without, WITH_INTRO) == 0.0
    intro = chart("Intro", "Db", "I", {"I": "Ebm7 | Ab7 | Ebm7 | Ab7"})
    both = walking(intro, choruses=1) + moved(without, 4 * 48)
    assert beat_one(both, WITH_INTRO) == 16.0


def test_a_waltz_in_a_file_left_at_four_four_has_its_own_bars() -> None:
    tune = CHARTS["Paper Windmill"]
    line = moved(walking(tune), 36)  # one empty bar of three
    assert beat_one(line, tune, beats=4) == 3.0


@pytest.mark.parametrize("ahead", [-4, 4, 8])
@pytest.mark.parametrize("lost_beats", [12, 24])
@pytest.mark.parametrize("seed", range(3))
def test_a_line_that_is_elsewhere_for_a_few_bars_begins_on_the_first_downbeat(
    ahead: int, lost_beats: int, seed: int
) -> None:
    lost, stop = (ahead % 48), 12 * lost_beats
    form, rng = Form(BLUES), np.random.default_rng(seed)
    begun = walk(form, 12 * lost, 12 * (lost + lost_beats), rng, WalkingStyle())
    rest = walk(form, stop, 4 * form.steps, rng, WalkingStyle())
    assert beat_one(moved(begun, -12 * lost) + rest) == 0.0


def test_a_form_of_one_bar_begins_with_the_first_bar() -> None:
    one_bar = chart("one bar", "C", "A", {"A": "| C7 |"})
    assert beat_one(walking(one_bar, choruses=12), one_bar) == 0.0


def test_jitter_of_the_playing_does_not_move_it() -> None:
    rng = np.random.default_rng(0)
    notes = played(generate_walking(BLUES, 2, rng, WalkingStyle())).notes
    late = tuple(
        TakeNote(n.onset_s, n.duration_s, n.pitch, n.velocity, max(0.0, (n.onset_quarters or 0) + e), n.duration_quarters)
        for n, e in zip(notes, rng.normal(0, 0.05, len(notes)), strict=True)
    )  # fmt: skip
    take = Take("made", "played", late, None)
    assert first_beat_one_on_grid(take, [4.0 * b for b in range(26)], Form(BLUES)).quarters == 0.0


@pytest.mark.parametrize(
    ("last_bar", "beat", "choruses"),
    [(12, 4, 1), (13, 1, 1), (13, 2, 2), (24, 4, 2), (25, 1, 2), (1, 2, 1), (1, 1, 1)],
)
def test_choruses_that_were_begun(last_bar: int, beat: int, choruses: int) -> None:
    step = (last_bar - 1) * 48 + (beat - 1) * 12
    assert count_choruses(step, step + 12, Form(BLUES)) == choruses


def test_an_ending_of_the_chart_begins_no_chorus() -> None:
    form = Form(WITH_INTRO)
    ending = form.ending_steps
    last = 2 * form.steps + ending
    assert count_choruses(last - 12, last, form) == 2
    assert count_choruses(last - 48, last, form) == 2
    assert count_choruses(last + 48, last + 60, form) == 3
    assert count_choruses(2 * form.steps + 24, 2 * form.steps + 36, form) == 3
