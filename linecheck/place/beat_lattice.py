"""Steady beats in a free take, first pass: a path through tempo and phase.

A *path* gives at every moment the tempo and how far the beat has run. The take is cut into frames
of one length; a state is (tempo, phase at the frame's start). Tempos lie on a grid on which a frame
is a whole number of phase bins, so that a steady beat moves from state to state exactly. Within a
frame the tempo stands still; between frames it may move by a few grid lines and the phase by one
bin, at a price. The price of a state is that of the onsets in its frame as points of a Poisson
process whose intensity is high on the beat, lower on its parts, and never nil (nats, seconds).

The best path is found by the Viterbi algorithm (Viterbi 1967); the state space of tempo and phase
is that of the bar-pointer model (Whiteley, Cemgil and Godsill 2006). Cost: linear in seconds.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

FRAME_S = 1.5
MOVES = (-12, -7, -4, -2, -1, 0, 1, 2, 4, 7, 12)  # of the tempo from frame to frame, in grid lines


@dataclass(frozen=True, slots=True)
class Feel:
    """What is expected of the playing.

    Attributes:
        parts: notes a beat at each part of it, as (place in the beat, notes).
        off_grid: notes a beat that stand anywhere; they keep every path alive.
        jitter_s: spread of the onsets around the parts.
        tempo_scale: a change of tempo by this share within a frame costs one nat.
        tempo_jump: nats, about the most that a change of tempo costs.
        phase_cost: nats for moving the phase by one bin within a frame.
        phase_bins: into how many bins a beat is cut; the tempos lie as closely.
    """

    parts: tuple[tuple[float, float], ...]
    off_grid: float
    jitter_s: float
    tempo_scale: float
    tempo_jump: float
    phase_cost: float
    phase_bins: int


# Before anything is known: on the beat, straight and swung off-beats, triplets, sixteenths; a
# jitter between a neat hand (10 ms) and a loose one (35 ms).
ANY_FEEL = Feel(
    parts=(
        (0.0, 0.55),
        (0.5, 0.28),
        (0.6, 0.18),
        (2 / 3, 0.18),
        (1 / 3, 0.07),
        (0.25, 0.05),
        (0.75, 0.05),
    ),
    off_grid=0.10,
    jitter_s=0.022,
    tempo_scale=0.006,
    tempo_jump=8.0,
    phase_cost=1.0,
    phase_bins=36,
)


@dataclass(frozen=True, slots=True)
class Path:
    """Where the beat is at each frame border.

    ``times_s`` are the borders, ``positions`` the beats run by then (a whole number is a beat),
    ``log_score`` the path's log-likelihood by the first pass's own, rough intensity.
    """

    times_s: Array
    positions: Array
    log_score: float


def tempo_grid(low_bpm: float, high_bpm: float, phase_bins: int) -> Array:
    """Phase bins a frame, whole numbers, for tempos from ``low_bpm`` to ``high_bpm``."""
    scale = phase_bins * FRAME_S / 60.0
    low = max(1, int(np.floor(low_bpm * scale)))
    return np.arange(low, max(low + 1, int(np.ceil(high_bpm * scale))) + 1, dtype=np.float64)


def _log_intensity(bins_a_frame: Array, feel: Feel) -> NDArray[np.float32]:
    """Log intensity in notes a second, [tempo, phase bin]."""
    bins = feel.phase_bins
    period = bins * FRAME_S / bins_a_frame
    phase = np.arange(bins) / bins
    width = np.maximum(feel.jitter_s / period, 0.4 / bins)[:, None]
    total = np.full((len(period), bins), feel.off_grid)
    for place, weight in feel.parts:
        away = (phase - place + 0.5) % 1.0 - 0.5
        total += weight * np.exp(-0.5 * (away / width) ** 2) / (width * np.sqrt(2 * np.pi))
    return np.log(total / period[:, None]).astype(np.float32)


def _frame_scores(
    onsets_s: Array, frames: int, bins_a_frame: Array, feel: Feel
) -> NDArray[np.float32]:
    """Log-likelihood of each frame's onsets in each state, [frame, tempo, phase]."""
    tempos, bins = len(bins_a_frame), feel.phase_bins
    frame = np.minimum((onsets_s / FRAME_S).astype(np.int64), frames - 1)
    moved = (onsets_s - frame * FRAME_S)[:, None] * (bins_a_frame / FRAME_S)
    whole = np.floor(moved)
    part = moved - whole
    base = (np.arange(tempos) * frames + frame[:, None]) * bins
    low = base + whole.astype(np.int64) % bins
    high = base + (whole.astype(np.int64) + 1) % bins
    size = tempos * frames * bins
    counts = np.bincount(low.ravel(), (1 - part).ravel(), size)
    counts += np.bincount(high.ravel(), part.ravel(), size)
    counts32 = counts.astype(np.float32).reshape(tempos, frames, bins)
    # An onset u bins into the frame meets state k at phase k + u.
    shift = (np.arange(bins)[:, None] + np.arange(bins)) % bins
    table = _log_intensity(bins_a_frame, feel)[:, shift]
    scores = np.matmul(counts32, table).transpose(1, 0, 2)
    expected = (feel.off_grid + sum(w for _, w in feel.parts)) * bins_a_frame / bins
    return np.ascontiguousarray(scores - expected.astype(np.float32)[None, :, None])


