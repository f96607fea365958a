"""Courses as a page for a terminal of 80 columns.

Of one student every take has a line and commitment is drawn over the weeks; of many students
every course has a line, and ``full`` shows all of them as if each were asked for.
"""

from __future__ import annotations

from datetime import date as Date  # noqa: N812
from typing import TYPE_CHECKING

from linecheck.journal.course import by_student
from linecheck.journal.course_in_words import (
    FILE_DAY,
    caveats,
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
from linecheck.report.page import Page, cells, fit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.journal.course import Course, Point, Trend

__all__ = ["courses_page"]

_ROWS = (100, 80, 60, 40, 20, 0)  # lines of the plot
_AXIS = 7  # cells left of the plot
_WIDEST_PLOT = 64
_NAME, _CLASS = 15, 8  # cells of a name, and at most of the class behind it
_BAR = 15  # cells of a bar of commitment
_OVERVIEW_HEAD = (
    f"{'student':<16}{'chart':<14}{'takes':>5}  {'last':<10} {'commitment':>10} "
    f"{'landings':>8}  direction"
)
_TAKES_HEAD = (
    f"  {'date':<11} {'commitment':<{_BAR + 4}}{'landings':>13}{'losses':>11}{'placement':>10}"
    f"{'tempo':>12}"
)


def courses_page(
    found: Sequence[Course], *, width: int = 80, full: bool = False, notes: Sequence[str] = ()
) -> Page:
    """The page.

    Args:
        found: the courses, by student.
        width: the widest that a line may be; the tables need about 78 cells.
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
    page.row([(_OVERVIEW_HEAD, "heading")])
    for own in students:
        shown = _short_name(own[0])
        for course in own:
            page.row([(_overview_row(shown, course), "")])
            shown = " " * _NAME
    page.gap()
    some = any(_marked(course) for course in everything)
    among = " (2/7: two of seven takes compare with the last)" if some else ""
    page.say(
        "Commitment and landings are those of the last take; the direction is commitment's, "
        f"told from takes of {LEAST} days on{among}."
    )
    if any(course.points[-1].entry.date_origin == "file" for course in everything):
        page.say(f"{FILE_DAY[0].upper()}{FILE_DAY[1:]}.")


def _short_name(course: Course) -> str:
    """The name of a student in the cells that it has; of a long one the class stays to be seen."""
    name = name_of(course)
    if cells(name) <= _NAME or not course.namesake:
        return fit(name, _NAME)
    student = plain(course.student)
    class_name = fit(name.removeprefix(student).strip(), _CLASS).strip()
    return f"{fit(student, _NAME - 1 - cells(class_name))} {class_name}"


def _overview_row(name: str, course: Course) -> str:
    last = course.points[-1].entry
    commitment = _commitment(course)
    met = last.landings_met / last.landings_asked if last.landings_asked else None
    return (
        f"{name} {fit(plain(course.chart), 13)} {len(course.points):>5}  {day_of(last):<11}"
        f"{last.commitment:>10.0f} {percent(met):>8}  {commitment.direction}{_marked(course)}"
    )


def _commitment(course: Course) -> Trend:
    return next(t for t in course.trends if t.measure.name == "commitment")


def _marked(course: Course) -> str:
    """How many of the takes the direction is told from, where those are not all: ``" 2/7"``."""
    takes, compared = len(course.points), _commitment(course).takes
    return "" if compared == takes else f" {compared}/{takes}"


def _student(page: Page, own: Sequence[Course]) -> None:
    page.heading(f"{name_of(own[0])}: {span_of(own)}")
    for course in own:
        page.gap()
        kind = "" if course.kind == "played" else f", {course.kind}"
        page.say(f"{plain(course.chart)}{kind}", style="heading")
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
    page.row([(_TAKES_HEAD, "heading")])
    for point in course.points:
        if "rubric" in point.breaks:
            page.row([("  -- another rubric " + "-" * 20, "missed")])
        page.row([(_take_row(point), "")])


def _take_row(point: Point) -> str:
    entry = point.entry
    bar = "#" * round(_BAR * entry.commitment / 100)
    met = f"{entry.landings_met}/{entry.landings_asked}"
    share = percent(entry.landings_met / entry.landings_asked) if entry.landings_asked else "-"
    spread = entry.placement_spread_ms
    placement = "-" if spread is None else f"{spread:.0f} ms"
    return (
        f"  {day_of(entry):<11} {entry.commitment:>3.0f} "
        f"{bar:<{_BAR}}{f'{met} {share:>5}':>13}{losses_of(entry):>11}{placement:>10}"
        f"{tempo_of(entry):>12}"
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
