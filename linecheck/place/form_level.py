"""Where a line fits its place worse than it does elsewhere in the same take: it may be lost there.

The *misfit* of a beat is how much better its notes are explained by a line that fits no place than
by one in place, in nats: by the evidence of adrift, and by that of all places in turn, added up
(both judge the same notes, so the sum is on a scale of its own). Players differ in how plainly they
play the form, so the misfit says little by itself; but one player is steady, and a stretch whose
misfit lies well above the take's own *level* is one where the form was lost, whatever the offset.

The level of a take is the mean and the spread of its misfit where it is in place, walking and
solo apart, each drawn towards what players at large do. A beat then pays by two normal
distributions, in place and adrift. Cost: linear in the beats.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from linecheck.place.form_path import Stretch
from linecheck.place.sorted_arrays import quantile

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float32]

BLOCK_BEATS = 16
# Walking, solo; nats a beat. Mean and variance of the misfit of lines in place, and the mean of
# lines adrift that counts: medians over takes of all fitted players. The variance is that of blocks,
# times their beats: neighbouring beats are alike.
IN_PLACE_MEAN = (-1.08, -0.54)
ADRIFT_MEAN = (0.93, 0.67)
VARIANCE = (1.73, 1.22)
LEAST_RISE = (1.0, 0.5)  # of the adrift mean over the level of the take
PRIOR_BLOCKS, PRIOR_SPREAD_BLOCKS = 2.0, 6.0
QUANTILE, QUANTILE_BELOW = 0.35, 0.385  # a low quantile, and how many spreads below the mean it is
LOST_COST, BACK_COST = 3.0, 1.5  # nats, for candidates only: the confidence decides
ROUNDS = 3


@dataclass(frozen=True, slots=True)
class Level:
    """The misfit of each beat against the take's own level.

    ``rise``: misfit less the level (0 in silence); ``variance``: of it; ``lost``: nats by which the
    beat speaks for a lost place; ``slope``: how many of them a nat of misfit is. One entry a beat.
    ``mean`` and ``spread`` of walking and solo; ``low``, their means before it is known where the
    line is lost; ``lost_share`` of their beats.
    """

    rise: Floats
    variance: Floats
    lost: Floats
    slope: Floats
    mean: tuple[float, float]
    spread: tuple[float, float]
    low: tuple[float, float] = (0.0, 0.0)
    lost_share: tuple[float, float] = (0.0, 0.0)


def misfit_of(raw: Floats) -> Floats:
    """The misfit of each beat, from the evidence (beats × states, the last is adrift)."""
    anywhere = np.log(np.exp(raw[:, :-1]).mean(axis=1))
    misfit: Floats = anywhere + raw[:, -1] - 2 * raw[:, 0]
    return misfit


def level_of(misfit: Floats, groups: tuple[NDArray[np.bool_], ...]) -> tuple[Level, list[Stretch]]:
    """The level of a take, and where it may be lost (stretches in state 1) or not (0)."""
    path = [Stretch(0, len(misfit), 0)]
    first = level = _level(misfit, groups, None)
    for _ in range(ROUNDS):
        after = two_ways(level.lost)
        if after == path:
            break
        path = after
        in_place = np.zeros(len(misfit), dtype=bool)
        for s in path:
            in_place[s.start : s.stop] = not s.state
        level = _level(misfit, groups, in_place)
    share = [0.0, 0.0]
    for s in path:
        if s.state:
            for group, sounding in enumerate(groups):
                share[group] += float(sounding[s.start : s.stop].sum())
    for group, sounding in enumerate(groups):
        share[group] /= max(1.0, float(sounding.sum()))
    return replace(level, low=first.mean, lost_share=(share[0], share[1])), path


def _level(
    misfit: Floats, groups: tuple[NDArray[np.bool_], ...], in_place: NDArray[np.bool_] | None
) -> Level:
    """The level by the beats in place; by a low quantile of all blocks, where they are unknown."""
    rise, lost = np.zeros_like(misfit), np.zeros_like(misfit)
    variance, slope = np.zeros_like(misfit), np.zeros_like(misfit)
    means, spreads = [], []
    for group, sounding in enumerate(groups):
        known = np.flatnonzero(sounding if in_place is None else sounding & in_place)
        mean, spread = IN_PLACE_MEAN[group], VARIANCE[group]
        count = known.size // BLOCK_BEATS
        if count:
            blocks = misfit[known[: count * BLOCK_BEATS]].reshape(count, BLOCK_BEATS).mean(axis=1)
            if in_place is None:
                middle = quantile(blocks, QUANTILE) + QUANTILE_BELOW * (spread / BLOCK_BEATS) ** 0.5
            else:
                middle = float(blocks.mean())
                around = float(((blocks - middle) ** 2).sum()) * BLOCK_BEATS
                spread = (around + PRIOR_SPREAD_BLOCKS * spread) / (count + PRIOR_SPREAD_BLOCKS)
            mean = (count * middle + PRIOR_BLOCKS * mean) / (count + PRIOR_BLOCKS)
        adrift = max(ADRIFT_MEAN[group], mean + LEAST_RISE[group])
        mine = misfit[sounding]
        rise[sounding] = mine - mean
        variance[sounding] = spread
        slope[sounding] = (adrift - mean) / spread
        lost[sounding] = slope[sounding] * (mine - (mean + adrift) / 2)
        means.append(mean)
        spreads.append(spread)
    return Level(rise, variance, lost, slope, (means[0], means[1]), (spreads[0], spreads[1]))


def two_ways(lost: Floats) -> list[Stretch]:
    """The best path between in place (0) and lost (1)."""
    here, away = 0.0, -LOST_COST
    came, went = [], []  # beats at which the best path into each state has just changed
    for beat, nats in enumerate(lost.tolist()):
        back, out = away - BACK_COST, here - LOST_COST
        if back > here:
            here = back
            came.append(beat)
        if out > away:
            away = out
            went.append(beat)
        away += nats
    path: list[Stretch] = []
    stop, state = len(lost), int(away > here)
    while stop:
        jumps = went if state else came
        while jumps and jumps[-1] >= stop:
            jumps.pop()
        start = jumps[-1] if jumps else 0
        path.append(Stretch(start, stop, state))
        stop, state = start, 1 - state
    return path[::-1]
