"""Pitch names, pitch classes and MIDI numbers.

Conventions: pitch class 0 is C; MIDI number 69 is A4 = 440 Hz (ISO 16:1975); C4 = 60 is middle
C, so the lowest string of the bass, E1, is 28. Flats are "b", sharps "#", doubled where needed.
"""

from __future__ import annotations

LETTERS = "CDEFGAB"
NATURAL = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
A4_HZ = 440.0
OPEN_STRINGS = {"E": 28, "A": 33, "D": 38, "G": 43}  # common practice: fourths from E1


def pitch_class(name: str) -> int:
    """Pitch class of a name such as ``"Bb"`` or ``"F##"``; ValueError for anything else."""
    if not name or name[0] not in NATURAL or set(name[1:]) - {"b", "#"}:
        raise ValueError(f"{name!r} is no pitch name; expected A to G with b or #")
    return (NATURAL[name[0]] + name.count("#") - name[1:].count("b")) % 12


def spell(letter: str, pc: int) -> str:
    """Name of pitch class ``pc`` on the given letter: ``spell("C", 11) == "Cb"``."""
    shift = (pc - NATURAL[letter] + 6) % 12 - 6
    return letter + ("#" * shift if shift > 0 else "b" * -shift)


def pitch_name(name: str, pitch: int) -> str:
    """Name with its octave: ``pitch_name("Cb", 35) == "Cb2"`` (the octave follows the letter)."""
    shift = name.count("#") - name[1:].count("b")
    return f"{name}{(pitch - shift) // 12 - 1}"


def frequency_hz(pitch: float, a4_hz: float = A4_HZ) -> float:
    """Frequency of a MIDI number in equal temperament (ISO 16): 28 → 41.2 Hz."""
    return float(a4_hz * 2.0 ** ((pitch - 69) / 12))
