"""A mark: one thing that could be earned at one step, and what was missed there.

Every part of the commitment gives marks over the whole take; its share in any stretch is the
earned weight of the marks in it over their whole weight. So a chorus, a section and a bar are
judged by the same marks, and what each took adds up.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable


class Mark(NamedTuple):
    """``missed`` is 0 (earned) to 1; ``why`` says in a few words what was missed."""

    step: int
    missed: float = 0.0
    why: str = ""


def share(marks: Iterable[Mark]) -> float | None:
    """The earned share, 0 to 1; None where there is nothing to earn."""
    possible, missed = 0, 0.0
    for mark in marks:
        possible += 1
        missed += mark[1]
    return None if not possible else 1.0 - missed / possible
