"""Whether a take and a chart belong together, as a warning where they hardly do.

A line meets about a third of the landings of a chart that it was not played over, for a chord has
four of the twelve tones; one that belongs to it meets most of them, also when it is careless.
So where fewer than half are met in the stretches that are in place (in all of it, where the line
is hardly ever in place), the chart is doubted: its key, where the line would meet most of them a
few half steps away, else the chart or the first beat one.
"""

from __future__ import annotations

from bisect import bisect_right
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from linecheck.music.form import Form
    from linecheck.terms import LabelledLine, Landing

__all__ = ["chart_doubts"]

DOUBTED_BELOW = 0.5  # share of landings met
LIKELY_FROM = 0.8  # share of landings that another key must meet to be named
CLEARLY = 0.1  # by how much more than any other key
IN_PLACE_FROM = 1 / 3  # share of landings below which the line is as good as never in place
LEAST = 8  # landings: fewer say nothing


def chart_doubts(labels: LabelledLine, form: Form) -> tuple[str, ...]:
    """The warning, or none.

    Args:
        labels: the labelled line.
        form: the chart laid out in steps.
    """
    asked = [landing for landing in labels.landings if landing.counted and landing.note is not None]
    in_place = _in_place(asked, labels)
    # A line that is hardly ever in place may not be lost at all: then all of it is asked.
    throughout = len(in_place) < IN_PLACE_FROM * len(asked)
    asked = asked if throughout else in_place
    if len(asked) < LEAST or sum(x.met for x in asked) >= DOUBTED_BELOW * len(asked):
        return ()
    shares = {shift: _share_met(asked, labels, form, shift) for shift in range(-5, 7)}
    second, shift = sorted(shares, key=lambda shift: shares[shift])[-2:]
    met = f"only {sum(x.met for x in asked)} of {len(asked)} landings are met"
    if not throughout:
        met += " where the line is in place"
    if shares[shift] >= LIKELY_FROM and shares[shift] - shares[second] >= CLEARLY:
        steps = f"{abs(shift)} half step{'' if abs(shift) == 1 else 's'}"
        way = "lower" if shift > 0 else "higher"
        return (
            f"{met}; it would meet most of them over this chart {steps} {way}: is the key right?",
        )
    return (f"{met}: is it the right chart, and does chorus 1 begin where it says?",)


def _in_place(landings: list[Landing], labels: LabelledLine) -> list[Landing]:
    begins = [span.step for span in labels.spans]
    kept = []
    for landing in landings:
        at = bisect_right(begins, landing.step) - 1
        if at < 0 or labels.spans[at].offset_beats == 0:
            kept.append(landing)
    return kept


def _share_met(landings: list[Landing], labels: LabelledLine, form: Form, shift: int) -> float:
    """The share of landings on a chord tone if the line were ``shift`` half steps higher."""
    met = 0
    for landing in landings:
        chord = form.chord(landing.step)
        if chord is not None and landing.note is not None:
            pitch_class = (labels.notes[landing.note].pitch + shift) % 12
            met += any(tone.pitch_class == pitch_class for tone in chord.tones)
    return met / len(landings)
