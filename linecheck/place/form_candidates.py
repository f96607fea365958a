"""Stretches in which the form may be lost: generously found, each with how sure it is.

Two searches find them. The best path over all offsets and adrift (``form_path``) knows how far a
line has slipped; the level of the take (``form_level``) knows where it fits worse than it does
elsewhere, whatever the offset. Each stretch of either is held against two readings, adrift and
the offset that fits it best, and the surest readings that do not overlap stand.

In the first search the line is at every beat at one of all offsets in whole beats, or adrift.
Staying is free, a slip costs ``slip_costs`` nats, and each note pays by ``form_evidence``. It is
skipped where no offset anywhere gains what a slip costs, which is the same answer sooner. It is
made once more at lower costs, for more stretches to judge; so are the runs over which the likeliest
offsets gain most. Of places over the same chords the likeliest size of a slip is taken.
"""

from __future__ import annotations

import heapq
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from linecheck.place.form_evidence import evidence, form_tables
from linecheck.place.form_level import Level, level_of, misfit_of
from linecheck.place.form_path import (
    MostGained,
    Stretch,
    best_run,
    most_gained,
    path_if_lost,
    path_value,
)
from linecheck.place.form_turns import StateGain, place_turns
from linecheck.place.form_weighing import Weighing, solo_beats, weigh
from linecheck.place.loss_confidence import confidence, features

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from linecheck.music.form import Form
    from linecheck.place.form_evidence import FormTables, LineCodes

    Floats = NDArray[np.float32]

RETURN_COST = 3.0  # nats, for coming back in place
SLIP_COST = 6.5  # nats, for a slip by a usual size: about one in 600 beats
BEAT_COST = 2.5  # more for one beat or two
ODD_COST = 4.0  # more for another size that is no whole number of bars
FAR_COST = 2.0  # more for whole bars other than the usual sizes
BEAT_FAR_COST = 0.01  # more for every beat: of places that fit alike the nearer one
ADRIFT_COST = 7.5
USUAL_BARS = (1, 2, 4, 8)
EASE, LEAST_COST = 2.5, 1.5  # nats less, for candidates only
LEAST_PART = 0.5  # of a reading has to be left by surer ones, or it falls
LEAST_BARS = 1.0
LEAST_GAP_BARS = 2.0  # between two losses in one state
HALF_WORTH_BARS = 3.0
RUNS = 3  # offsets whose best run is tried, whatever the path
PERHAPS = 0.2  # surer readings are kept
LEAST_GROWTH = 3.0  # nats
AROUND_BEATS = 48  # in which the edges of a stretch are looked for


def smaller_way(offset: int, beats: int) -> int:
    """An offset taken within the form as the smaller of the two ways round."""
    offset %= beats
    return offset - beats if 2 * offset > beats else offset


def slip_costs(form: Form) -> Floats:
    """What it costs to go to each state, from any other."""
    bar = form.chart.meter.beats
    costs = np.full(form.beats + 1, SLIP_COST, dtype=np.float32)
    for state in range(1, form.beats):
        beats = abs(smaller_way(state, form.beats))
        costs[state] += BEAT_FAR_COST * beats
        if beats % bar:
            costs[state] += ODD_COST if beats > 2 else BEAT_COST
        elif beats // bar not in USUAL_BARS:
            costs[state] += FAR_COST
    costs[0] = RETURN_COST
    costs[form.beats] = ADRIFT_COST
    return costs


@dataclass(frozen=True, slots=True)
class Candidate:
    """A reading of a stretch: its beats, its state, the offset that fits it, how sure it is."""

    start: int
    stop: int
    state: int
    offset: int
    bars: float
    confidence: float


@dataclass(frozen=True, slots=True)
class Heard:
    """A part of a line as the form hears it: all that a reading of a stretch is judged by."""

    line: LineCodes
    form: Form
    tables: FormTables
    first: int
    raw: Floats
    weighed: Weighing
    level: Level
    groups: tuple[NDArray[np.bool_], ...]
    costs: Floats
    turning: StateGain

    def best_offset(self, start: int, stop: int) -> int:
        """The offset that fits a stretch best."""
        totals = self.weighed.gain[start:stop, 1:-1].sum(axis=0) - self.costs[1:-1]
        return 1 + int(totals.argmax())

    def likeliest_alike(self, start: int, stop: int, offset: int) -> int:
        """Of the offsets that are over the same chords throughout a stretch the likeliest."""
        beats, offsets = np.arange(start, stop) + self.first, np.arange(self.form.beats)
        differ = self.tables.differ(beats[:, None], offsets, offset)
        alike = np.flatnonzero(~differ.any(axis=0))
        return int(min(alike[alike > 0], key=lambda state: float(self.costs[state])))

    def shown_beats(self, start: int, stop: int, offset: int) -> int:
        """Beats of a stretch at which an offset is over other chords than in place."""
        beats = np.arange(start, stop) + self.first
        return int(np.count_nonzero(self.tables.differ(beats, 0, offset)))

    def readings(self, start: int, stop: int, offset: int) -> list[Candidate]:
        """A stretch read as slipped by an offset, if the chart can show it, and as adrift."""
        known = features(start, stop, offset, self)
        shown = self.shown_beats(start, stop, offset) >= self.form.chart.meter.beats
        return [
            Candidate(start, stop, state, offset, known.bars, sure)
            for state, sure in zip((offset, self.form.beats), confidence(known), strict=True)
            if shown or state != offset
        ]


