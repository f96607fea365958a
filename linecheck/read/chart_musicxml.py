"""A chart from MusicXML: lead sheets with ``<harmony>``, in .musicxml, .xml and .mxl files.

One chorus is the tune with its repeats, endings and jumps played out once; rehearsal marks are
its sections. Chord symbols of a transposing part are read at concert pitch.
Source: MusicXML 4.0 (score-partwise and score-timewise).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.faults import ChartFault
from linecheck.read.fault_place import Where
from linecheck.read.musicxml_score import read_musicxml
from linecheck.read.score_chart import chart_of_score

if TYPE_CHECKING:
    from pathlib import Path

    from linecheck.terms import Chart


def read_chart_musicxml(path: Path) -> Chart:
    """Read a chart.

    Raises:
        ChartFault: no chart; one line says where (part, measure) and why.
    """
    score = read_musicxml(path, ChartFault, with_chords=True)
    return chart_of_score(score, Where(ChartFault, str(path)))
