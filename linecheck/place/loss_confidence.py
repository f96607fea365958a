"""How sure a form loss is: 0 to 1, calibrated so that of losses at 0.9 nine in ten are real.

A logistic model by kind of loss, fitted by ``tests/fit_loss_confidence.py`` on synthetic takes.
What it looks at: how much better the line fits there than in place, how much better than at the
best other place, how long the stretch is, and how much of it lies where the chords differ.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from linecheck.place.form_evidence import FormTables, LineCodes
    from linecheck.place.form_path import Stretch
    from linecheck.place.form_weighing import Weighing

    Floats = NDArray[np.float32]

# Intercept, then one weight for each feature of ``features``.
OFFSET_WEIGHTS = (-1.54, 0.62, 0.46, -0.51, -0.72, 0.64, 0.53, -0.82, 1.59, -0.15, -0.46)
ADRIFT_WEIGHTS = (-0.59, 0.53, 0.14, -1.11, -0.00, 2.21, -0.00, -0.12, -0.61, -1.04, 1.53)


@dataclass(frozen=True, slots=True)
class LossFeatures:
    """What is known of a stretch out of place; gains are in nats."""

    gain: float
    margin: float
    bars: float
    differing: float
    solo: float
    whole_bars: bool
    open_end: bool
    clarity: float
    repeats: float
    level: float

    def row(self) -> NDArray[np.float64]:
        """The features in the order of the weights."""
        gain, margin = max(self.gain, 0.0), max(self.margin, 0.0)
        return np.array(
            (
                1.0,
                np.sqrt(gain),
                np.sqrt(margin),
                np.log1p(self.bars),
                self.differing,
                self.solo,
                float(self.whole_bars),
                float(self.open_end),
                self.clarity,
                self.repeats,
                self.level,
            )
        )


def features(
    stretch: Stretch,
    weighed: Weighing,
    tables: FormTables,
    line: LineCodes,
    *,
    first: int,
    solo: NDArray[np.bool_],
    bar: int,
) -> LossFeatures:
    """Features of a stretch that is out of place."""
    gain = weighed.gain
    part = gain[stretch.start : stretch.stop]
    totals = part.sum(axis=0)
    own = float(totals[stretch.state])
    beats = np.arange(stretch.start, stretch.stop) + first
    rivals = totals.copy()
    adrift = stretch.state == tables.beats
    if adrift:
        rivals[-1] = -np.inf
        differing = 1.0
    else:
        sounds = tables.sounds
        mine = sounds[(beats + stretch.state) % tables.beats]
        differing = float((mine != sounds[beats % tables.beats]).mean())
        # Places with the same chords throughout are no rivals: the chart cannot tell them apart.
        for state in np.flatnonzero(totals[:-1] > own - 3.0):
            if (sounds[(beats + state) % tables.beats] == mine).all():
                rivals[state] = -np.inf
    share = float(solo[stretch.start : stretch.stop].mean())
    inside = (line.beats >= beats[0]) & (line.beats <= beats[-1])
    return LossFeatures(
        gain=own,
        margin=own - float(rivals.max()),
        bars=len(part) / bar,
        differing=differing,
        solo=share,
        whole_bars=adrift or stretch.state % bar == 0,
        open_end=stretch.stop == len(gain),
        clarity=weighed.clarity[0] * (1 - share) + weighed.clarity[1] * share,
        repeats=float((line.weights[inside] < 1).mean()) if inside.any() else 1.0,
        level=float(weighed.worse[stretch.start : stretch.stop].mean()),
    )


def confidence(found: LossFeatures, *, adrift: bool) -> float:
    """The chance that the loss is real, with just this kind and offset."""
    weights = np.array(ADRIFT_WEIGHTS if adrift else OFFSET_WEIGHTS)
    return float(1.0 / (1.0 + np.exp(-float(found.row() @ weights))))
