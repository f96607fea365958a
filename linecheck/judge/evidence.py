"""evidence: what a rubric weighs, gathered bar by bar.

The marks of every part are counted by bar, with the reasons of those that were missed. Choruses
and sections are whole bars, so that their scores, and what each bar took, follow from these
counts and a rubric alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.music.form import Form, bar_steps
from linecheck.terms import (
    FUNCTIONS,
    STEPS_PER_BEAT,
    BarEvidence,
    Chord,
    ChorusEvidence,
    Evidence,
    Function,
    LabelledLine,
    Landing,
    SectionEvidence,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from linecheck.judge.marks import Mark

__all__ = ["gather"]

IN_PLACE = "form"  # the part whose marks say whether the line is in place


def gather(marks_of: Mapping[str, Sequence[Mark]], labels: LabelledLine, form: Form) -> Evidence:
    """Count the marks of a take by bar.

    Args:
        marks_of: part → its marks over the whole take in order, presence among them.
        labels: the labelled line.
        form: the chart laid out in steps, for the choruses that were begun.
    """
    choruses = form.choruses or 0
    begin, end = labels.judged_from, labels.judged_to
    counts = _count_notes(labels, choruses)
    return Evidence(
        bars=_bars(marks_of, form, choruses),
        choruses=tuple(
            ChorusEvidence(
                chorus=index + 1,
                style=labels.styles[index],
                notes=counts[index][0],
                functions=counts[index][1],
                beats=max(0, min((index + 1) * form.steps, end) - max(index * form.steps, begin))
                // STEPS_PER_BEAT,
            )
            for index in range(choruses)
        ),
        sections=tuple(_sections(labels, marks_of.get(IN_PLACE, ()), form, choruses)),
        beats=(end - begin) // STEPS_PER_BEAT,
    )


def _bars(
    marks_of: Mapping[str, Sequence[Mark]], form: Form, choruses: int
) -> tuple[BarEvidence, ...]:
    bars = form.chart.bars
    bar_at_beat = [index for index, bar in enumerate(bars) for _ in range(bar.meter.beats)]
    gathered = [
        BarEvidence(chorus + 1, bar.number, bar.section, {}, {})
        for chorus in range(choruses)
        for bar in bars
    ]
    last = choruses * form.steps
    missed: dict[tuple[int, str], list[str]] = {}
    for part, marks in marks_of.items():
        for step, why in marks:
            if 0 <= step < last:
                chorus, local = divmod(step, form.steps)
                at = chorus * len(bars) + bar_at_beat[local // STEPS_PER_BEAT]
                of_bar = gathered[at].marks
                of_bar[part] = of_bar.get(part, 0) + 1
                if why:
                    missed.setdefault((at, part), []).append(why)
    for (at, part), reasons in missed.items():
        gathered[at].missed[part] = tuple(reasons)
    return tuple(gathered)


def _count_notes(labels: LabelledLine, choruses: int) -> list[tuple[int, dict[Function, int]]]:
    """For each chorus, how many notes it has and how many of each function."""
    notes = [0] * choruses
    functions: list[dict[Function, int]] = [dict.fromkeys(FUNCTIONS, 0) for _ in notes]
    for note in labels.notes:
        chorus = note.place.chorus - 1
        if 0 <= chorus < choruses:
            notes[chorus] += 1
            if note.function is not None:
                functions[chorus][note.function] += 1
    return list(zip(notes, functions, strict=True))


def _sections(
    labels: LabelledLine, in_place: Sequence[Mark], form: Form, choruses: int
) -> list[SectionEvidence]:
    starts = [0]
    for bar in form.chart.bars:
        starts.append(starts[-1] + bar_steps(bar.meter))
    opening = {landing.step: landing for landing in labels.landings if landing.opens_section}
    placed = {mark.step: not mark.missed for mark in in_place}
    found: list[SectionEvidence] = []
    for chorus in range(choruses):
        for section in form.chart.sections:
            first = chorus * form.steps + starts[section.bar - 1]
            last = chorus * form.steps + starts[section.bar - 1 + section.bars]
            if last <= labels.judged_from or first >= labels.judged_to:
                continue
            clear = placed.get(max(first, labels.judged_from), False)
            clear = clear and _is_shown(opening.get(first), form.chord(first))
            found.append(
                SectionEvidence(chorus + 1, section.name, section.bar, section.bars, clear)
            )
    return found


def _is_shown(opening: Landing | None, chord: Chord | None) -> bool:
    """Whether the boundary was shown: over N.C. there is nothing to meet."""
    nothing_to_meet = chord is None or chord.root is None
    return nothing_to_meet or (opening is not None and opening.met)
