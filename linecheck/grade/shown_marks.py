"""Shown marks: how many digits of a commitment are shown, so that no row looks wrong, and ranks.

A commitment is shown in whole points; where that would show 92 as not passed at a pass mark of 92
(it is 91.67), all that are shown together get a decimal or two. Takes of as many whole points share
a rank: a take tells no more than that.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.grade.terms import Graded

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from linecheck.grade.terms import Row

__all__ = ["holds_whole_form", "ranked", "ranks"]


def holds_whole_form(row: Row) -> bool:
    """Whether a take was graded and holds the whole form, or is not known not to."""
    return isinstance(row, Graded) and all(said.doubt != "whole" for said in row.warnings)


def ranked(whole: Sequence[bool]) -> list[bool]:
    """For each graded take of a class whether it gets a rank: those of the whole form alone.

    A few bars prove less than a whole form. Where no take of the class is whole, all are ranked.
    """
    return list(whole) if any(whole) else [True] * len(whole)


def ranks(marks: Iterable[float]) -> dict[float, int]:
    """The rank of each mark: as many whole points, equal rank, and the next rank is left out."""
    found: dict[float, int] = {}
    by_points: dict[float, int] = {}
    for rank, mark in enumerate(sorted(marks, reverse=True), 1):
        found[mark] = by_points.setdefault(round(mark), rank)
    return found
