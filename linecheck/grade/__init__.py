"""Grading a folder of takes by one rubric.

``grade_folder`` gives a ``GradeBook``: a row for every submission, ``Graded`` or ``Refused`` with
its reason.
"""

from __future__ import annotations

from linecheck.grade.book import GradeBook, grade_folder
from linecheck.grade.rows import points
from linecheck.grade.terms import BarPoints, Graded, Loss, Refused, Row, Submission, TakeOptions

__all__ = [
    "BarPoints",
    "GradeBook",
    "Graded",
    "Loss",
    "Refused",
    "Row",
    "Submission",
    "TakeOptions",
    "grade_folder",
    "points",
]
