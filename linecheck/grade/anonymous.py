"""An anonymous grade book: pseudonyms for students, and no name in any text.

A pseudonym is a keyed hash (HMAC-SHA-256, RFC 2104) of class and name. The key is drawn by lot and
lies with the kept audits, so that a student has the same pseudonym in every run on a folder, and
nobody who has no key can try a list of names. The key of a take, which follows from its content, is
hashed so too: else a copy of the take would tell whose row it is. Takes are called by their number,
charts by their file without its folder; a chart whose name may tell a student is called by a number
too.

A remark knows which names in it come from the user's files, and what stands in quotes does too.
These are hidden word by word: a word that holds a student's name, or stands in the name of the
submission's files. All else is linecheck's own ("the take", though a take be called so), and there
only what does not begin with a small letter is looked at. A word with digits may be a student's
number, or a figure or a chord: outside of names a short one is left.
"""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets
import unicodedata
from dataclasses import replace
from functools import lru_cache
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, NamedTuple

from linecheck.faults import OutputFault
from linecheck.grade.find_submissions import in_order
from linecheck.music.other_key import key_in_title
from linecheck.terms import Remark

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from linecheck.grade.audits import Found
    from linecheck.grade.terms import Submission

__all__ = ["Alias", "Hidden", "blanked", "hide_names", "names_key", "shown_title"]

KEY_FILE = "names.key"
KEY_BYTES = 32
LETTERS = "0123456789BCDFGHJKMNPQRSTVWXYZ"  # no vowels: no words
LENGTH = 8  # for 10,000 students a clash is less likely than 1 in 10,000
HIDDEN = "…"
SHORTEST_NAME, SHORTEST_WORD = 2, 3
SHORTEST_NUMBER = 3  # signs from which a student's word with digits counts in any text
SHORTEST_FILE_NUMBER = 5  # and one of a file, which may be a year, a tempo or a bar
SURE_WITHIN = 4  # letters from which a name is one within a longer word too
WORD = re.compile(r"[^\W_]+")
RUN = re.compile(r"[^\W\d_]+|\d+")
CAMEL = re.compile(r"(?<=[^\W\d_A-Z])(?=[A-Z])")
QUOTED = re.compile(r"(?<!\w)(['\"])(.+?)\1(?!\w)")
OF_A_FILE = re.compile(r"[./\\][^\W\d_]")  # "7.mid" and "7/solo.mid", not "7.5" and "7/8"
SEVERAL = re.compile(f"{HIDDEN}(?:[\\s_-]{HIDDEN})+")
UMLAUTS = str.maketrans(
    {"ä": "ae", "ö": "oe", "ü": "ue", "ø": "oe", "å": "aa"}
    | {"Ä": "Ae", "Ö": "Oe", "Ü": "Ue", "Ø": "Oe", "Å": "Aa"}
)
# Letters of one piece, which Unicode does not take apart into a letter and an accent.
ONE_PIECE = str.maketrans(
    {"ł": "l", "ø": "o", "đ": "d", "ð": "d", "ħ": "h", "ŧ": "t", "ı": "i", "ŋ": "n"}
    | {"æ": "ae", "œ": "oe", "ß": "ss", "þ": "th"}
)


class Hidden(NamedTuple):
    """What no text about a submission may hold.

    ``files`` are the names of its files, ``words`` the words of these, ``names`` the words of the
    names of all students, for a file may have been another's. Files are in NFC, words folded.
    """

    files: tuple[str, ...]
    words: tuple[str, ...]
    names: tuple[str, ...]


class Alias(NamedTuple):
    """A submission as it is, and as an anonymous book shows it."""

    real: Submission
    shown: Submission


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


def _keyed(found: str, key: bytes) -> str:
    """The key of a take for strangers: one that nobody can make of a copy of the take."""
    return hmac.digest(key, f"take {found}".encode(), hashlib.sha256).hex() if found else ""


def hide_names(found: Sequence[Found], key: bytes) -> tuple[list[Found], list[Alias]]:
    """The same submissions under pseudonyms, in their order, and whose they are."""
    real = [one.submission for one in found]
    names = _name_words(real)
    charts = _shown_charts(real, names)
    public = {word for name in charts.values() for word in _words(name)}
    counts: dict[tuple[str, str], int] = {}
    hidden: dict[int, tuple[Found, Submission]] = {}
    renamed = []
    for one in found:
        old = one.submission
        student = pseudonym(old, key)
        number = counts[old.class_name, student] = counts.get((old.class_name, student), 0) + 1
        new = replace(
            old,
            student=student,
            take_name=f"take {number}",
            chart_name=charts[old.chart_name],
            where="",
        )
        reason = one.reason
        if old.where:
            text = reason.removeprefix(f"{old.where}: ")
            reason = Remark(text, reason.doubt, reason.names)
        renamed.append(new)
        files, words = _file_words(old, public)
        told = replace(
            one,
            submission=new,
            reason=reason,
            hidden=Hidden(files, words, names),
            shown_key=_keyed(one.key, key),
        )
        hidden[id(new)] = told, old
    ordered = [hidden[id(new)] for new in in_order(renamed)]
    return [told for told, _ in ordered], [Alias(old, told.submission) for told, old in ordered]


