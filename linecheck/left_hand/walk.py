"""The walk of the hand along a line: the least path, told note by note."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from linecheck.faults import CostsFault
from linecheck.left_hand.least_path import least_path, steps_between
from linecheck.left_hand.positions import position_name
from linecheck.left_hand.tuning import note_name, spelling_key
from linecheck.left_hand.ways import OPEN, finger_name, why_out_of_reach
from linecheck.terms import FingeredNote

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.left_hand.costs import Costs
    from linecheck.left_hand.least_path import SoundingNote
    from linecheck.left_hand.tuning import Bass
    from linecheck.left_hand.ways import Ways

__all__ = ["HIGH", "Counts", "Walk", "counts", "walk_line"]

HIGH = 7  # half steps up a string: the next higher one has the note two half steps above its nut


@dataclass(frozen=True, slots=True)
class Walk:
    """The notes as they are taken, and what the whole costs."""

    notes: tuple[FingeredNote, ...]
    cost: float


def walk_line(
    notes: Sequence[SoundingNote], ways: Sequence[Ways], bass: Bass, costs: Costs
) -> Walk:
    """Take every note that can be reached on the path that costs least.

    While open strings sound the hand is told where it was; the way that it goes meanwhile is told
    at the stopped note it goes to.

    Args:
        notes: the line, in the order of its onsets.
        ways: how each note can be taken; none for one that is out of reach.
        bass: what it is played on.
        costs: what things cost.

    Raises:
        CostsFault: the hand of these costs cannot go from one note to the next.
    """
    key = spelling_key(note.pitch for note in notes)
    reached = [index for index, way in enumerate(ways) if len(way)]
    rows, cost = least_path([notes[i] for i in reached], [ways[i] for i in reached], costs)
    if cost == float("inf"):
        raise CostsFault("no hand of these costs can play the line; see their [hand]")
    row_of = dict(zip(reached, rows, strict=True))
    found: list[FingeredNote] = []
    before: tuple[Ways, int] | None = None
    hand: tuple[Ways, int] | None = None  # that took the stopped note before
    shift = pivot = 0  # since that note
    for index, note in enumerate(notes):
        name = note_name(note.pitch, key)
        if index not in row_of:
            found.append(_left_out(note, name, why_out_of_reach(note.pitch, bass, costs)))
            continue
        here = (ways[index], row_of[index])
        moved, turned, crossing = (0, 0, 0) if before is None else steps_between(*before, *here)
        before = here
        shift, pivot = shift + moved, pivot + turned
        if ways[index].finger[row_of[index]] == OPEN:
            found.append(_taken(note, name, here, hand or here, (0, 0, crossing), bass, costs))
            continue
        if hand is None:
            shift = pivot = 0
        moves = (shift + pivot, 0, crossing) if shift else (0, pivot, crossing)
        found.append(_taken(note, name, here, here, moves, bass, costs))
        hand, shift, pivot = here, 0, 0
    return Walk(tuple(found), cost)


class Counts(NamedTuple):
    """What a way along the line asks of the hand; as in ``terms.OtherWay``."""

    shifts: int
    biggest_shift: int
    crossings: int
    open_strings: int
    pivots: int
    high: int


def counts(notes: Sequence[FingeredNote], bass: Bass) -> Counts:
    """Count what the line asks as it is taken."""
    return Counts(
        shifts=sum(note.shift != 0 for note in notes),
        biggest_shift=max((abs(note.shift) for note in notes), default=0),
        crossings=sum(abs(note.crossing) for note in notes),
        open_strings=sum(note.finger == "0" for note in notes),
        pivots=sum(note.pivot != 0 for note in notes),
        high=sum(
            note.string is not None
            and note.string > 1
            and note.pitch - bass.strings[-note.string] >= HIGH
            for note in notes
        ),
    )


def _left_out(note: SoundingNote, name: str, why: str) -> FingeredNote:
    return FingeredNote(
        onset_s=note.onset_s,
        duration_s=note.duration_s,
        pitch=note.pitch,
        string=None,
        string_name="",
        finger=None,
        position=None,
        position_name="",
        out_of_reach=why,
        name=name,
    )


def _taken(  # noqa: PLR0917  (the walk knows them all)
    note: SoundingNote,
    name: str,
    here: tuple[Ways, int],
    hand: tuple[Ways, int],
    moves: tuple[int, int, int],
    bass: Bass,
    costs: Costs,
) -> FingeredNote:
    way, row = here
    string, finger = int(way.string[row]), int(way.finger[row])
    way, row = hand
    kind, place = int(way.kind[row]), int(way.place[row])
    shift, pivot, crossing = moves
    return FingeredNote(
        onset_s=note.onset_s,
        duration_s=note.duration_s,
        pitch=note.pitch,
        string=bass.number(string),
        string_name=note_name(bass.strings[string]),
        finger=finger_name(finger, kind, place, costs),
        position=place,
        position_name=position_name(kind, place),
        shift=shift,
        pivot=pivot,
        crossing=crossing,
        name=name,
    )
