"""Other places where a line may begin: said with the option that takes the line to begin there.

Two readings are common and cannot be told from the notes, or not safely: a line that begins where
the form sounds as at another place, and one that stops and begins again from the top.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from linecheck.place.form_evidence import ALIKE_BARS, alike_from_the_top, form_tables
from linecheck.terms import STEPS_PER_BEAT, Remark

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from linecheck.music.form import Form
    from linecheck.terms import Loss

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]

__all__ = ["other_beginnings"]

STOP_BARS = 1.0  # of silence, and more: the line has stopped
NEAR_BARS = 4  # a loss is told so near to where it began


def other_beginnings(
    steps: Ints,
    stops: Ints,
    losses: tuple[Loss, ...],
    form: Form,
    times: Callable[[Ints], Floats],
    *,
    given: bool,
) -> tuple[Remark, ...]:
    """Where else the line may begin, and how to say so.

    Args:
        steps: place of each note in steps from beat one of chorus 1, ascending.
        stops: where each note stops.
        losses: the form losses, ascending.
        form: the chart laid out.
        times: seconds of beats from beat one of chorus 1.
        given: whether the user has said where chorus 1 begins.
    """
    told: list[str] = []
    begins = int(steps[0]) // STEPS_PER_BEAT
    elsewhere = None if given else _alike_elsewhere(max(0, begins), losses, form)
    if elsewhere is not None:
        here, there = (
            form.place(max(0, beat) * STEPS_PER_BEAT).bar for beat in (begins, begins + elsewhere)
        )
        if here != there:
            told.append(
                f"the form sounds alike from bar {here} and from bar {there} on; if this line begins "
                f"at bar {there}, give --first-beat-one {_at(-elsewhere, times)}"
            )
    again = _again_from_the_top(steps, stops, losses, form)
    if again is not None:
        told.append(
            "the line stops and begins again from the top; to have it judged from there on, give "
            f"--first-beat-one {_at(again, times)}"
        )
    return tuple(Remark(text, "beginning") for text in told)


def _at(beat: int, times: Callable[[Ints], Floats]) -> str:
    return f"{round(float(times(np.array([beat]))[0]), 1) + 0.0:.1f}s"  # never -0.0


def _alike_elsewhere(begins: int, losses: tuple[Loss, ...], form: Form) -> int | None:
    """How many beats on in the form the line may begin as well, for all that can be heard.

    A line that leaves the form by a slip, and until then is over chords that are the same so many
    beats on, may have begun there and never have left it. One that begins elsewhere may have begun
    at the top, where that sounds the same.
    """
    if begins:
        alike = alike_from_the_top(form_tables(form))[begins % form.beats]
        return -begins if alike >= ALIKE_BARS * form.chart.meter.beats else None
    first = next((loss for loss in losses if loss.certain), None)
    if first is None or first.offset_beats is None or first.recovered_step is not None:
        return None
    beats = np.arange(begins, first.step // STEPS_PER_BEAT)
    there = int(first.offset_beats) % form.beats
    if begins % form.beats + there >= form.beats:  # else it would lie more than a chorus back
        there -= form.beats
    differ = form_tables(form).differ(beats, 0, there)
    return there if beats.size and not differ.any() else None


def _again_from_the_top(
    steps: Ints, stops: Ints, losses: tuple[Loss, ...], form: Form
) -> int | None:
    """The beat of the form clock at which the line begins again, after it has stopped.

    It is lost from there to its end, for it goes by a clock of its own.
    """
    last = next((loss for loss in reversed(losses) if loss.certain), None)
    if last is None or last.offset_beats is None or last.recovered_step is not None:
        return None
    bar = form.chart.meter.beats * STEPS_PER_BEAT
    rests = steps[1:] - np.maximum.accumulate(stops)[:-1]
    near = np.abs(steps[1:] - last.step) <= NEAR_BARS * bar
    silent = np.flatnonzero((rests >= STOP_BARS * bar) & near)
    if not silent.size:
        return None
    begins = int(steps[1:][silent[rests[silent].argmax()]])
    own = (begins + int(last.offset_beats) * STEPS_PER_BEAT) % form.steps
    ahead = own - form.steps if own > form.steps - bar else own  # a pickup, or late in its bar
    if ahead > bar // 2:
        return None
    return round((begins - ahead) / STEPS_PER_BEAT)
