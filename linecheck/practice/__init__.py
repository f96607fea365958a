"""What to practise after a take: the weakest bars, exercises over them, a track to play to.

``drill`` makes the plan out of an audit; the rows of ``WRITERS`` put it into files;
``practice_track`` lays out the track to practise to, which ``write_midi`` writes; ``write_watched``
keeps the bars for the next take, ``check_watched`` says what became of them. To add a format: one
module ``as_X``, one row. Writers are imported when they are used.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, cast

from linecheck.practice.as_midi import write_midi
from linecheck.practice.planning import drill
from linecheck.practice.practice_plan import Exercise, PracticePlan, Spot, Trouble
from linecheck.practice.practice_track import PracticeTrack, practice_track
from linecheck.practice.watch import check_watched, read_watched, write_watched
from linecheck.report import PAPERS

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
    "check_watched",
    "drill",
    "practice_track",
    "read_watched",
    "write_midi",
    "write_watched",
]


@dataclass(frozen=True, slots=True)
class PlanWriter:
    """A format that a plan's sheets are written in.

    ``function`` of ``module`` takes the plan and, where it is set on ``paper``, its size.
    """

    option: str
    module: str
    function: str
    paper: bool = False

    def write(self, plan: PracticePlan, *, paper: str = PAPERS[0]) -> str | bytes:
        """The whole file."""
        made = getattr(import_module(self.module), self.function)
        size = {"paper": paper} if self.paper else {}
        return cast("Callable[..., str | bytes]", made)(plan, **size)


WRITERS: tuple[PlanWriter, ...] = (
    PlanWriter("html", "linecheck.practice.as_html", "write_html"),
    PlanWriter("pdf", "linecheck.practice.as_pdf", "write_pdf", paper=True),
    PlanWriter("musicxml", "linecheck.practice.as_musicxml", "write_musicxml"),
)
