"""How each function of a note looks wherever it is drawn: letter, shape, colour, plain words.

Colours are those of Okabe and Ito, "Color Universal Design" (2002, revised 2008), chosen so that
people with any common colour vision tell them apart. A colour never stands alone: the letter and
the shape say the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeAlias

if TYPE_CHECKING:
    from linecheck.terms import Approach, Function

__all__ = [
    "GHOST_LETTER",
    "LOOKS",
    "STAND_INS",
    "Look",
    "Shape",
    "approach_in_words",
    "degree_beside",
    "letter",
    "note_function_in_words",
    "tone_name",
]

Shape: TypeAlias = Literal["circle", "arrow", "diamond", "square"]
GHOST_LETTER = "g"

_BLACK, _WHITE = "#000000", "#ffffff"


@dataclass(frozen=True, slots=True)
class Look:
    """``ink`` is the letter's colour, at least 4.5 to 1 against ``colour`` (WCAG 2.1, 1.4.3)."""

    letter: str
    shape: Shape
    colour: str
    ink: str
    words: str


_ALTERED_FIFTHS = {"b5": "flat fifth", "#5": "sharp fifth"}  # by degree
# Of the functions whose key tells of more than one degree.
_ALONE: dict[Function, str] = {
    "third": "the third: it tells major from minor",
    "fifth": "the fifth: safe, it tells little",
    "seventh": "the seventh",
}
# What stands in the third's or the seventh's place has its own letter on the badge.
STAND_INS: dict[tuple[Function, str], str] = {
    ("third", "4"): "suspended fourth",
    ("third", "2"): "suspended second",
    ("seventh", "6"): "sixth",
}

LOOKS: dict[Function, Look] = {
    "root": Look("R", "circle", "#0072b2", _WHITE, "the root of the chord"),
    "third": Look(
        "3", "circle", "#009e73", _BLACK,
        "the third: it tells major from minor; 4 or 2 where it is suspended",
    ),
    "fifth": Look(
        "5", "circle", "#56b4e9", _BLACK, "the fifth: safe, it tells little; b5 and #5 colour the chord"
    ),
    "seventh": Look("7", "circle", "#cc79a7", _BLACK, "the seventh, or 6 in a 6 chord"),
    "approach": Look("A", "arrow", "#f0e442", _BLACK, "approach: it leads to the next chord tone"),
    "tension": Look("T", "diamond", "#e69f00", _BLACK, "a tension that the chord allows"),
    "outside": Look("O", "square", "#d55e00", _BLACK, "outside: no reason was found for it"),
}  # fmt: skip


def tone_name(function: Function, degree: str | None) -> str:
    """What a note is by its degree: ``"third"``, ``"suspended fourth"``, ``"flat fifth"``."""
    if function == "fifth" and degree:
        return _ALTERED_FIFTHS.get(degree, function)
    return STAND_INS.get((function, degree or ""), function)


def letter(function: Function, degree: str | None) -> str:
    """The letter on the badge of a note: a suspended fourth is a 4."""
    return degree if degree and (function, degree) in STAND_INS else LOOKS[function].letter


def degree_beside(function: Function, degree: str | None) -> str:
    """The degree that the letter of a note does not tell: of a tension, an altered fifth; or none."""
    untold = function in {"tension", "outside"} or (
        function == "fifth" and degree in _ALTERED_FIFTHS
    )
    return degree if degree and untold else ""


def note_function_in_words(function: Function, degree: str | None) -> str:
    """What a note of a function does, by its degree: a fourth tells no major from minor."""
    if (function, degree or "") in STAND_INS:
        return f"the {tone_name(function, degree)}, in the {function}'s place"
    if function == "fifth" and degree in _ALTERED_FIFTHS:
        return f"the {tone_name(function, degree)}: it colours the chord"
    return _ALONE.get(function, LOOKS[function].words)


def approach_in_words(approach: Approach) -> str:
    """How a note leads: ``"a half step from below"``, ``"encloses its target"``."""
    side = f" from {approach.direction}" if approach.direction else ""
    return {
        "chromatic": f"a half step{side}",
        "scale": f"a whole step{side}",
        "double": f"the first of two half steps{side}",
        "enclosure": "with the next note it encloses its target",
        "from the fifth": "from the fifth of the next chord to its root",
    }[approach.kind]
