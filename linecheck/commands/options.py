"""Options that commands share, and the checks of what they are given."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click
from click.core import ParameterSource

from linecheck.arguments import TEMPO, checked_track
from linecheck.faults import OptionFault
from linecheck.report import WRITERS

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = [
    "EXIT_HELP",
    "Number",
    "check_goes_with",
    "check_track",
    "click_or_free",
    "hearing_options",
    "key_option",
    "no_color_option",
    "no_name_is_empty",
    "reading_options",
    "subfolders_option",
    "within",
    "writer_options",
]

EXIT_HELP = """\b
Exit status:
  0  audited
  1  audited, but below the pass mark
  2  an input or option could not be used (one line on standard error)
"""


class Number(click.types.FloatParamType):
    """A number, called so in a fault (click says "float")."""

    name = "number"


def within(low: float, high: float) -> Callable[..., float | None]:
    """A check that an option's number lies from ``low`` to ``high``; NaN does not."""

    def check(_: click.Context, option: click.Parameter, value: float | None) -> float | None:
        if value is not None and not low <= value <= high:
            raise click.BadParameter(f"{value:g} is not from {low:g} to {high:g}", param=option)
        return value

    return check


def subfolders_option(where: str) -> Callable[..., Any]:
    """What a folder in a folder of takes is; ``where`` says where that is asked."""
    return click.option(
        "--subfolders",
        type=click.Choice(("students", "classes")),
        default="students",
        show_default=True,
        help=f"What a folder in {where} is, where no table says it.",
    )


def writer_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """One ``--X FILE`` for each row of the table of writers."""
    for writer in reversed(WRITERS):
        option = click.option(f"--{writer.option}", metavar="FILE", help=f"Write {writer.help}.")
        command = option(command)
    return command


def reading_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """How a take is read and weighed: rubric, track, tempo, first beat one, click or free."""
    for option in reversed(_READING):
        command = option(command)
    return command


def hearing_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """How a take is read, where nothing is weighed: the same without the rubric."""
    for option in reversed(_READING[1:]):
        command = option(command)
    return command


def check_goes_with(wanted: str, file: str | None, *options: str) -> None:
    """Refuse options that were given without the file that they are for: they would do nothing.

    Args:
        wanted: the option of that file, such as ``--pdf``.
        file: what was given for it.
        options: names of parameters of the command that runs.
    """
    if file is not None:
        return
    context = click.get_current_context()
    for parameter in context.command.params:
        given = context.get_parameter_source(parameter.name or "") is ParameterSource.COMMANDLINE
        if parameter.name in options and given:
            raise click.UsageError(
                f"{parameter.opts[0]} is for {wanted}; give {wanted} FILE with it"
            )


def check_track(track: str | None) -> None:
    """Refuse a track without a name or number."""
    try:
        checked_track(track)
    except OptionFault as fault:
        raise click.UsageError(f"--{fault}") from None


def click_or_free(*, on_click: bool, free: bool) -> bool | None:
    """What ``click`` of the steps is to be: True, False, or None where the playing tells."""
    if on_click and free:
        raise click.UsageError("--click and --free exclude each other; give one of them")
    return on_click if on_click or free else None


def no_name_is_empty(inputs: list[str]) -> None:
    """Refuse an input whose name is empty: it would be read as this folder."""
    if not all(inputs):
        raise click.UsageError("the name of an input is empty; a file was expected")


no_color_option = click.option(
    "--no-color", is_flag=True, help="No colour, also on a terminal (so does NO_COLOR=1)."
)

key_option = click.option(
    "--key",
    metavar="KEY",
    help="The key that the take is in (Bb, Dm), where the chart is in another.",
)

_READING = (
    click.option(
        "--rubric", metavar="FILE", help="Weigh by this rubric (TOML), not the packaged one."
    ),
    key_option,
    click.option(
        "--track", metavar="TRACK", help="The bass's track or part: its number from 1 or name."
    ),
    click.option(
        "--tempo",
        metavar="BPM",
        type=Number(),
        callback=within(*TEMPO),
        help="About how many quarter notes a minute: a hint for a take without a click.",
    ),
    click.option(
        "--first-beat-one",
        metavar="WHERE",
        help="Where chorus 1 begins: bar 3 of the file (3), its beat 2 (3:2), or seconds (4.2s). A "
        "take without a click has no bars: give seconds.",
    ),
    click.option(
        "--click", "on_click", is_flag=True, help="The tempo map of the file is the grid."
    ),
    click.option(
        "--free",
        is_flag=True,
        help="The file is only a clock. Without --click and --free the playing tells.",
    ),
)
