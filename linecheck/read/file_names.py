"""How names are shown in a message: the same on every system, and not too many."""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path


def shown_name(path: Path, folder: Path) -> str:
    """A file as it is shown: relative to the folder, with slashes on every system."""
    try:
        return plain(path.relative_to(folder).as_posix())
    except ValueError:
        return plain(path.as_posix())


def plain(text: str) -> str:
    """The text with one composed form of each letter, and no control character."""
    text = unicodedata.normalize("NFC", text)
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text)


def listed(names: list[str], most: int = 5) -> str:
    """Names after one another; of many the first, and how many more there are."""
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more


def alike_names(names: Iterable[str], what: str) -> list[str]:
    """A question for all names that differ in capitals alone: they may have been meant as one.

    Args:
        names: the names of students, or of classes.
        what: what they name, ``"student"`` or ``"class"``.
    """
    alike: dict[str, dict[str, None]] = {}
    for name in names:
        alike.setdefault(unicodedata.normalize("NFC", name).casefold(), {})[name] = None
    return [
        f"are {' and '.join(sorted(same))} the same {what}?"
        for same in alike.values()
        if len(same) > 1
    ]
