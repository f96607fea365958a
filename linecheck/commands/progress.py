"""``linecheck progress``: each student's course over the weeks."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click
from click.core import ParameterSource

from linecheck.commands.options import no_color_option, no_name_is_empty, subfolders_option
from linecheck.commands.screen import TakesProgress, put_out_file, put_out_page, width
from linecheck.output_files import Outputs

if TYPE_CHECKING:
    from linecheck.grade.whose import Subfolders

__all__ = ["progress"]


@click.command(
    epilog="""\b
Examples:
  linecheck progress class.journal
  linecheck progress class.journal --student Mira
  linecheck progress class.journal --html progress.html --anonymous

\b
Exit status:
  0  done
  2  the journal or an option could not be used (one line on standard error)
"""
)
@click.argument("source", metavar="FOLDER|JOURNAL")
@click.option("--student", metavar="NAME", help="Show only this student.")
@click.option(
    "--chart",
    metavar="FILE",
    help="The chart of all takes of a folder without a journal; else it is looked for.",
)
@subfolders_option("a FOLDER without a journal")
@click.option("--anonymous", is_flag=True, help="Show numbers in place of names and files.")
@click.option("--full", is_flag=True, help="Print every student in detail, however many.")
@click.option("--json", metavar="FILE", help="Write all courses, for a program.")
@click.option("--csv", metavar="FILE", help="Write one row a take, for a spreadsheet.")
@click.option("--html", metavar="FILE", help="Write a page with the courses drawn.")
@no_color_option
def progress(
    *,
    source: str,
    student: str | None,
    chart: str | None,
    subfolders: Subfolders,
    anonymous: bool,
    full: bool,
    no_color: bool,
    **files: str | None,
) -> int:
    """Show each student's course over the weeks.

    The takes are read from a journal, as audit --journal writes it, or from the journal in a
    folder that was graded; the takes of a folder without one are audited. Takes over one chart
    are compared with each other, and nothing is said where too few of them compare.
    """
    inputs = [source] if chart is None else [source, chart]
    no_name_is_empty(inputs)
    outputs = Outputs({option: file for option, file in files.items() if file is not None}, inputs)
    from linecheck import journal  # noqa: PLC0415  (--help needs none of it)

    notes: tuple[str, ...] = ()
    folder = Path(source)
    if folder.is_dir() and not (folder / journal.JOURNAL_NAME).is_file():
        from linecheck.grade.folder_courses import entries_of_folder  # noqa: PLC0415

        with TakesProgress(quiet=False, doing="auditing") as say:
            entries, left_out = entries_of_folder(folder, say, chart=chart, subfolders=subfolders)
        found = journal.chosen_courses(entries, student=student, hide=anonymous)
        notes = (f"{len(left_out)} of the takes",) if anonymous and left_out else left_out
    else:
        _only_without_a_journal("chart", "subfolders")
        found = journal.progress(source, student=student, hide=anonymous)
    writers = {
        "json": journal.write_courses_json,
        "csv": journal.write_courses_csv,
        "html": journal.write_courses_html,
    }
    texts = {option: write(found) for option, write in writers.items() if files[option] is not None}
    outputs.write(texts)
    if outputs.to_stdout:
        return put_out_file(texts[outputs.to_stdout])
    in_detail = full or student is not None  # of two classes, where both have one of that name
    page = journal.courses_page(found, width=width(), full=in_detail, notes=notes)
    return put_out_page(page, no_color=no_color)


def _only_without_a_journal(*options: str) -> None:
    """Refuse options that say how takes are found, where none is looked for."""
    context = click.get_current_context()
    for option in options:
        if context.get_parameter_source(option) is ParameterSource.COMMANDLINE:
            raise click.UsageError(
                f"--{option} is for a folder without a journal, and here a journal is read; "
                f"give --{option} to linecheck grade instead"
            )
