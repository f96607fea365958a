"""What is told of one tone: where it ends, how loud it is, and its pitch to a few cents.

The tone's loudness over time is that of its harmonics. It ends where the next begins, where it
has faded below ``FADED_DB`` under its peak, or where it is stopped: a drop far steeper than a
string's own decay. Its pitch is told in frames after the attack from the frequencies of its
harmonics, each the peak of a parabola through log-magnitudes; stiffness makes the n-th harmonic
of a string n·f·√(1 + B·n²) (H. Fletcher, "Normal vibration frequencies of a stiff piano string",
JASA 36, 1964), and one B is fitted for a tone. A tone is *settled* where its frames keep together;
what slides is not. Hertz, decibels, cents, seconds.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from linecheck.hear.attacks import MID, around, harmonic_bins
from linecheck.hear.pitch_comb import TOP_HZ
from linecheck.hear.spectra import HOP_S

if TYPE_CHECKING:
    from linecheck.hear.spectra import Floats, Spectra

Array = NDArray[np.float64]

LONG = 0
SHARE_FROM_S, SHARE_TO_S = 0.06, 0.30
FADED_DB = 30.0
STOP_DB, STOP_S = 9.0, 0.08  # so much in so short a time is no natural decay
STOP_KNEE_DB = 3.0  # the drop begins where so much of it is done
LOUD_S = 0.12  # loudness is the peak within so long of the attack
AFTER_ATTACK_S = 0.045  # the pitch of the attack itself is not the tone's
FRAME_S = 0.170
FRAME_HOP_S = 0.030
LEAST_FRAME_S = 0.075
LONGEST_S = 0.9  # of a tone, from its attack on, are listened to for its pitch
PARTIALS = 10
PARTIAL_TOP_HZ = 1300.0
PARTIAL_REACH = 0.03  # of its frequency, to either side
STIFFEST = 6e-4
SETTLED_CENTS = 14.0  # half-width of the middle half of the frames; a vibrato is within it
SLIDE_CENTS = 60.0  # between the first and the last third of the frames


@dataclass(frozen=True, slots=True)
class Tone:
    """A tone from its attack to its end; ``settled`` where its pitch can be claimed in cents.

    ``fit`` is how well its pitch explains it, ``share`` how much of the sound's power while it
    is heard lies in its harmonics. ``struck`` is false where it begins without an attack.
    """

    onset_s: float
    end_s: float
    hertz: float
    level_db: float
    fit: float
    share: float
    settled: bool
    struck: bool = True


def loudness_db(spectra: Spectra, hertz: float, begin_s: float, end_s: float) -> Array:
    """The loudness of a tone's harmonics in every frame from its attack on."""
    size = spectra.sizes[MID]
    first, last = spectra.frame(begin_s), spectra.frame(end_s) + 1
    rows = around(spectra.clear[MID][first:last], harmonic_bins(hertz, spectra.rate, size))
    return np.asarray(10.0 * np.log10((rows**2).sum(axis=1) + 1e-12))


def own_share(spectra: Spectra, hertz: float, begin_s: float, end_s: float) -> float:
    """How much of the power below ``TOP_HZ`` lies in a tone's harmonics while it is heard."""
    size = spectra.sizes[LONG]
    first = spectra.frame(begin_s + SHARE_FROM_S)
    last = max(first + 1, spectra.frame(min(end_s, begin_s + SHARE_TO_S)))
    power = (spectra.raw[LONG][first:last].astype(np.float64) ** 2).mean(axis=0)
    hertz_of_bins = np.arange(len(power)) * spectra.rate / size
    audible = (hertz_of_bins > 0.7 * hertz) & (hertz_of_bins < TOP_HZ)
    bins = np.rint(np.arange(1, int(TOP_HZ / hertz)) * hertz * size / spectra.rate).astype(np.int64)
    bins = bins[bins < len(power) - 2]
    near = np.unique(np.concatenate([bins - 1, bins, bins + 1]))
    return float(power[near].sum() / (power[audible].sum() + power[near].sum() * 1e-6 + 1e-15))


def end_and_level(
    spectra: Spectra, hertz: float, begin_s: float, next_s: float
) -> tuple[float, float]:
    """Where a tone ends, and how loud it is at its loudest."""
    loud = loudness_db(spectra, hertz, begin_s, next_s)
    head = max(1, round(LOUD_S / HOP_S))
    peak_at = int(loud[:head].argmax())
    peak = float(loud[peak_at])
    after = loud[peak_at:]
    faded = np.flatnonzero(after < peak - FADED_DB)
    stop = int(faded[0]) if faded.size else len(after)
    lag = round(STOP_S / HOP_S)
    drops = np.flatnonzero(after[:-lag] - after[lag:] > STOP_DB) if len(after) > lag else faded[:0]
    for drop in drops.tolist():
        # A beating tone dips and comes back; a stopped one stays down.
        if after[drop + lag :].max() < after[drop] - STOP_DB / 2:
            knee = np.flatnonzero(after[drop : drop + lag] < after[drop] - STOP_KNEE_DB)
            stop = min(stop, drop + int(knee[0]) if knee.size else drop + lag)
            break
    if stop >= len(after):
        return next_s, peak
    return min(next_s, begin_s + (peak_at + stop) * HOP_S), peak


