"""A Standard MIDI File as plain lists: the notes, names, tempi and meters of every track.

Rules: *Standard MIDI Files 1.0* (RP-001, MIDI Association) for chunks, variable-length numbers,
running status, meta events and the time division; *RP-029* for the file wrapped in RIFF.
Units: ticks, as the file counts them. Pitches are MIDI numbers, channels 0 to 15.

What the standard forbids but files in use do is read: a status that runs on over a meta event,
a note struck again before it was released, a missing End of Track, a chunk of an unknown kind,
and a track length that is too large where the track's own end is there.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from linecheck.faults import TakeFault
from linecheck.terms import Meter

PLAIN_BEND = 0.5  # half steps; what vibrato and a scoop stay below
_BEND_RANGE = 2.0  # half steps either way, where the file sets no other (General MIDI 1)
_CENTRE = 0x2000  # of a pitch bend
NOTES_LIMIT = 1_000_000  # 2,000 choruses of 32 bars in eighths are half of it

# Data bytes after a channel status, by its upper half. Notes are read apart.
_DATA_BYTES = {0xA0: 2, 0xB0: 2, 0xC0: 1, 0xD0: 1, 0xE0: 2}
# Data bytes of the system messages that have no place in a file but are found there.
_SYSTEM_BYTES = {0xF1: 1, 0xF2: 2, 0xF3: 1, 0xF6: 0, 0xF8: 0, 0xFA: 0, 0xFB: 0, 0xFC: 0, 0xFE: 0}
# Frames a second by the upper byte of an SMPTE division; 29 stands for 29.97 (drop frame).
_FRAMES_PER_SECOND = {-24: 24.0, -25: 25.0, -29: 30_000 / 1_001, -30: 30.0}
_LONGEST_UNIT = 6  # a 64th note: meters in smaller units are noise


@dataclass(slots=True)
class MidiTrack:
    """One track: note i is struck at ``onsets[i]``, released at ``ends[i]`` (in ticks).

    ``keys[i]`` is the channel times 128 plus the pitch. ``programs`` has the program (from 0)
    that each channel was set to before its first note, ``channel_names`` the names that were
    given to one channel. ``unended`` counts the notes that were never released; they end with
    the track. ``unread_meters`` counts the meters that make no sense. ``bent`` are the notes that
    a pitch bend moves by more than ``PLAIN_BEND`` half steps while they are held.
    """

    number: int
    name: str = ""
    instrument: str = ""
    programs: dict[int, int] = field(default_factory=dict)
    channel_names: dict[int, str] = field(default_factory=dict)
    onsets: list[int] = field(default_factory=list)
    ends: list[int] = field(default_factory=list)
    keys: list[int] = field(default_factory=list)
    velocities: list[int] = field(default_factory=list)
    tempi: list[tuple[int, int]] = field(default_factory=list)
    meters: list[tuple[int, Meter]] = field(default_factory=list)
    unended: int = 0
    unread_meters: int = 0
    bent: set[int] = field(default_factory=set)


@dataclass(slots=True)
class MidiFile:
    """A file: ``tempi`` of a track are (tick, microseconds a quarter note).

    One of ``ticks_per_quarter`` and ``ticks_per_second`` is None: a file counts either beats or
    clock time (SMPTE).
    """

    format: int
    ticks_per_quarter: int | None
    ticks_per_second: float | None
    tracks: list[MidiTrack]


def read_midi_file(data: bytes, source: str) -> MidiFile:
    """Read the bytes of a Standard MIDI File.

    Args:
        data: the whole file.
        source: its name, for the fault.

    Raises:
        TakeFault: the bytes are no Standard MIDI File, break off, or break the standard's rules.
    """
    data = _unwrapped(data, source)
    if not data.startswith(b"MThd"):
        raise TakeFault("no MIDI file: one begins with MThd, and this does not", source=source)
    if len(data) < 14:
        raise TakeFault("the file is cut off within its header", source=source)
    length = int.from_bytes(data[4:8], "big")
    file_format, count = int.from_bytes(data[8:10], "big"), int.from_bytes(data[10:12], "big")
    if length < 6 or file_format > 2:
        raise TakeFault(
            f"a header of {length} bytes and format {file_format}; expected 6 bytes and "
            "format 0, 1 or 2: the file is damaged",
            source=source,
        )
    ticks_per_quarter, ticks_per_second = _division(data[12:14], source)
    midi = MidiFile(file_format, ticks_per_quarter, ticks_per_second, [])
    _read_tracks(data, 8 + length, count, midi, source)
    return midi


def _unwrapped(data: bytes, source: str) -> bytes:
    """The file within a RIFF wrapper (``RMID``); other data as it is."""
    if data[:4] != b"RIFF" or data[8:12] != b"RMID":
        return data
    at = 12
    while at + 8 <= len(data):
        size = int.from_bytes(data[at + 4 : at + 8], "little")
        if data[at : at + 4] == b"data":
            return data[at + 8 : at + 8 + size]
        at += 8 + size + size % 2
    raise TakeFault("a RIFF file that holds no MIDI data: it is cut off or damaged", source=source)


def _division(field_bytes: bytes, source: str) -> tuple[int | None, float | None]:
    """Ticks per quarter note, or ticks per second."""
    division = int.from_bytes(field_bytes, "big")
    if division & 0x8000 == 0:
        if division == 0:
            raise TakeFault(
                "a time division of 0 ticks a quarter note; expected 1 or more", source=source
            )
        return division, None
    frames = _FRAMES_PER_SECOND.get((division >> 8) - 256)
    ticks = division & 0xFF
    if frames is None or ticks == 0:
        raise TakeFault(
            f"a time division of {256 - (division >> 8)} frames of {ticks} ticks; "
            "expected 24, 25, 29 or 30 frames of 1 tick or more",
            source=source,
        )
    return None, frames * ticks


def _read_tracks(data: bytes, at: int, count: int, midi: MidiFile, source: str) -> None:
    notes = 0
    while len(midi.tracks) < count:
        if at + 8 > len(data):
            raise TakeFault(
                f"the file is cut off: its header says {count} tracks, "
                f"{len(midi.tracks)} are whole; export or copy it again",
                source=source,
            )
        kind, size = data[at : at + 4], int.from_bytes(data[at + 4 : at + 8], "big")
        at += 8
        if kind != b"MTrk":
            if not all(0x20 <= byte < 0x7F for byte in kind):
                raise TakeFault(
                    "a track was expected (MTrk), and there is none: the file is damaged",
                    source=source,
                    place=(f"byte {at - 8}",),
                )
            at += size  # a chunk of another kind is to be ignored
            continue
        track = MidiTrack(len(midi.tracks) + 1)
        midi.tracks.append(track)
        stopped = _TrackReader(data, track, source).read(at, at + size)
        at = at + size if at + size <= len(data) else stopped
        notes += len(track.onsets)
        if notes > NOTES_LIMIT:
            raise TakeFault(f"more than {NOTES_LIMIT:,} notes; no take is that long", source=source)


class _TrackReader:
    """Reads the events of one track."""

    def __init__(self, data: bytes, track: MidiTrack, source: str) -> None:
        self.data = data
        self.track = track
        self.source = source
        self.newest: dict[int, int] = {}  # key: index of its note that was struck last
        self.overlaps: dict[int, int] = {}  # key: releases that are still owed to earlier notes
        self.sounded = 0  # a bit for each channel that had a note
        self.prefix: int | None = None  # the channel that names belong to
        self.bent = 0  # a bit for each channel that is bent by more than PLAIN_BEND
        self.parameter: dict[tuple[int, int], int] = {}  # (channel, controller): its last value

    def fault(self, at: int, problem: str) -> TakeFault:
        place = (f"track {self.track.number}", f"byte {at}")
        return TakeFault(problem, source=self.source, place=place)

    def cut_off(self) -> TakeFault:
        return TakeFault(
            "the file is cut off: the track has no end; export or copy it again",
            source=self.source,
            place=(f"track {self.track.number}",),
        )

    def read(self, at: int, end: int) -> int:
        """Read from byte ``at`` to ``end`` or to the End of Track; the byte after it."""
        try:
            at, tick, ended = self._events(at, min(end, len(self.data)))
        except IndexError:
            raise self.cut_off() from None
        if at > len(self.data) or (end > len(self.data) and not ended):
            raise self.cut_off()
        if at > end:
            raise self.fault(end, "an event runs over the end of its track: the file is damaged")
        track = self.track
        if -1 in track.ends:
            track.unended = track.ends.count(-1)
            track.ends = [tick if e < 0 else e for e in track.ends]
        return at

    def _events(self, at: int, end: int) -> tuple[int, int, bool]:  # noqa: C901, PLR0912
        # One loop without calls for what is frequent: it is where the time of reading goes.
        data, strike, release = self.data, self._strike, self._release
        tick = status = 0
        while at < end:
            delta = data[at]
            at += 1
            if delta > 0x7F:
                delta, at = self._number(at - 1)
            tick += delta
            event = data[at]
            if event > 0x7F:
                at += 1
                if event < 0xF0:
                    status = event
            else:
                event = status  # running status
            kind = event & 0xF0
            if kind in {0x80, 0x90}:
                pitch, velocity = data[at], data[at + 1]
                if (pitch | velocity) > 0x7F:
                    raise self.fault(at, "a note's data byte is over 127: the file is damaged")
                at += 2
                if kind == 0x90 and velocity:
                    strike(tick, event, pitch, velocity)
                else:
                    release(tick, event, pitch)
            elif kind == 0xF0:
                if event == 0xFF and data[at] == 0x2F:
                    length, at = self._number(at + 1)
                    return at + length, tick, True
                at = self._system(at, event, tick)
            elif kind == 0:
                raise self.fault(at, "an event without a status: the file is damaged")
            else:
                at = self._channel(at, event)
        return at, tick, False

    def _strike(self, tick: int, event: int, pitch: int, velocity: int) -> None:
        track = self.track
        key = (event & 0x0F) << 7 | pitch
        index = len(track.onsets)
        earlier = self.newest.get(key)
        if earlier is not None and track.ends[earlier] < 0:
            track.ends[earlier] = tick
            self.overlaps[key] = self.overlaps.get(key, 0) + 1
        self.newest[key] = index
        self.sounded |= 1 << (event & 0x0F)
        track.onsets.append(tick)
        track.ends.append(-1)
        track.keys.append(key)
        track.velocities.append(velocity)
        if self.bent >> (event & 0x0F) & 1:
            track.bent.add(index)

    def _release(self, tick: int, event: int, pitch: int) -> None:
        key = (event & 0x0F) << 7 | pitch
        index = self.newest.get(key)
        if index is None:
            return
        ends = self.track.ends
        if ends[index] < 0:
            ends[index] = tick
        elif self.overlaps.get(key):
            # The release before belonged to a note that this one had struck over.
            ends[index] = tick
            self.overlaps[key] -= 1

    def _number(self, at: int) -> tuple[int, int]:
        """A variable-length number at byte ``at``, and the byte after it."""
        value = 0
        for index in range(at, at + 4):
            byte = self.data[index]
            value = value << 7 | byte & 0x7F
            if byte < 0x80:
                return value, index + 1
        raise self.fault(at, "a number of more than four bytes: the file is damaged")

    def _channel(self, at: int, event: int) -> int:
        """Pass over a channel message that is no note; programs and bends are kept in mind."""
        kind, channel = event & 0xF0, event & 0x0F
        after = at + _DATA_BYTES[kind]
        if any(byte > 0x7F for byte in self.data[at:after]):
            raise self.fault(at, "a data byte is over 127: the file is damaged")
        if kind == 0xC0 and not self.sounded >> channel & 1:
            self.track.programs[channel] = self.data[at]
        elif kind == 0xB0:
            self._controller(channel, self.data[at], self.data[at + 1])
        elif kind == 0xE0:
            self._bend(channel, self.data[at] | self.data[at + 1] << 7)
        return after

    def _controller(self, channel: int, number: int, value: int) -> None:
        """Note a value of the bend's range: registered parameter 0, which 100 and 101 choose."""
        if number in (98, 99):  # another parameter is chosen
            self.parameter[channel, 100] = self.parameter[channel, 101] = 0x7F
        elif number in (100, 101) or (number in (6, 38) and self._sets_range(channel)):
            self.parameter[channel, number] = value

    def _sets_range(self, channel: int) -> bool:
        chosen = (self.parameter.get((channel, 101)), self.parameter.get((channel, 100)))
        return chosen == (0, 0)

    def _bend(self, channel: int, value: int) -> None:
        cents = self.parameter.get((channel, 38), 0)
        reach = self.parameter.get((channel, 6), _BEND_RANGE) + cents / 100
        bit = 1 << channel
        if abs(value - _CENTRE) / _CENTRE * reach <= PLAIN_BEND:
            self.bent &= ~bit
        elif not self.bent & bit:
            self.bent |= bit
            track = self.track
            held = (i for key, i in self.newest.items() if key >> 7 == channel)
            track.bent.update(i for i in held if track.ends[i] < 0)

    def _system(self, at: int, event: int, tick: int) -> int:
        """Read a meta event, or pass over a system message."""
        if event == 0xFF:
            kind = self.data[at]
            length, at = self._number(at + 1)
            self._meta(at, kind, self.data[at : at + length], tick)
            return at + length
        if event in {0xF0, 0xF7}:
            length, at = self._number(at)
            return at + length
        if event not in _SYSTEM_BYTES:
            raise self.fault(at - 1, f"an unknown status 0x{event:02X}: the file is damaged")
        return at + _SYSTEM_BYTES[event]

    def _meta(self, at: int, kind: int, content: bytes, tick: int) -> None:
        track = self.track
        if kind == 0x51:
            tempo = int.from_bytes(content[:3], "big")
            if len(content) < 3 or tempo == 0:
                raise self.fault(
                    at, f"a tempo of {tempo} microseconds a quarter note; expected 1 or more"
                )
            track.tempi.append((tick, tempo))
        elif kind == 0x58:
            if len(content) < 2 or content[0] == 0 or content[1] > _LONGEST_UNIT:
                track.unread_meters += 1
            else:
                track.meters.append((tick, Meter(content[0], 1 << content[1])))
        elif kind == 0x20 and len(content) == 1 and content[0] < 16:
            self.prefix = content[0]
        elif kind in {0x03, 0x04}:
            self._name(kind, _text(content))

    def _name(self, kind: int, text: str) -> None:
        track = self.track
        if self.prefix is not None:
            self.track.channel_names.setdefault(self.prefix, text)
            self.prefix = None
        elif kind == 0x03:
            track.name = track.name or text
        else:
            track.instrument = track.instrument or text


def _text(content: bytes) -> str:
    """A name as text: UTF-8, else Japanese by its kana, else Latin; printable and short."""
    content = content[:200]
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError:
        text = content.decode("cp932", errors="ignore")
        if not any("ァ" <= c <= "ー" for c in text):
            text = content.decode("cp1252", errors="replace")
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())[:60]
