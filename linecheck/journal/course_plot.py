"""One measure of a course as a small picture: a point a take, over the days.

Takes that compare are joined; a wall stands where what is shown changes its meaning (another
rubric, another grid), and no line crosses it. Only what has room carries its figure: the last take
first, then the first, the highest and the lowest, then of few takes the others.
"""

from __future__ import annotations

from datetime import date as Date  # noqa: N812
from itertools import pairwise
from math import hypot
from typing import TYPE_CHECKING, NamedTuple

from linecheck.journal.measures import comparable
from linecheck.report.markup import Safe, element, number
from linecheck.report.picture import LEFT, LINE, WIDTH, label, picture, stroke

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from linecheck.journal.course import Course
    from linecheck.journal.measures import Measure

__all__ = ["course_plot", "small_course"]

_TOP, _FLOOR, _RIGHT = 40.0, 118.0, 18.0
_MOST_NAMED = 8  # points that carry their figure
_WALLS = {"weights": "another rubric", "grid": "another grid"}
_DOT = 4.0  # radius of a point
_FIGURE_SIZE, _WORD_SIZE = 11.0, 9.0  # type
# Of the size of the type: how wide a letter of a bold figure is on average at most ("100 %",
# "18 ms"), how high it reaches above its baseline and how deep below.
_WIDE, _HIGH, _DEEP = 0.66, 0.8, 0.2


class _Box(NamedTuple):
    """Where something stands in a picture."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, others: Iterable[_Box]) -> bool:
        return any(
            self.left < other.right and other.left < self.right
            and self.top < other.bottom and other.top < self.bottom
            for other in others
        )  # fmt: skip

    def far_from(self, x: float, y: float) -> float:
        return hypot((self.left + self.right) / 2 - x, (self.top + self.bottom) / 2 - y)


class _Text(NamedTuple):
    """A text with the middle of its baseline."""

    text: str
    x: float
    y: float
    size: float

    @classmethod
    def within(cls, text: str, x: float, y: float, size: float) -> _Text:
        """The text as near to x as the picture lets it."""
        half = len(text) * size * _WIDE / 2
        return cls(text, min(max(x, half), WIDTH - half), y, size)

    @property
    def box(self) -> _Box:
        half = len(self.text) * self.size * _WIDE / 2
        top, bottom = self.y - self.size * _HIGH, self.y + self.size * _DEEP
        return _Box(self.x - half, top, self.x + half, bottom)


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
    words: list[_Text] = []
    for at in walls:
        x = (xs[at - 1] + xs[at]) / 2
        parts.append(
            element(
                "path", d=f"M{number(x)} {number(_TOP - 8)}V{number(_FLOOR)}", fill="none",
                stroke="currentColor", stroke_width=1.5, stroke_dasharray="3 3",
            )
        )  # fmt: skip
        word = _Text.within(_WALLS[measure.alike], x, _TOP - 12, _WORD_SIZE)
        if not word.box.meets(other.box for other in words):
            words.append(word)
    parts.extend(label(word.text, word.x, word.y, "middle", font_size=9) for word in words)
    parts.extend(
        element("circle", cx=x, cy=y, r=_DOT, fill=LINE) for x, y in zip(xs, ys, strict=True)
    )
    values = [value for _, value in shown]
    figures = _figures([measure.text(value) for value in values], xs, ys, _named(values), words)
    parts.extend(label(text.text, text.x, text.y, "middle", font_weight="700") for text in figures)
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


def _named(values: Sequence[float]) -> list[int]:
    """Which points should carry their figure, what matters most first.

    The ends, the highest and the lowest, and where there are few points the others.
    """
    first = [len(values) - 1, 0, values.index(max(values)), values.index(min(values))]
    others = range(len(values)) if len(values) <= _MOST_NAMED else ()
    return list(dict.fromkeys((*first, *others)))


def _figures(
    texts: Sequence[str],
    xs: Sequence[float],
    ys: Sequence[float],
    named: Iterable[int],
    taken: Iterable[_Text],
) -> list[_Text]:
    """The figures that have room above their points or below.

    They are clear of each other and of points, and no other point is as near to one as its own.

    Args:
        texts: the figure of each point.
        xs: where the points stand.
        ys: the same, downwards.
        named: which points should carry theirs, what matters most first.
        taken: texts that stand there already.
    """
    spots = list(zip(xs, ys, strict=True))
    boxes = [text.box for text in taken]
    figures = []
    tried = set[tuple[float, float]]()
    for at in named:
        x, y = spots[at]
        if (x, y) in tried:  # a take of the same day and figure
            continue
        tried.add((x, y))
        others = [spot for spot in spots if spot != spots[at]]
        dots = [_Box(a - _DOT, b - _DOT, a + _DOT, b + _DOT) for a, b in others]
        above, below = y - 9, y + 17
        for base in (above, below) if y > _TOP + 4 else (below, above):
            text = _Text.within(texts[at], x, base, _FIGURE_SIZE)
            has_room = base <= _FLOOR and not text.box.meets((*boxes, *dots))
            far = text.box.far_from(x, y)
            if has_room and all(far < text.box.far_from(*other) for other in others):
                boxes.append(text.box)
                figures.append(text)
                break
    return figures
