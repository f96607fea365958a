"""What was good about a take, in sentences: a student needs to know what to keep.

Each sentence is a fact of the audit like every other finding; the strongest come first. Praised is
only what was played in place: where the form is lost, a landing is met and a note leads by
accident.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.doubts import DOUBTS, doubts
from linecheck.music.form import ENDING_BARS, Form, bar_steps
from linecheck.report.figures import percent
from linecheck.report.findings_in_words import (
    certain_losses,
    fits_chart,
    in_words,
    judged_notes,
    landing_tone,
    listed,
    loss_place,
    lost_bars,
    silent_choruses,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from linecheck.terms import Audit, ChorusScore, Landing, Note

__all__ = ["what_was_good"]

_FEW = 4  # a share of fewer notes or landings than this says nothing
_BACK_FOR = 2  # bars in place from which the line has come back
_BACK_WITHIN = 8  # bars, or a chorus: praise for a way back after more would mock
# Of the notes of a scale three or four in seven are chord tones: so many landings are met by chance.
_MET = 0.75
_STANDS_OUT = 5.0  # points over the mean of the others; a chorus of 100 notes scatters by as many


def what_was_good(audit: Audit, most: int = 3) -> list[str]:
    """Up to ``most`` things to keep, the strongest first.

    Every take with a note has one, but for a line that could be anywhere in the form and is doubted
    for it: whatever is good in it may be chance.
    """
    if not audit.line.shows_form and DOUBTS["chart"] in doubts(audit.warnings):
        return []
    candidates = (
        _kept_form(audit),
        _came_back(audit),
        _all_landings(audit),
        _purpose(audit),
        _clear_sections(audit),
        _thirds_and_sevenths(audit),
        _leading_notes(audit),
        _best_chorus(audit),
    )
    told = [sentence for sentence in candidates if sentence][:most]
    alone = None if told else _commitment(audit)
    return [alone] if alone else told


def _kept_form(audit: Audit) -> str | None:
    choruses = audit.line.choruses
    if certain_losses(audit) or not fits_chart(audit):
        return None
    silent = silent_choruses(audit)
    whole = sorted(_whole_choruses(audit) - set(silent))
    if not whole:
        return None
    if len(whole) == choruses:
        all_of_them = {1: "the whole chorus", 2: "both choruses"}
        kept = all_of_them.get(choruses, f"all {in_words(choruses)} choruses")
        return f"you kept the form for {kept}"
    played = "played" if len(whole) + len(silent) == choruses else "played whole"
    word = "chorus" if len(whole) == 1 else "choruses"
    return f"you kept the form for the {in_words(len(whole))} {word} that you {played}"


def _whole_choruses(audit: Audit) -> set[int]:
    """The choruses that were played whole; after the first one the last bars may be left out."""
    begin, end = audit.labels.judged_from, audit.labels.judged_to
    bars = audit.chart.bars
    form = Form(audit.chart)
    asked = [
        step
        for step, bar in zip(form.bar_starts, bars, strict=True)
        if any(placed.chord.root is not None for placed in bar.chords)
    ]
    whole = set()
    for chorus in range(audit.line.choruses):
        missing = [step for step in asked if not begin <= chorus * form.steps + step < end]
        is_ending = chorus and missing == asked[len(asked) - len(missing) :]
        if not missing or (is_ending and len(missing) <= ENDING_BARS):
            whole.add(chorus + 1)
    return whole


def _came_back(audit: Audit) -> str | None:
    lengths = {bar_steps(bar.meter) for bar in audit.chart.bars}
    if len(lengths) > 1:
        return None
    bar = lengths.pop()
    longest = bar * max(_BACK_WITHIN, len(audit.chart.bars))
    losses = certain_losses(audit)
    ends = [*(loss.step for loss in losses), audit.labels.judged_to]  # of stretches in place
    back = [
        (loss.recovered_step - loss.step, loss)
        for loss in losses
        if loss.recovered_step is not None
        and loss.recovered_step - loss.step <= longest
        and min((end for end in ends if end >= loss.recovered_step), default=0)
        >= loss.recovered_step + _BACK_FOR * bar
    ]
    if not back:
        return None
    steps, loss = min(back, key=lambda pair: pair[0])
    bars = max(1, round(steps / bar))
    return (
        f"in chorus {loss_place(loss, audit).chorus} you found your way back after "
        f"{in_words(bars)} bar{'' if bars == 1 else 's'}"
    )


def _scores_of_whole(audit: Audit) -> list[ChorusScore]:
    """The choruses that were played whole and in place."""
    lost = {chorus for chorus, _ in lost_bars(audit)}
    whole = _whole_choruses(audit) - lost
    return [score for score in audit.judgement.choruses if score.chorus in whole]


def _notes_in_place(audit: Audit) -> Iterator[Note]:
    """The judged notes of the bars that are in place."""
    lost = lost_bars(audit)
    return (
        note
        for note in audit.labels.notes
        if note.function is not None
        and 1 <= note.place.chorus <= audit.line.choruses
        and (note.place.chorus, note.place.bar) not in lost
    )


def _landings_in_place(audit: Audit) -> list[Landing]:
    """The landings that count, of the bars that are in place."""
    lost = lost_bars(audit)
    return [
        landing
        for landing in audit.labels.landings
        if landing.counted and (landing.place.chorus, landing.place.bar) not in lost
    ]


def _all_landings(audit: Audit) -> str | None:
    met = [str(score.chorus) for score in _scores_of_whole(audit) if score.landings == 1]
    if not met:
        return None
    word = "chorus" if len(met) == 1 else "choruses"
    return f"every landing is met in {word} {listed(met)}"


def _purpose(audit: Audit) -> str | None:
    judged, with_purpose = judged_notes(audit)
    where = ""
    if lost_bars(audit):
        functions = [note.function for note in _notes_in_place(audit)]
        judged, with_purpose = len(functions), len(functions) - functions.count("outside")
        where = " where you are in place"
    if judged < _FEW or with_purpose / judged < 0.9:
        return None
    if with_purpose == judged:
        return f"every note has a purpose{where}"
    return f"{percent(with_purpose / judged)} of your notes have a purpose{where}"


def _clear_sections(audit: Audit) -> str | None:
    sections = audit.judgement.sections
    if len(sections) < _FEW or not all(score.clear for score in sections):
        return None
    return f"all {len(sections)} section boundaries can be heard in the line"


def _thirds_and_sevenths(audit: Audit) -> str | None:
    asked = _landings_in_place(audit)
    met = [landing for landing in asked if landing.met]
    if len(met) < max(_FEW, _MET * len(asked)):
        return None
    guide = sum(landing_tone(landing, audit) in ("third", "seventh") for landing in met)
    if guide / len(met) < 0.25:
        return None
    where = " in place" if lost_bars(audit) else ""
    return f"{percent(guide / len(met))} of the landings met{where} are on a third or a seventh"


def _leading_notes(audit: Audit) -> str | None:
    functions = [note.function for note in _notes_in_place(audit)]
    leading = functions.count("approach")
    if leading < _FEW or leading <= functions.count("outside"):
        return None
    return f"{leading} notes lead somewhere: approaches that arrive where they point"


def _best_chorus(audit: Audit) -> str | None:
    whole = _scores_of_whole(audit)
    if not whole:
        return None
    if len(audit.judgement.choruses) == 1:
        return _commitment(audit)
    best = max(whole, key=lambda score: score.commitment)
    others = [s.commitment for s in audit.judgement.choruses if s.chorus != best.chorus]
    if best.commitment < max(sum(others) / len(others) + _STANDS_OUT, *others):
        return None
    return f"chorus {best.chorus} is your strongest, with {best.commitment:.0f} of 100"


def _commitment(audit: Audit) -> str | None:
    if not audit.judgement.choruses:
        return None
    return f"your commitment is {audit.judgement.commitment:.0f} of 100"
