"""The elements that a MusicXML measure is made of: words, chord symbols, the parts of a note.

Source: MusicXML 4.0; children are added in the order of its schema. Offsets and durations are in
divisions. A text is stripped of what XML cannot hold; markup in it is escaped when it is written.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element, SubElement

from linecheck.music.musicxml_kinds import musicxml_kind
from linecheck.report.notation import written_pitch

if TYPE_CHECKING:
    from linecheck.report.notation import Symbol
    from linecheck.terms import ChartChord, Note

__all__ = [
    "add",
    "add_harmony",
    "add_look",
    "add_notations",
    "add_pitch",
    "add_words",
    "beams_of",
]

# Characters that XML 1.0 does not allow, escaped or not.
NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
TYPES = {
    1: "whole", 2: "half", 4: "quarter", 8: "eighth", 16: "16th", 32: "32nd", 64: "64th",
}  # fmt: skip
BEAMS = {8: 1, 16: 2, 32: 3, 64: 4}
ACCIDENTALS = {"#": "sharp", "b": "flat", "n": "natural", "##": "double-sharp", "bb": "flat-flat"}


def add(parent: Element, tag: str, content: object = None, /, **attributes: str) -> Element:
    """A new last child. ``_`` in the name of an attribute stands for ``-``."""
    made = SubElement(parent, tag, {k.replace("_", "-"): v for k, v in attributes.items()})
    if content is not None:
        made.text = NOT_XML.sub("", str(content))
    return made


def add_words(measure: Element, text: str, offset: int, **looks: str) -> None:
    """A direction in words over the staff."""
    direction = add(measure, "direction", placement="above")
    add(add(direction, "direction-type"), "words", text, **looks)
    if offset:
        add(direction, "offset", offset)


def add_harmony(measure: Element, placed: ChartChord, offset: int) -> None:
    """A chord symbol, ``offset`` divisions after the place that is reached."""
    chord = placed.chord
    kind, degrees = musicxml_kind(chord)
    harmony = add(measure, "harmony")
    if chord.root is None:
        # The schema asks for a root; programs show the text alone.
        _named_pitch(add(harmony, "root"), "root", "C")
        harmony.find("root/root-step").set("text", "")  # type: ignore[union-attr]
        add(harmony, "kind", "none", text=chord.symbol)
    else:
        _named_pitch(add(harmony, "root"), "root", chord.root_name)
        shown = _shown(chord.symbol, chord.root_name, chord.bass_name)
        add(harmony, "kind", kind, **({} if shown is None else {"text": shown}))
        if chord.bass_name != chord.root_name:
            _named_pitch(add(harmony, "bass"), "bass", chord.bass_name)
    for value, alter, how in degrees:
        # The text of the kind shows them already.
        degree = add(harmony, "degree", print_object="no")
        add(degree, "degree-value", value)
        add(degree, "degree-alter", alter)
        add(degree, "degree-type", how)
    if offset:
        add(harmony, "offset", offset)


def _shown(symbol: str, root: str, bass: str) -> str | None:
    """What is printed after the root; None where the symbol does not begin with it."""
    if not symbol.startswith(root):
        return None
    return NOT_XML.sub("", symbol[len(root) :].removesuffix(f"/{bass}"))


def _named_pitch(parent: Element, which: str, name: str) -> None:
    add(parent, f"{which}-step", name[0])
    alter = name.count("#") - name[1:].count("b")
    if alter:
        add(parent, f"{which}-alter", alter)


def add_pitch(made: Element, note: Note) -> None:
    """The pitch as written, an octave above its sound."""
    letter, accidental, octave = written_pitch(note.name)
    pitch = add(made, "pitch")
    add(pitch, "step", letter)
    if accidental:
        add(pitch, "alter", accidental.count("#") - accidental.count("b"))
    add(pitch, "octave", octave)


def add_look(made: Element, symbol: Symbol) -> None:
    """The value, its dots, the accidental that is printed, and the ratio of a tuplet."""
    add(made, "type", TYPES[symbol.value])
    for _ in range(symbol.dots):
        add(made, "dot")
    if symbol.accidental:
        add(made, "accidental", ACCIDENTALS[symbol.accidental])
    if symbol.tuplet_ratio:
        modification = add(made, "time-modification")
        add(modification, "actual-notes", symbol.tuplet_ratio[0])
        add(modification, "normal-notes", symbol.tuplet_ratio[1])


def add_notations(
    made: Element, symbol: Symbol, ties: list[str], beside: tuple[Symbol | None, Symbol | None]
) -> Element | None:
    """Ties and the ends of a tuplet, where this symbol has any: the element that holds them."""
    before, after = beside
    marks = [("tied", {"type": kind}) for kind in ties]
    if symbol.tuplet is not None:
        if before is None or before.tuplet != symbol.tuplet:
            marks.append(("tuplet", {"type": "start", "bracket": "yes"}))
        if after is None or after.tuplet != symbol.tuplet:
            marks.append(("tuplet", {"type": "stop"}))
    if not marks:
        return None
    notations = add(made, "notations")
    for tag, attributes in marks:
        add(notations, tag, **attributes)
    return notations


def beams_of(symbols: tuple[Symbol, ...]) -> dict[int, list[str]]:
    """Index of a symbol → what its beams do, the outermost first ("" where it has none)."""
    groups: dict[int, list[int]] = {}
    for index, symbol in enumerate(symbols):
        if symbol.beam is not None:
            groups.setdefault(symbol.beam, []).append(index)
    found: dict[int, list[str]] = {}
    for group in groups.values():
        depths = [BEAMS[symbols[index].value] for index in group]
        for place, index in enumerate(group):
            found[index] = [_beam(depths, place, level) for level in range(1, depths[place] + 1)]
    return found


def _beam(depths: list[int], place: int, level: int) -> str:
    joins = place > 0 and depths[place - 1] >= level
    goes_on = place + 1 < len(depths) and depths[place + 1] >= level
    if joins:
        return "continue" if goes_on else "end"
    if goes_on:
        return "begin"
    return "backward hook" if place else "forward hook"
