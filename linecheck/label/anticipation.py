"""Which chord a note answers to, and whether it stands on a landing.

anticipation: a note struck on the off-beat (nearest eighth) before a chord change and held over
it, with no other attack at the change; it is judged by the new chord. A note early by jitter is
not one: its place is the change itself.

Places and lengths are in steps (a twelfth of a beat). N.C. is no chord, so nothing anticipates it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.label.chord_facts import ChordBook, ChordFacts
    from linecheck.music.form import Form
    from linecheck.terms import PlacedNote

# How far before a change the places of its off-beat lie: nearer to the eighth before than to the
# beat before, so a swung off-beat (−4), a triplet (−4, −8) and a sixteenth (−3) all push.
PUSH_NEAREST = 3
PUSH_FARTHEST = 8
# Where the beat is an eighth (6/8, 12/8), the eighth before the change is a whole beat before it.
PUSH_FARTHEST_OF_EIGHTHS = 16
# Held over means heard over: to a quarter of a beat after the change, so that a short off-beat
# that only rings a little long is none.
HELD_OVER = 3
# Attacks this near to a change are attacks at the change.
AT_THE_CHANGE = 2


class Standing(NamedTuple):
    """What a note is judged by: the chord's facts (None for a pickup) and where it stands."""

    facts: ChordFacts | None
    landing: bool
    anticipation: bool


def pushes(form: Form, step: int, end_step: int, next_step: int | None) -> int | None:
    """The landing that a note at ``step`` is pushed from and held over; None if there is none.

    Args:
        form: the form.
        step: the note's place.
        end_step: where it stops.
        next_step: the place of the next attack (ghosts too); None for the last note.
    """
    if end_step < step + PUSH_NEAREST + HELD_OVER:
        return None
    landing = form.next_landing(step)
    if end_step < landing + HELD_OVER or landing - step < PUSH_NEAREST:
        return None
    if landing - step > PUSH_FARTHEST:
        if landing - step > PUSH_FARTHEST_OF_EIGHTHS:
            return None
        bar = form.bar(max(step, 0))
        if bar is None or bar.meter.unit < 8:
            return None
    if next_step is not None and next_step <= landing + AT_THE_CHANGE:
        return None
    return landing


def standing(
    form: Form, book: ChordBook, step: int, end_step: int, next_step: int | None
) -> Standing:
    """The standing of a note at ``step``: chord in force, landing, anticipation."""
    chord = form.chord(step)
    if chord is None:
        return Standing(None, landing=False, anticipation=False)
    facts = book.facts(chord)
    pushed_from = pushes(form, step, end_step, next_step)
    if pushed_from is not None:
        after = form.chord(pushed_from)
        if after is not None and after is not chord:
            new = book.facts(after)
            if new.is_chord and new.identity != facts.identity:
                return Standing(new, landing=form.is_landing(step), anticipation=True)
    return Standing(facts, form.is_landing(step), anticipation=False)


def standings(
    form: Form, book: ChordBook, notes: Sequence[PlacedNote], shifts: Sequence[int] | None = None
) -> list[Standing]:
    """The standing of every note by the form clock, or by the line's own place.

    Args:
        form: the form by which to look up; with ``shifts`` one without intro or end.
        book: the chords' facts.
        notes: the line, in the order of its places.
        shifts: for each note, how many steps the line runs ahead of the form clock there.
    """
    found: list[Standing] = []
    last = len(notes) - 1
    for index, note in enumerate(notes):
        step, end_step = note.step, note.end_step
        next_step = notes[index + 1].step if index < last else None
        shift = 0
        if shifts is not None:
            # Within the form: one chorus up, so that no place falls before the form's first.
            shift = (step + shifts[index]) % form.steps + form.steps - step
        found.append(
            standing(
                form,
                book,
                step + shift,
                end_step + shift,
                None if next_step is None else next_step + shift,
            )
        )
    return found
