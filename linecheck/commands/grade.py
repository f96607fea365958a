"""``linecheck grade``: all takes of a folder, by one rubric."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click
from click.core import ParameterSource

from linecheck.arguments import PASS_MARK
from linecheck.commands import BELOW_PASS_MARK
from linecheck.commands.options import Number, no_color_option, subfolders_option, within
from linecheck.commands.screen import TakesProgress, put_out_page, width
from linecheck.faults import OutputFault
from linecheck.output_files import NO_RIGHT, may_be_written

if TYPE_CHECKING:
    from linecheck.grade.find_submissions import Subfolders

__all__ = ["grade"]

OUT = "grades"  # in the folder that is graded
KEPT = "audits"  # in the folder of the results
STRANGERS = "anonymous"  # there too: a folder to pass on, in which nobody is named
OF_A_START = ("folder", "chart", "start_table", "subfolders", "out", "quiet", "no_color")


@click.command(
    short_help="Grade all takes of a folder by one rubric.",
    epilog="""\b
Examples:
  linecheck grade tuesday
  linecheck grade tuesday --chart blues.toml --pass-mark 70
  linecheck grade tuesday --submissions handed_in.xlsx --out results
  linecheck grade tuesday --start-table
  linecheck grade tuesday --anonymous --ranking --rubric landings_first.toml

\b
Exit status:
  0  graded; what could not be is a row with its reason; or the table is begun
  1  graded, but a take is below the pass mark or could not be graded
     (only where a pass mark was asked for)
  2  the folder or an option could not be used (one line on standard error)
""",
)
@click.argument("folder", metavar="FOLDER")
@click.option("--chart", metavar="FILE", help="The chart of all takes; else it is looked for.")
@click.option(
    "--submissions",
    metavar="FILE",
    help="A table (.csv, .tsv, .xlsx) of student, take and chart; else submissions.csv in FOLDER.",
)
@click.option(
    "--start-table",
    is_flag=True,
    help="Grade nothing; write submissions.csv of the takes in FOLDER, to fill in.",
)
@subfolders_option("FOLDER")
@click.option("--rubric", metavar="FILE", help="Weigh by this rubric (TOML), not the packaged one.")
@click.option(
    "--pass-mark",
    metavar="N",
    type=Number(),
    callback=within(*PASS_MARK),
    help="A take is passed from this commitment (of 100) on.",
)
@click.option("--out", metavar="FOLDER", help=f"Where to write; else the folder {OUT} in FOLDER.")
@click.option(
    "--reports", is_flag=True, help="Write a page for every take, as audit --html (slower)."
)
@click.option(
    "--appeals",
    is_flag=True,
    help="Write a sheet for every take with every point given and taken.",
)
@click.option("--ranking", is_flag=True, help="Give every take its rank in its class.")
@click.option(
    "--anonymous",
    is_flag=True,
    help=f"Write pseudonyms instead of names, into the folder {STRANGERS} of the results.",
)
@click.option(
    "--jobs",
    metavar="N",
    type=click.IntRange(1, 1024),
    help="Work with N processes; else one a core.",
)
@click.option(
    "--cluster",
    metavar="ADDRESS",
    help="Work on the Dask cluster of this scheduler (needs linecheck[cluster]).",
)
@click.option("--quiet", is_flag=True, help="Print nothing.")
@no_color_option
def grade(
    *,
    folder: str,
    chart: str | None,
    submissions: str | None,
    start_table: bool,
    subfolders: Subfolders,
    rubric: str | None,
    pass_mark: float | None,
    out: str | None,
    reports: bool,
    appeals: bool,
    ranking: bool,
    anonymous: bool,
    jobs: int | None,
    cluster: str | None,
    quiet: bool,
    no_color: bool,
) -> int:
    """Grade all takes of a folder by one rubric, and write a grade book.

    Takes and their charts are found, or named by a table. A take that cannot be graded is a row
    with its reason. What was audited is kept: a run that is stopped goes on where it was, and
    unchanged takes are not audited again, also by another rubric.
    """
    for option, value in (
        ("FOLDER", folder),
        ("--chart", chart),
        ("--submissions", submissions),
        ("--rubric", rubric),
        ("--out", out),
        ("--cluster", cluster),
    ):
        if value is not None and not value.strip():
            raise click.UsageError(f"{option} is empty; a name was expected")
    root = Path(folder)
    results = root / OUT if out is None else Path(out)
    if results.exists() and not results.is_dir():
        raise OutputFault("--out: it is a file; a folder was expected", source=str(results))
    if root.is_dir() and not start_table and not may_be_written(results):
        raise OutputFault(f"{NO_RIGHT}; name another folder with --out", source=str(results))
    from linecheck.journal import JOURNAL_NAME, check_journal  # noqa: PLC0415

    journal = (root if out is None else results) / JOURNAL_NAME
    leave_out = [results, journal, *journal.parent.glob(f"{journal.name}-*")]
    if start_table:
        _check_alone()
        from linecheck.grade import start_table as start  # noqa: PLC0415

        table = start.start_table(root, chart=chart, subfolders=subfolders, leave_out=leave_out)
        if quiet:
            return 0
        return put_out_page(start.started_page(table, width=width()), no_color=no_color)
    if not anonymous and journal.parent.is_dir():
        check_journal(journal)
    from linecheck.grade import grade_folder  # noqa: PLC0415  (--help needs none of it)
    from linecheck.grade.as_terminal import grade_page  # noqa: PLC0415
    from linecheck.grade.write import write_grades  # noqa: PLC0415

    with TakesProgress(quiet=quiet) as progress:
        book = grade_folder(
            root,
            chart=chart,
            submissions=submissions,
            subfolders=subfolders,
            rubric=rubric,
            pass_mark=pass_mark,
            keep_in=results / KEPT,
            leave_out=leave_out,
            anonymous=anonymous,
            jobs=jobs,
            cluster=cluster,
            progress=progress,
        )
    target = results / STRANGERS if anonymous else results
    with TakesProgress(quiet=quiet, doing="reports") as progress:
        rows, files = write_grades(
            book,
            target,
            ranking=ranking,
            reports=reports,
            appeals=appeals,
            journal=None if anonymous else journal,
            jobs=jobs,
            progress=progress,
        )
    if not quiet:
        names = [file.name for file in files if file != journal]
        noted = str(journal) if journal in files else ""
        page = grade_page(
            book, rows, str(target), names, journal=noted, width=width(), ranking=ranking
        )
        put_out_page(page, no_color=no_color)
    below = book.pass_mark is not None and not all(row["passed"] for row in rows)
    return BELOW_PASS_MARK if below else 0


def _check_alone() -> None:
    """Refuse options of grading beside --start-table: they would do nothing."""
    context = click.get_current_context()
    for parameter in context.command.params:
        given = context.get_parameter_source(parameter.name or "") is ParameterSource.COMMANDLINE
        if given and parameter.name not in OF_A_START:
            raise click.UsageError(
                f"--start-table grades nothing; leave {parameter.opts[0]} out for now"
            )
