"""An audit as an entry of the journal, with its student and its date."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import TYPE_CHECKING

from linecheck.journal.entry_of_judgement import entry_loss, entry_of_judgement
from linecheck.journal.student_and_date import date_of_take, student_name
from linecheck.judge import gather_evidence
from linecheck.music.form import Form, chart_beat_quarters
from linecheck.version import __version__

if TYPE_CHECKING:
    from os import PathLike

    from linecheck.journal.entry import Entry
    from linecheck.terms import Audit, Bar, Chart

__all__ = ["chart_key", "entry_of_audit"]


def entry_of_audit(
    audit: Audit,
    *,
    student: str = "",
    date: str | None = None,
    take_file: str | PathLike[str] | None = None,
    class_name: str = "",
    within: str | PathLike[str] | None = None,
) -> Entry:
    """The entry of one audit.

    Args:
        audit: a complete audit.
        student: the student's name; "" for none.
        date: the day of the take, ``"2026-03-01"``; None: by the file's name or its last change.
        take_file: the file of the take; None: the one that the audit names.
        class_name: the student's class; "" where none is known.
        within: the folder below which a folder's name may hold the day of a take; None: only
            the folder that the file is in.

    Raises:
        OptionFault: the date is no date, the name is too long, or no date is given and there is
            no file to take one from.
    """
    file = Path(audit.take.source if take_file is None else take_file)
    day, origin = date_of_take(file, date, within=None if within is None else Path(within))
    form = Form(audit.chart, audit.line.choruses)
    return entry_of_judgement(
        audit.judgement,
        evidence=audit.judgement.evidence or gather_evidence(audit.labels, audit.line, form),
        feel=None if audit.line.feel is None else audit.line.feel.whole,
        quarters_a_beat=chart_beat_quarters(audit.chart),
        losses=tuple(
            entry_loss(loss, form.place(loss.step), recovered=loss.recovered_step is not None)
            for loss in audit.line.losses
            if loss.certain
        ),
        student=student_name(student),
        date=day,
        date_origin=origin,
        take=file.name,
        take_key=_take_key(file, audit),
        kind=audit.take.kind,
        chart=audit.chart.title,
        chart_key=chart_key(audit.chart),
        notes=len(audit.labels.notes),
        grid=audit.line.grid,
        version=__version__,
        class_name=student_name(class_name),
    )


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
