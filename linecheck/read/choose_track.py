"""Which part of a MIDI file is the bass line, and why.

A part is the notes of one channel of one track (channel 10 is drums by General MIDI). Each part
is given points for its name, its program, its register, its being single-voiced and its having
notes enough; the most points win, and the choice is said in words. A name alone does not win:
a "Bass Drum" or a "Bass Clarinet" is no bass.

Programs by General MIDI 1 (1991), counted from 1: 33 to 40 are basses, 44 is Contrabass.
A string controller sends every string on a channel of its own; such channels of one track are
joined to one part.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from linecheck.faults import TakeFault
from linecheck.read.bass_names import BASS_PROGRAMS, instrument_of, names_a_bass
from linecheck.terms import Remark

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from linecheck.read.midi_file import MidiFile, MidiTrack
    from linecheck.terms import DoubtKind

DRUM_CHANNEL = 9  # "channel 10" as players count

# Points. A name or a program outweighs any one fact of the notes, both facts outweigh a name.
_NAME, _OTHER_NAME = 4.0, -5.0
_PROGRAM, _OTHER_PROGRAM = 3.0, -1.0
_REGISTER, _SINGLE, _FEW = 3.0, 2.0, -2.0
_DRUMS = -20.0
_CLOSE = 1.5  # a second part within so many points is named in a warning
_WEAK = 3.0  # below it nothing speaks for the part but that it is the best of them
_FEW_NOTES = 8
_LOW_MEDIAN = 55  # G3: the middle of a bass line lies below it
_HIGH_MEDIAN = 64
_SINGLE_SHARE = 0.85
_SAMPLE = 2_000  # notes of a part that are looked at


@dataclass(frozen=True, slots=True)
class Part:
    """The notes of one channel (or of the joined channels) of one track, in ticks.

    ``bent`` counts the notes that a pitch bend moves far (see ``MidiTrack``).
    """

    track: int
    channels: tuple[int, ...]
    name: str
    program: int | None
    label: str
    onsets: list[int]
    ends: list[int]
    pitches: list[int]
    velocities: list[int]
    bent: int = 0

    @property
    def drums(self) -> bool:
        """Whether General MIDI reads the part as drums."""
        return self.channels == (DRUM_CHANNEL,)

    def __str__(self) -> str:
        return f"{self.label} '{self.name}'" if self.name else self.label


@dataclass(frozen=True, slots=True)
class _Score:
    points: float
    reasons: tuple[str, ...]


def choose_part(
    midi: MidiFile, wanted: str | None, source: str
) -> tuple[Part, Remark, list[Remark]]:
    """The part that is the bass line, the choice in words, and warnings.

    Args:
        midi: the file.
        wanted: a track's number from 1 (a channel's in a file of format 0), ``"3:2"`` for a
            channel of a track, or a name; None to choose.
        source: the file's name, for the fault.

    Raises:
        TakeFault: no part holds notes, ``wanted`` is none of those that do, or nothing but
            drums is there.
    """
    parts = parts_of(midi)
    if not parts:
        raise TakeFault("the file holds no notes; expected a bass line", source=source)
    others = _others(len(parts) - 1, midi)
    if wanted is not None:
        part = _wanted(parts, wanted, source)
        return part, _of(part, f"{_described(part)}, as asked; {others}"), []
    if all(part.drums for part in parts):
        raise TakeFault(
            "every track with notes is on channel 10, which is for drums; expected a bass line "
            "(--track reads one of them all the same)",
            source=source,
        )
    if len(parts) == 1:
        other = _other_instrument(parts[0])
        part = parts[0]
        said = [_of(part, f"{part} is {other}, and was read as the bass line", "track")]
        return part, _of(part, f"{_described(part)}; {others}"), said if other else []
    scores = [_score(part) for part in parts]
    order = sorted(range(len(parts)), key=lambda i: (-scores[i].points, i))
    best, second = order[0], order[1]
    part, score = parts[best], scores[best]
    warnings: list[Remark] = []
    other = _other_instrument(part)
    if score.points < _WEAK:
        what = f", {other}," if other else ""
        told = f"no track looks like a bass; {part}{what} was read. --track chooses another"
        warnings.append(_of(part, told, "track"))
    elif other:
        told = f"{part} is {other}, and was read as the bass line. --track chooses another"
        warnings.append(_of(part, told, "track"))
    elif score.points - scores[second].points < _CLOSE:
        told = f"{parts[second]} may be the bass as well; --track chooses another"
        warnings.append(_of(parts[second], told, "track"))
    why = f", chosen by its {_joined(score.reasons)}" if score.reasons else ""
    return part, _of(part, f"{_described(part)}{why}; {others}"), warnings


def _of(part: Part, text: str, doubt: DoubtKind | None = None) -> Remark:
    """What is said of a part, whose name is its file's."""
    return Remark(text, doubt, (part.name,) if part.name else ())


