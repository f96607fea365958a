"""How sure a form loss is: 0 to 1, calibrated so that of losses at 0.9 nine in ten are real.

A stretch is nothing, a slip by the offset that fits it best, or adrift. A small network (one
layer of a few units, and straight lines beside it) gives the chance of each; it is fitted by
``tests/fit_loss_confidence.py`` on synthetic takes. It looks at how well the stretch fits in its
place, at that offset, at the next best and at two in turn, at the level of the take
(``form_level``), how likely a slip of that size is, how long the stretch is, whether its halves
agree, and how much of it lies where the chords differ.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from linecheck.place.loss_weights import HIDDEN, OUT, SETTLED

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from linecheck.place.form_candidates import Heard

    Floats = NDArray[np.float32]

MOST_MARGIN = 40.0  # nats, also where the chart has no other place
AROUND_BEATS = 512
EDGE_BEATS = 8
RIVAL_NATS = 3.0
MOST_ODDS = 12.0  # nats
# Nats for a slip against adrift, since the fit draws takes adrift oftener than they are (hand-set, see
# ``tests/tried.md``). A stretch is as likely lost as without.
SLIP_RATHER = 0.7


@dataclass(frozen=True, slots=True)
class LossFeatures:
    """What is known of a stretch, in numbers of about the size of one; ``bars`` long."""

    bars: float
    values: tuple[float, ...]


def features(start: int, stop: int, offset: int, heard: Heard) -> LossFeatures:
    """Features of the stretch of beats [start, stop), read at an offset or as adrift."""
    level, weighed, states = heard.level, heard.weighed, heard.form.beats
    bar = heard.form.chart.meter.beats
    here = slice(start, stop)
    count = stop - start
    gain = weighed.gain[here, :-1]
    half = max(1, count // 2)
    halves = np.stack((gain[:half].sum(axis=0), gain[half:].sum(axis=0)))
    own, margin, differing = _against_others(halves.sum(axis=0), start, stop, offset, heard)
    rise, variance = level.rise[here], level.variance[here]
    sounding = variance > 0
    n = max(1, int(sounding.sum()))
    spread = float(variance.sum()) ** 0.5 + 1e-3
    # How the stretch fits at the offset, against the level of the take in its own place.
    there = rise + 2 * (heard.raw[here, 0] - heard.raw[here, offset]) * sounding
    share = float(heard.groups[1][here].sum()) / n
    low, high = np.searchsorted(heard.line.beats, (start + heard.first, stop + heard.first))
    notes = heard.line.weights[low:high]
    sums = float(rise.sum()), float(there.sum())
    blocks = np.add.reduceat(gain[:, offset], np.arange(0, count, bar))
    edges = np.concatenate(
        (level.rise[max(0, start - EDGE_BEATS) : start], level.rise[stop : stop + EDGE_BEATS])
    )
    return LossFeatures(
        count / bar,
        (
            _root(own),
            _root(margin),
            float(np.log1p(count / bar)),
            differing,
            share,
            float(offset % bar == 0),
            float(heard.costs[offset]) / 4 - 2,
            float(min(offset, states - offset) <= 2),
            float(stop == len(weighed.gain)),
            weighed.clarity[0] * (1 - share) + weighed.clarity[1] * share,
            level.mean[0] * (1 - share) + level.mean[1] * share,
            float((notes < 1).mean()) if len(notes) else 1.0,
            float(np.log1p(len(notes))),
            n / count,
            float(weighed.worse[here].mean()),
            sums[0] / spread / 4,
            sums[1] / spread / 4,
            _elsewhere(level.rise, start, stop) / spread / 4,
            max(float(there[:half].sum()), float(there[half:].sum())) / spread / 3,
            min(float(rise[:half].sum()), float(rise[half:].sum())) / spread / 3,
            sums[0] / n,
            sums[1] / n,
            spread / n**0.5,
            _root(float(level.lost[here].sum())),
            _root(float(weighed.gain[here, -1].sum())),
            _root(float(halves[:, offset].min())),
            _root(float((halves[:, 1:].max(axis=1) - halves[:, offset]).max())),
            _root(_two_offsets(gain[:, 1:]) - float(halves[:, offset].sum())),
            float((blocks > 0).mean()),
            float(edges.mean()) if len(edges) else 0.0,
            float(np.log(states)) - 4,
            level.low[0] * (1 - share) + level.low[1] * share,
            level.lost_share[0] * (1 - share) + level.lost_share[1] * share,
            float(np.log(max(1, len(heard.raw) / states))),
            (weighed.beta[0] * (1 - share) + weighed.beta[1] * share),
        ),
    )


def _against_others(
    totals: Floats, start: int, stop: int, offset: int, heard: Heard
) -> tuple[float, float, float]:
    """What an offset gains over in place and over the next best, and where the chords differ.

    Against the next best it counts how likely each size is.
    """
    tables = heard.tables
    totals[0] = 0.0
    own = float(totals[offset])
    totals[1:] -= heard.costs[1:-1]
    worth = float(totals[offset])
    beats = np.arange(start, stop) + heard.first
    for state in np.flatnonzero(totals > worth - RIVAL_NATS):
        # Places with the same chords throughout are no rivals: the chart cannot tell them apart.
        if not tables.differ(beats, offset, int(state)).any():
            totals[state] = -np.inf
    margin = worth - max(float(totals.max()), worth - MOST_MARGIN)
    return own, margin, float(tables.differ(beats, 0, offset).mean())


def _two_offsets(gain: Floats) -> float:
    """The most that a stretch gains at one offset first and then at another, or at one."""
    upto = np.cumsum(gain, axis=0)
    total = upto[-1]
    both = upto[:-1].max(axis=1) + (total - upto[:-1]).max(axis=1)
    return float(max(total.max(), both.max(initial=-np.inf)))


def _elsewhere(rise: Floats, start: int, stop: int) -> float:
    """The most that the misfit rises, in sum, over as long a stretch elsewhere near by."""
    size = stop - start
    most = [0.0]
    for part in (rise[max(0, start - AROUND_BEATS) : start], rise[stop : stop + AROUND_BEATS]):
        if len(part) > size:
            total = np.concatenate(([0.0], np.cumsum(part)))
            most.append(float((total[size:] - total[:-size]).max()))
    return max(most[1:], default=0.0)


def _root(nats: float) -> float:
    """The square root of nats, with their sign."""
    return float(np.sign(nats) * np.sqrt(abs(nats)))


def confidence(found: LossFeatures) -> tuple[float, float]:
    """The chance that the stretch is a slip by just this offset, and that it is adrift."""
    row = np.array((1.0, *found.values))
    logits = np.concatenate((row, np.tanh(row @ HIDDEN))) @ OUT
    lost, rather = np.logaddexp(logits[1], logits[2]), logits[1] - logits[2] + SLIP_RATHER
    logits[1:] = lost - np.logaddexp(0.0, (-rather, rather))
    return _settled(logits, 1), _settled(logits, 2)


def _settled(logits: NDArray[np.float64], kind: int) -> float:
    """The chance of a kind, where the stretch is the surest of several: less than it says."""
    others = np.delete(logits, kind)
    against = float(others.max() + np.log(np.exp(others - others.max()).sum()))
    shift, slope = SETTLED[kind - 1]
    odds = float(np.clip(shift + slope * (logits[kind] - against), -MOST_ODDS, MOST_ODDS))
    return float(1.0 / (1.0 + np.exp(-odds)))