def fine_pitch(
    sound: Floats, rate: float, rough_hertz: float, begin_s: float, end_s: float
) -> tuple[float, bool]:
    """A tone's pitch, and whether it is settled enough to claim it to a few cents."""
    frames, length = _frames(sound, rate, begin_s, end_s)
    if not len(frames):
        return rough_hertz, False
    padded = 4 * length
    shape = np.hanning(length + 2)[1:-1]
    spectrum = np.log(np.abs(np.fft.rfft(frames * shape, padded, axis=1)) + 1e-9)
    partials = min(PARTIALS, int(min(PARTIAL_TOP_HZ, 0.45 * rate) / rough_hertz))
    numbers = np.arange(1, max(partials, 1) + 1)
    hertz, heights = _peaks(spectrum, rate / padded, rough_hertz, numbers, length / rate)
    # A high partial tells the pitch the more finely, a loud one the more surely.
    weights = numbers * np.exp(np.clip(heights - heights.max(axis=1, keepdims=True), -8.0, 0.0))
    return _told(hertz / numbers, weights, numbers, rough_hertz)


def _frames(sound: Floats, rate: float, begin_s: float, end_s: float) -> tuple[Array, int]:
    first = round((begin_s + AFTER_ATTACK_S) * rate)
    last = min(round(min(end_s, begin_s + LONGEST_S) * rate), len(sound))
    length = min(round(FRAME_S * rate), last - first)
    if length < LEAST_FRAME_S * rate:
        return np.zeros((0, 0)), 0
    starts = np.arange(first, last - length + 1, round(FRAME_HOP_S * rate))
    windows = np.lib.stride_tricks.sliding_window_view(sound[first:last], length)
    return windows[starts - first].astype(np.float64), length


def _peaks(
    spectrum: Array, bin_hz: float, rough: float, numbers: NDArray[np.int64], length_s: float
) -> tuple[Array, Array]:
    """Frequency (0: no peak) and log-magnitude of every partial in every frame."""
    hertz = np.zeros((len(spectrum), len(numbers)))
    heights = np.full(hertz.shape, -30.0)
    rows = np.arange(len(spectrum))
    for column, number in enumerate(numbers.tolist()):
        middle = number * rough
        reach = max(min(PARTIAL_REACH * middle, 0.45 * rough), 0.7 / length_s)
        low = max(1, int((middle - reach) / bin_hz))
        high = min(spectrum.shape[1] - 1, int((middle + reach) / bin_hz) + 2)
        if high - low < 3:
            continue
        top = spectrum[:, low:high].argmax(axis=1)
        inside = (top > 0) & (top < high - low - 1)
        at = np.clip(low + top, 1, spectrum.shape[1] - 2)
        left, here, right = (spectrum[rows, at + d] for d in (-1, 0, 1))
        bend = left - 2 * here + right
        shift = np.where(bend < 0, 0.5 * (left - right) / np.where(bend < 0, bend, -1.0), 0.0)
        hertz[:, column] = np.where(inside, (at + shift) * bin_hz, 0.0)
        heights[:, column] = here
    return hertz, heights


def _told(
    ratios: Array, weights: Array, numbers: NDArray[np.int64], rough: float
) -> tuple[float, bool]:
    """The pitch from each partial's own account of it (frames × partials)."""
    square = numbers.astype(np.float64) ** 2
    weights = weights * (ratios > 0)
    if not weights.any():
        return rough, False
    typical = _weighted_middle(ratios.ravel(), weights.ravel())
    # A partial that tells a pitch far from the others' belongs to something else.
    stray = np.abs(1200 * np.log2(np.maximum(ratios, 1e-6) / typical)) > 40
    weights = np.where(stray, 0.0, weights)
    stiff = _stiffness(ratios, weights, square)
    plain = ratios / np.sqrt(1 + stiff * square)
    total = weights.sum(axis=1)
    heard = total > 0
    if not heard.any():
        return typical, False
    frames = (plain * weights).sum(axis=1)[heard] / total[heard]
    frames *= np.sqrt(1 + stiff)
    middle = float(np.median(frames))
    cents = 1200 * np.log2(frames / middle)
    third = max(1, len(cents) // 3)
    slide = abs(float(np.median(cents[-third:]) - np.median(cents[:third])))
    spread = float(np.percentile(cents, 75) - np.percentile(cents, 25)) / 2
    agreeing = weights[heard].sum() > 0.3 * max(1e-9, float((weights + stray)[heard].max()))
    return middle, bool(spread <= SETTLED_CENTS and slide <= SLIDE_CENTS and agreeing)


def _stiffness(ratios: Array, weights: Array, square: Array) -> float:
    """B of the string, by weighted least squares of ratio² over n²; 0 where it cannot be told."""
    if (weights.sum(axis=0) > 0).sum() < 4:
        return 0.0
    y, w, x = ratios**2, weights, np.broadcast_to(square, ratios.shape)
    total = w.sum()
    mean_x, mean_y = (w * x).sum() / total, (w * y).sum() / total
    across = (w * (x - mean_x) ** 2).sum()
    slope = (w * (x - mean_x) * (y - mean_y)).sum() / max(across, 1e-9)
    base = mean_y - slope * mean_x
    return float(np.clip(slope / base, 0.0, STIFFEST)) if base > 0 else 0.0


def _weighted_middle(values: Array, weights: Array) -> float:
    order = np.argsort(values)
    total = np.cumsum(weights[order])
    return float(values[order[int(np.searchsorted(total, total[-1] / 2))]])
