"""Names of notes in German and Dutch, for what is said of a chord or a key that cannot be read.

German says H for B and B for B flat; sharps end in -is, flats in -es (Es and As: in -s alone).
Dutch keeps B, and has Bes, Ees and Aes beside Es and As. Common practice, from memory. Nothing is
read by these names: a B alone does not tell which of the two is meant.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence

# "sus" is never cut in two: Esus4 and Asus4 have the roots E and A.
_NAME = re.compile(r"(?:[AC-H]is|[BCDFG]es|Ees|Aes|[EA]s|H)(?!us)")
_DUTCH = ("Bes", "Ees", "Aes")  # most of the others are Dutch as well as German


class Foreign(NamedTuple):
    """A foreign name as it is written, and the English name of its note."""

    written: str
    english: str

    @property
    def german(self) -> bool:
        """Whether it is German for sure, so that B beside it is B flat."""
        return self.written.startswith("H")


def foreign_name(text: str, at: int = 0) -> Foreign | None:
    """The foreign name that begins at ``at``: ``foreign_name("Es7").english == "Eb"``."""
    found = _NAME.match(text, at)
    if found is None:
        return None
    written = found[0]
    sign = "" if len(written) == 1 else "#" if written.endswith("is") else "b"
    return Foreign(written, written[0].replace("H", "B") + sign)


def told(names: Sequence[Foreign]) -> str:
    """What the names are in English, and what a B beside them is: an H leaves no doubt of it."""
    named = " and ".join(f"{name.written} is {name.english}" for name in dict.fromkeys(names))
    if any(name.german for name in names):
        return f"{named} in German, where B is Bb"
    if any(name.written in _DUTCH for name in names):
        return f"{named} in Dutch"
    return f"{named} in German and Dutch; in German, B is Bb"
