"""A hand-made audit as if its take had been heard in a recording, with invented cents."""

from __future__ import annotations

import wave
from dataclasses import replace

import numpy as np

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


def hummed(path, seconds, rate=44100):
    """Write a recording of so many seconds: a low tone that swells twice a second."""
    t = np.arange(round(seconds * rate)) / rate
    tone = 0.3 * np.sin(2 * np.pi * 98.0 * t) * (1.2 - np.cos(4 * np.pi * t)) / 2.2
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes((tone * 32767).astype("<i2").tobytes())
