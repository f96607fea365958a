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
FRAMES_AT_ONCE = 32  # so that what is worked on stays in the cache
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


class _Scores:
    """Log-likelihood of each frame's onsets in each state, some frames at a time."""

    def __init__(self, onsets_s: Array, grid: Array, feel: Feel) -> None:
        self.onsets_s = onsets_s
        self.frame = (onsets_s / FRAME_S).astype(np.int64)
        self.grid, self.bins = grid, feel.phase_bins
        # An onset u bins into the frame meets state k at phase k + u.
        shift = (np.arange(self.bins)[:, None] + np.arange(self.bins)) % self.bins
        self.table = _log_intensity(grid, feel)[:, shift]
        expected = (feel.off_grid + sum(w for _, w in feel.parts)) * grid / self.bins
        self.expected = expected.astype(np.float32)[None, :, None]

    def of(self, first: int, frames: int) -> NDArray[np.float32]:
        """[frame, tempo, phase] of so many frames from the first on."""
        low, high = np.searchsorted(self.frame, [first, first + frames])
        frame = self.frame[low:high]
        moved = (self.onsets_s[low:high] - frame * FRAME_S)[:, None] * (self.grid / FRAME_S)
        whole = moved.astype(np.int64)
        part = moved - whole
        tempos, bins = len(self.grid), self.bins
        base = (np.arange(tempos) * frames + (frame - first)[:, None]) * bins
        size = tempos * frames * bins
        counts = np.bincount((base + whole % bins).ravel(), (1 - part).ravel(), size)
        counts += np.bincount((base + (whole + 1) % bins).ravel(), part.ravel(), size)
        counts32 = counts.astype(np.float32).reshape(tempos, frames, bins)
        scores = np.matmul(counts32, self.table).transpose(1, 0, 2) - self.expected
        return np.asarray(scores)


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
    lattice = _Lattice(tempo_grid(low_bpm, high_bpm, feel.phase_bins), feel)
    values = lattice.run(onsets_s - start, frames)
    ends = _distinct_ends(values[-1], lattice.grid, most)
    runs = lattice.back_from(values, *np.array(ends).T)
    times_s = start + np.arange(frames + 1, dtype=np.float64) * FRAME_S
    return [
        Path(times_s=times_s, positions=run, log_score=float(values[-1][end]))
        for run, end in zip(runs, ends, strict=True)
    ]


class _Lattice:
    """States (tempo, phase), and what it costs to go from one to another in a frame.

    A state first runs on steadily, then its phase may move by a bin, then its tempo by grid lines.
    """

    def __init__(self, grid: Array, feel: Feel) -> None:
        self.grid, self.feel = grid, feel
        self.speed = grid.astype(np.int64)
        moves = np.array(MOVES)
        other = np.clip(np.arange(len(grid)) + moves[:, None], 0, len(grid) - 1)
        change = np.abs(np.log(grid[other] / grid))
        cost = np.minimum(change / feel.tempo_scale, feel.tempo_jump + change / 0.1)
        self.cost = cost.astype(np.float32)

    def run(self, onsets_s: Array, frames: int) -> NDArray[np.float32]:
        """Best score of each state at each frame, [frame, tempo, phase]."""
        tempos, bins = len(self.grid), self.feel.phase_bins
        scores = _Scores(onsets_s, self.grid, self.feel)
        values = np.empty((frames, tempos, bins), dtype=np.float32)
        came_from = (np.arange(bins) - self.speed[:, None]) % bins
        came_from += np.arange(tempos)[:, None] * bins
        edge = max(MOVES)
        padded = np.full((tempos + 2 * edge, bins), -np.inf, dtype=np.float32)
        inner = padded[edge:-edge]
        offers = [
            (padded[edge + m : edge + m + tempos], np.repeat(c[:, None], bins, axis=1))
            for m, c in zip(MOVES, self.cost, strict=True)
            if m
        ]
        offer = np.empty((tempos, bins), dtype=np.float32)
        move = np.float32(self.feel.phase_cost)
        for frame in range(frames):
            if frame % FRAMES_AT_ONCE == 0:
                chunk = scores.of(frame, min(FRAMES_AT_ONCE, frames - frame))
            now = values[frame]
            if frame:
                steady = values[frame - 1].take(came_from)
                np.subtract(steady, move, out=offer)
                np.maximum(steady[:, 1:], offer[:, :-1], out=inner[:, 1:])
                np.maximum(steady[:, 0], offer[:, -1], out=inner[:, 0])
                np.maximum(inner[:, :-1], offer[:, 1:], out=inner[:, :-1])
                np.maximum(inner[:, -1], offer[:, 0], out=inner[:, -1])
                now[:] = inner
                for window, cost in offers:
                    np.subtract(window, cost, out=offer)
                    np.maximum(now, offer, out=now)
                now += chunk[frame % FRAMES_AT_ONCE]
            else:
                now[:] = chunk[0]
        return values

    def back_from(
        self, values: NDArray[np.float32], tempo: NDArray[np.int64], phase: NDArray[np.int64]
    ) -> Array:
        """Beats run at every frame border on the best paths into these states of the last frame."""
        frames, tempos, bins = values.shape
        run = np.empty((len(tempo), frames + 1))
        run[:, frames] = self.grid[tempo] / bins
        moves = np.array(MOVES)[:, None]
        turns = np.array((0, -1, 1))[:, None]
        turn_cost = np.abs(turns) * np.float32(self.feel.phase_cost)
        paths = np.arange(len(tempo))
        for frame in range(frames - 1, 0, -1):
            before = tempo + moves
            source = np.clip(before, 0, tempos - 1)
            cost = np.where(before == source, self.cost[:, tempo], np.inf)
            # [move of the tempo, move of the phase, path]
            at = (phase + turns - self.speed[source][:, None, :]) % bins
            offers = values[frame - 1, source[:, None, :], at] - turn_cost - cost[:, None, :]
            best = offers.reshape(-1, len(tempo)).argmax(axis=0)
            move, turn = np.divmod(best, len(turns))
            tempo = source[move, paths]
            run[:, frame] = (self.grid[tempo] - turns[turn, 0]) / bins
            phase = at[move, turn, paths]
        run[:, 0] = phase / bins
        return np.cumsum(run, axis=1)


def _distinct_ends(value: NDArray[np.float32], grid: Array, most: int) -> list[tuple[int, int]]:
    """Final states of the best paths, no two alike in tempo (within 9 %) and phase."""
    bins = value.shape[1]
    ends: list[tuple[int, int]] = []
    for flat in np.argsort(value, axis=None)[::-1][: 160 * most].tolist():
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
