"""The line as a musician writes it: bars of notes and rests with values, ties, tuplets and beams.

Definition: every note stands at its place and sounds until it stops; a written symbol lasts one
plain or dotted value, and what lasts longer is tied. Played notes are written as long as they are
meant: the small gap that every player leaves before the next attack is no rest.

Units: a step is a twelfth of a beat (``terms``); values are 1, 2, 4, 8 … of a whole note. Pitches
are written an octave above their sound, as bass parts are (common practice). Rules of grouping
are common practice: a beam stays within a beat, eighths within half a 4/4 bar or a group of x/8;
an accidental holds to the bar line.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from linecheck.music.form import Form, bar_steps
from linecheck.report.note_values import Ruler
from linecheck.terms import STEPS_PER_BEAT, Audit, Bar, ChartChord, Key, Meter, Note

__all__ = ["NotatedBar", "NotatedChorus", "Symbol", "key_fifths", "notate", "written_pitch"]

# Sharps (+) or flats (−) of a major key by its tonic; a minor key has three more flats.
FIFTHS = {"F": -1, "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5}
SHARP_ORDER = "FCGDAEB"
NAME = re.compile(r"([A-G])(#{0,2}|b{0,2})(-?\d+)")


@dataclass(frozen=True, slots=True)
class Symbol:
    """One written note or rest.

    ``step`` counts from beat one of chorus 1, bar 1; ``steps`` is how long it sounds. ``note`` is
    the index in ``audit.labels.notes``, None for a rest. ``value`` 4 is a quarter; ``accidental``
    is what must be printed ("#", "b", "n", "##", "bb"), None where nothing is. ``tuplet`` and
    ``beam`` number the groups within the bar; ``tuplet_ratio`` is (3, 2) for a triplet.
    """

    step: int
    steps: int
    note: int | None
    value: int
    dots: int
    tied_from: bool = False
    tied_to: bool = False
    accidental: str | None = None
    tuplet: int | None = None
    tuplet_ratio: tuple[int, int] | None = None
    beam: int | None = None


@dataclass(frozen=True, slots=True)
class NotatedBar:
    """A bar as written. ``number`` is None before the form (a pickup)."""

    step: int
    steps: int
    chorus: int
    number: int | None
    section: str | None
    opens_section: bool
    meter: Meter
    chords: tuple[ChartChord, ...]
    symbols: tuple[Symbol, ...]


@dataclass(frozen=True, slots=True)
class NotatedChorus:
    """The bars of one chorus. Chorus 0 leads in, the one after the last holds the ending."""

    number: int
    bars: tuple[NotatedBar, ...]


def key_fifths(key: Key) -> int:
    """Sharps (positive) or flats (negative) of a key signature: ``Bb`` major gives −2."""
    fifths = FIFTHS[key.tonic[0]] + 7 * (key.tonic.count("#") - key.tonic[1:].count("b"))
    if key.minor:
        fifths -= 3
    # Signatures of more than seven (G# major) are written as their enharmonic neighbour.
    return fifths if -7 <= fifths <= 7 else fifths - 12 * (1 if fifths > 0 else -1)


def written_pitch(name: str) -> tuple[str, str, int]:
    """Letter, accidental and written octave of a sounding name: ``Bb1`` gives B, b, 2."""
    match = NAME.fullmatch(name)
    if match is None:
        raise ValueError(f"{name!r} is no pitch name with an octave, such as 'Bb1'")
    return match[1], match[2], int(match[3]) + 1


def notate(audit: Audit) -> tuple[NotatedChorus, ...]:
    """The whole line in bars, chorus by chorus, rests included.

    Args:
        audit: a complete audit; only its chart, line length and notes are read.
    """
    form = Form(audit.chart, audit.line.choruses)
    notes = audit.labels.notes
    spans = _written_spans(notes, literal=audit.take.kind == "written")
    signature = _signature(key_fifths(audit.chart.key))
    choruses: list[NotatedChorus] = []
    bars: list[NotatedBar] = []
    cursor = 0
    for frame in _frames(form, notes, audit):
        first = cursor
        while cursor < len(spans) and spans[cursor][0] < frame.step + frame.steps:
            cursor += 1
        # The note before may still sound over the bar line.
        inside = spans[max(0, first - 1) : cursor]
        symbols = _bar_symbols(frame, inside)
        bar = replace(frame, symbols=_with_accidentals(symbols, notes, signature))
        if bars and bars[-1].chorus != bar.chorus:
            choruses.append(NotatedChorus(bars[-1].chorus, tuple(bars)))
            bars = []
        bars.append(bar)
    if bars:
        choruses.append(NotatedChorus(bars[-1].chorus, tuple(bars)))
    return tuple(choruses)


# ---- the bars to be filled -------------------------------------------------------------------


def _frames(form: Form, notes: tuple[Note, ...], audit: Audit) -> list[NotatedBar]:
    """Empty bars from the first note (or the intro) to the last, in order."""
    chart = audit.chart
    first = min((n.step for n in notes), default=0)
    last = max((n.step for n in notes), default=0)
    frames: list[NotatedBar] = []
    step = -form.intro_steps
    pickup = bar_steps(chart.bars[0].meter)
    while first < step:
        step -= pickup
        frames.insert(
            0,
            NotatedBar(
                step,
                pickup,
                0,
                None,
                None,
                opens_section=False,
                meter=chart.bars[0].meter,
                chords=(),
                symbols=(),
            ),
        )
    if first < 0:
        frames += _stretch(chart.intro, -form.intro_steps, 0)
    for chorus in range(audit.line.choruses):
        frames += _stretch(chart.bars, chorus * form.steps, chorus + 1)
    step = audit.line.choruses * form.steps
    chorus = audit.line.choruses + 1
    after = _stretch(chart.ending, step, chorus)
    while not after or after[-1].step + after[-1].steps <= last:
        step = after[-1].step + after[-1].steps if after else step
        after += _stretch(chart.bars, step, chorus)
    frames += [bar for bar in after if bar.step <= last]
    return frames


def _stretch(bars: tuple[Bar, ...], step: int, chorus: int) -> list[NotatedBar]:
    found = []
    for bar in bars:
        steps = bar_steps(bar.meter)
        found.append(
            NotatedBar(
                step,
                steps,
                chorus,
                bar.number,
                bar.section,
                bar.opens_section,
                bar.meter,
                bar.chords,
                (),
            )
        )
        step += steps
    return found


# ---- how long a note is written --------------------------------------------------------------


def _written_spans(notes: tuple[Note, ...], *, literal: bool) -> list[tuple[int, int, int]]:
    """(step, end, index) of every note as it is to be written, none overlapping."""
    onsets: dict[int, set[int]] = {}
    for note in notes:
        onsets.setdefault(note.step // STEPS_PER_BEAT, set()).add(note.step % STEPS_PER_BEAT)
    kept = [i for i, n in enumerate(notes) if i + 1 == len(notes) or notes[i + 1].step > n.step]
    spans = []
    for place, index in enumerate(kept):
        note = notes[index]
        following = notes[kept[place + 1]].step if place + 1 < len(kept) else None
        end = note.end_step if literal else _meant_end(note, following, onsets)
        if following is not None:
            end = min(end, following)
        spans.append((note.step, max(end, note.step + 1), index))
    return spans


def _meant_end(note: Note, following: int | None, onsets: dict[int, set[int]]) -> int:
    """Where a played note is meant to stop: at the next attack, or on the grid of its beat."""
    length = max(note.end_step - note.step, 1)
    if following is not None:
        room = following - note.step
        gap = following - note.end_step
        if gap < STEPS_PER_BEAT // 2 or length * 3 >= room * (1 if room <= STEPS_PER_BEAT else 2):
            return following
    beat = note.end_step // STEPS_PER_BEAT
    grid = _beat_grid(onsets.get(beat, set()))
    end = beat * STEPS_PER_BEAT + round(note.end_step % STEPS_PER_BEAT / grid) * grid
    while end <= note.step:
        end += grid
    return end


def _beat_grid(offsets: set[int]) -> int:
    """The coarsest division of a beat, in steps, that all these places stand on."""
    for grid in (12, 6, 4, 3, 2):
        if all(offset % grid == 0 for offset in offsets):
            return max(grid, 2) if grid != 12 else 6
    return 1


# ---- a bar into symbols ----------------------------------------------------------------------


def _bar_symbols(frame: NotatedBar, spans: list[tuple[int, int, int]]) -> list[Symbol]:
    start, stop = frame.step, frame.step + frame.steps
    filled: list[tuple[int, int, int | None, bool, bool]] = []
    at = start
    for begin, end, index in spans:
        low, high = max(begin, start), min(end, stop)
        if high <= low:
            continue
        if low > at:
            filled.append((at, low, None, False, False))
        filled.append((low, high, index, begin < start, end > stop))
        at = high
    if at < stop:
        filled.append((at, stop, None, False, False))
    if len(filled) == 1 and filled[0][2] is None:
        return [Symbol(start, frame.steps, None, 1, 0)]
    ruler = Ruler(frame.meter, [edge - start for low, high, *_ in filled for edge in (low, high)])
    symbols: list[Symbol] = []
    for low, high, which, from_before, to_after in filled:
        pieces = ruler.cut(low - start, high - start, rest=which is None)
        for nth, (at, steps, value, dots) in enumerate(pieces):
            tuplet = ruler.tuplet(at)
            symbols.append(
                Symbol(
                    start + at,
                    steps,
                    which,
                    value,
                    dots,
                    tied_from=which is not None and (from_before or nth > 0),
                    tied_to=which is not None and (to_after or nth + 1 < len(pieces)),
                    tuplet=tuplet[0] if tuplet else None,
                    tuplet_ratio=tuplet[1] if tuplet else None,
                )
            )
    return _with_beams(symbols, frame, ruler)


# ---- beams and accidentals -------------------------------------------------------------------


def _with_beams(symbols: list[Symbol], frame: NotatedBar, ruler: Ruler) -> list[Symbol]:
    windows = _beam_windows(symbols, frame, ruler)
    groups: list[list[int]] = []
    last_window = None
    for index, symbol in enumerate(symbols):
        window = windows[index]
        beamed = symbol.note is not None and symbol.value >= 8
        if beamed and last_window == window and groups:
            groups[-1].append(index)
        elif beamed:
            groups.append([index])
        last_window = window if beamed else None
    result = list(symbols)
    for number, group in enumerate(g for g in groups if len(g) > 1):
        for index in group:
            result[index] = replace(result[index], beam=number)
    return result


def _beam_windows(symbols: list[Symbol], frame: NotatedBar, ruler: Ruler) -> list[int]:
    """The window each symbol may be beamed in: its beat; in x/8, and where all are eighths, its group."""
    places = [s.step - frame.step for s in symbols]
    in_eighths = frame.meter.unit >= 8
    plain: dict[int, bool] = {}
    group_of = [max(g for g in ruler.groups if g <= place) for place in places]
    for symbol, group in zip(symbols, group_of, strict=True):
        fits = symbol.value <= 8 and symbol.tuplet is None and symbol.note is not None
        plain[group] = plain.get(group, True) and fits
    windows = []
    for place, group in zip(places, group_of, strict=True):
        whole = in_eighths or (plain[group] and frame.meter.beats == 4)
        windows.append(group if whole else place // STEPS_PER_BEAT * STEPS_PER_BEAT)
    return windows


def _signature(fifths: int) -> dict[str, str]:
    letters = SHARP_ORDER[:fifths] if fifths >= 0 else SHARP_ORDER[::-1][:-fifths]
    return dict.fromkeys(letters, "#" if fifths >= 0 else "b")


def _with_accidentals(
    symbols: list[Symbol], notes: tuple[Note, ...], signature: dict[str, str]
) -> tuple[Symbol, ...]:
    """Prints an accidental where the signature and the bar so far do not give it already."""
    in_force: dict[tuple[str, int], str] = {}
    result = []
    for symbol in symbols:
        if symbol.note is not None and not symbol.tied_from:
            letter, accidental, octave = written_pitch(notes[symbol.note].name)
            if in_force.get((letter, octave), signature.get(letter, "")) != accidental:
                in_force[letter, octave] = accidental
                result.append(replace(symbol, accidental=accidental or "n"))
                continue
        result.append(symbol)
    return tuple(result)
