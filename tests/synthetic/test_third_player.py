from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from linecheck.music.form import Form
from tests.synthetic import third_player
from tests.synthetic.charts import named_charts
from tests.synthetic.drawn_takes import KINDS, draw_take


@pytest.mark.parametrize("kind", KINDS)
def test_a_take_is_its_kind(kind: str) -> None:
    rng = np.random.default_rng(6)
    for _ in range(4):
        take = draw_take(rng, kind, third_player)
        offsets = [t.offset_beats for t in take.truth]
        assert len(offsets) == (0 if kind.startswith("clean") else 1)
        assert all((o is None) == kind.startswith("adrift") for o in offsets)
        assert all(a.end_step <= b.step for a, b in pairwise(take.line))
        assert take.line[-1].end_step <= take.choruses * Form(take.chart).steps
        assert all(28 <= n.pitch <= 67 for n in take.line)


def test_a_take_is_the_same_for_a_seed() -> None:
    first, second = (
        draw_take(np.random.default_rng(9), "adrift solo", third_player) for _ in range(2)
    )
    assert (first.line, first.truth, first.way) == (second.line, second.truth, second.way)


def _explained(form: Form, line: list[third_player.LineNote], offset: int) -> float:
    """Share of the notes on landings that are chord tones, ``offset`` beats on in the form."""
    hits = []
    for note in line:
        step = note.step + offset * 12
        chord = form.chord(step)
        if form.is_landing(step) and chord is not None:
            hits.append(note.pitch % 12 in {t.pitch_class for t in chord.tones})
    return sum(hits) / max(1, len(hits))


@pytest.mark.parametrize("way", third_player.ADRIFT_WAYS)
def test_no_offset_explains_a_line_adrift(way: str) -> None:
    rng = np.random.default_rng(5)
    best, clean = [], []
    for the_chart in third_player.charts():
        form = Form(the_chart)
        player = third_player.draw_player(rng)
        args = (form, 5, 69, rng, player)
        clean.append(_explained(form, third_player.walk(*args), 0))
        lost = third_player.adrift(*args, way, third_player.walk)
        best.append(max(_explained(form, lost, o) for o in range(form.beats)))
    assert np.mean(best) < np.mean(clean) - 0.1


def test_the_charts_stand_nowhere_else() -> None:
    named = {tuple(c.chord.symbol for b in chart.bars for c in b.chords) for chart in named_charts()}  # fmt: skip
    own = [tuple(c.chord.symbol for b in chart.bars for c in b.chords) for chart in third_player.charts()]  # fmt: skip
    assert len(own) == 15
    assert not named & set(own)
