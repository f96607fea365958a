"""A plan on paper: ``--pdf FILE``, the words and the sheets of its page."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from linecheck.practice.engraved_sheets import draw_alone
from linecheck.practice.plan_told import tell
from linecheck.report.typesetting import TYPST_PAPERS, typeset

if TYPE_CHECKING:
    from linecheck.practice.plan_told import ExerciseTold, SpotTold
    from linecheck.practice.practice_plan import PracticePlan
    from linecheck.report.markup import Safe

__all__ = ["write_pdf"]

SHEET = (2300, 5)  # width of a line in the engraver's units, bars on it
EIGHTHS = (2300, 3)


def write_pdf(plan: PracticePlan, *, paper: str = "a4") -> bytes:
    """The whole file, the same for the same plan.

    Args:
        plan: the plan.
        paper: ``"a4"`` or ``"letter"``.
    """
    if paper not in TYPST_PAPERS:
        raise ValueError(f"{paper!r} is no paper; expected one of {', '.join(TYPST_PAPERS)}")
    text = tell(plan)
    told = {
        "paper": TYPST_PAPERS[paper],
        "title": text.title,
        "tune": text.tune,
        "take": text.take,
        "verdict": text.verdict,
        "how": text.how,
        "reading": text.reading,
        "spots": [_spot(spot) for spot in text.spots],
        "cautions": text.cautions,
    }
    return typeset(("linecheck.practice", "plan_page", "pages.typ"), "plan", told)


def _spot(spot: SpotTold) -> dict[str, Any]:
    return {
        "title": spot.title,
        "chords": spot.chords,
        "again": spot.again,
        "why": spot.why,
        "exercises": [_exercise(one) for one in spot.exercises],
        "left_out": spot.left_out,
    }


def _exercise(one: ExerciseTold) -> dict[str, Any]:
    size = EIGHTHS if one.exercise.kind == "eighths" else SHEET
    return {
        "title": one.title,
        "aim": f"{one.aim} {one.not_led}".strip(),
        "tempos": f"{one.tempos} quarter notes a minute.",
        "systems": [
            {"svg": str(svg), "alt": _label(svg)} for svg in draw_alone(one.exercise, *size)
        ],
    }


def _label(svg: Safe) -> str:
    """The label that a drawing carries, to be the text of its picture in the PDF."""
    found = re.search(r'aria-label="([^"]*)"', svg)
    return found[1] if found else ""
