"""A grade book on a terminal: the answer, a row a take, and what was not graded."""

from __future__ import annotations

from statistics import median
from typing import TYPE_CHECKING, Any

from linecheck.report.figures import counted, percent, plain
from linecheck.report.page import Page, fit

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from linecheck.grade.book import GradeBook

__all__ = ["grade_page"]

MOST_ROWS = 60
MOST_REFUSED = 20
MOST_NAMED = 12


def grade_page(
    book: GradeBook,
    rows: Sequence[Mapping[str, Any]],
    folder: str,
    files: Sequence[str],
    *,
    width: int = 80,
    ranking: bool = False,
) -> Page:
    """The page.

    Args:
        book: the book.
        rows: its rows, as they were written.
        folder: the folder that was written into.
        files: the names of the files that were written.
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
    if graded:
        _say_answer(page, graded)
        _say_rows(page, graded, ranking=ranking)
    if refused:
        page.heading("Not graded")
        told = _by_reason(refused)
        page.points(told[:MOST_REFUSED])
        if len(told) > MOST_REFUSED:
            page.say(f"and {len(told) - MOST_REFUSED} more reasons: see grades.csv", indent=2)
    if book.notes:
        page.heading("Mind")
        page.points(book.notes[:MOST_REFUSED])
    page.gap()
    page.say(f"Written into {plain(folder)}: {', '.join(map(plain, files))}", hang=2)
    page.say(
        f"Rubric {book.rubric.name}, fingerprint {book.rubric.fingerprint[:12]}. "
        "A grade is advice: the teacher decides."
    )
    return page


def _say_answer(page: Page, graded: Sequence[Mapping[str, Any]]) -> None:
    found = [row["commitment"] for row in graded]
    page.gap()
    page.say(
        f"Commitment: {median(found):.0f} of 100 in the middle, from {min(found):.0f} to "
        f"{max(found):.0f}",
        indent=2,
        style="answer",
    )
    asked = [row for row in graded if row["passed"] is not None]
    if asked:
        passed = sum(row["passed"] for row in asked)
        page.say(f"Pass mark {asked[0]['pass_mark']:g}: {passed} of {len(asked)} passed", indent=2)
    late = sum(bool(row["late"]) for row in graded)
    if late:
        page.say(f"Handed in late: {late}", indent=2)


def _say_rows(page: Page, graded: Sequence[Mapping[str, Any]], *, ranking: bool) -> None:
    if len(graded) > MOST_ROWS:
        page.gap()
        page.say(f"The {len(graded)} takes are listed in grades.csv and grade_book.xlsx.")
        return
    marked = any(row["passed"] is not None for row in graded)
    names = page.width - 41 - (8 if marked else 0) - (6 if ranking else 0)
    first, second = names // 2, names - names // 2
    by_class: dict[str | None, list[Mapping[str, Any]]] = {}
    for row in graded:
        by_class.setdefault(row["class"], []).append(row)
    for name, of_class in by_class.items():
        page.heading(plain(name or "Takes"))
        page.row(
            [
                ("rank  " if ranking else "", ""),
                (fit("student", first) + " " + fit("take", second), ""),
                ("commitment  landings  purpose  form lost", ""),
                ("  passed" if marked else "", ""),
            ]
        )
        ordered = sorted(of_class, key=lambda row: row["rank"]) if ranking else of_class
        for row in ordered:
            page.row(
                [
                    (f"{row['rank']:>4}  " if ranking else "", ""),
                    (fit(plain(row["student"] or ""), first) + " ", ""),
                    (fit(plain(row["take"] or "").rpartition("/")[2], second), ""),
                    (f"{row['commitment']:>10.0f}", ""),
                    (f"{percent(row['landings']):>10}{percent(row['purpose']):>9}", ""),
                    (f"{row['form_losses']:>11}", "lost" if row["form_losses"] else ""),
                    _passed(row) if marked else ("", ""),
                ]
            )


def _by_reason(refused: Sequence[Mapping[str, Any]]) -> list[str]:
    """Every reason once, with the takes that it holds for."""
    takes: dict[str, list[str]] = {}
    for row in refused:
        name = f"{plain(row['student'] or 'no name')}{_named(row['take'])}"
        takes.setdefault(row["reason"], []).append(name)
    return [
        f"{'; '.join(names[:MOST_NAMED])}"
        f"{f' and {len(names) - MOST_NAMED} more' if len(names) > MOST_NAMED else ''}: {reason}"
        for reason, names in takes.items()
    ]


def _passed(row: Mapping[str, Any]) -> tuple[str, str]:
    return ("     yes", "good") if row["passed"] else ("      no", "missed")


def _named(take: str | None) -> str:
    return f", {plain(take)}" if take else ""
