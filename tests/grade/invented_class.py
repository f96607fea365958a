"""A class of invented players over the demo tunes, graded without any folder."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from linecheck import audit, read_rubric
from linecheck.demo import demo_take
from linecheck.grade.findings import findings_of
from linecheck.grade.rows import graded_row
from linecheck.grade.terms import Graded, Refused, Row, Submission

__all__ = ["NAMES", "class_rows", "demo_audit", "graded", "refused", "submission"]

# Invented students, each with a demo take.
NAMES = {
    "Ansel Brook": "tomasz",
    "Bettina Vale": "lena",
    "Corin Marsh": "lena",
    "Dilys Ford": "oskar",
    "Edda Stone": "oskar",
    "Finn Rill": "mira",
    "Greta Holm": "paola",
}


@cache
def demo_audit(name: str):
    take = demo_take(name)
    return audit(take.chart, take.take)


def submission(student: str, take: str = "take.mid", **more) -> Submission:
    return Submission(student, "Tuesday", Path(take), Path("c.toml"), take, "c.toml", **more)


def graded(student: str, name: str, pass_mark: float | None = None, **more) -> Graded:
    found = findings_of(demo_audit(name))
    take = submission(student, f"{name}.mid", **more)
    return graded_row(take, found, read_rubric(), pass_mark=pass_mark)


def refused(student: str, reason: str) -> Refused:
    return Refused(submission(student, "broken.mid"), reason)


def class_rows(pass_mark: float | None = None) -> list[Row]:
    rows: list[Row] = [graded(name, take, pass_mark) for name, take in NAMES.items()]
    rows.append(refused("Hal Wick", "is not a MIDI file: it begins with 'PK'; expected 'MThd'"))
    return rows
