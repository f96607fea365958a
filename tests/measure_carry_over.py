"""Measure whether a carry-over share lies within the interval that is claimed for it.

    python tests/measure_carry_over.py [--takes 60] [--counts 2000] [--seed 1]

Two parts. *Counts*: choruses of 9 to 14 landings are drawn, each kept with a known share, and the
interval is asked whether it holds the share. *Takes*: walking choruses and a solo over charts are
played as notes, the solo landing on each chord with a known share, and the whole audit and
comparison is asked. What is kept within a chorus hangs together in three ways: not at all; by a
share of the chorus's own (beta-binomial, correlation .1 and .2); in lapses that last two or three
landings on average. Nothing was fitted on these draws; 95 of 100 intervals should hold the share.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from linecheck.comparison import compare_audits
from linecheck.music.form import Form
from linecheck.share_interval import share_of
from linecheck.steps import audit
from linecheck.terms import STEPS_PER_BEAT, Chart, Take, TakeNote, TempoMap
from tests.synthetic.charts import named_charts, scale
from tests.synthetic.lines import LineNote, WalkingStyle, monophonic, walk

if TYPE_CHECKING:
    from collections.abc import Callable

MODES = ("independent", "correlated .1", "correlated .2", "lapses of 2", "lapses of 3")
SHARES = (0.3, 0.5, 0.7, 0.9, 0.97)
CHORUSES = (1, 2, 3, 4, 6)
BEAT_S = 0.4
SHOWS_ALL = WalkingStyle(outside=0, rest=0, push=0, ghosts=0, ornament=0)


def drawn(rng: np.random.Generator, mode: str, share: float, landings: int) -> list[bool]:
    """Which landings of one chorus are kept."""
    how, _, size = mode.rpartition(" ")
    if how == "lapses of":
        leave = 1 / int(size)
        enter = min(1.0, leave * (1 - share) / share)
        kept = [bool(rng.random() < share)]
        while len(kept) < landings:
            stays = rng.random() >= enter if kept[-1] else rng.random() < leave
            kept.append(bool(stays))
        return kept
    own = share
    if how == "correlated":
        precision = 1 / float(size) - 1
        own = rng.beta(share * precision, (1 - share) * precision)
    return [bool(k) for k in rng.random(landings) < own]


# ---- whole takes -----------------------------------------------------------------------------


def soloed(
    form: Form, chorus: int, rng: np.random.Generator, kept: Callable[[int], list[bool]]
) -> tuple[list[LineNote], list[bool]]:
    """A solo chorus in eighths over a form, and which landings it keeps."""
    begin = chorus * form.steps
    keeps = kept(len(form.landings))
    at_landing = {begin + step: keep for step, keep in zip(form.landings, keeps, strict=True)}
    line: list[LineNote] = []
    now = int(rng.integers(48, 56))
    for step in range(begin, begin + form.steps, 6):
        if step not in at_landing and step % 24 == 12 and rng.random() < 0.6:
            continue  # an off-beat stands alone: no walking
        chord = form.chord(step)
        assert chord is not None
        tones = {tone.pitch_class for tone in chord.tones}
        wanted = set(scale(chord)) if step not in at_landing else tones
        if step in at_landing and not at_landing[step]:
            wanted = set(range(12)) - tones
        near = [p for p in range(now - 7, now + 8) if p % 12 in wanted and 40 <= p <= 64]
        now = int(rng.choice(near or [48 + min(wanted)]))
        line.append(LineNote(step, step + 6, now, 80))
    return line, keeps


def take_of(line: list[LineNote]) -> Take:
    """The line played to the click of its file, one quarter note a beat."""
    notes = []
    for note in line:
        at, length = note.step / STEPS_PER_BEAT, (note.end_step - note.step) / STEPS_PER_BEAT
        notes.append(TakeNote(at * BEAT_S, length * BEAT_S, note.pitch, note.velocity, at, length))
    return Take("synthetic.mid", "played", tuple(notes), TempoMap((0.0,), (0.0,), (BEAT_S,)))


def whole_take(
    chart: Chart, solos: int, share: float, mode: str, rng: np.random.Generator
) -> tuple[Take, tuple[int, ...], tuple[int, ...]]:
    """A take of two walking choruses and some of solo; the numbers of both."""
    form = Form(chart)
    line = walk(form, 0, 2 * form.steps, rng, SHOWS_ALL)
    for chorus in range(2, 2 + solos):
        line += soloed(form, chorus, rng, lambda n: drawn(rng, mode, share, n))[0]
    return take_of(monophonic(line)), (1, 2), tuple(range(3, 3 + solos))


def in_takes(takes: int, rng: np.random.Generator) -> None:
    charts = [c for c in named_charts() if {b.meter.unit for b in c.bars} == {4} and not c.intro]
    print("\nwhole takes: intervals that hold the share, mean width; choruses told apart")
    for mode in (MODES[0], MODES[1], MODES[4]):
        row = f"  {mode:<14}"
        for share in (0.5, 0.8, 0.95):
            for solos in (1, 3):
                held, width, apart = 0, 0.0, 0
                for _ in range(takes):
                    chart = charts[int(rng.integers(len(charts)))]
                    take, walked, solo = whole_take(chart, solos, share, mode, rng)
                    found = audit(chart, take, click=True, first_beat_one="1")
                    styles = found.labels.styles
                    apart += all(styles[n - 1] == "solo" for n in solo)
                    kept = compare_audits(found, walking=walked, solo=solo).carried[0].kept
                    held += kept.low <= share <= kept.high
                    width += kept.high - kept.low
                row += (
                    f"  {share}/{solos}: {held / takes:.2f} {width / takes:.2f} {apart / takes:.2f}"
                )
        print(row)


def in_counts(draws: int, rng: np.random.Generator) -> None:
    print("counts: intervals that hold the share / mean width, by share")
    print(f"  {'':<14} choruses  " + "  ".join(f"{share:>9}" for share in SHARES))
    for mode in MODES:
        for choruses in CHORUSES:
            row = []
            for share in SHARES:
                held, width = 0, 0.0
                for _ in range(draws):
                    found = share_of([
                        (sum(drawn(rng, mode, share, n)), n)
                        for n in rng.integers(9, 15, choruses).tolist()
                    ])  # fmt: skip
                    held += found.low <= share <= found.high
                    width += found.high - found.low
                row.append(f"{held / draws:.3f}/{width / draws:.2f}")
            print(f"  {mode:<14} {choruses:>8}  {'  '.join(row)}")


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("--takes", type=int, default=60)
    options.add_argument("--counts", type=int, default=1000)
    options.add_argument("--seed", type=int, default=1)
    given = options.parse_args()
    rng = np.random.default_rng(given.seed)
    in_counts(given.counts, rng)
    in_takes(given.takes, rng)


if __name__ == "__main__":
    main()
