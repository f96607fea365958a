"""grade book: the rows of all submissions of a folder, weighed by one rubric."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, get_args, overload

from linecheck.arguments import (
    checked_choice,
    checked_count,
    checked_pass_mark,
    checked_progress,
)
from linecheck.faults import OptionFault
from linecheck.grade.anonymous import blanked, hide_names, names_key, shown_title
from linecheck.grade.audits import Found, audit_all
from linecheck.grade.find_submissions import TAKES_ARE, Note, find_submissions, in_order
from linecheck.grade.findings import read_findings
from linecheck.grade.kept_audits import KeptAudits
from linecheck.grade.rows import graded_row, is_late
from linecheck.grade.submission_table import find_table, read_submissions
from linecheck.grade.terms import Refused, Row
from linecheck.grade.whose import Subfolders
from linecheck.grade.work import reason_of
from linecheck.read import read_rubric
from linecheck.read.file_names import alike_names, listed, near_names
from linecheck.terms import Remark, Rubric

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
    from os import PathLike

    from linecheck.grade.anonymous import Alias
    from linecheck.grade.terms import Submission
    from linecheck.read.file_names import AlikeNames

__all__ = ["GradeBook", "grade_folder", "submissions_of"]


LOST = Remark("its audit was lost; grade once more")


class GradeBook(Sequence[Row]):
    """A row for every submission, in the order of class, student and take.

    Rows are made when they are asked for, so that a book of thousands takes little memory: go
    through it once where that is enough. ``notes`` says what was noticed about the folder as a
    whole; ``audited`` counts the takes that were audited now, and not before. ``names_file`` is
    where it stands whose pseudonyms those of an anonymous book are, if it was kept.
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
        classes: Mapping[str, frozenset[str]] | None = None,
        names_file: Path | None = None,
    ) -> None:
        self.folder = folder
        self.rubric = rubric
        self.pass_mark = rubric.pass_mark if pass_mark is None else pass_mark
        self.notes = tuple(notes)
        self.audited = audited
        self.names_file = names_file
        self._classes = dict(classes or {})
        self._found = found
        self._kept = kept

    def __repr__(self) -> str:
        """In one line, for a notebook; no audit is read for it."""
        many = f"{len(self)} submission{'' if len(self) == 1 else 's'}"
        return f"GradeBook({self.folder.resolve().name}: {many}, rubric {self.rubric.name})"

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
        shown_key = found.shown_key or found.key
        reason = found.reason if kept is None else reason_of(kept, found.submission.where)
        if kept is None or reason is not None:
            reason = blanked(reason or LOST, found.hidden)
            return Refused(found.submission, reason, is_late(found.submission), shown_key)
        findings = read_findings(kept)
        submission = found.submission
        said = [
            Remark(f"{submission.where}: {remark}".lstrip(": ")) for remark in submission.remarks
        ]
        warnings = tuple(blanked(text, found.hidden) for text in (*findings.warnings, *said))
        title = shown_title(
            findings.title,
            submission.chart_name,
            found.hidden,
            in_key=submission.options.key is not None,
        )
        return graded_row(
            found.submission,
            replace(findings, title=title, warnings=warnings),
            self.rubric,
            pass_mark=self.pass_mark,
            key=shown_key,
        )

    def found(self, index: int) -> Found:
        """What a row is made of: its submission, and the work from which its audit comes."""
        return self._found[index]

    @property
    def kept(self) -> KeptAudits:
        """Where the audits are kept."""
        return self._kept

    def tell(self, note: str, class_name: str) -> None:
        """Have a note stand only where this class is spoken of."""
        self._classes[note] = frozenset((class_name,))

    def concerns(self, note: str, class_name: str) -> bool:
        """Whether a note is about a class: one about students only where one of them is in it."""
        classes = self._classes.get(note)
        return classes is None or class_name in classes

    def regraded(
        self,
        rubric: Rubric | str | PathLike[str] | None = None,
        *,
        pass_mark: float | None = None,
    ) -> GradeBook:
        """The same book by another rubric; no take is read."""
        pass_mark = checked_pass_mark(pass_mark)
        weights = rubric if isinstance(rubric, Rubric) else read_rubric(rubric)
        return GradeBook(
            self.folder,
            self._found,
            self._kept,
            weights,
            pass_mark=pass_mark,
            notes=self.notes,
            classes=self._classes,
            names_file=self.names_file,
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
            the same in every run that keeps its audits in the same folder, and whose they are is
            written there.
        jobs: how many processes work at once; None: one a core; 1 works in this process.
        cluster: the address of a Dask scheduler, or a ``distributed.Client``, to work there.
        progress: is called with how many takes are done, and how many there are.

    Raises:
        InputFault: the folder, the table, the chart, the rubric or another argument cannot be
            used. What is wrong with one submission is the reason in its row.
    """
    pass_mark = checked_pass_mark(pass_mark)
    jobs = checked_count(jobs, "jobs", "processes")
    checked_choice(subfolders, "subfolders", get_args(Subfolders))
    checked_progress(progress)
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
    names_file = None
    people = [(one.submission.student, one.submission.class_name) for one in found]
    alike = [*alike_names(people), *near_names(people)]
    if anonymous:
        found, aliases = hide_names(found, names_key(keep_folder))
        alike = [_under_pseudonyms(same, aliases) for same in alike]
        if keep_folder is not None:
            from linecheck.grade.names_file import write_names  # noqa: PLC0415

            names_file = write_names(aliases, keep_folder)
    about = {same.question: same.classes for same in alike} | _same_takes(found)
    return GradeBook(
        root,
        found,
        kept,
        weights,
        pass_mark=pass_mark,
        notes=(*said, *about),
        audited=audited,
        classes=about,
        names_file=names_file,
    )


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
        of_table, notes = read_submissions(table, root, chart=chart, leave_out=leave_out)
        return in_order(of_table), notes
    rows, notes = find_submissions(root, chart=chart, subfolders=subfolders, leave_out=leave_out)
    if not rows:
        raise OptionFault(f"holds no take; {TAKES_ARE}", source=str(root))
    return rows, notes


def _under_pseudonyms(alike: AlikeNames, aliases: Iterable[Alias]) -> AlikeNames:
    """The same of an anonymous book, in which classes keep their names."""
    if alike.what != "student":
        return alike
    names = {
        shown.student
        for real, shown in aliases
        if real.student in alike.names and real.class_name in alike.classes
    }
    return alike._replace(names=tuple(sorted(names)))


def _same_takes(found: Sequence[Found]) -> dict[str, frozenset[str]]:
    """A note for every take that was handed in twice, by one student or by several, with classes.

    Two tracks of one file may well be two students' takes.
    """
    by_content: dict[tuple[str, str | None], list[Submission]] = {}
    several = Counter(
        (one.submission.class_name, one.submission.student) for one in found if one.submission.take
    )
    for one in found:
        if one.take_hash:
            of_take = (one.take_hash, one.submission.options.track)
            by_content.setdefault(of_take, []).append(one.submission)
    notes: dict[str, frozenset[str]] = {}
    for same in by_content.values():
        takes: dict[tuple[str, str], list[str]] = {}
        for submission in same:
            who = submission.class_name, submission.student
            of_student = takes.setdefault(who, [])
            if several[who] > 1:
                of_student.append(submission.take_name)
        files = len({submission.take for submission in same})
        if len(takes) < 2 and files < 2:
            continue
        classes = frozenset(name for name, _ in takes)
        what = "files that are the same to the byte" if files > 1 else "one and the same file"
        names = []
        for (class_name, student), of_student in takes.items():
            told = [*([class_name] if len(classes) > 1 and class_name else []), *of_student]
            names.append(f"{student} ({', '.join(told)})" if told else student)
        twice = "" if len(takes) > 1 else "twice " if len(same) == 2 else f"{len(same)} times "
        note = f"handed in {twice}by {listed(names)}: {what}"
        notes[note] = classes | notes.get(note, frozenset())
    return notes
