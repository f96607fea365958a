"""A note of a fingering as a row, the same in every file."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linecheck.report.figures import BEATS, SECONDS, rounded

if TYPE_CHECKING:
    from collections.abc import Callable

    from linecheck.terms import FingeredNote

__all__ = ["COLUMNS", "note_row"]

COLUMNS: tuple[tuple[str, Callable[[FingeredNote], Any]], ...] = (
    ("bar", lambda n: n.bar),
    ("beat", lambda n: rounded(n.beat, BEATS)),
    ("onset_s", lambda n: rounded(n.onset_s, SECONDS)),
    ("duration_s", lambda n: rounded(n.duration_s, SECONDS)),
    ("pitch", lambda n: n.pitch),
    ("name", lambda n: n.name),
    ("string", lambda n: n.string),
    ("string_name", lambda n: n.string_name or None),
    ("finger", lambda n: n.finger),
    ("position", lambda n: n.position),
    ("position_name", lambda n: n.position_name or None),
    ("shift", lambda n: n.shift),
    ("pivot", lambda n: n.pivot),
    ("crossing", lambda n: n.crossing),
    ("out_of_reach", lambda n: n.out_of_reach or None),
)


def note_row(note: FingeredNote) -> dict[str, Any]:
    """Column → value; None where there is none."""
    return {name: value(note) for name, value in COLUMNS}
