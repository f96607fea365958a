"""Notes and bars in words, for those who hear the page or point at a note."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.report.function_looks import (
    LOOKS,
    approach_in_words,
    note_function_in_words,
    tone_name,
)
from linecheck.terms import STEPS_PER_BEAT

if TYPE_CHECKING:
    from collections.abc import Container

    from linecheck.report.notation import NotatedBar
    from linecheck.terms import Audit, Note

__all__ = ["bar_id", "bar_in_words", "bars_in_words", "chorus_in_words", "note_in_words"]


def bar_id(bar: NotatedBar) -> str:
    """The name of a bar within a page: ``c2b7``; bars before the form are ``c0b0-…``."""
    number_ = f"{bar.number}" if bar.number is not None else f"0-{-bar.step}"
    return f"c{bar.chorus}b{number_}"


def note_in_words(note: Note) -> str:
    """A note in one line: ``"G1 over C7, beat 2: the fifth …"``."""
    beat = "" if note.place.beat is None else f", beat {note.place.beat:.3g}"
    over = f" over {note.chord}" if note.chord else ""
    if note.ghost:
        what = "a ghost note, not judged"
    elif note.function is None:
        what = "not judged"
    else:
        what = note_function_in_words(note.function, note.degree)
        if note.degree and note.function in ("tension", "outside"):
            what += f" ({note.degree})"
        if note.approach:
            what += f" ({approach_in_words(note.approach)})"
    own = note.function_in_own_place
    if own and note.function and own != note.function:
        what += f"; in the bar that you were in {LOOKS[own].words}"
    pushed = ", pushed ahead of the chord" if note.anticipation else ""
    return f"{note.name}{over}{beat}: {what}{pushed}"


def bar_in_words(bar: NotatedBar, audit: Audit, missed: Container[int]) -> str:
    """A bar for those who hear the page: place, chords, and every note with its function.

    Args:
        bar: the bar as notated.
        audit: the audit that it comes from.
        missed: the steps of the missed landings.
    """
    place = chorus_in_words(bar.chorus, audit)
    if bar.number is not None:
        place += f", bar {bar.number}"
    chords = ", ".join(c.chord.symbol for c in bar.chords)
    notes = []
    for symbol in bar.symbols:
        if symbol.note is not None and not symbol.tied_from:
            note = audit.labels.notes[symbol.note]
            what = tone_name(note.function, note.degree) if note.function else ""
            notes.append(f"{note.name} {'ghost' if note.ghost else what}".strip())
    beats = [
        f"beat {1 + (step - bar.step) / STEPS_PER_BEAT:.3g}"
        for step in range(bar.step, bar.step + bar.steps)
        if step in missed
    ]
    text = f"{place}{': ' + chords if chords else ''}. {', '.join(notes) or 'no note'}."
    return text + (f" Landing missed on {' and '.join(beats)}." if beats else "")


def chorus_in_words(chorus: int, audit: Audit) -> str:
    """A chorus by name; those around the form have names of their own."""
    if chorus == 0:
        return "Before the first chorus"
    return "After the last chorus" if chorus > audit.line.choruses else f"Chorus {chorus}"


def bars_in_words(bars: list[NotatedBar]) -> str:
    """Neighbouring bars by their numbers."""
    numbers = [bar.number for bar in bars if bar.number is not None]
    if not numbers:
        return "pickup"
    if numbers[0] == numbers[-1]:
        return f"bar {numbers[0]}"
    return f"bars {numbers[0]} to {numbers[-1]}"
