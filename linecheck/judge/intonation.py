"""Intonation: how far the notes of a recording lie from equal temperament, as facts.

Definition: the deviation of a note is its ``cents`` as it was heard, at the take's own tuning; a
note without one (slid, too short, too faint, in a doubtful stretch) counts nowhere. It is told for
all notes, by pitch, by region of the strings, and by how the note was reached. A pitch is one row
however it is spelled, named as it is spelled most. Nothing of it touches a score. Units: cents, a
hundredth of an equal-tempered half step (ISO 16: A4 = 440 Hz where the take does not show its own).

Regions are where a bass tuned in fourths has the pitch in its low positions, and above the G
string's low positions the neck and the thumb position (common practice): the likeliest string, for
a recording does not tell which it was. A *shift* is told from
the two pitches alone: no one position of a hand that spans a whole step on all four strings
(fingers 1, 2, 4: common practice) holds both, and neither is that of an open string.
"""

from __future__ import annotations

from collections import Counter
from statistics import fmean, median, stdev
from typing import TYPE_CHECKING

from linecheck.terms import Intonation, IntonationRow

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from linecheck.terms import Note

__all__ = ["NARROW_CENTS", "REACHED", "REGIONS", "intonation"]

NARROW_CENTS = 15.0  # what passes as in tune in a walking line: from memory
OPEN_STRINGS = (28, 33, 38, 43)
SPAN = 2  # half steps between the first and the fourth finger
STEP, SKIP = 2, 5  # half steps: a whole step, a fourth

# name → lowest and highest pitch; E1 = 28
REGIONS: dict[str, tuple[int, int]] = {
    "E string, low": (0, 32),
    "A string, low": (33, 37),
    "D string, low": (38, 42),
    "G string, low": (43, 48),
    "G string, neck": (49, 54),
    "thumb position": (55, 127),
}
# in the order of the report
REACHED: tuple[str, ...] = ("a repeat", "a step", "a skip", "a leap", "a shift", "an open string")


def intonation(notes: Sequence[Note], tuning_hz: float, *, measured: bool) -> Intonation:
    """What the recording tells of the intonation of a take.

    Args:
        notes: the notes of the line with their labels, in its order.
        tuning_hz: the take's own A4.
        measured: whether the tuning was found in the take, and not only assumed.
    """
    heard = [
        (index, note.cents)
        for index, note in enumerate(notes)
        if note.cents is not None and not note.ghost
    ]
    cents = [value for _, value in heard]
    if not cents:
        return Intonation(tuning_hz, measured, 0, None, None, None, None, ())
    names = _name_by_pitch(notes, heard)
    told = [(notes[i].pitch, c) for i, c in heard]
    rows = [
        *_rows("pitch", ((names[p], p, c) for p, c in told), names.values()),
        *_rows("region", ((_region(p), p, c) for p, c in told), REGIONS),
        *_rows(
            "reached by",
            (
                (_reached(notes[i - 1].pitch, notes[i].pitch), notes[i].pitch, c)
                for i, c in heard
                if i > 0
            ),
            REACHED,
        ),
    ]
    return Intonation(
        tuning_hz=tuning_hz,
        tuning_measured=measured,
        notes=len(cents),
        mean_cents=fmean(cents),
        median_off_cents=median(map(abs, cents)),
        spread_cents=stdev(cents) if len(cents) > 1 else None,
        in_tune=sum(abs(c) <= NARROW_CENTS for c in cents) / len(cents),
        rows=tuple(rows),
    )


def _name_by_pitch(notes: Sequence[Note], heard: Iterable[tuple[int, float]]) -> dict[int, str]:
    """Pitches from the lowest up with their commonest spelling, of two as common the first."""
    spellings: dict[int, Counter[str]] = {}
    for index, _ in heard:
        spellings.setdefault(notes[index].pitch, Counter())[notes[index].name] += 1
    return {pitch: spellings[pitch].most_common(1)[0][0] for pitch in sorted(spellings)}


def _rows(
    group: str, told: Iterable[tuple[str, int, float]], order: Iterable[str]
) -> list[IntonationRow]:
    """Rows in an order of names from (name, pitch, cents)."""
    by_name: dict[str, dict[int, list[float]]] = {name: {} for name in order}
    for name, pitch, value in told:
        by_name[name].setdefault(pitch, []).append(value)
    rows = []
    for name, by_pitch in by_name.items():
        cents = [value for values in by_pitch.values() for value in values]
        if cents:
            means = tuple(fmean(by_pitch[pitch]) for pitch in sorted(by_pitch))
            spread = stdev(cents) if len(cents) > 1 else None
            rows.append(IntonationRow(group, name, len(cents), fmean(cents), spread, means))
    return rows


def _region(pitch: int) -> str:
    return next(name for name, (low, high) in REGIONS.items() if low <= pitch <= high)


def _reached(before: int, pitch: int) -> str:
    if pitch in OPEN_STRINGS:
        return "an open string"
    if before == pitch:
        return "a repeat"
    if before not in OPEN_STRINGS and not _in_one_position(before, pitch):
        return "a shift"
    distance = abs(pitch - before)
    return "a step" if distance <= STEP else "a skip" if distance <= SKIP else "a leap"


def _in_one_position(one: int, other: int) -> bool:
    """Whether a hand that stays can stop both pitches, each on any string."""
    ones = {one - string - finger for string in OPEN_STRINGS for finger in range(SPAN + 1)}
    others = {other - string - finger for string in OPEN_STRINGS for finger in range(SPAN + 1)}
    return any(place >= 1 for place in ones & others)
