"""The files of a grade book: made of one pass through its rows, each written whole or not at all.

grade_book.xlsx     a sheet a class, a criterion, a student
grades.csv          a row a submission
grades.parquet      the same, where pyarrow is installed
class_NAME.html     a page a class
reports/, appeals/  a page and an appeal sheet a take, where they are asked for

Pages and sheets that an earlier run on the same folder wrote for a class or a take that is no
longer in the book, or is called otherwise now, are removed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linecheck.grade.as_csv import grades_csv
from linecheck.grade.as_parquet import can_write_parquet, grades_parquet
from linecheck.grade.as_xlsx import ChorusMarks, grades_xlsx
from linecheck.grade.class_files import write_appeals, write_class_pages
from linecheck.grade.columns import COLUMNS, RANK, REPORT, flat_row
from linecheck.grade.journal_entries import JournalEntries
from linecheck.grade.reports import report_names, write_reports
from linecheck.grade.shown_marks import holds_whole_form, ranked, ranks
from linecheck.grade.terms import Graded
from linecheck.grade.written_files import WrittenFiles
from linecheck.output_files import refused, write_whole

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from linecheck.grade.book import GradeBook

__all__ = ["write_grades"]

REPORTS, APPEALS = "reports", "appeals"
SHEETS = (".txt", ".json")  # the files of an appeal


def write_grades(
    book: GradeBook,
    out: Path,
    *,
    ranking: bool = False,
    reports: bool = False,
    appeals: bool = False,
    journal: Path | None = None,
    jobs: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[list[dict[str, Any]], list[Path]]:
    """Write the files of a grade book into a folder, which is made where it is not there.

    Args:
        book: the book.
        out: the folder.
        ranking: with the rank of every take in its class, by commitment; takes of a part of the
            form have none.
        reports: with a page for every take that is graded.
        appeals: with a sheet for every take that says every point given and taken.
        journal: a journal to note the graded takes in; for a book that is not anonymous.
        jobs: how many processes make the pages; None: one a core.
        progress: is called with how many pages are done, and how many there are.

    Returns:
        The rows by the names of ``COLUMNS``, and the files.

    Raises:
        OutputFault: a file cannot be written.
    """
    rows: list[dict[str, Any]] = []
    whole: list[bool] = []
    choruses: list[ChorusMarks] = []
    noted = JournalEntries(book, journal)
    for index, row in enumerate(book):
        noted.add(index, row)
        rows.append(flat_row(row))
        whole.append(holds_whole_form(row))
        choruses.append(
            ChorusMarks.of(row.judgement.choruses) if isinstance(row, Graded) else ChorusMarks()
        )
    _make(out)
    beside = WrittenFiles(out, book.kept, book.folder)
    columns, notes, more = COLUMNS, (*book.notes, *noted.notes()), []
    links: list[dict[str, str]] = [{} for _ in rows]
    if ranking:
        add_ranks(rows, whole)
        columns = (RANK, *columns)
    if reports:
        names, trouble = write_reports(book, out / REPORTS, beside, jobs=jobs, progress=progress)
        for flat, name in zip(rows, names, strict=True):
            flat["report"] = f"{REPORTS}/{name}" if name else None
        _add_links(links, "report", REPORTS, names)
        columns, notes, more = (*columns, REPORT), (*notes, *trouble), [out / REPORTS]
    if appeals:
        _add_links(links, "points", APPEALS, write_appeals(book, out / APPEALS, beside))
        more.append(out / APPEALS)
    pages, trouble = write_class_pages(
        book,
        out,
        files=beside,
        ranking=ranking,
        notes=notes,
        links=links if reports or appeals else None,
    )
    notes = (*notes, *trouble)
    made: dict[str, Callable[[], str | bytes]] = {
        "grades.csv": lambda: grades_csv(rows, columns),
        "grade_book.xlsx": lambda: grades_xlsx(rows, columns, choruses, book.rubric, notes),
    }
    if can_write_parquet():
        made["grades.parquet"] = lambda: grades_parquet(rows, columns)
    for name, content in made.items():
        write_whole(out / name, content())
    _clear_away(book, out, beside)
    book.kept.close()
    more += noted.record()
    return rows, [*(out / name for name in made), *pages, *more]


def _clear_away(book: GradeBook, out: Path, files: WrittenFiles) -> None:
    """Remove the pages and sheets of earlier runs that belong to nothing in the book any more.

    Those of its takes stay, also where they were not asked for this time: they are dear to make.
    """
    if any((out / folder).is_dir() for folder in (REPORTS, APPEALS)):
        names = [name.removesuffix(".html") for name in report_names(book) if name]
        files.still_used(out / REPORTS / f"{name}.html" for name in names)
        files.still_used(out / APPEALS / f"{name}{end}" for name in names for end in SHEETS)
    files.clear_away("class*.html", f"{REPORTS}/*.html", *(f"{APPEALS}/*{end}" for end in SHEETS))


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise refused(fault, folder) from fault


def _add_links(
    links: Sequence[dict[str, str]], what: str, folder: str, names: Sequence[str]
) -> None:
    for link, name in zip(links, names, strict=True):
        if name:
            link[what] = f"{folder}/{name}"


def add_ranks(rows: Sequence[dict[str, Any]], whole: Sequence[bool]) -> None:
    """Give every graded row its rank in its class, but for takes of a part of the form.

    Args:
        rows: the rows of all classes.
        whole: for each of them whether its take holds the whole form.
    """
    by_class: dict[str | None, list[int]] = {}
    for at, row in enumerate(rows):
        row["rank"] = None
        if row["commitment"] is not None:
            by_class.setdefault(row["class"], []).append(at)
    for graded in by_class.values():
        asked = ranked([whole[at] for at in graded])
        chosen = [rows[at] for at, is_asked in zip(graded, asked, strict=True) if is_asked]
        of_mark = ranks(row["commitment"] for row in chosen)
        for row in chosen:
            row["rank"] = of_mark[row["commitment"]]
