"""Fit the confidence of form losses on synthetic takes: nothing, a slip, or adrift.

    python tests/fit_loss_confidence.py [--takes 4000] [--write]

Every stretch that ``form_candidates`` puts up is one example: is the take lost there by just the
offset that fits it best, is it adrift, or neither? A stretch counts where it lies over more than
half of the loss and the loss over more than half of it. A fifth of the takes is held out to show
what the fit is worth. ``--write`` writes ``linecheck/place/loss_weights.py``.
"""

from __future__ import annotations

import argparse
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
from scipy.optimize import minimize

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from linecheck.music.form import Form
from linecheck.place import loss_confidence
from linecheck.place.form_candidates import stretches
from linecheck.place.form_evidence import line_codes
from linecheck.place.form_loss import find_form
from linecheck.place.loss_confidence import features
from tests.measure_form import draw_styles, match
from tests.synthetic import drawn_takes
from tests.synthetic.charts import named_charts, pitch_class, random_chart
from tests.synthetic.fitted_players import FITTED_PLAYERS
from tests.synthetic.lines import (
    ADRIFT_FAMILIES,
    MORE_ADRIFT,
    Plan,
    draw_course,
    play_plan,
)

SPANS = ("plain", "usual", "usual", "wide")
UNITS, PARTS = 8, 8
UNSEEN = 0.3  # log odds, measured on the players that judge
CLASSES = ("nothing", "slip", "adrift")
WRITTEN = Path(__file__).resolve().parents[1] / "linecheck/place/loss_weights.py"
SHARE_OF_PLAYERS = 0.85
CARELESS = 0.25  # share of the players' takes, in place and lost, with wrong notes throughout
WRONG = (0.05, 0.35)  # share of their notes; a wrong note is no loss
PEDAL = 0.15  # share of the players' clean takes; a pedal is no loss, though it fits no place well
DRAWN = (
    *("clean walking",) * 2, *("clean solo",) * 3, "clean mixed",
    "walking", *("solo",) * 2, "mixed",
    "adrift walking", *("adrift solo",) * 3, "adrift mixed",
    "two slips walking", "two slips solo", "two slips mixed",
)  # fmt: skip


