"""Loops for the tests of exercises: written as bars of chords, or drawn by a seed."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

from hypothesis import strategies as st

from linecheck.practice.spots import loop_of
from linecheck.terms import Key, Meter
from tests.label_lines import FOUR_FOUR, chart_of

if TYPE_CHECKING:
    from linecheck.practice.practice_plan import Loop

NAMES = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")
QUALITIES = (
    "7", "maj7", "m7", "6", "m7b5", "dim7", "7alt", "7b9", "7sus4", "m6", "aug", "mMaj7", "", "m",
    "sus2", "13", "7#11", "maj7#5", "5", "m9", "69",
)  # fmt: skip
METERS = (Meter(4, 4), Meter(4, 4), Meter(3, 4), Meter(6, 8), Meter(5, 4), Meter(2, 2), Meter(7, 8))


def loop(text: str, meter: Meter = FOUR_FOUR, key: str = "F", first: int = 1) -> Loop:
    """A loop of all the bars of a text; ``first`` is where in the chart it begins."""
    chart = chart_of(text, meter=meter, key=Key(key, minor=False))
    bars = len(chart.bars)
    return loop_of(chart, [(first - 1 + n) % bars for n in range(bars)])


def drawn_loop(seed: int) -> Loop:
    """One to four bars in any meter, with one or two chords each, some N.C."""
    rng = random.Random(seed)
    meter = rng.choice(METERS)
    bars = []
    for nth in range(rng.randint(1, 4)):
        chords = rng.choice((1, 1, 2)) if meter.beats % 2 == 0 else 1
        if nth and rng.random() < 0.1:
            bars.append("N.C.")
        else:
            bars.append(" ".join(_symbol(rng) for _ in range(chords)))
    return loop(" | ".join(bars), meter, rng.choice(NAMES))


def _symbol(rng: random.Random) -> str:
    slash = f"/{rng.choice(NAMES)}" if rng.random() < 0.15 else ""
    return rng.choice(NAMES) + rng.choice(QUALITIES) + slash


def drawn_loops() -> st.SearchStrategy[Loop]:
    """Drawn loops, by their seeds."""
    return st.integers(0, 10**9).map(drawn_loop)
