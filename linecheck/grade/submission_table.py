"""A table of submissions: ``submissions.csv`` (or ``.tsv``, ``.xlsx``), a row for each take.

    student;take;chart;class;due;submitted;track;tempo;first_beat_one;click;in_key

``student`` and ``take`` are needed, the other columns are not; their order is free. Files are
named from the folder of the table on. Columns may be parted by commas, semicolons or tabs; text is
UTF-8 (UTF-16 with a byte order mark is read too). Any other column is the teacher's own and is
passed over: with a note, unless its name begins with ``#``.

What is wrong with the table as a whole is a fault; what is wrong with one row is its reason. A date
that cannot be read is neither: the take is graded, and a remark of its row says so.
"""

from __future__ import annotations

import csv
import difflib
import io
import os
import re
from collections import Counter
from dataclasses import replace
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from linecheck.faults import InputFault
from linecheck.grade.find_submissions import TAKES, Note, with_charts
from linecheck.grade.table_cells import (
    RowTrouble,
    bar_and_beat,
    cell_text,
    key_name,
    moment,
    tempo,
    yes_or_no,
)
from linecheck.grade.terms import Refused, Submission, TakeOptions
from linecheck.read import CHART_FOLDERS, CHART_FORMATS
from linecheck.read.file_checks import read_bytes
from linecheck.read.file_names import listed, plain, shown_name
from linecheck.terms import Remark

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Sequence

    from linecheck.grade.table_cells import Cell

    _Whose: TypeAlias = tuple[str, str]  # class and student

__all__ = ["COLUMNS", "TABLES", "TableFault", "find_table", "read_submissions"]

COLUMNS = (
    "student", "take", "chart", "class", "due", "submitted", "track", "tempo", "first_beat_one",
    "click", "in_key",
)  # fmt: skip
NEEDED = ("student", "take")
GERMAN = {
    "schüler": "student", "schülerin": "student", "klasse": "class", "datei": "take",
    "aufnahme": "take", "akkorde": "chart", "fällig": "due", "abgegeben": "submitted",
}  # fmt: skip
TABLES = ("submissions.csv", "submissions.tsv", "submissions.xlsx")
SEPARATORS = ",;\t"
MOST_ROWS = 1_000_000
LIKE_A_SLIP = 0.75  # of difflib: "cahrt" is like chart, "instrument" is not like student
LIKE_A_FILE = 0.8  # the same: "mill_walz.toml" is like mill_waltz.toml
MOST_REMARKS = 5


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
    table: Path,
    folder: Path,
    *,
    chart: Path | None = None,
    leave_out: Collection[Path] = (),
) -> tuple[list[Submission | Refused], list[Note]]:
    """The submissions of a table, in the order of its rows, and notes on the table.

    Args:
        table: the file of the table.
        folder: the folder that is graded; files are shown by their way from it.
        chart: the chart of the takes for which the table names none; None: found in the folder.
        leave_out: files and folders in which no chart is looked for.

    Raises:
        TableFault: the table cannot be read, or has no column for what is needed.
    """
    sheet = _sheet(table)
    source = str(table)
    numbered = enumerate(sheet.rows, 1)
    number, header = next(((n, row) for n, row in numbered if any(_said(row))), (0, ()))
    if not number:
        raise TableFault("holds no row; its first row names the columns", source=source)
    columns, own = _columns(header, source, (*sheet.place, f"row {number}"))
    notes = [*sheet.notes(table.name), *_notes_on(own, columns, table.name)]
    width = 1 + max(at for at, said in enumerate(_said(header)) if said)
    lines = [(n, row) for n, row in numbered if any(_said(row))]
    if lines and lines[-1][0] - number > MOST_ROWS:
        raise TableFault(f"has more than {MOST_ROWS} rows", source=source)
    named = Counter(_whose(texts) for _, row in lines if (texts := _texts(row, columns))["take"])
    found: list[Submission | Refused] = []
    for n, row in lines:
        where = " ".join((table.name, *sheet.place, f"row {n}"))
        setting = _Setting(table.parent, folder, chart, where, named)
        found.append(_submission(row, columns, setting, None if sheet.is_ruled else width))
    if not found:
        raise TableFault("names no submission: only its columns", source=source)
    notes += _notes_on_dates(found, table.name)
    found, said = with_charts(found, folder, leave_out=leave_out)
    return _once(found), [*notes, *said]


