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
    weights = {
        part: rubric.weights.get(part, 0.0) for part, found in shares.items() if found is not None
    }
    whole = sum(weights.values())
    lost = 0.0
    points = {PRESENCE: 100.0 / counts[PRESENCE].marks if sounding is not None else 0.0}
    for part, weight in weights.items():
        found = shares[part]
        if whole > 0 and found is not None:
            lost += weight / whole * (1.0 - found)
            points[part] = 100.0 * presence * weight / whole / counts[part].marks
    return Score(shares, presence, max(0.0, 100.0 * presence * (1.0 - lost)), points)


def share(count: Count | None) -> float | None:
    """The earned share, 0 to 1; None where there is nothing to earn."""
    if count is None or not count.marks:
        return None
    return (count.marks - count.missed) / count.marks
