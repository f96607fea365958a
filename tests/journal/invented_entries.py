"""Entries of an invented class, for the tests of the journal and of its courses."""

from __future__ import annotations

import hashlib
from typing import Any

from linecheck.journal import Entry, EntryLoss

EVEN = {"purpose": 0.4, "landings": 0.4, "form": 0.2}
LOST = EntryLoss(2, 5, 1.0, "ahead", 4.0, recovered=True, confidence=0.97)


def entry_like(**changes: Any) -> Entry:
    """One entry; what is changed is given by name, the take's key follows its name."""
    values: dict[str, Any] = {
        "student": "Mira",
        "date": "2026-03-01",
        "date_origin": "given",
        "take": "blues.mid",
        "kind": "played",
        "chart": "Gatepost Blues",
        "chart_key": "c1",
        "choruses": 4,
        "notes": 192,
        "commitment": 71.25,
        "parts": {"purpose": 0.9, "landings": 0.62, "form": 0.8, "presence": 1.0},
        "landings_met": 31,
        "landings_asked": 50,
        "losses": (LOST,),
        "grid": "tempo-map",
        "tempo": 120.5,
        "tempo_change": 0.031,
        "placement_mean_ms": 3.5,
        "placement_spread_ms": 18.25,
        "swing_ratio": None,
        "rubric": "Even-handed",
        "rubric_fingerprint": "r1",
        "weights": EVEN,
        "version": "0.1.0",
    }
    key = f"{changes.get('student', 'Mira')} {changes.get('take', 'blues.mid')}"
    values["take_key"] = hashlib.sha256(ascii(key).encode()).hexdigest()
    return Entry(**{**values, **changes})
