"""Lines for renders: what is played, and what is true of it.

A line comes of ``free_takes`` (walking, in two, solos, straight eighths, mixed) within what a hand
can play, with a finger's own error in cents on every note and, in every third line, a tuning of
its own between A = 432 and 448. ``expressive_line`` adds what is no attack: notes hammered on,
slides into a note, vibrato.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.synthetic.free_takes import FreeTake, free_take
from tests.synthetic.recordings import SoundNote

KINDS = ("walking", "solo", "mixed", "in two", "straight eighths")
LEAST_GAP_S = 0.085  # some eleven notes a second, plucked; common practice
FINGER_CENTS = 8.0
LEAD_S = 0.6


@dataclass(frozen=True)
class RecordedLine:
    """``played`` is for ``render``; ``truth`` are the notes that a listener hears."""

    played: tuple[SoundNote, ...]
    truth: tuple[SoundNote, ...]
    bends: tuple[tuple[float, float, int], ...]
    tuning_cents: float
    made: FreeTake


def recorded_line(seed: int, most_s: float = 30.0, kind: str | None = None) -> RecordedLine:
    """The line of a seed."""
    rng = np.random.default_rng((15485863, seed))
    made = free_take(50_000 + seed, kind=kind or KINDS[seed % len(KINDS)], start="one")
    take = made.take
    tuning = 1200 * np.log2(rng.uniform(432, 448) / 440) if seed % 3 == 0 else 0.0
    onsets = take.onsets_s - take.onsets_s[0] + LEAD_S
    rows: list[SoundNote] = []
    for at, long, pitch, loud in zip(
        onsets, take.durations_s, take.pitches, take.velocities, strict=True
    ):
        if at > most_s:
            break
        if rows and at - rows[-1].onset_s < LEAST_GAP_S:
            continue
        cents = tuning + float(np.clip(rng.normal(0, FINGER_CENTS), -20, 20))
        rows.append(SoundNote(float(at), max(0.05, float(long)), int(pitch), int(loud), cents))
    notes = tuple(rows)
    return RecordedLine(notes, notes, (), float(tuning), made)


def expressive_line(seed: int, notes: int = 60) -> RecordedLine:
    """Long notes, of which some hold a vibrato, slide in, or change by a hammer or a pull."""
    rng = np.random.default_rng((32452843, seed))
    made = free_take(50_000 + seed, kind="walking", start="one")
    played: list[SoundNote] = []
    truth: list[SoundNote] = []
    bends: list[tuple[float, float, int]] = []
    at = LEAD_S
    for number in range(notes):
        long = float(rng.choice([0.3, 0.45, 0.6, 0.9]))
        pitch = int(np.clip(rng.normal(40, 6), 28, 55))
        cents = float(np.clip(rng.normal(0, FINGER_CENTS), -20, 20))
        note = SoundNote(at, long * 0.95, pitch, int(rng.integers(70, 100)), cents)
        played.append(note)
        how = rng.choice(["plain", "hammer", "slide", "vibrato"])
        if how == "hammer" and long >= 0.45:
            step = int(rng.choice([-2, -1, 1, 2]))
            half = at + long / 2
            bends += [(half + k * 0.004, 25.0 * step * k, number) for k in range(5)]
            truth.append(SoundNote(at, long / 2, pitch, note.velocity, cents))
            truth.append(SoundNote(half, long / 2, pitch + step, note.velocity, cents))
        else:
            truth.append(note)
            if how == "slide":
                low, over = -float(rng.uniform(100, 200)), float(rng.uniform(0.06, 0.12))
                bends += [(at + over * k / 10, low * (1 - k / 10), number) for k in range(11)]
            elif how == "vibrato" and long >= 0.6:
                depth, speed = float(rng.uniform(12, 30)), float(rng.uniform(4.5, 6.5))
                for k in range(int(long * 100)):
                    t = k / 100
                    wave = depth * np.sin(2 * np.pi * speed * max(0.0, t - 0.12))
                    bends.append((at + t, float(wave), number))
        at += long
    return RecordedLine(tuple(played), tuple(truth), tuple(bends), 0.0, made)
