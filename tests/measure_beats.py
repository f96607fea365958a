"""Measure beats, level and first beat one of free takes: no click, no hint, jitter of 10 to 30 ms.

python tests/measure_beats.py [--takes 300] [--seed 30000] [--tempo none|chart|given] [--each]
                              [--player players.graduate] [--sway 0.06]
                              [--start "counted to the middle"]

Takes are drawn over fifteen named charts, random charts and a tune in 6/8, from 60 to 300 quarter
notes a minute, with lines of ``tests/synthetic/lines.py`` played in the time of
``tests/synthetic/timing.py``. F is mir_eval.beat's at ±70 ms between the first and the last onset.
A solo on one scale or one figure (``UNINFORMED``) does not tell where the form begins: the first
beat one is counted with and without those.
"""

from __future__ import annotations

import argparse
import importlib
import sys
import time
from collections import defaultdict
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from linecheck.music.form import Form, beat_quarters
from linecheck.place.free_time import place_free
from linecheck.terms import TakeNote
from tests.synthetic.beat_measures import beat_errors_ms, beat_f
from tests.synthetic.free_takes import STARTS, FreeTake, free_take, random_onsets

if TYPE_CHECKING:
    from tests.synthetic.drawn_takes import PlayerModule

UNINFORMED = ("key", "blues", "motif")
OFF = 1.06  # how far the hint is from the take's tempo


class Row(NamedTuple):
    """One take's figures."""

    made: FreeTake
    f: float
    right: bool
    error_95_ms: float
    confidence: float
    steadiness: float
    cpu_s: float


def take_notes(take) -> list[TakeNote]:
    columns = (take.onsets_s, take.durations_s, take.pitches, take.velocities)
    return [TakeNote(*row) for row in zip(*(c.tolist() for c in columns), strict=True)]


def measure(
    seed: int,
    hint: str,
    who: PlayerModule | None = None,
    sway: float = 0.0,
    start: str | None = None,
) -> Row:
    made = free_take(seed, who=who, sway=sway, start=start)
    form = Form(made.chart)
    quarters = made.take.hand.bpm * beat_quarters(made.chart.meter) * OFF
    begin = time.process_time()
    found = place_free(
        take_notes(made.take),
        form,
        chart_tempo=quarters if hint == "chart" else None,
        given_tempo=quarters if hint == "given" else None,
    )
    cpu_s = time.process_time() - begin
    assert found is not None
    away = float(np.nanmedian((found.positions - made.take.steps / 12)[:14]))
    if "middle" in made.start:  # which chorus it is called is a matter of counting
        away = (away + form.beats / 2) % form.beats - form.beats / 2
    errors = beat_errors_ms(found.beats_s, made.take)
    return Row(
        made,
        beat_f(found.beats_s, made.take),
        abs(away) < 0.4,
        float(np.quantile(errors, 0.95)),
        found.confidence,
        found.steadiness,
        cpu_s,
    )


def line(name: str, rows: list[Row]) -> str:
    f = np.array([r.f for r in rows])
    near = [r.error_95_ms for r in rows if r.f >= 0.97]
    within = float(np.mean(np.array(near) <= 20)) if near else 0.0
    informed = [r.right for r in rows if r.made.family not in UNINFORMED]
    return (
        f"{name:18s} {len(rows):5d}   F {f.mean():.3f}  F≥.97 {np.mean(f >= 0.97):.3f}   "
        f"first beat one {np.mean([r.right for r in rows]):.3f}, "
        f"informed {np.mean(informed) if informed else float('nan'):.3f}   "
        f"95 % of errors {np.median(near) if near else float('nan'):4.1f} ms, ≤20 ms {within:.2f}"
    )


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--takes", type=int, default=300)
    parser.add_argument("--seed", type=int, default=30000)
    parser.add_argument("--tempo", choices=("none", "chart", "given"), default="none")
    parser.add_argument("--each", action="store_true", help="print every take that went wrong")
    parser.add_argument("--player", help="a module of tests/synthetic that plays the lines")
    parser.add_argument("--start", choices=STARTS, help="how all takes begin")
    parser.add_argument("--sway", type=float, default=0.0, help="share; see free_takes.free_take")
    asked = parser.parse_args()
    who = importlib.import_module(f"tests.synthetic.{asked.player}") if asked.player else None
    seeds = range(asked.seed, asked.seed + asked.takes)
    rows = [measure(seed, asked.tempo, who, asked.sway, asked.start) for seed in seeds]
    groups: dict[str, list[Row]] = defaultdict(list)
    for row in rows:
        groups["all"].append(row)
        groups[row.made.kind].append(row)
        groups[f"begins: {row.made.start}"].append(row)
        groups["sure (≥ 0.8)" if row.confidence >= 0.8 else "not sure"].append(row)
        if asked.each and (row.f < 0.97 or not row.right):
            hand = row.made.take.hand
            print(
                f"{row.made.seed} {row.made.kind}, {row.made.family}, {row.made.start}: "
                f"{hand.bpm:.0f} bpm, {hand.curve} {hand.drift:.2f}, jitter {hand.jitter_s:.3f}, "
                f"F {row.f:.2f}, right {row.right}, confidence {row.confidence:.2f}"
            )
    for name in sorted(groups, key=lambda n: -len(groups[n])):
        print(line(name, groups[name]))
    steady = [r.steadiness for r in rows]
    print(f"steadiness of takes below 0.25: {np.mean(np.array(steady) < 0.25):.3f}")
    chance = []
    for seed in range(60):
        made = random_onsets(seed, notes=60 + 6 * seed, a_second=1 + seed % 5)
        columns = (made[k].tolist() for k in ("onsets_s", "durations_s", "pitches", "velocities"))
        notes = [TakeNote(*row) for row in zip(*columns, strict=True)]
        found = place_free(notes, Form(rows[0].made.chart))
        chance.append(0.0 if found is None else found.steadiness)
    print(f"steadiness of onsets by chance below 0.25: {np.mean(np.array(chance) < 0.25):.3f}")
    print(f"CPU a take: {1000 * np.mean([r.cpu_s for r in rows]):.0f} ms")


if __name__ == "__main__":
    main()
