"""Intonation as a picture: for each pitch its mean deviation and its spread, in cents."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.report.intonation_in_words import intonation_sentences, is_tendency, signed_cents
from linecheck.report.markup import Safe, element, number
from linecheck.report.picture import LEFT, LINE, LOST, WIDTH, Setting, label, picture, stroke

if TYPE_CHECKING:
    from linecheck.terms import Audit, IntonationRow

__all__ = ["intonation_picture"]

REACH_CENTS = 40
ROW = 13
RIGHT, COUNTS = 74, 36  # room for the figures, and for the counts in it


def intonation_picture(audit: Audit, *, setting: Setting = "page") -> Safe | None:
    """The pitches from the highest down; None where nothing was measured."""
    told = audit.intonation
    rows = [row for row in told.rows if row.group == "pitch"][::-1] if told else []
    if not rows:
        return None
    floor = 22 + ROW * len(rows)
    middle = (LEFT + WIDTH - RIGHT) / 2
    unit = (WIDTH - RIGHT - LEFT) / 2 / REACH_CENTS
    parts: list[str] = [
        label("mean and spread of each pitch", 0, 11, font_weight="600"),
        label("cents", WIDTH - COUNTS, 11, "end", font_size=9, opacity=0.75),
        label("notes", WIDTH, 11, "end", font_size=9, opacity=0.75),
        stroke(f"M{number(middle)} 18V{floor + 3}", width=1.5, opacity=0.6),
    ]
    for cents in (-30, -15, 15, 30):
        x = middle + cents * unit
        parts.append(stroke(f"M{number(x)} 18V{floor + 3}", opacity=0.18))
        if abs(cents) == 15:
            words = signed_cents(cents)
            parts.append(label(words, x, floor + 15, "middle", font_size=9, opacity=0.75))
    parts.append(label("flat", LEFT, floor + 15, font_size=9, opacity=0.75))
    parts.append(label("sharp", WIDTH - RIGHT, floor + 15, "end", font_size=9, opacity=0.75))
    for index, row in enumerate(rows):
        parts += _row(row, 22 + ROW * (index + 0.5), middle, unit)
    words = "Intonation: " + "; ".join(intonation_sentences(audit))
    return picture(words, floor + 19, parts, setting)


def _row(row: IntonationRow, y: float, middle: float, unit: float) -> list[str]:
    def at(cents: float) -> float:
        return middle + min(max(cents, -REACH_CENTS), REACH_CENTS) * unit

    telling = is_tendency(row)
    colour = LOST if telling else LINE
    spread = row.spread_cents or 0.0
    left, right = at(row.mean_cents - spread), at(row.mean_cents + spread)
    weight = "600" if telling else "400"
    return [
        label(row.name, 0, y + 4, font_weight=weight),
        stroke(f"M{number(left)} {number(y)}H{number(right)}", width=3, opacity=0.4, colour=colour),
        element("circle", cx=at(row.mean_cents), cy=y, r=4, fill=colour),
        label(signed_cents(row.mean_cents), WIDTH - COUNTS, y + 4, "end", font_weight=weight),
        label(str(row.notes), WIDTH, y + 4, "end", font_weight=weight),
    ]
