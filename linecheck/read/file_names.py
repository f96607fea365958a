"""How names are shown in a message: the same on every system, and not too many."""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING, NamedTuple

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


class AlikeNames(NamedTuple):
    """Names that differ in capitals alone: of a ``what`` ("student", "class"), in these classes."""

    what: str
    names: tuple[str, ...]
    classes: frozenset[str]

    @property
    def question(self) -> str:
        """Whether they were meant as one."""
        names = " and ".join(map(plain, self.names))
        if (
            self.what == "student"
            and len(self.classes) == 1
            and (where := next(iter(self.classes)))
        ):
            names += f" ({plain(where)})"
        return f"are {names} the same {self.what}?"


def alike_names(people: Iterable[tuple[str, str]]) -> list[AlikeNames]:
    """The names of students of one class, and those of classes, that may have been meant as one.

    Args:
        people: the student and the class of each, "" for none.
    """
    students: dict[tuple[str, str], dict[str, set[str]]] = {}
    classes: dict[str, dict[str, set[str]]] = {}
    for student, class_name in people:
        of_class = classes.setdefault(folded(class_name), {})
        of_class.setdefault(class_name, set()).add(class_name)
        alike = students.setdefault((folded(class_name), folded(student)), {})
        alike.setdefault(student, set()).add(class_name)
    return [
        AlikeNames(what, tuple(sorted(same)), frozenset().union(*same.values()))
        for what, groups in (("student", students), ("class", classes))
        for same in groups.values()
        if len(same) > 1
    ]


def folded(name: str) -> str:
    """What names have in common that differ in capitals and the form of Unicode alone."""
    return unicodedata.normalize("NFC", name).casefold()
