"""What to practise after a take: the weakest bars, exercises over them, a track to play to.

``drill`` makes the plan out of an audit; the rows of ``WRITERS`` put it into files;
``practice_track`` lays out the track to practise to, which ``write_midi`` writes. To add a format:
one module ``as_X``, one row. Writers are imported when they are used.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, cast

from linecheck.practice.as_midi import write_midi
from linecheck.practice.planning import drill
from linecheck.practice.practice_plan import Exercise, PracticePlan, Spot, Trouble
from linecheck.practice.practice_track import PracticeTrack, practice_track

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = [
    "WRITERS",
    "Exercise",
    "PlanWriter",
    "PracticePlan",
    "PracticeTrack",
    "Spot",
    "Trouble",
    "drill",
    "practice_track",
    "write_midi",
]


@dataclass(frozen=True, slots=True)
class PlanWriter:
    """A format that a plan's sheets are written in; ``function`` of ``module`` takes the plan."""

    option: str
    module: str
    function: str

    def write(self, plan: PracticePlan) -> str | bytes:
        """The whole file."""
        made = getattr(import_module(self.module), self.function)
        return cast("Callable[[PracticePlan], str | bytes]", made)(plan)


WRITERS: tuple[PlanWriter, ...] = (
    PlanWriter("musicxml", "linecheck.practice.as_musicxml", "write_musicxml"),
)
