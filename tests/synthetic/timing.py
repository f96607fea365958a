"""From steps to seconds as people play: a line in steps becomes a take with its true beat times.

Steps are twelfths of a beat from beat one of chorus 1, bar 1; times are seconds. A hand's timing is
made of a tempo curve (random walk, ramp, arch, steps, sway), a swung off-beat that grows straight as
the tempo rises, white and slow jitter, off-beats laid back or rushed, articulation, ghosts dropped
and added, a count-in and leading silence. Ranges of swing and jitter: common practice.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal, Protocol

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
STEPS = 12
SWAY_BEATS = 48  # from hurrying to hurrying again


class StepNote(Protocol):
    """What is asked of a note of a line."""

    @property
    def step(self) -> int: ...
    @property
    def end_step(self) -> int: ...
    @property
    def pitch(self) -> int: ...
    @property
    def velocity(self) -> int: ...


@dataclass(frozen=True)
class Hand:
    """How somebody plays; see ``random_hand`` for the ranges.

    ``bpm`` counts beats of the meter. ``drift`` is the largest departure from it (0.1 is a tenth).
    ``swing`` is where in the beat the off-beat falls: 0.5 straight, 0.67 triplets.
    """

    bpm: float = 120.0
    curve: Literal["steady", "walk", "ramp", "arch", "steps", "sway"] = "steady"
    drift: float = 0.0
    flutter: float = 0.0  # beat to beat, share of a beat
    swing: float = 0.5
    jitter_s: float = 0.0
    slow_jitter_s: float = 0.0
    slow_jitter_memory: float = 0.9
    off_beat_s: float = 0.0
    sound_share: float = 0.9  # how much of a note's written length sounds
    sound_spread: float = 0.05
    drop_ghosts: float = 0.0
    add_ghosts: float = 0.0
    count_in: Literal["none", "bar", "two bars", "halves then beats"] = "none"
    count_in_pitch: int | None = None
    lead_s: float = 0.0


@dataclass(frozen=True)
class TimedTake:
    """A take in seconds and what is true of it.

    ``steps[i]`` is the step that note i was meant for (NaN for a hit of the count-in);
    ``beats_s[j]`` is the time of beat ``first_beat + j``; beat 0 is beat one of chorus 1, bar 1.
    """

    onsets_s: Array
    durations_s: Array
    pitches: NDArray[np.int64]
    velocities: NDArray[np.int64]
    steps: Array
    beats_s: Array
    first_beat: int
    hand: Hand
    notes: dict[str, Any] = field(default_factory=dict)

    def beat_s(self, beat: float) -> float:
        return float(np.interp(beat - self.first_beat, np.arange(len(self.beats_s)), self.beats_s))


def swing_for(bpm: float, rng: np.random.Generator) -> float:
    """A likely place of the swung off-beat at this tempo: long when slow, nearly even when fast."""
    return float(np.clip(0.70 - (bpm - 70.0) / 230.0 * 0.17 + rng.normal(0, 0.02), 0.52, 0.74))


def random_hand(rng: np.random.Generator, *, style: int | None = None) -> Hand:
    """A player at random. ``style`` 0 to 5 picks a character; None draws one."""
    style = int(rng.integers(6)) if style is None else style
    bpm = float(np.exp(rng.uniform(np.log(60), np.log(300))))
    curves: tuple[Any, ...] = ("steady", "walk", "ramp", "arch", "steps")
    neat = style in (0, 3)
    return Hand(
        bpm=bpm,
        curve=curves[int(rng.integers(5))],
        drift=float(rng.uniform(0.0, 0.04 if neat else 0.10)),
        flutter=float(rng.uniform(0.0, 0.006 if neat else 0.012)),
        swing=swing_for(bpm, rng) if style != 3 and rng.random() < 0.75 else 0.5,
        jitter_s=float(rng.uniform(0.010, 0.018 if neat else 0.030)),
        slow_jitter_s=float(rng.uniform(0.0, 0.005 if neat else 0.015)),
        slow_jitter_memory=float(rng.uniform(0.7, 0.97)),
        off_beat_s=float(rng.normal(0, 0.003 if neat else 0.010)),
        sound_share=float(rng.choice([0.45, 0.7, 0.85, 0.97])),
        sound_spread=float(rng.uniform(0.02, 0.15)),
        drop_ghosts=float(rng.uniform(0, 0.5)),
        add_ghosts=float(rng.choice([0.0, 0.0, 0.03, 0.08])),
        lead_s=float(rng.uniform(0, 4)),
    )


def tempo_curve(hand: Hand, beats: int, chorus_beats: int, rng: np.random.Generator) -> Array:
    """Length of every beat in seconds."""
    x = np.linspace(-1, 1, max(beats, 2))[:beats]
    if hand.curve == "ramp":
        bend = x * rng.choice([-1, 1])
    elif hand.curve == "arch":
        bend = np.cos(x * np.pi) * rng.choice([-1, 1])
    elif hand.curve == "walk":
        bend = np.cumsum(rng.normal(0, 1, beats))
        bend = np.convolve(np.pad(bend, 4, mode="edge"), np.ones(9) / 9, mode="valid")
        bend /= max(1e-9, float(np.abs(bend).max()))
    elif hand.curve == "steps":
        levels = rng.uniform(-1, 1, beats // max(chorus_beats, 1) + 2)
        bend = levels[np.arange(beats) // max(chorus_beats, 1)]
    elif hand.curve == "sway":
        bend = np.sin(2 * np.pi * (np.arange(beats) / SWAY_BEATS + rng.random()))
    else:
        bend = np.zeros(beats)
    lengths = 60.0 / hand.bpm * np.exp(hand.drift * bend)
    return np.asarray(lengths * (1 + rng.normal(0, 1, beats) * hand.flutter))


def within_beat(steps: NDArray[np.int64], swing: float) -> Array:
    """Place in the beat, 0 to 1, of every step: off-beats swung where the beat holds eighths."""
    beat, inside = np.divmod(steps, STEPS)
    sixteenth_beats = set(beat[(inside == 3) | (inside == 9)].tolist())
    swung = (inside == 6) & np.array([b not in sixteenth_beats for b in beat], dtype=bool)
    return np.where(swung, swing, inside / STEPS)


def _count_in(hand: Hand, bar_beats: int) -> list[int]:
    if hand.count_in == "bar":
        return list(range(-bar_beats, 0))
    if hand.count_in == "two bars":
        return list(range(-2 * bar_beats, 0))
    if hand.count_in == "halves then beats":
        half = bar_beats // 2 if bar_beats % 2 == 0 else bar_beats
        return [*range(-2 * bar_beats, -bar_beats, half), *range(-bar_beats, 0)]
    return []


def play(
    line: list[Any],
    hand: Hand,
    rng: np.random.Generator,
    *,
    bar_beats: int = 4,
    chorus_beats: int = 48,
    counted_to: int = 0,
) -> TimedTake:
    """Play a line (notes with step, end_step, pitch, velocity) in time.

    A count-in ends at the beat ``counted_to``.
    """
    line = sorted(line, key=lambda n: n.step)
    soft = [getattr(n, "ghost", False) or n.velocity < 40 for n in line]
    line = [
        n for n, s in zip(line, soft, strict=True) if not (s and rng.random() < hand.drop_ghosts)
    ]
    count = [counted_to + beat for beat in _count_in(hand, bar_beats)]
    rows: list[tuple[float, float, int, int]] = []  # step, length in steps, pitch, velocity
    for note in line:
        rows.append((note.step, note.end_step - note.step, note.pitch, note.velocity))
        free = note.end_step - note.step >= STEPS
        if free and rng.random() < hand.add_ghosts:
            rows.append((note.step + 6, 2, note.pitch, int(rng.integers(12, 32))))
    pitch = hand.count_in_pitch if hand.count_in_pitch is not None else int(rng.integers(28, 50))
    rows.extend((b * STEPS, 4, pitch, int(rng.integers(70, 110))) for b in count)
    counted = {b * STEPS for b in count}
    rows = [r for r in rows if r[2] == pitch or r[0] not in counted]
    rows.sort(key=lambda r: r[0])
    step = np.array([r[0] for r in rows], dtype=np.int64)
    is_count = np.array([r[0] < 0 and r[0] in counted for r in rows], dtype=bool)
    first = int(min(step[0] // STEPS, 0)) - 2
    last = int(step[-1] // STEPS) + 3
    lengths = tempo_curve(hand, last - first, chorus_beats, rng)
    beats_s = np.concatenate([[0.0], np.cumsum(lengths)])
    position = step // STEPS + within_beat(step, hand.swing) - first
    grid = np.interp(position, np.arange(len(beats_s)), beats_s)
    slow = np.zeros(len(rows))
    for i in range(1, len(rows)):
        push = rng.normal(0, hand.slow_jitter_s * np.sqrt(1 - hand.slow_jitter_memory**2))
        slow[i] = hand.slow_jitter_memory * slow[i - 1] + push
    white = np.clip(rng.normal(0, hand.jitter_s, len(rows)), -3 * hand.jitter_s, 3 * hand.jitter_s)
    onsets = grid + white + slow + np.where(step % STEPS != 0, hand.off_beat_s, 0.0)
    onsets = np.maximum.accumulate(onsets)
    shift = hand.lead_s - onsets[0]
    written = np.array([r[1] for r in rows], dtype=float) / STEPS * 60.0 / hand.bpm
    share = np.clip(rng.normal(hand.sound_share, hand.sound_spread, len(rows)), 0.1, 1.0)
    sound = np.maximum(written * share, 0.03)
    gap = np.append(np.diff(onsets), 10.0)
    return TimedTake(
        onsets_s=onsets + shift,
        durations_s=np.minimum(sound, np.maximum(gap, 0.01)),
        pitches=np.array([r[2] for r in rows], dtype=np.int64),
        velocities=np.array([r[3] for r in rows], dtype=np.int64),
        steps=np.where(is_count, np.nan, step.astype(float)),
        beats_s=beats_s + shift,
        first_beat=first,
        hand=hand,
    )
