"""The place that every note was meant for: onsets to steps, a step being a twelfth of a beat.

**Place** of a note: the place it was meant for, not the millisecond. Onsets are quantised to
beats and to eighths; a swung off-beat is ``2.5`` however long the swing, triplets and sixteenths
where the playing shows them. A note 20 ms before the bar line belongs to beat one.

How: in turn, the onsets are placed by the manner of playing (``rhythm_figures``), and the manner
is learned from the placed onsets (``manner_of_playing``), until no place changes.

Units: beats, onsets in beats of the grid (beat 0 is some beat), steps in twelfths of a beat.
Swing ratio: long to short, 1.0 straight, 2.0 triplets, 3.0 dotted; common practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from linecheck.place.manner_of_playing import first_guess, learned_manner
from linecheck.place.rhythm_figures import USUAL_SWING, place_onsets
from linecheck.place.sorted_arrays import median
from linecheck.terms import STEPS_PER_BEAT

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.int64]

_SAME = 1e-4  # beats: onsets closer than this are simultaneous
_ROUNDS = 4


@dataclass(frozen=True, slots=True)
class Quantised:
    """Onsets at their places.

    ``steps[i]`` is the place of onset i in twelfths of a beat from beat 0 of the grid.
    ``placement_beats[i]`` is how far it lies after (+) or before (−) that place; the place of an
    off-beat is the take's own mean off-beat. ``lateness_beats[i]`` is what the player
    is late by there (steady, or slowly changing). ``off_beat`` is the place of the
    off-beat within a played beat, 0.5 where it is straight; ``swing_ratio`` is None where too few
    off-beats show it.
    """

    steps: Ints
    placement_beats: Floats
    lateness_beats: Floats
    off_beat: float
    swing_ratio: float | None


def quantise(beats: Floats, beat_s: Floats) -> Quantised:
    """Quantise a take's onsets.

    Args:
        beats: the onsets in beats of the grid, ascending.
        beat_s: how long a beat lasts at each onset, in seconds. Only its changes matter: a player
            who is late by habit is late by seconds and not by a share of the beat.

    Returns:
        Steps ascending; two onsets share a step only where they are simultaneous (or where more
        than eleven stand between two beats).
    """
    beats = np.asarray(beats, dtype=np.float64)
    if not len(beats):
        nothing = np.zeros(0)
        return Quantised(nothing.astype(np.int64), nothing, nothing, USUAL_SWING, None)
    new = np.concatenate(([True], np.diff(beats) > _SAME))
    first = np.floor(beats[0])  # so that whole beats before the take change nothing
    onsets = (beats - first)[new]
    scale = (median(beat_s) / np.asarray(beat_s, dtype=np.float64))[new]
    manner, swing_ratio = first_guess(onsets, scale), None
    figures = place_onsets(onsets - manner.lateness * scale, manner)
    for _ in range(_ROUNDS):
        manner, swing_ratio = learned_manner(onsets, scale, figures, manner)
        before, figures = figures, place_onsets(onsets - manner.lateness * scale, manner)
        if np.array_equal(before.steps, figures.steps):
            break
    places = np.where(figures.lone_off, figures.steps // 12 + manner.off_beat, figures.steps / 12)
    back = np.cumsum(new) - 1  # simultaneous onsets are one onset
    return Quantised(
        steps=figures.steps[back] + int(first) * STEPS_PER_BEAT,
        placement_beats=beats - first - places[back],
        lateness_beats=(manner.lateness * scale)[back],
        off_beat=manner.off_beat,
        swing_ratio=swing_ratio,
    )


def quantise_written(beats: Floats) -> Quantised:
    """The steps of a written line: exact to a twelfth; finer values go to the nearest."""
    beats = np.asarray(beats, dtype=np.float64)
    steps = np.floor(beats * STEPS_PER_BEAT + 0.5).astype(np.int64)
    return Quantised(steps, np.zeros(len(beats)), np.zeros(len(beats)), 0.5, None)


def end_steps(end_beats: Floats, quantised: Quantised) -> Ints:
    """The steps where notes stop: after their own step, and not after the next note's.

    An end is bent with the swing, so that an eighth that is held to the off-beat ends there, and
    a note held over a beat by more than half a step ends after it.

    Args:
        end_beats: where each note stops, in beats of the grid.
        quantised: the places of the same notes.
    """
    steps = quantised.steps
    if not len(steps):
        return steps
    at = np.asarray(end_beats, dtype=np.float64) - quantised.lateness_beats
    beat = np.floor(at)
    within, off = at - beat, quantised.off_beat
    bent = np.where(within < off, 0.5 * within / off, 1 - 0.5 * (1 - within) / (1 - off))
    ends = np.floor((beat + bent) * STEPS_PER_BEAT + 0.5).astype(np.int64)
    following = np.append(steps[1:], np.iinfo(np.int64).max)
    alone = following > steps  # simultaneous notes end as they do
    following = np.where(alone, following, np.iinfo(np.int64).max)
    stopped: Ints = np.minimum(np.maximum(ends, steps + 1), following)
    return stopped