def _other_instrument(part: Part) -> str:
    """What the part is by its program, where that is no bass and its name does not object; or "".

    Program 0, a piano, is also what files say that say nothing: a low single line is not called so.
    """
    if part.program is None or part.program in BASS_PROGRAMS or names_a_bass(part.name):
        return ""
    low = middle_pitch(part.pitches) < _LOW_MEDIAN
    if part.program == 0 and low and _single_voiced(part) >= _SINGLE_SHARE:
        return ""
    return f"{instrument_of(part.program)} by its program ({part.program + 1})"


def middle_pitch(pitches: Sequence[int]) -> int:
    """The median of pitches, the lower one of two."""
    return sorted(pitches)[(len(pitches) - 1) // 2]


def parts_of(midi: MidiFile) -> list[Part]:
    """The parts that hold notes, in the order of the file."""
    parts: list[Part] = []
    for track in midi.tracks:
        if track.onsets:
            parts.extend(_split(track, midi))
    return parts


def _split(track: MidiTrack, midi: MidiFile) -> Iterable[Part]:
    by_channel: dict[int, list[int]] = {}
    first = track.keys[0] >> 7
    if any(key >> 7 != first for key in track.keys):
        for index, key in enumerate(track.keys):
            by_channel.setdefault(key >> 7, []).append(index)
    else:
        by_channel[first] = []  # all of them; nothing is copied
    one_track = midi.format == 0 or len(midi.tracks) == 1
    parts = []
    for channel, indices in sorted(by_channel.items()):
        where = f"track {track.number}"
        if len(by_channel) > 1:
            where = f"channel {channel + 1}" if one_track else f"{where}, channel {channel + 1}"
        name = track.channel_names.get(channel, "")
        if not name and (len(by_channel) == 1 or not one_track):
            name = track.name or track.instrument
        parts.append(
            Part(
                track=track.number,
                channels=(channel,),
                name=name,
                program=track.programs.get(channel),
                label=where,
                onsets=_taken(track.onsets, indices),
                ends=_taken(track.ends, indices),
                pitches=[key & 0x7F for key in _taken(track.keys, indices)],
                velocities=_taken(track.velocities, indices),
                bent=sum(i in track.bent for i in indices) if indices else len(track.bent),
            )
        )
    return _strings_joined(parts) if len(parts) > 1 else parts


def _taken(values: list[int], indices: list[int]) -> list[int]:
    return [values[i] for i in indices] if indices else values


def _strings_joined(parts: list[Part]) -> list[Part]:
    """Join the channels of a string controller: alike in program, low, and one line together."""
    strings = [p for p in parts if not p.drums]
    programs = {p.program for p in strings}
    names = {p.name for p in strings}
    if len(strings) < 2 or len(programs) > 1 or len(names) > 1:
        return parts
    if any(middle_pitch(p.pitches) > _LOW_MEDIAN for p in strings):
        return parts
    rows = sorted(
        row for p in strings for row in zip(p.onsets, p.ends, p.pitches, p.velocities, strict=True)
    )
    onsets, ends, pitches, velocities = (list(column) for column in zip(*rows, strict=True))
    channels = tuple(p.channels[0] for p in strings)
    first = strings[0]
    joined = replace(
        first,
        channels=channels,
        label=f"track {first.track}, channels {_joined([str(c + 1) for c in channels])} together",
        onsets=onsets,
        ends=ends,
        pitches=pitches,
        velocities=velocities,
        bent=sum(p.bent for p in strings),
    )
    if _single_voiced(joined) < _SINGLE_SHARE:
        return parts
    return [joined, *(p for p in parts if p.drums)]


def _score(part: Part) -> _Score:
    points, reasons = 0.0, []
    named = _name_points(part.name)
    points += named
    if named > 0:
        reasons.append("name")
    if part.program in BASS_PROGRAMS:
        points += _PROGRAM
        reasons.append("program")
    elif part.program:  # program 0 is what a file says that says nothing
        points += _OTHER_PROGRAM
    middle = middle_pitch(part.pitches)
    if middle < _LOW_MEDIAN:
        points += _REGISTER
        reasons.append("low register")
    elif middle > _HIGH_MEDIAN:
        points -= _REGISTER
    if _single_voiced(part) >= _SINGLE_SHARE:
        points += _SINGLE
        reasons.append("single voice")
    else:
        points -= _SINGLE
    if len(part.onsets) < _FEW_NOTES:
        points += _FEW
    if part.drums:
        return _Score(points + _DRUMS, ())
    return _Score(points, tuple(reasons))


def _name_points(name: str) -> float:
    bass = names_a_bass(name)
    if bass is None:
        return 0.0
    return _NAME if bass else _OTHER_NAME


def _single_voiced(part: Part) -> float:
    """Share of notes that don't sound together with an earlier one for half their length."""
    together, sounding = 0, -1
    notes = min(len(part.onsets), _SAMPLE)
    for onset, end in zip(part.onsets[:notes], part.ends[:notes], strict=True):
        if min(sounding, end) - onset > (end - onset) / 2:
            together += 1
        sounding = max(sounding, end)
    return 1 - together / notes


def _wanted(parts: Sequence[Part], wanted: str, source: str) -> Part:
    text = wanted.strip()
    number, _, channel = text.partition(":")
    found: list[Part] = []
    if number.isdecimal():
        found = _numbered(parts, int(number), channel)
    if not found and text:
        folded = text.casefold()
        found = [p for p in parts if p.name.casefold() == folded]
        found = found or [p for p in parts if folded in p.name.casefold()]
    if not found:
        raise TakeFault(
            f"no track {wanted!r} that holds notes; there are: {_listed(parts)}",
            source=source,
            names=tuple(p.name for p in parts if p.name),
        )
    # A track of several channels, or a name that several have: the one most like a bass.
    return max(found, key=lambda p: _score(p).points)


def _numbered(parts: Sequence[Part], number: int, channel: str) -> list[Part]:
    if channel:
        if not channel.isdecimal():
            return []
        return [p for p in parts if p.track == number and int(channel) - 1 in p.channels]
    if len({p.track for p in parts}) == 1 and len(parts) > 1:
        return [p for p in parts if number - 1 in p.channels]
    return [p for p in parts if p.track == number]


def _listed(parts: Sequence[Part]) -> str:
    shown = [str(p) for p in parts[:12]]
    if len(parts) > len(shown):
        shown.append(f"and {len(parts) - len(shown)} more")
    return ", ".join(shown)


def _described(part: Part) -> str:
    program = BASS_PROGRAMS.get(part.program) if part.program is not None else None
    if program:
        return f"{part}, program {program}"
    return f"{part}, program {part.program + 1}" if part.program else str(part)


def _others(count: int, midi: MidiFile) -> str:
    what = "channel" if count and midi.format == 0 else "track"
    if count == 0:
        return f"no other {what} holds notes"
    return f"1 other {what} holds notes" if count == 1 else f"{count} other {what}s hold notes"


def _joined(words: Sequence[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
