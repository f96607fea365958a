"""The pitch from frame to frame, and where it changes though nothing is struck.

The path is the best one through the fits of all pitches (Viterbi): it glides by small steps for
little and jumps for a price. A *plateau* is a stretch of it that stays within a quarter-tone and a
half; a hammered or pulled note is a second plateau within one stroke. A slide into a note, a fall
at its end and a vibrato are none.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from linecheck.hear.pitch_comb import PITCHES

if TYPE_CHECKING:
    from numpy.typing import NDArray

JUMP = 0.9  # in units of the fit, which is about 0.7 for a plain tone
GLIDE = 0.04  # for a step of one pitch
PLATEAU = 0.45  # semitones to either side of its middle
LEAST_CHANGE = 0.75  # semitones between two plateaus
LEAST_PLATEAU = 8  # frames
LEAST_SLOW_PLATEAU = 15  # on both sides of a slide, so that it leads from a note to a note
QUICK = 7  # frames: a change that takes longer is a slide


class Plateau(NamedTuple):
    """Frames ``begin`` to ``end`` (exclusive) at one pitch."""

    begin: int
    end: int
    pitch: float


def follow(fits: NDArray[np.float32]) -> NDArray[np.int64]:
    """The index of the pitch in every frame."""
    frames, pitches = fits.shape
    came = np.zeros((frames, pitches), dtype=np.int16)
    here = np.arange(pitches)
    score = fits[0].astype(np.float64)
    for frame in range(1, frames):
        best, origin = score.copy(), here.copy()
        for step in (-1, 1):
            moved = np.full(pitches, -np.inf)
            if step > 0:
                moved[step:] = score[:-step] - GLIDE
            else:
                moved[:step] = score[-step:] - GLIDE
            better = moved > best
            best[better], origin[better] = moved[better], here[better] - step
        top = int(score.argmax())
        jump = best < score[top] - JUMP
        best[jump], origin[jump] = score[top] - JUMP, top
        came[frame] = origin
        score = best + fits[frame]
        score -= score.max()
    path = np.zeros(frames, dtype=np.int64)
    path[-1] = int(score.argmax())
    for frame in range(frames - 1, 0, -1):
        path[frame - 1] = came[frame, path[frame]]
    return path


def plateaus(path: NDArray[np.int64], begin: int, end: int) -> list[Plateau]:
    """The plateaus of a stretch of the path, greedily from its beginning."""
    pitch = PITCHES[path[begin:end]]
    found: list[Plateau] = []
    first = 0
    while first < len(pitch):
        last = first + 1
        middle = float(pitch[first])
        while last < len(pitch) and abs(float(pitch[last]) - middle) <= PLATEAU:
            last += 1
            middle = float(np.median(pitch[first:last]))
        if last - first >= LEAST_PLATEAU:
            found.append(Plateau(begin + first, begin + last, middle))
            first = last
        else:
            first += 1
    return found


def hidden_changes(path: NDArray[np.int64], begin: int, end: int) -> list[int]:
    """The frames within a stroke at which another note begins without an attack."""
    found: list[int] = []
    steady = plateaus(path, begin, end)
    for before, after in itertools.pairwise(steady):
        if abs(after.pitch - before.pitch) < LEAST_CHANGE:
            continue
        between = after.begin - before.end
        shorter = min(before.end - before.begin, after.end - after.begin)
        if between <= QUICK or shorter >= LEAST_SLOW_PLATEAU:
            found.append((before.end + after.begin) // 2)
    return found
