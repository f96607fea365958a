"""Time feel: tempo, placement, swing, length and loudness of the notes, as facts and not faults.

* tempo: by the beats, from beat one to beat one; its change by a straight line through them.
  Where a chart mixes beats of two lengths a beat counts as what it lasts beside the mean one.
* placement: how far attacks lie after (+) or before (−) their places.
* swing ratio: long to short, of the beats that hold one off-beat, against the beats as played.
* length and loudness: of walking notes, those on a beat with the next note on the next beat.

Units: seconds, milliseconds, beats a minute, velocity 1 to 127. A mean needs ``LEAST`` notes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

from linecheck.terms import STEPS_PER_BEAT, Feel, TimeFeel

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.terms import PlacedNote

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.int64]

LEAST = 5  # notes that a mean is taken of
_LEAST_BEATS = 4  # of a tempo
_EIGHTH = STEPS_PER_BEAT // 2


@dataclass(frozen=True, slots=True)
class _Shown:
    """Values with the chorus (from 0) that each belongs to."""

    chorus: Ints
    values: Floats

    def of(self, chorus: int | None) -> Floats:
        """The values of a chorus; of None, of the whole take."""
        if chorus is None:
            return self.values
        first, end = np.searchsorted(self.chorus, (chorus, chorus + 1))
        return self.values[first:end]


def time_feel(
    notes: Sequence[PlacedNote],
    beats_s: Sequence[float],
    chorus_beats: int,
    choruses: int,
    *,
    places: Floats | None = None,
) -> TimeFeel:
    """The time feel of a placed line.

    Args:
        notes: the line, in order.
        beats_s: the time of every beat from beat one of chorus 1.
        chorus_beats: beats of a chorus.
        choruses: how many were begun.
        places: where those beats are in beats of the chart's mean length; None: all are as long.
    """
    beats = np.asarray(beats_s, dtype=np.float64)
    if places is None:
        places = np.arange(len(beats), dtype=np.float64)
    counted = [n for n in notes if 0 <= n.step < choruses * chorus_beats * STEPS_PER_BEAT]
    steps = np.array([n.step for n in counted], dtype=np.int64)
    chorus = steps // (chorus_beats * STEPS_PER_BEAT)
    placement = np.array([n.placement_ms for n in counted], dtype=np.float64)
    onsets = np.array([n.onset_s for n in counted], dtype=np.float64)
    walking = np.flatnonzero(
        (np.diff(steps) == STEPS_PER_BEAT) & (steps[:-1] % STEPS_PER_BEAT == 0)
    )
    lengths = np.array([counted[i].duration_s for i in walking.tolist()], dtype=np.float64)
    to_next = np.maximum(onsets[walking + 1] - onsets[walking], 1e-6)
    loudness = np.array([counted[i].velocity for i in walking.tolist()], dtype=np.float64)
    off, off_beats = _off_beats(steps, onsets, beats)
    facts = (
        _Shown(chorus, placement),
        _Shown(chorus[off], off_beats),
        _Shown(chorus[walking], np.minimum(lengths / to_next, 1.0)),
        _Shown(chorus[walking], loudness),
    )
    whole = _feel(beats, places, facts, None)
    each = tuple(
        _feel(
            beats[begin : begin + chorus_beats + 1],
            places[begin : begin + chorus_beats + 1],
            facts,
            chorus,
        )
        for chorus, begin in enumerate(range(0, choruses * chorus_beats, chorus_beats))
    )
    return TimeFeel(whole, each)


def written_feel(feel: TimeFeel) -> TimeFeel:
    """The time feel of a written line: its tempo. Nothing in it was played, late or loud."""
    whole, *choruses = (
        Feel(one.tempo, None, None, None, None, None, None, None, None)
        for one in (feel.whole, *feel.choruses)
    )
    return TimeFeel(whole, tuple(choruses))


def _feel(beats: Floats, places: Floats, facts: tuple[_Shown, ...], chorus: int | None) -> Feel:
    placement, off_beats, length, loudness = (shown.of(chorus) for shown in facts)
    tempo, change = _tempo(beats, places)
    return Feel(
        tempo,
        change,
        *_mean_and_spread(placement),
        _swing(off_beats),
        *_mean_and_spread(length),
        *_mean_and_spread(loudness),
    )


def _mean_and_spread(values: Floats) -> tuple[float | None, float | None]:
    if len(values) < LEAST:
        return None, None
    # What values.mean() and values.std() do, without their checks: asked for every chorus.
    mean = np.add.reduce(values) / len(values)
    away = values - mean
    return float(mean), float(np.sqrt(np.add.reduce(away * away) / len(values)))


def _swing(off_beats: Floats) -> float | None:
    if len(off_beats) < LEAST:
        return None
    place = min(max(float(off_beats.mean()), 0.05), 0.95)
    return place / (1 - place)


def _tempo(beats: Floats, places: Floats) -> tuple[float | None, float | None]:
    """Beats a minute, and the share by which they end faster than they begin."""
    count = len(beats) - 1
    if count < _LEAST_BEATS or beats[-1] <= beats[0]:
        return None, None
    span = float(places[-1] - places[0])
    tempo = 60.0 * span / float(beats[-1] - beats[0])
    if count < 2 * _LEAST_BEATS:
        return tempo, None
    # The length of a mean beat along the take, each beat weighed by how much of one it is.
    weights = np.diff(places)
    at = (places[1:] + places[:-1] - places[0] - places[-1]) / 2
    slope = float((at * np.diff(beats)).sum() / (weights * at * at).sum())
    middle, half = float(beats[-1] - beats[0]) / span, slope * span / 2
    if middle <= abs(half):
        return tempo, None
    return tempo, (middle - half) / (middle + half) - 1


def _off_beats(steps: Ints, onsets: Floats, beats: Floats) -> tuple[Ints, Floats]:
    """Which notes are their beat's only other one, and where in the played beat they lie."""
    lone = (steps[1:] % STEPS_PER_BEAT == _EIGHTH) & (np.diff(steps) == _EIGHTH)
    following = np.append(steps[2:] - steps[1:-1], _EIGHTH) >= _EIGHTH
    off = np.flatnonzero(lone & following) + 1
    beat = steps[off] // STEPS_PER_BEAT
    known = beat + 1 < len(beats)
    off, beat = off[known], beat[known]
    lengths = np.maximum(beats[beat + 1] - beats[beat], 1e-6)
    # Against the beat as played, less what beats are early or late by chance: their own mean.
    late = (onsets[off - 1] - beats[beat]) / lengths
    within: Floats = (onsets[off] - beats[beat]) / lengths - (late.mean() if len(late) else 0.0)
    return off, within
