"""doubts: the warnings of a take that put its grade in question, as questions to a teacher.

Most warnings only say how a take was read ("not played to the click"); these say that it may have
been read wrongly, so that somebody has to look before the grade is given.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["DOUBTS", "Doubt", "doubts"]


class Doubt(NamedTuple):
    """A doubt: what its warnings have in them, and what is to be asked."""

    said: str
    question: str


CHART = "is it the right chart, and does chorus 1 begin where it says?"
BEGINNING = "does chorus 1 begin where it was taken to begin?"
OCTAVE = "is it in the right octave?"
TRACK = "is it the right track?"
RECORDING = "is the recording clear enough?"
DOUBTS: tuple[Doubt, ...] = (
    Doubt("is it the right chart", CHART),
    Doubt("is the key right", "is the chart in the right key?"),
    Doubt("where chorus 1 begins is not certain", BEGINNING),
    Doubt("the line may be saved an octave too", OCTAVE),
    Doubt("no track looks like a bass", TRACK),
    Doubt("may be the bass as well", TRACK),
    Doubt(
        "they are the grid as was asked for, and may mean nothing", "was it played to the click?"
    ),
    Doubt("soft notes may be missing", RECORDING),
    Doubt("may be wrong", RECORDING),
)


def doubts(warnings: Iterable[str]) -> tuple[str, ...]:
    """The questions that the warnings of a take ask, each once, the gravest first."""
    said = list(warnings)
    return tuple(
        dict.fromkeys(doubt.question for doubt in DOUBTS if any(doubt.said in s for s in said))
    )
