"""What is said of a chord symbol that cannot be read, and the nearest reading."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from linecheck.music.chord_tokens import plain, root_at
from linecheck.music.foreign_names import foreign_name, told

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from linecheck.music.foreign_names import Foreign

MOST_CHARACTERS = 40
TWO_WAYS = "is read in two ways; write "

# Spellings that players read in two ways, and plain spellings of both.
AMBIGUOUS: tuple[tuple[re.Pattern[str], str, str], ...] = tuple(
    (re.compile(pattern), one, other)
    for pattern, one, other in (
        (r"^([A-G][b#]*) ?mj(?=\d)", r"\1maj", r"\1mMaj"),
        (r"^([A-G][b#]*) ?(?:m|mi|min|-) ?\+7", r"\1m7#5", r"\1mMaj7"),
        (r"^([A-G][b#]*) ?-5", r"\1m", r"\1(b5)"),
        (r"^([A-G][b#]*) ?\+11", r"\1(#11)", r"\g<1>11#5"),
        (r"^([A-G])bb5", r"\1bb(no3)", r"\1b(b5)"),
        (r"^([A-G])##5", r"\1##(no3)", r"\1#(#5)"),
        (r"^([A-G])bb(9|13)", r"\1bbdom\2", r"\1b(b\2)"),
        (r"^([A-G])##(9|11)", r"\1##dom\2", r"\1#(#\2)"),
    )
)

_CUT_OFF = re.compile(r"(?:m|mi|min|-)7(b)$|maj7#$")  # m7b5, maj7#11
# An accidental at the other end of the symbol: bB7, B7b. Not where it is cut off from its
# number, and only by roots that commonly take it.
_SIGN_FIRST = re.compile(r"([b#])([A-G])")
_SIGN_LAST = re.compile(
    r"(?:([BEADG])((?:m|mi|min|-)?6?|7|9)(b)|([FCGDA])((?:m|mi|min|-)?[679]?)(#))"
)
_LIKELY = {"0": "o", "O": "o", "l": "1", "I": "1", "?": "7", "\\": "/"}
_FORGOTTEN = ("7", ")", "b", "#", "a", "j", "i", "n", "d", "s", "u", "m")


class UnreadError(Exception):
    """Reading stopped at ``at``; ``why`` is what is wrong, where it is no unknown sign."""

    def __init__(self, at: int, why: str = "") -> None:
        super().__init__(why)
        self.at = at
        self.why = why


def two_readings(text: str) -> tuple[str, str] | None:
    """Both readings of a plain text that is ``AMBIGUOUS``; None for any other."""
    for pattern, one, other in AMBIGUOUS:
        if pattern.match(text):
            return pattern.sub(one, text), pattern.sub(other, text)
    return None


def explain(symbol: str, stop: UnreadError, can_read: Callable[[str], bool]) -> str:
    """One line: what was read, where reading stopped, and the nearest reading if one is near."""
    if not symbol:
        return "a chord symbol was expected and nothing was read"
    shown = repr(symbol if len(symbol) <= MOST_CHARACTERS else f"{symbol[:MOST_CHARACTERS]}…")
    text = plain(symbol)
    names, english = _in_english(text)
    if names:
        nearest = english if can_read(english) else nearest_reading(english, can_read)
        problem = f"{shown}: {told(names)}"
        return f"{problem}; nearest reading {nearest!r}" if nearest else problem
    typed = symbol if len(symbol) == len(text) else text  # brackets as they were typed
    before, rest = typed[: stop.at].rstrip(), typed[stop.at :]
    if stop.why:
        problem = f"{shown} {stop.why}"
    elif not before:
        problem = f"{shown}: a chord symbol begins with its root, A to G, not with {text[:1]!r}"
    elif not rest:
        problem = f"{shown}: something is missing after {before!r}"
    elif before.endswith("/"):
        problem = f"{shown}: after {before!r} a bass note, A to G, was expected, not {rest!r}"
    else:
        problem = f"{shown}: cannot read {rest!r} after {before!r}"
    doubtful = stop.why.startswith(TWO_WAYS)
    nearest = None if doubtful else nearest_reading(symbol, can_read)
    return f"{problem}; nearest reading {nearest!r}" if nearest else problem


def nearest_reading(symbol: str, can_read: Callable[[str], bool]) -> str | None:
    """The readable symbol that is the likeliest slip away from ``symbol``; None: none is near."""
    text = plain(symbol)
    if len(text) > MOST_CHARACTERS:
        return None
    moved = _SIGN_FIRST.sub(r"\2\1", text, count=1) if _SIGN_FIRST.match(text) else text
    if last := _SIGN_LAST.fullmatch(text):
        letter, middle, sign = (part for part in last.groups() if part is not None)
        moved = letter + sign + middle
    if moved != text and can_read(moved):
        return moved
    root = root_at(text, 0)
    candidates = _slips(text) if root else _root_slips(text)
    for candidate in map(str.strip, candidates):
        if candidate not in ("", text) and can_read(candidate):
            found = root_at(candidate, 0)
            if root is None or (found and found[0] == root[0]):
                return candidate
    return None


def _in_english(text: str) -> tuple[list[Foreign], str]:
    """The foreign names of the root and of the bass, and the text with English ones."""
    if root_at(text, 0) is None:
        text = text[:1].upper() + text[1:]
    parts = text.rpartition("/") if "/" in text else (text,)
    names = [name for part in parts if (name := foreign_name(part))]
    german = any(name.german for name in names)
    return names, "".join(_part_in_english(part, german=german) for part in parts)


def _part_in_english(part: str, *, german: bool) -> str:
    if name := foreign_name(part):
        return name.english + part[len(name.written) :]
    return re.sub(r"^B(?![b#])", "Bb", part) if german else part


def _root_slips(text: str) -> Iterator[str]:
    yield text[:1].upper() + text[1:]
    yield text.strip("() ")


def _slips(text: str) -> Iterator[str]:
    """Texts one slip away, the likeliest first; then ever shorter beginnings."""
    places = range(1, len(text))
    bass = text.rfind("/") + 1
    if bass:
        yield text[:bass] + text[bass:].capitalize()
    yield text + ")"
    if cut_off := _CUT_OFF.search(text):
        yield text + ("5" if cut_off[1] == "b" else "11")
    yield re.sub(r"9|11|13", "7", text, count=1)  # C9b9 for C7b9
    yield from (text[:i] + _LIKELY[text[i]] + text[i + 1 :] for i in places if text[i] in _LIKELY)
    yield from (text[:i] + text[i + 1] + text[i] + text[i + 2 :] for i in places[:-1])
    yield from (text[:i] + text[i + 1 :] for i in reversed(places))
    yield from (text[:i] + sign + text[i:] for i in (*places, len(text)) for sign in _FORGOTTEN)
    yield from (text[:i] for i in reversed(places))
