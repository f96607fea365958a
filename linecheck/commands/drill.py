"""``linecheck drill``: what to practise after a take, with sheets and a track to play to."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import click

from linecheck.commands.options import (
    check_goes_with,
    check_track,
    click_or_free,
    no_color_option,
    no_name_is_empty,
    reading_options,
)
from linecheck.commands.screen import Progress, put_out_file, put_out_page, width
from linecheck.output_files import Outputs
from linecheck.report import PAPERS

if TYPE_CHECKING:
    from linecheck.practice import PracticePlan
    from linecheck.practice.practice_plan import ExerciseKind

__all__ = ["drill"]

# The names of the exercises, written out so that --help imports none of them.
EXERCISES = (
    "landings",
    "guide-tones",
    "chromatic-below",
    "chromatic-above",
    "scale",
    "double",
    "enclosure",
    "from-the-fifth",
    "walking",
    "eighths",
)
_BARS = re.compile(r"(\d{1,4})(?:-(\d{1,4}))?")


class _Bars(click.ParamType[tuple[tuple[int, int], ...]]):
    """Bars of the chart: ``7``, ``7-8``, and several of them with commas."""

    name = "bars"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[tuple[int, int], ...]:
        """First and last bar of each run."""
        found = []
        for part in str(value).split(","):
            match = _BARS.fullmatch(part.strip())
            if match is None:
                self.fail(f"{part.strip()!r} is no run of bars such as 7-8 or 7", param, ctx)
            found.append((int(match[1]), int(match[2] or match[1])))
        return tuple(found)


@click.command(
    short_help="Make a practice plan out of a take.",
    epilog="""\b
Examples:
  linecheck drill blues.toml tuesday.mid
  linecheck drill blues.toml tuesday.mid --midi play.mid --pdf sheets.pdf
  linecheck drill blues.toml tuesday.mid --watch tuesday.watch
  linecheck drill blues.toml tuesday.mid --bars 7-8 --midi - --from 60

\b
Exit status:
  0  done
  2  an input or option could not be used (one line on standard error)
""",
)
@click.argument("chart", metavar="CHART")
@click.argument("take", metavar="TAKE")
@click.option("--html", metavar="FILE", help="Write the plan and its exercises as a page.")
@click.option("--pdf", metavar="FILE", help="Write the same on paper.")
@click.option("--musicxml", metavar="FILE", help="Write the exercises for a notation program.")
@click.option("--midi", metavar="FILE", help="Write a track to practise to.")
@click.option(
    "--watch",
    metavar="FILE",
    help="Write the bars to watch in the next take, for linecheck audit --watch FILE.",
)
@click.option(
    "--paper",
    type=click.Choice(PAPERS, case_sensitive=False),
    default=PAPERS[0],
    show_default=True,
    help="The size of the paper of --pdf.",
)
@click.option(
    "--bars",
    metavar="BARS",
    type=_Bars(),
    help="Practise these bars (7-8,11-12), whatever the take shows.",
)
@click.option(
    "--most",
    metavar="N",
    type=click.IntRange(1, 12),
    default=5,
    show_default=True,
    help="At most so many spots.",
)
@click.option(
    "--from",
    "start",
    metavar="BPM",
    type=click.IntRange(20, 400),
    help="The track's first tempo, in quarter notes a minute; else six tenths of --to.",
)
@click.option(
    "--to",
    metavar="BPM",
    type=click.IntRange(20, 400),
    help="The track's last tempo; else that of the take.",
)
@click.option(
    "--step",
    metavar="BPM",
    type=click.IntRange(1, 100),
    default=8,
    show_default=True,
    help="How much faster the track gets at a time.",
)
@click.option(
    "--repeats",
    metavar="N",
    type=click.IntRange(1, 32),
    default=4,
    show_default=True,
    help="How often the track plays each loop at a tempo.",
)
@click.option(
    "--with-bass",
    "bass",
    metavar="EXERCISE",
    type=click.Choice(EXERCISES),
    help="Let a bass play an exercise on the track: " + ", ".join(EXERCISES) + ".",
)
@reading_options
@click.option("--quiet", is_flag=True, help="Print no plan.")
@no_color_option
def drill(
    *,
    chart: str,
    take: str,
    midi: str | None,
    watch: str | None,
    paper: str,
    bars: tuple[tuple[int, int], ...] | None,
    most: int,
    start: int | None,
    to: int | None,
    step: int,
    repeats: int,
    bass: ExerciseKind | None,
    rubric: str | None,
    key: str | None,
    track: str | None,
    tempo: float | None,
    first_beat_one: str | None,
    on_click: bool,
    free: bool,
    quiet: bool,
    no_color: bool,
    **sheets: str | None,
) -> int:
    """Make a practice plan out of a take: the weakest bars, and exercises that mend them.

    For every spot the exercises go from long notes on its chord tones, by one kind of approach at
    a time, to walking and to eighths. It is a suggestion: a hand that hurts stops and asks a
    teacher or a doctor.
    """
    inputs = [name for name in (chart, take, rubric) if name is not None]
    no_name_is_empty(inputs)
    check_track(track)
    by_click = click_or_free(on_click=on_click, free=free)
    check_goes_with("--pdf", sheets.get("pdf"), "paper")
    check_goes_with("--midi", midi, "start", "to", "step", "repeats", "bass")
    files = {**sheets, "midi": midi, "watch": watch}
    asked = {option: file for option, file in files.items() if file is not None}
    outputs = Outputs(asked, inputs)
    from linecheck import practice, steps  # noqa: PLC0415  (--help needs none of it)

    with Progress(quiet=quiet) as progress:
        found = steps.audit(
            chart,
            take,
            rubric=rubric,
            key=key,
            track=track,
            tempo=tempo,
            first_beat_one=first_beat_one,
            click=by_click,
            progress=progress,
        )
        progress("building the exercises")
        plan = practice.drill(found, most=most, bars=bars or ())
        _check_plan(plan, asked)
        texts: dict[str, str | bytes] = {}
        for writer in practice.WRITERS:
            if writer.option in asked:
                progress(f"writing {writer.option}")
                texts[writer.option] = writer.write(plan, paper=paper)
        if watch is not None:
            texts["watch"] = practice.write_watched(found, plan)
        if midi is not None:
            laid_out = practice.practice_track(
                plan, start=start, to=to, step=step, repeats=repeats, bass=bass
            )
            texts["midi"] = practice.write_midi(laid_out)
    outputs.write(texts)
    if outputs.to_stdout:
        return put_out_file(texts[outputs.to_stdout])
    if quiet:
        return 0
    from linecheck.practice.as_terminal import terminal_page  # noqa: PLC0415

    return put_out_page(terminal_page(plan, width=width()), no_color=no_color)


def _check_plan(plan: PracticePlan, asked: dict[str, str]) -> None:
    """Refuse to write sheets of nothing."""
    if not plan.spots and asked:
        why = (
            "the line fits no place in the form nearly throughout (is it the right chart?)"
            if plan.adrift
            else "nothing in this take cost anything"
        )
        raise click.UsageError(
            f"{why}, so there is nothing to write; name bars to practise with --bars 7-8"
        )
