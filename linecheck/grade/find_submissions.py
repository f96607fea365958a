"""Which files of a folder are takes, whose they are, and which chart belongs to each.

**Charts** are the TOML charts, and every file in a folder called ``charts``. MusicXML and ABC
files may be charts or written takes: they are takes where the folder has charts of these kinds,
or one is named for all takes. Where it has none, such a file is a chart if it is called like a
played take beside it, or if it is the only one of its folder and there are played takes. All
others may be either, and are refused as such.

**The chart of a take** is the one called like it (see ``linecheck.read.nearest_charts``), else the
only one there is: in its own folder, else in the folder above, and so on. Where there are several
it is refused. It is the same for the takes of a table that names no chart for them.

**Whose it is** says ``linecheck.grade.whose``.
"""

from __future__ import annotations

import os
import re
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from linecheck.grade.terms import Refused, Submission
from linecheck.grade.whose import Subfolders, weeks_among, whose
from linecheck.read import CHART_FOLDERS, CHART_FORMATS, RECORDINGS, TAKE_FORMATS
from linecheck.read.chart_toml import is_for_a_chart
from linecheck.read.file_names import listed, shown_name
from linecheck.read.nearest_charts import NearestCharts, any_of, name_key
from linecheck.terms import Remark

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

__all__ = ["TAKES_ARE", "Note", "Subfolders", "find_submissions", "in_order", "with_charts"]

TAKES_ARE = "takes are MIDI, MusicXML and ABC files, and recordings"
EITHER = frozenset(CHART_FORMATS) & frozenset(TAKE_FORMATS)
TAKES = frozenset(TAKE_FORMATS) | RECORDINGS
PASSED_OVER = frozenset(("__MACOSX",))


class Note(NamedTuple):
    """What was noticed about a folder, and the same without the names of files."""

    text: str
    for_strangers: str


@dataclass(slots=True)
class _Files:
    """The files of one folder by what they may be."""

    takes: list[Path] = field(default_factory=list)
    charts: list[Path] = field(default_factory=list)
    either: list[Path] = field(default_factory=list)


def find_submissions(
    folder: Path,
    *,
    chart: Path | None = None,
    subfolders: Subfolders = "students",
    leave_out: Collection[Path] = (),
) -> tuple[list[Submission | Refused], list[Note]]:
    """The submissions of a folder and of all folders in it, in order, and notes on what was found.

    Args:
        folder: where the takes are.
        chart: the chart of all takes; None: found beside them.
        subfolders: what a folder in the folder is.
        leave_out: files and folders that are not looked at.
    """
    folders, other = _look_through(folder, {path.resolve() for path in leave_out}, chart)
    notes: list[Note] = []
    if other:
        left = "neither a take nor a chart, left out"
        notes.append(Note(f"{left}: {listed(other)}", f"{left}: files, {len(other)} in number"))
    unclear: list[Path] = []
    if chart is None:
        unclear, said = _settle(folders, folder)
        notes += said
    else:
        for files in folders.values():
            files.takes += files.either
            files.either = []
    charts = NearestCharts({place: files.charts for place, files in folders.items()}, folder)
    weeks = weeks_among(
        [*unclear, *(take for files in folders.values() for take in files.takes)],
        [*((chart,) if chart else ()), *(path for f in folders.values() for path in f.charts)],
        subfolders,
    )
    found: list[Submission | Refused] = []
    for place, files in folders.items():
        for take in (*files.takes, *(path for path in unclear if path.parent == place)):
            of_take, trouble = chart, Remark("")
            if chart is None:
                of_take, trouble = _chart_of(take, charts, folder, _SAY_WHICH)
            if take in unclear:
                of_take, trouble = None, _UNCLEAR
            submission = _submission(take, of_take, folder, subfolders, weeks)
            found.append(Refused(submission, trouble) if trouble else submission)
    return in_order(found), notes


def with_charts(
    rows: Iterable[Submission | Refused], folder: Path, *, leave_out: Collection[Path] = ()
) -> tuple[list[Submission | Refused], list[Note]]:
    """The submissions of a table, with the charts of those that have none, and notes on these.

    Args:
        rows: the submissions.
        folder: where charts are looked for, as for takes that no table names.
        leave_out: files and folders that are not looked at.
    """
    rows = list(rows)
    if not any(isinstance(row, Submission) and row.chart is None for row in rows):
        return rows, []
    root = _absolute(folder)
    takes = {_absolute(row.take) for row in rows if isinstance(row, Submission) and row.take}
    folders, _ = _look_through(root, {path.resolve() for path in leave_out}, None, takes)
    _, notes = _settle(folders, root)
    charts = NearestCharts({place: files.charts for place, files in folders.items()}, root)
    found: list[Submission | Refused] = []
    for row in rows:
        if isinstance(row, Refused) or row.chart is not None or row.take is None:
            found.append(row)
            continue
        chart, trouble = _chart_of(_absolute(row.take), charts, root, _NAME_IT)
        if chart is None:
            found.append(Refused(row, trouble))
        else:
            chart = folder / chart.relative_to(root)
            found.append(replace(row, chart=chart, chart_name=shown_name(chart, folder)))
    return found, notes


