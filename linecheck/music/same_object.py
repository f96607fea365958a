"""An object as a key of a table: equal to itself alone, however alike others are.

Charts are compared field by field, which costs more than what is looked up by them. What is worked
out of a chart alone is kept for the last few charts, by which chart it was.
"""

from __future__ import annotations

from typing import Generic, TypeVar

T = TypeVar("T")


class SameObject(Generic[T]):
    """``SameObject(a) == SameObject(b)`` where a is b. It keeps the object alive."""

    __slots__ = ("it",)

    def __init__(self, it: T) -> None:
        self.it = it

    def __hash__(self) -> int:
        return id(self.it)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, SameObject) and other.it is self.it
