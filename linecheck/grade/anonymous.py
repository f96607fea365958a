"""An anonymous grade book: pseudonyms for students, and no name in any text.

A pseudonym is a keyed hash (HMAC-SHA-256, RFC 2104) of class and name. The key is drawn by lot and
lies with the kept audits, so that a student has the same pseudonym in every run on a folder, and
nobody who has no key can try a list of names. Takes are called by their number, charts by their
file without its folder.
"""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets
from dataclasses import replace
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from linecheck.faults import OutputFault
from linecheck.grade.find_submissions import in_order

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from linecheck.grade.audits import Found
    from linecheck.grade.terms import Submission

__all__ = ["blanked", "hide_names", "names_key"]

KEY_FILE = "names.key"
KEY_BYTES = 32
LETTERS = "0123456789BCDFGHJKMNPQRSTVWXYZ"  # no vowels: no words
LENGTH = 8  # for 10,000 students a clash is less likely than 1 in 10,000
HIDDEN = "…"
SHORTEST_WORD = 3


def names_key(folder: Path | None) -> bytes:
    """The key of a folder, made where there is none; without a folder one for this run alone.

    Raises:
        OutputFault: it cannot be read or written.
    """
    drawn = secrets.token_bytes(KEY_BYTES)
    if folder is None:
        return drawn
    path = folder / KEY_FILE
    made = folder / f".{KEY_FILE}.{secrets.token_hex(8)}.part"
    try:
        if not path.exists():
            made.write_text(drawn.hex() + "\n", "ascii")
            _put_once(made, path)
        key = bytes.fromhex(path.read_text("ascii"))
    except (OSError, ValueError) as fault:
        raise OutputFault(f"cannot be used: {fault}", source=str(path)) from fault
    if len(key) != KEY_BYTES:
        raise OutputFault("is no key of pseudonyms; remove it", source=str(path))
    return key


def _put_once(made: Path, path: Path) -> None:
    """Have a file there that was written whole; where another run was first, its file counts."""
    try:
        path.hardlink_to(made)
    except FileExistsError:
        pass
    except OSError:  # a drive without hard links: the last of two runs at once counts
        made.replace(path)
    made.unlink(missing_ok=True)


def pseudonym(submission: Submission, key: bytes) -> str:
    """The pseudonym of a student."""
    name = f"{submission.class_name}\n{submission.student}".encode()
    number = int.from_bytes(hmac.digest(key, name, hashlib.sha256), "big")
    letters = ""
    for _ in range(LENGTH):
        number, at = divmod(number, len(LETTERS))
        letters += LETTERS[at]
    return f"Student {letters}"


def hide_names(found: Sequence[Found], key: bytes) -> list[Found]:
    """The same submissions under pseudonyms, in their order."""
    counts: dict[tuple[str, str], int] = {}
    hidden: dict[int, Found] = {}
    renamed = []
    for one in found:
        old = one.submission
        student = pseudonym(old, key)
        number = counts[old.class_name, student] = counts.get((old.class_name, student), 0) + 1
        words = _telling_words(old)
        new = replace(
            old,
            student=student,
            take_name=f"take {number}",
            chart_name=blanked(PurePosixPath(old.chart_name).name, words),
            where="",
        )
        reason = one.reason.removeprefix(f"{old.where}: ") if old.where else one.reason
        renamed.append(new)
        hidden[id(new)] = replace(one, submission=new, reason=reason, hidden=words)
    return [hidden[id(new)] for new in in_order(renamed)]


def blanked(text: str, words: Sequence[str]) -> str:
    """A text with an ellipsis for each of some words."""
    if not words:
        return text
    return re.sub("|".join(map(re.escape, words)), HIDDEN, text)


def _telling_words(submission: Submission) -> tuple[str, ...]:
    """What would tell whose take it is, the longest first."""
    path = PurePosixPath(submission.take_name)
    names = [submission.student, submission.take_name, path.name, path.stem, *path.parts[:-1]]
    for name in (submission.student, path.stem):
        names += [word for word in re.split(r"[\W_\d]+", name) if len(word) >= SHORTEST_WORD]
    return tuple(sorted({name for name in names if name}, key=lambda name: (-len(name), name)))
