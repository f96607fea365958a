"""A grade book as a spreadsheet in XLSX (ISO/IEC 29500), written with XlsxWriter.

A sheet for every class, for every criterion (a row a take, a column a chorus) and for every
student (a row a chorus), one that says by what was graded, and one of the keys of the takes. Text
is always written as text, never as a formula; dates are dates and shares are shown per cent. Every
sheet prints on A4 across, as wide as the paper. The same book gives the same bytes: it bears no
date of its making.
"""

from __future__ import annotations

import io
from array import array
from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, datetime
from math import nan
from statistics import fmean
from typing import TYPE_CHECKING, Any
from urllib.parse import quote
from zipfile import ZipFile

from linecheck.grade.columns import COLUMNS
from linecheck.report.figures import POINTS, SHARE, counted, plain, rounded
from linecheck.version import __version__

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from linecheck.grade.columns import Column
    from linecheck.terms import ChorusScore, Rubric

__all__ = ["MOST_STUDENT_SHEETS", "ChorusMarks", "grades_xlsx"]

MOST_STUDENT_SHEETS = 100  # more sheets than anybody leafs through
LONGEST_SHEET_NAME = 31  # characters, and the next line: by the program that reads them
FORBIDDEN = dict.fromkeys(map(ord, "[]:*?/\\"), " ")
LONGEST_TEXT = 32_767
MADE = datetime(2000, 1, 1, tzinfo=UTC)  # the same on every day
SHARES = frozenset(("purpose", "landings", "form", "presence"))
DATES = frozenset(("due", "submitted"))
APART = frozenset(("class", "rubric_fingerprint", "key"))  # not in the sheets of classes
FIRST_YEAR = 1900  # of the dates that a spreadsheet knows
A4 = 9  # as the format numbers papers
CRITERIA = ("commitment", "purpose", "landings", "form", "presence")
ADVICE = "A grade is advice: it counts what can be counted. The teacher decides."


@dataclass(slots=True)
class ChorusMarks:
    """The figures of the choruses of one take: criterion → a figure a chorus, NaN for none."""

    styles: list[str] = field(default_factory=list)
    figures: dict[str, array[float]] = field(default_factory=dict)

    @classmethod
    def of(cls, choruses: Sequence[ChorusScore]) -> ChorusMarks:
        """Those of a judgement."""
        figures = {
            name: array("d", (_figure(getattr(chorus, name), name) for chorus in choruses))
            for name in CRITERIA
        }
        return cls([chorus.style for chorus in choruses], figures)


def _figure(value: float | None, name: str) -> float:
    figure = rounded(value, POINTS if name == "commitment" else SHARE)
    return nan if figure is None else float(figure)


def grades_xlsx(
    rows: Sequence[Mapping[str, Any]],
    columns: Sequence[Column],
    choruses: Sequence[ChorusMarks],
    rubric: Rubric,
    notes: Iterable[str] = (),
) -> bytes:
    """The whole file.

    Args:
        rows: the rows by the names of the columns, in order.
        columns: the columns of the sheets of classes.
        choruses: for each row the figures of its choruses; empty for a refused one.
        rubric: by what was graded.
        notes: what is to be said of the book as a whole.
    """
    book = _Book()
    students = dict.fromkeys((row["class"], row["student"]) for row in rows if row["student"])
    notes = list(notes)
    if len(students) > MOST_STUDENT_SHEETS:
        notes.append(
            f"{len(students)} students: no sheet for each, for at most {MOST_STUDENT_SHEETS} "
            "could be leafed through"
        )
        students = {}
    book.class_sheets(rows, columns)
    for name in CRITERIA:
        book.criterion_sheet(name, rows, choruses)
    names = Counter(name for _, name in students)
    for one in students:
        book.student_sheet(
            one[1] if names[one[1]] == 1 else f"{one[1]}, {one[0] or 'no class'}",
            [
                (row, marks)
                for row, marks in zip(rows, choruses, strict=True)
                if (row["class"], row["student"]) == one
            ],
        )
    book.rubric_sheet(rubric, notes)
    book.key_sheet(rows)
    return book.content()


