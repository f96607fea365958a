"""grade book: the rows of all submissions of a folder, weighed by one rubric."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, overload

from linecheck.faults import OptionFault
from linecheck.grade.anonymous import blanked, hide_names, names_key
from linecheck.grade.audits import Found, audit_all
from linecheck.grade.find_submissions import TAKES_ARE, Note, find_submissions, in_order
from linecheck.grade.findings import read_findings
from linecheck.grade.kept_audits import KeptAudits
from linecheck.grade.rows import graded_row, is_late
from linecheck.grade.submission_table import find_table, read_submissions
from linecheck.grade.terms import Refused, Row
from linecheck.grade.work import reason_of
from linecheck.read import read_rubric
from linecheck.read.file_names import listed
from linecheck.terms import Rubric

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator
    from os import PathLike

    from linecheck.grade.find_submissions import Subfolders
    from linecheck.grade.terms import Submission

__all__ = ["GradeBook", "grade_folder", "submissions_of"]


class GradeBook(Sequence[Row]):
    """A row for every submission, in the order of class, student and take.

    Rows are made when they are asked for, so that a book of thousands takes little memory: go
    through it once where that is enough. ``notes`` says what was noticed about the folder as a
    whole; ``audited`` counts the takes that were audited now, and not before.
    """

    def __init__(
        self,
        folder: Path,
        found: Sequence[Found],
        kept: KeptAudits,
        rubric: Rubric,
        *,
        pass_mark: float | None = None,
        notes: Sequence[str] = (),
        audited: int = 0,
    ) -> None:
        self.folder = folder
        self.rubric = rubric
        self.pass_mark = rubric.pass_mark if pass_mark is None else pass_mark
        self.notes = tuple(notes)
        self.audited = audited
        self._found = found
        self._kept = kept

    def __len__(self) -> int:
        return len(self._found)

    def __iter__(self) -> Iterator[Row]:
        with self._kept.reading():
            for index in range(len(self)):
                yield self[index]

    @overload
    def __getitem__(self, index: int) -> Row: ...
    @overload
    def __getitem__(self, index: slice) -> Sequence[Row]: ...
    def __getitem__(self, index: int | slice) -> Row | Sequence[Row]:
        if isinstance(index, slice):
            return [self[at] for at in range(*index.indices(len(self)))]
        found = self._found[index]
        kept = self._kept.get(found.key) if found.key and not found.reason else None
        reason = found.reason if kept is None else reason_of(kept)
        if kept is None or reason is not None:
            reason = blanked(reason or "its audit was lost; grade once more", found.hidden)
            return Refused(found.submission, reason, is_late(found.submission), found.key)
        findings = read_findings(kept)
        warnings = tuple(blanked(text, found.hidden) for text in findings.warnings)
        return graded_row(
            found.submission,
            replace(findings, warnings=warnings),
            self.rubric,
            pass_mark=self.pass_mark,
            key=found.key,
        )

    def found(self, index: int) -> Found:
        """What a row is made of: its submission, and the work from which its audit comes."""
        return self._found[index]

    @property
    def kept(self) -> KeptAudits:
        """Where the audits are kept."""
        return self._kept

    def regraded(
        self,
        rubric: Rubric | str | PathLike[str] | None = None,
        *,
        pass_mark: float | None = None,
    ) -> GradeBook:
        """The same book by another rubric; no take is read."""
        weights = rubric if isinstance(rubric, Rubric) else read_rubric(rubric)
        return GradeBook(
            self.folder,
            self._found,
            self._kept,
            weights,
            pass_mark=pass_mark,
            notes=self.notes,
        )


def grade_folder(
    folder: str | PathLike[str],
    *,
    chart: str | PathLike[str] | None = None,
    submissions: str | PathLike[str] | None = None,
    subfolders: Subfolders = "students",
    rubric: Rubric | str | PathLike[str] | None = None,
    pass_mark: float | None = None,
    keep_in: str | PathLike[str] | None = None,
    leave_out: Collection[str | PathLike[str]] = (),
    anonymous: bool = False,
    jobs: int | None = None,
    cluster: object = None,
    progress: Callable[[int, int], None] | None = None,
) -> GradeBook:
    """Grade all takes of a folder.

    Args:
        folder: where the takes are.
        chart: the chart of all takes; None: found beside them, or named by the table.
        submissions: a table of submissions; None: ``submissions.csv`` (or .tsv, .xlsx) in the
            folder, and without one the takes are found.
        subfolders: what a folder in the folder is, where there is no table.
        rubric: a Rubric, or the file of one; None is the packaged one.
        pass_mark: 0 to 100; None: that of the rubric, if it asks for one.
        keep_in: a folder to keep audits in. A take that is in it is not audited again, also by
            another rubric, and a run that is stopped goes on where it was. None: in memory.
        leave_out: files and folders in the folder that are not looked at.
        anonymous: with pseudonyms for the students, and without any name in any text. They are
            the same in every run that keeps its audits in the same folder.
        jobs: how many processes work at once; None: one a core; 1 works in this process.
        cluster: the address of a Dask scheduler, or a ``distributed.Client``, to work there.
        progress: is called with how many takes are done, and how many there are.

    Raises:
        InputFault: the folder, the table, the chart or the rubric cannot be used. What is wrong
            with one submission is the reason in its row.
    """
    root = Path(folder)
    if not root.is_dir():
        raise OptionFault("is no folder; a folder of takes was expected", source=str(folder))
    weights = rubric if isinstance(rubric, Rubric) else read_rubric(rubric)
    for_all = None if chart is None else Path(chart)
    if for_all is not None and not for_all.is_file():
        raise OptionFault("no such file; the chart of all takes was expected", source=str(chart))
    keep_folder = None if keep_in is None else Path(keep_in)
    rows, notes = submissions_of(
        root,
        None if submissions is None else Path(submissions),
        for_all,
        subfolders,
        [Path(path) for path in leave_out] + ([keep_folder] if keep_folder else []),
    )
    kept = KeptAudits(keep_folder)
    try:
        found, audited = audit_all(
            rows, root, kept, jobs=jobs, cluster=cluster, progress=progress or (lambda *_: None)
        )
    finally:
        kept.close()
    said = [note.for_strangers if anonymous else note.text for note in notes]
    if anonymous:
        found = hide_names(found, names_key(keep_folder))
    said += _same_takes(found)
    return GradeBook(root, found, kept, weights, pass_mark=pass_mark, notes=said, audited=audited)


def submissions_of(
    root: Path,
    submissions: Path | None,
    chart: Path | None,
    subfolders: Subfolders,
    leave_out: Collection[Path],
) -> tuple[Sequence[Submission | Refused], list[Note]]:
    """The submissions of a table where there is one, else those that are found."""
    table = find_table(root) if submissions is None else submissions
    if table is not None:
        return in_order(read_submissions(table, root, chart=chart)), []
    rows, notes = find_submissions(root, chart=chart, subfolders=subfolders, leave_out=leave_out)
    if not rows:
        raise OptionFault(f"holds no take; {TAKES_ARE}", source=str(root))
    return rows, notes


def _same_takes(found: Sequence[Found]) -> list[str]:
    """A note for every take that several students handed in as their own."""
    by_content: dict[str, list[Submission]] = {}
    for one in found:
        if one.take_hash:
            by_content.setdefault(one.take_hash, []).append(one.submission)
    notes = []
    for same in by_content.values():
        names = dict.fromkeys(submission.student for submission in same)
        if len(names) > 1 and len({submission.take for submission in same}) > 1:
            notes.append(f"handed in by {listed(list(names))}: files that are the same to the byte")
    return notes
