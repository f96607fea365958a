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
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from linecheck.music.form import Form, beat_quarters
from linecheck.place.beat_tracking import track_beats
from linecheck.place.count_in import CountIn, count_ins
from linecheck.place.form_evidence import evidence, form_tables, line_codes
from linecheck.terms import STEPS_PER_BEAT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.place.beat_tracking import BeatCandidate
    from linecheck.place.form_evidence import FormTables
    from linecheck.terms import TakeNote

Array = NDArray[np.float64]
Steps = NDArray[np.int64]

# Slowest and fastest mean tempo in beats a minute, by the beat's length in quarter notes.
BPM = {1.0: (40.0, 300.0), 0.5: (80.0, 420.0), 2.0: (27.0, 160.0)}
NEAR = 1.3  # a take keeps to a given tempo within this factor
HEARD_NOTES = 400  # notes of the take's beginning that decide
RHYTHM_TRUST = 0.2  # rhythm's model is rougher than it says
JUMP_COST = 11.0  # nats for moving to another place of the form
BLOCK_BEATS = 8
SHARPNESS = (0.1, 0.25, 0.5, 0.75, 1.0, 1.4)
SHARPNESS_SPREAD = 0.6  # of its logarithm, over players

# Prior of the start by where the first note stands (hand-set).
ON_ONE = 0.55
PICKUP = 0.20  # within the bar before beat one
LATE = 0.10  # within the first bar
INTRO = ((0, 0.4), (1, 0.06), (-1, 0.06))  # where the chart has one: beats after the first note
INTRO_SHARPNESS = 0.7
LIKELY = 12.0  # nats below the best start: what is less likely is left out
AT_SECTION = 0.08
AT_BAR = 0.05
ANYWHERE = 0.02
# Where a line is that was counted in: at the top, at a section, at a bar, anywhere.
COUNTED_TO = (0.85, 0.1, 0.04, 0.01)


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
        steadiness: 0 to 1, see ``BeatCandidate``.
        bpm: beats a minute.
        swing: where in the beat the swung off-beat falls.
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
class _Line:
    """The take's notes, one entry each."""

    onsets_s: Array
    ends_s: Array
    pitches: Steps
    loud: Array


@dataclass(frozen=True, slots=True)
class _Start:
    """One start: its score, the beat of the reading that is beat one, notes of the count-in."""

    score: float
    beat_one: int
    count_in: int


def place_free(
    notes: Sequence[TakeNote],
    form: Form,
    *,
    chart_tempo: float | None = None,
    given_tempo: float | None = None,
) -> FreePlacement | None:
    """Beats and first beat one of a free take; None where the take is too short to tell.

    Args:
        notes: of the take, in the order of their onsets.
        form: the chart laid out, all its bars counted in beats of one length.
        chart_tempo: quarter notes a minute by the chart: likely, but many practise slower.
        given_tempo: quarter notes a minute by the user: the take is near it.
    """
    line = _Line(
        np.array([n.onset_s for n in notes], dtype=np.float64),
        np.array([n.onset_s + n.duration_s for n in notes], dtype=np.float64),
        np.array([n.pitch for n in notes], dtype=np.int64),
        np.array([n.velocity for n in notes], dtype=np.float64),
    )
    meter = form.chart.bars[0].meter
    unit = beat_quarters(meter)
    hint, bpm_range = chart_tempo, BPM[1.0] if unit == 1 else BPM[2.0] if unit > 1 else BPM[0.5]
    if given_tempo is not None:
        hint, bpm_range = given_tempo, (given_tempo / unit / NEAR, given_tempo / unit * NEAR)
    readings = track_beats(
        line.onsets_s,
        line.loud,
        tempo_hint=None if hint is None else hint / unit,
        beats_per_bar=meter.beats,
        bpm_range=bpm_range,
    )
    if not readings:
        return None
    hearing = _Hearing(form)
    found: list[tuple[float, int, _Start]] = []
    for number, reading in enumerate(readings):
        rhythm = RHYTHM_TRUST * (reading.log_likelihood - readings[0].log_likelihood)
        starts = hearing.starts(reading, line)
        found.extend((start.score + rhythm, number, start) for start in starts)
    total, number, start = max(found, key=lambda f: f[0])
    odds = np.exp(np.array([score - total for score, _, _ in found]))
    # A beat one may be come by in several ways, counted in or not.
    this = [(n, other.beat_one) == (number, start.beat_one) for _, n, other in found]
    return _placement(readings[number], start, float(odds[this].sum() / odds.sum()))


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
        steadiness=reading.steadiness,
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
    found: Steps = (beat * STEPS_PER_BEAT).astype(np.int64) + steps[nearest]
    return found


