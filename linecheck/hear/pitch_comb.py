"""How well every pitch explains a spectrum: a comb with teeth at a tone's harmonics.

The comb of a pitch is a cosine over the ratio of frequency to pitch: positive at its harmonics,
negative half way between, so that neither half nor twice a pitch fits as well as the pitch itself,
and a missing fundamental is no matter. Prime harmonics count more than the others, which half a
pitch has too. After A. Camacho and J. G. Harris, "A sawtooth waveform inspired pitch estimator for
speech and music", JASA 124 (2008), who leave out the others, which phones and rooms do not forgive
(measured); the weights over frequency are flatter than theirs: the tails of a room and a foot lie
low.

Pitches are MIDI numbers with a fraction, in steps of ``STEP`` semitones from ``LOWEST``.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from linecheck.hear.spectra import Floats

LOWEST, HIGHEST = 22.6, 74.0  # a tone below B0; D5, high up in thumb position
STEP = 0.2
PITCHES: NDArray[np.float64] = np.arange(LOWEST, HIGHEST, STEP)
HERTZ: NDArray[np.float64] = 440.0 * 2.0 ** ((PITCHES - 69.0) / 12.0)
# harmonic → how much its tooth counts
TEETH = {n: 1.0 if n in (1, 2, 3, 5, 7, 11, 13) else 0.5 for n in range(1, 14)}
TOP_HZ = 2500.0
BEND_HZ = 500.0  # above it a frequency counts the less the higher it is
PERIODS = 6.4  # of a pitch in the window that it is read from


@lru_cache(maxsize=4)
def combs(rate: float, sizes: tuple[int, ...]) -> tuple[tuple[slice, Floats], ...]:
    """For each window the pitches that are read from it, and their combs (pitches × bins)."""
    ideal = np.log2(PERIODS * rate / HERTZ)
    steps = np.log2(np.array(sizes, dtype=np.float64))
    shares = np.clip(1 - np.abs(np.clip(ideal, steps[-1], steps[0])[:, None] - steps), 0, 1)
    found = []
    for column, size in enumerate(sizes):
        read = np.flatnonzero(shares[:, column] > 0)
        hertz = np.arange(size // 2 + 1) * rate / size
        rows = np.array([_comb(hertz, HERTZ[i]) for i in read]) * shares[read, column, None]
        found.append((slice(int(read[0]), int(read[-1]) + 1), rows.astype(np.float32)))
    return tuple(found)


def _comb(hertz: NDArray[np.float64], pitch_hz: float) -> NDArray[np.float64]:
    ratio = hertz / pitch_hz
    wave = np.cos(2 * np.pi * ratio)
    comb = np.zeros_like(hertz)
    for harmonic, share in TEETH.items():
        away = np.abs(ratio - harmonic)
        comb = np.where(away < 0.25, share * wave, comb)
        comb = np.where((away >= 0.25) & (away < 0.75), comb + share * wave / 2, comb)
    comb *= weight(hertz)
    return np.asarray(comb / np.sqrt((comb[comb > 0] ** 2).sum()))


def weight(hertz: NDArray[np.float64]) -> NDArray[np.float64]:
    """How much a frequency counts."""
    return np.where(hertz <= TOP_HZ, BEND_HZ / (hertz + BEND_HZ), 0.0)


def fits(clear: tuple[Floats, ...], rate: float, sizes: tuple[int, ...]) -> Floats:
    """How well every pitch fits (frames × pitches), 1 at best.

    Args:
        clear: magnitudes (frames × bins), one array a window.
        rate: samples a second.
        sizes: of the windows, in samples.
    """
    found = np.zeros((len(clear[0]), len(PITCHES)), dtype=np.float32)
    for magnitude, size, (pitches, rows) in zip(clear, sizes, combs(rate, sizes), strict=True):
        loud = np.sqrt(magnitude)
        weights = weight(np.arange(size // 2 + 1) * rate / size).astype(np.float32)
        norm = np.sqrt((magnitude * weights).sum(axis=1, keepdims=True))
        found[:, pitches] += (loud / (norm + 1e-6)) @ rows.T
    return found
