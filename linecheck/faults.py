"""What can be wrong with an input, and how it is said.

InputFault            an input that cannot be used (exit status 2)
 ├─ ChartFault        in a chart
 ├─ TakeFault         in a take
 ├─ RubricFault       in a rubric
 ├─ JournalFault      in a journal
 ├─ CostsFault        in the costs of a fingering
 ├─ OptionFault       in an option's value
 ├─ ReferenceFault    in a reference profile
 ├─ WatchFault        in a list of bars to watch
 └─ OutputFault       in a place to write to

A message is one line: where, what was read, what was expected, the likely slip.
"""

from __future__ import annotations

__all__ = [
    "ChartFault",
    "CostsFault",
    "InputFault",
    "JournalFault",
    "OptionFault",
    "OutputFault",
    "ReferenceFault",
    "RubricFault",
    "TakeFault",
    "WatchFault",
]

# What a piece of a place begins with; the rest of it is a number or a name.
PLACES = frozenset(("section", "part", "track", "measure", "bar", "beat", "line", "byte"))
UNDECODED = ("\udc80", "\udcff")  # what Python reads a byte as that is no text (PEP 383)


class InputFault(Exception):
    """An input that cannot be used.

    Args:
        problem: what is wrong: what was read and what was expected, in one sentence.
        source: the file's name as the user gave it.
        place: where in the file, outermost first: ``("section A", "bar 3", "beat 2")``.
        names: the pieces of ``problem`` that come from the user's files and stand in no quotes.
    """

    exit_status = 2

    def __init__(
        self,
        problem: str,
        *,
        source: str | None = None,
        place: tuple[str, ...] = (),
        names: tuple[str, ...] = (),
    ) -> None:
        super().__init__(problem)
        self.problem = problem
        self.source = source
        self.place = place
        self.names = names

    def __str__(self) -> str:
        where = ", ".join(part for part in (self.source, *self.place) if part)
        return _one_line(f"{where}: {self.problem}" if where else self.problem)

    @property
    def told_names(self) -> tuple[str, ...]:
        """The names in the text, as they stand in it: those of the problem, and of the place."""
        inside = []
        for piece in self.place:
            kind, _, name = piece.partition(" ")
            named = name if kind in PLACES else piece
            inside += [] if named.isdecimal() else [named]
        return tuple(filter(None, map(_one_line, (*self.names, *inside))))


def _one_line(text: str) -> str:
    return "".join(map(_shown, " ".join(text.split())))


def _shown(sign: str) -> str:
    """A character as it can be printed; a byte of a name that is no text as its two hex figures."""
    if UNDECODED[0] <= sign <= UNDECODED[1]:
        return f"\\x{ord(sign) & 0xFF:02x}"
    return sign if sign.isprintable() else " "


class ChartFault(InputFault):
    """A chart that cannot be read as a chart."""


class TakeFault(InputFault):
    """A take that cannot be read as one line of notes."""


class RubricFault(InputFault):
    """A rubric with an unknown part or a weight that is no weight."""


class JournalFault(InputFault):
    """A journal that cannot be read or written."""


class CostsFault(InputFault):
    """The costs of a fingering with an unknown key or a number that is no cost."""


class OptionFault(InputFault):
    """An option's value that does not fit the chart or the take."""


class ReferenceFault(InputFault):
    """A reference profile that cannot be read, or takes that make none."""


class WatchFault(InputFault):
    """A list of bars to watch that cannot be read, or that is from another chart."""


class OutputFault(InputFault):
    """A file or stream that cannot be written."""
