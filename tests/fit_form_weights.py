"""Fit the weights of the form evidence on synthetic lines, by conditional logit.

    python tests/fit_form_weights.py [--takes 1500] [--without sixth_player] [--write]

Each example is a window of 6 to 48 beats of a line. The choices are all offsets within the form
and adrift; the right one is where the line was made (every offset with the same chords in the
window counts as right). The choice is a softmax over the summed weights of the notes, so the
sums are log-likelihood ratios that are as sure as they have a right to be on these lines.
"""

from __future__ import annotations

import argparse
import importlib
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
from scipy import sparse
from scipy.optimize import minimize

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from linecheck.music.form import Form
from linecheck.place.form_evidence import (
    MOVES,
    adrift_cells,
    form_tables,
    line_codes,
    move_cells,
    place_cells,
)
from tests.measure_form import RANGES, draw_styles
from tests.synthetic.charts import named_charts, random_chart
from tests.synthetic.fitted_players import FITTED_PLAYERS, line_of
from tests.synthetic.lines import (
    ADRIFT_FAMILIES,
    SOLO_FAMILIES,
    WALKING_FAMILIES,
    Plan,
    SoloStyle,
    WalkingStyle,
    play_plan,
)

PLACES, MOVES_IN, DEGREES = 7 * 10 * 9, 7 * 9 * 8, 3 * 12 * 5
ADRIFT = 7 * MOVES + 7
PARTS = np.cumsum((PLACES, MOVES_IN, DEGREES))
TOTAL = int(PARTS[-1]) + ADRIFT
SHARES = 8  # gathered apart
HELD_OUT = {"chromatic", "pedal", "motif", "guide", "blues"}
WRITTEN = Path(__file__).resolve().parents[1] / "linecheck/place/form_weights.py"


def _other(rng, families, held_out) -> str:
    return str(rng.choice([f for f in families if f not in held_out]))


def of_a_player(rng, who, charts):
    """A clean or adrift line of three choruses by a player of its own habits."""
    own = who.charts() + charts
    chart = own[int(rng.integers(len(own)))] if rng.random() < 0.6 else random_chart(rng)
    form = Form(chart)
    adrift, solo = rng.random() < 0.15, rng.random() < 0.6
    return form, line_of(who, form, 3, rng, solo=solo, adrift=adrift), adrift


def take(rng, held_out: set[str], charts, players=()):
    if players and rng.random() < len(players) / (len(players) + 1):
        return of_a_player(rng, players[int(rng.integers(len(players)))], charts)
    chart = charts[int(rng.integers(len(charts)))] if rng.random() < 0.4 else random_chart(rng)
    walking, soloing, _, _ = draw_styles(rng, str(rng.choice(RANGES)))
    if walking.family in held_out or soloing.family in held_out or rng.random() < 0.3:
        walking = WalkingStyle.draw(rng, _other(rng, WALKING_FAMILIES, held_out))
        soloing = SoloStyle.draw(rng, _other(rng, SOLO_FAMILIES, held_out))
    kinds = [str(k) for k in rng.choice(["walking", "solo"], size=3)]
    if rng.random() < 0.6:
        kinds = [kinds[0]] * 3
    form = Form(chart)
    adrift = rng.random() < 0.15
    plan = Plan(
        kinds,
        walking,
        soloing,
        [(0, None)] if adrift else [],
        str(rng.choice(ADRIFT_FAMILIES)),
    )
    line, _ = play_plan(chart, plan, rng)
    return form, line, adrift


