"""The path that costs least through the ways to take each note: exact dynamic programming.

What it costs to go from one note to the next has two parts: one that is always the same
(crossings, a finger that changes on a repeated note) and one that depends on the time there is
(shifts and pivots). Both are tables of (way to take this note) × (way to take the next), one for
each pair of pitches that occurs, so that a line costs one addition of a small table a note: linear
in its notes. Of paths that cost the same the first by string (from the highest) and hand holds.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Protocol, TypeAlias

import numpy as np
from numpy.typing import NDArray

from linecheck.left_hand.positions import NECK, THUMB, reach
from linecheck.left_hand.ways import OPEN, Ways

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.left_hand.costs import Costs

__all__ = ["SoundingNote", "least_path", "steps_between"]

Floats: TypeAlias = NDArray[np.float64]
NEVER = np.inf
_LEAST_S = 1e-6


class SoundingNote(Protocol):
    """What is asked of a note: when it begins, how long it sounds, and its pitch."""

    @property
    def onset_s(self) -> float:
        """Seconds."""
        ...

    @property
    def duration_s(self) -> float:
        """Seconds."""
        ...

    @property
    def pitch(self) -> int:
        """MIDI number, sounding."""
        ...


@dataclass(frozen=True, slots=True)
class _Step:
    """From the ways of one pitch (rows) to those of another: what is fixed, and what time eases."""

    fixed: Floats
    moving: Floats
    open_rows: NDArray[np.bool_]


def least_path(
    notes: Sequence[SoundingNote], ways: Sequence[Ways], costs: Costs
) -> tuple[list[int], float]:
    """The row of ``ways`` to take for each note, and what the whole costs.

    Args:
        notes: the notes, in the order of their onsets.
        ways: how each can be taken; the same object for notes of one pitch, none of them empty.
        costs: what things cost.
    """
    if not notes:
        return [], 0.0
    steps: dict[tuple[int, int], _Step] = {}
    total = ways[0].cost
    back: list[NDArray[np.intp]] = []
    for index in range(1, len(notes)):
        before, after = ways[index - 1], ways[index]
        key = (id(before), id(after))
        if key not in steps:
            steps[key] = _step(before, after, costs)
        step = steps[key]
        ease = _ease(notes[index - 1], notes[index], step.open_rows, costs)
        reached = total[:, None] + step.fixed + ease[:, None] * step.moving
        best = reached.argmin(axis=0)
        back.append(best)
        total = reached[best, np.arange(len(after))] + after.cost
    row = int(total.argmin())
    cost = float(total[row])
    path = [row]
    for best in reversed(back):
        row = int(best[row])
        path.append(row)
    return path[::-1], cost


def steps_between(before: Ways, a: int, after: Ways, b: int) -> tuple[int, int, int]:
    """Half steps shifted and pivoted, and strings crossed, from one way to the next."""
    crossing = int(after.string[b] - before.string[a])
    moved = int(after.first_finger[b] - before.first_finger[a])
    same_kind = before.kind[a] == after.kind[b]
    if same_kind and before.place[a] == after.place[b]:
        return 0, 0, crossing
    on_anchor = same_kind and after.kind[b] == NECK and before.anchor[a] == after.anchor[b]
    if on_anchor and abs(moved) == 1:
        return 0, moved, crossing
    return moved, 0, crossing


def _ease(
    note: SoundingNote, following: SoundingNote, open_rows: NDArray[np.bool_], costs: Costs
) -> Floats:
    """What share of its cost a shift has, for each way to take the note before it."""
    time_s = following.onset_s - note.onset_s
    hurry = min(costs.most, max(costs.least, costs.even_s / max(time_s, _LEAST_S)))
    rests = time_s - note.duration_s >= costs.rest_s
    return np.where(open_rows | rests, hurry * costs.free, hurry)


def _step(before: Ways, after: Ways, costs: Costs) -> _Step:
    a = {name: getattr(before, name)[:, None] for name in _COLUMNS}
    b = {name: getattr(after, name)[None, :] for name in _COLUMNS}
    stopped = (a["finger"] != OPEN) & (b["finger"] != OPEN)
    crossed = np.abs(b["string"] - a["string"])
    same_hand = (a["kind"] == b["kind"]) & (a["place"] == b["place"]) & (a["anchor"] == b["anchor"])
    on_neck = (a["kind"] == NECK) & (b["kind"] == NECK)
    way = np.abs(b["first_finger"] - a["first_finger"])
    pivots = on_neck & (a["anchor"] == b["anchor"]) & (way == 1)
    # A shift ends with the hand square behind its thumb; it never ends where it began.
    lands = (b["place"] == b["anchor"]) & ((a["place"] != b["place"]) | (a["kind"] != b["kind"]))
    comes_up = (a["kind"] == THUMB) != (b["kind"] == THUMB)
    shift = costs.start + costs.half_step * way + costs.thumb * comes_up
    moving = np.where(pivots, costs.pivot, np.where(lands, shift, NEVER))
    moving = np.where(same_hand, 0.0, moving)

    barred = stopped & same_hand & (crossed > 0) & (a["finger"] == b["finger"])
    fixed = costs.crossing * crossed + costs.same_finger * barred
    if before.pitch == after.pitch:
        other = (a["finger"] != b["finger"]) | (a["string"] != b["string"])
        fixed = fixed + costs.another_finger * other
    in_thumb = stopped & same_hand & (a["kind"] == THUMB)
    if in_thumb.any():
        fixed = fixed + np.where(in_thumb, _within_thumb(a, b, costs), 0.0)
    return _Step(fixed, moving, before.finger == OPEN)


_COLUMNS = ("string", "finger", "offset", "kind", "place", "anchor", "first_finger")


@lru_cache(maxsize=16)
def _widest(costs: Costs) -> NDArray[np.int64]:
    """How far apart fingers may be: by how many fingers apart they are, and by the place."""
    rows = [
        [reach(n * costs.neighbours, place) for place in range(costs.board + 1)] for n in range(4)
    ]
    return np.array(rows, dtype=np.int64)


def _within_thumb(a: dict[str, Floats], b: dict[str, Floats], costs: Costs) -> Floats:
    """What it costs to go from one finger to another of a thumb position; the order is kept."""
    fingers = b["finger"] - a["finger"]
    apart = np.sign(fingers) * (b["offset"] - a["offset"])
    most = _widest(costs)[np.abs(fingers).clip(max=3), a["place"].clip(min=0)]
    from_thumb = (a["finger"] == 0) | (b["finger"] == 0)
    least = np.where(a["string"] == b["string"], np.abs(fingers), 0)
    fits = (apart >= least) & (from_thumb | (apart <= most))
    slid = np.abs(b["offset"] - a["offset"])
    slides = np.where(slid <= 1, costs.slide * slid, NEVER)
    return np.where(fingers == 0, slides, np.where(fits, 0.0, NEVER))
