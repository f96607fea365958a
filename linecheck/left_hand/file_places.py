"""The bars and beats of the take's own file, for a line that has no chart.

Bars are counted from 1, a pickup bar is bar 0; beats from 1. A step is a twelfth of a beat, step 0
is beat one of bar 1. A take that was played free has no bars of its own: the file's would say
nothing.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING

import numpy as np

from linecheck.music.form import bar_steps, beat_quarters
from linecheck.place.beat_grid import seconds_per_quarter
from linecheck.place.click_evidence import click_evidence
from linecheck.place.file_bars import bar_lines
from linecheck.place.quantise import end_steps, quantise, quantise_written
from linecheck.terms import STEPS_PER_BEAT

if TYPE_CHECKING:
    from linecheck.terms import Meter, Take

__all__ = ["FilePlaces", "file_places"]


@dataclass(frozen=True, slots=True)
class FilePlaces:
    """The notes of a take in the bars of its file.

    ``meters`` has one entry a bar from bar 1; ``places`` are (bar, beat), ``steps`` and ``stops``
    where each note begins and stops.
    """

    meters: tuple[Meter, ...]
    places: tuple[tuple[int, float], ...]
    steps: tuple[int, ...]
    stops: tuple[int, ...]


def file_places(take: Take) -> FilePlaces | None:
    """Bar and beat of every note by the file; None where it counts none, or was played free."""
    if not take.notes or any(n.onset_quarters is None for n in take.notes):
        return None
    if not click_evidence(take).usable:
        return None
    onsets = [float(n.onset_quarters or 0.0) for n in take.notes]
    ends = [
        at + float(n.duration_quarters or 0.0) for at, n in zip(onsets, take.notes, strict=True)
    ]
    lines, meters = bar_lines(take, max(ends))
    beats_before = list(
        accumulate(
            (
                (b - a) / beat_quarters(m)
                for (a, b), m in zip(pairwise(lines), meters, strict=False)
            ),
            initial=0.0,
        )
    )

    def beats(quarters: float) -> float:
        bar = max(bisect_right(lines, quarters) - 1, 0)
        return beats_before[bar] + (quarters - lines[bar]) / beat_quarters(meters[bar])

    at = np.array([beats(q) for q in onsets])
    if take.kind == "written" or take.tempo_map is None:
        quantised = quantise_written(at)
    else:
        unit = [beat_quarters(meters[max(bisect_right(lines, q) - 1, 0)]) for q in onsets]
        beat_s = seconds_per_quarter(take.tempo_map, np.array(onsets)) * np.array(unit)
        quantised = quantise(at, beat_s)
    stops = end_steps(np.array([beats(q) for q in ends]), quantised)
    steps = quantised.steps.tolist()
    starts = [round(beat * STEPS_PER_BEAT) for beat in beats_before]
    return FilePlaces(
        meters=tuple(meters[: len(lines) - 1]) or (meters[0],),
        places=tuple(_place(step, starts, meters) for step in steps),
        steps=tuple(steps),
        stops=tuple(stops.tolist()),
    )


def _place(step: int, starts: list[int], meters: list[Meter]) -> tuple[int, float]:
    if step < 0:
        return 0, 1 + (step + bar_steps(meters[0])) / STEPS_PER_BEAT
    bar = bisect_right(starts, step) - 1
    return bar + 1, 1 + (step - starts[bar]) / STEPS_PER_BEAT
