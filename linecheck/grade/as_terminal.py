"""A grade book on a terminal: the answer, a row a take, and what was not graded."""

from __future__ import annotations

from collections import Counter
from statistics import median
from typing import TYPE_CHECKING, Any, NamedTuple, TypeAlias

from linecheck.grade.whose import short_names
from linecheck.read.file_names import listed
from linecheck.report.figures import counted, mark_digits, percent, plain
from linecheck.report.page import Page, cells, fit, fit_apart

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from linecheck.grade.book import GradeBook

__all__ = ["grade_page"]

_Take: TypeAlias = tuple[str, str, str]  # class, student and take

MOST_ROWS = 60
MOST_REFUSED = 20
MOST_NAMED = 12
MOST_NAMES = 8  # of the students whose takes raise the same question
LEAST_FOR_NAMES = 24  # cells for student and take, below which purpose makes room


def grade_page(
    book: GradeBook,
    rows: Sequence[Mapping[str, Any]],
    folder: str,
    files: Sequence[str],
    *,
    journal: str = "",
    width: int = 80,
    ranking: bool = False,
) -> Page:
    """The page.

    Args:
        book: the book.
        rows: its rows, as they were written.
        folder: the folder that was written into.
        files: the names of the files that were written.
        journal: the journal that the takes were noted in.
        width: columns of the terminal.
        ranking: in the order of rank, class by class.
    """
    page = Page(width)
    graded = [row for row in rows if row["commitment"] is not None]
    refused = [row for row in rows if row["commitment"] is None]
    page.say(
        f"{plain(book.folder.resolve().name)}: {counted(len(rows), 'submission')}, "
        f"{len(graded)} graded, {len(refused)} not; {book.audited} audited now"
    )
    names = _short_names(graded)
    if graded:
        _say_answer(page, graded, late=sum(bool(row["late"]) for row in rows))
        _say_rows(page, graded, names, ranking=ranking)
    if refused:
        page.heading("Not graded")
        told = _by_reason(refused)
        page.points(told[:MOST_REFUSED])
        if len(told) > MOST_REFUSED:
            page.say(f"and {len(told) - MOST_REFUSED} more reasons: see grades.csv", indent=2)
    mind = [*_doubts(graded, names), *book.notes[:MOST_REFUSED]]
    if mind:
        page.heading("Mind")
        page.points(mind)
    page.gap()
    page.say(f"Written into {plain(folder)}: {', '.join(map(plain, files))}", hang=2)
    if journal:
        page.say(f"Noted in {plain(journal)}, for linecheck progress", hang=2)
    if book.names_file is not None:
        page.say(f"Who is who, to keep to yourself: {plain(str(book.names_file))}", hang=2)
    page.say(
        f"Rubric {book.rubric.name}, fingerprint {book.rubric.fingerprint[:12]}. "
        "A grade is advice: the teacher decides."
    )
    return page


def _say_answer(page: Page, graded: Sequence[Mapping[str, Any]], *, late: int) -> None:
    found = [row["commitment"] for row in graded]
    asked = [row for row in graded if row["passed"] is not None]
    pass_mark = asked[0]["pass_mark"] if asked else None
    digits = mark_digits(found, pass_mark)
    page.gap()
    what, span = "Commitment:", ""
    if len(found) > 1:
        low, high = (f"{mark:.{digits}f}" for mark in (min(found), max(found)))
        what = "Commitment: the middle take has" if low != high else "Commitment: each take has"
        span = f", from {low} to {high}" if low != high else ""
    page.say(
        f"{what} {median(found):.{digits}f} of 100{span}",
        indent=2,
        style="answer",
    )
    if asked:
        passed = sum(row["passed"] for row in asked)
        page.say(f"Pass mark {pass_mark:g}: {passed} of {len(asked)} passed", indent=2)
    if late:
        page.say(f"Handed in late: {late}", indent=2)


class _Cell(NamedTuple):
    """A column of figures: its title, and for a row its text and style, as wide as the title."""

    title: str
    of: Callable[[Mapping[str, Any]], tuple[str, str]]


def _figures(graded: Sequence[Mapping[str, Any]], digits: int, *, purpose: bool) -> list[_Cell]:
    """The columns that this book needs."""
    columns = [_Cell("commitment", lambda row: (f"{row['commitment']:.{digits}f}", ""))]
    if any(row["to_check"] for row in graded):
        columns.append(_Cell("  ", lambda row: ("?" if row["to_check"] else "", "missed")))
    columns.append(_Cell("  landings", lambda row: (percent(row["landings"]), "")))
    if purpose:
        columns.append(_Cell("  purpose", lambda row: (percent(row["purpose"]), "")))
    columns.append(
        _Cell(
            "  form lost",
            lambda row: (str(row["form_losses"]), "lost" if row["form_losses"] else ""),
        )
    )
    if any(row["passed"] is not None for row in graded):
        columns.append(
            _Cell("  passed", lambda row: ("yes", "good") if row["passed"] else ("no", "missed"))
        )
    if any(row["late"] for row in graded):
        columns.append(_Cell("  late", lambda row: ("late" if row["late"] else "", "")))
    return columns