class _Hearing:
    """A chart as the harmony is heard against it."""

    def __init__(self, form: Form) -> None:
        self.tables = form_tables(form)
        self.beats = form.beats
        self.bar = form.chart.bars[0].meter.beats
        self.intro_beats = form.intro_steps // STEPS_PER_BEAT
        self.with_intro: FormTables | None = None
        if self.intro_beats:
            chart = form.chart
            both = replace(chart, bars=(*chart.intro, *chart.bars), intro=(), ending=())
            self.with_intro = form_tables(Form(both))
        self.prior = self._start_prior(form)
        self.counted_to = np.log(self._where_parts_begin(form, *COUNTED_TO))

    def _start_prior(self, form: Form) -> Array:
        """Log prior of the form's beat at the first note, by a beat count within the chorus."""
        prior = self._where_parts_begin(form, ON_ONE, AT_SECTION, AT_BAR, ANYWHERE)
        prior[-self.bar :] += PICKUP / self.bar
        prior[1 : self.bar] += LATE / max(1, self.bar - 1)
        return np.asarray(np.log(prior))

    def _where_parts_begin(
        self, form: Form, top: float, section: float, bar: float, anywhere: float
    ) -> Array:
        """Chances of every beat of the chorus: the first, those of sections, of bars, and all."""
        prior = np.full(self.beats, anywhere / self.beats)
        starts = [start // STEPS_PER_BEAT for start in form.bar_starts]
        prior[starts] += bar / len(starts)
        sections = [s for s, b in zip(starts, form.chart.bars, strict=True) if b.opens_section]
        prior[sections] += section / max(1, len(sections))
        prior[0] += top
        return prior

    def starts(self, reading: BeatCandidate, line: _Line) -> list[_Start]:
        """All likely starts of a reading."""
        steps = rough_steps(reading.positions, reading.swing)
        stops = np.interp(line.ends_s, reading.beats_s, np.arange(len(reading.beats_s)))
        ends = np.maximum(np.rint(stops * STEPS_PER_BEAT).astype(np.int64), steps + 1)
        found = self._from(_Heard(0, steps, ends, line.pitches, self.tables), None)
        for counted in count_ins(steps, ends, line.pitches, line.loud, self.bar):
            heard = _Heard(counted.hits, steps, ends, line.pitches, self.tables)
            found.extend(self._from(heard, counted))
        return found

    def _from(self, heard: _Heard, counted: CountIn | None) -> list[_Start]:
        """Starts of the line from a note on, at the end of a count-in if there is one."""
        score = heard.onwards(0)
        found: list[_Start] = []
        if counted is not None:
            one, log_prior = counted.ends_at, counted.log_prior
            score = np.roll(score, one - heard.at) + self.counted_to  # by the place at its end
            for place in np.flatnonzero(score > score.max() - LIKELY).tolist():
                ahead = self._ahead(place)
                found.append(_Start(float(score[place]) + log_prior, one - ahead, heard.first))
            if self.with_intro is not None:
                found.append(self._intro(heard, one - heard.at, log_prior))
            return found
        score = score + self.prior
        found.extend(
            _Start(float(score[place]), heard.at - self._ahead(place), 0)
            for place in np.flatnonzero(score > score.max() - LIKELY).tolist()
        )
        if self.with_intro is not None:
            found.extend(self._intro(heard, later, float(np.log(p))) for later, p in INTRO)
        return found

    def _ahead(self, place: int) -> int:
        """Beats from beat one of chorus 1 to a place: the last bar of the form leads into it."""
        return place if place < self.beats - self.bar else place - self.beats

    def _intro(self, heard: _Heard, later: int, log_prior: float) -> _Start:
        """The intro begins ``later`` beats after the line's first note."""
        one = heard.at + later + self.intro_beats
        score = log_prior
        if self.with_intro is not None:
            score += heard.along(self.with_intro, -later, one - heard.at)
        score += float(heard.onwards(one - heard.at)[(heard.at - one) % self.beats])
        return _Start(score, one, heard.first)


class _Heard:
    """The line from note ``first`` on, in beats of one reading, against the chords of the form."""

    def __init__(
        self, first: int, steps: Steps, ends: Steps, pitches: Steps, tables: FormTables
    ) -> None:
        kept = slice(first, first + HEARD_NOTES)
        self.first = first
        self.line = line_codes(steps[kept], ends[kept], pitches[kept])
        self.at = int(self.line.beats[0])
        self.count = int(self.line.beats[-1]) - self.at + 1
        self.marks = self._marks(tables)

    def _marks(self, tables: FormTables) -> Array:
        """Evidence [beat of the line, place of the form at its first beat]."""
        marks = evidence(self.line, tables, self.at, self.count)[:, :-1]
        # Offsets are against a count from beat 0 of the reading: turn them to the place at ``at``.
        return np.roll(marks, self.at % tables.beats, axis=1).astype(np.float64)

    def onwards(self, beat: int) -> Array:
        """Score from a beat of the line on, by the place of the form at the line's first beat."""
        if beat >= self.count:
            return np.zeros(self.marks.shape[1])
        return _onwards(self.marks[beat:])

    def along(self, tables: FormTables, place: int, until: int) -> float:
        """Score of the line up to a beat of it, if ``place`` of another form is at its first."""
        rows = INTRO_SHARPNESS * self._marks(tables)[: max(until, 0)]
        rows = rows - rows.max(axis=1, keepdims=True)
        lots = np.log(np.exp(rows).mean(axis=1))
        return float((rows[:, place % tables.beats] - lots).sum())


def _onwards(marks: Array) -> Array:
    """How well the line fits from each place at its first beat on, in nats against places by lot.

    The line mostly stays in place; it may jump, at a price. How plainly it shows its place is a
    player's own: the evidence is sharpened or blunted as the take itself tells.
    """
    starts = np.arange(0, len(marks), BLOCK_BEATS)
    blocks = np.add.reduceat(marks, starts, axis=0)
    blocks -= blocks.max(axis=1, keepdims=True)
    best = np.full(marks.shape[1], -np.inf)
    for sharpness in SHARPNESS:
        rows = sharpness * blocks
        lots = np.log(np.exp(rows).mean(axis=1))
        value = np.zeros(marks.shape[1])
        for row in rows[::-1]:
            value = np.maximum(value, value.max() - JUMP_COST) + row
        value += -lots.sum() - 0.5 * (np.log(sharpness) / SHARPNESS_SPREAD) ** 2
        best = np.maximum(best, value)
    return best
