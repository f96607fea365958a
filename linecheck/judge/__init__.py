"""How good it was: one file a part, weighed by a rubric.

A part is a file with ``marks(labels, form)`` and a row in ``PARTS``; its weight stands in the
rubric under the same name. ``presence`` is no part: the others are multiplied by it.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import replace
from typing import TYPE_CHECKING

from linecheck.judge import form as form_part
from linecheck.judge import landings, presence, purpose
from linecheck.judge.commitment import PRESENCE, Score, weigh
from linecheck.judge.costs import chorus_costs
from linecheck.judge.right_chart import chart_doubts
from linecheck.music.form import Form, bar_steps
from linecheck.terms import (
    FUNCTIONS,
    STEPS_PER_BEAT,
    BarCost,
    Chord,
    ChorusScore,
    Function,
    Judgement,
    LabelledLine,
    Landing,
    PlacedLine,
    Rubric,
    SectionScore,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from linecheck.judge.marks import Mark

__all__ = ["PARTS", "chart_doubts", "judge_line"]

PARTS: dict[str, Callable[[LabelledLine, Form], list[Mark]]] = {
    "purpose": purpose.marks,
    "landings": landings.marks,
    "form": form_part.marks,
}


def judge_line(labels: LabelledLine, line: PlacedLine, form: Form, rubric: Rubric) -> Judgement:
    """Judge a labelled line chorus by chorus and section by section.

    Args:
        labels: the labelled line.
        line: the same line as it was placed.
        form: the chart laid out in steps.
        rubric: the weights.

    Returns:
        A score for every chorus that was begun and every section of it that the take reaches, the
        commitment of the take (the mean of its choruses by their judged beats; 0 without any),
        and what each bar took from it.
    """
    if form.choruses != line.choruses:
        form = Form(form.chart, line.choruses)
    marks = {part: of_part(labels, form) for part, of_part in PARTS.items()}
    marks[PRESENCE] = presence.marks(labels, form)
    stretches = _Stretches(marks)
    begin, end = labels.judged_from, labels.judged_to
    counts = _count_notes(labels, line.choruses)
    choruses: list[ChorusScore] = []
    costs: list[BarCost] = []
    commitment = 0.0
    for index in range(line.choruses):
        first, last = index * form.steps, (index + 1) * form.steps
        of_chorus = stretches.between(first, last)
        score = _weigh(of_chorus, rubric)
        beats = max(0, min(last, end) - max(first, begin)) // STEPS_PER_BEAT
        weight = beats * STEPS_PER_BEAT / (end - begin) if beats else 0.0
        if not beats:  # the take begins after it
            score = replace(score, presence=0.0, commitment=0.0)
        commitment += weight * score.commitment
        costs.extend(chorus_costs(of_chorus, score.mark_points, weight, form))
        choruses.append(_chorus_score(index + 1, labels, score, counts[index]))
    costs.sort(key=lambda cost: (-cost.points, cost.chorus, cost.bar, cost.part))
    return Judgement(
        choruses=tuple(choruses),
        sections=tuple(_sections(labels, line, form, stretches, rubric)),
        commitment=commitment,
        costs=tuple(costs),
        rubric=rubric,
    )


class _Stretches:
    """The marks of every part, to be cut by steps."""

    def __init__(self, marks: Mapping[str, Sequence[Mark]]) -> None:
        self._marks = marks
        self._steps = {part: [mark[0] for mark in found] for part, found in marks.items()}

    def between(self, first: int, last: int) -> dict[str, Sequence[Mark]]:
        """Part → its marks from step ``first`` to ``last`` (exclusive)."""
        return {
            part: found[
                bisect_left(self._steps[part], first) : bisect_left(self._steps[part], last)
            ]
            for part, found in self._marks.items()
        }


def _weigh(marks: Mapping[str, Sequence[Mark]], rubric: Rubric) -> Score:
    return weigh({part: marks[part] for part in PARTS}, marks[PRESENCE], rubric)


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


def _chorus_score(
    chorus: int, labels: LabelledLine, score: Score, counts: tuple[int, dict[Function, int]]
) -> ChorusScore:
    return ChorusScore(
        chorus=chorus,
        style=labels.styles[chorus - 1],
        notes=counts[0],
        functions=counts[1],
        purpose=score.shares["purpose"],
        landings=score.shares["landings"],
        form=score.shares["form"],
        presence=score.presence,
        commitment=score.commitment,
    )


def _sections(
    labels: LabelledLine, line: PlacedLine, form: Form, stretches: _Stretches, rubric: Rubric
) -> list[SectionScore]:
    starts = [0]
    for bar in form.chart.bars:
        starts.append(starts[-1] + bar_steps(bar.meter))
    opening = {landing.step: landing for landing in labels.landings if landing.opens_section}
    found: list[SectionScore] = []
    for chorus in range(line.choruses):
        for section in form.chart.sections:
            first = chorus * form.steps + starts[section.bar - 1]
            chord = form.chord(first)
            last = chorus * form.steps + starts[section.bar - 1 + section.bars]
            if last <= labels.judged_from or first >= labels.judged_to:
                continue
            marks = stretches.between(first, last)
            score = _weigh(marks, rubric)
            found.append(
                SectionScore(
                    chorus=chorus + 1,
                    section=section.name,
                    bar=section.bar,
                    commitment=score.commitment,
                    landings=score.shares["landings"],
                    clear=_is_clear(opening.get(first), marks["form"], chord),
                )
            )
    return found


def _is_clear(opening: Landing | None, form_marks: Sequence[Mark], chord: Chord | None) -> bool:
    """Whether the boundary was shown: over N.C. there is nothing to meet, only to be in place."""
    in_place = bool(form_marks) and not form_marks[0].missed
    nothing_to_meet = chord is None or chord.root is None
    return in_place and (nothing_to_meet or (opening is not None and opening.met))
