"""The marks that are drawn over and under the staff: labels, chord symbols, missed landings.

Units: those of ``engraved_svg``.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from linecheck.report.function_looks import GHOST_LETTER, LOOKS, STAND_INS, degree_beside
from linecheck.report.markup import Safe, element, number

if TYPE_CHECKING:
    from collections.abc import Iterator

    from linecheck.report.function_looks import Look
    from linecheck.terms import Function, Note

__all__ = [
    "WARNING",
    "badge_id",
    "centred",
    "chord_symbol",
    "fine_print",
    "mark_symbols",
    "missed_caret",
    "missed_mark",
    "pushed_mark",
]

WARNING = "#a33f00"  # dark enough for small type on paper
HALF = 175  # half the height of a label
SHAPES = {
    "circle": f"M-{HALF} 0A{HALF} {HALF} 0 1 1 {HALF} 0A{HALF} {HALF} 0 1 1 -{HALF} 0Z",
    "arrow": "M-180 -160H70L210 0L70 160H-180Z",
    "diamond": "M0 -220L220 0L0 220L-220 0Z",
    "square": "M-160 -160H160V160H-160Z",
}
OWN = 0.7  # size of a label for the player's own place
LEADS = {
    "up": "M-90 70L80 -80M-20 -90H90V20",
    "down": "M-90 -70L80 80M-20 90H90V-20",
}
ACCIDENTALS = str.maketrans({"b": "♭", "#": "♯"})
ROOT = re.compile(r"([A-G][b#]{0,2})(.*)", re.DOTALL)


def mark_symbols() -> Safe:
    """Definitions of the labels, once for all drawings of a page."""
    made = [_badge(look, look.letter, f"f-{name}") for name, look in LOOKS.items()]
    made += [_badge(LOOKS[name], degree, f"f-{name}-{degree}") for name, degree in STAND_INS]
    hollow = [
        element(
            "g",
            element(
                "path", d=SHAPES[look.shape], fill="none", stroke="currentColor", stroke_width=26
            ),
            centred(look.letter, -15 if look.shape == "arrow" else 0, 98, 280, "currentColor"),
            id=f"own-{name}",
            transform=f"scale({OWN})",
        )
        for name, look in LOOKS.items()
    ]
    ghost = element(
        "g",
        element(
            "path",
            d=SHAPES["circle"],
            fill="none",
            stroke="currentColor",
            stroke_dasharray="50 40",
            stroke_width=18,
        ),
        centred(GHOST_LETTER, 0, 80, 250, "currentColor"),
        id="f-ghost",
    )
    leads = [
        element("path", d=d, id=f"lead-{way}", fill="none", stroke="currentColor", stroke_width=30)
        for way, d in LEADS.items()
    ]
    hatch = element(
        "pattern",
        element("path", d="M0 0V160", stroke="currentColor", stroke_width=36),
        id="hatch",
        width=160,
        height=160,
        patternUnits="userSpaceOnUse",
        patternTransform="rotate(45)",
    )
    return Safe("".join([*made, *hollow, ghost, *leads, hatch]))


def _badge(look: Look, text: str, name: str) -> Safe:
    shape = element(
        "path",
        d=SHAPES[look.shape],
        fill=look.colour,
        stroke="currentColor",
        stroke_opacity=0.5,
        stroke_width=14,
    )
    text_ = centred(text, -15 if look.shape == "arrow" else 0, 98, 280, look.ink)
    return element("g", shape, text_, id=name)


def badge_id(function: Function, degree: str | None) -> str:
    """The name of the badge of a note in ``mark_symbols``."""
    return f"f-{function}-{degree}" if (function, degree) in STAND_INS else f"f-{function}"


def centred(text: str, x: float, y: float, size: float, fill: str) -> Safe:
    """A bold text around a middle."""
    return element(
        "text",
        text,
        x=x,
        y=y,
        fill=fill,
        stroke="none",
        font_size=size,
        font_weight="700",
        text_anchor="middle",
    )


def chord_symbol(symbol: str, x: float, y: float) -> Safe:
    """A chord symbol with its accidentals as signs, root large."""
    match = ROOT.fullmatch(symbol)
    if match is None:
        return element("text", symbol, x=x, y=y, class_="chord", font_size=400)
    # In a quality a "b" before a figure or after a slash's letter is a flat.
    rest = re.sub(r"b(?=\d)|(?<=/[A-G])b", "♭", match[2]).replace("#", "♯")
    parts = [*_with_signs(match[1].translate(ACCIDENTALS), 410), *_with_signs(rest, 330)]
    return element("text", *parts, x=x, y=y, class_="chord")


def _with_signs(text: str, size: float) -> Iterator[Safe]:
    """Letters and accidentals apart: bold type seldom has the signs."""
    for part in re.split("([♭♯]+)", text):
        if part:
            sign = "sign" if part[0] in "♭♯" else None
            yield element("tspan", part, font_size=size, class_=sign)


def missed_mark(x: float, y: float) -> Safe:
    """A mark that says in letters that a landing was missed."""
    words = element(
        "text",
        "missed",
        x=x,
        y=y + 60,
        font_size=230,
        font_weight="700",
        text_anchor="middle",
        fill="currentColor",
    )
    return element("g", missed_caret(x, y - 150), words, class_="missed", color=WARNING)


def missed_caret(x: float, y: float) -> Safe:
    """What points at a missed landing: its point over ``x``, its ground at ``y``."""
    return element("path", d=f"M{number(x - 90)} {number(y)}h180l-90 -130z", fill="currentColor")


def pushed_mark(x: float, y: float) -> Safe:
    """Beside the label of an anticipation: an angle that points ahead."""
    d = f"M{number(x)} {number(y - 60)}l70 60l-70 60"
    return element("path", d=d, fill="none", stroke="currentColor", stroke_width=30)


def fine_print(note: Note, x: float, y: float) -> Iterator[Safe]:
    """Under the label: where an approach leads, or the degree that the letter does not tell.

    Where the line is not in place, what the note is in the bar that the player was in.
    """
    own = note.function_in_own_place
    if own and note.function and own != note.function:
        yield element("use", href=f"#own-{own}", x=x, y=y - 60, class_="fine")
        return
    if note.function == "approach" and note.approach:
        if note.approach.kind in ("chromatic", "scale", "double"):
            way = "up" if note.approach.direction == "below" else "down"
            yield element("use", href=f"#lead-{way}", x=x, y=y - 70, class_="fine")
            return
        text = "encl." if note.approach.kind == "enclosure" else "5→1"
    elif note.function and (degree := degree_beside(note.function, note.degree)):
        text = degree.replace("b", "♭").replace("#", "♯")
    else:
        return
    yield element("text", text, x=x, y=y, class_="fine", font_size=250, text_anchor="middle")
