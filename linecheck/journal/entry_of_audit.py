"""An audit as an entry of the journal, with its student and its date."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import TYPE_CHECKING

from linecheck.journal.entry import Entry, EntryLoss
from linecheck.journal.student_and_date import date_of_take, student_name
from linecheck.judge import PARTS, gather_evidence
from linecheck.judge.commitment import PRESENCE, Count, share
from linecheck.music.form import Form
from linecheck.terms import Feel
from linecheck.version import __version__

if TYPE_CHECKING:
    from os import PathLike

    from linecheck.terms import Audit, Bar, Chart, Evidence

__all__ = ["chart_key", "counted_parts", "entry_of_audit"]

_NO_FEEL = Feel(None, None, None, None, None, None, None, None, None)


def entry_of_audit(
    audit: Audit,
    *,
    student: str = "",
    date: str | None = None,
    take_file: str | PathLike[str] | None = None,
) -> Entry:
    """The entry of one audit.

    Args:
        audit: a complete audit.
        student: the student's name; "" for none.
        date: the day of the take, ``"2026-03-01"``; None: by the file's name or its last change.
        take_file: the file of the take; None: the one that the audit names.

    Raises:
        OptionFault: the date is no date, the name is too long, or no date is given and there is
            no file to take one from.
    """
    file = Path(audit.take.source if take_file is None else take_file)
    day, origin = date_of_take(file, date)
    form = Form(audit.chart, audit.line.choruses)
    evidence = audit.judgement.evidence or gather_evidence(audit.labels, audit.line, form)
    counts = counted_parts(evidence)
    landings = counts["landings"]
    rubric = audit.judgement.rubric
    whole = sum(rubric.weights.values())
    feel = _NO_FEEL if audit.line.feel is None else audit.line.feel.whole
    return Entry(
        student=student_name(student),
        date=day,
        date_origin=origin,
        take=file.name,
        take_key=_take_key(file, audit),
        kind=audit.take.kind,
        chart=audit.chart.title,
        chart_key=chart_key(audit.chart),
        choruses=audit.line.choruses,
        notes=len(audit.labels.notes),
        commitment=audit.judgement.commitment,
        parts={part: share(count) for part, count in counts.items()},
        landings_met=landings.marks - landings.missed,
        landings_asked=landings.marks,
        losses=_losses(audit, form),
        grid=audit.line.grid,
        tempo=feel.tempo,
        tempo_change=feel.tempo_change,
        placement_mean_ms=feel.placement_mean_ms,
        placement_spread_ms=feel.placement_spread_ms,
        swing_ratio=feel.swing_ratio,
        rubric=rubric.name,
        rubric_fingerprint=rubric.fingerprint,
        weights={part: weight / whole for part, weight in rubric.weights.items() if weight > 0},
        version=__version__,
    )


def counted_parts(evidence: Evidence) -> dict[str, Count]:
    """Each part, and presence, with how much there was to earn in the whole take, and missed."""
    return {
        part: Count(
            sum(bar.marks.get(part, 0) for bar in evidence.bars),
            sum(len(bar.missed.get(part, ())) for bar in evidence.bars),
        )
        for part in (*PARTS, PRESENCE)
    }


def chart_key(chart: Chart) -> str:
    """A hash of what a chart asks of a line: equal however its symbols are spelled or laid out."""
    stretches = (chart.intro, chart.bars, chart.ending)
    return _hash([[_bar_meaning(bar) for bar in stretch] for stretch in stretches])


def _bar_meaning(bar: Bar) -> list[object]:
    chords = [
        [
            placed.step,
            placed.chord.root,
            placed.chord.bass,
            placed.chord.kind,
            sorted(tone.pitch_class for tone in placed.chord.tones),
            sorted(tension.pitch_class for tension in placed.chord.available),
        ]
        for placed in bar.chords
    ]
    return [bar.section, bar.opens_section, bar.meter.beats, bar.meter.unit, chords]


def _take_key(file: Path, audit: Audit) -> str:
    """A hash of the file as it lies there; without a file, of the notes."""
    try:
        return hashlib.sha256(file.read_bytes()).hexdigest()
    except (OSError, ValueError):
        notes = audit.take.notes
        return _hash([[n.onset_s, n.duration_s, n.pitch, n.velocity] for n in notes])


def _hash(meaning: object) -> str:
    text = json.dumps(meaning, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()


def _losses(audit: Audit, form: Form) -> tuple[EntryLoss, ...]:
    found = []
    for loss in audit.line.losses:
        if loss.certain:
            place = form.place(loss.step)
            found.append(
                EntryLoss(
                    chorus=place.chorus,
                    bar=place.bar or 1,
                    beat=place.beat or 1.0,
                    kind=loss.kind,
                    offset_beats=loss.offset_beats,
                    recovered=loss.recovered_step is not None,
                    confidence=loss.confidence,
                )
            )
    return tuple(found)
