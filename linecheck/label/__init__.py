"""What each note is: one file a question.

``label_line`` asks them in order: which notes are ghosts, what chord each note answers to (by the
form clock and in the line's own place), what its function is, what style each chorus has, and
which landings were met.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from linecheck.label.anticipation import Standing, standings
from linecheck.label.approach import following_notes
from linecheck.label.chord_facts import ChordBook, chord_book
from linecheck.label.chorus_style import chorus_styles
from linecheck.label.ghost_notes import find_ghosts
from linecheck.label.judged_stretch import counted_spans, judged_stretch
from linecheck.label.landings import LandingFinder
from linecheck.label.note_function import note_function
from linecheck.label.own_place import OwnPlace
from linecheck.music.form import Form
from linecheck.music.pitch import leading_name, pitch_name
from linecheck.terms import (
    Approach,
    Function,
    Key,
    LabelledLine,
    Note,
    Place,
    PlacedLine,
    PlacedNote,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["label_line"]


def label_line(line: PlacedLine, form: Form, key: Key) -> LabelledLine:
    """Label every note of a line and every landing of its choruses.

    Args:
        line: the line in time and form; notes in the order of their places.
        form: the chart laid out in steps.
        key: the key that spelling follows.

    Returns:
        One note for each of ``line.notes``, in their order; the landings of every chorus that was
        begun; a style for each chorus.
    """
    if form.choruses != line.choruses:
        form = Form(form.chart, line.choruses)
    notes = line.notes
    book = chord_book(form.chart, key)
    ghosts = find_ghosts(line)
    following = following_notes(notes, ghosts)
    by_clock = standings(form, book, notes)
    spans = counted_spans(line)
    own = OwnPlace(form, book, notes, by_clock, spans)
    labelled: list[Note] = []
    for index, note in enumerate(notes):
        answer = _NO_ANSWER
        if not ghosts[index]:
            function, approach = note_function(index, notes, by_clock, following)
            answer = _Answer(function, own.function(index, following, function), approach)
        labelled.append(_note(note, book, by_clock, index, answer))
    styles = chorus_styles(notes, ghosts, form, line.choruses)
    judged = judged_stretch(line, form)
    return LabelledLine(
        notes=tuple(labelled),
        landings=LandingFinder(labelled, form, book).find(styles.solo_bars, judged),
        styles=styles.by_chorus,
        solo_bars=styles.solo_bars,
        judged_from=judged[0],
        judged_to=judged[1],
        spans=spans,
    )


class _Answer(NamedTuple):
    """What was found of a note that is no ghost."""

    function: Function | None
    in_own_place: Function | None
    approach: Approach | None


_NO_ANSWER = _Answer(None, None, None)
_PICKUP = Place(0, None, None)


def _name(pitch: int, book: ChordBook, standing: Standing) -> str:
    """The name of a pitch by the chord that it answers to."""
    return (standing.facts.names if standing.facts else book.names_by_key)[pitch % 12]


def _note(
    note: PlacedNote, book: ChordBook, by_clock: Sequence[Standing], index: int, answer: _Answer
) -> Note:
    facts, landing, anticipation, where = by_clock[index]
    pitch_class = note.pitch % 12
    ghost = answer is _NO_ANSWER
    name = note.spelled
    if name is None and answer.approach is not None:
        target = answer.approach.target
        led_to = _name(target, book, by_clock[answer.approach.target_note])
        name = leading_name(led_to, note.pitch - target)
    place = _PICKUP
    section = None
    if where is not None:
        spot = where.spot
        place = Place(where.chorus, spot.bar_index + 1, spot.beat)
        section = spot.bar.section
    return Note(
        onset_s=note.onset_s,
        duration_s=note.duration_s,
        pitch=note.pitch,
        velocity=note.velocity,
        step=note.step,
        end_step=note.end_step,
        placement_ms=note.placement_ms,
        place=place,
        section=section,
        chord=facts.chord.symbol if facts else None,
        name=pitch_name(name or _name(note.pitch, book, by_clock[index]), note.pitch),
        degree=facts.degrees[pitch_class] if facts else None,
        function=answer.function,
        function_in_own_place=answer.in_own_place,
        approach=answer.approach,
        anticipation=anticipation and not ghost,
        ghost=ghost,
        landing=landing,
        cents=note.cents,
    )
