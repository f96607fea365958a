"""Make the sample reports in reports/, the screens in tests/screens/ and README.md's again.

    python tests/renew_reports.py

Read the diff before it is committed: the tests hold every report to these files.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(HERE))

from linecheck import audit, command_line  # noqa: E402
from linecheck.demo import demo_takes  # noqa: E402
from linecheck.report import WRITERS  # noqa: E402
from linecheck.report.course_picture import course_picture  # noqa: E402
from linecheck.report.engraving import engrave  # noqa: E402
from linecheck.report.feel_picture import feel_picture  # noqa: E402
from linecheck.report.form_map_picture import form_map_picture  # noqa: E402
from linecheck.report.labelled_score import ScoreDrawing  # noqa: E402
from linecheck.report.markup import Safe  # noqa: E402
from linecheck.report.picture import PAPER  # noqa: E402
from linecheck.report.score_marks import mark_symbols  # noqa: E402

REPORTS = HERE / "reports"
SCREENS = HERE / "tests" / "screens"
README = HERE / "README.md"
TUNES = HERE / "demo_tunes"

# The takes whose report is also kept in other formats.
OTHER_FORMATS: dict[str, tuple[str, ...]] = {
    "oskar": ("json", "csv"),
    "paola": ("html", "musicxml"),
    "juno": ("html",),
    "tomasz": ("pdf",),
}
PICTURED = "tomasz"
HELP = {
    "help": ("--help",),
    "audit_help": ("audit", "--help"),
    "compare_help": ("compare", "--help"),
    "reference_help": ("reference", "--help"),
    "chart_help": ("chart", "--help"),
    "progress_help": ("progress", "--help"),
    "grade_help": ("grade", "--help"),
    "demo_help": ("demo", "--help"),
    "demo_list": ("demo", "--list"),
    "drill_help": ("drill", "--help"),
    "fingering_help": ("fingering", "--help"),
}
# A line with its suggested fingering: take → the formats that are kept.
FINGERED = {"bram": ("musicxml",), "juno": ()}
# A practice plan out of a take: take → the files that are kept beside it.
DRILLED = {"oskar": (), "tomasz": ("midi", "musicxml", "html")}
CHARTS = ("brass_kettle", "harbour_gate")
REFERENCE = (
    "reference", "takes/tollgate_mira.mid", "takes/tollgate_oskar.mid",
    "--chart", "charts/tollgate_shuffle.toml",
)  # fmt: skip
COMPARED = ("compare", "charts/lamp_oil.toml", "takes/lamp_oil_edda.mid")
README_OUTPUT = re.compile(r"(<!-- output of: linecheck (.*?) -->\n```text\n).*?(```\n)", re.DOTALL)


def main() -> None:
    REPORTS.mkdir(exist_ok=True)
    for name, content in all_reports().items():
        (REPORTS / name).write_bytes(content)
        print(f"reports/{name}: {len(content)} bytes")
    SCREENS.mkdir(exist_ok=True)
    for name, screen in all_screens().items():
        (SCREENS / name).write_text(screen, encoding="utf-8")
    README.write_text(renewed_readme(), encoding="utf-8")


def all_reports() -> dict[str, bytes]:
    """File name → content of every sample report."""
    made: dict[str, bytes] = {}
    for take in demo_takes():
        chart, line = (path.relative_to(TUNES).as_posix() for path in (take.chart, take.take))
        made[f"{take.name}.txt"] = printed("audit", chart, line).encode()
        for kind in OTHER_FORMATS.get(take.name, ()):
            made[f"{take.name}.{kind}"] = written("audit", chart, line, f"--{kind}")
        for kind in FINGERED.get(take.name, ()):
            made[f"{take.name}_fingering.{kind}"] = written("fingering", line, f"--{kind}")
        if take.name in FINGERED:
            made[f"{take.name}_fingering.txt"] = printed("fingering", line).encode()
        for kind in DRILLED.get(take.name, ()):
            suffix = "mid" if kind == "midi" else kind
            made[f"{take.name}_drill.{suffix}"] = written("drill", chart, line, f"--{kind}")
        if take.name in DRILLED:
            made[f"{take.name}_drill.txt"] = printed("drill", chart, line).encode()
    made |= pictures()
    made["tollgate_reference.txt"] = printed(*REFERENCE).encode()
    made["tollgate_reference.json"] = written(*REFERENCE, "--json")
    made["edda_compared.txt"] = printed(*COMPARED).encode()
    for kind in ("json", "html"):
        made[f"edda_compared.{kind}"] = written(*COMPARED, f"--{kind}")
    for name in CHARTS:
        made[f"{name}_chart.txt"] = printed("chart", f"charts/{name}.toml").encode()
        made[f"{name}_chart.json"] = written("chart", f"charts/{name}.toml", "--json")
    return made


def pictures() -> dict[str, bytes]:
    """The pictures of one take that the README shows, each a file of its own."""
    take = next(take for take in demo_takes() if take.name == PICTURED)
    found = audit(take.chart, take.take)
    engraving = engrave(found)
    defs = Safe("".join(engraving.glyphs.values()) + mark_symbols())
    drawing = ScoreDrawing(found, controls=False, ids=False)
    lost = found.line.losses[0].step
    systems = [
        svg
        for chorus in engraving.choruses
        for svg, system in zip(drawing.systems(chorus, defs, PAPER), chorus.systems, strict=True)
        if system.bars[0].bar.step <= lost < system.bars[-1].bar.step + system.bars[-1].bar.steps
    ]
    made = {
        "score": systems[0],
        "course": course_picture(found, setting="file"),
        "form": form_map_picture(found, setting="file"),
        "feel": feel_picture(found, setting="file"),
    }
    return {f"{PICTURED}_{name}.svg": f"{svg}\n".encode() for name, svg in made.items()}


def all_screens() -> dict[str, str]:
    """File name → what is on the screen, of help and lists."""
    return {f"{name}.txt": printed(*arguments) for name, arguments in HELP.items()}


def renewed_readme() -> str:
    """README.md with the output of its commands as it is now."""
    return README_OUTPUT.sub(
        lambda found: found[1] + printed(*found[2].split()) + found[3], README.read_text("utf-8")
    )


def printed(*arguments: str) -> str:
    """What a command prints, run in the folder of the demo tunes."""
    out = io.StringIO()
    with in_folder(TUNES), contextlib.redirect_stdout(out):
        status = command_line.run(arguments)
    if status != 0:
        raise RuntimeError(f"linecheck {' '.join(arguments)} ended with {status}")
    return out.getvalue()


def written(*arguments: str) -> bytes:
    """What a command writes to the file that its last option names."""
    file = REPORTS / f"renewed{os.getpid()}"
    try:
        printed(*arguments, str(file))
        return file.read_bytes()
    finally:
        file.unlink(missing_ok=True)


def formats_without_a_sample() -> set[str]:
    """The formats that no sample is kept of."""
    kept = {kind for kinds in OTHER_FORMATS.values() for kind in kinds}
    return {writer.option for writer in WRITERS} - kept


@contextlib.contextmanager
def in_folder(folder: Path):
    before = Path.cwd()
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)


if __name__ == "__main__":
    main()
