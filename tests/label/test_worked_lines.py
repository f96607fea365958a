"""Walking lines with every label written out by hand from the definitions, as a teacher would.

Each line of a case is one bar: chord symbols, then every note with its label. ``R 3 5 7`` are chord
tones, ``T`` a tension, ``O`` outside, ``g`` a ghost, ``-`` not judged. Approaches: ``cb ca sb sa``
(chromatic or scale step, from below or above), ``db da`` (double), ``en`` (enclosure), ``5th``.
``*`` after a label is an anticipation. The lines are invented.
"""

from __future__ import annotations

import pytest

from linecheck.terms import Meter, Note
from tests.label_lines import chart_of, label, notes_of

FOUR, THREE = Meter(4, 4), Meter(3, 4)
SIGNS = {
    ("chromatic", "below"): "cb",
    ("chromatic", "above"): "ca",
    ("scale", "below"): "sb",
    ("scale", "above"): "sa",
    ("double", "below"): "db",
    ("double", "above"): "da",
    ("enclosure", None): "en",
    ("from the fifth", None): "5th",
}
LETTERS = {"root": "R", "third": "3", "fifth": "5", "seventh": "7", "tension": "T", "outside": "O"}

BLUES = """
F7       | F2 R     A2 3     C3 5     B2 ca
Bb7      | Bb2 R    D3 3     Ab2 7    G2 sa
F7       | F2 R     G2 sb    A2 3     B2 cb
Cm7 F7   | C3 R     G2 5     F2 R     A2 3
Bb7      | Bb2 R    C3 sb    D3 3     F3 5
Bdim7    | B2 R     D3 3     F3 5     G3 sa
F7       | F3 R     Eb3 7    C3 5     Db3 cb
D7b9     | D3 R     F#3 3    A3 5     Ab3 ca
Gm7      | G3 R     F3 7     D3 5     Db3 ca
C7       | C3 R     Bb2 7    G2 5     Gb2 ca
F7 D7    | F2 R     E2 sa    D2 R     A2 5
Gm7 C7   | G2 R     Db3 ca   C3 R     G2 5
"""

MINOR_BLUES = """
Cm7      | C2 R     Bb1 7    G1 5     E1 cb
Fm7      | F1 R     G1 cb    Ab1 3    B1 cb
Cm7      | C2 R     D2 cb    Eb2 3    F2 ca
C7alt    | E2 3     Gb2 5    Db3 T    Bb2 7
Fm7      | Ab2 3    G2 da    Gb2 ca   F2 R
Fm7      | F2 R     Ab2 3    C3 5     B2 cb
Cm7      | C3 R     Bb2 7    A2 sa    G2 5
Cm7      | C2 R     C2 R     G2 5     G2 5
Ab7      | Ab2 R    Gb2 7    F2 sa    Eb2 5
G7alt    | G2 R     F2 7     D2 O     B1 3
Cm6 Ab7  | C2 R     A1 7     Ab1 R    A1 5th
Dm7b5 G7 | D2 R     F2 3     G2 R     G1 R
"""

WALTZ = """
Gmaj7    | G2 R     B2 3     D3 5
Em7      | E3 R     B2 5     Bb2 ca
Am7      | A2 R     C3 3     Eb3 ca
D7       | D3 R     F#3 3    C3 7
Bm7      | B2 R     A2 7     F2 ca
E7b9     | E2 R     F2 T     G#2 3
Am7/G    | G2 7     A2 R     E2 5
D7sus    | D2 R     G2 3     F#2 T
"""

TWO_CHORDS_A_BAR = """
Bb6 Bdim7     | Bb1 R    G1 7     B1 R     F2 5
Cm7 C#dim7    | C2 R     B1 sb    C#2 R    E2 3
Bb/D G7b9     | D2 3     F2 5     G2 R     F2 7
C7sus F7      | C2 R     F2 3     F1 R     A1 3
Ebmaj7/F Bb6  | F2 R     Eb2 R    Bb1 R    D2 3
Faug Bbmaj7   | C#2 5    B1 ca    Bb1 R    A1 7
Em7b5 A7      | E2 R     Bb1 5    A1 R     Eb2:0.5 en  C2:0.5 sb
Dm7 G7sus     | D2 R     A2 5     G2 R     C3 3
"""

SKIPS_GHOSTS_PUSHES = """
F7       | F2 R  A2:0.5 3  A2:0.5x g  C3 5  B2:0.5 ca  Bb2:1.5 R*
Bb7      | D3 3  Ab2 7  Db3:0.5 ca  Db3:0.5x g
Cm7 F7   | C3 R  G2 5  F2 R  A2:0.5 3  Bb2:2.5 R*
Bb6      | G2 7  F2 5
"""


def sign_of(note: Note) -> str:
    if note.ghost:
        return "g"
    if note.function is None:
        return "-"
    if note.approach is not None:
        assert note.function == "approach"
        sign = SIGNS[note.approach.kind, note.approach.direction]
    else:
        sign = LETTERS[note.function]
    return sign + ("*" if note.anticipation else "")


def read_case(text: str) -> tuple[str, str, list[str]]:
    """Bars, notes and labels of a case."""
    bars, notes, labels = [], [], []
    for row in text.strip().splitlines():
        symbols, _, played = row.partition("|")
        bars.append(symbols)
        words = played.split()
        notes.extend(words[::2])
        labels.extend(words[1::2])
    return "|".join(bars), " ".join(notes), labels


@pytest.mark.parametrize(
    ("text", "meter"),
    [
        pytest.param(BLUES, FOUR, id="blues"),
        pytest.param(MINOR_BLUES, FOUR, id="minor blues"),
        pytest.param(WALTZ, THREE, id="waltz"),
        pytest.param(TWO_CHORDS_A_BAR, FOUR, id="two chords a bar"),
        pytest.param(SKIPS_GHOSTS_PUSHES, FOUR, id="skips, ghosts and pushes"),
    ],
)
def test_every_label_is_the_one_written_by_hand(text, meter):
    bars, notes, expected = read_case(text)
    labels = label(notes_of(notes), chart_of(bars, meter=meter))
    words = notes.split()
    found = [f"{word} {sign_of(note)}" for word, note in zip(words, labels.notes, strict=True)]
    assert found == [f"{word} {sign}" for word, sign in zip(words, expected, strict=True)]
    assert all(landing.met for landing in labels.landings)
    assert set(labels.styles) == {"walking"}
