"""The form as a line of steps: which bar and which chord is in force at every step.

Step 0 is beat one of chorus 1, bar 1. Before it runs the intro (if the chart has one), after the
last chorus the ending. A step is a twelfth of a beat; see ``terms``.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from itertools import accumulate
from typing import NamedTuple

from linecheck.terms import STEPS_PER_BEAT, Bar, Chart, Chord, Meter, Place


def bar_steps(meter: Meter) -> int:
    """Length of a bar in steps."""
    return meter.beats * STEPS_PER_BEAT


def beat_quarters(meter: Meter) -> float:
    """Length of one beat of the meter in quarter notes: 1.0 in 4/4, 0.5 in 6/8."""
    return 4.0 / meter.unit


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
        self.bar_at_beat = [index for index, b in enumerate(bars) for _ in range(b.meter.beats)]
        self.chord_starts: list[int] = []
        self.chords: list[Chord] = []
        for start, bar in zip(self.bar_starts, bars, strict=False):
            for chart_chord in bar.chords:
                self.chord_starts.append(start + chart_chord.step)
                self.chords.append(chart_chord.chord)
        self.landing_set = frozenset((*self.bar_starts[:-1], *self.chord_starts))
        self.landings = tuple(sorted(self.landing_set))

    def bar_index(self, local: int) -> int:
        return self.bar_at_beat[local // STEPS_PER_BEAT]

    def chord(self, local: int) -> Chord:
        return self.chords[bisect_right(self.chord_starts, local) - 1]

    def quarters_of(self, local: int) -> float:
        bar = self.bar_index(local)
        beats = (local - self.bar_starts[bar]) / STEPS_PER_BEAT
        return self.bar_quarters[bar] + beats * beat_quarters(self.bars[bar].meter)

    def beats_of(self, quarters: float) -> float:
        """Beats from the stretch's beginning for 0 up to all of its quarter notes."""
        bar = min(bisect_right(self.bar_quarters, quarters), len(self.bars)) - 1
        inside = (quarters - self.bar_quarters[bar]) / beat_quarters(self.bars[bar].meter)
        return self.bar_starts[bar] / STEPS_PER_BEAT + inside


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
        landings: the steps within one chorus where a chord begins or a bar begins, ascending.
            A chord that only goes on over a bar line gives a landing at the beat one alone.
    """

    def __init__(self, chart: Chart, choruses: int | None = None) -> None:
        self.chart = chart
        self.choruses = choruses
        self._chorus = _Stretch(chart.bars)
        self._intro = _Stretch(chart.intro)
        self._ending = _Stretch(chart.ending)
        self.steps = self._chorus.steps
        self.beats = self._chorus.beats
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

    def place(self, step: int) -> Place:
        """Chorus, bar and beat of a step; bar and beat are None before the intro (a pickup)."""
        found = self._find(step)
        if found is None:
            return Place(0, None, None)
        stretch, _, _, local, chorus = found
        bar = stretch.bar_index(local)
        return Place(chorus, bar + 1, 1 + (local - stretch.bar_starts[bar]) / STEPS_PER_BEAT)

    def bar(self, step: int) -> Bar | None:
        """The bar in force; None before the intro."""
        found = self._find(step)
        return None if found is None else found.stretch.bars[found.stretch.bar_index(found.local)]

    def bar_begins(self, step: int) -> int:
        """The step of the beat one of the bar in force; ``step`` itself before the intro."""
        found = self._find(step)
        if found is None:
            return step
        return found.begins + found.stretch.bar_starts[found.stretch.bar_index(found.local)]

    def chord(self, step: int) -> Chord | None:
        """The chord in force (N.C. is a Chord with root None); None before the intro."""
        found = self._find(step)
        return None if found is None else found.stretch.chord(found.local)

    def next_landing(self, step: int) -> int:
        """The first landing after ``step``: a chord's beginning or a beat one."""
        found = self._find(step + 1)
        if found is None:
            return -self.intro_steps
        landings = found.stretch.landings
        index = bisect_left(landings, found.local)
        within = landings[index] if index < len(landings) else found.stretch.steps
        return found.begins + within

    def is_landing(self, step: int) -> bool:
        """Whether a chord or a bar begins at this very step."""
        found = self._find(step)
        return found is not None and found.local in found.stretch.landing_set

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

    def _pickup_beat_quarters(self) -> float:
        """Length of a beat before the intro: that of the first bar that follows it."""
        return beat_quarters((*self.chart.intro, *self.chart.bars)[0].meter)
