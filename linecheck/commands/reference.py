"""``linecheck reference``: what good lines do, by beat, chord type and style."""

from __future__ import annotations

import click

from linecheck.commands.options import key_option, no_color_option, no_name_is_empty
from linecheck.commands.screen import Progress, put_out_file, put_out_page, width
from linecheck.output_files import Outputs

__all__ = ["reference"]


@click.command(
    short_help="Count what the lines of given takes do.",
    epilog="""\b
Examples:
  linecheck reference good/*.mid --chart blues.toml
  linecheck reference teachers --json good_lines.json
  linecheck audit blues.toml tuesday.mid --reference good_lines.json

\b
Exit status:
  0  counted
  2  an input or option could not be used (one line on standard error)
""",
)
@click.argument("takes", metavar="TAKES|FOLDERS...", nargs=-1, required=True)
@click.option(
    "--chart",
    metavar="CHART",
    help="The chart of all takes; else each has its own beside it, under its name, or in a folder "
    "charts, or is written with chord symbols.",
)
@key_option
@click.option(
    "--json", "json_file", metavar="FILE", help="Write a profile, for audit --reference FILE."
)
@no_color_option
def reference(
    *,
    takes: tuple[str, ...],
    chart: str | None,
    key: str | None,
    json_file: str | None,
    no_color: bool,
) -> int:
    """Count what the lines of given takes do on each beat and over each type of chord.

    The profile that --json writes is what linecheck audit --reference reads a line against. It
    holds counts and shares, and no name.
    """
    inputs = [*takes, *([chart] if chart is not None else [])]
    no_name_is_empty(inputs)
    outputs = Outputs({"json": json_file} if json_file is not None else {}, inputs)
    from linecheck.reference_lines import reference as counted  # noqa: PLC0415  (as in audit)

    with Progress(quiet=False) as progress:
        profile = counted(takes, chart=chart, key=key, progress=progress)
    if json_file is not None:
        from linecheck.report.reference_as_json import write_reference_json  # noqa: PLC0415

        text = write_reference_json(profile)
        outputs.write({"json": text})
        if outputs.to_stdout:
            return put_out_file(text)
    from linecheck.report.reference_as_terminal import reference_page  # noqa: PLC0415

    return put_out_page(reference_page(profile, width=width()), no_color=no_color)
