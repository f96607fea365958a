"""directions: whether the measures of a course rise or fall over its takes, or neither can be said.

The test for a monotonic trend of Mann (1945) and Kendall (1975): S counts the pairs of takes in
which the later one is higher, less those in which it is lower. How often chance alone gives an S
as far from 0 is counted exactly, over all orders of n different values. Pairs of equal values and
takes of one day count for nothing, which makes S smaller and the answer more careful.

A course has several measures, and chance has a go at each. By the procedure of Holm (1979,
Scandinavian Journal of Statistics 6, 65-70) chance gives a direction, in whichever of them, in at
most one of ten courses, however the measures hang together: of m measures the clearest has to be
as rare as 0.1 / m, the next as 0.1 / (m - 1), and so on up to the first that is not. Five takes of
five measures have to rise every time (2 of 120 orders), and four could not tell of any two
measures (2 of 24); so a direction is said from ``LEAST`` days on.
"""

from __future__ import annotations

from functools import cache
from itertools import combinations
from typing import TYPE_CHECKING, Literal, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["LEAST", "Direction", "chance", "directions"]

Direction: TypeAlias = Literal["rising", "falling", "unclear", "too few"]
LEAST = 5
MOST_CHANCE = 0.1
_EXACT_UP_TO = 60  # takes: with more, S is as good as normal


def directions(measures: Sequence[Sequence[tuple[str, float]]]) -> list[Direction]:
    """The direction of each measure of one course.

    Args:
        measures: for each measure its dates (ISO 8601), which need not be in order, and values.
    """
    found: list[Direction] = [
        "too few" if len({day for day, _ in takes}) < LEAST else "unclear" for takes in measures
    ]
    tested = [at for at, told in enumerate(found) if told == "unclear"]
    scores = {at: _score(measures[at]) for at in tested}
    chances = {at: chance(len(measures[at]), scores[at]) for at in tested}
    for left, at in zip(
        range(len(tested), 0, -1), sorted(tested, key=chances.__getitem__), strict=True
    ):
        if chances[at] > MOST_CHANCE / left:
            break
        found[at] = "rising" if scores[at] > 0 else "falling"
    return found


def _score(takes: Sequence[tuple[str, float]]) -> int:
    """S of the test: 0 has the chance 1, so that it never tells a direction."""
    return sum(
        _sign(other_day, day) * _sign(other, value)
        for (day, value), (other_day, other) in combinations(takes, 2)
    )


def _sign(one: float | str, other: float | str) -> int:
    return (one > other) - (one < other)  # type: ignore[operator]


def chance(takes: int, score: int) -> float:
    """How often ``takes`` different values in any order give an S as far from 0 as ``score``."""
    if takes > _EXACT_UP_TO:
        from math import erfc, sqrt  # noqa: PLC0415

        variance = takes * (takes - 1) * (2 * takes + 5) / 18
        return erfc((abs(score) - 1) / sqrt(2 * variance))
    pairs = takes * (takes - 1) // 2
    # An order with i pairs the wrong way round has S = pairs - 2 i.
    far = sum(
        many for wrong, many in enumerate(_orders(takes)) if abs(pairs - 2 * wrong) >= abs(score)
    )
    return far / sum(_orders(takes))


@cache
def _orders(takes: int) -> tuple[int, ...]:
    """For each number of pairs that stand the wrong way round, in how many orders they do so."""
    counts = [1]
    for size in range(2, takes + 1):
        longer = [0] * (len(counts) + size - 1)
        for wrong, many in enumerate(counts):
            for more in range(size):
                longer[wrong + more] += many
        counts = longer
    return tuple(counts)
