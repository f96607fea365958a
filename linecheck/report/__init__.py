"""Files out: one file a format. ``WRITERS`` is the table that the command line is built from.

A new format is one new ``as_X.py`` with a function ``write_X(audit) -> str`` and one row here;
``--X FILE`` then exists. A writer is imported only when its file is asked for.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, cast

if TYPE_CHECKING:
    from collections.abc import Callable

    from linecheck.terms import Audit

__all__ = ["WRITERS", "Writer"]


@dataclass(frozen=True, slots=True)
class Writer:
    """A format that an audit can be written in.

    ``option`` names it on the command line (``--json FILE``); ``function`` in ``module`` takes
    an Audit and returns the whole file as text; ``help`` is what the command line says of it.
    """

    option: str
    module: str
    function: str
    help: str

    def write(self, audit: Audit) -> str:
        """The whole file as text."""
        made = getattr(import_module(self.module), self.function)
        return cast("Callable[[Audit], str]", made)(audit)


WRITERS: tuple[Writer, ...] = (
    Writer("json", "linecheck.report.as_json", "write_json", "everything, for a program"),
    Writer("csv", "linecheck.report.as_csv", "write_csv", "one row a note, for a spreadsheet"),
    Writer("html", "linecheck.report.as_html", "write_html", "a page to hand to the student"),
    Writer(
        "musicxml",
        "linecheck.report.as_musicxml",
        "write_musicxml",
        "the line in notation with its labels",
    ),
)
