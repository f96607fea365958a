"""The order in which the measures of a score are played: repeats, endings, da capo, coda.

Rules are common practice of printed music: a repeat is played twice unless it says otherwise; an
ending is played in the passes that it names; after a jump (D.C., D.S.) repeats are not taken
again and of the endings the last is played, up to Fine, or to the coda sign and on from the coda.
Each jump is taken once.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.read.score import Flow

ANY = "any label"
MOST_PLAYED = 50_000  # measures; an evening of choruses


@dataclass(frozen=True, slots=True)
class Visit:
    """Measure ``index`` in its turn; ``turned_back`` where a repeat or a jump led back to it."""

    index: int
    turned_back: bool = False


@dataclass(frozen=True, slots=True)
class _Ending:
    """An ending from its first measure to its last, within its group (1st, 2nd, …)."""

    passes: tuple[int, ...]
    last_measure: int
    only_one: bool
    closes_group: bool
    group_passes: int


def played_order(flows: Sequence[Flow]) -> list[Visit]:
    """The visits in order.

    Raises:
        ValueError: the signs lead to more than ``MOST_PLAYED`` measures.
    """
    walk = _Walk(flows)
    visits: list[Visit] = []
    while (visit := walk.next_visit()) is not None:
        visits.append(visit)
        if len(visits) > MOST_PLAYED:
            raise ValueError(f"its repeats lead to more than {MOST_PLAYED} measures")
    return visits


class _Walk:
    """A walk through the measures: ``at`` is the next one, ``turn`` the pass of its repeat."""

    def __init__(self, flows: Sequence[Flow]) -> None:
        self.flows = flows
        self.endings = _endings(flows)
        self.around = _ending_of_each(self.endings, len(flows))
        self.to_coda, self.coda = _coda_signs(flows)
        self.signs = _signs(flows)
        self.at = 0
        self.repeat_start, self.turn = 0, 1
        self.jumped = self.turned = False
        self.jumps_taken: set[int] = set()

    def next_visit(self) -> Visit | None:
        while self.at < len(self.flows):
            if self.flows[self.at].opens_repeat and self.at != self.repeat_start:
                self.repeat_start, self.turn = self.at, 1
            ending = self.endings.get(self.at)
            if ending is None or self._enters(ending):
                visit = Visit(self.at, self.turned)
                self._go_on()
                return visit
            self.at = ending.last_measure + 1
        return None

    def _enters(self, ending: _Ending) -> bool:
        return ending.closes_group if self.jumped else self.turn in ending.passes

    def _go_on(self) -> None:
        """From the measure that was just played to the next."""
        at, flow, inside = self.at, self.flows[self.at], self.around[self.at]
        self.turned = False
        if flow.closes_repeat and (not self.jumped or flow.repeats_after_jump):
            if self.turn < _passes(flow, inside):
                self.turn += 1
                self.at, self.turned = self.repeat_start, True
                return
            self.repeat_start, self.turn = at + 1, 1
        elif inside and inside.closes_group and at == inside.last_measure:
            self.repeat_start, self.turn = at + 1, 1
        if self.jumped and flow.fine:
            self.at = len(self.flows)
        elif self.jumped and at == self.to_coda and self.coda is not None:
            self.at = self.repeat_start = self.coda
            self.to_coda, self.turn, self.jumped = -1, 1, False
        else:
            self._jump_or_step()

    def _jump_or_step(self) -> None:
        target = None
        if self.at not in self.jumps_taken:
            target = _jump_target(self.flows, self.at, self.signs)
        if target is None:
            self.at += 1
            return
        self.jumps_taken.add(self.at)
        self.at = self.repeat_start = target
        self.turn, self.jumped, self.turned = 1, True, True


def _passes(flow: Flow, inside: _Ending | None) -> int:
    if inside is None:
        return flow.closes_repeat
    # A first ending alone is followed by the bars of the second without a bracket.
    return max(inside.passes) + 1 if inside.only_one else inside.group_passes


def _endings(flows: Sequence[Flow]) -> dict[int, _Ending]:
    """First measure → ending; endings that follow each other at once are a group."""
    groups: list[list[tuple[int, int]]] = []
    for start, flow in enumerate(flows):
        if not flow.ending:
            continue
        end = start
        while end + 1 < len(flows) and not (
            flows[end].ending_stops or flows[end].closes_repeat or flows[end + 1].ending
        ):
            end += 1
        end = _up_to_its_repeat(flows, end)
        if groups and groups[-1][-1][1] + 1 == start:
            first, last = groups[-1][0]
            if flows[end].closes_repeat and not _has_next(flows, end):
                # The sign ends another section: a last ending is as long as the first.
                end = min(end, start + last - first)
            groups[-1].append((start, end))
        else:
            groups.append([(start, end)])
    found = {}
    for group in groups:
        # A second ending without a first one is played the first time.
        shift = min(min(flows[start].ending) for start, _ in group) - 1
        most = max(max(flows[start].ending) for start, _ in group) - shift
        for start, end in group:
            passes = tuple(turn - shift for turn in flows[start].ending)
            found[start] = _Ending(passes, end, len(group) == 1, most in passes, most)
    return found


def _up_to_its_repeat(flows: Sequence[Flow], end: int) -> int:
    """A bracket may be drawn over the first bars of its ending only; the ending goes on."""
    at = end
    while at + 1 < len(flows) and not flows[at].closes_repeat and not flows[at + 1].ending:
        at += 1
        if flows[at].opens_repeat:
            return end
    return at if flows[at].closes_repeat and _has_next(flows, at) else end


def _has_next(flows: Sequence[Flow], end: int) -> bool:
    return end + 1 < len(flows) and bool(flows[end + 1].ending)


def _ending_of_each(endings: dict[int, _Ending], count: int) -> list[_Ending | None]:
    around: list[_Ending | None] = [None] * count
    for start, ending in endings.items():
        for at in range(start, ending.last_measure + 1):
            around[at] = ending
    return around


def _coda_signs(flows: Sequence[Flow]) -> tuple[int, int | None]:
    """Measure after which the coda is gone to, and the measure where it begins."""
    codas = [i for i, flow in enumerate(flows) if flow.coda is not None]
    leaving = [i for i, flow in enumerate(flows) if flow.to_coda is not None]
    if not leaving and len(codas) > 1:
        leaving, codas = codas[:1], codas[1:]  # the same sign stands at both ends
    if not leaving or not codas:
        return -1, None
    label = flows[leaving[0]].to_coda
    same = [i for i in codas if flows[i].coda == label and i > leaving[0]]
    return leaving[0], (same or codas)[-1]


def _jump_target(flows: Sequence[Flow], at: int, signs: dict[str, list[int]]) -> int | None:
    """Where a jump from measure ``at`` leads: the last sign of its label before it."""
    flow = flows[at]
    if flow.da_capo:
        return 0
    if flow.dal_segno is None:
        return None
    for label in (flow.dal_segno, ANY):
        before = bisect_left(signs.get(label, []), at)
        if before:
            return signs[label][before - 1]
    return 0


def _signs(flows: Sequence[Flow]) -> dict[str, list[int]]:
    """Label → the measures with such a sign; ``ANY`` for all of them."""
    found: dict[str, list[int]] = {ANY: []}
    for at, flow in enumerate(flows):
        if flow.segno is not None:
            found.setdefault(flow.segno, []).append(at)
            found[ANY].append(at)
    return found
