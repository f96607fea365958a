"""form: the share of beats in place.

A beat is in place where the line is at the form clock (offset 0) at its beginning. Stretches of a
loss that is only possible are in place. One mark a beat.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.judge.marks import Mark
from linecheck.music.form import whole_bars
from linecheck.terms import STEPS_PER_BEAT, FormSpan, LabelledLine

if TYPE_CHECKING:
    from linecheck.music.form import Form
    from linecheck.terms import Chart


def marks(labels: LabelledLine, form: Form) -> list[Mark]:
    """One mark for every judged beat, missed where the line is not in place.

    Args:
        labels: the labelled line.
        form: the form, for the length of its bars.
    """
    found: list[Mark] = []
    at, spans = 0, labels.spans
    for step in range(labels.judged_from, labels.judged_to, STEPS_PER_BEAT):
        while at < len(spans) and spans[at].end_step <= step:
            at += 1
        if at == len(spans) or step < spans[at].step or spans[at].offset_beats == 0:
            found.append(Mark(step))
        else:
            found.append(Mark(step, _why(spans[at], form.chart)))
    return found


def _why(span: FormSpan, chart: Chart) -> str:
    if span.offset_beats is None:
        return "adrift"
    side = "ahead" if span.offset_beats > 0 else "behind"
    bars, beats = whole_bars(span.offset_beats, chart)
    counts = [_count(bars, "bar")] if bars else []
    counts += [_count(beats, "beat")] if beats or not bars else []
    return f"{' and '.join(counts)} {side}"


def _count(number: float, unit: str) -> str:
    return f"{number:g} {unit}" + ("" if number == 1 else "s")
