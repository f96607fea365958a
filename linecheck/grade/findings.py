"""findings: what is kept of an audit, before any rubric weighs it.

They are all that a grade book, a class page and an appeal need of a take, in a few kilobytes of
JSON: with them a take can be graded by another rubric without being read again. A figure is kept
as JSON writes it, which gives the same float back.
"""

from __future__ import annotations

import json
from dataclasses import astuple, dataclass
from typing import TYPE_CHECKING, Any, get_args

from linecheck.grade.terms import Loss
from linecheck.music.form import Form
from linecheck.terms import (
    FUNCTIONS,
    BarEvidence,
    ChorusEvidence,
    Evidence,
    Feel,
    GridKind,
    Place,
    Remark,
    SectionEvidence,
    TakeKind,
)

if TYPE_CHECKING:
    from linecheck.terms import Audit

__all__ = ["Findings", "findings_of", "read_findings", "write_findings"]


@dataclass(frozen=True, slots=True)
class Findings:
    """What an audit found of one take over one chart; fields as in ``Graded``."""

    title: str
    form_bars: int
    kind: TakeKind
    notes: int
    grid: GridKind
    tempo_bpm: float
    tempo_change: float | None
    swing_ratio: float | None
    placement_mean_ms: float
    placement_spread_ms: float
    losses: tuple[Loss, ...]
    warnings: tuple[Remark, ...]
    evidence: Evidence
    feel: Feel | None


def findings_of(audit: Audit) -> Findings:
    """What is kept of an audit."""
    line, evidence = audit.line, audit.judgement.evidence
    if evidence is None:
        raise ValueError("a judgement without its evidence cannot be kept")
    form = Form(audit.chart, line.choruses)
    return Findings(
        title=audit.chart.title,
        form_bars=len(audit.chart.bars),
        kind=audit.take.kind,
        notes=len(audit.take.notes),
        grid=line.grid,
        tempo_bpm=line.tempo_bpm,
        tempo_change=None if line.feel is None else line.feel.whole.tempo_change,
        swing_ratio=line.swing_ratio,
        placement_mean_ms=line.placement_mean_ms,
        placement_spread_ms=line.placement_spread_ms,
        losses=tuple(
            Loss(
                begins=form.place(loss.step),
                kind=loss.kind,
                offset_beats=loss.offset_beats,
                recovered=None if loss.recovered_step is None else form.place(loss.recovered_step),
                confidence=loss.confidence,
                certain=loss.certain,
            )
            for loss in line.losses
        ),
        warnings=audit.warnings,
        evidence=evidence,
        feel=None if line.feel is None else line.feel.whole,
    )


# ---- as JSON ---------------------------------------------------------------------------------

_PLAIN = (
    "title", "form_bars", "kind", "notes", "grid", "tempo_bpm", "tempo_change", "swing_ratio",
    "placement_mean_ms", "placement_spread_ms",
)  # fmt: skip


def write_findings(findings: Findings) -> str:
    """Findings as one line of JSON, in ASCII."""
    data: dict[str, Any] = {name: getattr(findings, name) for name in _PLAIN}
    data["warnings"] = [[said, said.doubt, *said.names] for said in findings.warnings]
    data["losses"] = [
        [
            _place_row(loss.begins),
            loss.kind,
            loss.offset_beats,
            None if loss.recovered is None else _place_row(loss.recovered),
            loss.confidence,
            loss.certain,
        ]
        for loss in findings.losses
    ]
    data["feel"] = None if findings.feel is None else astuple(findings.feel)
    data["evidence"] = _evidence_columns(findings.evidence, findings.form_bars)
    return json.dumps(data, separators=(",", ":"), allow_nan=False)


def read_findings(text: str | bytes) -> Findings:
    """Findings from what ``write_findings`` wrote.

    Raises:
        ValueError: the text is nothing that it wrote.
    """
    try:
        data = json.loads(text)
        if data["kind"] not in get_args(TakeKind) or data["grid"] not in get_args(GridKind):
            raise ValueError("neither kind nor grid of a take")
        return Findings(
            **{name: data[name] for name in _PLAIN},
            warnings=tuple(
                Remark(text, doubt, tuple(names)) for text, doubt, *names in data["warnings"]
            ),
            losses=tuple(
                Loss(Place(*begins), kind, offset, back and Place(*back), confidence, certain)
                for begins, kind, offset, back, confidence, certain in data["losses"]
            ),
            evidence=_evidence(data["evidence"]),
            feel=None if data["feel"] is None else Feel(*data["feel"]),
        )
    except (KeyError, TypeError, IndexError, AttributeError) as fault:
        raise ValueError(f"not the findings of an audit: {fault!r}") from None


def _place_row(place: Place) -> list[Any]:
    return [place.chorus, place.bar, place.beat]


def _evidence_columns(evidence: Evidence, form_bars: int) -> dict[str, Any]:
    """By columns: a number a bar for each part, and the reasons of the bars that have some."""
    parts = dict.fromkeys(part for bar in evidence.bars for part in bar.marks)
    return {
        "beats": evidence.beats,
        "bars": [[bar.bar, bar.section] for bar in evidence.bars[:form_bars]],
        "choruses": [
            [c.style, c.notes, [c.functions[name] for name in FUNCTIONS], c.beats]
            for c in evidence.choruses
        ],
        "sections": [[s.chorus, s.section, s.bar, s.bars, s.clear] for s in evidence.sections],
        "marks": {part: [bar.marks.get(part, 0) for bar in evidence.bars] for part in parts},
        "missed": {
            part: [
                [at, *bar.missed[part]]
                for at, bar in enumerate(evidence.bars)
                if part in bar.missed
            ]
            for part in parts
        },
    }


def _evidence(data: dict[str, Any]) -> Evidence:
    form = data["bars"]
    bars = [
        BarEvidence(chorus + 1, bar, section, {}, {})
        for chorus in range(len(data["choruses"]))
        for bar, section in form
    ]
    for part, counts in data["marks"].items():
        for bar, count in zip(bars, counts, strict=True):
            if count:
                bar.marks[part] = count
    for part, rows in data["missed"].items():
        for at, *reasons in rows:
            bars[at].missed[part] = tuple(reasons)
    return Evidence(
        bars=tuple(bars),
        choruses=tuple(
            ChorusEvidence(at + 1, style, notes, dict(zip(FUNCTIONS, counts, strict=True)), beats)
            for at, (style, notes, counts, beats) in enumerate(data["choruses"])
        ),
        sections=tuple(SectionEvidence(*row) for row in data["sections"]),
        beats=data["beats"],
    )
