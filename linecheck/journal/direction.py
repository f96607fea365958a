"""direction: whether a measure rises or falls over the takes of a course, or neither can be said.

The test for a monotonic trend of Mann (1945) and Kendall (1975): S counts the pairs of takes in
which the later one is higher, less those in which it is lower. How often chance alone gives an S
as far from 0 is counted exactly, over all orders of n different values. Pairs of equal values and
takes of one day count for nothing, which makes S smaller and the answer more careful. A direction
is said from ``LEAST`` takes on, where chance gives it in at most one of ten courses: four takes
have to rise every time (2 of 24 orders).
"""

from __future__ import annotations

from functools import cache
from itertools import combinations
from typing import TYPE_CHECKING, Literal, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["LEAST", "Direction", "chance", "direction"]

Direction: TypeAlias = Literal["rising", "falling", "unclear", "too few"]
LEAST = 4
MOST_CHANCE = 0.1
_EXACT_UP_TO = 60  # takes: with more, S is as good as normal


def direction(dates: Sequence[str], values: Sequence[float]) -> Direction:
    """The direction of the values over their dates (ISO 8601), which need not be in order."""
    if len(set(dates)) < LEAST:
        return "too few"
    score = 0
    for (day, value), (other_day, other) in combinations(zip(dates, values, strict=True), 2):
        score += _sign(other_day, day) * _sign(other, value)
    if not score or chance(len(values), score) > MOST_CHANCE:
        return "unclear"
    return "rising" if score > 0 else "falling"


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
