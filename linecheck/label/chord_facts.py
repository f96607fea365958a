"""What a chord makes of the twelve pitch classes, looked up once a chord.

A line asks the same few chords the same questions for every note, so the answers stand in tables
of twelve. Pitch classes are 0 to 11 with C = 0. The facts themselves are ``music.chord_tones``.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from linecheck.music.chord_tones import degree, is_available_tension, spell, tone_function
from linecheck.music.same_object import SameObject

if TYPE_CHECKING:
    from linecheck.terms import Chart, Chord, Function, Key

CHARTS_KEPT = 8


@dataclass(frozen=True, slots=True)
class ChordFacts:
    """A chord's answers by pitch class.

    ``tones`` gives the function of a chord tone, else None; ``degrees`` and ``names`` are spelled.
    ``is_chord`` is false for N.C. Two chords of equal ``identity`` are one chord however their
    symbols are spelled (``Cm7`` and ``C-7``): no chord change lies between them.
    """

    chord: Chord
    is_chord: bool
    tones: tuple[Function | None, ...]
    available: tuple[bool, ...]
    degrees: tuple[str | None, ...]
    names: tuple[str, ...]
    identity: tuple[object, ...]


class ChordBook:
    """The facts of every chord met so far, spelled for one key.

    ``names_by_key`` are the names of the pitch classes where no chord is in force.
    """

    def __init__(self, key: Key) -> None:
        self._key = key
        self.names_by_key = tuple(spell(None, key, pc) for pc in range(12))
        self._by_id: dict[int, ChordFacts] = {}

    def facts(self, chord: Chord) -> ChordFacts:
        """The facts of ``chord``; the chord is kept, so that its id stays its own."""
        found = self._by_id.get(id(chord))
        if found is None:
            found = self._by_id[id(chord)] = _look_up(chord, self._key)
        return found


def chord_book(chart: Chart, key: Key) -> ChordBook:
    """The facts of a chart's chords; of the last few charts they are kept."""
    return _kept_book(SameObject(chart), key)


@lru_cache(maxsize=CHARTS_KEPT)
def _kept_book(chart: SameObject[Chart], key: Key) -> ChordBook:
    del chart  # whose chords are asked for
    return ChordBook(key)


def _look_up(chord: Chord, key: Key) -> ChordFacts:
    classes = range(12)
    is_chord = chord.root is not None
    return ChordFacts(
        chord=chord,
        is_chord=is_chord,
        tones=tuple(tone_function(chord, pc) if is_chord else None for pc in classes),
        available=tuple(is_chord and is_available_tension(chord, pc) for pc in classes),
        degrees=tuple(degree(chord, pc) if is_chord else None for pc in classes),
        names=tuple(spell(chord, key, pc) for pc in classes),
        identity=(
            chord.root,
            chord.bass,
            tuple((tone.pitch_class, tone.function) for tone in chord.tones),
            tuple(tension.pitch_class for tension in chord.available),
        ),
    )
