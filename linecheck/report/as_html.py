"""A page to hand to the student.

The line is engraved twice, for a sheet of paper and for a phone; the page shows the one that
fits.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from linecheck.report.comparison_told import told
from linecheck.report.course_picture import course_picture
from linecheck.report.engraving import Engraving, engrave
from linecheck.report.feel_picture import feel_picture
from linecheck.report.findings_in_words import how_sure, style_text
from linecheck.report.form_map_picture import form_map_caption, form_map_picture
from linecheck.report.handout import handout
from linecheck.report.html_frame import packaged, rendered
from linecheck.report.intonation_picture import intonation_picture
from linecheck.report.labelled_score import ScoreDrawing
from linecheck.report.listening import listening
from linecheck.report.markup import Safe
from linecheck.report.recorded_sound import recorded_sound
from linecheck.report.score_marks import mark_symbols

if TYPE_CHECKING:
    from collections.abc import Callable

    from linecheck.terms import Audit

__all__ = ["write_html"]

FOLDER = ("linecheck.report", "handout_page")
# Widths of a line in the engraver's units, and bars on it: a sheet, and a phone of 390 pixels.
SHEET = (1950, 4)
PHONE = (920, 2)


def write_html(audit: Audit, progress: Callable[[int, int], None] | None = None) -> str:
    """The whole page as text.

    Args:
        audit: a complete audit.
        progress: called after every engraved chorus with the number done and the number in all.
    """
    say = progress or (lambda _done, _all: None)
    sheet = engrave(
        audit, width=SHEET[0], bars_a_line=SHEET[1], progress=lambda n, all_: say(n, 2 * all_)
    )
    phone = engrave(
        audit,
        width=PHONE[0],
        bars_a_line=PHONE[1],
        progress=lambda n, all_: say(all_ + n, 2 * all_),
    )
    return rendered(
        (*FOLDER, "page.html"),
        script=packaged(*FOLDER, "player.js"),
        text=handout(audit),
        glyphs=Safe("".join({**phone.glyphs, **sheet.glyphs}.values()) + mark_symbols()),
        choruses=_choruses(audit, sheet, phone),
        course=course_picture(audit),
        form_map=form_map_picture(audit),
        how_sure=how_sure(audit),
        form_caption=form_map_caption(audit.chart),
        compared=None if audit.carry_over is None else told(audit.carry_over),
        feel_picture=feel_picture(audit),
        intonation_picture=intonation_picture(audit),
        data=_data(listening(audit)),
        sound=recorded_sound(audit.take),
    )


def _choruses(audit: Audit, sheet: Engraving, phone: Engraving) -> list[dict[str, Any]]:
    """Number, heading figures and both drawings of every chorus."""
    on_sheet = ScoreDrawing(audit, controls=True, ids=True)
    on_phone = ScoreDrawing(audit, controls=True, ids=False)
    scores = {score.chorus: score for score in audit.judgement.choruses}
    return [
        {
            "number": wide.number,
            "score": scores.get(wide.number),
            "style": style_text(scores[wide.number], audit) if wide.number in scores else "",
            "sheet": on_sheet.systems(wide),
            "phone": on_phone.systems(narrow),
        }
        for wide, narrow in zip(sheet.choruses, phone.choruses, strict=True)
    ]


def _data(values: dict[str, Any]) -> Safe:
    """JSON that may stand inside a script element: no ``<``, ``>`` or ``&`` is left in it."""
    text = json.dumps(values, separators=(",", ":"))
    for sign in "<>&":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return Safe(text)
