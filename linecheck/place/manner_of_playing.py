"""How a take is played: how late, how swung, how closely, and which figures.

The *lateness* is where the played beats lie against the grid: a player who lays back is late
everywhere, and by seconds rather than by a share of the beat. It may change slowly. The *swing* is
where the off-beats lie in the played beat. Both are guessed from where in the beat the onsets
gather, and learned from the notes once they are placed.

Units: beats; lateness in beats at the take's median tempo.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from linecheck.place.rhythm_figures import (
    FIGURES,
    LINEAR_FROM,
    USUAL_OFF_SPREAD,
    USUAL_SWING,
    Figures,
    Manner,
    figure_prices,
)
from linecheck.place.sorted_arrays import median
from linecheck.terms import STEPS_PER_BEAT

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.int64]

LEAST_OFF_BEATS = 5  # fewer say nothing of the swing
_WIDEST_SWING = (0.42, 0.8)  # a place of the off-beat beyond is another figure
_SPREAD = (0.02, 0.12)  # of on-beats, in beats: how close and how loose playing is taken to be
# Where hardly an off-beat shows, a note is the beat's as long as that is the nearest eighth,
# however closely the others keep to it.
_FEW_OFF_BEATS_SPREAD = 0.06
_OFF_SPREAD = (0.05, 0.09)  # of off-beats, which players move at will
_BINS = 96  # places in the beat, of the first guess
_STRETCH = 14  # onsets
_USUAL_LATENESS = 0.1  # beats: one standard deviation before the take is known
_LATENESSES = np.arange(-14, 15) * 2 / _BINS  # beats
_OFF_BEATS = np.arange(0.5, 0.76, 0.03)
_TRUST = 4  # stretches' worth of it, for where the course begins
_COURSE_STEP = 0.04  # beats that the lateness moves from stretch to stretch: a standard deviation
_LATEST = 0.25  # beats
_NEIGHBOURS = 9  # notes that show how late the player is just there
_FEW = 3  # notes that show nothing


def first_guess(onsets: Floats, scale: Floats) -> Manner:
    """Off-beat and course of the lateness that best explain where in the beat the onsets lie."""
    stretches = -(-len(onsets) // _STRETCH)
    row = np.arange(len(onsets)) // _STRETCH
    bins = (np.floor(onsets * _BINS).astype(np.int64) % _BINS) + row * _BINS
    counts = np.bincount(bins, minlength=stretches * _BINS).reshape(stretches, _BINS)
    told: Floats = _densities() @ counts.T.astype(np.float64)
    told = told.reshape(len(_LATENESSES), len(_OFF_BEATS), stretches)
    near = -0.5 * (_LATENESSES / _USUAL_LATENESS) ** 2
    best = np.unravel_index(
        int((told.sum(axis=2) + _TRUST * near[:, None]).argmax()), told.shape[:2]
    )
    course = _course(told[:, best[1]].T, near)
    return Manner(
        lateness=_LATENESSES[course][row] / scale,
        off_beat=float(_OFF_BEATS[best[1]]),
        prices=figure_prices(0.0, {c: np.zeros(len(f)) for c, f in FIGURES.items()}, USUAL_SWING),
    )


@lru_cache(maxsize=1)
def _densities() -> Floats:
    """Log density of places in the beat: by lateness and off-beat, one after the other, and place."""
    at = (np.arange(_BINS) + 0.5) / _BINS

    def peak(place: Floats) -> Floats:
        away = (at - place + 0.5) % 1.0 - 0.5
        shape: Floats = np.exp(-0.5 * (away / 0.06) ** 2)
        return shape

    zero = np.zeros((len(_OFF_BEATS), 1))
    density = 0.6 * peak(zero) + 0.25 * peak(_OFF_BEATS[:, None]) + 0.02
    density += 0.05 * (peak(zero + 1 / 3) + peak(zero + 2 / 3))
    shifts = np.rint(_LATENESSES * _BINS).astype(np.int64)
    shifted = np.log(density)[:, (np.arange(_BINS) - shifts[:, None]) % _BINS]
    return np.ascontiguousarray(shifted.transpose(1, 0, 2)).reshape(-1, _BINS)


def _course(told: Floats, near: Floats) -> Ints:
    """The likeliest course of the lateness (by index) through the stretches: a Viterbi path."""
    steps = (_LATENESSES[:, None] - _LATENESSES) / _COURSE_STEP
    move = -0.5 * steps**2
    best = told[0] + _TRUST * near
    came = np.zeros(told.shape, dtype=np.int64)
    for index in range(1, len(told)):
        ways = best + move  # to by from
        came[index] = ways.argmax(axis=1)
        best = ways.max(axis=1) + told[index] + near
    path = np.zeros(len(told), dtype=np.int64)
    path[-1] = best.argmax()
    for index in range(len(told) - 1, 0, -1):
        path[index - 1] = came[index, path[index]]
    return path


def learned_manner(
    onsets: Floats, scale: Floats, figures: Figures, manner: Manner
) -> tuple[Manner, float | None]:
    """The means and spreads of the beats and off-beats that were placed, and the swing ratio."""
    lateness, spread = _lateness(onsets, scale, figures, manner), manner.spread
    late = ((onsets - figures.steps / 12) / scale - lateness)[figures.on_beat]
    if len(late) >= _FEW:
        middle, spread = _centre(late, _SPREAD)
        lateness = lateness + middle
    lone = figures.lone_off
    within = (onsets - lateness * scale)[lone] - figures.steps[lone] // STEPS_PER_BEAT
    after_beat = within[figures.follows_beat[lone]]
    shown = after_beat if len(after_beat) >= LEAST_OFF_BEATS else within
    off, off_spread, ratio = USUAL_SWING, USUAL_OFF_SPREAD, None
    if len(shown):
        off, off_spread = _centre(shown, _OFF_SPREAD)
        off = min(max(off, _WIDEST_SWING[0]), _WIDEST_SWING[1])
    if len(shown) >= LEAST_OFF_BEATS:
        ratio = off / (1 - off)
    else:  # few off-beats: keep near the usual
        off = (off * len(shown) + 2 * USUAL_SWING) / (len(shown) + 2)
        off_spread = USUAL_OFF_SPREAD
        spread = max(spread, _FEW_OFF_BEATS_SPREAD)
    odds = float(np.log((len(late) + 4) / (figures.unstruck + 1)))
    learned = Manner(
        lateness=lateness,
        off_beat=off,
        prices=figure_prices(figures.alone, figures.counts, off),
        spread=spread,
        off_spread=off_spread,
        beat_odds=max(odds, 0.0),
    )
    return learned, ratio


def _lateness(onsets: Floats, scale: Floats, figures: Figures, manner: Manner) -> Floats:
    """How late the player is, at each onset: the mean, and as much of its slow changes as shows."""
    anchors = np.flatnonzero(figures.on_beat | figures.lone_off)
    if len(anchors) < _FEW:
        return manner.lateness
    steps, lone = figures.steps[anchors], figures.lone_off[anchors]
    places = np.where(lone, steps // STEPS_PER_BEAT + manner.off_beat, steps / STEPS_PER_BEAT)
    late = (onsets[anchors] - places) / scale[anchors]
    mean, spread = _centre(late, _SPREAD)
    mean = min(max(mean, -_LATEST), _LATEST)
    if len(late) < 2 * _NEIGHBOURS:
        return np.full(len(onsets), mean)
    off_mean = np.clip(late - mean, -LINEAR_FROM * spread, LINEAR_FROM * spread)
    summed = np.concatenate(([0.0], np.cumsum(off_mean)))
    index = np.arange(len(late))
    first = np.maximum(index - _NEIGHBOURS // 2, 0)
    end = np.minimum(index + _NEIGHBOURS // 2 + 1, len(late))
    local = (summed[end] - summed[first]) / (end - first)
    # What neighbours have in common is a change of lateness; the rest is jitter.
    jitter = float(np.mean(np.diff(off_mean) ** 2)) / 2
    shown = max(0.0, 1 - jitter / _NEIGHBOURS / max(float(np.mean(local**2)), 1e-12))
    wandering: Floats = mean + np.interp(np.arange(len(onsets)), anchors, shown * local)
    return wandering


def _centre(values: Floats, bounds: tuple[float, float]) -> tuple[float, float]:
    """Mean without outliers, and the spread (one standard deviation) within bounds."""
    middle = median(values)
    usual = 1.4826 * median(np.abs(values - middle))
    reach = 2.5 * max(usual, bounds[0])
    held = np.clip(values - middle, -reach, reach)
    spread = float(np.sqrt(np.mean(held**2)))
    return middle + float(np.mean(held)), min(max(spread, bounds[0]), bounds[1])
