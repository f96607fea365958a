"""Plain piano voicings: what a pianist's left hand plays while the bass has the root.

A shell is the third and the seventh, and one voice more: a fifth that the symbol alters, else a
tension that it names, else the plain fifth. A triad is played whole; a chord without a third has
what it has. Voices lie around middle C and each chord takes the voicing nearest to the one
before, round the loop (common practice). Pitches are MIDI numbers.
"""

from __future__ import annotations

from itertools import pairwise, product
from typing import TYPE_CHECKING, TypeAlias

from linecheck.practice.closed_path import cheapest_round

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.terms import Chord

__all__ = ["shell", "voicings"]

LOW, HIGH = 52, 71  # E3 to B4: clear of the bass
MIDDLE = 60
VOICES = 3
_CLOSE = 1  # a half step between neighbours is harsh
_WIDE = 12
_HARSH, _SPREAD, _OFF_MIDDLE = 3.0, 0.4, 0.15

Voicing: TypeAlias = tuple[int, ...]


def shell(chord: Chord) -> tuple[int, ...]:
    """The pitch classes of a chord's shell; empty over N.C."""
    tones = {
        name: [t for t in chord.tones if t.function == name]
        for name in ("third", "fifth", "seventh")
    }
    altered = [t.pitch_class for t in tones["fifth"] if t.degree != "5"]
    named = [tension.pitch_class for tension in chord.tensions]
    third, fifth, seventh = ([t.pitch_class for t in found] for found in tones.values())
    if third and seventh:
        classes = [third[0], seventh[0], *third[1:], *altered, *named, *fifth]
    else:
        root = [] if chord.root is None else [chord.root]
        classes = [*third, *fifth, *seventh, *root, *named]
    return tuple(dict.fromkeys(classes))[:VOICES]


def voicings(chords: Sequence[Chord]) -> list[Voicing]:
    """A voicing for each chord, all around middle C, led by the least motion round the loop."""
    choices = [_choices(chord) for chord in chords]
    return cheapest_round(choices, lambda _, here, there: _motion(here, there))


def _choices(chord: Chord) -> dict[Voicing, float]:
    """Every way to lay the shell out within the range, with its price; over N.C. silence."""
    classes = shell(chord)
    places = [[p for p in range(LOW, HIGH + 1) if p % 12 == pc] for pc in classes]
    return {tuple(sorted(pitches)): _price(sorted(pitches)) for pitches in product(*places)}


def _price(pitches: Sequence[int]) -> float:
    if not pitches:
        return 0.0
    gaps = [high - low for low, high in pairwise(pitches)]
    harsh = _HARSH * sum(gap == _CLOSE for gap in gaps)
    wide = _SPREAD * max(0, pitches[-1] - pitches[0] - _WIDE)
    return harsh + wide + _OFF_MIDDLE * abs(sum(pitches) / len(pitches) - MIDDLE)


def _motion(here: Voicing, there: Voicing) -> float:
    """How far the voices move, each to the nearest of the next chord and the other way round."""
    if not here or not there:
        return 0.0
    to = sum(min(abs(a - b) for b in there) for a in here)
    back = sum(min(abs(a - b) for a in here) for b in there)
    return (to + back) / 2
