"""What the warnings of a take put in question, as questions to whoever grades or practises it.

Most warnings only say how a take was read ("not played to the click"); those with a doubt say that
it may have been read wrongly, so that somebody has to look before a grade or a plan is trusted.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from linecheck.terms import Remark

if TYPE_CHECKING:
    from collections.abc import Iterable

    from linecheck.terms import DoubtKind

__all__ = ["DOUBTS", "GRAVE", "Doubt", "asked_first", "doubts", "questions"]

# These put everything in question that is said of a take; the others only some of it.
GRAVE: frozenset[DoubtKind] = frozenset(("chart", "meter", "key", "beginning", "track", "pitches"))


class Doubt(NamedTuple):
    """A doubt: a word for it, and what is to be asked."""

    word: str
    question: str


DOUBTS: dict[DoubtKind, Doubt] = {  # the gravest first
    "chart": Doubt("chart?", "is it the right chart, and does chorus 1 begin where it says?"),
    "meter": Doubt("meter?", "is the line in the meter of its chart?"),
    "key": Doubt("key?", "is the chart in the right key?"),
    "beginning": Doubt("beginning?", "does chorus 1 begin where it was taken to begin?"),
    "track": Doubt("track?", "is it the right track?"),
    "octave": Doubt("octave?", "is it in the right octave?"),
    "pitches": Doubt("pitches?", "are the pitches those that sound?"),
    "click": Doubt("click?", "was it played to the click?"),
    "whole": Doubt("whole?", "was the whole form to be played?"),
    "recording": Doubt("recording?", "is the recording clear enough?"),
}


def doubts(warnings: Iterable[str]) -> tuple[Doubt, ...]:
    """The doubts that the warnings of a take raise, each once, the gravest first."""
    raised = {said.doubt for said in warnings if isinstance(said, Remark)}
    return tuple(doubt for kind, doubt in DOUBTS.items() if kind in raised)


def asked_first(warnings: Iterable[str]) -> str | None:
    """The question that stands before everything else that is said of a take, if there is one."""
    raised = {said.doubt for said in warnings if isinstance(said, Remark)} & GRAVE
    return next((doubt.question for kind, doubt in DOUBTS.items() if kind in raised), None)


def questions(warnings: Iterable[str]) -> tuple[str, ...]:
    """The warnings that raise a doubt, the gravest first, and the question where none of them asks it."""
    said = [one for one in dict.fromkeys(warnings) if isinstance(one, Remark)]
    asked: list[str] = []
    for kind, doubt in DOUBTS.items():
        of_kind = [one for one in said if one.doubt == kind]
        asked += of_kind
        if of_kind and not any(one.endswith("?") for one in of_kind):
            asked.append(doubt.question)
    return tuple(asked)
