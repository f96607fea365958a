"""The marks of a MusicXML note for the left hand: finger and string.

Source: MusicXML 4.0, ``<technical>``: ``<fingering>``, ``<string>`` (1 is the highest),
``<open-string>``, ``<thumb-position>``. Of a finger that is changed on one note (a substitution)
the first counts; an alternative is left out. A thumb may be written as a letter or as its sign
(common practice).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.read.musicxml_values import text_of

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

THUMBS = frozenset(("t", "th", "p", "+", "♀", "ϙ", "o|", "thumb"))
OPENS = frozenset(("o", "0"))


def read_left_hand(note: Element) -> tuple[str | None, int | None]:
    """Finger ("0" to "4", "T", else as written) and string of a note, None where it has none."""
    fingering: str | None = None
    string: int | None = None
    if note.find("notations") is None:
        return None, None
    for mark in note.iterfind("notations/technical/*"):
        if mark.tag == "fingering" and fingering is None and mark.get("alternate") != "yes":
            text = text_of(mark)
            fingering = _finger(text) if text else None
        elif mark.tag == "open-string":
            fingering = fingering or "0"
        elif mark.tag == "thumb-position":
            fingering = fingering or "T"
        elif mark.tag == "string" and string is None:
            number = text_of(mark)
            string = int(number) if number.isdecimal() and len(number) < 3 else None
    return fingering, string


def _finger(text: str) -> str:
    if text.lower() in THUMBS:
        return "T"
    return "0" if text.lower() in OPENS else text[:12]
