"""The fingering that a line has already: which ways to take a note its marks allow.

A mark is a finger ("0", "1" to "4", "T"; MusicXML's ``<fingering>``, ``<open-string>``,
``<thumb-position>``) or a string (1 is the highest). A 3 in low position is read as the third
with the fourth, or as the finger between the first and the fourth (the 1-3-4 of some methods;
common practice); a 4 high up as the third. The kindest reading of all marks is the one that
costs least.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from linecheck.left_hand.positions import THUMB
from linecheck.left_hand.tuning import name_as_written, note_name
from linecheck.left_hand.ways import OPEN, Ways, ways_to_take, why_out_of_reach

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from linecheck.left_hand.costs import Costs
    from linecheck.left_hand.tuning import Bass
    from linecheck.terms import TakeNote

__all__ = ["marked_ways"]

# finger as written → fingers of ``Ways`` on the neck, and in thumb position
ON_NECK: dict[str, tuple[int, ...]] = {
    "0": (OPEN,), "1": (1,), "2": (2,), "3": (3, 2), "4": (3,), "T": (),
}  # fmt: skip
IN_THUMB: dict[str, tuple[int, ...]] = {
    "0": (OPEN,), "1": (1,), "2": (2,), "3": (3,), "4": (3,), "T": (0,),
}  # fmt: skip


def marked_ways(
    notes: Sequence[TakeNote], bass: Bass, costs: Costs
) -> tuple[list[Ways], tuple[tuple[int, str], ...]]:
    """The ways to take each note that its marks allow, and the marks that no hand can take.

    A note whose marks are impossible is free, and named with the reason.
    """
    known: dict[tuple[int, str | None, int | None], tuple[Ways, str]] = {}
    free: dict[int, Ways] = {}
    ways: list[Ways] = []
    impossible: list[tuple[int, str]] = []
    for index, note in enumerate(notes):
        pitch = note.pitch
        if pitch not in free:
            free[pitch] = ways_to_take(pitch, bass, costs)
        key = (pitch, note.fingering, note.string)
        if key not in known:
            known[key] = _allowed(note, free[pitch], bass, costs)
        way, why = known[key]
        ways.append(way)
        if why:
            impossible.append((index, why))
    return ways, tuple(impossible)


def _allowed(note: TakeNote, free: Ways, bass: Bass, costs: Costs) -> tuple[Ways, str]:
    if note.fingering is None and note.string is None:
        return free, ""
    why = _no_such_mark(note, bass) if len(free) else why_out_of_reach(note.pitch, bass, costs)
    if why:
        return free, why
    on_string = np.ones(len(free), dtype=bool)
    where = ""
    if note.string is not None:
        open_note = bass.strings[-note.string]
        where = f" on the {note_name(open_note)} string"
        on_string = free.string == len(bass.strings) - note.string
        if not on_string.any():
            lies = "lies below it" if note.pitch < open_note else "lies above its fingerboard"
            return free, f"{name_as_written(note)} is not{where}: it {lies}"
    kept = on_string & _with_finger(note.fingering, free)
    return (free.only(kept), "") if kept.any() else (free, _no_such_finger(note, where))


def _no_such_mark(note: TakeNote, bass: Bass) -> str:
    """Why the marks are none of this bass; "" where they are."""
    if note.string is not None and not 1 <= note.string <= len(bass.strings):
        return f"there is no string {note.string}; this bass has {len(bass.strings)}"
    if note.fingering is not None and note.fingering not in ON_NECK:
        return f"{note.fingering!r} is no finger; 0 to 4 or T were expected"
    return ""


def _with_finger(fingering: str | None, free: Ways) -> NDArray[np.bool_]:
    if fingering is None:
        return np.ones(len(free), dtype=bool)
    on_neck = np.isin(free.finger, ON_NECK[fingering])
    return np.where(free.kind == THUMB, np.isin(free.finger, IN_THUMB[fingering]), on_neck)


def _no_such_finger(note: TakeNote, where: str) -> str:
    name = name_as_written(note)
    if note.fingering == "0":
        return f"{name} is no open string" + (f"{where}" if where else "")
    if note.fingering == "T":
        return f"{name}{where} lies below thumb position"
    return f"{name}{where} cannot be taken with finger {note.fingering}"
