"""A played take from a MIDI file: one line of notes, the file's tempo map and its meters.

The bass line is single-voiced: a note ends where the next begins, and of notes struck together
the lowest is kept, with a warning. Pitch bend (with a warning where it is large), the sustain
pedal and other controllers are ignored. Where the file counts clock time (SMPTE) it has no beats:
the notes have seconds only.
Units: seconds from the start of the file, quarter notes from its start, MIDI pitches as they
sound. Source: *Standard MIDI Files 1.0* (RP-001); tempo is 120 where the file gives none.
"""

from __future__ import annotations

from bisect import bisect_right
from itertools import pairwise
from typing import TYPE_CHECKING, TypeAlias

from linecheck.faults import TakeFault
from linecheck.read.choose_track import choose_part, middle_pitch
from linecheck.read.file_checks import MEBIBYTE, read_bytes
from linecheck.read.midi_file import read_midi_file
from linecheck.terms import FileMeter, Meter, Remark, Take, TakeNote, TempoMap

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from linecheck.read.choose_track import Part
    from linecheck.read.midi_file import MidiFile, MidiTrack

MOST_BYTES = 16 * MEBIBYTE  # a take of 2,000 choruses is about 2
LENGTH_LIMIT = 1_000_000  # quarter notes, and seconds: 2,000 choruses are a quarter of it
CHANGES_LIMIT = 100_000  # of tempo and meter: a ramp that changes at every tick of an hour
CHORD_S = 0.030  # onsets closer than this are struck together
DEFAULT_TEMPO = 500_000  # microseconds a quarter note
LOWEST, HIGHEST = 23, 67  # B0 of a fifth string; G4, the end of the fingerboard's G string
_OCTAVE_HIGH, _OCTAVE_LOW = 40, 28  # E2, an octave above the open E; E1 itself
_MANY_CHORDS = 4  # from so many on, and half of the notes, it is no matter of double stops
_MANY_BENT, _BENT_SHARE = 4, 0.1  # from so many on it is no matter of a slide here and there
_JUDGED_NOTES = 16  # fewer notes say nothing about the octave

_Row: TypeAlias = tuple[int, int, int, int]  # onset tick, end tick, pitch, velocity


def read_take_midi(path: Path, *, track: str | None = None) -> Take:
    """Read the bass line of a MIDI file.

    Args:
        path: a Standard MIDI File of format 0, 1 or 2.
        track: the track to read: its number from 1, ``"3:2"`` for channel 2 of track 3, or its
            name; None to choose the bass (see ``choose_track``).

    Raises:
        TakeFault: the file cannot be read, holds no notes, or has no such track.
    """
    source = str(path)
    midi = read_midi_file(read_bytes(path, TakeFault, MOST_BYTES), source)
    part, line, warnings = choose_part(midi, track, source)
    own = _own_tracks(midi, part, track, source)
    _check_changes(own, source)
    warnings = [*warnings, *_file_warnings(midi, own, part)]
    rows = list(zip(part.onsets, part.ends, part.pitches, part.velocities, strict=True))
    last = max(part.ends)
    if midi.ticks_per_quarter is None:
        tempo_map, seconds_of = None, _clock(1 / (midi.ticks_per_second or 1.0))
    else:
        ticks = midi.ticks_per_quarter
        tempo_map, seconds_of = _tempo_map(own, ticks)
        _check_length(last / ticks, "quarter notes", source)
    _check_length(seconds_of(last), "seconds", source)
    rows, chord_warnings = _single_voice(rows, seconds_of)
    notes = _notes(rows, seconds_of, midi.ticks_per_quarter)
    return Take(
        source=source,
        kind="played",
        notes=notes,
        tempo_map=tempo_map,
        meters=_meters(own, midi.ticks_per_quarter),
        line=line,
        warnings=(*warnings, *chord_warnings, *_range_warnings(notes)),
    )


def _own_tracks(midi: MidiFile, part: Part, wanted: str | None, source: str) -> Sequence[MidiTrack]:
    """The tracks whose tempi and meters hold for the part."""
    if midi.format != 2:
        return midi.tracks
    holding = [t for t in midi.tracks if t.onsets]
    if len(holding) > 1 and wanted is None:
        raise TakeFault(
            f"a file of format 2: its {len(holding)} tracks are takes of their own; "
            "--track chooses one of them",
            source=source,
        )
    return [midi.tracks[part.track - 1]]


