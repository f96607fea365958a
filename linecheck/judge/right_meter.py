"""Whether a line and a chart are in meters that fit each other.

A line is laid over the chart beat by beat, so one in another meter drifts off at the first bar
line. Bars of which one is a whole number of the other's (2/4 and 4/4, 4/4 and 2/2) fall together. A
pickup, a bar cut short and a section in a meter of its own are no other meter: what counts is the
meter that most of the line is in.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from linecheck.terms import Remark

if TYPE_CHECKING:
    from linecheck.terms import Chart, Meter, Take


def meter_doubts(take: Take, chart: Chart) -> tuple[Remark, ...]:
    """The warning that the line is in another meter than the chart, or none.

    Of a played take only another meter than 4/4 counts: a MIDI file says 4/4 where nobody set one.
    """
    if not take.meters or not take.notes:
        return ()
    meter = _main_meter(take)
    if take.kind != "written" and (meter.beats, meter.unit) == (4, 4):
        return ()
    of_chart = list(dict.fromkeys(bar.meter for bar in (*chart.intro, *chart.bars, *chart.ending)))
    if any(_fall_together(meter, other) for other in of_chart):
        return ()
    named = " and ".join(f"{other.beats}/{other.unit}" for other in of_chart)
    what = "line is written" if take.kind == "written" else "file is"
    told = f"the {what} in {meter.beats}/{meter.unit}, the chart is in {named}"
    return (Remark(f"{told}: their bars do not fall together", "meter"),)


def _main_meter(take: Take) -> Meter:
    """The meter that most of the line is in, by length."""
    last = take.notes[-1]
    end = (last.onset_quarters or 0.0) + (last.duration_quarters or 0.0)
    begins = [*(change.quarters for change in take.meters), end]
    lengths: dict[Meter, float] = {}
    for change, (start, stop) in zip(take.meters, pairwise(begins), strict=True):
        lengths[change.meter] = lengths.get(change.meter, 0.0) + max(0.0, stop - start)
    return max(lengths, key=lambda meter: lengths[meter])


def _fall_together(one: Meter, other: Meter) -> bool:
    long, short = one.beats * other.unit, other.beats * one.unit  # in the same small unit
    return long % short == 0 or short % long == 0
