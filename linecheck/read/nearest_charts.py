"""Which charts may be meant for a take in a folder: one rule for a class and for a corpus.

A chart is called like a take where their names are the same, else where they are the same but for
capitals, spaces, underscores, hyphens and the form of Unicode; else where the name of the take
begins or ends with that of the chart, as whole words (``gravel_and_rain_mira.mid``,
``Mira - Gravel and Rain.mid``): with the longest such name, where several charts have one. A day or
a week in the name of the take is passed over, where no chart is found with it.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from itertools import accumulate
from typing import TYPE_CHECKING

from linecheck.read.days_in_names import name_without_day
from linecheck.read.file_names import listed, shown_name

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path

_SEPARATORS = r"\s_\-\u2010-\u2015.,;()\[\]"
_BETWEEN_WORDS, _WORD = re.compile(f"[{_SEPARATORS}]+"), re.compile(f"[^{_SEPARATORS}]+")
_AT_AN_END = re.compile(f"^[{_SEPARATORS}]+|[{_SEPARATORS}]+$")


class NearestCharts:
    """The charts of a folder and of those in it, by which take each may be meant for.

    Args:
        charts: the charts of each folder; a folder that has none may be missing.
        top: the last folder that is looked in.
    """

    def __init__(self, charts: Mapping[Path, Sequence[Path]], top: Path) -> None:
        self._charts, self._top = charts, top
        self._names: dict[Path, _Names] = {}

    def of(self, take: Path) -> Sequence[Path]:
        """The charts of the nearest folder above a take that has any: those called like it, or all.

        Args:
            take: a file in ``top`` or below it.

        Returns:
            One chart: it is meant. More: any of them may be. None: there is none up to ``top``.
        """
        for place in take.parents:
            here = self._charts.get(place, ())
            if len(here) == 1:
                return here
            if here:
                if place not in self._names:
                    self._names[place] = _Names(here)
                return self._names[place].called_like(take) or here
            if place == self._top:
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

    The whole name where it does not begin or end with that of the chart, or where no letter is
    left.
    """
    key = name_key(chart)
    places = [found.span() for found in _WORD.finditer(name)]
    for count in range(1, len(places)):
        first, last = places[count - 1][1], places[-count][0]
        for part, rest in ((name[:first], name[first:]), (name[last:], name[:last])):
            if "".join(_words(part)) == key and any(letter.isalpha() for letter in rest):
                return _AT_AN_END.sub("", rest)
    return name


class _Names:
    """The charts of one folder by their names, as they are and but for how they are written."""

    def __init__(self, charts: Sequence[Path]) -> None:
        self._order = {path: at for at, path in enumerate(charts)}
        self._as_written: dict[str, list[Path]] = {}
        self._by_key: dict[str, list[Path]] = {}
        for path in charts:
            self._as_written.setdefault(path.stem, []).append(path)
            self._by_key.setdefault(name_key(path), []).append(path)

    def called_like(self, take: Path) -> Sequence[Path]:
        same = self._as_written.get(take.stem) or self._by_key.get(name_key(take))
        if same:
            return same
        return self._at_an_end(take.stem) or self._at_an_end(name_without_day(take.stem))

    def _at_an_end(self, name: str) -> Sequence[Path]:
        """The charts with whose name that of a take begins or ends."""
        words = _words(name)
        begins = accumulate(words)
        ends = accumulate(reversed(words), lambda name, word: word + name)
        fits = {*self._longest(begins), *self._longest(ends)}
        return sorted(fits, key=self._order.__getitem__)

    def _longest(self, parts: Iterable[str]) -> list[Path]:
        """The charts with the longest name that is one of some parts; a mere number is no name."""
        names = [part for part in parts if part in self._by_key and not part.isdecimal()]
        return self._by_key[max(names, key=len)] if names else []


@lru_cache(maxsize=4096)
def _words(stem: str) -> tuple[str, ...]:
    name = unicodedata.normalize("NFKC", stem).casefold()
    return tuple(word for word in _BETWEEN_WORDS.split(name) if word)


def any_of(charts: Sequence[Path], top: Path) -> str:
    """What is said where several charts may be meant; a way out of the caller's own may follow."""
    names = listed([shown_name(path, top) for path in charts])
    told = f"any of {len(charts)} charts may be meant: {names}"
    return f"{told}; begin the name of a take with that of its chart"
