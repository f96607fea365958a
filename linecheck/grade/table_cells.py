"""The cells of a table of submissions: text, dates, tempos, and yes or no.

Spreadsheets give numbers, dates and truth values as such, text files as text; both are read to
the same.
"""

from __future__ import annotations

import math
import re
from datetime import date, datetime, time
from typing import TypeAlias

__all__ = ["Cell", "RowTrouble", "cell_text", "moment", "tempo", "yes_or_no"]

Cell: TypeAlias = str | int | float | bool | datetime | date | time | None

YES, NO = ("yes", "true", "1", "click"), ("no", "false", "0", "free")
SLOWEST, FASTEST = 20.0, 500.0


class RowTrouble(Exception):
    """What is wrong with one row of a table."""


def cell_text(cell: Cell) -> str:
    """A cell as text on one line; 3.0 of a spreadsheet is 3, and a time 03:02 is 3:2."""
    if cell is None:
        return ""
    if isinstance(cell, float) and cell.is_integer():
        cell = int(cell)
    if isinstance(cell, time):
        return f"{cell.hour}:{cell.minute}"
    return " ".join("".join(c if c.isprintable() else " " for c in str(cell)).split())


def tempo(text: str) -> float | None:
    """Quarter notes a minute, with a decimal point or comma; None where the cell is empty."""
    if not text:
        return None
    try:
        found = float(text.replace(",", "."))
    except ValueError:
        found = math.nan
    if not SLOWEST <= found <= FASTEST:
        raise RowTrouble(
            f"tempo is {text[:40]!r}; expected quarter notes a minute, {SLOWEST:g} to {FASTEST:g}"
        )
    return found


def yes_or_no(text: str) -> bool | None:
    """Yes, no, or None where the cell is empty."""
    if text.casefold() in YES:
        return True
    if text.casefold() in NO:
        return False
    if text:
        raise RowTrouble(f"click is {text[:40]!r}; expected yes, no or nothing")
    return None


# ---- dates -----------------------------------------------------------------------------------

_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]+(\d{1,2}):(\d\d)(?::(\d\d)(?:\.0+)?)?)?")
_DOTTED = re.compile(r"(\d{1,2})\. ?(\d{1,2})\. ?(\d{4})(?: +(\d{1,2}):(\d\d)(?::(\d\d))?)?")


def moment(cell: Cell, column: str) -> str:
    """A date, with its time where there is one, as ISO 8601: ``"2026-11-20 18:00"``."""
    if isinstance(cell, datetime):
        midnight = cell.time() == time()
        return f"{cell:%Y-%m-%d}" if midnight else f"{cell:%Y-%m-%d %H:%M}"
    if isinstance(cell, date):
        return cell.isoformat()
    text = cell_text(cell)
    if not text:
        return ""
    if found := _ISO.fullmatch(text):
        year, month, day, *clock = found.groups()
    elif found := _DOTTED.fullmatch(text):
        day, month, year, *clock = found.groups()
    else:
        raise RowTrouble(f"{column} is {text[:40]!r}; expected a date such as 2026-11-20")
    try:
        hour, minute, second = (int(part or 0) for part in clock)
        found_moment = datetime(int(year), int(month), int(day), hour, minute, second)  # noqa: DTZ001  (by the teacher's clock)
    except ValueError:
        raise RowTrouble(f"{column} is {text[:40]!r}; there is no such day or time") from None
    return f"{found_moment:%Y-%m-%d %H:%M}" if clock[0] else f"{found_moment:%Y-%m-%d}"
