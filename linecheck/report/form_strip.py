"""The form at a glance: one cell a bar for every chorus.

A cell is in place, ahead, behind or adrift as the form spans say (a bar that is lost in any part
is lost), ``missed`` where the line is in place but a landing in the bar is not met, ``silent``
where nothing sounds and nothing is asked for, ``unplayed`` before and after the take.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from itertools import accumulate
from typing import TYPE_CHECKING, Literal

from linecheck.music.form import bar_steps

if TYPE_CHECKING:
    from linecheck.terms import Audit, FormSpan

__all__ = ["GLYPHS", "BarState", "ChorusStrip", "form_strips"]

BarState = Literal["in place", "missed", "ahead", "behind", "adrift", "silent", "unplayed"]

# One character a state, in ASCII so that it survives every terminal, printer and e-mail.
GLYPHS: dict[BarState, str] = {
    "in place": ".",
    "missed": "x",
    "ahead": ">",
    "behind": "<",
    "adrift": "?",
    "silent": "_",
    "unplayed": " ",
}
_LOST: tuple[BarState, ...] = ("adrift", "ahead", "behind")


@dataclass(frozen=True, slots=True)
class ChorusStrip:
    """One chorus: its number and the state of each of its bars."""

    chorus: int
    bars: tuple[BarState, ...]

    @property
    def spotless(self) -> bool:
        """Whether the line is in place throughout and every landing is met."""
        return all(state in ("in place", "silent") for state in self.bars)


def form_strips(audit: Audit) -> list[ChorusStrip]:
    """The strips of all choruses, in order."""
    lengths = [bar_steps(bar.meter) for bar in audit.chart.bars]
    starts = list(accumulate(lengths, initial=0))
    chorus_steps = starts[-1]
    span_ends = [span.end_step for span in audit.line.spans]
    missed = {
        (landing.place.chorus, landing.place.bar)
        for landing in audit.labels.landings
        if landing.counted and not landing.met
    }
    onsets = sorted(note.step for note in audit.labels.notes)
    ends = sorted(note.end_step for note in audit.labels.notes)
    strips = []
    for chorus in range(1, audit.line.choruses + 1):
        states: list[BarState] = []
        for index, start in enumerate(starts[:-1]):
            begin = (chorus - 1) * chorus_steps + start
            end = begin + lengths[index]
            lost = _lost_state(audit.line.spans, span_ends, begin, end)
            # Notes begun before the bar's end less those stopped before its beginning.
            sounding = bisect_left(onsets, end) - bisect_right(ends, begin)
            if lost is not None and lost != "in place":
                states.append(lost)
            elif (chorus, index + 1) in missed:
                states.append("missed")
            elif lost is None:
                states.append("unplayed")
            else:
                states.append("in place" if sounding > 0 else "silent")
        strips.append(ChorusStrip(chorus, tuple(states)))
    return strips


def _lost_state(
    spans: tuple[FormSpan, ...], ends: list[int], begin: int, end: int
) -> BarState | None:
    """The state that the spans give to the steps from ``begin`` to ``end``; None: no span there."""
    found: set[BarState] = set()
    for index in range(bisect_right(ends, begin), len(spans)):
        span = spans[index]
        if span.step >= end:
            break
        if span.offset_beats is None:
            found.add("adrift")
        elif span.offset_beats == 0:
            found.add("in place")
        else:
            found.add("ahead" if span.offset_beats > 0 else "behind")
    for state in _LOST:
        if state in found:
            return state
    return "in place" if found else None
