"""A grade book as CSV (RFC 4180, UTF-8): a row a submission, for a spreadsheet or a program.

A text that a spreadsheet would take for a formula begins with an apostrophe.
"""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING, Any

from linecheck.grade.columns import text_cell

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from linecheck.grade.columns import Column

__all__ = ["grades_csv"]


def grades_csv(rows: Iterable[Mapping[str, Any]], columns: Sequence[Column]) -> str:
    """The whole file."""
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow([column.name for column in columns])
    writer.writerows([_cell(row[column.name]) for column in columns] for row in rows)
    return text.getvalue()


def _cell(value: Any) -> Any:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return text_cell(value) if isinstance(value, str) else value
