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

__all__ = ["GHOST_LETTER", "LOOKS", "Look", "Shape", "approach_in_words"]

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


LOOKS: dict[Function, Look] = {
    "root": Look("R", "circle", "#0072b2", _WHITE, "the root of the chord"),
    "third": Look("3", "circle", "#009e73", _BLACK, "the third: it tells major from minor"),
    "fifth": Look("5", "circle", "#56b4e9", _BLACK, "the fifth: safe, it tells little"),
    "seventh": Look("7", "circle", "#cc79a7", _BLACK, "the seventh, or the sixth of a 6 chord"),
    "approach": Look("A", "arrow", "#f0e442", _BLACK, "approach: it leads to the next chord tone"),
    "tension": Look("T", "diamond", "#e69f00", _BLACK, "a tension that the chord allows"),
    "outside": Look("O", "square", "#d55e00", _BLACK, "outside: no reason was found for it"),
}


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