def _once(rows: Iterable[Submission | Refused]) -> list[Submission | Refused]:
    """The rows, but for those of a take that the same student has in one before: these are refused.

    One take has one grade, and one entry in a journal. Two tracks of a file are two takes.
    """
    seen: dict[object, Submission] = {}
    found: list[Submission | Refused] = []
    for row in rows:
        if isinstance(row, Submission):
            same = (row.class_name, row.student, row.take, row.options.track)
            first = seen.setdefault(same, row)
            if first is not row:
                alike = (first.chart, first.options) == (row.chart, row.options)
                told = (
                    f"it is the same submission as in {first.where}"
                    if alike
                    else f"the take stands in {first.where} already, read in another way"
                )
                found.append(Refused(row, Remark(told, names=(first.where,))))
                continue
        found.append(row)
    return found


# ---- the rows of a file ----------------------------------------------------------------------


class _Sheet(NamedTuple):
    """The rows of a table, blank ones among them.

    ``place`` names the sheet where there are others too. ``is_ruled``: no cell can have slipped
    into two by a separator.
    """

    rows: Sequence[Sequence[Cell]]
    place: tuple[str, ...] = ()
    others: Sequence[str] = ()
    is_ruled: bool = False

    def notes(self, table: str) -> list[Note]:
        """Which sheet was read, where there are others."""
        if not self.others:
            return []
        others = listed([repr(plain(name)) for name in self.others])
        return [
            Note(
                f"of {table} {self.place[0]} was read; not {others}",
                f"one sheet of the table was read, of {len(self.others) + 1}",
            )
        ]


def _sheet(table: Path) -> _Sheet:
    if table.suffix.lower() == ".xlsx":
        from linecheck.grade.table_xlsx import xlsx_sheet  # noqa: PLC0415  (loads openpyxl)

        name, rows, others = xlsx_sheet(table, TableFault, _looks_right)
        place = (f"sheet {plain(name)!r}",) if others else ()
        return _Sheet(rows, place, others, is_ruled=True)
    if table.suffix.lower() not in (".csv", ".tsv", ".txt"):
        raise TableFault("a table is a .csv, .tsv or .xlsx file", source=str(table))
    return _Sheet(_csv_rows(table))


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
    """The name of a column as ``COLUMNS`` has it; of another what is written, in one form."""
    name = re.sub(r"[\s_-]+", "_", plain(str("" if cell is None else cell)).strip().casefold())
    return GERMAN.get(name, name)


def _columns(
    header: Sequence[Cell], source: str, place: tuple[str, ...]
) -> tuple[dict[str, int], list[str]]:
    """Where the columns stand, and what the teacher's own are called."""
    columns: dict[str, int] = {}
    own: list[str] = []
    for at, cell in enumerate(header):
        name = _column_name(cell)
        if name in columns:
            raise TableFault(
                f"column {name} is there twice; keep one of {_heading(header[columns[name]])!r} "
                f"and {_heading(cell)!r}",
                source=source,
                place=place,
            )
        if name in COLUMNS:
            columns[name] = at
        elif name and not name.startswith("#"):
            own.append(_heading(cell))
    missing = [name for name in NEEDED if name not in columns]
    if missing:
        like = "".join(
            f"; {slip!r} looks like {name}"
            for slip, name in _slips(own, columns)
            if name in missing
        )
        raise TableFault(
            f"there is no column {' and no column '.join(missing)}{like}; the first row names the "
            "columns, student and take among them",
            source=source,
            place=place,
        )
    return columns, own


def _heading(cell: Cell) -> str:
    return cell_text(cell)[:40]


