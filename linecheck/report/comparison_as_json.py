"""A comparison as JSON, schema 1. Floats are rounded once, here."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linecheck.music.keys import key_text
from linecheck.report.figures import BEATS, SHARE, meter_text, rounded
from linecheck.report.json_layout import json_text

if TYPE_CHECKING:
    from linecheck.comparison_terms import CarryOver, ComparedPlace, ComparedSide, Comparison, Share

__all__ = ["SCHEMA", "comparison_as_data", "write_comparison_json"]

SCHEMA = 1


def write_comparison_json(comparison: Comparison) -> str:
    """The comparison as the text of a JSON file."""
    chart = comparison.chart
    return json_text(
        {
            "schema": SCHEMA,
            "chart": {
                "title": chart.title,
                "key": key_text(chart.key),
                "meter": meter_text(chart.meter),
                "bars": len(chart.bars),
                "source": chart.source,
            },
            **comparison_as_data(comparison),
            "warnings": list(comparison.warnings),
        }
    )


def comparison_as_data(comparison: Comparison) -> dict[str, Any]:
    """What was compared and found, without the chart and the warnings."""
    return {
        "before": _side(comparison.before),
        "after": _side(comparison.after),
        "carried": [_carried(carried) for carried in comparison.carried],
        "places": [_place(place) for place in comparison.places],
        "first_breaks": [
            {"chorus": b.chorus, "bar": b.bar, "section": b.section, "why": b.why}
            for b in comparison.first_breaks
        ],
        "traits": [
            {
                "name": trait.name,
                "unit": trait.unit,
                "before": rounded(trait.before, SHARE),
                "after": rounded(trait.after, SHARE),
            }
            for trait in comparison.traits
        ],
    }


def _side(side: ComparedSide) -> dict[str, Any]:
    return {
        "name": side.name,
        "source": side.source,
        "style": side.style,
        "choruses": list(side.choruses),
    }


def _carried(carried: CarryOver) -> dict[str, Any]:
    change = None
    if carried.change is not None:
        by, low, high = (rounded(value, SHARE) for value in carried.change)
        change = {"by": by, "low": low, "high": high}
    return {
        "kind": carried.kind,
        "kept": _share(carried.kept),
        "before": _share(carried.before),
        "after": _share(carried.after),
        "change": change,
    }


def _share(share: Share) -> dict[str, Any]:
    return {
        "share": rounded(share.share, SHARE),
        "low": rounded(share.low, SHARE),
        "high": rounded(share.high, SHARE),
        "shown": share.shown,
        "asked": share.asked,
        "choruses": share.choruses,
    }


def _place(place: ComparedPlace) -> dict[str, Any]:
    return {
        "kind": place.kind,
        "bar": place.bar,
        "beat": rounded(place.beat, BEATS),
        "section": place.section,
        "chord": place.chord,
        "before": {"shown": place.before[0], "asked": place.before[1]},
        "after": {"shown": place.after[0], "asked": place.after[1]},
        "outcome": place.outcome,
    }
