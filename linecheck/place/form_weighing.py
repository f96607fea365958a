"""How much the evidence of one take weighs: players differ in how plainly they show the form.

The weights of ``form_evidence`` hold for players at large. A line that lands on every root shows
its place more plainly, a solo on one scale hardly at all. So each take weighs its own evidence,
walking and solo apart: *sharpness* is a factor on the evidence for an offset, found by how well
the line, where it is taken to be, stands out from all other places; adrift is told by how much
worse the line fits than it does elsewhere in the same take.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from linecheck.place.form_evidence import AGAIN_WEIGHT, SOLO_BEAT, SOLO_LONG, SOLO_SHORT
from linecheck.place.sorted_arrays import quantile

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from linecheck.place.form_evidence import LineCodes
    from linecheck.place.form_path import Stretch

    Floats = NDArray[np.float32]

BLOCK_BEATS = 16
SHARPNESS = np.array((0.05, 0.15, 0.3, 0.45, 0.6, 0.8, 1.0, 1.25, 1.5), dtype=np.float32)
SHARPNESS_SPREAD = 0.6  # of its logarithm, over players
LAPSE = 0.1  # share of blocks that may be anything

# Walking, solo. Nats a beat by which adrift beats in place: in clean lines, and in adrift ones;
# and the variance of it a beat. Medians over takes of all fitted players.
CLEAN_MEAN = (-0.39, -0.18)
ADRIFT_MEAN = (0.68, 0.51)
VARIANCE = (0.42, 0.35)
PRIOR_BLOCKS = 2.0
QUANTILE, QUANTILE_BELOW = 0.3, 0.09
SLOPES = (0.02, 1.8)


@dataclass(frozen=True, slots=True)
class Weighing:
    """The evidence relative to in place as this take weighs it, and how well the path explains.

    ``gain``: beats × states, column 0 zero. ``fit``: log-likelihood of the line in place against
    places by lot; with the gain of a path it is that of the path. ``clarity``: how much better in
    place than adrift the line fits where it is in place, nats a beat: walking, solo. ``worse``: how
    much worse than adrift in place fits, a beat. ``beta``: the sharpness of walking and of solo.
    ``slope``: how many nats of ``gain`` a nat of evidence is for adrift, a beat.
    """

    gain: Floats
    fit: float
    clarity: tuple[float, float]
    worse: Floats
    slope: Floats
    beta: tuple[float, float] = (1.0, 1.0)


def solo_beats(line: LineCodes, first: int, beats: int) -> tuple[NDArray[np.bool_], ...]:
    """Which beats tell something, in a walking and in a solo voice.

    A pitch that only goes on repeating tells nothing: under a pedal a line is neither well in its
    place nor adrift.
    """
    telling = line.weights > AGAIN_WEIGHT
    sounding = np.zeros(beats, dtype=bool)
    sounding[line.beats[telling] - first] = True
    solo = np.zeros(beats, dtype=bool)
    mine = telling & np.isin(line.voices, (SOLO_SHORT, SOLO_BEAT, SOLO_LONG))
    solo[line.beats[mine] - first] = True
    return sounding & ~solo, sounding & solo


def weigh(raw: Floats, groups: tuple[NDArray[np.bool_], ...], path: list[Stretch]) -> Weighing:
    """Weigh the raw evidence (beats × states) of a take that is taken to go along ``path``."""
    adrift = raw.shape[1] - 1
    own = raw  # the evidence by distance from the own place instead of from the clock
    known = np.ones(len(raw), dtype=bool)
    if any(s.state for s in path):
        own = raw.copy()
        for s in path:
            if s.state == adrift:
                known[s.start : s.stop] = False
            elif s.state:
                own[s.start : s.stop, :-1] = np.roll(raw[s.start : s.stop, :-1], -s.state, axis=1)
    gain = raw - raw[:, :1]
    slopes = np.zeros(len(raw), dtype=np.float32)
    fit, clarity, betas = 0.0, [], []
    for group, sounding in enumerate(groups):
        beats = np.flatnonzero(sounding & known)
        mean, beta = CLEAN_MEAN[group], 1.0
        if beats.size:
            starts = np.arange(0, beats.size, BLOCK_BEATS)
            blocks = np.add.reduceat(own[beats], starts, axis=0)
            blocks -= blocks[:, :1].copy()
            sizes = np.diff(np.append(starts, beats.size))
            # A low quantile, put up to where the mean would be: much of a take may be adrift.
            middle = quantile(blocks[:, -1] / sizes, QUANTILE) + QUANTILE_BELOW
            mean = (middle * len(sizes) + mean * PRIOR_BLOCKS) / (len(sizes) + PRIOR_BLOCKS)
            beta, _ = _sharpness(blocks[:, :-1])
        clarity.append(-mean)
        betas.append(beta)
        mine = np.flatnonzero(sounding)
        if mine.size:
            starts = np.arange(0, mine.size, BLOCK_BEATS)
            blocks = np.add.reduceat(raw[mine, :-1] - raw[mine, :1], starts, axis=0)
            fit -= float(np.log(np.exp(np.minimum(beta * blocks, 60.0)).mean(axis=1)).sum())
            fit -= 0.5 * (float(np.log(beta)) / SHARPNESS_SPREAD) ** 2
        there = ADRIFT_MEAN[group]
        # Adrift and offsets are weighed alike, or one would swallow the other.
        slope = min(float(np.clip((there - mean) / VARIANCE[group], *SLOPES)), beta)
        slopes[mine] = slope
        gain[mine, :-1] *= beta
        gain[mine, -1] = slope * (gain[mine, -1] - (mean + there) / 2)
    return Weighing(
        gain, fit, (clarity[0], clarity[1]), raw[:, -1] - raw[:, 0], slopes, (betas[0], betas[1])
    )


def _sharpness(blocks: Floats) -> tuple[float, float]:
    """The sharpness that explains the blocks best (evidence relative to the own place)."""
    best, found = -np.inf, 1.0
    for beta in SHARPNESS:
        others = np.exp(np.minimum(beta * blocks, 60.0)).mean(axis=1)
        fit = float(np.log((1 - LAPSE) / others + LAPSE).sum())
        fit -= 0.5 * (float(np.log(beta)) / SHARPNESS_SPREAD) ** 2
        if fit > best:
            best, found = fit, float(beta)
    return found, best


def sharpest(blocks: Floats) -> float:
    """Sharpness of a line whose place is not known: by the place that explains it best.

    ``blocks`` is evidence by offset, summed over blocks of beats.
    """
    totals = blocks.sum(axis=0)
    tried = np.argsort(totals)[-4:]
    found = [_sharpness(blocks - blocks[:, [column]]) for column in tried]
    return max(found, key=lambda pair: pair[1])[0]
