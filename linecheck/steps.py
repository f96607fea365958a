"""The job in order: read the chart and the take, place the line, label it, judge it.

A newcomer starts reading here. Data flows down this page and never back; the reports are made
of the ``Audit`` that comes out of it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.arguments import (
    checked_click,
    checked_first_beat_one,
    checked_progress,
    checked_tempo,
    checked_track_of,
)
from linecheck.judge import chart_doubts, judge_line, meter_doubts, part_played
from linecheck.judge.patterns import find_patterns
from linecheck.label import label_line
from linecheck.music.form import Form
from linecheck.music.other_key import in_key, named_key
from linecheck.place import place_line
from linecheck.read import read_chart, read_reference, read_rubric, read_take
from linecheck.terms import Audit, Chart, Intonation, LabelledLine, Remark, Rubric, Take

if TYPE_CHECKING:
    from collections.abc import Callable
    from os import PathLike

    from linecheck.comparison_terms import Comparison
    from linecheck.reference_terms import ReferenceProfile, ReferenceReading

__all__ = ["audit", "read_chart", "read_reference", "read_rubric", "read_take"]


def audit(
    chart: Chart | str | PathLike[str],
    take: Take | str | PathLike[str],
    *,
    key: str | None = None,
    rubric: Rubric | str | PathLike[str] | None = None,
    reference: ReferenceProfile | str | PathLike[str] | None = None,
    track: str | int | None = None,
    tempo: float | None = None,
    first_beat_one: str | int | None = None,
    click: bool | None = None,
    progress: Callable[[str], None] | None = None,
) -> Audit:
    """Audit one take against one chart.

    Args:
        chart: a Chart, or the file of one.
        take: a Take, or the file of one.
        key: the key that the take is in ("Bb"), where the chart is in another; the chart is then
            read in it.
        rubric: a Rubric, or the file of one; None is the packaged one.
        reference: a profile of reference lines, or the file of one, to read the line against.
        track: which track or part of the file is the bass: its number from 1 or its name; not
            for a Take, which is read already.
        tempo: quarter notes a minute, 20 to 500, a hint for a take without a click.
        first_beat_one: where chorus 1 begins, by the file: 3 or ``"3"`` (bar 3), ``"3:2"`` (bar 3,
            beat 2) or ``"4.2s"`` (seconds; of a take without a click only these); None: found by
            the playing and the harmony.
        click: True, the file's tempo map is the grid; False, its ticks are only clock time;
            None, the playing tells.
        progress: is called with the name of each step as it begins.

    Raises:
        InputFault: ChartFault, TakeFault, RubricFault or OptionFault; its text is one line.
    """
    track = checked_track_of(isinstance(take, Take), track)
    tempo, click = checked_tempo(tempo), checked_click(click)
    checked_progress(progress)
    where = checked_first_beat_one(first_beat_one)
    the_key = named_key(key)
    say = progress or (lambda _step: None)
    say("reading the chart")
    the_chart = chart if isinstance(chart, Chart) else read_chart(chart)
    the_chart = the_chart if the_key is None else in_key(the_chart, the_key)
    say("reading the take")
    the_take = take if isinstance(take, Take) else read_take(take, track=track, progress=say)
    the_rubric = rubric if isinstance(rubric, Rubric) else read_rubric(rubric)
    profile = None if reference is None else _profile(reference)
    say("finding the beats and the form")
    line = place_line(the_take, the_chart, tempo=tempo, first_beat_one=where, click=click)
    form = Form(the_chart, line.choruses)
    say("labelling the notes")
    labels = label_line(line, form, the_chart.key)
    say("judging")
    judgement = judge_line(labels, line, form, the_rubric)
    return Audit(
        chart=the_chart,
        take=the_take,
        line=line,
        labels=labels,
        judgement=judgement,
        warnings=_each_once(
            # First what puts all the rest in question.
            *chart_doubts(labels, form, shows_form=line.shows_form),
            *meter_doubts(the_take, the_chart),
            *the_chart.warnings,
            *the_take.warnings,
            *line.warnings,
            *part_played(labels, form),
        ),
        carry_over=_carry_over(the_chart, labels, the_take),
        intonation=_intonation(the_take, labels),
        patterns=find_patterns(labels),
        reference=None if profile is None else _against(profile, labels, the_chart),
    )


def _each_once(*warnings: Remark) -> tuple[Remark, ...]:
    """A file that is chart and take at once warns of the same twice."""
    return tuple(dict.fromkeys(warnings))


def _intonation(take: Take, labels: LabelledLine) -> Intonation | None:
    """The intonation, where the take was heard in a recording."""
    heard = take.recording
    if heard is None:
        return None
    from linecheck.judge.intonation import intonation  # noqa: PLC0415  (recordings alone need it)

    return intonation(labels.notes, heard.tuning_hz, measured=heard.tuning_measured)


def _carry_over(chart: Chart, labels: LabelledLine, take: Take) -> Comparison | None:
    """The walking choruses against the solo ones, where the take holds both."""
    if not {"walking", "solo"} <= set(labels.styles):
        return None
    from linecheck.judge.carry_over import line_to_solo  # noqa: PLC0415  (such takes alone need it)

    return line_to_solo(chart, labels, take.source)


def _profile(reference: ReferenceProfile | str | PathLike[str]) -> ReferenceProfile:
    """The profile itself, or that of the file."""
    from linecheck.reference_terms import ReferenceProfile  # noqa: PLC0415  (seldom asked for)

    return reference if isinstance(reference, ReferenceProfile) else read_reference(reference)


def _against(profile: ReferenceProfile, labels: LabelledLine, chart: Chart) -> ReferenceReading:
    """The line against reference lines."""
    from linecheck.judge.reference import against_reference  # noqa: PLC0415  (seldom asked for)

    return against_reference(labels, chart, profile)
