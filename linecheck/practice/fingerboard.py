"""What a pitch, and a move from one to the next, costs a left hand on the bass: low is easy.

Range of the exercises: E1 to G3. Within the first four half steps above each open string the hand
stays in the low positions; open strings let it rest or move (common practice). Prices are ours and
only rank lines against each other; pitches are MIDI numbers as they sound.
"""

from __future__ import annotations

from functools import cache

from linecheck.music.pitch import OPEN_STRINGS

__all__ = ["HIGHEST", "LOWEST", "move_price", "pitch_price"]

LOWEST, HIGHEST = 28, 55  # E1, G3
_LOW_POSITION_TOP = max(OPEN_STRINGS.values()) + 4  # B2
_OPEN = frozenset(OPEN_STRINGS.values())
_STEP, _SIXTH, _OCTAVE = 2, 9, 12


@cache
def pitch_price(pitch: int) -> float:
    """Nothing for an open string, little in the low positions, more the higher the hand goes."""
    if pitch in _OPEN:
        return 0.0
    if pitch <= _LOW_POSITION_TOP:
        return 0.3
    return 0.6 + 0.35 * (pitch - _LOW_POSITION_TOP)


def move_price(here: int, there: int) -> float:
    """By the size of the interval; leaps beyond a sixth are dear, beyond an octave very dear."""
    size = abs(there - here)
    price = 0.15 * size
    if size > _SIXTH:
        price += 2.0
    if size > _OCTAVE:
        price += 6.0
    return price
