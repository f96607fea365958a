"""Whether a line shows where in the form it is: one that does not can be anywhere.

A line over the wrong chart, on one scale or on one note is in place no less than elsewhere, and no
search for a lost form finds anything in it. So what its notes say for the place where it is taken
to be is held against what they say for a place by lot, beat by beat, in nats. Lines over their
own chart have 0.37 a beat and more in walking and 0.13 in solos (the lowest hundredth of the
clean takes of two players that nothing was fitted on); nineteen in twenty over the chart of another
tune have less than 0. Cost: linear in the beats.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from linecheck.place.form_evidence import PART_BEATS, STYLE_OF_VOICE, evidence, form_tables
from linecheck.terms import STEPS_PER_BEAT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.music.form import Form
    from linecheck.place.form_evidence import LineCodes
    from linecheck.terms import FormSpan

__all__ = ["shows_its_place"]

LEAST_NATS = np.array((0.2, 0.13, 0.05))  # a beat: walking, mixed, solo


def shows_its_place(line: LineCodes, form: Form, spans: Sequence[FormSpan]) -> bool:
    """Whether the line as a whole shows the places where it is taken to be.

    Args:
        line: the notes that tell of the form.
        form: the chart laid out.
        spans: where the line is; what is adrift is at no place and does not count.
    """
    tables = form_tables(form)
    shown = asked = 0.0
    beats, first = np.unique(line.beats, return_index=True)
    least = LEAST_NATS[STYLE_OF_VOICE[line.voices[first]]]
    for span in spans:
        if span.offset_beats is None:
            continue
        offset = int(span.offset_beats) % form.beats
        stop = -(-span.end_step // STEPS_PER_BEAT)
        for begin in range(span.step // STEPS_PER_BEAT, stop, PART_BEATS):
            end = min(stop, begin + PART_BEATS)
            sounding = slice(*np.searchsorted(beats, (begin, end)).tolist())
            rows = evidence(line, tables, begin, end - begin)[beats[sounding] - begin, :-1]
            by_lot = np.log(np.exp(rows).mean(axis=1))
            shown += float((rows[:, offset] - by_lot).sum())
            asked += float(least[sounding].sum())
    return shown >= asked
