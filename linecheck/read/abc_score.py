"""ABC into a ``Score``: the header, the voices, the lines of music.

The text is read directly and not through a general score library: music21 10 leaves out a quoted
chord that it cannot name (A7alt) without a word, and its faults name no line. Of a book of tunes
the first is read. Source: ABC 2.1, sections 2 (file), 3 (fields), 7 (voices).
"""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from linecheck.read.abc_fields import (
    KeyField,
    VoiceSettings,
    read_key,
    read_meter,
    read_part_order,
    read_settings,
    read_tempo,
    read_unit,
    usual_unit,
)
from linecheck.read.abc_music import MusicReader, Voice
from linecheck.read.fault_place import Where
from linecheck.read.file_checks import read_bytes
from linecheck.read.printed_words import feel_of
from linecheck.read.score import Measure, Part, Score

if TYPE_CHECKING:
    from pathlib import Path

    from linecheck.faults import InputFault
    from linecheck.terms import Meter

FIELD = re.compile(r"([A-Za-z+]):(?![|:])(.*)")
MIDI = re.compile(r"%%MIDI\s+(program|transpose|rtranspose)\s+(?:\d+\s+)?(-?\d{1,3})\s*$")
PROPAGATION = re.compile(r"propagate-accidentals\s+(not|octave|pitch)\b")
TEXT_BLOCK = re.compile(r"%%begin(\w+)")
FIELDS = {  # field → the method that reads it; other fields change nothing
    "T": "_title_field", "K": "_key_field", "M": "_meter_field", "L": "_unit_field",
    "Q": "_tempo_field", "R": "_rhythm_field", "P": "_part_field", "V": "_voice_field",
    "I": "_instruction_field",
}  # fmt: skip
MOST_VOICES = 100
MOST_LINE = 20_000  # characters
MOST_OF_MARK = 40  # likewise
LATIN = "iso-8859-1"


def read_abc(path: Path, fault: type[InputFault], *, with_chords: bool) -> Score:
    """Read the first tune of an ABC file.

    Args:
        path: the file.
        fault: the kind of fault to raise.
        with_chords: whether chord symbols are read; one that cannot be read is then a fault.

    Raises:
        InputFault: of the kind ``fault``, with the line where it is known.
    """
    where = Where(fault, str(path))
    score = Score(path.stem, [], [], typed=True)
    text = _decoded(read_bytes(path, fault), score, where)
    _Tune(score, where, with_chords=with_chords).read(text.split("\n"))
    if not any(part.measures for part in score.parts):
        raise where.wrong("it holds no music; after the K: field of a tune its bars are expected")
    for part in score.parts:
        part.measures.extend(Measure() for _ in range(len(score.frames) - len(part.measures)))
    return score


def _decoded(content: bytes, score: Score, where: Where) -> str:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        # Before version 2.1 of the standard, Latin-1 was the usual encoding.
        text = content.decode(LATIN)
        score.warn("the text is not UTF-8 and was read as Latin-1")
    if "\0" in text:
        raise where.wrong("is not text: it holds NUL bytes")
    return text.replace("\r\n", "\n").replace("\r", "\n")


