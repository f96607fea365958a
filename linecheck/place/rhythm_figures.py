"""Rhythm figures: which onsets are beats, and what the onsets between two beats are.

An onset near a beat is that beat's unless it fits a figure better. What lies between two beats is
read as a whole: one off-beat, a triplet, sixteenths, a grace note. A figure costs what its onsets
lie off its places, in spreads, and what it is rarer than a beat that nothing follows: its price.

Units: places in the beat, in beats; steps in twelfths of a beat; costs and prices in nats.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from linecheck.place.sorted_arrays import runs
from linecheck.terms import STEPS_PER_BEAT

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.int64]
Bools: TypeAlias = NDArray[np.bool_]

USUAL_SWING = 0.6  # place of the off-beat in its beat where the take does not show it
USUAL_OFF_SPREAD = 0.08
STRAIGHT = 0.58  # a take whose off-beats lie later is swung
LINEAR_FROM = 2.5  # spreads from where a deviation costs in proportion, as outliers do


@dataclass(frozen=True, slots=True)
class Figure:
    """Onsets between two beats: where they lie in the beat, and their steps.

    A place of None is the take's own off-beat. ``share`` is how often a beat is followed by the
    figure, before the take is known.
    """

    places: tuple[float | None, ...]
    steps: tuple[int, ...]
    share: float


# By the number of onsets between two beats. A lone onset at two thirds is a swung off-beat.
FIGURES: dict[int, tuple[Figure, ...]] = {
    1: (
        Figure((None,), (6,), 0.2),
        Figure((1 / 3,), (4,), 0.01),
        Figure((1 / 4,), (3,), 0.01),
        Figure((3 / 4,), (9,), 0.01),
        Figure((0.08,), (3,), 0.002),  # right after the beat's own note
        Figure((0.92,), (9,), 0.002),  # a grace note to the next beat
    ),
    2: (
        Figure((1 / 3, 2 / 3), (4, 8), 0.03),
        Figure((1 / 2, 3 / 4), (6, 9), 0.01),
        Figure((1 / 4, 1 / 2), (3, 6), 0.01),
        Figure((1 / 4, 3 / 4), (3, 9), 0.003),
        Figure((None, 0.92), (6, 9), 0.002),
        Figure((0.08, None), (3, 6), 0.002),
        Figure((1 / 3, 0.92), (4, 9), 0.0005),
    ),
    3: (
        Figure((1 / 4, 1 / 2, 3 / 4), (3, 6, 9), 0.01),
        Figure((1 / 3, 2 / 3, 0.92), (4, 8, 10), 0.001),
        Figure((0.08, 1 / 3, 2 / 3), (2, 4, 8), 0.001),
    ),
    4: (Figure((1 / 5, 2 / 5, 3 / 5, 4 / 5), (2, 5, 7, 10), 0.001),),
    5: (Figure((1 / 6, 2 / 6, 3 / 6, 4 / 6, 5 / 6), (2, 4, 6, 8, 10), 0.001),),
}
_LAST_SIXTEENTH = 3  # among the figures of one onset
MOST = max(FIGURES)  # onsets of a figure
_BEAT_ALONE = 0.7  # share of beats that nothing follows before the next
_PRIOR_BEATS = 32  # so many beats is what is known before the take worth
_RARE = 0.1  # beats: nothing is taken to be rarer, so that one figure draws no others after it


@dataclass(frozen=True, slots=True)
class Manner:
    """What the take shows of itself.

    The means and spreads of its beats and off-beats, in beats; the log odds that a beat with an
    onset near it is struck; the price of each figure, from how often it is played.
    """

    lateness: Floats
    off_beat: float
    prices: dict[int, Floats]
    spread: float = 0.06
    off_spread: float = USUAL_OFF_SPREAD
    beat_odds: float = 1.5

    def costs(self, within: Floats) -> Floats:
        """What each figure costs for rows of onsets between two beats: rows by figures."""
        figures = FIGURES[within.shape[1]]
        loose = max(self.spread * 1.2, 0.035)
        off = [[p is None for p in figure.places] for figure in figures]
        places = np.array([[self.off_beat if p is None else p for p in f.places] for f in figures])
        away = (within[:, None, :] - places) / np.where(off, self.off_spread, loose)
        costs: Floats = _deviation(away).sum(axis=2) + self.prices[within.shape[1]]
        return costs


def figure_prices(alone: float, counts: dict[int, Floats], off_beat: float) -> dict[int, Floats]:
    """How much rarer than a beat that nothing follows each figure is, as log odds."""
    usual = {
        count: np.maximum([_PRIOR_BEATS * f.share for f in figures], _RARE)
        for count, figures in FIGURES.items()
    }
    known = alone + _BEAT_ALONE * _PRIOR_BEATS
    prices = {c: np.maximum(np.log(known / (counts[c] + usual[c])), 0.0) for c in FIGURES}
    if off_beat > STRAIGHT:
        prices[1][_LAST_SIXTEENTH] = np.inf  # a long swing is a swing
    return prices


# ---- placing ---------------------------------------------------------------------------------


@dataclass(slots=True)
class Figures:
    """Onsets with their steps; which are beats, and which are a beat's only other onset.

    ``unstruck`` is how many beats have an onset near them that is not theirs, ``alone`` how many
    are followed by nothing before the next, ``counts`` how often each figure is played. What can
    be read in two ways is counted by its likelihood, and doubtful figures hardly at all.
    """

    steps: Ints
    on_beat: Bools
    lone_off: Bools
    follows_beat: Bools
    unstruck: float
    alone: float
    counts: dict[int, Floats]


def place_onsets(at: Floats, manner: Manner) -> Figures:
    """Steps of onsets (in beats, without the lateness)."""
    cells = np.floor(at).astype(np.int64)
    on_beat, unstruck = _on_beats(at, cells, manner)
    steps = np.floor(at + 0.5).astype(np.int64) * STEPS_PER_BEAT
    beats = steps[on_beat] // STEPS_PER_BEAT
    placed = Figures(
        steps=steps,
        on_beat=on_beat,
        lone_off=np.zeros(len(at), dtype=np.bool_),
        follows_beat=np.isin(cells, beats),
        unstruck=unstruck,
        alone=float(len(beats)),
        counts={count: np.zeros(len(figures)) for count, figures in FIGURES.items()},
    )
    between = np.flatnonzero(~on_beat)
    if len(between):
        first, counts = runs(cells[between])
        placed.alone -= float(np.count_nonzero(placed.follows_beat[between[first]]))
        for count in sorted(set(counts.tolist())):
            rows = between[first[counts == count]][:, None] + np.arange(count)
            _place_figures(at, rows, cells, manner, placed)
        _quarter_triplets(at, placed, manner)
    return placed


def _place_figures(at: Floats, rows: Ints, cells: Ints, manner: Manner, placed: Figures) -> None:
    """Place onsets between two beats; every row has as many."""
    within, start = at[rows] - cells[rows], cells[rows] * STEPS_PER_BEAT
    count = rows.shape[1]
    if count > MOST:
        placed.steps[rows] = start + _free_steps(within)
        return
    costs = manner.costs(within)
    chosen = costs.argmin(axis=1)
    placed.steps[rows] = start + np.array([f.steps for f in FIGURES[count]])[chosen]
    likely = np.exp(costs.min(axis=1, keepdims=True) - costs)
    likely /= likely.sum(axis=1, keepdims=True)
    # Cubed, so that what jitter makes of one figure does not pass for another that is played.
    placed.counts[count] = (likely**3).sum(axis=0)
    if count == 1:
        placed.lone_off[rows[chosen == 0]] = True


def _on_beats(at: Floats, cells: Ints, manner: Manner) -> tuple[Bools, float]:
    """Which onsets are a beat's: the nearest one to it, where it fits no figure better.

    Also how many beats have an onset near them that is not theirs (by likelihood).
    """
    beat = np.floor(at + 0.5)
    away = at - beat
    order = np.lexsort((np.abs(away), beat))
    nearest = np.zeros(len(at), dtype=np.bool_)
    nearest[order[np.concatenate(([True], np.diff(beat[order]) > 0))]] = True
    asked = np.flatnonzero(nearest)
    cost_on = _deviation(away[asked] / manner.spread)
    cost_in = _costs_between(at, cells, nearest, asked, manner) + manner.beat_odds
    on_beat = np.zeros(len(at), dtype=np.bool_)
    on_beat[asked[cost_on <= cost_in]] = True
    unstruck = float((1 / (1 + np.exp(np.clip(cost_in - cost_on, -30, 30)))).sum())
    return on_beat, unstruck


def _costs_between(at: Floats, cells: Ints, nearest: Bools, asked: Ints, manner: Manner) -> Floats:
    """What it would cost to read onsets ``asked``, each nearest to a beat, as between two beats.

    It is the cost of the figure with the onset less that of the figure without it.
    """
    first_cell = int(cells[0])
    inner = np.bincount(cells[~nearest] - first_cell, minlength=int(cells[-1]) - first_cell + 1)
    others = inner[cells[asked] - first_cell]
    before = at[asked] < cells[asked] + 0.5  # it would be the first of the figure, not the last
    costs = np.full(len(asked), np.inf)
    for count in sorted(set(others.tolist())):
        if count >= MOST:
            continue
        which = np.flatnonzero(others == count)
        start = np.where(before[which], asked[which], asked[which] - count)
        rows = start[:, None] + np.arange(count + 1)
        within = at[rows] - cells[asked[which]][:, None]
        costs[which] = manner.costs(within).min(axis=1)
        if count:
            rest = np.where(before[which, None], within[:, 1:], within[:, :-1])
            costs[which] -= manner.costs(rest).min(axis=1)
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
        size <= LINEAR_FROM, 0.5 * size**2, LINEAR_FROM * (size - 0.5 * LINEAR_FROM)
    )
    return cost


def _quarter_triplets(at: Floats, placed: Figures, manner: Manner) -> None:
    """Three in the time of two beats: the second lies where a swung off-beat would.

    The third tells: a lone onset on the first third of a beat that is not struck itself.
    """
    steps = placed.steps
    third = np.flatnonzero((steps % STEPS_PER_BEAT == 4) & ~placed.follows_beat)
    third = third[third > 0]
    second = third - 1
    near = np.abs(at[second] % 1.0 - 2 / 3) < max(2.5 * manner.spread, 0.08)
    shown = placed.lone_off[second] & near & (steps[third] - steps[second] == 10)
    steps[second[shown]] += 2
    placed.lone_off[second[shown]] = False
