"""A course: the takes of one student over one chart, in the order of their days.

A student is known by name and class; one whose class is not known is taken for the one of that name
whose class is, where there is but one.

A course compares like with like: takes over other chords, and written lines beside played ones,
are courses of their own. A take that was judged by several rubrics stands in it once, by the
rubric that was used last; where neighbouring takes were weighed differently or timed on different
grids, the course is marked there, and nothing is said across the mark in what depends on it.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from datetime import date as Date  # noqa: N812
from itertools import groupby
from typing import TYPE_CHECKING, Literal, TypeAlias

from linecheck.journal.direction import Direction, directions
from linecheck.journal.measures import MEASURES, Measure, comparable, same_weights

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from linecheck.journal.entry import Entry

__all__ = [
    "Break",
    "Course",
    "Point",
    "Trend",
    "anonymous",
    "by_student",
    "courses",
    "days_spanned",
    "goes_by",
    "shown_name",
]

Break: TypeAlias = Literal["rubric", "grid", "version"]


@dataclass(frozen=True, slots=True)
class Point:
    """A take of a course; ``breaks`` is what is not as it was in the take before."""

    entry: Entry
    breaks: tuple[Break, ...] = ()


@dataclass(frozen=True, slots=True)
class Trend:
    """One measure over those takes of a course that can be compared with its last one.

    ``takes`` is how many they are, ``first`` and ``last`` the values of the first and the last of
    them. ``better`` is None where no direction can be said.
    """

    measure: Measure
    takes: int
    first: float
    last: float
    direction: Direction
    better: bool | None


@dataclass(frozen=True, slots=True)
class Course:
    """The takes of one student over one chart.

    ``student`` is "" where no name was given, ``class_name`` where no class is known;
    ``namesake``: another class has a student of this name.
    """

    student: str
    chart: str
    chart_key: str
    kind: str
    points: tuple[Point, ...]
    trends: tuple[Trend, ...]
    class_name: str = ""
    namesake: bool = False


def shown_name(course: Course) -> str:
    """The name of a course's student, with the class where several have it."""
    if not course.namesake:
        return course.student
    return f"{course.student} ({course.class_name or 'no class'})"


def goes_by(course: Course, name: str) -> bool:
    """Whether a course is that of a student who is asked for by this name."""
    return name in (course.student, shown_name(course))


def by_student(found: Iterable[Course]) -> list[list[Course]]:
    """The courses of each student, where courses are in the order of their students."""
    return [list(own) for _, own in groupby(found, key=lambda c: (c.student, c.class_name))]


def courses(entries: Iterable[Entry], *, student: str | None = None) -> tuple[Course, ...]:
    """The courses of a journal, by student and then by the day of their first take.

    Those without a name come last.

    Args:
        entries: as ``linecheck.journal.entries`` reads them.
        student: only those of this student, or of all students of this name.
    """
    found = list(entries)
    classes: dict[str, set[str]] = {}
    for entry in found:
        if entry.student:
            classes.setdefault(entry.student, set()).add(entry.class_name)
    of_student: dict[tuple[str, str], list[Entry]] = {}
    for entry in found:
        of_student.setdefault(_owner(entry, classes), []).append(entry)
    names = Counter(name for name, _ in of_student)
    return tuple(
        course
        for name, class_name in sorted(of_student, key=_by_name)
        for course in _of_one(
            (name, class_name, names[name] > 1), _judged_once(of_student[name, class_name])
        )
        if student is None or goes_by(course, student)
    )


