"""rows: a submission and what was found of its take, weighed by a rubric, as a row of the book."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.grade.terms import BarPoints, Graded
from linecheck.judge import judge_evidence, weighed_choruses
from linecheck.judge.commitment import PRESENCE
from linecheck.version import __version__

if TYPE_CHECKING:
    from linecheck.grade.findings import Findings
    from linecheck.grade.terms import Submission
    from linecheck.terms import Evidence, Rubric

__all__ = ["bar_points", "graded_row", "is_late", "points"]


def graded_row(
    submission: Submission,
    findings: Findings,
    rubric: Rubric,
    *,
    pass_mark: float | None = None,
    key: str = "",
) -> Graded:
    """Grade one submission.

    Args:
        submission: the submission.
        findings: what was found of its take.
        rubric: the weights.
        pass_mark: 0 to 100; None: that of the rubric, if it asks for one.
        key: what was graded.
    """
    judgement = judge_evidence(findings.evidence, rubric)
    asked = rubric.pass_mark if pass_mark is None else pass_mark
    return Graded(
        submission=submission,
        title=findings.title,
        form_bars=findings.form_bars,
        kind=findings.kind,
        notes=findings.notes,
        grid=findings.grid,
        tempo_bpm=findings.tempo_bpm,
        tempo_change=findings.tempo_change,
        swing_ratio=findings.swing_ratio,
        placement_mean_ms=findings.placement_mean_ms,
        placement_spread_ms=findings.placement_spread_ms,
        judgement=judgement,
        losses=findings.losses,
        warnings=findings.warnings,
        pass_mark=asked,
        passed=None if asked is None else judgement.commitment >= asked,
        late=is_late(submission),
        key=key,
        linecheck=__version__,
        feel=findings.feel,
    )


def is_late(submission: Submission) -> bool | None:
    """Whether it was handed in after it was due; None where the table does not give both dates.

    Only dates of the table count, for the date of a file proves nothing. A day alone lasts until
    its end: what was due on a day is not late on it.
    """
    due, submitted = submission.due, submission.submitted
    if not due or not submitted:
        return None
    length = min(len(due), len(submitted))
    return submitted[:length] > due[:length]


def bar_points(evidence: Evidence, rubric: Rubric) -> tuple[BarPoints, ...]:
    """What every part gave and took in every bar that is judged, in the order of the form."""
    found = []
    for chorus in weighed_choruses(evidence, rubric):
        points = chorus.score.mark_points
        presence_alone = not any(part != PRESENCE and value for part, value in points.items())
        for bar in chorus.bars:
            for part, marks in bar.marks.items():
                missed = bar.missed.get(part, ())
                point = points.get(part, 0.0) * chorus.weight
                gives = part != PRESENCE or presence_alone
                found.append(
                    BarPoints(
                        chorus=bar.chorus,
                        bar=bar.bar,
                        section=bar.section,
                        part=part,
                        marks=marks,
                        missed=missed,
                        given=point * (marks - len(missed)) if gives else 0.0,
                        taken=point * len(missed),
                    )
                )
    return tuple(found)


def points(row: Graded) -> tuple[BarPoints, ...]:
    """What every part gave and took in every bar of a graded take, in the order of the form."""
    judgement = row.judgement
    assert judgement.evidence is not None  # noqa: S101  (a graded row is made of its evidence)
    return bar_points(judgement.evidence, judgement.rubric)
