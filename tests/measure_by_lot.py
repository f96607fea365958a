"""What chance alone gives: purpose and landings of the demo takes with pitches by lot.

    python tests/measure_by_lot.py [--draws 20]

Rhythm, chart and places are those of the take; the pitches are drawn from E1 to G3, all of them or
those of the key's scale. A share has to be read against what such a line has.
"""

from __future__ import annotations

import argparse
import sys
import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from linecheck.music.keys import scale_names
from linecheck.steps import audit, read_chart, read_take

LOWEST, HIGHEST = 28, 55


def shares(chart, take, pitches) -> tuple[float, float, float]:
    """Purpose and landings of all judged notes, and the commitment, with other pitches."""
    notes = tuple(replace(n, pitch=int(p)) for n, p in zip(take.notes, pitches, strict=True))
    found = audit(chart, replace(take, notes=notes))
    judged = [n for n in found.labels.notes if n.function]
    asked = [landing for landing in found.labels.landings if landing.counted]
    return (
        sum(n.function != "outside" for n in judged) / len(judged),
        sum(landing.met for landing in asked) / len(asked),
        found.judgement.commitment,
    )


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("--draws", type=int, default=20)
    given = options.parse_args()
    demo = Path(__file__).resolve().parents[1] / "demo_tunes"
    rows = tomllib.loads((demo / "takes.toml").read_text(encoding="utf-8"))["take"]
    rng = np.random.default_rng(1)
    everything = np.arange(LOWEST, HIGHEST + 1)
    found: dict[str, list[tuple[float, float, float]]] = {"as played": [], "any": [], "scale": []}
    for row in rows:
        chart, take = read_chart(demo / row["chart"]), read_take(demo / row["file"])
        found["as played"].append(shares(chart, take, [n.pitch for n in take.notes]))
        scale = everything[np.isin(everything % 12, list(scale_names(chart.key)))]
        for _ in range(given.draws):
            for name, pitches in (("any", everything), ("scale", scale)):
                found[name].append(shares(chart, take, rng.choice(pitches, len(take.notes))))
    for name, all_of in found.items():
        table = np.array(all_of)
        low, high = np.quantile(table, (0.05, 0.95), axis=0)
        told = ", ".join(
            f"{what} {m:.2f} ({a:.2f} to {z:.2f})"
            for what, m, a, z in zip(
                ("purpose", "landings", "commitment"), table.mean(axis=0), low, high, strict=True
            )
        )
        print(f"{name}: {told}")


if __name__ == "__main__":
    main()
