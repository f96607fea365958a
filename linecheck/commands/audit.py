"""``linecheck audit``: one take against one chart."""

from __future__ import annotations

import shlex
from dataclasses import replace
from typing import TYPE_CHECKING

import click

from linecheck.arguments import PASS_MARK
from linecheck.commands import BELOW_PASS_MARK
from linecheck.commands.options import (
    EXIT_HELP,
    Number,
    check_goes_with,
    check_track,
    click_or_free,
    no_color_option,
    no_name_is_empty,
    reading_options,
    within,
    writer_options,
)
from linecheck.commands.screen import (
    Progress,
    put_out,
    put_out_file,
    put_out_report,
    put_warning,
)
from linecheck.output_files import Outputs
from linecheck.report import PAPERS, WRITERS
from linecheck.report.figures import rounded

if TYPE_CHECKING:
    from linecheck.terms import Audit

__all__ = ["audit"]

FINGERED = ("html", "pdf", "musicxml")  # the files that show a fingering
LONG_AGO = 5  # years before today
NAMED = ("html", "pdf")  # those that show the student's name


@click.command(
    epilog="""\b
Examples:
  linecheck audit blues.toml tuesday.mid
  linecheck audit blues.toml tuesday.mid --html tuesday.html --csv notes.csv
  linecheck audit blues.toml tuesday.mid --json - --pass-mark 70 | less
  linecheck audit blues.toml band.mid --track Bass --first-beat-one 3
  linecheck audit blues.toml tuesday.mid --journal my.journal --student Mira

"""
    + EXIT_HELP
)
@click.argument("chart", metavar="CHART")
@click.argument("take", metavar="TAKE")
@writer_options
@click.option(
    "--paper",
    type=click.Choice(PAPERS, case_sensitive=False),
    default=PAPERS[0],
    show_default=True,
    help="The size of the paper of --pdf.",
)
@reading_options
@click.option(
    "--reference",
    metavar="FILE",
    help="Read the line also against this profile (linecheck reference); no score changes.",
)
@click.option(
    "--pass-mark",
    metavar="N",
    type=Number(),
    callback=within(*PASS_MARK),
    help="Exit with status 1 where the commitment of the take is below N (of 100).",
)
@click.option(
    "--journal", metavar="FILE", help="Note the take in this journal, made where there is none."
)
@click.option(
    "--student",
    metavar="NAME",
    help="Whose take it is, for the journal, and at the head of --html and --pdf.",
)
@click.option(
    "--date",
    metavar="DATE",
    help="The day of the take (2026-03-01), for the journal; else by the file.",
)
@click.option(
    "--fingering",
    is_flag=True,
    help="A suggested fingering under the notes of --html, --pdf and --musicxml.",
)
@click.option(
    "--watch", metavar="FILE", help="Say how the bars that linecheck drill --watch kept go now."
)
@click.option("--brief", is_flag=True, help="Print only the answer, the choruses and the form.")
@click.option("--full", is_flag=True, help="Print every chorus, landing and bar, however many.")
@click.option("--quiet", is_flag=True, help="Print no report.")
@no_color_option
def audit(
    *,
    chart: str,
    take: str,
    paper: str,
    rubric: str | None,
    reference: str | None,
    key: str | None,
    track: str | None,
    tempo: float | None,
    first_beat_one: str | None,
    on_click: bool,
    free: bool,
    pass_mark: float | None,
    journal: str | None,
    student: str | None,
    date: str | None,
    fingering: bool,
    watch: str | None,
    brief: bool,
    full: bool,
    quiet: bool,
    no_color: bool,
    **files: str | None,
) -> int:
    """Audit one take against one chart.

    A FILE of - is standard output; nothing else is printed there then. Files are written whole or
    not at all.
    """
    if brief + full + quiet > 1:
        raise click.UsageError("--brief, --full and --quiet exclude each other; give one of them")
    inputs = [name for name in (chart, take, rubric, reference, journal, watch) if name is not None]
    no_name_is_empty(inputs)
    check_track(track)
    by_click = click_or_free(on_click=on_click, free=free)
    check_goes_with("--pdf", files.get("pdf"), "paper")
    named = any(files.get(option) is not None for option in NAMED)
    whose = _whose(student, journal, date, named=named)
    if fingering and all(files.get(option) is None for option in FINGERED):
        raise click.UsageError(f"--fingering shows in --{', --'.join(FINGERED)}; give one of them")
    outputs = Outputs({option: file for option, file in files.items() if file is not None}, inputs)
    from linecheck import steps  # noqa: PLC0415  (--help and faulty options need none of it)

    with Progress(quiet=quiet) as progress:
        found = steps.audit(
            chart,
            take,
            rubric=rubric,
            reference=reference,
            key=key,
            track=track,
            tempo=tempo,
            first_beat_one=first_beat_one,
            click=by_click,
            progress=progress,
        )
        found = _by_pass_mark(found, pass_mark)
        if fingering:
            progress("looking for a fingering")
            found = _fingered(found)
        if watch is not None:
            from linecheck.practice.watch import check_watched, read_watched  # noqa: PLC0415

            found = check_watched(found, read_watched(watch), source=watch)
        found = _of_student(found, whose)
        texts: dict[str, str | bytes] = {}
        for writer in WRITERS:
            if files.get(writer.option) is not None:
                progress(f"writing {writer.option}")
                texts[writer.option] = writer.write(
                    found, progress.counted(writer.option), paper=paper
                )
    outputs.write(texts)
    below = _below(found.judgement.commitment, found.judgement.rubric.pass_mark)
    if journal is not None:
        from linecheck.journal import entry_of_audit, record  # noqa: PLC0415  (SQLite)

        record(journal, [entry_of_audit(found, student=whose, date=date, take_file=take)])
    if outputs.to_stdout:
        put_out_file(texts[outputs.to_stdout])
    elif not quiet:
        put_out_report(found, verdict=below, brief=brief, full=full, no_color=no_color)
        read_otherwise = (key, track, tempo, first_beat_one, by_click) != (None,) * 5
        _put_out_drill(found, chart, take, brief=brief, read_otherwise=read_otherwise)
    _ask_about_the_year(date)
    return BELOW_PASS_MARK if below else 0


