"""One measure of a course as a small picture: a point a take, over the days.

Takes that compare are joined; a wall stands where what is shown changes its meaning (another
rubric, another grid), and no line crosses it.
"""

from __future__ import annotations

from datetime import date as Date  # noqa: N812
from itertools import pairwise
from typing import TYPE_CHECKING

from linecheck.journal.measures import comparable
from linecheck.report.markup import Safe, element, number
from linecheck.report.picture import LEFT, LINE, WIDTH, label, picture, stroke

if TYPE_CHECKING:
    from linecheck.journal.course import Course
    from linecheck.journal.measures import Measure

__all__ = ["course_plot", "small_course"]

_TOP, _FLOOR, _RIGHT = 40.0, 118.0, 18.0
_MOST_NAMED = 8  # points that carry their figure
_WALLS = {"weights": "another rubric", "grid": "another grid"}


def course_plot(course: Course, measure: Measure) -> Safe | None:
    """The picture; None where no take of the course shows the measure."""
    shown = [
        (point, value)
        for point in course.points
        if (value := measure.value(point.entry)) is not None
    ]
    if not shown:
        return None
    top = measure.top or max(measure.least_top, *(value * 1.15 for _, value in shown))
    days = [Date.fromisoformat(point.entry.date).toordinal() for point, _ in shown]
    span = max(days) - min(days)
    left, right = LEFT + 26, WIDTH - _RIGHT
    xs = [left + (right - left) * ((d - min(days)) / span if span else 0.5) for d in days]
    ys = [_FLOOR - (_FLOOR - _TOP) * min(value / top, 1.0) for _, value in shown]

    parts: list[str] = [label(measure.title, 0, 12, font_weight="600")]
    for share in (0.0, 0.5, 1.0):
        y = _FLOOR - (_FLOOR - _TOP) * share
        parts.append(stroke(f"M{LEFT + 6} {number(y)}H{WIDTH}", opacity=0.18))
        parts.append(
            label(measure.text(top * share), LEFT, y + 4, "end", opacity=0.75, font_size=9)
        )
    entries = [point.entry for point, _ in shown]
    walls = [
        at for at in range(1, len(shown)) if not comparable(measure, entries[at - 1], entries[at])
    ]
    for begin, end in pairwise((0, *walls, len(shown))):
        if end - begin > 1:
            way = "L".join(
                f"{number(x)} {number(y)}"
                for x, y in zip(xs[begin:end], ys[begin:end], strict=True)
            )
            parts.append(stroke(f"M{way}", width=2, colour=LINE))
    for at in walls:
        x = (xs[at - 1] + xs[at]) / 2
        parts.append(
            element(
                "path", d=f"M{number(x)} {number(_TOP - 8)}V{number(_FLOOR)}", fill="none",
                stroke="currentColor", stroke_width=1.5, stroke_dasharray="3 3",
            )
        )  # fmt: skip
        parts.append(label(_WALLS[measure.alike], x, _TOP - 12, "middle", font_size=9))
    named = _named([value for _, value in shown])
    for at, ((_, value), x, y) in enumerate(zip(shown, xs, ys, strict=True)):
        parts.append(element("circle", cx=x, cy=y, r=4, fill=LINE))
        if at in named:
            parts.append(
                label(measure.text(value), x, y - 9 if y > _TOP + 4 else y + 17, "middle",
                      font_weight="700")
            )  # fmt: skip
    parts.append(label(shown[0][0].entry.date, xs[0] if not span else left - 20, _FLOOR + 16,
                       "start" if span else "middle", opacity=0.75, font_size=9))  # fmt: skip
    if span:
        parts.append(
            label(shown[-1][0].entry.date, WIDTH, _FLOOR + 16, "end", opacity=0.75, font_size=9)
        )
    told = ", ".join(f"{point.entry.date} {measure.text(value)}" for point, value in shown)
    return picture(f"{measure.title}: {told}", _FLOOR + 22, parts, "page")


def small_course(course: Course) -> Safe | None:
    """Commitment of a course as a line in a table; None for a single take."""
    if len(course.points) < 2:
        return None
    days = [Date.fromisoformat(point.entry.date).toordinal() for point in course.points]
    span = max(days) - min(days)
    spots = [
        (96 * ((day - min(days)) / span if span else 0.5), 26 - 24 * p.entry.commitment / 100)
        for day, p in zip(days, course.points, strict=True)
    ]
    walls = [at for at, point in enumerate(course.points) if "rubric" in point.breaks]
    parts = [stroke("M0 2H96M0 26H96", opacity=0.25)]
    for begin, end in pairwise((0, *walls, len(spots))):
        way = "L".join(f"{number(x)} {number(y)}" for x, y in spots[begin:end])
        parts.append(stroke(f"M{way}", width=2, colour=LINE))
    parts.extend(element("circle", cx=x, cy=y, r=2.5, fill=LINE) for x, y in spots)
    told = ", ".join(f"{p.entry.commitment:.0f}" for p in course.points)
    return element(
        "svg", *parts, class_="picture", viewBox="0 0 96 28", role="img",
        aria_label=f"Commitment take by take: {told}",
    )  # fmt: skip


def _named(values: list[float]) -> set[int]:
    """Which points carry their figure: all of a few; of many the ends, the highest, the lowest."""
    if len(values) <= _MOST_NAMED:
        return set(range(len(values)))
    return {0, len(values) - 1, values.index(max(values)), values.index(min(values))}
