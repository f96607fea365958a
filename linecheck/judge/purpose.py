"""purpose: the share of judged notes with one of the first six functions.

A note is judged where it has a function: no ghost, no pickup, nothing over N.C., and within the
stretch of the take that is judged. One mark a note.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.judge.marks import Mark

if TYPE_CHECKING:
    from linecheck.music.form import Form
    from linecheck.terms import LabelledLine, Note


def marks(labels: LabelledLine, form: Form) -> list[Mark]:
    """One mark for every judged note, missed where it is outside.

    Args:
        labels: the labelled line.
        form: the form (not asked).
    """
    del form
    begin, end = labels.judged_from, labels.judged_to
    found = []
    for note in labels.notes:
        if note.function is not None and begin <= note.step < end:
            if note.function == "outside":
                found.append(Mark(note.step, _why(note)))
            else:
                found.append(Mark(note.step))
    return found


def _why(note: Note) -> str:
    beat = note.place.beat
    return f"beat {beat:.4g}: {note.name}, outside {note.chord}" if beat else f"{note.name}"
