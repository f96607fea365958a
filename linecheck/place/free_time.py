"""A free take's beats and its first beat one, decided together.

The *first beat one* is beat one of chorus 1, bar 1. Rhythm alone often leaves open which level is
the beat, whether on- or off-beats are meant, and where the form begins; the harmony tells. Every
reading of the beats (``beat_tracking``) is scored with every start: log-likelihood of the onsets,
log-likelihood ratio of the pitches in their places against a line that fits no place, and the log
prior of the start (on the one, a pickup, after a count-in, after the intro, in the middle of the
form). All are natural logarithms and simply add up.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from linecheck.music.form import Form, beat_quarters
from linecheck.place.beat_tracking import BeatCandidate, track_beats
from linecheck.place.form_evidence import evidence, form_tables, line_codes
from linecheck.terms import STEPS_PER_BEAT

Array = NDArray[np.float64]
Steps = NDArray[np.int64]

LOW_BPM, HIGH_BPM = 60.0, 300.0  # quarter notes a minute
EIGHTHS_BPM = (110.0, 420.0)  # where the beat is an eighth
HALVES_BPM = (40.0, 160.0)  # where the beat is a half note
READINGS = 10  # beat candidates that the harmony hears
HEARD_NOTES = 400  # notes of the take's beginning that decide
RHYTHM_TRUST = 0.4  # rhythm's model is rougher than it says
JUMP_COST = 14.0  # nats for moving to another place of the form
BLOCK_BEATS = 8
SHARPNESS = (0.1, 0.25, 0.5, 0.75, 1.0, 1.4)
SHARPNESS_SPREAD = 0.6  # of its logarithm, over players

# Prior of the start by where the first note stands (hand-set).
ON_ONE = 0.55
PICKUP = 0.20  # within the bar before beat one
LATE = 0.10  # within the first bar
INTRO = 0.40  # where the chart has one
AT_SECTION = 0.08
AT_BAR = 0.05
ANYWHERE = 0.02
COUNT_IN = 0.5  # where equal repeated hits begin the take


@dataclass(frozen=True, slots=True)
class FreePlacement:
    """Where the beats of a free take are, and where its form begins.

    Attributes:
        beats_s: ascending times of beats, from before the first onset and beat one to after the
            last onset.
        beat_one: index into ``beats_s`` of beat one of chorus 1, bar 1.
        positions: every onset in beats from beat one (negative before it).
        count_in: how many notes at the start only count in.
        confidence: 0 to 1, of the first beat one among all starts and readings.
        steadiness: 0 to 1, see ``BeatCandidate.confidence``.
        bpm: beats a minute. swing: where in the beat the swung off-beat falls.
    """

    beats_s: Array
    beat_one: int
    positions: Array
    count_in: int
    confidence: float
    steadiness: float
    bpm: float
    swing: float


@dataclass(frozen=True, slots=True)
class _Start:
    """One start: its score, the beat of the reading that is beat one, notes of the count-in."""

    score: float
    beat_one: int
    count_in: int


def place_free(
    onsets_s: Array,
    durations_s: Array,
    pitches: Steps,
    velocities: Array,
    form: Form,
    tempo_hint: float | None = None,
) -> FreePlacement | None:
    """Beats and first beat one of a free take; None where the take is too short to tell.

    Args:
        onsets_s: ascending onsets in seconds. durations_s, pitches, velocities: of the same notes.
        form: the chart laid out.
        tempo_hint: quarter notes a minute that are likely, or None.
    """
    meter = form.chart.bars[0].meter
    unit = beat_quarters(meter)
    hint = None if tempo_hint is None else tempo_hint / unit
    bpm_range = (LOW_BPM, HIGH_BPM) if unit == 1 else HALVES_BPM if unit > 1 else EIGHTHS_BPM
    readings = track_beats(
        onsets_s, velocities, tempo_hint=hint, beats_per_bar=meter.beats, bpm_range=bpm_range
    )
    if not readings:
        return None
    best: tuple[float, BeatCandidate, _Start] | None = None
    scores: list[float] = []
    hearing = _Hearing(form)
    for reading in readings[:READINGS]:
        start, others = hearing.starts(reading, onsets_s, durations_s, pitches)
        total = start.score + RHYTHM_TRUST * (reading.log_likelihood - readings[0].log_likelihood)
        scores.extend(total - start.score + o for o in others)
        if best is None or total > best[0]:
            best = (total, reading, start)
    assert best is not None
    odds = np.exp(np.array(scores) - max(scores))
    return _placement(best[1], best[2], float(1 / odds.sum()))


def _placement(reading: BeatCandidate, start: _Start, confidence: float) -> FreePlacement:
    beats_s, one = reading.beats_s, start.beat_one
    if one < 0:
        pace = (beats_s[min(16, len(beats_s) - 1)] - beats_s[0]) / min(16, len(beats_s) - 1)
        beats_s = np.concatenate([beats_s[0] + np.arange(one, 0) * pace, beats_s])
        positions = reading.positions - one
        one = 0
    else:
        positions = reading.positions
    if one >= len(beats_s):
        pace = beats_s[-1] - beats_s[-2]
        more = one - len(beats_s) + 1
        beats_s = np.concatenate([beats_s, beats_s[-1] + np.arange(1, more + 1) * pace])
    return FreePlacement(
        beats_s=beats_s,
        beat_one=one,
        positions=positions - one,
        count_in=start.count_in,
        confidence=confidence,
        steadiness=1.0,
        bpm=reading.bpm,
        swing=reading.swing,
    )


def rough_steps(positions: Array, swing: float) -> Steps:
    """Positions in beats as steps: on the beat, eighths (swung or not), triplets, sixteenths."""
    beat = np.floor(positions + 0.14)
    inside = positions - beat
    places = np.array([0.0, 0.25, 1 / 3, 0.5, swing, 2 / 3, 0.75])
    steps = np.array([0, 3, 4, 6, 6, 8, 9])
    bias = np.array([0.0, 0.04, 0.03, 0.0, 0.0, 0.02, 0.03])  # rarer places must lie nearer
    nearest = (np.abs(inside[:, None] - places) + bias).argmin(axis=1)
    return (beat * STEPS_PER_BEAT).astype(np.int64) + steps[nearest]


class _Hearing:
    """A chart as the harmony is heard against it."""

    def __init__(self, form: Form) -> None:
        self.form = form
        self.tables = form_tables(form)
        self.bar = form.chart.bars[0].meter.beats
        self.intro = None
        if form.intro_steps:
            chart = replace(form.chart, bars=form.chart.intro, intro=(), ending=())
            self.intro = form_tables(Form(chart))
        self.prior = self._start_prior()

    def _start_prior(self) -> Array:
        """Log prior of the form's beat at the first note, by a beat count within the chorus."""
        beats = self.form.beats
        prior = np.full(beats, ANYWHERE / beats)
        starts, at = [], 0
        for bar in self.form.chart.bars:
            starts.append(at)
            at += bar.meter.beats
        prior[starts] += AT_BAR / len(starts)
        sections = [s for s, b in zip(starts, self.form.chart.bars, strict=True) if b.opens_section]
        prior[sections] += AT_SECTION / max(1, len(sections))
        prior[-self.bar :] += PICKUP / self.bar
        prior[1 : self.bar] += LATE / max(1, self.bar - 1)
        prior[0] += ON_ONE
        return np.log(prior)

    def starts(
        self, reading: BeatCandidate, onsets_s: Array, durations_s: Array, pitches: Steps
    ) -> tuple[_Start, list[float]]:
        """The best start of a reading, and the scores of all its likely starts."""
        steps = rough_steps(reading.positions, reading.swing)
        ends = np.interp(
            onsets_s + durations_s, reading.beats_s, np.arange(len(reading.beats_s), dtype=float)
        )
        ends = np.maximum(np.rint(ends * STEPS_PER_BEAT).astype(np.int64), steps + 1)
        options = [self._from_note(0, steps, ends, pitches)]
        for hits, lengths in _count_ins(onsets_s, pitches, steps, self.bar):
            options.extend(self._counted(hits, lengths, steps, ends, pitches))
        scores = [s for _, found in options for s in found]
        return max((o for o, _ in options), key=lambda o: o.score), scores

    def _rest_of_line(
        self, first: int, steps: Steps, ends: Steps, pitches: Steps
    ) -> tuple[int, Array]:
        """Beat of note ``first``, and the score of the line from it for every place of the form."""
        heard = slice(first, first + HEARD_NOTES)
        line = line_codes(steps[heard], ends[heard], pitches[heard])
        at = int(line.beats[0])
        count = int(line.beats[-1]) - at + 1
        marks = evidence(line, self.tables, at, count)
        # Offsets are against a count from beat 0 of the reading: turn them to the place at ``at``.
        own = np.roll(marks[:, :-1], at % self.tables.beats, axis=1).astype(np.float64)
        return at, _onwards(own)

    def _from_note(
        self, first: int, steps: Steps, ends: Steps, pitches: Steps
    ) -> tuple[_Start, list[float]]:
        at, score = self._rest_of_line(first, steps, ends, pitches)
        score = score + self.prior
        place = int(score.argmax())
        beats = self.form.beats
        ahead = place if place < beats - self.bar else place - beats
        found = _Start(float(score[place]), at - ahead, first)
        return found, score[score > score[place] - 12].tolist()

    def _counted(
        self, hits: int, lengths: list[tuple[int, float]], steps: Steps, ends: Steps, pitches: Steps
    ) -> list[tuple[_Start, list[float]]]:
        at, score = self._rest_of_line(hits, steps, ends, pitches)
        made = []
        for one, log_prior in lengths:
            place = (at - one) % self.form.beats
            total = float(score[place]) + log_prior
            made.append((_Start(total, one, hits), [total]))
        return made


