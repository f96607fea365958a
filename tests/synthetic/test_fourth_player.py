from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from linecheck.music.form import Form
from tests.synthetic import fourth_player
from tests.synthetic.charts import named_charts
from tests.synthetic.drawn_takes import KINDS, draw_take


@pytest.mark.parametrize("kind", KINDS)
def test_a_take_is_its_kind(kind: str) -> None:
    rng = np.random.default_rng(4)
    for _ in range(4):
        take = draw_take(rng, kind, fourth_player)
        offsets = [t.offset_beats for t in take.truth]
        assert len(offsets) == (0 if kind.startswith("clean") else 1)
        assert all((o is None) == kind.startswith("adrift") for o in offsets)
        assert all(a.end_step <= b.step for a, b in pairwise(take.line))
        assert take.line[-1].step < take.choruses * Form(take.chart).steps


def test_a_take_is_the_same_for_a_seed() -> None:
    first, second = (
        draw_take(np.random.default_rng(9), "adrift solo", fourth_player) for _ in range(2)
    )
    assert (first.line, first.truth, first.way) == (second.line, second.truth, second.way)


def test_the_charts_stand_nowhere_else() -> None:
    named = {tuple(c.chord.symbol for b in chart.bars for c in b.chords) for chart in named_charts()}  # fmt: skip
    own = [tuple(c.chord.symbol for b in chart.bars for c in b.chords) for chart in fourth_player.charts()]  # fmt: skip
    assert len(own) == 15
    assert not named & set(own)


def test_the_notes_stay_on_the_instrument() -> None:
    rng = np.random.default_rng(2)
    for kind in KINDS:
        line = draw_take(rng, kind, fourth_player).line
        assert all(28 <= n.pitch <= 67 for n in line)
