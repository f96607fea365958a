"""Where a recording is to be doubted, and when nothing in it can be graded.

A stretch is doubtful where its samples are clipped, or where other sounds are as loud as the bass:
noise, a room full of people, another instrument. There the notes may be wrong and nothing is
claimed in cents. Where most of a recording is so, or it is silent, or no bass is in it, it is a
fault: a grade of it would be unfair. Before the line begins, what has no settled pitch (a voice
that counts in) is no note. Seconds; levels as shares of full scale. Thresholds: measured on renders
(``tests/measure_hearing.py``).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from linecheck.faults import TakeFault
from linecheck.hear.decode import STRIP_S
from linecheck.terms import DoubtfulStretch, Remark

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.hear.listen import Heard
    from linecheck.hear.tones import Tone

SILENT = 0.001  # -60 dB
QUIET = 0.01  # -40 dB: much of a phone's own noise is heard with it
CLIPPED_NEAR = 0.5  # of the loudest sample: softer strips are not at the ceiling
CLIP_GAP_S = 1.0
LEAST_CLIPPED_S = 0.25  # of clipped strips in a stretch
WINDOW_S = 6.0
LEAST_TONES = 4  # in a window, and in a take
OWN_SHARE = (
    0.2  # of the power; a bass alone has a quarter to all of it in its harmonics, by its string
)
PLAIN_FIT = 0.42
VOICE_SHARE = 0.2  # a hiss
WEAK_TONES = 0.4  # so many of a window's tones make it doubtful
HOPELESS = 0.6  # so much of the line doubtful is no grade
FAINT_DB = 34.0  # below the plain tones: an echo, a rustle
OPENING = 4  # settled tones in a row are the line
LEAST_GLIDING = 3  # tones before it, to be told as a count-in
SHORT_S = 0.13  # a shorter tone is not settled either
PLACES = 3  # are named

CLIPPED, DROWNED = "clipped", "other sounds are as loud as the bass"


class Trusted(NamedTuple):
    """The tones that are the line's, where they are doubtful, and what is to be said."""

    tones: tuple[Tone, ...]
    doubtful: tuple[DoubtfulStretch, ...]
    warnings: tuple[Remark, ...]


def trusted(heard: Heard) -> Trusted:
    """What of a recording can be used.

    Raises:
        TakeFault: it is silent, holds no bass, or is drowned by other sounds for the most part.
    """
    loudest = float(heard.peaks.max()) if len(heard.peaks) else 0.0
    if loudest < SILENT:
        level = f"{20 * np.log10(loudest):.0f} dB" if loudest > 0 else "digital silence"
        raise TakeFault(f"is silent: its loudest sample is at {level}; was the microphone on?")
    tones, warnings = _from_the_line_on(_without_faint(heard.tones))
    if len(tones) < LEAST_TONES or not any(_plain(tone) for tone in tones):
        raise TakeFault(
            f"no bass line was heard in its {heard.duration_s:.0f} s; "
            "a take is one bass, recorded alone and close by"
        )
    drowned = _drowned(tones)
    doubted = sum(any(s.from_s <= t.onset_s < s.to_s for s in drowned) for t in tones)
    if doubted > HOPELESS * len(tones):
        raise TakeFault(
            f"cannot be graded: {DROWNED} in most of it ({_places(drowned)}); "
            "record one bass alone and close by"
        )
    clipped = _clipped(heard)
    if loudest < QUIET:
        warnings.append(
            Remark(
                f"the recording is very quiet (at most {20 * np.log10(loudest):.0f} dB); "
                "soft notes may be missing",
                "recording",
            )
        )
    if clipped:
        warnings.append(
            Remark(
                f"the recording is clipped (too loud for the microphone) at {_places(clipped)}; "
                "notes there may be wrong",
                "recording",
            )
        )
    if drowned:
        told = f"{DROWNED} at {_places(drowned)}; notes there may be wrong"
        warnings.append(Remark(told, "recording"))
    doubtful = sorted([*clipped, *drowned], key=lambda s: (s.from_s, s.to_s, s.why))
    return Trusted(tuple(tones), tuple(doubtful), tuple(warnings))