def anonymous(found: Sequence[Course], *, student: str | None = None) -> tuple[Course, ...]:
    """The same courses without the names of students and files.

    The numbers follow from what the first takes hold, not from the names or their order.

    Args:
        found: the courses of all students.
        student: only this one's; the number is the same whoever is shown.
    """
    first_take: dict[tuple[str, str], tuple[str, str]] = {}
    for course in found:
        who = (course.student, course.class_name)
        for point in course.points:
            key = (point.entry.date, point.entry.take_key)
            first_take[who] = min(key, first_take.get(who, key))
    ranked = sorted(first_take, key=lambda who: first_take[who][1])
    wide = len(str(len(ranked)))
    alias = {who: f"Student {at:0{wide}}" for at, who in enumerate(ranked, 1)}
    hidden = [
        replace(
            course,
            student=alias[course.student, course.class_name],
            class_name="",
            namesake=False,
            points=tuple(
                replace(
                    point,
                    entry=replace(
                        point.entry,
                        student=alias[course.student, course.class_name],
                        class_name="",
                        take=f"take {at}",
                        take_key="",
                    ),
                )
                for at, point in enumerate(course.points, 1)
            ),
        )
        for course in found
        if student is None or goes_by(course, student)
    ]
    return tuple(sorted(hidden, key=lambda course: course.student))


def days_spanned(first: str, last: str) -> int:
    """How many days there are from one day (ISO 8601) to another, both of them counted."""
    return (Date.fromisoformat(last) - Date.fromisoformat(first)).days + 1


def _owner(entry: Entry, classes: dict[str, set[str]]) -> tuple[str, str]:
    """The name and the class that the student of an entry is known by."""
    if not entry.student:
        return "", ""
    known = classes[entry.student] - {""}
    return entry.student, entry.class_name or (known.pop() if len(known) == 1 else "")


def _by_name(owner: tuple[str, str]) -> tuple[bool, str, str, str, str]:
    name, class_name = owner
    return not name, name.casefold(), name, class_name.casefold(), class_name


def _judged_once(entries: Sequence[Entry]) -> list[Entry]:
    """Each take once, by the rubric that was used last.

    A take whose file was replaced, on its day and under its name, stands before the one there now.
    """
    in_use = sorted(entries, key=lambda entry: entry.recorded)
    used = {entry.rubric_fingerprint: at for at, entry in enumerate(in_use)}
    kept: dict[str, Entry] = {}
    for entry in in_use:
        known = kept.get(entry.take_key)
        if known is None or used[entry.rubric_fingerprint] >= used[known.rubric_fingerprint]:
            kept[entry.take_key] = entry
    return sorted(
        kept.values(), key=lambda entry: (entry.date, entry.take, entry.recorded, entry.take_key)
    )


def _of_one(who: tuple[str, str, bool], entries: Sequence[Entry]) -> list[Course]:
    """The courses of a student, by name, class, and whether others have the name."""
    student, class_name, namesake = who
    alike: dict[tuple[str, str], list[Entry]] = {}
    for entry in entries:
        alike.setdefault((entry.chart_key, entry.kind), []).append(entry)
    return [
        Course(
            student=student,
            chart=found[-1].chart,
            chart_key=key,
            kind=kind,
            points=tuple(
                Point(entry, _breaks(found[at - 1], entry) if at else ())
                for at, entry in enumerate(found)
            ),
            trends=_trends(found),
            class_name=class_name,
            namesake=namesake,
        )
        for (key, kind), found in alike.items()
    ]


def _breaks(before: Entry, entry: Entry) -> tuple[Break, ...]:
    found: list[Break] = []
    if not same_weights(before, entry):
        found.append("rubric")
    if before.grid != entry.grid:
        found.append("grid")
    if before.version != entry.version:
        found.append("version")
    return tuple(found)


def _trends(entries: Sequence[Entry]) -> tuple[Trend, ...]:
    """One for each measure that is shown by a take which compares with the last one."""
    shown: list[tuple[Measure, list[tuple[str, float]]]] = []
    for measure in MEASURES:
        found = [
            (entry.date, value)
            for entry in entries
            if (value := measure.value(entry)) is not None
            and comparable(measure, entry, entries[-1])
        ]
        if found:
            shown.append((measure, found))
    return tuple(
        Trend(
            measure,
            takes=len(found),
            first=found[0][1],
            last=found[-1][1],
            direction=where,
            better=(where == "rising") == (measure.better == "higher")
            if where in ("rising", "falling")
            else None,
        )
        for (measure, found), where in zip(
            shown, directions([found for _, found in shown]), strict=True
        )
    )
