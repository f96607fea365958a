"""Which bars to practise, made of the weakest changes: at most a handful, what pays most first.

A change on a beat one is practised with the bar before it, any other with the bar after it: both
are a step from one chord into the next. Changes over the same chords in the same order are one,
wherever they stand in the form, and spots that share a bar are joined up to ``MOST_BARS``. A bar of
N.C. alone is no lead into anything and is left away.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias

from linecheck.music.form import bar_steps
from linecheck.practice.practice_plan import Loop, Target, Trouble

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from linecheck.terms import Bar, Chart, Chord

__all__ = ["MOST_BARS", "MOST_SPOTS", "WeakSpot", "loop_of", "weak_spots"]

MOST_SPOTS = 5
MOST_BARS = 4
WORTH_IT = 0.1  # of what the first spot pays; what pays less waits for another day

_Material: TypeAlias = tuple[object, ...]


@dataclass(slots=True)
class WeakSpot:
    """Indexes of the bars from 0, round the form; where the same chords stand again; what was wrong."""

    bars: list[int]
    also_at: list[list[int]]
    troubles: list[Trouble]

    @property
    def points(self) -> float:
        """What the whole take would gain."""
        return sum(trouble.points for trouble in self.troubles)


@dataclass(slots=True)
class _Change:
    """A change in all the places where its chords stand."""

    places: list[tuple[list[int], Trouble]] = field(default_factory=list)

    @property
    def points(self) -> float:
        return sum(trouble.points for _, trouble in self.places)


def weak_spots(chart: Chart, changes: Iterable[Trouble], most: int = MOST_SPOTS) -> list[WeakSpot]:
    """The spots of a chart that pay most.

    Args:
        chart: the chart.
        changes: what went wrong, in the order of the form.
        most: at most so many spots.
    """
    folded: dict[_Material, _Change] = {}
    for trouble in changes:
        bars = _bars_of(chart, trouble)
        key = (_material(chart, bars), trouble.beat, trouble.bar - 1 - bars[0])
        folded.setdefault(key, _Change()).places.append((bars, trouble))
    spots: list[WeakSpot] = []
    for change in sorted(folded.values(), key=lambda c: -round(c.points, 6)):
        places = sorted(change.places, key=lambda p: -round(p[1].points, 6))
        bars, also = places[0][0], [place[0] for place in places[1:]]
        troubles = [trouble for _, trouble in places]
        for spot in spots:
            joined = _joined(spot.bars, bars, len(chart.bars))
            if joined:
                spot.bars = joined
                spot.also_at += [other for other in also if other not in spot.also_at]
                spot.troubles += troubles
                break
        else:
            if len(spots) < most:
                spots.append(WeakSpot(bars, also, troubles))
    spots.sort(key=lambda spot: -round(spot.points, 6))
    return [s for s in spots if s.points > 0 and s.points >= WORTH_IT * spots[0].points]


def _bars_of(chart: Chart, trouble: Trouble) -> list[int]:
    bar = trouble.bar - 1
    other = (bar - 1 if trouble.beat == 1 else bar + 1) % len(chart.bars)
    if other == bar or _is_empty(chart.bars[other]):
        return [bar]
    return [other, bar] if trouble.beat == 1 else [bar, other]


def _is_empty(bar: Bar) -> bool:
    return all(placed.chord.root is None for placed in bar.chords)


def _material(chart: Chart, bars: Sequence[int]) -> _Material:
    """What a player sees of bars: equal for equal chords at equal places."""
    return tuple(
        (
            chart.bars[bar].meter,
            tuple((placed.step, placed.chord.symbol) for placed in chart.bars[bar].chords),
        )
        for bar in bars
    )


def _joined(one: list[int], other: list[int], bars: int) -> list[int] | None:
    """Both as one run of bars round the form; None where they share no bar or are too many."""
    if not set(one) & set(other):
        return None
    together = set(one) | set(other)
    if together == set(one):
        return one
    if len(together) > MOST_BARS:
        return None
    if len(together) == bars:  # all of a very short form
        return list(range(bars))
    first = next(bar for bar in together if (bar - 1) % bars not in together)
    return [(first + n) % bars for n in range(len(together))]


def loop_of(chart: Chart, bars: Sequence[int]) -> Loop:
    """The loop of these bars (indexes from 0), with its landings."""
    found: list[tuple[int, int, Bar, int]] = []
    begins = 0
    for index in bars:
        bar = chart.bars[index]
        steps = sorted({0, *(placed.step for placed in bar.chords)})
        found += [(begins + step, step, bar, begins) for step in steps]
        begins += bar_steps(bar.meter)
    chords = [_chord_at(bar, step) for _, step, bar, _ in found]
    ends = [*(step for step, *_ in found[1:]), begins]
    targets = tuple(
        Target(step, end - step, chord, chords[(nth + 1) % len(chords)], bar, bar_begins)
        for nth, ((step, _, bar, bar_begins), end, chord) in enumerate(
            zip(found, ends, chords, strict=True)
        )
    )
    return Loop(
        chart=chart,
        bars=tuple(chart.bars[index] for index in bars),
        numbers=tuple(index + 1 for index in bars),
        targets=targets,
        steps=begins,
    )


def _chord_at(bar: Bar, step: int) -> Chord:
    return next(p.chord for p in reversed(bar.chords) if p.step <= step)
