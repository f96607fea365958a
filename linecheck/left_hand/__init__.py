"""A fingering for a line: strings, positions and fingers, on the path with the least shifting.

What a hand can do stands in ``positions`` and ``ways``, what it costs in ``costs.toml``; the
path that costs least in all is found exactly (``least_path``). A fingering is a suggestion: hands
differ, and a hand that hurts stops and asks a teacher or a doctor.
"""

from __future__ import annotations

from dataclasses import replace
from os import PathLike
from typing import TYPE_CHECKING

from linecheck.arguments import checked_pitches, checked_track_of
from linecheck.left_hand.costs import Costs, read_costs
from linecheck.left_hand.file_places import file_places
from linecheck.left_hand.tuning import TUNINGS, Bass, name_as_written, read_bass
from linecheck.left_hand.walk import counts, walk_line
from linecheck.left_hand.ways import ways_to_take
from linecheck.left_hand.written_marks import marked_ways
from linecheck.terms import FingeredNote, Fingering, OtherWay, Take, TakeNote, WrittenFingering

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.left_hand.least_path import SoundingNote
    from linecheck.left_hand.walk import Walk

__all__ = ["TUNINGS", "Costs", "finger_line", "fingering", "read_costs"]

# Other ways along the line: what costs so many times as much there.
OTHER_WAYS = {
    "fewest shifts": {"start": 8.0, "half_step": 0.1},
    "fewest crossings": {"crossing": 12.0},
    "without pivots": {"pivot": 1000.0},
    "low positions": {"height": 4.0, "high_on_low": 8.0},
}
QUARTER_S = 0.5  # of a line that is only pitches


def fingering(
    line: Take | str | PathLike[str] | Sequence[int],
    *,
    tuning: str | Sequence[int] = "fourths",
    extension: str | int | None = None,
    costs: Costs | str | PathLike[str] | None = None,
    track: str | int | None = None,
) -> Fingering:
    """Suggest strings, positions and fingers for a line.

    Args:
        line: a Take, the file of one, or the pitches of a line (MIDI numbers, sounding), which
            are taken as quarter notes at 120 a minute.
        tuning: a name of ``TUNINGS`` ("fourths", "solo", "fifths", "low-b", "high-c") or the open
            strings from the lowest: ``"E1,A1,D2,G2"``, or as MIDI numbers.
        extension: the lowest note of an extension of the lowest string, such as ``"C1"``.
        costs: Costs, or the file of some; None are the packaged ones.
        track: which track or part of the file is the bass: its number from 1 or its name; only
            for a file.

    Raises:
        InputFault: TakeFault, CostsFault or OptionFault; its text is one line.
    """
    track = checked_track_of(not isinstance(line, (str, PathLike)), track)
    the_bass = read_bass(tuning, extension)
    the_costs = costs if isinstance(costs, Costs) else read_costs(costs)
    if isinstance(line, Take):
        take = line
    elif isinstance(line, (str, PathLike)):
        from linecheck.steps import read_take  # noqa: PLC0415  (a list of pitches needs no reader)

        take = read_take(line, track=track)
    else:
        take = _of_pitches(line)
    found = finger_line(take.notes, the_bass, the_costs)
    written = _written(take.notes, found, the_bass, the_costs)
    return replace(
        found,
        source=take.source,
        notes=_as_in_file(found.notes, take),
        written=written and replace(written, notes=_as_in_file(written.notes, take)),
        warnings=take.warnings,
    )


def finger_line(
    notes: Sequence[SoundingNote], bass: Bass | None = None, costs: Costs | None = None
) -> Fingering:
    """As ``fingering``, for notes that are there already, such as the notes of an audit."""
    bass = bass or read_bass("fourths")
    costs = costs or read_costs()
    walk = _walk(notes, bass, costs)
    others = []
    for name, factors in OTHER_WAYS.items():
        other = replace(costs, **{key: getattr(costs, key) * by for key, by in factors.items()})
        others.append(OtherWay(name, *counts(_walk(notes, bass, other).notes, bass)))
    asked = counts(walk.notes, bass)
    return Fingering(
        source="",
        tuning=bass.strings,
        extension=bass.extension,
        costs_name=costs.name,
        notes=walk.notes,
        cost=walk.cost,
        shifts=asked.shifts,
        biggest_shift=asked.biggest_shift,
        pivots=asked.pivots,
        crossings=asked.crossings,
        open_strings=asked.open_strings,
        high=asked.high,
        out_of_reach=sum(note.string is None for note in walk.notes),
        other_ways=tuple(others),
    )


def _walk(notes: Sequence[SoundingNote], bass: Bass, costs: Costs) -> Walk:
    ways = {pitch: ways_to_take(pitch, bass, costs) for pitch in {note.pitch for note in notes}}
    return walk_line(notes, [ways[note.pitch] for note in notes], bass, costs)


def _as_in_file(notes: tuple[FingeredNote, ...], take: Take) -> tuple[FingeredNote, ...]:
    """The notes with what their file tells: names that are written, bars and beats."""
    notes = tuple(
        replace(note, name=name_as_written(own)) if own.spelled else note
        for note, own in zip(notes, take.notes, strict=True)
    )
    in_file = file_places(take)
    if in_file is None:
        return notes
    places = zip(notes, in_file.places, strict=True)
    return tuple(replace(note, bar=bar, beat=beat) for note, (bar, beat) in places)


# ---- the written fingering -------------------------------------------------------------------


def _written(
    notes: tuple[TakeNote, ...], suggested: Fingering, bass: Bass, costs: Costs
) -> WrittenFingering | None:
    marked = [i for i, n in enumerate(notes) if n.fingering is not None or n.string is not None]
    if not marked:
        return None
    ways, impossible = marked_ways(notes, bass, costs)
    walk = walk_line(notes, ways, bass, costs)
    refused = {index for index, _ in impossible}
    asked = counts(walk.notes, bass)
    differs = tuple(
        i
        for i in marked
        if i not in refused
        and (walk.notes[i].string, walk.notes[i].finger)
        != (suggested.notes[i].string, suggested.notes[i].finger)
    )
    return WrittenFingering(
        len(marked), asked.shifts, asked.biggest_shift, walk.notes, differs, impossible
    )


def _of_pitches(pitches: Sequence[int]) -> Take:
    found = checked_pitches(
        pitches, "line", "MIDI numbers from 0 to 127, a take or the name of its file"
    )
    return Take(
        source="",
        kind="written",
        notes=tuple(
            TakeNote(index * QUARTER_S, QUARTER_S, pitch, 80, float(index), 1.0)
            for index, pitch in enumerate(found)
        ),
        tempo_map=None,
    )
