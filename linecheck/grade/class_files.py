"""What a grade book holds for each class and each take beside its tables: pages and appeal sheets.

class_NAME.html     the page of a class (``class.html`` where there are no classes)
appeals/NAME.txt    every point that a take was given and that was taken from it, by bar
appeals/NAME.json   the same for a program

A class of more than ``MOST_IN_A_CLASS`` takes is an archive and has no page: nobody would read it,
and all its rows would have to be in memory at once.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from linecheck.grade.appeal import appeal_json, appeal_text
from linecheck.grade.class_page import write_class_page
from linecheck.grade.reports import report_names, safe_name
from linecheck.grade.terms import Graded
from linecheck.grade.written_files import WrittenFiles
from linecheck.output_files import refused

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from linecheck.grade.book import GradeBook
    from linecheck.grade.terms import Row

__all__ = ["MOST_IN_A_CLASS", "write_appeals", "write_class_pages"]

MOST_IN_A_CLASS = 400


def write_appeals(book: GradeBook, folder: Path, files: WrittenFiles) -> list[str]:
    """Write an appeal sheet for every graded take, as text and as JSON.

    Args:
        book: the book.
        folder: where they go; it is made where it is not there.
        files: the files of the results.

    Returns:
        The name of the text of every row, "" for one that is not graded.

    Raises:
        OutputFault: a file cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise refused(fault, folder) from fault
    names = [name.removesuffix(".html") for name in report_names(book)]
    for row, name in zip(book, names, strict=True):
        if isinstance(row, Graded):
            files.write(folder / f"{name}.txt", appeal_text(row))
            files.write(folder / f"{name}.json", appeal_json(row))
    return [f"{name}.txt" if name else "" for name in names]


def write_class_pages(
    book: GradeBook,
    out: Path,
    *,
    files: WrittenFiles | None = None,
    ranking: bool = False,
    notes: Sequence[str] = (),
    links: Sequence[Mapping[str, str]] | None = None,
) -> tuple[list[Path], list[str]]:
    """Write a page for every class.

    Args:
        book: the book.
        out: the folder of the results.
        files: the files in it; None: these are the only ones.
        ranking: with the best take first, and the rank of each.
        notes: what was noticed about the folder as a whole.
        links: for every row of the book, what to call a file and where it is, from ``out``.

    Returns:
        The pages, and why a class has none.

    Raises:
        OutputFault: a file cannot be written.
    """
    files = files or WrittenFiles(out, book.kept, book.folder)
    members: dict[str, list[int]] = {}
    for index in range(len(book)):
        members.setdefault(book.found(index).submission.class_name, []).append(index)
    pages, trouble, taken = [], [], set[str]()
    for name, indices in members.items():
        if len(indices) > MOST_IN_A_CLASS:
            trouble.append(
                f"{name or book.folder.resolve().name}: no page for a class of more than "
                f"{MOST_IN_A_CLASS} takes"
            )
            continue
        with book.kept.reading():
            rows: list[Row] = [book[index] for index in indices]
        of_row = dict(zip(map(id, rows), indices, strict=True))
        page = write_class_page(
            rows,
            book.rubric,
            title=name or book.folder.resolve().name,
            pass_mark=book.pass_mark,
            ranking=ranking,
            notes=[note for note in notes if book.concerns(note, name)],
            links=None if links is None else partial(_linked, links, of_row),
        )
        pages.append(out / _page_name(name, taken))
        files.write(pages[-1], page)
    return pages, trouble


def _linked(
    links: Sequence[Mapping[str, str]], of_row: Mapping[int, int], row: Row
) -> Mapping[str, str]:
    return links[of_row[id(row)]]


def _page_name(class_name: str, taken: set[str]) -> str:
    plain = f"class_{safe_name(class_name)}" if class_name else "class"
    number = 1
    while (name := plain + (f"-{number}" if number > 1 else "")).casefold() in taken:
        number += 1
    taken.add(name.casefold())
    return f"{name}.html"
