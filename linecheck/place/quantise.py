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
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

from linecheck.terms import STEPS_PER_BEAT

if TYPE_CHECKING:
    from collections.abc import Sequence

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.int64]
Bools: TypeAlias = NDArray[np.bool_]

EIGHTH = STEPS_PER_BEAT // 2
LEAST_OFF_BEATS = 5  # fewer say nothing of the swing
_USUAL_SWING = 0.6  # place of the off-beat in its beat where the take does not show it
_WIDEST_SWING = (0.42, 0.8)  # a place of the off-beat beyond is another figure
_SPREAD = (0.02, 0.12)  # of on-beats, in beats: how close and how loose playing is taken to be
_OFF_SPREAD = (0.05, 0.09)  # of off-beats, which players move at will
_LINEAR_FROM = 2.5  # spreads from where a deviation costs in proportion, as outliers do
_SAME = 1e-4  # beats: onsets closer than this are simultaneous
_ROUNDS = 3


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
class _Feel:
    """What the take shows of itself.

    The means and spreads of its beats and off-beats, in beats; the log odds that a beat with an
    onset near it is struck; the price of each figure of one onset, from how often it is played.
    """

    lateness: float = 0.0
    spread: float = 0.06
    off_beat: float = _USUAL_SWING
    off_spread: float = 0.08
    beat_odds: float = 1.5
    lone_prices: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class _Figure:
    """Onsets between two beats: where they lie in the beat, their steps, and their price.

    A place of None is the take's own off-beat.
    """

    places: tuple[float | None, ...]
    steps: tuple[int, ...]
    price: float = 0.0
    share: float = 0.0


