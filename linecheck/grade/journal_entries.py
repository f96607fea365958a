"""The graded takes of a folder as entries of a journal: see ``linecheck.journal``.

The day of a take is the one on which the table says it was handed in, else that of its file. An
anonymous book is not noted: a course is that of a student.

A take that lies in the folder belongs to whom the last run says: what the journal holds of it under
another student or class is that one's from then on, where it is plainly the same file (see
``linecheck.journal.journal_file``). Anyone else who has it keeps it; both are said. Entries of
takes that no row has stay.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.faults import JournalFault
from linecheck.grade.terms import Graded
from linecheck.journal import (
    Entry,
    chart_key,
    date_of_take,
    entry_loss,
    entry_of_judgement,
    others_with,
    record,
    student_name,
)
from linecheck.journal.student_and_date import LONGEST_NAME
from linecheck.music.form import chart_beat_quarters
from linecheck.read import read_chart
from linecheck.read.file_names import listed, plain

if TYPE_CHECKING:
    from pathlib import Path

    from linecheck.grade.book import GradeBook
    from linecheck.grade.terms import Row
    from linecheck.grade.work import Job

__all__ = ["JournalEntries"]

_DAY = len("2026-11-20")


class JournalEntries:
    """Makes an entry for every graded row of a book that is not anonymous; none without a journal.

    Attributes:
        made: the entries so far.
    """

    def __init__(self, book: GradeBook, journal: Path | None) -> None:
        self.made: list[Entry] = []
        self._classes: list[str] = []  # of the rows that they are made of
        self._book = book
        self._journal = journal
        self._charts: dict[Path, tuple[str, float]] = {}  # key, quarter notes a beat

    def add(self, index: int, row: Row) -> None:
        """Make the entry of a row.

        Raises:
            InputFault: a chart that was read before cannot be read any more.
        """
        job = self._book.found(index).job
        if self._journal is not None and isinstance(row, Graded) and job is not None:
            if job.chart not in self._charts:
                chart = read_chart(job.chart)
                self._charts[job.chart] = chart_key(chart), chart_beat_quarters(chart)
            self.made.append(_entry(row, job, *self._charts[job.chart], self._book.folder))
            self._classes.append(row.submission.class_name)

    def notes(self) -> list[str]:
        """Which takes are another student's too, or were; the class of each is told."""
        if self._journal is None:
            return []
        try:
            others = others_with(self._journal, self.made)
        except JournalFault:  # is told when it is to be written
            return []
        notes = []
        for entry, class_name, other in zip(self.made, self._classes, others, strict=True):
            for names, since in ((other.keep, ""), (other.lose, ", and no longer is")):
                if names:
                    whose = listed([f"{name}'s" for name in names])
                    take = f"the take of {entry.student} ({plain(entry.take)})"
                    notes.append(f"{take} was noted as {whose} before{since}")
                    self._book.tell(notes[-1], class_name)
        return list(dict.fromkeys(notes))

    def record(self) -> list[Path]:
        """Write the entries into the journal, and say which file that is.

        Raises:
            JournalFault: it is none, or cannot be written.
        """
        if self._journal is None:
            return []
        record(self._journal, self.made, settled=True)
        return [self._journal]


def _entry(row: Graded, job: Job, key_of_chart: str, quarters_a_beat: float, folder: Path) -> Entry:
    evidence = row.judgement.evidence
    assert evidence is not None  # noqa: S101  (a graded row is made of its evidence)
    handed_in = row.submission.submitted[:_DAY] or None
    day, origin = date_of_take(job.take, handed_in, within=folder)
    return entry_of_judgement(
        row.judgement,
        evidence=evidence,
        feel=row.feel,
        quarters_a_beat=quarters_a_beat,
        losses=tuple(
            entry_loss(loss, loss.begins, recovered=loss.recovered is not None)
            for loss in row.losses
            if loss.certain
        ),
        student=student_name(row.submission.student[:LONGEST_NAME]),
        date=day,
        date_origin=origin,
        take=job.take.name,
        take_key=job.take_hash,
        kind=row.kind,
        chart=row.title,
        chart_key=key_of_chart,
        notes=row.notes,
        grid=row.grid,
        version=row.linecheck,
        class_name=student_name(row.submission.class_name[:LONGEST_NAME]),
    )
