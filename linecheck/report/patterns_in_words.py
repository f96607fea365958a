"""Patterns in words: what a line does over and over, for every format."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.music.keys import names_in_key
from linecheck.music.pitch import pitch_name

if TYPE_CHECKING:
    from linecheck.terms import Audit, Key, Pattern

__all__ = ["FACTS", "pattern_places", "pattern_sentence", "pattern_sentences"]

FACTS = "Facts, not faults: they touch no score."
MOST_CHORUSES = 3  # whose bars are listed
MOST_BARS = 8


def pattern_sentences(audit: Audit) -> list[str]:
    """All patterns of a take, each with its bars."""
    said = []
    for pattern in audit.patterns:
        places = pattern_places(pattern)
        told = pattern_sentence(pattern, audit.chart.key)
        said.append(f"{told} ({places})" if places else told)
    return said


def pattern_sentence(pattern: Pattern, key: Key) -> str:
    """One pattern without its bars."""
    bars = "bars walked" if pattern.style == "walking" else "bars of the solo"
    count = f"{pattern.times} of {pattern.of}"
    if pattern.kind == "same figure":
        return f"the same figure in {count} {bars}: {pattern.what}"
    if pattern.kind == "root on one":
        return f"the root on beat one in {count} {bars}"
    if pattern.kind == "one side":
        where = "in walking" if pattern.style == "walking" else "in the solo"
        return f"{count} approaches by a step come from {pattern.what} {where}"
    if pattern.kind == "one direction":
        return f"{count} {bars} run straight {pattern.what}"
    if pattern.kind == "same rhythm":
        return f"the same rhythm in {count} {bars}: notes on {pattern.what}"
    side, pitch = pattern.what.split()
    name = pitch_name(names_in_key(key)[int(pitch) % 12], int(pitch))
    return f"no note {side} {name} in {pattern.of} {bars}"


def pattern_places(pattern: Pattern) -> str:
    """The bars, chorus by chorus: ``"chorus 1 bars 1, 3 and more"``; "" for none or nearly all."""
    if not pattern.bars or pattern.times >= 0.9 * pattern.of:
        return ""
    by_chorus: dict[int, list[str]] = {}
    for chorus, bar in pattern.bars:
        by_chorus.setdefault(chorus, []).append(str(bar))
    told = []
    for chorus, bars in list(by_chorus.items())[:MOST_CHORUSES]:
        more = " …" if len(bars) > MOST_BARS else ""
        told.append(
            f"chorus {chorus} bar{'' if len(bars) == 1 else 's'} {' '.join(bars[:MOST_BARS])}{more}"
        )
    return "; ".join(told) + ("; …" if len(by_chorus) > MOST_CHORUSES else "")
