"""Whether a take and a chart belong together, as a warning where they hardly do.

**Another key**: where the first beats of the bars are nearly all chord tones if the line is moved
by some half steps, and clearly fewer are as it was played, the key is doubted, however many
landings are met: a fourth off, a plain line still meets two in three. The form may then be a few
bars off as well, for the place in it was found in the wrong key.

**Another chart**: a line meets about a third of the landings of a chart that it was not played
over, for a chord has four of the twelve tones; one that belongs to it meets most of them, also when
it is careless. So where fewer than half are met in the stretches that are in place (in all of it,
where the line is hardly ever in place), chart and first beat one are doubted.

**Any place**: a line that fits other places of the form as well as its own does not show where it
is. If it meets nearly all landings, that is only told, for so does a line on one chord that the
form keeps to; else the chart is doubted.

Where the chart is doubted, another key that fits only a little better is still the likelier reason.
"""

from __future__ import annotations

from bisect import bisect_right
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from linecheck.music.keys import key_moved, key_text
from linecheck.terms import STEPS_PER_BEAT, Remark

if TYPE_CHECKING:
    from linecheck.music.form import Form
    from linecheck.terms import LabelledLine, Landing

__all__ = ["chart_doubts"]

FITS_ANYWHERE = 0.9  # share of landings met by a line that fits this chart, and most of its places
NOBODY_CAN_TELL = Remark(
    "these notes fit many places of this form, so that nobody can tell from them where in it the line is"
)
NOT_SHOWN = Remark(
    "the line fits other places of this form as well as its own, so that nobody can tell where in the "
    "form it is: is it the right chart?",
    "chart",
)
DOUBTED_BELOW = 0.5  # share of landings met
IN_PLACE_FROM = 1 / 3  # share of landings below which the line is as good as never in place
LEAST = 8  # landings: fewer say nothing
FITS_FROM = 0.75  # share of the bars that begin on a chord tone in the key that is named
BETTER_BY = 0.15  # than as it was played, anywhere in the form
BETTER_WHERE_DOUBTED = 0.03  # where the chart is doubted anyway
CLEARLY = 0.03  # better than in any third key
LEAST_BARS = 12  # bars that begin with a note: fewer name no key
HEARD_NOTES = 1024  # on the beat; more say no more
WHOLE_FORM, FAR = 512, 64  # beats: of a longer form only places so far off are tried


def chart_doubts(
    labels: LabelledLine, form: Form, *, shows_form: bool = True
) -> tuple[Remark, ...]:
    """The warning, or none.

    Args:
        labels: the labelled line.
        form: the chart laid out in steps.
        shows_form: whether the line shows where in the form it is.
    """
    landings = [landing for landing in labels.landings if landing.counted]
    doubted = not shows_form or sum(x.met for x in landings) < DOUBTED_BELOW * len(landings)
    half_steps = _other_key(labels, form, BETTER_WHERE_DOUBTED if doubted else BETTER_BY)
    if half_steps:
        steps = f"{abs(half_steps)} half step{'' if abs(half_steps) == 1 else 's'}"
        way = "lower" if half_steps > 0 else "higher"
        there = key_text(key_moved(form.chart.key, -half_steps))
        other = (
            f"it would meet most of them over this chart {steps} {way}, in {there} "
            f"(--key {there}): is the key right?"
        )
        return (Remark(f"{_met(landings)}; {other}", "key"),)
    in_place = _in_place(landings, labels)
    # A line that is hardly ever in place may not be lost at all: then all of it is asked.
    throughout = len(in_place) < IN_PLACE_FROM * len(landings)
    asked = landings if throughout else in_place
    struck = [landing for landing in asked if landing.note is not None]
    if len(struck) < LEAST or sum(x.met for x in struck) >= DOUBTED_BELOW * len(struck):
        if shows_form:
            return ()
        fits = sum(x.met for x in landings) >= FITS_ANYWHERE * len(landings)
        return (NOBODY_CAN_TELL if fits else NOT_SHOWN,)
    where = "" if len(asked) == len(landings) else " where the line is in place"
    asked_of_it = "is it the right chart, and does chorus 1 begin where it says?"
    return (Remark(f"{_met(asked)}{where}: {asked_of_it}", "chart"),)


def _met(landings: list[Landing]) -> str:
    return f"only {sum(x.met for x in landings)} of {len(landings)} landings are met"


def _in_place(landings: list[Landing], labels: LabelledLine) -> list[Landing]:
    begins = [span.step for span in labels.spans]
    kept = []
    for landing in landings:
        at = bisect_right(begins, landing.step) - 1
        if at < 0 or labels.spans[at].offset_beats == 0:
            kept.append(landing)
    return kept


class _Fit(NamedTuple):
    """The share of bars that begin on a chord tone, if the line is moved by so many half steps."""

    share: float
    half_steps: int


def _other_key(labels: LabelledLine, form: Form, better_by: float) -> int:
    """By how many half steps the line would have to be moved up to fit, −5 to 6; 0: it fits."""
    on_beats = [n for n in labels.notes if n.function is not None and n.step % STEPS_PER_BEAT == 0]
    on_beats = on_beats[:HEARD_NOTES]
    beats = np.array([note.step for note in on_beats], dtype=np.int64) // STEPS_PER_BEAT
    pitches = np.array([note.pitch for note in on_beats], dtype=np.int64)
    tones, opens_bar = _tones(form), _opens_bar(form)
    whole = form.beats <= WHOLE_FORM
    offsets = np.arange(form.beats) if whole else np.arange(-FAR, FAR + 1)
    there = (beats + offsets[:, None]) % form.beats
    firsts = opens_bar[there]
    counts = firsts.sum(axis=1)
    enough = counts >= LEAST_BARS
    if not enough.any():
        return 0
    fits = []
    for shift in range(-5, 7):
        met = (tones[there, (pitches + shift) % 12] & firsts).sum(axis=1)
        fits.append(_Fit(float((met[enough] / counts[enough]).max()), shift))
    own = next(fit.share for fit in fits if not fit.half_steps)
    third, best = sorted(fit for fit in fits if fit.half_steps)[-2:]
    named = best.share >= max(FITS_FROM, own + better_by, third.share + CLEARLY)
    return best.half_steps if named else 0


def _opens_bar(form: Form) -> np.ndarray:
    """Whether a bar begins there: beats of a chorus."""
    opens = np.zeros(form.beats, dtype=np.bool_)
    opens[np.array(form.bar_starts) // STEPS_PER_BEAT] = True
    return opens


def _tones(form: Form) -> np.ndarray:
    """Whether a pitch class is a tone of the chord in force: beats of a chorus × 12."""
    tones = np.zeros((form.beats, 12), dtype=np.bool_)
    for beat in range(form.beats):
        chord = form.chord(beat * STEPS_PER_BEAT)
        if chord is not None:
            tones[beat, [tone.pitch_class for tone in chord.tones]] = True
    return tones
