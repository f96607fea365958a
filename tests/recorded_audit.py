"""A hand-made audit as if its take had been heard in a recording, with invented cents."""

from __future__ import annotations

from dataclasses import replace

from linecheck.judge.intonation import intonation
from linecheck.terms import DoubtfulStretch, Recording


def recorded(audit, cents=lambda index, _note: (index * 7 % 11 - 5) * 2.0, source=None):
    """``cents`` gives the deviation of every note, by its index and itself; None: not claimed."""
    notes = tuple(replace(n, cents=cents(i, n)) for i, n in enumerate(audit.labels.notes))
    last = max(n.onset_s + n.duration_s for n in notes)
    heard = Recording(
        duration_s=last + 1.0,
        sample_rate=44100,
        channels=1,
        tuning_hz=438.5,
        tuning_measured=True,
        doubtful=(DoubtfulStretch(1.0, 2.5, "clipped"),),
    )
    take = replace(
        audit.take, kind="audio", recording=heard, source=source or audit.take.source,
        tempo_map=None, meters=(),
    )  # fmt: skip
    return replace(
        audit,
        take=take,
        labels=replace(audit.labels, notes=notes),
        intonation=intonation(notes, heard.tuning_hz, measured=heard.tuning_measured),
    )
