"""Files out: one file a format. ``WRITERS`` is the table that the command line is built from.

A new format is one new ``as_X.py`` with a function ``write_X(audit) -> str`` (or bytes) and one row
here; ``--X FILE`` then exists. A writer is imported only when its file is asked for.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, cast

if TYPE_CHECKING:
    from collections.abc import Callable

    from linecheck.terms import Audit

__all__ = ["PAPERS", "WRITERS", "Writer"]

PAPERS = ("a4", "letter")  # ISO 216; ANSI/ASME Y14.1 size A


@dataclass(frozen=True, slots=True)
class Writer:
    """A format that an audit can be written in.

    ``option`` names it on the command line (``--json FILE``); ``function`` in ``module`` takes
    an Audit and returns the whole file as text, or as bytes where it is no text; ``help`` is what
    the command line says of it. Where it ``counts``, the function also takes a callback of the
    choruses done and of all there are; where it is set on ``paper``, the name of its size.
    """

    option: str
    module: str
    function: str
    help: str
    counts: bool = False
    paper: bool = False

    def write(
        self,
        audit: Audit,
        progress: Callable[[int, int], None] | None = None,
        *,
        paper: str = PAPERS[0],
    ) -> str | bytes:
        """The whole file; ``progress`` is called where the work is long enough to be counted.

        ``paper`` is one of ``PAPERS``, for a format that is set on paper.
        """
        made = getattr(import_module(self.module), self.function)
        more = (progress,) if self.counts else ()
        size = {"paper": paper} if self.paper else {}
        return cast("Callable[..., str | bytes]", made)(audit, *more, **size)


WRITERS: tuple[Writer, ...] = (
    Writer("json", "linecheck.report.as_json", "write_json", "everything, for a program"),
    Writer("csv", "linecheck.report.as_csv", "write_csv", "one row a note, for a spreadsheet"),
    Writer(
        "html",
        "linecheck.report.as_html",
        "write_html",
        "a page to hand to the student",
        counts=True,
    ),
    Writer(
        "pdf",
        "linecheck.report.as_pdf",
        "write_pdf",
        "the same on paper",
        counts=True,
        paper=True,
    ),
    Writer(
        "musicxml",
        "linecheck.report.as_musicxml",
        "write_musicxml",
        "the line in notation with its labels",
    ),
)
