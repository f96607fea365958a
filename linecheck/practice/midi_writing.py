"""A Standard MIDI File of format 1, written: tracks of events, their delta times, their ends.

Source: Standard MIDI Files 1.0 (MIDI Manufacturers Association). Times are in ticks from the
beginning, channels are counted from 1, tempo in quarter notes a minute. At one tick notes that
stop come before what is struck.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["TICKS", "Events", "midi_bytes"]

TICKS = 480  # of a quarter note
_LAST, _FIRST, _MIDDLE = 2, 0, 1


class Events:
    """The events of one track, in the making."""

    def __init__(self, name: str) -> None:
        self._events: list[tuple[int, int, int, bytes]] = []
        self._put(0, _FIRST, _meta(0x03, name.encode("utf-8")))

    def marker(self, tick: int, text: str) -> None:
        """A marker, as notation and audio programs show it."""
        self._put(tick, _FIRST, _meta(0x06, text.encode("utf-8")))

    def tempo(self, tick: int, quarters_a_minute: float) -> None:
        """From here on this tempo."""
        microseconds = round(60_000_000 / quarters_a_minute)
        self._put(tick, _FIRST, _meta(0x51, microseconds.to_bytes(3, "big")))

    def meter(self, tick: int, beats: int, unit: int) -> None:
        """From here on this meter; its unit is a power of two."""
        self._put(tick, _FIRST, _meta(0x58, bytes((beats, unit.bit_length() - 1, 24, 8))))

    def program(self, channel: int, program: int) -> None:
        """The instrument of a channel, from 1 as General MIDI counts."""
        self._put(0, _FIRST, bytes((0xC0 | channel - 1, program - 1)))

    def note(self, channel: int, pitch: int, velocity: int, start: int, end: int) -> None:
        """One note from tick ``start`` to tick ``end``."""
        self._put(start, _LAST, bytes((0x90 | channel - 1, pitch, velocity)))
        self._put(max(end, start + 1), _MIDDLE, bytes((0x80 | channel - 1, pitch, 0)))

    def _put(self, tick: int, rank: int, event: bytes) -> None:
        self._events.append((tick, rank, len(self._events), event))

    def chunk(self, end: int) -> bytes:
        """The track as a chunk of the file, ended at tick ``end`` or after its last event."""
        body = bytearray()
        at = 0
        for tick, _, _, event in sorted(self._events):
            body += _length(tick - at) + event
            at = tick
        body += _length(max(0, end - at)) + _meta(0x2F, b"")
        return b"MTrk" + len(body).to_bytes(4, "big") + bytes(body)


def midi_bytes(tracks: Iterable[Events], end: int) -> bytes:
    """The whole file: tracks in their order, each ended at tick ``end``."""
    chunks = [track.chunk(end) for track in tracks]
    head = b"MThd" + (6).to_bytes(4, "big")
    sizes = (1, len(chunks), TICKS)
    return b"".join((head, *(size.to_bytes(2, "big") for size in sizes), *chunks))


def _meta(kind: int, content: bytes) -> bytes:
    return bytes((0xFF, kind)) + _length(len(content)) + content


def _length(number: int) -> bytes:
    """A variable-length quantity: seven bits a byte, the highest bit set on all but the last."""
    found = [number & 0x7F]
    while number := number >> 7:
        found.append(number & 0x7F | 0x80)
    return bytes(reversed(found))
