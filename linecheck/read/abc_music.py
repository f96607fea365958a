"""The notes of one voice in ABC: tokens of a music line into measures.

Source: ABC 2.1, section 4. An accidental holds to the bar line for its letter in every octave,
unless a directive says otherwise (section 11.3). Lengths are quarter notes; ``C`` is middle C,
MIDI number 60.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from linecheck.faults import InputFault
from linecheck.music.attempted_chord import is_attempted_chord
from linecheck.music.chord_symbol import read_chord
from linecheck.music.pitch import NATURAL, spell
from linecheck.read.abc_fields import KeyField, VoiceSettings, alteration
from linecheck.read.abc_tokens import INNER, ONE, TOKEN, Head, length_of, passes_of
from linecheck.read.file_names import listed
from linecheck.read.printed_words import DEFAULT_VELOCITY, DYNAMICS, feel_of, read_flow_words
from linecheck.read.score import MOST_NAME, Frame, Measure, Part, ScoreNote

if TYPE_CHECKING:
    from linecheck.read.fault_place import Where
    from linecheck.read.score import Flow, Score
    from linecheck.terms import Chord

# Time that p notes of a tuplet take where only p is given; 0: three in compound meters, else two.
TUPLETS = {2: 3, 3: 2, 4: 3, 5: 0, 6: 2, 7: 0, 8: 3, 9: 0}
SHORT_SIGNS = {"S": "segno", "O": "coda"}
SIGNS = {
    "segno": "segno", "coda": "coda", "dacoda": "to coda", "fine": "fine",
    "D.C.": "d.c.", "D.S.": "d.s.", "dacapo": "d.c.", "D.C.alcoda": "d.c.", "D.C.alfine": "d.c.",
    "D.S.alcoda": "d.s.", "D.S.alfine": "d.s.",
}  # fmt: skip
READ_BY = {  # kind of token → the method that reads it; other tokens change nothing
    "note": "_note", "rest": "_rest", "line": "_bar", "quote": "_quote", "chord": "_chord",
    "volta": "_volta", "tie": "_tie", "broken": "_broken", "tuplet": "_tuplet",
    "bars": "_rest_bars", "colon": "_colon", "grace": "_grace", "overlay": "_overlay",
    "decoration": "_sign", "short": "_sign",
}  # fmt: skip
MOST_QUARTERS = 256
MOST_REST_BARS = 1_000
MOST_MEASURES = 20_000
SMALL_BASS = re.compile(r"/([a-g])([b#+]?)$")
MOST_PLACES = 3  # of one remark that are named
ANNOTATION = "^_<>@"


@dataclass(slots=True)
class Voice:
    """A voice while it is read: what holds now, and the measure that is being filled."""

    part: Part
    key: KeyField
    unit: Fraction
    settings: VoiceSettings = field(default_factory=VoiceSettings)
    compound: bool = False
    free: bool = False
    measure: Measure = field(default_factory=Measure)
    at: Fraction = Fraction(0)
    reached: Fraction = Fraction(0)
    overlay: int = 0
    altered: dict[tuple[str, int], int] = field(default_factory=dict)
    ties: dict[tuple[str, int], int] = field(default_factory=dict)
    last: list[ScoreNote] = field(default_factory=list)
    last_length: Fraction = Fraction(0)
    next_factor: Fraction = ONE
    tuplet_factor: Fraction = ONE
    tuplet_left: int = 0
    last_heads: list[Head] = field(default_factory=list)
    rested: bool = False
    velocity: int = DEFAULT_VELOCITY
    remarks: list[tuple[Fraction, str]] = field(default_factory=list)


class MusicReader:
    """Reads lines of music into the voices of a score."""

    def __init__(self, score: Score, *, with_chords: bool) -> None:
        self._score = score
        self._with_chords = with_chords
        self._remarks: dict[str, list[str]] = {}
        self.propagation = "pitch"

    def frame(self, voice: Voice) -> Frame:
        """The frame of the measure that the voice is filling."""
        index = len(voice.part.measures)
        frames = self._score.frames
        while len(frames) <= index:
            frames.append(Frame(str(len(frames) + 1)))
        return frames[index]

    def read_line(self, line: str, voice: Voice, where: Where) -> str | None:
        """Read music up to the line's end, or up to an inline field.

        Returns:
            The inline field and what follows it (``[M:3/4]abc``), for the caller; None at the end.
        """
        at = 0
        while at < len(line):
            found = TOKEN.match(line, at)
            if not found:
                raise where.wrong(f"{line[at : at + 12]!r} was read, and notes were expected")
            at = found.end()
            if found.lastgroup == "comment":
                break
            if found.lastgroup == "field":
                return line[found.start() :]
            self._token(found, voice, where)
        return None

    def end(self, voice: Voice, where: Where) -> None:
        """Close the last measure."""
        if voice.reached or voice.measure.notes or voice.measure.chords or voice.rested:
            self._close(voice, where)
        elif voice.part.measures and len(self._score.frames) > len(voice.part.measures):
            # A sign that stands after the last bar line belongs to the last bar.
            last, after = self._score.frames[-2:]
            if not any(p.measures[len(self._score.frames) - 1 :] for p in self._score.parts):
                _carry_over(after.flow, last.flow)
                self._score.frames.pop()

    # ---- tokens ------------------------------------------------------------------------------

    def _token(self, found: re.Match[str], voice: Voice, where: Where) -> None:
        kind = found.lastgroup or ""
        if kind in READ_BY:
            getattr(self, READ_BY[kind])(found, voice, where)

    def _note(self, found: re.Match[str], voice: Voice, where: Where) -> None:
        self._notes([Head.of(found, "n")], length_of(found, "n"), voice, where)

    def _rest(self, found: re.Match[str], voice: Voice, where: Where) -> None:
        self._notes([], length_of(found, "r"), voice, where)

    def _volta(self, found: re.Match[str], voice: Voice, where: Where) -> None:
        self.frame(voice).flow.ending = passes_of(found["passes"] or "1", where)

    def _grace(self, found: re.Match[str], voice: Voice, _where: Where) -> None:
        voice.part.graces += len(re.findall(r"[A-Ga-g]", found["grace"]))

    def _overlay(self, _found: re.Match[str], voice: Voice, _where: Where) -> None:
        voice.at, voice.overlay = Fraction(0), voice.overlay + 1

    def _notes(self, heads: list[Head], length: Fraction, voice: Voice, where: Where) -> None:
        quarters = length * voice.unit
        if voice.next_factor != 1:
            quarters *= voice.next_factor
            voice.next_factor = ONE
        if voice.tuplet_left:
            quarters *= voice.tuplet_factor
            voice.tuplet_left -= 1
        notes = []
        for head in heads:
            pitch = self._pitch(head, voice, where)
            voice.ties.pop((head.letter, head.octave), None)
            long = quarters if head.factor is ONE else quarters * head.factor
            note = ScoreNote(voice.at, long, pitch, voice.velocity, str(voice.overlay), 1)
            note.ties_on, note.ghost = head.tied, voice.settings.ghost
            note.spelled = _spelled(head.letter, pitch, voice.settings.transpose or 0)
            notes.append(note)
            if head.tied:
                voice.ties[head.letter, head.octave] = pitch
        if quarters:
            voice.measure.notes.extend(notes)
        voice.last, voice.last_length = notes, quarters
        voice.last_heads = heads
        self._go(quarters, voice, where)

    def _go(self, quarters: Fraction, voice: Voice, where: Where) -> None:
        voice.at += quarters
        voice.reached = max(voice.reached, voice.at)
        if voice.at > MOST_QUARTERS:
            raise where.wrong(
                f"the bar lasts more than {MOST_QUARTERS} quarter notes; is a bar line missing?"
            )

    def _pitch(self, head: Head, voice: Voice, where: Where) -> int:
        shift: int
        if head.sign:
            shift = alteration(head.sign)
            if self.propagation != "not":
                voice.altered[self._reach(head)] = shift
        elif (head.letter, head.octave) in voice.ties:
            return voice.ties[head.letter, head.octave]
        else:
            own = voice.key.altered.get(head.letter, 0)
            shift = voice.altered.get(self._reach(head), own)
        clef = voice.settings.clef
        octaves = head.octave + voice.settings.octaves + (clef.octave if clef else 0)
        pitch = 60 + 12 * octaves + NATURAL[head.letter] + shift
        pitch += voice.settings.transpose or 0
        if not 0 <= pitch <= 127:
            raise where.wrong(f"a note of MIDI number {pitch} was read; 0 to 127 sound")
        return pitch

    def _reach(self, head: Head) -> tuple[str, int]:
        """What an accidental of this note holds for: its letter, in one octave or in all."""
        return head.letter, head.octave if self.propagation == "octave" else 0

    def _chord(self, found: re.Match[str], voice: Voice, where: Where) -> None:
        inside = re.sub(r'"[^"]*"|![^!]*!|\+[^+]*\+', "", found["inside"])
        heads = [Head.of(note, "", tied=bool(note["tie"])) for note in INNER.finditer(inside)]
        if not heads:
            raise where.wrong(
                f"{found['chord'][:20]!r} was read, and a chord of notes was expected"
            )
        first = heads[0].length
        for head in heads:
            head.factor = head.length / first if first else Fraction(1)
        self._notes(heads, first * length_of(found, "c"), voice, where)

    def _tie(self, _found: re.Match[str], voice: Voice, _where: Where) -> None:
        for note, head in zip(voice.last, voice.last_heads, strict=True):
            note.ties_on = True
            voice.ties[head.letter, head.octave] = note.pitch

    def _broken(self, found: re.Match[str], voice: Voice, _where: Where) -> None:
        signs = found["broken"]
        longer = 2 - Fraction(1, 2 ** len(signs))
        before, voice.next_factor = (
            (longer, 2 - longer) if signs[0] == ">" else (2 - longer, longer)
        )
        for note in voice.last:
            note.quarters *= before
        change = voice.last_length * (before - 1)
        voice.at += change
        voice.last_length += change
        if not voice.overlay:
            voice.reached += change

    def _tuplet(self, found: re.Match[str], voice: Voice, _where: Where) -> None:
        many = int(found["p"])
        plain = int(found["q"] or 0) or TUPLETS.get(many, 1) or (3 if voice.compound else 2)
        voice.tuplet_left = int(found["r"] or 0) or many
        voice.tuplet_factor = Fraction(plain, max(many, 1))

    def _rest_bars(self, found: re.Match[str], voice: Voice, where: Where) -> None:
        bars = int(found["count"] or 1)
        if bars > MOST_REST_BARS:
            raise where.wrong(f"a rest of {bars} bars was read, and at most {MOST_REST_BARS} count")
        for _ in range(bars - 1):
            self.frame(voice)
            self._close(voice, where)
        self.frame(voice)
        voice.rested = True

    # ---- bar lines ---------------------------------------------------------------------------

    def _bar(self, found: re.Match[str], voice: Voice, where: Where) -> None:
        core, passes = found["bar"].strip("."), found["barpasses"]
        leading = len(core) - len(core.lstrip(":"))
        trailing = len(core) - len(core.rstrip(":"))
        if set(core) == {":"}:
            leading = trailing = len(core) // 2 or 1
        double = core.count("|") > 1 or "[" in core or "]" in core
        if voice.reached or voice.measure.notes or voice.measure.chords or voice.rested:
            frame = self.frame(voice)
            self._close(voice, where)
        elif voice.part.measures:
            frame = self._score.frames[len(voice.part.measures) - 1]
        else:
            frame = Frame("0")  # nothing stands before the first bar line
        if leading:
            frame.flow.closes_repeat = leading + 1
        if leading or double or trailing:
            frame.flow.ending_stops = True
            frame.double_bar = True
        if trailing:
            self.frame(voice).flow.opens_repeat = True
        if passes:
            self.frame(voice).flow.ending = passes_of(passes, where)

    def _colon(self, _found: re.Match[str], voice: Voice, where: Where) -> None:
        """A colon alone at the beginning of a bar opens a repeat whose bar line is elsewhere."""
        if voice.reached or voice.measure.notes or voice.measure.chords:
            raise where.wrong("':' was read within a bar, and notes were expected")
        self.frame(voice).flow.opens_repeat = True

    def _close(self, voice: Voice, where: Where) -> None:
        frame = self.frame(voice)
        voice.measure.filled = voice.reached
        frame.filled = max(frame.filled, voice.reached)
        frame.implicit = frame.implicit or voice.free
        if voice.remarks:
            self._place_remarks(voice, frame.number)
        voice.part.measures.append(voice.measure)
        if len(voice.part.measures) > MOST_MEASURES:
            raise where.wrong(f"it holds more than {MOST_MEASURES} bars")
        voice.measure, voice.altered = Measure(), {}
        voice.at = voice.reached = Fraction(0)
        voice.overlay, voice.rested = 0, False
        voice.last, voice.last_heads, voice.last_length = [], [], Fraction(0)
        voice.next_factor = ONE

    # ---- texts and signs ---------------------------------------------------------------------

    def _quote(self, found: re.Match[str], voice: Voice, where: Where) -> None:
        text, flow = found["quote"][1:-1], self.frame(voice).flow
        for piece in re.split(r"[;\n]|\\n", text):
            words = piece.strip()
            if not words:
                continue
            if words[0] in ANNOTATION and not words.startswith("^7"):
                words = words[1:].strip()
                read_flow_words(words, flow)
                self._score.feel = self._score.feel or feel_of(words)
            elif self._with_chords:
                chord = self._read_chord(words, voice, where)
                if chord is not None:
                    voice.measure.chords.append((voice.at, chord))

    def _read_chord(self, words: str, voice: Voice, where: Where) -> Chord | None:
        # A bass in a small letter, with + for a sharp, is an older habit of typing ABC.
        words = SMALL_BASS.sub(lambda m: "/" + m[1].upper() + m[2].replace("+", "#"), words)
        try:
            return read_chord(words)
        except InputFault as fault:
            # The standard's alternate chord in brackets: "G(Em)" is G, or Em instead.
            alternate = re.fullmatch(r"(.+?)\s*\(([A-G][^()]*)\)", words)
            if alternate:
                return self._read_chord(alternate[1], voice, where)
            if re.fullmatch(r"\([A-G][^()]*\)", words):
                return None
            frame = self.frame(voice)
            if read_flow_words(words, frame.flow):
                return None
            if is_attempted_chord(words):
                problem = f"{fault.problem}; a remark that is no chord begins with ^"
                raise where.at(f"measure {frame.number}").wrong(problem, *fault.names) from None
            self._score.feel = self._score.feel or feel_of(words)
            voice.remarks.append((voice.at, words))
            return None

    def _place_remarks(self, voice: Voice, number: str) -> None:
        """Note where the remarks of a measure stand, and the chord that holds in their place."""
        for at, words in voice.remarks:
            here = [chord for place, chord in voice.measure.chords if place <= at]
            before = (m.chords[-1][1] for m in reversed(voice.part.measures) if m.chords)
            now = here[-1] if here else next(before, None)
            held = f"{now.symbol} holds there" if now else "no chord holds there yet"
            self._remarks.setdefault(words, []).append(f"measure {number} ({held})")
        voice.remarks = []

    def tell_remarks(self) -> None:
        """Name each remark that might have been a chord, once, with the places where it stands."""
        for words, places in self._remarks.items():
            said = f"{words[:30]!r} is taken as a remark, not as a chord"
            self._score.warn(f"{said}: {listed(places, MOST_PLACES)}")

    def _sign(self, found: re.Match[str], voice: Voice, _where: Where) -> None:
        name = (found["decoration"] or "")[1:-1] or SHORT_SIGNS.get(found["short"], "")
        if name in DYNAMICS:
            voice.velocity = DYNAMICS[name]
        elif name in SIGNS:
            read_flow_words(SIGNS[name], self.frame(voice).flow)


def _spelled(letter: str, sounding: int, transpose: int) -> str | None:
    """The name of a note as typed; None for one that sounds by another name."""
    name = spell(letter, sounding % 12)
    return name if transpose % 12 == 0 and len(name) <= MOST_NAME else None


def _carry_over(signs: Flow, target: Flow) -> None:
    target.da_capo = target.da_capo or signs.da_capo
    target.fine = target.fine or signs.fine
    target.to_coda = target.to_coda if signs.to_coda is None else signs.to_coda
    target.dal_segno = target.dal_segno if signs.dal_segno is None else signs.dal_segno
