"""Medians and runs; numpy's own are the reference."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linecheck.place.sorted_arrays import median, runs


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=30))
def test_the_median(values: list[float]):
    assert median(np.array(values)) == pytest.approx(float(np.median(values)))


@given(st.lists(st.integers(-3, 3), max_size=30))
def test_runs(values: list[int]):
    ordered = np.sort(np.array(values, dtype=np.int64))
    _, first, counts = np.unique(ordered, return_index=True, return_counts=True)
    found = runs(ordered)
    assert found[0].tolist() == first.tolist()
    assert found[1].tolist() == counts.tolist()


def test_placing_to_a_grid_loads_no_masked_arrays():
    script = (
        "import sys, numpy as np\n"
        "from linecheck.terms import Take, TakeNote, TempoMap\n"
        "from linecheck.place.click_evidence import click_evidence\n"
        "from linecheck.place.quantise import quantise\n"
        "at = np.arange(64) * 0.75\n"
        "notes = tuple(TakeNote(q / 2, 0.2, 40, 80, q, 0.3) for q in at.tolist())\n"
        "click_evidence(Take('', 'played', notes, TempoMap((0.0,), (0.0,), (0.5,))))\n"
        "quantise(at, np.full(64, 0.5))\n"
        "sys.exit('numpy.ma' in sys.modules)\n"
    )
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 0
