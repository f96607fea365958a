"""What is printed: pages, plain text and the progress of a job; the only file that prints.

Reports go to standard output, progress to standard error where that is a terminal.
"""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING, Any, Self, TextIO

import click

from linecheck.commands import READER_GONE
from linecheck.commands.stand_ins import writable
from linecheck.faults import OutputFault
from linecheck.output_files import file_bytes

if TYPE_CHECKING:
    from collections.abc import Callable

    from linecheck.report.page import Page
    from linecheck.terms import Audit

__all__ = [
    "WIDEST",
    "Progress",
    "TakesProgress",
    "close_stdout",
    "put_out",
    "put_out_file",
    "put_out_page",
    "put_out_report",
    "put_warning",
    "width",
]

WIDEST = 80


def close_stdout() -> None:
    """Point standard output at nothing, so that its closing finds no broken pipe."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def put_out_file(content: str | bytes) -> int:
    """Write a file to standard output, the same bytes as on the disk; return the exit status 0."""
    return put_out(file_bytes(content))


def put_out(content: str | bytes) -> int:
    """Write text for a reader, or bytes, to standard output and return the exit status 0."""
    if sys.stdout is None:
        raise OutputFault("it is closed", source="standard output")
    try:
        if isinstance(content, bytes):
            sys.stdout.buffer.write(content)
        else:
            sys.stdout.write(writable(content, sys.stdout.encoding))
        sys.stdout.flush()
    except BrokenPipeError:
        close_stdout()
        raise click.exceptions.Exit(READER_GONE) from None
    except OSError as fault:
        raise OutputFault(f"cannot write: {fault.strerror}", source="standard output") from fault
    return 0


def put_out_report(
    found: Audit, *, verdict: str = "", brief: bool, full: bool, no_color: bool
) -> int:
    """Print the report of an audit, with the verdict below it, and return the exit status 0."""
    from linecheck.report.as_terminal import terminal_page  # noqa: PLC0415

    page = terminal_page(found, width=width(), brief=brief, full=full)
    if verdict:
        page.gap()
        page.say(verdict, style="answer")
    return put_out_page(page, no_color=no_color)


def put_out_page(page: Page, *, no_color: bool) -> int:
    """Print a page, in colour where the terminal shows it, and return the exit status 0."""
    if no_color or not _shows_color():
        return put_out(page.as_text())
    from rich.console import Console  # noqa: PLC0415  (not needed where the output is piped)

    console = Console(highlight=False, width=max(page.width, WIDEST))
    with console.capture() as capture:
        console.print(page.as_rich(), end="", soft_wrap=True)
    return put_out(capture.get())


def put_warning(text: str) -> None:
    """Say in one line on standard error what to look at; the exit status stays as it is."""
    if sys.stderr is not None:
        sys.stderr.write(writable(f"linecheck: {text}\n", sys.stderr.encoding))


def width() -> int:
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


class TakesProgress:
    """How many takes are done and how long the rest will take, on standard error of a terminal."""

    def __init__(self, *, quiet: bool, doing: str = "grading") -> None:
        self._doing = doing
        self._bar: Any = None
        self._task: Any = None
        self._wanted = not quiet and _is_terminal(sys.stderr)

    def __enter__(self) -> Self:
        return self

    def _start(self) -> None:
        if self._wanted:
            from rich import progress as bars  # noqa: PLC0415  (only on a terminal)
            from rich.console import Console  # noqa: PLC0415

            self._bar = bars.Progress(
                bars.TextColumn(self._doing),
                bars.BarColumn(),
                bars.MofNCompleteColumn(),
                bars.TimeRemainingColumn(),
                console=Console(stderr=True),
                transient=True,
            )
            self._task = self._bar.add_task(self._doing, total=None)
            self._bar.start()

    def __call__(self, done: int, whole: int) -> None:
        """Show how many takes are done."""
        if self._bar is None:
            self._start()
        if self._bar is not None:
            self._bar.update(self._task, completed=done, total=whole)

    def __exit__(self, *_: object) -> None:
        if self._bar is not None:
            self._bar.stop()


class Progress:
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
        """Show the step at work."""
        if self._status is not None:
            self._status.update(step)

    def counted(self, option: str) -> Callable[[int, int], None]:
        """A callback that shows how far the writing of a file is."""
        return lambda done, whole: self(f"writing {option}: {100 * done // max(whole, 1)} %")

    def __exit__(self, *_: object) -> None:
        if self._status is not None:
            self._status.stop()
