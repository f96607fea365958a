"""The journal: what was heard of every student, take by take, over the weeks.

A journal is one SQLite file on the user's machine. ``record`` writes entries into it, ``entries``
reads them back, ``entry_of_audit`` makes one of an audit::

    from linecheck import audit
    from linecheck.journal import entries, entry_of_audit, record

    found = audit("blues.toml", "tuesday.mid")
    record("class.journal", [entry_of_audit(found, student="Mira", date="2026-03-01")])
    entries("class.journal")

``progress`` reads a journal as the courses of its students, and ``write_courses_html`` draws them.
Nothing is loaded until it is used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from linecheck.journal.course import Course, Point, Trend, anonymous, courses
    from linecheck.journal.course_as_csv import write_courses_csv
    from linecheck.journal.course_as_html import write_courses_html
    from linecheck.journal.course_as_json import write_courses_json
    from linecheck.journal.course_as_terminal import courses_page
    from linecheck.journal.entry import Entry, EntryLoss
    from linecheck.journal.entry_of_audit import chart_key, entry_of_audit
    from linecheck.journal.entry_of_judgement import entry_loss, entry_of_judgement
    from linecheck.journal.journal_file import (
        Others,
        Recorded,
        check_journal,
        entries,
        others_with,
        record,
    )
    from linecheck.journal.progress import chosen_courses, progress
    from linecheck.journal.student_and_date import checked_date, date_of_take, student_name

__all__ = [
    "JOURNAL_NAME",
    "Course",
    "Entry",
    "EntryLoss",
    "Others",
    "Point",
    "Recorded",
    "Trend",
    "anonymous",
    "chart_key",
    "check_journal",
    "checked_date",
    "chosen_courses",
    "courses",
    "courses_page",
    "date_of_take",
    "entries",
    "entry_loss",
    "entry_of_audit",
    "entry_of_judgement",
    "others_with",
    "progress",
    "record",
    "student_name",
    "write_courses_csv",
    "write_courses_html",
    "write_courses_json",
]

JOURNAL_NAME = "class.journal"  # what the journal of a graded folder is called

_HOMES = {
    "course": ("Course", "Point", "Trend", "anonymous", "courses"),
    "course_as_csv": ("write_courses_csv",),
    "course_as_html": ("write_courses_html",),
    "course_as_json": ("write_courses_json",),
    "course_as_terminal": ("courses_page",),
    "entry": ("Entry", "EntryLoss"),
    "entry_of_audit": ("chart_key", "entry_of_audit"),
    "entry_of_judgement": ("entry_loss", "entry_of_judgement"),
    "journal_file": ("Others", "Recorded", "check_journal", "entries", "others_with", "record"),
    "progress": ("chosen_courses", "progress"),
    "student_and_date": ("checked_date", "date_of_take", "student_name"),
}
_HOME = {name: home for home, names in _HOMES.items() for name in names}


def __getattr__(name: str) -> object:
    """Load a public name when it is first used."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    module = import_module(f"{__name__}.{_HOME[name]}")
    # All of its names at once: one that is called like its module must not stay the module.
    globals().update({public: getattr(module, public) for public in _HOMES[_HOME[name]]})
    value: object = globals()[name]
    return value
