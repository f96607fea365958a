"""Courses as CSV: one row a take, by student, chart and day, for a spreadsheet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linecheck.judge.commitment import PRESENCE
from linecheck.report.csv_text import csv_text
from linecheck.report.figures import MS, POINTS, SHARE, rounded

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from linecheck.journal.course import Course, Point

__all__ = ["COLUMNS", "write_courses_csv"]

COLUMNS: tuple[tuple[str, Callable[[Point], Any]], ...] = (
    ("student", lambda p: p.entry.student),
    ("chart", lambda p: p.entry.chart),
    ("kind", lambda p: p.entry.kind),
    ("date", lambda p: p.entry.date),
    ("date_origin", lambda p: p.entry.date_origin),
    ("take", lambda p: p.entry.take),
    ("choruses", lambda p: p.entry.choruses),
    ("notes", lambda p: p.entry.notes),
    ("commitment", lambda p: rounded(p.entry.commitment, POINTS)),
    ("purpose", lambda p: rounded(p.entry.parts.get("purpose"), SHARE)),
    ("landings", lambda p: rounded(p.entry.parts.get("landings"), SHARE)),
    ("form", lambda p: rounded(p.entry.parts.get("form"), SHARE)),
    ("presence", lambda p: rounded(p.entry.parts.get(PRESENCE), SHARE)),
    ("landings_met", lambda p: p.entry.landings_met),
    ("landings_asked", lambda p: p.entry.landings_asked),
    ("losses", lambda p: len(p.entry.losses)),
    ("grid", lambda p: p.entry.grid),
    ("tempo", lambda p: rounded(p.entry.tempo, POINTS)),
    ("tempo_change", lambda p: rounded(p.entry.tempo_change, SHARE)),
    ("placement_mean_ms", lambda p: rounded(p.entry.placement_mean_ms, MS)),
    ("placement_spread_ms", lambda p: rounded(p.entry.placement_spread_ms, MS)),
    ("swing_ratio", lambda p: rounded(p.entry.swing_ratio, SHARE)),
    ("rubric", lambda p: p.entry.rubric),
    ("rubric_fingerprint", lambda p: p.entry.rubric_fingerprint),
    ("version", lambda p: p.entry.version),
    ("breaks", lambda p: " ".join(p.breaks)),
    ("class", lambda p: p.entry.class_name),
)


def write_courses_csv(found: Sequence[Course]) -> str:
    """The takes of the courses as the text of a CSV file, with a row of column names."""
    return csv_text(COLUMNS, (point for course in found for point in course.points))
