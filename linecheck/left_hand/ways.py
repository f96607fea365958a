"""The ways in which one pitch can be taken: string, finger and hand, as parallel arrays.

An open string leaves the hand anywhere, so that it is there once for every hand. Fingers are 0
for the thumb, 1, 2, and 3 for the fourth (with the third) or, high up, the third alone; OPEN for
an open string. A *stop* is how many half steps above the open string a note is stopped.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

from linecheck.left_hand.positions import (
    EXTENSION,
    NECK,
    NECK_OFFSETS,
    THUMB,
    Hand,
    hands,
    reach,
)
from linecheck.left_hand.tuning import note_name

if TYPE_CHECKING:
    from collections.abc import Callable

    from linecheck.left_hand.costs import Costs
    from linecheck.left_hand.tuning import Bass

__all__ = ["OPEN", "Ways", "finger_name", "ways_to_take", "why_out_of_reach"]

Ints: TypeAlias = NDArray[np.int64]
Floats: TypeAlias = NDArray[np.float64]

OPEN = -1
SECOND_POSITION = 3


@dataclass(frozen=True, slots=True)
class Ways:
    """All ways to take one pitch, one a row. ``string`` is an index of ``Bass.strings``.

    ``offset`` is how far above the hand's place the note lies (0 for an open string), ``cost``
    what the note costs by itself.
    """

    pitch: int
    string: Ints
    finger: Ints
    offset: Ints
    kind: Ints
    place: Ints
    anchor: Ints
    first_finger: Ints
    cost: Floats

    def __len__(self) -> int:
        return len(self.string)

    def only(self, kept: NDArray[np.bool_]) -> Ways:
        """Those rows alone."""
        return Ways(
            self.pitch,
            self.string[kept],
            self.finger[kept],
            self.offset[kept],
            self.kind[kept],
            self.place[kept],
            self.anchor[kept],
            self.first_finger[kept],
            self.cost[kept],
        )


def ways_to_take(pitch: int, bass: Bass, costs: Costs) -> Ways:
    """Every way to take the pitch; none where it is out of reach."""
    rows = [
        (string, finger, offset, hand)
        for string in reversed(range(len(bass.strings)))
        for finger, offset, hand in _on_string(pitch - bass.strings[string], string, bass, costs)
    ]

    def column(value: Callable[[Hand], int]) -> Ints:
        return np.array([value(hand) for *_, hand in rows], dtype=np.int64)

    string = np.array([row[0] for row in rows], dtype=np.int64)
    finger = np.array([row[1] for row in rows], dtype=np.int64)
    place = column(lambda hand: hand.place)
    below_highest = len(bass.strings) - 1 - string
    stopped = finger != OPEN
    kind = column(lambda hand: hand.kind)
    cost = stopped * (
        costs.stopped
        + costs.in_thumb * (kind == THUMB)
        + costs.height * np.maximum(place - 1, 0)
        + costs.high_on_low * below_highest * np.maximum(place - SECOND_POSITION, 0)
    )
    return Ways(
        pitch,
        string,
        finger,
        np.array([row[2] for row in rows], dtype=np.int64),
        kind,
        place,
        column(lambda hand: hand.anchor),
        column(lambda hand: hand.first_finger),
        cost,
    )


def _on_string(stop: int, string: int, bass: Bass, costs: Costs) -> list[tuple[int, int, Hand]]:
    """(finger, offset, hand) of every way to take a stop on one string."""
    everywhere = hands(bass, costs)
    if stop == 0 or (string == 0 and stop < 0 and bass.strings[0] + stop == bass.extension):
        return [(OPEN, 0, hand) for hand in everywhere]
    if stop > costs.board:
        return []
    found = []
    for hand in everywhere:
        offset = stop - hand.place
        if hand.kind == EXTENSION:
            fits = string == 0 and stop < 0 and bass.extension is not None
            fingers = [f for f, at in NECK_OFFSETS.items() if at == offset] if fits else []
        elif stop < 0:
            fingers = []
        elif hand.kind == NECK:
            fingers = [f for f, at in NECK_OFFSETS.items() if at == offset]
        else:
            fingers = [
                finger
                for finger, (least, most) in _thumb_reach(hand.place, costs).items()
                if least <= offset <= most
            ]
        found += [(finger, offset, hand) for finger in fingers]
    return found


def _thumb_reach(place: int, costs: Costs) -> dict[int, tuple[int, int]]:
    """Finger → the nearest and the furthest note above the thumb that it takes."""
    return {
        0: (0, 0),
        1: (1, reach(costs.first, place)),
        2: (2, reach(costs.second, place)),
        3: (3, reach(costs.third, place)),
    }


def finger_name(finger: int, kind: int, place: int, costs: Costs) -> str:
    """The sign of a finger: "0", "1" to "4", "T"."""
    if finger == OPEN:
        return "0"
    if kind == THUMB:
        return "T" if finger == 0 else str(finger)
    if finger == 3:
        return "3" if place >= costs.third_from else "4"
    return str(finger)


def why_out_of_reach(pitch: int, bass: Bass, costs: Costs) -> str:
    """Why no string has the pitch."""
    if pitch < bass.lowest:
        what = "string" if bass.extension is None else "note of the extension"
        return f"below the lowest {what}, {note_name(bass.lowest)}"
    highest = bass.strings[-1] + costs.board
    if pitch > highest:
        return f"above the end of the fingerboard, {note_name(highest)}"
    return "no position of the hand reaches it"
