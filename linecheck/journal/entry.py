"""An entry: one take of one student, judged by one rubric, as the journal keeps it.

Units are those of ``terms``: shares 0 to 1, commitment 0 to 100, ``_ms`` milliseconds, tempo in
quarter notes a minute. A date is ISO 8601 (``2026-03-01``).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal, TypeAlias

if TYPE_CHECKING:
    from linecheck.terms import GridKind, LossKind, TakeKind

__all__ = ["DATE_ORIGINS", "DateOrigin", "Entry", "EntryLoss"]

# Where a date is from, the best known first: said by the user, in the name of the file or of its
# folder, or only the day on which the file was last changed.
DateOrigin: TypeAlias = Literal["given", "name", "file"]
DATE_ORIGINS: tuple[DateOrigin, ...] = ("given", "name", "file")


@dataclass(frozen=True, slots=True)
class EntryLoss:
    """A form loss that counts: where it began, its kind, its size in beats (None: adrift)."""

    chorus: int
    bar: int
    beat: float
    kind: LossKind
    offset_beats: float | None
    recovered: bool
    confidence: float


@dataclass(frozen=True, slots=True)
class Entry:
    """One take, judged once.

    ``student`` is "" where no name was given, ``class_name`` where no class is known. ``take`` is
    the name of the file without its folders, ``take_key`` a hash of what it holds; ``chart`` the
    chart's title, ``chart_key`` a hash of its meters, sections and chords, equal for charts that
    ask the same of a line. ``parts`` is part → share over the whole take (None: nothing to earn),
    presence among them. ``grid`` is what placement is measured against: the click of the file, the
    beats of the playing, or the notation. The time feel is None where too few notes show it, and in
    a written line all but the tempo. ``weights`` are the rubric's as shares that add up to 1.
    ``recorded`` counts in which order a journal took its entries in, renewed ones anew (0: none
    did); it is no part of what an entry says.
    """

    student: str
    date: str
    date_origin: DateOrigin
    take: str
    take_key: str
    kind: TakeKind
    chart: str
    chart_key: str
    choruses: int
    notes: int
    commitment: float
    parts: dict[str, float | None]
    landings_met: int
    landings_asked: int
    losses: tuple[EntryLoss, ...]
    grid: GridKind
    tempo: float | None
    tempo_change: float | None
    placement_mean_ms: float | None
    placement_spread_ms: float | None
    swing_ratio: float | None
    rubric: str
    rubric_fingerprint: str
    weights: dict[str, float]
    version: str
    class_name: str = ""
    recorded: int = field(default=0, compare=False, repr=False)
