"""Where the hand lies: the positions of the neck, of the thumb and of an extension.

A *hand* is a kind, a place and an anchor, in half steps above the nut. On the neck the place is
where the first finger lies: the second lies a half step above it, the fourth (with the third) a
whole step. The anchor is where the thumb is behind the neck; the hand may turn on it by a half
step either way, which is a pivot. In thumb position the place is that of the thumb, on the string.
On an extension the place is below 0.

The names are those of classical bass methods, from memory; a half position more lies between
those that are a whole step apart. In thumb position methods differ: here it is told how far
above the octave of the open string the thumb lies.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import floor, log2
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from linecheck.left_hand.costs import Costs
    from linecheck.left_hand.tuning import Bass

__all__ = [
    "EXTENSION",
    "NECK",
    "NECK_OFFSETS",
    "OCTAVE",
    "THUMB",
    "Hand",
    "hands",
    "position_name",
    "reach",
]

NECK, THUMB, EXTENSION = 0, 1, 2
OCTAVE = 12
NECK_OFFSETS = {1: 0, 2: 1, 3: 2}  # first, second, and the fourth with the third
NAMES = {
    1: "half", 2: "first", 3: "second", 4: "second and a half", 5: "third",
    6: "third and a half", 7: "fourth", 8: "fifth", 9: "fifth and a half", 10: "sixth",
    11: "sixth and a half", 12: "seventh",
}  # fmt: skip
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Hand:
    """A place of the hand; ``kind`` is NECK, THUMB or EXTENSION."""

    kind: int
    place: int
    anchor: int

    @property
    def first_finger(self) -> int:
        """About where the first finger lies, by which a shift is measured."""
        return self.place + 2 if self.kind == THUMB else self.place


@lru_cache(maxsize=16)
def hands(bass: Bass, costs: Costs) -> tuple[Hand, ...]:
    """Every hand there is, from the nut upward, those of the extension last."""
    neck = range(1, costs.neck_to + 1)
    found = [
        Hand(NECK, place, anchor)
        for place in neck
        for anchor in (place, place - 1, place + 1)
        if anchor in neck
    ]
    found += [Hand(THUMB, place, place) for place in range(costs.thumb_from, costs.board + 1)]
    if bass.extension is not None:
        found += [Hand(EXTENSION, at, at) for at in range(bass.extension - bass.strings[0], 0)]
    return tuple(found)


def position_name(kind: int, place: int) -> str:
    """The name of a position: ``"half"``, ``"second and a half"``, ``"thumb +2"``."""
    if kind == EXTENSION:
        return "extension"
    if kind == THUMB:
        above = place - OCTAVE
        return f"thumb {above:+d}" if above else "thumb"
    return NAMES.get(place, f"neck {place}")


def reach(half_steps: int, place: int) -> int:
    """How many half steps a stretch reaches at ``place`` that is so many at the octave.

    A string's half step at place p is 2^(-p/12) of one at the nut (equal temperament), so a
    stretch of one length in centimetres holds more of them higher up.
    """
    share = 2.0 ** (-OCTAVE / 12) * (1 - 2.0 ** (-half_steps / 12))
    left = 1 - share / 2.0 ** (-place / 12)
    return 99 if left <= 0 else floor(-12 * log2(left) + _ROUNDING)
