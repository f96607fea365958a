"""A chart as it was understood, as JSON: every bar of one chorus with its chords and their tones.

``bars`` is one chorus; ``intro`` and ``ending`` are laid out in the same way. A beat is numbered
from 1 in its bar. ``tensions`` are those that the symbol names, ``available`` those that a line
may use over it. A chord of N.C. has root and bass null and no tones.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linecheck.music.keys import key_text
from linecheck.report.figures import BEATS, MS, meter_text, rounded
from linecheck.report.json_layout import json_text
from linecheck.terms import STEPS_PER_BEAT

if TYPE_CHECKING:
    from linecheck.terms import Bar, Chart, ChartChord, Tension

__all__ = ["chart_as_data", "write_chart_json"]


def write_chart_json(chart: Chart) -> str:
    """The chart as the text of a JSON file."""
    return json_text(chart_as_data(chart))


def chart_as_data(chart: Chart) -> dict[str, Any]:
    """The chart as dictionaries, lists, numbers and text, in the order of the file."""
    return {
        "title": chart.title,
        "key": key_text(chart.key),
        "meter": meter_text(chart.meter),
        "tempo": rounded(chart.tempo, MS),
        "feel": chart.feel,
        "form": list(chart.form),
        "sections": [{"name": s.name, "bar": s.bar, "bars": s.bars} for s in chart.sections],
        "bars": [_bar(bar) for bar in chart.bars],
        "intro": [_bar(bar) for bar in chart.intro],
        "ending": [_bar(bar) for bar in chart.ending],
        "source": chart.source,
        "warnings": list(chart.warnings),
    }


def _bar(bar: Bar) -> dict[str, Any]:
    return {
        "bar": bar.number,
        "section": bar.section,
        "meter": meter_text(bar.meter),
        "chords": [_chord(chord) for chord in bar.chords],
    }


def _chord(placed: ChartChord) -> dict[str, Any]:
    chord = placed.chord
    return {
        "beat": rounded(1 + placed.step / STEPS_PER_BEAT, BEATS),
        "symbol": chord.symbol,
        "root": chord.root,
        "bass": chord.bass,
        "kind": chord.kind,
        "tones": [
            {"pitch_class": tone.pitch_class, "degree": tone.degree, "function": tone.function}
            for tone in chord.tones
        ],
        "tensions": _tensions(chord.tensions),
        "available": _tensions(chord.available),
    }


def _tensions(tensions: tuple[Tension, ...]) -> list[dict[str, Any]]:
    return [{"pitch_class": t.pitch_class, "degree": t.degree} for t in tensions]
