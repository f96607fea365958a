"""An audit as JSON, schema 1: everything that is known of a take over a chart.

Floats are rounded once, here, by the digits in ``figures``. Keys stand in a fixed order; see
``json_layout`` for the lines.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linecheck.music.form import Form
from linecheck.music.keys import key_text
from linecheck.report.comparison_as_json import comparison_as_data
from linecheck.report.figures import (
    BEATS,
    MS,
    POINTS,
    SECONDS,
    SHARE,
    meter_text,
    rounded,
    to_the_hundredth,
)
from linecheck.report.json_layout import json_text
from linecheck.report.reference_as_json import reading_as_data
from linecheck.report.watched_in_words import watched_as_data

if TYPE_CHECKING:
    from linecheck.terms import (
        Approach,
        Audit,
        BarCost,
        Chart,
        ChorusScore,
        Feel,
        FormSpan,
        Intonation,
        Landing,
        Loss,
        Note,
        Pattern,
        Place,
        Recording,
        SectionScore,
    )

__all__ = ["SCHEMA", "audit_as_data", "write_json"]

SCHEMA = 1


def write_json(audit: Audit) -> str:
    """The audit as the text of a JSON file."""
    return json_text(audit_as_data(audit))


def audit_as_data(audit: Audit) -> dict[str, Any]:
    """The audit as dictionaries, lists, numbers and text, in the order of the file."""
    line, judgement = audit.line, audit.judgement
    form = Form(audit.chart, line.choruses)
    return {
        "schema": SCHEMA,
        "chart": _chart(audit.chart),
        "take": {
            "source": audit.take.source,
            "kind": audit.take.kind,
            "notes": len(audit.labels.notes),
            "choruses": line.choruses,
            "line": audit.take.line,
            "recording": _recording(audit.take.recording),
        },
        "time": {
            "grid": line.grid,
            "tempo_bpm": rounded(line.tempo_bpm, MS),
            "beats_s": [rounded(beat, SECONDS) for beat in line.beats_s],
            "swing_ratio": rounded(line.swing_ratio, SHARE),
            "placement_ms": {
                "mean": rounded(line.placement_mean_ms, MS),
                "spread": rounded(line.placement_spread_ms, MS),
            },
            "feel": None if line.feel is None else _feel(line.feel.whole),
            "choruses": [] if line.feel is None else [_feel(f) for f in line.feel.choruses],
        },
        "notes": [_note(note) for note in audit.labels.notes],
        "landings": [_landing(landing) for landing in audit.labels.landings],
        "form": {
            "spans": [_span(span, form) for span in line.spans],
            "losses": [_loss(loss, form) for loss in line.losses if loss.certain],
            "perhaps": [_loss(loss, form) for loss in line.losses if not loss.certain],
            "shown": line.shows_form,
        },
        "intonation": _intonation(audit.intonation),
        "choruses": [_chorus(chorus) for chorus in judgement.choruses],
        "sections": [_section(section) for section in judgement.sections],
        "commitment": to_the_hundredth(judgement.commitment, judgement.rubric.pass_mark),
        "costs": [_cost(cost) for cost in judgement.costs],
        "rubric": {
            "name": judgement.rubric.name,
            "source": judgement.rubric.source,
            "fingerprint": judgement.rubric.fingerprint,
            "weights": dict(judgement.rubric.weights),
        },
        "reference": None if audit.reference is None else reading_as_data(audit.reference),
        "watched": None if audit.watched is None else watched_as_data(audit.watched),
        "patterns": [_pattern(pattern) for pattern in audit.patterns],
        "carry_over": (None if audit.carry_over is None else comparison_as_data(audit.carry_over)),
        "warnings": list(audit.warnings),
    }


def _chart(chart: Chart) -> dict[str, Any]:
    return {
        "title": chart.title,
        "key": key_text(chart.key),
        "meter": meter_text(chart.meter),
        "bars": len(chart.bars),
        "beats": sum(bar.meter.beats for bar in chart.bars),
        "source": chart.source,
        "sections": [{"name": s.name, "bar": s.bar, "bars": s.bars} for s in chart.sections],
    }


def _place(place: Place) -> dict[str, Any]:
    return {"chorus": place.chorus, "bar": place.bar, "beat": rounded(place.beat, BEATS)}


def _approach(approach: Approach | None) -> dict[str, Any] | None:
    if approach is None:
        return None
    return {
        "kind": approach.kind,
        "target": approach.target,
        "direction": approach.direction,
        "target_note": approach.target_note,
    }


def _recording(recording: Recording | None) -> dict[str, Any] | None:
    if recording is None:
        return None
    return {
        "duration_s": rounded(recording.duration_s, SECONDS),
        "sample_rate": recording.sample_rate,
        "channels": recording.channels,
        "doubtful": [
            {"from_s": rounded(d.from_s, MS), "to_s": rounded(d.to_s, MS), "why": d.why}
            for d in recording.doubtful
        ],
    }


def _intonation(told: Intonation | None) -> dict[str, Any] | None:
    if told is None:
        return None
    return {
        "tuning_hz": rounded(told.tuning_hz, MS),
        "tuning_measured": told.tuning_measured,
        "notes": told.notes,
        "cents": {
            "mean": rounded(told.mean_cents, MS),
            "spread": rounded(told.spread_cents, MS),
            "median_off": rounded(told.median_off_cents, MS),
        },
        "in_tune": rounded(told.in_tune, SHARE),
        "rows": [
            {
                "group": row.group,
                "name": row.name,
                "notes": row.notes,
                "mean": rounded(row.mean_cents, MS),
                "spread": rounded(row.spread_cents, MS),
            }
            for row in told.rows
        ],
    }


def _feel(feel: Feel) -> dict[str, Any]:
    return {
        "tempo": rounded(feel.tempo, MS),
        "tempo_change": rounded(feel.tempo_change, SHARE),
        "placement_ms": {
            "mean": rounded(feel.placement_mean_ms, MS),
            "spread": rounded(feel.placement_spread_ms, MS),
        },
        "swing_ratio": rounded(feel.swing_ratio, SHARE),
        "length": {
            "mean": rounded(feel.length_share, SHARE),
            "spread": rounded(feel.length_spread, SHARE),
        },
        "loudness": {
            "mean": rounded(feel.loudness, MS),
            "spread": rounded(feel.loudness_spread, MS),
        },
    }


def _note(note: Note) -> dict[str, Any]:
    return {
        "onset_s": rounded(note.onset_s, SECONDS),
        "duration_s": rounded(note.duration_s, SECONDS),
        "pitch": note.pitch,
        "name": note.name,
        "velocity": note.velocity,
        **_place(note.place),
        "section": note.section,
        "chord": note.chord,
        "degree": note.degree,
        "function": note.function,
        "function_in_own_place": note.function_in_own_place,
        "approach": _approach(note.approach),
        "anticipation": note.anticipation,
        "ghost": note.ghost,
        "landing": note.landing,
        "placement_ms": rounded(note.placement_ms, MS),
        "cents": rounded(note.cents, MS),
    }


def _landing(landing: Landing) -> dict[str, Any]:
    return {
        **_place(landing.place),
        "section": landing.section,
        "chord": landing.chord,
        "met": landing.met,
        "function": landing.function,
        "anticipated": landing.anticipated,
        "placement_ms": rounded(landing.placement_ms, MS),
        "note": landing.note,
        "opens_section": landing.opens_section,
        "counted": landing.counted,
    }


def _pattern(pattern: Pattern) -> dict[str, Any]:
    return {
        "kind": pattern.kind,
        "style": pattern.style,
        "what": pattern.what,
        "times": pattern.times,
        "of": pattern.of,
        "bars": [{"chorus": chorus, "bar": bar} for chorus, bar in pattern.bars],
    }


def _span(span: FormSpan, form: Form) -> dict[str, Any]:
    # A pickup is before the form: the first span begins with chorus 1, at a place that there is.
    begins = max(0, span.step) if span.end_step > 0 else span.step
    return {
        "from": _place(form.place(begins)),
        "to": _place(form.place(span.end_step)),
        "offset": rounded(span.offset_beats, BEATS),
        "confidence": rounded(span.confidence, SHARE),
    }


def _loss(loss: Loss, form: Form) -> dict[str, Any]:
    back = None if loss.recovered_step is None else _place(form.place(loss.recovered_step))
    return {
        **_place(form.place(loss.step)),
        "kind": loss.kind,
        "offset": rounded(loss.offset_beats, BEATS),
        "recovered": back,
        "confidence": rounded(loss.confidence, SHARE),
        "other_offsets": [rounded(offset, BEATS) for offset in loss.other_offsets],
    }


def _chorus(score: ChorusScore) -> dict[str, Any]:
    return {
        "chorus": score.chorus,
        "style": score.style,
        "notes": score.notes,
        "functions": dict(score.functions),
        "purpose": rounded(score.purpose, SHARE),
        "landings": rounded(score.landings, SHARE),
        "form": rounded(score.form, SHARE),
        "presence": rounded(score.presence, SHARE),
        "commitment": rounded(score.commitment, POINTS),
    }


def _section(score: SectionScore) -> dict[str, Any]:
    return {
        "chorus": score.chorus,
        "section": score.section,
        "bar": score.bar,
        "commitment": rounded(score.commitment, POINTS),
        "landings": rounded(score.landings, SHARE),
        "clear": score.clear,
    }


def _cost(cost: BarCost) -> dict[str, Any]:
    return {
        "chorus": cost.chorus,
        "bar": cost.bar,
        "section": cost.section,
        "part": cost.part,
        "points": rounded(cost.points, SHARE),
        "why": cost.why,
    }
