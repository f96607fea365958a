"""The rows of a spreadsheet in XLSX (ISO/IEC 29500), read with openpyxl.

Values are taken as the spreadsheet last computed them. Of several sheets the one counts whose
first row names the columns.
"""

from __future__ import annotations

import io
import warnings
import zipfile
from typing import TYPE_CHECKING, Any, NamedTuple

from linecheck.read.file_checks import MEBIBYTE, read_bytes

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

    from linecheck.faults import InputFault

__all__ = ["Sheet", "xlsx_sheet"]

MOST_UNPACKED_BYTES = 512 * MEBIBYTE


class Sheet(NamedTuple):
    """A sheet with all its rows, and the names of the others that hold anything."""

    name: str
    rows: list[tuple[Any, ...]]
    others: list[str]


def xlsx_sheet(
    path: Path, fault: type[InputFault], looks_right: Callable[[Iterable[Any]], bool]
) -> Sheet:
    """The sheet whose first row that holds anything ``looks_right``, else the first with any rows.

    Raises:
        InputFault: of the kind ``fault``: no spreadsheet, or no sheet of it or several would do.
    """
    content = read_bytes(path, fault)
    source = str(path)
    sheets = {n: rows for n, rows in _sheets(content, fault, source).items() if _first(rows)}
    good = [name for name, rows in sheets.items() if looks_right(_first(rows))]
    if len(good) > 1:
        raise fault(
            f"sheets {' and '.join(map(repr, good))} both name a student and a take; keep one",
            source=source,
        )
    name = good[0] if good else next(iter(sheets), "")
    return Sheet(name, sheets.get(name, []), [other for other in sheets if other != name])


def _first(rows: Iterable[tuple[Any, ...]]) -> tuple[Any, ...]:
    return next((row for row in rows if any(cell is not None for cell in row)), ())


def _sheets(
    content: bytes, fault: type[InputFault], source: str
) -> dict[str, list[tuple[Any, ...]]]:
    import openpyxl  # noqa: PLC0415  (only a table in XLSX needs it)

    unpacked = 0
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            unpacked = sum(entry.file_size for entry in packed.infolist())
        if unpacked <= MOST_UNPACKED_BYTES:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # of parts that a table does not need
                book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=True)
                return {s.title: list(s.iter_rows(values_only=True)) for s in book.worksheets}
    except Exception as error:  # noqa: BLE001  (whatever a reader trips over is the file's fault)
        problem = f"cannot be read as a spreadsheet (.xlsx): {type(error).__name__}: {error}"
        raise fault(problem, source=source) from None
    raise fault("unpacks to more than a table can be", source=source)
