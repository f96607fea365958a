"""A page of text for a terminal: lines of styled pieces, wrapped to a width.

A style is a word of ``STYLES``. It only ever repeats what the text says already, so the page
loses nothing where there is no colour. Widths are counted in cells of a terminal.
"""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from rich.text import Text

__all__ = ["STYLES", "Page", "Piece", "cells", "fit", "fit_apart"]

Piece = tuple[str, str]

# Plain ANSI names: a terminal's own palette keeps them readable on its ground, dark or light.
# Yellow, white, black and dim are left out because each of them vanishes on one of the two.
STYLES: dict[str, str] = {
    "": "",
    "heading": "bold",
    "answer": "bold",
    "good": "green",
    "missed": "magenta",
    "lost": "bold red",
}

_SECOND_CELL = "\ue000"  # of a wide character, while lines are broken
_KEPT = "\u00a0"  # a space where no line is broken: a figure stays with its sign


class Page:
    """Lines in the making. ``width`` is the widest that a line may be."""

    def __init__(self, width: int = 80) -> None:
        self.width = width
        self._lines: list[list[Piece]] = []

    def gap(self) -> None:
        """An empty line, never two."""
        if self._lines and self._lines[-1]:
            self._lines.append([])

    def heading(self, text: str) -> None:
        """A title over what follows."""
        self.gap()
        self.say(text, style="heading")

    def say(self, text: str, *, indent: int = 0, hang: int = 0, style: str = "") -> None:
        """A sentence, wrapped; its second and later lines hang ``hang`` cells further in."""
        kept = text.replace(" %", _KEPT + "%")
        counted = _widened(kept)
        wrapped = textwrap.wrap(
            counted,
            width=self.width - (counted is not kept),  # a break may fall within a wide character
            initial_indent=" " * indent,
            subsequent_indent=" " * (indent + hang),
            break_on_hyphens=False,
        )
        for line in wrapped or [""]:
            self._lines.append([(line.replace(_KEPT, " ").replace(_SECOND_CELL, ""), style)])

    def points(self, sentences: Iterable[str], *, style: str = "") -> None:
        """Sentences as a list, one a line or more."""
        for sentence in sentences:
            self.say("- " + sentence, indent=2, hang=2, style=style)

    def row(self, pieces: Sequence[Piece]) -> None:
        """A line that is not wrapped."""
        self._lines.append(list(pieces))

    def as_text(self) -> str:
        """The page without styles."""
        lines = ("".join(text for text, _ in line).rstrip() for line in self._lines)
        return "\n".join(lines).rstrip("\n") + "\n"

    def as_rich(self) -> Text:
        """The page with styles, for a rich console."""
        from rich.text import Text  # noqa: PLC0415  (only a terminal with colour needs it)

        text = Text(no_wrap=True, end="")
        for line in self._lines:
            for piece, style in line:
                text.append(piece, STYLES[style])
            text.append("\n")
        return text


def cells(text: str) -> int:
    """How many cells of a terminal the text takes; a wide character takes two."""
    if text.isascii():
        return len(text)
    from rich.cells import cell_len  # noqa: PLC0415  (only text beyond ASCII needs it)

    return cell_len(text)


def _widened(text: str) -> str:
    """The text with as many characters as it takes cells, for breaking it into lines."""
    if cells(text) == len(text):
        return text
    return "".join(c + _SECOND_CELL * (cells(c) - 1) for c in text)


def fit(text: str, width: int, *, end: int = 0) -> str:
    """The text cut or filled to exactly ``width`` cells; a cut is shown by a tilde.

    ``end``: how many characters of its end a cut leaves, where there is room for them.
    """
    if cells(text) <= width:
        return text + " " * (width - cells(text))
    last = text[len(text) - end :] if 0 < cells(text[len(text) - end :]) < width - 1 else ""
    text = text[: len(text) - len(last)]
    while cells(text) + cells(last) > width - 1:
        text = text[:-1]
    cut = f"{text}~{last}"
    return cut + " " * (width - cells(cut))


def fit_apart(texts: Sequence[str], width: int) -> dict[str, str]:
    """Each text, cut or filled to ``width`` cells, so that no two look alike where that can be.

    Of those that would, so much of the end is left that they differ.
    """
    shown = {text: fit(text, width) for text in texts}
    alike: dict[str, list[str]] = {}
    for text, cut in shown.items():
        alike.setdefault(cut, []).append(text)
    for same in alike.values():
        if len(same) > 1:
            for end in range(2, width - 2):
                longer = {text: fit(text, width, end=end) for text in same}
                if len(set(longer.values())) == len(same):
                    shown.update(longer)
                    break
    return shown
