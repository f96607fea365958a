"""What a pitch is against a chord: function, tension, degree and name, for all twelve."""

from __future__ import annotations

import gc

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linecheck.music import chord_tones
from linecheck.music.chord_symbol import read_chord
from linecheck.music.chord_tones import degree, is_available_tension, spell, tone_function
from linecheck.music.keys import key_of_signature
from linecheck.music.pitch import pitch_class
from linecheck.terms import Key
from tests.music.test_chord_spellings import SYMBOLS


@pytest.mark.parametrize(
    ("symbol", "expected"),
    [  # from C up; "." is no tone
        ("C7", "root . . . third . . fifth . . seventh ."),
        ("Cm7b5", "root . . third . . fifth . . . seventh ."),
        ("C7alt", "root . . . third . fifth . fifth . seventh ."),
        ("C6", "root . . . third . . fifth . seventh . ."),
        ("C7sus4", "root . . . . third . fifth . . seventh ."),
        ("Csus2", "root . third . . . . fifth . . . ."),
        ("Cdim7", "root . . third . . fifth . . seventh . ."),
        ("C/D", "root . root . third . . fifth . . . ."),
        ("F7/C", "fifth . . seventh . root . . . third . ."),
        ("N.C.", ". . . . . . . . . . . ."),
    ],
)
def test_functions(symbol, expected):
    chord = read_chord(symbol)
    assert [tone_function(chord, pc) or "." for pc in range(12)] == expected.split()


@pytest.mark.parametrize(
    ("symbol", "expected"),
    [  # from C up
        ("C7", "1 b9 9 #9 3 11 #11 5 b13 13 b7 7"),
        ("Cmaj7", "1 b9 9 b3 3 11 #11 5 b13 13 b7 7"),
        ("Cm7", "1 b9 9 b3 3 11 #11 5 b13 13 b7 7"),
        ("Cm7b5", "1 b9 9 b3 3 11 b5 5 b13 13 b7 7"),
        ("Cdim7", "1 b9 9 b3 3 11 b5 5 b13 bb7 b7 7"),
        ("C7alt", "1 b9 9 #9 3 11 b5 5 #5 13 b7 7"),
        ("C7#5", "1 b9 9 #9 3 11 #11 5 #5 13 b7 7"),
        ("C6", "1 b9 9 b3 3 11 #11 5 b13 6 b7 7"),
        ("C7sus4", "1 b9 9 b3 3 4 #11 5 b13 13 b7 7"),
        ("Csus2", "1 b9 2 b3 3 11 #11 5 b13 13 b7 7"),
        ("C5", "1 b9 9 b3 3 11 #11 5 b13 13 b7 7"),
        ("C/Gb", "1 b9 9 b3 3 11 b5 5 b13 13 b7 7"),
        ("Bb7", "9 #9 3 11 #11 5 b13 13 b7 7 1 b9"),
    ],
)
def test_degrees_of_all_twelve(symbol, expected):
    chord = read_chord(symbol)
    assert [degree(chord, pc) for pc in range(12)] == expected.split()


def test_no_chord_has_no_degrees():
    chord = read_chord("N.C.")
    assert {degree(chord, pc) for pc in range(12)} == {""}
    assert not any(is_available_tension(chord, pc) for pc in range(12))


@pytest.mark.parametrize("spelling", SYMBOLS[::7])
def test_tensions_are_those_of_the_chord(spelling):
    chord = read_chord(f"G{spelling}")
    available = {pc for pc in range(12) if is_available_tension(chord, pc)}
    assert available == {t.pitch_class for t in chord.available}
    assert not available & {t.pitch_class for t in chord.tones}


@pytest.mark.parametrize(
    ("symbol", "key", "expected"),
    [  # from C up, as a copyist would write them
        ("F7", "F", "C Db D Eb E F Gb G G# A Bb B"),
        ("Bb7", "F", "C C# D Eb E F Gb G Ab A Bb B"),
        ("Am7b5", "F", "C Db D Eb E F Gb G Ab A Bb B"),
        ("D7b9", "F", "C Db D Eb E F F# G G# A Bb B"),
        ("Bdim7", "F", "C C# D Eb E F Gb G Ab A Bb B"),
        ("D7(b9,#9)", "F", "C Db D Eb E E# F# G G# A Bb B"),
        ("E7", "A", "C C# D D# E F F# G G# A A# B"),
        ("Ebdim7", "Bb", "C Db D Eb E F Gb G Ab A Bb B"),
        ("Abm7b5", "Gb", "C Db Ebb Eb E F Gb G Ab A Bb Cb"),
        ("Gb7", "Db", "C Db D Eb Fb F Gb G Ab A Bb B"),
        ("F#m7b5", "E", "C C# D D# E F F# G G# A A# B"),
        ("C7/A#", "F", "C Db D D# E F F# G Ab A A# B"),
        # a chord from outside the key: its tensions by the chord, but for a blue third
        ("C7", "A", "C Db D D# E F F# G Ab A Bb B"),
        ("F7", "G", "C Db D Eb E F Gb G G# A A# B"),
        ("Bb7", "D", "C C# D D# E F Gb G Ab A Bb B"),
        ("D7", "Eb", "C Db D Eb E F F# G G# A Bb B"),
        ("G7", "F", "C C# D Eb E F Gb G Ab A Bb B"),
        ("N.C.", "Eb", "C Db D Eb E F Gb G Ab A Bb B"),
    ],
)
def test_names(symbol, key, expected):
    chord = read_chord(symbol)
    assert [spell(chord, Key(key, minor=False), pc) for pc in range(12)] == expected.split()


def test_without_a_chord_the_key_spells():
    assert [spell(None, Key("D", minor=True), pc) for pc in (1, 3, 6, 10)] == [
        "C#",
        "Eb",
        "Gb",
        "Bb",
    ]


@given(
    st.sampled_from(["C", "F#", "Gb", "D#", "Ab", "B"]),
    st.sampled_from(SYMBOLS),
    st.integers(-7, 7),
    st.booleans(),
)
def test_every_name_is_of_its_pitch_class(root, spelling, fifths, minor):
    chord = read_chord(root + spelling)
    key = key_of_signature(fifths, minor=minor)
    for pc in range(12):
        name = spell(chord, key, pc)
        assert pitch_class(name) == pc
        asked_for = tone_function(chord, pc) is not None
        assert len(name) <= 2 or asked_for
        assert degree(chord, pc)


def test_answers_are_kept_by_chord_and_not_for_ever(monkeypatch):
    monkeypatch.setattr(chord_tones, "_MOST_CHORDS", 5)
    monkeypatch.setattr(chord_tones, "_answers", {})
    for _ in range(3):
        for root in "CDEFGAB":
            chord = read_chord.__wrapped__(f"{root}7")
            assert tone_function(chord, pitch_class(root)) == "root"
            del chord
            gc.collect()
    assert len(chord_tones._answers) <= 5
