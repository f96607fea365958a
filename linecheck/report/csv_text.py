"""Tables as CSV (RFC 4180, lines ended by LF), for a spreadsheet.

A cell is empty for None; yes or no is ``true`` or ``false``. Text that comes from the user's files
never becomes a formula: where it begins with ``=``, ``+``, ``-``, ``@``, a tab or a line end, an
apostrophe is set before it (common practice against formula injection).
"""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

__all__ = ["csv_text"]

T = TypeVar("T")
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")


def csv_text(columns: Sequence[tuple[str, Callable[[T], Any]]], rows: Iterable[T]) -> str:
    """Rows as the text of a CSV file, with a row of column names.

    Args:
        columns: name and value of every column.
        rows: what the values are taken of.
    """
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(name for name, _ in columns)
    for row in rows:
        writer.writerow(_cell(value(row)) for _, value in columns)
    return file.getvalue()


def _cell(value: Any) -> Any:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str) and value.startswith(_FORMULA_STARTS):
        return "'" + value
    return value