def _say_rows(
    page: Page,
    graded: Sequence[Mapping[str, Any]],
    files: Mapping[_Take, str],
    *,
    ranking: bool,
) -> None:
    if len(graded) > MOST_ROWS:
        page.gap()
        page.say(f"The {len(graded)} takes are listed in grades.csv and grade_book.xlsx.")
        return
    by_class: dict[str | None, list[Mapping[str, Any]]] = {}
    for row in graded:
        by_class.setdefault(row["class"], []).append(row)
    digits = max(
        mark_digits([row["commitment"] for row in of_class], of_class[0]["pass_mark"])
        for of_class in by_class.values()
    )
    columns = _figures(graded, digits, purpose=True)
    if _room(page, columns, ranking=ranking) < LEAST_FOR_NAMES:
        columns = _figures(graded, digits, purpose=False)
    names = [("student", "take")]
    names += [(plain(row["student"] or ""), files[_take(row)]) for row in graded]
    first, second = _shared_room(_room(page, columns, ranking=ranking), names)
    apart = fit_apart([student for student, _ in names], first)
    for name, of_class in by_class.items():
        page.heading(plain(name or "Takes"))
        page.row(
            [
                ("rank  " if ranking else "", ""),
                (f"{fit('student', first)} {fit('take', second)}", ""),
                *((column.title, "") for column in columns),
            ]
        )
        ordered = sorted(of_class, key=_by_rank) if ranking else of_class
        for row in ordered:
            student, take = plain(row["student"] or ""), files[_take(row)]
            page.row(
                [
                    (f"{row['rank'] or '-':>4}  " if ranking else "", ""),
                    (f"{apart[student]} {fit(take, second)}", ""),
                    *(
                        (f"{text:>{len(column.title)}}", style)
                        for column in columns
                        for text, style in [column.of(row)]
                    ),
                ]
            )


def _by_rank(row: Mapping[str, Any]) -> tuple[bool, float]:
    """The order of ranks; below them the takes that have none, the best first."""
    return row["rank"] is None, row["rank"] or -row["commitment"]


def _by_reason(refused: Sequence[Mapping[str, Any]]) -> list[str]:
    """Every reason once, with the takes that it holds for."""
    takes: dict[str, list[str]] = {}
    for row in refused:
        late = ", late" if row["late"] else ""
        name = f"{plain(row['student'] or 'no name')}{_named(row['take'])}{late}"
        takes.setdefault(row["reason"], []).append(name)
    return [
        f"{'; '.join(names[:MOST_NAMED])}"
        f"{f' and {len(names) - MOST_NAMED} more' if len(names) > MOST_NAMED else ''}: {reason}"
        for reason, names in takes.items()
    ]


def _room(page: Page, columns: Sequence[_Cell], *, ranking: bool) -> int:
    """Cells that are left for the names of students and takes."""
    figures = sum(len(column.title) for column in columns)
    return page.width - figures - 1 - (6 if ranking else 0)


def _shared_room(room: int, names: Sequence[tuple[str, str]]) -> tuple[int, int]:
    """The room for students and for takes: by halves, or as the longer names need."""
    students, takes = (max(cells(name[side]) for name in names) for side in (0, 1))
    first = room // 2
    if students > first:
        first = max(first, min(students, room - min(takes, room // 3)))
    elif takes > room - first:
        first = max(students, room - takes)
    return first, room - first


def _doubts(graded: Sequence[Mapping[str, Any]], files: Mapping[_Take, str]) -> list[str]:
    """Every question that a teacher has to answer before a grade is given, with whose takes."""
    takes = Counter((row["class"], row["student"]) for row in graded)
    asked: dict[str, list[str]] = {}
    for row in graded:
        for question in (row["to_check"] or "").split("; "):
            if question:
                several = takes[row["class"], row["student"]] > 1
                name = plain(row["student"] or "") + (f" ({files[_take(row)]})" if several else "")
                asked.setdefault(question, []).append(name)
    return [f"? {question} {listed(names, MOST_NAMES)}" for question, names in asked.items()]


def _take(row: Mapping[str, Any]) -> _Take:
    return row["class"] or "", row["student"] or "", row["take"] or ""


def _short_names(graded: Sequence[Mapping[str, Any]]) -> dict[_Take, str]:
    return {take: plain(name) for take, name in short_names(map(_take, graded)).items()}


def _named(take: str | None) -> str:
    return f", {plain(take)}" if take else ""
