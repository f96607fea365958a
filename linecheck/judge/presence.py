"""presence: the share of a chorus that sounds; what the other parts are worth is multiplied by it.

Silence is not commitment in a walking chorus, but a breath between phrases of a solo costs
nothing by itself. A beat sounds when a note that is no ghost is struck in it or held through half
of it. In a walking chorus a silent beat is missed, in a mixed one half of it is; in a solo it is
missed only from the fifth bar of a rest on, for a rest longer than a phrase is no breath (common
practice: phrases of four bars). In a chorus with no note to judge every beat is missed. Beats over
N.C. are not asked for. One mark a beat.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.judge.marks import Mark
from linecheck.terms import STEPS_PER_BEAT, LabelledLine, Style

if TYPE_CHECKING:
    from linecheck.music.form import Form

SILENCE_COSTS: dict[Style, float] = {"walking": 1.0, "mixed": 0.5, "solo": 0.0}
BREATH_BARS = 4
HELD_THROUGH = STEPS_PER_BEAT // 2
WHY = "silent"


def marks(labels: LabelledLine, form: Form) -> list[Mark]:
    """One mark for every judged beat with a chord, missed by the share that silence costs there.

    Args:
        labels: the labelled line.
        form: the form.
    """
    begin, end = labels.judged_from, labels.judged_to
    heard = _heard_beats(labels, begin, end)
    played = _played_choruses(labels, form)
    chords = [form.chord(step) for step in range(0, form.steps, STEPS_PER_BEAT)]
    bar_beats = [bar.meter.beats for bar in form.chart.bars for _ in range(bar.meter.beats)]
    found: list[Mark] = []
    silent = 0
    for beat, step in enumerate(range(begin, end, STEPS_PER_BEAT)):
        chorus, local = divmod(step, form.steps)
        silent = 0 if heard[beat] else silent + 1
        chord = chords[local // STEPS_PER_BEAT]
        if chord is None or chord.root is None:
            continue
        if chorus not in played:
            found.append(Mark(step, 1.0, "nothing played in this chorus"))
            continue
        missed = 0.0
        if silent:
            missed = SILENCE_COSTS[labels.styles[chorus]]
            if silent > BREATH_BARS * bar_beats[local // STEPS_PER_BEAT]:
                missed = 1.0
        found.append(Mark(step, missed, WHY) if missed else Mark(step))
    return found


def _heard_beats(labels: LabelledLine, begin: int, end: int) -> list[bool]:
    heard = [False] * ((end - begin) // STEPS_PER_BEAT)
    for note in labels.notes:
        if note.ghost or note.end_step <= begin or note.step >= end:
            continue
        first = (note.step - begin) // STEPS_PER_BEAT
        # The last beat held through by half, counted from the beginning of the judged stretch.
        last = (note.end_step - HELD_THROUGH - begin) // STEPS_PER_BEAT
        if first < 0 and last >= 0:
            first = 0
        for beat in range(first, min(max(first, last) + 1, len(heard))):
            if beat >= 0:
                heard[beat] = True
    return heard


def _played_choruses(labels: LabelledLine, form: Form) -> set[int]:
    return {
        note.step // form.steps
        for note in labels.notes
        if note.function is not None and labels.judged_from <= note.step < labels.judged_to
    }
