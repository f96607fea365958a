"""Where the form was lost: stretches in which the line fits the form better at another place.

*Form loss*: a stretch in which the line fits the form better at another place (ahead, behind) or
at none (adrift). It begins at the earliest place that the evidence supports. The *offset* is how
many beats the line runs ahead (+) of the form clock or behind (−) it, within the form, as the
smaller of the two ways round. A second jump before recovery is a loss of its own.

Two searches find stretches that may be lost, and a model that is calibrated says how sure each is
(``form_candidates``, ``loss_confidence``): here stands what is certain, what is a "perhaps", and
what the spans of the line are. Cost: linear in the length of the line.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from linecheck.place.form_candidates import PERHAPS, candidates, slip_costs, smaller_way
from linecheck.place.form_evidence import PART_BEATS, form_tables, line_codes
from linecheck.place.form_shown import shows_its_place
from linecheck.place.sorted_arrays import median
from linecheck.terms import STEPS_PER_BEAT, FormSpan, Loss, LossKind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from linecheck.music.form import Form
    from linecheck.place.form_evidence import LineCodes

    Floats = NDArray[np.float32]
    Ints = NDArray[np.int64]

CERTAIN = 0.5  # likelier than not is reported, others are a "perhaps"
LEAST_BARS = 2  # a loss lasts so long: shorter ones are nearly all false
# Shorter slips are seldom real, and so many bars adrift are as often a spell of wrong notes.
SHORT_BARS, SHORT_ADRIFT_BARS, CERTAIN_SHORT = 3.5, 5.0, 0.8
OVERLAP_BEATS = 64
AS_LIKELY = 1.5  # nats, between sizes of a slip that are about as likely


class FormFound(NamedTuple):
    """Where a line is in the form, where it was lost, and whether it shows its place at all."""

    spans: tuple[FormSpan, ...]
    losses: tuple[Loss, ...]
    shows_form: bool = True


def find_form(
    steps: Sequence[int],
    end_steps: Sequence[int],
    pitches: Sequence[int],
    velocities: Sequence[int],
    form: Form,
) -> FormFound:
    """Find where the line is in the form.

    Args:
        steps: place of each note in steps from beat one of chorus 1, ascending.
        end_steps: where each note stops.
        pitches: MIDI numbers.
        velocities: 1 to 127.
        form: the chart laid out in steps.

    Returns:
        Spans that cover the line from its first beat to its last without a gap, the losses, and
        whether the line shows where it is.
    """
    at = np.asarray(steps, dtype=np.int64)
    ends = np.asarray(end_steps, dtype=np.int64)
    notes = np.asarray(pitches, dtype=np.int64)
    loud = np.asarray(velocities, dtype=np.int64)
    stop_step = form.choruses * form.steps if form.choruses is not None else None
    kept = _judged(at, ends, loud, stop_step)
    if not at.size:
        return FormFound((), ())
    whole = (_first_beat(at, form), -(-int(ends.max()) // STEPS_PER_BEAT))
    if kept.sum() < 2:
        span = FormSpan(whole[0] * STEPS_PER_BEAT, whole[1] * STEPS_PER_BEAT, 0.0, 1.0)
        return FormFound((span,), ())
    line = line_codes(at[kept], ends[kept], notes[kept])
    spans, losses = _report(_along(line, form), form, whole)
    return FormFound(spans, losses, shows_its_place(line, form, spans))


def _first_beat(at: Ints, form: Form) -> int:
    """The beat that the line begins with: of hits that only count in to a later bar none."""
    in_form = at[at >= 0]
    bar = form.chart.meter.beats * STEPS_PER_BEAT
    begins = in_form[0] if in_form.size and in_form[0] >= bar else at[0]
    return int(begins) // STEPS_PER_BEAT


def _judged(at: Ints, ends: Ints, loud: Ints, stop_step: int | None) -> NDArray[np.bool_]:
    """Notes that tell of the form: from step 0 on, before the ending, no ghosts."""
    usual = median(loud) if loud.size else 0.0
    ghost = (loud < 0.5 * usual) & (ends - at <= 3)
    kept = (at >= 0) & ~ghost
    if stop_step is not None:
        kept &= at < stop_step
    return kept


def _along(line: LineCodes, form: Form) -> list[_Found]:
    """The stretches of a line in beats from step 0.

    A long line is taken a part at a time, cut where it is in place, so that memory is bounded.
    """
    begin, end = int(line.beats[0]), int(line.beats[-1]) + 1
    path: list[_Found] = []
    size = PART_BEATS
    while True:
        stop = end if end - begin < 1.5 * size else begin + size
        part = _part(line, form, begin, stop)
        if stop < end:
            kept = _last_in_place(part)
            if kept is None:
                size *= 2
                continue
            part = part[: kept + 1]
            part[-1] = replace(part[-1], stop=part[-1].stop - OVERLAP_BEATS)
        if path:  # both are in place where the parts meet
            part[0] = replace(part[0], start=path.pop().start)
        path += part
        if stop == end:
            return path
        begin, size = part[-1].stop, PART_BEATS


def _last_in_place(path: list[_Found]) -> int | None:
    """The last stretch that is in place for long enough to cut the line there."""
    for index in range(len(path) - 1, -1, -1):
        if not path[index].state and path[index].stop - path[index].start > 2 * OVERLAP_BEATS:
            return index
    return None


def _part(line: LineCodes, form: Form, begin: int, stop: int) -> list[_Found]:
    """The same for the beats from ``begin`` to ``stop``."""
    found, at = [], begin
    for c in candidates(line, form, begin, stop):
        if c.bars < LEAST_BARS or c.confidence < PERHAPS:
            continue
        short = c.bars < (SHORT_ADRIFT_BARS if c.state == form.beats else SHORT_BARS)
        certain = c.confidence >= (CERTAIN_SHORT if short else CERTAIN)
        if c.start + begin > at:
            found.append(_Found(at, c.start + begin, 0, 1.0, certain=True))
        at = c.stop + begin
        found.append(_Found(c.start + begin, at, c.state, c.confidence, certain))
    if at < stop:
        found.append(_Found(at, stop, 0, 1.0, certain=True))
    return found


@dataclass(frozen=True, slots=True)
class _Found:
    """A stretch of the line in beats from step 0, and how sure it is."""

    start: int
    stop: int
    state: int
    confidence: float
    certain: bool


def _settled(found: list[_Found]) -> list[_Found]:
    """Only what is certain: the rest goes to the stretches around it, and equals are joined."""
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
    return made


def _joined(made: list[_Found], form: Form) -> list[_Found]:
    """The same with what is in place for a moment between two losses given to the first."""
    least = LEAST_BARS * form.chart.meter.beats
    joined: list[_Found] = []
    for index, s in enumerate(made):
        between = bool(joined) and joined[-1].state and index + 1 < len(made)
        brief = between and not s.state and _shown(s, joined[-1].state, form) < least
        if brief or (joined and joined[-1].state == s.state):
            sure = joined[-1].confidence if brief else min(joined[-1].confidence, s.confidence)
            joined[-1] = replace(joined[-1], stop=s.stop, confidence=sure)
        else:
            joined.append(s)
    return joined


def _shown(stretch: _Found, lost: int, form: Form) -> int:
    """Beats of a stretch in place that show it: there a line still lost has other chords."""
    if lost == form.beats:
        return stretch.stop - stretch.start
    beats = np.arange(stretch.start, stretch.stop)
    return int(np.count_nonzero(form_tables(form).differ(beats, 0, lost)))


def _not_back_at_the_end(settled: list[_Found], form: Form) -> list[_Found]:
    """The same; a line that only seems to be in place at its end has not come back.

    It has to be for a bar's beats, at which its old offset is over other chords.
    """
    *before, last = settled
    if not before or last.state:
        return settled
    if _shown(last, before[-1].state, form) >= form.chart.meter.beats:
        return settled
    return [*before[:-1], replace(before[-1], stop=last.stop)]


def _other_offsets(s: _Found, form: Form) -> tuple[float, ...]:
    """Offsets over the same chords throughout a slip, of a size that is about as likely.

    Throughout: as far as it shows. Where its own chords are those by the form clock again, a line
    at another offset may be back in place.
    """
    costs, offsets = slip_costs(form), np.arange(form.beats)
    tables, beats = form_tables(form), np.arange(s.start, s.stop)
    beats = beats[: 1 + np.flatnonzero(tables.differ(beats, 0, s.state)).max(initial=-1)]
    alike = ~tables.differ(beats[:, None], offsets, s.state).any(axis=0)
    alike &= (offsets > 0) & (offsets != s.state) & (costs[:-1] < costs[s.state] + AS_LIKELY)
    return tuple(float(smaller_way(int(o), form.beats)) for o in np.flatnonzero(alike))


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
        others = () if offset is None else _other_offsets(s, form)
        return Loss(s.start * STEPS_PER_BEAT, kind, offset, back, s.confidence, s.certain, others)

    settled = _not_back_at_the_end(_joined(_settled(found), form), form)
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
