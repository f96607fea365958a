"""The command line: options, files and exit status; the only file that prints or exits.

Exit status: 0 audited; 1 audited, but below the pass mark that was asked for; 2 an input, an
option or an output could not be used (one line on standard error that begins with
``linecheck: ``, never a traceback); 130 stopped by Ctrl-C; 141 the reader of the output went away.
"""

from __future__ import annotations

import gc
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn, Self, TextIO

import click

from linecheck import __version__
from linecheck.faults import InputFault, OutputFault
from linecheck.output_files import STDOUT, Outputs
from linecheck.report import WRITERS

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from linecheck.report.page import Page
    from linecheck.terms import Audit

__all__ = ["main", "run"]

BELOW_PASS_MARK, FAULT, INTERRUPTED, READER_GONE = 1, 2, 130, 141
DEBUG = "LINECHECK_DEBUG"
WIDEST = 80

_EXIT_HELP = """\b
Exit status:
  0  audited
  1  audited, but below the pass mark
  2  an input or option could not be used (one line on standard error)
"""


# ---- what stands around every command --------------------------------------------------------


def main() -> NoReturn:
    """Run the command line of this process and exit with its status."""
    for threads in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(threads, "1")  # our matrices are small: more threads only cost
    gc.set_threshold(200_000)  # notes hold no cycles: to look for some costs a sixth of a long take
    status = run(sys.argv[1:])
    if sys.stdout is not None:  # None where the process was started without one
        try:
            sys.stdout.flush()
        except OSError:
            status = status or READER_GONE
            _close_stdout()
    sys.exit(status)


def run(arguments: Sequence[str]) -> int:  # noqa: PLR0911  (one return a kind of ending)
    """Run one command line and return its exit status; no exception gets out."""
    try:
        status = linecheck.main(list(arguments), prog_name="linecheck", standalone_mode=False)
    except click.exceptions.Exit as stop:
        return stop.exit_code
    except click.exceptions.NoArgsIsHelpError:
        return run([*arguments, "--help"])
    except (click.Abort, KeyboardInterrupt):
        return INTERRUPTED
    except click.ClickException as fault:
        return _say_usage_fault(fault)
    except InputFault as fault:
        return _say_fault(str(fault), fault.exit_status)
    except SystemExit:  # click's own way out when help is piped into a reader that went away
        return READER_GONE
    except Exception as fault:  # noqa: BLE001  (the last stop: a user never sees a traceback)
        return _say_internal_fault(fault)
    return status if isinstance(status, int) else 0


def _say_usage_fault(fault: click.ClickException) -> int:
    context = getattr(fault, "ctx", None)
    where = f"; see {context.command_path} --help" if context else ""
    return _say_fault(fault.format_message().rstrip(".") + where, FAULT)


def _say_fault(text: str, status: int) -> int:
    line = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    if sys.stderr is not None:
        sys.stderr.write(_writable(f"linecheck: {line}\n", sys.stderr.encoding))
    return status


def _say_internal_fault(fault: Exception) -> int:
    if os.environ.get(DEBUG):
        import traceback  # noqa: PLC0415

        traceback.print_exception(fault)
        return FAULT
    last = fault.__traceback__
    while last is not None and last.tb_next is not None:
        last = last.tb_next
    where = (
        f" in {Path(last.tb_frame.f_code.co_filename).name}, line {last.tb_lineno}" if last else ""
    )
    return _say_fault(
        f"internal fault: {type(fault).__name__}: {fault}{where}; this is a fault of linecheck, "
        f"please report it ({DEBUG}=1 shows where it comes from)",
        FAULT,
    )


def _close_stdout() -> None:
    """Point standard output at nothing, so that its closing finds no broken pipe."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _writable(text: str, encoding: str | None) -> str:
    """The text with a stand-in for every character that the stream cannot show."""
    name = encoding or "ascii"
    return text.encode(name, errors="replace").decode(name)


def _put_out(content: str | bytes) -> int:
    if sys.stdout is None:
        raise OutputFault("it is closed", source="standard output")
    try:
        if isinstance(content, bytes):
            sys.stdout.buffer.write(content)
        else:
            sys.stdout.write(_writable(content, sys.stdout.encoding))
        sys.stdout.flush()
    except BrokenPipeError:
        _close_stdout()
        raise click.exceptions.Exit(READER_GONE) from None
    except OSError as fault:
        raise OutputFault(f"cannot write: {fault.strerror}", source="standard output") from fault
    return 0


# ---- options -------------------------------------------------------------------------------------


class _Number(click.types.FloatParamType):
    """A number, called so in a fault (click says "float")."""

    name = "number"


def _within(low: float, high: float) -> Callable[..., float | None]:
    """A check that an option's number lies from ``low`` to ``high``; NaN does not."""

    def check(_: click.Context, option: click.Parameter, value: float | None) -> float | None:
        if value is not None and not low <= value <= high:
            raise click.BadParameter(f"{value:g} is not from {low:g} to {high:g}", param=option)
        return value

    return check