def blanked(text: str, hidden: Hidden | None) -> Remark:
    """A remark with an ellipsis for each name and file in it that tells whose take it is.

    Of a text that is no remark all words are looked at, for nobody knows where they come from.
    """
    said = text if isinstance(text, Remark) else Remark(text)
    if hidden is None:
        return said
    told = _without_files(text, hidden)
    names_in_it = [match.span() for match in QUOTED.finditer(told)]
    for name in said.names:
        shown_name = re.escape(_without_files(name, hidden))
        names_in_it += [m.span() for m in re.finditer(rf"(?<!\w){shown_name}(?!\w)", told)]
    sure_names = _without_figures(hidden.names, SHORTEST_NUMBER)
    sure_words = _without_figures(hidden.words, SHORTEST_FILE_NUMBER)

    def shown(found: re.Match[str]) -> str:
        word, at = found[0], found.start()
        if any(low <= at < high for low, high in names_in_it) or OF_A_FILE.match(told, found.end()):
            names, words = hidden.names, hidden.words
        elif said is text and word[0].islower():
            return word  # linecheck's own
        else:
            names, words = sure_names, sure_words
        return HIDDEN if _holds(word, names) or set(_words(word)) & set(words) else word

    return Remark(SEVERAL.sub(HIDDEN, WORD.sub(shown, told)), said.doubt)


def _without_files(text: str, hidden: Hidden) -> str:
    """A text in NFC with an ellipsis for each name of a file."""
    text = unicodedata.normalize("NFC", text)
    for name in hidden.files:
        text = re.sub(re.escape(name), HIDDEN, text, flags=re.IGNORECASE)
    return text


def shown_title(title: str, chart_name: str, hidden: Hidden | None, *, in_key: bool = False) -> str:
    """The title of a chart; where a student's name is in it, the name that the chart goes by.

    Args:
        title: the title.
        chart_name: what the chart is called in an anonymous book.
        hidden: what is hidden; None: nothing.
        in_key: whether the chart was read in another key, which the end of its title then says.
    """
    if hidden is None or not _tells(title, hidden.names):
        return title
    return PurePosixPath(chart_name).stem + (key_in_title(title) if in_key else "")


# ---- what tells ------------------------------------------------------------------------------


def _folded(text: str) -> str:
    """Without case and accents, as names are found in the names of files."""
    parts = unicodedata.normalize("NFKD", text.casefold())
    return "".join(c for c in parts if not unicodedata.combining(c)).translate(ONE_PIECE)


def _words(text: str) -> list[str]:
    """The words and numbers of a text or of a name of a file, folded.

    "MiraBlues_2" has three; "s1042" is one itself, and has two in it.
    """
    found: list[str] = []
    for word in WORD.findall(CAMEL.sub(" ", unicodedata.normalize("NFC", text))):
        runs = RUN.findall(word)
        found += runs if len(runs) == 1 else [word, *runs]
    return [_folded(word) for word in found]


def _has_digit(word: str) -> bool:
    return any(sign.isdecimal() for sign in word)


@lru_cache(maxsize=64)
def _without_figures(words: tuple[str, ...], shortest: int) -> tuple[str, ...]:
    """The words that can be no figure or chord: without digits, or of so many signs at least."""
    return tuple(word for word in words if len(word) >= shortest or not _has_digit(word))


@lru_cache(maxsize=4096)
def _holds(word: str, names: tuple[str, ...]) -> bool:
    """Whether a word is a name, or has a long one in it; a number is only found whole."""
    parts, whole = _words(word), _folded(word)
    # No word of linecheck is in another script, so there a short name is sure as well.
    return any(
        name in parts
        or (
            (len(name) >= SURE_WITHIN or not name.isascii())
            and name in whole
            and not _has_digit(name)
        )
        for name in names
    )


def _tells(text: str, names: tuple[str, ...]) -> bool:
    words = WORD.findall(unicodedata.normalize("NFC", text))
    return any(_holds(word, names) for word in words)


def _name_words(submissions: Iterable[Submission]) -> tuple[str, ...]:
    """The words of the names of all students, folded; umlauts also as two letters.

    A short number tells only a student who has no other name: "Mira 2" is told by "Mira".
    """
    found: set[str] = set()
    for name in {unicodedata.normalize("NFC", one.student) for one in submissions}:
        words = {*_words(name), *_words(name.translate(UMLAUTS))}
        numbers = {word for word in words if word.isdecimal()}
        long = {word for word in words - numbers if len(word) >= SHORTEST_NAME}
        long |= {number for number in numbers if len(number) >= SHORTEST_NUMBER}
        found |= long or numbers
    return tuple(sorted(found))


def _file_words(
    submission: Submission, public: set[str]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The names of the files of a submission, the longest first, and their words."""
    path = PurePosixPath(submission.take_name)
    files = {submission.take_name, path.name} if path.suffix else {submission.take_name}
    known = public | set(_words(submission.class_name))
    words = {word for part in (*path.parts[:-1], path.stem) for word in _words(part)}
    return (
        tuple(
            sorted(
                (unicodedata.normalize("NFC", name) for name in files if set(name) & set("./")),
                key=lambda name: (-len(name), name),
            )
        ),
        tuple(sorted(word for word in words - known if len(word) >= SHORTEST_WORD)),
    )


def _shown_charts(submissions: Sequence[Submission], names: tuple[str, ...]) -> dict[str, str]:
    """How each chart is called: by its file, or by a number where that may tell a student.

    It may where it holds the name of one, or is called like the takes of one student alone.
    """
    players: dict[str, set[tuple[str, str]]] = {}
    for one in submissions:
        stem = _folded(PurePosixPath(one.take_name).stem)
        players.setdefault(stem, set()).add((one.class_name, one.student))
    shown: dict[str, str] = {"": ""}
    numbered = 0
    for chart in sorted({one.chart_name for one in submissions} - {""}):
        path = PurePosixPath(chart)
        if _tells(path.stem, names) or len(players.get(_folded(path.stem), ())) == 1:
            numbered += 1
            shown[chart] = f"chart {numbered}"
        else:
            shown[chart] = path.name
    return shown
