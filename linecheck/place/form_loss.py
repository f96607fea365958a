"""Where the form was lost: stretches in which the line fits the form better at another place.

*Form loss*: a stretch in which the line fits the form better at another place (ahead, behind) or
at none (adrift). It begins at the earliest place that the evidence supports. The *offset* is how
many beats the line runs ahead (+) of the form clock or behind (−) it, within the form, as the
smaller of the two ways round. A second jump before recovery is a loss of its own.

The model: at every beat the line is at one of all offsets in whole beats, or adrift. Staying is
free, a slip costs ``_slip_costs`` nats, and each note pays by ``form_evidence``. The best path is
found by Viterbi; it is skipped where no offset anywhere gains what a slip costs, which is the
same answer sooner. Cost: linear in the length of the line.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from linecheck.place.form_evidence import evidence, form_tables, line_codes
from linecheck.place.form_path import Stretch, best_path, could_be_lost, path_value
from linecheck.place.form_turns import place_turns
from linecheck.place.form_weighing import Weighing, solo_beats, weigh
from linecheck.place.loss_confidence import LossFeatures, confidence, features
from linecheck.place.sorted_arrays import median
from linecheck.terms import STEPS_PER_BEAT, FormSpan, Loss, LossKind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from linecheck.music.form import Form
    from linecheck.place.form_evidence import LineCodes

    Floats = NDArray[np.float32]
    Ints = NDArray[np.int64]

RETURN_COST = 3.0  # nats, for coming back in place
SLIP_COST = 6.5  # nats, for a slip by a usual size: about one in 600 beats
BEAT_COST = 2.5  # more for one beat or two
ODD_COST = 4.0  # more for another size that is no whole number of bars
FAR_COST = 2.0  # more for whole bars other than the usual sizes
ADRIFT_COST = 7.5
USUAL_BARS = (1, 2, 4, 8)
CERTAIN = 0.5  # likelier than not is reported, others are a "perhaps"
PERHAPS = 0.2
LEAST_BARS = 2  # a certain loss lasts so long
SHORT_BARS, CERTAIN_SHORT = 3.5, 0.8  # shorter ones are seldom real
PART_BEATS = 6144  # of a long line at a time
OVERLAP_BEATS = 64


def smaller_way(offset: int, beats: int) -> int:
    """An offset taken within the form as the smaller of the two ways round."""
    offset %= beats
    return offset - beats if 2 * offset > beats else offset


def _slip_costs(form: Form) -> Floats:
    """What it costs to go to each state, from any other."""
    bar = form.chart.meter.beats
    costs = np.full(form.beats + 1, SLIP_COST, dtype=np.float32)
    for state in range(1, form.beats):
        beats = abs(smaller_way(state, form.beats))
        if beats % bar:
            costs[state] += ODD_COST if beats > 2 else BEAT_COST
        elif beats // bar not in USUAL_BARS:
            costs[state] += FAR_COST
    costs[0] = RETURN_COST
    costs[form.beats] = ADRIFT_COST
    return costs


def find_form(
    steps: Sequence[int],
    end_steps: Sequence[int],
    pitches: Sequence[int],
    velocities: Sequence[int],
    form: Form,
) -> tuple[tuple[FormSpan, ...], tuple[Loss, ...]]:
    """Find where the line is in the form.

    Args:
        steps: place of each note in steps from beat one of chorus 1, ascending.
        end_steps: where each note stops.
        pitches: MIDI numbers.
        velocities: 1 to 127.
        form: the chart laid out in steps.

    Returns:
        Spans that cover the line from its first beat to its last without a gap, and the losses.
    """
    at = np.asarray(steps, dtype=np.int64)
    ends = np.asarray(end_steps, dtype=np.int64)
    notes = np.asarray(pitches, dtype=np.int64)
    loud = np.asarray(velocities, dtype=np.int64)
    stop_step = form.choruses * form.steps if form.choruses is not None else None
    kept = _judged(at, ends, loud, stop_step)
    if not at.size:
        return (), ()
    whole = (int(at[0]) // STEPS_PER_BEAT, -(-int(ends.max()) // STEPS_PER_BEAT))
    if kept.sum() < 2:
        return (FormSpan(whole[0] * STEPS_PER_BEAT, whole[1] * STEPS_PER_BEAT, 0.0, 1.0),), ()
    line = line_codes(at[kept], ends[kept], notes[kept])
    path, known = candidates(line, form)
    found = []
    for s, what in zip(path, known, strict=True):
        sure, certain = 1.0, True
        if what is not None:
            sure = confidence(what, adrift=s.state == form.beats)
            short = what.bars < SHORT_BARS
            certain = sure >= (CERTAIN_SHORT if short else CERTAIN) and what.bars >= LEAST_BARS
        found.append(_Found(s.start, s.stop, s.state, sure, certain))
    return _report(found, form, whole)


def _decode(
    raw: Floats, groups: tuple[NDArray[np.bool_], ...], costs: Floats
) -> tuple[list[Stretch], Weighing]:
    """The best path of the line, and the evidence as the take weighs it.

    How a take weighs its evidence depends on where it is taken to be, and the other way round.
    Two readings are followed, from the line in place and from weights as of any player, and the
    one that explains the line better stands.
    """
    in_place = [Stretch(0, len(raw), 0)]
    steady = weigh(raw, groups, in_place)
    rough = steady.gain.copy()
    rough[:, :-1] = raw[:, :-1] - raw[:, :1]
    best = (steady.fit, in_place, steady)
    for start in (steady.gain, rough):
        if not could_be_lost(start, costs):
            continue
        path = best_path(start, costs)
        for _ in range(2):
            weighed = weigh(raw, groups, path)
            after = best_path(weighed.gain, costs)
            score = weighed.fit + path_value(after, weighed.gain, costs)
            if score > best[0]:
                best = (score, after, weighed)
            if after == path:
                break
            path = after
    return best[1], best[2]


def _judged(at: Ints, ends: Ints, loud: Ints, stop_step: int | None) -> NDArray[np.bool_]:
    """Notes that tell of the form: from step 0 on, before the ending, no ghosts."""
    usual = median(loud) if loud.size else 0.0
    ghost = (loud < 0.5 * usual) & (ends - at <= 3)
    kept = (at >= 0) & ~ghost
    if stop_step is not None:
        kept &= at < stop_step
    return kept


def candidates(line: LineCodes, form: Form) -> tuple[list[Stretch], list[LossFeatures | None]]:
    """The stretches of a line in beats from step 0, and what is known of each (None: in place).

    A long line is taken a part at a time, cut where it is in place, so that memory is bounded.
    """
    begin, end = int(line.beats[0]), int(line.beats[-1]) + 1
    path: list[Stretch] = []
    known: list[LossFeatures | None] = []
    size = PART_BEATS
    while True:
        stop = end if end - begin < 1.5 * size else begin + size
        part, what = _candidates(line, form, begin, stop)
        if stop < end:
            kept = _last_in_place(part)
            if kept is None:
                size *= 2
                continue
            part, what = part[: kept + 1], what[: kept + 1]
            part[-1] = replace(part[-1], stop=part[-1].stop - OVERLAP_BEATS)
        if path:  # both are in place where the parts meet
            part[0] = replace(part[0], start=path.pop().start)
            known.pop()
        path += part
        known += what
        if stop == end:
            return path, known
        begin, size = part[-1].stop, PART_BEATS


def _last_in_place(path: list[Stretch]) -> int | None:
    """The last stretch that is in place for long enough to cut the line there."""
    for index in range(len(path) - 1, -1, -1):
        if not path[index].state and path[index].stop - path[index].start > 2 * OVERLAP_BEATS:
            return index
    return None


def _candidates(
    line: LineCodes, form: Form, begin: int, stop: int
) -> tuple[list[Stretch], list[LossFeatures | None]]:
    """The same for the beats from ``begin`` to ``stop``."""
    tables = form_tables(form)
    line = line.between(begin, stop)
    raw = evidence(line, tables, begin, stop - begin)
    groups = solo_beats(line, begin, stop - begin)
    path, weighed = _decode(raw, groups, _slip_costs(form))
    if len(path) > 1:
        path = place_turns(path, weighed.gain, tables, form, begin)
    bar = form.chart.meter.beats
    known = [
        features(s, weighed, tables, line, first=begin, solo=groups[1], bar=bar)
        if s.state
        else None
        for s in path
    ]
    return [Stretch(s.start + begin, s.stop + begin, s.state) for s in path], known


@dataclass(frozen=True, slots=True)
class _Found:
    """A stretch of the line in beats from step 0, and how sure it is."""

    start: int
    stop: int
    state: int
    confidence: float
    certain: bool


def _settled(found: list[_Found], least: int) -> list[_Found]:
    """Only what is certain: the rest goes to the stretches around it, and equals are joined.

    A line that is in place for fewer than ``least`` beats between two losses has not come back.
    """
    made: list[_Found] = []
    for index, s in enumerate(found):
        state, confidence = s.state, s.confidence
        if state and not s.certain:
            before = made[-1].state if made else 0
            after = found[index + 1] if index + 1 < len(found) else None
            goes_on = after is None or (after.certain and after.state == before)
            state = before if goes_on else 0
            confidence = 1.0 - s.confidence
        if made and made[-1].state == state:
            last = made[-1]
            made[-1] = _Found(
                last.start, s.stop, state, min(last.confidence, confidence), certain=True
            )
        else:
            made.append(_Found(s.start, s.stop, state, confidence, certain=True))
    return _joined(made, least)


def _joined(made: list[_Found], least: int) -> list[_Found]:
    """The same with what is in place for fewer than ``least`` beats given to the loss before."""
    joined: list[_Found] = []
    for index, s in enumerate(made):
        between = bool(joined) and joined[-1].state and index + 1 < len(made)
        brief = between and not s.state and s.stop - s.start < least
        if brief or (joined and joined[-1].state == s.state):
            sure = joined[-1].confidence if brief else min(joined[-1].confidence, s.confidence)
            joined[-1] = replace(joined[-1], stop=s.stop, confidence=sure)
        else:
            joined.append(s)
    return joined


def _report(
    found: list[_Found], form: Form, whole: tuple[int, int]
) -> tuple[tuple[FormSpan, ...], tuple[Loss, ...]]:
    """Spans and losses of the stretches of a line that goes over the beats ``whole``."""

    def offset_of(state: int) -> float | None:
        return None if state == form.beats else float(smaller_way(state, form.beats))

    def loss(s: _Found, after: _Found | None) -> Loss:
        offset = offset_of(s.state)
        kind: LossKind = "adrift" if offset is None else "ahead" if offset > 0 else "behind"
        back = s.stop * STEPS_PER_BEAT if after is not None and after.state == 0 else None
        return Loss(s.start * STEPS_PER_BEAT, kind, offset, back, s.confidence, s.certain)

    settled = _settled(found, LEAST_BARS * form.chart.meter.beats)
    spans = [
        FormSpan(
            (whole[0] if index == 0 else s.start) * STEPS_PER_BEAT,
            (whole[1] if index == len(settled) - 1 else s.stop) * STEPS_PER_BEAT,
            offset_of(s.state),
            s.confidence,
        )
        for index, s in enumerate(settled)
    ]
    losses = [
        loss(s, after) for s, after in zip(settled, [*settled[1:], None], strict=True) if s.state
    ]
    losses += [
        loss(s, after)
        for s, after in zip(found, [*found[1:], None], strict=True)
        if s.state and not s.certain and s.confidence >= PERHAPS
    ]
    return tuple(spans), tuple(sorted(losses, key=lambda x: (x.step, not x.certain)))
