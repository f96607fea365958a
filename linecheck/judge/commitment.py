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
from typing import TYPE_CHECKING

from linecheck.judge.marks import Mark, share

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from linecheck.terms import Rubric

PRESENCE = "presence"


@dataclass(frozen=True, slots=True)
class Score:
    """Shares 0 to 1 (None: nothing to earn), ``presence``, and the commitment, 0 to 100.

    ``mark_points`` is part → what one whole missed mark takes from the commitment, in points.
    """

    shares: dict[str, float | None]
    presence: float
    commitment: float
    mark_points: dict[str, float]


def weigh(
    parts: Mapping[str, Sequence[Mark]], presence_marks: Sequence[Mark], rubric: Rubric
) -> Score:
    """The score of a stretch from its marks.

    Args:
        parts: part → its marks in the stretch.
        presence_marks: the marks of presence in the stretch.
        rubric: the weights; a part that it does not name weighs nothing.
    """
    shares = {part: share(marks) for part, marks in parts.items()}
    sounding = share(presence_marks)
    presence = 1.0 if sounding is None else sounding
    weights = {
        part: rubric.weights.get(part, 0.0) for part, found in shares.items() if found is not None
    }
    whole = sum(weights.values())
    lost = 0.0
    points = {PRESENCE: 100.0 / len(presence_marks) if presence_marks else 0.0}
    for part, weight in weights.items():
        found = shares[part]
        if whole > 0 and found is not None:
            lost += weight / whole * (1.0 - found)
            points[part] = 100.0 * presence * weight / whole / len(parts[part])
    return Score(shares, presence, max(0.0, 100.0 * presence * (1.0 - lost)), points)
