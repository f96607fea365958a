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

    from linecheck.place.form_evidence import FormTables
    from linecheck.place.form_path import Stretch

    Floats = NDArray[np.float32]

# Intercept, then one weight for each feature of ``features``.
OFFSET_WEIGHTS = (-1.51, 0.69, 0.63, -1.05, -0.35, 0.75, 0.41, -0.81)
ADRIFT_WEIGHTS = (-1.30, 0.99, -0.46, -0.46, 0.00, -0.51, 0.00, 0.02)


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
            )
        )


def features(
    stretch: Stretch,
    gain: Floats,
    tables: FormTables,
    *,
    first: int,
    solo: NDArray[np.bool_],
    bar: int,
) -> LossFeatures:
    """Features of a stretch that is out of place."""
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
    return LossFeatures(
        gain=own,
        margin=own - float(rivals.max()),
        bars=len(part) / bar,
        differing=differing,
        solo=float(solo[stretch.start : stretch.stop].mean()),
        whole_bars=adrift or stretch.state % bar == 0,
        open_end=stretch.stop == len(gain),
    )


def confidence(found: LossFeatures, *, adrift: bool) -> float:
    """The chance that the loss is real, with just this kind and offset."""
    weights = np.array(ADRIFT_WEIGHTS if adrift else OFFSET_WEIGHTS)
    return float(1.0 / (1.0 + np.exp(-float(found.row() @ weights))))
