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
    from linecheck.music.form import Form, Where
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
    where: Where | None = None


_PICKUP = Standing(None, landing=False, anticipation=False)


def pushes(
    form: Form, where: Where | None, step: int, end_step: int, next_step: int | None
) -> int | None:
    """The landing that a note at ``step`` is pushed from and held over; None if there is none.

    Args:
        form: the form.
        where: what the form has at ``step``.
        step: the note's place.
        end_step: where it stops.
        next_step: the place of the next attack (ghosts too); None for the last note.
    """
    if end_step < step + PUSH_NEAREST + HELD_OVER:
        return None
    if where is None:  # a pickup
        landing, bar = -form.intro_steps, form.chart.bars[0]
    else:
        landing, bar = where.begins + where.spot.next_landing, where.spot.bar
    if end_step < landing + HELD_OVER or landing - step < PUSH_NEAREST:
        return None
    if landing - step > (PUSH_FARTHEST if bar.meter.unit < 8 else PUSH_FARTHEST_OF_EIGHTHS):
        return None
    if next_step is not None and next_step <= landing + AT_THE_CHANGE:
        return None
    return landing


def standing(
    form: Form, book: ChordBook, step: int, end_step: int, next_step: int | None
) -> Standing:
    """The standing of a note at ``step``: chord in force, landing, anticipation."""
    where = form.at(step)
    if where is None:
        return _PICKUP
    chord, is_landing = where.spot.chord, where.spot.is_landing
    facts = book.facts(chord)
    pushed_from = pushes(form, where, step, end_step, next_step)
    if pushed_from is not None:
        after = form.chord(pushed_from)
        if after is not None and after is not chord:
            new = book.facts(after)
            if new.is_chord and new.identity != facts.identity:
                return Standing(new, is_landing, True, where)  # noqa: FBT003
    return Standing(facts, is_landing, False, where)  # noqa: FBT003


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
    following: list[int | None] = [*(note.step for note in notes), None][1:]
    if shifts is None:
        return [
            standing(form, book, note.step, note.end_step, next_step)
            for note, next_step in zip(notes, following, strict=True)
        ]
    found: list[Standing] = []
    for note, next_step, ahead in zip(notes, following, shifts, strict=True):
        # Within the form: one chorus up, so that no place falls before the form's first.
        shift = (note.step + ahead) % form.steps + form.steps - note.step
        after = None if next_step is None else next_step + shift
        found.append(standing(form, book, note.step + shift, note.end_step + shift, after))
    return found
