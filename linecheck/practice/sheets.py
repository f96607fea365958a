"""An exercise as a sheet: a small chart, a written line over it, and their audit.

The sheet has the bars of the loop and a closing bar, which holds the first note once more, so that
the last bar has somewhere to lead. The sheet is audited as any written take is; it has to be
perfect, and the tests hold it to that.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from linecheck.music.form import Form, bar_steps
from linecheck.practice.practice_plan import LineNote
from linecheck.steps import audit
from linecheck.terms import (
    Audit,
    Bar,
    Chart,
    ChartChord,
    FileMeter,
    Section,
    Take,
    TakeNote,
    TempoMap,
)

if TYPE_CHECKING:
    from linecheck.practice.practice_plan import Loop

__all__ = ["closing_bar", "sheet_audit", "sheet_chart", "take_of"]

VELOCITY = 80
LOOP = "loop"


def sheet_audit(loop: Loop, line: tuple[LineNote, ...], title: str, tempo: float) -> Audit:
    """The audit of a line round a loop, closed on its first note.

    Bars are numbered as in the chart that the loop comes from.
    """
    chart = sheet_chart(loop, title, tempo)
    closing = bar_steps(loop.bars[0].meter)
    first = line[0] if line and line[0].step == 0 else None
    notes = line if first is None else (*line, LineNote(loop.steps, closing, first.pitch))
    found = audit(chart, take_of(notes, chart, tempo), first_beat_one="1")
    numbers = (*loop.numbers, loop.numbers[0])
    bars = (replace(b, number=n) for b, n in zip(chart.bars, numbers, strict=True))
    return replace(found, chart=replace(chart, bars=tuple(bars)))


def sheet_chart(loop: Loop, title: str, tempo: float) -> Chart:
    """The chart of a sheet: the loop's bars, and the closing one."""
    bars = [*loop.bars, closing_bar(loop)]
    return Chart(
        title=title,
        key=loop.chart.key,
        meter=loop.bars[0].meter,
        tempo=tempo,
        feel=loop.chart.feel,
        form=(LOOP,),
        sections=(Section(LOOP, 1, len(bars)),),
        bars=tuple(
            Bar(nth, LOOP, bar.meter, bar.chords, opens_section=nth == 1)
            for nth, bar in enumerate(bars, 1)
        ),
        source=loop.chart.source,
    )


def closing_bar(loop: Loop) -> Bar:
    """The first bar's first chord, for a whole bar."""
    bar = loop.bars[0]
    return replace(bar, chords=(ChartChord(bar.chords[0].chord, 0, bar_steps(bar.meter)),))


def take_of(notes: tuple[LineNote, ...], chart: Chart, tempo: float) -> Take:
    """A written take of these notes, as the readers of written lines make one."""
    form = Form(chart)
    second = 60.0 / tempo
    made = []
    for note in notes:
        onset, end = (form.quarters_of(step) for step in (note.step, note.step + note.steps))
        length = end - onset
        made.append(TakeNote(onset * second, length * second, note.pitch, VELOCITY, onset, length))
    return Take(
        source=chart.title,
        kind="written",
        notes=tuple(made),
        tempo_map=TempoMap((0.0,), (0.0,), (second,)),
        meters=_meters(chart, form),
    )


def _meters(chart: Chart, form: Form) -> tuple[FileMeter, ...]:
    found: list[FileMeter] = []
    step = 0
    for bar in chart.bars:
        if not found or found[-1].meter != bar.meter:
            found.append(FileMeter(form.quarters_of(step), bar.meter))
        step += bar_steps(bar.meter)
    return tuple(found)
