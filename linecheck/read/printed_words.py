"""Words printed over the staff that a reader acts on: D.C., D.S., Coda, Fine, the feel.

Spellings are those in common use; anything else is left alone. The velocities of dynamic marks are
those at which notation programs commonly play them.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from linecheck.read.score import Flow

DEFAULT_VELOCITY = 80
DYNAMICS = {
    "pppp": 8, "ppp": 16, "pp": 33, "p": 49, "mp": 64, "mf": 80,
    "f": 96, "ff": 112, "fff": 122, "ffff": 127, "fp": 96, "sfz": 112, "sf": 112, "fz": 112,
}  # fmt: skip
SLOWEST, FASTEST = 5, 1000  # quarter notes a minute
DA_CAPO = re.compile(r"d\.?\s?c\.?(\s|$)|da\s?capo", re.IGNORECASE)
DAL_SEGNO = re.compile(r"d\.?\s?s\.?(\s|$)|dal\s?segno", re.IGNORECASE)
TO_CODA = re.compile(r"(to|al)\s+(the\s+)?(coda\b|𝄌|⊕)|da\s?coda", re.IGNORECASE)
CODA = re.compile(r"coda\b|𝄌$|⊕$", re.IGNORECASE)
SEGNO = re.compile(r"segno$|𝄋$", re.IGNORECASE)
FINE = re.compile(r"fine\b\.?$|fin\.?$", re.IGNORECASE)
SWING = re.compile(r"\b(swing|swung|shuffle)\b", re.IGNORECASE)
STRAIGHT = re.compile(r"\b(straight|bossa|samba|latin|even\s+(8|eighth))", re.IGNORECASE)


def read_flow_words(words: str, flow: Flow) -> bool:
    """Note what the words say is played next; whether they said anything."""
    words = words.strip()
    if DA_CAPO.match(words):
        flow.da_capo = True
    elif DAL_SEGNO.match(words):
        flow.dal_segno = flow.dal_segno or ""
    elif TO_CODA.match(words):
        flow.to_coda = flow.to_coda or ""
    elif FINE.match(words):
        flow.fine = True
    elif CODA.match(words):
        flow.coda = flow.coda or ""
    elif SEGNO.match(words):
        flow.segno = flow.segno or ""
    else:
        return False
    return True


def feel_of(words: str) -> Literal["swing", "straight"] | None:
    """The feel that the words ask for."""
    if STRAIGHT.search(words):
        return "straight"
    return "swing" if SWING.search(words) else None
