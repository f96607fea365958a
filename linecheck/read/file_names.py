"""How names are shown in a message: the same on every system, and not too many."""

from __future__ import annotations

import unicodedata
from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path


NEAR_FROM = 5  # letters of a name from which one letter more or less may be a slip
WORD_FROM = 4  # letters of the word that differs: "Mira A" and "Mira B" are two
MOST_NEAR = 1000  # students of a class whose names are compared


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
    """Names that differ in capitals, or in one letter: of a ``what`` ("student", "class"), in these classes."""

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


def near_names(people: Iterable[tuple[str, str]]) -> list[AlikeNames]:
    """Pairs of students of one class whose names differ in one letter, as by a slip.

    Names of ``NEAR_FROM`` letters or more, of as many words; the word that differs is no initial
    and no number. A class of more than ``MOST_NEAR`` students is an archive, and is not asked
    about.

    Args:
        people: the student and the class of each, "" for none.
    """
    classes: dict[str, dict[str, tuple[str, str]]] = {}
    for student, class_name in people:
        of_class = classes.setdefault(folded(class_name), {})
        of_class.setdefault(folded(student), (student, class_name))
    found: list[AlikeNames] = []
    for of_class in classes.values():
        if len(of_class) > MOST_NEAR:
            continue
        # Two names of which one letter is left out in each (or in one) are then the same.
        cut: dict[str, list[str]] = {}
        for name in of_class:
            if sum(map(str.isalpha, name)) >= NEAR_FROM:
                for less in {name, *(name[:at] + name[at + 1 :] for at in range(len(name)))}:
                    cut.setdefault(less, []).append(name)
        pairs = {
            tuple(sorted(pair))
            for names in cut.values()
            for pair in combinations(names, 2)
            if _differ_in_a_letter(*pair)
        }
        for one, other in sorted(pairs):
            (first, class_name), (second, of_second) = of_class[one], of_class[other]
            names = tuple(sorted((first, second)))
            found.append(AlikeNames("student", names, frozenset((class_name, of_second))))
    return found


def _differ_in_a_letter(one: str, other: str) -> bool:
    """Whether two names differ in one letter: another one, one more, or one less."""
    words = list(zip(one.split(), other.split(), strict=False))
    if len(one.split()) != len(other.split()):
        return False
    differing = [pair for pair in words if pair[0] != pair[1]]
    if len(differing) != 1:
        return False
    shorter, longer = sorted(differing[0], key=len)
    if len(longer) < WORD_FROM or len(longer) - len(shorter) > 1:
        return False
    at = next(
        (n for n, pair in enumerate(zip(shorter, longer, strict=False)) if len({*pair}) > 1),
        len(shorter),
    )
    same_length = len(shorter) == len(longer)
    if shorter[at + same_length :] != longer[at + 1 :]:
        return False
    return all(sign.isalpha() for sign in longer[at] + (shorter[at] if same_length else ""))


def folded(name: str) -> str:
    """What names have in common that differ in capitals and the form of Unicode alone."""
    return unicodedata.normalize("NFC", name).casefold()
