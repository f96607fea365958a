"""landings: the share met of those that count.

One mark a landing. What counts is decided where landings are found: not over N.C., not in a breath
of a solo, not before the take begins or after it ends.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.judge.marks import Mark

if TYPE_CHECKING:
    from linecheck.music.form import Form
    from linecheck.terms import LabelledLine, Landing, Note


def marks(labels: LabelledLine, form: Form) -> list[Mark]:
    """One mark for every landing that counts, missed where it is not met.

    Args:
        labels: the labelled line.
        form: the form (not asked).
    """
    del form
    return [
        Mark(landing.step) if landing.met else Mark(landing.step, _why(landing, labels.notes))
        for landing in labels.landings
        if landing.counted
    ]


def _why(landing: Landing, notes: tuple[Note, ...]) -> str:
    where = f"beat {landing.place.beat:.4g}"
    if landing.note is None:
        return f"{where}: {landing.chord} not struck"
    note = notes[landing.note]
    if note.ghost:
        return f"{where}: a ghost for {landing.chord}"
    return f"{where}: {note.name}, no tone of {landing.chord}"
