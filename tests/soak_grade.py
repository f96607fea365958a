"""Grade an archive: thousands of takes, some of them broken in twenty ways, some of them twice.

    python tests/soak_grade.py --takes 10000

Every broken file has to be a row with its reason, in the way in which it was broken, and every
other has to be graded; the second run must audit nothing, and a third, by another rubric, must
give each take the commitment that it gets alone (on a sample). Prints the figures, and ends with
status 1 where any of this does not hold.
"""

from __future__ import annotations

import argparse
import csv
import random
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

HERE = Path(__file__).parent.parent
sys.path.insert(0, str(HERE))
from linecheck import steps  # noqa: E402
from tests.benchmark_grade import run, write_folder  # noqa: E402

SHARE_BROKEN = 0.02
RUBRIC = 'name = "Form first"\n[weights]\nform = 70\nlandings = 20\npurpose = 10\n'


def broken(take: Path, way: int) -> Path:  # noqa: PLR0912, C901  (twenty ways)
    """Break a take in one of twenty ways; the file that it is then."""
    content = take.read_bytes()
    middle = len(content) // 2
    if way == 0:
        take.write_bytes(b"")
    elif way == 1:
        take.write_bytes(content[:10])
    elif way == 2:
        take.write_bytes(content[:middle])
    elif way == 3:
        take.write_bytes(content[:-1])
    elif way == 4:
        take.write_bytes(b"\0" * len(content))
    elif way == 5:
        take.write_bytes(content[4:])
    elif way == 6:
        take.write_bytes(content[:8] + b"\0\7" + content[10:])
    elif way == 7:
        take.write_bytes(content[:12] + b"\0\0" + content[14:])
    elif way == 8:
        take.write_bytes(content.replace(b"MTrk", b"MTrx"))
    elif way == 9:
        take.write_bytes(b"this is a letter to my teacher, and no take\n" * 20)
    elif way == 10:
        take.write_bytes(b"<html><body>404 not found</body></html>")
    elif way == 11:
        take.write_bytes(b"PK\3\4" + random.Random(way).randbytes(900))
    elif way == 12:
        take.write_bytes(content[:22] + b"\xff" * 60 + content[82:])
    elif way == 13:
        take.write_bytes(content[:14])
    elif way == 14:
        take.write_bytes(content[:10] + b"\0\0" + content[12:14])
    elif way == 15:
        take.unlink()
        take.symlink_to("nowhere.mid")
    elif way == 16:
        take.write_bytes(_without_notes(content))
    elif way in (17, 18, 19):
        suffix = {17: ".musicxml", 18: ".abc", 19: ".mxl"}[way]
        text = {17: b"<score-partwise><part>", 18: b"X:1\nK:C\n", 19: b"PK\5\6" + b"\0" * 18}[way]
        take.unlink()
        take = take.with_suffix(suffix)
        take.write_bytes(text)
    return take


def _without_notes(content: bytes) -> bytes:
    track = b"\0\xff\x2f\0"
    return content[:14] + b"MTrk" + len(track).to_bytes(4, "big") + track


def grade(folder: Path, out: Path, *more: str) -> tuple[float, float]:
    """Seconds and megabytes of a run."""
    command = [sys.executable, "-m", "linecheck", "grade", str(folder), "--out", str(out), *more]
    wall, _, most = run([*command, "--jobs", "2", "--quiet"])
    return wall, most


def rows(out: Path) -> dict[str, dict[str, str]]:
    """Take → its row."""
    with (out / "grades.csv").open(encoding="utf-8", newline="") as file:
        return {row["take"]: row for row in csv.DictReader(file)}


def main() -> None:
    """Print the figures."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--takes", type=int, default=10_000)
    options.add_argument("--choruses", type=int, default=3)
    args = options.parse_args()
    wrong = []
    with tempfile.TemporaryDirectory() as work:
        folder, out = Path(work) / "archive", Path(work) / "out"
        folder.mkdir()
        write_folder(folder, args.takes, args.choruses)
        takes = sorted(folder.glob("*.mid"))
        chosen = random.Random(5).sample(takes, max(20, round(args.takes * SHARE_BROKEN)))
        ways = {broken(take, n % 20).name: n % 20 for n, take in enumerate(chosen)}
        wall, most = grade(folder, out)
        found = rows(out)
        graded = {name for name, row in found.items() if row["commitment"]}
        reasons: dict[int, Counter[str]] = {}
        for name, way in ways.items():
            reasons.setdefault(way, Counter())[found[name]["reason"][:70]] += 1
        wrong += [f"{name} was broken and is graded" for name in sorted(graded & set(ways))]
        wrong += [
            f"{name} is whole and refused: {row['reason']}"
            for name, row in found.items()
            if name not in ways and name not in graded
        ]
        if len(found) != args.takes:
            wrong.append(f"{args.takes} takes, {len(found)} rows")
        begun = time.perf_counter()
        said = subprocess.run(
            [sys.executable, "-m", "linecheck", "grade", str(folder), "--out", str(out)],
            check=True, capture_output=True, text=True, cwd=HERE,
        ).stdout  # fmt: skip
        again = time.perf_counter() - begun
        if "; 0 audited now" not in said.replace("\n", " "):
            wrong.append("the second run audited something: " + said.splitlines()[0])
        rubric = Path(work) / "form_first.toml"
        rubric.write_text(RUBRIC, encoding="utf-8")
        regrade, _ = grade(folder, out, "--rubric", str(rubric))
        regraded = rows(out)
        chart = steps.read_chart(folder / "chart.toml")
        for name in random.Random(6).sample(sorted(graded), 100):
            alone = steps.audit(chart, folder / name, rubric=rubric).judgement.commitment
            if float(regraded[name]["commitment"]) != round(alone, 2):
                wrong.append(f"{name} is regraded to {regraded[name]['commitment']}, not {alone}")
    print(f"{args.takes} takes of {args.choruses} choruses, {len(ways)} of them broken")
    print(f"first run {wall:.0f} s, {most:.0f} MB; again {again:.0f} s; new rubric {regrade:.0f} s")
    for way, told in sorted(reasons.items()):
        print(f"  {way:>2}: {'; '.join(told)}")
    print("\n".join(wrong) or "every broken take is a row with its reason, every other is graded")
    sys.exit(bool(wrong))


if __name__ == "__main__":
    main()
