"""Shown marks: how many digits of a commitment are shown, so that no row looks wrong, and ranks.

A commitment is shown in whole points; where that would show 92 as not passed at a pass mark of 92
(it is 91.67), all that are shown together get a decimal or two. Takes of as many whole points share
a rank: a take tells no more than that.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.report.figures import POINTS

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

__all__ = ["mark_digits", "ranks"]


def mark_digits(marks: Sequence[float], pass_mark: float | None = None) -> int:
    """How many decimals marks need.

    Args:
        marks: commitments to the hundredth.
        pass_mark: shown with it, a mark must be on its own side.
    """
    if pass_mark is None:
        return 0
    for digits in range(POINTS):
        if all((round(mark, digits) >= pass_mark) == (mark >= pass_mark) for mark in marks):
            return digits
    return POINTS


def ranks(marks: Iterable[float]) -> dict[float, int]:
    """The rank of each mark: as many whole points, equal rank, and the next rank is left out."""
    found: dict[float, int] = {}
    by_points: dict[float, int] = {}
    for rank, mark in enumerate(sorted(marks, reverse=True), 1):
        found[mark] = by_points.setdefault(round(mark), rank)
    return found
