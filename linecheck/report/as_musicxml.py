"""The labelled line in notation: ``--musicxml FILE``, for any notation program.

One part for the bass, in bass clef, written an octave above its sound with the transposition that
says so. Over the staff: section letters, chorus numbers with their commitment, chord symbols, form
losses where they begin and end, and "missed" where a landing was missed. Under each note two
verses: its function as one letter (R 3 5 7, A approach, T tension, O outside, g ghost), then how
an approach leads, or the degree of a tension or outside note. Ghosts have an x for their head.
Swung eighths are written even, with a direction that says how they are played. Where a fingering
was asked for, each note has its finger, and its string where that changes.

Source: MusicXML 4.0, score-partwise; the order of elements is that of its schema. Durations are
in divisions of a quarter note, whole numbers for every step of every meter in the chart.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from linecheck.music.form import Form
from linecheck.report.findings_in_words import off_by, style_text
from linecheck.report.function_looks import GHOST_LETTER, degree_beside, letter
from linecheck.report.left_hand_marks import SHORT_CAUTION, add_left_hand, new_strings
from linecheck.report.musicxml_elements import (
    add,
    add_harmony,
    add_look,
    add_notations,
    add_pitch,
    add_words,
    beams_of,
)
from linecheck.report.notation import key_fifths, notate
from linecheck.terms import STEPS_PER_BEAT

if TYPE_CHECKING:
    from collections.abc import Iterable

    from linecheck.report.notation import NotatedBar, Symbol
    from linecheck.terms import Audit, Meter, Note

__all__ = ["MeasureWriter", "new_score", "score_text", "write_musicxml"]

PROLOGUE = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN"'
    ' "http://www.musicxml.org/dtds/partwise.dtd">\n'
)
ACOUSTIC_BASS = 33  # General MIDI, counted from 1
FORTE_VELOCITY = 90  # MusicXML 4.0: dynamics are percentages of it
APPROACH_VERSE = {
    "chromatic": "chromatic",
    "scale": "scale",
    "double": "double",
    "enclosure": "enclosure",
    "from the fifth": "5→1",
}
EVEN = 1.1  # a swing ratio below is played as even eighths
LOSS_COLOUR = "#A33F00"


def write_musicxml(audit: Audit) -> str:
    """The whole file as text, the same for the same audit.

    Args:
        audit: a complete audit. Control characters in its names are left out, markup is escaped.
    """
    root, part = new_score(audit.chart.title)
    writer = MeasureWriter(audit)
    bars = [bar for chorus in notate(audit) for bar in chorus.bars]
    for index, bar in enumerate(bars):
        before = bars[index - 1] if index else None
        after = bars[index + 1] if index + 1 < len(bars) else None
        part.append(writer.measure(bar, before, after))
    return score_text(root)


def new_score(title: str) -> tuple[Element, Element]:
    """An empty score, and its one part for the bass."""
    root = Element("score-partwise", version="4.0")
    add(root, "movement-title", title)
    encoding = SubElement(SubElement(root, "identification"), "encoding")
    add(encoding, "software", "linecheck")
    _part_list(root)
    return root, SubElement(root, "part", id="P1")


def score_text(root: Element) -> str:
    """A score as the text of its file."""
    indent(root, " ")
    return PROLOGUE + tostring(root, encoding="unicode") + "\n"


def _part_list(root: Element) -> None:
    listed = SubElement(SubElement(root, "part-list"), "score-part", id="P1")
    add(listed, "part-name", "Double Bass")
    add(listed, "part-abbreviation", "D.B.")
    instrument = add(listed, "score-instrument", id="P1-I1")
    add(instrument, "instrument-name", "Double Bass")
    add(instrument, "instrument-sound", "strings.contrabass")
    midi = add(listed, "midi-instrument", id="P1-I1")
    add(midi, "midi-channel", 1)
    add(midi, "midi-program", ACOUSTIC_BASS)


class MeasureWriter:
    """Writes bars one after another; the signs over the staff are found by their step.

    Args:
        audit: the audit whose bars are written.
        measures: how many measures stand before them in the part.
    """

    def __init__(self, audit: Audit, measures: int = 0) -> None:
        self._audit = audit
        self._notes = audit.labels.notes
        stretches = (*audit.chart.intro, *audit.chart.bars, *audit.chart.ending)
        # Steps are twelfths of a beat, and a beat is a quarter, an eighth …: the finest decides.
        unit = max([4, *(bar.meter.unit for bar in stretches)])
        self._divisions = STEPS_PER_BEAT * unit // 4
        self._losses = _loss_words(audit)
        self._missed = {
            landing.step for landing in audit.labels.landings if landing.counted and not landing.met
        }
        self._scores = {score.chorus: score for score in audit.judgement.choruses}
        self._fingering = audit.fingering.notes if audit.fingering else ()
        self._new_strings = new_strings(self._fingering)
        self._number = measures

    def measure(
        self, bar: NotatedBar, before: NotatedBar | None, after: NotatedBar | None
    ) -> Element:
        """One bar; those beside it tell what is new in it and what bar line ends it."""
        pickup = before is None and bar.number is None
        self._number += not pickup
        measure = Element("measure", number=str(self._number))
        if pickup:
            measure.set("implicit", "yes")
        if before is not None and before.number is not None and before.chorus != bar.chorus:
            add(measure, "print", new_system="yes")
        if before is None or before.meter != bar.meter:
            self._attributes(measure, bar.meter, first=before is None)
        if before is None:
            self._tempo(measure)
        if before is None and self._fingering:
            add_words(measure, SHORT_CAUTION, 0)
        self.headings(measure, bar, before)
        symbols = _without_leading_rests(bar.symbols) if pickup else bar.symbols
        beams = beams_of(symbols)
        for index, symbol in enumerate(symbols):
            self._signs(measure, bar, symbol)
            beside = (
                symbols[index - 1] if index else None,
                symbols[index + 1] if index + 1 < len(symbols) else None,
            )
            measure.append(self._note(bar, symbol, beside, beams.get(index, ())))
        if after is None or (after.chorus != bar.chorus and bar.number is not None):
            line = add(measure, "barline", location="right")
            add(line, "bar-style", "light-heavy" if after is None else "light-light")
        return measure

    def _duration(self, steps: int, meter: Meter) -> int:
        return steps * self._divisions * 4 // (STEPS_PER_BEAT * meter.unit)

    def _attributes(self, measure: Element, meter: Meter, *, first: bool) -> None:
        attributes = add(measure, "attributes")
        if first:
            add(attributes, "divisions", self._divisions)
            key = add(attributes, "key")
            add(key, "fifths", key_fifths(self._audit.chart.key))
            add(key, "mode", "minor" if self._audit.chart.key.minor else "major")
        time = add(attributes, "time")
        add(time, "beats", meter.beats)
        add(time, "beat-type", meter.unit)
        if first:
            clef = add(attributes, "clef")
            add(clef, "sign", "F")
            add(clef, "line", 4)
            transpose = add(attributes, "transpose")
            add(transpose, "diatonic", 0)
            add(transpose, "chromatic", 0)
            add(transpose, "octave-change", -1)

    # ---- over the staff ----------------------------------------------------------------------

    def _tempo(self, measure: Element) -> None:
        tempo = f"{_quarter_tempo(self._audit):.1f}".removesuffix(".0")
        direction = add(measure, "direction", placement="above")
        swing = _swing(self._audit)
        if swing is not None:
            add(add(direction, "direction-type"), "words", "Swing", font_weight="bold")
        metronome = add(add(direction, "direction-type"), "metronome")
        add(metronome, "beat-unit", "quarter")
        add(metronome, "per-minute", tempo)
        sound = add(direction, "sound", tempo=tempo)
        if swing is not None:
            swung = add(sound, "swing")
            add(swung, "first", swing.numerator)
            add(swung, "second", swing.denominator)
            add(swung, "swing-type", "eighth")

    def headings(self, measure: Element, bar: NotatedBar, before: NotatedBar | None) -> None:
        """What stands over a bar: its chorus and its section, where they begin."""
        score = self._scores.get(bar.chorus)
        if score is not None and (before is None or before.chorus != bar.chorus):
            text = f"Chorus {bar.chorus}: {style_text(score, self._audit)}, commitment {score.commitment:.0f}"
            add_words(measure, text, 0, font_weight="bold")
        if bar.opens_section and bar.section:
            direction = add(measure, "direction", placement="above")
            add(add(direction, "direction-type"), "rehearsal", bar.section)

    def _signs(self, measure: Element, bar: NotatedBar, symbol: Symbol) -> None:
        """What stands over the staff from this symbol's place to the next one's."""
        for chord in bar.chords:
            offset = bar.step + chord.step - symbol.step
            if 0 <= offset < symbol.steps:
                add_harmony(measure, chord, self._duration(offset, bar.meter))
        for step in range(symbol.step, symbol.step + symbol.steps):
            offset = self._duration(step - symbol.step, bar.meter)
            for text in self._losses.get(step, ()):
                add_words(measure, text, offset, enclosure="rectangle", color=LOSS_COLOUR)
            if step in self._missed:
                add_words(measure, "missed", offset, font_style="italic", color=LOSS_COLOUR)

    # ---- notes -------------------------------------------------------------------------------

    def _note(
        self,
        bar: NotatedBar,
        symbol: Symbol,
        beside: tuple[Symbol | None, Symbol | None],
        beams: Iterable[str],
    ) -> Element:
        made = Element("note")
        note = None if symbol.note is None else self._notes[symbol.note]
        if note is None:
            whole_bar = {"measure": "yes"} if symbol.steps == bar.steps else {}
            SubElement(made, "rest", whole_bar)
        else:
            made.set("dynamics", f"{note.velocity * 100 / FORTE_VELOCITY:.2f}")
            add_pitch(made, note)
        add(made, "duration", self._duration(symbol.steps, bar.meter))
        ties = [
            kind for kind, tied in (("stop", symbol.tied_from), ("start", symbol.tied_to)) if tied
        ]
        for kind in ties:
            add(made, "tie", type=kind)
        add(made, "voice", 1)
        if note is not None or symbol.steps != bar.steps:
            add_look(made, symbol)
        if note is not None and note.ghost:
            add(made, "notehead", "x")
        for level, kind in enumerate(beams, 1):
            if kind:
                add(made, "beam", kind, number=str(level))
        self._left_hand(made, add_notations(made, symbol, ties, beside), symbol)
        if note is not None and not symbol.tied_from:
            for number, text in enumerate(_verses(note), 1):
                if text:
                    lyric = add(made, "lyric", number=str(number))
                    add(lyric, "syllabic", "single")
                    add(lyric, "text", text)
        return made

    def _left_hand(self, made: Element, notations: Element | None, symbol: Symbol) -> None:
        """Finger and string, where a fingering was asked for and the note can be reached."""
        if not self._fingering or symbol.note is None or symbol.tied_from:
            return
        fingered = self._fingering[symbol.note]
        if fingered.finger is not None:
            notations = notations if notations is not None else add(made, "notations")
            new_string = self._new_strings[symbol.note]
            add_left_hand(add(notations, "technical"), fingered, new_string=new_string)


def _without_leading_rests(symbols: tuple[Symbol, ...]) -> tuple[Symbol, ...]:
    """A pickup bar is as long as the pickup."""
    first = 0
    while first < len(symbols) and symbols[first].note is None and symbols[first].tuplet is None:
        first += 1
    return symbols[first:] or symbols


# ---- what is said ----------------------------------------------------------------------------


def _verses(note: Note) -> tuple[str, str]:
    """The two lines of text under a note."""
    if note.ghost:
        return GHOST_LETTER, ""
    if note.function is None:
        return "", ""
    if note.function == "approach" and note.approach:
        detail = APPROACH_VERSE[note.approach.kind]
    else:
        detail = degree_beside(note.function, note.degree) or ("ant." if note.anticipation else "")
    return letter(note.function, note.degree), detail


def _loss_words(audit: Audit) -> dict[int, list[str]]:
    """Step → what is said of the losses that begin or end there."""
    found: dict[int, list[str]] = {}
    for loss in audit.line.losses:
        words = off_by(loss, audit.chart, adrift="adrift")
        perhaps = "" if loss.certain else "perhaps "
        found.setdefault(loss.step, []).append(f"{perhaps}{words} from here")
        if loss.recovered_step is not None and loss.certain:
            found.setdefault(loss.recovered_step, []).append("back in place")
    return found


def _quarter_tempo(audit: Audit) -> float:
    """Mean tempo in quarter notes a minute."""
    beats_s = audit.line.beats_s
    form = Form(audit.chart, audit.line.choruses)
    quarters = form.quarters_of((len(beats_s) - 1) * STEPS_PER_BEAT) if beats_s else 0.0
    if quarters <= 0 or beats_s[-1] <= beats_s[0]:
        return audit.line.tempo_bpm
    return 60 * quarters / (beats_s[-1] - beats_s[0])


def _swing(audit: Audit) -> Fraction | None:
    """Long to short eighth as small numbers; None where eighths are even."""
    ratio = audit.line.swing_ratio
    if ratio is None:
        return Fraction(2, 1) if audit.chart.feel == "swing" else None
    return Fraction(ratio).limit_denominator(5) if ratio >= EVEN else None
