"""The line in time and form: the stage in order.

Onsets come to beats by the file's own grid (a played take with a click, a written line) or by
the playing (a take without); then to the places they were meant for, to choruses, and to where
the line is in the form. Units: seconds, beats from beat one of chorus 1 bar 1, steps.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from linecheck.faults import OptionFault, TakeFault
from linecheck.music.form import (
    Form,
    bar_steps,
    beat_quarters,
    chart_beat_quarters,
    counted_alike,
)
from linecheck.place.beat_grid import (
    beat_quarters_at,
    beats_of_quarters,
    quarters_of_beats,
    quarters_of_seconds,
    seconds_of_quarters,
    seconds_per_quarter,
)
from linecheck.place.click_evidence import click_evidence
from linecheck.place.feel import time_feel, written_feel
from linecheck.place.file_bars import (
    GivenBeatOne,
    bar_lines,
    quarters_of_given,
    read_given_beat_one,
)
from linecheck.place.form_clock import (
    BEGINS_PERHAPS,
    SURE,
    count_choruses,
    first_beat_one_on_grid,
)
from linecheck.place.form_loss import find_form
from linecheck.place.free_time import FreePlacement, place_free
from linecheck.place.other_beginnings import other_beginnings
from linecheck.place.quantise import end_steps, quantise, quantise_written
from linecheck.place.sorted_arrays import median
from linecheck.terms import STEPS_PER_BEAT, Chart, GridKind, PlacedLine, PlacedNote, Remark, Take

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

BEFORE_S = 0.15  # beat one given so much before the first note is not meant for it
STEADY = 0.25  # below this steadiness no beat is claimed


@dataclass(frozen=True, slots=True)
class _InBeats:
    """A take in beats from beat one of chorus 1, and how beats come back to seconds."""

    grid: GridKind
    onsets: Floats
    ends: Floats
    beat_s: Floats
    times: Callable[[Ints], Floats]
    tempo_bpm: float
    warnings: tuple[Remark, ...]
    count_in: int = 0  # notes that only count in


def place_line(
    take: Take,
    chart: Chart,
    *,
    tempo: float | None = None,
    first_beat_one: str | None = None,
    click: bool | None = None,
) -> PlacedLine:
    """Place a take in time and in the form of a chart.

    Args:
        take: the take.
        chart: the chart it was played over.
        tempo: quarter notes a minute, a hint for a take without a click; the chart's otherwise.
        first_beat_one: see ``file_bars.read_given_beat_one``; None: found.
        click: whether the file's tempo map is the grid; None: the playing tells.

    Raises:
        TakeFault: no steady beat, or less than a bar from the first beat one on.
        OptionFault: ``first_beat_one`` does not fit the take.
    """
    form = Form(chart)
    given = None if first_beat_one is None else read_given_beat_one(first_beat_one)
    if _has_grid(take, click):
        laid = _by_the_file(take, form, given)
    else:
        laid = _by_the_playing(take, form, given, tempo)
    written = laid.grid == "written"
    quantised = quantise_written(laid.onsets) if written else quantise(laid.onsets, laid.beat_s)
    stops = end_steps(laid.ends, quantised)
    steps = _counted_in_before_the_form(quantised.steps, laid.count_in, form)
    stops += steps - quantised.steps
    if given is not None:
        _check_given(take, form, steps)
    _check_length(take, form, steps, stops)
    choruses = count_choruses(int(steps[-1]), int(stops.max()), form)
    form = Form(chart, choruses)
    pitches = [note.pitch for note in take.notes]
    velocities = [note.velocity for note in take.notes]
    found = find_form(steps.tolist(), stops.tolist(), pitches, velocities, form)
    placement_ms = quantised.placement_beats * laid.beat_s * 1000.0
    counted = steps >= 0
    last_beat = max(int(stops.max()) - 1, int(steps[-1])) // STEPS_PER_BEAT
    beats_s = tuple(laid.times(np.arange(last_beat + 1)).tolist())
    notes = tuple(
        PlacedNote(
            n.onset_s,
            n.duration_s,
            n.pitch,
            n.velocity,
            step,
            stop,
            late,
            n.cents,
            n.spelled,
            n.ghost,
        )
        for n, step, stop, late in zip(
            take.notes, steps.tolist(), stops.tolist(), placement_ms.tolist(), strict=True
        )
    )
    places = quarters_of_beats(form, np.arange(len(beats_s))) / chart_beat_quarters(chart)
    feel = time_feel(notes, beats_s, form.beats, choruses, places=places)
    return PlacedLine(
        notes=notes,
        grid=laid.grid,
        beats_s=beats_s,
        tempo_bpm=laid.tempo_bpm,
        swing_ratio=quantised.swing_ratio,
        placement_mean_ms=float(placement_ms[counted].mean()),
        placement_spread_ms=float(placement_ms[counted].std()),
        choruses=choruses,
        spans=found.spans,
        losses=found.losses,
        warnings=(
            *laid.warnings,
            *other_beginnings(
                steps[laid.count_in :],
                stops[laid.count_in :],
                found.losses,
                form,
                laid.times,
                given=given is not None,
            ),
            *_doubts_of_the_grid(take, click),
        ),
        feel=written_feel(feel) if written else feel,
        shows_form=found.shows_form,
    )


def _has_grid(take: Take, click: bool | None) -> bool:
    """Whether the take's own grid is used."""
    if take.kind == "written":
        return True
    if take.tempo_map is None or take.notes[0].onset_quarters is None:
        if click:
            raise OptionFault(
                "--click: the file counts clock time and has no beats", source=take.source
            )
        return False
    return click_evidence(take).usable if click is None else click


