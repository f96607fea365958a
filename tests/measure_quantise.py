"""How many notes are placed wrongly: python -m tests.measure_quantise [takes of each kind].

Walking lines and solos over drawn charts are played with a swing, a jitter, a lateness that
wanders, and a tempo; the share of notes that are not placed where they were written is printed.
A lone note written at two thirds of its beat is an off-beat (the definition of a place).
"""

from __future__ import annotations

import sys

import numpy as np

from linecheck.place.quantise import quantise
from tests.measure_click import rhythm, swung, wander

TEMPI = ((60, 100), (100, 160), (160, 220), (220, 300))
JITTERS_MS = (8, 15, 25)


def written(steps: np.ndarray) -> np.ndarray:
    """The steps with lone notes at two thirds as off-beats, and nothing within a triplet."""
    beats: dict[int, set[int]] = {}
    for step in steps.tolist():
        beats.setdefault(step // 12, set()).add(step % 12)
    for within in beats.values():
        if within - {0} == {8}:
            within ^= {6, 8}
        if within >= {4, 8}:
            within &= {0, 4, 8}
    return np.array(sorted(12 * beat + s for beat, within in beats.items() for s in within))


def played(steps: np.ndarray, off_beat: float) -> np.ndarray:
    """Onsets in beats: a beat's only other note is swung, figures are played evenly."""
    inner = np.bincount(steps // 12, weights=steps % 12 > 0)
    return np.where(inner[steps // 12] == 1, swung(steps, off_beat), steps / 12)


def misplaced(kind: str, tempi: tuple[int, int], jitter_ms: int, seed: int) -> tuple[int, int]:
    rng = np.random.default_rng([seed, jitter_ms, tempi[0]])
    steps = written(rhythm(rng, 3, kind))
    bpm = rng.uniform(*tempi)
    off_beat = rng.uniform(0.5, 0.72 if bpm < 200 else 0.62)
    late = rng.normal(0, 0.015) + wander(len(steps), 0.006, 0.97, rng)
    noise = rng.normal(0, jitter_ms / 1000, len(steps))
    beats = np.sort(played(steps, off_beat) + (late + noise) * bpm / 60)
    found = quantise(beats, np.full(len(beats), 60 / bpm))
    return int((found.steps != steps).sum()), len(steps)


def main(takes: int) -> None:
    for kind in ("walking", "solo"):
        for tempi in TEMPI:
            cells = []
            for jitter in JITTERS_MS:
                counts = [misplaced(kind, tempi, jitter, seed) for seed in range(takes)]
                wrong, notes = (sum(column) for column in zip(*counts, strict=True))
                cells.append(f"{jitter:3} ms {100 * wrong / notes:6.2f} %")
            print(
                f"{kind:8} {tempi[0]:3} to {tempi[1]:3}  misplaced at jitter of " + "  ".join(cells)
            )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 40)
