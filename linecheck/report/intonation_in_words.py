"""The intonation of a recording as facts, in sentences.

A tendency is told only where it is more than chance and more than a hair: at least four notes,
a mean of five cents and more, and twice its standard error away from none. A region of the strings
is told only where its pitches agree, each counted once: one or two that are off are told by
themselves.
"""

from __future__ import annotations

from math import sqrt
from statistics import fmean, stdev
from typing import TYPE_CHECKING

from linecheck.report.figures import counted, percent

if TYPE_CHECKING:
    from linecheck.terms import Audit, Intonation, IntonationRow

__all__ = ["intonation_sentences", "is_tendency", "signed_cents"]

LEAST_NOTES, LEAST_CENTS = 4, 5.0
MOST_PITCHES = 5
LEAST_PITCHES = 3  # different ones that agree, before a region is told
LEAST_TO_COMPARE = 8  # notes on either side
WIDER = 1.5  # times the spread is a difference worth a word
PLACES = ("a repeat", "a step", "a skip", "a leap")  # reached without a shift


def intonation_sentences(audit: Audit) -> list[str]:
    """What can be said of the intonation; nothing of a take that is no recording."""
    told = audit.intonation
    if told is None:
        return []
    tuned = f"the take is tuned to A = {told.tuning_hz:.1f} Hz"
    if not told.tuning_measured:
        tuned = "too few notes stood still to tell the tuning; A = 440 Hz is assumed"
    heard = sum(not note.ghost for note in audit.labels.notes)
    if not told.notes:
        return [tuned, f"none of {counted(heard, 'note')} could be measured"]
    return [
        tuned,
        (
            f"{told.notes} of {counted(heard, 'note')} could be measured: half of them lie within "
            f"{told.median_off_cents:.0f} cents of equal temperament, {percent(told.in_tune)} "
            "within 15"
        ),
        *_pitches(told),
        *_open_strings(told),
        *_regions(told),
        *_shifts(told),
    ]


def is_tendency(row: IntonationRow) -> bool:
    """Whether these notes lie off to one side by more than chance and more than a hair."""
    if row.notes < LEAST_NOTES or row.spread_cents is None:
        return False
    return _lie_off(row.mean_cents, row.spread_cents, row.notes)


def _lie_off(mean: float, spread: float, count: int) -> bool:
    return abs(mean) >= LEAST_CENTS and abs(mean) > 2 * spread / sqrt(count)


def signed_cents(cents: float) -> str:
    """Cents with their sign: ``"+7"``, ``"−12"``, ``"0"``."""
    whole = round(cents)
    return f"{whole:+d}".replace("-", "−") if whole else "0"


def _rows(told: Intonation, group: str) -> list[IntonationRow]:
    return [row for row in told.rows if row.group == group]


def _pitches(told: Intonation) -> list[str]:
    off = [row for row in _rows(told, "pitch") if is_tendency(row)]
    off.sort(key=lambda row: -abs(row.mean_cents))
    sentences = []
    for word, side in (("sharp", 1), ("flat", -1)):
        named = [row for row in off[:MOST_PITCHES] if row.mean_cents * side > 0]
        if named:
            each = ", ".join(
                f"{row.name} by {abs(row.mean_cents):.0f} cents ({counted(row.notes, 'note')})"
                for row in named
            )
            sentences.append(f"{word} on average: {each}")
    return sentences


def _open_strings(told: Intonation) -> list[str]:
    return [
        f"notes at the pitch of an open string lie {signed_cents(row.mean_cents)} cents on "
        "average: look at the tuning of the strings"
        for row in _rows(told, "reached by")
        if row.name == "an open string" and is_tendency(row)
    ]


def _regions(told: Intonation) -> list[str]:
    each = ", ".join(
        f"{row.name.replace(', ', ' ')} {signed_cents(row.mean_cents)} cents "
        f"({counted(row.notes, 'note')})"
        for row in _rows(told, "region")
        if is_tendency(row) and _pitches_agree(row)
    )
    return [f"by the likeliest string (a recording cannot tell which): {each}"] if each else []


def _pitches_agree(row: IntonationRow) -> bool:
    means = row.by_pitch
    return len(means) >= LEAST_PITCHES and _lie_off(fmean(means), stdev(means), len(means))


def _shifts(told: Intonation) -> list[str]:
    """Whether the hand lands less surely after a shift than where it stays."""
    shifted = [row for row in _rows(told, "reached by") if row.name == "a shift"]
    stayed = [row for row in _rows(told, "reached by") if row.name in PLACES]
    notes = sum(row.notes for row in stayed)
    if not shifted or shifted[0].notes < LEAST_TO_COMPARE or notes < LEAST_TO_COMPARE:
        return []
    moved = shifted[0]
    off = _off(moved)
    still = sqrt(sum(row.notes * _off(row) ** 2 for row in stayed) / notes)
    if off < WIDER * still:
        return []
    said = (
        f"after a shift of the hand the notes lie {off:.0f} cents off, where it stays {still:.0f}"
    )
    return [f"{said} ({moved.notes} and {counted(notes, 'note')})"]


def _off(row: IntonationRow) -> float:
    """Root mean square of the deviations."""
    spread = row.spread_cents or 0.0
    return sqrt(row.mean_cents**2 + spread**2 * (row.notes - 1) / row.notes)
