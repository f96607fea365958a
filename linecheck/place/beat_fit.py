"""Steady beats in a free take, second pass: the beats' times through the onsets.

A *warp* is the time of every beat of one grid. Each onset is taken for one part of its beat (on it,
a sixteenth, a triplet, a straight or a swung off-beat; the parts are moved to where this take plays
them), and the beats' times are those that lie close to the onsets and change their pace little from
beat to beat: penalised least squares with second differences (Whittaker 1923), solved in one run
along the take and one back. Rests are bridged by the same rule. Units: seconds and beats.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from linecheck.place.beat_lattice import ANY_FEEL
from linecheck.place.sorted_arrays import median

if TYPE_CHECKING:
    from linecheck.place.beat_lattice import Feel, Path

Array = NDArray[np.float64]

PARTS = np.array([0.0, 0.25, 1 / 3, 0.5, 0.6, 2 / 3, 0.75, 1.0])
PART_WEIGHTS = np.array([0.50, 0.04, 0.06, 0.14, 0.08, 0.12, 0.06, 0.50])
# How much a beat's length differs from that of the one before, as a share, round by round: first
# the rough path is to be caught, then the jitter is to be smoothed.
PACE_CHANGES = (0.008, 0.005, 0.003)
OFF_GRID_SHARE = 0.03
FEEL_BINS = 48
FEEL_KERNEL = np.array([0.25, 0.5, 1.0, 0.5, 0.25])
FEEL_PRIOR_BEATS = 20.0


@dataclass(frozen=True, slots=True)
class Warp:
    """Beat times of one grid, and how the onsets lie on it.

    ``positions`` are the onsets in beats from ``beats_s[0]``; ``jitter_s`` is the spread of the
    onsets around their parts of the beat.
    """

    beats_s: Array
    positions: Array
    jitter_s: float


def smooth_beats(
    place: Array, onsets_s: Array, weights: Array, count: int, stiffness: float
) -> Array:
    """Times of beats 0 to ``count`` − 1 that minimise Σ w (t − B(q))² + stiffness Σ (B″)².

    Args:
        place: q, the onsets' places in beats; B is linear between beats.
        onsets_s: t, their times.
        weights: w.
        count: how many beats.
        stiffness: of the second difference B″.
    """
    low = np.clip(np.floor(place).astype(np.int64), 0, count - 2)
    part = place - low
    near, far = 1 - part, part
    main: Array = np.bincount(low, weights * near * near, count).astype(np.float64)
    main += np.bincount(low + 1, weights * far * far, count)
    off1: Array = np.bincount(low, weights * near * far, count).astype(np.float64)
    right: Array = np.bincount(low, weights * near * onsets_s, count).astype(np.float64)
    right += np.bincount(low + 1, weights * far * onsets_s, count)
    main[:-2] += stiffness
    main[1:-1] += 4 * stiffness
    main[2:] += stiffness
    off1[:-2] -= 2 * stiffness
    off1[1:-1] -= 2 * stiffness
    off2 = np.full(count, stiffness)
    return _solve_five_bands(main, off1, off2, right)


def _solve_five_bands(main: Array, off1: Array, off2: Array, right: Array) -> Array:
    """Solve a symmetric positive definite system of five bands by L D Lᵀ (plain floats: n small)."""
    count = len(main)
    pivots, lower1, lower2, middle = [], [], [], []
    d1 = d2 = 1.0
    l1 = l2 = l2_before = 0.0  # factors of the row before, and the second one of the row before it
    y1 = y2 = 0.0
    for a, b, c, r in zip(main.tolist(), off1.tolist(), off2.tolist(), right.tolist(), strict=True):
        d = a - l1 * l1 * d1 - l2_before * l2_before * d2
        y = r - l1 * y1 - l2_before * y2
        next_l1 = (b - l2 * l1 * d1) / d
        next_l2 = c / d
        pivots.append(d)
        lower1.append(next_l1)
        lower2.append(next_l2)
        middle.append(y)
        l2_before, l1, l2 = l2, next_l1, next_l2
        d2, d1, y2, y1 = d1, d, y1, y
    solution = [0.0] * count
    x1 = x2 = 0.0
    for i in range(count - 1, -1, -1):
        x = middle[i] / pivots[i]
        if i < count - 1:
            x -= lower1[i] * x1
        if i < count - 2:
            x -= lower2[i] * x2
        solution[i] = x
        x2, x1 = x1, x
    return np.array(solution)


def fit(path: Path, onsets_s: Array, weights: Array) -> Warp:
    """Beats through the onsets, from a rough path.

    Args:
        path: where the beat is about.
        onsets_s: onsets, ascending.
        weights: how far each onset is trusted, 0 to 1.
    """
    position = np.interp(onsets_s, path.times_s, path.positions)
    first = int(np.floor(position[0])) - 2
    count = int(np.ceil(position[-1])) + 3 - first
    index = np.arange(first, first + count, dtype=np.float64)
    beats_s = _extend(path, index)
    parts = PARTS.copy()
    jitter = 0.025
    for pace_change in PACE_CHANGES:
        period = np.interp(position, index[:-1] + 0.5, np.diff(beats_s))
        whole = np.floor(position)
        inside = position - whole
        share, miss = _parts_of(inside, parts, jitter / period)
        moved = inside[:, None] - parts
        take = share * weights[:, None]
        parts = _moved_parts(parts, moved, take)
        quantised = whole + share @ parts / np.maximum(share.sum(axis=1), 1e-9)
        trust = weights * (1 - miss)
        error = (position - quantised) * period
        jitter = float(np.sqrt(((error**2 * trust).sum() + 4e-4 * 4) / (trust.sum() + 4)))
        jitter = min(max(jitter, 0.006), 0.045)
        stiffness = (jitter / (pace_change * median(period))) ** 2
        beats_s = smooth_beats(
            quantised - first, onsets_s, np.maximum(trust, 1e-3), count, stiffness
        )
        beats_s = np.maximum.accumulate(beats_s + 1e-9 * np.arange(count))
        position = _positions(onsets_s, beats_s, first)
    return Warp(beats_s=beats_s, positions=position - first, jitter_s=jitter)


def _extend(path: Path, index: Array) -> Array:
    """Times of beats by the path, going on at its outer tempos."""
    times = np.interp(index, path.positions, path.times_s)
    rate0 = (path.times_s[1] - path.times_s[0]) / (path.positions[1] - path.positions[0])
    rate1 = (path.times_s[-1] - path.times_s[-2]) / (path.positions[-1] - path.positions[-2])
    before, after = index < path.positions[0], index > path.positions[-1]
    times[before] = path.times_s[0] + (index[before] - path.positions[0]) * rate0
    times[after] = path.times_s[-1] + (index[after] - path.positions[-1]) * rate1
    return np.asarray(times)


def _positions(times_s: Array, beats_s: Array, first: int) -> Array:
    return first + np.interp(times_s, beats_s, np.arange(len(beats_s), dtype=np.float64))


def _parts_of(inside: Array, parts: Array, width: Array) -> tuple[Array, Array]:
    """Probability of each part for each onset, and of none of them."""
    width = width[:, None]
    dense = PART_WEIGHTS * np.exp(-0.5 * ((inside[:, None] - parts) / width) ** 2)
    dense /= width * np.sqrt(2 * np.pi)
    total = dense.sum(axis=1, keepdims=True) + OFF_GRID_SHARE
    share = dense / total
    return share, np.asarray(OFF_GRID_SHARE / total[:, 0])


def _moved_parts(parts: Array, moved: Array, take: Array) -> Array:
    """Parts moved to where this take plays them; the beat itself stays, the others by evidence."""
    shift = (take * moved).sum(axis=0) / (take.sum(axis=0) + 8.0)
    shift[[0, -1]] = 0.0
    return np.asarray(np.clip(parts + np.clip(shift, -0.03, 0.03), PARTS - 0.06, PARTS + 0.06))


def learned_feel(warp: Warp) -> Feel:
    """What a take shows of itself on a warp: where in the beat it strikes, and how closely."""
    counts, _ = np.histogram(warp.positions % 1.0, FEEL_BINS, (0.0, 1.0))
    around = np.concatenate([counts[-2:], counts, counts[:2]])
    smooth = np.convolve(around, FEEL_KERNEL / FEEL_KERNEL.sum(), mode="valid")
    for place, notes in ANY_FEEL.parts:
        smooth[round(place * FEEL_BINS) % FEEL_BINS] += notes * FEEL_PRIOR_BEATS
    beats = warp.positions[-1] - warp.positions[0] + FEEL_PRIOR_BEATS
    parts = tuple(((i + 0.5) / FEEL_BINS, n) for i, n in enumerate((smooth / beats).tolist()))
    return replace(
        ANY_FEEL,
        parts=tuple(p for p in parts if p[1] > 0.002),
        jitter_s=max(warp.jitter_s, 0.014),
    )
