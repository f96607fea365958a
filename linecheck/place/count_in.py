"""A count-in: equal hits on the beats before the line begins.

Whoever counts a take in strikes one pitch, or a muffled string, on the beats of one bar or two, often
on half bars first; the last beats may be left to a pickup, or silent.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from linecheck.place.sorted_arrays import median
from linecheck.terms import STEPS_PER_BEAT

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

HEARD_NOTES = 400  # notes after it that tell how often the player repeats a pitch
COUNTED = 0.15  # how many takes are counted in (hand-set)
MOST_FOR_REPEATS = 12.0  # nats, however often the pitch is repeated
# Nats for hits that sound unlike the line: short, soft, or far from its pitches.
MUTED, FAR = 1.5, 3.0
SHORT, SOFT = 0.65, 0.7  # of the usual length and velocity
FAR_SEMITONES = 7


class CountIn(NamedTuple):
    """A way in which a take may be counted in: how many hits, the beat after it, its log prior."""

    hits: int
    ends_at: int
    log_prior: float


def count_ins(steps: Ints, ends: Ints, pitches: Ints, loud: Floats, bar: int) -> list[CountIn]:
    """Ways in which a take may begin with a count-in.

    Args:
        steps: place of each note in steps, ascending, from any beat.
        ends: where each note stops.
        pitches: MIDI numbers.
        loud: velocities.
        bar: beats of a bar.
    """
    longest = min(2 * bar + 2, len(pitches) - 1)  # a count-in counts something in
    same = np.flatnonzero(pitches[:longest] != pitches[0])
    run = int(same[0]) if same.size else longest
    beat = np.rint(steps / STEPS_PER_BEAT).astype(np.int64)
    off = np.flatnonzero(np.abs(steps[:run] - beat[:run] * STEPS_PER_BEAT) > 3)
    run = int(off[0]) if off.size else run
    # What a line would seldom do, repeat one pitch so often, a count-in explains.
    after = np.diff(pitches[2 * bar : 2 * bar + HEARD_NOTES]) == 0
    repeats = -float(np.log((after.sum() + 1.0) / (len(after) + 5.0)))
    ways = []
    for hits in range(2, run + 1):
        told = tuple((beat[:hits] - beat[0]).tolist())
        sound = _unlike_the_line(hits, ends - steps, pitches, loud)
        for bars in (1, 2):
            chance = _pattern_chance(told, bars, bar)
            if chance:
                unlike = min((hits - 1) * repeats, MOST_FOR_REPEATS) + sound
                prior = float(np.log(COUNTED * chance)) + unlike
                ways.append(CountIn(hits, int(beat[0]) + bars * bar, prior))
    return ways


def _unlike_the_line(hits: int, lasts: Ints, pitches: Ints, loud: Floats) -> float:
    """Nats for hits that sound unlike the notes after them."""
    nats = 0.0
    short = lasts[:hits].mean() < SHORT * median(lasts[hits:])
    if short or loud[:hits].mean() < SOFT * median(loud[hits:]):
        nats += MUTED
    low, high = pitches[hits:].min() - FAR_SEMITONES, pitches[hits:].max() + FAR_SEMITONES
    return nats + FAR * bool(not low < pitches[0] < high)


def _pattern_chance(told: tuple[int, ...], bars: int, bar: int) -> float:
    """How likely hits on these beats (from the first) are as a count-in of so many bars."""
    all_beats = tuple(range(bars * bar))
    half = bar // 2 if bar % 2 == 0 else bar
    halves_then_beats = (*range(0, bar, half), *range(bar, 2 * bar))
    if told == all_beats:
        return 0.4 if bars == 1 else 0.25
    if bars == 2 and told == halves_then_beats:
        return 0.2
    # The last beat or two left to the pickup, or silent.
    if len(told) > 2 and told[-1] >= bars * bar - 3:
        if told == all_beats[: len(told)]:
            return 0.05
        if bars == 2 and told == halves_then_beats[: len(told)]:
            return 0.05
    if told == tuple(range(0, bars * bar, half)) and half > 1 and len(told) > 1:
        return 0.03
    return 0.0
