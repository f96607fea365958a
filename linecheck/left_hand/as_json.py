"""A fingering as JSON. The caution stands in it: whoever shows it shows it as what it is."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from linecheck.left_hand.note_row import note_row
from linecheck.left_hand.tuning import note_name
from linecheck.report.figures import POINTS, rounded
from linecheck.report.json_layout import json_text
from linecheck.report.left_hand_marks import CAUTION

if TYPE_CHECKING:
    from linecheck.terms import Fingering, WrittenFingering

__all__ = ["write_json"]

SCHEMA = 1


def write_json(found: Fingering) -> str:
    """The whole fingering as the text of a JSON file."""
    return json_text(
        {
            "schema": SCHEMA,
            "source": found.source,
            "caution": CAUTION,
            "bass": {
                "strings": [
                    {"string": len(found.tuning) - index, "name": note_name(pitch), "pitch": pitch}
                    for index, pitch in enumerate(found.tuning)
                ],
                "extension": None if found.extension is None else note_name(found.extension),
            },
            "costs": found.costs_name,
            "cost": rounded(found.cost, POINTS),
            "shifts": found.shifts,
            "biggest_shift": found.biggest_shift,
            "pivots": found.pivots,
            "crossings": found.crossings,
            "open_strings": found.open_strings,
            "high": found.high,
            "out_of_reach": found.out_of_reach,
            "notes": [note_row(note) for note in found.notes],
            "other_ways": [asdict(way) for way in found.other_ways],
            "written": found.written and _written(found.written),
            "warnings": list(found.warnings),
        }
    )


def _written(written: WrittenFingering) -> dict[str, Any]:
    return {
        "marked": written.marked,
        "shifts": written.shifts,
        "biggest_shift": written.biggest_shift,
        "differs": list(written.differs),
        "impossible": [{"note": index, "why": why} for index, why in written.impossible],
        "notes": [note_row(note) for note in written.notes],
    }