class _Tune:
    """The reading of one tune: what the header gave, and the voices so far."""

    def __init__(self, score: Score, where: Where, *, with_chords: bool) -> None:
        self._score = score
        self._file = where
        self._where = where
        self._reader = MusicReader(score, with_chords=with_chords)
        self._voices: dict[str, Voice] = {}
        self._voice: Voice | None = None
        self._meter: Meter | None = None
        self._header_meter: Meter | None = None
        self._unit: Fraction | None = None
        self._header_unit = usual_unit(None)
        self._key = KeyField(None)
        self._settings = VoiceSettings()
        self._program: int | None = None
        self._header_tempo = ""
        self._declared: dict[str, str] = {}
        self._order = ""
        self._titled = False
        self._in_body = False

    def read(self, lines: list[str]) -> None:
        """Read the first tune of these lines."""
        started = False
        block = ""
        for number, line in enumerate(lines, 1):
            self._where = self._file.at(f"line {number}")
            if len(line) > MOST_LINE:
                raise self._where.wrong(f"the line is longer than {MOST_LINE} characters")
            if block:
                block = "" if line.startswith(f"%%end{block}") else block
            elif opened := TEXT_BLOCK.match(line):
                block = opened[1]
            elif self._ends_tune(line, started=started):
                self._tell_what_follows(lines[number - 1 :], number)
                break
            else:
                started = started or line.startswith("X:")
                self._line(line)
        self._finish()

    def _ends_tune(self, line: str, *, started: bool) -> bool:
        """A tune ends at an empty line (ABC 2.1, section 2.2.1) or where another begins."""
        return (self._in_body and not line.strip()) or (started and line.startswith("X:"))

    def _tell_what_follows(self, lines: list[str], number: int) -> None:
        if any(line.startswith("X:") for line in lines):
            self._score.warn("of several tunes in the file the first is read")
        elif any(line.strip() and not line.startswith("%") for line in lines):
            self._score.warn(f"the tune ends at the empty line {number}; what follows is not read")

    def _line(self, line: str) -> None:
        if not line.strip():
            return
        if line.startswith("%"):
            self._directive(line)
            return
        field = FIELD.match(line)
        if field:
            self._field(field[1], field[2].partition("%")[0].strip())
        elif self._in_body:
            self._music(line)
        # Before K: anything else is free text.

    def _music(self, line: str) -> None:
        rest: str | None = line
        while rest:
            voice = self._current()
            rest = self._reader.read_line(rest, voice, self._where)
            if rest:
                inside, _, rest = rest[1:].partition("]")
                name, _, value = inside.partition(":")
                self._field(name, value.strip())

    def _directive(self, line: str) -> None:
        if reach := PROPAGATION.search(line):
            self._reader.propagation = reach[1]
        found = MIDI.match(line)
        if not found:
            return
        value = int(found[2])
        voice = self._voice if self._in_body else None
        if found[1] == "program" and 0 <= value <= 127:
            if voice:
                voice.part.program = value
            else:
                self._program = value
        elif found[1] != "program" and abs(value) <= 60:
            settings = voice.settings if voice else self._settings
            settings.transpose = value
            if voice:
                _describe(voice)

    # ---- fields ------------------------------------------------------------------------------

    def _field(self, name: str, value: str) -> None:
        method = FIELDS.get(name)
        if method:
            getattr(self, method)(value)

    def _title_field(self, value: str) -> None:
        if value and not self._titled:
            self._score.title, self._titled = value, True

    def _unit_field(self, value: str) -> None:
        self._unit = read_unit(value, self._where)
        if self._voice:
            self._voice.unit = self._unit

    def _tempo_field(self, value: str) -> None:
        self._rhythm_field(value)
        if self._in_body:
            self._set_tempo(value, self._current())
        else:
            self._header_tempo = value

    def _rhythm_field(self, value: str) -> None:
        self._score.feel = self._score.feel or feel_of(value)

    def _instruction_field(self, value: str) -> None:
        self._directive(f"%%{value}")

    def _key_field(self, value: str) -> None:
        key = read_key(value, self._where)
        if not self._in_body:
            self._key = key or self._key
            self._score.key = self._key.key
            read_settings(value, self._settings, self._where, bare_clef=True)
            self._header_meter = self._meter
            self._header_unit = self._unit or usual_unit(self._meter)
            self._in_body = True
            return
        voice = self._current()
        voice.key = key or voice.key
        read_settings(value, voice.settings, self._where, bare_clef=True)
        _describe(voice)

    def _meter_field(self, value: str) -> None:
        self._meter = read_meter(value, self._where)
        if self._in_body:
            voice = self._current()
            self._set_meter(voice)
            frame = self._reader.frame(voice)
            frame.meter = frame.meter or self._meter

    def _set_meter(self, voice: Voice) -> None:
        meter = self._meter
        voice.free = meter is None
        voice.compound = meter is not None and meter.unit >= 8 and meter.beats % 3 == 0

    def _set_tempo(self, value: str, voice: Voice) -> None:
        tempo = read_tempo(value, voice.unit)
        if tempo is not None:
            self._reader.frame(voice).tempos.append((voice.at, tempo))

    def _part_field(self, value: str) -> None:
        if not self._in_body:
            self._order = value
        elif value and value != self._order:
            frame = self._reader.frame(self._current())
            if frame.mark not in (None, value[:MOST_OF_MARK]) and not self._order:
                # Two at one place: many write the order of the parts after the key.
                order = read_part_order(frame.mark or "")
                if order is not None and len(order) > 1 and len(frame.mark or "") < MOST_OF_MARK:
                    self._order, frame.mark = frame.mark or "", None
            frame.mark = frame.mark or value[:MOST_OF_MARK]

    def _voice_field(self, value: str) -> None:
        found = re.match(r"\S+", value)
        if not found:
            raise self._where.wrong("a V: field without a name was read")
        name, options = found[0], value[found.end() :]
        if not self._in_body:
            if len(self._declared) >= MOST_VOICES:
                raise self._where.wrong(f"it has more than {MOST_VOICES} voices")
            self._declared[name] = self._declared.get(name, "") + " " + options
            return
        self._voice = self._voices.get(name) or self._new_voice(name)
        read_settings(options, self._voice.settings, self._where, bare_clef=False)
        _describe(self._voice)

    # ---- voices ------------------------------------------------------------------------------

    def _current(self) -> Voice:
        if self._voice is None:
            self._voice = self._new_voice(next(iter(self._declared), "1"))
        return self._voice

    def _new_voice(self, name: str) -> Voice:
        if len(self._voices) >= MOST_VOICES:
            raise self._where.wrong(f"it has more than {MOST_VOICES} voices")
        part = Part(len(self._voices) + 1, "" if name.isdecimal() else name)
        part.program = self._program
        unit = self._unit or usual_unit(self._meter)
        voice = Voice(part, self._key, unit, replace(self._settings))
        self._set_meter(voice)
        read_settings(self._declared.get(name, ""), voice.settings, self._where, bare_clef=False)
        _describe(voice)
        self._score.parts.append(part)
        self._voices[name] = voice
        return voice

    def _finish(self) -> None:
        for voice in self._voices.values():
            self._reader.end(voice, self._file)
        self._reader.tell_remarks()
        if not self._score.frames:
            return
        first = self._score.frames[0]
        first.meter = first.meter or self._header_meter
        tempo = read_tempo(self._header_tempo, self._header_unit)
        if tempo is not None and not any(at == 0 for at, _ in first.tempos):
            first.tempos.append((Fraction(0), tempo))
        self._score.order = self._part_order()

    def _part_order(self) -> list[str] | None:
        if not self._order:
            return None
        order = read_part_order(self._order)
        marks = {frame.mark for frame in self._score.frames}
        if order is None or not marks.issuperset(order):
            self._score.warn(
                f"the order of parts {self._order[:40]!r} names none of this tune's P: fields; "
                "it is played as it stands"
            )
            return None
        return order


def _describe(voice: Voice) -> None:
    """Tell the part what its options say of name, clef and octave."""
    settings, part = voice.settings, voice.part
    part.name = settings.name or part.name
    if settings.clef:
        part.clefs.setdefault(1, settings.clef)
    if settings.transpose is not None:
        part.octave_from = "transposition"
    elif settings.clef and settings.clef.octave:
        part.octave_from = "clef"
