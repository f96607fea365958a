"""Where a take was weakest: what each change of the form cost, over all choruses.

What a bar cost (``judge.costs``) is laid to the change that it was about: a missed landing to
itself, a note outside to the landing that it should have led to, a silent beat to its bar. All
that a form loss cost is laid to the bar in which it begins: there it has to be held. Points are
those of the whole take.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias

from linecheck.judge import PARTS, presence
from linecheck.judge.commitment import PRESENCE
from linecheck.music.form import Form
from linecheck.practice.practice_plan import Trouble
from linecheck.report.findings_in_words import certain_losses, lost_bars, off_by

if TYPE_CHECKING:
    from linecheck.terms import Audit, Landing, Note

__all__ = ["weak_changes"]

_Place: TypeAlias = tuple[int, int]  # chorus, bar


@dataclass(slots=True)
class _Found:
    """What is found of one change, in the making."""

    points: float = 0.0
    asked: int = 0
    missed: int = 0
    outside: int = 0
    silent: int = 0
    instead: list[str] = field(default_factory=list)
    lost: list[str] = field(default_factory=list)


def weak_changes(audit: Audit) -> dict[int, Trouble]:
    """Step of the change within the chorus → what went wrong there, where anything did."""
    form = Form(audit.chart, audit.line.choruses)
    lost = lost_bars(audit)
    found: defaultdict[int, _Found] = defaultdict(_Found)
    _lay_costs(audit, form, lost, found)
    for landing in audit.labels.landings:
        change = found.get(landing.step % form.steps)
        if change is not None and landing.counted:
            change.asked += 1
            if not landing.met and (landing.place.chorus, landing.place.bar) not in lost:
                change.missed += 1
                change.instead.append(_instead(landing, audit.labels.notes))
    for loss in certain_losses(audit):
        step = form.bar_begins(loss.step) % form.steps
        if step in found:
            found[step].lost.append(off_by(loss, audit.chart))
    return {step: _trouble(step, found[step], form) for step in sorted(found)}


def _lay_costs(
    audit: Audit, form: Form, lost: dict[_Place, int], found: defaultdict[int, _Found]
) -> None:
    missed = _missed_marks(audit, form)
    begins = [form.bar_begins(loss.step) % form.steps for loss in certain_losses(audit)]
    for cost in audit.judgement.costs:
        place = (cost.chorus, cost.bar)
        if place in lost:
            found[begins[lost[place]]].points += cost.points
            continue
        steps = missed[cost.part, place]
        for step in steps:
            change = found[_change_of(step, cost.part, form) % form.steps]
            change.points += cost.points / len(steps)
            # A note outside on the landing itself is told as what was played for it.
            change.outside += cost.part == "purpose" and not form.is_landing(step)
            change.silent += cost.part == PRESENCE


def _missed_marks(audit: Audit, form: Form) -> defaultdict[tuple[str, _Place], list[int]]:
    """Part and bar → the steps at which something was missed."""
    found: defaultdict[tuple[str, _Place], list[int]] = defaultdict(list)
    for part, marks_of in {**PARTS, PRESENCE: presence.marks}.items():
        for mark in marks_of(audit.labels, form):
            if mark.missed:
                place = form.place(mark.step)
                found[part, (place.chorus, place.bar or 0)].append(mark.step)
    return found


def _change_of(step: int, part: str, form: Form) -> int:
    """The landing that a miss at ``step`` is about."""
    if part == "landings" or (part == "purpose" and form.is_landing(step)):
        return step
    return form.next_landing(step) if part == "purpose" else form.bar_begins(step)


def _instead(landing: Landing, notes: tuple[Note, ...]) -> str:
    """What was played for a missed landing: ``"E2, the 13"``."""
    if landing.note is None:
        return "nothing"
    note = notes[landing.note]
    if note.ghost:
        return "a ghost"
    return f"{note.name}, the {note.degree}" if note.degree else note.name


def _trouble(step: int, found: _Found, form: Form) -> Trouble:
    place, chord = form.place(step), form.chord(step)
    return Trouble(
        bar=place.bar or 1,
        beat=place.beat or 1.0,
        chord=chord.symbol if chord else "",
        points=found.points,
        asked=found.asked,
        missed=found.missed,
        outside=found.outside,
        silent=found.silent,
        instead=tuple(dict.fromkeys(found.instead)),
        lost=tuple(found.lost),
    )
