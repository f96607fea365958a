"""How often the click is judged wrongly: python -m tests.measure_click [takes of each kind].

Takes to a click and free takes, walking and solo, over drawn charts. The rows are hard on
purpose: see each for what it draws.
"""

from __future__ import annotations

import sys
import time
from typing import TYPE_CHECKING

import numpy as np

from linecheck.music.form import Form
from linecheck.place.click_evidence import click_evidence
from linecheck.terms import Take, TakeNote, TempoMap
from tests.synthetic.charts import random_chart
from tests.synthetic.lines import generate_solo, generate_walking

if TYPE_CHECKING:
    from collections.abc import Callable

CLICK = (
    "plain",
    "late 40 ms",
    "loose 30 ms",
    "wandering",
    "short",
    "exact",
    "fast",
    "slow latency",
)
FREE = (
    "any tempo",
    "near the tempo",
    "drifting 2 %",
    "short",
    "simple ratio",
    "exact pulse",
    "rubato",
)


def swung(steps: np.ndarray, off_beat: float) -> np.ndarray:
    return np.where(steps % 12 == 6, steps // 12 + off_beat, steps / 12)


def wander(count: int, size: float, memory: float, rng: np.random.Generator) -> np.ndarray:
    """A slow walk about 0 with this standard deviation."""
    noise = rng.normal(0, size * np.sqrt(1 - memory**2), count)
    out = np.zeros(count)
    for i in range(1, count):
        out[i] = memory * out[i - 1] + noise[i]
    return out


def rhythm(rng: np.random.Generator, choruses: int, kind: str) -> np.ndarray:
    chart = random_chart(rng)
    make = generate_walking if kind == "walking" else generate_solo
    steps = np.array([n.step for n in make(chart, choruses, rng)])
    return steps[: 48 * 4] if Form(chart).beats > 64 and choruses == 1 else steps


def click_take(row: str, kind: str, rng: np.random.Generator) -> Take:
    bpm = rng.uniform(240, 300) if row == "fast" else rng.uniform(60, 240)
    jitter, late, size = rng.uniform(0.008, 0.02), rng.normal(0, 0.01), 0.0
    choruses = int(rng.integers(2, 6))
    if row == "late 40 ms":
        late = 0.04
    elif row == "loose 30 ms":
        jitter, bpm = 0.03, rng.uniform(60, 200)
    elif row == "wandering":
        size = 0.025
    elif row == "short":
        choruses = 1
    elif row == "slow latency":
        late, bpm = rng.uniform(0.06, 0.12), rng.uniform(60, 140)
    elif row == "exact":
        jitter = late = 0.0
    steps = rhythm(rng, choruses, kind)
    if row == "short":
        steps = steps[steps < 48 * 12]
    beats = swung(steps, 0.5 if row == "exact" else rng.uniform(0.5, 0.72))
    seconds = beats * 60 / bpm + late + rng.normal(0, jitter, len(beats))
    seconds += wander(len(beats), size, 0.97, rng)
    return take(seconds * bpm / 60, bpm, rng)


def free_take(row: str, kind: str, rng: np.random.Generator) -> Take:
    bpm, file_bpm = rng.uniform(60, 280), 120.0
    jitter, choruses = rng.uniform(0.008, 0.025), int(rng.integers(2, 6))
    drift = 0.03
    if row == "near the tempo":
        file_bpm = bpm * rng.uniform(0.985, 1.015)
    elif row == "drifting 2 %":
        file_bpm, drift = bpm, 0.02
    elif row == "short":
        choruses, drift = 1, 0.02
    elif row == "simple ratio":
        bpm, drift = 120 * float(rng.choice([2 / 3, 3 / 4, 4 / 3, 3 / 2])), 0.01
    elif row == "exact pulse":
        drift = 0.0
    elif row == "rubato":
        drift = 0.08
    steps = rhythm(rng, choruses, kind)
    if row == "short":
        steps = steps[steps < 48 * 12]
    beats = swung(steps, rng.uniform(0.5, 0.72))
    grid = np.arange(int(beats[-1]) + 3)
    pace = 60 / bpm * np.exp(wander(len(grid), drift, 0.98, rng))
    seconds = np.interp(beats, grid, np.concatenate(([0.0], np.cumsum(pace[:-1]))))
    seconds += rng.uniform(0.3, 3.0) + rng.normal(0, jitter, len(beats))
    return take(seconds * file_bpm / 60, file_bpm, rng)


def take(quarters: np.ndarray, bpm: float, rng: np.random.Generator) -> Take:
    quarters = np.round((np.sort(quarters) + int(rng.integers(0, 9))) * 480) / 480
    notes = tuple(TakeNote(q * 60 / bpm, 0.2, 40, 80, float(q), 0.3) for q in quarters)
    return Take("", "played", notes, TempoMap((0.0,), (0.0,), (60 / bpm,)))


def measure(
    rows: tuple[str, ...], make: Callable[[str, str, np.random.Generator], Take], takes: int
) -> None:
    for row in rows:
        for kind in ("walking", "solo"):
            usable, spent, support = 0, 0.0, []
            for seed in range(takes):
                made = make(row, kind, np.random.default_rng([seed, len(row)]))
                start = time.process_time()
                found = click_evidence(made)
                spent += time.process_time() - start
                usable += found.usable
                support.append(found.support)
            low, high = np.percentile(support, [1, 99])
            print(
                f"{make.__name__:10} {row:15} {kind:8} usable {usable:4} of {takes}  "
                f"log odds {low:7.1f} to {high:7.1f}  {1000 * spent / takes:.1f} ms"
            )


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    measure(CLICK, click_take, count)
    measure(FREE, free_take, count)
