"""A judgement as an entry, whether it comes fresh from an audit or was kept by a grading."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from linecheck.journal.entry import Entry, EntryLoss
from linecheck.judge import PARTS
from linecheck.judge.commitment import PRESENCE, Count, share
from linecheck.terms import Feel

if TYPE_CHECKING:
    from linecheck.journal.entry import DateOrigin
    from linecheck.terms import Evidence, GridKind, Judgement, LossKind, Place, TakeKind

__all__ = ["entry_loss", "entry_of_judgement"]

_NO_FEEL = Feel(None, None, None, None, None, None, None, None, None)


class SomeLoss(Protocol):
    """What every word for a form loss says of it."""

    @property
    def kind(self) -> LossKind: ...
    @property
    def offset_beats(self) -> float | None: ...
    @property
    def confidence(self) -> float: ...


def entry_of_judgement(
    judgement: Judgement,
    *,
    evidence: Evidence,
    feel: Feel | None,
    quarters_a_beat: float,
    losses: tuple[EntryLoss, ...],
    student: str,
    date: str,
    date_origin: DateOrigin,
    take: str,
    take_key: str,
    kind: TakeKind,
    chart: str,
    chart_key: str,
    notes: int,
    grid: GridKind,
    version: str,
    class_name: str = "",
) -> Entry:
    """The entry of a take that was judged.

    ``evidence`` is what was weighed, ``feel`` that of the whole take (None: not known), whose beats
    have ``quarters_a_beat`` quarter notes; all else is as ``Entry`` has it.
    """
    counts = _counted_parts(evidence)
    landings = counts["landings"]
    rubric = judgement.rubric
    whole = sum(rubric.weights.values())
    feel = feel or _NO_FEEL
    return Entry(
        student=student,
        date=date,
        date_origin=date_origin,
        take=take,
        take_key=take_key,
        kind=kind,
        chart=chart,
        chart_key=chart_key,
        choruses=len(judgement.choruses),
        notes=notes,
        commitment=judgement.commitment,
        parts={part: share(count) for part, count in counts.items()},
        landings_met=landings.marks - landings.missed,
        landings_asked=landings.marks,
        losses=losses,
        grid=grid,
        tempo=None if feel.tempo is None else feel.tempo * quarters_a_beat,
        tempo_change=feel.tempo_change,
        placement_mean_ms=feel.placement_mean_ms,
        placement_spread_ms=feel.placement_spread_ms,
        swing_ratio=feel.swing_ratio,
        rubric=rubric.name,
        rubric_fingerprint=rubric.fingerprint,
        weights={part: weight / whole for part, weight in rubric.weights.items() if weight > 0},
        version=version,
        class_name=class_name,
    )


def entry_loss(loss: SomeLoss, begins: Place, *, recovered: bool) -> EntryLoss:
    """A form loss as an entry keeps it, by the place where it begins."""
    return EntryLoss(
        chorus=begins.chorus,
        bar=begins.bar or 1,
        beat=begins.beat or 1.0,
        kind=loss.kind,
        offset_beats=loss.offset_beats,
        recovered=recovered,
        confidence=loss.confidence,
    )


def _counted_parts(evidence: Evidence) -> dict[str, Count]:
    """Each part, and presence, with how much there was to earn in the whole take, and missed."""
    return {
        part: Count(
            sum(bar.marks.get(part, 0) for bar in evidence.bars),
            sum(len(bar.missed.get(part, ())) for bar in evidence.bars),
        )
        for part in (*PARTS, PRESENCE)
    }
