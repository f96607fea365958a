"""A chart from ABC with quoted chord symbols ("Dm7").

One chorus is the tune with its repeats and endings played out once; P: fields are its sections,
and a P: field in the header is their order. A text that begins with ^ _ < > @ is a remark. Of
the others one that looks like a chord and cannot be read is a fault (``attempted_chord``); the rest
are remarks too, and a warning names each with its measures and the chord that holds there.
Source: ABC 2.1, sections 4.18 (chord symbols) and 4.19 (annotations).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.faults import ChartFault
from linecheck.read.abc_score import read_abc
from linecheck.read.fault_place import Where
from linecheck.read.score_chart import chart_of_score

if TYPE_CHECKING:
    from pathlib import Path

    from linecheck.terms import Chart


def read_chart_abc(path: Path) -> Chart:
    """Read a chart.

    Raises:
        ChartFault: no chart; one line says where (line, measure) and why.
    """
    return chart_of_score(
        read_abc(path, ChartFault, with_chords=True), Where(ChartFault, str(path))
    )
