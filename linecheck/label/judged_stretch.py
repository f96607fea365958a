"""From where to where a take is judged, and which of its spans count.

The choruses that were begun are judged from the bar in which the line begins to the end of the
bar in which it ends: a take cut off in the middle of its last chorus is judged up to there, and
what runs on after the form (a last hit, an ending) shows that the last chorus was played out.
A silence between the two is judged. Steps are twelfths of a beat from beat one of chorus 1.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from linecheck.music.form import Form, bar_steps

if TYPE_CHECKING:
    from linecheck.terms import FormSpan, PlacedLine

# A note that only rings into a bar has not gone on to it.
RINGS_INTO = 3


def judged_stretch(line: PlacedLine, form: Form) -> tuple[int, int]:
    """The first step that is judged and the first that is not any more; equal for none.

    Ghosts count as playing here: to muffle the last note must not shorten what is judged.
    """
    end = form.steps * line.choruses
    within = [note for note in line.notes if 0 <= note.step < end]
    if not within:
        return 0, 0
    begun = _bar_around(form, within[0].step)[0]
    if line.notes[-1].step >= end:
        return begun, end
    sounding = max(max(note.step, note.end_step - RINGS_INTO - 1) for note in within)
    return begun, min(end, _bar_around(form, min(sounding, end - 1))[1])


def _bar_around(form: Form, step: int) -> tuple[int, int]:
    begins, bar = form.bar_begins(step), form.bar(step)
    return begins, begins + (bar_steps(bar.meter) if bar else 0)


def counted_spans(line: PlacedLine) -> tuple[FormSpan, ...]:
    """The line's spans, with those of a loss that is only possible taken as in place."""
    doubtful = {loss.step for loss in line.losses if not loss.certain}
    doubtful -= {loss.step for loss in line.losses if loss.certain}
    return tuple(
        replace(span, offset_beats=0.0)
        if span.step in doubtful and span.offset_beats != 0
        else span
        for span in line.spans
    )
