"""The search for the best path: what it leaves out changes nothing."""

from __future__ import annotations

import numpy as np
import pytest

from linecheck.place.form_path import Stretch, best_path, most_gained, path_if_lost, path_value


@pytest.mark.parametrize("seed", range(60))
def test_states_that_gain_too_little_may_be_left_out_of_the_search(seed: int) -> None:
    rng = np.random.default_rng(seed)
    beats, states = int(rng.integers(2, 120)), int(rng.integers(2, 30))
    gain = rng.normal(-0.3, 0.9, (beats, states)).astype(np.float32)
    for _ in range(int(rng.integers(4))):  # some stretches where a state gains
        start = int(rng.integers(beats))
        gain[start : start + int(rng.integers(4, 40)), int(rng.integers(states))] += 0.9
    gain[:, 0] = 0.0
    costs = rng.uniform(1.0, 9.0, states).astype(np.float32)
    costs[0] = rng.uniform(0.5, 4.0)
    whole = best_path(gain, costs)
    found = path_if_lost(gain, most_gained(gain), costs) or [Stretch(0, beats, 0)]
    assert path_value(found, gain, costs) == pytest.approx(path_value(whole, gain, costs), abs=1e-3)


def test_a_line_in_place_is_not_searched() -> None:
    gain = np.full((50, 8), -0.1, dtype=np.float32)
    gain[:, 0] = 0.0
    assert path_if_lost(gain, most_gained(gain), np.full(8, 3.0, dtype=np.float32)) is None
