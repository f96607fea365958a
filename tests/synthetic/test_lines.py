from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from linecheck.music.form import Form
from tests.synthetic.charts import named_charts, random_chart
from tests.synthetic.lines import (
    SOLO_FAMILIES,
    WALKING_FAMILIES,
    LineNote,
    Plan,
    SoloStyle,
    WalkingStyle,
    generate_walking,
    inject_slips,
    play_plan,
)


@pytest.mark.parametrize("seed", range(6))
def test_a_line_is_one_note_at_a_time_in_order_and_repeatable(seed: int) -> None:
    chart = random_chart(np.random.default_rng(seed))
    line, truth = inject_slips(chart, 3, np.random.default_rng(seed), kind="mixed", slips=2)
    again, same = inject_slips(chart, 3, np.random.default_rng(seed), kind="mixed", slips=2)
    assert (line, truth) == (again, same)
    assert all(a.end_step <= b.step for a, b in pairwise(line))
    assert all(n.step >= 0 and n.end_step > n.step and 20 <= n.pitch <= 90 for n in line)


def test_a_plain_walking_line_shows_the_chords_where_they_stand() -> None:
    chart = named_charts()[0]
    form = Form(chart)
    line = generate_walking(chart, 4, np.random.default_rng(1), WalkingStyle(ghosts=0.0))
    landed = [n for n in line if form.is_landing(n.step)]
    roots = sum(n.pitch % 12 == form.chord(n.step).root for n in landed)  # type: ignore[union-attr]
    assert roots / len(landed) > 0.6


def test_a_line_ahead_by_a_bar_plays_the_roots_of_the_next_bar() -> None:
    chart = named_charts()[0]
    form = Form(chart)
    style = WalkingStyle(root_on_change=1.0, root_on_bar=1.0, outside=0.0, push=0.0, rest=0.0)
    plan = Plan(["walking"] * 2, walking=style, course=[(96, 4), (480, 0)])
    line, truth = play_plan(chart, plan, np.random.default_rng(3))
    assert [(t.kind, t.offset_beats, t.recovered_step) for t in truth] == [("ahead", 4, 480)]

    def fits(ahead: int) -> float:
        lost = [n for n in line if 96 <= n.step < 480 and form.is_landing(n.step + 48)]
        return float(np.mean([n.pitch % 12 == form.chord(n.step + ahead).bass for n in lost]))  # type: ignore[union-attr]

    assert fits(48) == 1.0
    assert fits(0) < 0.6


def test_where_the_chart_never_shows_it_truth_says_so() -> None:
    chart = named_charts()[5]  # eight bars of one chord
    _, truth = play_plan(
        chart, Plan(["walking"], course=[(48, 4), (192, 0)]), np.random.default_rng(0)
    )
    assert truth[0].shown_step is None


@pytest.mark.parametrize("family", [*WALKING_FAMILIES, *SOLO_FAMILIES])
def test_every_family_plays(family: str) -> None:
    rng = np.random.default_rng(5)
    kind = "walking" if family in WALKING_FAMILIES else "solo"
    walking = WalkingStyle.draw(rng, family) if family in WALKING_FAMILIES else None
    soloing = SoloStyle.draw(rng, family) if family in SOLO_FAMILIES else None
    line, _ = inject_slips(
        named_charts()[3], 2, rng, kind=kind, slips=0, walking=walking, soloing=soloing
    )
    assert len(line) > 20
    assert isinstance(line[0], LineNote)
