"""Fields of ABC that say what holds for the notes after them: K:, M:, L:, Q:, V:, P:.

Source: ABC 2.1, sections 3 and 4.6; MIDI directives (``%%MIDI program``, ``%%MIDI transpose``) as
the standard's section on playback lists them. Lengths are fractions of a whole note in the file and
quarter notes here.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from linecheck.music.keys import nearest_key
from linecheck.read.key_signature import MODES, fifths_of, signature, tonic_of
from linecheck.read.printed_words import FASTEST, SLOWEST
from linecheck.read.score import Clef
from linecheck.terms import Meter

if TYPE_CHECKING:
    from linecheck.read.fault_place import Where
    from linecheck.terms import Key

UNITS = (1, 2, 4, 8, 16, 32, 64)
KEY = re.compile(r"([A-G])([#b♯♭]?)\s*(?:([A-Za-z]+)(?=\s|$|\d|[_^=]))?")
ACCIDENTAL = re.compile(r"(?<![\w=])([_^]{1,2}|=)([A-Ga-g])(?![\w=])")
MODE_NAMES = {mode[:3]: mode for mode in MODES} | {"m": "minor"}
CLEF = re.compile(r"(treble|alto|tenor|bass|perc|none|[GCFP])[1-5]?([+-]8|[+-]15)?(?![\w=#])")
BARE_CLEF = re.compile(r"(?<=\s)(treble|alto|tenor|bass|perc|none)[1-5]?([+-]8|[+-]15)?(?![\w=#])")
CLEF_SIGNS = {"treble": "G", "alto": "C", "tenor": "C", "bass": "F"}
SHIFTS = {"+8": 1, "-8": -1, "+15": 2, "-15": -2, "": 0}
OPTION = re.compile(r"(\w+)\s*=\s*(\"[^\"]*\"|\S+)")
FRACTION = re.compile(r"(\d{1,4})\s*/\s*(\d{1,4})\Z")
MOST_PARTS_PLAYED = 1_000


@dataclass(slots=True)
class VoiceSettings:
    """How a voice's notes sound and look; options of K: and V:."""

    clef: Clef | None = None
    octaves: int = 0
    transpose: int | None = None
    ghost: bool = False
    name: str = ""


@dataclass(slots=True)
class KeyField:
    """A K: field: the key, and the alteration in half steps of each letter."""

    key: Key | None
    altered: dict[str, int] = field(default_factory=dict)
    mode_given: bool = True


def read_key(text: str, where: Where) -> KeyField | None:
    """The key of a K: field; None where it only changes the clef or another option."""
    text = text.strip()
    if not text or text.lower().startswith("none"):
        return KeyField(None, {})
    if re.match(r"h[p]\b", text, re.IGNORECASE):
        return KeyField(tonic_of(2, "major"), signature(2))  # highland pipes
    if re.match(r"(clef|octave|transpose|middle|stafflines|style|shift)\s*=", text) or re.match(
        r"(treble|alto|tenor|bass|perc)\b", text
    ):
        return None
    found = KEY.match(text)
    if not found or not re.match(r"[\s_^=]|$", text[found.end() :]):
        raise where.wrong(
            f"the key {text[:30]!r} was read, and a tonic such as Bb or Dm expected"
            f"{nearest_key(text)}"
        )
    tonic = found[1] + found[2].replace("♯", "#").replace("♭", "b")
    word = (found[3] or "").lower()
    explicit = word.startswith("exp")
    mode = MODE_NAMES.get(
        word if word == "m" else word[:3], "" if word and not explicit else "major"
    )
    if word in ("clef", "octave", "transpose", "middle", "style", *CLEF_SIGNS, "perc", "none"):
        mode = "major"
    if not mode:
        raise where.wrong(
            f"the mode {found[3][:20]!r} was read; expected m, dor, mix, phr …{nearest_key(text)}"
        )
    fifths = fifths_of(tonic, mode)
    if not -14 <= fifths <= 14:
        raise where.wrong(f"the key {text[:30]!r} was read, and no signature fits it")
    altered = {} if explicit else _altered(fifths)
    for sign, letter in ACCIDENTAL.findall(text[found.end() :]):
        altered[letter.upper()] = alteration(sign)
    return KeyField(tonic_of(fifths, mode) if -7 <= fifths <= 7 else None, altered)


def _altered(fifths: int) -> dict[str, int]:
    if -7 <= fifths <= 7:
        return signature(fifths)
    over = fifths - 7 if fifths > 0 else fifths + 7
    once = signature(7 if fifths > 0 else -7)
    return {letter: shift + signature(over).get(letter, 0) for letter, shift in once.items()}


def alteration(sign: str) -> int:
    """Half steps of ``^ ^^ _ __ =``."""
    return sign.count("^") - sign.count("_")