def _absolute(path: Path) -> Path:
    """The whole path without "..", by which files of a table and of a folder are compared."""
    return Path(os.path.abspath(path))  # noqa: PTH100  (a link is the file that it is called)


_SAY_WHICH = "or say which in a table (linecheck grade --start-table begins one)"
_NAME_IT = "or name it in the column chart"
_UNCLEAR = Remark(
    "it may be a chart or a written take; say which file is the chart with --chart, put charts "
    "into a folder called charts, or write a table submissions.csv"
)


def in_order(rows: Iterable[Submission | Refused]) -> list[Submission | Refused]:
    """In the order of class, student and take; numbers in names by their size."""
    return sorted(rows, key=_order)


def _order(row: Submission | Refused) -> tuple[list[tuple[int, int, str]], ...]:
    submission = row.submission if isinstance(row, Refused) else row
    names = (submission.class_name, submission.student, submission.take_name)
    return tuple(_by_size(name) for name in (*names, submission.where))


def _by_size(name: str) -> list[tuple[int, int, str]]:
    parts = re.split(r"(\d{1,18})", name.casefold())
    return [(0, int(p), p) if p.isdecimal() else (1, 0, p) for p in parts if p] + [(-1, 0, name)]


# ---- what the files are ----------------------------------------------------------------------


def _look_through(
    folder: Path, leave_out: set[Path], chart: Path | None, takes: Collection[Path] = ()
) -> tuple[dict[Path, _Files], list[str]]:
    """The files of each folder, and what is neither take nor chart; ``takes`` are known to be."""
    folders: dict[Path, _Files] = {}
    other: list[str] = []
    if chart is not None:
        leave_out = {*leave_out, chart.resolve()}
    for root, names, files in os.walk(folder):
        place = Path(root)
        names[:] = sorted(
            name
            for name in names
            if not name.startswith(".")
            and name not in PASSED_OVER
            and (not leave_out or (place / name).resolve() not in leave_out)
        )
        is_charts = place != folder and place.name.casefold() in CHART_FOLDERS
        owner = folders.setdefault(place.parent if is_charts else place, _Files())
        for name in sorted(files):
            path = place / name
            if name.startswith((".", "~$")) or (leave_out and path.resolve() in leave_out):
                continue
            suffix = path.suffix.lower()
            if path in takes:
                owner.takes.append(path)
            elif suffix in CHART_FORMATS and (is_charts or suffix == ".toml"):
                if suffix != ".toml" or is_for_a_chart(path):
                    owner.charts.append(path)
                else:
                    other.append(shown_name(path, folder))
            elif is_charts or suffix not in TAKES:
                other.append(shown_name(path, folder))
            else:
                (owner.either if suffix in EITHER else owner.takes).append(path)
    return folders, other


def _settle(folders: dict[Path, _Files], folder: Path) -> tuple[list[Path], list[Note]]:
    """Decide what the files are that may be charts or takes; those that stay unclear, and notes."""
    if any(files.charts for files in folders.values()):
        for files in folders.values():
            files.takes += files.either
            files.either = []
        return [], []
    unclear: list[Path] = []
    notes: list[Note] = []
    for place, files in folders.items():
        played = {name_key(take) for take in files.takes}
        below = any(
            other.takes for path, other in folders.items() if place in (path, *path.parents)
        )
        alike = [path for path in files.either if name_key(path) in played]
        if not alike and len(files.either) == 1 and below:
            alike = files.either
            read = "read as the chart, not as a take"
            notes.append(Note(f"{read}: {shown_name(alike[0], folder)}", f"{read}: one file"))
        files.charts = alike
        unclear += [path for path in files.either if path not in alike]
        files.either = []
    return unclear, notes


# ---- whose they are, over which chart --------------------------------------------------------


def _chart_of(
    take: Path, charts: NearestCharts, folder: Path, way_out: str
) -> tuple[Path | None, Remark]:
    """The chart of a take, or why there is none."""
    alike = charts.of(take)
    if len(alike) == 1:
        return alike[0], Remark("")
    if alike:
        names = tuple(shown_name(path, folder) for path in alike)
        return None, Remark(f"{any_of(alike, folder)}, {way_out}", names=names)
    return None, Remark(
        "there is no chart for it; put one beside it, or name one for all takes with --chart"
    )


def _submission(
    take: Path,
    chart: Path | None,
    folder: Path,
    subfolders: Subfolders,
    weeks: Collection[Path],
) -> Submission:
    student, class_name = whose(take, folder, subfolders, chart=chart, weeks=weeks)
    return Submission(
        student=student,
        class_name=class_name,
        take=take,
        chart=chart,
        take_name=shown_name(take, folder),
        chart_name=shown_name(chart, folder) if chart else "",
    )
