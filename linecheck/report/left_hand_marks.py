"""How a fingering is written beside a note: the signs of MusicXML, and a line of small type.

A finger is 0 (open), 1 to 4 or the thumb; the string is told where it changes (common practice).
Source of the elements: MusicXML 4.0, ``<technical>``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element, SubElement

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.terms import FingeredNote

__all__ = [
    "CAUTION",
    "MARKS",
    "SHORT_CAUTION",
    "add_left_hand",
    "finger_and_string",
    "finger_in_words",
    "new_strings",
    "string_letter",
]

CAUTION = (
    "A fingering is a suggestion: hands and basses differ. A hand that hurts stops, and asks a "
    "teacher or a doctor."
)
SHORT_CAUTION = "Fingering: a suggestion. A hand that hurts stops, and asks a teacher or a doctor."
MARKS = ("fingering", "string", "open-string", "thumb-position")


def new_strings(notes: Sequence[FingeredNote]) -> list[bool]:
    """For each note, whether its string is told: it is another than that of the note before."""
    told, string = [], None
    for note in notes:
        told.append(note.string is not None and note.string != string)
        string = note.string
    return told


def add_left_hand(technical: Element, note: FingeredNote, *, new_string: bool) -> None:
    """The signs of one note into its ``<technical>``."""
    if note.finger is None:
        return
    if note.finger == "0":
        SubElement(technical, "open-string")
    elif note.finger == "T":
        SubElement(technical, "thumb-position")
    else:
        SubElement(technical, "fingering").text = note.finger
    if new_string:
        SubElement(technical, "string").text = str(note.string)


def string_letter(note: FingeredNote) -> str:
    """The letter of a string: that of its open note."""
    return note.string_name.rstrip("0123456789-")


def finger_and_string(note: FingeredNote, *, new_string: bool) -> str:
    """A finger in small type, with the letter of its string where that is told: ``"4A"``."""
    if note.finger is None:
        return "–"
    return note.finger + (string_letter(note) if new_string else "")


def finger_in_words(note: FingeredNote) -> str:
    """How a note is taken: ``"finger 4 on the A string, half position"``."""
    if note.finger is None:
        return f"out of reach: {note.out_of_reach}"
    if note.finger == "0":
        return f"open {string_letter(note)} string"
    name = note.position_name
    place = name if name.startswith(("thumb", "extension", "neck")) else f"{name} position"
    finger = "thumb" if note.finger == "T" else f"finger {note.finger}"
    return f"{finger} on the {string_letter(note)} string, {place}"
