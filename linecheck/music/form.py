"""The form as a line of steps: which bar and which chord is in force at every step.

Step 0 is beat one of chorus 1, bar 1. Before it runs the intro (if the chart has one), after the
last chorus the ending. A step is a twelfth of a beat; see ``terms``.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import replace
from functools import lru_cache
from itertools import accumulate
from typing import NamedTuple

from linecheck.music.same_object import SameObject
from linecheck.terms import STEPS_PER_BEAT, Bar, Chart, Chord, Meter, Place

ENDING_BARS = 2  # left out of the last chorus it is whole: tunes end on the tonic (common practice)
CHARTS_KEPT = 24  # runs of bars that stay laid out: a take's chart has three


def bar_steps(meter: Meter) -> int:
    """Length of a bar in steps."""
    return meter.beats * STEPS_PER_BEAT


def beat_quarters(meter: Meter) -> float:
    """Length of one beat of the meter in quarter notes: 1.0 in 4/4, 0.5 in 6/8."""
    return 4.0 / meter.unit


def group_sizes(count: int) -> tuple[int, ...]:
    """How so many beats of a bar are grouped: by twos, with a three where they are odd.

    Five are three and two, seven two, two and three (common practice).
    """
    if count <= 3:
        return (count,)
    if count == 5:
        return (3, 2)
    return (2,) * (count // 2) if count % 2 == 0 else (*(2,) * (count // 2 - 1), 3)


def is_compound(meter: Meter) -> bool:
    """Whether the beats go by threes, as in 3/8, 6/8 and 12/16 (common practice)."""
    return meter.unit >= 8 and meter.beats % 3 == 0


def bar_groups(meter: Meter) -> list[int]:
    """The steps where the groups of a bar begin: halves of 4/4, dotted quarters of 6/8, 3 + 2."""
    sizes = (3,) * (meter.beats // 3) if is_compound(meter) else group_sizes(meter.beats)
    return list(accumulate((STEPS_PER_BEAT * size for size in sizes[:-1]), initial=0))


def chart_beat_quarters(chart: Chart) -> float:
    """Mean length of a beat of a chart in quarter notes: 1.0 where all meters count them."""
    beats = sum(bar.meter.beats for bar in chart.bars)
    return sum(bar.meter.beats * beat_quarters(bar.meter) for bar in chart.bars) / beats


def counted_alike(chart: Chart) -> Chart:
    """The chart with every bar counted in the shortest beat of any; itself where none differs.

    A 4/4 bar beside 6/8 is a bar of eight eighths, so that a beat is as long in every bar.
    """
    stretches = (chart.intro, chart.bars, chart.ending)
    units = {bar.meter.unit for bars in stretches for bar in bars}
    if len(units) == 1:
        return chart
    intro, bars, ending = (
        tuple(_counted_in(bar, max(units)) for bar in stretch) for stretch in stretches
    )
    return replace(chart, meter=bars[0].meter, intro=intro, bars=bars, ending=ending)


def _counted_in(bar: Bar, unit: int) -> Bar:
    times = unit // bar.meter.unit  # units are powers of two
    chords = tuple(
        replace(placed, step=placed.step * times, steps=placed.steps * times)
        for placed in bar.chords
    )
    return replace(bar, meter=Meter(bar.meter.beats * times, unit), chords=chords)


def whole_bars(beats: float, chart: Chart) -> tuple[int, float]:
    """A distance in the form (beats, either way) as bars and the beats that are over.

    Bars are counted only where all bars of the chart are of one length; else there are none.
    """
    beats = abs(beats)
    lengths = {bar.meter.beats for bar in chart.bars}
    bars, rest = divmod(beats, lengths.pop()) if len(lengths) == 1 else (0, beats)
    return int(bars), rest


class Spot(NamedTuple):
    """What stands at one step of a run of bars, whenever it is played.

    ``bar_begins`` and ``next_landing`` (the first one after the step) are steps from where the
    run begins; ``beat`` counts from 1 in the bar.
    """

    bar: Bar
    bar_index: int
    bar_begins: int
    beat: float
    chord: Chord
    is_landing: bool
    next_landing: int


class _Stretch:
    """A run of bars (the intro, one chorus or the ending) laid out in steps from 0."""

    def __init__(self, bars: tuple[Bar, ...]) -> None:
        self.bars = bars
        self.bar_starts = list(accumulate((bar_steps(b.meter) for b in bars), initial=0))
        self.bar_quarters = list(
            accumulate((b.meter.beats * beat_quarters(b.meter) for b in bars), initial=0.0)
        )
        self.steps = self.bar_starts[-1]
        self.beats = self.steps // STEPS_PER_BEAT
        self.quarters = self.bar_quarters[-1]
        chord_starts = [
            start + c.step
            for start, bar in zip(self.bar_starts, bars, strict=False)
            for c in bar.chords
        ]
        self.landings = tuple(sorted({*self.bar_starts[:-1], *chord_starts}))
        self.spots = self._spots()

    def _spots(self) -> list[Spot]:
        """One for every step."""
        spots: list[Spot] = []
        landings = set(self.landings)
        following = (*self.landings[1:], self.steps)
        after = dict(zip(self.landings, following, strict=True)) if self.landings else {}
        next_landing = 0
        for index, bar in enumerate(self.bars):
            begins = self.bar_starts[index]
            for chord in bar.chords:
                for inside in range(chord.step, chord.step + chord.steps):
                    step = begins + inside
                    next_landing = after.get(step, next_landing)
                    beat = 1 + inside / STEPS_PER_BEAT
                    is_landing = step in landings
                    spots.append(
                        Spot(bar, index, begins, beat, chord.chord, is_landing, next_landing)
                    )
        return spots

    def quarters_of(self, local: int) -> float:
        spot = self.spots[local]
        beats = (local - spot.bar_begins) / STEPS_PER_BEAT
        return self.bar_quarters[spot.bar_index] + beats * beat_quarters(spot.bar.meter)

    def beats_of(self, quarters: float) -> float:
        """Beats from the stretch's beginning for 0 up to all of its quarter notes."""
        bar = min(bisect_right(self.bar_quarters, quarters), len(self.bars)) - 1
        inside = (quarters - self.bar_quarters[bar]) / beat_quarters(self.bars[bar].meter)
        return self.bar_starts[bar] / STEPS_PER_BEAT + inside


