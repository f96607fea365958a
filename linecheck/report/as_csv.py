"""An audit as CSV: one row a note, in the order of the line, for a spreadsheet.

The columns are those of a note in the JSON, with the approach in columns of its own. A cell is
empty where the JSON has null.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linecheck.report.csv_text import csv_text
from linecheck.report.figures import BEATS, MS, SECONDS, rounded

if TYPE_CHECKING:
    from collections.abc import Callable

    from linecheck.terms import Audit, Note

__all__ = ["COLUMNS", "write_csv"]

COLUMNS: tuple[tuple[str, Callable[[Note], Any]], ...] = (
    ("chorus", lambda n: n.place.chorus),
    ("bar", lambda n: n.place.bar),
    ("beat", lambda n: rounded(n.place.beat, BEATS)),
    ("section", lambda n: n.section),
    ("chord", lambda n: n.chord),
    ("pitch", lambda n: n.pitch),
    ("name", lambda n: n.name),
    ("degree", lambda n: n.degree),
    ("function", lambda n: n.function),
    ("function_in_own_place", lambda n: n.function_in_own_place),
    ("approach", lambda n: n.approach and n.approach.kind),
    ("approach_direction", lambda n: n.approach and n.approach.direction),
    ("approach_target", lambda n: n.approach and n.approach.target),
    ("anticipation", lambda n: n.anticipation),
    ("ghost", lambda n: n.ghost),
    ("landing", lambda n: n.landing),
    ("onset_s", lambda n: rounded(n.onset_s, SECONDS)),
    ("duration_s", lambda n: rounded(n.duration_s, SECONDS)),
    ("placement_ms", lambda n: rounded(n.placement_ms, MS)),
    ("velocity", lambda n: n.velocity),
    ("cents", lambda n: rounded(n.cents, MS)),
)


def write_csv(audit: Audit) -> str:
    """The notes of the audit as the text of a CSV file, with a row of column names."""
    return csv_text(COLUMNS, audit.labels.notes)
