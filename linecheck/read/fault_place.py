"""Where in a file a reader is, so that a fault can name it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from linecheck.faults import InputFault


@dataclass(frozen=True, slots=True)
class Where:
    """The kind of fault to raise, the file, and the place inside, outermost first."""

    fault: type[InputFault]
    source: str
    place: tuple[str, ...] = ()

    def at(self, *inside: str) -> Where:
        """A place further inside."""
        return Where(self.fault, self.source, (*self.place, *inside))

    def wrong(self, problem: str, *names: str) -> InputFault:
        """The fault to raise; ``names`` as in ``InputFault``."""
        return self.fault(problem, source=self.source, place=self.place, names=names)
