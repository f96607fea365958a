"""The take's own tuning: the A4 from which its tones lie least far in equal temperament.

Every settled tone has a deviation from equal temperament at A = 440, modulo a semitone. The
tuning is where most of them gather on that circle: the middle of those within a quarter-tone of
the highest point of their density. Known within half a semitone: from A = 427.5 to 452.9.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

STANDARD_HZ = 440.0
LEAST_TONES = 8  # fewer tell a player's fingers rather than his tuning
WIDTH_CENTS = 12.0
NEAR_CENTS = 30.0


def find_tuning(hertz: Sequence[float]) -> tuple[float, bool]:
    """A4 in hertz by the settled tones' pitches, and whether there were enough of them."""
    if len(hertz) < LEAST_TONES:
        return STANDARD_HZ, False
    cents = 1200.0 * np.log2(np.array(hertz) / STANDARD_HZ)
    grid = np.arange(-50.0, 50.0)
    away = (cents[None, :] - grid[:, None] + 50.0) % 100.0 - 50.0
    density = np.exp(-0.5 * (away / WIDTH_CENTS) ** 2).sum(axis=1)
    top = int(density.argmax())
    near = away[top][np.abs(away[top]) < NEAR_CENTS]
    own = (grid[top] + float(np.median(near)) + 50.0) % 100.0 - 50.0
    return float(STANDARD_HZ * 2.0 ** (own / 1200.0)), True


def pitch_and_cents(hertz: float, tuning_hz: float) -> tuple[int, float]:
    """The nearest MIDI pitch at a tuning, and how far above it a tone lies in cents."""
    exact = 69.0 + 12.0 * float(np.log2(hertz / tuning_hz))
    pitch = round(exact)
    return pitch, 100.0 * (exact - pitch)
