"""What each bar took from the commitment of the take, and for which part.

Points are those of the whole take: over all bars and parts they add up to 100 minus its
commitment. The dearest comes first; equal ones in the order of the form.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.terms import BarCost

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from linecheck.terms import BarEvidence

# How many reasons are written out for one bar and one part.
REASONS = 3


def bar_costs(
    bars: Iterable[BarEvidence], mark_points: Mapping[str, float], chorus_weight: float
) -> list[BarCost]:
    """The costs of one chorus.

    Args:
        bars: its bars, with what was missed in them.
        mark_points: part → what one missed mark takes from the chorus, in points.
        chorus_weight: the chorus's share of the take.
    """
    return [
        BarCost(
            chorus=bar.chorus,
            bar=bar.bar,
            section=bar.section,
            part=part,
            points=mark_points[part] * chorus_weight * len(missed),
            why=reasons_text(missed),
        )
        for bar in bars
        for part, missed in bar.missed.items()
        if mark_points.get(part, 0.0) * chorus_weight > 0
    ]


def reasons_text(missed: Sequence[str]) -> str:
    """The reasons of one bar and one part in a line, each once, the first few written out."""
    reasons = list(dict.fromkeys(missed))
    why = "; ".join(reasons[:REASONS])
    if len(reasons) > REASONS:
        why += f"; and {len(reasons) - REASONS} more"
    return why
