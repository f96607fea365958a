"""Measure fingerings: what they cost in time, and how much they shift.

    python tests/measure_fingering.py

Random lines of E1 to G3, twenty choruses of 32 bars of 4/4; the demo takes; the basses of chorales
of music21's corpus (public domain), an octave and a half above what a bass player has most.
"""

from __future__ import annotations

import random
import sys
import time
from pathlib import Path

import music21

HERE = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(HERE))

import linecheck  # noqa: E402
from linecheck.left_hand import finger_line, read_costs  # noqa: E402
from linecheck.left_hand.tuning import read_bass  # noqa: E402
from linecheck.terms import TakeNote  # noqa: E402

CHORALES = 60
TAKES = HERE / "demo_tunes" / "takes"


def walking(choruses: int, seed: int) -> list[TakeNote]:
    """A line by steps and leaps, a quarter note at a time, at 160 a minute."""
    rng = random.Random(seed)
    notes, pitch = [], 36
    for index in range(choruses * 32 * 4):
        pitch = min(55, max(28, pitch + rng.choice((-7, -5, -3, -2, -1, 1, 2, 3, 4, 5))))
        notes.append(TakeNote(index * 0.375, 0.34, pitch, 80))
    return notes


def main() -> None:
    bass, costs = read_bass("fourths"), read_costs()
    for choruses in (20, 200):
        notes = walking(choruses, 1)
        times = []
        for _ in range(3):
            begun = time.process_time()
            finger_line(notes, bass, costs)
            times.append(time.process_time() - begun)
        print(f"{choruses} choruses, {len(notes)} notes: {min(times):.2f} s with all other ways")
    for file in sorted(TAKES.iterdir()):
        show(file.name, linecheck.fingering(file))
    folder = Path(music21.__file__).parent / "corpus" / "bach"
    basses = []
    for file in sorted(folder.glob("bwv*.mxl"))[:CHORALES]:
        try:
            basses.append(linecheck.fingering(file, track="Bass"))
        except linecheck.TakeFault:
            continue
    notes = sum(len(found.notes) for found in basses)
    print(
        f"{len(basses)} chorale basses: {notes} notes, {sum(f.shifts for f in basses)} shifts, "
        f"{sum(f.pivots for f in basses)} pivots, {sum(f.open_strings for f in basses)} open, "
        f"{sum(f.out_of_reach for f in basses)} out of reach; without pivots "
        f"{sum(f.other_ways[2].shifts for f in basses)} shifts"
    )


def show(name: str, found: linecheck.Fingering) -> None:
    ways = ", ".join(f"{way.name} {way.shifts}" for way in found.other_ways)
    print(
        f"{name}: {len(found.notes)} notes, {found.shifts} shifts, {found.pivots} pivots, "
        f"{found.crossings} crossed, {found.open_strings} open, {found.high} high; shifts of other ways: {ways}"
    )


if __name__ == "__main__":
    main()
