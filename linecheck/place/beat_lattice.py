"""Steady beats in a free take, first pass: a path through tempo and phase.

A *path* gives at every moment the tempo and how far the beat has run. The take is cut into frames
of one length; a state is (tempo, phase at the frame's start). Tempos lie on a grid on which a frame
is a whole number of phase bins, so that a steady beat moves from state to state exactly. Within a
frame the tempo stands still; between frames it may move by a few grid lines and the phase by one
bin, at a price. The price of a state is that of the onsets in its frame as points of a Poisson
process whose intensity is high on the beat, lower on its parts, and never nil (nats, seconds).

The best path is found by the Viterbi algorithm (Viterbi 1967); the state space of tempo and phase
is that of the bar-pointer model (Whiteley, Cemgil and Godsill 2006). Tempos that have fallen far
behind the best are given up (a beam). Cost: linear in seconds. The way back needs the scores of all
states, so a long take is gone through a part at a time: the scores before each part are kept, and
on the way back those within it are worked out again.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
Scores = NDArray[np.float32]

FRAME_S = 1.5
FRAMES_AT_ONCE = 32
ONSETS_AT_ONCE = 16  # so that what is worked on stays in the cache
PART_FRAMES = 32 * FRAMES_AT_ONCE  # 25 minutes: some 15 MB of scores
GIVEN_UP = 80.0  # nats behind the best; a change of tempo to any other costs about as much
MOVES = (-12, -7, -4, -2, -1, 0, 1, 2, 4, 7, 12)  # of the tempo from frame to frame, in grid lines
EDGE = max(MOVES)
TURNS = (0, -1, 1)  # of the phase from frame to frame, in bins


@dataclass(frozen=True, slots=True)
class Feel:
    """What is expected of the playing.

    Attributes:
        parts: notes a beat at each part of it, as (place in the beat, notes).
        off_grid: notes a beat that stand anywhere; they keep every path alive.
        jitter_s: spread of the onsets around the parts.
        phase_bins: into how many bins a beat is cut; the tempos lie as closely.
    """

    parts: tuple[tuple[float, float], ...]
    off_grid: float
    jitter_s: float
    phase_bins: int


@dataclass(frozen=True, slots=True)
class Hand:
    """How steady a hand is expected.

    Attributes:
        tempo_scale: a change of tempo by this share within a frame costs one nat.
        tempo_jump: nats, about the most that a change of tempo costs.
        phase_cost: nats for moving the phase by one bin within a frame.
    """

    tempo_scale: float
    tempo_jump: float
    phase_cost: float


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
    phase_bins=36,
)
ANY_HAND = Hand(tempo_scale=0.006, tempo_jump=8.0, phase_cost=1.0)


@dataclass(frozen=True, slots=True)
class Path:
    """Where the beat is at each frame border.

    ``times_s`` are the borders, ``positions`` the beats run by then (a whole number is a beat),
    ``log_score`` the path's log-likelihood by the first pass's own, rough intensity.
    """

    times_s: Array
    positions: Array
    log_score: float


def best_paths(
    onsets_s: Array, low_bpm: float, high_bpm: float, feel: Feel = ANY_FEEL, *, most: int = 8
) -> list[Path]:
    """The best paths of any hand that end in different tempos or phases, best first.

    Args:
        onsets_s: ascending onsets in seconds.
        low_bpm: slowest tempo in beats a minute.
        high_bpm: fastest tempo.
        feel: what is expected of the playing.
        most: how many paths at most.
    """
    return paths_of_hands(onsets_s, low_bpm, high_bpm, feel, (ANY_HAND,), most=most)[0]


def paths_of_hands(
    onsets_s: Array,
    low_bpm: float,
    high_bpm: float,
    feel: Feel,
    hands: tuple[Hand, ...],
    *,
    most: int,
) -> list[list[Path]]:
    """For each hand what ``best_paths`` gives."""
    start = onsets_s[0] - 0.5 * FRAME_S
    frames = int((onsets_s[-1] - start) / FRAME_S) + 1
    grid = tempo_grid(low_bpm, high_bpm, feel.phase_bins)
    lattice = _Lattice(grid, hands, feel, onsets_s - start, frames)
    last = lattice.run()
    ends = [_distinct_ends(value, grid, most) for value in last]
    runs = iter(lattice.back_from([(h, *end) for h, found in enumerate(ends) for end in found]))
    times_s = start + np.arange(frames + 1, dtype=np.float64) * FRAME_S
    return [
        [Path(times_s=times_s, positions=next(runs), log_score=float(value[end])) for end in found]
        for value, found in zip(last, ends, strict=True)
    ]


def tempo_grid(low_bpm: float, high_bpm: float, phase_bins: int) -> Array:
    """Phase bins a frame, whole numbers, for tempos from ``low_bpm`` to ``high_bpm``."""
    scale = phase_bins * FRAME_S / 60.0
    low = max(1, int(np.floor(low_bpm * scale)))
    return np.arange(low, max(low + 1, int(np.ceil(high_bpm * scale))) + 1, dtype=np.float64)


def _log_intensity(bins_a_frame: Array, feel: Feel) -> Scores:
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


class _FrameScores:
    """Log-likelihood of each frame's onsets in each state, some frames at a time."""

    def __init__(self, onsets_s: Array, grid: Array, feel: Feel) -> None:
        self.onsets_s = onsets_s
        self.frame = (onsets_s / FRAME_S).astype(np.int64)
        self.grid, self.bins = grid, feel.phase_bins
        # An onset u bins into the frame meets state k at phase k + u.
        shift = (np.arange(self.bins)[:, None] + np.arange(self.bins)) % self.bins
        self.table = np.take(_log_intensity(grid, feel), shift, axis=1)
        expected = (feel.off_grid + sum(w for _, w in feel.parts)) * grid / self.bins
        self.expected = expected.astype(np.float32)[:, None, None]
        shape = (len(grid), FRAMES_AT_ONCE, self.bins)
        self.counts, self.counts32 = np.empty(shape), np.empty(shape, dtype=np.float32)
        self.scores = np.empty(shape, dtype=np.float32)

    def of(self, first: int, tempos: slice) -> Scores:
        """[tempo, frame, phase] of the frames from the first on; holds until the next call."""
        low, high = np.searchsorted(self.frame, [first, first + FRAMES_AT_ONCE]).tolist()
        counts, counts32, scores = self.counts[tempos], self.counts32[tempos], self.scores[tempos]
        counts.fill(0.0)
        for at in range(low, high, ONSETS_AT_ONCE):
            onsets = slice(at, min(at + ONSETS_AT_ONCE, high))
            self._count(onsets, first, self.grid[tempos], counts.reshape(-1))
        np.copyto(counts32, counts, casting="same_kind")
        np.matmul(counts32, self.table[tempos], out=scores)
        scores -= self.expected[tempos]
        return scores

    def _count(self, onsets: slice, first: int, grid: Array, counts: Array) -> None:
        """Count onsets at the phase bins that they would have, were the phase 0 at the frame's start.

        What lies between two bins is shared out to both.
        """
        frame = self.frame[onsets]
        moved = (self.onsets_s[onsets] - frame * FRAME_S)[:, None] * (grid / FRAME_S)
        whole = moved.astype(np.int64)
        part, phase = moved - whole, whole % self.bins
        cell = (np.arange(len(grid)) * FRAMES_AT_ONCE + (frame - first)[:, None]) * self.bins
        cell += phase
        after = np.where(phase == self.bins - 1, cell - phase, cell + 1)
        np.add.at(counts, cell.ravel(), (1 - part).ravel())
        np.add.at(counts, after.ravel(), part.ravel())


