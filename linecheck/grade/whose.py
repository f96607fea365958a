"""Whose a take is in a folder without a table: the one rule that ``grade`` and ``progress`` share.

The last folder is the student, those above it are the class; a take that lies in no folder belongs
to the student that it is called by. With ``subfolders="classes"`` all folders are the class, and
every student is called by the file.

A folder that is called by a week (``2026-03-01``, ``2026-03-01 blues``, ``KW 10``) is neither; a
day is no part of any other name, so that ``2026-03-01 Mira.mid`` is Mira's. Where a file is called
by nothing but its day, it belongs to the one whose folder was given.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, TypeAlias

from linecheck.read.days_in_names import is_week, name_without_day
from linecheck.read.file_names import plain

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["Subfolders", "take_in_its_week", "whose"]

Subfolders: TypeAlias = Literal["students", "classes"]


def whose(take: Path, folder: Path, subfolders: Subfolders = "students") -> tuple[str, str]:
    """The student and the class of a take.

    Args:
        take: the file of the take.
        folder: the folder that was given, in which the take lies.
        subfolders: what a folder in the folder is.

    Returns:
        The name of the student, and that of the class, "" where there are no classes.
    """
    parts = [plain(part) for part in take.relative_to(folder).parts[:-1]]
    folders = [name_without_day(part) for part in parts if not is_week(part)]
    by_file = name_without_day(plain(take.stem))
    if folders and (subfolders == "students" or not by_file):
        student = folders.pop()
    else:
        student = by_file or _name_of(folder)
    return student, " / ".join(folders)


def take_in_its_week(take_name: str) -> str:
    """A take by its file, below the weeks that folders on the way to it are called by."""
    *folders, file = take_name.split("/")
    return "/".join((*(name for name in folders if is_week(name)), file))


def _name_of(folder: Path) -> str:
    name = plain(folder.resolve().name)
    return name_without_day(name) or name
