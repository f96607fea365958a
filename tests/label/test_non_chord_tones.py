"""Labels against what others say of notes that are no chord tones.

1. The table of non-chord tones that handbooks of harmony give (common practice): how each kind is
   come to and left, and on which beat it stands. Each kind has its place among our labels.
2. music21's judgement of passing and neighbour tones (``music21.voiceLeading``,
   ``ThreeNoteLinearSegment.couldBePassingTone`` and ``couldBeNeighborTone``), on random lines,
   where its definition and ours speak of the same notes.
"""

from __future__ import annotations

import random
from functools import cache
from itertools import product

import pytest

from tests.judge.random_lines import NAMES, QUALITIES
from tests.label_lines import chart_of, label, pitch_of, placed

# kind: (comes by, leaves by, example over bars, index of the note, our label)
HANDBOOK = [
    # Stepwise on both sides, on a weak beat: it leads on.
    ("passing, diatonic", "| F7 | F7 |", "F2 G2 A2", 1, "approach scale below"),
    ("passing, chromatic", "| F7 | Gm7 |", "F2 A2 C3 Gb2 G2", 3, "approach chromatic below"),
    ("neighbour, upper", "| F7 | F7 |", "F2 G2 F2", 1, "approach scale above"),
    ("neighbour, lower", "| F7 | F7 |", "F2 E2 F2", 1, "approach chromatic below"),
    ("neighbour, chromatic", "| F7 | F7 |", "F2 C3 B2 C3", 2, "approach chromatic below"),
    # Both neighbours, one after the other: the first is left by a leap.
    ("changing tones, first", "| F7 | F7 |", "F2 A2 B2 Db3 C3", 2, "approach enclosure"),
    ("changing tones, second", "| F7 | F7 |", "F2 A2 B2 Db3 C3", 3, "approach chromatic above"),
    # Come to by a step and left by a leap the other way: leads nowhere.
    ("escape tone", "| F7 | F7 |", "F2 A2 Bb2 F2", 2, "outside"),
    ("escape tone, available", "| F7 | F7 |", "F2 A2 B2 F2", 2, "tension"),
    # Come to by a leap and left by a step: on a weak beat it leads, on a landing it leans.
    ("appoggiatura, weak", "| F7 | F7 |", "F2 D3 C3", 1, "approach scale above"),
    ("appoggiatura, strong", "| F7 | Bb7 |", "F2 A2 C3 F2 Eb3 D3", 4, "outside"),
    ("appoggiatura, strong, available", "| F7 | Bb7 |", "F2 A2 C3 F2 C3 Bb2", 4, "tension"),
    # Kept over a change of chord and resolved by a step, down or up.
    ("suspension, struck again", "| F7 | Bb7 |", "F2 A2 C3 Eb3 Eb3 D3", 4, "outside"),
    ("retardation, struck again", "| F7 | Bb7 |", "F2 A2 C3 A2 A2 Bb2", 4, "outside"),
    ("suspension, held", "| F7 | Bb7 |", "F2 A2 Eb3:3 D3", 2, "seventh"),
    # A tone of the next chord before its time.
    ("anticipation, held over", "| F7 | Bb7 |", "F2 A2 C3 F2:0.5 Bb2:1.5", 4, "root early"),
    ("anticipation, struck again", "| F7 | Bb7 |", "F2 A2 C3 F2:0.5 Bb2:0.5 Bb2", 4, "outside"),
    # One note under changing chords.
    ("pedal", "| F7 | Bb7 | C7 |", "F2 F2 F2 F2 F2 F2 F2 F2 F2", 8, "outside"),
]


def in_words(note):
    if note.approach is not None:
        kind, side = note.approach.kind, note.approach.direction
        return f"{note.function} {kind}" + (f" {side}" if side else "")
    return f"{note.function} early" if note.anticipation else note.function


@pytest.mark.parametrize(
    ("bars", "line", "index", "ours"), [row[1:] for row in HANDBOOK],
    ids=[row[0] for row in HANDBOOK],
)  # fmt: skip
def test_each_kind_of_the_handbooks_has_its_place(bars, line, index, ours):
    assert in_words(label(line, chart_of(bars)).notes[index]) == ours


def random_bar(rng: random.Random):
    """One chord, and a line of quarters and eighths of which only the first is on a landing."""
    chart = chart_of(f"{rng.choice(NAMES)}{rng.choice(QUALITIES)}")
    pitch, notes = rng.randint(33, 50), []
    for step in (0, 12, 18, 24, 30, 36, 42):
        pitch += rng.choice((-4, -3, -2, -2, -1, -1, 1, 1, 2, 2, 3, 4))
        notes.append(placed(step, pitch, 6))
    return label(tuple(notes), chart).notes


def spellings(pitch: int) -> list[str]:
    """Names of a pitch with up to one accidental, as music21 writes them."""
    names = [letter + accidental for letter in "CDEFGAB" for accidental in ("", "#", "b")]
    return [
        f"{name.replace('b', '-')}{octave}"
        for name in names
        for octave in range(6)
        if pitch_of(f"{name}{octave}") == pitch
    ]


@cache
def music21_says(before: int, pitch: int, after: int) -> bool:
    """Whether music21 takes the middle pitch for a passing or a neighbour tone, however spelled."""
    from music21.voiceLeading import ThreeNoteLinearSegment

    for names in product(spellings(before), spellings(pitch), spellings(after)):
        segment = ThreeNoteLinearSegment(*names)
        widest = max(segment.iLeft.chromatic.undirected, segment.iRight.chromatic.undirected)
        if widest <= 2 and (segment.couldBePassingTone() or segment.couldBeNeighborTone()):
            return True
    return False


def test_passing_and_neighbour_tones_as_music21_judges_them():
    """A note that is no chord tone, between two that are, all by the chord in force there.

    music21 looks at spelling and not at harmony, so it is asked whether any spelling makes the
    note one of the two, and is asked about such notes alone. The one kind of note that ours calls
    an approach and that has neither name there turns back by a step to another chord tone
    (B, C sharp, C over Cmaj7): an appoggiatura by step. An augmented second is a step to music21;
    only spellings in which a step is no wider than two half steps are put to it.
    """
    rng = random.Random(20)
    compared = {True: 0, False: 0}
    for _ in range(600):
        notes = random_bar(rng)
        for before, note, after in zip(notes, notes[1:], notes[2:], strict=False):
            sounding = [n.function for n in (before, note, after)]
            chord_tones = {"root", "third", "fifth", "seventh"}
            if sounding[1] in chord_tones or not {sounding[0], sounding[2]} <= chord_tones:
                continue
            first, second = note.pitch - before.pitch, after.pitch - note.pitch
            if abs(first) <= 2 and first * second < 0 and before.pitch != after.pitch:
                continue
            theirs = music21_says(before.pitch, note.pitch, after.pitch)
            steps_in = abs(first) <= 2
            ours = steps_in and note.function == "approach"
            assert ours is theirs, (before, note, after)
            if ours:
                assert note.approach.kind == ("chromatic" if abs(second) == 1 else "scale")
                assert note.approach.direction == ("below" if second > 0 else "above")
                assert note.approach.target == after.pitch
            compared[theirs] += 1
    assert min(compared.values()) > 90
