"""The words of reference lines, as frozen dataclasses; no logic. Loaded where a profile is used.

Shares are 0 to 1. What a place is stands in ``judge/reference.py``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeAlias

if TYPE_CHECKING:
    from linecheck.terms import Function, Style

ReferenceGroup: TypeAlias = Literal["beat", "chord type"]


@dataclass(frozen=True, slots=True)
class ReferenceShare:
    """What reference lines do in one place: on a beat of the bar, or over a type of chord.

    ``name`` is the beat with its meter ("4/4 beat 1", "4/4 off the beat") or the type of chord.
    ``shares`` is the share of each function; one more such line is expected to have ``means``, and
    to stray from it by ``spreads`` (one standard deviation). ``notes``, ``choruses`` and ``takes``
    stand behind them.
    """

    style: Style
    by: ReferenceGroup
    name: str
    takes: int
    choruses: int
    notes: int
    shares: dict[Function, float]
    means: dict[Function, float]
    spreads: dict[Function, float]


@dataclass(frozen=True, slots=True)
class ReferenceProfile:
    """What reference lines do; ``takes``, ``choruses`` and ``notes`` were counted for it."""

    takes: int
    choruses: int
    notes: int
    shares: tuple[ReferenceShare, ...]
    source: str = ""
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ReferenceDifference:
    """One share of a line against the reference lines.

    ``share`` of ``notes`` is the line's, ``expected`` the reference's; of lines like those of the
    reference 95 in 100 would lie within ``low`` to ``high`` with so many notes. ``chance`` is how
    often one of them would lie as far off; ``differs`` where that is less than chance explains,
    all shares of the line taken together.
    """

    style: Style
    by: ReferenceGroup
    name: str
    function: Function
    notes: int
    share: float
    expected: float
    low: float
    high: float
    chance: float
    differs: bool


@dataclass(frozen=True, slots=True)
class ReferenceReading:
    """A line read against a profile; ``differences`` has every share that could be held against it.

    ``passed_over`` are the places of the line that the profile says nothing of.
    """

    profile: ReferenceProfile
    differences: tuple[ReferenceDifference, ...]
    passed_over: tuple[str, ...]
