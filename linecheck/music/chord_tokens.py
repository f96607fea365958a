"""The signs and words of chord symbols, in every spelling that players write, as tokens.

A text is first brought into one alphabet (``plain``: ♭ is b, ∆ and △ are Δ, a superscript 7 is
7), then cut into tokens, the longest spelling first. What a token means is the grammar's matter.
"""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable

# kind → spellings. Words count in three cases (maj Maj MAJ) and may end in a full stop.
_WORDS = {
    "major": "major maj ma",
    "minor": "minor min mi",
    "half-diminished": "half-diminished half-dim halfdim hdim",
    "diminished": "diminished dim",
    "augmented": "augmented aug",
    "dominant": "dominant dom",
    "pedal": "pedal ped",
    "sus": "sus",
    "add": "add",
    "omit": "omit no",
    "alt": "altered alt",
}
# Single letters and signs count only as they stand: M is major, m minor.
_SIGNS = {
    "major": "M Mj MJ j J",
    "major seventh": "Δ ^",
    "minor": "m -",
    "half-diminished": "ø Ø h",
    "diminished": "o °",
    "augmented": "+",
    "sixth and ninth": "6/9 69",
    "accidental": "bb b ## #",
    "natural": "♮",
    "omit": "*",
    "open": "(",
    "close": ")",
    "comma": ",",
    "slash": "/",
    "colon": ":",
}
_SAME = str.maketrans(
    {
        **dict.fromkeys("♭\N{MODIFIER LETTER SMALL B}", "b"),
        **dict.fromkeys("♯", "#"),
        **dict.fromkeys("𝄫", "bb"),
        **dict.fromkeys("𝄪", "##"),
        **dict.fromkeys("△∆▵▲", "Δ"),
        **dict.fromkeys("º˚", "°"),
        **dict.fromkeys("∅⌀", "ø"),
        **dict.fromkeys("−–—‐‑⁻", "-"),
        **dict.fromkeys("[{", "("),
        **dict.fromkeys("]}", ")"),
        **dict.fromkeys(";", ","),
        **dict.fromkeys("\N{FRACTION SLASH}\N{DIVISION SLASH}", "/"),
    }
)


class Token(NamedTuple):
    """A token: its kind ("end" after the last, "unknown" for no token), its text, its extent."""

    kind: str
    text: str
    at: int
    end: int


_NUMBERS = ("13", "11", "10", "9", "8", "7", "6", "5", "4", "3", "2", "1")
_WORD_KINDS = {
    spelling: kind
    for kind, words in _WORDS.items()
    for word in words.split()
    for spelling in (word, word.capitalize(), word.upper())
}
_SIGN_KINDS = {sign: kind for kind, signs in _SIGNS.items() for sign in signs.split()}
_KINDS = {**_WORD_KINDS, **_SIGN_KINDS, **dict.fromkeys(_NUMBERS, "number")}


def _any_of(spellings: Iterable[str]) -> str:
    """A pattern for one of the spellings, the longest first."""
    return "|".join(re.escape(s) for s in sorted(spellings, key=len, reverse=True))


# Words before signs (maj before m), signs before numbers (69 before 6). In "Cmadd9" ma is no word.
# An ending says nothing: "alt.", "no3rd".
_TOKEN = re.compile(
    rf"((?![Mm](?:add|ADD))(?:{_any_of(_WORD_KINDS)}))\.?"
    rf"|({_any_of(_SIGN_KINDS)})"
    rf"|({_any_of(_NUMBERS)})(?:st|nd|rd|th)?"
)
_ROOT = re.compile(r"([A-G])(bb|##|b|#|x|♮)?(?![b#])")
_SIGN_OF_ROOT = {None: "", "♮": "", "x": "##"}
_NO_CHORD = re.compile(r"(\()?(?:(?i:n\.? ?c\.?|no[ -]?chord)|N)(?(1)\))")


def plain(text: str) -> str:
    """The text in one alphabet."""
    return unicodedata.normalize("NFKC", text.translate(_SAME)).translate(_SAME)


def is_no_chord(text: str) -> bool:
    """Whether the text is one of the spellings of N.C."""
    return _NO_CHORD.fullmatch(text) is not None


def root_at(text: str, at: int) -> tuple[str, int] | None:
    """The name of the note that is written at ``at`` and where it ends; None: no note."""
    found = _ROOT.match(text, at)
    if found is None:
        return None
    return found[1] + _SIGN_OF_ROOT.get(found[2], found[2]), found.end()


def token_at(text: str, at: int) -> Token:
    """The token at ``at`` or after the blanks there."""
    while text.startswith(" ", at):
        at += 1
    if at == len(text):
        return Token("end", "", at, at)
    found = _TOKEN.match(text, at)
    if found is None:
        return Token("unknown", text[at], at, at + 1)
    spelling = found[found.lastindex or 0]
    return Token(_KINDS[spelling], spelling, at, found.end())
