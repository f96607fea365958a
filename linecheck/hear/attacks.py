"""Which of the moments at which something is struck begin a note.

A note's harmonics rise together; a foot, a click or a word raises what is not in the tone. Of each
candidate the features below are measured and weighed to a log-odds, by a layer of a dozen soft
switches (tanh) and their weighted sum; the weights are fitted by ``tests/fit_hearing.py`` on
renders through one sound font.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from linecheck.hear.attack_weights import BASE, SUM, SWITCHES
from linecheck.hear.pitch_comb import HERTZ, PITCHES, fits, weight

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.hear.onsets import Candidate
    from linecheck.hear.spectra import Floats, Spectra

Array = NDArray[np.float64]

FEATURES = (
    "one",
    "flux",  # its logarithm
    "flux squared",
    "flux of the take",  # against that of the plain attacks around
    "rise",  # of the harmonics, in units of 10 dB: their middle …
    "low rise",  # … and the third lowest in ten
    "fit",  # of the best pitch
    "fit before",
    "same pitch",  # as before
    "rise at the same pitch",
    "level",  # against that of the take, in units of 10 dB
    "harmonic share",  # of what is heard
    "fresh share",  # of harmonics in what is louder than before
    "fresh fit",  # of the pitch to what is louder than before
    "later rise",  # of the harmonics' middle, when a click is over
    "crowded",  # another candidate just before
)
MID = 1  # the window in which harmonics are followed
HARMONICS = 16
HARMONIC_TOP_HZ = 2200.0
BEFORE_S, AFTER_S = 0.045, 0.050
LATER_S = 0.090
SETTLED_S = 0.025  # from here on a note's pitch is told …
HEARD_S = 0.3  # … and for so long
PLAIN = {"low rise": 1.0, "later rise": 1.2, "fit": 0.7, "fresh share": 0.6, "level": -2.5}
PLAIN_ODDS = 2.0
BEFORE_WEIGHT, BEFORE_SHARE = 0.3, 0.6
LEAP_COST, FREE_LEAP = 0.015, 5.0  # in units of the fit for every semitone beyond a fourth


def pooled_fits(
    spectra: Spectra, frame_fits: Floats, begins_s: Sequence[float], end_s: float
) -> Floats:
    """How well every pitch fits each of the tones that begin at these times (tones × pitches).

    The mean over the frames of a tone, the plain ones before the others; a part of the weight goes
    to what is louder than before it, so that the tail of the tone before does not decide.
    """
    ends = [*begins_s[1:], end_s]
    rows = []
    louder: list[list[Floats]] = [[] for _ in spectra.sizes]
    plain = np.maximum(frame_fits.max(axis=1), 1e-3)
    for begin, end in zip(begins_s, ends, strict=True):
        first, last = tone_frames(spectra, begin, end)
        shares = plain[first:last] / plain[first:last].sum()
        rows.append(shares @ frame_fits[first:last])
        for window, (magnitude, size) in enumerate(zip(spectra.clear, spectra.sizes, strict=True)):
            before = spectra.frame(begin - 0.6 * size / spectra.rate)
            tone = shares @ magnitude[first:last]
            louder[window].append(np.maximum(tone - BEFORE_SHARE * magnitude[before], 0.0))
    if not rows:
        return np.zeros((0, frame_fits.shape[1]), dtype=np.float32)
    fresh = fits(tuple(np.array(w) for w in louder), spectra.rate, spectra.sizes)
    pooled: Floats = np.array(rows) + np.float32(BEFORE_WEIGHT) * fresh
    return pooled


def likely_pitches(pooled: Floats) -> NDArray[np.int64]:
    """The index of each tone's pitch: the best line through the fits, in which leaps cost."""
    if not len(pooled):
        return np.zeros(0, dtype=np.int64)
    away = np.abs(PITCHES[:, None] - PITCHES)
    leap = LEAP_COST * np.maximum(away - FREE_LEAP, 0.0)
    came = np.zeros(pooled.shape, dtype=np.int64)
    score = pooled[0].astype(np.float64)
    for number in range(1, len(pooled)):
        ways = score[None, :] - leap
        came[number] = ways.argmax(axis=1)
        score = ways.max(axis=1) + pooled[number]
    line = np.zeros(len(pooled), dtype=np.int64)
    line[-1] = int(score.argmax())
    for number in range(len(pooled) - 1, 0, -1):
        line[number - 1] = came[number, line[number]]
    return line


def tone_frames(spectra: Spectra, begin_s: float, end_s: float) -> tuple[int, int]:
    """The frames in which a tone's pitch is told."""
    first = spectra.frame(begin_s + SETTLED_S)
    last = spectra.frame(min(end_s - 0.01, begin_s + HEARD_S))
    return first, max(last, first + 1)


def harmonic_bins(hertz: float, rate: float, size: int) -> NDArray[np.int64]:
    """The bins of a tone's harmonics."""
    numbers = np.arange(1, HARMONICS + 1)
    numbers = numbers[numbers * hertz < min(HARMONIC_TOP_HZ, 0.45 * rate)]
    bins: NDArray[np.int64] = np.rint(numbers * hertz * size / rate).astype(np.int64)
    return bins


