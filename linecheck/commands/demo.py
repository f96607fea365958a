"""``linecheck demo``: the demo tunes and their takes."""

from __future__ import annotations

from pathlib import Path

import click

from linecheck.commands.options import no_color_option
from linecheck.commands.screen import Progress, put_out, put_out_report

__all__ = ["demo"]


@click.command(
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
@no_color_option
def demo(*, name: str | None, listing: bool, copy_to: str | None, no_color: bool) -> int:
    """Audit a demo take, to see what a report looks like.

    The charts and takes come with the program: tunes of an invented school, played and written by
    its invented players. NAME picks a take; without it the first one is audited.
    """
    from linecheck import demo as tunes  # noqa: PLC0415  (only this command needs it)

    if listing:
        rows = (f"  {take.name:8}{take.story}" for take in tunes.demo_takes())
        return put_out("\n".join(("Demo takes:", *rows)) + "\n")
    if copy_to is not None:
        copied = tunes.copy_demo_tunes(Path(copy_to))
        return put_out(f"{len(copied)} files copied to {copy_to}\n")
    from linecheck import steps  # noqa: PLC0415  (as in audit)

    take = tunes.demo_take(name)
    with Progress(quiet=False) as progress:
        found = steps.audit(take.chart, take.take, progress=progress)
    put_out_report(found, brief=False, full=False, no_color=no_color)
    files = f"{take.chart.parent.name}/{take.chart.name} {take.take.parent.name}/{take.take.name}"
    return put_out(
        "\nTo go on:\n"
        "  linecheck demo --list\n"
        "  linecheck demo --copy-to tunes && cd tunes\n"
        f"  linecheck audit {files}\n"
        "  (with --html report.html added: a page to hand to the student)\n"
    )
