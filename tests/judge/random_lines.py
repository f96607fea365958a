"""Random charts and random lines over them, drawn by a seed.

Lines walk with skips, rests, pushes and ghosts, or run in eighths and triplets with rests; their
pitches wander, by luck as often wrong as right.
"""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, TypeAlias

from hypothesis import strategies as st

from linecheck.judge import judge_line
from linecheck.label import label_line
from linecheck.music.form import Form
from linecheck.read.rubric import read_rubric
from linecheck.terms import FormSpan, Key
from tests.label_lines import chart_of, line_of, placed

if TYPE_CHECKING:
    from linecheck.terms import Chart, Judgement, LabelledLine, PlacedLine, PlacedNote

RUBRIC = read_rubric(None)
NAMES = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")
QUALITIES = (
    "7",
    "maj7",
    "m7",
    "6",
    "m7b5",
    "dim7",
    "7alt",
    "7b9",
    "7sus",
    "m6",
    "aug",
    "mmaj7",
    "",
)

# What is struck in one beat: (step, steps) of each note.
WALKS = (((0, 11),), ((0, 11),), ((0, 11),), ((0, 6), (8, 3)), ((0, 6), (6, 6)), ())
RUNS = (((0, 6), (6, 6)), ((0, 6), (6, 6)), ((6, 6),), ((0, 4), (4, 4), (8, 4)), ((0, 11),), ())

Bars: TypeAlias = "list[list[tuple[int, str, int | None]]]"
Cells: TypeAlias = "tuple[tuple[tuple[int, int], ...], ...]"
Drawn: TypeAlias = "tuple[Bars, PlacedLine]"


def _symbol(chord: tuple[int, str, int | None], shift: int) -> str:
    root, quality, bass = chord
    slash = "" if bass is None else f"/{NAMES[(bass + shift) % 12]}"
    return NAMES[(root + shift) % 12] + quality + slash


def written(bars: Bars, shift: int = 0) -> Chart:
    """A chart of drawn bars, all its roots moved up by ``shift`` half steps."""
    text = " | ".join(" ".join(_symbol(chord, shift) for chord in bar) for bar in bars)
    return chart_of(text, key=Key(NAMES[(5 + shift) % 12], minor=False))


def drawn_chart(rng: random.Random) -> Bars:
    """Four to eight bars of one or two chords."""

    def chord() -> tuple[int, str, int | None]:
        bass = rng.randrange(12) if rng.random() < 0.15 else None
        return rng.randrange(12), rng.choice(QUALITIES), bass

    return [[chord() for _ in range(rng.choice((1, 1, 2)))] for _ in range(rng.randint(4, 8))]


def drawn_line(rng: random.Random, cells: Cells | None = None, *, in_place: bool = False) -> Drawn:
    """A chart's bars, and a line of one or two choruses over it."""
    bars, choruses = drawn_chart(rng), rng.randint(1, 2)
    beats = 4 * len(bars) * choruses
    cells = cells or rng.choice((WALKS, RUNS))
    ghosts, pushes = rng.choice((0.0, 0.1)), rng.choice((0.0, 0.15))
    pitch, notes = 40, []
    for beat in range(beats):
        for at, steps in rng.choice(cells):
            pitch = min(max(pitch + rng.randint(-4, 4), 30), 60)
            early = 6 if at == 0 and beat and rng.random() < pushes else 0
            soft = rng.random() < ghosts
            step = 12 * beat + at - early
            if not notes or step > notes[-1].step:
                notes.append(placed(step, pitch, 1 if soft else steps + early, 15 if soft else 80))
    line = line_of(monophonic(notes), written(bars), choruses)
    if not in_place and rng.random() < 0.5:
        cut, offset = 12 * rng.randint(0, beats), rng.choice((None, 4.0, -4.0, 1.0))
        cuts = (FormSpan(0, cut, 0.0, 1.0), FormSpan(cut, 12 * beats, offset, 0.9))
        line = replace(line, spans=cuts)
    return bars, line


def lines(cells: Cells | None = None, *, in_place: bool = False) -> st.SearchStrategy[Drawn]:
    """Drawn lines, by their seeds."""
    return st.integers(0, 10**9).map(
        lambda seed: drawn_line(random.Random(seed), cells, in_place=in_place)
    )


def monophonic(notes: list[PlacedNote]) -> tuple[PlacedNote, ...]:
    """The notes, each cut off where the next is struck."""
    cut = [
        placed(note.step, note.pitch, min(note.end_step, after.step) - note.step, note.velocity)
        for note, after in pairwise(notes)
    ]
    return (*cut, notes[-1])


def audit(bars: Bars, line: PlacedLine, shift: int = 0) -> tuple[LabelledLine, Judgement]:
    """Labels and scores of a line over drawn bars."""
    chart = written(bars, shift)
    form = Form(chart, line.choruses)
    labels = label_line(line, form, chart.key)
    return labels, judge_line(labels, line, form, RUBRIC)