@lru_cache(maxsize=CHARTS_KEPT)
def _laid_out(bars: SameObject[tuple[Bar, ...]]) -> _Stretch:
    return _Stretch(bars.it)


class Where(NamedTuple):
    """Where a step is: what stands there, the step its run of bars begins at, its chorus."""

    spot: Spot
    begins: int
    chorus: int


class _Found(NamedTuple):
    """Where a step is: the stretch in force, where that begins, the step within, its chorus."""

    stretch: _Stretch
    begins: int
    begins_quarters: float
    local: int
    chorus: int


class Form:
    """A chart laid out in steps.

    Before step 0 runs the intro, which is chorus 0. After the last chorus runs the ending, which
    is the chorus after it; what is played after the form (and its ending) is taken as the form
    going round again, so a last hit stands on bar 1, beat 1 of one chorus more.

    Args:
        chart: the chart, of at least one bar.
        choruses: how many choruses were played; after them the ending is in force. None: the
            choruses never end.

    Attributes:
        steps: length of one chorus in steps. beats: the same in beats.
        bar_starts: the steps within one chorus where a bar begins, one a bar.
        landings: the steps within one chorus where a chord begins or a bar begins, ascending.
            A chord that only goes on over a bar line gives a landing at the beat one alone.
    """

    def __init__(self, chart: Chart, choruses: int | None = None) -> None:
        self.chart = chart
        self.choruses = choruses
        self._chorus = _laid_out(SameObject(chart.bars))
        self._intro = _laid_out(SameObject(chart.intro))
        self._ending = _laid_out(SameObject(chart.ending))
        self.steps = self._chorus.steps
        self.beats = self._chorus.beats
        self.bar_starts: tuple[int, ...] = tuple(self._chorus.bar_starts[:-1])
        self.intro_steps = self._intro.steps
        self.ending_steps = self._ending.steps
        self.landings: tuple[int, ...] = self._chorus.landings

    def _find(self, step: int) -> _Found | None:
        """Where a step is; None where no chart is in force: before the intro."""
        if step < 0:
            local = step + self.intro_steps
            if local < 0:
                return None
            return _Found(self._intro, -self.intro_steps, -self._intro.quarters, local, 0)
        turn, local = divmod(step, self.steps)
        if self.choruses is None or turn < self.choruses:
            quarters = turn * self._chorus.quarters
            return _Found(self._chorus, step - local, quarters, local, turn + 1)
        return self._find_after(step, self.choruses)

    def _find_after(self, step: int, choruses: int) -> _Found:
        over = step - choruses * self.steps
        quarters = choruses * self._chorus.quarters
        chorus = choruses + 1
        if over < self.ending_steps:
            return _Found(self._ending, step - over, quarters, over, chorus)
        if self.ending_steps:
            quarters += self._ending.quarters
            chorus += 1
        turn, local = divmod(over - self.ending_steps, self.steps)
        quarters += turn * self._chorus.quarters
        return _Found(self._chorus, step - local, quarters, local, chorus + turn)

    def at(self, step: int) -> Where | None:
        """All that is known of a step; None before the intro, where no chart is in force."""
        if step >= 0 and (self.choruses is None or step < self.choruses * self.steps):
            turn, local = divmod(step, self.steps)
            return Where(self._chorus.spots[local], step - local, turn + 1)
        found = self._find(step)
        if found is None:
            return None
        return Where(found.stretch.spots[found.local], found.begins, found.chorus)

    def place(self, step: int) -> Place:
        """Chorus, bar and beat of a step; bar and beat are None before the intro (a pickup)."""
        where = self.at(step)
        if where is None:
            return Place(0, None, None)
        return Place(where.chorus, where.spot.bar_index + 1, where.spot.beat)

    def bar(self, step: int) -> Bar | None:
        """The bar in force; None before the intro."""
        where = self.at(step)
        return None if where is None else where.spot.bar

    def bar_begins(self, step: int) -> int:
        """The step of the beat one of the bar in force; ``step`` itself before the intro."""
        where = self.at(step)
        return step if where is None else where.begins + where.spot.bar_begins

    def chord(self, step: int) -> Chord | None:
        """The chord in force (N.C. is a Chord with root None); None before the intro."""
        where = self.at(step)
        return None if where is None else where.spot.chord

    def next_landing(self, step: int) -> int:
        """The first landing after ``step``: a chord's beginning or a beat one."""
        where = self.at(step)
        return -self.intro_steps if where is None else where.begins + where.spot.next_landing

    def is_landing(self, step: int) -> bool:
        """Whether a chord or a bar begins at this very step."""
        where = self.at(step)
        return where is not None and where.spot.is_landing

    def quarters_of(self, step: int) -> float:
        """Quarter notes from step 0 to ``step`` by the meters of the chart (negative before)."""
        found = self._find(step)
        if found is not None:
            return found.begins_quarters + found.stretch.quarters_of(found.local)
        before = (step + self.intro_steps) / STEPS_PER_BEAT
        return before * self._pickup_beat_quarters() - self._intro.quarters

    def beats_of_quarters(self, quarters: float) -> float:
        """Beats from step 0 for a distance in quarter notes: the inverse of ``quarters_of``."""
        if quarters < 0:
            local = quarters + self._intro.quarters
            if local < 0:
                return local / self._pickup_beat_quarters() - self._intro.beats
            return self._intro.beats_of(local) - self._intro.beats
        turn, local = divmod(quarters, self._chorus.quarters)
        if self.choruses is None or turn < self.choruses:
            return turn * self.beats + self._chorus.beats_of(local)
        beats = float(self.choruses * self.beats)
        over = quarters - self.choruses * self._chorus.quarters
        if over < self._ending.quarters:
            return beats + self._ending.beats_of(over)
        turn, local = divmod(over - self._ending.quarters, self._chorus.quarters)
        return beats + self._ending.beats + turn * self.beats + self._chorus.beats_of(local)

    def beat_quarters_at(self, step: int) -> float:
        """Length of the beat in force at a step in quarter notes."""
        bar = self.bar(step)
        return self._pickup_beat_quarters() if bar is None else beat_quarters(bar.meter)

    def _pickup_beat_quarters(self) -> float:
        """Length of a beat before the intro: that of the first bar that follows it."""
        return beat_quarters((*self.chart.intro, *self.chart.bars)[0].meter)
