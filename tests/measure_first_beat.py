"""Measure the first beat one of takes on a grid, over all the ways in which a take may begin.

python tests/measure_first_beat.py [--takes 300] [--seed 40]
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import defaultdict
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from linecheck.music.form import Form, beat_quarters
from linecheck.place.form_clock import count_choruses, first_beat_one_on_grid
from linecheck.place.form_evidence import sounding_like_the_top
from linecheck.terms import Take, TakeNote
from tests.synthetic.charts import named_charts, random_chart
from tests.synthetic.lines import (
    SOLO_FAMILIES,
    WALKING_FAMILIES,
    LineNote,
    SoloStyle,
    WalkingStyle,
    monophonic,
    solo,
    walk,
)

WAYS = ("plain", "empty bars", "count-in", "pickup", "count-in and pickup", "rests", "section", "intro", "no intro")  # fmt: skip
UNINFORMED = ("key", "blues")


def count_in(rng, bar: int) -> tuple[list[LineNote], int]:
    """Hits and how many bars they fill."""
    pitch, muted = int(rng.integers(28, 50)), rng.random() < 0.6
    patterns = [(1, list(range(bar))), (2, list(range(2 * bar)))]
    if bar % 2 == 0:
        patterns.append((2, [0, bar // 2, *range(bar, 2 * bar)]))
    bars, beats = patterns[int(rng.integers(len(patterns)))]
    last = 2 if muted else 9
    return [LineNote(12 * b, 12 * b + last, pitch, 45 if muted else 80) for b in beats], bars


def draw(rng, way: str, kind: str):
    """A take as notes in steps from the first bar line of the file, and its true beat one."""
    charts = named_charts()
    chart = charts[int(rng.integers(len(charts)))] if rng.random() < 0.6 else random_chart(rng)
    if way in ("intro", "no intro"):
        chart = charts[-1]
    form = Form(chart)
    bar = chart.meter.beats * 12
    choruses = 2 if form.beats > 80 else 3
    families = [f for f in WALKING_FAMILIES if f != "pedal"]
    walking = WalkingStyle.draw(rng, str(rng.choice(families)))
    soloing = SoloStyle.draw(
        rng, str(rng.choice([f for f in SOLO_FAMILIES if f not in UNINFORMED]))
    )

    def play(on: Form, start: int, stop: int) -> list[LineNote]:
        return walk(on, start, stop, rng, walking) if kind == "walking" else solo(on, start, stop, rng, soloing)  # fmt: skip

    lead, before = 0, []
    start, line = _line(rng, way, form, choruses * form.steps, play)
    if way == "rests":
        line = [n for n in line if n.step >= int(rng.integers(1, 4)) * bar]
        lead = 0
    if way == "empty bars":
        lead = int(rng.integers(1, 5)) * bar
    if way in ("count-in", "count-in and pickup"):
        before, bars = count_in(rng, chart.meter.beats)
        lead = bars * bar
    if way in ("pickup", "count-in and pickup"):
        lead = lead or bar * int(rng.integers(1, 3))
        notes = int(rng.integers(1, 4))
        first = line[0].pitch
        each = int(rng.choice([6, 12]))
        up = [LineNote(lead - each * (notes - i), lead - each * (notes - i - 1), first - (notes - i), 80) for i in range(notes)]  # fmt: skip
        before = [n for n in before if n.step < up[0].step] + up
    shift = lead - start
    line = [n._replace(step=n.step + shift, end_step=n.end_step + shift) for n in line]
    return chart, monophonic([*before, *line]), shift, choruses


def _line(rng, way: str, form: Form, stop: int, play):
    """Where in the form the line begins, and the line in steps of the form."""
    chart = form.chart
    # By the definition of first beat one a line to a click begins at the top where it sounds so.
    alike = set(sounding_like_the_top(form).tolist())
    at = {b.number: s // 12 for b, s in zip(chart.bars, form.bar_starts, strict=True)}
    sections = [s for s in chart.sections if s.bar > 1 and at[s.bar] not in alike]
    if way == "section" and sections:
        chosen = sections[int(rng.integers(len(sections)))]
        start = sum(b.meter.beats for b in chart.bars[: chosen.bar - 1]) * 12
        return start, play(form, start, stop)
    if way != "intro":
        return 0, play(form, 0, stop)
    start = -form.intro_steps
    both = Form(replace(chart, bars=(*chart.intro, *chart.bars), intro=()))
    line = play(both, 0, form.intro_steps + form.steps)
    line = [n._replace(step=n.step + start, end_step=n.end_step + start) for n in line]
    return start, line + play(form, form.steps, stop)


def as_take(chart, line: list[LineNote], rng) -> tuple[Take, list[float]]:
    unit = beat_quarters(chart.meter)
    jitter = rng.normal(0, 0.03, size=len(line))
    notes = tuple(
        TakeNote(
            n.step / 24, (n.end_step - n.step) / 24, n.pitch, n.velocity,
            max(0.0, (n.step / 12 + j) * unit), (n.end_step - n.step) / 12 * unit,
        )
        for n, j in zip(line, jitter, strict=True)
    )  # fmt: skip
    last = line[-1].end_step / 12
    beats = chart.meter.beats
    lines = [b * beats * unit for b in range(int(last / beats) + 2)]
    return Take("made", "played", notes, None), lines


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("--takes", type=int, default=300)
    options.add_argument("--seed", type=int, default=40)
    options.add_argument("--wrong", action="store_true")
    given = options.parse_args()
    for kind in ("walking", "solo"):
        rng = np.random.default_rng(given.seed)
        right, seconds, sure, counted = defaultdict(list), 0.0, [], []
        for number in range(given.takes):
            way = WAYS[number % len(WAYS)]
            chart, line, true, choruses = draw(rng, way, kind)
            take, lines = as_take(chart, line, rng)
            started = time.perf_counter()
            found = first_beat_one_on_grid(take, lines, Form(chart))
            seconds += time.perf_counter() - started
            beat = found.quarters / beat_quarters(chart.meter) * 12
            ok = abs(beat - true) < 1
            right[way].append(ok)
            sure.append((found.confidence, ok))
            counted.append(count_choruses(line[-1].step - true, line[-1].end_step - true, Form(chart)) == choruses)  # fmt: skip
            if given.wrong and not ok:
                print("  ", way, chart.title, "true", true / 12, "found", beat / 12, f"{found.confidence:.2f}", found.reason)  # fmt: skip
        all_right = [r for rows in right.values() for r in rows]
        print(f"{kind}: first beat one right in {np.mean(all_right):.3f}, choruses in {np.mean(counted):.3f}, {1e3 * seconds / given.takes:.1f} ms a take")  # fmt: skip
        print("  ", {way: f"{sum(rows)}/{len(rows)}" for way, rows in right.items()})
        sure = np.array(sure)
        for low, high in ((0, 0.8), (0.8, 0.95), (0.95, 1.01)):
            mine = (sure[:, 0] >= low) & (sure[:, 0] < high)
            if mine.any():
                print(
                    f"   confidence {low} to {high}: {mine.sum()}, right {sure[mine, 1].mean():.2f}"
                )


if __name__ == "__main__":
    main()
