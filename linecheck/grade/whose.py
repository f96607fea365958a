"""Whose a take is in a folder without a table: the one rule that ``grade`` and ``progress`` share.

The last folder is the student, those above it are the class; a take that lies in no folder belongs
to the student that it is called by. With ``subfolders="classes"`` all folders are the class, and
every student is called by the file.

The name of its chart is no part of the student's: ``Lamp Oil - Mira.mid`` is Mira's.

A folder that is a week (``2026-03-01``, ``KW 10``) is neither. With a name behind the day it is one
where that is a chart's (``2026-03-01 blues``), or where files of several names lie in it, but for
charts and numbers, and folders are not said to be classes; else it is who is named, as in
``2026-03-01 Mira``. A day is no part of any other name, so that ``2026-03-01 Mira.mid`` is Mira's.
Where a file in no student's folder is called by nothing but its day, or by its day and its chart
(``2026-03-01 blues.mid``, ``2026-03-01 blues 2.mid``), it belongs to the one whose folder was
given.
"""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING, Literal, TypeAlias

from linecheck.read.days_in_names import is_week, name_without_day
from linecheck.read.file_names import plain
from linecheck.read.nearest_charts import name_key, name_without_chart, words_key

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping
    from pathlib import Path

__all__ = ["Subfolders", "short_names", "take_in_its_week", "weeks_among", "whose"]

_NUMBER = re.compile(r"\d+")

Subfolders: TypeAlias = Literal["students", "classes"]


def weeks_among(
    takes: Iterable[Path], charts: Iterable[Path], subfolders: Subfolders = "students"
) -> frozenset[Path]:
    """The folders of takes that are weeks, by the rule above.

    Args:
        takes: all takes of a folder and of those in it.
        charts: all their charts.
        subfolders: what a folder in the folder is.
    """
    tunes = {name_key(chart): chart for chart in charts}
    inside: dict[Path, list[Path]] = {}
    for take in takes:
        for place in take.parents:
            inside.setdefault(place, [])
        inside[take.parent].append(take)

    def is_one(place: Path, files: list[Path]) -> bool:
        name = plain(place.name)
        if not is_week(name):
            return False
        left = name_without_day(name)
        if not left or words_key(left) in tunes:
            return True
        return subfolders == "students" and len({_called(f, tunes) for f in files} - {""}) > 1

    return frozenset(place for place, files in inside.items() if is_one(place, files))


def _called(take: Path, tunes: Mapping[str, Path]) -> str:
    """What tells a file from others beside its day, its chart and its number; "" for nothing."""
    name = name_without_day(plain(take.stem))
    if words_key(name) in tunes:
        return ""
    for chart in tunes.values():
        name = name_without_chart(name, chart)
    return _NUMBER.sub("", words_key(name))


def whose(
    take: Path,
    folder: Path,
    subfolders: Subfolders = "students",
    *,
    chart: Path | None = None,
    weeks: Collection[Path] = (),
) -> tuple[str, str]:
    """The student and the class of a take.

    Args:
        take: the file of the take.
        folder: the folder that was given, in which the take lies.
        subfolders: what a folder in the folder is.
        chart: the chart of the take, where it is known.
        weeks: the folders that are weeks.

    Returns:
        The name of the student, and that of the class, "" where there are no classes.
    """
    below = take.relative_to(folder).parents[-2::-1]  # without the folder itself
    folders = [
        name_without_day(plain(place.name)) for place in below if folder / place not in weeks
    ]
    by_file = name_without_day(plain(take.stem))
    if chart is not None:
        dated = by_file != plain(take.stem)
        if dated and subfolders == "students" and _is_chart(by_file, chart):
            by_file = ""
        by_file = name_without_chart(by_file, chart)
    if folders and (subfolders == "students" or not by_file):
        student = folders.pop()
    else:
        student = by_file or _name_of(folder)
    return student, " / ".join(folders)


def _is_chart(name: str, chart: Path) -> bool:
    """Whether a name is that of a chart, with a number behind it or without."""
    key, tune = words_key(name), name_key(chart)
    return key == tune or (key.startswith(tune) and key[len(tune) :].isdecimal())


def take_in_its_week(take_name: str) -> str:
    """A take by its file, below the folders on the way to it that begin with a day or a week."""
    *folders, file = take_name.split("/")
    return "/".join((*(name for name in folders if is_week(name)), file))


def short_names(takes: Iterable[tuple[str, str, str]]) -> dict[tuple[str, str, str], str]:
    """How each take is called beside its class and student, so that theirs can be told apart.

    Args:
        takes: class, student and name of each take.

    Returns:
        For each of them its file, below its week where the takes are of several; the whole name
        where this student has another take that would be called so.
    """
    takes = list(takes)
    weeks = {take_in_its_week(take).rpartition("/")[0] for *_, take in takes}
    short = {
        take: take_in_its_week(take) if len(weeks) > 1 else take.rpartition("/")[2]
        for *_, take in takes
    }
    called = Counter((group, who, short[take]) for group, who, take in set(takes))
    return {
        (group, who, take): short[take] if called[group, who, short[take]] == 1 else take
        for group, who, take in takes
    }


def _name_of(folder: Path) -> str:
    name = plain(folder.resolve().name)
    return name_without_day(name) or name
