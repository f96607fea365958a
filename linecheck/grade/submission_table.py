"""A table of submissions: ``submissions.csv`` (or ``.tsv``, ``.xlsx``), a row for each take.

    student;take;chart;class;due;submitted;track;tempo;first_beat_one;click

``student`` and ``take`` are needed, the other columns are not; their order is free. Files are
named from the folder of the table on. Columns may be parted by commas, semicolons or tabs; text is
UTF-8 (UTF-16 with a byte order mark is read too). A column whose name begins with ``#`` is the
teacher's own and is passed over; any other that is not known is a fault.

What is wrong with the table as a whole is a fault; what is wrong with one row is its reason.
"""

from __future__ import annotations

import csv
import difflib
import io
import re
from dataclasses import replace
from typing import TYPE_CHECKING

from linecheck.faults import InputFault
from linecheck.grade.table_cells import RowTrouble, cell_text, moment, tempo, yes_or_no
from linecheck.grade.terms import Refused, Submission, TakeOptions
from linecheck.read.file_checks import read_bytes
from linecheck.read.file_names import shown_name

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

    from linecheck.grade.table_cells import Cell

__all__ = ["COLUMNS", "TABLES", "TableFault", "find_table", "read_submissions"]

COLUMNS = (
    "student", "take", "chart", "class", "due", "submitted", "track", "tempo", "first_beat_one",
    "click",
)  # fmt: skip
NEEDED = ("student", "take")
TABLES = ("submissions.csv", "submissions.tsv", "submissions.xlsx")
SEPARATORS = ",;\t"
MOST_ROWS = 1_000_000


class TableFault(InputFault):
    """A table of submissions that cannot be read as one."""


def find_table(folder: Path) -> Path | None:
    """The table of a folder, or None.

    Raises:
        TableFault: there are several.
    """
    found = [folder / name for name in TABLES if (folder / name).is_file()]
    if len(found) > 1:
        names = " and ".join(path.name for path in found)
        raise TableFault(
            f"there are {names}; name the one that counts with --submissions", source=str(folder)
        )
    return found[0] if found else None


def read_submissions(
    table: Path, folder: Path, *, chart: Path | None = None
) -> list[Submission | Refused]:
    """The submissions of a table, in the order of its rows.

    Args:
        table: the file of the table.
        folder: the folder that is graded; files are shown by their way from it.
        chart: the chart of the takes for which the table names none.

    Raises:
        TableFault: the table cannot be read, has no column for what is needed, or an unknown one.
    """
    rows = _rows(table)
    source = str(table)
    number, header = next(((n, row) for n, row in rows if any(_said(row))), (0, ()))
    if not number:
        raise TableFault("holds no row; its first row names the columns", source=source)
    columns = _columns(header, source, number)
    width = 1 + max(at for at, said in enumerate(_said(header)) if said)
    found: list[Submission | Refused] = []
    seen: dict[object, str] = {}
    for n, row in rows:
        if n - number > MOST_ROWS:
            raise TableFault(f"has more than {MOST_ROWS} rows", source=source)
        if any(_said(row)):
            where = f"{table.name} row {n}"
            found.append(
                _submission(row, columns, _Setting(table.parent, folder, chart, where), width)
            )
            found[-1] = _once(found[-1], seen)
    if not found:
        raise TableFault("names no submission: only its columns", source=source)
    return found


def _once(row: Submission | Refused, seen: dict[object, str]) -> Submission | Refused:
    """Refuse a row that says the same as one before."""
    if isinstance(row, Refused):
        return row
    same = (row.class_name, row.student, row.take, row.chart, row.options)
    first = seen.setdefault(same, row.where)
    return row if first == row.where else Refused(row, f"it is the same submission as in {first}")


# ---- the rows of a file ----------------------------------------------------------------------


def _rows(table: Path) -> Iterator[tuple[int, Sequence[Cell]]]:
    """The rows with their numbers from 1, blank ones among them."""
    if table.suffix.lower() == ".xlsx":
        from linecheck.grade.table_xlsx import xlsx_rows  # noqa: PLC0415  (loads openpyxl)

        return iter(list(enumerate(xlsx_rows(table, TableFault, _looks_right), 1)))
    if table.suffix.lower() not in (".csv", ".tsv", ".txt"):
        raise TableFault("a table is a .csv, .tsv or .xlsx file", source=str(table))
    return iter(list(enumerate(_csv_rows(table), 1)))


def _looks_right(row: Iterable[Cell]) -> bool:
    """Whether a row may be the one that names the columns."""
    return set(NEEDED) <= {_column_name(cell) for cell in row}


def _csv_rows(table: Path) -> list[list[str]]:
    text = _decoded(read_bytes(table, TableFault), str(table))
    separator, text = _separator(text)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    rows: list[list[str]] = []
    try:
        rows.extend(reader)
    except csv.Error as fault:
        raise TableFault(
            f"cannot be read: {fault}", source=str(table), place=(f"line {reader.line_num}",)
        ) from None
    return rows


def _decoded(content: bytes, source: str) -> str:
    wide = content.startswith((b"\xff\xfe", b"\xfe\xff"))
    try:
        text = content.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError as fault:
        line = content.count(b"\n", 0, fault.start) + 1
        raise TableFault(
            "is not text in UTF-8; save it as CSV UTF-8", source=source, place=(f"line {line}",)
        ) from None
    if "\0" in text:
        raise TableFault("is no text: it holds zero bytes", source=source)
    return text


