"""Bars between bar lines, as they stand in a chart file.

``| F7 | Bb7 | F7 | Cm7 F7 |``: chords in a bar share it equally, in whole beats. A slash alone is
a beat mark: a bar written with beat marks has exactly one entry a beat, ``| Am7b5 / / D7b9 |``.
``%`` repeats the bar before it, ``N.C.`` is no chord.

Also read: double bar lines, a missing bar line at either end, line breaks between bars, and
``|: … :|`` played twice (``:|`` alone goes back to the beginning or the last ``:|``). A slash at
the beginning of a bar goes on with the chord before it. Where no line begins or ends with a bar
line, a line break ends a bar. Not read: first and second endings; write those bars out.
In faults, bars are counted as they are written, each section from 1.
"""

from __future__ import annotations

import re
from itertools import pairwise
from typing import TypeAlias

from linecheck.faults import ChartFault
from linecheck.music.chord_symbol import read_chord
from linecheck.terms import STEPS_PER_BEAT, ChartChord, Chord, Meter

BarChords: TypeAlias = tuple[ChartChord, ...]

_SAME = str.maketrans({"│": "|", "┃": "|", "‖": "||", "║": "||", "𝄎": "%"})
MOST_BARS = 2000  # of one section
_BAR_LINE = re.compile(r"(:{0,2})\|+\]?(:{0,2})")
_BEGINS_WITH_BAR_LINE = re.compile(r":{0,2}\|")
_ENDS_WITH_BAR_LINE = re.compile(r"\|\]?:{0,2}$")
# A bracket belongs to the chord before it, also after a blank, and may hold blanks.
_ENTRY = re.compile(r"(?:\([^()]*\)|\S)+(?:\s*\([^()]*\)\S*)*")
_ENDING = re.compile(r"\[?\d\.?")


def read_bars(text: str, meter: Meter) -> tuple[BarChords, ...]:
    """Read the bars of one section.

    Args:
        text: the bars between bar lines, on one line or more.
        meter: the meter of every bar.

    Returns:
        For each bar its chords, which cover its steps without a gap. A chord that is written
        twice in a row within a bar is one chord.

    Raises:
        ChartFault: with bar and beat as its place; the caller adds the file and the section.
    """
    bars: list[BarChords] = []
    written, repeat_from, repeat_opened = 0, 0, False
    pieces = _BAR_LINE.split(_one_line(text))
    for index in range(0, len(pieces), 3):
        entries = _ENTRY.findall(pieces[index])
        at_either_end = index in (0, len(pieces) - 1)
        if entries or not at_either_end:
            written += 1
            bars.append(_read_bar(entries, meter, written, bars))
        closes, opens = pieces[index + 1 : index + 3] or ("", "")
        if closes:
            if len(bars) == repeat_from:
                raise _fault("the repeat sign ':|' has no bars to repeat", max(written, 1))
            bars += bars[repeat_from:]
            repeat_from, repeat_opened = len(bars), False
        if opens:
            if repeat_opened:
                raise _fault("the repeat sign '|:' comes before the last one was closed", written)
            repeat_from, repeat_opened = len(bars), True
        if len(bars) > MOST_BARS:
            raise ChartFault(f"has more than {MOST_BARS} bars; write a form of several sections")
    if repeat_opened:
        raise _fault("the repeat sign '|:' is never closed by ':|'", written)
    if not bars:
        raise ChartFault("has no bars; expected chords between bar lines, such as | F7 | Bb7 |")
    return tuple(bars)


def _one_line(text: str) -> str:
    """The lines joined into one; a break between bars is a bar line if no bar line is there."""
    lines = [line.strip() for line in text.translate(_SAME).splitlines() if line.strip()]
    begins = [bool(_BEGINS_WITH_BAR_LINE.match(line)) for line in lines]
    ends = [bool(_ENDS_WITH_BAR_LINE.search(line)) for line in lines]
    if not any(begins) and not any(ends):
        return "|".join(lines)
    for before, after, line in zip(ends, begins[1:], lines[1:], strict=False):
        if not before and not after:
            raise ChartFault(
                f"the line {_short(line)} follows a line break within a bar; put a bar line at "
                "the end of the line before it, or keep the bar on one line"
            )
    return "".join(lines)


