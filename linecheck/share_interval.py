"""How sure a share is that was counted in a few choruses (or takes) of one player.

What happens within a chorus hangs together: a phrase that gets lost takes several landings with it,
and one chorus goes better than another. The successes of a chorus are therefore taken as
beta-binomial: every chorus has a share of its own, drawn around the player's share. Two things
are unknown, the player's share θ and how alike the bars of one chorus are (the correlation ρ within
it); both have a prior and the interval is what is left of θ after the counts, 2.5 % of the belief
cut off at either end. With one chorus the counts say nothing of ρ and the prior makes the interval
as wide as it has to be.

Priors: θ has Jeffreys' prior, Beta(½, ½), and as in the Jeffreys interval a share of all or nothing
is not cut off on its own side (Brown, Cai and DasGupta 2001, Statistical Science 16; from memory).
ρ has Beta(1, 6): a seventh on average, and up to 0.39 in one case of twenty. A lapse that takes
three bars of twelve with it makes about that (``tests/measure_carry_over.py`` shows what the
interval covers). The integral is taken on a grid, even in arcsin √θ, where Jeffreys' prior is flat.
"""

from __future__ import annotations

from functools import cache
from math import exp, log, pi, sqrt
from typing import TYPE_CHECKING, Any

from linecheck.comparison_terms import Share

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["difference", "share_of", "spread_of", "strays"]

CUT_OFF = 0.025  # on either side: a 95 % interval
ALIKE = 6.0  # ρ has Beta(1, ALIKE)
SHARES, ALIKENESSES = 140, 9  # points of the grid
# Of more than so many in one chorus or take only the proportion counts: where they hang together
# at all, the rest of them says next to nothing.
MOST = 256


def share_of(counts: Sequence[tuple[int, int]]) -> Share:
    """The share with its 95 % interval.

    Args:
        counts: (shown, asked) of every chorus; those that were asked nothing count nowhere.
    """
    used = tuple(sorted((shown, asked) for shown, asked in counts if asked))
    shown, asked = sum(k for k, _ in used), sum(n for _, n in used)
    if not used:
        return Share(None, 0.0, 1.0, 0, 0, 0)
    low, high = _interval(used)
    return Share(shown / asked, low, high, shown, asked, len(used))


def difference(before: Share, after: Share) -> tuple[float, float, float] | None:
    """``after`` less ``before`` and its 95 % interval; None where either was asked nothing.

    The two intervals are put together by the method of variance estimates recovery (Newcombe 1998,
    Statistics in Medicine 17; Zou and Donner 2008; from memory).
    """
    if before.share is None or after.share is None:
        return None
    first, second = before.share, after.share
    change = second - first
    down = sqrt((second - after.low) ** 2 + (before.high - first) ** 2)
    up = sqrt((after.high - second) ** 2 + (first - before.low) ** 2)
    return change, max(-1.0, change - down), min(1.0, change + up)


def spread_of(counts: Sequence[tuple[int, int]]) -> tuple[float, float]:
    """The mean and the standard deviation of the share that one more of the kind would have.

    Args:
        counts: (shown, asked) of every take (or chorus).
    """
    theta, rho, weights = _belief(tuple(sorted((k, n) for k, n in counts if n)))
    mean = float((weights * theta).sum())
    square = float((weights * (theta * (1 - theta) * rho + theta**2)).sum())
    return mean, sqrt(max(square - mean**2, 0.0))


def strays(shown: int, asked: int, mean: float, spread: float) -> tuple[float, float, float]:
    """How far a count strays from what is usual.

    Args:
        shown: how often it was shown.
        asked: of how many, at least one.
        mean: the share that is usual, as ``spread_of`` gives it.
        spread: the standard deviation of the shares.

    Returns:
        The range in which 95 of 100 such counts lie, as shares, and how often one would lie as far
        off as this one (the doubled smaller tail, half of the count itself in it).
    """
    if asked > MOST:
        shown, asked = round(shown * MOST / asked), MOST
    mean = min(max(mean, 1e-4), 1 - 1e-4)
    precision = max(mean * (1 - mean) / max(spread, 1e-4) ** 2 - 1, 0.5)
    first, second = mean * precision, (1 - mean) * precision
    logs = [0.0]
    for k in range(asked):
        up = (asked - k) * (first + k) / ((k + 1) * (second + asked - k - 1))
        logs.append(logs[-1] + log(up))
    top = max(logs)
    chances = [exp(x - top) for x in logs]
    whole = sum(chances)
    below = low = high = 0.0
    at_most = beneath = 0.0
    low_found = False
    for k, chance in enumerate(chances):
        if k == shown:
            beneath, at_most = below, below + chance / whole
        below += chance / whole
        if not low_found and below > CUT_OFF:
            low, low_found = k / asked, True
        if below < 1 - CUT_OFF:
            high = (k + 1) / asked
    middle = (beneath + at_most) / 2
    return low, min(high, 1.0), min(1.0, 2 * min(middle, 1 - middle))


@cache
def _interval(counts: tuple[tuple[int, int], ...]) -> tuple[float, float]:
    import numpy as np  # noqa: PLC0415  (only what is shown with an interval needs it)

    _, _, weights = _belief(counts)
    belief = np.concatenate([[0.0], np.cumsum(weights.sum(axis=1))])
    edges = np.sin(pi / 2 * np.arange(SHARES + 1) / SHARES) ** 2
    low, high = (float(np.interp(p, belief, edges)) for p in (CUT_OFF, 1 - CUT_OFF))
    shown, asked = sum(k for k, _ in counts), sum(n for _, n in counts)
    share = shown / asked
    return (0.0 if shown == 0 else min(low, share)), (1.0 if shown == asked else max(high, share))


def _belief(counts: tuple[tuple[int, int], ...]) -> tuple[Array, Array, Any]:
    """Shares (a column), likenesses (a row), and how much is believed of each pair."""
    import numpy as np  # noqa: PLC0415

    counts = tuple((round(k * MOST / n), MOST) if n > MOST else (k, n) for k, n in counts)
    theta, rho, heads, tails, whole = _grid(max((n for _, n in counts), default=1))
    log = np.zeros((SHARES, ALIKENESSES))
    for shown, asked in counts:
        log += heads[shown] + tails[asked - shown] - whole[asked]
    weights = np.exp(log - log.max())
    return theta, rho, weights / weights.sum()


def _grid(most: int) -> tuple[Array, Array, Array, Array, Array]:
    """The grid, and the rising sums of logarithms that a beta-binomial likelihood is made of."""
    size = 32
    while size < most:
        size *= 2
    return _sums(size)


@cache
def _sums(most: int) -> tuple[Array, Array, Array, Array, Array]:
    import numpy as np  # noqa: PLC0415

    theta = np.sin(pi / 2 * (np.arange(SHARES) + 0.5) / SHARES)[:, None] ** 2
    at = (np.arange(ALIKENESSES) + 0.5) / ALIKENESSES
    rho = 1 - (1 - at[None, :]) ** (1 / ALIKE)
    precision = 1 / rho - 1

    def rising(first: Array) -> Array:
        steps = np.log(first[None] + np.arange(most)[:, None, None])
        return np.concatenate([np.zeros((1, *steps.shape[1:])), np.cumsum(steps, axis=0)])

    return (
        theta,
        rho,
        rising(theta * precision),
        rising((1 - theta) * precision),
        rising(np.broadcast_to(precision, (1, ALIKENESSES))),
    )
