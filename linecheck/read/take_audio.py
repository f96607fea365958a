"""A take from a recording of one double bass, heard by ``linecheck.hear``.

A recording has neither beats nor meters: the take is free, its beats are found by the playing.
Velocity stands for loudness as sound fonts have it (*SoundFont 2.01*, 8.4.1: 40 dB for a factor of
ten), with the upper quartile of the take at ``PLAIN_VELOCITY``. Cents are told of settled tones
that lie in no doubtful stretch. Units: seconds, MIDI pitches as they sound, hertz.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.faults import TakeFault
from linecheck.hear.decode import open_recording
from linecheck.hear.listen import hear
from linecheck.hear.trust import trusted
from linecheck.hear.tuning import find_tuning, pitch_and_cents
from linecheck.terms import Recording, Remark, Take, TakeNote

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from linecheck.hear.tones import Tone
    from linecheck.terms import DoubtfulStretch

MAY_MISHEAR = Remark(
    "the notes were heard in a recording; how well was measured on rendered sounds only, so listen "
    "yourself before a single note decides"
)
LEAST_CUT_S = 0.5  # decoders differ by a frame or two of padding
PLAIN_VELOCITY = 84
DECIBELS_A_DECADE = 40.0
LOUDEST_SHARE = 3 / 4  # of the notes: the level that counts as plain


def read_take_audio(
    path: Path, *, track: str | None = None, progress: Callable[[str], None] | None = None
) -> Take:
    """Hear the bass line of a recording.

    Args:
        path: the recording.
        track: a recording has none; anything but None is a fault.
        progress: is told how much of the recording is heard.

    Raises:
        TakeFault: it cannot be decoded, nothing in it can be graded, or the optional extra is
            not installed.
    """
    if track is not None:
        raise TakeFault("track: a recording has no tracks; it holds one bass alone")
    with open_recording(path) as source:
        heard = hear(source, _told(progress, source.frames, source.sample_rate))
        sample_rate, channels = source.sample_rate, source.channels
        promised_s = source.frames / sample_rate if source.frames is not None else 0.0
    tones, doubtful, warnings = trusted(heard)
    tuning_hz, measured = find_tuning([t.hertz for t in tones if t.settled])
    return Take(
        source=str(path),
        kind="audio",
        notes=_notes(tones, tuning_hz, doubtful),
        tempo_map=None,
        line=Remark("heard in the recording"),
        warnings=(*_cut_off(heard.duration_s, promised_s), *warnings, MAY_MISHEAR),
        recording=Recording(
            duration_s=heard.duration_s,
            sample_rate=sample_rate,
            channels=channels,
            tuning_hz=tuning_hz,
            tuning_measured=measured,
            doubtful=doubtful,
        ),
    )


def _cut_off(lasts_s: float, promised_s: float) -> tuple[Remark, ...]:
    if lasts_s > promised_s - LEAST_CUT_S:
        return ()
    said = f"it ends after {lasts_s:.0f} s, though it says that it lasts {promised_s:.0f}"
    return (Remark(f"the file is cut off: {said}; is it wholly copied?", "recording"),)


def _told(
    progress: Callable[[str], None] | None, frames: int | None, sample_rate: int
) -> Callable[[float], None] | None:
    if progress is None:
        return None

    def say(done_s: float) -> None:
        if frames is None:
            progress(f"hearing the recording: {done_s:.0f} s")
        else:
            share = min(100, round(100 * done_s * sample_rate / frames))
            progress(f"hearing the recording: {share} %")

    return say


def _notes(
    tones: Sequence[Tone], tuning_hz: float, doubtful: Sequence[DoubtfulStretch]
) -> tuple[TakeNote, ...]:
    levels = sorted(tone.level_db for tone in tones)
    plain = levels[int(LOUDEST_SHARE * (len(levels) - 1))]
    notes = []
    for tone in tones:
        pitch, cents = pitch_and_cents(tone.hertz, tuning_hz)
        loud = PLAIN_VELOCITY * 10 ** ((tone.level_db - plain) / DECIBELS_A_DECADE)
        certain = tone.settled and not _doubted(tone, doubtful)
        notes.append(
            TakeNote(
                onset_s=tone.onset_s,
                duration_s=tone.end_s - tone.onset_s,
                pitch=pitch,
                velocity=min(127, max(1, round(loud))),
                cents=cents if certain else None,
            )
        )
    return tuple(notes)


def _doubted(tone: Tone, doubtful: Sequence[DoubtfulStretch]) -> bool:
    return any(s.from_s < tone.end_s and tone.onset_s < s.to_s for s in doubtful)
