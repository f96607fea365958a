"""One page a graded take, to hand to the student: that of ``linecheck audit --html``.

Its line is engraved, which takes far longer than the audit; so a page is made only when it is
asked for, by all cores, and not again where take, chart, rubric, names and program are the same and
the file still holds what was written. The take is audited anew for it.
"""

from __future__ import annotations

import hashlib
import json
import re
import unicodedata
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from linecheck.faults import InputFault
from linecheck.grade.anonymous import blanked, shown_title
from linecheck.grade.keys import content_hash
from linecheck.grade.terms import Graded
from linecheck.grade.whose import take_in_its_week
from linecheck.grade.work import (
    CHANGED,
    Answer,
    Batch,
    Job,
    ReportOrder,
    chart_of,
    is_unchanged,
    own_fault,
    told,
)
from linecheck.output_files import refused, write_whole
from linecheck.version import __version__

if TYPE_CHECKING:
    from collections.abc import Callable

    from linecheck.grade.book import GradeBook
    from linecheck.grade.terms import Submission
    from linecheck.grade.written_files import WrittenFiles

__all__ = ["report_names", "safe_name", "write_reports"]

LONGEST_NAME = 100
# Names that Windows keeps for devices.
KEPT_NAMES = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)", re.IGNORECASE)


def report_names(book: GradeBook) -> list[str]:
    """The name of the page of every row, "" for one that is not graded; no two are equal."""
    taken: set[str] = set()
    names = []
    for index, row in enumerate(book):
        names.append("")
        if not isinstance(row, Graded):
            continue
        plain = _plain_name(book.found(index).submission)
        number = 1
        while (name := plain + (f"-{number}" if number > 1 else "")).casefold() in taken:
            number += 1
        taken.add(name.casefold())
        names[-1] = f"{name}.html"
    return names


def _plain_name(submission: Submission) -> str:
    *weeks, take = take_in_its_week(submission.take_name).split("/")
    stem = take.rpartition(".")[0] or take
    parts = (submission.class_name, submission.student, *weeks, stem)
    return safe_name(*parts) or "take"


def shown_student(submission: Submission) -> str:
    """Whose take it is, as a page says it: student and class."""
    return ", ".join(name for name in (submission.student, submission.class_name) if name)


def safe_name(*parts: str) -> str:
    """Parts of a name as one that every file system takes; "" where nothing is left of them."""
    safe = dict.fromkeys(re.sub(r"[^\w-]+", "_", part).strip("_-") for part in parts)
    text = unicodedata.normalize("NFC", "-".join(part for part in safe if part))[:LONGEST_NAME]
    return f"_{text}" if KEPT_NAMES.fullmatch(text) else text


def write_reports(
    book: GradeBook,
    folder: Path,
    files: WrittenFiles,
    *,
    jobs: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[list[str], list[str]]:
    """Write a page for every graded take.

    Args:
        book: the book.
        folder: where they go; it is made where it is not there.
        files: the files of the results.
        jobs: how many processes work at once; None: one a core.
        progress: is called with how many are done, and how many there are.

    Returns:
        The name of the page of every row ("" where there is none), and what went wrong.

    Raises:
        OutputFault: the folder cannot be made, or what was done cannot be noted.
    """
    say = progress or (lambda *_: None)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise refused(fault, folder) from fault
    names = report_names(book)
    orders = {}
    for index, name in enumerate(names):
        job = _order(book, index, folder / name) if name else None
        if job is None:
            continue
        written = _written(book, job)
        if written:
            files.note(folder / name, written)
        else:
            orders[job.key] = (index, job)
    notes = []
    if orders:
        from linecheck.grade.workers import Workers  # noqa: PLC0415  (loads joblib)

        workers = Workers(jobs)
        try:
            todo = [job for _, job in orders.values()]
            for done, answer in enumerate(workers.answers(todo, write_page), 1):
                say(done, len(orders))
                index = orders[answer.key][0]
                if answer.json:
                    book.kept.keep([(answer.key, answer.json)])
                    files.note(folder / names[index], _hash_in(answer.json))
                else:
                    submission = book.found(index).submission
                    why = blanked(answer.reason, book.found(index).hidden)
                    notes.append(
                        f"no report on {submission.student}, {submission.take_name}: {why}"
                    )
                    book.tell(notes[-1], submission.class_name)
                    names[index] = ""
        finally:
            workers.close()
            book.kept.close()
    return names, sorted(notes)


def _order(book: GradeBook, index: int, file: Path) -> Job | None:
    """The job to write a page; its key says by all that the page comes from."""
    found = book.found(index)
    if found.job is None:
        return None
    order = ReportOrder(
        file=file,
        rubric=book.rubric,
        take_name=found.submission.take_name,
        chart_name=found.submission.chart_name,
        hidden=found.hidden,
        student=shown_student(found.submission),
    )
    shown = (
        "report", found.key, book.rubric.fingerprint, book.rubric.name,
        file.name, order.take_name, order.chart_name, order.student,
        order.hidden, _report_fingerprint(),
    )  # fmt: skip
    key = hashlib.sha256(json.dumps(shown).encode()).hexdigest()
    return replace(found.job, key=key, contents=None, report=order)


def _written(book: GradeBook, job: Job) -> str:
    """The hash of a page that was written before and is still what was written; else ""."""
    kept = book.kept.get(job.key)
    if kept is None or job.report is None:
        return ""
    try:
        written = _hash_in(kept)
        return written if written == content_hash(job.report.file) else ""
    except (OSError, ValueError, KeyError):
        return ""


def _hash_in(kept: str | bytes) -> str:
    return str(json.loads(kept)["written"])


@cache
def _report_fingerprint() -> str:
    """A hash of everything that makes a page."""
    found = hashlib.sha256(__version__.encode())
    package = Path(__file__).parent.parent
    for file in sorted((package / "report").rglob("*")):
        if file.suffix in (".py", ".css", ".html", ".js"):
            found.update(file.name.encode())
            found.update(file.read_bytes())
    return found.hexdigest()


def write_page(batch: Batch) -> list[Answer]:
    """Write the pages of a batch."""
    return [_write_page(job) for job in batch.jobs]


def _write_page(job: Job) -> Answer:
    from linecheck import steps  # noqa: PLC0415  (only a worker needs it)
    from linecheck.report.as_html import write_html  # noqa: PLC0415

    order, options = job.report, job.options
    assert order is not None  # noqa: S101  (the caller sees to it)
    try:
        chart = chart_of(job, job.chart)
        take = steps.read_take(job.take, track=options.track)
        audit = steps.audit(
            replace(
                chart,
                source=order.chart_name,
                title=shown_title(chart.title, order.chart_name, order.hidden),
            ),
            replace(take, source=order.take_name, line=blanked(take.line, order.hidden)),
            key=options.key,
            rubric=order.rubric,
            tempo=options.tempo,
            first_beat_one=options.first_beat_one,
            click=options.click,
        )
        warnings = tuple(blanked(text, order.hidden) for text in audit.warnings)
        page = write_html(replace(audit, warnings=warnings, student=order.student))
        if not is_unchanged(job):
            return Answer(job.key, reason=CHANGED)
        write_whole(order.file, page)
    except InputFault as fault:
        return Answer(job.key, reason=told(fault))
    except Exception as fault:  # noqa: BLE001  (one take never stops the others)
        return Answer(job.key, reason=own_fault(fault))
    return Answer(job.key, json=json.dumps({"written": content_hash(order.file)}))