def window(rng, form, line, adrift):
    """Sparse features (choices × weights) and the mask of right choices."""
    tables = form_tables(form)
    steps, ends, pitches, _ = (np.array(c, dtype=np.int64) for c in zip(*line, strict=True))
    codes = line_codes(steps, ends, pitches)
    size = int(rng.choice([6, 8, 12, 16, 24, 32, 48]))
    first = int(rng.integers(0, max(1, 3 * form.beats - size)))
    inside = np.flatnonzero((codes.beats >= first) & (codes.beats < first + size))
    if inside.size < 3:
        return None
    place, degree = place_cells(codes, tables)
    move = move_cells(codes, tables)
    offsets = np.arange(tables.beats)
    at = (codes.beats[inside][:, None] + offsets[None, :]) % tables.beats
    degrees = np.take_along_axis(degree[inside], at, axis=1)
    there = degrees >= 0
    rows = np.broadcast_to(offsets[None, :], at.shape)
    cell, share = adrift_cells(codes, tables)
    n = inside.size
    weight = codes.weights[inside]
    weights = np.repeat(weight, at.shape[1])
    drift_rows = np.full(n, tables.beats)
    voices = codes.voices[inside]
    entries = (
        (rows.ravel(), np.take_along_axis(place[inside], at, axis=1).ravel(), weights),
        (rows.ravel(), PARTS[0] + np.take_along_axis(move[inside], at, axis=1).ravel(), weights),
        (rows[there], PARTS[1] + degrees[there], weights.reshape(at.shape)[there]),
        (drift_rows, PARTS[2] + cell[inside], weight),
        (drift_rows, PARTS[2] + 7 * MOVES + voices, weight * share[inside]),
    )
    at_row, at_column, values = (np.concatenate(x) for x in zip(*entries, strict=True))
    data = sparse.csr_matrix((values, (at_row, at_column)), shape=(tables.beats + 1, TOTAL))
    beats = (first + np.arange(size)) % tables.beats
    sound = tables.sounds
    right = np.array([adrift is False and bool((sound[(beats + o) % tables.beats] == sound[beats]).all()) for o in offsets])  # fmt: skip
    solo = float(np.isin(codes.voices[inside], (2, 3, 4)).mean()) > 0.5
    return data, np.append(right, adrift), solo


