"""The plan: spots chosen, exercises built over each, minutes suggested.

Times are common practice of practising, from memory.
"""

from __future__ import annotations

from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING

from linecheck.arguments import checked_count
from linecheck.doubts import questions
from linecheck.faults import OptionFault
from linecheck.practice.building import build_exercises, quarters_round
from linecheck.practice.growth import growth_spots
from linecheck.practice.practice_plan import PracticePlan, Spot
from linecheck.practice.spots import MOST_BARS, MOST_SPOTS, WeakSpot, loop_of, weak_spots
from linecheck.practice.weak_changes import weak_changes

if TYPE_CHECKING:
    from linecheck.practice.practice_plan import Exercise, Loop
    from linecheck.terms import Audit, Bar

__all__ = ["drill", "take_tempo"]

MOST_ADRIFT = 0.8  # share of the take that is adrift from which no spot is named
TIMES = 4  # how often a loop is played at one tempo
REST_S = 20  # to breathe and shake out the hand between two tempos


def drill(
    audit: Audit, *, most: int = MOST_SPOTS, bars: tuple[tuple[int, int], ...] = ()
) -> PracticePlan:
    """What to practise after a take, what pays most first; where nothing cost anything, where to grow.

    Where the line fits no place in the form nearly throughout, no spot is named unasked.

    Args:
        audit: a complete audit.
        most: at most so many spots.
        bars: instead of the weakest: (first, last) bar of each spot, as the chart numbers them.

    Raises:
        OptionFault: ``most`` is no number of spots, or ``bars`` are not in the chart, too many for a loop, or all N.C.
    """
    checked_count(most, "most", "spots")
    chart = audit.chart
    changes = weak_changes(audit)
    adrift = not bars and _share_adrift(audit) >= MOST_ADRIFT
    if bars:
        chosen = [
            WeakSpot(
                _checked(chart.bars, first, last),
                [],
                [t for t in changes.values() if t.bar in _round(first, last, len(chart.bars))],
            )
            for first, last in bars
        ]
    elif adrift:
        chosen = []
    else:
        chosen = weak_spots(chart, changes.values(), most) or growth_spots(audit)
    tempo = take_tempo(audit)
    return PracticePlan(
        chart=chart,
        take=Path(audit.take.source).name,
        commitment=audit.judgement.commitment,
        tempo=tempo,
        spots=tuple(_spot(audit, spot, tempo) for spot in chosen),
        chosen=bool(bars),
        adrift=adrift,
        questions=questions(audit.warnings),
    )


def _round(first: int, last: int, bars: int) -> list[int]:
    """Bar numbers from first to last, round the form where the last comes before the first."""
    return [(first - 1 + n) % bars + 1 for n in range((last - first) % bars + 1)]


def _checked(bars: tuple[Bar, ...], first: int, last: int) -> list[int]:
    """Indexes from 0 of the bars that were named."""
    named = f"{first}-{last}" if last != first else f"{first}"
    for bar in (first, last):
        if not 1 <= bar <= len(bars):
            raise OptionFault(
                f"bars {named}: the chart has bars 1 to {len(bars)}, and {bar} was read"
            )
    found = [number - 1 for number in _round(first, last, len(bars))]
    if len(found) > MOST_BARS:
        raise OptionFault(
            f"bars {named}: {len(found)} bars were read; expected {MOST_BARS} at most for a loop"
        )
    if all(placed.chord.root is None for index in found for placed in bars[index].chords):
        raise OptionFault(f"bars {named}: all of it is N.C., and there is nothing to land on")
    return found


def _share_adrift(audit: Audit) -> float:
    """The share of the judged steps at which the line fits no place in the form."""
    spans = audit.labels.spans
    adrift = sum(span.end_step - span.step for span in spans if span.offset_beats is None)
    return adrift / max(1, sum(span.end_step - span.step for span in spans))


def take_tempo(audit: Audit) -> int:
    """The tempo of a take in whole quarter notes a minute."""
    return max(1, round(audit.line.tempo_bpm))


def _spot(audit: Audit, weak: WeakSpot, tempo: int) -> Spot:
    loop = loop_of(audit.chart, weak.bars)
    roots_alone = bool(weak.troubles) and all(trouble.only_root for trouble in weak.troubles)
    exercises, left_out = build_exercises(loop, tempo, beyond_roots=roots_alone)
    return Spot(
        loop=loop,
        also_at=tuple(tuple(index + 1 for index in bars) for bars in weak.also_at),
        points=weak.points,
        troubles=tuple(weak.troubles),
        exercises=exercises,
        left_out=left_out,
        minutes=_minutes(loop, exercises),
        missed=_missed(audit, weak.bars),
    )


def _missed(audit: Audit, bars: list[int]) -> int:
    """How many landings were missed in bars (indexes from 0), in all choruses."""
    return sum(
        landing.counted and not landing.met and landing.place.bar - 1 in bars
        for landing in audit.labels.landings
        if landing.place.bar is not None
    )


def _minutes(loop: Loop, exercises: tuple[Exercise, ...]) -> int:
    """About how long: every loop a few times at each tempo, and a rest after each."""
    quarters = quarters_round(loop)
    seconds = sum(
        TIMES * quarters * 60 / tempo + REST_S for one in exercises for tempo in one.tempos
    )
    return ceil(seconds / 60)
