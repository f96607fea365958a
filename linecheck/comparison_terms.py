"""The words of a comparison, as frozen dataclasses; no logic. Loaded where two sides are compared.

Shares are 0 to 1. What a place is, and what it means to show it, stands in ``judge/carry_over.py``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeAlias

if TYPE_CHECKING:
    from linecheck.terms import Chart, Style

ComparedKind: TypeAlias = Literal["landings", "bars", "sections", "form"]
Outcome: TypeAlias = Literal["kept", "dropped", "added", "neither", "open"]
TraitUnit: TypeAlias = Literal["share", "notes a bar", "pitch"]


@dataclass(frozen=True, slots=True)
class Share:
    """A share, 0 to 1, with what stands behind it: ``shown`` of ``asked`` in ``choruses``.

    ``low`` to ``high`` is its 95 % interval. ``share`` is None where nothing was asked; the
    interval is then 0 to 1.
    """

    share: float | None
    low: float
    high: float
    shown: int
    asked: int
    choruses: int


@dataclass(frozen=True, slots=True)
class ComparedSide:
    """One of the two that are compared: ``name`` is "line", "solo", "first" or "second"."""

    name: str
    source: str
    style: Style
    choruses: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class CarryOver:
    """How much of what the first side showed the second kept, for one kind of place.

    ``kept`` counts the places that the first showed in at least half of the choruses in which they
    were asked for: of the times that the second was asked there, how often it showed them.
    ``before`` and ``after`` are all that each side showed; ``change`` is the second less the first
    with its 95 % interval, None where either was asked nothing.
    """

    kind: ComparedKind
    kept: Share
    before: Share
    after: Share
    change: tuple[float, float, float] | None


@dataclass(frozen=True, slots=True)
class ComparedPlace:
    """A place of the form and what came of it; ``before`` and ``after`` are (shown, asked).

    A landing has its beat and chord; a bar, a section or a bar of the form has beat None and the
    bar's chords. ``outcome`` goes by the greater part of the choruses, half is enough; it is
    ``open`` where one side was asked nothing, as in a breath.
    """

    kind: ComparedKind
    bar: int
    beat: float | None
    section: str
    chord: str
    before: tuple[int, int]
    after: tuple[int, int]
    outcome: Outcome


@dataclass(frozen=True, slots=True)
class FirstBreak:
    """Where a chorus of the second side first drops a bar; ``bar`` None: nowhere."""

    chorus: int
    bar: int | None
    section: str | None
    why: str


@dataclass(frozen=True, slots=True)
class Trait:
    """A fact of both sides, to see what the second added; None where there is nothing to count."""

    name: str
    unit: TraitUnit
    before: float | None
    after: float | None


@dataclass(frozen=True, slots=True)
class Comparison:
    """What one side showed and the other dropped, kept or added, place by place of the form."""

    chart: Chart
    before: ComparedSide
    after: ComparedSide
    carried: tuple[CarryOver, ...]
    places: tuple[ComparedPlace, ...]
    first_breaks: tuple[FirstBreak, ...]
    traits: tuple[Trait, ...]
    warnings: tuple[str, ...] = ()