def _by_pass_mark(found: Audit, pass_mark: float | None) -> Audit:
    """The audit with the pass mark that is asked for here: files round its commitment by it."""
    if pass_mark is None:
        return found
    rubric = replace(found.judgement.rubric, pass_mark=pass_mark)
    return replace(found, judgement=replace(found.judgement, rubric=rubric))


def _put_out_drill(
    found: Audit, chart: str, take: str, *, brief: bool, read_otherwise: bool
) -> None:
    """Point whoever is alone with the report to the exercises, where anything cost points."""
    if found.judgement.costs and not brief:
        same = "  (with the same options for how the take is read)\n" if read_otherwise else ""
        put_out(f"\nTo go on:\n  linecheck drill {shlex.quote(chart)} {shlex.quote(take)}\n{same}")


def _below(commitment: float, pass_mark: float | None) -> str:
    """What is said of a take below the pass mark, to as many digits as show it, or ""."""
    if pass_mark is None or commitment >= pass_mark:
        return ""
    shown = next(
        figure
        for digits in range(1, 18)
        if (figure := rounded(commitment, digits)) is not None and figure < pass_mark
    )
    return f"Commitment {shown}, below the pass mark {rounded(pass_mark, 17)}"


def _ask_about_the_year(date: str | None) -> None:
    """Warn of a day still to come, or long ago; it is no fault, for a clock may be wrong."""
    if date is None:
        return
    from datetime import date as Date  # noqa: N812, PLC0415  (only where it is needed)

    today = Date.today()  # noqa: DTZ011  (the user's day)
    years = today.year - int(date[:4])
    if date > today.isoformat():
        put_warning(f"--date: {date} is after today, {today}; is the year right?")
    elif years >= LONG_AGO:
        put_warning(f"--date: {date} is {years} years before today, {today}; is the year right?")


def _fingered(found: Audit) -> Audit:
    """The audit with a fingering of its notes, on a bass tuned in fourths."""
    from linecheck.left_hand import finger_line  # noqa: PLC0415

    return replace(found, fingering=finger_line(found.labels.notes))


def _of_student(found: Audit, student: str) -> Audit:
    """The audit with whose take it is, where that was said."""
    if not student:
        return found
    return replace(found, student=student)


def _whose(student: str | None, journal: str | None, date: str | None, *, named: bool) -> str:
    """The student's name as it is kept; what could not be noted or shown is refused before work."""
    if journal is None and date is not None:
        raise click.UsageError("--date is for a journal; give --journal FILE with it")
    if journal is None and student is not None and not named:
        raise click.UsageError(
            "--student is for a journal, a page or a PDF; give --journal, --html or --pdf FILE "
            "with it"
        )
    if journal is None and student is None:
        return ""
    from linecheck.journal import check_journal, checked_date, student_name  # noqa: PLC0415

    if journal is not None:
        check_journal(journal)
    if date is not None:
        checked_date(date)
    whose = student_name(student or "")
    if student is not None and not whose:
        raise click.UsageError("--student is empty; a name was expected")
    return whose
