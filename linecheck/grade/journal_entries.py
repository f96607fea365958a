"""The graded takes of a folder as entries of a journal: see ``linecheck.journal``.

The day of a take is the one on which the table says it was handed in, else that of its file. An
anonymous book is not noted: a course is that of a student.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.grade.terms import Graded
from linecheck.journal import (
    Entry,
    EntryLoss,
    chart_key,
    counted_parts,
    date_of_take,
    student_name,
)
from linecheck.journal.student_and_date import LONGEST_NAME
from linecheck.judge.commitment import share
from linecheck.read import read_chart
from linecheck.terms import Feel

if TYPE_CHECKING:
    from pathlib import Path

    from linecheck.grade.book import GradeBook
    from linecheck.grade.terms import Row
    from linecheck.grade.work import Job

__all__ = ["JournalEntries"]

_NO_FEEL = Feel(None, None, None, None, None, None, None, None, None)
_DAY = len("2026-11-20")


class JournalEntries:
    """Makes an entry for every graded row of a book that is not anonymous.

    Attributes:
        made: the entries so far.
    """

    def __init__(self, book: GradeBook) -> None:
        self.made: list[Entry] = []
        self._book = book
        self._charts: dict[Path, str] = {}

    def add(self, index: int, row: Row) -> None:
        """Make the entry of a row.

        Raises:
            InputFault: a chart that was read before cannot be read any more.
        """
        job = self._book.found(index).job
        if isinstance(row, Graded) and job is not None:
            if job.chart not in self._charts:
                self._charts[job.chart] = chart_key(read_chart(job.chart))
            self.made.append(_entry(row, job, self._charts[job.chart]))


def _entry(row: Graded, job: Job, key_of_chart: str) -> Entry:
    judgement = row.judgement
    assert judgement.evidence is not None  # noqa: S101  (a graded row is made of its evidence)
    counts = counted_parts(judgement.evidence)
    landings = counts["landings"]
    rubric = judgement.rubric
    whole = sum(rubric.weights.values())
    feel = row.feel or _NO_FEEL
    day, origin = date_of_take(job.take, row.submission.submitted[:_DAY] or None)
    return Entry(
        student=student_name(row.submission.student[:LONGEST_NAME]),
        date=day,
        date_origin=origin,
        take=job.take.name,
        take_key=job.take_hash,
        kind=row.kind,
        chart=row.title,
        chart_key=key_of_chart,
        choruses=len(judgement.choruses),
        notes=row.notes,
        commitment=judgement.commitment,
        parts={part: share(count) for part, count in counts.items()},
        landings_met=landings.marks - landings.missed,
        landings_asked=landings.marks,
        losses=tuple(
            EntryLoss(
                chorus=loss.begins.chorus,
                bar=loss.begins.bar or 1,
                beat=loss.begins.beat or 1.0,
                kind=loss.kind,
                offset_beats=loss.offset_beats,
                recovered=loss.recovered is not None,
                confidence=loss.confidence,
            )
            for loss in row.losses
            if loss.certain
        ),
        grid=row.grid,
        tempo=feel.tempo,
        tempo_change=feel.tempo_change,
        placement_mean_ms=feel.placement_mean_ms,
        placement_spread_ms=feel.placement_spread_ms,
        swing_ratio=feel.swing_ratio,
        rubric=rubric.name,
        rubric_fingerprint=rubric.fingerprint,
        weights={part: weight / whole for part, weight in rubric.weights.items() if weight > 0},
        version=row.linecheck,
    )
