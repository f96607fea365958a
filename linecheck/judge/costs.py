"""What each bar took from the commitment of the take, and for which part.

Points are those of the whole take: over all bars and parts they add up to 100 minus its
commitment. The dearest comes first; equal ones in the order of the form.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.terms import BarCost

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from linecheck.judge.marks import Mark
    from linecheck.music.form import Form

# How many reasons are written out for one bar and one part.
REASONS = 3


def chorus_costs(
    marks_of: Mapping[str, Sequence[Mark]],
    mark_points: Mapping[str, float],
    chorus_weight: float,
    form: Form,
) -> list[BarCost]:
    """The costs of one chorus.

    Args:
        marks_of: part → its marks in the chorus, presence among them.
        mark_points: part → what one missed mark takes from the chorus, in points.
        chorus_weight: the chorus's share of the take.
        form: the form.
    """
    costs: list[BarCost] = []
    for part, marks in marks_of.items():
        point = mark_points.get(part, 0.0) * chorus_weight
        if point <= 0:
            continue
        missed: dict[int, list[Mark]] = {}
        for mark in marks:
            if mark.missed:
                missed.setdefault(form.bar_begins(mark.step), []).append(mark)
        for begins, of_bar in missed.items():
            costs.append(_bar_cost(part, begins, of_bar, point, form))
    return costs


def _bar_cost(part: str, begins: int, missed: Sequence[Mark], point: float, form: Form) -> BarCost:
    place, bar = form.place(begins), form.bar(begins)
    reasons = list(dict.fromkeys(mark.missed for mark in missed))
    why = "; ".join(reasons[:REASONS])
    if len(reasons) > REASONS:
        why += f"; and {len(reasons) - REASONS} more"
    return BarCost(
        chorus=place.chorus,
        bar=place.bar or 0,
        section=bar.section if bar else "",
        part=part,
        points=point * len(missed),
        why=why,
    )
