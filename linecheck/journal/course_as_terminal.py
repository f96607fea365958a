"""Courses as a page for a terminal of 80 columns, or of fewer.

Of one student every take has a line and commitment is drawn over the weeks; of many students
every course has a line, and ``full`` shows all of them as if each were asked for. Where a table is
too wide, columns make room that are told elsewhere on the page or matter least.
"""

from __future__ import annotations

import re
from datetime import date as Date  # noqa: N812
from typing import TYPE_CHECKING, NamedTuple

from linecheck.journal.course import by_student
from linecheck.journal.course_in_words import (
    FILE_DAY,
    caveats,
    chart_titles,
    day_of,
    losses_of,
    name_of,
    questions,
    rubrics_of,
    span_of,
    tempo_of,
    trend_sentence,
)
from linecheck.journal.direction import LEAST
from linecheck.report.figures import counted, percent, plain
from linecheck.report.findings_in_words import CAUTION
from linecheck.report.page import Page, cells, fit, fit_apart

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from linecheck.journal.course import Course, Trend
    from linecheck.journal.entry import Entry

__all__ = ["courses_page"]

_ROWS = (100, 80, 60, 40, 20, 0)  # lines of the plot
_AXIS = 7  # cells left of the plot
_WIDEST_PLOT = 64
_CLASS = 8  # cells at most of the class behind a name
_BAR = 15  # cells of a bar of commitment
_LEAST_FOR_NAMES = 20  # cells for student and chart, below which other columns make room
_MARKS = re.compile(r"( \(\d+\))?(, written)?$")
_END = 0.4  # of the cells of a title that is cut: what tells it from others is often at its end


class _Column(NamedTuple):
    """A column of figures: its title, padded to its width, and its text for what a row is of."""

    name: str
    title: str
    text: Callable[[Course], str]


class _TakeColumn(NamedTuple):
    """The same of a take."""

    name: str
    title: str
    text: Callable[[Entry], str]


def courses_page(
    found: Sequence[Course], *, width: int = 80, full: bool = False, notes: Sequence[str] = ()
) -> Page:
    """The page.

    Args:
        found: the courses, by student.
        width: the widest that a line may be; with less than 80 cells the tables show less.
        full: every student in detail, however many.
        notes: what was left out, and why.
    """
    page = Page(width)
    students = by_student(found)
    if not students:
        page.say("The journal holds no take yet.")
        return page
    if len(students) > 1:
        _overview(page, students)
        if not full:
            page.say("--student NAME shows one student in detail, --full all of them.")
    if len(students) == 1 or full:
        for own in students:
            _student(page, own)
    asked = questions(found)
    if asked:
        page.heading("Mind")
        page.points(asked)
    if notes:
        page.heading("Left out")
        page.points(plain(note) for note in notes)
    page.gap()
    page.say(CAUTION)
    return page


def _overview(page: Page, students: Sequence[Sequence[Course]]) -> None:
    everything = [course for own in students for course in own]
    page.say(f"{counted(len(students), 'student')}: {span_of(everything)}", style="heading")
    page.gap()
    directions = [_direction(course) for course in everything]
    columns, room = _that_fit(page.width - max(map(len, (*directions, "  direction"))))
    labels = [list(map(_label, own, chart_titles(own))) for own in students]
    names = [
        (name_of(own[0]), max(of, key=cells)) for own, of in zip(students, labels, strict=True)
    ]
    first, second = _shared(room - 1, [("student", "chart"), *names])
    head = "".join(column.title for column in columns)
    page.row([(f"{fit('student', first)} {fit('chart', second)}{head}  direction", "heading")])
    apart = fit_apart([name_of(own[0]) for own in students], first)
    for own, of in zip(students, labels, strict=True):
        shown = _short_name(own[0], first, apart)
        for course, label in zip(own, _cut_apart(of, second), strict=True):
            figures = "".join(column.text(course) for column in columns)
            page.row([(f"{shown} {label}{figures}{_direction(course)}", "")])
            shown = " " * first
    page.gap()
    some = any(_marked(course) for course in everything)
    among = " (2/7: two of seven takes compare with the last)" if some else ""
    both = "Commitment and landings are" if "landings" in head else "Commitment is"
    those = "those" if "landings" in head else "that"
    page.say(
        f"{both} {those} of the last take; the direction is commitment's, "
        f"told from takes of {LEAST} days on{among}."
    )
    if any(course.points[-1].entry.date_origin == "file" for course in everything):
        page.say(f"{FILE_DAY[0].upper()}{FILE_DAY[1:]}.")


