"""Commitment over the choruses, 0 to 100, as a line of points."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.report.findings_in_words import certain_losses, loss_place, lost_bars
from linecheck.report.markup import Safe, element, number
from linecheck.report.picture import LEFT, LINE, LOST, WIDTH, Setting, label, picture, stroke

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.terms import Audit, ChorusScore

__all__ = ["course_picture"]


def course_picture(audit: Audit, *, setting: Setting = "page") -> Safe:
    """Commitment of every chorus, 0 to 100, as a line of points.

    A chorus in which the form is lost is ringed; one that is lost from its beginning on, or up to
    the place where the line is back, has a broken ring.
    """
    scores = audit.judgement.choruses
    top, floor = 24.0, 124.0
    room = WIDTH - LEFT - 14

    def x(index: int) -> float:
        return LEFT + 10 + room * ((index + 0.5) / max(len(scores), 1))

    def y(value: float) -> float:
        return floor - (floor - top) * value / 100

    begun = {loss_place(loss, audit).chorus for loss in certain_losses(audit)}
    still = {chorus for chorus, _ in lost_bars(audit)} - begun
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
        if score.chorus in begun | still:
            parts.append(_ring(px, py, 7.5, broken=score.chorus in still))
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
    height = _ring_legend(parts, begun, still, height)
    notes = {**dict.fromkeys(begun, ", the form is lost"), **dict.fromkeys(still, ", still lost")}
    told = "; ".join(
        f"chorus {s.chorus} {s.commitment:.0f}{notes.get(s.chorus, '')}" for s in scores
    )
    return picture(f"Commitment of 100: {told}", height, parts, setting)


def _ring_legend(parts: list[str], begun: set[int], still: set[int], y: float) -> float:
    """What the rings mean, where there are any; how far down it reaches."""
    if not begun:
        return y
    x = LEFT + 8.0
    for choruses, words in ((begun, "the form is lost here"), (still, "still lost")):
        if choruses:
            parts.append(_ring(x, y + 9, 6, broken=choruses is still))
            parts.append(label(words, x + 12, y + 13))
            x += 160
    return y + 20


def _ring(x: float, y: float, radius: float, *, broken: bool) -> Safe:
    dashes = "3 2.5" if broken else None
    return element(
        "circle", cx=x, cy=y, r=radius, fill="none", stroke=LOST, stroke_width=2,
        stroke_dasharray=dashes,
    )  # fmt: skip


def _named(scores: Sequence[ChorusScore]) -> set[int]:
    """Which points carry their figure: all of a few; of many the ends, the best, the weakest."""
    if len(scores) <= 12:
        return set(range(len(scores)))
    marks = [score.commitment for score in scores]
    return {0, len(marks) - 1, marks.index(max(marks)), marks.index(min(marks))}
