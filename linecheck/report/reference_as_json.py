"""A profile of reference lines as JSON, schema 1, and a line's reading against one.

The profile holds counts and shares and no name of a take, so that it can be handed on.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linecheck.report.figures import SHARE, rounded
from linecheck.report.json_layout import json_text

if TYPE_CHECKING:
    from linecheck.reference_terms import ReferenceProfile, ReferenceReading

__all__ = ["SCHEMA", "reading_as_data", "write_reference_json"]

SCHEMA = 1


def write_reference_json(profile: ReferenceProfile) -> str:
    """The profile as the text of a file that ``audit --reference`` reads."""
    return json_text(
        {
            "schema": SCHEMA,
            "takes": profile.takes,
            "choruses": profile.choruses,
            "notes": profile.notes,
            "shares": [
                {
                    "style": row.style,
                    "by": row.by,
                    "name": row.name,
                    "takes": row.takes,
                    "choruses": row.choruses,
                    "notes": row.notes,
                    "functions": {
                        function: {
                            "share": rounded(share, SHARE),
                            "mean": rounded(row.means[function], SHARE),
                            "spread": rounded(row.spreads[function], SHARE),
                        }
                        for function, share in row.shares.items()
                    },
                }
                for row in profile.shares
            ],
        }
    )


def reading_as_data(reading: ReferenceReading) -> dict[str, Any]:
    """A reading as dictionaries and lists, in the order of the file."""
    profile = reading.profile
    return {
        "profile": profile.source,
        "takes": profile.takes,
        "choruses": profile.choruses,
        "notes": profile.notes,
        "differences": [
            {
                "style": row.style,
                "by": row.by,
                "name": row.name,
                "function": row.function,
                "notes": row.notes,
                "share": rounded(row.share, SHARE),
                "expected": rounded(row.expected, SHARE),
                "low": rounded(row.low, SHARE),
                "high": rounded(row.high, SHARE),
                "chance": rounded(row.chance, SHARE),
                "differs": row.differs,
            }
            for row in reading.differences
        ],
        "passed_over": list(reading.passed_over),
    }
