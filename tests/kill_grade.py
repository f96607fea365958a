"""Kill a run of ``linecheck grade`` at random moments, let it go on, and compare what it writes.

    python tests/kill_grade.py --kills 50 --takes 200

Each run is ended by SIGKILL after a time drawn by lot, up to the time that a whole run takes; then
the next goes on. A run that comes to its end before is compared and cleared away, so that kills fall
into every phase. Every file written in the end has to be that of a run that was never killed, to the
byte, and no process may be left over.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).parent.parent
sys.path.insert(0, str(HERE))
from linecheck.journal import JOURNAL_NAME, entries  # noqa: E402
from tests.benchmark_grade import write_folder  # noqa: E402


def command(folder: Path, out: Path, *more: str) -> list[str]:
    """The command line of a run."""
    run = [sys.executable, "-m", "linecheck", "grade", str(folder), "--out", str(out)]
    return [*run, "--jobs", "2", "--quiet", *more]


def written(out: Path) -> dict[str, bytes]:
    """File → content of all that a run wrote, but for the kept audits; of a journal its entries."""
    return {
        str(path.relative_to(out)): repr(entries(path)).encode()
        if path.name == JOURNAL_NAME
        else path.read_bytes()
        for path in sorted(out.rglob("*"))
        if path.is_file() and "audits" not in path.relative_to(out).parts
    }


def kill_at_random(folder: Path, work: Path, kills: int, seed: int) -> tuple[int, list[str]]:
    """How many runs it took until so many were killed on the way, and what is wrong in the end."""
    begun = time.perf_counter()
    subprocess.run(command(folder, work / "whole"), check=True, cwd=HERE)
    whole = time.perf_counter() - begun
    lot = random.Random(seed)
    runs, killed, wrong = 0, 0, list[str]()
    expected = written(work / "whole")
    mark = f"KILL_GRADE={seed}-{os.getpid()}-{time.time_ns()}"
    environment = {**os.environ, **dict([mark.split("=")])}
    while killed < kills:
        runs += 1
        run = subprocess.Popen(command(folder, work / "killed"), cwd=HERE, env=environment)
        try:
            run.wait(lot.uniform(0.1, whole))
        except subprocess.TimeoutExpired:
            run.send_signal(signal.SIGKILL)
            run.wait()
            killed += 1
        else:
            wrong += differences(expected, written(work / "killed"))
            shutil.rmtree(work / "killed")
    subprocess.run(command(folder, work / "killed"), check=True, cwd=HERE)
    wrong += differences(expected, written(work / "killed"))
    deadline = time.monotonic() + 10
    while (left := marked(mark)) and time.monotonic() < deadline:
        time.sleep(0.2)
    wrong += [f"process {pid} is left over" for pid in sorted(left)]
    return runs, wrong


def differences(expected: dict[str, bytes], found: dict[str, bytes]) -> list[str]:
    """What differs between the files of two runs."""
    names = sorted({*expected, *found})
    return [f"{name} differs" for name in names if expected.get(name) != found.get(name)]


def marked(mark: str) -> set[int]:
    """The processes on this machine with that mark in their environment."""
    found = set()
    for entry in Path("/proc").iterdir():
        with contextlib.suppress(OSError):
            if entry.name.isdigit() and mark.encode() in (entry / "environ").read_bytes():
                found.add(int(entry.name))
    return found


def main() -> None:
    """Print what came of it."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--kills", type=int, default=50)
    options.add_argument("--takes", type=int, default=200)
    options.add_argument("--seed", type=int, default=1)
    args = options.parse_args()
    with tempfile.TemporaryDirectory() as work:
        folder = Path(work) / "class"
        folder.mkdir()
        write_folder(folder, args.takes)
        runs, wrong = kill_at_random(folder, Path(work), args.kills, args.seed)
    print(f"{runs} runs, {args.kills} of them killed on the way")
    print("\n".join(wrong) or "all that was written is the same to the byte, nothing is left over")
    sys.exit(bool(wrong))


if __name__ == "__main__":
    main()
