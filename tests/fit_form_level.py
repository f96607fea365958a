"""Measure how well lines fit their place and fit none: the constants of ``place/form_level.py`` and
``place/form_weighing.py``.

    python tests/fit_form_level.py [--takes 600]

Lines in place and lines adrift of the players that are fitted on, over all ranges and families of
``tests/synthetic/lines.py``; walking and solo. The misfit is in nats a beat.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from linecheck.music.form import Form
from linecheck.place.form_evidence import evidence, form_tables, line_codes
from linecheck.place.form_level import BLOCK_BEATS, misfit_of
from linecheck.place.form_weighing import solo_beats
from tests.measure_form import RANGES, draw_styles
from tests.synthetic.charts import named_charts, random_chart
from tests.synthetic.fitted_players import FITTED_PLAYERS, line_of
from tests.synthetic.lines import ADRIFT_FAMILIES, MORE_ADRIFT, Plan, play_plan

SHARES = (0.1, 0.25, 0.5, 0.75, 0.9)


def blocks_of(form: Form, line) -> np.ndarray:
    """Means of blocks of beats that sound: the misfit, and adrift against in place."""
    steps, ends, pitches, _ = (np.array(c, dtype=np.int64) for c in zip(*line, strict=True))
    codes = line_codes(steps, ends, pitches)
    beats = int(codes.beats[-1]) + 1
    raw = evidence(codes, form_tables(form), 0, beats)
    walking, solo = solo_beats(codes, 0, beats)
    both = np.stack((misfit_of(raw), raw[:, -1] - raw[:, 0]))[:, walking | solo]
    whole = both.shape[1] // BLOCK_BEATS * BLOCK_BEATS
    return both[:, :whole].reshape(2, -1, BLOCK_BEATS).mean(axis=2)


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("--takes", type=int, default=600)
    options.add_argument("--seed", type=int, default=5)
    given = options.parse_args()
    rng = np.random.default_rng(given.seed)
    charts = named_charts()[::2]
    found: dict[str, list] = {"walking": [], "solo": []}
    for number in range(given.takes):
        chart = charts[int(rng.integers(len(charts)))] if rng.random() < 0.4 else random_chart(rng)
        kind = ("walking", "solo")[number % 2]
        walking, soloing, _, _ = draw_styles(rng, str(rng.choice(RANGES)))
        family = str(rng.choice(ADRIFT_FAMILIES[:5] + MORE_ADRIFT))
        form = Form(chart)
        kinds = [kind] * max(2, 200 // form.beats)
        row = []
        turn = number // 2 % (len(FITTED_PLAYERS) + 1)
        who = FITTED_PLAYERS[turn] if turn < len(FITTED_PLAYERS) else None
        for course in ([], [(0, None)]):
            if who is None:
                line, _ = play_plan(chart, Plan(kinds, walking, soloing, course, family), rng)
            else:
                solo, adrift = kind == "solo", bool(course)
                line = line_of(who, form, len(kinds), rng, solo=solo, adrift=adrift)
            blocks = blocks_of(form, line)
            row += [*blocks.mean(axis=1), *(blocks.var(axis=1, ddof=1) * BLOCK_BEATS)]
        found[kind].append(row)
    for kind, rows in found.items():
        print(f"{kind}, at the shares {SHARES} of takes:")
        names = [f"{what} {of}, {where}" for where in ("in place", "adrift") for what in ("mean", "variance") for of in ("misfit", "adrift against in place")]  # fmt: skip
        for name, column in zip(names, np.array(rows).T, strict=True):
            print(f"  {name}: {np.round(np.quantile(column, SHARES), 2)}")


if __name__ == "__main__":
    main()
