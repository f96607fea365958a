"""Which files of a folder are takes, whose they are, and which chart belongs to each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.grade.terms import Submission
from linecheck.read import TAKE_FORMATS

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["find_submissions"]


def find_submissions(folder: Path, chart: Path | None = None) -> list[Submission]:
    """The submissions of a folder, in the order of class, student and take.

    Args:
        folder: where the takes are.
        chart: the chart of all takes; None: found beside them.
    """
    charts = [chart] if chart else sorted(folder.glob("*.toml"))
    found = []
    for take in sorted(folder.iterdir()):
        if take.suffix.lower() in TAKE_FORMATS and take not in charts:
            own = next((c for c in charts if c.stem == take.stem), None)
            own = own or (charts[0] if len(charts) == 1 else None)
            found.append(Submission(take.stem, "", take, own, take.name, own.name if own else ""))
    return found
