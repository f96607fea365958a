"""What stands for a sign that a terminal cannot show: plain letters that a reader understands.

Chord signs become the words of the same chord (CΔ7 is Cmaj7, Bø is Bm7b5, F° is Fdim), letters
with accents the bare letters. Only what is left after that becomes a question mark.
"""

from __future__ import annotations

import re
import unicodedata

__all__ = ["writable"]

_AFTER_A_ROOT = r"(?:(?<=[A-G])|(?<=[A-G][b#♭♯]))"
# sign → pattern and what stands for it; a figure is part of some signs
_CHORD_SIGNS: tuple[tuple[str, re.Pattern[str], str], ...] = (
    ("Δ", re.compile(r"Δ7?(?!\d)"), "maj7"),
    ("Δ", re.compile(r"Δ(?=\d)"), "maj"),
    ("ø", re.compile(_AFTER_A_ROOT + r"ø7?(?!\d)"), "m7b5"),
    ("ø", re.compile(_AFTER_A_ROOT + r"ø(\d+)"), r"m\1b5"),
    ("°", re.compile(_AFTER_A_ROOT + "°"), "dim"),
)
_SIGNS = {
    "♭": "b", "♯": "#", "♮": "", "°": " deg", "→": "->", "←": "<-", "×": "x", "±": "+/-",
    "…": "...", "–": "-", "—": "-", "−": "-", "·": "-", "\N{NO-BREAK SPACE}": " ",
    "‘": "'", "’": "'", "“": '"', "”": '"', "„": '"', "«": '"', "»": '"',
    "ß": "ss", "æ": "ae", "Æ": "Ae", "œ": "oe", "Œ": "Oe", "ø": "o", "Ø": "O", "ł": "l", "Ł": "L",
    "đ": "d", "Đ": "D", "ð": "d", "Ð": "D", "þ": "th", "Þ": "Th", "ı": "i",
}  # fmt: skip


def writable(text: str, encoding: str | None) -> str:
    """The text with a stand-in for every character that the stream cannot show."""
    name = encoding or "ascii"
    if _shows(text, name):
        return text
    for sign, pattern, stand_in in _CHORD_SIGNS:
        if sign in text and not _shows(sign, name):
            text = pattern.sub(stand_in, text)
    shown = "".join(c if _shows(c, name) else _stand_in(c) for c in text)
    return shown.encode(name, errors="replace").decode(name)


def _shows(text: str, encoding: str) -> bool:
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        return False
    return True


def _stand_in(sign: str) -> str:
    """The sign's own stand-in, else its letters without accents, else the sign itself."""
    if sign in _SIGNS:
        return _SIGNS[sign]
    parts = unicodedata.normalize("NFKD", sign)
    return "".join(c for c in parts if not unicodedata.combining(c)) or sign
