"""What sounds beside the bass all through a stretch: noise, and a click.

Noise is what stands still in most frequencies at once, against the loud moments of the stretch; a
hum stands in few of them. A click is a tone far above a bass's own that begins and ends at once,
again and again at one frequency; a finger's noise lies in many. Thresholds: measured on renders
with noise and clicks of known loudness.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from linecheck.hear.spectra import Spectra

MID, SHORT = 1, 2
BANDS_HZ = ((200.0, 800.0), (800.0, 3000.0))
LOUD_SHARE = 75  # percentile of the frames that count as loud
CLICK_HZ = (800.0, 5000.0)
RISE_FRAMES, FALL_FRAMES = 3, 7
BURST = 10.0  # times as much power as before it and as after it
OF_LOUDEST = 0.1  # of what the loudest frames have there
LOUDEST_SHARE = 97  # percentile
PURE = 0.7  # of the power of a burst, within two bins of its peak


class OtherSounds(NamedTuple):
    """Noise in dB under the loud moments (its quieter band), and how many clicks at one pitch."""

    noise_db: float
    clicks: int


def other_sounds(spectra: Spectra) -> OtherSounds:
    """What sounds beside the bass in a stretch."""
    return OtherSounds(_noise_db(spectra), _clicks(spectra))


def _noise_db(spectra: Spectra) -> float:
    raw = spectra.raw[MID].astype(np.float64) ** 2
    floor = spectra.floors[MID].astype(np.float64) ** 2
    hertz = np.arange(raw.shape[1]) * spectra.rate / spectra.sizes[MID]
    audible = (hertz > 30.0) & (hertz < BANDS_HZ[-1][1])
    loud = float(np.percentile(raw[:, audible].sum(axis=1), LOUD_SHARE)) + 1e-15
    bands = [(hertz > low) & (hertz < high) for low, high in BANDS_HZ]
    noise = min(float(np.median(floor[band])) * float(band.sum()) for band in bands)
    return float(10.0 * np.log10(noise / loud + 1e-12))


def _clicks(spectra: Spectra) -> int:
    hertz = np.arange(spectra.raw[SHORT].shape[1]) * spectra.rate / spectra.sizes[SHORT]
    power = spectra.raw[SHORT][:, (hertz > CLICK_HZ[0]) & (hertz < CLICK_HZ[1])] ** 2
    total = power.sum(axis=1)
    if len(total) < 2 * (RISE_FRAMES + FALL_FRAMES):
        return 0
    near = np.lib.stride_tricks.sliding_window_view(total, 2 * RISE_FRAMES + 1).max(axis=1)
    at = np.arange(RISE_FRAMES, len(total) - FALL_FRAMES)
    here = total[at]
    burst = (
        (here >= near[: len(at)])
        & (here > BURST * total[at - RISE_FRAMES])
        & (here > BURST * total[at + FALL_FRAMES])
        & (here > OF_LOUDEST * np.percentile(total, LOUDEST_SHARE))
    )
    rows = power[at[burst]]
    if not len(rows):
        return 0
    peak = rows.argmax(axis=1)
    within = np.abs(np.arange(rows.shape[1]) - peak[:, None]) <= 2
    pure = peak[(rows * within).sum(axis=1) > PURE * rows.sum(axis=1)]
    counts = np.convolve(np.bincount(pure, minlength=power.shape[1]), np.ones(3), "same")
    return int(counts.max())
