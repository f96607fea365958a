"""What is wrong with a TOML file that cannot be parsed, said of the slip and not of the grammar.

The slips are those of people who type a file by hand or in a word processor: no quotation marks,
curly ones, bars over several lines in marks that hold one line only, a mark that is not closed, a
name that stands twice.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

_PLACE = re.compile(r" \(at (?:line (\d+), column \d+|end of document)\)$")
_PAIR = re.compile(r"\s*([\w-]+)\s*=\s*(.*)")
_QUOTED = re.compile(r'"(?:[^"\\]|\\.)*"|\'[^\']*\'')
_CURLY = re.compile("[“”„‟«»]|^[‘’‚‹]")
_NAME = re.compile(r"[\w-]+\s*=")  # within { … }
_TEXT = re.compile(r"(?!(?:true|false|inf|nan)\b)[^\W\d_]|\d\s*/\s*\d|[|%]")
_LONG_NUMBER = re.compile(r"\d[\d_]{4000,}")  # Python reads no number of more than 4,300 figures
THREE = 'three quotation marks (""") before the first and after the last'


def explain(text: str, error: ValueError) -> tuple[str, int | None]:
    """What is wrong, in one sentence, and in which line; None: nowhere in particular.

    Args:
        text: the file.
        error: what ``tomllib.loads`` raised of it.
    """
    said = str(error)
    if said.startswith("Exceeds the limit") and (long := _LONG_NUMBER.search(text)):
        line = text.count("\n", 0, long.start()) + 1
        return f"a number of {len(long[0].replace('_', ''))} figures; nothing is so large", line
    found = _PLACE.search(said)
    lines = text.split("\n")
    number = int(found[1]) if found and found[1] else None
    if number is None and found and (opened := _left_open(text)):
        number = opened
    if number is not None and (slip := _slip(lines, number, said)):
        return slip, number
    problem = said[: found.start()] if found else said
    at_end = " at the end of the file" if found and not found[1] else ""
    return f"is not valid TOML: {problem[:1].lower()}{problem[1:]}{at_end}", number


def _left_open(text: str) -> int | None:
    """The line of the last quotation mark, where an odd number of them stands in the text."""
    for mark in ('"""', "'''", '"', "'"):
        if text.count(mark) % 2:
            return text.count("\n", 0, text.rfind(mark)) + 1
    return None


def _slip(lines: list[str], number: int, said: str) -> str | None:
    pair = _PAIR.fullmatch(lines[number - 1])
    if pair is not None:
        return next(_slips_of(pair[1], pair[2].strip(), lines[number:], said), None)
    if said.startswith("Invalid statement") and lines[number - 1].lstrip().startswith("|"):
        return f"bars stand outside of quotation marks; bars over several lines need {THREE}"
    return None


def _slips_of(name: str, value: str, following: list[str], said: str) -> Iterator[str]:
    """The slip in ``name = value``, if it is a known one."""
    if said.startswith("Cannot overwrite"):
        yield f"{name} stands twice; give each name once"
    elif not value.partition("#")[0]:
        yield _no_value(name, following)
    elif _CURLY.search(value):
        yield 'a text needs straight quotation marks ("), and these are curly'
    elif value.startswith(('"""', "'''")):
        yield "the three quotation marks are opened here and never closed"
    elif value[0] in "\"'" and not _QUOTED.match(value):
        yield _not_closed(value, following)
    elif name == "tempo":
        yield f"{name} is a number without quotation marks or words, such as {name} = 132"
    elif _TEXT.search(_NAME.sub("", _QUOTED.sub("", value).partition("#")[0])):
        plain = value if re.fullmatch(r"[^\"'\[\]{}#\\]{1,40}", value) else "…"
        example = f'["{plain}"]' if value.startswith("[") else f'"{plain}"'
        yield f"a text needs straight quotation marks: {name} = {example}"


def _no_value(name: str, following: list[str]) -> str:
    if _goes_on_with_bars(following):
        return f"bars over several lines need {THREE}"
    return f"is not valid TOML: nothing stands after {name} ="


def _not_closed(value: str, following: list[str]) -> str:
    """One mark holds one line: a mark was forgotten, or the bars go on in the next line."""
    if _goes_on_with_bars(following):
        return f"bars over several lines need {THREE}; one mark holds one line"
    return f"the text {value[:30]} is not closed; its quotation mark is missing at the end"


def _goes_on_with_bars(following: list[str]) -> bool:
    after = next((line.strip() for line in following if line.strip()), "")
    return "|" in after and not _PAIR.fullmatch(after)
