"""A fingering as CSV: one row a note, in the order of the line, for a spreadsheet.

The columns are those of a note in the JSON; a cell is empty where the JSON has null. No
cell holds text of the user's files.
"""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from linecheck.left_hand.note_row import COLUMNS, note_row

if TYPE_CHECKING:
    from linecheck.terms import Fingering

__all__ = ["write_csv"]


def write_csv(found: Fingering) -> str:
    """The notes as the text of a CSV file, with a row of column names."""
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(name for name, _ in COLUMNS)
    for note in found.notes:
        writer.writerow(note_row(note).values())
    return file.getvalue()
