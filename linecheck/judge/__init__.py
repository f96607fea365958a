"""How good it was: one file a part, weighed by a rubric.

A part is a file with ``marks(labels, form)`` and a row in ``PARTS``; its weight stands in the
rubric under the same name. ``presence`` is no part: the others are multiplied by it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.judge import form as form_part
from linecheck.judge import landings, presence, purpose
from linecheck.judge.commitment import PRESENCE
from linecheck.judge.evidence import gather
from linecheck.judge.part_of_form import part_played
from linecheck.judge.right_chart import chart_doubts
from linecheck.judge.right_meter import meter_doubts
from linecheck.judge.weighing import WeighedChorus, weigh_choruses, weigh_evidence
from linecheck.music.form import Form

if TYPE_CHECKING:
    from collections.abc import Callable

    from linecheck.judge.marks import Mark
    from linecheck.terms import Evidence, Judgement, LabelledLine, PlacedLine, Rubric

__all__ = [
    "PARTS",
    "chart_doubts",
    "gather_evidence",
    "judge_evidence",
    "judge_line",
    "meter_doubts",
    "part_played",
    "weighed_choruses",
]

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
    return judge_evidence(gather_evidence(labels, line, form), rubric)


def gather_evidence(labels: LabelledLine, line: PlacedLine, form: Form) -> Evidence:
    """All that a rubric weighs of a labelled line; the arguments are those of ``judge_line``."""
    if form.choruses != line.choruses:
        form = Form(form.chart, line.choruses)
    marks = {part: of_part(labels, form) for part, of_part in PARTS.items()}
    marks[PRESENCE] = presence.marks(labels, form)
    return gather(marks, labels, form)


def judge_evidence(evidence: Evidence, rubric: Rubric) -> Judgement:
    """Judge a take by what was gathered of it: the same as ``judge_line``, figure by figure."""
    return weigh_evidence(evidence, tuple(PARTS), rubric)


def weighed_choruses(evidence: Evidence, rubric: Rubric) -> list[WeighedChorus]:
    """The choruses of a take with what one mark of each part is worth in them."""
    return weigh_choruses(evidence, tuple(PARTS), rubric)
