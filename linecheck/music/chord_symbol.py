"""A chord symbol is root, quality, extensions and alterations, optional slash bass.

Read in any of the spellings that players write, by this grammar (blanks between tokens are free)::

    symbol    = root [":"] (pedal | body) ["/" bass]  |  "N.C."
    root      = letter A to G, then its accidentals
    body      = [quality] [figure] {modifier}
    quality   = major | minor | diminished | half-diminished | augmented | dominant
    figure    = major 7th | 2 | 4 | 5 | 6 | 69 | 7 | 9 | 11 | 13 | 7M, 9M … (a major 7th)
    modifier  = alteration | sus | add | omit | alt | major 7th | "(" modifier {"," modifier} ")"
    bass      = root, or after ":" a degree ("C:maj7/3")

Where one spelling could mean two chords, a rule decides, and it is always the same one:

- An accidental after the letter belongs to the root: Ab9 is a ninth on A flat, Cb5 the fifth on
  C flat. For the other chord write A(b9), C(b5).
- A minus or plus right after the root is minor or augmented (C-7, C-9, C+7, C+9); after a figure
  it lowers or raises (C7-9, C7+11).
- Δ and ^ alone are a major seventh; maj, ma and M alone a major triad.
- C2 and C(9) add the ninth to a triad, C4 is sus4. sus alone is sus4.
- o is the triad, o7 the seventh chord; ø is always the seventh chord.

What is left in doubt (``chord_slips.AMBIGUOUS``) or cannot be read is refused, with the nearest
reading. The signs and words are in ``chord_tokens``.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, NoReturn

from linecheck.faults import ChartFault
from linecheck.music.chord_makeup import Makeup, make_chord, no_chord
from linecheck.music.chord_slips import (
    MOST_CHARACTERS,
    TWO_WAYS,
    UnreadError,
    explain,
    two_readings,
)
from linecheck.music.chord_tokens import Token, is_no_chord, plain, root_at, token_at
from linecheck.music.pitch import degree_name

if TYPE_CHECKING:
    from linecheck.terms import Chord

# quality → third, fifth, the seventh that a figure gives, the seventh without a figure
_QUALITIES: dict[str, tuple[str, str, str, str | None]] = {
    "": ("3", "5", "b7", None),
    "major": ("3", "5", "7", None),
    "major seventh": ("3", "5", "7", "7"),
    "minor": ("b3", "5", "b7", None),
    "diminished": ("b3", "b5", "bb7", None),
    "half-diminished": ("b3", "b5", "b7", "b7"),
    "augmented": ("3", "#5", "b7", None),
    "dominant": ("3", "5", "b7", "b7"),
}
_EXTENSIONS = {"7": 7, "9": 9, "11": 11, "13": 13}
# A modifier's number, with its accidental → what it gives, and the degree
_DEGREES: dict[str, tuple[str, str]] = {
    "b5": ("fifth", "b5"),
    "#5": ("fifth", "#5"),
    "b7": ("seventh", "b7"),
    "#7": ("seventh", "7"),
    "6": ("sixth", "6"),
    "3": ("third", "3"),
    "10": ("third", "3"),
    "b9": ("tension", "b9"),
    "9": ("tension", "9"),
    "#9": ("tension", "#9"),
    "11": ("tension", "11"),
    "#11": ("tension", "#11"),
    "b13": ("tension", "b13"),
    "13": ("tension", "13"),
    "b2": ("tension", "b9"),
    "2": ("tension", "9"),
    "#2": ("tension", "#9"),
    "b10": ("tension", "#9"),
    "4": ("tension", "11"),
    "#4": ("tension", "#11"),
    "b6": ("tension", "b13"),
}
_MAJOR = ("major", "major seventh")
_SIGNS = ("accidental", "natural", "minor", "augmented", "diminished")
_ACCIDENTAL = {"b": "b", "-": "b", "dim": "b", "#": "#", "+": "#", "aug": "#", "♮": ""}
_OPPOSED = (("b9", "9"), ("#9", "9"), ("#11", "11"), ("b13", "13"))
_NOT_CLOSED = "has a bracket that is not closed"


@lru_cache(maxsize=4096)
def read_chord(text: str) -> Chord:
    """Read a chord symbol.

    Args:
        text: the symbol, "F#m7b5/C"; blanks around it do not count.

    Raises:
        ChartFault: it cannot be read; the message quotes it and gives the nearest reading. The
            fault has no source and no place: the caller knows them.
    """
    symbol = text.strip()
    try:
        return _read(symbol)
    except UnreadError as stop:
        raise ChartFault(explain(symbol, stop, _can_read)) from None


def _read(symbol: str) -> Chord:
    if len(symbol) > MOST_CHARACTERS:
        raise UnreadError(0, f"is longer than a chord symbol can be, {MOST_CHARACTERS} characters")
    if is_no_chord(symbol):
        return no_chord(symbol)
    text = plain(symbol)
    if readings := two_readings(text):
        raise UnreadError(0, f"{TWO_WAYS}{readings[0]!r} or {readings[1]!r}")
    return _SymbolReader(text).chord(symbol)


def _can_read(symbol: str) -> bool:
    try:
        _read(symbol)
    except UnreadError:
        return False
    return True


class _SymbolReader:
    """Reads one symbol from left to right; ``UnreadError`` where it cannot go on.

    ``token`` is the one in hand, not yet taken. ``makeup`` fills up as modifiers are read; the
    third waits in ``third`` or ``sus``, the tensions of a figure in ``extension``, until all is
    read, because a later modifier may replace them.
    """

    def __init__(self, text: str) -> None:
        self.text = text
        self.token = Token("start", "", 0, 0)
        self.makeup = Makeup()
        self.third = "3"
        self.own_fifth = "5"
        self.sus: tuple[str, ...] = ()
        self.fifths: list[str] = []
        self.extension = 0
        self.omitted: list[str] = []
        self.alt_at: int | None = None
        self.harte = False
        self.is_major = False
        self.modified = False

    # -- tokens

    def accept(self, *kinds: str) -> str:
        """Take the token in hand if it is one of ``kinds``; "" if it is not."""
        if self.token.kind not in kinds:
            return ""
        text = self.token.text
        self.token = token_at(self.text, self.token.end)
        return text

    def sees(self, *texts: str) -> bool:
        """Whether the token in hand is one of these numbers."""
        return self.token.kind == "number" and self.token.text in texts

    def stop(self, why: str = "", at: int | None = None) -> NoReturn:
        raise UnreadError(self.token.at if at is None else at, why)

    # -- the grammar

    def chord(self, symbol: str) -> Chord:
        root_name = self.note(0)
        self.harte = bool(self.accept("colon"))
        if self.harte and self.token.kind in ("slash", "end"):
            self.stop()
        if self.accept("pedal"):
            self.third, self.makeup.fifths = "", ()
        else:
            self.body()
        bass_name = self.bass(root_name) if self.accept("slash") else None
        if self.token.kind != "end":
            self.stop()
        self.finish()
        return make_chord(symbol, root_name, self.makeup, bass_name)

    def note(self, at: int) -> str:
        found = root_at(self.text, at)
        if found is None:
            self.stop(at=at + (self.text[at : at + 1] in tuple("ABCDEFG")))
        name, end = found
        self.token = token_at(self.text, end)
        return name

    def bass(self, root_name: str) -> str:
        if self.harte and self.token.kind in ("number", "accidental"):
            accidental = self.accept("accidental")
            number = self.accept("number")
            if not number:
                self.stop()
            return degree_name(root_name, accidental + number)
        return self.note(self.token.at)

    def body(self) -> None:
        kind = self.token.kind if self.token.kind in _QUALITIES else ""
        word = self.accept(kind)
        if kind == "major" and self.accept("major seventh"):
            kind = "major seventh"
        self.is_major = kind in _MAJOR
        if word in ("j", "J") and not (self.token.kind == "number" or kind == "major seventh"):
            self.stop()  # it stands for the word only before a figure
        self.third, self.own_fifth, seventh, bare = _QUALITIES[kind]
        self.makeup.fifths = (self.own_fifth,)
        self.figure(kind, seventh, bare)
        while self.token.kind not in ("slash", "end"):
            self.modifier()

    def figure(self, kind: str, seventh: str, bare: str | None) -> None:
        after = token_at(self.text, self.token.end)
        if kind == "minor" and self.token.kind == "slash" and after.kind in _MAJOR:
            self.accept("slash")  # Cm/maj7: no bass begins with these letters
        if kind in ("minor", "augmented", "diminished") and self.token.kind in _MAJOR:
            self.major_seventh()
        elif self.sees(*_EXTENSIONS):
            self.extension = _EXTENSIONS[self.accept("number")]
            ends_here = token_at(self.text, self.token.end).kind != "number"
            is_major = kind in ("", "minor") and ends_here and self.accept(*_MAJOR)  # C7M
            self.makeup.seventh = "7" if is_major else seventh
        elif self.sees("6") or self.token.kind == "sixth and ninth":
            if kind not in ("", "major", "minor") or (self.harte and "/" in self.token.text):
                self.stop()
            self.makeup.seventh = "6"
            self.extension = 9 if self.accept("number", "sixth and ninth") != "6" else 0
        else:
            self.makeup.seventh = bare
            self.small_figure(kind)

    def small_figure(self, kind: str) -> None:
        """2, 4 and 5 right after the root, and the lone root of ``C:1``."""
        if self.sees("2") and kind in ("", "minor"):
            self.makeup.tensions.add("9")
        elif self.sees("4") and not kind:
            self.sus = ("4",)
        elif self.sees("5") and not kind:
            self.third = ""
        elif self.sees("1") and not kind and self.harte:
            self.third, self.makeup.fifths = "", ()
        elif self.token.kind == "number" and not (self.sees("5") and kind == "augmented"):
            self.stop()
        self.accept("number")

    def modifier(self, *, bracketed: bool = False) -> None:
        if not bracketed and self.accept("open"):
            self.bracket()
        elif not bracketed and self.modified and self.accept("comma"):
            self.modifier(bracketed=True)
        elif self.token.kind == "number" and (bracketed or self.follows_plainly()):
            if self.sees("4") and not self.harte:
                self.stop(f"{TWO_WAYS}sus4 or add11 for its 4", at=0)
            self.degree("", self.token.at)
        else:
            self.sign_or_word()
        self.modified = True

    def sign_or_word(self) -> None:
        at = self.token.at
        if self.token.kind in _MAJOR:
            self.major_seventh()
        elif self.accept("sus"):
            self.suspend(at)
        elif self.accept("add"):
            self.add()
        elif self.accept("omit"):
            self.omit(at)
        elif self.accept("alt"):
            self.alter_all(at)
        elif sign := self.accept(*_SIGNS):
            self.signed(sign, at)
        else:
            self.stop()

    def follows_plainly(self) -> bool:
        """Whether a bare 9, 11 or 13 may follow what is there: C7b913, and not C7b99."""
        taken = {natural for altered, natural in _OPPOSED if altered in self.makeup.tensions}
        return self.modified and self.sees("9", "11", "13") and self.token.text not in taken

    def bracket(self) -> None:
        self.modifier(bracketed=True)
        while not self.accept("close"):
            self.accept("comma", "slash")  # or nothing: C7(b9#11)
            if self.token.kind == "end":
                self.stop(_NOT_CLOSED)
            self.modifier(bracketed=True)

    def major_seventh(self) -> None:
        """``maj7`` and the like after a minor, augmented or diminished quality or in brackets."""
        at = self.token.at
        kind = self.token.kind
        if self.is_major:  # once is enough
            self.stop()
        self.accept(*_MAJOR)
        if kind == "major" and not self.sees(*_EXTENSIONS):
            self.stop()
        self.set_seventh("7", at)
        if self.token.kind == "number":
            self.extension = max(self.extension, _EXTENSIONS.get(self.token.text, 0))
            self.accept("number")

    def signed(self, sign: str, at: int) -> None:
        """An accidental and its number; a plus alone raises the fifth."""
        accidental = _ACCIDENTAL.get(sign.lower())
        if accidental is None:
            self.stop(at=at)
        if self.token.kind == "number":
            is_major = sign == "♮" and self.sees("7")
            self.degree("#" if is_major else accidental, at)
        elif accidental == "#" and sign != "#" and self.makeup.fifths == ("5",):
            self.set_fifth("#5", at)
        else:
            self.stop(at=at)

    def degree(self, accidental: str, at: int) -> None:
        """The number in hand with its accidental, as a fifth, seventh or tension."""
        number = self.accept("number")
        if self.harte and number == "7" and not accidental:
            accidental = "#"  # this notation counts by the major scale
        function, degree = _DEGREES.get(accidental + number, ("", ""))
        if function == "fifth":
            self.set_fifth(degree, at)
        elif function == "seventh":
            self.set_seventh(degree, at)
        elif function == "sixth" and self.makeup.seventh is None:
            self.makeup.seventh = "6"
        elif function == "sixth" and self.makeup.seventh != "6":
            self.set_tension("13", at)
        elif function == "tension" or (function == "third" and self.sus):
            self.set_tension(degree, at)
        else:
            self.stop(at=at)

    def suspend(self, at: int) -> None:
        if self.sus or not self.third or "b5" in self.makeup.fifths:
            self.stop(at=at)
        first = self.accept("number") if self.sees("2", "4") else ""
        if first:
            other = "2" if first == "4" else "4"
            if self.token.kind == "sus" and token_at(self.text, self.token.end).text == other:
                self.accept("sus")  # sus2sus4
            second = self.accept("number") if self.sees(other) else ""
            self.sus = ("2", "4") if second else (first,)
            return
        if self.token.kind == "accidental" and token_at(self.text, self.token.end).text in "24":
            self.stop(at=at)  # sus#4 is no sus4 with a #11
        if self.makeup.seventh is None and self.sees("7", "9", "13"):  # Csus7 is C7sus
            self.extension = _EXTENSIONS[self.accept("number")]
            self.makeup.seventh = "b7"
        self.sus = ("4",)

    def add(self) -> None:
        opened = self.accept("open")
        while True:
            at = self.token.at
            sign = self.accept("accidental", "natural", "minor", "augmented")
            if not sign and self.token.kind in _MAJOR:
                self.major_seventh()
            elif self.token.kind == "number":
                self.degree(_ACCIDENTAL.get(sign, ""), at)
            else:
                self.stop()
            if not (opened and self.accept("comma")):
                break
        if opened and not self.accept("close"):
            self.stop(_NOT_CLOSED if self.token.kind == "end" else "")

    def omit(self, at: int) -> None:
        if self.harte:
            self.accept("accidental")  # *b3
        if not self.sees("3", "5", "7", "9", "11", "13") or self.token.text in self.omitted:
            self.stop(at=at)
        self.omitted.append(self.accept("number"))

    def alter_all(self, at: int) -> None:
        """``alt``: both fifths, b9 and #9; a 7 may stand before or after it."""
        self.alt_at = at
        if self.sees("7") and not self.extension:
            self.accept("number")
        if self.third != "3" or self.extension > 7 or self.makeup.seventh not in (None, "b7"):
            self.stop(at=at)

    # -- what was read, put together

    def set_fifth(self, degree: str, at: int) -> None:
        if degree in self.fifths:
            self.stop(f"names {degree} twice", at=at)
        if self.own_fifth not in ("5", degree):  # a diminished or augmented one stays
            self.stop(at=at)
        self.fifths.append(degree)
        self.makeup.fifths = tuple(sorted(self.fifths, reverse=True))  # b5 before #5

    def set_seventh(self, degree: str, at: int) -> None:
        minor_ninth = self.third == "b3" and self.makeup.seventh == "b7" and self.extension > 7
        if self.makeup.seventh is None or (minor_ninth and degree == "7"):  # Cm9(maj7)
            self.makeup.seventh = degree
        elif degree == "7" and self.makeup.seventh in ("6", "bb7"):
            self.set_tension("7", at)
        else:
            self.stop(at=at)

    def set_tension(self, degree: str, at: int) -> None:
        figure = str(self.extension) if self.extension > 7 else ""
        if degree in {figure, *self.makeup.tensions}:
            self.stop(f"names {degree} twice", at=at)
        self.makeup.tensions.add(degree)

    def finish(self) -> None:
        makeup = self.makeup
        makeup.thirds = self.sus or ((self.third,) if self.third else ())
        if self.alt_at is not None:
            if makeup.tensions - {"b9", "#9", "#11", "b13"} or self.sus or self.omitted:
                self.stop(at=self.alt_at)
            makeup.fifths, makeup.seventh, makeup.tensions = ("b5", "#5"), "b7", {"b9", "#9"}
        if not self.third and (makeup.seventh or makeup.fifths not in ((), ("5",))):
            self.stop("is a power chord, which has no 6th, no 7th and no altered fifth")
        for altered, natural in _OPPOSED:
            if natural == str(self.extension) and altered in makeup.tensions:
                self.stop(f"names both {natural} and {altered}")
        makeup.name_extension(self.extension)
        self.leave_out()

    def leave_out(self) -> None:
        makeup = self.makeup
        for number in self.omitted:
            tones = {*makeup.thirds, *makeup.fifths, makeup.seventh or ""}
            gone = {d for d in tones | makeup.tensions if d.lstrip("b#") == number}
            never_there = (number == "11" and self.extension == 13) or (
                number == "3" and self.third not in makeup.thirds
            )
            if not gone and not never_there:
                self.stop(f"has no {number} to leave out")
            makeup.omitted |= gone & tones
            makeup.tensions -= gone
        makeup.drop_omitted_seventh()
        if makeup.alters_what_it_omits():
            self.stop("alters the fifth and leaves it out")