def _writer_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """One ``--X FILE`` for each row of the table of writers."""
    for writer in reversed(WRITERS):
        option = click.option(f"--{writer.option}", metavar="FILE", help=f"Write {writer.help}.")
        command = option(command)
    return command


def _no_name_is_empty(inputs: list[str]) -> None:
    if not all(inputs):
        raise click.UsageError("the name of an input is empty; a file was expected")


_no_color = click.option(
    "--no-color", is_flag=True, help="No colour, also on a terminal (so does NO_COLOR=1)."
)


# ---- the commands ----------------------------------------------------------------------------


@click.group(
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": WIDEST},
    epilog="""\b
Examples:
  linecheck demo
  linecheck audit blues.toml tuesday.mid
  linecheck chart blues.toml

\b
Exit status:
  0  done
  1  audited, but below the pass mark
  2  an input or option could not be used (one line on standard error)
""",
)
@click.version_option(__version__, prog_name="linecheck", message="%(prog)s %(version)s")
def linecheck() -> None:
    """Read a chart and a jazz bass line, and say of every note why it is there.

    A chart is a .toml, .musicxml, .mxl, .xml or .abc file; a take is MIDI, MusicXML or ABC.
    Nothing leaves this machine.
    """


@linecheck.command(
    epilog="""\b
Examples:
  linecheck audit blues.toml tuesday.mid
  linecheck audit blues.toml tuesday.mid --html tuesday.html --csv notes.csv
  linecheck audit blues.toml tuesday.mid --json - --pass-mark 70 | less
  linecheck audit blues.toml band.mid --track Bass --first-beat-one 3

"""
    + _EXIT_HELP
)
@click.argument("chart", metavar="CHART")
@click.argument("take", metavar="TAKE")
@_writer_options
@click.option("--rubric", metavar="FILE", help="Weigh by this rubric (TOML), not the packaged one.")
@click.option(
    "--track", metavar="TRACK", help="The bass's track or part: its number from 1 or name."
)
@click.option(
    "--tempo",
    metavar="BPM",
    type=_Number(),
    callback=_within(20, 500),
    help="About how many quarter notes a minute: a hint for a take without a click.",
)
@click.option(
    "--first-beat-one",
    metavar="WHERE",
    help="Where chorus 1 begins: bar 3 of the file (3), its beat 2 (3:2), or seconds (4.2s).",
)
@click.option(
    "--click/--free",
    "on_click",
    default=None,
    help="The file's tempo map is the grid, or only a clock. Without either, the playing tells.",
)
@click.option(
    "--pass-mark",
    metavar="N",
    type=_Number(),
    callback=_within(0, 100),
    help="Exit with status 1 where the commitment of the take is below N (of 100).",
)
@click.option("--brief", is_flag=True, help="Print only the answer, the choruses and the form.")
@click.option("--full", is_flag=True, help="Print every chorus, landing and bar, however many.")
@click.option("--quiet", is_flag=True, help="Print no report.")
@_no_color
def audit(
    *,
    chart: str,
    take: str,
    rubric: str | None,
    track: str | None,
    tempo: float | None,
    first_beat_one: str | None,
    on_click: bool | None,
    pass_mark: float | None,
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
    inputs = [name for name in (chart, take, rubric) if name is not None]
    _no_name_is_empty(inputs)
    if track is not None and not track.strip():
        raise click.UsageError("--track is empty; the number or the name of a track was expected")
    outputs = Outputs({option: file for option, file in files.items() if file is not None}, inputs)
    from linecheck import steps  # noqa: PLC0415  (--help and faulty options need none of it)

    with _Progress(quiet=quiet) as progress:
        found = steps.audit(
            chart,
            take,
            rubric=rubric,
            track=track,
            tempo=tempo,
            first_beat_one=first_beat_one,
            click=on_click,
            progress=progress,
        )
        texts: dict[str, str | bytes] = {}
        for writer in WRITERS:
            if files.get(writer.option) is not None:
                progress(f"writing {writer.option}")
                texts[writer.option] = writer.write(found, progress.counted(writer.option))
    outputs.write(texts)
    if outputs.to_stdout:
        _put_out(texts[outputs.to_stdout])
    elif not quiet:
        _put_out_report(found, brief=brief, full=full, no_color=no_color)
    asked = found.judgement.rubric.pass_mark if pass_mark is None else pass_mark
    below = asked is not None and found.judgement.commitment < asked
    return BELOW_PASS_MARK if below else 0


@linecheck.command(
    epilog="""\b
Examples:
  linecheck chart blues.toml
  linecheck chart blues.abc --json -

\b
Exit status:
  0  printed
  2  the chart or an option could not be used (one line on standard error)
"""
)
@click.argument("chart", metavar="CHART")
@click.option(
    "--json", "json_file", metavar="FILE", help="Write it for a program instead of printing it."
)
@_no_color
def chart(*, chart: str, json_file: str | None, no_color: bool) -> int:
    """Print a chart as it was understood.

    A slip in it is seen at once: the bars stand as they were read, and every chord with its tones,
    their degrees and the tensions that are available over it.
    """
    _no_name_is_empty([chart])
    outputs = Outputs({"json": json_file} if json_file is not None else {}, [chart])
    from linecheck.steps import read_chart  # noqa: PLC0415  (as in audit)

    read = read_chart(chart)
    if json_file is None:
        from linecheck.report.chart_as_terminal import chart_page  # noqa: PLC0415

        return _put_out_page(chart_page(read, width=_width()), no_color=no_color)
    from linecheck.report.chart_as_json import write_chart_json  # noqa: PLC0415

    text = write_chart_json(read)
    outputs.write({"json": text})
    return _put_out(text) if json_file == STDOUT else 0


@linecheck.command(
    epilog="""\b
Examples:
  linecheck demo
  linecheck demo --list
  linecheck demo oskar
  linecheck demo --copy-to tunes

\b
Exit status:
  0  done
  2  it could not be done (one line on standard error)
"""
)
@click.argument("name", metavar="[NAME]", required=False)
@click.option("--list", "listing", is_flag=True, help="List the demo takes.")
@click.option("--copy-to", metavar="FOLDER", help="Copy all charts and takes into FOLDER.")
@_no_color
def demo(*, name: str | None, listing: bool, copy_to: str | None, no_color: bool) -> int:
    """Audit a demo take, to see what a report looks like.

    The charts and takes come with the program: tunes of an invented school, played and written by
    its invented players. NAME picks a take; without it the first one is audited.
    """
    from linecheck import demo as tunes  # noqa: PLC0415  (only this command needs it)

    if listing:
        rows = (f"  {take.name:8}{take.story}" for take in tunes.demo_takes())
        return _put_out("\n".join(("Demo takes:", *rows)) + "\n")
    if copy_to is not None:
        copied = tunes.copy_demo_tunes(Path(copy_to))
        return _put_out(f"{len(copied)} files copied to {copy_to}\n")
    from linecheck import steps  # noqa: PLC0415  (as in audit)

    take = tunes.demo_take(name)
    with _Progress(quiet=False) as progress:
        found = steps.audit(take.chart, take.take, progress=progress)
    _put_out_report(found, brief=False, full=False, no_color=no_color)
    files = f"{take.chart.parent.name}/{take.chart.name} {take.take.parent.name}/{take.take.name}"
    return _put_out(
        "\nTo go on:\n"
        "  linecheck demo --list\n"
        "  linecheck demo --copy-to tunes && cd tunes\n"
        f"  linecheck audit {files} --html report.html\n"
    )


# ---- the screen ------------------------------------------------------------------------------


def _put_out_report(found: Audit, *, brief: bool, full: bool, no_color: bool) -> int:
    from linecheck.report.as_terminal import terminal_page  # noqa: PLC0415

    page = terminal_page(found, width=_width(), brief=brief, full=full)
    return _put_out_page(page, no_color=no_color)


def _put_out_page(page: Page, *, no_color: bool) -> int:
    if no_color or not _shows_color():
        return _put_out(page.as_text())
    from rich.console import Console  # noqa: PLC0415  (not needed where the output is piped)

    console = Console(highlight=False, width=max(page.width, WIDEST))
    with console.capture() as capture:
        console.print(page.as_rich(), end="", soft_wrap=True)
    return _put_out(capture.get())


def _width() -> int:
    """Columns to write in: never more than 80, so that a report looks the same everywhere."""
    if not _is_terminal(sys.stdout):
        return WIDEST
    import shutil  # noqa: PLC0415

    return max(40, min(WIDEST, shutil.get_terminal_size((WIDEST, 24)).columns))


def _shows_color() -> bool:
    """A terminal that shows colour and was not asked for none (NO_COLOR as on no-color.org)."""
    plain = os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb"
    return _is_terminal(sys.stdout) and not plain


def _is_terminal(stream: TextIO | None) -> bool:
    return stream is not None and stream.isatty()


class _Progress:
    """The step at work, on standard error, where that is a terminal."""

    def __init__(self, *, quiet: bool) -> None:
        self._status: Any = None
        self._wanted = not quiet and _is_terminal(sys.stderr)

    def __enter__(self) -> Self:
        if self._wanted:
            from rich.console import Console  # noqa: PLC0415  (only on a terminal)

            self._status = Console(stderr=True).status("linecheck")
            self._status.start()
        return self

    def __call__(self, step: str) -> None:
        if self._status is not None:
            self._status.update(step)

    def counted(self, option: str) -> Callable[[int, int], None]:
        """A callback that shows how far the writing of a file is."""
        return lambda done, whole: self(f"writing {option}: {100 * done // max(whole, 1)} %")

    def __exit__(self, *_: object) -> None:
        if self._status is not None:
            self._status.stop()
