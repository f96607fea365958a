"""A recording to the tones that were played in it, stretch by stretch.

A stretch of a minute is heard at a time, with ten seconds to spare at its end, so that memory does
not grow with the recording; it is handed over in a pause between two attacks. In a stretch:
spectra, how well every pitch fits, what is struck, which of it begins a note, where a pitch changes
within a stroke, and then each tone by itself. Seconds from the start of the recording.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from linecheck.hear.attacks import (
    attack_features,
    harmonic_rise,
    likely_pitches,
    note_odds,
    pooled_fits,
)
from linecheck.hear.onsets import candidates
from linecheck.hear.other_sounds import OtherSounds, other_sounds
from linecheck.hear.pitch_comb import HERTZ, STEP, fits
from linecheck.hear.pitch_path import follow, hidden_changes
from linecheck.hear.spectra import HOP_S, Spectra
from linecheck.hear.tones import LOUD_S, Tone, end_and_level, fine_pitch, loudness_db, own_share

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from linecheck.hear.decode import Source
    from linecheck.hear.onsets import Candidate
    from linecheck.hear.spectra import Floats

STRETCH_S = 60.0
SPARE_S = 10.0  # heard, and heard again with the next stretch
LEAD_S = 1.0  # of what came before, so that the first attack has a before
LIKELY = 0.3  # log-odds from which a candidate begins a note
UNLIKELY = -3.0  # below it a candidate is no boundary for its neighbours either
LEAST_FIT = 0.38  # noise alone fits its best pitch by 0.25 to 0.35, a plain tone by 0.6 and more
LEAST_TONE_S = 0.030
HIDDEN_DB = 16.0  # a hammered note is no softer than that under the stroke
HIDDEN_FIT = 0.35
HAMMERED = 4.5  # semitones: as far as a hand reaches on a string
TAILS = 3  # tones before that may still be in the room
HIDDEN_RISE = 0.6  # of its harmonics, in units of 10 dB: the tail of a room does not rise


@dataclass(frozen=True, slots=True)
class Heard:
    """What was heard: the tones and the watch over the samples (one entry a strip).

    ``beside`` is what else sounds (one entry a stretch).
    """

    tones: tuple[Tone, ...]
    duration_s: float
    peaks: Floats
    flat: Floats
    beside: tuple[OtherSounds, ...] = ()


def hear(source: Source, progress: Callable[[float], None] | None = None) -> Heard:
    """All tones of a recording; ``progress`` is told the seconds that are done."""
    tones: list[Tone] = []
    peaks: list[Floats] = []
    flat: list[Floats] = []
    beside: list[OtherSounds] = []
    rate = source.rate
    held = np.zeros(0, dtype=np.float32)
    begin = 0  # sample of the recording at which ``held`` begins
    after_s = 0.0  # tones before it are handed over already
    for block in source.blocks:
        held = np.concatenate([held, block.sound])
        peaks.append(block.peaks)
        flat.append(block.flat)
        while len(held) >= (STRETCH_S + SPARE_S) * rate:
            found = hear_stretch(held[: round((STRETCH_S + SPARE_S) * rate)], rate, beside)
            cut_s = _pause(found, STRETCH_S)
            tones += _of(found, begin / rate, after_s, begin / rate + cut_s)
            after_s = begin / rate + cut_s
            gone = round((cut_s - LEAD_S) * rate)
            held = held[gone:]
            begin += gone
            if progress is not None:
                progress(after_s)
    duration_s = (begin + len(held)) / rate
    tones += _of(hear_stretch(held, rate, beside), begin / rate, after_s, duration_s)
    if progress is not None:
        progress(duration_s)
    watched = np.concatenate(peaks), np.concatenate(flat)
    return Heard(tuple(tones), duration_s, *watched, tuple(beside))


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


def hear_stretch(sound: Floats, rate: float, beside: list[OtherSounds] | None = None) -> list[Tone]:
    """The tones of a stretch of sound that fits into memory.

    ``beside`` takes in what else sounds in the stretch.
    """
    if len(sound) < LEAST_TONE_S * rate or float(np.abs(sound).max()) < 1e-6:
        return []
    spectra = Spectra(sound, rate)
    if beside is not None:
        beside.append(other_sounds(spectra))
    frame_fits = fits(spectra.clear, rate, spectra.sizes)
    struck = _struck(spectra, frame_fits)
    end_s = len(sound) / rate
    begins = _with_hidden(spectra, frame_fits, [c.at_s for c in struck], end_s)
    if not begins:
        return []
    times = [at for at, _ in begins]
    pooled = pooled_fits(spectra, frame_fits, times, end_s)
    line = likely_pitches(pooled)
    tones: list[Tone] = []
    for number, (at_s, by_attack) in enumerate(begins):
        next_s = times[number + 1] if number + 1 < len(times) else end_s
        best = int(line[number])
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
    share = own_share(spectra, hertz, at_s, end_s)
    end_s = max(end_s, at_s + LEAST_TONE_S)
    return Tone(at_s, end_s, hertz, level_db, fit, share, settled, struck)


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
    own = likely_pitches(pooled)
    found: list[tuple[float, bool]] = []
    for number, at_s in enumerate(struck_s):
        next_s = struck_s[number + 1] if number + 1 < len(struck_s) else end_s
        found.append((at_s, True))
        first, last = round((at_s + 0.05) / HOP_S), round((next_s - 0.04) / HOP_S)
        before = own[max(0, number - TAILS) : number].tolist()
        for frame in hidden_changes(path, min(first, len(path)), min(last, len(path))):
            change = _Change(at_s, int(own[number]), frame, int(np.median(path[frame : frame + 9])))
            if _is_note(spectra, frame_fits, change, before):
                found.append((frame * HOP_S, False))
    return found


class _Change(NamedTuple):
    """A stroke at ``at_s`` of the pitch ``old``, and the frame from which ``new`` is heard."""

    at_s: float
    old: int
    frame: int
    new: int


def _is_note(spectra: Spectra, frame_fits: Floats, change: _Change, before: list[int]) -> bool:
    """Whether the change is a note: the stroke still sounds, and what follows is no tail."""
    at_s = change.frame * HOP_S
    hertz = float(HERTZ[change.new])
    stroke = loudness_db(spectra, float(HERTZ[change.old]), change.at_s, at_s)
    new = float(loudness_db(spectra, hertz, at_s, at_s + 0.1).max())
    loudest = float(stroke[: round(LOUD_S / HOP_S)].max())
    fit = float(frame_fits[change.frame + 3 : change.frame + 9, change.new].mean())
    if float(stroke[-8:].max()) < loudest - HIDDEN_DB or new < loudest - HIDDEN_DB:
        return False
    if fit < HIDDEN_FIT:
        return False
    # The tail of a tone before comes back when a stroke is over, but it does not rise.
    tail = any(abs(change.new - pitch) * STEP < 0.7 for pitch in before)
    far = abs(change.new - change.old) * STEP > HAMMERED
    if not (tail or far):
        return True
    rises = (harmonic_rise(spectra, hertz, at_s - 0.06, at_s + s) for s in (0.06, 0.12))
    return min(rises) > HIDDEN_RISE
