"""The practice track: what sounds when, bar by bar, from slow to fast.

For every spot and every tempo: a bar of count-in, the loop a few times over, and a closing bar that
holds the first chord, in which the left hand rests. The click is on two and four in 4/4; elsewhere
on every pulse that begins no group (``form.group_sizes``): the second and third of three, the
second, third and fifth of five. A pulse is a quarter note, in compound meters a dotted one. Nobody
plays the bass, unless it is asked for: that is the student's.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate
from typing import TYPE_CHECKING, Literal

from linecheck.faults import OptionFault
from linecheck.music.form import bar_steps, group_sizes
from linecheck.practice.building import slow_tempo
from linecheck.practice.ways import pulse_starts

if TYPE_CHECKING:
    from linecheck.practice.practice_plan import ExerciseKind, LineNote, PracticePlan, Spot
    from linecheck.terms import ChartChord, Meter

__all__ = ["PracticeTrack", "TrackBar", "TrackLoop", "clicks", "practice_track"]

STEP = 8
REPEATS = 4
MOST_LOOPS = 400  # spots × tempos × repeats; a track of hours is a slip of the options


@dataclass(frozen=True, slots=True)
class TrackBar:
    """One bar of the track: what it is, and the chart's bar that it plays.

    ``number`` is the bar of the chart, 0 in a count-in. ``begins`` is the step of its beat one in
    the loop. ``chords`` is empty in a count-in.
    """

    what: Literal["count-in", "loop", "closing"]
    number: int
    meter: Meter
    begins: int
    chords: tuple[ChartChord, ...]


@dataclass(frozen=True, slots=True)
class TrackLoop:
    """One spot at one tempo: its bars in order, and the line of the bass, if it is to sound."""

    spot: Spot
    tempo: int
    bars: tuple[TrackBar, ...]
    bass: tuple[LineNote, ...]
    title: str

    def once(self) -> list[TrackBar]:
        """The bars of one time round the loop."""
        played = [bar for bar in self.bars if bar.what == "loop"]
        return played[: len(self.spot.loop.bars)]


@dataclass(frozen=True, slots=True)
class PracticeTrack:
    """The whole track. ``bass`` is the kind of exercise that the bass plays, None for no bass."""

    title: str
    loops: tuple[TrackLoop, ...]
    swing: bool
    bass: ExerciseKind | None


def practice_track(
    plan: PracticePlan,
    *,
    start: int | None = None,
    to: int | None = None,
    step: int = STEP,
    repeats: int = REPEATS,
    bass: ExerciseKind | None = None,
) -> PracticeTrack:
    """Lay the track of a plan out.

    Args:
        plan: the plan.
        start: the first tempo in quarter notes a minute; None: about six tenths of the take's.
        to: the last tempo; None: the take's own.
        step: how much faster it gets at a time.
        repeats: how often each loop is played at a tempo.
        bass: let a bass play this exercise; where a spot has none of the kind, its landings.

    Raises:
        OptionFault: tempos that do not rise, or a track that is far too long.
    """
    last = plan.tempo if to is None else to
    first = slow_tempo(last) if start is None else start
    if to is None and first > last:
        last = first
    if first > last:
        raise OptionFault(
            f"--from {first} is faster than --to {last}; a track goes from slow to fast"
        )
    tempos = [*range(first, last, step), last]
    if len(tempos) * repeats * max(1, len(plan.spots)) > MOST_LOOPS:
        raise OptionFault(
            f"the track would play {len(tempos)} tempos of {repeats} rounds for every spot; "
            "a larger --step or fewer --repeats makes it shorter"
        )
    loops = [
        _loop(number, spot, tempo, repeats, bass)
        for number, spot in enumerate(plan.spots, 1)
        for tempo in tempos
    ]
    return PracticeTrack(plan.chart.title, tuple(loops), plan.chart.feel == "swing", bass)


def clicks(meter: Meter) -> list[int]:
    """The steps of a bar that are clicked: two and four."""
    pulses = pulse_starts(meter)
    if len(pulses) == 1:
        return pulses
    sizes = group_sizes(len(pulses))
    heads = set(accumulate(sizes[:-1], initial=0))
    return [pulse for nth, pulse in enumerate(pulses) if nth not in heads]


def _loop(
    number: int, spot: Spot, tempo: int, repeats: int, bass: ExerciseKind | None
) -> TrackLoop:
    loop = spot.loop
    starts = [0]
    for bar in loop.bars:
        starts.append(starts[-1] + bar_steps(bar.meter))
    played = [
        TrackBar("loop", bar_number, bar.meter, begins, bar.chords)
        for bar_number, bar, begins in zip(loop.numbers, loop.bars, starts, strict=False)
    ]
    closing = spot.exercises[0].sheet.chart.bars[-1]
    bars = (
        TrackBar("count-in", 0, loop.bars[0].meter, 0, ()),
        *(played * repeats),
        TrackBar("closing", loop.numbers[0], closing.meter, loop.steps, closing.chords),
    )
    return TrackLoop(spot, tempo, bars, _bass_line(spot, bass), f"spot {number}, {tempo} a minute")


def _bass_line(spot: Spot, bass: ExerciseKind | None) -> tuple[LineNote, ...]:
    if bass is None:
        return ()
    chosen = next((e for e in spot.exercises if e.kind == bass), spot.exercises[0])
    return chosen.line