@dataclass(frozen=True, slots=True)
class _Window:
    """Best scores, [line, phase], of the lines from ``low`` on; the others are given up."""

    low: int
    values: Scores


class _Lattice:
    """States (tempo, phase) for each hand, and what it costs to go from one to another in a frame.

    A state first runs on steadily, then its phase may move by a bin, then its tempo by grid lines.
    Lines are the tempos of one hand after those of the other, with ``EDGE`` lines between them
    where nobody is, so that a move of all tempos is one shift.
    """

    def __init__(
        self, grid: Array, hands: tuple[Hand, ...], feel: Feel, onsets_s: Array, frames: int
    ) -> None:
        self.grid, self.bins, self.frames = grid, feel.phase_bins, frames
        self.apart = len(grid) + EDGE  # lines from hand to hand
        self.lines = len(hands) * self.apart - EDGE
        self.starts = range(0, self.lines, self.apart)  # of each hand
        self.frame_scores = _FrameScores(onsets_s, grid, feel)
        self.speed = np.zeros(self.lines, dtype=np.int64)
        self.turn_cost = np.zeros((self.lines, self.bins), dtype=np.float32)
        # By move, of the line that is moved to; infinite from and to where nobody is.
        self.move_cost = np.full((len(MOVES), self.lines, self.bins), np.inf, dtype=np.float32)
        other = np.arange(len(grid)) + np.array(MOVES)[:, None]
        known = (other >= 0) & (other < len(grid))
        change = np.abs(np.log(grid[np.where(known, other, 0)] / grid))
        for hand, start in zip(hands, self.starts, strict=True):
            lines = slice(start, start + len(grid))
            cost = np.minimum(change / hand.tempo_scale, hand.tempo_jump + change / 0.1)
            self.move_cost[:, lines] = np.where(known, cost, np.inf)[:, :, None]
            self.turn_cost[lines] = hand.phase_cost
            self.speed[lines] = grid
        self.before_part: list[_Window | None] = []
        self.last_part: list[_Window] = []

    def run(self) -> list[Scores]:
        """Best score of each state of the last frame, [tempo, phase] for each hand."""
        before = None
        for first in range(0, self.frames, PART_FRAMES):
            self.before_part.append(before)
            self.last_part = self._part(first, before)
            before = self.last_part[-1]
        last = np.full((self.lines, self.bins), -np.inf, dtype=np.float32)
        if before is not None:
            last[before.low : before.low + len(before.values)] = before.values
        return [last[start : start + len(self.grid)] for start in self.starts]

    def _part(self, first: int, before: _Window | None) -> list[_Window]:
        """Best scores of every frame from ``first`` to the end of its part."""
        found: list[_Window] = []
        for at in range(first, min(first + PART_FRAMES, self.frames), FRAMES_AT_ONCE):
            found += self._some_frames(at, before)
            before = found[-1]
        return found

    def _some_frames(self, first: int, before: _Window | None) -> list[_Window]:
        """Best scores of ``FRAMES_AT_ONCE`` frames; all have the same lines."""
        low, high = (0, self.lines) if before is None else self._alive(before)
        lines, frames = high - low, min(FRAMES_AT_ONCE, self.frames - first)
        values = np.empty((frames, lines, self.bins), dtype=np.float32)
        came_from = (np.arange(self.bins) - self.speed[low:high, None]) % self.bins
        came_from += np.arange(lines)[:, None] * self.bins
        padded = np.full((lines + 2 * EDGE, self.bins), -np.inf, dtype=np.float32)
        inner = padded[EDGE:-EDGE]
        steady, offer = np.empty_like(inner), np.empty_like(inner)
        offers = [
            (padded[EDGE + m : EDGE + m + lines], cost[low:high])
            for m, cost in zip(MOVES, self.move_cost, strict=True)
            if m
        ]
        scores = self._scores(first, low, high)
        last = None if before is None else _moved_window(before, low, high)
        for frame, now in enumerate(values):
            if last is None:
                now.fill(-np.inf)
                for to, of_hand in scores:
                    now[to] = of_hand[:, 0]
            else:
                np.take(last, came_from, out=steady, mode="clip")
                np.subtract(steady, self.turn_cost[low:high], out=offer)
                _turned(steady, offer, inner)
                now[:] = inner
                for window, cost in offers:
                    np.subtract(window, cost, out=offer)
                    np.maximum(now, offer, out=now)
                for to, of_hand in scores:
                    now[to] += of_hand[:, frame]
            last = now
        return [_Window(low, now) for now in values]

    def _alive(self, window: _Window) -> tuple[int, int]:
        """From which line to which the next frames are worked out."""
        best = window.values.max(axis=1)
        alive = np.flatnonzero(best > best.max() - GIVEN_UP) + window.low
        return max(0, int(alive[0]) - 2 * EDGE), min(self.lines, int(alive[-1]) + 2 * EDGE + 1)

    def _scores(self, first: int, low: int, high: int) -> list[tuple[slice, Scores]]:
        """The lines of each hand within these (from ``low``), and the scores of its tempos."""
        within = [(max(low, s), min(high, s + len(self.grid)), s) for s in self.starts]
        within = [(a, b, s) for a, b, s in within if a < b]
        first_tempo, end = min(a - s for a, _, s in within), max(b - s for _, b, s in within)
        scores = self.frame_scores.of(first, slice(first_tempo, end))
        return [
            (slice(a - low, b - low), scores[a - s - first_tempo : b - s - first_tempo])
            for a, b, s in within
        ]

    def back_from(self, ends: list[tuple[int, int, int]]) -> Array:
        """Beats run at every frame border on the best paths into these states of the last frame.

        Args:
            ends: hand, tempo and phase of each.
        """
        hand, tempo, phase = np.array(ends).T
        line = hand * self.apart + tempo
        run = np.empty((len(ends), self.frames + 1))
        run[:, self.frames] = self.grid[tempo] / self.bins
        way = _WayBack(self)
        windows = self.last_part
        for part in range(len(self.before_part) - 1, -1, -1):
            first, before = part * PART_FRAMES, self.before_part[part]
            if part < len(self.before_part) - 1:
                windows = self._part(first, before)
            for frame in range(first + len(windows) - 1, first, -1):
                line, phase, run[:, frame] = way.step(windows[frame - 1 - first], line, phase)
            if before is not None:
                line, phase, run[:, first] = way.step(before, line, phase)
        run[:, 0] = phase / self.bins
        return np.cumsum(run, axis=1)


