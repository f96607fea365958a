"""A plan as a page with its sheets: ``--html FILE``.

Every exercise is engraved twice, for a sheet of paper and for a phone; the page shows the one that
fits. It is one file that opens from disk and asks nothing of any network.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.practice.engraved_sheets import draw_together
from linecheck.practice.plan_told import tell
from linecheck.report.html_frame import packaged, rendered
from linecheck.report.markup import Safe
from linecheck.report.score_marks import mark_symbols

if TYPE_CHECKING:
    from linecheck.practice.practice_plan import PracticePlan

__all__ = ["write_html"]

FOLDER = ("linecheck.practice", "plan_page")
# Widths of a line in the engraver's units, and bars on it: a sheet, and a phone of 390 pixels.
SHEET = (1950, 5)
PHONE = (920, 2)
EIGHTHS = (1950, 3)  # a bar of eighths needs more room


def write_html(plan: PracticePlan) -> str:
    """The whole page as text, the same for the same plan."""
    glyphs: dict[str, Safe] = {}
    told = tell(plan)
    drawn = [
        [
            {
                "text": one,
                "sheet": draw_together(
                    one.exercise, *(EIGHTHS if one.exercise.kind == "eighths" else SHEET), glyphs
                ),
                "phone": draw_together(one.exercise, *PHONE, glyphs),
            }
            for one in spot.exercises
        ]
        for spot in told.spots
    ]
    return rendered(
        (*FOLDER, "page.html"),
        more_style=packaged(*FOLDER, "page.css"),
        text=told,
        drawn=drawn,
        glyphs=Safe("".join(dict(sorted(glyphs.items())).values()) + mark_symbols()),
    )
