"""A plan as a page for a terminal of 80 columns: what to practise, why, in which order, how long."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from linecheck.practice import in_words as words
from linecheck.report.figures import counted, plain
from linecheck.report.page import Page

if TYPE_CHECKING:
    from linecheck.practice.practice_plan import PracticePlan, Spot

__all__ = ["terminal_page"]

MOST_WHY = 4


def terminal_page(plan: PracticePlan, *, width: int = 80) -> Page:
    """The plan as a page.

    Args:
        plan: the plan.
        width: the widest that a line may be, in cells.
    """
    page = Page(width)
    page.say(f"What to practise: {plain(plan.chart.title)}", style="heading")
    page.say(
        f"Take: {plain(plan.take)}; commitment {plan.commitment:.0f} of 100, "
        f"{plan.tempo} quarter notes a minute"
    )
    page.gap()
    page.say(words.verdict(plan), indent=2, style="answer")
    for number, spot in enumerate(plan.spots, 1):
        _spot(page, spot, number)
    if plan.spots:
        page.heading("How")
        page.points(words.HOW_TO)
    page.gap()
    for sentence in words.CAUTION:
        page.say(sentence)
    return page


def _spot(page: Page, spot: Spot, number: int) -> None:
    page.heading(words.spot_title(spot, number))
    page.say("| " + words.chords_text(spot) + " |", indent=3)
    again = words.again_text(spot)
    if again:
        page.say(again, indent=3)
    reasons = words.why(spot)
    for reason in reasons[:MOST_WHY]:
        page.say("- " + reason, indent=3, hang=2)
    more = len(reasons) - MOST_WHY
    if more > 0:
        page.say(f"- and {counted(more, 'place')} more", indent=3)
    for tempos, exercises in groupby(enumerate(spot.exercises), lambda one: one[1].tempos):
        titles = [f"{words.letter(nth)} {exercise.title}" for nth, exercise in exercises]
        page.say(f"at {words.tempos_text(tempos)}: {', '.join(titles)}", indent=5, hang=2)
    for sentence in [*filter(None, map(words.led_text, spot.exercises)), *spot.left_out]:
        page.say(sentence, indent=5, hang=2)
