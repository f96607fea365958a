"""Bass lines as text: how the lines of the demo takes are written down, and what they become.

A line is notes between bar lines; pitches are names as they sound (E1 is the lowest string).

    F1          a note of one beat            F1*2    of two beats      F1/2   of half a beat
    r           a rest, with the same lengths (F1)    a ghost
    {F1 A1}     notes of half a beat each     <F1 A1 C2>  three in a beat

A note may be longer than what is left of its bar; the next bar then holds less.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

PLACES = Path(__file__).parent.parent
CHARTS = PLACES / "demo_tunes" / "charts"
LINES = PLACES / "tests" / "demo_lines"
LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
TOKEN = re.compile(
    r"(?P<open>\()?(?P<name>[A-G](?:#|b)?-?\d|r)(?(open)\))"
    r"(?:\*(?P<times>[\d.]+)|/(?P<part>\d+))?"
)


@dataclass(frozen=True)
class TextNote:
    """A note: where it begins and how long it lasts, in beats, its name and its pitch."""

    begin: Fraction
    beats: Fraction
    name: str
    pitch: int
    ghost: bool


@dataclass(frozen=True)
class TextLine:
    """A whole line: its notes, and where every bar begins (with the end as the last entry)."""

    notes: tuple[TextNote, ...]
    bars: tuple[Fraction, ...]
    meters: tuple[tuple[int, int], ...]
    pickup: tuple[TextNote, ...]
    facts: dict


def midi_pitch(name: str) -> int:
    """``midi_pitch("E1") == 28``."""
    shift = name.count("#") - name[1:].count("b")
    return 12 * (int(name.lstrip("ABCDEFG").lstrip("#b")) + 1) + LETTERS[name[0]] + shift


def read_line(name: str) -> TextLine:
    """The line in ``demo_lines/NAME.toml``, laid over its chart bar by bar."""
    facts = tomllib.loads((LINES / f"{name}.toml").read_text("utf-8"))
    meters = chart_meters(facts["chart"])
    text = " ".join(facts["lines"][block] for block in facts["order"])
    notes: list[TextNote] = []
    bars = [Fraction(0)]
    used = []
    now = Fraction(0)
    for written in text.split("|")[:-1]:
        meter = next(meters, None) or meters_after(used)
        used.append(meter)
        for note, beats in parse_bar(written):
            if note is not None:
                notes.append(TextNote(now, beats, note[0], midi_pitch(note[0]), note[1]))
            now += beats
        bars.append(bars[-1] + meter[0])
        if now < bars[-1] or now >= bars[-1] + meter[0]:
            raise ValueError(f"{name}, bar {len(used)}: {written!r} ends at {now}, not {bars[-1]}")
    pickup = pickup_notes(facts.get("pickup", ""))
    return TextLine(tuple(notes), tuple(bars), tuple(used), pickup, facts)


def parse_bar(written: str):
    """Pairs of (name, ghost) or None for a rest, and the length in beats."""
    rest = written.strip()
    share = Fraction(1)
    while rest:
        if rest[0] in "{<":
            share = Fraction(1, 2) if rest[0] == "{" else Fraction(1, 3)
            rest = rest[1:].lstrip()
        if not (found := TOKEN.match(rest)):
            raise ValueError(f"{rest!r} is no note")
        beats = share * Fraction(found["times"] or 1) / int(found["part"] or 1)
        yield (None if found["name"] == "r" else (found["name"], bool(found["open"]))), beats
        rest = rest[found.end() :].lstrip()
        if rest[:1] in ("}", ">"):
            share = Fraction(1)
            rest = rest[1:].lstrip()


def pickup_notes(text: str) -> tuple[TextNote, ...]:
    parsed = list(parse_bar(text))
    begin = -sum((beats for _, beats in parsed), start=Fraction(0))
    notes = []
    for note, beats in parsed:
        if note is not None:
            notes.append(TextNote(begin, beats, note[0], midi_pitch(note[0]), note[1]))
        begin += beats
    return tuple(notes)


def chart_meters(chart: str):
    """The meter of every bar as they are played: intro, then the form again and again.

    It is told how long the line is by being left; the ending of a chart has the chart's meter.
    """
    data = tomllib.loads((CHARTS / f"{chart}.toml").read_text("utf-8"))

    def bars_of(name):
        section = data["sections"][name]
        text = section if isinstance(section, str) else section["bars"]
        meter = data["meter"] if isinstance(section, str) else section.get("meter", data["meter"])
        count = sum(bool(bar.strip()) for bar in re.sub(r"#.*", "", text).split("|"))
        beats, unit = meter.split("/")
        return [(int(beats), int(unit))] * count

    for name in data.get("intro", []):
        yield from bars_of(name)
    while True:
        for name in data["form"]:
            yield from bars_of(name)


def meters_after(used):
    return used[-1]


def repeats(line: TextLine) -> list[tuple[int, int]]:
    """Pairs of bars of one line that are the same note for note (for looking a line over)."""
    contents: dict[tuple, int] = {}
    same = []
    for number, (begin, end) in enumerate(pairwise(line.bars), start=1):
        bar = tuple((n.begin - begin, n.pitch) for n in line.notes if begin <= n.begin < end)
        if bar in contents:
            same.append((contents[bar], number))
        contents.setdefault(bar, number)
    return same
