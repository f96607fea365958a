"""A score with chord symbols as a chart: one chorus is the tune played out once.

Rehearsal marks are the sections; where there are none, double bars and repeat signs part the
tune, and stretches over the same changes (but for the last two bars, which endings change) get
the same letter. A pickup is no part of the chorus. Stretches called Intro before the form and
Ending after it are played once. A bar without a chord symbol goes on with the chord before.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from linecheck.music.chord_symbol import read_chord
from linecheck.music.keys import key_of_signature, signature
from linecheck.read.played_bars import PlayedBar, contents, played_bars
from linecheck.terms import STEPS_PER_BEAT, Bar, Chart, ChartChord, Key, Remark, Section

if TYPE_CHECKING:
    from fractions import Fraction

    from linecheck.read.fault_place import Where
    from linecheck.read.score import Measure, Part, Score
    from linecheck.terms import Chord, Meter

MOST_BARS = 4_000  # in one chorus
INTRO = re.compile(r"intro(duction)?\b", re.IGNORECASE)
ENDING = re.compile(r"(ending|outro|coda)\b", re.IGNORECASE)
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
TWICE_THROUGH = Remark(
    "the whole tune stands between repeat signs, so one chorus is twice through it; "
    "take the signs off where a chorus is once through"
)
SIMILAR_BUT = 2  # bars at the end in which two stretches of one letter may differ
SHORTEST_STRETCH = 4  # bars; a shorter one between double bars is no section


@dataclass(slots=True)
class _ChartBar:
    """A bar of the chart in the making."""

    played: PlayedBar
    chords: tuple[ChartChord, ...]
    section: str = ""
    opens: bool = False


def chart_of_score(score: Score, where: Where) -> Chart:
    """The chart that a score's chord symbols give.

    Raises:
        InputFault: no chord symbols, no bars, or a chord that stands outside its bar.
    """
    part = max(score.parts, key=lambda p: sum(len(m.chords) for m in p.measures))
    if not any(measure.chords for measure in part.measures):
        raise where.wrong("it holds no chord symbols, and a chart needs them")
    played = played_bars(score, part, where)
    if len(played) > MOST_BARS:
        raise where.wrong(f"one chorus has {len(played)} bars, and at most {MOST_BARS} are read")
    bars = _with_chords(score, part, played, where)
    if not bars:
        raise where.wrong("it holds a pickup but no bar")
    if _opens_with_pickup(score, bars):
        number = score.frames[bars[0].played.pieces[0][0]].number
        told = f"measure {number}: begins with a rest and has no chord, taken as a pickup"
        score.warn(told, number)
        bars = bars[1:]
    _name_sections(score, bars)
    return _chart(score, bars, where)


# ---- chords ----------------------------------------------------------------------------------


def _with_chords(
    score: Score, part: Part, played: list[PlayedBar], where: Where
) -> list[_ChartBar]:
    measures = contents(part)
    now: Chord = read_chord("N.C.")
    bars = []
    for bar in played:
        marks = _chord_steps(score, bar, measures, where)
        if bar.pickup:
            now = next(reversed(marks.values()), now)
            continue
        if 0 not in marks:
            marks = {0: now, **marks}
        starts = sorted(marks)
        ends = [*starts[1:], bar.meter.beats * STEPS_PER_BEAT]
        chords = tuple(
            ChartChord(marks[start], start, end - start)
            for start, end in zip(starts, ends, strict=True)
        )
        now = chords[-1].chord
        bars.append(_ChartBar(bar, chords))
    return bars


def _opens_with_pickup(score: Score, bars: list[_ChartBar]) -> bool:
    """Whether the first bar is a pickup that is filled up with rests before it."""
    if len(bars) < 2 or bars[0].chords[0].chord.root is not None or len(bars[0].chords) > 1:
        return False
    (index, _), *_ = bars[0].played.pieces
    if any(part.measures[index].chords for part in score.parts):
        return False  # N.C. is written there
    onsets = [note.at for part in score.parts for note in part.measures[index].notes]
    first = bars[1].chords[0]
    return bool(onsets) and min(onsets) >= 1 and first.chord.root is not None


def _chord_steps(
    score: Score, bar: PlayedBar, measures: list[Measure], where: Where
) -> dict[int, Chord]:
    """Step within the bar → the chord that begins there, in order."""
    found: dict[int, Chord] = {}
    for index, start in bar.pieces:
        for at, chord in sorted(measures[index].chords, key=lambda pair: pair[0]):
            step = _step(start + at, bar.meter)
            inside = where.at(f"measure {score.frames[index].number}")
            if step >= bar.meter.beats * STEPS_PER_BEAT:
                raise inside.wrong(f"the chord {chord.symbol} stands beyond the end of its bar")
            if step in found and found[step].symbol != chord.symbol:
                score.warn(
                    f"measure {score.frames[index].number}: {found[step].symbol} and "
                    f"{chord.symbol} stand at one place; {chord.symbol} is taken",
                    score.frames[index].number,
                )
            found[step] = chord
    return found


def _step(quarters: Fraction, meter: Meter) -> int:
    return round(quarters * meter.unit / 4 * STEPS_PER_BEAT)


# ---- sections --------------------------------------------------------------------------------


def _name_sections(score: Score, bars: list[_ChartBar]) -> None:
    if any(frame.mark for frame in score.frames):
        _by_marks(score, bars)
    else:
        _by_double_bars(score, bars)


def _by_marks(score: Score, bars: list[_ChartBar]) -> None:
    names: list[str] = []  # by frame: the mark in force
    marks = {frame.mark for frame in score.frames if frame.mark}
    unmarked = _unmarked_name(marks)
    for frame in score.frames:
        names.append(frame.mark or (names[-1] if names else unmarked))
    for n, bar in enumerate(bars):
        first = bar.played.pieces[0][0]
        bar.section = names[first]
        bar.opens = (
            n == 0
            or score.frames[first].mark is not None
            or _opened_before(score, bars[n - 1], bar)
            or bar.section != bars[n - 1].section
        )


def _opened_before(score: Score, before: _ChartBar, bar: _ChartBar) -> bool:
    """Whether a repeat led here, or led (or a mark stands) at the pickup half of the bar before."""
    inside = before.played.pieces[1:]
    return (
        bar.played.turned_back
        or before.played.turned_inside
        or any(score.frames[index].mark for index, _ in inside)
    )


def _unmarked_name(marks: set[str]) -> str:
    """Name for the bars before the first mark."""
    if all(mark.isdecimal() for mark in marks):
        return "1"
    return "Intro" if "A" in marks else "A"


def _by_double_bars(score: Score, bars: list[_ChartBar]) -> None:
    stretches: list[list[_ChartBar]] = []
    for n, bar in enumerate(bars):
        if n == 0 or _parted(score, bars[n - 1], bar):
            stretches.append([])
        stretches[-1].append(bar)
    if any(len(stretch) < SHORTEST_STRETCH for stretch in stretches) and len(stretches) > 1:
        stretches = _merge_short(stretches)
    letters: list[list[_ChartBar]] = []
    for stretch in stretches:
        known = next((n for n, other in enumerate(letters) if _alike(stretch, other)), None)
        if known is None:
            known = len(letters)
            letters.append(stretch)
        for bar in stretch:
            bar.section = LETTERS[known] if known < 26 else f"Z{known - 25}"
        stretch[0].opens = True


def _parted(score: Score, before: _ChartBar, after: _ChartBar) -> bool:
    """Whether a repeat led on to ``after``, or a double bar or a repeat sign stands between."""
    if _opened_before(score, before, after):
        return True
    opening = score.frames[after.played.pieces[0][0]].flow.opens_repeat
    return opening or any(
        score.frames[index].double_bar or score.frames[index].flow.closes_repeat
        for index, _ in before.played.pieces
    )


def _merge_short(stretches: list[list[_ChartBar]]) -> list[list[_ChartBar]]:
    merged: list[list[_ChartBar]] = []
    for stretch in stretches:
        if merged and min(len(stretch), len(merged[-1])) < SHORTEST_STRETCH:
            merged[-1].extend(stretch)
        else:
            merged.append(stretch)
    return merged


def _alike(one: list[_ChartBar], two: list[_ChartBar]) -> bool:
    if len(one) != len(two):
        return False
    compared = max(len(one) - SIMILAR_BUT, 1)
    return all(
        [(c.chord.symbol, c.step) for c in a.chords] == [(c.chord.symbol, c.step) for c in b.chords]
        for a, b in zip(one[:compared], two[:compared], strict=True)
    )


# ---- the chart -------------------------------------------------------------------------------


def _chart(score: Score, bars: list[_ChartBar], where: Where) -> Chart:
    starts = [n for n, bar in enumerate(bars) if bar.opens]
    runs = [bars[a:b] for a, b in zip(starts, [*starts[1:], len(bars)], strict=True)]
    intro: list[list[_ChartBar]] = []
    ending: list[list[_ChartBar]] = []
    while len(runs) > 1 and INTRO.match(runs[0][0].section):
        intro.append(runs.pop(0))
    while len(runs) > 1 and ENDING.match(runs[-1][0].section) and not _has_jump(score):
        ending.insert(0, runs.pop())
    sections, first = [], 1
    for run in runs:
        sections.append(Section(run[0].section, first, len(run)))
        first += len(run)
    chorus = _bars(runs)
    return Chart(
        title=score.title,
        key=_key(score, chorus),
        meter=chorus[0].meter,
        tempo=_tempo(score),
        feel=score.feel,
        form=tuple(section.name for section in sections),
        sections=tuple(sections),
        bars=chorus,
        intro=_bars(intro),
        ending=_bars(ending),
        source=where.source,
        warnings=(*score.warnings, *_notes_on_form(score)),
    )


def _bars(runs: list[list[_ChartBar]]) -> tuple[Bar, ...]:
    bars = [bar for run in runs for bar in run]
    return tuple(
        Bar(number, bar.section, bar.played.meter, bar.chords, bar.opens)
        for number, bar in enumerate(bars, 1)
    )


def _has_jump(score: Score) -> bool:
    return any(f.flow.da_capo or f.flow.dal_segno is not None for f in score.frames)


def _notes_on_form(score: Score) -> list[Remark]:
    flows = [frame.flow for frame in score.frames]
    ends = [n for n, flow in enumerate(flows) if flow.closes_repeat]
    opens = next((n for n, flow in enumerate(flows) if flow.opens_repeat), 0)
    if ends == [len(flows) - 1] and opens <= 1 and not any(flow.ending for flow in flows):
        return [TWICE_THROUGH]
    return []


def _tempo(score: Score) -> float | None:
    return next((tempo for frame in score.frames for _, tempo in frame.tempos), None)


def _key(score: Score, bars: tuple[Bar, ...]) -> Key:
    """The key; where only a signature is given, the last or first chord may show the minor one."""
    key = score.key or Key("C", minor=False)
    if score.mode_given and score.key is not None:
        return key
    minor = key_of_signature(signature(key), minor=True)
    for chord in (bars[-1].chords[-1].chord, bars[0].chords[0].chord):
        if chord.root_name == minor.tonic and any(tone.degree == "b3" for tone in chord.tones):
            return minor
        if chord.root_name == key.tonic:
            return key
    return key
