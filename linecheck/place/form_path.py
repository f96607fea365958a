"""The best path of a line through the form: at every beat an offset, or adrift.

Staying is free, going to another state costs what ``costs`` says, in nats; each beat pays by the
evidence. States are offsets in beats ahead of the form clock (0 is in place), the last is adrift.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float32]

AGAIN_COST = 2.0  # nats more for a jump of a line that is already out of place


@dataclass(frozen=True, slots=True)
class Stretch:
    """A run of beats [start, stop) in one state."""

    start: int
    stop: int
    state: int


@dataclass(frozen=True, slots=True)
class MostGained:
    """The most that each state gains over any run of beats, and over one that goes to the end."""

    rise: Floats
    to_the_end: Floats


def most_gained(gain: Floats) -> MostGained:
    """The most gained by state; ``gain`` (beats × states) is over in place, its column 0 zeros."""
    total = np.cumsum(gain, axis=0, dtype=np.float32)
    low = np.minimum(np.minimum.accumulate(total, axis=0), 0.0)
    rise = np.maximum((total[1:] - low[:-1]).max(axis=0, initial=0), total[0])
    return MostGained(rise, total[-1] - np.minimum(low[:-1].min(axis=0, initial=0.0), 0.0))


def best_run(gain: Floats) -> tuple[int, int]:
    """The beats [start, stop) over which the sum of one state's gain is the most."""
    total = np.concatenate(([0.0], np.cumsum(gain, dtype=np.float64)))
    rises = total[1:] - np.minimum.accumulate(total[:-1])
    stop = int(rises.argmax()) + 1
    return int(total[:stop].argmin()), stop


def path_if_lost(gain: Floats, most: MostGained, costs: Floats) -> list[Stretch] | None:
    """The best path; None where it is in place throughout.

    It is, where no state gains over any run of beats what going there costs and coming back, or
    going on to another lost place (at the end of the line nobody needs to come back): every
    excursion of every path loses. For the same reason states that gain too little are left out of
    the search.
    """
    back = float(costs[0])
    lost = (most.rise > costs + min(back, AGAIN_COST)) | (most.to_the_end > costs)
    if not lost[1:].any():
        return None
    # Between two other lost places, or after one to the end, a state has to gain less: without
    # it the line would have to come back.
    between = min(back, AGAIN_COST, 2 * AGAIN_COST - back)
    ends = most.to_the_end > costs + min(0.0, AGAIN_COST - back)
    kept = np.flatnonzero((most.rise > costs + between) | ends)
    kept = np.concatenate(([0], kept[kept > 0]))
    found = best_path(np.ascontiguousarray(gain[:, kept]), costs[kept])
    return [Stretch(s.start, s.stop, int(kept[s.state])) for s in found]


def best_path(gain: Floats, costs: Floats) -> list[Stretch]:
    """The best path by Viterbi, as stretches that cover all beats."""
    beats, states = gain.shape
    value = np.where(np.arange(states) == 0, 0.0, -costs).astype(np.float32)
    jumped = np.zeros((beats, states), dtype=bool)
    sources = [0] * beats  # from where a jump to any state but in place comes
    tops = [0] * beats  # and from where the line comes back
    fresh = np.empty_like(value)
    value += gain[0]
    for beat in range(1, beats):
        top = int(value.argmax())
        tops[beat] = top
        source = top if value[top] - AGAIN_COST > value[0] else 0
        sources[beat] = source
        np.subtract(value[source] - (AGAIN_COST if source else 0.0), costs, out=fresh)
        fresh[0] = value[top] - costs[0]
        np.greater(fresh, value, out=jumped[beat])
        np.maximum(fresh, value, out=value)
        value += gain[beat]
    stretches = []
    state, stop = int(value.argmax()), beats
    while True:
        # The last jump into this state before ``stop`` is where its stretch begins.
        jumps = np.flatnonzero(jumped[1:stop, state])
        if not jumps.size:
            stretches.append(Stretch(0, stop, state))
            return stretches[::-1]
        start = int(jumps[-1]) + 1
        stretches.append(Stretch(start, stop, state))
        state, stop = (sources if state else tops)[start], start


def path_value(path: list[Stretch], gain: Floats, costs: Floats) -> float:
    """What a path gains over staying in place, less what its jumps cost."""
    value = -float(costs[path[0].state]) if path[0].state else 0.0
    before = path[0].state
    for s in path:
        value += float(gain[s.start : s.stop, s.state].sum())
        if s is not path[0]:
            value -= float(costs[s.state]) + (AGAIN_COST if before and s.state else 0.0)
        before = s.state
    return value