def _onwards(marks: Array) -> Array:
    """How well the line fits from each place at its first beat on, in nats against places by lot.

    The line mostly stays in place; it may jump, at a price. How plainly it shows its place is a
    player's own: the evidence is sharpened or blunted as the take itself tells.
    """
    starts = np.arange(0, len(marks), BLOCK_BEATS)
    blocks = np.add.reduceat(marks, starts, axis=0)
    blocks -= blocks.max(axis=1, keepdims=True)
    best: Array | None = None
    for sharpness in SHARPNESS:
        rows = sharpness * blocks
        lots = np.log(np.exp(rows).mean(axis=1))
        value = np.zeros(marks.shape[1])
        for row in rows[::-1]:
            value = np.maximum(value, value.max() - JUMP_COST) + row
        value += -lots.sum() - 0.5 * (np.log(sharpness) / SHARPNESS_SPREAD) ** 2
        best = value if best is None else np.maximum(best, value)
    return best


def _count_ins(
    onsets_s: Array, pitches: Steps, steps: Steps, bar: int
) -> list[tuple[int, list[tuple[int, float]]]]:
    """Ways in which the take may begin with a count-in.

    Returns:
        (number of hits, [(beat that is beat one, log prior)]) for every way.
    """
    same = np.flatnonzero(pitches[: 2 * bar + 2] != pitches[0])
    run = int(same[0]) if same.size else min(len(pitches), 2 * bar + 2)
    ways: list[tuple[int, list[tuple[int, float]]]] = []
    if run < 2:
        return ways
    beat = np.rint(steps / STEPS_PER_BEAT).astype(np.int64)
    on_beat = np.abs(steps[:run] - beat[:run] * STEPS_PER_BEAT) <= 3
    for hits in range(2, run + 1):
        if not on_beat[:hits].all():
            break
        told = tuple((beat[:hits] - beat[0]).tolist())
        for bars in (1, 2):
            chance = _pattern_chance(told, bars, bar)
            if chance:
                prior = float(np.log(COUNT_IN * chance))
                ways.append((hits, [(int(beat[0]) + bars * bar, prior)]))
    return ways


def _pattern_chance(told: tuple[int, ...], bars: int, bar: int) -> float:
    """How likely hits on these beats (from the first) are as a count-in of so many bars."""
    all_beats = tuple(range(bars * bar))
    half = bar // 2 if bar % 2 == 0 else bar
    halves_then_beats = (*range(0, bar, half), *range(bar, 2 * bar))
    if told == all_beats:
        return 0.4 if bars == 1 else 0.25
    if bars == 2 and told == halves_then_beats:
        return 0.2
    # The last beat or two left to the pickup.
    if len(told) >= bars * bar - 2 and told == all_beats[: len(told)] and len(told) > 2:
        return 0.05
    if told == tuple(range(0, bars * bar, half)) and half > 1 and len(told) > 1:
        return 0.03
    return 0.0
