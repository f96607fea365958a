"""The bars that the take's own file counts, and a beat one that the user gives by them.

A MIDI file counts its bars from its start by its meters; a written line counts a pickup bar as
bar 0. Positions are in quarter notes from the start of the file.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from linecheck.faults import OptionFault
from linecheck.music.form import beat_quarters
from linecheck.terms import FileMeter, Meter, Take

_WHERE = re.compile(
    r"(?:bar\s+)?(?P<bar>\d+)(?:(?::|\s+beat\s+)(?P<beat>\d+(?:\.\d+)?))?|(?P<s>-?\d+(?:\.\d+)?)\s*s"
)


@dataclass(frozen=True, slots=True)
class GivenBeatOne:
    """Where the user says that chorus 1 begins: by bar and beat of the file, or in seconds."""

    bar: int | None
    beat: float
    seconds: float | None


def read_given_beat_one(text: str) -> GivenBeatOne:
    """Read ``"3"`` (bar 3), ``"3:2"`` (bar 3, beat 2) or ``"4.2s"`` (seconds into the file).

    Seconds below 0 lie before the file: such a take begins in the middle of the form.

    Raises:
        OptionFault: for anything else.
    """
    match = _WHERE.fullmatch(text.strip().lower())
    if match is None:
        raise OptionFault(
            f"first beat one {text!r}: expected a bar of the file (3), a bar and a beat (3:2) "
            "or seconds (4.2s)"
        )
    if match["s"] is not None:
        return GivenBeatOne(None, 1.0, float(match["s"]))
    beat = float(match["beat"] or 1)
    if beat < 1:
        raise OptionFault(f"first beat one {text!r}: beats are counted from 1")
    return GivenBeatOne(int(match["bar"]), beat, None)


def bar_lines(take: Take, until_quarters: float) -> tuple[list[float], list[Meter]]:
    """Bar lines of the file from its first full bar to the one after ``until_quarters``.

    Returns:
        Positions in quarter notes, ascending, and the meter of the bar that begins at each.
    """
    meters = take.meters or (FileMeter(0.0, Meter(4, 4)),)
    lines: list[float] = []
    kinds: list[Meter] = []
    at, index = take.pickup_quarters, 0
    while True:
        while index + 1 < len(meters) and meters[index + 1].quarters <= at + 1e-6:
            index += 1
        meter = meters[index].meter
        lines.append(at)
        kinds.append(meter)
        if at > until_quarters:
            return lines, kinds
        end = at + meter.beats * beat_quarters(meter)
        if index + 1 < len(meters):
            # A meter change always opens a bar, also where the bar before it is cut short.
            end = min(end, meters[index + 1].quarters)
        at = end


def quarters_of_given(given: GivenBeatOne, take: Take, last_quarters: float) -> float:
    """Position of a bar and beat of the file in quarter notes.

    Raises:
        OptionFault: the file has no such bar, or the bar no such beat.
    """
    lines, kinds = bar_lines(take, last_quarters)
    count = len(lines) - 1
    bar = given.bar if given.bar is not None else 1
    if not 1 <= bar <= count:
        raise OptionFault(f"first beat one: the file has no bar {bar}; it has bars 1 to {count}")
    meter = kinds[bar - 1]
    if given.beat >= meter.beats + 1:
        raise OptionFault(
            f"first beat one: bar {bar} of the file has {meter.beats} beats, read beat {given.beat:g}"
        )
    return lines[bar - 1] + (given.beat - 1) * beat_quarters(meter)
