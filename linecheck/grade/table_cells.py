"""The cells of a table of submissions: text, dates, tempos, and yes or no.

Spreadsheets give numbers, dates and truth values as such, text files as text; both are read to
the same.
"""

from __future__ import annotations

import math
import re
import unicodedata
from datetime import date, datetime, time, timedelta
from typing import TypeAlias

from linecheck.arguments import TEMPO
from linecheck.faults import OptionFault
from linecheck.music.other_key import named_key

__all__ = [
    "Cell",
    "RowTrouble",
    "bar_and_beat",
    "cell_text",
    "key_name",
    "moment",
    "tempo",
    "yes_or_no",
]

Cell: TypeAlias = str | int | float | bool | datetime | date | time | timedelta | None

YES, NO = ("yes", "true", "1", "click"), ("no", "false", "0", "free")


class RowTrouble(Exception):
    """What is wrong with one row of a table; ``names`` as in ``InputFault``."""

    def __init__(self, trouble: str, *names: str) -> None:
        super().__init__(trouble)
        self.names = names


def cell_text(cell: Cell) -> str:
    """A cell as text on one line; 3.0 of a spreadsheet is 3, and a time is 09:00."""
    if cell is None:
        return ""
    if isinstance(cell, float) and cell.is_integer():
        cell = int(cell)
    if isinstance(cell, time):
        return f"{cell:%H:%M}"
    return " ".join("".join(c if c.isprintable() else " " for c in str(cell)).split())


def bar_and_beat(cell: Cell) -> str:
    """A bar, or a bar and a beat ("3:2"), which a spreadsheet takes for a time or for hours."""
    if isinstance(cell, timedelta):
        hours, seconds = divmod(int(cell.total_seconds()), 3600)
        return f"{hours}:{seconds // 60}"
    return f"{cell.hour}:{cell.minute}" if isinstance(cell, time) else cell_text(cell)


def tempo(text: str) -> float | None:
    """Quarter notes a minute, with a decimal point or comma; None where the cell is empty."""
    if not text:
        return None
    try:
        found = float(text.replace(",", "."))
    except ValueError:
        found = math.nan
    low, high = TEMPO
    if not low <= found <= high:  # NaN is not
        raise RowTrouble(
            f"tempo is {text[:40]!r}; expected quarter notes a minute, {low:g} to {high:g}"
        )
    return found


def key_name(text: str) -> str | None:
    """The key that a take is in; None where the cell is empty."""
    try:
        return named_key(text or None)
    except OptionFault as fault:
        raise RowTrouble(fault.problem) from None


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

_CLOCK = r"(?:(?:T|,? +)(\d{1,2}):(\d\d)(?::(\d\d)(?:\.0+)?)?)?"
_YEAR_FIRST = re.compile(rf"(\d{{4}})([-/])(\d{{1,2}})\2(\d{{1,2}}){_CLOCK}")
_DOTTED = re.compile(rf"(\d{{1,2}})\. ?(\d{{1,2}})\. ?(\d{{4}}|\d\d){_CLOCK}")
_EITHER_WAY = re.compile(rf"(\d{{1,2}})([-/])(\d{{1,2}})\2(\d{{4}}){_CLOCK}")
_DAY_AND_NAME = re.compile(rf"(\d{{1,2}})\.? ?([^\W\d_]+)\.?,? ?(\d{{4}}){_CLOCK}")
_NAME_AND_DAY = re.compile(rf"([^\W\d_]+)\.? (\d{{1,2}}),? (\d{{4}}){_CLOCK}")
_MONTHS = (
    ("january", "januar", "jänner"),
    ("february", "februar"),
    ("march", "märz", "maerz", "mrz"),
    ("april",),
    ("may", "mai"),
    ("june", "juni"),
    ("july", "juli"),
    ("august",),
    ("september",),
    ("october", "oktober"),
    ("november",),
    ("december", "dezember"),
)  # in English and German; the first three letters are enough
_SHORTEST_MONTH = 3


def moment(cell: Cell, column: str) -> str:
    """A date, with its time where there is one, as ISO 8601: ``"2026-11-20 18:00"``.

    The day stands before the month where dots part them, and where nothing else is possible; which
    of ``6/3/2026`` is the day is not guessed. Years of two digits are those from 2000 on.

    Raises:
        RowTrouble: it is no date, or may be two.
    """
    if isinstance(cell, datetime):
        midnight = cell.time() == time()
        return f"{cell:%Y-%m-%d}" if midnight else f"{cell:%Y-%m-%d %H:%M}"
    if isinstance(cell, date):
        return cell.isoformat()
    text = cell_text(cell)
    if not text:
        return ""
    readings = _readings(unicodedata.normalize("NFC", text))
    if readings is None:
        raise RowTrouble(f"{column} is {text[:40]!r}; expected a date such as 2026-11-20")
    found = sorted({said for said in map(_moment, readings) if said})
    if not found:
        raise RowTrouble(f"{column} is {text[:40]!r}; there is no such day or time")
    if len(found) > 1:
        days = " or ".join(day[:10] for day in found)
        raise RowTrouble(f"{column} is {text[:40]!r}, which may be {days}; write it like these")
    return found[0]


def _readings(text: str) -> list[tuple[str | int | None, ...]] | None:
    """What a date may mean: year, month, day, hour, minute and second; None: it is no date."""
    if found := _YEAR_FIRST.fullmatch(text):
        year, _, month, day, *clock = found.groups()
        return [(year, month, day, *clock)]
    if found := _DOTTED.fullmatch(text):
        day, month, year, *clock = found.groups()
        return [(year if len(year) > len("26") else f"20{year}", month, day, *clock)]
    if found := _EITHER_WAY.fullmatch(text):
        one, _, other, year, *clock = found.groups()
        return [(year, one, other, *clock), (year, other, one, *clock)]
    if found := _DAY_AND_NAME.fullmatch(text):
        day, name, year, *clock = found.groups()
    elif found := _NAME_AND_DAY.fullmatch(text):
        name, day, year, *clock = found.groups()
    else:
        return None
    months = [
        number
        for number, names in enumerate(_MONTHS, 1)
        if len(name) >= _SHORTEST_MONTH and any(n.startswith(name.casefold()) for n in names)
    ]
    return [(year, month, day, *clock) for month in months] or None


def _moment(parts: tuple[str | int | None, ...]) -> str:
    year, month, day, hour, minute, second = (int(part or 0) for part in parts)
    try:
        found = datetime(year, month, day, hour, minute, second)  # noqa: DTZ001  (by the teacher's clock)
    except ValueError:
        return ""
    return f"{found:%Y-%m-%d}" if parts[3] is None else f"{found:%Y-%m-%d %H:%M}"
