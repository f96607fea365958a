"""The place that every note was meant for: onsets to steps, a step being a twelfth of a beat.

**Place** of a note: the place it was meant for, not the millisecond. Onsets are quantised to
beats and to eighths; a swung off-beat is ``2.5`` however long the swing, triplets and sixteenths
where the playing shows them. A note 20 ms before the bar line belongs to beat one.

How: the take shows where its beats lie on the grid (its *lateness*: a player who lays back is
late everywhere) and where its off-beats lie (its *swing*), and how closely both are kept. An
onset near a beat is that beat's unless it fits the off-beats better; what lies between two beats
is read as a figure: one off-beat, a triplet, sixteenths, a grace note. A figure that is rarer in
a jazz line has to fit better (its price).

Units: beats, onsets in beats of the grid (beat 0 is some beat), steps in twelfths of a beat.
Swing ratio: long to short, 1.0 straight, 2.0 triplets, 3.0 dotted; common practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from linecheck.place.sorted_arrays import median, runs
from linecheck.terms import STEPS_PER_BEAT

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.int64]
Bools: TypeAlias = NDArray[np.bool_]

EIGHTH = STEPS_PER_BEAT // 2
LEAST_OFF_BEATS = 5  # fewer say nothing of the swing
_USUAL_SWING = 0.6  # place of the off-beat in its beat where the take does not show it
_WIDEST_SWING = (0.42, 0.8)  # a place of the off-beat beyond is another figure
_SPREAD = (0.02, 0.12)  # of on-beats, in beats: how close and how loose playing is taken to be
_OFF_SPREAD = (0.05, 0.09)  # of off-beats, which players move at will
_STRAIGHT = 0.58  # a take whose off-beats lie later is swung
_USUAL_OFF_SPREAD = 0.08
_LINEAR_FROM = 2.5  # spreads from where a deviation costs in proportion, as outliers do
_BINS = 96  # places in the beat, of the first guess
_STRETCH = 14  # onsets
_LATENESSES = np.arange(-14, 15) * 2 / _BINS  # beats
_OFF_BEATS = np.arange(0.5, 0.76, 0.03)
_COURSE_STEP = 0.04  # beats that the lateness moves from stretch to stretch: a standard deviation
_LATEST = 0.25  # beats
_NEIGHBOURS = 9  # notes that show how late the player is just there
_FEW = 3  # notes that show nothing
_SAME = 1e-4  # beats: onsets closer than this are simultaneous
_ROUNDS = 4


@dataclass(frozen=True, slots=True)
class Quantised:
    """Onsets at their places.

    ``steps[i]`` is the place of onset i in twelfths of a beat from beat 0 of the grid.
    ``placement_beats[i]`` is how far it lies after (+) or before (−) that place; the place of an
    off-beat is the take's own mean off-beat. ``lateness_beats[i]`` is what the take is late by
    everywhere (in seconds it is the same at every tempo). ``off_beat`` is the place of the
    off-beat within a played beat, 0.5 where it is straight; ``swing_ratio`` is None where too few
    off-beats show it.
    """

    steps: Ints
    placement_beats: Floats
    lateness_beats: Floats
    off_beat: float
    swing_ratio: float | None


@dataclass(frozen=True, slots=True)
class _Figure:
    """Onsets between two beats: where they lie in the beat, and their steps.

    A place of None is the take's own off-beat. ``share`` is how often a beat is followed by the
    figure, before the take is known.
    """

    places: tuple[float | None, ...]
    steps: tuple[int, ...]
    share: float


# By the number of onsets between two beats. A lone onset at two thirds is a swung off-beat.
_FIGURES: dict[int, tuple[_Figure, ...]] = {
    1: (
        _Figure((None,), (6,), 0.2),
        _Figure((1 / 3,), (4,), 0.01),
        _Figure((1 / 4,), (3,), 0.01),
        _Figure((3 / 4,), (9,), 0.01),
        _Figure((0.08,), (3,), 0.002),  # right after the beat's own note
        _Figure((0.92,), (9,), 0.002),  # a grace note to the next beat
    ),
    2: (
        _Figure((1 / 3, 2 / 3), (4, 8), 0.03),
        _Figure((1 / 2, 3 / 4), (6, 9), 0.01),
        _Figure((1 / 4, 1 / 2), (3, 6), 0.01),
        _Figure((1 / 4, 3 / 4), (3, 9), 0.003),
        _Figure((None, 0.92), (6, 9), 0.002),
        _Figure((0.08, None), (3, 6), 0.002),
        _Figure((1 / 3, 0.92), (4, 9), 0.0005),
    ),
    3: (
        _Figure((1 / 4, 1 / 2, 3 / 4), (3, 6, 9), 0.01),
        _Figure((1 / 3, 2 / 3, 0.92), (4, 8, 10), 0.001),
        _Figure((0.08, 1 / 3, 2 / 3), (2, 4, 8), 0.001),
    ),
    4: (_Figure((1 / 5, 2 / 5, 3 / 5, 4 / 5), (2, 5, 7, 10), 0.001),),
    5: (_Figure((1 / 6, 2 / 6, 3 / 6, 4 / 6, 5 / 6), (2, 4, 6, 8, 10), 0.001),),
}
_LAST_SIXTEENTH = 3  # among the figures of one onset
_MOST = max(_FIGURES)  # onsets of a figure
_BEAT_ALONE = 0.7  # share of beats that nothing follows before the next
_PRIOR_BEATS = 32  # so many beats is what is known before the take worth
_RARE = 0.1  # beats: nothing is taken to be rarer, so that one figure draws no others after it


@dataclass(frozen=True, slots=True)
class _Feel:
    """What the take shows of itself.

    The means and spreads of its beats and off-beats, in beats; the log odds that a beat with an
    onset near it is struck; the price of each figure, from how often it is played.
    """

    lateness: Floats
    off_beat: float
    prices: dict[int, Floats]
    spread: float = 0.06
    off_spread: float = _USUAL_OFF_SPREAD
    beat_odds: float = 1.5

    def costs(self, within: Floats) -> Floats:
        """What each figure costs for rows of onsets between two beats: rows by figures."""
        figures = _FIGURES[within.shape[1]]
        loose = max(self.spread * 1.2, 0.035)
        off = [[p is None for p in figure.places] for figure in figures]
        places = np.array([[self.off_beat if p is None else p for p in f.places] for f in figures])
        away = (within[:, None, :] - places) / np.where(off, self.off_spread, loose)
        costs: Floats = _deviation(away).sum(axis=2) + self.prices[within.shape[1]]
        return costs


def quantise(beats: Floats, beat_s: Floats) -> Quantised:
    """Quantise a take's onsets.

    Args:
        beats: the onsets in beats of the grid, ascending.
        beat_s: how long a beat lasts at each onset, in seconds. Only its changes matter: a player
            who is late by habit is late by seconds and not by a share of the beat.

    Returns:
        Steps ascending; two onsets share a step only where they are simultaneous (or where more
        than eleven stand between two beats).
    """
    beats = np.asarray(beats, dtype=np.float64)
    if not len(beats):
        nothing = np.zeros(0)
        return Quantised(nothing.astype(np.int64), nothing, nothing, _USUAL_SWING, None)
    new = np.concatenate(([True], np.diff(beats) > _SAME))
    first = np.floor(beats[0])  # so that whole beats before the take change nothing
    onsets = (beats - first)[new]
    scale = (median(beat_s) / np.asarray(beat_s, dtype=np.float64))[new]
    feel, swing_ratio = _first_guess(onsets, scale), None
    figures = _place(onsets - feel.lateness * scale, feel)
    for _ in range(_ROUNDS):
        feel, swing_ratio = _learned(onsets, scale, figures, feel)
        before, figures = figures, _place(onsets - feel.lateness * scale, feel)
        if np.array_equal(before.steps, figures.steps):
            break
    places = np.where(figures.lone_off, figures.steps // 12 + feel.off_beat, figures.steps / 12)
    back = np.cumsum(new) - 1  # simultaneous onsets are one onset
    return Quantised(
        steps=figures.steps[back] + int(first) * STEPS_PER_BEAT,
        placement_beats=beats - first - places[back],
        lateness_beats=(feel.lateness * scale)[back],
        off_beat=feel.off_beat,
        swing_ratio=swing_ratio,
    )


def quantise_written(beats: Floats) -> Quantised:
    """The steps of a written line: exact to a twelfth; finer values go to the nearest."""
    beats = np.asarray(beats, dtype=np.float64)
    steps = np.floor(beats * STEPS_PER_BEAT + 0.5).astype(np.int64)
    return Quantised(steps, np.zeros(len(beats)), np.zeros(len(beats)), 0.5, None)


def end_steps(end_beats: Floats, quantised: Quantised) -> Ints:
    """The steps where notes stop: after their own step, and not after the next note's.

    An end is bent with the swing, so that an eighth that is held to the off-beat ends there, and
    a note held over a beat by more than half a step ends after it.

    Args:
        end_beats: where each note stops, in beats of the grid.
        quantised: the places of the same notes.
    """
    steps = quantised.steps
    if not len(steps):
        return steps
    at = np.asarray(end_beats, dtype=np.float64) - quantised.lateness_beats
    beat = np.floor(at)
    within, off = at - beat, quantised.off_beat
    bent = np.where(within < off, 0.5 * within / off, 1 - 0.5 * (1 - within) / (1 - off))
    ends = np.floor((beat + bent) * STEPS_PER_BEAT + 0.5).astype(np.int64)
    following = np.append(steps[1:], np.iinfo(np.int64).max)
    alone = following > steps  # simultaneous notes end as they do
    following = np.where(alone, following, np.iinfo(np.int64).max)
    stopped: Ints = np.minimum(np.maximum(ends, steps + 1), following)
    return stopped


# ---- what the take shows ---------------------------------------------------------------------


def _first_guess(onsets: Floats, scale: Floats) -> _Feel:
    """Off-beat and course of the lateness that best explain where in the beat the onsets lie."""
    stretches = -(-len(onsets) // _STRETCH)
    row = np.arange(len(onsets)) // _STRETCH
    bins = (np.floor(onsets * _BINS).astype(np.int64) % _BINS) + row * _BINS
    counts = np.bincount(bins, minlength=stretches * _BINS).reshape(stretches, _BINS)
    told: Floats = _densities() @ counts.T.astype(np.float64)
    told = told.reshape(len(_LATENESSES), len(_OFF_BEATS), stretches)
    near = -0.5 * (_LATENESSES / 0.1) ** 2
    best = np.unravel_index(int((told.sum(axis=2) + 4 * near[:, None]).argmax()), told.shape[:2])
    course = _course(told[:, best[1]].T, near)
    return _Feel(
        lateness=_LATENESSES[course][row] / scale,
        off_beat=float(_OFF_BEATS[best[1]]),
        prices=_prices(0.0, {c: np.zeros(len(f)) for c, f in _FIGURES.items()}, _USUAL_SWING),
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
    best = told[0] + 4 * near
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


def _learned(
    onsets: Floats, scale: Floats, figures: _Figures, feel: _Feel
) -> tuple[_Feel, float | None]:
    """The means and spreads of the beats and off-beats that were placed, and the swing ratio."""
    lateness, spread = _lateness(onsets, scale, figures, feel), feel.spread
    late = ((onsets - figures.steps / 12) / scale - lateness)[figures.on_beat]
    if len(late) >= _FEW:
        middle, spread = _centre(late, _SPREAD)
        lateness += middle
    lone = figures.lone_off
    within = (onsets - lateness * scale)[lone] - figures.steps[lone] // STEPS_PER_BEAT
    after_beat = within[figures.follows_beat[lone]]
    shown = after_beat if len(after_beat) >= LEAST_OFF_BEATS else within
    off, off_spread, ratio = _USUAL_SWING, _USUAL_OFF_SPREAD, None
    if len(shown):
        off, off_spread = _centre(shown, _OFF_SPREAD)
        off = min(max(off, _WIDEST_SWING[0]), _WIDEST_SWING[1])
    if len(shown) >= LEAST_OFF_BEATS:
        ratio = off / (1 - off)
    else:  # few off-beats: keep near the usual
        off = (off * len(shown) + 2 * _USUAL_SWING) / (len(shown) + 2)
        off_spread = _USUAL_OFF_SPREAD
    odds = float(np.log((len(late) + 4) / (figures.unstruck + 1)))
    learned = _Feel(
        lateness=lateness,
        off_beat=off,
        prices=_prices(figures.alone, figures.counts, off),
        spread=spread,
        off_spread=off_spread,
        beat_odds=max(odds, 0.0),
    )
    return learned, ratio


def _lateness(onsets: Floats, scale: Floats, figures: _Figures, feel: _Feel) -> Floats:
    """How late the player is, at each onset: the mean, and as much of its slow changes as shows."""
    anchors = np.flatnonzero(figures.on_beat | figures.lone_off)
    if len(anchors) < _FEW:
        return feel.lateness
    steps, lone = figures.steps[anchors], figures.lone_off[anchors]
    places = np.where(lone, steps // STEPS_PER_BEAT + feel.off_beat, steps / STEPS_PER_BEAT)
    late = (onsets[anchors] - places) / scale[anchors]
    mean, spread = _centre(late, _SPREAD)
    mean = min(max(mean, -_LATEST), _LATEST)
    if len(late) < 2 * _NEIGHBOURS:
        return np.full(len(onsets), mean)
    off_mean = np.clip(late - mean, -_LINEAR_FROM * spread, _LINEAR_FROM * spread)
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


def _prices(alone: float, counts: dict[int, Floats], off_beat: float) -> dict[int, Floats]:
    """How much rarer than a beat that nothing follows each figure is, as log odds."""
    usual = {
        count: np.maximum([_PRIOR_BEATS * f.share for f in figures], _RARE)
        for count, figures in _FIGURES.items()
    }
    known = alone + _BEAT_ALONE * _PRIOR_BEATS
    prices = {c: np.maximum(np.log(known / (counts[c] + usual[c])), 0.0) for c in _FIGURES}
    if off_beat > _STRAIGHT:
        prices[1][_LAST_SIXTEENTH] = np.inf  # a long swing is a swing
    return prices


def _centre(values: Floats, bounds: tuple[float, float]) -> tuple[float, float]:
    """Mean without outliers, and the spread (one standard deviation) within bounds."""
    middle = median(values)
    usual = 1.4826 * median(np.abs(values - middle))
    reach = 2.5 * max(usual, bounds[0])
    held = np.clip(values - middle, -reach, reach)
    spread = float(np.sqrt(np.mean(held**2)))
    return middle + float(np.mean(held)), min(max(spread, bounds[0]), bounds[1])


# ---- placing ---------------------------------------------------------------------------------


@dataclass(slots=True)
class _Figures:
    """Onsets with their steps; which are beats, and which are a beat's only other onset.

    ``unstruck`` is how many beats have an onset near them that is not theirs, ``alone`` how many
    are followed by nothing before the next, ``counts`` how often each figure is played; where
    onsets can be read in two ways, each is counted by its likelihood.
    """

    steps: Ints
    on_beat: Bools
    lone_off: Bools
    follows_beat: Bools
    unstruck: float
    alone: float
    counts: dict[int, Floats]


def _place(at: Floats, feel: _Feel) -> _Figures:
    """Steps of onsets (in beats, without the lateness)."""
    cells = np.floor(at).astype(np.int64)
    on_beat, unstruck = _on_beats(at, cells, feel)
    steps = np.floor(at + 0.5).astype(np.int64) * STEPS_PER_BEAT
    beats = steps[on_beat] // STEPS_PER_BEAT
    placed = _Figures(
        steps=steps,
        on_beat=on_beat,
        lone_off=np.zeros(len(at), dtype=np.bool_),
        follows_beat=np.isin(cells, beats),
        unstruck=unstruck,
        alone=float(len(beats)),
        counts={count: np.zeros(len(figures)) for count, figures in _FIGURES.items()},
    )
    between = np.flatnonzero(~on_beat)
    if len(between):
        first, counts = runs(cells[between])
        placed.alone -= float(np.count_nonzero(placed.follows_beat[between[first]]))
        for count in sorted(set(counts.tolist())):
            rows = between[first[counts == count]][:, None] + np.arange(count)
            _place_figures(at, rows, cells, feel, placed)
        _quarter_triplets(at, placed, feel)
    return placed


def _place_figures(at: Floats, rows: Ints, cells: Ints, feel: _Feel, placed: _Figures) -> None:
    """Place onsets between two beats; every row has as many."""
    within, start = at[rows] - cells[rows], cells[rows] * STEPS_PER_BEAT
    count = rows.shape[1]
    if count > _MOST:
        placed.steps[rows] = start + _free_steps(within)
        return
    costs = feel.costs(within)
    chosen = costs.argmin(axis=1)
    placed.steps[rows] = start + np.array([f.steps for f in _FIGURES[count]])[chosen]
    likely = np.exp(costs.min(axis=1, keepdims=True) - costs)
    placed.counts[count] = ((likely / likely.sum(axis=1, keepdims=True)) ** 3).sum(axis=0)
    if count == 1:
        placed.lone_off[rows[chosen == 0]] = True


def _on_beats(at: Floats, cells: Ints, feel: _Feel) -> tuple[Bools, float]:
    """Which onsets are a beat's: the nearest one to it, where it fits no figure better.

    Also how many beats have an onset near them that is not theirs (by likelihood).
    """
    beat = np.floor(at + 0.5)
    away = at - beat
    order = np.lexsort((np.abs(away), beat))
    nearest = np.zeros(len(at), dtype=np.bool_)
    nearest[order[np.concatenate(([True], np.diff(beat[order]) > 0))]] = True
    asked = np.flatnonzero(nearest)
    cost_on = _deviation(away[asked] / feel.spread)
    cost_in = _costs_between(at, cells, nearest, asked, feel) + feel.beat_odds
    on_beat = np.zeros(len(at), dtype=np.bool_)
    on_beat[asked[cost_on <= cost_in]] = True
    unstruck = float((1 / (1 + np.exp(np.clip(cost_in - cost_on, -30, 30)))).sum())
    return on_beat, unstruck


def _costs_between(at: Floats, cells: Ints, nearest: Bools, asked: Ints, feel: _Feel) -> Floats:
    """What it would cost to read onsets ``asked``, each nearest to a beat, as between two beats.

    It is the cost of the figure with the onset less that of the figure without it.
    """
    first_cell = int(cells[0])
    inner = np.bincount(cells[~nearest] - first_cell, minlength=int(cells[-1]) - first_cell + 1)
    others = inner[cells[asked] - first_cell]
    before = at[asked] < cells[asked] + 0.5  # it would be the first of the figure, not the last
    costs = np.full(len(asked), np.inf)
    for count in sorted(set(others.tolist())):
        if count >= _MOST:
            continue
        which = np.flatnonzero(others == count)
        start = np.where(before[which], asked[which], asked[which] - count)
        rows = start[:, None] + np.arange(count + 1)
        within = at[rows] - cells[asked[which]][:, None]
        costs[which] = feel.costs(within).min(axis=1)
        if count:
            rest = np.where(before[which, None], within[:, 1:], within[:, :-1])
            costs[which] -= feel.costs(rest).min(axis=1)
    return costs


def _free_steps(within: Floats) -> Ints:
    """The nearest twelfths that keep the order, for onsets that are no figure.

    Each has a step of its own as long as there are steps.
    """
    count, most = within.shape[1], STEPS_PER_BEAT - 1
    lowest = np.minimum(np.arange(1, count + 1), most)
    highest = np.maximum(most - np.arange(count)[::-1], 1)
    steps = np.clip(np.floor(within * STEPS_PER_BEAT + 0.5).astype(np.int64), lowest, highest)
    if count <= most:
        ahead = np.maximum.accumulate(steps - np.arange(count), axis=1)
        steps = np.minimum(ahead + np.arange(count), highest)
    return steps


def _deviation(spreads: Floats) -> Floats:
    """Cost of a deviation in spreads: squared when small, in proportion when large."""
    size = np.abs(spreads)
    cost: Floats = np.where(
        size <= _LINEAR_FROM, 0.5 * size**2, _LINEAR_FROM * (size - 0.5 * _LINEAR_FROM)
    )
    return cost


def _quarter_triplets(at: Floats, placed: _Figures, feel: _Feel) -> None:
    """Three in the time of two beats: the second lies where a swung off-beat would.

    The third tells: a lone onset on the first third of a beat that is not struck itself.
    """
    steps = placed.steps
    third = np.flatnonzero((steps % STEPS_PER_BEAT == 4) & ~placed.follows_beat)
    third = third[third > 0]
    second = third - 1
    near = np.abs(at[second] % 1.0 - 2 / 3) < max(2.5 * feel.spread, 0.08)
    shown = placed.lone_off[second] & near & (steps[third] - steps[second] == 10)
    steps[second[shown]] += 2
    placed.lone_off[second[shown]] = False
