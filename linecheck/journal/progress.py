"""progress: the courses of a journal, found by its file or by the folder that it is in."""

from __future__ import annotations

import difflib
from pathlib import Path
from typing import TYPE_CHECKING

from linecheck.faults import JournalFault, OptionFault
from linecheck.journal import JOURNAL_NAME
from linecheck.journal.course import Course, anonymous, courses, goes_by, shown_name
from linecheck.journal.journal_file import entries
from linecheck.journal.student_and_date import student_name
from linecheck.report.figures import plain

if TYPE_CHECKING:
    from collections.abc import Sequence
    from os import PathLike

    from linecheck.journal.entry import Entry

__all__ = ["chosen_courses", "progress"]

_MOST_NAMES = 5


def progress(
    source: str | PathLike[str], *, student: str | None = None, hide: bool = False
) -> tuple[Course, ...]:
    """Each student's course over the weeks.

    Args:
        source: the file of a journal, or a folder with one in it.
        student: only this student, by the name in the journal (capitals do not matter), with the
            class after it (``Mira (Monday)``) where several have the name; else all of them.
        hide: numbers in place of the names of students and files.

    Raises:
        JournalFault: there is no journal, or it cannot be read.
        OptionFault: the journal has no such student.
    """
    return chosen_courses(entries(_journal_of(Path(source))), student=student, hide=hide)


def chosen_courses(
    found: Sequence[Entry], *, student: str | None = None, hide: bool = False
) -> tuple[Course, ...]:
    """The courses of entries; the arguments are those of ``progress``.

    Raises:
        OptionFault: there is no such student.
    """
    everybody = courses(found)
    if student is not None:
        student = _known(student_name(student), everybody, tell=not hide)
    if hide:
        return anonymous(everybody, student=student)
    return tuple(c for c in everybody if student is None or goes_by(c, student))


def _journal_of(path: Path) -> Path:
    if not path.is_dir():
        return path
    inside = path / JOURNAL_NAME
    if inside.is_file():
        return inside
    raise JournalFault(
        f"there is no {JOURNAL_NAME} in it; grade the folder first, or name the file of a journal",
        source=str(path),
    )


def _known(name: str, found: Sequence[Course], *, tell: bool) -> str:
    """The name as the journal has it, or with the class as it is shown."""
    names = sorted({course.student for course in found})
    called = {*names, *map(shown_name, found)}
    if name in called:
        return name
    alike = [known for known in called if known.casefold() == name.casefold()]
    if len(alike) == 1:
        return alike[0]
    said = f"no take is of {plain(name)!r}"
    named = [known for known in names if known]
    if tell and named:
        near = _near(name, named)
        shown = ", ".join(plain(known) for known in named[:_MOST_NAMES])
        more = f" and {len(named) - _MOST_NAMES} more" if named[_MOST_NAMES:] else ""
        said += f"; did you mean {plain(near)}?" if near else f"; there are {shown}{more}"
    raise OptionFault(said)


def _near(name: str, named: Sequence[str]) -> str | None:
    """Whose name, or a part of it, is spelled nearly so."""
    words = {word.casefold(): known for known in named for word in (known, *known.split())}
    near = difflib.get_close_matches(name.casefold(), words, n=1)
    return words[near[0]] if near else None
