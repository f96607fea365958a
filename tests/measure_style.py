"""How the style of a chorus is told, on walking and solo lines of the synthetic players.

    python tests/measure_style.py [--takes 12] [--seed 11] [--bars]

``--bars`` prints what a bar says by its beats instead: the log of the ratio of its shares in walking
and in solos, from which ``WALKS`` in ``linecheck/label/chorus_style.py`` is taken. Ghosts by the
generator's own velocities.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from linecheck.label import chorus_style
from linecheck.label.chorus_style import chorus_styles
from linecheck.music.form import Form
from tests.label_lines import placed
from tests.synthetic import second_player
from tests.synthetic.drawn_takes import draw_take
from tests.synthetic.fitted_players import FITTED_PLAYERS
from tests.synthetic.players import graduate

PLAYERS = (second_player, graduate, *FITTED_PLAYERS)
GHOSTS_BELOW = 45  # velocity
KINDS = ("clean walking", "clean solo")


def styles_of(kind: str, who, takes: int, seed: int) -> Counter[str]:
    """How many choruses of each style are told in clean takes of a player."""
    rng, told = np.random.default_rng(seed), Counter()
    for _ in range(takes):
        take = draw_take(rng, kind, who)
        notes = [
            placed(n.step, n.pitch, max(1, n.end_step - n.step), n.velocity) for n in take.line
        ]
        ghosts = [n.velocity < GHOSTS_BELOW and n.end_step - n.step <= 3 for n in take.line]
        told.update(chorus_styles(notes, ghosts, Form(take.chart, take.choruses), take.choruses).by_chorus)  # fmt: skip
    return told


def by_beats(takes: int, seed: int) -> None:
    """Print what a bar of four beats says, by its busy beats and its silent ones."""
    shares: dict[str, Counter[tuple[int, int]]] = {kind: Counter() for kind in KINDS}
    asked, kind = chorus_style._bar_walks, KINDS[0]

    def heard(struck: list[int], struck_on: list[bool], walked: list[bool]) -> float:
        if len(struck) == 4:
            off = sum(n > 0 and not on for n, on in zip(struck, struck_on, strict=True))
            more = sum(n > 1 and on for n, on in zip(struck, struck_on, strict=True))
            silent = sum(not n and not held for n, held in zip(struck, walked, strict=True))
            shares[kind][min(4, more + 2 * off), silent] += 1
        return asked(struck, struck_on, walked)

    chorus_style._bar_walks = heard
    for kind in KINDS:
        for who in PLAYERS:
            styles_of(kind, who, takes, seed)
    walking, solo = (shares[kind] for kind in KINDS)
    for bar in sorted(walking | solo):
        often = walking[bar] / walking.total(), solo[bar] / solo.total()
        nats = np.log((often[0] + 1e-4) / (often[1] + 1e-4))
        print(f"{bar[0]} busy, {bar[1]} silent: walking {often[0]:.3f}, solo {often[1]:.3f}, {nats:+.1f}")  # fmt: skip


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("--takes", type=int, default=12)
    options.add_argument("--seed", type=int, default=11)
    options.add_argument("--bars", action="store_true")
    given = options.parse_args()
    if given.bars:
        by_beats(given.takes, given.seed)
        return
    for kind in KINDS:
        of_all: Counter[str] = Counter()
        for who in PLAYERS:
            told = styles_of(kind, who, given.takes, given.seed)
            print(f"  {kind}, {who.__name__.rpartition('.')[2]}: {dict(told)}")
            of_all += told
        print(f"{kind}: {dict(of_all)}")


if __name__ == "__main__":
    main()
