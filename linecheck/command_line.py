"""The command line: the group of the commands, the ending of a process, and its faults.

Exit status: 0 audited; 1 audited, but below the pass mark that was asked for; 2 an input, an
option or an output could not be used (one line on standard error that begins with
``linecheck: ``, never a traceback); 130 stopped by Ctrl-C; 141 the reader of the output went away.
"""

from __future__ import annotations

import gc
import os
import signal
import sys
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from linecheck import __version__
from linecheck.commands import FAULT, INTERRUPTED, READER_GONE, Commands
from linecheck.commands.screen import WIDEST, close_stdout
from linecheck.commands.stand_ins import writable
from linecheck.faults import InputFault

if TYPE_CHECKING:
    from collections.abc import Sequence
    from types import TracebackType

__all__ = ["main", "run"]

DEBUG = "LINECHECK_DEBUG"

# ---- what stands around every command --------------------------------------------------------


def main() -> NoReturn:
    """Run the command line of this process and exit with its status."""
    for threads in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(threads, "1")  # our matrices are small: more threads only cost
    # Where this process is killed, what watches over its workers clears up after it and complains.
    given = os.environ.get("PYTHONWARNINGS")
    os.environ["PYTHONWARNINGS"] = ",".join(filter(None, (given, "ignore:resource_tracker")))
    gc.set_threshold(200_000)  # notes hold no cycles: to look for some costs a sixth of a long take
    status = run(sys.argv[1:])
    if sys.stdout is not None:  # None where the process was started without one
        try:
            sys.stdout.flush()
        except OSError:
            status = status or READER_GONE
            close_stdout()
    # All is done: the exit handlers of libraries, which end their workers, are not cut short.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
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
    except OSError as fault:
        if _is_of_click(fault):
            return _say_fault(f"standard output: cannot write: {fault.strerror}", FAULT)
        return _say_internal_fault(fault)
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
        sys.stderr.write(writable(f"linecheck: {line}\n", sys.stderr.encoding))
    return status


def _last_of(fault: Exception) -> TracebackType | None:
    """Where a fault comes from."""
    last = fault.__traceback__
    while last is not None and last.tb_next is not None:
        last = last.tb_next
    return last


def _is_of_click(fault: OSError) -> bool:
    """Whether click was writing: its help and its version do not come by ``screen``."""
    last = _last_of(fault)
    return last is not None and last.tb_frame.f_globals.get("__name__") == "click.utils"


def _say_internal_fault(fault: Exception) -> int:
    if os.environ.get(DEBUG):
        import traceback  # noqa: PLC0415

        traceback.print_exception(fault)
        return FAULT
    last = _last_of(fault)
    where = (
        f" in {Path(last.tb_frame.f_code.co_filename).name}, line {last.tb_lineno}" if last else ""
    )
    return _say_fault(
        f"internal fault: {type(fault).__name__}: {fault}{where}; this is a fault of linecheck, "
        f"please report it ({DEBUG}=1 shows where it comes from)",
        FAULT,
    )


# ---- the commands ----------------------------------------------------------------------------


@click.group(
    cls=Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": WIDEST},
    epilog="""\b
Examples:
  linecheck demo
  linecheck audit blues.toml tuesday.mid
  linecheck drill blues.toml tuesday.mid --html plan.html
  linecheck grade class_folder

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

    A chart is a .toml, .musicxml, .mxl, .xml or .abc file; a take is MIDI, MusicXML or ABC, or
    with linecheck[audio] a recording. Nothing leaves this machine.
    """
