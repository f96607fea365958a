"""Pitch names, pitch classes, spelled degrees and MIDI numbers.

Conventions: pitch class 0 is C; MIDI number 69 is A4 = 440 Hz (ISO 16:1975); C4 = 60 is middle
C, so the lowest string of the bass, E1, is 28. Flats are "b", sharps "#", doubled where needed.
A degree is a number of the major scale with its flats or sharps before it: "b3", "#11", "bb7".
"""

from __future__ import annotations

from functools import lru_cache

LETTERS = "CDEFGAB"
NATURAL = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
A4_HZ = 440.0
OPEN_STRINGS = {"E": 28, "A": 33, "D": 38, "G": 43}  # common practice: fourths from E1
RARE_NAMES = ("E#", "B#", "Cb", "Fb")
FIFTH = 7  # half steps
_SEMITONES = (0, 2, 4, 5, 7, 9, 11)  # of the major scale's degrees 1 to 7


def pitch_class(name: str) -> int:
    """Pitch class of a name such as ``"Bb"`` or ``"F##"``; ValueError for anything else."""
    if not name or name[0] not in NATURAL or set(name[1:]) - {"b", "#"}:
        raise ValueError(f"{name!r} is no pitch name; expected A to G with b or #")
    return (NATURAL[name[0]] + name.count("#") - name[1:].count("b")) % 12


def spell(letter: str, pc: int) -> str:
    """Name of pitch class ``pc`` on the given letter: ``spell("C", 11) == "Cb"``."""
    shift = (pc - NATURAL[letter] + 6) % 12 - 6
    return letter + ("#" * shift if shift > 0 else "b" * -shift)


def degree_number(degree: str) -> int:
    """The number of a degree without its accidentals: ``degree_number("#11") == 11``."""
    return int(degree.lstrip("b#"))


def degree_semitones(degree: str) -> int:
    """Half steps from the root to a degree, 0 to 11: ``degree_semitones("b9") == 1``."""
    natural = _SEMITONES[(degree_number(degree) - 1) % 7]
    return (natural + degree.count("#") - degree.count("b")) % 12


def degree_name(root_name: str, degree: str) -> str:
    """Name of a degree over a root: ``degree_name("Eb", "b7") == "Db"``."""
    letter = LETTERS[(LETTERS.index(root_name[0]) + degree_number(degree) - 1) % 7]
    return spell(letter, (pitch_class(root_name) + degree_semitones(degree)) % 12)


@lru_cache(maxsize=1024)
def leading_name(target: str, half_steps: int) -> str | None:
    """Name of a note that leads to ``target`` from so many half steps above it (−: below).

    A half or a whole step is a second, so it stands on the next letter, and a fifth on the fifth
    letter: A is led to by G# from below and by Bb from above (common practice). None where that
    letter would ask for Cb, Fb, E#, B# or two accidentals, and for other intervals.
    """
    letters = {1: 1, 2: 1, -1: -1, -2: -1}.get(half_steps)
    if letters is None:
        if half_steps % 12 != FIFTH:
            return None
        letters = 4
    name = spell(
        LETTERS[(LETTERS.index(target[0]) + letters) % 7], (pitch_class(target) + half_steps) % 12
    )
    return name if len(name) < 3 and name not in RARE_NAMES else None


def pitch_name(name: str, pitch: int) -> str:
    """Name with its octave: ``pitch_name("Cb", 35) == "Cb2"`` (the octave follows the letter)."""
    shift = name.count("#") - name[1:].count("b")
    return f"{name}{(pitch - shift) // 12 - 1}"


def frequency_hz(pitch: float, a4_hz: float = A4_HZ) -> float:
    """Frequency of a MIDI number in equal temperament (ISO 16): 28 → 41.2 Hz."""
    return float(a4_hz * 2.0 ** ((pitch - 69) / 12))
