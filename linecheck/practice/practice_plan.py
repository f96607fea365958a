"""What a practice plan is made of, as frozen dataclasses. No logic stands here.

A *change* is a landing of the form: a place where a chord begins, or a beat one. A *spot* is a run
of bars to be practised as a loop, with its exercises in the order in which they are built up. All
bars are numbered as the chart numbers them; steps are twelfths of a beat (``terms``), here from
beat one of the spot's first bar. Tempos are quarter notes a minute.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeAlias

if TYPE_CHECKING:
    from linecheck.terms import Audit, Bar, Chart, Chord, Direction

__all__ = [
    "Exercise",
    "ExerciseKind",
    "Lead",
    "LineNote",
    "Loop",
    "PracticePlan",
    "Spot",
    "Target",
    "Trouble",
]

ExerciseKind: TypeAlias = Literal[
    "landings",
    "guide-tones",
    "chromatic-below",
    "chromatic-above",
    "scale",
    "double",
    "enclosure",
    "from-the-fifth",
    "walking",
    "eighths",
]


@dataclass(frozen=True, slots=True)
class Trouble:
    """What went wrong at one change, over all choruses of the take.

    ``points`` is what it took from the 100. The landing was ``missed`` in so many of the ``asked``
    choruses; ``instead`` says what was played for it. ``outside`` counts the notes outside on the
    way to it, ``silent`` the silent beats of its bar. ``lost`` says of each form loss that begins
    in the bar what it was. ``only_root`` is set where nothing was wrong, and every landing a root.
    """

    bar: int
    beat: float
    chord: str
    points: float
    asked: int
    missed: int
    outside: int
    silent: int
    instead: tuple[str, ...] = ()
    lost: tuple[str, ...] = ()
    only_root: bool = False


@dataclass(frozen=True, slots=True)
class Target:
    """A landing of a loop: its chord is held for ``steps``, up to the next landing.

    ``begins`` is the step of the beat one of its ``bar``. ``following`` is the chord of the next
    landing, round the loop. Over N.C. a chord has no root, and there is nothing to land on.
    """

    step: int
    steps: int
    chord: Chord
    following: Chord
    bar: Bar
    begins: int


@dataclass(frozen=True, slots=True)
class Loop:
    """Bars that are played round and round; ``numbers`` are theirs in the chart."""

    chart: Chart
    bars: tuple[Bar, ...]
    numbers: tuple[int, ...]
    targets: tuple[Target, ...]
    steps: int


@dataclass(frozen=True, slots=True)
class Lead:
    """An approach that an exercise means to play: where, of which kind, from which side."""

    step: int
    kind: str
    direction: Direction | None


@dataclass(frozen=True, slots=True)
class LineNote:
    """A note of an exercise: place, length in steps, pitch as it sounds."""

    step: int
    steps: int
    pitch: int


@dataclass(frozen=True, slots=True)
class Exercise:
    """One exercise over the bars of a spot.

    ``line`` goes round the loop; the sheet repeats it and closes with one bar on its first note.
    ``leads`` are the approaches that it is about, ``not_led`` the landings (as text) that this
    kind of approach cannot reach. ``tempos`` are those to practise it at, slowest first. ``sheet``
    is the audit of the sheet, from which it is engraved.
    """

    kind: ExerciseKind
    title: str
    aim: str
    line: tuple[LineNote, ...]
    leads: tuple[Lead, ...]
    not_led: tuple[str, ...]
    tempos: tuple[int, ...]
    sheet: Audit


@dataclass(frozen=True, slots=True)
class Spot:
    """Bars to practise: what went wrong there, and the exercises that mend it.

    ``also_at`` are the bars where the same chords stand again. ``points`` is what the whole take
    would gain. ``left_out`` says which exercises cannot be built over these bars, and why.
    ``minutes`` is a suggestion. ``missed`` counts the landings missed in its bars, also those for
    which the bar is not to blame because the line was lost before it.
    """

    loop: Loop
    also_at: tuple[tuple[int, ...], ...]
    points: float
    troubles: tuple[Trouble, ...]
    exercises: tuple[Exercise, ...]
    left_out: tuple[str, ...]
    minutes: int
    missed: int = 0


@dataclass(frozen=True, slots=True)
class PracticePlan:
    """What to practise after a take, what pays most first.

    ``tempo`` is the take's own. ``chosen`` is true where a person named the bars, ``adrift`` where
    the line fits no place in the form nearly throughout: no two bars would mend that, and there are
    no spots. ``questions`` are what of the audit puts in question whether the take was read
    rightly.
    """

    chart: Chart
    take: str
    commitment: float
    tempo: int
    spots: tuple[Spot, ...]
    chosen: bool = False
    adrift: bool = False
    questions: tuple[str, ...] = ()
