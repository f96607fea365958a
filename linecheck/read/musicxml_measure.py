"""One part of a MusicXML score, measure by measure: attributes, notes, chord symbols, bar lines.

Positions are kept in exact quarter notes from the beginning of the measure. ``<pitch>`` is what
is written; ``<transpose>`` takes it to what sounds. A clef with a small 8 changes nothing here:
in MusicXML the octave of a pitch already follows such a clef.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

from linecheck.music.pitch import NATURAL
from linecheck.read.key_signature import tonic_of
from linecheck.read.musicxml_harmony import Transposition, read_harmony
from linecheck.read.musicxml_left_hand import read_left_hand
from linecheck.read.musicxml_signs import percent_velocity, read_direction
from linecheck.read.musicxml_values import number_of, text_of, whole_of
from linecheck.read.printed_words import DEFAULT_VELOCITY
from linecheck.read.score import MOST_NAME, Clef, Measure, ScoreNote
from linecheck.terms import Meter

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from linecheck.read.fault_place import Where
    from linecheck.read.score import Frame, Part, Score
    from linecheck.terms import Key

MOST_DIVISIONS = 1_000_000
MOST_QUARTERS = 256  # in one measure
MOST_PASSES = 64
UNITS = (1, 2, 4, 8, 16, 32, 64)
GHOST_HEADS = frozenset(("x", "cross", "circle-x"))
RHYTHM_HEADS = frozenset(("slash", "slashed"))  # they show a rhythm and no pitch
DOUBLE_BARS = frozenset(("light-light", "light-heavy", "heavy-light", "heavy-heavy"))


class PartReader:
    """Reads the measures of one part in turn; what holds from measure to measure is kept here."""

    def __init__(self, score: Score, part: Part, *, with_chords: bool) -> None:
        self._score = score
        self._part = part
        self._with_chords = with_chords
        self._divisions = Fraction(1)
        self._lengths: dict[str, Fraction] = {}
        self._transpositions: dict[int, Transposition] = {}
        self._velocity = DEFAULT_VELOCITY
        self._repeating = 0
        self._free = False
        self._at = Fraction(0)
        self._onset = Fraction(0)
        self._element = (0, -1)  # of a measure, and of the notes in it

    def read(self, element: Element, index: int, where: Where) -> None:
        """Read one measure into the part and into the frame of that index."""
        self._at = self._onset = Fraction(0)
        self._element = (index, -1)
        frame, measure = self._score.frames[index], Measure()
        self._part.measures.append(measure)
        self._where = where
        for child in element:
            match child.tag:
                case "note":
                    self._note(child, measure)
                case "backup" | "forward":
                    self._move(child)
                case "attributes":
                    self._attributes(child, frame)
                case "direction" | "sound":
                    self._direction(child, index)
                case "harmony" if self._with_chords:
                    self._harmony(child, measure)
                case "barline":
                    self._barline(child, index)
                case _:
                    continue
            measure.filled = max(measure.filled, self._at)
        frame.filled = max(frame.filled, measure.filled)
        measure.repeats_bars = self._repeating
        frame.implicit = frame.implicit or self._free

    # ---- time --------------------------------------------------------------------------------

    def _quarters(self, element: Element) -> Fraction:
        text = text_of(element, "duration")
        known = self._lengths.get(text)
        if known is None:
            known = number_of(text, "the duration", self._where, 0, 10**9) / self._divisions
            self._lengths[text] = known
        return known

    def _go(self, quarters: Fraction) -> None:
        self._at += quarters
        if self._at < 0:
            raise self._where.wrong("a <backup> goes back beyond the beginning of the measure")
        if self._at > MOST_QUARTERS:
            raise self._where.wrong(
                f"the measure lasts more than {MOST_QUARTERS} quarter notes; "
                "the likely slip is in <divisions> or a <duration>"
            )

    def _move(self, element: Element) -> None:
        quarters = self._quarters(element)
        self._go(-quarters if element.tag == "backup" else quarters)

    # ---- notes -------------------------------------------------------------------------------

    def _note(self, element: Element, measure: Measure) -> None:
        self._element = (self._element[0], self._element[1] + 1)
        if element.find("grace") is not None:
            self._part.graces += element.find("chord") is None
            return
        quarters = self._quarters(element)
        if element.find("chord") is None:
            self._onset = self._at
            self._go(quarters)
        pitch = element.find("pitch")
        if pitch is None or not quarters or text_of(element, "notehead") in RHYTHM_HEADS:
            return
        if element.find("cue") is not None:
            self._part.cues += 1
            return
        staff = self._staff(element)
        ties = {tie.get("type") for tie in element.iterfind("tie")}
        if not ties:
            ties = {tie.get("type") for tie in element.iterfind("notations/tied")}
        fingering, string = read_left_hand(element)
        sounding, spelled = self._pitch(pitch, staff)
        measure.notes.append(
            ScoreNote(
                self._onset,
                quarters,
                sounding,
                self._note_velocity(element),
                text_of(element, "voice") or "1",
                staff,
                ties_on="start" in ties,
                ghost=_is_ghost(element),
                fingering=fingering,
                string=string,
                spelled=spelled,
                element=self._element,
            )
        )

    def _pitch(self, pitch: Element, staff: int) -> tuple[int, str | None]:
        """The pitch as it sounds, and its name."""
        step = text_of(pitch, "step")
        if step not in NATURAL:
            raise self._where.wrong(f"the step {step[:20]!r} was read, and A to G was expected")
        octave = whole_of(text_of(pitch, "octave"), "the octave", self._where, 0, 9)
        text = text_of(pitch, "alter")
        alter = round(number_of(text, "the alteration", self._where, -4, 4)) if text else 0
        transposition = self._transposition(staff)
        name = transposition.name(step + ("#" * alter if alter > 0 else "b" * -alter))
        sounding = 12 * (octave + 1) + NATURAL[step] + alter + transposition.semitones
        return sounding, name if len(name) <= MOST_NAME else None

    def _note_velocity(self, element: Element) -> int:
        percent = element.get("dynamics")
        if percent is None:
            return self._velocity
        return percent_velocity(number_of(percent, "the dynamics", self._where, -1000, 1000))

    def _staff(self, element: Element) -> int:
        text = text_of(element, "staff")
        return whole_of(text, "the staff", self._where, 1, 99) if text else 1

    def _transposition(self, staff: int) -> Transposition:
        found = self._transpositions
        return found.get(staff) or found.get(0) or Transposition(0, 0)

    # ---- what holds from here on -------------------------------------------------------------

    def _attributes(self, element: Element, frame: Frame) -> None:
        if text := text_of(element, "divisions"):
            divisions = number_of(text, "<divisions>", self._where, 0, MOST_DIVISIONS)
            if not divisions:
                raise self._where.wrong("<divisions> is 0, and a positive number was expected")
            if divisions != self._divisions:
                self._divisions = divisions
                self._lengths.clear()
        for transpose in element.iterfind("transpose"):
            self._transpose(transpose)
        for clef in element.iterfind("clef"):
            self._clef(clef)
        if (key := element.find("key")) is not None and self._score.key is None:
            self._score.key = self._key(key)
        if (time := element.find("time")) is not None and frame.meter is None:
            frame.meter = self._meter(time)
        if (sign := element.find("measure-style/measure-repeat")) is not None:
            bars = text_of(sign) or "1"
            starts = sign.get("type") != "stop"
            self._repeating = whole_of(bars, "bars to repeat", self._where, 1, 64) if starts else 0

    def _transpose(self, element: Element) -> None:
        where = self._where
        chromatic = round(number_of(text_of(element, "chromatic"), "<chromatic>", where, -60, 60))
        octaves = whole_of(
            text_of(element, "octave-change") or "0", "<octave-change>", where, -5, 5
        )
        diatonic = text_of(element, "diatonic")
        steps = whole_of(diatonic, "<diatonic>", where, -60, 60) if diatonic else None
        staff = element.get("number") or "0"
        self._transpositions[whole_of(staff, "the staff", where, 0, 99)] = Transposition.of(
            chromatic, steps, octaves
        )
        self._part.octave_from = "transposition"

    def _clef(self, element: Element) -> None:
        staff = whole_of(element.get("number") or "1", "the staff", self._where, 1, 99)
        change = text_of(element, "clef-octave-change") or "0"
        octave = whole_of(change, "<clef-octave-change>", self._where, -4, 4)
        # The clef at the beginning says what instrument it is; later ones only save ledger lines.
        self._part.clefs.setdefault(staff, Clef(text_of(element, "sign"), octave))

    def _key(self, element: Element) -> Key | None:
        text = text_of(element, "fifths")
        if not text:
            return None  # a key of single accidentals names no tonic
        fifths = whole_of(text, "<fifths>", self._where, -99, 99)
        fifths += self._transposition(1).fifths
        mode = text_of(element, "mode").lower()
        self._score.mode_given = mode not in ("", "none")
        return tonic_of(fifths, mode)

    def _meter(self, element: Element) -> Meter | None:
        self._free = element.find("senza-misura") is not None
        if self._free:
            return None
        pairs = list(zip(element.iterfind("beats"), element.iterfind("beat-type"), strict=False))
        if not pairs:
            raise self._where.wrong("a <time> without <beats> and <beat-type> was read")
        total, unit = Fraction(0), 0
        for beats, beat_type in pairs:
            figure = text_of(beats)
            if not re.fullmatch(r"\d{1,3}(\s*\+\s*\d{1,3}){0,15}", figure):
                raise self._where.wrong(f"the meter's upper figure {figure[:20]!r} was read")
            lower = whole_of(text_of(beat_type), "the meter's lower figure", self._where, 1, 64)
            if lower not in UNITS:
                raise self._where.wrong(
                    f"the meter's lower figure {lower} was read, and 1, 2, 4, 8 … was expected"
                )
            total += Fraction(sum(int(n) for n in figure.split("+")), lower)
            unit = max(unit, lower)
        if not 0 < total * unit <= 64:
            raise self._where.wrong(f"a meter of {total * unit} beats was read")
        return Meter(int(total * unit), unit)

    # ---- signs -------------------------------------------------------------------------------

    def _direction(self, element: Element, index: int) -> None:
        velocity = read_direction(
            element, self._score, index, self._at + self._offset(element), self._where
        )
        if velocity is not None:
            self._velocity = velocity

    def _offset(self, element: Element) -> Fraction:
        text = text_of(element, "offset")
        if not text:
            return Fraction(0)
        return number_of(text, "the offset", self._where, -(10**9), 10**9) / self._divisions

    def _harmony(self, element: Element, measure: Measure) -> None:
        at = self._at + self._offset(element)
        if at < 0 or at > MOST_QUARTERS:
            raise self._where.wrong("a chord symbol's <offset> leads out of the measure")
        chord = read_harmony(element, self._transposition(self._staff(element)), self._where)
        if chord is not None:
            measure.chords.append((at, chord))

    def _barline(self, element: Element, index: int) -> None:
        frames = self._score.frames
        frame = frames[index]
        left = element.get("location") == "left"
        if text_of(element, "bar-style") in DOUBLE_BARS:
            if not left:
                frame.double_bar = True
            elif index:
                frames[index - 1].double_bar = True
        flow = frame.flow
        if (repeat := element.find("repeat")) is not None:
            if repeat.get("direction") == "forward":
                flow.opens_repeat = True
            else:
                times = repeat.get("times") or "2"
                flow.closes_repeat = whole_of(times, "times", self._where, 1, MOST_PASSES)
                flow.repeats_after_jump = repeat.get("after-jump") == "yes"
        if (ending := element.find("ending")) is not None:
            if ending.get("type") == "start":
                flow.ending = _passes(ending.get("number", ""), self._where)
            else:
                flow.ending_stops = True
        if element.find("segno") is not None:
            flow.segno = element.get("segno", "")
        if element.find("coda") is not None:
            flow.coda = element.get("coda", "")


def _is_ghost(element: Element) -> bool:
    head = element.find("notehead")
    return head is not None and (text_of(head) in GHOST_HEADS or head.get("parentheses") == "yes")


def _passes(text: str, where: Where) -> tuple[int, ...]:
    """The passes of an ending's number: "1", "1, 2", "1-3"; an empty one is taken as 1."""
    found: list[int] = []
    for piece in re.split(r"[,\s]+", text.strip(" .")) if text.strip(" .") else ["1"]:
        bounds = re.fullmatch(r"(\d{1,2})(?:-(\d{1,2}))?\.?", piece)
        if not bounds:
            raise where.wrong(f"the ending's number {text[:20]!r} was read, and 1 or 1, 2 expected")
        first, last = int(bounds[1]), int(bounds[2] or bounds[1])
        found.extend(range(first, last + 1))
    if not found or min(found) < 1 or max(found) > MOST_PASSES:
        raise where.wrong(f"the ending's number {text[:20]!r} was read, and 1 or 1, 2 expected")
    return tuple(found)
