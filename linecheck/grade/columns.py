"""The columns of a grade book: a row of plain values for every submission.

Points are rounded to two digits, shares to four, milliseconds and tempos to two; None is an empty
cell. Shares of the whole take are by its marks: landings met of all landings, and so on.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from linecheck.doubts import doubts
from linecheck.grade.terms import Graded, Refused
from linecheck.judge.commitment import PRESENCE
from linecheck.report.figures import MS, POINTS, SHARE, plain, rounded, to_the_hundredth

if TYPE_CHECKING:
    from linecheck.grade.terms import Row
    from linecheck.terms import BarCost, Evidence

__all__ = ["COLUMNS", "RANK", "REPORT", "Column", "flat_row", "text_cell"]

MOST_COSTS = 3
# What a spreadsheet would take for a formula or a command.
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")


class Column(NamedTuple):
    """A column: its name in files for programs, its title for people, its kind, its width."""

    name: str
    title: str
    kind: type
    width: int


COLUMNS: tuple[Column, ...] = (
    Column("class", "Class", str, 18),
    Column("student", "Student", str, 22),
    Column("take", "Take", str, 28),
    Column("chart", "Chart", str, 24),
    Column("commitment", "Commitment", float, 12),
    Column("passed", "Passed", bool, 8),
    Column("late", "Late", bool, 7),
    Column("to_check", "To check", str, 36),
    Column("due", "Due", str, 16),
    Column("submitted", "Submitted", str, 16),
    Column("choruses", "Choruses", int, 10),
    Column("notes", "Notes", int, 8),
    Column("purpose", "Purpose", float, 9),
    Column("landings", "Landings", float, 9),
    Column("form", "Form", float, 9),
    Column("presence", "Presence", float, 9),
    Column("landings_missed", "Landings missed", int, 15),
    Column("form_losses", "Form lost (times)", int, 16),
    Column("dearest", "What cost most", str, 60),
    Column("tempo_bpm", "Quarter notes a minute", float, 22),
    Column("placement_spread_ms", "Spread around the beat, ms", float, 24),
    Column("reason", "Why it was not graded", str, 60),
    Column("warnings", "Mind", str, 60),
    Column("pass_mark", "Pass mark", float, 10),
    Column("rubric", "Rubric", str, 18),
    Column("rubric_fingerprint", "Fingerprint of the rubric", str, 24),
    Column("linecheck", "linecheck", str, 10),
    Column("key", "Key of take, chart and program", str, 24),
)
# Columns that are there where they are asked for.
REPORT = Column("report", "Report", str, 40)
RANK = Column("rank", "Rank", int, 6)


def flat_row(row: Row) -> dict[str, Any]:
    """The values of a row by the names of ``COLUMNS``; those that it does not have are None."""
    submission = row.submission
    values: dict[str, Any] = dict.fromkeys(column.name for column in COLUMNS)
    values |= {
        "class": submission.class_name or None,
        "student": submission.student or None,
        "take": submission.take_name or None,
        "chart": submission.chart_name or None,
        "due": submission.due or None,
        "submitted": submission.submitted or None,
        "late": row.late,
        "key": row.key or None,
    }
    if isinstance(row, Refused):
        values["reason"] = row.reason
        return values
    return values | _graded(row)


def _graded(row: Graded) -> dict[str, Any]:
    judgement = row.judgement
    assert judgement.evidence is not None  # noqa: S101  (a graded row is made of its evidence)
    marks, missed = _sums(judgement.evidence)
    shares = {
        part: rounded(1 - missed.get(part, 0) / count, SHARE) for part, count in marks.items()
    }
    return {
        "commitment": to_the_hundredth(judgement.commitment, row.pass_mark),
        "passed": row.passed,
        "choruses": len(judgement.choruses),
        "notes": row.notes,
        "purpose": shares.get("purpose"),
        "landings": shares.get("landings"),
        "form": shares.get("form"),
        "presence": shares.get(PRESENCE),
        "landings_missed": missed.get("landings", 0),
        "form_losses": sum(loss.certain for loss in row.losses),
        "dearest": "; ".join(map(_cost, judgement.costs[:MOST_COSTS])) or None,
        "tempo_bpm": rounded(row.tempo_bpm, MS),
        # A written line was not played: nothing in it lies around a beat.
        "placement_spread_ms": (
            None if row.grid == "written" else rounded(row.placement_spread_ms, MS)
        ),
        "to_check": "; ".join(doubt.question for doubt in doubts(row.warnings)) or None,
        "warnings": plain("; ".join(row.warnings)) or None,
        "pass_mark": row.pass_mark,
        "rubric": judgement.rubric.name,
        "rubric_fingerprint": judgement.rubric.fingerprint,
        "linecheck": row.linecheck,
    }


def _sums(evidence: Evidence) -> tuple[dict[str, int], dict[str, int]]:
    """Part → its marks in the whole take, and those of them that were missed."""
    marks: dict[str, int] = {}
    missed: dict[str, int] = {}
    for bar in evidence.bars:
        for part, count in bar.marks.items():
            marks[part] = marks.get(part, 0) + count
        for part, reasons in bar.missed.items():
            missed[part] = missed.get(part, 0) + len(reasons)
    return marks, missed


def _cost(cost: BarCost) -> str:
    points = rounded(cost.points, POINTS)
    return f"chorus {cost.chorus} bar {cost.bar} ({cost.part}, {points}): {cost.why}"


def text_cell(text: str) -> str:
    """A text that no spreadsheet takes for a formula: one that looks like it gets an apostrophe."""
    return f"'{text}" if text.startswith(FORMULA_SIGNS) else text