def read_settings(text: str, settings: VoiceSettings, where: Where, *, bare_clef: bool) -> None:
    """The options of a K: or V: field, put into ``settings``."""
    options = {name.lower(): value.strip('"') for name, value in OPTION.findall(text)}
    plain = " " + OPTION.sub(" ", text)
    found = CLEF.match(options.get("clef", "")) or (BARE_CLEF.search(plain) if bare_clef else None)
    if found:
        settings.clef = Clef(CLEF_SIGNS.get(found[1], found[1]), SHIFTS[found[2] or ""])
    if "octave" in options:
        settings.octaves = _whole(options["octave"], "octave", where, 9)
    if "transpose" in options:
        settings.transpose = _whole(options["transpose"], "transpose", where, 60)
    if "style" in options:
        settings.ghost = options["style"].lower() == "x"
    name = options.get("name") or options.get("nm") or options.get("snm") or options.get("sname")
    settings.name = name or settings.name


def _whole(text: str, what: str, where: Where, most: int) -> int:
    if not re.fullmatch(r"[+-]?\d{1,3}", text) or abs(int(text)) > most:
        problem = f"{what}={text[:20]} was read, and a number up to {most} was expected"
        raise where.wrong(problem, text[:20])
    return int(text)


def read_meter(text: str, where: Where) -> Meter | None:
    """The meter of an M: field; None for a free one."""
    text = text.strip()
    named = {"C": Meter(4, 4), "C|": Meter(2, 2), "": None, "none": None}
    if text in named:
        return named[text]
    found = re.fullmatch(r"\(?(\d{1,3}(?:\s*\+\s*\d{1,3}){0,15})\)?\s*/\s*(\d{1,3})", text)
    if not found or int(found[2]) not in UNITS:
        raise where.wrong(f"the meter {text[:30]!r} was read, and 4/4, 6/8, C … was expected")
    beats = sum(int(n) for n in found[1].split("+"))
    if not 1 <= beats <= 64:
        raise where.wrong(f"a meter of {beats} beats was read")
    return Meter(beats, int(found[2]))


def read_unit(text: str, where: Where) -> Fraction:
    """The unit note length of an L: field, in quarter notes."""
    found = FRACTION.match(text.strip()) or re.match(r"(1)\Z", text.strip())
    lower = int(found[2]) if found and found.re is FRACTION else 1
    if not found or not int(found[1]) or lower not in (*UNITS, 128, 256, 512):
        raise where.wrong(f"the unit length {text[:20]!r} was read, and 1/8, 1/4 … was expected")
    return Fraction(4 * int(found[1]), lower)


def usual_unit(meter: Meter | None) -> Fraction:
    """The unit length without an L: field: a sixteenth in meters below 3/4, else an eighth."""
    short = meter is not None and Fraction(meter.beats, meter.unit) < Fraction(3, 4)
    return Fraction(1, 4) if short else Fraction(1, 2)


def read_tempo(text: str, unit: Fraction) -> float | None:
    """Quarter notes a minute of a Q: field; None where it has words alone."""
    plain = re.sub(r'"[^"]*"', " ", text[:200])
    lengths, equals, figure = plain.partition("=")
    number = re.match(r"\s*(\d{1,4}(?:\.\d{1,4})?)(?![\d/])", figure)
    notes = re.findall(r"(\d{1,3})\s*/\s*(\d{1,3})", lengths)
    if equals and number and notes:
        total = sum(Fraction(int(top), max(int(low), 1)) for top, low in notes)
        tempo = float(total * 4 * Fraction(number[1]))
    elif bare := re.fullmatch(r"\s*(?:C\d*\s*=\s*)?(\d{1,4}(?:\.\d+)?)\s*", plain):
        tempo = float(Fraction(bare[1]) * unit)
    else:
        return None
    return tempo if SLOWEST <= tempo <= FASTEST else None


def read_part_order(text: str) -> list[str] | None:
    """The parts in the order played: ``A2(BA)2`` is A A B A B A; None where it cannot be read."""
    text = re.sub(r"[\s.]", "", text)
    if not re.fullmatch(r"[A-Z0-9()]{1,200}", text):
        return None
    stack: list[list[str]] = [[]]
    items = re.findall(r"[A-Z]\d{0,3}|\(|\)\d{0,3}", text)
    if "".join(items) != text:
        return None
    for item in items:
        if item == "(":
            stack.append([])
            continue
        times = int(item[1:] or 1)
        if item[0] != ")":
            stack[-1].extend([item[0]] * times)
        elif len(stack) < 2:
            return None
        else:
            inner = stack.pop()
            stack[-1].extend(inner * times)
        if len(stack[-1]) > MOST_PARTS_PLAYED:
            return None
    return stack[0] if len(stack) == 1 and stack[0] else None