def best_paths(
    onsets_s: Array, low_bpm: float, high_bpm: float, feel: Feel = ANY_FEEL, *, most: int = 8
) -> list[Path]:
    """The best paths that end in different tempos or phases, best first.

    Args:
        onsets_s: ascending onsets in seconds.
        low_bpm: slowest tempo in beats a minute.
        high_bpm: fastest tempo.
        feel: what is expected of the playing.
        most: how many paths at most.
    """
    start = onsets_s[0] - 0.5 * FRAME_S
    frames = int((onsets_s[-1] - start) / FRAME_S) + 1
    grid = tempo_grid(low_bpm, high_bpm, feel.phase_bins)
    scores = _frame_scores(onsets_s - start, frames, grid, feel)
    tempos, bins = len(grid), feel.phase_bins
    advance = (
        np.arange(tempos)[:, None] * bins
        + (np.arange(bins)[None, :] - grid[:, None].astype(np.int64)) % bins
    ).ravel()
    moves = np.array(MOVES)
    edge = int(moves.max())
    change = np.abs(np.log(np.maximum(1.0 + moves[:, None] / grid[None, :], 0.1)))
    cost = np.minimum(change / feel.tempo_scale, feel.tempo_jump + change / 0.1)
    cost = cost.astype(np.float32)[:, :, None]
    offers = np.empty((len(moves), tempos, bins), dtype=np.float32)
    phase_cost = np.float32(feel.phase_cost)
    tempo_from = np.empty((frames, tempos, bins), dtype=np.int8)
    phase_from = np.empty((frames, tempos, bins), dtype=np.int8)
    value = scores[0].copy()
    padded = np.full((tempos + 2 * edge, bins), -np.inf, dtype=np.float32)
    around = np.empty((tempos, bins + 2), dtype=np.float32)
    inner = padded[edge:-edge]
    shifted = [padded[edge + m : edge + m + tempos] for m in MOVES]
    for frame in range(1, frames):
        around[:, 1:-1] = value.ravel()[advance].reshape(tempos, bins)
        around[:, 0] = around[:, -2]
        around[:, -1] = around[:, 1]
        stay, before, after = around[:, 1:-1], around[:, :-2], around[:, 2:]
        side = np.maximum(before, after) - phase_cost
        phase_from[frame] = np.where(side > stay, np.where(before >= after, -1, 1), 0)
        np.maximum(stay, side, out=inner)
        for index, window in enumerate(shifted):
            np.subtract(window, cost[index], out=offers[index])
        chosen = offers.argmax(axis=0)
        tempo_from[frame] = chosen
        value = np.take_along_axis(offers, chosen[None], axis=0)[0] + scores[frame]
    steps = _Steps(tempo_from, phase_from, grid)
    return [
        Path(
            times_s=start + np.arange(frames + 1, dtype=np.float64) * FRAME_S,
            positions=steps.back_from(*end),
            log_score=float(value[end]),
        )
        for end in _distinct_ends(value, grid, most)
    ]


def _distinct_ends(value: NDArray[np.float32], grid: Array, most: int) -> list[tuple[int, int]]:
    """Final states of the best paths, no two alike in tempo (within 9 %) and phase."""
    bins = value.shape[1]
    ends: list[tuple[int, int]] = []
    order = np.argsort(value, axis=None)[::-1][: 40 * most * 4]
    for flat in order.tolist():
        tempo, phase = divmod(flat, bins)
        for other_tempo, other_phase in ends:
            apart = abs((phase - other_phase + bins // 2) % bins - bins // 2)
            if abs(np.log(grid[tempo] / grid[other_tempo])) < 0.09 and apart < bins // 5:
                break
        else:
            ends.append((tempo, phase))
            if len(ends) == most:
                break
    return ends


@dataclass(frozen=True, slots=True)
class _Steps:
    """Where the best path came from: a move of the tempo, then one of the phase, [frame, state]."""

    tempo_from: NDArray[np.int8]
    phase_from: NDArray[np.int8]
    grid: Array

    def back_from(self, tempo: int, phase: int) -> Array:
        """Beats run at every frame border on the best path that ends in this state."""
        frames, _, bins = self.tempo_from.shape
        run = np.empty(frames + 1)
        run[frames] = self.grid[tempo] / bins
        for frame in range(frames - 1, 0, -1):
            tempo += MOVES[self.tempo_from[frame, tempo, phase]]
            move = int(self.phase_from[frame, tempo, phase])
            # This phase was entered from bin phase + move of the row advanced at its tempo.
            run[frame] = (self.grid[tempo] - move) / bins
            phase = (phase + move - int(self.grid[tempo])) % bins
        run[0] = phase / bins
        return np.cumsum(run)
