"""The grid of a file: between its quarter notes, its seconds and the beats of the form.

Quarter notes and seconds go by the tempo map; before its first entry the first tempo holds, after
the last the last. Quarter notes and beats go by the meters of the chart. Units: seconds and quarter
notes from the start of the file; with a form, quarter notes and beats from its step 0.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

from linecheck.music.form import beat_quarters
from linecheck.terms import STEPS_PER_BEAT

if TYPE_CHECKING:
    from linecheck.music.form import Form
    from linecheck.terms import TempoMap

Floats: TypeAlias = NDArray[np.float64]


def seconds_of_quarters(tempo_map: TempoMap, quarters: Floats) -> Floats:
    """Seconds of places in quarter notes; any shape, any order."""
    return _carry_over(
        quarters,
        np.asarray(tempo_map.quarters),
        np.asarray(tempo_map.seconds),
        np.asarray(tempo_map.seconds_per_quarter),
    )


def quarters_of_seconds(tempo_map: TempoMap, seconds: Floats) -> Floats:
    """Quarter notes of times in seconds: the inverse of ``seconds_of_quarters``."""
    return _carry_over(
        seconds,
        np.asarray(tempo_map.seconds),
        np.asarray(tempo_map.quarters),
        1.0 / np.asarray(tempo_map.seconds_per_quarter),
    )


def seconds_per_quarter(tempo_map: TempoMap, quarters: Floats) -> Floats:
    """How long a quarter note lasts at places in quarter notes."""
    rate: Floats = np.asarray(tempo_map.seconds_per_quarter)[
        _piece(quarters, np.asarray(tempo_map.quarters))
    ]
    return rate


def beats_of_quarters(form: Form, quarters: Floats) -> Floats:
    """Beats from step 0 of a form whose choruses never end, as ``Form.beats_of_quarters``."""
    bar_beats, bar_quarters, unit = _bars(form)
    turn, local = np.divmod(quarters, bar_quarters[-1])
    bar = np.minimum(np.searchsorted(bar_quarters, local, side="right"), len(unit)) - 1
    beats: Floats = turn * form.beats + (bar_beats[bar] + (local - bar_quarters[bar]) / unit[bar])
    for before in np.flatnonzero(quarters < 0).tolist():
        beats[before] = form.beats_of_quarters(float(quarters[before]))
    return beats


def quarters_of_beats(form: Form, beats: NDArray[np.int64]) -> Floats:
    """Quarter notes to whole beats from 0 on, of a form whose choruses never end."""
    bar_beats, bar_quarters, unit = _bars(form)
    turn, local = np.divmod(beats, form.beats)
    bar = np.searchsorted(bar_beats, local, side="right") - 1
    within = bar_quarters[bar] + (local - bar_beats[bar]) * unit[bar]
    quarters: Floats = turn * bar_quarters[-1] + within
    return quarters


def beat_quarters_at(form: Form, beats: Floats) -> Floats:
    """How many quarter notes the beat lasts that is in force at places in beats.

    As ``beats_of_quarters`` of a form whose choruses never end.
    """
    bar_beats, _, unit = _bars(form)
    bar = np.minimum(np.searchsorted(bar_beats, beats % form.beats, side="right"), len(unit)) - 1
    lengths: Floats = unit[bar]
    for before in np.flatnonzero(beats < 0).tolist():
        lengths[before] = form.beat_quarters_at(int(np.floor(beats[before] * STEPS_PER_BEAT)))
    return lengths


def _bars(form: Form) -> tuple[Floats, Floats, Floats]:
    """Bar lines of a chorus in beats and in quarter notes, its end too; the beat of each bar."""
    beats = np.array([bar.meter.beats for bar in form.chart.bars], dtype=np.float64)
    unit = np.array([beat_quarters(bar.meter) for bar in form.chart.bars])
    return (
        np.concatenate(([0.0], np.cumsum(beats))),
        np.concatenate(([0.0], np.cumsum(beats * unit))),
        unit,
    )


def _carry_over(values: Floats, starts: Floats, targets: Floats, slopes: Floats) -> Floats:
    values = np.asarray(values, dtype=np.float64)
    piece = _piece(values, starts)
    carried: Floats = targets[piece] + (values - starts[piece]) * slopes[piece]
    return carried


def _piece(values: Floats, starts: Floats) -> NDArray[np.intp]:
    return np.maximum(np.searchsorted(starts, values, side="right") - 1, 0)
