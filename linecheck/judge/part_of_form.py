"""How much of the form a take holds, as a warning where a score might seem to be of more.

Scores are of what was played: three bars of a form of eight can be worth 100. So a take in which
some bar of the form is never reached says so, and so does a last chorus that breaks off. Where
only its last bars are left out it does not: a tune often ends on the tonic there (common practice).
Bars of N.C. are not missed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.music.form import ENDING_BARS
from linecheck.terms import Remark

if TYPE_CHECKING:
    from linecheck.music.form import Form
    from linecheck.terms import LabelledLine

__all__ = ["part_played"]


def part_played(labels: LabelledLine, form: Form) -> tuple[Remark, ...]:
    """The warning, or none.

    Args:
        labels: the labelled line.
        form: the chart laid out in steps.
    """
    begin, end = labels.judged_from, labels.judged_to
    if begin == end:
        return ()
    bars = form.chart.bars
    last_chorus, in_last = divmod(end - 1, form.steps)
    asked = [any(placed.chord.root is not None for placed in bar.chords) for bar in bars]
    reached = [
        any(begin <= at < end for at in range(first, end, form.steps)) for first in form.bar_starts
    ]
    if any(of_chord and not played for of_chord, played in zip(asked, reached, strict=True)):
        played = f"only {sum(reached)} of {len(bars)} bars of the form were played"
        return (Remark(f"{played}; every score is of these alone", "whole"),)
    done = sum(first <= in_last for first in form.bar_starts)
    if sum(asked[done:]) > ENDING_BARS:
        broken_off = f"chorus {last_chorus + 1} breaks off after bar {done} of {len(bars)}"
        return (Remark(f"{broken_off}; it is scored up to there"),)
    return ()
