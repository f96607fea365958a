"""Where something is struck: sudden rises of loudness over many bands at once.

The flux of a moment is how much the logarithm of loudness rises, above each band's own floor, on
average over bands from 40 Hz to 5 kHz (46 ms of window, 5 ms of hop). Peaks of it are candidates
only: a foot, a click and a word strike too. Times are seconds from the start of the stretch.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from linecheck.hear.spectra import FLOOR_SHARE, magnitudes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from linecheck.hear.spectra import Floats

FLUX_HOP_S = 0.005
WINDOW_S = 0.0465
LOW_EDGES_HZ = (40.0, 80.0, 120.0)
HIGHER_BANDS = 21
TOP_HZ = 5000.0
QUIET = 1e-3  # of the loudest band: what is softer counts as silence
RISE_FRAMES = 4  # a rise is told against so long before
LEAST_FLUX = 0.03  # below it lie the ripples of noise
APART_S = 0.030
LATE_S = 0.006  # a peak of the flux stands that much after the attack


class Candidate(NamedTuple):
    """A moment at which something may have been struck, and how plainly."""

    at_s: float
    flux: float


def flux(sound: Floats, rate: float) -> NDArray[np.float64]:
    """The rise of loudness at every ``FLUX_HOP_S``."""
    window = round(WINDOW_S * rate / 2) * 2
    spectrum = magnitudes(sound, window, rate * FLUX_HOP_S) ** 2
    bands = np.sqrt(spectrum @ _bands(window, rate))
    floor = np.percentile(bands, FLOOR_SHARE, axis=0)
    loudest = float(np.percentile(bands, 95, axis=0).max())
    loud = np.log10(1.0 + bands / (2.0 * floor + QUIET * loudest + 1e-9))
    rise = np.zeros(len(loud))
    before = np.maximum(loud[:-RISE_FRAMES], loud[1 : 1 - RISE_FRAMES])
    rise[RISE_FRAMES:] = np.maximum(loud[RISE_FRAMES:] - before, 0.0).mean(axis=1)
    return rise


def _bands(window: int, rate: float) -> Floats:
    """Bins × bands, 1 where a bin belongs to a band."""
    hertz = np.arange(window // 2 + 1) * rate / window
    top = min(TOP_HZ, 0.45 * rate)
    edges = [*LOW_EDGES_HZ, *np.geomspace(170.0, top, HIGHER_BANDS + 1)]
    columns = [
        (hertz >= low) & (hertz < max(high, low + rate / window))
        for low, high in itertools.pairwise(edges)
    ]
    return np.array(columns, dtype=np.float32).T


def candidates(sound: Floats, rate: float) -> list[Candidate]:
    """The peaks of the flux, in the order of time."""
    rise = flux(sound, rate)
    reach = round(APART_S / FLUX_HOP_S)
    padded = np.pad(rise, reach)
    around = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1).max(axis=1)
    peaks = np.flatnonzero((rise >= around) & (rise > LEAST_FLUX))
    found: list[Candidate] = []
    for peak in peaks.tolist():
        at_s = max(0.0, peak * FLUX_HOP_S - LATE_S)
        if not found or at_s - found[-1].at_s > APART_S:
            found.append(Candidate(at_s, float(rise[peak])))
    return found
