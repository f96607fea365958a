"""The exercises over a loop, in their order, each with the tempos to practise it at.

Tempo goes from slow to the take's own: ``SLOW`` of it first, in even steps. Notes that would come
faster than ``SHORTEST_NOTE_S`` are not asked for, so eighths stop at a slower tempo than quarters.
An exercise that these chords have no room for is left out, and why is said; so is an approach that
reaches fewer than half of the landings, and an exercise whose sheet would not be audited as
perfect. Shares and times are common practice of practising, from memory.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from linecheck.music.form import beat_quarters
from linecheck.practice.exercise_kinds import (
    BEYOND_ROOTS,
    KINDS,
    ROOT_FIRST,
    SEVENTH_FIRST,
    THIRD_FIRST,
    Kind,
)
from linecheck.practice.line_making import Line, make_line
from linecheck.practice.practice_plan import Exercise
from linecheck.practice.sheets import sheet_audit
from linecheck.terms import STEPS_PER_BEAT

if TYPE_CHECKING:
    from linecheck.practice.practice_plan import Loop, Target

__all__ = ["build_exercises", "quarters_round", "slow_tempo"]

SLOW = 0.6
SLOWEST = 40
TEMPO_STEPS = 4  # tempos of an exercise that is brought up to the take's own
SHORTEST_NOTE_S = 0.2
WORTH_IT = 0.5  # share of the landings that an approach must reach to be an exercise


def build_exercises(
    loop: Loop, tempo: int, *, beyond_roots: bool = False
) -> tuple[tuple[Exercise, ...], tuple[str, ...]]:
    """The exercises over a loop, and why others are left out.

    Args:
        loop: bars of which at least one has a chord.
        tempo: the one to come to, in quarter notes a minute.
        beyond_roots: land on thirds and sevenths rather than on roots.
    """
    exercises: list[Exercise] = []
    left_out: list[str] = []
    walked: tuple[int | None, ...] | None = None
    for kind in BEYOND_ROOTS if beyond_roots else KINDS:
        landings = walked if kind.moves == "in eighths" else None
        exercise = _perfect(loop, kind, landings, tempo)
        if isinstance(exercise, str):
            left_out.append(exercise)
            continue
        exercises.append(exercise)
        if kind.moves == "walked":
            walked = _landings_of(loop, exercise)
    if not exercises:
        return build_exercises(loop, tempo)
    return tuple(exercises), (*left_out, *_without_chord(loop))


def _perfect(
    loop: Loop, kind: Kind, landings: tuple[int | None, ...] | None, tempo: int
) -> Exercise | str:
    """The exercise of a kind, or why there is none.

    Where a line leaves in doubt which of these bars it is in, one that keeps to the roots is tried;
    in bars that are to be landed on otherwise, one that keeps to the sevenths.
    """
    clearer = SEVENTH_FIRST if kind.tones is THIRD_FIRST else ROOT_FIRST
    for one in (kind, replace(kind, tones={name: clearer[name] for name in kind.tones})):
        line = make_line(loop, one, landings)
        if kind.moves == "led":
            if not line.leads:
                return _why_not(kind, loop)
            landings_struck = sum(target.chord.root is not None for target in loop.targets)
            fits = landings_struck - len(line.not_led)
            if fits < WORTH_IT * landings_struck:
                return (
                    f"{kind.title}: it leads into only {fits} of these {landings_struck} landings."
                )
        exercise = _exercise(loop, kind, line, tempo)
        if not any(loss.certain for loss in exercise.sheet.line.losses):
            return exercise
    if kind is KINDS[0]:
        return exercise  # the landings themselves are always there
    return f"{kind.title}: such a line would not show which of these bars it is in."


def slow_tempo(tempo: int) -> int:
    """Where to begin on the way to a tempo: an even number, never faster than it."""
    return min(tempo, max(SLOWEST, 2 * round(SLOW * tempo / 2)))


def quarters_round(loop: Loop) -> float:
    """How many quarter notes one time round the loop lasts."""
    return sum(bar.meter.beats * beat_quarters(bar.meter) for bar in loop.bars)


def _landings_of(loop: Loop, exercise: Exercise) -> tuple[int | None, ...]:
    struck = {note.step: note.pitch for note in exercise.line}
    return tuple(struck.get(target.step) for target in loop.targets)


def _exercise(loop: Loop, kind: Kind, line: Line, tempo: int) -> Exercise:
    tempos = _tempos(kind, loop, line, tempo)
    leads = line.leads
    if kind.approach is not None:
        leads = tuple(lead for lead in leads if lead.kind == kind.approach)
    return Exercise(
        kind=kind.name,
        title=kind.title,
        aim=kind.aim,
        line=line.notes,
        leads=leads,
        not_led=tuple(_where(loop, target) for target in line.not_led),
        tempos=tempos,
        sheet=sheet_audit(loop, line.notes, loop.chart.title, tempos[0]),
    )


def _where(loop: Loop, target: Target) -> str:
    number = loop.numbers[loop.bars.index(target.bar)]
    beat = 1 + (target.step - target.begins) / STEPS_PER_BEAT
    at = f"bar {number}" if beat == 1 else f"bar {number} beat {beat:g}"
    return f"{target.chord.symbol} in {at}"


def _why_not(kind: Kind, loop: Loop) -> str:
    if kind.approach == "from the fifth" and len({t.chord.symbol for t in loop.targets}) == 1:
        return f"{kind.title}: the chord never changes here."
    return f"{kind.title}: every such note is a chord tone of the chord before, or has no room."


def _without_chord(loop: Loop) -> list[str]:
    empty = [
        number
        for number, bar in zip(loop.numbers, loop.bars, strict=True)
        if all(placed.chord.root is None for placed in bar.chords)
    ]
    return [f"Bar {number} is N.C.: rest there and count." for number in empty]


def _tempos(kind: Kind, loop: Loop, line: Line, tempo: int) -> tuple[int, ...]:
    """The tempos of an exercise: long notes and approaches slowly, walking up to the take's own."""
    shortest = min(_quarters(loop, note.step, note.steps) for note in line.notes)
    fastest = min(tempo, int(60 * shortest / SHORTEST_NOTE_S))
    slow = min(slow_tempo(tempo), fastest)
    if kind.moves == "led":
        return (slow,)
    if kind.moves == "held":
        return tuple(dict.fromkeys((slow, _even((slow + fastest) / 2))))
    span = fastest - slow
    between = (slow + span * nth / (TEMPO_STEPS - 1) for nth in range(1, TEMPO_STEPS - 1))
    return tuple(sorted({slow, *map(_even, between), fastest}))


def _even(tempo: float) -> int:
    return 2 * round(tempo / 2)


def _quarters(loop: Loop, step: int, steps: int) -> float:
    """How many quarter notes some steps of a loop last."""
    bar = next(t.bar for t in reversed(loop.targets) if t.begins <= step)
    return steps / STEPS_PER_BEAT * beat_quarters(bar.meter)
