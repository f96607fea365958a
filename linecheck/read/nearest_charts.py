"""Which charts may be meant for a take in a folder: one rule for a class and for a corpus.

A chart is called like a take where their names are the same, else where they are the same but for
capitals, spaces, underscores, hyphens and the form of Unicode; else where the name of the take
begins or ends with that of the chart, as whole words (``gravel_and_rain_mira.mid``,
``Mira - Gravel and Rain.mid``): with the longest such name, where several charts have one.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from itertools import accumulate
from typing import TYPE_CHECKING

from linecheck.read.file_names import listed, shown_name

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

_SEPARATORS = r"\s_\-\u2010-\u2015.,;()\[\]"
_BETWEEN_WORDS, _WORD = re.compile(f"[{_SEPARATORS}]+"), re.compile(f"[^{_SEPARATORS}]+")
_AT_AN_END = re.compile(f"^[{_SEPARATORS}]+|[{_SEPARATORS}]+$")


def nearest_charts(take: Path, charts: Mapping[Path, Sequence[Path]], top: Path) -> Sequence[Path]:
    """The charts of the nearest folder above a take that has any: those called like it, or all.

    Args:
        take: a file in ``top`` or below it.
        charts: the charts of each folder; a folder that has none may be missing.
        top: the last folder that is looked in.

    Returns:
        One chart: it is meant. More: any of them may be. None: there is none up to ``top``.
    """
    for place in take.parents:
        here = charts.get(place, ())
        if here:
            return here if len(here) == 1 else _called_like(take, here) or here
        if place == top:
            break
    return ()


def name_key(path: Path) -> str:
    """What two files have in common that are called alike, but for their suffixes."""
    return words_key(path.stem)


def words_key(name: str) -> str:
    """What two names have in common but for how they are written: see above."""
    return "".join(_words(name)) or name


def name_without_chart(name: str, chart: Path) -> str:
    """What a take's name says beside that of its chart: ``"Lamp Oil - Mira"`` is Mira.

    The whole name where it does not begin or end with that of the chart, or where no letter is left.
    """
    key = name_key(chart)
    places = [found.span() for found in _WORD.finditer(name)]
    for count in range(1, len(places)):
        first, last = places[count - 1][1], places[-count][0]
        for part, rest in ((name[:first], name[first:]), (name[last:], name[:last])):
            if "".join(_words(part)) == key and any(letter.isalpha() for letter in rest):
                return _AT_AN_END.sub("", rest)
    return name


def _called_like(take: Path, charts: Sequence[Path]) -> Sequence[Path]:
    same = [path for path in charts if path.stem == take.stem]
    if same:
        return same
    names = {path: name_key(path) for path in charts}
    whole = [path for path, name in names.items() if name == name_key(take)]
    if whole:
        return whole
    words = _words(take.stem)
    begins = set(accumulate(words))
    ends = set(accumulate(reversed(words), lambda name, word: word + name))
    fits = {*_longest(names, begins), *_longest(names, ends)}
    return [path for path in charts if path in fits]


def _longest(names: Mapping[Path, str], parts: set[str]) -> list[Path]:
    """The charts with the longest name that is one of some parts; a mere number is no name."""
    found = [path for path, name in names.items() if name in parts and not name.isdecimal()]
    longest = max((len(names[path]) for path in found), default=0)
    return [path for path in found if len(names[path]) == longest]


@lru_cache(maxsize=4096)
def _words(stem: str) -> tuple[str, ...]:
    name = unicodedata.normalize("NFKC", stem).casefold()
    return tuple(word for word in _BETWEEN_WORDS.split(name) if word)


def any_of(charts: Sequence[Path], top: Path) -> str:
    """What is said where several charts may be meant; a way out of the caller's own may follow."""
    names = listed([shown_name(path, top) for path in charts])
    return f"any of {len(charts)} charts may be meant: {names}; begin the name of a take with that of its chart"