def _slips(own: Sequence[str], columns: Collection[str]) -> list[tuple[str, str]]:
    """The teacher's own columns that look like a slip of one that is not there, with that one."""
    free = [name for name in COLUMNS if name not in columns]
    near = {
        name: difflib.get_close_matches(_column_name(name), free, n=1, cutoff=LIKE_A_SLIP)
        for name in own
    }
    return [(name, found[0]) for name, found in near.items() if found]


def _notes_on(own: Sequence[str], columns: Collection[str], table: str) -> list[Note]:
    if not own:
        return []
    what = "columns" if len(own) > 1 else "column"
    like = "".join(f"; {slip!r} looks like {name}" for slip, name in _slips(own, columns))
    return [
        Note(
            f"{what} of {table} passed over: {listed([repr(name) for name in own])}{like}",
            f"{what} of the table passed over: {len(own)} in number",
        )
    ]


def _notes_on_dates(rows: Iterable[Submission | Refused], table: str) -> list[Note]:
    """What could not be read in some rows, each once with its rows."""
    where: dict[str, list[str]] = {}
    for row in rows:
        submission = row.submission if isinstance(row, Refused) else row
        for remark in submission.remarks:
            where.setdefault(remark, []).append(submission.where.rpartition(" ")[2])
    notes = [
        Note(
            f"{'rows' if len(numbers) > 1 else 'row'} {listed(numbers)} of {table}: {remark}",
            f"dates of the table that cannot be read, so that who is late is not known: "
            f"{len(numbers)} in number",
        )
        for remark, numbers in where.items()
    ]
    more = len(notes) - MOST_REMARKS
    if more > 0:
        left = f"more dates that cannot be read: {more} in number"
        notes[MOST_REMARKS:] = [Note(f"{left} ({table})", left)]
    return notes


# ---- one row ---------------------------------------------------------------------------------


class _Setting:
    """What a row is read with: folders, chart of all, its name, and who names how many takes."""

    def __init__(
        self, base: Path, folder: Path, chart: Path | None, where: str, named: Counter[_Whose]
    ) -> None:
        self.base, self.folder, self.chart, self.where = base, folder, chart, where
        self.named = named

    def file(self, cell: Cell, what: str) -> Path:
        """A file of the table's folder, named as it is, or with the separators of Windows."""
        name = unguarded(cell_text(cell))
        path = self.base / name
        try:
            for said in (unguarded(str(cell)), name, name.replace("\\", "/")):
                if "\0" not in said and (written := _in_its_form(self.base, said)).is_file():
                    return written
            if path.is_dir():
                raise RowTrouble(f"{what} {name} is a folder; a file was expected", name)
        except OSError:
            pass
        near = self._nearest(PurePosixPath(name.replace("\\", "/")), what)
        guess = f"; did you mean {near}?" if near else ""
        raise RowTrouble(f"there is no {what} {name}{guess}", name, *([near] if near else ()))

    def _nearest(self, name: PurePosixPath, what: str) -> str:
        """The file that was likely meant, as it is written from the folder of the table on, or "".

        It is looked for in the folder that was named; a chart also where charts lie.
        """
        folders = [
            name.parent,
            *(map(PurePosixPath, sorted(CHART_FOLDERS)) if what == "chart" else ()),
        ]
        kinds = CHART_FORMATS if what == "chart" else TAKES
        wanted = name.name.casefold()
        for folder in folders:
            try:
                with os.scandir(self.base / folder) as entries:
                    files = sorted(
                        entry.name
                        for entry in entries
                        if PurePosixPath(entry.name).suffix.lower() in kinds and entry.is_file()
                    )
            except (OSError, ValueError):
                continue
            by_name = {file.casefold(): file for file in reversed(files)}
            near = difflib.get_close_matches(wanted, by_name, n=1, cutoff=LIKE_A_FILE)
            if not near and not name.suffix:
                by_name = {PurePosixPath(file).stem.casefold(): file for file in reversed(files)}
                near = difflib.get_close_matches(wanted, by_name, n=1, cutoff=LIKE_A_FILE)
            if near:
                return str(folder / by_name[near[0]])
        return ""