def over_a_pedal(rng, line, chart):
    """The line with some bars of it on one pitch: the tonic or its fifth, in the low octave."""
    bar = 12 * chart.meter.beats
    start = bar * int(rng.integers(0, max(1, line[-1].step // bar - 4)))
    stop = start + bar * int(rng.choice([2, 4, 4, 8, 8, 12]))
    tonic = pitch_class(chart.key.tonic) + int(rng.choice([0, 0, 7]))
    pitch = 28 + (tonic - 28) % 12
    return [n._replace(pitch=pitch) if start <= n.step < stop else n for n in line]


def careless(rng, line):
    """The line with wrong notes here and there: up to a fifth higher or lower."""
    share = rng.uniform(*WRONG)
    wrong = rng.random(len(line)) < share
    moved = rng.choice([-7, -6, -5, -4, -3, -2, -1, 1, 2, 3, 4, 5, 6, 7], size=len(line))
    return [
        n._replace(pitch=max(24, n.pitch + int(by))) if is_wrong else n
        for n, is_wrong, by in zip(line, wrong, moved, strict=True)
    ]


def draw_take(rng, number: int, charts):
    """Half of them clean of slips or nearly, adrift more often than it is."""
    if rng.random() < SHARE_OF_PLAYERS:
        who = FITTED_PLAYERS[int(rng.integers(len(FITTED_PLAYERS)))]
        over = None if rng.random() < 0.4 else [random_chart(rng)] if rng.random() < 0.6 else charts
        take = drawn_takes.draw_take(rng, str(rng.choice(DRAWN)), who, over)
        pedal = not take.truth and rng.random() < PEDAL
        line = over_a_pedal(rng, take.line, take.chart) if pedal else take.line
        line = careless(rng, line) if rng.random() < CARELESS else line
        return take.chart, take.choruses, line, take.truth
    kind = ("walking", "solo", "mixed", "solo")[number % 4]
    chart = charts[int(rng.integers(len(charts)))] if rng.random() < 0.5 else random_chart(rng)
    form = Form(chart)
    choruses = max(2, min(12, int(rng.integers(150, 450)) // form.beats))
    kinds = [kind] * choruses
    if kind == "mixed":
        kinds = [str(k) for k in rng.choice(["walking", "solo"], size=choruses)]
    walking, soloing, least, adrift = draw_styles(rng, SPANS[number // 4 % 4])
    family = str(rng.choice(adrift[:5] if rng.random() < 0.5 else ADRIFT_FAMILIES[:5] + MORE_ADRIFT))  # fmt: skip
    course = draw_course(form, choruses, rng, int(rng.choice([0, 0, 1, 1, 2])), 0.4, least)
    line, truth = play_plan(chart, Plan(kinds, walking, soloing, course, family), rng)
    return chart, choruses, line, truth


def is_it(start: int, stop: int, slip, bar: int) -> bool:
    """Whether a stretch of steps lies in a slip, more or less, and begins where it may."""
    both = min(stop, slip.end_step) - max(start, slip.step)
    enough = 2 * both > stop - start
    if slip.offset_beats is None:  # a bit of wandering is not the whole of it
        enough &= 3 * both > slip.end_step - slip.step
    return enough and slip.step - 24 * bar <= start < slip.end_step


def gather(seed: int, takes: int):
    """Features, class, and take of every stretch."""
    rng = np.random.default_rng(seed)
    charts = named_charts()[::2]
    rows, classes, of = [], [], []
    for number in range(takes):
        chart, choruses, line, truth = draw_take(rng, number, charts)
        form, bar = Form(chart, choruses), chart.meter.beats
        steps, ends, pitches, _ = (np.array(c, dtype=np.int64) for c in zip(*line, strict=True))
        codes = line_codes(steps, ends, pitches)
        first = int(codes.beats[0])
        heard, tried = stretches(codes, form, first, int(codes.beats[-1]) + 1)
        for start, stop, offset in tried:
            low, high = 12 * (start + first), 12 * (stop + first)
            if any(t.shown_step is None and low < t.end_step + 24 * bar and high > t.step - 24 * bar for t in truth):  # fmt: skip
                continue
            mine = [t for t in truth if is_it(low, high, t, bar)]
            kind = 0
            if any(t.offset_beats is None for t in mine):
                kind = 2
            elif any(t.offset_beats % form.beats == offset for t in mine):
                kind = 1
            rows.append((1.0, *features(start, stop, offset, heard).values))
            classes.append(kind)
            of.append(number)
    return np.array(rows), np.array(classes), np.array(of)


def chances(rows, hidden, out):
    logits = np.concatenate((rows, np.tanh(rows @ hidden)), axis=1) @ out
    e = np.exp(logits - logits.max(axis=1, keepdims=True))
    return e / e.sum(axis=1, keepdims=True)


def fit(rows, classes, l2: float, seed: int = 0):
    """Weights for rows as they are: they are scaled for the fit, and back."""
    middle, spread = rows.mean(axis=0), rows.std(axis=0) + 1e-9
    middle[0], spread[0] = 0.0, 1.0
    x, (n, f) = (rows - middle) / spread, rows.shape
    wanted = np.eye(3)[classes]

    def parts(w):
        return w[: f * UNITS].reshape(f, UNITS), w[f * UNITS :].reshape(f + UNITS, 3)

    def loss(w):
        hidden, out = parts(w)
        units = np.tanh(x @ hidden)
        seen = np.concatenate((x, units), axis=1)
        logits = seen @ out
        top = logits.max(axis=1, keepdims=True)
        e = np.exp(logits - top)
        z = e.sum(axis=1, keepdims=True)
        value = float((np.log(z) + top - (logits * wanted).sum(axis=1, keepdims=True)).mean())
        off = (e / z - wanted) / n
        back = (off @ out[f:].T) * (1 - units**2)
        grad = np.concatenate(((x.T @ back).ravel(), (seen.T @ off).ravel()))
        return value + l2 * w @ w, grad + 2 * l2 * w

    start = np.random.default_rng(seed).normal(0, 0.2, f * UNITS + (f + UNITS) * 3)
    found = minimize(loss, start, jac=True, method="L-BFGS-B", options={"maxiter": 600}).x
    hidden, out = (p.copy() for p in parts(found))
    for weights in (hidden, out[:f]):
        weights[:] = weights / spread[:, None]
        weights[0] -= middle @ weights
    return hidden, out


def show(name: str, rows, classes, hidden, out) -> None:
    chance = chances(rows, hidden, out)
    nats = -np.log(chance[np.arange(len(classes)), classes]).mean()
    print(f"{name}: {len(classes)} stretches, {nats:.3f} nats a stretch")
    for kind in (1, 2):
        sure, real = chance[:, kind], classes == kind
        print(f"  {CLASSES[kind]}: {real.sum()}, {(real & (sure > 0.5)).sum()} of them above even odds, {(~real & (sure > 0.5)).sum()} others")  # fmt: skip


def table(name: str, weights) -> str:
    texts = [f"{v:.3f}" for v in weights.ravel()]
    lines, line = [], "   "
    for t in texts:
        if len(line) + len(t) + 1 > 98:
            lines.append(line)
            line = "   "
        line += " " + t
    rows = "\n".join([*lines, line])
    return f'_{name} = """\n{rows}\n"""\n'


def gather_found(seed: int, takes: int):
    """Of all losses found on other takes: log odds, whether adrift, whether right."""
    rng = np.random.default_rng([seed, 1])
    charts = named_charts()[::2]
    rows = []
    for number in range(takes):
        chart, choruses, line, truth = draw_take(rng, number, charts)
        _, losses, _ = find_form(*[list(c) for c in zip(*line, strict=True)], Form(chart, choruses))
        pairs, _, wrong = match(truth, list(losses), 12 * chart.meter.beats)
        for right, found in ((1, [x for _, x in pairs]), (0, wrong)):
            for x in found:
                sure = min(max(x.confidence, 1e-6), 1 - 1e-6)
                rows.append((np.log(sure / (1 - sure)), x.kind == "adrift", right))
    return np.array(rows)


def settle(rows) -> list[tuple[float, float]]:
    """Shift and slope of the log odds by kind, so that what is found is as sure as it says.

    Players that nothing was fitted on are found to be surer than said, by about ``UNSEEN``.
    """
    made = []
    for kind in (0, 1):
        odds, real = rows[rows[:, 1] == kind][:, 0], rows[rows[:, 1] == kind][:, 2]

        def loss(w, odds=odds, real=real):
            z = w[0] + w[1] * odds
            return (np.logaddexp(0, z) - real * z).mean()

        shift, slope = minimize(loss, np.array([0.0, 1.0])).x
        made.append((round(float(shift) + UNSEEN, 3), round(float(slope), 3)))
    return made


def write(hidden, out, settled) -> None:
    WRITTEN.write_text(
        '"""Weights of the confidence; written by ``tests/fit_loss_confidence.py``, not by hand.\n\n'
        "``HIDDEN[feature, unit]``; ``OUT[feature and then unit, class]``, the classes nothing, slip and\n"
        "adrift. The first feature is 1. ``SETTLED``: shift and slope of the log odds of a slip and of\n"
        "adrift. Source: maximum likelihood on synthetic takes.\n"
        '"""\n\nfrom __future__ import annotations\n\nimport numpy as np\n\n'
        + table("HIDDEN", hidden)
        + table("OUT", out)
        + f"\nSETTLED = {tuple(settled)}\nHIDDEN = np.array(_HIDDEN.split(), dtype=np.float64).reshape(-1, {UNITS})\n"
        "OUT = np.array(_OUT.split(), dtype=np.float64).reshape(-1, 3)\n",
        encoding="utf-8",
    )


def gathered(shares, takes: int):
    with ProcessPoolExecutor(2) as pool:
        parts = list(pool.map(gather, *zip(*shares, strict=True)))
    rows, classes = (np.concatenate([p[i] for p in parts]) for i in (0, 1))
    return rows, classes, np.concatenate([p[2] + i * takes for i, p in enumerate(parts)])


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("--takes", type=int, default=4000)
    options.add_argument("--seed", type=int, default=5000)
    options.add_argument("--l2", type=float, default=5e-4)
    options.add_argument("--keep", help="a file for the stretches: gathered once, fitted often")
    options.add_argument("--write", action="store_true")
    given = options.parse_args()
    shares = [(given.seed + part, given.takes // PARTS) for part in range(PARTS)]
    kept = Path(given.keep) if given.keep else None
    if kept and kept.exists():
        rows, classes, of = (np.load(kept)[name] for name in ("rows", "classes", "of"))
    else:
        rows, classes, of = gathered(shares, given.takes)
        if kept:
            np.savez(kept, rows=rows, classes=classes, of=of)
    held = of % 5 == 0
    made = fit(rows[~held], classes[~held], given.l2)
    show("fitted on", rows[~held], classes[~held], *made)
    show("held out", rows[held], classes[held], *made)
    made = fit(rows, classes, given.l2)
    loss_confidence.HIDDEN, loss_confidence.OUT = made
    loss_confidence.SETTLED = ((0.0, 1.0), (0.0, 1.0))
    with ProcessPoolExecutor(2) as pool:  # the workers are forked, and have the new weights
        found = np.concatenate(list(pool.map(gather_found, *zip(*shares, strict=True))))
    settled = settle(found)
    print(
        f"{len(found)} losses found on other takes; shift and slope of slips and adrift {settled}"
    )
    if given.write:
        write(*made, settled)


if __name__ == "__main__":
    main()
