"""``linecheck compare``: what a line showed and the solo kept, or two takes side by side."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import click

from linecheck.commands.options import (
    check_track,
    click_or_free,
    hearing_options,
    no_color_option,
    no_name_is_empty,
)
from linecheck.commands.screen import Progress, put_out_file, put_out_page, width
from linecheck.output_files import Outputs

if TYPE_CHECKING:
    from linecheck.terms import Style

__all__ = ["compare"]

CHORUSES = re.compile(r"(\d{1,6})(?:-(\d{1,6}))?")
MOST_CHORUSES = 100_000


class Choruses(click.ParamType[tuple[int, ...]]):
    """Numbers of choruses: ``3``, ``1-3`` or ``1-3,6``."""

    name = "choruses"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[int, ...]:
        """The numbers, ascending."""
        if isinstance(value, tuple):
            return value
        numbers: set[int] = set()
        for part in str(value).replace(" ", "").split(","):
            found = CHORUSES.fullmatch(part)
            first, last = (int(found[1]), int(found[2] or found[1])) if found else (0, 0)
            if not 1 <= first <= last <= MOST_CHORUSES:
                self.fail(f"{value} names no choruses; such as 1-3 or 2,5 was expected", param, ctx)
            numbers.update(range(first, last + 1))
        return tuple(sorted(numbers))


@click.command(
    epilog="""\b
Examples:
  linecheck compare blues.toml tuesday.mid
  linecheck compare blues.toml tuesday.mid --walking 1-3 --solo 4-5
  linecheck compare blues.toml last_week.mid tuesday.mid --style solo
  linecheck compare blues.toml tuesday.mid --html compared.html

\b
Exit status:
  0  compared
  2  an input or option could not be used (one line on standard error)
"""
)
@click.argument("chart", metavar="CHART")
@click.argument("take", metavar="TAKE")
@click.argument("second", metavar="[TAKE]", required=False)
@click.option(
    "--walking",
    metavar="CHORUSES",
    type=Choruses(),
    help="The choruses of the walking line, such as 1-3; with two takes, those of the first.",
)
@click.option(
    "--solo",
    metavar="CHORUSES",
    type=Choruses(),
    help="The choruses of the solo, such as 4,5; with two takes, those of the second.",
)
@click.option(
    "--style",
    type=click.Choice(["walking", "solo", "mixed"]),
    help="With two takes: compare only the choruses of this style.",
)
@hearing_options
@click.option("--json", "json_file", metavar="FILE", help="Write everything, for a program.")
@click.option("--html", "html_file", metavar="FILE", help="Write a page to hand to the student.")
@click.option("--quiet", is_flag=True, help="Print no report.")
@no_color_option
def compare(
    *,
    chart: str,
    take: str,
    second: str | None,
    walking: tuple[int, ...] | None,
    solo: tuple[int, ...] | None,
    style: Style | None,
    key: str | None,
    track: str | None,
    tempo: float | None,
    first_beat_one: str | None,
    on_click: bool,
    free: bool,
    json_file: str | None,
    html_file: str | None,
    quiet: bool,
    no_color: bool,
) -> int:
    """Show what a walking line carries over into the solo.

    With one take its walking choruses are held against its solo choruses, as their rhythm tells
    them apart. With two takes the first is held against the second: a line against a solo, or
    last week's take against this week's. What is said of how a take is read holds for both.
    """
    inputs = [name for name in (chart, take, second) if name is not None]
    no_name_is_empty(inputs)
    check_track(track)
    by_click = click_or_free(on_click=on_click, free=free)
    asked = {"json": json_file, "html": html_file}
    outputs = Outputs({option: file for option, file in asked.items() if file is not None}, inputs)
    from linecheck.comparison import compare as held_against  # noqa: PLC0415  (as in audit)

    with Progress(quiet=quiet) as progress:
        progress("comparing")
        found = held_against(
            chart,
            take,
            second,
            walking=walking,
            solo=solo,
            style=style,
            key=key,
            track=track,
            tempo=tempo,
            first_beat_one=first_beat_one,
            click=by_click,
        )
    texts: dict[str, str | bytes] = {}
    if json_file is not None:
        from linecheck.report.comparison_as_json import write_comparison_json  # noqa: PLC0415

        texts["json"] = write_comparison_json(found)
    if html_file is not None:
        from linecheck.report.comparison_as_html import write_comparison_html  # noqa: PLC0415

        texts["html"] = write_comparison_html(found)
    outputs.write(texts)
    if outputs.to_stdout:
        return put_out_file(texts[outputs.to_stdout])
    if quiet:
        return 0
    from linecheck.report.comparison_as_terminal import comparison_page  # noqa: PLC0415

    return put_out_page(comparison_page(found, width=width()), no_color=no_color)
