"""The takes that are named or lie in a folder, each with its chart.

A file that is named is a take; its chart stands beside it under its name. In a folder, and in the
folders within it, every file with the suffix of a take is one, unless it is the chart of another or
lies in a folder called ``charts``. Its chart is looked for beside it, then in the folders above up
to the named one, each with its ``charts``: one that is called like the take (see
``linecheck.read.nearest_charts``), or the only one there. Where no chart is told by its place or
its name, the only written file of a folder is the chart of the played takes, and every other
written take is read over the chord symbols that it holds itself.
"""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from linecheck.faults import ReferenceFault
from linecheck.read import CHART_FOLDERS, CHART_FORMATS, TAKE_FORMATS
from linecheck.read.chart_toml import is_for_a_chart
from linecheck.read.nearest_charts import NearestCharts, any_of

if TYPE_CHECKING:
    from collections.abc import Sequence
    from os import PathLike

__all__ = ["FoundTake", "find_takes"]


class FoundTake(NamedTuple):
    """A take, its chart, and whether it lay in a folder.

    ``chart`` is None where one was given for all, and else where a written take has none but its
    own chord symbols. ``trouble``: why a file of a folder is no take, or no chart of it was found,
    or "".
    """

    take: Path
    chart: Path | None
    of_folder: bool
    trouble: str = ""


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
        if chart is None and not given_chart and not _is_written(path):
            raise ReferenceFault(
                f"has no chart beside it; {path.stem}.toml was expected, or --chart for all takes",
                source=str(path),
            )
        found.append(FoundTake(path, chart, of_folder=False))
    return list({take.take.resolve(): take for take in reversed(found)}.values())[::-1]


def _in_folder(folder: Path, *, given_chart: bool) -> list[FoundTake]:
    files = [
        path
        for path in sorted(folder.rglob("*"))
        if path.is_file()
        and not any(part.startswith((".", "~$")) for part in path.relative_to(folder).parts)
    ]
    takes = [
        path
        for path in files
        if path.suffix.lower() in TAKE_FORMATS and not _is_for_charts(path.parent, folder)
    ]
    if given_chart:
        found = [FoundTake(path, None, of_folder=True) for path in takes]
    else:
        by_place = _charts_by_place(files, folder)
        only = {} if by_place else _only_written(takes, folder)
        nearest = NearestCharts(by_place or only, folder)
        charts = {path: _chart_within(path, nearest, folder) for path in takes}
        charts |= _each_others(charts)
        lone = {path for paths in only.values() for path in paths}
        used = {chart for chart, _ in charts.values() if chart is not None}
        found = [
            FoundTake(path, None, of_folder=True, trouble="read as the chart of the other takes")
            if path in lone
            else FoundTake(path, chart, of_folder=True, trouble=trouble)
            for path, (chart, trouble) in charts.items()
            if path in lone or path not in used
        ]
    if not found:
        raise ReferenceFault(
            "holds no take; takes with their charts were expected, or --chart for all",
            source=str(folder),
        )
    return found


def _is_written(take: Path) -> bool:
    return take.suffix.lower() in CHART_FORMATS


def _is_for_charts(place: Path, folder: Path) -> bool:
    return place != folder and place.name.casefold() in CHART_FOLDERS


def _charts_by_place(files: list[Path], folder: Path) -> dict[Path, list[Path]]:
    """TOML charts by their folder, and all charts in a folder of charts by the folder above."""
    found: dict[Path, list[Path]] = defaultdict(list)
    for path in files:
        suffix, apart = path.suffix.lower(), _is_for_charts(path.parent, folder)
        if suffix == ".toml" and not is_for_a_chart(path):
            continue
        if suffix == ".toml" or (apart and suffix in CHART_FORMATS):
            found[path.parent.parent if apart else path.parent].append(path)
    return found


def _only_written(takes: list[Path], folder: Path) -> dict[Path, list[Path]]:
    """By folder, the only written file there that is nearest to a played take without a chart."""
    written: dict[Path, list[Path]] = defaultdict(list)
    for take in takes:
        if _is_written(take):
            written[take.parent].append(take)
    found: dict[Path, list[Path]] = {}
    nearest = NearestCharts(written, folder)
    for take in takes:
        if _is_written(take) or _chart_of(take):
            continue
        for path in nearest.of(take):
            if written[path.parent] == [path]:
                found[path.parent] = [path]
    return found


def _chart_within(take: Path, nearest: NearestCharts, folder: Path) -> tuple[Path | None, str]:
    """The chart of a take in a folder, or why there is none; neither: its own chord symbols."""
    beside = _chart_of(take)
    if beside is not None:
        return beside, ""
    alike = nearest.of(take)
    if len(alike) == 1:
        return alike[0], ""
    if alike:
        return None, f"{any_of(alike, folder)}, or say --chart"
    if _is_written(take):
        return None, ""
    return None, f"no chart was found; {take.stem}.toml was expected, or --chart for all takes"


def _each_others(
    charts: dict[Path, tuple[Path | None, str]],
) -> dict[Path, tuple[Path | None, str]]:
    """The written takes of one name, each of which would be the chart of the other."""
    return {
        path: (None, f"it and {chart.name} may each be the chart of the other; keep one of them")
        for path, (chart, _) in charts.items()
        if chart is not None and charts.get(chart, (None, ""))[0] == path
    }


def _chart_of(take: Path) -> Path | None:
    """The chart beside a take: the first of the chart suffixes that is not the take itself."""
    for suffix in CHART_FORMATS:
        chart = take.with_suffix(suffix)
        if chart != take and chart.is_file():
            return chart
    return None
