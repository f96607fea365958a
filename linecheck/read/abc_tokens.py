"""The tokens of a line of music in ABC, and what stands inside one: lengths, heads, passes.

Source: ABC 2.1, section 4. Lengths are in units of the tune's unit note length.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from linecheck.read.fault_place import Where

ONE = Fraction(1)
MOST_PASSES = 64
LENGTH = r"(?P<{0}top>\d{{0,4}})(?P<{0}slash>/{{0,8}})(?P<{0}low>\d{{0,4}})"
NOTE = (
    r"(?P<{0}acc>\^/|_/|\^{{1,2}}|_{{1,2}}|=)?(?P<{0}letter>[A-Ga-g])(?P<{0}octave>[,']{{0,8}})"
    + LENGTH
)
INNER = re.compile(NOTE.format("") + r"(?P<tie>-?)")
TOKEN = re.compile(
    r"(?P<space>[\s`$*;?@#\\]+|!(?=\s*$))"
    r"|(?P<comment>%.*)"
    r'|(?P<quote>"[^"]*")'
    r"|(?P<decoration>![^!]{1,40}!|\+[^+\d\s]{1,40}\+)"
    r"|(?P<field>\[[A-Za-z]:[^\]]*\])"
    r"|(?P<volta>\[\s*(?P<passes>\d[\d,\-]*)|\[(?=\"))"
    r"|(?P<line>(?P<bar>\.?(?::+\[?\|+[\]:]*|\[?\|+\]?(?::+(?![:|]))?|\|?\]:*|::+))"
    r"(?P<barpasses>\d[\d,\-]*(?![\d/]))?)"
    r"|(?P<chord>\[(?P<inside>[^\]|\[]{1,200})\]" + LENGTH.format("c") + ")"
    r"|(?P<note>" + NOTE.format("n") + ")"
    r"|(?P<rest>[zx]" + LENGTH.format("r") + ")"
    r"|(?P<bars>[ZX](?P<count>\d{0,4}))"
    r"|(?P<spacer>y\d*)"
    r"|(?P<grace>\{[^}]*\})"
    r"|(?P<tuplet>\((?P<p>\d)(?::(?P<q>\d?))?(?::(?P<r>\d{0,2}))?)"
    r"|(?P<broken><{1,3}|>{1,3})"
    r"|(?P<tie>-)"
    r"|(?P<slur>[()])"
    r"|(?P<overlay>&)"
    r"|(?P<colon>:)"
    r"|(?P<short>[.~H-Wh-w])"
)


@dataclass(slots=True)
class Head:
    """A note as typed. ``octave`` counts from that of middle C."""

    sign: str
    letter: str
    octave: int
    length: Fraction
    tied: bool = False
    factor: Fraction = ONE

    @classmethod
    def of(cls, found: re.Match[str], prefix: str, *, tied: bool = False) -> Head:
        """The note of a match whose groups begin with ``prefix``."""
        letter, marks = found[f"{prefix}letter"], found[f"{prefix}octave"]
        octave = marks.count("'") - marks.count(",") + letter.islower()
        sign = found[f"{prefix}acc"] or ""
        return cls(sign, letter.upper(), octave, length_of(found, prefix), tied)


def length_of(found: re.Match[str], prefix: str) -> Fraction:
    """A length such as ``3/2``, ``/``, ``//`` or ``/4``, in units."""
    return _typed_length(found[prefix + "top"], found[prefix + "slash"], found[prefix + "low"])


@lru_cache(maxsize=1024)
def _typed_length(top: str, slashes: str, low: str) -> Fraction:
    divisor = int(low) if low and slashes else 2 ** len(slashes)
    return Fraction(int(top) if top else 1, divisor or 1)


def passes_of(text: str, where: Where) -> tuple[int, ...]:
    """The passes of an ending: ``1``, ``1,3`` or ``1-3``; a fault for anything else."""
    found: list[int] = []
    for piece in text.strip(",-").split(","):
        first, _, last = piece.partition("-")
        if not first.isdecimal() or not (last or first).isdecimal():
            raise where.wrong(f"the ending {text[:20]!r} was read, and 1 or 1,3 was expected")
        found.extend(range(int(first), min(int(last or first), MOST_PASSES) + 1))
    if not found or min(found) < 1 or max(found) > MOST_PASSES:
        raise where.wrong(f"the ending {text[:20]!r} was read, and 1 or 1,3 was expected")
    return tuple(found)
