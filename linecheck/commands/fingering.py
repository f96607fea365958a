"""``linecheck fingering``: strings, positions and fingers for a line."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from linecheck.commands.options import check_track, no_color_option, no_name_is_empty
from linecheck.commands.screen import Progress, put_out_file, put_out_page, width
from linecheck.output_files import Outputs

if TYPE_CHECKING:
    from collections.abc import Mapping

    from linecheck.terms import Fingering, Take

__all__ = ["fingering"]


@click.command(
    epilog="""\b
Examples:
  linecheck fingering line.musicxml
  linecheck fingering tuesday.mid --tuning low-b --full
  linecheck fingering line.musicxml --extension C1 --musicxml with_c.xml

\b
Exit status:
  0  done
  2  an input or option could not be used (one line on standard error)
"""
)
@click.argument("line", metavar="TAKE")
@click.option(
    "--tuning",
    metavar="STRINGS",
    default="fourths",
    help="The open strings from the lowest (E1,A1,D2,G2), or fourths, solo, fifths, low-b, high-c.",
)
@click.option(
    "--extension",
    metavar="NOTE",
    help="The lowest note of an extension of the lowest string, such as C1.",
)
@click.option(
    "--costs", metavar="FILE", help="Reckon by these costs (TOML), not the packaged ones."
)
@click.option(
    "--track", metavar="TRACK", help="The bass's track or part: its number from 1 or name."
)
@click.option("--json", "json_file", metavar="FILE", help="Write everything, for a program.")
@click.option("--csv", "csv_file", metavar="FILE", help="Write one row a note, for a spreadsheet.")
@click.option(
    "--musicxml",
    "musicxml_file",
    metavar="FILE",
    help="Write the line in notation with its fingering.",
)
@click.option("--full", is_flag=True, help="Print every bar, shift and difference, however many.")
@no_color_option
def fingering(
    *,
    line: str,
    tuning: str,
    extension: str | None,
    costs: str | None,
    track: str | None,
    json_file: str | None,
    csv_file: str | None,
    musicxml_file: str | None,
    full: bool,
    no_color: bool,
) -> int:
    """Suggest strings, positions and fingers for a line.

    TAKE is a take or a written line. The fingering with the least shifting is looked for, by
    costs that can be changed; where the line has written fingerings, it is held against them. It
    is a suggestion: a hand that hurts stops, and asks a teacher or a doctor.

    A FILE of - is standard output; nothing else is printed there then.
    """
    inputs = [name for name in (line, costs) if name is not None]
    no_name_is_empty(inputs)
    check_track(track)
    asked = {"json": json_file, "csv": csv_file, "musicxml": musicxml_file}
    outputs = Outputs({option: file for option, file in asked.items() if file is not None}, inputs)
    from linecheck.left_hand import fingering as suggest  # noqa: PLC0415  (as in audit)
    from linecheck.steps import read_take  # noqa: PLC0415

    with Progress(quiet=False) as progress:
        progress("reading the take")
        take = read_take(line, track=track)
        progress("looking for the least shifting")
        found = suggest(take, tuning=tuning, extension=extension, costs=costs)
        texts = _files(found, take, asked)
    outputs.write(texts)
    if outputs.to_stdout:
        return put_out_file(texts[outputs.to_stdout])
    from linecheck.left_hand.as_terminal import fingering_page  # noqa: PLC0415

    return put_out_page(fingering_page(found, width=width(), full=full), no_color=no_color)


def _files(found: Fingering, take: Take, asked: Mapping[str, str | None]) -> dict[str, str]:
    """Option → the text of its file, of those that were asked for."""
    texts: dict[str, str] = {}
    if asked["json"] is not None:
        from linecheck.left_hand.as_json import write_json  # noqa: PLC0415

        texts["json"] = write_json(found)
    if asked["csv"] is not None:
        from linecheck.left_hand.as_csv import write_csv  # noqa: PLC0415

        texts["csv"] = write_csv(found)
    if asked["musicxml"] is not None:
        from linecheck.left_hand.as_musicxml import write_musicxml  # noqa: PLC0415

        texts["musicxml"] = write_musicxml(found, take)
    return texts