def examples(seed: int, takes: int, held_out, charts, players=()):
    """Windows of so many takes: features, right choices, choices, group of each, whether adrift."""
    args = (takes // SHARES, held_out, charts, players)
    with ProcessPoolExecutor() as pool:
        made = list(pool.map(_examples, *zip(*(((seed, i), *args) for i in range(SHARES)), strict=True)))  # fmt: skip
    groups = np.concatenate([m[3] + 2 * args[0] * i for i, m in enumerate(made)])
    right, sizes, drifts = (np.concatenate([m[i] for m in made]) for i in (1, 2, 4))
    return sparse.vstack([m[0] for m in made]).tocsr(), right, sizes, groups, drifts


def _examples(seed, takes: int, held_out, charts, names):
    players = [importlib.import_module(name) for name in names]
    rng = np.random.default_rng(seed)
    blocks, rights, sizes, groups, drifts = [], [], [], [], []
    for number in range(takes):
        form, line, adrift = take(rng, held_out, charts, players)
        for _ in range(5):
            made = window(rng, form, line, adrift)
            if made is not None:
                blocks.append(made[0])
                rights.append(made[1])
                sizes.append(made[0].shape[0])
                groups.append(2 * number + made[2])
                drifts.append(adrift)
    return (
        sparse.vstack(blocks).tocsr(),
        np.concatenate(rights),
        np.array(sizes),
        np.array(groups),
        np.array(drifts),
    )


BETAS = np.array([0.05, 0.15, 0.3, 0.5, 0.7, 0.85, 1.0, 1.2, 1.4, 1.7, 2.0])


def sharpness(weights, test):
    """How far each group of windows (a take's walking, a take's solo) bears out the weights."""
    data, right, sizes, groups, drifts = test
    scores = data @ weights
    starts = np.concatenate(([0], np.cumsum(sizes)[:-1]))
    adrift_rows = starts + sizes - 1
    scores[adrift_rows] = -1e9
    right = right.copy()
    fits = np.zeros((len(BETAS), len(sizes)))
    for i, b in enumerate(BETAS):
        x = scores * b
        top = np.repeat(np.maximum.reduceat(x, starts), sizes)
        e = np.exp(x - top)
        z = np.add.reduceat(e, starts)
        zr = np.add.reduceat(e * right, starts)
        fits[i] = np.where(drifts, 0, np.log(0.9 * zr / z + 0.1 / sizes))
    count = groups.max() + 1
    by = (
        np.stack([np.bincount(groups, f, count) for f in fits])
        - 0.5 * (np.log(BETAS) / 0.6)[:, None] ** 2
    )
    return BETAS[by.argmax(axis=0)][groups]


def scaled(test, betas):
    data, right, sizes, *_rest = test
    row = np.repeat(betas, sizes)
    row[np.cumsum(sizes) - 1] = 1.0
    return sparse.diags(row) @ data, right, sizes


def objective(weights, data, right, sizes, l2):
    scores = data @ weights
    starts = np.concatenate(([0], np.cumsum(sizes)[:-1]))
    top = np.repeat(np.maximum.reduceat(scores, starts), sizes)
    e = np.exp(scores - top)
    z = np.add.reduceat(e, starts)
    zr = np.add.reduceat(e * right, starts) + 1e-300
    loss = np.mean(np.log(z) - np.log(zr))
    p = e / np.repeat(z, sizes) - e * right / np.repeat(zr, sizes)
    grad = data.T @ p / len(sizes)
    return loss + l2 * weights @ weights, grad + 2 * l2 * weights


def write(weights) -> None:
    a, b, d, c = np.split(weights, PARTS)

    def rows(values) -> str:
        texts = [f"{v:.2f}".rstrip("0").rstrip(".").replace("-0.", "-.").removeprefix("0") or "0" for v in values]  # fmt: skip
        texts = [t if t not in ("-", "", "-0") else "0" for t in texts]
        lines, line = [], "   "
        for t in texts:
            if len(line) + len(t) + 1 > 98:
                lines.append(line)
                line = "   "
            line += " " + t
        return "\n".join([*lines, line])

    WRITTEN.write_text(
        '"""Weights of the form evidence; written by ``tests/fit_form_weights.py``, not by hand.\n\n'
        "``PLACE_WEIGHTS[voice, place, code]`` and ``MOVE_WEIGHTS[voice, code, move]`` add up to the\n"
        "evidence of one note in nats, with ``DEGREE_WEIGHTS[style, degree, kind of chord]``;\n"
        "``ADRIFT_WEIGHTS`` is [voice × size of the move] and then [voice] for the log share of the\n"
        "pitch class. Source: conditional logit on synthetic lines.\n"
        '"""\n\nfrom __future__ import annotations\n\nimport numpy as np\n\n'
        f'_PLACE = """\n{rows(a)}\n"""\n_MOVE = """\n{rows(b)}\n"""\n_DEGREE = """\n{rows(d)}\n"""\n_ADRIFT = """\n{rows(c)}\n"""\n\n'
        "PLACE_WEIGHTS = np.array(_PLACE.split(), dtype=np.float32).reshape(7, 10, 9)\n"
        "MOVE_WEIGHTS = np.array(_MOVE.split(), dtype=np.float32).reshape(7, 9, 8)\n"
        "DEGREE_WEIGHTS = np.array(_DEGREE.split(), dtype=np.float32).reshape(3, 12, 5)\n"
        "ADRIFT_WEIGHTS = np.array(_ADRIFT.split(), dtype=np.float32)\n",
        encoding="utf-8",
    )


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("--takes", type=int, default=1500)
    options.add_argument("--l2", type=float, default=2e-5)
    options.add_argument("--turns", type=int, default=3)
    options.add_argument("--write", action="store_true")
    options.add_argument("--without", help="a player that is left out, to be judged on")
    options.add_argument("--all-families", action="store_true")
    given = options.parse_args()
    started = time.time()
    charts = named_charts()
    players = [w.__name__ for w in FITTED_PLAYERS if w.__name__.rpartition(".")[2] != given.without]  # fmt: skip
    held = set() if given.all_families else HELD_OUT
    train = examples(1, given.takes, held, charts[::2], players)
    tests = [
        (name, examples(2, max(100, given.takes // 5), held_out, charts[1::2]))
        for name, held_out in (
            ("seen families", held),
            ("unseen", set(WALKING_FAMILIES + SOLO_FAMILIES) - HELD_OUT),
        )
    ]
    weights, betas = np.zeros(TOTAL), np.ones(len(train[2]))
    print(f"{len(train[2])} windows, {train[0].nnz} cells, {time.time() - started:.0f} s")
    for _turn in range(given.turns):
        part = scaled(train, betas)
        found = minimize(
            objective, weights, (*part, given.l2), jac=True, method="L-BFGS-B",
            options={"maxiter": 100},
        )  # fmt: skip
        weights = found.x
        print(f"loss {found.fun:.4f} after {found.nit} rounds, {time.time() - started:.0f} s")
        for name, test in tests:
            b = sharpness(weights, test)
            loss = objective(weights, *scaled(test, b), 0.0)[0]
            print(f"  {name}: loss {loss:.4f}, by lot {np.log(test[2]).mean():.3f}")
        betas = sharpness(weights, train)
    found.x = weights
    if given.write:
        write(found.x)


if __name__ == "__main__":
    main()
