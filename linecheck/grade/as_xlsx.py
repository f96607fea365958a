"""A grade book as a spreadsheet in XLSX (ISO/IEC 29500), written with XlsxWriter.

A sheet for every class, for every criterion (a row a take, a column a chorus) and for every
student (a row a chorus), and one that says by what was graded. Text is always written as text,
never as a formula. The same book gives the same bytes: it bears no date of its making.
"""

from __future__ import annotations

import io
from array import array
from dataclasses import dataclass, field
from datetime import UTC, datetime
from math import nan
from typing import TYPE_CHECKING, Any

from linecheck.grade.columns import COLUMNS
from linecheck.report.figures import POINTS, SHARE, plain, rounded
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
    for one in students:
        book.student_sheet(
            one,
            [
                (row, marks)
                for row, marks in zip(rows, choruses, strict=True)
                if (row["class"], row["student"]) == one
            ],
        )
    book.rubric_sheet(rubric, notes)
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
        self._names: set[str] = {"history"}  # a name that spreadsheets keep for themselves

    def _sheet(self, name: str, titles: Sequence[str], widths: Sequence[int], frozen: int) -> Any:
        sheet = self._book.add_worksheet(self._free_name(name))
        for at, (title, width) in enumerate(zip(titles, widths, strict=True)):
            sheet.write_string(0, at, title, self._bold)
            sheet.set_column(at, at, width)
        sheet.freeze_panes(1, frozen)
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
        shown = [column for column in columns if column.name != "class"]
        for name, of_class in by_class.items():
            sheet = self._sheet(
                name or "Class", [c.title for c in shown], [c.width for c in shown], 1
            )
            for at, row in enumerate(of_class, 1):
                for place, column in enumerate(shown):
                    _write(sheet, at, place, row[column.name])
            sheet.autofilter(0, 0, len(of_class), len(shown) - 1)

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
                _write(sheet, at, place, row[column])
            for place, figure in enumerate(marks.figures[name], 4):
                _write(sheet, at, place, figure)

    def student_sheet(
        self,
        student: tuple[str | None, str],
        takes: Sequence[tuple[Mapping[str, Any], ChorusMarks]],
    ) -> None:
        """A sheet a student: the choruses of all takes, and what cost most."""
        titles = ("Take", "Chorus", "Style", *(name.capitalize() for name in CRITERIA), "Remarks")
        sheet = self._sheet(student[1], titles, (28, 8, 10, 12, 9, 9, 9, 9, 60), 1)
        at = 0
        for row, marks in takes:
            at += 1
            remarks = row["reason"] or "; ".join(
                text for text in (row["dearest"], row["warnings"]) if text
            )
            _write(sheet, at, 0, row["take"])
            _write(sheet, at, 1, "all")
            for place, name in enumerate(CRITERIA, 3):
                _write(sheet, at, place, row[name])
            _write(sheet, at, 8, remarks)
            for chorus, style in enumerate(marks.styles):
                at += 1
                _write(sheet, at, 0, row["take"])
                _write(sheet, at, 1, chorus + 1)
                _write(sheet, at, 2, style)
                for place, name in enumerate(CRITERIA, 3):
                    _write(sheet, at, place, marks.figures[name][chorus])

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
            _write(sheet, at, 0, name)
            _write(sheet, at, 1, value)

    def content(self) -> bytes:
        """The file."""
        self._book.close()
        return self._file.getvalue()


def _write(sheet: Any, row: int, column: int, value: Any) -> None:
    if value is None or value != value:  # noqa: PLR0124  (NaN)
        return
    if isinstance(value, bool):
        sheet.write_string(row, column, "yes" if value else "no")
    elif isinstance(value, str):
        sheet.write_string(row, column, _cut(plain(value), LONGEST_TEXT))
    else:
        sheet.write_number(row, column, value)


def _cut(text: str, most: int) -> str:
    """A text of at most so many UTF-16 code units, by which spreadsheets count."""
    units = text.encode("utf-16-le", errors="replace")
    return text if len(units) <= 2 * most else units[: 2 * most].decode("utf-16-le", "ignore")