def _doubts_of_the_grid(take: Take, click: bool | None) -> tuple[Remark, ...]:
    """What to say where the file's beats were asked for and the notes do not keep to them."""
    if not click or take.kind == "written":
        return ()
    evidence = click_evidence(take)
    if evidence.usable:
        return ()
    told = f"{evidence.reason}; they are the grid as was asked for, and may mean nothing"
    return (Remark(told, "click"),)


def _by_the_file(take: Take, form: Form, given: GivenBeatOne | None) -> _InBeats:
    """Onsets in beats by the file's own grid."""
    tempo_map = take.tempo_map
    if tempo_map is None:
        raise TakeFault("a written line has no beats of its own", source=take.source)
    onsets = np.array([n.onset_quarters for n in take.notes], dtype=np.float64)
    ends = onsets + np.array([n.duration_quarters for n in take.notes], dtype=np.float64)
    warnings: tuple[Remark, ...] = ()
    count_in = 0
    if given is not None and given.seconds is not None:
        unit = beat_quarters(counted_alike(form.chart).bars[0].meter)
        at = float(quarters_of_seconds(tempo_map, np.array([given.seconds]))[0])
        origin = take.pickup_quarters + round((at - take.pickup_quarters) / unit) * unit
    elif given is not None:
        origin = quarters_of_given(given, take, float(ends.max()))
    else:
        lines, _ = bar_lines(take, float(onsets[-1]))
        start = first_beat_one_on_grid(take, lines, form)
        origin, warnings, count_in = start.quarters, start.warnings, start.count_in
    per_quarter = seconds_per_quarter(tempo_map, onsets)

    def times(beats: Ints) -> Floats:
        return seconds_of_quarters(tempo_map, origin + quarters_of_beats(form, beats))

    beats = beats_of_quarters(form, onsets - origin)
    return _InBeats(
        grid="written" if take.kind == "written" else "tempo-map",
        onsets=beats,
        ends=beats_of_quarters(form, ends - origin),
        beat_s=per_quarter * beat_quarters_at(form, beats),
        times=times,
        tempo_bpm=60.0 / median(per_quarter),
        warnings=warnings,
        count_in=count_in,
    )


def _by_the_playing(
    take: Take, form: Form, given: GivenBeatOne | None, tempo: float | None
) -> _InBeats:
    """Onsets in beats that are found from the line itself."""
    if given is not None and given.seconds is None:
        raise OptionFault(
            "first beat one: a take without a click has no bars of its own; "
            "give it in seconds, such as 4.2s"
        )
    onsets_s = np.array([n.onset_s for n in take.notes], dtype=np.float64)
    durations_s = np.array([n.duration_s for n in take.notes], dtype=np.float64)
    counted = Form(counted_alike(form.chart))
    found = place_free(take.notes, counted, chart_tempo=form.chart.tempo, given_tempo=tempo)
    if found is None or found.steadiness < STEADY:
        raise TakeFault(
            "the take has no click, and no steady beat was found in the playing; give --tempo"
            + ("" if take.tempo_map is None else ", or --click if its tempo map is the grid"),
            source=take.source,
        )
    clock = _Clock(found.beats_s, found.beat_one)
    shift = 0
    if given is not None and given.seconds is not None:
        shift = round(float(clock.beats(np.array([given.seconds]))[0]))
    warnings = []
    if take.tempo_map is not None:
        warnings.append(
            Remark(
                "the take was not played to the click of its file; its beats were found from the "
                "line"
            )
        )
    if given is None:
        warnings += _doubts_of_the_beginning(found, counted)
    unit = beat_quarters(counted.chart.bars[0].meter)
    onsets = beats_of_quarters(form, (found.positions - shift) * unit)
    ends = beats_of_quarters(form, (clock.beats(onsets_s + durations_s) - shift) * unit)
    return _InBeats(
        grid="tracked",
        onsets=onsets,
        ends=ends,
        beat_s=clock.beat_s(found.positions) * beat_quarters_at(form, onsets) / unit,
        times=lambda beats: clock.seconds(quarters_of_beats(form, beats) / unit + shift),
        tempo_bpm=found.bpm * unit,
        warnings=tuple(warnings),
        count_in=found.count_in if given is None or _before_the_take(given, take) else 0,
    )


