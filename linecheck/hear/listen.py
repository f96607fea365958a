"""A recording to the tones that were played in it, stretch by stretch.

A stretch of a minute is heard at a time, with ten seconds to spare at its end, so that memory does
not grow with the recording; it is handed over in a pause between two attacks. In a stretch:
spectra, how well every pitch fits, what is struck, which of it begins a note, where a pitch changes
within a stroke, and then each tone by itself. Seconds from the start of the recording.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from linecheck.hear.attacks import attack_features, note_odds, pooled_fits
from linecheck.hear.onsets import candidates
from linecheck.hear.pitch_comb import HERTZ, fits
from linecheck.hear.pitch_path import follow, hidden_changes
from linecheck.hear.spectra import HOP_S, Spectra
from linecheck.hear.tones import LOUD_S, Tone, end_and_level, fine_pitch, loudness_db

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from linecheck.hear.decode import Source
    from linecheck.hear.onsets import Candidate
    from linecheck.hear.spectra import Floats

STRETCH_S = 60.0
SPARE_S = 10.0  # heard, and heard again with the next stretch
LEAD_S = 1.0  # of what came before, so that the first attack has a before
LIKELY = 0.0  # log-odds from which a candidate begins a note
UNLIKELY = -3.0  # below it a candidate is no boundary for its neighbours either
LEAST_FIT = 0.22  # no pitch at all
LEAST_TONE_S = 0.030
HIDDEN_DB = 16.0  # a hammered note is no softer than that under the stroke
HIDDEN_FIT = 0.35


@dataclass(frozen=True, slots=True)
class Heard:
    """What was heard: the tones, and the watch over the samples (one entry a strip)."""

    tones: tuple[Tone, ...]
    duration_s: float
    peaks: Floats
    flat: Floats


def hear(source: Source, progress: Callable[[float], None] | None = None) -> Heard:
    """All tones of a recording; ``progress`` is told the seconds that are done."""
    tones: list[Tone] = []
    peaks: list[Floats] = []
    flat: list[Floats] = []
    rate = source.rate
    held = np.zeros(0, dtype=np.float32)
    begin = 0  # sample of the recording at which ``held`` begins
    after_s = 0.0  # tones before it are handed over already
    for block in source.blocks:
        held = np.concatenate([held, block.sound])
        peaks.append(block.peaks)
        flat.append(block.flat)
        while len(held) >= (STRETCH_S + SPARE_S) * rate:
            found = hear_stretch(held[: round((STRETCH_S + SPARE_S) * rate)], rate)
            cut_s = _pause(found, STRETCH_S)
            tones += _of(found, begin / rate, after_s, begin / rate + cut_s)
            after_s = begin / rate + cut_s
            gone = round((cut_s - LEAD_S) * rate)
            held = held[gone:]
            begin += gone
            if progress is not None:
                progress(after_s)
    duration_s = (begin + len(held)) / rate
    tones += _of(hear_stretch(held, rate), begin / rate, after_s, duration_s)
    if progress is not None:
        progress(duration_s)
    return Heard(tuple(tones), duration_s, np.concatenate(peaks), np.concatenate(flat))


def _of(found: list[Tone], begin_s: float, after_s: float, before_s: float) -> Iterator[Tone]:
    for tone in found:
        at_s = begin_s + tone.onset_s
        if after_s <= at_s < before_s:
            yield replace(tone, onset_s=at_s, end_s=begin_s + tone.end_s)


def _pause(found: list[Tone], near_s: float) -> float:
    """The middle of the longest pause between attacks in the five seconds before a time."""
    times = [near_s - 5.0, *(t.onset_s for t in found if near_s - 5 < t.onset_s < near_s), near_s]
    gaps = np.diff(times)
    longest = int(gaps.argmax())
    return float(times[longest] + gaps[longest] / 2)


def hear_stretch(sound: Floats, rate: float) -> list[Tone]:
    """The tones of a stretch of sound that fits into memory."""
    if len(sound) < LEAST_TONE_S * rate or float(np.abs(sound).max()) < 1e-6:
        return []
    spectra = Spectra(sound, rate)
    frame_fits = fits(spectra.clear, rate, spectra.sizes)
    struck = _struck(spectra, frame_fits)
    end_s = len(sound) / rate
    begins = _with_hidden(spectra, frame_fits, [c.at_s for c in struck], end_s)
    times = [at for at, _ in begins]
    pooled = pooled_fits(spectra, frame_fits, times, end_s)
    tones: list[Tone] = []
    for number, (at_s, by_attack) in enumerate(begins):
        next_s = times[number + 1] if number + 1 < len(times) else end_s
        best = int(pooled[number].argmax())
        fit = float(pooled[number, best])
        if fit < LEAST_FIT or next_s - at_s < LEAST_TONE_S:
            continue
        rough = float(HERTZ[best])
        tones.append(_tone(spectra, (at_s, next_s), rough, fit=fit, struck=by_attack))
    return tones


def _tone(
    spectra: Spectra, stretch_s: tuple[float, float], rough: float, *, fit: float, struck: bool
) -> Tone:
    at_s, next_s = stretch_s
    end_s, level_db = end_and_level(spectra, rough, at_s, next_s)
    hertz, settled = fine_pitch(spectra.sound, spectra.rate, rough, at_s, end_s)
    if not settled and abs(np.log2(hertz / rough)) > 0.4 / 12:
        hertz = rough
    return Tone(at_s, max(end_s, at_s + LEAST_TONE_S), hertz, level_db, fit, settled, struck)


def _struck(spectra: Spectra, frame_fits: Floats) -> list[Candidate]:
    """The candidates that begin notes: weighed among all, then among those that are not out."""
    found = candidates(spectra.sound, spectra.rate)
    if not found:
        return []
    odds = note_odds(attack_features(spectra, frame_fits, found))
    kept = [c for c, o in zip(found, odds.tolist(), strict=True) if o > UNLIKELY]
    if not kept:
        return []
    odds = note_odds(attack_features(spectra, frame_fits, kept))
    return [c for c, o in zip(kept, odds.tolist(), strict=True) if o > LIKELY]


def _with_hidden(
    spectra: Spectra, frame_fits: Floats, struck_s: list[float], end_s: float
) -> list[tuple[float, bool]]:
    """The attacks, and between them the notes that begin without one while the tone sounds."""
    if not struck_s:
        return []
    path = follow(frame_fits)
    pooled = pooled_fits(spectra, frame_fits, struck_s, end_s)
    found: list[tuple[float, bool]] = []
    for number, at_s in enumerate(struck_s):
        next_s = struck_s[number + 1] if number + 1 < len(struck_s) else end_s
        found.append((at_s, True))
        first, last = round((at_s + 0.05) / HOP_S), round((next_s - 0.04) / HOP_S)
        for frame in hidden_changes(path, min(first, len(path)), min(last, len(path))):
            hertz = float(HERTZ[int(pooled[number].argmax())])
            level = float(loudness_db(spectra, hertz, at_s, at_s + LOUD_S).max())
            after = slice(frame + 3, frame + 9)
            other = int(np.median(path[after])) if len(path[after]) else int(path[-1])
            change_s = frame * HOP_S
            new = float(loudness_db(spectra, float(HERTZ[other]), change_s, change_s + 0.1).max())
            fit = float(frame_fits[after, other].mean()) if len(path[after]) else 0.0
            if new > level - HIDDEN_DB and fit > HIDDEN_FIT:
                found.append((change_s, False))
    return found
