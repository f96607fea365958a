"""What a note is in the line's own place.

Where the line runs ahead of the form clock by some beats, it plays what stands that many beats
later in the form; where it runs behind, what stands earlier. Labelled by that place, a good line
in the wrong bar shows itself: its functions by the clock are poor and in its own place good.
Where the line is in place the two are the same; where it is adrift it has no place of its own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.label.anticipation import Standing, standings
from linecheck.label.note_function import note_function
from linecheck.music.form import Form
from linecheck.terms import STEPS_PER_BEAT, FormSpan, Function, PlacedNote

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.label.chord_facts import ChordBook


class OwnPlace:
    """The line read at its own place.

    Args:
        form: the form.
        book: the chords' facts.
        notes: the line.
        by_clock: what each note is judged by at the form clock.
        spans: the line's spans that count, in their order.
    """

    def __init__(
        self,
        form: Form,
        book: ChordBook,
        notes: Sequence[PlacedNote],
        by_clock: Sequence[Standing],
        spans: Sequence[FormSpan],
    ) -> None:
        self._notes = notes
        self._standings: Sequence[Standing] = by_clock
        self._shifts: list[int | None] = [0] * len(notes)
        if all(span.offset_beats == 0 for span in spans):
            return
        self._shifts = _shifts(notes, spans)
        if any(self._shifts):
            moved = standings(Form(form.chart), book, notes, [shift or 0 for shift in self._shifts])
            self._standings = [
                there if shift else here
                for here, there, shift in zip(by_clock, moved, self._shifts, strict=True)
            ]

    def function(
        self, index: int, following: Sequence[int], by_clock: Function | None
    ) -> Function | None:
        """The function of note ``index`` there; ``by_clock`` is the one by the form clock."""
        shift = self._shifts[index]
        if shift == 0:
            return by_clock
        if shift is None:
            return None
        return note_function(index, self._notes, self._standings, following)[0]


def _shifts(notes: Sequence[PlacedNote], spans: Sequence[FormSpan]) -> list[int | None]:
    """For each note how many steps the line runs ahead there; None where it is adrift."""
    shifts: list[int | None] = []
    at = 0
    for note in notes:
        while at < len(spans) and spans[at].end_step <= note.step:
            at += 1
        if at == len(spans) or note.step < spans[at].step:
            shifts.append(0)
            continue
        offset = spans[at].offset_beats
        shifts.append(None if offset is None else round(offset * STEPS_PER_BEAT))
    return shifts
