"""Where a take without a fault can grow: neighbouring bars that were landed on by the root alone.

A root on every landing is right and says little; a third on it tells the chord (common practice).
What is found costs nothing, so it has no points.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from linecheck.practice.practice_plan import Trouble
from linecheck.practice.spots import WeakSpot

if TYPE_CHECKING:
    from linecheck.terms import Audit, Landing

__all__ = ["growth_spots"]

MOST = 2


def growth_spots(audit: Audit, most: int = MOST) -> list[WeakSpot]:
    """Pairs of bars in which every landing of every chorus was met by the root, most chords first.

    Args:
        audit: a complete audit.
        most: at most so many spots.
    """
    landed: defaultdict[tuple[int, float], list[Landing]] = defaultdict(list)
    for landing in audit.labels.landings:
        if landing.counted and landing.place.bar and landing.place.beat:
            landed[landing.place.bar, landing.place.beat].append(landing)
    by_bar: defaultdict[int, list[Trouble | None]] = defaultdict(list)
    for (bar, beat), found in sorted(landed.items()):
        roots = all(landing.met and landing.function == "root" for landing in found)
        trouble = Trouble(
            bar,
            beat,
            found[0].chord,
            0.0,
            len(found),
            missed=0,
            outside=0,
            silent=0,
            only_root=True,
        )
        by_bar[bar].append(trouble if roots else None)
    spots: list[WeakSpot] = []
    pairs = [_pair(by_bar, bar, len(audit.chart.bars)) for bar in by_bar]
    for spot in sorted((p for p in pairs if p), key=lambda spot: -len(spot.troubles)):
        if len(spots) < most and not any(set(spot.bars) & set(one.bars) for one in spots):
            spots.append(spot)
    return spots


def _pair(by_bar: dict[int, list[Trouble | None]], bar: int, bars: int) -> WeakSpot | None:
    """A bar and the one after it, where both were landed on by roots alone and chords change."""
    after = bar % bars + 1
    found = [*by_bar[bar], *by_bar.get(after, [None])] if after != bar else by_bar[bar]
    troubles = [trouble for trouble in found if trouble is not None]
    if len(troubles) < len(found) or len({trouble.chord for trouble in troubles}) < 2:
        return None
    return WeakSpot([bar - 1] if after == bar else [bar - 1, after - 1], [], troubles)
