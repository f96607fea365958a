"""How near found beats are to the true ones: F at ±70 ms by mir_eval.beat, and the error."""

from __future__ import annotations

from typing import TYPE_CHECKING

import mir_eval.beat
import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from tests.synthetic.timing import TimedTake

Array = NDArray[np.float64]


def within_take(beats_s: Array, take: TimedTake) -> Array:
    """The beats from the first onset to the last: only there can anybody tell."""
    low, high = take.onsets_s[0] - 0.1, take.onsets_s[-1] + 0.1
    return beats_s[(beats_s >= low) & (beats_s <= high)]


def beat_f(beats_s: Array, take: TimedTake) -> float:
    """F-measure with the window of mir_eval.beat, ±70 ms; no beat is trimmed."""
    true, found = within_take(take.beats_s, take), within_take(beats_s, take)
    return float(mir_eval.beat.f_measure(true, found))


def beat_errors_ms(beats_s: Array, take: TimedTake) -> Array:
    """Distance of every true beat to the nearest found one."""
    true, found = within_take(take.beats_s, take), within_take(beats_s, take)
    return np.asarray(np.abs(found[:, None] - true[None, :]).min(axis=0) * 1000)