def _read_bar(entries: list[str], meter: Meter, number: int, before: list[BarChords]) -> BarChords:
    if not entries:
        raise _fault("the bar is empty; expected chords, % or N.C.", number)
    if "%" in entries:
        if len(entries) > 1:
            raise _fault("% stands with other entries; it repeats a whole bar alone", number)
        if not before:
            raise _fault(
                "% repeats the bar before it, and this is the first of the section", number
            )
        return before[-1]
    beats = _beats_of(entries, meter, number)
    found: list[tuple[int, Chord]] = []
    for index, (beat, entry) in enumerate(zip(beats, entries, strict=True)):
        if entry != "/":
            chord = _read_entry(entry, number, beat)
        elif index == 0 and before:
            chord = before[-1][-1].chord
        elif index == 0:
            raise _fault("a slash goes on with the chord before it, and there is none", number, 1)
        if not found or found[-1][1].symbol != chord.symbol:
            found.append((beat, chord))
    ends = [beat for beat, _ in found[1:]] + [meter.beats + 1]
    return tuple(
        ChartChord(chord, (beat - 1) * STEPS_PER_BEAT, (end - beat) * STEPS_PER_BEAT)
        for (beat, chord), end in zip(found, ends, strict=True)
    )


def _beats_of(entries: list[str], meter: Meter, number: int) -> range:
    """The beat, from 1, on which each entry stands."""
    count, beats = len(entries), meter.beats
    if slashes := next((e for e in entries if len(e) > 1 and not e.strip("/")), None):
        raise _fault(f"{slashes!r} is no chord; a beat mark is a slash alone", number)
    for before, entry in pairwise(entries):
        if "/" in (before, entry) or not any(sign.isalnum() for sign in entry):
            continue
        if not _is_chord(entry) and _is_chord(before + entry):
            raise _fault(
                f"{entry!r} stands apart from {before!r}, the chord that it seems to belong to; "
                f"nearest reading {before + _symbol(entry)!r}",
                number,
            )
    if ending := next((e for e in entries if _ENDING.fullmatch(e)), None):
        raise _fault(f"{ending!r} looks like an ending; write the bars out instead", number)
    if "/" in entries:
        if count != beats:
            raise _fault(
                f"{count} entries in {beats} beats; a bar with beat marks has exactly one entry "
                f"a beat, {beats} in all",
                number,
            )
    elif count > beats:
        raise _fault(
            f"{count} chords in {beats} beats; a beat has one chord at most, and none is left for "
            f"{_symbol(entries[beats])!r}",
            number,
        )
    elif beats % count:
        marked = [*entries[:1], *["/"] * (beats - count), *entries[1:]]
        raise _fault(
            f"{count} chords do not share {beats} beats equally; say where each begins with beat "
            f"marks, one entry a beat, such as | {' '.join(marked)} |",
            number,
        )
    return range(1, beats + 1, beats // count)


def _read_entry(entry: str, number: int, beat: int) -> Chord:
    try:
        return read_chord(_symbol(entry))
    except ChartFault as fault:
        fault.place = (f"bar {number}", f"beat {beat}")
        if not any(sign.isalnum() for sign in entry):
            fault.problem += "; a beat mark is a slash alone"
        raise


def _symbol(entry: str) -> str:
    """The entry without the blanks before and in its brackets."""
    return re.sub(r"\s*\(\s*", "(", entry)


def _is_chord(entry: str) -> bool:
    try:
        read_chord(_symbol(entry))
    except ChartFault:
        return False
    return True


def _fault(problem: str, number: int, beat: int | None = None) -> ChartFault:
    place = (f"bar {number}",) if beat is None else (f"bar {number}", f"beat {beat}")
    return ChartFault(problem, place=place)


def _short(line: str) -> str:
    return repr(line if len(line) <= 30 else f"{line[:30]}…")
