"""The signs and words of chord symbols, in every spelling that players write, as tokens.

A text is first brought into one alphabet (``plain``: ♭ is b, ∆ and △ are Δ, a superscript 7 is
7), then cut into tokens, the longest spelling first. What a token means is the grammar's matter.
"""

from __future__ import annotations

import re
import unicodedata
from typing import NamedTuple

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
    "half-diminished": "ø Ø",
    "diminished": "o °",
    "augmented": "+",
    "sixth and ninth": "6/9 69",
    "number": "13 11 10 9 8 7 6 5 4 3 2 1",
    "accidental": "bb b ## #",
    "natural": "♮",
    "omit": "*",
    "open": "(",
    "close": ")",
    "comma": ",",
    "slash": "/",
    "colon": ":",
}
# What may follow a spelling and says nothing: "no3rd", "alt."
_ENDINGS = {"number": "(?:st|nd|rd|th)?", "word": r"\.?"}
# "Cmadd9" is minor with a ninth: "ma" is no word before "dd".
_NOT_BEFORE = {"ma": "(?!dd|DD)"}

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
        **dict.fromkeys("[", "("),
        **dict.fromkeys("]", ")"),
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


def _token_pattern() -> tuple[re.Pattern[str], dict[str, str]]:
    """One pattern for all spellings, and the kind that each of its groups stands for."""
    rows = [
        (spelling, kind, "word")
        for kind, words in _WORDS.items()
        for word in words.split()
        for spelling in (word, word.capitalize(), word.upper())
    ]
    rows += [(sign, kind, kind) for kind, signs in _SIGNS.items() for sign in signs.split()]
    rows.sort(key=lambda row: -len(row[0]))
    parts, kinds = [], {}
    for number, (spelling, kind, ending) in enumerate(rows):
        guard = _NOT_BEFORE.get(spelling.lower(), "") if ending == "word" else ""
        parts.append(f"(?P<t{number}>{re.escape(spelling)}){guard}{_ENDINGS.get(ending, '')}")
        kinds[f"t{number}"] = kind
    return re.compile("|".join(parts)), kinds


_TOKEN, _KIND_OF_GROUP = _token_pattern()
_ROOT = re.compile(r"([A-G])(bb|##|b|#|x|♮)?(?![b#])")
_SIGN_OF_ROOT = {None: "", "♮": "", "x": "##"}
_NO_CHORD = re.compile(r"(?i:n\.? ?c\.?|no[ -]?chord)|N")


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
    if found is None or found.lastgroup is None:
        return Token("unknown", text[at], at, at + 1)
    return Token(_KIND_OF_GROUP[found.lastgroup], found[found.lastgroup], at, found.end())
