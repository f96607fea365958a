"""Courses as a page: every student with the courses drawn, for a teacher or for the student.

It is one file that opens from disk and asks nothing of any network. What a picture shows stands in
the table under it as well.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linecheck.journal.course import by_student
from linecheck.journal.course_in_words import (
    BREAK_WORDS,
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
from linecheck.journal.course_plot import course_plot, small_course
from linecheck.journal.measures import MEASURES
from linecheck.report.figures import percent, plain
from linecheck.report.findings_in_words import CAUTION
from linecheck.report.html_frame import packaged, rendered

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.journal.course import Course, Point

__all__ = ["write_courses_html"]

FOLDER = ("linecheck.journal", "progress_page")
_OPEN_UP_TO = 6  # students: of more, each is opened by a click


def write_courses_html(found: Sequence[Course]) -> str:
    """The page as text.

    Args:
        found: the courses, by student.
    """
    students = [
        {
            "id": f"student-{at}",
            "name": name_of(own[0]),
            "span": span_of(own),
            "courses": [
                _course(course, title, f"student-{at}-{n}")
                for n, (course, title) in enumerate(zip(own, chart_titles(own), strict=True), 1)
            ],
        }
        for at, own in enumerate(by_student(found), 1)
    ]
    alone = len(students) == 1
    return rendered(
        (*FOLDER, "page.html"),
        more_style=packaged(*FOLDER, "page.css"),
        title=students[0]["name"] if alone else "Takes over the weeks",
        span=span_of(found) if found else "no take yet",
        students=students,
        alone=alone,
        opened=len(students) <= _OPEN_UP_TO,
        questions=questions(found),
        advice=CAUTION,
    )


def _course(course: Course, title: str, anchor: str) -> dict[str, Any]:
    last = course.points[-1].entry
    commitment = next(t for t in course.trends if t.measure.name == "commitment")
    pictures = [course_plot(course, measure) for measure in MEASURES]
    return {
        "id": anchor,
        "chart": title,
        "kind": "" if course.kind == "played" else course.kind,
        "takes": len(course.points),
        "last_day": day_of(last),
        "last": f"{last.commitment:.0f}",
        "landings": _met(last.landings_met, last.landings_asked),
        "losses": f"{losses_of(last)} choruses",
        "small": small_course(course),
        "direction": commitment.direction,
        "better": commitment.better,
        "compare": commitment.takes,
        "sentences": [trend_sentence(trend, len(course.points)) for trend in course.trends]
        if len(course.points) > 1
        else [],
        "caveats": caveats(course),
        "rubrics": rubrics_of(course),
        "pictures": [picture for picture in pictures if picture] if len(course.points) > 1 else [],
        "rows": [_row(point) for point in course.points],
    }


def _row(point: Point) -> dict[str, Any]:
    entry = point.entry
    spread, mean = entry.placement_spread_ms, entry.placement_mean_ms
    return {
        "date": day_of(entry),
        "take": plain(entry.take),
        "commitment": f"{entry.commitment:.0f}",
        "landings": f"{entry.landings_met} of {entry.landings_asked}, "
        + _met(entry.landings_met, entry.landings_asked),
        "losses": f"{losses_of(entry)} choruses",
        "placement": "-" if spread is None or mean is None else _placement(mean, spread),
        "tempo": tempo_of(entry).replace(" ", ", ", 1),
        "breaks": [BREAK_WORDS[kind] for kind in point.breaks],
    }


def _placement(mean: float, spread: float) -> str:
    """``"+4 ± 14 ms"``; nothing has no sign."""
    figure = f"{mean:+.0f}" if round(mean) else "0"
    return f"{figure} ± {spread:.0f} ms".replace("-", "\u2212")


def _met(met: int, asked: int) -> str:
    return percent(met / asked if asked else None)
