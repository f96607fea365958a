"""The form as a line of steps: which bar and which chord is in force at every step.

Step 0 is beat one of chorus 1, bar 1. Before it runs the intro (if the chart has one), after the
last chorus the ending. A step is a twelfth of a beat; see ``terms``.
"""

from __future__ import annotations

from bisect import bisect_right
from itertools import accumulate

from linecheck.terms import STEPS_PER_BEAT, Bar, Chart, ChartChord, Chord, Meter, Place


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
        self.steps = self.bar_starts[-1]
        self.beats = self.steps // STEPS_PER_BEAT
        self.bar_at_beat: list[int] = []
        self.chord_starts: list[int] = []
        self.chords: list[ChartChord] = []
        self.chord_bars: list[int] = []
        quarters = [0.0]
        for index, bar in enumerate(bars):
            self.bar_at_beat.extend([index] * bar.meter.beats)
            quarters.append(quarters[-1] + bar.meter.beats * beat_quarters(bar.meter))
            for chart_chord in bar.chords:
                self.chord_starts.append(self.bar_starts[index] + chart_chord.step)
                self.chords.append(chart_chord)
                self.chord_bars.append(index)
        self.bar_quarters = quarters
        self.quarters = quarters[-1]
        self.landing_set = frozenset((*self.bar_starts[:-1], *self.chord_starts))
        self.landings = tuple(sorted(self.landing_set))

    def bar_index(self, step: int) -> int:
        return self.bar_at_beat[step // STEPS_PER_BEAT]

    def chord_index(self, step: int) -> int:
        return bisect_right(self.chord_starts, step) - 1


class Form:
    """A chart laid out in steps.

    Args:
        chart: the chart.
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

    def _find(self, step: int) -> tuple[_Stretch, int, int] | None:
        """The stretch in force, the step within it, and its chorus number; None: no chart there."""
        if step < 0:
            local = step + self.intro_steps
            return (self._intro, local, 0) if local >= 0 else None
        chorus, local = divmod(step, self.steps)
        if self.choruses is not None and chorus >= self.choruses:
            local = step - self.choruses * self.steps
            if local < self.ending_steps:
                return self._ending, local, self.choruses + 1
            # A last hit on the one, or playing on: the form is taken as going round again.
            return self._chorus, local % self.steps, self.choruses + 1 + local // self.steps
        return self._chorus, local, chorus + 1

    def place(self, step: int) -> Place:
        """Chorus, bar and beat of a step; bar and beat are None before the intro (a pickup)."""
        found = self._find(step)
        if found is None:
            return Place(0, None, None)
        stretch, local, chorus = found
        bar = stretch.bar_index(local)
        return Place(chorus, bar + 1, 1 + (local - stretch.bar_starts[bar]) / STEPS_PER_BEAT)

    def bar(self, step: int) -> Bar | None:
        """The bar in force; None before the intro."""
        found = self._find(step)
        return None if found is None else found[0].bars[found[0].bar_index(found[1])]

    def bar_begins(self, step: int) -> int:
        """The step of the beat one of the bar in force; ``step`` itself before the intro."""
        found = self._find(step)
        if found is None:
            return step
        stretch, local, _ = found
        return step - local + stretch.bar_starts[stretch.bar_index(local)]

    def chord(self, step: int) -> Chord | None:
        """The chord in force (N.C. is a Chord with root None); None before the intro."""
        found = self._find(step)
        return None if found is None else found[0].chords[found[0].chord_index(found[1])].chord

    def next_chord_step(self, step: int) -> int:
        """The first step after ``step`` where the chord changes to another symbol.

        Chords that follow each other with the same symbol are one chord. On a chart of a single
        chord it is the same place one chorus on.
        """
        now = self.chord(step)
        symbol = now.symbol if now else None
        at = step
        while True:
            at = self.next_landing(at)
            after = self.chord(at)
            if (after.symbol if after else None) != symbol or at - step >= self.steps:
                return at

    def next_landing(self, step: int) -> int:
        """The first landing after ``step``: a chord's beginning or a beat one."""
        found = self._find(step + 1)
        if found is None:
            return -self.intro_steps
        stretch, local, _ = found
        base = step + 1 - local
        index = bisect_right(stretch.landings, local - 1)
        return base + (stretch.landings[index] if index < len(stretch.landings) else stretch.steps)

    def is_landing(self, step: int) -> bool:
        """Whether a chord or a bar begins at this very step."""
        found = self._find(step)
        if found is None:
            return False
        stretch, local, _ = found
        return local in stretch.landing_set

    def quarters_of(self, step: int) -> float:
        """Quarter notes from step 0 to ``step`` by the meters of the chart (negative before)."""
        found = self._find(step)
        if found is None:
            unit = beat_quarters(self.chart.bars[0].meter)
            return -self._intro.quarters + (step + self.intro_steps) / STEPS_PER_BEAT * unit
        stretch, local, chorus = found
        bar = stretch.bar_index(local)
        inside = (local - stretch.bar_starts[bar]) / STEPS_PER_BEAT
        at = stretch.bar_quarters[bar] + inside * beat_quarters(stretch.bars[bar].meter)
        if stretch is self._intro:
            return at - self._intro.quarters
        return self._chorus.quarters * (chorus - 1) + at

    def beats_of_quarters(self, quarters: float) -> float:
        """Beats from step 0 for a distance in quarter notes: the inverse of ``quarters_of``."""
        stretch, rest, beats = self._chorus, quarters, 0.0
        if quarters < 0:
            stretch, rest, beats = self._intro, quarters + self._intro.quarters, 0.0
            beats = -float(self._intro.beats)
            if rest < 0:
                return beats + rest / beat_quarters(self.chart.bars[0].meter)
        else:
            chorus, rest = divmod(quarters, self._chorus.quarters)
            if self.choruses is not None and chorus >= self.choruses:
                chorus, rest = self.choruses, quarters - self.choruses * self._chorus.quarters
                if self._ending.quarters and rest < self._ending.quarters:
                    stretch = self._ending
                elif rest >= self._chorus.quarters:
                    more, rest = divmod(rest, self._chorus.quarters)
                    chorus += more
            beats = chorus * self.beats
        bar = min(bisect_right(stretch.bar_quarters, rest) - 1, len(stretch.bars) - 1)
        inside = (rest - stretch.bar_quarters[bar]) / beat_quarters(stretch.bars[bar].meter)
        return beats + stretch.bar_starts[bar] / STEPS_PER_BEAT + inside
