"""The takes of a folder as entries, where no journal was kept: for the course of each student.

Takes, their charts and whose they are are found as ``linecheck grade`` finds them, also by the
table of the folder; so both name the same students.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from linecheck import steps
from linecheck.faults import InputFault, OptionFault
from linecheck.grade.book import submissions_of
from linecheck.grade.terms import Refused
from linecheck.journal import JOURNAL_NAME, entry_of_audit
from linecheck.journal.student_and_date import LONGEST_NAME

if TYPE_CHECKING:
    from collections.abc import Callable
    from os import PathLike

    from linecheck.grade.terms import Submission
    from linecheck.grade.whose import Subfolders
    from linecheck.journal import Entry

__all__ = ["entries_of_folder"]

_DAY = len("2026-11-20")


def entries_of_folder(
    folder: str | PathLike[str],
    progress: Callable[[int, int], None] | None = None,
    *,
    chart: str | PathLike[str] | None = None,
    subfolders: Subfolders = "students",
) -> tuple[tuple[Entry, ...], tuple[str, ...]]:
    """An entry for every take of a folder that can be audited.

    Args:
        folder: where the takes are.
        progress: is called with how many takes are done, and how many there are.
        chart: the chart of all takes; None: found beside them, or named by the table.
        subfolders: what a folder in the folder is, where there is no table.

    Returns:
        The entries by student, day and take, and what was left out and why.

    Raises:
        InputFault: the folder holds no take that can be audited, or its table or the chart cannot
            be used.
    """
    root = Path(folder)
    for_all = None if chart is None else Path(chart)
    if for_all is not None and not for_all.is_file():
        raise OptionFault("no such file; the chart of all takes was expected", source=str(chart))
    rows, _ = submissions_of(root, None, for_all, subfolders, [root / JOURNAL_NAME])
    entries: list[Entry] = []
    left_out: list[str] = []
    for done, row in enumerate(rows, 1):
        found = _entry(row, root)
        if isinstance(found, str):
            left_out.append(f"{row_name(row)}: {found}")
        else:
            entries.append(found)
        if progress is not None:
            progress(done, len(rows))
    if not entries:
        raise OptionFault(f"holds no take that can be audited; {left_out[0]}", source=str(folder))
    entries.sort(key=lambda entry: (entry.student, entry.date, entry.take))
    return tuple(entries), tuple(left_out)


def row_name(row: Submission | Refused) -> str:
    """How a take that was left out is called."""
    return row.submission.take_name if isinstance(row, Refused) else row.take_name


def _entry(row: Submission | Refused, folder: Path) -> Entry | str:
    """The entry of a take, or why there is none."""
    if isinstance(row, Refused):
        return row.reason
    if row.take is None or row.chart is None:
        return "no chart was found for it"
    options = row.options
    try:
        return entry_of_audit(
            steps.audit(
                row.chart,
                row.take,
                key=options.key,
                track=options.track,
                tempo=options.tempo,
                first_beat_one=options.first_beat_one,
                click=options.click,
            ),
            student=row.student[:LONGEST_NAME],
            date=row.submitted[:_DAY] or None,
            take_file=row.take,
            class_name=row.class_name[:LONGEST_NAME],
            within=folder,
        )
    except InputFault as fault:
        return fault.problem