# ---- time ------------------------------------------------------------------------------------


def _clock(seconds_per_tick: float) -> Callable[[int], float]:
    return lambda tick: tick * seconds_per_tick


def _tempo_map(
    tracks: Sequence[MidiTrack], ticks_per_quarter: int
) -> tuple[TempoMap, Callable[[int], float]]:
    """The tempo map, and seconds of a tick."""
    # Of several tempi at one tick the last in the file holds.
    changes = {0: DEFAULT_TEMPO}
    changes.update(sorted((event for t in tracks for event in t.tempi), key=lambda e: e[0]))
    ticks: list[int] = []
    seconds: list[float] = []
    per_tick: list[float] = []
    for tick, tempo in changes.items():
        pace = tempo / 1e6 / ticks_per_quarter
        if ticks and pace == per_tick[-1]:
            continue
        seconds.append(seconds[-1] + (tick - ticks[-1]) * per_tick[-1] if ticks else 0.0)
        ticks.append(tick)
        per_tick.append(pace)
    tempo_map = TempoMap(
        quarters=tuple(t / ticks_per_quarter for t in ticks),
        seconds=tuple(seconds),
        seconds_per_quarter=tuple(p * ticks_per_quarter for p in per_tick),
    )
    if len(ticks) == 1:
        return tempo_map, _clock(per_tick[0])

    def seconds_of(tick: int) -> float:
        index = bisect_right(ticks, tick) - 1
        return seconds[index] + (tick - ticks[index]) * per_tick[index]

    return tempo_map, seconds_of


def _check_changes(tracks: Sequence[MidiTrack], source: str) -> None:
    changes = sum(len(track.tempi) + len(track.meters) for track in tracks)
    if changes > CHANGES_LIMIT:
        raise TakeFault(
            f"{changes:,} changes of tempo and meter; expected {CHANGES_LIMIT:,} at most: "
            "the file is damaged",
            source=source,
        )


def _check_length(length: float, unit: str, source: str) -> None:
    if length > LENGTH_LIMIT:
        raise TakeFault(
            f"the last note lies {length:.3g} {unit} from the start; expected {LENGTH_LIMIT:,} "
            "at most: the file is damaged",
            source=source,
        )


def _meters(tracks: Sequence[MidiTrack], ticks_per_quarter: int | None) -> tuple[FileMeter, ...]:
    """The file's meters; 4/4 from the start where it gives none (the standard's default)."""
    if ticks_per_quarter is None:
        return ()
    changes = {0: Meter(4, 4)}
    changes.update(sorted((event for t in tracks for event in t.meters), key=lambda e: e[0]))
    meters: list[FileMeter] = []
    for tick, meter in changes.items():
        if not meters or meter != meters[-1].meter:
            meters.append(FileMeter(tick / ticks_per_quarter, meter))
    return tuple(meters)


# ---- one voice -------------------------------------------------------------------------------


def _single_voice(
    rows: Sequence[_Row], seconds_of: Callable[[int], float]
) -> tuple[list[_Row], list[Remark]]:
    """Keep the lowest of the notes that are struck and sound together; end each at the next."""
    kept: list[_Row] = []
    chords: list[float] = []
    struck_s, in_chord = 0.0, False
    for row in rows:
        onset_s = seconds_of(row[0])
        if kept and onset_s - struck_s <= CHORD_S and _sound_together(kept[-1], row):
            before = kept[-1]
            if row[2] == before[2]:  # the same note twice is no chord
                kept[-1] = (before[0], max(before[1], row[1]), row[2], max(before[3], row[3]))
                continue
            if not in_chord:
                chords.append(struck_s)
                in_chord = True
            if row[2] < before[2]:
                kept[-1] = row
            continue
        kept.append(row)
        struck_s, in_chord = onset_s, False
    line = [
        (onset, min(end, after[0]), pitch, velocity)
        for (onset, end, pitch, velocity), after in pairwise(kept)
    ]
    return [*line, kept[-1]], _chord_warnings(chords, len(kept))


def _sound_together(before: _Row, row: _Row) -> bool:
    """Whether two notes that begin together also go on together; a grace note does not."""
    if before[0] == row[0]:
        return True
    shared = min(before[1], row[1]) - row[0]
    return 2 * shared > min(before[1] - before[0], row[1] - row[0])