def stretches(
    line: LineCodes, form: Form, begin: int, stop: int
) -> tuple[Heard, list[tuple[int, int, int]]]:
    """Stretches of a line that may be lost: start and stop in beats from ``begin``, best offset."""
    tables = form_tables(form)
    line = line.between(begin, stop)
    raw = evidence(line, tables, begin, stop - begin)
    groups = solo_beats(line, begin, stop - begin)
    costs = slip_costs(form)
    path, weighed, most = _decode(raw, groups, costs)
    level, lost = level_of(misfit_of(raw), groups)
    by_path = turning = StateGain(weighed.gain, raw, weighed.slope)
    if len(lost) > 1 or lost[0].state:
        gain = weighed.gain.copy()
        gain[:, -1] = level.lost
        turning = StateGain(gain, raw, 2 * level.slope)  # the misfit counts the place twice
    heard = Heard(line, form, tables, begin, raw, weighed, level, groups, costs, turning)
    tried: set[tuple[int, int, int]] = set()
    # A path that slips more easily puts up more: the confidence decides.
    easy = np.maximum(costs - EASE, LEAST_COST).astype(np.float32)
    for one in (path, path_if_lost(weighed.gain, most, easy)):
        if one and (len(one) > 1 or one[0].state):
            tried |= _of_path(place_turns(one, by_path, tables, form, begin), heard)
    if tried:
        tried |= _of_runs(most, heard)
    if len(lost) > 1 or lost[0].state:
        tried |= _of_level(lost, heard)
    bar = form.chart.meter.beats
    long_enough = {t for t in tried if t[1] - t[0] >= LEAST_BARS * bar}
    return heard, sorted({(a, z, heard.likeliest_alike(a, z, o)) for a, z, o in long_enough})


def _of_path(path: list[Stretch], heard: Heard) -> set[tuple[int, int, int]]:
    """The stretches of the best path, and runs of them."""
    adrift = heard.form.beats
    tried = set()
    run: int | None = None
    for s in path:
        if not s.state:
            run = None
            continue
        if run is None:
            run = s.start
        else:
            tried.add((run, s.stop, heard.best_offset(run, s.stop)))
        offset = heard.best_offset(s.start, s.stop) if s.state == adrift else s.state
        tried.add((s.start, s.stop, offset))
    return tried


def _of_runs(most: MostGained, heard: Heard) -> set[tuple[int, int, int]]:
    """The best run of each of the offsets that gain most anywhere."""
    worth = (most.rise - heard.costs)[1:-1]
    likeliest = 1 + np.argsort(-worth, kind="stable")[:RUNS]
    runs = ((best_run(heard.weighed.gain[:, o]), int(o)) for o in likeliest)
    return {(start, stop, o) for (start, stop), o in runs}


def _of_level(lost: list[Stretch], heard: Heard) -> set[tuple[int, int, int]]:
    """The stretches that fit worse than the take's own level."""
    tried = set()
    adrift, last = heard.form.beats, len(heard.raw)
    for s in lost:
        if not s.state:
            continue
        low, high = max(0, s.start - AROUND_BEATS), min(last, s.stop + AROUND_BEATS)
        path = [
            Stretch(low, s.start, 0),
            Stretch(s.start, s.stop, adrift),
            Stretch(s.stop, high, 0),
        ]
        placed = _placed([x for x in path if x.start < x.stop], heard)
        mine = next(x for x in placed if x.state)
        if mine.start < mine.stop:
            tried.add((mine.start, mine.stop, heard.best_offset(mine.start, mine.stop)))
    return tried


def _placed(path: list[Stretch], heard: Heard) -> list[Stretch]:
    """A path with each stretch where it is likeliest to begin."""
    return place_turns(path, heard.turning, heard.tables, heard.form, heard.first)


def candidates(line: LineCodes, form: Form, begin: int, stop: int) -> list[Candidate]:
    """The surest readings that do not overlap, in order; others are cut to what those leave."""
    heard, tried = stretches(line, form, begin, stop)
    read = [c for t in tried for c in heard.readings(*t)]
    queue = [_in_turn(c) for c in read if c.confidence >= PERHAPS]
    heapq.heapify(queue)
    taken: list[Candidate] = []
    cuts = set()
    while queue:
        one = heapq.heappop(queue)[-1]
        start, stop = one.start, one.stop
        for other in taken:
            if other.start < stop and start < other.stop:
                before, after = (start, max(start, other.start)), (min(stop, other.stop), stop)
                start, stop = max(before, after, key=lambda p: p[1] - p[0])
        if (start, stop) == (one.start, one.stop):
            taken.append(one)
        elif stop - start >= LEAST_PART * (one.stop - one.start) and (start, stop) not in cuts:
            cuts.add((start, stop))
            for cut in heard.readings(start, stop, one.offset):
                if cut.confidence >= PERHAPS:
                    heapq.heappush(queue, _in_turn(cut))
    grown = _grown(sorted(taken, key=lambda c: c.start), heard)
    return _turned(_joined(grown, heard), heard)


