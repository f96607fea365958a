"""The values that fill a stretch of a bar: plain, dotted, or in a tuplet.

Definition: a stretch is cut at the places that a reader must see: the beat, the halves of a 4/4
bar, the groups of a bar of threes (``form.bar_groups``). A beat (or two, for quarter triplets)
whose places do not fit its halves and quarters is a tuplet. Units: steps of a bar, from its beat
one; common practice.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.music.form import bar_groups, bar_steps
from linecheck.terms import STEPS_PER_BEAT

if TYPE_CHECKING:
    from linecheck.terms import Meter

__all__ = ["Ruler"]


class Ruler:
    """Cuts stretches of one bar into plain values, by the bar's meter and what happens in it.

    Args:
        meter: of the bar.
        edges: the steps, from the bar's beat one, where a note or a rest begins or ends.

    Attributes:
        groups: where the parts of the bar begin that no rest hides.
    """

    def __init__(self, meter: Meter, edges: list[int]) -> None:
        self.steps = bar_steps(meter)
        self.groups = bar_groups(meter)
        ends = (*self.groups[1:], self.steps)
        self._by_threes = len(self.groups) > 1 and any(
            end - begin == 3 * STEPS_PER_BEAT for begin, end in zip(self.groups, ends, strict=True)
        )
        # Keyed by half steps: a 32nd of a 4/4 bar is one and a half steps long.
        whole = 2 * STEPS_PER_BEAT * meter.unit
        self.values: dict[int, tuple[int, int]] = {}
        for value in (1, 2, 4, 8, 16, 32, 64):
            if whole % value == 0:
                self.values[whole // value] = (value, 0)
                if (whole // value) % 2 == 0:
                    self.values[whole // value * 3 // 2] = (value, 1)
        self.tuplets = self._find_tuplets(edges)

    def _find_tuplets(self, edges: list[int]) -> list[tuple[int, int, tuple[int, int]]]:
        """(start, stop, ratio) of every tuplet; a tuplet fills one beat, or two beats in 3:2."""
        found: list[tuple[int, int, tuple[int, int]]] = []
        at = 0
        while at < self.steps:
            pair = {e - at for e in edges if at <= e <= at + 24}
            if at + 24 <= self.steps and at in self.groups and _is_pair(pair):
                found.append((at, at + 24, (3, 2)))
                at += 24
                continue
            inside = {e - at for e in edges if at < e < at + 12}
            ratio = _ratio(inside)
            if ratio:
                found.append((at, at + 12, ratio))
            at += 12
        return found

    def tuplet(self, at: int) -> tuple[int, tuple[int, int]] | None:
        """Number and ratio of the tuplet that a place is in."""
        for number, (start, stop, ratio) in enumerate(self.tuplets):
            if start <= at < stop:
                return number, ratio
        return None

    def cut(self, low: int, high: int, *, rest: bool) -> list[tuple[int, int, int, int]]:
        """(place, steps, value, dots) of the symbols that fill ``low`` to ``high``."""
        pieces = []
        while low < high:
            number = next((i for i, t in enumerate(self.tuplets) if t[0] <= low < t[1]), None)
            if number is not None:
                stop, (many, plain) = self.tuplets[number][1:]
                limit = min(high, stop)
                steps = next(
                    s
                    for s in range(limit - low, 0, -1)
                    if 2 * s * many % plain == 0 and 2 * s * many // plain in self.values
                )
                value, dots = self.values[2 * steps * many // plain]
            else:
                limit = min([high, *(t[0] for t in self.tuplets if t[0] > low)])
                steps = next(
                    s for s in range(limit - low, 0, -1) if self._allowed(low, s, rest=rest)
                )
                value, dots = self.values[2 * steps]
            pieces.append((low, steps, value, dots))
            low += steps
        return pieces

    def _allowed(self, low: int, steps: int, *, rest: bool) -> bool:
        if 2 * steps not in self.values:
            return False
        high = low + steps
        within_beat = low // STEPS_PER_BEAT == (high - 1) // STEPS_PER_BEAT
        crosses = any(low < edge < high for edge in self.groups)
        if within_beat:
            return True
        if rest:
            return low % STEPS_PER_BEAT == 0 and high % STEPS_PER_BEAT == 0 and not crosses
        if low % STEPS_PER_BEAT == 0 and high % STEPS_PER_BEAT == 0:
            return (
                not crosses
                or not self._by_threes
                or (low in self.groups and high in (*self.groups, self.steps))
            )
        # Off the beat: a syncopation may be written whole inside its half of the bar.
        return not crosses and (low % 6 == 0) and (high % 6 == 0)


def _is_pair(edges: set[int]) -> bool:
    """Quarter-note triplets: places a third of two beats apart, and both thirds used."""
    return edges <= {0, 8, 16, 24} and {8, 16} <= edges


def _ratio(inside: set[int]) -> tuple[int, int] | None:
    if all(e % 3 == 0 for e in inside):
        return None
    if all(e % 4 == 0 for e in inside):
        return (3, 2)
    return (6, 4) if all(e % 2 == 0 for e in inside) else (12, 8)