def _moved_window(window: _Window, low: int, high: int) -> Scores:
    """The scores of the lines from ``low`` to ``high``."""
    moved = np.full((high - low, window.values.shape[1]), -np.inf, dtype=np.float32)
    begin, end = max(low, window.low), min(high, window.low + len(window.values))
    moved[begin - low : end - low] = window.values[begin - window.low : end - window.low]
    return moved


def _turned(steady: Scores, offer: Scores, best: Scores) -> None:
    """The better of standing still and of turning by a bin either way, into ``best``.

    ``offer`` is ``steady`` less the cost of a turn. The bins of a line go round.
    """
    last = np.maximum(np.maximum(steady[:, -1], offer[:, -2]), offer[:, 0])
    flat_steady, flat_offer, flat = steady.reshape(-1), offer.reshape(-1), best.reshape(-1)
    np.maximum(flat_steady[1:], flat_offer[:-1], out=flat[1:])
    np.maximum(steady[:, 0], offer[:, -1], out=best[:, 0])
    np.maximum(flat[:-1], flat_offer[1:], out=flat[:-1])
    best[:, -1] = last


class _WayBack:
    """From a state to the state of the frame before that it is best reached from.

    The tables are [line, way], a way being a move of the tempo and a turn of the phase.
    """

    def __init__(self, lattice: _Lattice) -> None:
        self.bins = lattice.bins
        moves, turns = np.repeat(MOVES, len(TURNS)), np.tile(TURNS, len(MOVES))
        source = np.arange(lattice.lines)[:, None] + moves
        self.source = np.clip(source, 0, lattice.lines - 1)
        self.shift = turns - lattice.speed[self.source]
        cost = np.repeat(lattice.move_cost[:, :, 0].T, len(TURNS), axis=1).astype(np.float64)
        self.cost = cost + np.abs(turns) * lattice.turn_cost[:, :1]
        # Beats that a frame runs on each way, without the turn of the way itself.
        self.run = (lattice.speed[self.source] - turns) / self.bins

    def step(self, before: _Window, line: Ints, phase: Ints) -> tuple[Ints, Ints, Array]:
        """Line and phase of each path in the frame before, and the beats it runs there."""
        at = (phase[:, None] + self.shift[line]) % self.bins
        source = self.source[line]
        within = source - before.low
        offers = before.values.take(within * self.bins + at, mode="clip") - self.cost[line]
        offers[(within < 0) | (within >= len(before.values))] = -np.inf
        best = offers.argmax(axis=1)
        paths = np.arange(len(line))
        return source[paths, best], at[paths, best], self.run[line, best]


def _distinct_ends(value: Scores, grid: Array, most: int) -> list[tuple[int, int]]:
    """Final states of the best paths, no two alike in tempo (within 9 %) and phase."""
    bins = value.shape[1]
    ends: list[tuple[int, int]] = []
    for flat in np.argsort(value, axis=None)[::-1][: 160 * most].tolist():
        tempo, phase = divmod(flat, bins)
        if value[tempo, phase] == -np.inf:
            break
        for other_tempo, other_phase in ends:
            apart = abs((phase - other_phase + bins // 2) % bins - bins // 2)
            if abs(np.log(grid[tempo] / grid[other_tempo])) < 0.09 and apart < bins // 5:
                break
        else:
            ends.append((tempo, phase))
            if len(ends) == most:
                break
    return ends
