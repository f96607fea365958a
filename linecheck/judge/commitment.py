"""commitment: 0 to 100, from the parts that the report shows, weighed by a rubric.

    commitment = 100 × presence × (weighted mean of the parts' shares)

Of a chorus or a section the parts are its own marks; a part with nothing to earn there is left out
of the mean. The whole take is the mean of its choruses, each counted by its beats that were
judged. What one mark takes is therefore known, and all that was taken adds up to 100 minus the
commitment: silence takes 100 × (1 − presence), and each part its missed share of the rest.

How it behaves: transposing chart and line, moving the line by octaves and another tempo change
nothing. A note that had a purpose and is moved to a pitch outside raises no score. A beat of
walking that is left out or muffled raises none, with two exceptions: a wrong note
that stood between another and its target, once it is gone, makes the other note an approach; and
the rhythm may turn the style of a chorus on the edge, where a breath then costs nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import fsum
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from linecheck.terms import Rubric

PRESENCE = "presence"


class Count(NamedTuple):
    """How many marks of a part a stretch has, and how many of them were missed."""

    marks: int
    missed: int


@dataclass(frozen=True, slots=True)
class Score:
    """Shares 0 to 1 (None: nothing to earn), ``presence``, and the commitment, 0 to 100.

    ``mark_points`` is part → what one whole missed mark takes from the commitment, in points.
    """

    shares: dict[str, float | None]
    presence: float
    commitment: float
    mark_points: dict[str, float]


def weigh(counts: Mapping[str, Count], parts: Iterable[str], rubric: Rubric) -> Score:
    """The score of a stretch from the counts of its marks.

    Args:
        counts: part → its marks in the stretch, presence among them; a part may be missing.
        parts: the parts, without presence.
        rubric: the weights; a part that it does not name weighs nothing.
    """
    shares = {part: share(counts.get(part)) for part in parts}
    sounding = share(counts.get(PRESENCE))
    presence = 1.0 if sounding is None else sounding
    earned = {part: found for part, found in shares.items() if found is not None}
    weights = {part: rubric.weights.get(part, 0.0) for part in earned}
    whole = fsum(weights.values())
    kept = 1.0  # where no part that weighs can be earned, presence alone counts
    points = {PRESENCE: 100.0 / counts[PRESENCE].marks if sounding is not None else 0.0}
    if whole > 0:
        # Each sum is rounded once, so that this is never above 1, and just 1 where all is earned.
        kept = fsum(weight * earned[part] for part, weight in weights.items()) / whole
        for part, weight in weights.items():
            points[part] = 100.0 * presence * weight / whole / counts[part].marks
    return Score(shares, presence, 100.0 * presence * kept, points)


def share(count: Count | None) -> float | None:
    """The earned share, 0 to 1; None where there is nothing to earn."""
    if count is None or not count.marks:
        return None
    return (count.marks - count.missed) / count.marks
