"""Hold the form inference against its goals, on takes of a player that nothing was fitted on.

    python tests/measure_form_judge.py [--takes 150] [--seed 1] [--kind "adrift solo"] [--detail]
                                       [--plain] [--wrong 0.2]

The charts, habits and losses are those of ``tests/synthetic/second_player.py`` or of another
``--player``: ``players.graduate`` judges too; the others are fitted on, so that they tell what fitting
could reach. Use it to see where the inference stands, not to choose numbers by: for that there is
``measure_form.py``.
A loss is right if kind and offset are exact and it lies over the stretch; its place is right if
it begins within a bar of where the player slipped or of where the harmony first shows it. A slip
told at another offset over the same chords (``Loss.other_offsets``) is missed and false all the same.
``--plain`` measures ``plain_form_model`` instead: how hard the takes are. ``--wrong`` replaces a
share of the notes by any pitch from E1 to G3: wrong notes are no loss.
"""

from __future__ import annotations

import argparse
import importlib
import sys
import time
from collections import defaultdict
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from linecheck.music.form import Form
from linecheck.place.form_loss import find_form
from tests.measure_form import match
from tests.plain_form_model import losses_of
from tests.synthetic.drawn_takes import KINDS, DrawnTake, draw_take

GOALS = {
    "clean walking": "at most 0.5 false in 100 choruses",
    "clean solo": "at most 1 false in 100 choruses",
    "walking": "F1 0.97",
    "solo": "F1 0.85",
    "adrift walking": "F1 0.80",
    "adrift solo": "F1 0.80",
    "two slips walking": "F1 0.97",
    "two slips solo": "F1 0.85",
    "clean mixed": "at most 1 false in 100 choruses",
    "mixed": "F1 0.85 to 0.97",
    "adrift mixed": "F1 0.80",
}


def sort_of(take: DrawnTake) -> str:
    """A word for the detail: the way of being adrift, or the size of the slip."""
    if take.way:
        return take.way
    beats, bar = abs(take.truth[0].offset_beats or 0), take.chart.meter.beats
    return "whole bars" if beats % bar == 0 else "one or two beats" if beats <= 2 else "odd size"


def with_wrong_notes(line, share: float, rng):
    """The line with a share of its notes replaced by any pitch from E1 to G3."""
    wrong = rng.random(len(line)) < share
    pitches = rng.integers(28, 56, size=len(line))
    return [
        n._replace(pitch=int(p)) if is_wrong else n
        for n, is_wrong, p in zip(line, wrong, pitches, strict=True)
    ]


def measure(
    kind: str, takes: int, seed: int, who, *, detail: bool, plain: bool, wrong_notes: float = 0.0
) -> list[tuple[float, int]]:
    """Print how a kind of takes is met; gives (confidence, real) of everything reported."""
    rng = np.random.default_rng([seed, KINDS.index(kind)])
    right, wanted, false, near, choruses, cost, notes = 0, 0, 0, 0, 0, 0.0, 0
    takes_with_false = either = 0
    groups: defaultdict[str, list[int]] = defaultdict(list)
    sure: list[tuple[float, int]] = []
    for number in range(takes):
        take = draw_take(rng, kind, who)
        if wrong_notes:
            spoiled = with_wrong_notes(
                take.line, wrong_notes, np.random.default_rng([seed, number])
            )
            take = replace(take, line=spoiled)
        bar = take.chart.meter.beats * 12
        columns = [list(c) for c in zip(*take.line, strict=True)]
        started = time.process_time()
        form = Form(take.chart, take.choruses)
        if plain:
            losses = losses_of(take.line, form, solo="solo" in kind)
        else:
            losses = list(find_form(*columns, form)[1])
        cost += time.process_time() - started
        notes += len(take.line)
        choruses += take.choruses
        certain = [x for x in losses if x.certain]
        pairs, missed, wrong = match(take.truth, certain, bar)
        takes_with_false += bool(wrong)
        either += sum(t.offset_beats in x.other_offsets for t in missed for x in wrong)
        right, wanted, false = right + len(pairs), wanted + len(pairs) + len(missed), false + len(wrong)  # fmt: skip
        for t, x in pairs:
            shown = t.step if t.shown_step is None else t.shown_step
            near += t.step - bar <= x.step <= shown + bar
        if take.truth:
            groups[sort_of(take)].append(len(pairs))
        all_pairs, _, all_wrong = match(take.truth, losses, bar)
        sure += [(x.confidence, 1) for _, x in all_pairs] + [(x.confidence, 0) for x in all_wrong]
        if detail and (missed or wrong):
            said = [(x.step / bar, x.kind, x.offset_beats, round(x.confidence, 2)) for x in losses]
            real = [(t.step / bar, t.end_step / bar, t.offset_beats) for t in take.truth]
            print(f"  {number} {take.chart.title} {take.way}: real {real} said {said}")
    per = 100 * false / choruses
    if not wanted:
        print(f"{kind}: {per:.2f} false in 100 clean choruses ({choruses}), in {takes_with_false} of {takes} takes; goal {GOALS[kind]}; {1e6 * cost / notes:.0f} µs a note")  # fmt: skip
        return sure
    f1 = 2 * right / (right + wanted + false)
    print(f"{kind}: F1 {f1:.3f} ({right} of {wanted}, {false} false, {either} missed and false since the chords are the same), begins within a bar {near / max(1, right):.2f}; goal {GOALS[kind]}; {1e6 * cost / notes:.0f} µs a note")  # fmt: skip
    if detail:
        print("  ", {k: f"{sum(v)}/{len(v)}" for k, v in sorted(groups.items())})
    return sure


def calibration(sure: list[tuple[float, int]]) -> None:
    """Print how many of the losses reported at a confidence are real."""
    rows = np.array(sure)
    for low, high in ((0.2, 0.5), (0.5, 0.7), (0.7, 0.85), (0.85, 0.95), (0.95, 1.01)):
        mine = rows[(rows[:, 0] >= low) & (rows[:, 0] < high)] if len(rows) else rows
        if len(mine):
            print(f"confidence {low:.2f} to {min(high, 1):.2f}: {len(mine)} reported, mean {mine[:, 0].mean():.2f}, real {mine[:, 1].mean():.2f}")  # fmt: skip


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("--takes", type=int, default=150)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--kind", choices=KINDS, action="append")
    options.add_argument("--player", default="second_player", help="a module of tests/synthetic")
    options.add_argument("--detail", action="store_true")
    options.add_argument("--wrong", type=float, default=0.0, help="share of wrong notes")
    options.add_argument("--plain", action="store_true", help="measure the plain model instead")
    given = options.parse_args()
    sure = []
    for kind in given.kind or KINDS:
        sure += measure(
            kind,
            given.takes,
            given.seed,
            importlib.import_module(f"tests.synthetic.{given.player}"),
            detail=given.detail,
            plain=given.plain,
            wrong_notes=given.wrong,
        )
    if not given.plain:  # it says nothing of how sure it is
        calibration(sure)


if __name__ == "__main__":
    main()
