from __future__ import annotations

import itertools

import numpy as np
import pytest

from linecheck.place.form_level import BACK_COST, LOST_COST, level_of, misfit_of, two_ways
from linecheck.place.form_path import Stretch

WALKING = (np.ones(400, dtype=bool), np.zeros(400, dtype=bool))


def noise(seed: int, beats: int = 400) -> np.ndarray:
    return np.random.default_rng(seed).normal(-1.2, 1.2, beats).astype(np.float32)


def test_the_misfit_is_zero_where_nothing_sounds_and_less_where_the_line_fits_its_place() -> None:
    silence = np.zeros((1, 9), dtype=np.float32)
    assert misfit_of(silence) == pytest.approx(0.0)
    fits = silence.copy()
    fits[0, 0] = 2.0
    assert misfit_of(fits) < 0


@pytest.mark.parametrize("seed", range(12))
def test_a_stretch_above_the_level_of_the_take_is_found_with_its_edges(seed: int) -> None:
    misfit = noise(seed)
    in_place = float(np.delete(misfit, slice(160, 200)).mean())
    misfit[160:200] += 3.0
    level, path = level_of(misfit, WALKING)
    lost = max((s for s in path if s.state), key=lambda s: level.lost[s.start : s.stop].sum())
    assert abs(lost.start - 160) <= 8
    assert abs(lost.stop - 200) <= 8
    assert level.mean[0] == pytest.approx(in_place, abs=0.1)
    assert level.lost_share[0] == pytest.approx(0.1, abs=0.05)


def test_a_player_who_plays_loosely_throughout_is_measured_by_that() -> None:
    loose = noise(2) + 0.7
    level, path = level_of(loose, WALKING)
    assert level.mean[0] == pytest.approx(-0.5, abs=0.25)
    assert sum(s.stop - s.start for s in path if s.state) < 40


def worth(ways: tuple[int, ...], lost: np.ndarray) -> float:
    turns = itertools.pairwise((0, *ways))
    cost = sum(LOST_COST if b > a else BACK_COST for a, b in turns if a != b)
    return float((np.array(ways) * lost).sum()) - cost


@pytest.mark.parametrize("seed", range(12))
def test_the_path_is_the_best_of_all(seed: int) -> None:
    lost = np.random.default_rng(seed).normal(-0.3, 3.0, 10)
    path = two_ways(lost)
    assert (path[0].start, path[-1].stop) == (0, 10)
    assert all(a.stop == b.start and a.state != b.state for a, b in itertools.pairwise(path))
    ways = tuple(s.state for s in path for _ in range(s.stop - s.start))
    best = max(worth(w, lost) for w in itertools.product((0, 1), repeat=10))
    assert worth(ways, lost) == pytest.approx(best)


def test_a_line_of_one_beat_is_in_place() -> None:
    one = (np.ones(1, dtype=bool), np.zeros(1, dtype=bool))
    assert level_of(np.zeros(1, dtype=np.float32), one)[1] == [Stretch(0, 1, 0)]