def _separator(text: str) -> tuple[str, str]:
    """What parts the columns, by the row that names them, and the text without ``sep=``."""
    first = text.lstrip("\r\n").split("\n", 1)[0].split("\r", 1)[0]
    said = re.fullmatch(r"\s*\"?sep=([,;\t])\"?\s*", first, re.IGNORECASE)
    if said:  # spreadsheets write and read such a line
        return said[1], text.replace(first.rstrip("\r"), "", 1)
    return max(SEPARATORS, key=first.count), text


# ---- its columns -----------------------------------------------------------------------------


def _column_name(cell: Cell) -> str:
    return re.sub(r"[\s_-]+", "_", str("" if cell is None else cell).strip().casefold())


def _columns(header: Sequence[Cell], source: str, number: int) -> dict[str, int]:
    place = (f"row {number}",)
    columns: dict[str, int] = {}
    for at, cell in enumerate(header):
        name = _column_name(cell)
        if not name or name.startswith("#"):
            continue
        if name not in COLUMNS:
            near = difflib.get_close_matches(name, COLUMNS, n=1, cutoff=0.6)
            guess = f"; did you mean {near[0]}?" if near else ""
            raise TableFault(
                f"unknown column {str(cell).strip()[:40]!r}; expected {', '.join(COLUMNS[:-1])} "
                f"or {COLUMNS[-1]}, or a name that begins with # for a column of your own{guess}",
                source=source,
                place=place,
            )
        if name in columns:
            raise TableFault(f"column {name} is there twice", source=source, place=place)
        columns[name] = at
    missing = [name for name in NEEDED if name not in columns]
    if missing:
        raise TableFault(
            f"there is no column {' and no column '.join(missing)}; the first row names the "
            "columns, student and take among them",
            source=source,
            place=place,
        )
    return columns


# ---- one row ---------------------------------------------------------------------------------


class _Setting:
    """What a row is read with: the folders, the chart of all takes, and which row it is."""

    def __init__(self, base: Path, folder: Path, chart: Path | None, where: str) -> None:
        self.base, self.folder, self.chart, self.where = base, folder, chart, where

    def file(self, name: str, what: str) -> Path:
        """A file of the table's folder."""
        if "\0" in name:
            raise RowTrouble(f"{what} is no name of a file")
        path = self.base / name
        try:
            if not path.exists() and "\\" in name:  # written on Windows
                path = self.base / name.replace("\\", "/")
            if path.is_file():
                return path
            if path.is_dir():
                raise RowTrouble(f"{what} {name} is a folder; a file was expected")
            beside = [other.name for other in path.parent.iterdir()]
        except OSError:
            beside = []
        near = [other for other in beside if other.casefold() == path.name.casefold()]
        near = near or difflib.get_close_matches(path.name, beside, n=1, cutoff=0.8)
        guess = f"; did you mean {near[0]}?" if near else ""
        raise RowTrouble(f"there is no {what} {name}{guess}")


def _submission(
    row: Sequence[Cell], columns: dict[str, int], setting: _Setting, width: int
) -> Submission | Refused:
    cells = {name: row[at] if at < len(row) else None for name, at in columns.items()}
    texts = {name: cell_text(cell) for name, cell in cells.items()}
    found = Submission(
        student=texts["student"],
        class_name=texts.get("class", ""),
        take=None,
        chart=None,
        take_name=texts["take"],
        chart_name=texts.get("chart", ""),
        where=setting.where,
    )
    try:
        _check_width(row, width)
        found = replace(
            found,
            due=moment(cells.get("due"), "due"),
            submitted=moment(cells.get("submitted"), "submitted"),
        )
        return _with_files(replace(found, options=_options(texts)), setting)
    except RowTrouble as trouble:
        return Refused(found, f"{setting.where}: {trouble}")


def _with_files(found: Submission, setting: _Setting) -> Submission:
    if not found.student:
        raise RowTrouble("student is empty")
    if not found.take_name:
        raise RowTrouble("take is empty: nothing was handed in")
    take = setting.file(found.take_name, "take")
    chart = setting.file(found.chart_name, "chart") if found.chart_name else setting.chart
    if chart is None:
        raise RowTrouble("chart is empty, and no chart is named for all takes")
    return replace(
        found,
        take=take,
        chart=chart,
        take_name=shown_name(take, setting.folder),
        chart_name=shown_name(chart, setting.folder),
    )


def _check_width(row: Sequence[Cell], width: int) -> None:
    extra = next((cell for cell in row[width:] if cell_text(cell)), None)
    if extra is not None:
        raise RowTrouble(
            f"has a cell more than there are columns: {cell_text(extra)[:40]!r}; a name that holds "
            "the separator stands in quotes"
        )


def _said(row: Iterable[Cell]) -> Iterator[bool]:
    return (bool(cell_text(cell)) for cell in row)


def _options(texts: dict[str, str]) -> TakeOptions:
    return TakeOptions(
        track=texts.get("track") or None,
        tempo=tempo(texts.get("tempo", "")),
        first_beat_one=texts.get("first_beat_one") or None,
        click=yes_or_no(texts.get("click", "")),
    )
