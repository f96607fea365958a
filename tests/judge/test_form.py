"""How far a stretch is out of place, as the costs tell it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from linecheck.judge.form import marks
from linecheck.music.form import Form, whole_bars
from linecheck.terms import FormSpan, Meter
from tests.hand_made_audit import hand_made_audit, hand_made_chart


@pytest.mark.parametrize(
    ("offset", "why"),
    [
        (4.0, "1 bar ahead"),
        (-8.0, "2 bars behind"),
        (5.0, "1 bar and 1 beat ahead"),
        (0.5, "0.5 beats ahead"),
        (None, "adrift"),
    ],
)
def test_the_distance_in_bars(offset, why):
    audit = hand_made_audit()
    labels = replace(audit.labels, spans=(FormSpan(0, 48, offset, 0.9),))
    assert [mark.missed for mark in marks(labels, Form(audit.chart))][:5] == [why] * 4 + [""]


def test_no_bars_are_counted_where_they_are_of_two_lengths():
    chart = hand_made_chart()
    uneven = replace(chart, bars=(replace(chart.bars[0], meter=Meter(3, 4)), *chart.bars[1:]))
    assert whole_bars(-9.0, chart) == (2, 1.0)
    assert whole_bars(-8.0, uneven) == (0, 8.0)
    labels = replace(hand_made_audit().labels, spans=(FormSpan(0, 48, 4.0, 0.9),))
    assert marks(labels, Form(uneven))[0].missed == "4 beats ahead"
