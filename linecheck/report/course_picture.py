"""Commitment over the choruses, 0 to 100, as a line of points."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.report.form_strip import form_strips
from linecheck.report.markup import Safe, element, number
from linecheck.report.picture import LEFT, LINE, LOST, WIDTH, Setting, label, picture, stroke

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.terms import Audit, ChorusScore

__all__ = ["course_picture"]

_LOST_STATES = ("ahead", "behind", "adrift")


def course_picture(audit: Audit, *, setting: Setting = "page") -> Safe:
    """Commitment of every chorus, 0 to 100, as a line of points; a chorus with a loss is ringed."""
    scores = audit.judgement.choruses
    top, floor = 24.0, 124.0
    room = WIDTH - LEFT - 14

    def x(index: int) -> float:
        return LEFT + 10 + room * ((index + 0.5) / max(len(scores), 1))

    def y(value: float) -> float:
        return floor - (floor - top) * value / 100

    lost = {
        states.chorus
        for states in form_strips(audit)
        if any(state in _LOST_STATES for state in states.bars)
    }
    parts: list[str] = []
    for tick in (0, 50, 100):
        parts.append(stroke(f"M{LEFT} {number(y(tick))}H{WIDTH}", opacity=0.18))
        parts.append(label(str(tick), LEFT - 6, y(tick) + 4, "end", opacity=0.75))
    points = [(x(i), y(score.commitment)) for i, score in enumerate(scores)]
    if len(points) > 1:
        way = "L".join(f"{number(a)} {number(b)}" for a, b in points)
        parts.append(stroke(f"M{way}", width=2, colour=LINE))
    every = max(1, -(-len(scores) // 12))
    named = _named(scores)
    for index, (score, (px, py)) in enumerate(zip(scores, points, strict=True)):
        if score.chorus in lost:
            parts.append(
                element("circle", cx=px, cy=py, r=7.5, fill="none", stroke=LOST, stroke_width=2)
            )
        parts.append(element("circle", cx=px, cy=py, r=4, fill=LINE))
        if index % every == 0:
            parts.append(label(str(score.chorus), px, floor + 16, "middle", opacity=0.75))
        if index in named:
            beside = [scores[i].commitment for i in (index - 1, index + 1) if 0 <= i < len(scores)]
            below = beside and score.commitment < min(beside) and score.commitment > 20
            at = py + 21 if below else py - 10
            parts.append(label(f"{score.commitment:.0f}", px, at, "middle", font_weight="700"))
    parts.append(label("chorus", 0, floor + 16, opacity=0.75, font_size=9))
    height = floor + 22
    if lost:
        parts.append(
            element(
                "circle", cx=LEFT + 8, cy=height + 9, r=6, fill="none", stroke=LOST, stroke_width=2
            )
        )
        parts.append(label("the form was lost in this chorus", LEFT + 20, height + 13))
        height += 20
    told = ", ".join(f"chorus {s.chorus} {s.commitment:.0f}" for s in scores)
    return picture(f"Commitment of 100: {told}", height, parts, setting)


def _named(scores: Sequence[ChorusScore]) -> set[int]:
    """Which points carry their figure: all of a few; of many the ends, the best, the weakest."""
    if len(scores) <= 12:
        return set(range(len(scores)))
    marks = [score.commitment for score in scores]
    return {0, len(marks) - 1, marks.index(max(marks)), marks.index(min(marks))}