def _in_turn(c: Candidate) -> tuple[float, int, int, int, int, Candidate]:
    """The order in which readings are taken: surer ones first, and longer ones of the like."""
    worth = -math.log1p(-c.confidence) * c.bars / (c.bars + HALF_WORTH_BARS)
    return -worth, c.start, c.stop, c.state, c.offset, c


def _grown(taken: list[Candidate], heard: Heard) -> list[Candidate]:
    """The same, each as far around it as its state gains; surer ones first.

    It gains over being in place, and over another reading's state where that one stands.
    """
    made: list[Candidate] = []
    stands = np.zeros(len(heard.raw), dtype=np.int64)
    for c in taken:
        stands[c.start : c.stop] = c.state
    for c in sorted(taken, key=lambda c: (-c.confidence, c.start)):
        start, stop = c.start, c.stop
        for other in made:
            if other.start < stop and start < other.stop:
                before, after = (start, max(start, other.start)), (min(stop, other.stop), stop)
                start, stop = max(before, after, key=lambda p: p[1] - p[0])
        if stop - start < LEAST_PART * (c.stop - c.start):
            continue
        low = max((m.stop for m in made if m.stop <= start), default=0)
        high = min((m.start for m in made if m.start >= stop), default=len(heard.raw))
        gain = heard.turning.over_each(c.state, stands)
        start -= _reach(gain[low:start][::-1])
        made.append(replace(c, start=start, stop=stop + _reach(gain[stop:high])))
    return sorted(made, key=lambda c: c.start)


def _reach(gain: Floats) -> int:
    """Over how many beats from the first the sum of a gain is the most; 0 where it is little."""
    total = np.cumsum(gain)
    best = int(total.argmax()) if len(total) else 0
    return best + 1 if len(total) and total[best] > LEAST_GROWTH else 0


def _joined(taken: list[Candidate], heard: Heard) -> list[Candidate]:
    """The same with neighbours in one state made one."""
    near = LEAST_GAP_BARS * heard.form.chart.meter.beats
    made: list[Candidate] = []
    for c in taken:
        last = made[-1] if made else None
        if last and last.state == c.state and c.start - last.stop <= near:
            sure = max(last.confidence, c.confidence)
            made[-1] = replace(last, stop=c.stop, confidence=sure)
        else:
            made.append(c)
    return made


def _turned(taken: list[Candidate], heard: Heard) -> list[Candidate]:
    """The same, each where it is likeliest to begin and end between its neighbours.

    A line that is in place for less than two bars between two losses has not come back.
    """
    near = LEAST_GAP_BARS * heard.form.chart.meter.beats
    path: list[Stretch] = []
    at = 0
    for c in taken:
        if path and c.start - at < near:
            path[-1] = replace(path[-1], stop=c.start)
        elif c.start > at:
            path.append(Stretch(at, c.start, 0))
        path.append(Stretch(c.start, c.stop, c.state))
        at = c.stop
    if at < len(heard.raw):
        path.append(Stretch(at, len(heard.raw), 0))
    bar = heard.form.chart.meter.beats
    placed = [s for s in _placed(path, heard) if s.state] if taken else []
    return [
        replace(c, start=s.start, stop=s.stop, bars=(s.stop - s.start) / bar)
        for c, s in zip(taken, placed, strict=True)
        if s.stop > s.start
    ]


def _decode(
    raw: Floats, groups: tuple[NDArray[np.bool_], ...], costs: Floats
) -> tuple[list[Stretch], Weighing, MostGained]:
    """The best path of the line, the evidence as the take weighs it, and the most that it gains.

    How a take weighs its evidence depends on where it is taken to be, and the other way round.
    Two readings are followed, from the line in place and from weights as of any player, and the
    one that explains the line better stands.
    """
    in_place = [Stretch(0, len(raw), 0)]
    steady = weigh(raw, groups, in_place)
    rough = steady.gain.copy()
    rough[:, :-1] = raw[:, :-1] - raw[:, :1]
    best = (steady.fit, in_place, steady, most_gained(steady.gain))
    for start, most in ((steady.gain, best[3]), (rough, most_gained(rough))):
        path = path_if_lost(start, most, costs)
        if path is None:
            continue
        for _ in range(2):
            weighed = weigh(raw, groups, path)
            most_here = most_gained(weighed.gain)
            after = path_if_lost(weighed.gain, most_here, costs) or in_place
            score = weighed.fit + path_value(after, weighed.gain, costs)
            if score > best[0]:
                best = (score, after, weighed, most_here)
            if after == path:
                break
            path = after
    return best[1:]
