"""presence: the share of a chorus that sounds; what the other parts are worth is multiplied by it.

Silence is not commitment in a walking chorus, but a breath between phrases of a solo costs
nothing by itself. A beat sounds when a note that is no ghost is struck in it or held through a
quarter of it, for half notes in two ring less than their length. A beat that does not is missed,
unless it is a breath: in a bar that is soloed, a beat in which nothing is struck, up to the fourth
bar of a rest; what is longer than a phrase is no breath (common practice: phrases of four bars),
nor is a beat of ghosts alone. In a chorus with no note to judge every beat is missed. Beats over
N.C. are not asked for. One mark a beat.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.judge.marks import Mark
from linecheck.terms import STEPS_PER_BEAT, LabelledLine

if TYPE_CHECKING:
    from linecheck.music.form import Form

BREATH_BARS = 4
HELD_THROUGH = STEPS_PER_BEAT // 4
SILENT = "silent beats"
ONLY_GHOSTS = "only ghosts"
NOTHING_PLAYED = "nothing played in this chorus"


def marks(labels: LabelledLine, form: Form) -> list[Mark]:
    """One mark for every judged beat with a chord, missed where silence is no breath.

    Args:
        labels: the labelled line.
        form: the form.
    """
    begin, end = labels.judged_from, labels.judged_to
    heard, struck = _heard_and_struck(labels, begin, end)
    played = _played_choruses(labels, form)
    beats = _beats_of_chorus(form)
    bars = len(form.chart.bars)
    found: list[Mark] = []
    silent = 0
    for beat, step in enumerate(range(begin, end, STEPS_PER_BEAT)):
        silent = 0 if heard[beat] else silent + 1
        chorus, local = divmod(step, form.steps)
        has_chord, bar, longest_breath = beats[local // STEPS_PER_BEAT]
        if not has_chord:
            continue
        if chorus not in played:
            found.append(Mark(step, NOTHING_PLAYED))
        elif not silent:
            found.append(Mark(step))
        elif struck[beat]:
            found.append(Mark(step, ONLY_GHOSTS))
        elif labels.solo_bars[chorus * bars + bar] and silent <= longest_breath:
            found.append(Mark(step))
        else:
            found.append(Mark(step, SILENT))
    return found


def _beats_of_chorus(form: Form) -> list[tuple[bool, int, int]]:
    """For each beat of a chorus: whether it has a chord, its bar from 0, the longest breath."""
    beats: list[tuple[bool, int, int]] = []
    for index, bar in enumerate(form.chart.bars):
        for _ in range(bar.meter.beats):
            chord = form.chord(len(beats) * STEPS_PER_BEAT)
            has_chord = chord is not None and chord.root is not None
            beats.append((has_chord, index, BREATH_BARS * bar.meter.beats))
    return beats


def _heard_and_struck(labels: LabelledLine, begin: int, end: int) -> tuple[list[bool], list[bool]]:
    """For each judged beat whether it sounds, and whether anything is struck in it."""
    heard = [False] * ((end - begin) // STEPS_PER_BEAT)
    struck = heard.copy()
    for note in labels.notes:
        at = (note.step - begin) // STEPS_PER_BEAT
        if 0 <= at < len(struck):
            struck[at] = True
        if not note.ghost:
            held = (note.end_step - HELD_THROUGH - begin) // STEPS_PER_BEAT
            for beat in range(max(at, 0), min(max(at, held) + 1, len(heard))):
                heard[beat] = True
    return heard, struck


def _played_choruses(labels: LabelledLine, form: Form) -> set[int]:
    return {
        note.step // form.steps
        for note in labels.notes
        if note.function is not None and labels.judged_from <= note.step < labels.judged_to
    }
