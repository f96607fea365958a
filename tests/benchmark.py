"""What an audit costs against a bare mido parse of the same file, as ratios within one run.

    python tests/benchmark.py            # whole processes, interpreter start included in both
    python tests/benchmark.py --choruses 20 200 2000 --runs 7
    python tests/benchmark.py --in-process    # processor time of audit() and of mido, 12 choruses

Ratios are quoted and not seconds, since machines differ. A ratio is the median over pairs of
runs taken in turn. Growth is the cost of the audit per chorus against that of the first size.
"""

from __future__ import annotations

import argparse
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

import mido

if TYPE_CHECKING:
    from collections.abc import Callable

CHART = """
title = "Benchmark Blues"
key = "F"
form = ["A"]
[sections]
A = "| F7 | Bb7 | F7 | Cm7 F7 | Bb7 | Bdim7 | F7 | Am7b5 D7b9 | Gm7 | C7 | F7 D7 | Gm7 C7 |"
"""
# One chorus, a bar a row, MIDI numbers (E1 = 28).
LINE = (
    (29, 33, 36, 33),
    (34, 38, 41, 40),
    (41, 36, 33, 35),
    (36, 34, 29, 33),
    (34, 32, 29, 33),
    (35, 38, 41, 40),
    (41, 39, 36, 34),
    (33, 36, 38, 42),
    (43, 41, 38, 37),
    (36, 40, 43, 40),
    (41, 36, 38, 42),
    (43, 38, 36, 28),
)
PPQ = 480


def write_take(path: Path, choruses: int, *, free: bool) -> None:
    """A take to a click, or one whose tempo wanders by 8 % in a file of constant tempo."""
    track = mido.MidiTrack()
    file = mido.MidiFile(type=1, ticks_per_beat=PPQ)
    file.tracks.append(track)
    track.append(mido.MetaMessage("track_name", name="Bass"))
    track.append(mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(132)))
    at, last = 0.0, 0
    for index in range(choruses * len(LINE) * 4):
        pitch = LINE[index // 4 % len(LINE)][index % 4]
        start = round(at) + ((index * 37 % 11 - 5) * 2 if index else 0)  # played, not typed
        track.append(mido.Message("note_on", note=pitch, velocity=80, time=start - last))
        track.append(mido.Message("note_off", note=pitch, velocity=0, time=400))
        last = start + 400
        at += PPQ * (0.96 + 0.08 * abs(index % 192 - 96) / 96 if free else 1.0)
    file.save(path)


def seconds(command: list[str]) -> float:
    """Wall time of one whole process."""
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def processor_ms(job: Callable[[], object], runs: int) -> float:
    """The median processor time of a job within this process."""
    spent = []
    for _ in range(runs):
        start = time.process_time()
        job()
        spent.append(time.process_time() - start)
    return statistics.median(spent) * 1000


def in_process(folder: Path, runs: int) -> None:
    """Print what an audit costs once everything is loaded, the chart read."""
    from linecheck import steps

    chart = steps.read_chart(folder / "chart.toml")
    print(f"{'take':<7}{'choruses':>9}{'audit / mido parse':>20}{'audit ms':>12}")
    for kind in ("click", "free"):
        take = folder / f"{kind}.mid"
        write_take(take, 12, free=kind == "free")
        steps.audit(chart, take)
        audit = processor_ms(lambda take=take: steps.audit(chart, take), 3 * runs)
        parse = processor_ms(lambda take=take: mido.MidiFile(take), 3 * runs)
        print(f"{kind:<7}{12:>9}{audit / parse:>20.2f}{audit:>12.1f}")


def main() -> None:
    """Print a row for each kind and length of take."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--choruses", type=int, nargs="+", default=[20, 200, 2000])
    options.add_argument("--runs", type=int, default=5)
    options.add_argument("--in-process", action="store_true")
    args = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        chart = Path(folder) / "chart.toml"
        chart.write_text(CHART, encoding="utf-8")
        if args.in_process:
            in_process(Path(folder), args.runs)
            return
        print(
            f"{'take':<7}{'choruses':>9}{'audit / mido parse':>20}{'s a chorus':>12}{'growth':>8}"
        )
        for kind in ("click", "free"):
            first = 0.0
            for choruses in args.choruses:
                take = Path(folder) / f"{kind}{choruses}.mid"
                write_take(take, choruses, free=kind == "free")
                parse = [sys.executable, "-c", f"import mido; mido.MidiFile({str(take)!r})"]
                run = [sys.executable, "-m", "linecheck", "audit", str(chart), str(take)]
                seconds(parse)
                seconds(run)
                pairs = [(seconds(run), seconds(parse)) for _ in range(args.runs)]
                ratio = statistics.median(a / b for a, b in pairs)
                each = statistics.median(a for a, _ in pairs) / choruses
                first = first or each
                print(f"{kind:<7}{choruses:>9}{ratio:>20.2f}{each:>12.5f}{each / first:>8.2f}")


if __name__ == "__main__":
    main()
