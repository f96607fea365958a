"""The form clock of a take with bars of its own: its first beat one, and how many choruses.

*Form clock*: the place in the form that a steady count from the first beat one gives. *First beat
one*: in a take with a click the first downbeat of the file's grid, unless whole leading bars are
empty or hold only a count-in or a pickup.

Every way in which the take may begin is a hypothesis: on the one, after a pickup, after a
count-in of one bar or two, with the intro of the chart, late (the form ran before the first
note), or in the middle of the form. Each has a prior (hand-set, from what is common practice) and
is heard against the harmony of the first choruses; all are log-likelihoods in nats. Positions are
quarter notes from the start of the file; steps are twelfths of a beat.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from linecheck.music.form import Form, bar_steps, beat_quarters, counted_alike
from linecheck.place.form_evidence import evidence, form_tables, line_codes, sounding_like_the_top
from linecheck.place.form_weighing import sharpest
from linecheck.place.sorted_arrays import median
from linecheck.terms import STEPS_PER_BEAT, Remark

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from linecheck.terms import Take

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]

HEARD_NOTES = 500
HEARD_BEATS = 256
JUMP_COST = 10.0  # nats for another place of the form later on
RETURN_COST = 3.0  # nats for coming back to the form clock
LOST_COST = 6.0  # nats for a line that from here on is anywhere
CLOSELY_HEARD, NEAR_BEST = 8, 30.0  # so many beginnings within so many nats are heard twice

# Log priors of how a take begins.
ON_ONE = 0.0
LATE = -3.5  # leading bars are rests of the form
SECTION = -6.0  # begins at another section
BAR = -10.0  # begins at another bar
BEAT = -13.0  # begins anywhere
ALIKE = -JUMP_COST - 2.0  # at bars that sound like the top: it begins there, and leaves it later
LAST_BAR = -5.0  # begins with the last bar of the form, which leads into chorus 1
INTRO_SKIPPED = -1.0
COUNT_IN = -2.0
MUTED = 1.5  # hits that are short or soft against the line
PICKUP_LAST_BEAT, PICKUP_LAST_HALF, PICKUP_LONG = 1.5, 0.0, -4.0
NO_PICKUP = -0.5

SURE = 0.8  # below this confidence the first beat one is said to be uncertain
BEGINS_PERHAPS = Remark(
    "where chorus 1 begins is not certain; give --first-beat-one if it is wrong", "beginning"
)
AT_ONCE, COUNTED_IN = "in the bar of the first note", "after a count-in"


@dataclass(frozen=True, slots=True)
class FirstBeatOne:
    """Beat one of chorus 1, bar 1.

    ``quarters`` is its position in the file (before the first note, even negative, where the take
    begins in the middle of the form), ``confidence`` 0 to 1, ``reason`` how the take begins,
    ``warnings`` what the user should hear of it, ``count_in`` how many notes only count in.
    """

    quarters: float
    confidence: float
    reason: str
    warnings: tuple[Remark, ...] = ()
    count_in: int = 0


class _Entry(NamedTuple):
    """A beat where the line proper may begin: log prior, what went before, hits that count in."""

    beat: int
    log_prior: float
    how: str
    count_in: int = 0


@dataclass(frozen=True, slots=True)
class _Beginning:
    """How a take may begin: the beat (of the grid) where the line is at a place of the form."""

    beat: int
    place: int
    score: float
    reason: str
    worth_saying: bool = False
    count_in: int = 0


def count_choruses(last_step: int, last_end_step: int, form: Form) -> int:
    """Choruses that were begun, at least 1.

    A last hit on the one after the form begins none; nor does an ending that the chart has.

    Args:
        last_step: onset of the last note.
        last_end_step: where the line stops.
        form: the chart laid out.
    """
    choruses, rest = divmod(max(0, last_step), form.steps)
    if rest < STEPS_PER_BEAT:
        return max(1, choruses)
    if form.ending_steps and choruses and last_step < choruses * form.steps + form.ending_steps:
        # What is left is the ending, if the line stops with it: short of it by two bars at most.
        short = (choruses * form.steps + form.ending_steps) - max(last_end_step, last_step + 1)
        last_bars = 2 * bar_steps(form.chart.ending[-1].meter)
        if short <= last_bars:
            return choruses
    return choruses + 1


def first_beat_one_on_grid(take: Take, lines: Sequence[float], form: Form) -> FirstBeatOne:
    """Find beat one of chorus 1 in a take whose file has bars.

    Args:
        take: notes with ``onset_quarters``.
        lines: bar lines of the file in quarter notes, ascending, from its first full bar on.
        form: the chart laid out.
    """
    grid = _Grid(take, lines, Form(counted_alike(form.chart)))
    found = grid.beginnings()
    best = max(found, key=lambda b: b.score)
    if best.place:
        found = grid.heard_closely(found)
        best = max(found, key=lambda b: b.score)
    one = best.beat - best.place
    odds: dict[int, float] = {}
    for other in found:
        at = other.beat - other.place
        odds[at] = odds.get(at, 0.0) + float(np.exp(other.score - best.score))
    confidence = odds[one] / sum(odds.values())
    warnings = [Remark(best.reason)] if best.worth_saying else []
    if confidence < SURE:
        warnings.append(BEGINS_PERHAPS)
    return FirstBeatOne(grid.quarters(one), confidence, best.reason, tuple(warnings), best.count_in)


class _Grid:
    """The beginning of a take on the beats of its own file; beat 0 is the first bar line.

    All bars of the form are counted in beats of one length.
    """

    def __init__(self, take: Take, lines: Sequence[float], form: Form) -> None:
        self.form = form
        self.tables = form_tables(form)
        self.unit = beat_quarters(form.chart.bars[0].meter)
        self.bar = form.chart.bars[0].meter.beats
        self.origin = float(lines[0]) if lines else 0.0
        notes = take.notes[:HEARD_NOTES]
        self.beats = np.array([(n.onset_quarters or 0.0) - self.origin for n in notes]) / self.unit
        lasts = np.array([n.duration_quarters or 0.0 for n in notes]) / self.unit
        self.steps = _rough_steps(self.beats)
        ends = np.maximum(self.steps + 1, np.rint((self.beats + lasts) * STEPS_PER_BEAT))
        kept = self.steps < self.steps[0] + HEARD_BEATS * STEPS_PER_BEAT
        self.steps, self.ends = self.steps[kept], ends[kept].astype(np.int64)
        self.pitches = np.array([n.pitch for n in notes], dtype=np.int64)[kept]
        self.loud = np.array([n.velocity for n in notes], dtype=np.int64)[kept]
        self.lines = self._lines(lines)
        self._hear()

    def quarters(self, beat: int) -> float:
        return self.origin + beat * self.unit

    def _lines(self, lines: Sequence[float]) -> list[int]:
        """Bar lines in beats up to some bars after the first note.

        The chart's own bars, where the file's are of another length (a file left at 4/4).
        """
        until = int(self.steps[0]) // STEPS_PER_BEAT + 3 * self.bar
        beats = [(line - self.origin) / self.unit for line in lines]
        own = [round(b) for b in beats if b <= until + 2 * self.bar]
        lengths = np.diff(own)
        usual = {b.meter.beats for b in self.form.chart.bars}
        if len(own) < 2 or not all(int(n) in usual for n in lengths):
            return list(range(0, max(until, 0) + 2 * self.bar, self.bar))
        return own

    def _hear(self) -> None:
        """Score of the line from every beat on, by the place of the form it has at beat 0."""
        line = line_codes(self.steps, self.ends, self.pitches)
        self.first = int(line.beats[0])
        count = int(line.beats[-1]) - self.first + 1
        raw = evidence(line, self.tables, self.first, count)[:, :-1].astype(np.float64)
        blocks = np.add.reduceat(raw, np.arange(0, count, 16), axis=0)
        self.sharpness = sharpest(blocks)
        self.informed = _informed(raw * self.sharpness)
        self.onwards = _onwards(self.informed)
        self.line = line

    def score(self, beat: int, place: int) -> float:
        """Log-likelihood of the line from ``beat`` on, if it has ``place`` there."""
        row = beat - self.first
        if row >= len(self.onwards):
            return 0.0
        return float(self.onwards[max(row, 0), (place - beat) % self.tables.beats])

    def heard_closely(self, found: list[_Beginning]) -> list[_Beginning]:
        """The likeliest beginnings, and those on the one, as the line goes against their clocks.

        A line that is elsewhere at first and then in place is lost at first: it did not begin
        elsewhere and get lost for good.
        """
        likely = sorted(found, key=lambda b: -b.score)
        kept = [b for b in likely[:CLOSELY_HEARD] if b.score > likely[0].score - NEAR_BEST]
        kept += [b for b in found if not b.place and b not in kept]
        return [replace(b, score=b.score + self._against_its_clock(b)) for b in kept]

    def _against_its_clock(self, begun: _Beginning) -> float:
        """What a beginning's score gains where coming back to its clock is easier than a jump."""
        beat = max(begun.beat, begun.beat - begun.place)  # an intro has been scored apart
        row = max(beat - self.first, 0)
        if row >= len(self.informed):
            return 0.0
        offset = (begun.place - begun.beat) % self.tables.beats
        plainly = float(self.onwards[row, offset])
        return _by_the_clock(self.informed[row:], offset) - plainly

    def beginnings(self) -> list[_Beginning]:
        found: list[_Beginning] = []
        for entry in self._entries():
            found += self._places(entry)
        return found

    def _entries(self) -> list[_Entry]:
        """Beats one where the line proper may begin."""
        first = -(-int(self.steps[0]) // STEPS_PER_BEAT)
        bar = max((b for b in self.lines if b <= first), default=first // self.bar * self.bar)
        after = min((b for b in self.lines if b > first), default=bar + self.bar)
        into = (self.steps[0] / STEPS_PER_BEAT - bar) / (after - bar)
        entries: list[_Entry] = []
        met = bool((np.abs(self.steps - after * STEPS_PER_BEAT) <= STEPS_PER_BEAT // 2).any())
        if into > 0.01 and met and len(self.steps) > 2:
            prior = PICKUP_LONG
            if into >= 0.5:
                late = (after - self.steps[0] / STEPS_PER_BEAT) <= 1.01
                prior = PICKUP_LAST_BEAT if late else PICKUP_LAST_HALF
            entries += [_Entry(after, prior, "after a pickup"), _Entry(bar, NO_PICKUP, AT_ONCE)]
        else:
            entries.append(_Entry(bar, 0.0, AT_ONCE))
        return entries + self._count_ins(bar)

    def _count_ins(self, bar: int) -> list[_Entry]:
        """Equal hits on beats or half bars from a bar line on, that fill one bar or two."""
        same = np.flatnonzero(self.pitches != self.pitches[0])
        run = int(same[0]) if same.size else len(self.pitches)
        entries = []
        rest = np.diff(self.pitches[2 * self.bar :]) == 0
        repeats = (float(rest.sum()) + 1.0) / (len(rest) + 5.0)
        for bars in (1, 2):
            end = (bar + bars * self.bar) * STEPS_PER_BEAT
            # The last beats of the count-in may be left to a pickup into the form.
            hits = min(run, int((self.steps < end - 4).sum()))
            inside = self.steps[:hits] - bar * STEPS_PER_BEAT
            if hits < 2 or hits == len(self.steps) or inside[0] or (inside % STEPS_PER_BEAT).any():
                continue
            left = (end - int(self.steps[hits - 1])) // STEPS_PER_BEAT
            widest = int(np.diff(inside).max()) // STEPS_PER_BEAT
            if left > self.bar or widest > (self.bar + 1) // 2 + self.bar % 2:
                continue
            prior = COUNT_IN - (hits - 1) * float(np.log(repeats))
            lasts = (self.ends - self.steps)[:hits].mean(), median((self.ends - self.steps)[hits:])
            if lasts[0] < 0.65 * lasts[1] or self.loud[:hits].mean() < 0.7 * median(self.loud):
                prior += MUTED
            name = "one bar" if bars == 1 else "two bars"
            how = f"{COUNTED_IN} of {name}"
            entries.append(_Entry(bar + bars * self.bar, min(prior, 12.0), how, hits))
        return entries

    def _places(self, entry: _Entry) -> list[_Beginning]:
        """Places of the form that the line may have at an entry."""
        beat, prior, how, hits = entry
        starts = self._bar_starts()
        beats = self.form.beats
        priors = np.full(beats, BEAT)
        words = ["in the middle of a bar of the form"] * beats
        for number, (at, opens) in enumerate(starts, start=1):
            priors[at] = SECTION if opens else BAR
            words[at] = f"at bar {number} of the form"
        priors[sounding_like_the_top(self.form)] = ALIKE
        for line in self.lines:
            if line < beat and beat - line < beats and priors[beat - line] < LATE:
                priors[beat - line] = LATE
                words[beat - line] = "where its bars were counted before the first note"
        intro = self.form.intro_steps // STEPS_PER_BEAT
        priors[0] = INTRO_SKIPPED if intro else ON_ONE
        made = []
        for place in range(beats):
            score = self.score(beat, place) + prior + float(priors[place])
            reason = f"chorus 1 begins {how}"
            at = place
            if place and place >= starts[-1][0]:
                # What is played in the last bar of the form leads into chorus 1: a pickup.
                at -= beats
                score += LAST_BAR - BAR
                reason = "chorus 1 begins after a pickup"
            elif place:
                reason = f"the line begins {words[place]}" + (f" {how}" if hits else "")
            within = 0 < place < starts[-1][0]
            made.append(_Beginning(beat, at, score, reason, within or hits > 0, hits))
        if intro:
            score = self._intro_score(beat) + self.score(beat + intro, 0) + prior
            how = f"the intro begins {how}"
            made.append(_Beginning(beat, -intro, score, how, count_in=hits))
        return made

    def _bar_starts(self) -> list[tuple[int, bool]]:
        return [
            (start // STEPS_PER_BEAT, bar.opens_section)
            for start, bar in zip(self.form.bar_starts, self.form.chart.bars, strict=True)
        ]

    def _intro_score(self, beat: int) -> float:
        """Log-likelihood of the notes from ``beat`` on over the chart's intro."""
        chart = self.form.chart
        both = Form(replace(chart, bars=(*chart.intro, *chart.bars), intro=(), ending=()))
        length = self.form.intro_steps // STEPS_PER_BEAT
        raw = evidence(self.line, form_tables(both), beat, length)[:, :-1].astype(np.float64)
        raw = raw * self.sharpness
        # Column c is the place c beats on from that of the count; the count is ``beat`` → place 0.
        informed = _informed(raw)
        return float(informed[:, -beat % both.beats].sum())


def _informed(raw: Floats) -> Floats:
    """Evidence against a line whose place is by lot, beat by beat."""
    top = raw.max(axis=1, keepdims=True)
    mean: Floats = np.log(np.exp(raw - top).mean(axis=1, keepdims=True)) + top
    return raw - mean


def _onwards(informed: Floats) -> Floats:
    """Best score from each beat to the last, by offset there; the line may jump, at a price."""
    out = np.empty_like(informed)
    value = np.zeros(informed.shape[1])
    for row in range(len(informed) - 1, -1, -1):
        best = float(np.maximum.reduce(value))
        value = np.maximum(value, max(best - JUMP_COST, -LOST_COST)) + informed[row]
        out[row] = value
    return out


def _by_the_clock(informed: Floats, clock: int) -> float:
    """Best score of a line from its first beat to its last, by a clock at the offset ``clock``.

    It may leave the clock at the price of a jump, and come back at a lower one.
    """
    away = np.zeros(informed.shape[1])
    home = 0.0
    for row in informed[::-1]:
        left = max(float(away.max()) - JUMP_COST, -LOST_COST)
        away = np.maximum(away, max(left, home - RETURN_COST)) + row
        home = max(home, left) + float(row[clock])
    return max(home, float(away.max()) - JUMP_COST)


def _rough_steps(beats: Floats) -> Ints:
    """Beats as steps: what is within a fifth of a beat is on it, the rest is off it."""
    nearest = np.rint(beats)
    inside = beats - np.floor(beats)
    off = np.where(inside < 0.4, 4, np.where(inside < 0.6, 6, 8))
    on = np.abs(beats - nearest) <= 0.2
    steps = np.where(on, nearest * STEPS_PER_BEAT, np.floor(beats) * STEPS_PER_BEAT + off)
    return steps.astype(np.int64)
