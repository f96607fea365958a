"""A ``<harmony>`` of MusicXML into a chord, at concert pitch.

``<kind>`` with its ``<degree>`` elements says what the chord is; ``kind@text`` is only how it is
printed, and is read where the kind says too little: "other", and an altered dominant, for which
MusicXML has no kind. A harmony by ``<function>`` or ``<numeral>`` names no root and is refused.
Source: MusicXML 4.0, element ``harmony`` and simple type ``kind-value``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from linecheck.faults import InputFault
from linecheck.music.chord_symbol import read_chord
from linecheck.music.musicxml_kinds import chord_from_musicxml
from linecheck.music.pitch import LETTERS, NATURAL, pitch_class, spell
from linecheck.read.musicxml_values import text_of, whole_of

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from linecheck.music.musicxml_kinds import Degree, DegreeType
    from linecheck.read.fault_place import Where
    from linecheck.terms import Chord

MOST_DEGREES = 24
# Steps of the scale that a number of half steps usually is, where <diatonic> is missing.
USUAL_STEPS = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)
NO_CHORD = "N.C."


@dataclass(frozen=True, slots=True)
class Transposition:
    """From what is written to what sounds: ``semitones`` in all, ``steps`` of the scale in all."""

    semitones: int
    steps: int

    @classmethod
    def of(cls, chromatic: int, diatonic: int | None, octaves: int) -> Transposition:
        """From the parts of a ``<transpose>``."""
        if diatonic is None:
            up, rest = divmod(abs(chromatic), 12)
            diatonic = (7 * up + USUAL_STEPS[rest]) * (1 if chromatic >= 0 else -1)
        return cls(chromatic + 12 * octaves, diatonic + 7 * octaves)

    @property
    def fifths(self) -> int:
        """By how many fifths a key moves."""
        return 7 * self.semitones - 12 * self.steps

    def name(self, written: str) -> str:
        """A pitch name as it sounds: ``Transposition(-2, -1).name("C") == "Bb"``."""
        letter = LETTERS[(LETTERS.index(written[0]) + self.steps) % 7]
        return spell(letter, (pitch_class(written) + self.semitones) % 12)


def read_harmony(element: Element, transposition: Transposition, where: Where) -> Chord | None:
    """The chord; None for an alternate one, which is printed beside the chord that counts."""
    if element.get("type") == "alternate":
        return None
    if len(element.findall("kind")) > 1:
        raise where.wrong("a chord of several roots was read, and one root was expected")
    kind = element.find("kind")
    if kind is None:
        raise where.wrong("a <harmony> without a <kind> was read")
    name = text_of(kind)
    if name == "none":
        return read_chord(NO_CHORD)
    if element.find("root") is None:
        raise where.wrong(_no_root(element))
    root = transposition.name(_pitch(element, "root", where))
    bass = _pitch(element, "bass", where) if element.find("bass") is not None else ""
    bass = transposition.name(bass) if bass else ""
    degrees = _degrees(element, where)
    text = kind.get("text", "").strip()
    if name == "other" and not text and not degrees:
        raise where.wrong("a chord of the kind 'other' without a text or a degree was read")
    try:
        if (name == "other" and text) or ("alt" in text.lower() and not degrees):
            chord = read_chord(root + text + (f"/{bass}" if bass else ""))
        else:
            chord = chord_from_musicxml(root, name, degrees, bass or None)
            if not bass and (inversion := _inversion(element, where)):
                chord = chord_from_musicxml(root, name, degrees, _member(chord, inversion, where))
    except InputFault as fault:
        raise where.at(*fault.place).wrong(fault.problem, *fault.names) from None
    return chord


def _no_root(element: Element) -> str:
    for tag in ("function", "numeral/numeral-root"):
        if text := text_of(element, tag):
            return (
                f"the chord {text[:20]!r} is given by its function in the key, "
                "and a chord with a root was expected"
            )
    return "a <harmony> without a <root> was read"


def _pitch(element: Element, which: str, where: Where) -> str:
    step = text_of(element, f"{which}/{which}-step")
    if step not in NATURAL:
        raise where.wrong(f"the chord's {which} {step[:20]!r} was read, and A to G was expected")
    text = text_of(element, f"{which}/{which}-alter") or "0"
    alter = whole_of(text, f"the alteration of the chord's {which}", where, -3, 3)
    return step + ("#" * alter if alter > 0 else "b" * -alter)


def _degrees(element: Element, where: Where) -> tuple[Degree, ...]:
    """(number, alteration in half steps, "add", "alter" or "subtract") of each degree."""
    found: list[Degree] = []
    for degree in element.iterfind("degree"):
        value = whole_of(text_of(degree, "degree-value"), "a degree", where, 1, 15)
        text = text_of(degree, "degree-alter") or "0"
        alter = whole_of(text, "a degree's alteration", where, -3, 3)
        kind = text_of(degree, "degree-type")
        if kind not in ("add", "alter", "subtract"):
            raise where.wrong(
                f"the degree type {kind[:20]!r} was read, and add, alter or subtract was expected"
            )
        found.append((value, alter, cast("DegreeType", kind)))
    if len(found) > MOST_DEGREES:
        raise where.wrong(f"a chord with more than {MOST_DEGREES} degrees was read")
    return tuple(found)


def _inversion(element: Element, where: Where) -> int:
    text = text_of(element, "inversion")
    return whole_of(text, "the inversion", where, 0, 6) if text else 0


def _member(chord: Chord, inversion: int, where: Where) -> str:
    """Name of the chord's member that an inversion puts into the bass: 1 is the third."""
    if inversion >= len(chord.tones):
        raise where.wrong(
            f"inversion {inversion} of {chord.symbol} was read, and it has {len(chord.tones)} tones"
        )
    tone = chord.tones[inversion]
    number = int(tone.degree.lstrip("b#"))
    letter = LETTERS[(LETTERS.index(chord.root_name[0]) + number - 1) % 7]
    return spell(letter, tone.pitch_class)
