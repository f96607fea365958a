"""Courses as JSON (schema 1): every student, course, take and trend, for a program."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linecheck.journal.course import by_student
from linecheck.report.figures import BEATS, MS, POINTS, SHARE, rounded
from linecheck.report.json_layout import json_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.journal.course import Course, Point, Trend

__all__ = ["write_courses_json"]


def write_courses_json(found: Sequence[Course]) -> str:
    """The courses as the text of a JSON file."""
    return json_text(
        {
            "schema": 1,
            "students": [
                {
                    "student": own[0].student,
                    "class": own[0].class_name,
                    "courses": [_course(course) for course in own],
                }
                for own in by_student(found)
            ],
        }
    )


def _course(course: Course) -> dict[str, Any]:
    return {
        "chart": course.chart,
        "chart_key": course.chart_key,
        "kind": course.kind,
        "trends": [_trend(trend) for trend in course.trends],
        "takes": [_take(point) for point in course.points],
    }


def _trend(trend: Trend) -> dict[str, Any]:
    return {
        "measure": trend.measure.name,
        "takes": trend.takes,
        "first": rounded(trend.first, SHARE),
        "last": rounded(trend.last, SHARE),
        "direction": trend.direction,
        "better": trend.better,
    }


def _take(point: Point) -> dict[str, Any]:
    entry = point.entry
    return {
        "date": entry.date,
        "date_origin": entry.date_origin,
        "take": entry.take,
        "choruses": entry.choruses,
        "notes": entry.notes,
        "commitment": rounded(entry.commitment, POINTS),
        "parts": {part: rounded(share, SHARE) for part, share in entry.parts.items()},
        "landings_met": entry.landings_met,
        "landings_asked": entry.landings_asked,
        "losses": [
            {
                "chorus": loss.chorus,
                "bar": loss.bar,
                "beat": rounded(loss.beat, BEATS),
                "kind": loss.kind,
                "offset": rounded(loss.offset_beats, BEATS),
                "recovered": loss.recovered,
                "confidence": rounded(loss.confidence, SHARE),
            }
            for loss in entry.losses
        ],
        "grid": entry.grid,
        "tempo": rounded(entry.tempo, POINTS),
        "tempo_change": rounded(entry.tempo_change, SHARE),
        "placement_ms": {
            "mean": rounded(entry.placement_mean_ms, MS),
            "spread": rounded(entry.placement_spread_ms, MS),
        },
        "swing_ratio": rounded(entry.swing_ratio, SHARE),
        "rubric": {
            "name": entry.rubric,
            "fingerprint": entry.rubric_fingerprint,
            "weights": {part: rounded(weight, SHARE) for part, weight in entry.weights.items()},
        },
        "version": entry.version,
        "breaks": list(point.breaks),
    }
