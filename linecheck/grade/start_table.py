"""A table of submissions to begin with: the takes of a folder, for the teacher to fill in.

A row a take, with its student, class and chart as far as they can be told. It has a byte order
mark, by which spreadsheets know that it is UTF-8.
"""

from __future__ import annotations

import csv
import io
import os
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from linecheck.faults import OptionFault, OutputFault
from linecheck.grade.columns import text_cell
from linecheck.grade.find_submissions import find_submissions
from linecheck.grade.submission_table import TABLES, find_table
from linecheck.grade.terms import Refused
from linecheck.output_files import write_whole
from linecheck.report.figures import counted, plain
from linecheck.report.page import Page

if TYPE_CHECKING:
    from collections.abc import Collection
    from os import PathLike

    from linecheck.grade.find_submissions import Subfolders
    from linecheck.grade.terms import Submission

__all__ = ["StartedTable", "start_table", "started_page"]


class StartedTable(NamedTuple):
    """A table that was begun: its file, its takes, and why some of them have no chart."""

    file: Path
    takes: int
    open_reasons: dict[str, int]
    notes: tuple[str, ...]


def start_table(
    folder: str | PathLike[str],
    *,
    chart: str | PathLike[str] | None = None,
    subfolders: Subfolders = "students",
    leave_out: Collection[Path] = (),
) -> StartedTable:
    """Write ``submissions.csv`` into a folder, with its takes. Nothing is graded.

    Args:
        folder: where the takes are.
        chart: the chart of all takes; None: found beside them.
        subfolders: what a folder in the folder is.
        leave_out: files and folders that are not looked at.

    Raises:
        OptionFault: there is no such folder or chart, or no take.
        OutputFault: the folder has a table, or it cannot be written.
    """
    root = Path(folder)
    if not root.is_dir():
        raise OptionFault("is no folder; a folder of takes was expected", source=str(folder))
    for_all = None if chart is None else Path(chart)
    if for_all is not None and not for_all.is_file():
        raise OptionFault("no such file; the chart of all takes was expected", source=str(chart))
    there = find_table(root)
    if there is not None:
        raise OutputFault("there is a table already; it stays as it is", source=str(there))
    rows, notes = find_submissions(root, chart=for_all, subfolders=subfolders, leave_out=leave_out)
    if not rows:
        raise OptionFault("holds no take to begin a table with", source=str(folder))
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(("student", "class", "take", "chart"))
    open_reasons: dict[str, int] = {}
    for row in rows:
        if isinstance(row, Refused):
            why = row.reason.partition("; ")[0]  # what to do about it is to fill in the table
            open_reasons[why] = open_reasons.get(why, 0) + 1
        writer.writerow(map(text_cell, _cells(row, root)))
    file = root / TABLES[0]
    write_whole(file, text.getvalue().encode("utf-8-sig", "replace"))
    return StartedTable(file, len(rows), open_reasons, tuple(note.text for note in notes))


def _cells(row: Submission | Refused, root: Path) -> tuple[str, str, str, str]:
    submission = row.submission if isinstance(row, Refused) else row
    take, chart = (
        Path(os.path.relpath(file, root)).as_posix() if file else ""
        for file in (submission.take, submission.chart)
    )
    return submission.student, submission.class_name, take, chart


def started_page(table: StartedTable, *, width: int = 80) -> Page:
    """What is said of a table that was begun."""
    page = Page(width)
    page.say(f"{plain(str(table.file))}: begun with {counted(table.takes, 'take')}", hang=2)
    if table.open_reasons:
        page.heading("The chart is still open")
        page.points(
            f"{counted(number, 'take')}: {plain(why)}" for why, number in table.open_reasons.items()
        )
    if table.notes:
        page.heading("Mind")
        page.points(table.notes)
    page.gap()
    page.say(
        "Fill it in, add columns such as due and submitted where you need them, and grade the "
        "folder."
    )
    return page
