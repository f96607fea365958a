"""Key signatures and the tonics that they stand for, in every mode.

A signature is counted in fifths: sharps positive, flats negative. A mode's tonic lies a fixed
number of fifths from the major tonic of the same signature (D dorian has the signature of C).
A mode with a minor third is ``minor`` in ``Key``.
"""

from __future__ import annotations

from linecheck.music.keys import key_of_signature
from linecheck.music.keys import signature as signature_of
from linecheck.terms import Key

ORDER_OF_SHARPS = "FCGDAEB"
MODES = {  # name → fifths from the major tonic of the signature, minor third
    "major": (0, False),
    "ionian": (0, False),
    "lydian": (-1, False),
    "mixolydian": (1, False),
    "dorian": (2, True),
    "minor": (3, True),
    "aeolian": (3, True),
    "phrygian": (4, True),
    "locrian": (5, True),
}
MOST_FIFTHS = 7


def tonic_of(fifths: int, mode: str) -> Key:
    """The key of a signature: ``tonic_of(-1, "minor")`` is D minor. Unknown modes are major."""
    away, minor = MODES.get(mode, MODES["major"])
    while fifths > MOST_FIFTHS:
        fifths -= 12
    while fifths < -MOST_FIFTHS:
        fifths += 12
    return Key(key_of_signature(fifths + away).tonic, minor)


def fifths_of(tonic: str, mode: str) -> int:
    """The signature of a key: ``fifths_of("Bb", "major")`` is −2."""
    return signature_of(Key(tonic, minor=False)) - MODES[mode][0]


def signature(fifths: int) -> dict[str, int]:
    """Letter → half steps of its accidental in a signature."""
    if fifths >= 0:
        return dict.fromkeys(ORDER_OF_SHARPS[:fifths], 1)
    return dict.fromkeys(ORDER_OF_SHARPS[fifths:], -1)
