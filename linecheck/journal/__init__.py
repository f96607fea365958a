"""The journal: what was heard of every student, take by take, over the weeks.

A journal is one SQLite file on the user's machine. ``record`` writes entries into it, ``entries``
reads them back, ``entry_of_audit`` makes one of an audit::

    from linecheck import audit
    from linecheck.journal import entries, entry_of_audit, record

    found = audit("blues.toml", "tuesday.mid")
    record("class.journal", [entry_of_audit(found, student="Mira", date="2026-03-01")])
    entries("class.journal")

Nothing is loaded until it is used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from linecheck.journal.entry import Entry, EntryLoss
    from linecheck.journal.entry_of_audit import entry_of_audit
    from linecheck.journal.journal_file import Recorded, check_journal, entries, record
    from linecheck.journal.student_and_date import checked_date, date_of_take, student_name

__all__ = [
    "JOURNAL_NAME",
    "Entry",
    "EntryLoss",
    "Recorded",
    "check_journal",
    "checked_date",
    "date_of_take",
    "entries",
    "entry_of_audit",
    "record",
    "student_name",
]

JOURNAL_NAME = "class.journal"  # what the journal of a graded folder is called

_HOMES = {
    "entry": ("Entry", "EntryLoss"),
    "entry_of_audit": ("entry_of_audit",),
    "journal_file": ("Recorded", "check_journal", "entries", "record"),
    "student_and_date": ("checked_date", "date_of_take", "student_name"),
}
_HOME = {name: home for home, names in _HOMES.items() for name in names}


def __getattr__(name: str) -> object:
    """Load a public name when it is first used."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value: object = getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
    globals()[name] = value
    return value