def _plain(tone: Tone) -> bool:
    return tone.share >= OWN_SHARE and tone.fit >= PLAIN_FIT


def _without_faint(tones: Sequence[Tone]) -> list[Tone]:
    """Tones that are loud enough to be played: a ghost lies some 20 dB below its neighbours."""
    if not tones:
        return []
    plain = float(np.percentile([tone.level_db for tone in tones], 75))
    return [tone for tone in tones if tone.level_db > plain - FAINT_DB]


def _from_the_line_on(tones: list[Tone]) -> tuple[list[Tone], list[Remark]]:
    """The tones from where a line begins, and what to say of those before.

    A voice glides: few of its tones are settled, none four in a row.
    """
    first = next(
        (i for i in range(len(tones)) if all(t.settled for t in tones[i : i + OPENING])), 0
    )
    while first and not _glides(tones[first - 1]):
        first -= 1
    before = tones[:first]
    if sum(_glides(tone) for tone in before) < max(LEAST_GLIDING, len(before) / 2):
        return tones, []
    return tones[first:], [
        Remark(f"what sounds before {tones[first].onset_s:.1f} s is no bass: taken for a count-in")
    ]


def _glides(tone: Tone) -> bool:
    """No tone of a bass: long enough to be settled and not, or not for the most part a tone."""
    return tone.share < VOICE_SHARE or (not tone.settled and tone.end_s - tone.onset_s > SHORT_S)


def _drowned(tones: Sequence[Tone]) -> list[DoubtfulStretch]:
    """Windows in which most tones are not plain, joined where they meet."""
    onsets = np.array([tone.onset_s for tone in tones])
    weak = np.array([not _plain(tone) for tone in tones])
    found: list[DoubtfulStretch] = []
    begin = float(onsets[0])
    while begin <= onsets[-1]:
        inside = (onsets >= begin) & (onsets < begin + WINDOW_S)
        if inside.sum() >= LEAST_TONES and weak[inside].mean() > WEAK_TONES:
            end = max(tone.end_s for tone, i in zip(tones, inside.tolist(), strict=True) if i)
            _join(found, begin, end, DROWNED, WINDOW_S / 2)
        begin += WINDOW_S / 2
    return found


def _clipped(heard: Heard) -> list[DoubtfulStretch]:
    ceiling = CLIPPED_NEAR * float(heard.peaks.max())
    strips = np.flatnonzero((heard.flat > 0) & (heard.peaks >= ceiling))
    found: list[DoubtfulStretch] = []
    for strip in strips.tolist():
        _join(found, strip * STRIP_S, (strip + 1) * STRIP_S, CLIPPED, CLIP_GAP_S)
    middles = (strips + 0.5) * STRIP_S
    begins, ends = np.searchsorted(middles, [(s.from_s, s.to_s) for s in found]).reshape(-1, 2).T
    held = (ends - begins) * STRIP_S
    return [s for s, s_held in zip(found, held.tolist(), strict=True) if s_held >= LEAST_CLIPPED_S]


def _join(found: list[DoubtfulStretch], begin: float, end: float, why: str, gap: float) -> None:
    if found and begin <= found[-1].to_s + gap:
        begin, end = found[-1].from_s, max(end, found[-1].to_s)
        found.pop()
    found.append(DoubtfulStretch(begin, end, why))


def _places(stretches: Sequence[DoubtfulStretch]) -> str:
    named = [f"{_clock(s.from_s)} to {_clock(s.to_s)}" for s in stretches[:PLACES]]
    more = len(stretches) - PLACES
    return ", ".join(named) + (f" and {more} more" if more > 0 else "")


def _clock(seconds: float) -> str:
    minutes, rest = divmod(int(seconds), 60)
    return f"{minutes}:{rest:02d}"
