"""Medians, quantiles, runs and distinct values; numpy's own are the reference."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linecheck.place.sorted_arrays import distinct, median, quantile, runs


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=30))
def test_the_median(values: list[float]):
    assert median(np.array(values)) == pytest.approx(float(np.median(values)))


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=30), st.floats(0, 1))
def test_a_quantile(values: list[float], share: float):
    assert quantile(np.array(values), share) == float(np.quantile(np.array(values), share))


@given(st.lists(st.integers(-3, 3), max_size=30))
def test_runs(values: list[int]):
    ordered = np.sort(np.array(values, dtype=np.int64))
    _, first, counts = np.unique(ordered, return_index=True, return_counts=True)
    found = runs(ordered)
    assert found[0].tolist() == first.tolist()
    assert found[1].tolist() == counts.tolist()


@given(st.lists(st.integers(-5, 5), max_size=30))
def test_distinct(values: list[int]):
    array = np.array(values, dtype=np.int64)
    _, first, which = np.unique(array, return_index=True, return_inverse=True)
    found = distinct(array)
    assert found[0].tolist() == first.tolist()
    assert found[1].tolist() == which.reshape(-1).tolist()


SCRIPT = """
import sys
from linecheck.place import place_line
from linecheck.read.chart_toml import parse_chart_toml
from linecheck.terms import Take, TakeNote, TempoMap

chart = parse_chart_toml(
    'title = "Four Bars"\\nkey = "F"\\nform = ["A"]\\n[sections]\\nA = "F7 | Bb7 | F7 | C7"'
)
pitches = (29, 33, 36, 33, 34, 38, 41, 40, 41, 36, 33, 35, 36, 40, 43, 40) * 4
notes = tuple(TakeNote(q / 2, 0.4, p, 80, q, 0.8) for q, p in enumerate(pitches))
take = Take("", "played", notes, TempoMap((0.0,), (0.0,), (0.5,)))
place_line(take, chart, click=CLICK)
sys.exit(3 if "numpy.ma" in sys.modules else 0)
"""


@pytest.mark.parametrize("click", [True, False])
def test_placing_a_line_loads_no_masked_arrays(click: bool):
    script = SCRIPT.replace("CLICK", str(click))
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 0