def _doubts_of_the_beginning(found: FreePlacement, form: Form) -> list[Remark]:
    """How a free take was taken to begin, where that is not plain."""
    told = []
    begins = form.place(round(float(found.positions[found.count_in]) * STEPS_PER_BEAT))
    at_the_top = not begins.chorus or begins.bar == 1
    begun = "chorus 1 begins" if at_the_top else f"the line begins at bar {begins.bar} of the form"
    if found.count_in:
        told.append(Remark(f"{begun} after a count-in of {found.count_in} notes"))
    elif not at_the_top:
        told.append(Remark(begun))
    if found.confidence < SURE:
        told.append(BEGINS_PERHAPS)
    return told


def _before_the_take(given: GivenBeatOne, take: Take) -> bool:
    """Whether a beat one that is given lies before the first note: else that one is the line's."""
    first = take.notes[0].onset_s
    return given.seconds is not None and given.seconds < first - BEFORE_S


def _counted_in_before_the_form(steps: Ints, count_in: int, form: Form) -> Ints:
    """The same, with the notes of a count-in before chorus 1, also where that begins before them.

    It does where the line is counted in to the middle of the form.
    """
    before = -form.intro_steps
    if not count_in or steps[count_in - 1] < before:
        return steps
    moved = steps.copy()
    beats = (int(steps[count_in - 1]) - before) // STEPS_PER_BEAT + 1
    moved[:count_in] -= beats * STEPS_PER_BEAT
    return moved


class _Clock:
    """Beats that were found, as a line of time that goes on steadily before and after them."""

    def __init__(self, beats_s: Floats, beat_one: int) -> None:
        self._times = beats_s
        self._numbers = np.arange(len(beats_s), dtype=np.float64) - beat_one

    def seconds(self, beats: Floats) -> Floats:
        return _follow(beats, self._numbers, self._times)

    def beats(self, seconds: Floats) -> Floats:
        return _follow(seconds, self._times, self._numbers)

    def beat_s(self, beats: Floats) -> Floats:
        """Length of the beat at each place, in seconds."""
        index = np.floor(beats - self._numbers[0]).astype(np.int64)
        lengths: Floats = np.diff(self._times)[np.clip(index, 0, len(self._times) - 2)]
        return lengths


def _follow(at: Floats, xs: Floats, ys: Floats) -> Floats:
    """Linear interpolation that goes on with the slope of the outermost pieces."""
    inside = np.interp(at, xs, ys)
    before = ys[0] + (at - xs[0]) * (ys[1] - ys[0]) / (xs[1] - xs[0])
    after = ys[-1] + (at - xs[-1]) * (ys[-1] - ys[-2]) / (xs[-1] - xs[-2])
    followed: Floats = np.where(at < xs[0], before, np.where(at > xs[-1], after, inside))
    return followed


def _check_given(take: Take, form: Form, steps: Ints) -> None:
    """A beat one that is given may lie before the take, but by less than a chorus."""
    if int(steps[0]) >= form.steps:
        raise OptionFault(
            "first beat one: the take begins more than a chorus after it", source=take.source
        )


def _check_length(take: Take, form: Form, steps: Ints, stops: Ints) -> None:
    """A take has to fill a bar; what comes before the first beat one does not count."""
    bar = form.chart.bars[0].meter
    # A last note of 0.8 of its beat, as it is played, fills it.
    end = -(-int(stops.max()) // STEPS_PER_BEAT) * STEPS_PER_BEAT
    filled = end - max(0, int(steps[0]))
    if filled < bar_steps(bar):
        beats = max(0, filled) * 10 // STEPS_PER_BEAT / 10
        raise TakeFault(
            f"too short: {beats:g} beat{'' if beats == 1 else 's'} from the first beat "
            f"one on; a take has at least one bar of the chart ({bar.beats} beats)",
            source=take.source,
        )
