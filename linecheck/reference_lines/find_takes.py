"""The takes that are named or lie in a folder, each with its chart.

A file that is named is a take. In a folder, and in the folders within it, every file with the
suffix of a take is one, unless it is the chart of another. The chart of a take stands beside it
under its name.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from linecheck.faults import ReferenceFault
from linecheck.read import CHART_FORMATS, TAKE_FORMATS

if TYPE_CHECKING:
    from collections.abc import Sequence
    from os import PathLike

__all__ = ["FoundTake", "find_takes"]


class FoundTake(NamedTuple):
    """A take, its chart (None where one was given for all), and whether it lay in a folder."""

    take: Path
    chart: Path | None
    of_folder: bool


def find_takes(named: Sequence[str | PathLike[str]], *, given_chart: bool) -> list[FoundTake]:
    """All takes, in the order in which they are named, those of a folder by their names.

    Raises:
        ReferenceFault: a name is neither, a take has no chart, or there is no take.
    """
    found: list[FoundTake] = []
    for name in named:
        path = Path(name)
        if path.is_dir():
            found.extend(_in_folder(path, given_chart=given_chart))
            continue
        chart = None if given_chart else _chart_of(path)
        if chart is None and not given_chart:
            raise ReferenceFault(
                f"has no chart beside it; {path.stem}.toml was expected, or --chart for all takes",
                source=str(path),
            )
        found.append(FoundTake(path, chart, of_folder=False))
    return list({take.take.resolve(): take for take in reversed(found)}.values())[::-1]


def _in_folder(folder: Path, *, given_chart: bool) -> list[FoundTake]:
    takes = [
        path
        for path in sorted(folder.rglob("*"))
        if path.suffix.lower() in TAKE_FORMATS and path.is_file()
    ]
    charts = {path: _chart_of(path) for path in takes}
    used = {chart for chart in charts.values() if chart is not None}
    found = [
        FoundTake(path, None if given_chart else charts[path], of_folder=True)
        for path in takes
        if given_chart or (charts[path] is not None and path not in used)
    ]
    if not found:
        what = "holds no take" if not takes else "holds no take with a chart beside it"
        raise ReferenceFault(
            f"{what}; a chart beside each take under its name was expected, or --chart for all",
            source=str(folder),
        )
    return found


def _chart_of(take: Path) -> Path | None:
    """The chart beside a take: the first of the chart suffixes that is not the take itself."""
    for suffix in CHART_FORMATS:
        chart = take.with_suffix(suffix)
        if chart != take and chart.is_file():
            return chart
    return None
