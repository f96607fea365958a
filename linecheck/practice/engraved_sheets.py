"""The sheets engraved: the same drawing as in a report, the loop between repeat signs.

Each exercise comes as one ``<svg>`` a line of bars, functions under the notes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.report.engraving import engrave
from linecheck.report.labelled_score import ScoreDrawing
from linecheck.report.markup import Safe
from linecheck.report.score_marks import mark_symbols

if TYPE_CHECKING:
    from linecheck.practice.practice_plan import Exercise

__all__ = ["draw_alone", "draw_together"]


def draw_together(
    exercise: Exercise, width: int, bars_a_line: int, glyphs: dict[str, Safe]
) -> list[Safe]:
    """The lines of one exercise; the definitions that they use go into ``glyphs``.

    Args:
        exercise: the exercise.
        width: of a line in the engraver's units: the narrower, the larger the notes look.
        bars_a_line: at most so many; of a dense exercise half.
        glyphs: the definitions of a page's drawings, to be put beside ``mark_symbols()``.
    """
    found = engrave(
        exercise.sheet, width=width, bars_a_line=bars_a_line, repeated=_loop_bars(exercise)
    )
    glyphs.update(found.glyphs)
    drawing = ScoreDrawing(exercise.sheet, controls=False, ids=False)
    return [svg for chorus in found.choruses for svg in drawing.systems(chorus)]


def draw_alone(exercise: Exercise, width: int, bars_a_line: int) -> list[Safe]:
    """The same as drawings that stand alone, each with its definitions."""
    found = engrave(
        exercise.sheet, width=width, bars_a_line=bars_a_line, repeated=_loop_bars(exercise)
    )
    defs = Safe("".join(found.glyphs.values()) + mark_symbols())
    drawing = ScoreDrawing(exercise.sheet, controls=False, ids=False)
    return [svg for chorus in found.choruses for svg in drawing.systems(chorus, defs)]


def _loop_bars(exercise: Exercise) -> int:
    return len(exercise.sheet.chart.bars) - 1
