"""What a pitch is against a chord: which of its tones, which tension, which degree, which name.

All questions are put to a table of twelve answers that is made once for each chord.
Pitch classes are 0 to 11 with C = 0; a MIDI number may be given ``% 12``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from linecheck.music.keys import names_in_key, scale_names
from linecheck.music.pitch import RARE_NAMES, degree_name

if TYPE_CHECKING:
    from linecheck.terms import Chord, Function, Key

# What a note is called that is neither a tone nor a tension of the chord, by half steps from the
# root (common practice). Where two names are there the first fits a dominant, the second the rest.
_OTHER_DEGREES: tuple[tuple[str, str], ...] = (
    ("1", "1"),
    ("b9", "b9"),
    ("9", "9"),
    ("#9", "b3"),
    ("3", "3"),
    ("11", "11"),
    ("#11", "#11"),
    ("5", "5"),
    ("b13", "b13"),
    ("13", "13"),
    ("b7", "b7"),
    ("7", "7"),
)


class _Answers(NamedTuple):
    functions: tuple[Function | None, ...]
    available: tuple[bool, ...]
    degrees: tuple[str, ...]
    names: tuple[str | None, ...]  # of what the symbol names; None: by the key
    tension_names: tuple[str | None, ...]  # of the other tensions, outside the key's scale
    altered_names: tuple[str | None, ...]  # of those that a chord from outside the key spells
    frame: frozenset[int]  # the pitch classes of its root, third and seventh


_MOST_CHORDS = 4096
# By identity: a chord is hashed over all its tones, which takes longer than the answer. The chord
# itself is kept beside its answers, so that no other can come to have its id.
_answers: dict[int, tuple[Chord, _Answers]] = {}


def tone_function(chord: Chord, pitch_class: int) -> Function | None:
    """``root`` ``third`` ``fifth`` or ``seventh``; None where it is no chord tone."""
    return _of(chord).functions[pitch_class]


def is_available_tension(chord: Chord, pitch_class: int) -> bool:
    """Whether it is a tension that may be used over the chord."""
    return _of(chord).available[pitch_class]


def degree(chord: Chord, pitch_class: int) -> str:
    """The degree as the chord spells it ("b3", "#11"), for all twelve pitch classes.

    Over N.C., which has no root, it is "".
    """
    return _of(chord).degrees[pitch_class]


def spell(chord: Chord | None, key: Key, pitch_class: int) -> str:
    """The name of a pitch class.

    What the symbol names, its tones and tensions, is spelled by the chord. The other tensions of a
    chord of the key are spelled by the key where they belong to its scale; those of a chord whose
    root, third or seventh lies outside it by the chord (Db over C7 in A major, where it is the b9).
    The rest is spelled by the key. Common practice: a name with two accidentals stands only where
    the chord's own third, fifth or seventh asks for it (Ebb in Abm7b5), a diminished seventh chord
    is spelled by the key (A and C in Ebdim7), and a #9 that the scale has as a minor third is
    written as that (Bb over G7 in F).
    """
    if chord is not None:
        answers = _of(chord)
        scale = scale_names(key)
        name = answers.names[pitch_class]
        if name is None and not answers.frame <= scale.keys():
            name = answers.altered_names[pitch_class]
        name = name or scale.get(pitch_class) or answers.tension_names[pitch_class]
        if name:
            return name
    return names_in_key(key)[pitch_class]


def _of(chord: Chord) -> _Answers:
    found = _answers.get(id(chord))
    if found is not None:
        return found[1]
    answers = _answer(chord)
    if len(_answers) >= _MOST_CHORDS:
        _answers.clear()
    _answers[id(chord)] = (chord, answers)
    return answers


def _answer(chord: Chord) -> _Answers:
    nothing = (None,) * 12
    if chord.root is None:
        return _Answers(nothing, (False,) * 12, ("",) * 12, nothing, nothing, nothing, frozenset())
    functions: list[Function | None] = [None] * 12
    degrees = _plain_degrees(chord)
    names: list[str | None] = [None] * 12
    tension_names: list[str | None] = [None] * 12
    for tension in chord.available:
        degrees[tension.pitch_class] = tension.degree
        name = degree_name(chord.root_name, tension.degree)
        if len(name) < 3:
            tension_names[tension.pitch_class] = None if name in RARE_NAMES else name
            names[tension.pitch_class] = name if tension in chord.tensions else None
    for tone in chord.tones:
        functions[tone.pitch_class] = tone.function
        degrees[tone.pitch_class] = tone.degree
        name = degree_name(chord.root_name, tone.degree)
        if len(name) < 3 or chord.kind != "diminished-seventh":
            names[tone.pitch_class] = name
    if chord.bass is not None:
        names[chord.bass] = chord.bass_name
    pcs = {tension.pitch_class for tension in chord.available}
    available = tuple(pc in pcs for pc in range(12))
    by_key = chord.kind == "diminished-seventh"
    altered_names = (
        None if by_key or degrees[pc] == "#9" else name for pc, name in enumerate(tension_names)
    )
    return _Answers(
        functions=tuple(functions),
        available=available,
        degrees=tuple(degrees),
        names=tuple(names),
        tension_names=tuple(tension_names),
        altered_names=tuple(altered_names),
        frame=frozenset(tone.pitch_class for tone in chord.tones if tone.function != "fifth"),
    )


def _plain_degrees(chord: Chord) -> list[str]:
    """The degrees of ``_OTHER_DEGREES`` from pitch class 0 up."""
    third_and_seventh = {t.degree for t in chord.tones}
    column = 0 if {"3", "b7"} <= third_and_seventh else 1
    root = chord.root or 0
    return [_OTHER_DEGREES[(pc - root) % 12][column] for pc in range(12)]
