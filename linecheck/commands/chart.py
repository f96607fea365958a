"""``linecheck chart``: a chart as it was understood."""

from __future__ import annotations

import click

from linecheck.commands.options import no_color_option, no_name_is_empty
from linecheck.commands.screen import put_out_file, put_out_page, width
from linecheck.output_files import Outputs

__all__ = ["chart"]


@click.command(
    epilog="""\b
Examples:
  linecheck chart blues.toml
  linecheck chart blues.abc --json -
  linecheck chart blues.toml --key Bb

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
@click.option("--key", metavar="KEY", help="Print it in this key (Bb, Dm).")
@no_color_option
def chart(*, chart: str, key: str | None, json_file: str | None, no_color: bool) -> int:
    """Print a chart as it was understood.

    A slip in it is seen at once: the bars stand as they were read, and every chord with its tones,
    their degrees and the tensions that are available over it.
    """
    no_name_is_empty([chart])
    outputs = Outputs({"json": json_file} if json_file is not None else {}, [chart])
    from linecheck.steps import read_chart  # noqa: PLC0415  (as in audit)

    read = read_chart(chart, key=key)
    if json_file is None:
        from linecheck.report.chart_as_terminal import chart_page  # noqa: PLC0415

        return put_out_page(chart_page(read, width=width()), no_color=no_color)
    from linecheck.report.chart_as_json import write_chart_json  # noqa: PLC0415

    text = write_chart_json(read)
    outputs.write({"json": text})
    return put_out_file(text) if outputs.to_stdout else 0
