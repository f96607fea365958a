"""Fit the weights that tell the attack of a note from a foot, a click and the ripples of noise.

    python tests/fit_hearing.py --lines 20 --write

Lines of ``tests/synthetic/recorded_lines.py`` are rendered through the font "fluid" (programs 32,
33 and 35) and spoiled as ``CONDITIONS`` say; every candidate within 50 ms of a note, the nearest
to it, is an attack. ``tests/measure_hearing.py`` judges through other fonts, on other lines.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np
from scipy import signal
from scipy.optimize import minimize

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from linecheck.hear import attacks
from linecheck.hear.onsets import candidates
from linecheck.hear.pitch_comb import fits
from linecheck.hear.spectra import Spectra
from tests.synthetic.recorded_lines import expressive_line, recorded_line
from tests.synthetic.recordings import CONDITIONS, RATE, render

ROOT = Path(__file__).resolve().parents[1]
PROGRAMS = (32, 33, 32, 35, 32)
NEAR_S = 0.05
SWITCHES = 16
DIVISOR = 4
HEAD = '''"""The weights of ``attacks``: made by ``tests/fit_hearing.py``, not by hand."""

'''


def lowered(sound):
    """As ``decode`` brings it down."""
    reach = 12 * DIVISOR
    taps = signal.firwin(2 * reach + 1, 0.92 / DIVISOR)
    padded = np.pad(sound, reach)
    low = signal.upfirdn(taps, padded, 1, DIVISOR)[24 : 24 + len(sound) // DIVISOR]
    return low.astype(np.float32), RATE / DIVISOR


def told(sound, rate, onsets, rng):
    """Features and truth of a stretch's candidates: of all, and of those without some false."""
    spectra = Spectra(sound, rate)
    frame_fits = fits(spectra.clear, rate, spectra.sizes)
    found = candidates(sound, rate)
    times = np.array([c.at_s for c in found])
    true = np.zeros(len(found), dtype=bool)
    for onset in onsets:
        nearest = int(np.abs(times - onset).argmin())
        true[nearest] |= abs(times[nearest] - onset) < NEAR_S
    rows = [attacks.attack_features(spectra, frame_fits, found)]
    truths = [true]
    keep = true | (rng.random(len(found)) < 0.4)
    rows.append(
        attacks.attack_features(
            spectra, frame_fits, [c for c, k in zip(found, keep, strict=True) if k]
        )
    )
    truths.append(true[keep])
    return np.concatenate(rows), np.concatenate(truths)


def gather(lines: int):
    rows, truths = [], []
    for number in range(lines):
        line = recorded_line(number, 20.0)
        if number % 4 == 3:
            line = expressive_line(number, 40)
        program = PROGRAMS[number % len(PROGRAMS)]
        sound = render(line.played, "fluid", program, bends=line.bends)
        onsets = [note.onset_s for note in line.played]
        for index, condition in enumerate(CONDITIONS.values()):
            rng = np.random.default_rng((number, index))
            low, rate = lowered(condition(sound, rng))
            x, y = told(low, rate, onsets, rng)
            rows.append(x)
            truths.append(y)
        print(number, line.made.kind, len(onsets), flush=True)
    return np.concatenate(rows), np.concatenate(truths).astype(float)


def fit(x, y, l2: float = 2e-4, seed: int = 0):
    """Switches (switches × features), their sum's weights, and the base, by L-BFGS."""
    rng = np.random.default_rng(seed)
    mean, spread = x.mean(axis=0), x.std(axis=0) + 1e-9
    mean[0], spread[0] = 0.0, 1.0
    z = (x - mean) / spread
    count = z.shape[1] * SWITCHES

    def cost(theta):
        inner = theta[:count].reshape(z.shape[1], SWITCHES)
        outer = theta[count:]
        hidden = np.tanh(z @ inner)
        odds = hidden @ outer[:-1] + outer[-1]
        chance = 1 / (1 + np.exp(-np.clip(odds, -40, 40)))
        value = (np.logaddexp(0, odds) - y * odds).mean() + l2 * (theta**2).sum() / 2
        slope = (chance - y) / len(y)
        back = np.outer(slope, outer[:-1]) * (1 - hidden**2)
        gradient = np.concatenate([(z.T @ back).ravel(), hidden.T @ slope, [slope.sum()]])
        return value, gradient + l2 * theta

    start = rng.normal(0, 0.3, count + SWITCHES + 1)
    best = minimize(cost, start, jac=True, method="L-BFGS-B", options={"maxiter": 500})
    inner = best.x[:count].reshape(z.shape[1], SWITCHES)
    folded = inner / spread[:, None]
    folded[0] -= ((mean / spread)[1:, None] * inner[1:]).sum(axis=0)
    return folded.T, best.x[count:-1], float(best.x[-1])


def as_text(switches, total, base) -> str:
    rows = "\n".join(
        "    (" + ", ".join(f"{value:.4f}" for value in row) + ")," for row in switches
    )
    sums = ", ".join(f"{value:.4f}" for value in total)
    return f"{HEAD}# fmt: off\nSWITCHES = (\n{rows}\n)\nSUM = ({sums})\nBASE = {base:.4f}\n"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--lines", type=int, default=20)
    parser.add_argument("--write", action="store_true")
    given = parser.parse_args()
    x, y = gather(given.lines)
    switches, total, base = fit(x, y)
    odds = np.tanh(x @ switches.T) @ total + base
    print(f"{len(y)} candidates; missed {np.mean(odds[y > 0] < 0):.4f}, "
          f"false {np.sum(odds[y == 0] > 0) / y.sum():.4f}")  # fmt: skip
    if given.write:
        place = ROOT / "linecheck" / "hear" / "attack_weights.py"
        place.write_text(as_text(switches, total, base), encoding="utf-8")


if __name__ == "__main__":
    main()
