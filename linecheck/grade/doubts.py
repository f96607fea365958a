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
    """A doubt: what its warnings have in them, a word for it, and what is to be asked."""

    said: str
    word: str
    question: str


TRACK = ("track?", "is it the right track?")
RECORDING = ("recording?", "is the recording clear enough?")
DOUBTS: tuple[Doubt, ...] = (
    Doubt(
        "is it the right chart",
        "chart?",
        "is it the right chart, and does chorus 1 begin where it says?",
    ),
    Doubt("their bars do not fall together", "meter?", "is the line in the meter of its chart?"),
    Doubt("is the key right", "key?", "is the chart in the right key?"),
    Doubt(
        "where chorus 1 begins is not certain",
        "beginning?",
        "does chorus 1 begin where it was taken to begin?",
    ),
    Doubt(
        "the form sounds alike from bar",
        "beginning?",
        "does chorus 1 begin where it was taken to begin?",
    ),
    Doubt("no track looks like a bass", *TRACK),
    Doubt("and was read as the bass line", *TRACK),
    Doubt("may be the bass as well", *TRACK),
    Doubt("may be the part of another instrument", *TRACK),
    Doubt("the line may be saved", "octave?", "is it in the right octave?"),
    Doubt("are these the pitches that sound", "pitches?", "are the pitches those that sound?"),
    Doubt("and may mean nothing", "click?", "was it played to the click?"),
    Doubt("of the form were played", "whole?", "was the whole form to be played?"),
    Doubt("soft notes may be missing", *RECORDING),
    Doubt("there may be wrong", *RECORDING),
)


def doubts(warnings: Iterable[str]) -> tuple[Doubt, ...]:
    """The doubts that the warnings of a take raise, each question once, the gravest first."""
    said = list(warnings)
    found: dict[str, Doubt] = {}
    for doubt in DOUBTS:
        if any(doubt.said in text for text in said):
            found.setdefault(doubt.question, doubt)
    return tuple(found.values())
