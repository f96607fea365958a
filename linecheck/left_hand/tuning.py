"""The strings of a bass: what they are tuned to, and an extension of the lowest one.

Pitches are MIDI numbers as they sound (E1 = 28). Strings are counted from the highest, which is
1, as players and MusicXML count them. The tunings by name are common practice.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from linecheck.arguments import checked_pitches
from linecheck.faults import OptionFault
from linecheck.music.keys import key_of_signature, names_in_key, scale_names
from linecheck.music.pitch import NATURAL, pitch_name
from linecheck.terms import Key

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from linecheck.terms import TakeNote

__all__ = ["TUNINGS", "Bass", "name_as_written", "note_name", "read_bass", "spelling_key"]

TUNINGS: dict[str, tuple[str, ...]] = {
    "fourths": ("E1", "A1", "D2", "G2"),
    "solo": ("F#1", "B1", "E2", "A2"),
    "fifths": ("C1", "G1", "D2", "A2"),
    "low-b": ("B0", "E1", "A1", "D2", "G2"),
    "high-c": ("E1", "A1", "D2", "G2", "C3"),
}
FEWEST, MOST = 2, 7  # strings
LOWEST, HIGHEST = 12, 72  # of an open string
DEEPEST = 7  # half steps that an extension may reach below the lowest string
_NOTE = re.compile(r"([A-Ga-g])(#|b|♯|♭)?(-?\d)")
PLAIN_KEY = Key("C", minor=False)


@dataclass(frozen=True, slots=True)
class Bass:
    """The open strings from the lowest to the highest, and the lowest note of an extension."""

    strings: tuple[int, ...]
    extension: int | None = None

    @property
    def lowest(self) -> int:
        """The lowest note there is."""
        return self.strings[0] if self.extension is None else self.extension

    def number(self, index: int) -> int:
        """The number of the string that stands at ``index`` of ``strings``: the highest is 1."""
        return len(self.strings) - index


def note_name(pitch: int, key: Key = PLAIN_KEY) -> str:
    """A pitch by its name in a key: 34 is ``"Bb1"`` in C major, and ``"A#1"`` in B major."""
    return pitch_name(names_in_key(key)[pitch % 12], pitch)


def name_as_written(note: TakeNote, key: Key = PLAIN_KEY) -> str:
    """The name of a note as its line spells it, of a played one as the key does."""
    return pitch_name(note.spelled, note.pitch) if note.spelled else note_name(note.pitch, key)


def spelling_key(pitches: Iterable[int]) -> Key:
    """The major key whose scale holds most of the notes, by which a line without a key is spelled.

    Of keys that hold as many the one with the fewest sharps or flats, of those the flat one.
    """
    counts = [0] * 12
    for pitch in pitches:
        counts[pitch % 12] += 1
    order = sorted(range(-5, 6), key=lambda fifths: (abs(fifths), fifths))
    keys = [key_of_signature(fifths) for fifths in order]
    return max(keys, key=lambda key: sum(counts[pc] for pc in scale_names(key)))


def read_bass(tuning: str | Sequence[int], extension: str | int | None = None) -> Bass:
    """A bass by its tuning and its extension.

    Args:
        tuning: a name of ``TUNINGS``, or the open strings from the lowest: ``"E1,A1,D2,G2"``, or
            as MIDI numbers.
        extension: the lowest note of an extension of the lowest string: ``"C1"`` or 24.

    Raises:
        OptionFault: no such tuning, or no extension of it.
    """
    if isinstance(tuning, str):
        names = TUNINGS.get(tuning.strip().lower()) or tuple(tuning.replace(",", " ").split())
        strings = tuple(_pitch(name, f"tuning {tuning!r}") for name in names)
    else:
        strings = checked_pitches(
            tuning,
            "tuning",
            "a name such as 'fourths', or the open strings, as text such as 'E1,A1,D2,G2' or as "
            "MIDI numbers from 0 to 127",
        )
    shown = " ".join(note_name(pitch) for pitch in strings)
    if not FEWEST <= len(strings) <= MOST:
        raise OptionFault(
            f"tuning {tuning!r}: {len(strings)} strings were read, {FEWEST} to {MOST} were "
            f"expected, such as E1,A1,D2,G2, or a name: {', '.join(TUNINGS)}"
        )
    if list(strings) != sorted(set(strings)):
        raise OptionFault(f"tuning {shown}: the strings are named from the lowest to the highest")
    if strings[0] < LOWEST or strings[-1] > HIGHEST:
        raise OptionFault(f"tuning {shown}: no string of a bass sounds so")
    return Bass(strings, None if extension is None else _extension(extension, strings[0]))


def _extension(extension: str | int, lowest: int) -> int:
    if isinstance(extension, str):
        pitch = _pitch(extension, f"extension {extension!r}")
    else:
        expected = "a note such as 'C1', or its MIDI number from 0 to 127"
        (pitch,) = checked_pitches((extension,), "extension", expected)
    if not lowest - DEEPEST <= pitch < lowest:
        raise OptionFault(
            f"extension {note_name(pitch)}: expected a note of up to {DEEPEST} half steps below "
            f"the lowest string, {note_name(lowest)}"
        )
    return pitch


def _pitch(text: str, what: str) -> int:
    found = _NOTE.fullmatch(text.strip())
    if found is None:
        raise OptionFault(
            f"{what}: {text!r} is no note with its octave, such as E1 (the lowest string of a "
            f"bass); a tuning may also be one of {', '.join(TUNINGS)}"
        )
    alter = {"#": 1, "♯": 1, "b": -1, "♭": -1}.get(found[2], 0)
    return 12 * (int(found[3]) + 1) + NATURAL[found[1].upper()] + alter
