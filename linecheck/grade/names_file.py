"""Whose pseudonyms those of an anonymous grade book are, for the teacher alone.

The file lies beside the kept audits, which are to be kept to oneself, and not in the folder of the
anonymous grade book, which is passed on.
"""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from linecheck.grade.columns import text_cell
from linecheck.output_files import write_whole

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from linecheck.grade.anonymous import Alias

__all__ = ["write_names"]

FILE = "pseudonyms.csv"
COLUMNS = ("class", "pseudonym", "shown_take", "shown_chart", "student", "take", "chart")


def write_names(aliases: Sequence[Alias], folder: Path) -> Path:
    """Write a row a submission, and say where.

    Raises:
        OutputFault: it cannot be written.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(COLUMNS)
    for real, shown in aliases:
        row = (
            real.class_name, shown.student, shown.take_name, shown.chart_name,
            real.student, real.take_name, real.chart_name,
        )  # fmt: skip
        writer.writerow(map(text_cell, row))
    file = folder / FILE
    write_whole(file, text.getvalue())
    return file