def _in_its_form(base: Path, name: str) -> Path:
    """A file by its name, which may compose its letters in another way, as some systems do."""
    path = base / name
    if name.isascii() or path.exists():
        return path
    path = base
    for part in Path(name).parts:
        beside = path
        path = beside / part
        if not path.exists():
            alike = [other for other in beside.iterdir() if plain(other.name) == plain(part)]
            path = alike[0] if len(alike) == 1 else path
    return path


def unguarded(text: str) -> str:
    """A text without the apostrophe that keeps a spreadsheet from taking it for a formula."""
    if not text.startswith("'"):
        return text
    from linecheck.grade.columns import FORMULA_SIGNS  # noqa: PLC0415  (loads report)

    return text[1:] if text[1:].startswith(FORMULA_SIGNS) else text


def _cells(row: Sequence[Cell], columns: dict[str, int]) -> dict[str, Cell]:
    return {name: row[at] if at < len(row) else None for name, at in columns.items()}


def _texts(row: Sequence[Cell], columns: dict[str, int]) -> dict[str, str]:
    return {name: unguarded(cell_text(cell)) for name, cell in _cells(row, columns).items()}


def _whose(texts: dict[str, str]) -> _Whose:
    return texts.get("class", ""), texts["student"]


def _submission(
    row: Sequence[Cell], columns: dict[str, int], setting: _Setting, width: int | None
) -> Submission | Refused:
    cells = _cells(row, columns)
    texts = _texts(row, columns)
    dates, remarks = _dates(cells)
    found = Submission(
        student=texts["student"],
        class_name=texts.get("class", ""),
        take=None,
        chart=None,
        take_name=texts["take"],
        chart_name=texts.get("chart", ""),
        due=dates["due"],
        submitted=dates["submitted"],
        where=setting.where,
        remarks=remarks,
    )
    try:
        if width is not None:
            _check_width(row, width)
        return _with_files(replace(found, options=_options(cells, texts)), cells, texts, setting)
    except RowTrouble as trouble:
        return Refused(found, Remark(f"{setting.where}: {trouble}", names=trouble.names))


def _dates(cells: dict[str, Cell]) -> tuple[dict[str, str], tuple[str, ...]]:
    """The dates of a row, "" for one that cannot be read, and what is to be said of those."""
    dates: dict[str, str] = {}
    remarks: list[str] = []
    for column in ("due", "submitted"):
        try:
            dates[column] = moment(cells.get(column), column)
        except RowTrouble as trouble:
            dates[column] = ""
            remarks.append(f"{trouble}; whether the take is late is not known")
    return dates, tuple(remarks)


def _nothing(others: int) -> str:
    """That a row names no take, where the student has others."""
    told = "take is empty: nothing was handed in"
    if not others:
        return told
    of_student = "another row" if others == 1 else f"{others} other rows"
    verb = "names" if others == 1 else "name"
    return f"{told} for this row; {of_student} of the same student {verb} a take"


def _with_files(
    found: Submission, cells: dict[str, Cell], texts: dict[str, str], setting: _Setting
) -> Submission:
    """The submission with its files; without a chart where none is named."""
    if not found.student:
        raise RowTrouble("student is empty")
    if not found.take_name:
        raise RowTrouble(_nothing(setting.named[_whose(texts)]))
    take = setting.file(cells["take"], "take")
    chart = setting.file(cells["chart"], "chart") if found.chart_name else setting.chart
    return replace(
        found,
        take=take,
        chart=chart,
        take_name=shown_name(take, setting.folder),
        chart_name=shown_name(chart, setting.folder) if chart else "",
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


def _options(cells: dict[str, Cell], texts: dict[str, str]) -> TakeOptions:
    return TakeOptions(
        track=texts.get("track") or None,
        tempo=tempo(texts.get("tempo", "")),
        first_beat_one=bar_and_beat(cells.get("first_beat_one")) or None,
        click=yes_or_no(texts.get("click", "")),
        key=key_name(texts.get("in_key", "")),
    )
