"""Fit the confidence of form losses on synthetic takes: a logistic model by kind.

    python tests/fit_loss_confidence.py [--takes 600]

Prints the two rows of weights for ``linecheck/place/loss_confidence.py``.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np
from scipy.optimize import minimize

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from linecheck.music.form import Form
from linecheck.place.form_evidence import line_codes
from linecheck.place.form_loss import candidates
from tests.measure_form import RANGES, draw_take
from tests.synthetic.charts import named_charts


def gather(seed: int, takes: int):
    """Features, whether real, whether adrift, of every stretch out of place."""
    rng = np.random.default_rng(seed)
    charts = named_charts()[::2]
    rows, real, adrift = [], [], []
    for number in range(takes):
        kind = ("walking", "solo", "mixed")[number % 3]
        chart, choruses, _, line, truth = draw_take(
            rng, kind, int(rng.choice([0, 0, 1, 2])), RANGES[number // 3 % 3], charts
        )
        form = Form(chart, choruses)
        steps, ends, pitches, _ = (np.array(c, dtype=np.int64) for c in zip(*line, strict=True))
        path, known = candidates(line_codes(steps, ends, pitches), form)
        bar = chart.meter.beats
        for s, what in zip(path, known, strict=True):
            if what is None:
                continue
            start, stop = 12 * s.start, 12 * s.stop
            if any(
                t.shown_step is None and start < t.end_step + 24 * bar and stop > t.step - 24 * bar
                for t in truth
            ):
                continue
            right = any(
                s.state == (form.beats if t.offset_beats is None else t.offset_beats % form.beats)
                and t.step - (24 if t.kind != "adrift" else 60) * bar <= start < t.end_step
                and 2 * (min(stop, t.end_step) - max(start, t.step)) > min(stop - start, 24 * bar)
                for t in truth
            )
            rows.append(what.row())
            real.append(right)
            adrift.append(s.state == form.beats)
    return np.array(rows), np.array(real, dtype=float), np.array(adrift)


def fit(rows, real):
    def loss(w):
        z = rows @ w
        value = np.logaddexp(0, z) - real * z
        grad = rows.T @ (1 / (1 + np.exp(-z)) - real)
        return value.mean() + 1e-3 * w[1:] @ w[1:], grad / len(rows) + 2e-3 * np.append(0, w[1:])

    return minimize(loss, np.zeros(rows.shape[1]), jac=True, method="L-BFGS-B").x


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("--takes", type=int, default=600)
    options.add_argument("--seed", type=int, default=5000)
    given = options.parse_args()
    rows, real, adrift = gather(given.seed, given.takes)
    for name, mine in (("OFFSET_WEIGHTS", ~adrift), ("ADRIFT_WEIGHTS", adrift)):
        weights = fit(rows[mine], real[mine])
        sure = 1 / (1 + np.exp(-rows[mine] @ weights))
        print(f"# {mine.sum()} stretches, {real[mine].mean():.2f} real; sorted right {np.mean((sure > 0.5) == real[mine]):.3f}")  # fmt: skip
        print(f"{name} = ({', '.join(f'{w:.2f}' for w in weights)})")
        for low, high in ((0, 0.1), (0.1, 0.3), (0.3, 0.5), (0.5, 0.7), (0.7, 0.9), (0.9, 1.01)):
            part = (sure >= low) & (sure < high)
            if part.any():
                print(f"#   {low} to {high}: {part.sum()}, mean {sure[part].mean():.2f}, real {real[mine][part].mean():.2f}")  # fmt: skip


if __name__ == "__main__":
    main()