def _chord_warnings(chords: Sequence[float], notes: int) -> list[Remark]:
    if not chords:
        return []
    if len(chords) >= _MANY_CHORDS and 2 * len(chords) >= notes:
        many = (
            f"{len(chords)} of {notes} notes are struck as chords: this may be the part of another"
        )
        told = "instrument; of each chord the lowest tone alone was read as the line"
        return [Remark(f"{many} {told}", "track")]
    places = ", ".join(f"{at:.1f} s" for at in chords[:3])
    more = f" and {len(chords) - 3} more" if len(chords) > 3 else ""
    share = f"{len(chords)} of {notes} notes are" if len(chords) > 1 else "1 note is"
    return [Remark(f"{share} struck as a chord; its lowest tone was kept (at {places}{more})")]


def _notes(
    rows: Sequence[_Row], seconds_of: Callable[[int], float], ticks_per_quarter: int | None
) -> tuple[TakeNote, ...]:
    notes = []
    onset_q = duration_q = None
    for onset, end, pitch, velocity in rows:
        onset_s = seconds_of(onset)
        if ticks_per_quarter is not None:
            onset_q = onset / ticks_per_quarter
            duration_q = (end - onset) / ticks_per_quarter
        duration_s = seconds_of(end) - onset_s
        notes.append(TakeNote(onset_s, duration_s, pitch, velocity, onset_q, duration_q))
    return tuple(notes)


# ---- warnings --------------------------------------------------------------------------------


def _file_warnings(midi: MidiFile, own: Sequence[MidiTrack], part: Part) -> list[Remark]:
    warnings = []
    meters = sum(track.unread_meters for track in own)
    if meters:
        what = "1 meter of the file makes" if meters == 1 else f"{meters} meters of the file make"
        warnings.append(Remark(f"{what} no sense: passed over"))
    unended = midi.tracks[part.track - 1].unended
    if unended:
        what = "1 note is" if unended == 1 else f"{unended} notes are"
        told = f"{what} never released: held until the next note or the track's end"
        warnings.append(Remark(told))
    if part.bent:
        what = "1 note is" if part.bent == 1 else f"{part.bent} of {len(part.onsets)} notes are"
        many = part.bent >= _MANY_BENT and part.bent >= _BENT_SHARE * len(part.onsets)
        told = (
            f"{what} bent by more than a quarter tone; pitch bend is not read, and the pitch that"
        )
        asked = ": are these the pitches that sound?" if many else ""
        warnings.append(Remark(f"{told} was struck is judged{asked}", "pitches" if many else None))
    return warnings


def _range_warnings(notes: Sequence[TakeNote]) -> list[Remark]:
    pitches = [note.pitch for note in notes]
    low = sum(pitch < LOWEST for pitch in pitches)
    high = sum(pitch > HIGHEST for pitch in pitches)
    if len(pitches) >= _JUDGED_NOTES:
        if octaves := _octaves_high(min(pitches), middle_pitch(pitches)):
            return [Remark(_saved_high(octaves), "octave")]
        if middle_pitch(pitches) < _OCTAVE_LOW:
            told = "half the notes lie below E1: the line may be saved an octave too low"
            return [Remark(told, "octave")]
    warnings = []
    if low:
        warnings.append(Remark(f"{_count(low)} below the range of a double bass (lower than B0)"))
    if high:
        told = f"{_count(high)} above the range of a double bass (higher than G4)"
        warnings.append(Remark(told))
    return warnings


def _octaves_high(lowest: int, middle: int) -> int:
    """How many octaves a line may be brought down before it looks like one of a bass."""
    octaves = 0
    while lowest >= _OCTAVE_HIGH and middle >= _OCTAVE_HIGH + 8:
        octaves, lowest, middle = octaves + 1, lowest - 12, middle - 12
    return octaves


def _saved_high(octaves: int) -> str:
    if octaves == 1:
        return "no note lies below E2: the line may be saved an octave too high, as written"
    how_many = ("two", "three", "four", "five", "six", "seven")[octaves - 2]
    return (
        f"no note lies below E{octaves + 1}: the line may be saved {how_many} octaves too high, or "
        "is not that of a bass"
    )


def _count(number: int) -> str:
    return "1 note lies" if number == 1 else f"{number} notes lie"