def around(magnitude: Floats, bins: NDArray[np.int64]) -> Array:
    """The largest magnitude within a bin to either side; rows of frames or one frame."""
    return np.maximum(
        np.maximum(magnitude[..., bins], magnitude[..., bins - 1]), magnitude[..., bins + 1]
    ).astype(np.float64)


def attack_features(spectra: Spectra, frame_fits: Floats, found: Sequence[Candidate]) -> Array:
    """Candidates × ``FEATURES``."""
    begins = [c.at_s for c in found]
    end_s = len(spectra.sound) / spectra.rate
    pooled = pooled_fits(spectra, frame_fits, begins, end_s)
    line = likely_pitches(pooled)
    frames_after = [spectra.frame(b + AFTER_S) for b in begins]
    frames_before = [spectra.frame(b - BEFORE_S) for b in begins]
    fresh_fits = fits(
        tuple(np.maximum(m[frames_after] - m[frames_before], 0.0) for m in spectra.clear),
        spectra.rate,
        spectra.sizes,
    )
    size = spectra.sizes[MID]
    clear, floor = spectra.clear[MID], 2.0 * spectra.floors[MID].astype(np.float64) + 1e-6
    audible = weight(np.arange(size // 2 + 1) * spectra.rate / size) > 0
    loudness = np.sqrt((clear[:, audible] ** 2).sum(axis=1))
    take_level = float(np.percentile(loudness, 90)) + 1e-6
    plain = float(np.percentile([c.flux for c in found], 75)) if found else 1.0
    rows = []
    for number, candidate in enumerate(found):
        best = int(line[number])
        bins = harmonic_bins(HERTZ[best], spectra.rate, size)
        after_frame, before_frame = frames_after[number], frames_before[number]
        after, before = around(clear[after_frame], bins), around(clear[before_frame], bins)
        later = around(clear[spectra.frame(candidate.at_s + LATER_S)], bins)
        fresh = np.maximum(clear[after_frame] - clear[before_frame], 0.0)
        rises = 2.0 * np.log10((after + floor[bins]) / (before + floor[bins]))
        middle, low = _weighted_shares(rises, np.sqrt(after), (0.5, 0.3))
        (later_middle,) = _weighted_shares(
            2.0 * np.log10((later + floor[bins]) / (before + floor[bins])), np.sqrt(later), (0.5,)
        )
        first = spectra.frame(candidate.at_s - 0.12)
        fits_before = frame_fits[first : max(first + 1, spectra.frame(candidate.at_s - 0.03))].mean(
            axis=0
        )
        same = float(abs(int(fits_before.argmax()) - best) <= 3)
        log_flux = np.log(candidate.flux / 0.1)
        middle, low = np.clip(middle, -1.5, 2.5), np.clip(low, -1.5, 2.0)
        rows.append((
            1.0,
            log_flux,
            log_flux**2,
            np.log(candidate.flux / plain),
            middle,
            low,
            pooled[number, best],
            float(fits_before.max()),
            same,
            same * middle,
            np.clip(2.0 * np.log10((loudness[after_frame] + 1e-6) / take_level), -5.0, 1.0),
            np.sqrt((after**2).sum()) / (loudness[after_frame] + 1e-6),
            np.sqrt((around(fresh, bins) ** 2).sum() / ((fresh[audible] ** 2).sum() + 1e-12)),
            fresh_fits[number, best],
            np.clip(later_middle, -1.5, 2.5),
            float(number > 0 and candidate.at_s - begins[number - 1] < 0.08),
        ))  # fmt: skip
    return np.array(rows, dtype=np.float64).reshape(len(found), len(FEATURES))


def harmonic_rise(spectra: Spectra, hertz: float, before_s: float, after_s: float) -> float:
    """How much a tone's harmonics rise between two moments: their middle, in units of 10 dB."""
    size = spectra.sizes[MID]
    bins = harmonic_bins(hertz, spectra.rate, size)
    floor = 2.0 * spectra.floors[MID][bins].astype(np.float64) + 1e-6
    clear = spectra.clear[MID]
    after = around(clear[spectra.frame(after_s)], bins) + floor
    before = around(clear[spectra.frame(before_s)], bins) + floor
    rises = 2.0 * np.log10(after / before)
    return _weighted_shares(rises, np.sqrt(after), (0.5,))[0]


def _weighted_shares(values: Array, weights: Array, shares: Sequence[float]) -> list[float]:
    order = np.argsort(values)
    total = np.cumsum(weights[order] + 1e-12)
    at = np.searchsorted(total, np.array(shares) * total[-1])
    return [float(values[order[min(i, len(order) - 1)]]) for i in at.tolist()]


def note_odds(features: Array) -> Array:
    """Log-odds that a candidate begins a note.

    A tone whose harmonics all rise far, stay, and are most of what is heard is one whatever its
    loudness: renders hold few soft notes after a silence.
    """
    odds = np.tanh(features @ np.array(SWITCHES).T) @ np.array(SUM) + BASE
    plain = np.ones(len(features), dtype=bool)
    for name, least in PLAIN.items():
        plain &= features[:, FEATURES.index(name)] >= least
    return np.asarray(np.where(plain, np.maximum(odds, PLAIN_ODDS), odds))
