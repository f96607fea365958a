"""Spectra of a stretch of sound, at three lengths of window, with what stands still taken out.

A long window tells low tones apart, a short one follows fast notes; every pitch is read from the
window that holds some six of its periods. Magnitudes are those of a sine (amplitude 1 gives 1);
frames stand at every ``HOP_S``, each centred on its time. What is there all the time, hum and
noise, is a floor for every frequency, taken out as power.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]

HOP_S = 0.010
WINDOWS_S = (0.186, 0.093, 0.0465)
BATCH = 512  # frames at a time: spectra are complex and twice as precise before they are kept
FLOOR_SHARE = 30  # percentile of a frequency's magnitudes over time that is taken for its floor
FLOOR_TIMES = 2.0  # that many times the floor are taken out


def magnitudes(sound: Floats, window: int, hop: float) -> Floats:
    """Magnitudes (frames × window // 2 + 1) of frames centred at every ``hop`` samples."""
    shape = np.hanning(window + 1)[:window].astype(np.float32)
    shape *= 2.0 / shape.sum()
    padded = np.pad(sound, (window // 2, window))
    count = max(1, int(len(sound) / hop))
    starts = np.rint(np.arange(count) * hop).astype(np.int64)
    windows = np.lib.stride_tricks.sliding_window_view(padded, window)
    found = np.empty((count, window // 2 + 1), dtype=np.float32)
    for first in range(0, count, BATCH):
        part = starts[first : first + BATCH]
        found[first : first + BATCH] = np.abs(np.fft.rfft(windows[part] * shape, axis=1))
    return found


@dataclass(frozen=True)
class Spectra:
    """The spectra of one stretch: ``sound`` at ``rate``, mono."""

    sound: Floats
    rate: float

    @cached_property
    def sizes(self) -> tuple[int, ...]:
        """Samples of each window."""
        return tuple(round(s * self.rate / 2) * 2 for s in WINDOWS_S)

    @cached_property
    def raw(self) -> tuple[Floats, ...]:
        """Magnitudes with everything in them, one array a window."""
        return tuple(magnitudes(self.sound, size, self.rate * HOP_S) for size in self.sizes)

    @cached_property
    def floors(self) -> tuple[Floats, ...]:
        """What stands still, by frequency."""
        return tuple(
            np.asarray(np.percentile(m, FLOOR_SHARE, axis=0), dtype=np.float32) for m in self.raw
        )

    @cached_property
    def clear(self) -> tuple[Floats, ...]:
        """Magnitudes without what stands still."""
        return tuple(
            np.sqrt(np.maximum(m**2 - (FLOOR_TIMES * floor) ** 2, 0.0))
            for m, floor in zip(self.raw, self.floors, strict=True)
        )

    def frame(self, second: float) -> int:
        """The frame nearest to a time of the stretch."""
        return int(min(max(round(second / HOP_S), 0), len(self.raw[0]) - 1))