class _Book:
    """The workbook and its sheets."""

    def __init__(self) -> None:
        import xlsxwriter  # noqa: PLC0415  (only a grade book needs it)

        self._file = io.BytesIO()
        # Strings stand where they are used: a table of all would be kept in memory.
        self._book = xlsxwriter.Workbook(
            self._file, {"in_memory": True, "strings_to_formulas": False}
        )
        self._book.set_properties({"title": "Grade book", "created": MADE})
        self._bold = self._book.add_format({"bold": True, "text_wrap": True, "valign": "top"})
        self._plain = self._format("")
        self._share, self._mark = self._format("0.0%"), self._format("0.00")
        self._day, self._time = self._format("yyyy-mm-dd"), self._format("yyyy-mm-dd hh:mm")
        self._link = self._book.add_format({"underline": 1, "color": "blue", "valign": "top"})
        self._linked = False
        self._names: set[str] = {"history"}  # a name that spreadsheets keep for themselves

    def _format(self, figures: str) -> Any:
        look = {"valign": "top"} | ({"num_format": figures} if figures else {"text_wrap": True})
        return self._book.add_format(look)

    def _sheet(self, name: str, titles: Sequence[str], widths: Sequence[int], frozen: int) -> Any:
        sheet = self._book.add_worksheet(self._free_name(name))
        for at, (title, width) in enumerate(zip(titles, widths, strict=True)):
            sheet.write_string(0, at, title, self._bold)
            sheet.set_column(at, at, width)
        sheet.freeze_panes(1, frozen)
        sheet.set_landscape()
        sheet.set_paper(A4)
        sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(0)
        return sheet

    def _free_name(self, name: str) -> str:
        """A name that a sheet may have and that no other has, big and small letters alike."""
        name = plain(name.translate(FORBIDDEN)).strip("' ") or "Sheet"
        number = 1
        while True:
            tail = f" ({number})" if number > 1 else ""
            free = _cut(name, LONGEST_SHEET_NAME - len(tail)).strip("' ") + tail
            if free.casefold() not in self._names:
                self._names.add(free.casefold())
                return free
            number += 1

    def class_sheets(self, rows: Sequence[Mapping[str, Any]], columns: Sequence[Column]) -> None:
        """A sheet a class, a row a submission."""
        by_class: dict[str, list[Mapping[str, Any]]] = {}
        for row in rows:
            by_class.setdefault(row["class"] or "", []).append(row)
        shown = [column for column in columns if column.name not in APART]
        # A link stands beside the take that it is of.
        at_take = next(at for at, column in enumerate(shown) if column.name == "take")
        links = [column for column in shown if column.name == "report"]
        others = [column for column in shown if column.name != "report"]
        shown = [*others[: at_take + 1], *links, *others[at_take + 1 :]]
        for name, of_class in by_class.items():
            sheet = self._sheet(
                name or "Class", [c.title for c in shown], [c.width for c in shown], 1
            )
            for at, row in enumerate(of_class, 1):
                for place, column in enumerate(shown):
                    self._write(sheet, at, place, row[column.name], column.name)
            sheet.autofilter(0, 0, len(of_class), len(shown) - 1)
            self._mean(sheet, len(of_class) + 2, of_class, shown)

    def _mean(
        self,
        sheet: Any,
        at: int,
        of_class: Sequence[Mapping[str, Any]],
        shown: Sequence[Column],
    ) -> None:
        """The mean of the class, below the rows that are sorted and filtered."""
        graded = [row for row in of_class if row["commitment"] is not None]
        if not graded:
            return
        for place, column in enumerate(shown):
            if column.name == "student":
                self._write(sheet, at, place, f"Mean of {counted(len(graded), 'take')}")
            elif column.name in CRITERIA:
                found = [row[column.name] for row in graded if row[column.name] is not None]
                digits = POINTS if column.name == "commitment" else SHARE
                mean = rounded(fmean(found), digits) if found else None
                self._write(sheet, at, place, mean, column.name)

    def criterion_sheet(
        self, name: str, rows: Sequence[Mapping[str, Any]], choruses: Sequence[ChorusMarks]
    ) -> None:
        """A sheet a criterion: the whole take and each of its choruses."""
        most = max((len(marks.styles) for marks in choruses), default=0)
        title = next(column.title for column in COLUMNS if column.name == name)
        titles = ["Class", "Student", "Take", "All", *(f"Chorus {at + 1}" for at in range(most))]
        sheet = self._sheet(title, titles, [18, 22, 28, 10] + [10] * most, 3)
        at = 0
        for row, marks in zip(rows, choruses, strict=True):
            if row["commitment"] is None:
                continue
            at += 1
            for place, column in enumerate(("class", "student", "take", name)):
                self._write(sheet, at, place, row[column], column)
            for place, figure in enumerate(marks.figures[name], 4):
                self._write(sheet, at, place, figure, name)

    def student_sheet(
        self,
        name: str,
        takes: Sequence[tuple[Mapping[str, Any], ChorusMarks]],
    ) -> None:
        """A sheet a student: the choruses of all takes, and what cost most."""
        titles = ("Take", "Chorus", "Style", *(part.capitalize() for part in CRITERIA), "Remarks")
        sheet = self._sheet(name, titles, (28, 8, 10, 12, 9, 9, 9, 9, 60), 1)
        at = 0
        for row, marks in takes:
            at += 1
            remarks = row["reason"] or "; ".join(
                text for text in (row["dearest"], row["warnings"]) if text
            )
            self._write(sheet, at, 0, row["take"])
            self._write(sheet, at, 1, "all")
            for place, part in enumerate(CRITERIA, 3):
                self._write(sheet, at, place, row[part], part)
            self._write(sheet, at, 8, remarks)
            for chorus, style in enumerate(marks.styles):
                at += 1
                self._write(sheet, at, 0, row["take"])
                self._write(sheet, at, 1, chorus + 1)
                self._write(sheet, at, 2, style)
                for place, part in enumerate(CRITERIA, 3):
                    self._write(sheet, at, place, marks.figures[part][chorus], part)

    def rubric_sheet(self, rubric: Rubric, notes: Iterable[str]) -> None:
        """By what was graded."""
        sheet = self._sheet("Rubric", ("Graded by", ""), (28, 70), 0)
        lines: list[tuple[str, Any]] = [
            ("Rubric", rubric.name),
            ("Fingerprint", rubric.fingerprint),
            *((f"Weight of {part}", weight) for part, weight in rubric.weights.items()),
            ("linecheck", __version__),
            ("Mind", ADVICE),
            *(("", note) for note in notes),
        ]
        for at, (name, value) in enumerate(lines, 1):
            self._write(sheet, at, 0, name)
            self._write(sheet, at, 1, value)

    def key_sheet(self, rows: Sequence[Mapping[str, Any]]) -> None:
        """What was graded: the key of every take, for who has to prove it."""
        columns = [
            column for column in COLUMNS if column.name in ("class", "student", "take", "key")
        ]
        sheet = self._sheet("Keys", [c.title for c in columns], (18, 22, 28, 70), 1)
        for at, row in enumerate(rows, 1):
            for place, column in enumerate(columns):
                self._write(sheet, at, place, row[column.name])

    def _write(self, sheet: Any, row: int, column: int, value: Any, name: str = "") -> None:
        """A cell; ``name`` is the column of the book that it is of, which tells its look."""
        if value is None or value != value:  # noqa: PLR0124  (NaN)
            return
        moment = _moment(value) if name in DATES else None
        if moment is not None:
            look = self._time if ":" in value else self._day
            sheet.write_datetime(row, column, moment, look)
        elif name == "report":
            sheet.write_url(row, column, f"external:{quote(value, safe='/')}", self._link, "report")
            self._linked = True
        elif isinstance(value, bool):
            sheet.write_string(row, column, "yes" if value else "no", self._plain)
        elif isinstance(value, str):
            sheet.write_string(row, column, _cut(plain(value), LONGEST_TEXT), self._plain)
        else:
            look = self._share if name in SHARES else self._mark
            sheet.write_number(row, column, value, look if name in CRITERIA else self._plain)

    def content(self) -> bytes:
        """The file."""
        self._book.close()
        content = self._file.getvalue()
        return _with_slashes(content) if self._linked else content


def _with_slashes(content: bytes) -> bytes:
    """The file with links that work on every system: XlsxWriter writes them with backslashes."""
    file = io.BytesIO()
    with ZipFile(io.BytesIO(content)) as old, ZipFile(file, "w") as new:
        for part in old.infolist():
            text = old.read(part)
            if part.filename.startswith("xl/worksheets/_rels/"):
                text = text.replace(b"\\", b"/")
            new.writestr(part, text)
    return file.getvalue()


def _moment(text: str) -> datetime | None:
    """A date of the table, if a spreadsheet knows it."""
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        return None
    return found if found.year >= FIRST_YEAR else None


def _cut(text: str, most: int) -> str:
    """A text of at most so many UTF-16 code units, by which spreadsheets count."""
    units = text.encode("utf-16-le", errors="replace")
    return text if len(units) <= 2 * most else units[: 2 * most].decode("utf-16-le", "ignore")
