"""A plan's exercises in notation: ``--musicxml FILE``, for any notation program.

One part in bass clef, written an octave above its sound. Every exercise begins a line with its
heading and the tempo to begin at; the bars of its loop stand between repeat signs, the closing bar
after them. Under the notes their functions, as in the report's own score. Source: MusicXML 4.0.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.practice.in_words import exercise_heading
from linecheck.report.as_musicxml import MeasureWriter, new_score, score_text
from linecheck.report.musicxml_elements import add, add_words
from linecheck.report.notation import notate

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from linecheck.practice.practice_plan import Exercise, PracticePlan
    from linecheck.report.notation import NotatedBar

__all__ = ["write_musicxml"]


def write_musicxml(plan: PracticePlan) -> str:
    """The whole file as text, the same for the same plan.

    Args:
        plan: a plan with at least one spot.
    """
    root, part = new_score(f"{plan.chart.title}: exercises")
    measures = 0
    for number, spot in enumerate(plan.spots, 1):
        for nth, exercise in enumerate(spot.exercises):
            heading = exercise_heading(spot, exercise, number, nth)
            made = _exercise_measures(exercise, heading, measures)
            part.extend(made)
            measures += len(made)
    return score_text(root)


class _ExerciseWriter(MeasureWriter):
    """Writes the bars of one exercise, its heading over the first."""

    def __init__(self, exercise: Exercise, heading: str, measures: int) -> None:
        super().__init__(exercise.sheet, measures)
        self._heading = heading

    def headings(self, measure: Element, bar: NotatedBar, before: NotatedBar | None) -> None:
        """The heading of the exercise, over its first bar."""
        del bar
        if before is None:
            add_words(measure, self._heading, 0, font_weight="bold")


def _exercise_measures(exercise: Exercise, heading: str, measures: int) -> list[Element]:
    writer = _ExerciseWriter(exercise, heading, measures)
    bars = [bar for chorus in notate(exercise.sheet) for bar in chorus.bars]
    made = []
    for index, bar in enumerate(bars):
        before = bars[index - 1] if index else None
        after = bars[index + 1] if index + 1 < len(bars) else None
        measure = writer.measure(bar, before, after)
        if before is None and measures:
            measure.insert(0, _new_system())
        made.append(measure)
    loop = len(exercise.sheet.chart.bars) - 1
    _repeat(made[0], "forward")
    _repeat(made[loop - 1], "backward")
    return made


def _new_system() -> Element:
    from xml.etree.ElementTree import Element  # noqa: PLC0415

    return Element("print", {"new-system": "yes"})


def _repeat(measure: Element, direction: str) -> None:
    """A repeat sign at one side of a measure."""
    left = direction == "forward"
    line = add(measure, "barline", location="left" if left else "right")
    add(line, "bar-style", "heavy-light" if left else "light-heavy")
    add(line, "repeat", direction=direction)
    if left:  # the schema leaves the order open; programs expect a left bar line first
        measure.remove(line)
        after_print = 1 if measure[0].tag == "print" else 0
        measure.insert(after_print, line)
