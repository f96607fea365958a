"""Whose take it is, and of which day.

The date of a take is the one given, else the nearest that stands in the name of its file or of a
folder that the file is in (``2026-03-01 blues.mid``), else the day on which the file was last
changed, by the clock of this machine. Which of the three it was stands beside it.
"""

from __future__ import annotations

import re
import unicodedata
from datetime import date as Date  # noqa: N812  (a type, and "date" is the option's name)
from datetime import datetime
from typing import TYPE_CHECKING

from linecheck.faults import OptionFault
from linecheck.read.days_in_names import days_in

if TYPE_CHECKING:
    from pathlib import Path

    from linecheck.journal.entry import DateOrigin

__all__ = ["checked_date", "date_of_take", "student_name"]

LONGEST_NAME = 120
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


def student_name(name: str) -> str:
    """A name as it is kept: one spelling of its letters (NFC), single spaces, no control signs.

    Raises:
        OptionFault: it is longer than a name is.
    """
    text = unicodedata.normalize("NFC", name)
    kept = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    if len(kept) > LONGEST_NAME:
        raise OptionFault(
            f"the name of the student has {len(kept)} letters; at most {LONGEST_NAME} are kept"
        )
    return kept


def checked_date(text: str) -> str:
    """The text of a date.

    Raises:
        OptionFault: it is none.
    """
    try:
        if _DATE.fullmatch(text):
            return Date.fromisoformat(text).isoformat()
    except ValueError:
        pass
    raise OptionFault(f"the date is {text[:40]!r}; expected year-month-day such as 2026-03-01")


def date_of_take(
    file: Path, date: str | None = None, *, within: Path | None = None
) -> tuple[str, DateOrigin]:
    """The day of a take and where it is known from.

    Args:
        file: the file of the take.
        date: the day that is given; None: by the names, else by the file.
        within: the folder below which a name on the way to the file may hold the day; None: only
            the folder that the file is in.

    Raises:
        OptionFault: the date is none, or there is no file to take one from.
    """
    if date is not None:
        return checked_date(date), "given"
    names = [file.name, file.absolute().parent.name]
    if within is not None and file.is_relative_to(within):
        names += reversed(file.relative_to(within).parts[:-2])
    for name in names:
        if days := days_in(name):
            return days[0], "name"
    try:
        changed = file.stat().st_mtime
    except (OSError, ValueError):
        raise OptionFault(
            f"no date is given for {file.name or 'the take'}, and there is no file to take one from"
        ) from None
    return datetime.fromtimestamp(changed).astimezone().date().isoformat(), "file"