_OVERVIEW = (
    _Column("takes", " takes", lambda course: f"{len(course.points):>6}"),
    _Column("last", "  last       ", lambda course: f"  {day_of(course.points[-1].entry):<11}"),
    _Column(
        "commitment", " commitment", lambda course: f"{course.points[-1].entry.commitment:>11.0f}"
    ),
    _Column("landings", " landings", lambda course: f" {_met(course.points[-1].entry):>8}"),
)
_OVERVIEW_LEAVES_OUT = ("landings", "last", "takes")  # the first one first


def _that_fit(width: int) -> tuple[list[_Column], int]:
    """The columns of the overview for which there is room, and what they leave for names."""
    columns = list(_OVERVIEW)
    for name in ("", *_OVERVIEW_LEAVES_OUT):
        columns = [column for column in columns if column.name != name]
        room = width - sum(len(column.title) for column in columns)
        if room > _LEAST_FOR_NAMES:
            break
    return columns, room


def _shared(room: int, names: Sequence[tuple[str, str]]) -> tuple[int, int]:
    """The room for students and for charts: by halves, or as the longer ones need."""
    students, charts = (max(cells(name[side]) for name in names) for side in (0, 1))
    second = min(charts, max(room // 2, room - students))
    return min(students, room - second), second


def _label(course: Course, title: str) -> str:
    """A chart by its title, and by what its takes are where they are not played."""
    return title if course.kind == "played" else f"{title}, {course.kind}"


def _cut_apart(labels: Sequence[str], width: int) -> list[str]:
    """The labels of one student's courses in so many cells, none of them like another."""
    cut = [_cut(label, width) for label in labels]
    apart = list(cut)
    for at, label in enumerate(labels):
        alike = [other for other, short in zip(labels, cut, strict=True) if short == cut[at]]
        if len(alike) > 1:  # from the word on in which they differ
            columns = enumerate(zip(*alike, strict=False))
            differ = next((x for x, letters in columns if len(set(letters)) > 1), 0)
            apart[at] = fit("~" + label[label.rfind(" ", 0, differ) + 1 :], width)
    return apart


def _cut(label: str, width: int) -> str:
    """A label in so many cells, with its number and its kind, which stand at its end."""
    marks = _MARKS.search(label)
    return fit(label, width, end=max(round(_END * width), len(marks[0]) if marks else 0))


def _short_name(course: Course, width: int, apart: Mapping[str, str]) -> str:
    """The name of a student in so many cells; of a long one the class stays to be seen."""
    name = name_of(course)
    if cells(name) <= width or not course.namesake:
        return apart[name]
    student = plain(course.student)
    class_name = fit(
        name.removeprefix(student).strip(), min(_CLASS, max(width // 2, width - 6))
    ).strip()
    return f"{fit(student, width - 1 - cells(class_name))} {class_name}"


def _direction(course: Course) -> str:
    """The direction of commitment, with how many takes compare where not all do."""
    return f"  {_commitment(course).direction}{_marked(course)}"


def _met(entry: Entry) -> str:
    return percent(entry.landings_met / entry.landings_asked if entry.landings_asked else None)


def _commitment(course: Course) -> Trend:
    return next(t for t in course.trends if t.measure.name == "commitment")


def _marked(course: Course) -> str:
    """How many of the takes the direction is told from, where those are not all: ``" 2/7"``."""
    takes, compared = len(course.points), _commitment(course).takes
    return "" if compared == takes else f" {compared}/{takes}"


def _student(page: Page, own: Sequence[Course]) -> None:
    page.heading(f"{name_of(own[0])}: {span_of(own)}")
    for course, title in zip(own, chart_titles(own), strict=True):
        page.gap()
        page.say(_label(course, title), style="heading")
        _takes(page, course)
        if len(course.points) > 1:
            page.gap()
            _plot(page, course)
        page.gap()
        if len(course.points) > 1:
            page.points(trend_sentence(trend, len(course.points)) for trend in course.trends)
        page.points(caveats(course))
        for sentence in rubrics_of(course):
            page.say(sentence + ".", indent=2, hang=2)


def _takes(page: Page, course: Course) -> None:
    columns = list(_TAKES)
    for wide, narrow in _TAKES_GIVE_WAY:
        if 2 + sum(len(column.title) for column in columns) <= page.width:
            break
        at = next(at for at, column in enumerate(columns) if column.name == wide)
        columns[at : at + 1] = [] if narrow is None else [narrow]
    page.row([("  " + "".join(column.title for column in columns), "heading")])
    for point in course.points:
        if "rubric" in point.breaks:
            page.row([("  -- another rubric " + "-" * 20, "missed")])
        page.row([("  " + "".join(column.text(point.entry) for column in columns), "")])


def _bar(entry: Entry) -> str:
    return f"{entry.commitment:>3.0f} {'#' * round(_BAR * entry.commitment / 100):<{_BAR}}"


def _placement(entry: Entry) -> str:
    spread = entry.placement_spread_ms
    return "-" if spread is None else f"{spread:.0f} ms"


_TAKES = (
    _TakeColumn("date", f"{'date':<12}", lambda entry: f"{day_of(entry):<12}"),
    _TakeColumn("commitment", f"{'commitment':<{_BAR + 4}}", _bar),
    _TakeColumn(
        "landings",
        f"{'landings':>13}",
        lambda entry: f"{entry.landings_met}/{entry.landings_asked} {_met(entry):>5}".rjust(13),
    ),
    _TakeColumn("losses", f"{'losses':>11}", lambda entry: f"{losses_of(entry):>11}"),
    _TakeColumn("placement", f"{'placement':>10}", lambda entry: f"{_placement(entry):>10}"),
    _TakeColumn("tempo", f"{'tempo':>12}", lambda entry: f"{tempo_of(entry):>12}"),
)
# What gives way, the first one first: the bars, which the plot shows too, and what the sentences
# under it tell.
_TAKES_GIVE_WAY = (
    ("commitment", _TakeColumn("", "commitment", lambda entry: f"{entry.commitment:>10.0f}")),
    ("tempo", None),
    ("placement", None),
    ("landings", _TakeColumn("", "  landings", lambda entry: f"{_met(entry):>10}")),
    ("losses", None),
)


def _plot(page: Page, course: Course) -> None:
    """Commitment over the days: a point a take, and a wall where the rubric changes."""
    days = [Date.fromisoformat(point.entry.date).toordinal() for point in course.points]
    across = min(_WIDEST_PLOT, page.width - _AXIS - 4)
    span = max(days) - min(days)
    at = [round((day - min(days)) / span * (across - 1)) if span else across // 2 for day in days]
    step = _ROWS[0] - _ROWS[1]
    for high in _ROWS:
        line = [" "] * across
        for column, point in zip(at, course.points, strict=True):
            if "rubric" in point.breaks:
                line[max(column - 1, 0)] = ":"
        for column, point in zip(at, course.points, strict=True):
            if high - step / 2 <= point.entry.commitment < high + step / 2:
                line[column] = "o"
        page.row([(f"{high:>{_AXIS - 2}} |{''.join(line)}", "")])
    page.row([(" " * (_AXIS - 1) + "+" + "-" * across, "")])
    first, last = course.points[0].entry.date, course.points[-1].entry.date
    ends = f"{first}{last:>{across - len(first)}}" if span else f"{first:^{across}}"
    page.row([(" " * _AXIS + ends, "")])
