"""Which landings were met, and by what.

landing: a place where a chord begins, and every beat one. It is met when a chord tone of its chord
is struck for it (place on the landing, within a quarter of a beat of it), or pushed to the
off-beat before and held over it. A ghost meets nothing.

A note placed on the landing decides; where none is, the one pushed and held over it; then one
placed within a quarter of a beat (a sixteenth early or late). A landing over N.C., before the take
begins or after it ends is not counted, nor, in a solo, one in a breath: a rest of two beats or
more, reckoned within the bars that are soloed. Steps are twelfths of a beat.
"""

from __future__ import annotations

from bisect import bisect_left
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from linecheck.label.anticipation import pushes
from linecheck.terms import STEPS_PER_BEAT, Landing, Note, Place

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.label.chord_facts import ChordBook, ChordFacts
    from linecheck.music.form import Form

STRUCK_FOR = STEPS_PER_BEAT // 4
BREATH = 2 * STEPS_PER_BEAT
# A ghost after which nothing sounds still holds the line's place for a while: muffling a held
# note must not turn what it was held over into a breath.
GHOST_HOLDS = 4 * STEPS_PER_BEAT


class _Spot(NamedTuple):
    """A landing as every chorus has it."""

    step: int
    bar: int
    beat: float
    section: str
    opens_section: bool
    facts: ChordFacts


class LandingFinder:
    """Asks for each landing what was played for it.

    Args:
        notes: the labelled notes, in the order of their places.
        form: the form.
        book: the chords' facts.
    """

    def __init__(self, notes: Sequence[Note], form: Form, book: ChordBook) -> None:
        self._notes = notes
        self._form = form
        self._spots = _spots(form, book)
        self._steps = [note.step for note in notes]

    def find(self, solo_bars: Sequence[bool], judged: tuple[int, int]) -> tuple[Landing, ...]:
        """Every landing of the choruses that were begun, in their order.

        Args:
            solo_bars: for every bar of these choruses, whether it is soloed.
            judged: from which step to which (exclusive) the take is judged.
        """
        landings: list[Landing] = []
        bars = len(self._form.chart.bars)
        runs = self._runs(solo_bars)
        for chorus in range(len(solo_bars) // bars):
            first = chorus * self._form.steps
            for spot in self._spots:
                step = first + spot.step
                played = index, _ = self._played_for(step, spot.facts)
                counted = spot.facts.is_chord and judged[0] <= step < judged[1]
                if counted and index is None and solo_bars[chorus * bars + spot.bar - 1]:
                    counted = not self._in_a_breath(step, runs[chorus * bars + spot.bar - 1])
                place = Place(chorus + 1, spot.bar, spot.beat)
                landings.append(self._landing(place, spot, played, counted))
        return tuple(landings)

    def _played_for(self, step: int, facts: ChordFacts) -> tuple[int | None, bool]:
        """The note that was played for the landing at ``step``, and whether it was pushed."""
        notes, steps = self._notes, self._steps
        at = bisect_left(steps, step)
        if at < len(steps) and steps[at] == step:
            return self._struck_on(step, at, facts), False
        before = at - 1
        if before >= 0 and not notes[before].ghost:
            note = notes[before]
            next_step = steps[at] if at < len(steps) else None
            where = self._form.at(note.step)
            if pushes(self._form, where, note.step, note.end_step, next_step) == step:
                return before, True
            if step - note.step <= STRUCK_FOR and note.end_step > step:
                return before, False
        if at < len(steps) and steps[at] - step <= STRUCK_FOR:
            return at, False
        return None, False

    def _struck_on(self, step: int, at: int, facts: ChordFacts) -> int:
        """Of the notes placed on the landing itself, the first that meets it, else the first."""
        best = at
        while at < len(self._steps) and self._steps[at] == step:
            if _meets(self._notes[at], facts):
                return at
            if self._notes[best].ghost:
                best = at
            at += 1
        return best

    def _runs(self, solo_bars: Sequence[bool]) -> list[tuple[int, int]]:
        """For every bar from which step to which the bars around it are in its style."""
        starts, bars = self._form.bar_starts, len(self._form.chart.bars)
        runs: list[tuple[int, int]] = []
        first = 0
        for _, run in groupby(solo_bars):
            stop = first + sum(1 for _ in run)
            begin, end = (at // bars * self._form.steps + starts[at % bars] for at in (first, stop))
            runs += [(begin, end)] * (stop - first)
            first = stop
        return runs

    def _in_a_breath(self, step: int, run: tuple[int, int]) -> bool:
        at = bisect_left(self._steps, step)
        silent_from = float("-inf")
        if at:
            note = self._notes[at - 1]
            held_to = note.step + GHOST_HOLDS if note.ghost else note.end_step
            silent_from = max(note.end_step, held_to)
        silent_to = self._steps[at] if at < len(self._steps) else float("inf")
        begin, end = run
        return silent_from <= step and min(silent_to, end) - max(silent_from, begin) >= BREATH

    def _landing(
        self, place: Place, spot: _Spot, played: tuple[int | None, bool], counted: bool
    ) -> Landing:
        index, pushed = played
        note = None if index is None else self._notes[index]
        met = note is not None and _meets(note, spot.facts)
        function = None
        if note is not None:
            function = spot.facts.tones[note.pitch % 12] if met else note.function
        return Landing(
            step=(place.chorus - 1) * self._form.steps + spot.step,
            place=place,
            section=spot.section,
            chord=spot.facts.chord.symbol,
            opens_section=spot.opens_section,
            met=met,
            function=function,
            anticipated=pushed,
            placement_ms=None if note is None else note.placement_ms,
            note=index,
            counted=counted,
        )


def _meets(note: Note, facts: ChordFacts) -> bool:
    return not note.ghost and facts.tones[note.pitch % 12] is not None


def _spots(form: Form, book: ChordBook) -> list[_Spot]:
    spots: list[_Spot] = []
    for step in form.landings:
        where = form.at(step)
        if where is not None:
            bar, beat = where.spot.bar, where.spot.beat
            opens = bar.opens_section and beat == 1
            facts = book.facts(where.spot.chord)
            spots.append(_Spot(step, bar.number, beat, bar.section, opens, facts))
    return spots
