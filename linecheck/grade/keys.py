"""key of a graded take: a hash of all that its grade comes from, but for the rubric.

That is the content of the take and of the chart, how they are read (kind of file, options), and
the program. The program stands in it by the text of its own modules, so that no audit of another
program is ever taken for one of this; equal files and programs give equal keys on any machine.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import astuple
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from linecheck.version import __version__

if TYPE_CHECKING:
    from linecheck.grade.terms import TakeOptions

__all__ = ["content_hash", "program_fingerprint", "take_key"]

# Folders and modules above the steps: no audit comes from them. One that is not named here counts,
# so that a new one may cost an audit too many, and never one too few.
_ABOVE = frozenset(
    (
        "__main__.py",
        "command_line.py",
        "commands",
        "comparison",
        "demo.py",
        "grade",
        "journal",
        "left_hand",
        "output_files.py",
        "practice",
        "reference_lines",
        "report",
        "tables.py",
    )
)
_BUT = "grade/findings.py"  # what is kept of an audit


@cache
def program_fingerprint() -> str:
    """A hash of the version and of every module that an audit comes from."""
    package = Path(__file__).parent.parent
    found = hashlib.sha256(__version__.encode())
    for file in sorted(package.rglob("*.py")):
        name = file.relative_to(package).as_posix()
        if name.partition("/")[0] not in _ABOVE or name == _BUT:
            found.update(f"{name}\n".encode())
            found.update(file.read_bytes())
    return found.hexdigest()


def content_hash(path: Path) -> str:
    """SHA-256 of a file's content.

    Raises:
        OSError: it cannot be read.
    """
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def take_key(take: Path, take_hash: str, chart: Path, chart_hash: str, options: TakeOptions) -> str:
    """The key of a take over a chart.

    Of the files' names the suffix counts, and of a chart's its stem too: a chart without a title
    is called by it.
    """
    parts = (
        program_fingerprint(),
        take.suffix.lower(),
        take_hash,
        chart.name,
        chart_hash,
        astuple(options),
    )
    return hashlib.sha256(json.dumps(parts).encode()).hexdigest()
