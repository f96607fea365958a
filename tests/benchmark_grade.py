"""What grading a folder costs for each take, against a bare mido parse of each take.

    python tests/benchmark_grade.py --takes 1000

The run is a whole process of ``linecheck grade`` on takes of 12 choruses, each with notes of its
own, without reports; the parse is one process that reads all takes with mido. On a machine that
does other things as well wall times say little: quoted is processor time, of all processes of the
run together and shared by its cores, start and writing included, and beside it the wall time. The
most memory is that of all its processes (PSS: what several share is counted once; Linux).
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import mido

sys.path.insert(0, str(Path(__file__).parent.parent))
from tests.benchmark import CHART, LINE, PPQ

MIDO = """
import sys, time, pathlib, mido
files = sorted(pathlib.Path(sys.argv[1]).glob('*.mid'))
begun = time.process_time()
for file in files:
    mido.MidiFile(file)
print((time.process_time() - begun) / len(files))
"""
AUDIT = """
import gc, os, sys, time, pathlib
os.environ["OPENBLAS_NUM_THREADS"] = "1"  # as the program does
from linecheck import steps
gc.set_threshold(200_000)
folder = pathlib.Path(sys.argv[1])
chart = steps.read_chart(folder / 'chart.toml')
files = sorted(folder.glob('*.mid'))[:100]
rubric = steps.read_rubric(None)
steps.audit(chart, files[0], rubric=rubric)
begun = time.process_time()
for file in files:
    steps.audit(chart, file, rubric=rubric)
print((time.process_time() - begun) / len(files))
"""


def write_folder(folder: Path, takes: int, choruses: int = 12) -> None:
    """A chart and so many takes to a click, no two of them alike."""
    (folder / "chart.toml").write_text(CHART, encoding="utf-8")
    for number in range(takes):
        track = mido.MidiTrack()
        file = mido.MidiFile(type=1, ticks_per_beat=PPQ)
        file.tracks.append(track)
        track.append(mido.MetaMessage("track_name", name="Bass"))
        track.append(mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(120 + number % 40)))
        last = 0
        for index in range(choruses * len(LINE) * 4):
            pitch = LINE[index // 4 % len(LINE)][index % 4]
            if (index * 31 + number * 17) % 97 == 0:  # now and then another note
                pitch += 1 + number % 3
            start = index * PPQ + ((index * 37 + number * 13) % 11 - 5) * 2 * bool(index)
            track.append(mido.Message("note_on", note=pitch, velocity=80, time=start - last))
            track.append(mido.Message("note_off", note=pitch, velocity=0, time=400))
            last = start + 400
        file.save(folder / f"student{number:05}.mid")


def processes(root: int) -> set[int]:
    """A process and all that it has started."""
    parents = {}
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                stat = (entry / "stat").read_text().rpartition(")")[2].split()
            except OSError:
                continue
            parents[int(entry.name)] = int(stat[1])
    found = {root}
    while True:
        more = {pid for pid, parent in parents.items() if parent in found} - found
        if not more:
            return found
        found |= more


def memory_mb(pids: set[int]) -> float:
    """Proportional set size of some processes together."""
    total = 0
    for pid in pids:
        try:
            text = Path(f"/proc/{pid}/smaps_rollup").read_text()
        except OSError:
            continue
        total += sum(int(x.split()[1]) for x in text.splitlines() if x.startswith("Pss:"))
    return total / 1000


def cpu_s(pids: set[int]) -> dict[int, float]:
    """Processor time of some processes so far, without their children."""
    tick = os.sysconf("SC_CLK_TCK")
    found = {}
    for pid in pids:
        try:
            stat = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
        except OSError:
            continue
        found[pid] = (int(stat[11]) + int(stat[12])) / tick
    return found


def run(command: list[str]) -> tuple[float, float, float]:
    """Wall time, processor time and most memory of a command and all that it starts."""
    begun = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    most, used = 0.0, dict[int, float]()
    while process.poll() is None:
        pids = processes(process.pid)
        most = max(most, memory_mb(pids))
        used |= cpu_s(pids)
        time.sleep(0.5)  # to look costs as well
    wall = time.perf_counter() - begun
    if process.returncode:
        raise SystemExit(f"{command} ended with {process.returncode}")
    return wall, sum(used.values()), most


def printed(code: str, folder: str) -> float:
    """The figure that a script prints."""
    done = subprocess.run(
        [sys.executable, "-c", code, folder], check=True, capture_output=True, text=True
    )
    return float(done.stdout)


def main() -> None:
    """Print the figures."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--takes", type=int, default=1000)
    options.add_argument("--jobs", type=int, default=2)
    args = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        write_folder(Path(folder), args.takes)
        grade = [sys.executable, "-m", "linecheck", "grade", folder, "--jobs", str(args.jobs)]
        parse = printed(MIDO, folder)
        audit = printed(AUDIT, folder)
        wall, cpu, most = run(grade)
        parse = (parse + printed(MIDO, folder)) / 2
        again, cpu_again, _ = run(grade)
        takes = args.takes
        print(f"{takes} takes of 12 choruses, {args.jobs} processes")
        print(f"run / mido parse, a take:      {cpu / args.jobs / takes / parse:.2f}", end="")
        print(f" (by the wall {wall / takes / parse:.2f})")
        print(f"audit alone / mido parse:      {audit / parse:.2f} on one core")
        print(f"run / audit alone, a take:     {cpu / takes / audit:.2f}")
        print(f"the same folder again, a take: {1000 * cpu_again / takes:.2f} ms", end="")
        print(f" (by the wall {1000 * again / takes:.2f} ms)")
        print(f"most memory:                   {most:.0f} MB")
        print(f"a mido parse took {1000 * parse:.2f} ms, an audit {1000 * audit:.2f} ms")


if __name__ == "__main__":
    main()
