"""The takes of a folder as entries, where no journal was kept: for the course of each student.

Takes and charts are found as ``linecheck grade`` finds them. Where every folder in the folder is
called by a day (``2026-03-01``), the takes in it are called by their students; else a folder is a
student. A day in the name of a take is no part of a name, so that ``2026-03-01 Mira.mid`` is
Mira's and ``2026-03-01.mid`` belongs to the one student there is.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from linecheck import steps
from linecheck.faults import InputFault, OptionFault
from linecheck.grade.find_submissions import find_submissions
from linecheck.grade.terms import Refused
from linecheck.journal import JOURNAL_NAME, entry_of_audit

if TYPE_CHECKING:
    from collections.abc import Callable
    from os import PathLike

    from linecheck.grade.terms import Submission
    from linecheck.journal import Entry

__all__ = ["entries_of_folder"]

_DAY = re.compile(r"(?<![0-9])[0-9]{4}-[0-9]{2}-[0-9]{2}(?![0-9])")


def entries_of_folder(
    folder: str | PathLike[str], progress: Callable[[int, int], None] | None = None
) -> tuple[tuple[Entry, ...], tuple[str, ...]]:
    """An entry for every take of a folder that can be audited.

    Args:
        folder: where the takes are.
        progress: is called with how many takes are done, and how many there are.

    Returns:
        The entries by student, day and take, and what was left out and why.

    Raises:
        OptionFault: the folder holds no take that can be audited.
    """
    root = Path(folder)
    inside = [path.name for path in root.iterdir() if path.is_dir() and path.name[:1] != "."]
    days = [name for name in inside if _DAY.search(name)]
    rows, _ = find_submissions(
        root,
        subfolders="classes" if days else "students",
        leave_out=[root / JOURNAL_NAME],
    )
    entries: list[Entry] = []
    left_out: list[str] = []
    for done, row in enumerate(rows, 1):
        found = _entry(row)
        if isinstance(found, str):
            left_out.append(f"{row_name(row)}: {found}")
        else:
            entries.append(found)
        if progress is not None:
            progress(done, len(rows))
    if not entries:
        why = f"; {left_out[0]}" if left_out else "; takes are MIDI, MusicXML and ABC files"
        raise OptionFault(f"holds no take that can be audited{why}", source=str(folder))
    entries.sort(key=lambda entry: (entry.student, entry.date, entry.take))
    return tuple(entries), tuple(left_out)


def row_name(row: Submission | Refused) -> str:
    """How a take that was left out is called."""
    return row.submission.take_name if isinstance(row, Refused) else row.take_name


def _entry(row: Submission | Refused) -> Entry | str:
    """The entry of a take, or why there is none."""
    if isinstance(row, Refused):
        return row.reason
    if row.take is None or row.chart is None:
        return "no chart was found for it"
    try:
        return entry_of_audit(
            steps.audit(row.chart, row.take),
            student=_DAY.sub(" ", row.student).strip(" _-,."),
            take_file=row.take,
        )
    except InputFault as fault:
        return fault.problem