# By the number of onsets between two beats. A lone onset at two thirds is a swung off-beat.
# The share of a figure of one onset is how often it follows a beat, before the take is known.
_LONE_FIGURES = (
    _Figure((None,), (6,), share=0.2),
    _Figure((1 / 3,), (4,), share=0.01),
    _Figure((1 / 4,), (3,), share=0.01),
    _Figure((3 / 4,), (9,), share=0.01),
    _Figure((0.08,), (3,), share=0.002),  # right after the beat's own note
    _Figure((0.92,), (9,), share=0.002),  # a grace note to the next beat
)
_FIGURES: dict[int, tuple[_Figure, ...]] = {
    1: _LONE_FIGURES,
    2: (
        _Figure((1 / 3, 2 / 3), (4, 8)),
        _Figure((1 / 2, 3 / 4), (6, 9), price=1.0),
        _Figure((1 / 4, 1 / 2), (3, 6), price=1.0),
        _Figure((1 / 4, 3 / 4), (3, 9), price=2.0),
        _Figure((None, 0.92), (6, 9), price=3.0),
        _Figure((0.08, None), (3, 6), price=3.0),
        _Figure((1 / 3, 0.92), (4, 9), price=6.0),
    ),
    3: (
        _Figure((1 / 4, 1 / 2, 3 / 4), (3, 6, 9)),
        _Figure((1 / 3, 2 / 3, 0.92), (4, 8, 10), price=3.0),
        _Figure((0.08, 1 / 3, 2 / 3), (2, 4, 8), price=3.0),
    ),
    4: (_Figure((1 / 5, 2 / 5, 3 / 5, 4 / 5), (2, 5, 7, 10)),),
    5: (_Figure((1 / 6, 2 / 6, 3 / 6, 4 / 6, 5 / 6), (2, 4, 6, 8, 10)),),
}
_BEAT_ALONE = 0.7  # share of beats that nothing follows before the next
_RARE = 0.3  # nothing is taken to be rarer: one figure misread must not draw others after it
_PRIOR_BEATS = 16  # so many beats is what is known before the take worth


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
    onsets = beats[new]
    scale = (np.median(beat_s) / np.asarray(beat_s, dtype=np.float64))[new]
    feel = _first_guess(onsets)
    for _ in range(_ROUNDS):
        figures = _place(onsets - feel.lateness * scale, feel)
        feel, swing_ratio = _learned(onsets, scale, figures, feel)
    figures = _place(onsets - feel.lateness * scale, feel)
    places = np.where(figures.lone_off, figures.steps // 12 + feel.off_beat, figures.steps / 12)
    back = np.cumsum(new) - 1  # simultaneous onsets are one onset
    return Quantised(
        steps=figures.steps[back],
        placement_beats=beats - places[back],
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


def _first_guess(onsets: Floats) -> _Feel:
    """Lateness and off-beat that best explain where in the beat the onsets lie."""
    bins = 96
    phases = np.bincount((onsets % 1.0 * bins).astype(np.int64) % bins, minlength=bins)
    at = (np.arange(bins) + 0.5) / bins
    lateness = np.arange(-0.2, 0.25, 0.025)[:, None, None]
    off = np.arange(0.5, 0.76, 0.03)[None, :, None]
    spread = 0.06

    def peak(place: Floats) -> Floats:
        away = (at - place + 0.5) % 1.0 - 0.5
        shape: Floats = np.exp(-0.5 * (away / spread) ** 2)
        return shape

    density = 0.6 * peak(lateness) + 0.25 * peak(lateness + off) + 0.02
    density += 0.05 * (peak(lateness + 1 / 3) + peak(lateness + 2 / 3))
    score = np.log(density) @ phases - 2 * (lateness[..., 0] / 0.1) ** 2
    best = np.unravel_index(int(np.argmax(score)), score.shape)
    return _Feel(
        lateness=float(lateness[best[0], 0, 0]),
        off_beat=float(off[0, best[1], 0]),
        lone_prices=_lone_prices(_BEAT_ALONE * _PRIOR_BEATS, [0] * len(_LONE_FIGURES)),
    )


def _learned(
    onsets: Floats, scale: Floats, figures: _Figures, feel: _Feel
) -> tuple[_Feel, float | None]:
    """The means and spreads of the beats and off-beats that were placed, and the swing ratio."""
    lateness, spread = feel.lateness, feel.spread
    late = ((onsets - figures.steps / 12) / scale)[figures.on_beat]
    if len(late) >= 3:
        lateness, spread = _centre(late, _SPREAD)
        lateness = min(max(lateness, -0.25), 0.25)
    within = (onsets - lateness * scale)[figures.lone_off] - figures.steps[figures.lone_off] // 12
    after_beat = within[figures.follows_beat[figures.lone_off]]
    shown = after_beat if len(after_beat) >= LEAST_OFF_BEATS else within
    off, off_spread, ratio = _USUAL_SWING, feel.off_spread, None
    if len(shown):
        off, off_spread = _centre(shown, _OFF_SPREAD)
        off = min(max(off, _WIDEST_SWING[0]), _WIDEST_SWING[1])
    if len(shown) >= LEAST_OFF_BEATS:
        ratio = off / (1 - off)
    else:  # few off-beats: keep near the usual
        off = (off * len(shown) + 2 * _USUAL_SWING) / (len(shown) + 2)
        off_spread = 0.08
    odds = float(np.log((figures.struck + 4) / (figures.near - figures.struck + 1)))
    alone = figures.alone + _BEAT_ALONE * _PRIOR_BEATS
    prices = _lone_prices(alone, figures.lone_counts)
    return _Feel(lateness, spread, off, off_spread, min(max(odds, 0.0), 4.0), prices), ratio


def _lone_prices(alone: float, counts: Sequence[int]) -> tuple[float, ...]:
    return tuple(
        max(float(np.log(alone / (count + max(_PRIOR_BEATS * figure.share, _RARE)))), 0.0)
        for figure, count in zip(_LONE_FIGURES, counts, strict=True)
    )


def _centre(values: Floats, bounds: tuple[float, float]) -> tuple[float, float]:
    """Mean without outliers, and the spread (one standard deviation) within bounds."""
    middle = float(np.median(values))
    usual = 1.4826 * float(np.median(np.abs(values - middle)))
    reach = 2.5 * max(usual, bounds[0])
    held = np.clip(values - middle, -reach, reach)
    spread = float(np.sqrt(np.mean(held**2)))
    return middle + float(np.mean(held)), min(max(spread, bounds[0]), bounds[1])


# ---- placing ---------------------------------------------------------------------------------


@dataclass(slots=True)
class _Figures:
    """Onsets with their steps; which are beats, and which are a beat's only other onset.

    ``near`` counts the beats with an onset near them, ``struck`` those that are struck, ``alone``
    those that nothing follows before the next, ``lone_counts`` the figures of one onset.
    """

    steps: Ints
    on_beat: Bools
    lone_off: Bools
    follows_beat: Bools
    near: int = 0
    struck: int = 0
    alone: int = 0
    lone_counts: tuple[int, ...] = (0,) * len(_LONE_FIGURES)


def _place(at: Floats, feel: _Feel) -> _Figures:
    """Steps of onsets (in beats, without the lateness)."""
    on_beat, near = _on_beats(at, feel)
    steps = np.floor(at + 0.5).astype(np.int64) * STEPS_PER_BEAT
    cells = np.floor(at).astype(np.int64)
    beats = steps[on_beat] // STEPS_PER_BEAT
    placed = _Figures(
        steps=steps,
        on_beat=on_beat,
        lone_off=np.zeros(len(at), dtype=np.bool_),
        follows_beat=np.isin(cells, beats),
        near=near,
        struck=len(beats),
        alone=len(beats),
    )
    between = np.flatnonzero(~on_beat)
    if len(between):
        filled, first, counts = np.unique(cells[between], return_index=True, return_counts=True)
        placed.alone -= int(np.count_nonzero(np.isin(filled, beats)))
        for count in np.unique(counts).tolist():
            rows = between[first[counts == count][:, None] + np.arange(count)]
            _place_figures(at, rows, cells, feel, placed)
        _quarter_triplets(at, placed, feel)
    return placed


def _place_figures(at: Floats, rows: Ints, cells: Ints, feel: _Feel, placed: _Figures) -> None:
    """Place onsets between two beats; every row has as many."""
    within, start = at[rows] - cells[rows], cells[rows] * STEPS_PER_BEAT
    count = rows.shape[1]
    if count not in _FIGURES:
        placed.steps[rows] = start + _free_steps(within)
        return
    table = np.array([figure.steps for figure in _FIGURES[count]])
    chosen = _figure_costs(within, feel).argmin(axis=1)
    placed.steps[rows] = start + table[chosen]
    if count == 1:
        placed.lone_off[rows[chosen == 0]] = True
        placed.lone_counts = tuple(np.bincount(chosen, minlength=len(table)).tolist())


def _on_beats(at: Floats, feel: _Feel) -> tuple[Bools, int]:
    """Which onsets are a beat's: the nearest one to it, where it fits no figure better.

    Also how many beats have an onset near them.
    """
    beat = np.floor(at + 0.5)
    away = at - beat
    order = np.lexsort((np.abs(away), beat))
    nearest = np.zeros(len(at), dtype=np.bool_)
    nearest[order[np.concatenate(([True], np.diff(beat[order]) > 0))]] = True

    cost_on = _deviation(away / feel.spread)
    within = at - np.floor(at)
    alone = _figure_costs(within[:, None], feel).min(axis=1)
    # The neighbour that would stand in the same figure, between the same two beats.
    index = np.arange(len(at))
    mate = np.clip(np.where(away < 0, index - 1, index + 1), 0, len(at) - 1)
    paired = (mate != index) & ~nearest[mate] & (np.floor(at[mate]) == np.floor(at))
    cost_in = alone + feel.beat_odds
    if paired.any():
        both = np.sort(np.stack((within[paired], within[mate[paired]]), axis=1), axis=1)
        cost_in[paired] = (
            _figure_costs(both, feel).min(axis=1) - alone[mate[paired]] + feel.beat_odds
        )
    return nearest & (cost_on <= cost_in), int(np.count_nonzero(nearest))


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


def _figure_costs(within: Floats, feel: _Feel) -> Floats:
    """What each figure costs for rows of onsets: array of rows by figures."""
    figures = _FIGURES[within.shape[1]]
    places, spreads, prices = _figure_table(figures, feel)
    costs = _deviation((within[:, None, :] - places) / spreads).sum(axis=2)
    summed: Floats = costs + prices
    return summed


def _figure_table(figures: Sequence[_Figure], feel: _Feel) -> tuple[Floats, Floats, Floats]:
    loose = max(feel.spread * 1.2, 0.035)
    places = np.array([[feel.off_beat if p is None else p for p in f.places] for f in figures])
    spreads = np.array(
        [[feel.off_spread if p is None else loose for p in f.places] for f in figures]
    )
    if figures is _LONE_FIGURES:
        return places, spreads, np.array(feel.lone_prices)
    return places, spreads, np.array([f.price for f in figures])


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
