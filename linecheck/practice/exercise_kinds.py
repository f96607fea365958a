"""The kinds of exercise, in the order in which they are built up: from long notes to eighths.

Definition: *landings* strikes one chord tone for each landing and holds it; *guide tones* are
thirds and sevenths, led by the least motion; an approach exercise leads into every landing by one
kind of approach, the kinds being those of ``label.approach``; *walking* goes in quarter notes (in
the dotted quarters of a compound meter); *eighths* reaches the same landings twice as fast.
Common practice of bass teaching.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from linecheck.practice.practice_plan import ExerciseKind
    from linecheck.terms import Function

__all__ = ["BEYOND_ROOTS", "KINDS", "ROOT_FIRST", "SEVENTH_FIRST", "THIRD_FIRST", "Kind"]

# How gladly each chord tone is landed on, the less the better.
ROOT_FIRST: dict[Function, float] = {"root": 0.0, "third": 3.0, "fifth": 3.5, "seventh": 5.0}
_ROOT_RATHER: dict[Function, float] = {"root": 0.0, "third": 1.0, "fifth": 2.0, "seventh": 2.5}
# Where every landing has been the root so far: never that again.
THIRD_FIRST: dict[Function, float] = {"third": 0.0, "seventh": 1.0, "fifth": 8.0}
SEVENTH_FIRST: dict[Function, float] = {**THIRD_FIRST, "third": 1.0, "seventh": 0.0}
_GUIDES: dict[Function, float] = {"third": 0.0, "seventh": 0.0}


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of exercise.

    ``tones`` are the chord tones that may be landed on, with their price. ``approach`` is the kind
    of ``label.approach`` that it is about, ``side`` where it comes from. ``moves`` says how it gets
    from landing to landing: held, by one approach, in quarters or in eighths.
    """

    name: ExerciseKind
    title: str
    aim: str
    tones: dict[Function, float]
    moves: str
    approach: str | None = None
    side: str | None = None


KINDS: tuple[Kind, ...] = (
    Kind(
        "landings",
        "Landings only",
        "One note for each chord, held. Sing it before you play it.",
        ROOT_FIRST,
        "held",
    ),
    Kind(
        "guide-tones",
        "Guide tones",
        "Thirds and sevenths only, each to the nearest one of the next chord.",
        _GUIDES,
        "held",
    ),
    Kind(
        "chromatic-below",
        "A half step from below",
        "Hold the chord tone, then step up into the next.",
        _ROOT_RATHER,
        "led",
        "chromatic",
        "below",
    ),
    Kind(
        "chromatic-above",
        "A half step from above",
        "Hold the chord tone, then step down into the next.",
        _ROOT_RATHER,
        "led",
        "chromatic",
        "above",
    ),
    Kind(
        "scale",
        "A whole step",
        "Hold the chord tone, then go to the next by a whole step.",
        _ROOT_RATHER,
        "led",
        "scale",
    ),
    Kind(
        "double",
        "Two half steps",
        "Two half steps in one direction lead into the next chord tone.",
        _ROOT_RATHER,
        "led",
        "double",
    ),
    Kind(
        "enclosure",
        "Enclosure",
        "A note on one side, a note on the other, then the chord tone between them.",
        _ROOT_RATHER,
        "led",
        "enclosure",
    ),
    Kind(
        "from-the-fifth",
        "From the fifth",
        "The fifth of the next chord falls (or rises) to its root.",
        _ROOT_RATHER,
        "led",
        "from the fifth",
    ),
    Kind(
        "walking",
        "Walking",
        "Quarter notes. Know the landing before you set out for it.",
        _ROOT_RATHER,
        "walked",
    ),
    Kind(
        "eighths",
        "The same landings in eighths",
        "The landings of the walking line, reached in eighths. Begin slowly.",
        _ROOT_RATHER,
        "in eighths",
    ),
)

# The same for bars in which every landing was the root: what leads to a root alone is no news.
BEYOND_ROOTS: tuple[Kind, ...] = tuple(
    kind if kind.tones is _GUIDES else replace(kind, tones=THIRD_FIRST)
    for kind in KINDS
    if kind.approach != "from the fifth"
)
