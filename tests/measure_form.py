"""Measure form losses on synthetic takes that nothing was fitted on.

    python tests/measure_form.py [--takes 200] [--seed 900] [--detail]

Three ranges of playing: *plain* shows the changes plainly and is lost for six bars and more,
*usual* is what a teacher hears from most students (walking that shows the changes, solos that
play them or run scales and guide tones; slips that last four bars and more), *wide* adds pedals, root and
fifth, lines with up to a quarter of outside notes, solos on one scale or on the blues, and slips
of three bars. A loss is right if its kind and offset are exact and it begins in the stretch (or up
to two bars before); slips that the chart never shows count neither way.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from linecheck.music.form import Form
from linecheck.place.form_loss import find_form
from tests.synthetic.charts import named_charts, random_chart
from tests.synthetic.lines import (
    ADRIFT_FAMILIES,
    SOLO_FAMILIES,
    WALKING_FAMILIES,
    Plan,
    Slip,
    SoloStyle,
    WalkingStyle,
    draw_course,
    play_plan,
)

if TYPE_CHECKING:
    from linecheck.terms import Loss

RANGES = ("plain", "usual", "wide")
USUAL_WALKING = ("plain", "arpeggio", "scalar", "chromatic", "two_feel")
USUAL_SOLO = ("bebop", "arpeggio", "guide", "scalar")
LENGTHS = (4, 8, 16, 10**6)


def match(truth: list[Slip], losses: list[Loss], bar: int):
    """Pairs of truth and loss, truths that were missed, and losses that are false."""
    left = list(losses)
    pairs, missed = [], []
    for t in truth:
        if t.shown_step is None:
            continue
        right = [
            x
            for x in left
            if (x.kind, x.offset_beats) == (t.kind, t.offset_beats)
            and t.step - 2 * bar <= x.step < t.end_step
        ]
        if right:
            one = min(right, key=lambda x: abs(x.step - t.shown_step))
            pairs.append((t, one))
            left.remove(one)
        else:
            missed.append(t)
    hidden = [t for t in truth if t.shown_step is None]
    left = [x for x in left if not any(t.step - bar <= x.step <= t.end_step for t in hidden)]
    return pairs, missed, left


@dataclass
class Tally:
    seconds: float = 0.0
    notes: int = 0
    choruses: int = 0
    found: list = field(default_factory=list)  # (family, kind, bars shown, right)
    false: list = field(default_factory=list)  # (family, kind)
    sure: list = field(default_factory=list)  # (confidence, right), perhaps as well
    errors: list = field(default_factory=list)  # bars
    back_errors: list = field(default_factory=list)


def draw_styles(rng, span: str) -> tuple[WalkingStyle, SoloStyle, int, tuple[str, ...]]:
    """Styles of a range, the fewest bars that a loss lasts, and ways of being adrift."""
    u = rng.uniform
    if span == "plain":
        walking = WalkingStyle(root_on_change=u(0.8, 0.98), outside=u(0, 0.1), approach=u(0.4, 0.9))
        soloing = SoloStyle(
            family=str(rng.choice(["bebop", "arpeggio"])),
            chord_on_beat=u(0.7, 0.95),
            outside=u(0, 0.1),
            density=u(0.5, 0.9),
        )
        return walking, soloing, 6, ADRIFT_FAMILIES[:3]
    wide = span == "wide"
    walking = WalkingStyle.draw(rng, str(rng.choice(WALKING_FAMILIES if wide else USUAL_WALKING)))
    soloing = SoloStyle.draw(rng, str(rng.choice(SOLO_FAMILIES if wide else USUAL_SOLO)))
    return walking, soloing, 3 if wide else 4, ADRIFT_FAMILIES[: 6 if wide else 4]


def draw_take(rng, kind: str, slips: int, span: str, charts):
    chart = charts[int(rng.integers(len(charts)))] if rng.random() < 0.6 else random_chart(rng)
    form = Form(chart)
    choruses = max(2, min(12, 400 // form.beats))
    kinds = [kind] * choruses
    if kind == "mixed":
        kinds = [str(k) for k in rng.choice(["walking", "solo"], size=choruses)]
    walking, soloing, least, adrift = draw_styles(rng, span)
    course = draw_course(form, choruses, rng, slips, least_bars=least)
    plan = Plan(kinds, walking, soloing, course, str(rng.choice(adrift)))
    line, truth = play_plan(chart, plan, rng)
    return chart, choruses, plan, line, truth


def measure(seed: int, takes: int, kind: str, slips: int, span: str) -> Tally:
    rng = np.random.default_rng(seed)
    tally = Tally()
    charts = named_charts()[1::2]
    for _ in range(takes):
        chart, choruses, plan, line, truth = draw_take(rng, kind, slips, span, charts)
        columns = [list(c) for c in zip(*line, strict=True)]
        started = time.perf_counter()
        _, losses, _ = find_form(*columns, Form(chart, choruses))
        tally.seconds += time.perf_counter() - started
        tally.choruses += choruses
        tally.notes += len(line)
        bar = chart.meter.beats * 12
        pairs, _, wrong = match(truth, list(losses), bar)
        tally.sure += [(x.confidence, 1) for _, x in pairs] + [(x.confidence, 0) for x in wrong]
        pairs, missed, wrong = match(truth, [x for x in losses if x.certain], bar)
        family = plan.soloing.family if kind == "solo" else plan.walking.family
        for t, right in [(t, 1) for t, _ in pairs] + [(t, 0) for t in missed]:
            tally.found.append((family, t.kind, (t.end_step - t.shown_step) / bar, right))
        tally.false += [(family, x.kind) for x in wrong]
        tally.errors += [(x.step - t.shown_step) / bar for t, x in pairs]
        tally.back_errors += [
            abs(x.recovered_step - t.recovered_step) / bar
            for t, x in pairs
            if x.recovered_step is not None and t.recovered_step is not None
        ]
    return tally


def show(name: str, tally: Tally, detail: bool) -> None:
    def score(*, adrift: bool) -> str:
        rows = [r for r in tally.found if (r[1] == "adrift") == adrift]
        false = sum((kind == "adrift") == adrift for _, kind in tally.false)
        right = sum(r[3] for r in rows)
        f1 = 2 * right / max(1, right + len(rows) + false)
        return f"F1 {f1:.3f} ({right} of {len(rows)}, {false} false)"

    each = 1e6 * tally.seconds / max(1, tally.notes)
    per = 100 * len(tally.false) / tally.choruses
    if not tally.found:
        print(f"{name}: {per:.2f} false per 100 choruses ({tally.choruses}); {each:.0f} µs a note")
    else:
        off = np.abs(tally.errors)
        print(f"{name}: slips {score(adrift=False)}; adrift {score(adrift=True)}; place within a bar {np.mean(off <= 1.001):.2f}, two {np.mean(off <= 2.001):.2f}; back within a bar {np.mean(np.array(tally.back_errors) <= 1):.2f}; {each:.0f} µs a note")  # fmt: skip
    if detail:
        groups = defaultdict(list)
        for family, kind, bars, right in tally.found:
            groups[family].append(right)
            length = next(b for b in LENGTHS if bars <= b)
            groups[f"{'adrift' if kind == 'adrift' else 'slip'} <= {length}"].append(right)
        print("   found", {k: f"{sum(v)}/{len(v)}" for k, v in sorted(groups.items())})
        falses = defaultdict(int)
        for f in tally.false:
            falses[f] += 1
        print("   false", dict(falses))


def calibration(tallies: list[Tally]) -> None:
    sure = np.array([s for t in tallies for s in t.sure])
    for low, high in ((0, 0.3), (0.3, 0.5), (0.5, 0.7), (0.7, 0.85), (0.85, 0.95), (0.95, 1.01)):
        mine = (sure[:, 0] >= low) & (sure[:, 0] < high)
        if mine.any():
            print(f"confidence {low:.2f} to {min(high, 1):.2f}: {mine.sum()} reported, mean {sure[mine, 0].mean():.2f}, real {sure[mine, 1].mean():.2f}")  # fmt: skip


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("--takes", type=int, default=100)
    options.add_argument("--seed", type=int, default=900)
    options.add_argument("--detail", action="store_true")
    options.add_argument("--range", choices=RANGES, action="append")
    given = options.parse_args()
    for span in given.range or RANGES:
        tallies = []
        for kind in ("walking", "solo", "mixed"):
            for slips in (0, 2):
                tally = measure(given.seed + slips, given.takes, kind, slips, span)
                name = f"{span} {kind}, {'two slips' if slips else 'clean'}"
                show(name, tally, given.detail)
                tallies.append(tally)
        calibration(tallies)


if __name__ == "__main__":
    main()
