"""Directions of a MusicXML measure: rehearsal marks, tempo, dynamics, feel, segno, coda, Fine.

What ``<sound>`` says is exact and goes first; printed words ("D.C. al Fine") are read where it
says nothing. Tempo is in quarter notes a minute. Velocity: the dynamic marks as notation programs
play them (common practice), a percentage of forte = 90 as MusicXML 4.0 defines ``dynamics``.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

from linecheck.read.musicxml_values import number_of, text_of
from linecheck.read.printed_words import DYNAMICS, FASTEST, SLOWEST, feel_of, read_flow_words

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from linecheck.read.fault_place import Where
    from linecheck.read.score import Flow, Score

FORTE_VELOCITY = 90  # MusicXML 4.0: 100 per cent
BEAT_UNITS = {
    "whole": Fraction(4), "half": Fraction(2), "quarter": Fraction(1), "eighth": Fraction(1, 2),
    "16th": Fraction(1, 4), "32nd": Fraction(1, 8), "breve": Fraction(8),
}  # fmt: skip


def read_direction(
    element: Element, score: Score, index: int, at: Fraction, where: Where
) -> int | None:
    """Read a ``<direction>`` or a bare ``<sound>`` into the frame; the velocity from here on."""
    frame = score.frames[index]
    at = max(Fraction(0), at)
    sound = element if element.tag == "sound" else element.find("sound")
    velocity = None
    if element.tag == "direction":
        if mark := next((text_of(m) for m in element.iterfind("direction-type/rehearsal")), ""):
            frame.mark = frame.mark or mark[:40]
        velocity = _dynamic(element)
        _printed_signs(element, frame.flow)
        _feel_of_words(element, score)
        if (tempo := _metronome(element)) is not None and not (
            sound is not None and sound.get("tempo")
        ):
            frame.tempos.append((at, tempo))
    if sound is not None:
        _sound_signs(sound, frame.flow)
        _feel_of_sound(sound, score)
        if text := sound.get("tempo"):
            tempo = float(number_of(text, "the tempo", where, 0, 10_000))
            if SLOWEST <= tempo <= FASTEST:
                frame.tempos.append((at, tempo))
        if text := sound.get("dynamics"):
            velocity = percent_velocity(number_of(text, "the dynamics", where, -1000, 1000))
    return velocity


def percent_velocity(percent: Fraction) -> int:
    """Velocity of a percentage of forte."""
    return max(1, min(127, round(percent * FORTE_VELOCITY / 100)))


def _dynamic(element: Element) -> int | None:
    for dynamics in element.iterfind("direction-type/dynamics"):
        for mark in dynamics:
            if mark.tag in DYNAMICS:
                return DYNAMICS[mark.tag]
    return None


def _metronome(element: Element) -> float | None:
    """Quarter notes a minute of a printed metronome mark; None: none, or a relation of two notes."""
    metronome = element.find("direction-type/metronome")
    if metronome is None:
        return None
    figure = re.search(r"\d{1,4}(\.\d{1,4})?", text_of(metronome, "per-minute"))
    unit = BEAT_UNITS.get(text_of(metronome, "beat-unit"))
    if not figure or unit is None:
        return None
    dots = len(metronome.findall("beat-unit-dot"))
    tempo = float(Fraction(figure[0]) * unit * (2 - Fraction(1, 2 ** min(dots, 4))))
    return tempo if SLOWEST <= tempo <= FASTEST else None


# ---- what is played next ---------------------------------------------------------------------


def _printed_signs(element: Element, flow: Flow) -> None:
    types = element.findall("direction-type")
    words = " ".join(text_of(word) for kind in types for word in kind.iterfind("words")).strip()
    signs = {child.tag for kind in types for child in kind}
    if "coda" in signs and not words.lower().startswith("coda"):
        words += " coda"  # the sign stands for the word: "To ⊕"
    if not read_flow_words(words, flow) and "segno" in signs:
        flow.segno = flow.segno or ""


def _sound_signs(sound: Element, flow: Flow) -> None:
    """The signs that ``<sound>`` gives; it overrules a coda sign that is printed at both ends."""
    if sound.get("dacapo") == "yes":
        flow.da_capo = True
    if (label := sound.get("dalsegno")) is not None:
        flow.dal_segno = label
    if (label := sound.get("segno")) is not None:
        flow.segno = label
    if (label := sound.get("tocoda")) is not None:
        flow.to_coda = label
        flow.coda = None
    if (label := sound.get("coda")) is not None:
        flow.coda = label
    if sound.get("fine") is not None:
        flow.fine = True


# ---- feel ------------------------------------------------------------------------------------


def _feel_of_words(element: Element, score: Score) -> None:
    for words in element.iterfind("direction-type/words"):
        score.feel = score.feel or feel_of(text_of(words))


def _feel_of_sound(sound: Element, score: Score) -> None:
    swing = sound.find("swing")
    if swing is not None and score.feel is None:
        first, second = text_of(swing, "first"), text_of(swing, "second")
        score.feel = "swing" if first and first != second else "straight"
