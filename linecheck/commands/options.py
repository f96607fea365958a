"""Options that commands share, and the checks of what they are given."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from linecheck.report import WRITERS

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["EXIT_HELP", "Number", "no_color_option", "no_name_is_empty", "within", "writer_options"]

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


def writer_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """One ``--X FILE`` for each row of the table of writers."""
    for writer in reversed(WRITERS):
        option = click.option(f"--{writer.option}", metavar="FILE", help=f"Write {writer.help}.")
        command = option(command)
    return command


def no_name_is_empty(inputs: list[str]) -> None:
    """Refuse an input whose name is empty: it would be read as this folder."""
    if not all(inputs):
        raise click.UsageError("the name of an input is empty; a file was expected")


no_color_option = click.option(
    "--no-color", is_flag=True, help="No colour, also on a terminal (so does NO_COLOR=1)."
)
