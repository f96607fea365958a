"""Days and weeks in the names of files and folders.

A name may hold a day (``2026-03-01``) or the number of a week (``KW 10``, ``week 3``) beside what
it names. Only a day is a date.
"""

from __future__ import annotations

import re
from datetime import date as Date  # noqa: N812

__all__ = ["days_in", "is_week", "name_without_day"]

_DAY = re.compile(r"(?<![0-9])[0-9]{4}-[0-9]{2}-[0-9]{2}(?![0-9])")
# A day with "week of" before it or without, or the number of a week with its year or without.
_WEEK_WORD = r"(?<![^\W\d_])(?:kw|wk|week|woche)(?:[\W_]+of(?![^\W\d_]))?[\W_]*"
_DAY_OR_WEEK = re.compile(
    rf"(?:{_WEEK_WORD})?{_DAY.pattern}"
    rf"|(?:(?<![0-9])[0-9]{{4}}[\W_]*)?{_WEEK_WORD}[0-9]{{1,2}}(?![0-9])",
    re.IGNORECASE,
)


def days_in(name: str) -> list[str]:
    """The days (ISO 8601) that stand in a name; figures that only look like one are none."""
    found = []
    for text in _DAY.findall(name):
        try:
            found.append(Date.fromisoformat(text).isoformat())
        except ValueError:
            continue
    return found


def is_week(folder: str) -> bool:
    """Whether a folder may be called by a week: its name begins with one, or says nothing else."""
    at_first = _DAY_OR_WEEK.match(folder)
    begins = at_first is not None and _tells_when(at_first)
    return begins or (bool(folder) and not name_without_day(folder))


def name_without_day(name: str) -> str:
    """What a name says beside a day or the number of a week: ``"2026-03-01 Mira"`` is Mira."""
    left = _DAY_OR_WEEK.sub(lambda found: " " if _tells_when(found) else found[0], name)
    return name if left == name else " ".join(left.split()).strip(" _-,.")


def _tells_when(found: re.Match[str]) -> bool:
    """Whether it is a day that there is, or a week."""
    return not _DAY.search(found[0]) or bool(days_in(found[0]))
