"""Whether a text that is no chord symbol was meant as one: "H7" was, "Head" was not.

Where chords and remarks are written in the same way (ABC's quotes), a chord that cannot be read
must not pass for a remark: the chord before it would go on in its place. A text is an attempt where
its first word reads as a chord, or is a root (an English or a foreign one) and then words and signs
of chord symbols, with one unknown letter at most. A root in a small letter counts only where all
the word reads as a chord.
"""

from __future__ import annotations

import re

from linecheck.faults import ChartFault
from linecheck.music.chord_symbol import read_chord
from linecheck.music.chord_tokens import plain, root_at, token_at
from linecheck.music.foreign_names import foreign_name

_SIGN_FIRST = re.compile(r"[b#][A-G](?![a-z]{2})")
_LETTERS = re.compile(r"[^\W\d_]+(?:[-'’][^\W\d_]+)*")  # Hi-hat is one word
_FIGURE = re.compile(r"[\d/]")


def is_attempted_chord(text: str) -> bool:
    """Whether a text that ``read_chord`` refused looks like a chord symbol.

    True of ``"Dmaj77"``, ``"Es"``, ``"dm7"``, ``"D7 swing"``; False of ``"Bridge"``, ``"Ad lib."``.
    """
    words = plain(text).split()
    first = words[0] if words else ""
    if _SIGN_FIRST.match(first) or (len(words) > 1 and _reads(first)):
        return True
    if first[:1].islower():
        capital = first[0].upper() + first[1:]
        return len(first) > 1 and (_reads(capital) or _is_foreign(capital, with_figure=True))
    if first.isalpha() and len(words) > 1:
        return _may_go_on("-".join(words))  # "Ad lib." and "As written" are remarks as a whole
    return _is_foreign(first) or _may_go_on(first)


def _may_go_on(word: str) -> bool:
    """Whether a root stands first, and after what is known of chords no word of letters."""
    root = root_at(word, 0)
    if root is None:
        return word.startswith("H") and len(word) > 1 and not word[1].isalpha()
    end = _end_of_known(word, root[1])
    letters = _LETTERS.match(word, end)
    if letters is None or len(letters[0]) < 2:
        return True
    return bool(_FIGURE.search(word, root[1], end)) or word[letters.end() :][:1].isdigit()


def _reads(symbol: str) -> bool:
    try:
        read_chord(symbol)
    except ChartFault:
        return False
    return True


def _is_foreign(word: str, *, with_figure: bool = False) -> bool:
    """Whether it is a German or Dutch root and nothing else than words and signs of chords."""
    name = foreign_name(word)
    if name is None or (with_figure and not any(sign.isdigit() for sign in word)):
        return False
    return _end_of_known(word, len(name.written)) == len(word)


def _end_of_known(word: str, at: int) -> int:
    """Where the words and signs of chord symbols that begin at ``at`` end."""
    while (token := token_at(word, at)).kind not in ("end", "unknown"):
        at = token.end
    return at
