"""Plucked tones from arithmetic alone: known to a hundredth of a cent, for tests that run anywhere.

A tone is the sum of its partials, n·f·√(1 + B·n²) for a stiff string, which decay the faster the
higher they are; a short noise is the finger. Sounds are float32 at ``RATE``, full scale ±1.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

RATE = 22_050
STIFFNESS = 8e-5


class Pluck(NamedTuple):
    """A tone: MIDI pitch as it sounds, cents off it at A = 440, loudness 0 to 1."""

    onset_s: float
    duration_s: float
    pitch: int
    cents: float = 0.0
    loud: float = 0.6
    vibrato_cents: float = 0.0
    slide_cents: float = 0.0  # it begins so far off and is there after 0.1 s


def pluck(
    notes: list[Pluck],
    *,
    rate: int = RATE,
    length_s: float | None = None,
    missing: int = 0,
    seed: int = 1,
) -> NDArray[np.float32]:
    """The sound of a line; ``missing`` partials from the lowest on are left out."""
    rng = np.random.default_rng(seed)
    last = max((n.onset_s + n.duration_s for n in notes), default=0.0)
    sound = np.zeros(round((length_s or last + 0.6) * rate) + rate)
    for note in notes:
        count = round((note.duration_s + 0.12) * rate)
        t = np.arange(count) / rate
        bend = note.cents + note.vibrato_cents * np.sin(2 * np.pi * 5.5 * t) * (t > 0.1)
        bend = bend + note.slide_cents * np.clip(1 - t / 0.1, 0, None)
        hertz = 440 * 2 ** ((note.pitch - 69 + bend / 100) / 12) / np.sqrt(1 + STIFFNESS)
        phase = 2 * np.pi * np.cumsum(hertz) / rate
        tone = np.zeros(count)
        for number in range(1 + missing, 25):
            stretch = number * np.sqrt(1 + STIFFNESS * number**2)
            if stretch * hertz.max() > 0.45 * rate:
                break
            decay = np.exp(-t * (0.9 + 0.35 * number))
            tone += decay / number**0.9 * np.sin(stretch * phase + rng.uniform(0, 6.28))
        finger = rng.normal(0, 0.4, count) * np.exp(-t / 0.004)
        shape = np.minimum(1, t / 0.004) * np.where(
            t < note.duration_s, 1.0, np.exp(-(t - note.duration_s) / 0.015)
        )
        begin = round(note.onset_s * rate)
        sound[begin : begin + count] += (tone + finger) * shape * note.loud * 0.35
    end = round((length_s or last + 0.6) * rate)
    return sound[:end].astype(np.float32)
