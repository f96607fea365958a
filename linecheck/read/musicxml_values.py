"""Numbers and texts of MusicXML elements, checked as they are taken out.

A number is decimal text of at most nine digits before the point: no score needs more, and what
is larger is a slip or an attack. Quarter notes are exact (``Fraction``).
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from linecheck.read.fault_place import Where

_NUMBER = re.compile(r"[+-]?(\d{1,9})(\.\d{0,9})?\Z")


def text_of(element: Element | None, tag: str = "") -> str:
    """Text of the element (or of its first child ``tag``), white space run together; "" if none."""
    if element is not None and tag:
        element = element.find(tag)
    return "" if element is None else " ".join((element.text or "").split())


@lru_cache(maxsize=4096)
def _fraction(text: str) -> Fraction | None:
    return Fraction(text) if _NUMBER.match(text) else None


def number_of(text: str, what: str, where: Where, least: float, most: float) -> Fraction:
    """The number, between ``least`` and ``most``; a fault that names ``what`` for any other."""
    value = _fraction(text)
    if value is None or not least <= value <= most:
        raise where.wrong(
            f"{what} {text[:40]!r} was read, and a number from {least:g} to {most:g} was expected"
        )
    return value


def whole_of(text: str, what: str, where: Where, least: int, most: int) -> int:
    """The whole number between ``least`` and ``most``."""
    if len(text) < 3 and text.isdecimal() and least <= int(text) <= most:
        return int(text)  # nearly all of them, and quickly
    value = number_of(text, what, where, least, most)
    if value.denominator != 1:
        raise where.wrong(f"{what} {text[:40]!r} was read, and a whole number was expected")
    return int(value)
