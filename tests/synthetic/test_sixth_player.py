from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from linecheck.music.form import Form
from tests.synthetic import sixth_player
from tests.synthetic.charts import named_charts
from tests.synthetic.drawn_takes import KINDS, draw_take


@pytest.mark.parametrize("kind", KINDS)
def test_a_take_is_its_kind(kind: str) -> None:
    rng = np.random.default_rng(4)
    for _ in range(4):
        take = draw_take(rng, kind, sixth_player)
        offsets = [t.offset_beats for t in take.truth]
        assert len(offsets) == (0 if kind.startswith("clean") else 1)
        assert all((o is None) == kind.startswith("adrift") for o in offsets)
        assert all(a.end_step <= b.step for a, b in pairwise(take.line))
        assert take.line[-1].step < take.choruses * Form(take.chart).steps


def test_a_take_is_the_same_for_a_seed() -> None:
    first, second = (
        draw_take(np.random.default_rng(9), "adrift solo", sixth_player) for _ in range(2)
    )
    assert (first.line, first.truth, first.way) == (second.line, second.truth, second.way)


def test_the_charts_are_not_those_that_the_weights_were_fitted_on() -> None:
    fitted = {tuple(c.chord.symbol for b in chart.bars for c in b.chords) for chart in named_charts()}  # fmt: skip
    judged = [tuple(c.chord.symbol for b in chart.bars for c in b.chords) for chart in sixth_player.charts()]  # fmt: skip
    assert len(judged) == 15
    assert not fitted & set(judged)


@pytest.mark.parametrize("way", sixth_player.ADRIFT_WAYS)
def test_every_way_of_being_adrift_stays_on_the_neck_and_off_the_form(way: str) -> None:
    rng = np.random.default_rng(2)
    fits = []
    for the_chart in sixth_player.charts()[:6]:
        form = Form(the_chart)
        player = sixth_player.draw_player(rng)
        line = sixth_player.adrift(form, 20, 60, rng, player, way, sixth_player.walk)
        assert line
        assert all(28 <= n.pitch <= 67 and n.step < 60 * 12 for n in line)
        fits.append(sixth_player._fit(form, line))
    assert np.mean(fits) < 0.72
