"""A line that is in place with many wrong notes is not lost."""

from __future__ import annotations

import numpy as np
import pytest

from linecheck.music.form import Form
from linecheck.place.form_loss import find_form
from tests.measure_form_judge import with_wrong_notes
from tests.synthetic import second_player
from tests.synthetic.drawn_takes import draw_take


@pytest.mark.parametrize(("kind", "most"), [("clean walking", 3), ("clean solo", 5)])
def test_a_fifth_of_wrong_notes_seldom_makes_a_loss(kind, most):
    rng = np.random.default_rng(21)
    told = 0
    for _ in range(24):
        take = draw_take(rng, kind, second_player)
        line = with_wrong_notes(take.line, 0.2, rng)
        columns = [list(column) for column in zip(*line, strict=True)]
        losses = find_form(*columns, Form(take.chart, take.choruses)).losses
        told += any(loss.certain for loss in losses)
    assert told <= most


def test_lost_in_spite_of_wrong_notes_is_still_found():
    rng = np.random.default_rng(22)
    found = 0
    for _ in range(24):
        take = draw_take(rng, "walking", second_player)
        line = with_wrong_notes(take.line, 0.1, rng)
        columns = [list(column) for column in zip(*line, strict=True)]
        losses = find_form(*columns, Form(take.chart, take.choruses)).losses
        (slip,) = take.truth
        found += any(x.certain and x.offset_beats == slip.offset_beats for x in losses)
    assert found >= 18
