"""grade book: the rows of all submissions of a folder, weighed by one rubric."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, overload

from linecheck import steps
from linecheck.faults import InputFault, OptionFault
from linecheck.grade.find_submissions import find_submissions
from linecheck.grade.findings import findings_of
from linecheck.grade.rows import graded_row, is_late
from linecheck.grade.terms import Refused, Row
from linecheck.terms import Rubric

if TYPE_CHECKING:
    from os import PathLike

    from linecheck.grade.findings import Findings
    from linecheck.grade.terms import Submission

__all__ = ["GradeBook", "grade_folder"]


class GradeBook(Sequence[Row]):
    """A row for every submission, in the order of class, student and take.

    Rows are made when they are asked for, so that a book of thousands takes little memory: go
    through it once where that is enough.
    """

    def __init__(
        self,
        folder: Path,
        found: Sequence[tuple[Submission, Findings | str]],
        rubric: Rubric,
        pass_mark: float | None,
    ) -> None:
        self.folder = folder
        self.rubric = rubric
        self.pass_mark = rubric.pass_mark if pass_mark is None else pass_mark
        self._found = found

    def __len__(self) -> int:
        return len(self._found)

    @overload
    def __getitem__(self, index: int) -> Row: ...
    @overload
    def __getitem__(self, index: slice) -> Sequence[Row]: ...
    def __getitem__(self, index: int | slice) -> Row | Sequence[Row]:
        if isinstance(index, slice):
            return [self[at] for at in range(*index.indices(len(self)))]
        submission, found = self._found[index]
        if isinstance(found, str):
            return Refused(submission, found, is_late(submission))
        return graded_row(submission, found, self.rubric, pass_mark=self.pass_mark)


def grade_folder(
    folder: str | PathLike[str],
    *,
    chart: str | PathLike[str] | None = None,
    rubric: Rubric | str | PathLike[str] | None = None,
    pass_mark: float | None = None,
) -> GradeBook:
    """Grade all takes of a folder.

    Args:
        folder: where the takes are.
        chart: the chart of all takes; None: found beside them.
        rubric: a Rubric, or the file of one; None is the packaged one.
        pass_mark: 0 to 100; None: that of the rubric, if it asks for one.

    Raises:
        InputFault: the folder, the chart or the rubric cannot be used. What is wrong with one
            submission is the reason in its row.
    """
    root = Path(folder)
    if not root.is_dir():
        raise OptionFault("is no folder; a folder of takes was expected", source=str(folder))
    weights = rubric if isinstance(rubric, Rubric) else steps.read_rubric(rubric)
    submissions = find_submissions(root, None if chart is None else Path(chart))
    return GradeBook(root, [(s, _audit(s)) for s in submissions], weights, pass_mark)


def _audit(submission: Submission) -> Findings | str:
    if submission.take is None or submission.chart is None:
        return "no chart was found for it"
    options = submission.options
    try:
        return findings_of(
            steps.audit(
                submission.chart,
                submission.take,
                track=options.track,
                tempo=options.tempo,
                first_beat_one=options.first_beat_one,
                click=options.click,
            )
        )
    except InputFault as fault:
        return fault.problem
