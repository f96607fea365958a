"""How likely a take's rhythm is on a grid of beats: one number, comparable between grids.

The line is taken as a chain of blocks of four beats, each in one style of a table (walking, in two,
eighths, triplets, sixteenths, phrases, resting) and mostly in that of the block before. In a style
every part of a beat holds an attack or none, each by its own chance; an attack falls around its
part with the take's jitter. The result is the natural logarithm of the probability density of all
onsets, in notes a second, so that grids of different tempo and phase, which explain the same
onsets, can be compared by their difference.

Styles and chances: common practice of bass lines, hand-set.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

STAY = 0.92  # of a style from one block to the next
OFF_GRID_A_BEAT = 0.02
EARLY = 0.15  # of a beat: an attack this far before a beat may be early for it
# Parts of a beat: on it, 1/4, 1/3, the off-beat where this take plays it, 2/3, 1/2, 3/4.
PARTS = np.array([0.0, 0.25, 1 / 3, 0.6, 2 / 3, 0.5, 0.75])
OFF_BEAT = 3
# Chance of an attack at each part of one beat. "struck" and "held" make the long notes.
#                on    1/4    1/3    off   2/3    1/2    3/4
CHANCES: dict[str, tuple[float, ...]] = {
    "walking": (0.96, 0.010, 0.015, 0.10, 0.015, 0.010, 0.010),
    "plain": (0.97, 0.003, 0.005, 0.015, 0.005, 0.003, 0.003),
    "struck": (0.95, 0.005, 0.010, 0.05, 0.010, 0.010, 0.005),
    "held": (0.12, 0.005, 0.010, 0.12, 0.010, 0.010, 0.010),
    "eighths": (0.93, 0.015, 0.020, 0.88, 0.020, 0.010, 0.015),
    "phrases": (0.65, 0.030, 0.080, 0.50, 0.080, 0.020, 0.030),
    "sparse": (0.35, 0.010, 0.020, 0.22, 0.020, 0.010, 0.010),
    "triplets": (0.88, 0.020, 0.800, 0.05, 0.780, 0.020, 0.020),
    "sixteenths": (0.85, 0.600, 0.020, 0.70, 0.020, 0.020, 0.600),
    "resting": (0.04, 0.005, 0.005, 0.03, 0.005, 0.005, 0.005),
}
ROWS = tuple(CHANCES)
# Styles of a block by beats of a bar: what each beat is, and how likely the style is. A pattern
# shorter than the block is repeated, and may begin on any of its beats.
PLAIN: tuple[tuple[tuple[str, ...], float], ...] = (
    (("plain",), 0.14),
    (("walking",), 0.24),
    (("eighths",), 0.15),
    (("phrases",), 0.15),
    (("sparse",), 0.08),
    (("triplets",), 0.03),
    (("sixteenths",), 0.02),
    (("resting",), 0.06),
)
IN_TWO = (("struck", "held"), 0.10)
IN_THREE = (("struck", "held", "held"), 0.10)
BLOCKS: dict[int, tuple[int, tuple[tuple[tuple[str, ...], float], ...]]] = {
    2: (4, (*PLAIN, IN_TWO, (("struck", "held", "held", "held"), 0.02))),
    3: (6, (*PLAIN, IN_TWO, IN_THREE)),
    5: (5, (*PLAIN, (("struck", "held", "held", "struck", "held"), 0.10))),
}


@dataclass(frozen=True, slots=True)
class Styles:
    """Styles of one meter: ``rows[style, beat of the block]`` and the prior of each."""

    beats: int
    rows: NDArray[np.int64]
    prior: Array


def styles_of(beats_per_bar: int) -> Styles:
    """The table for a bar of so many beats: by threes, by fives, else by twos."""
    divisor = next((d for d in (3, 5) if beats_per_bar % d == 0), 2)
    beats, table = BLOCKS[divisor]
    rows: list[list[int]] = []
    priors: list[float] = []
    for pattern, prior in table:
        length = len(pattern)
        for turn in range(length):
            rows.append([ROWS.index(pattern[(i + turn) % length]) for i in range(beats)])
            priors.append(prior / length)
    return Styles(beats, np.array(rows), np.array(priors) / sum(priors))


_CHANCE = np.array(list(CHANCES.values()))
ODDS = _CHANCE / (1 - _CHANCE)
SILENCE = np.log1p(-_CHANCE).sum(axis=1)


def block_scores(
    positions: Array, periods_s: Array, jitter_s: float, weights: Array, styles: Styles
) -> tuple[Array, float]:
    """Log-likelihood of each block in each style, and where the swung off-beat falls.

    Args:
        positions: onsets in beats of the grid, ascending, not negative.
        periods_s: length of the beat at each onset.
        jitter_s: spread around the parts.
        weights: 0 to 1; how far each onset counts.
        styles: of the meter.

    Returns:
        Shape (blocks, styles), and the swing as a place in the beat.
    """
    beat = np.floor(positions + EARLY).astype(np.int64)
    inside = positions - beat
    parts = PARTS.copy()
    parts[OFF_BEAT] = swing = _swing(inside, weights)
    width = (jitter_s / periods_s)[:, None]
    dense = np.exp(-0.5 * ((inside[:, None] - parts) / width) ** 2)
    dense /= jitter_s * np.sqrt(2 * np.pi)
    each = np.log(dense @ ODDS.T + (OFF_GRID_A_BEAT / periods_s)[:, None]) * weights[:, None]
    blocks = int(beat[-1]) // styles.beats + 1
    rows = len(ODDS)
    cell = beat[:, None] * rows + np.arange(rows)
    sums = np.bincount(cell.ravel(), each.ravel(), blocks * styles.beats * rows)
    sums = sums.reshape(blocks, styles.beats, rows) + SILENCE
    return sums[:, np.arange(styles.beats), styles.rows].sum(axis=2), swing


def chain(tables: list[Array], styles: Styles) -> Array:
    """Log-likelihood of each table of blocks, its styles a chain that mostly stays.

    Args:
        tables: one array (blocks, styles) a grid; all are run at once.
        styles: of the meter.
    """
    prior = styles.prior
    longest = max(len(t) for t in tables)
    score = np.zeros((longest, len(tables), len(prior)))
    for index, table in enumerate(tables):
        score[: len(table), index] = table
    top = score.max(axis=2, keepdims=True)
    likely = np.exp(score - top)
    total = top[:, :, 0].sum(axis=0)
    weight = np.broadcast_to(prior, likely.shape[1:]) * likely[0]
    for block in range(1, longest):
        mass = weight.sum(axis=1, keepdims=True)
        total += np.log(mass[:, 0])
        weight = (weight * (STAY / mass) + (1 - STAY) * prior) * likely[block]
    return np.asarray(total + np.log(weight.sum(axis=1)))


def _swing(inside: Array, weights: Array) -> float:
    """Where the off-beat falls: the densest place between 0.48 and 0.75."""
    edges = np.linspace(0.40, 0.80, 41)
    counts, _ = np.histogram(inside, edges, weights=weights)
    kernel = np.array([0.25, 0.6, 1.0, 0.6, 0.25])
    heap = np.convolve(counts, kernel, mode="same")
    centres = (edges[1:] + edges[:-1]) / 2
    allowed = (centres > 0.48) & (centres < 0.72)
    return float(centres[allowed][heap[allowed].argmax()]) if heap.any() else 0.6
