"""Chords from MusicXML's kinds and degrees, and back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linecheck.faults import ChartFault
from linecheck.music.chord_symbol import read_chord
from linecheck.music.chord_types import ORDER
from linecheck.music.musicxml_kinds import KIND_VALUES, chord_from_musicxml, musicxml_kind
from tests.music.test_chord_spellings import SYMBOLS

# MusicXML 4.0, data type kind-value; the tones as its text gives them ("major triad", "major
# triad, minor seventh", …), the figures of the rest by the rule that stands in chord_makeup.
KINDS = {
    "major": "1 3 5",
    "minor": "1 b3 5",
    "augmented": "1 3 #5",
    "diminished": "1 b3 b5",
    "dominant": "1 3 5 b7",
    "major-seventh": "1 3 5 7",
    "minor-seventh": "1 b3 5 b7",
    "diminished-seventh": "1 b3 b5 bb7",
    "augmented-seventh": "1 3 #5 b7",
    "half-diminished": "1 b3 b5 b7",
    "major-minor": "1 b3 5 7",
    "major-sixth": "1 3 5 6",
    "minor-sixth": "1 b3 5 6",
    "dominant-ninth": "1 3 5 b7 9",
    "major-ninth": "1 3 5 7 9",
    "minor-ninth": "1 b3 5 b7 9",
    "dominant-11th": "1 3 5 b7 9 11",
    "major-11th": "1 3 5 7 9 11",
    "minor-11th": "1 b3 5 b7 9 11",
    "dominant-13th": "1 3 5 b7 9 13",
    "major-13th": "1 3 5 7 9 13",
    "minor-13th": "1 b3 5 b7 9 11 13",
    "suspended-second": "1 2 5",
    "suspended-fourth": "1 4 5",
    "Neapolitan": "1 3 5",
    "Italian": "1 3 b7",
    "French": "1 3 b5 b7",
    "German": "1 3 5 b7",
    "pedal": "1",
    "power": "1 5",
    "Tristan": "1 b3 b5 b7",
    "other": "1 3 5",
    "none": "",
}


def degrees_of(chord):
    return " ".join(t.degree for t in (*chord.tones, *chord.tensions))


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_musicxml(kind):
    own = [(3, 0, "add"), (5, 0, "add")] if kind == "other" else []
    assert degrees_of(chord_from_musicxml("Eb", kind, own)) == KINDS[kind]


def test_no_kind_is_forgotten():
    assert set(KIND_VALUES) == set(KINDS)


def test_the_kinds_of_music21():
    """Source: music21 10, harmony.CHORD_TYPES; 13ths over a major third leave out the 11th."""
    harmony = pytest.importorskip("music21.harmony")
    semitones = {"1": 0, "2": 2, "3": 4, "4": 5, "5": 7, "6": 9, "7": 11, "9": 2, "11": 5, "13": 9}
    unlike = {"dominant-13th", "major-13th"}
    checked = 0
    for kind in KINDS:
        if kind in ("Neapolitan", "Tristan", "other", "none"):
            continue  # not chords of their root there either
        written, _ = harmony.CHORD_TYPES[harmony.CHORD_ALIASES.get(kind, kind)]
        expected = {
            (semitones[d.strip("-#")] - d.count("-") + d.count("#")) % 12
            for d in written.split(",")
        }
        chord = chord_from_musicxml("C", kind)
        found = {t.pitch_class for t in (*chord.tones, *chord.tensions)}
        if kind in unlike:
            found.add(5)
        if kind == "German":
            expected = {8, 0, 3, 6}  # there spelled over the tonic too: b6 1 b3 #4
        assert found == expected, kind
        checked += 1
    assert checked == len(KINDS) - 4


@pytest.mark.parametrize(
    ("kind", "degrees", "symbol"),
    [
        ("dominant", [(5, -1, "alter")], "C7b5"),
        ("dominant", [(5, 1, "alter")], "C7#5"),
        ("dominant", [(5, -1, "add")], "C7b5"),
        ("dominant", [(9, -1, "add")], "C7b9"),
        ("dominant", [(9, 1, "add"), (5, 1, "alter")], "C7(#5,#9)"),
        ("dominant", [(9, 0, "add"), (11, 1, "add")], "C9#11"),
        ("dominant", [(5, -1, "alter"), (5, 1, "add"), (9, -1, "add"), (9, 1, "add")], "C7alt"),
        ("dominant-ninth", [(9, -1, "alter")], "C7b9"),
        ("dominant-ninth", [(9, 0, "subtract")], "C7"),
        ("dominant-13th", [(11, 1, "alter")], "C13#11"),
        ("dominant-13th", [(9, -1, "alter")], "C13b9"),
        ("dominant-13th", [(11, 0, "subtract")], "C13"),
        ("dominant", [(3, 0, "subtract"), (4, 0, "add")], "C7sus4"),
        ("dominant", [(3, 0, "subtract")], "C7no3"),
        ("dominant", [(7, 1, "alter")], "Cmaj7"),
        ("suspended-fourth", [(7, 0, "add")], "C7sus4"),
        ("suspended-fourth", [(7, -1, "add")], "C7sus4"),  # against the major scale: no bb7 there
        ("suspended-fourth", [(7, 0, "add"), (9, 0, "add")], "C9sus4"),
        ("suspended-fourth", [(7, 0, "add"), (9, -1, "add")], "C7sus4b9"),
        ("suspended-fourth", [(7, 0, "add"), (3, 0, "add")], "C7sus4add3"),
        ("suspended-fourth", [(2, 0, "add")], "Csus24"),
        ("major", [(9, 0, "add")], "Cadd9"),
        ("major", [(2, 0, "add")], "Cadd9"),
        ("major", [(6, 0, "add")], "C6"),
        ("major", [(6, 0, "add"), (9, 0, "add")], "C69"),
        ("major", [(7, 0, "add")], "C7"),
        ("major", [(7, 1, "add")], "Cmaj7"),
        ("major", [(5, -1, "alter")], "C(b5)"),
        ("major", [(3, -1, "alter")], "Cm"),
        ("major", [(3, 0, "subtract")], "Cno3"),
        ("major-sixth", [(9, 0, "add")], "C69"),
        ("major-sixth", [(7, 0, "add")], "C7add13"),
        ("major-seventh", [(5, 1, "alter")], "Cmaj7#5"),
        ("major-seventh", [(11, 1, "add")], "Cmaj7#11"),
        ("minor-seventh", [(5, -1, "alter")], "Cm7b5"),
        ("minor-seventh", [(11, 0, "add")], "Cm7add11"),
        ("minor", [(7, 1, "add")], "CmMaj7"),
        ("diminished", [(7, 1, "add")], "CmMaj7b5"),
        ("diminished", [(7, -1, "add")], "Cdim7"),
        ("diminished-seventh", [(7, 1, "add")], "Cdim7(maj7)"),
        ("power", [(9, 0, "add")], "C5add9"),
        ("power", [(7, 0, "add")], "C7no3"),
        ("other", [(3, 0, "add"), (5, 0, "add"), (7, 0, "add")], "C7"),
        ("other", [(3, 0, "add"), (7, 0, "add")], "C7no5"),
        ("major", [(1, 0, "subtract")], "C"),  # the root stays
        ("major", [(8, 0, "add")], "C"),
        ("major-sixth", [(6, 0, "subtract")], "C"),
        ("major-sixth", [(6, -1, "alter"), (7, 1, "alter")], "Cmaj7b13"),
        ("suspended-fourth", [(3, 0, "alter"), (4, 0, "subtract")], "C"),
        ("augmented-seventh", [(3, 0, "subtract"), (4, 0, "add"), (7, 0, "subtract")], "Csus4#5"),
        ("major", [(3, -1, "add")], "C(#9)"),
        ("augmented", [(5, 0, "subtract")], "Caugno5"),
        ("dominant", [(7, 0, "subtract"), (9, 0, "add")], "C9no7"),
        ("pedal", [(9, 0, "add")], "C(add9,no3,no5)"),
        ("major", [(3, 0, "subtract"), (3, -1, "add")], "Cm"),
    ],
)
def test_degrees(kind, degrees, symbol):
    chord = chord_from_musicxml("C", kind, degrees)
    assert chord.symbol == symbol
    assert read_chord(symbol) == chord


def test_root_bass_and_a_symbol_of_its_own():
    chord = chord_from_musicxml("F#", "half-diminished", (), "C", "F#ø/C")
    assert (chord.symbol, chord.root_name, chord.bass_name) == ("F#ø/C", "F#", "C")
    assert (chord.root, chord.bass) == (6, 0)


def test_an_augmented_sixth_sounds_over_the_lowered_sixth_of_its_tonic():
    german = chord_from_musicxml("C", "German")
    assert german.symbol == "Ab7"
    assert chord_from_musicxml("C", "Neapolitan").symbol == "Db/F"


@pytest.mark.parametrize(
    ("args", "message"),
    [
        (("C", "mayor"), "'mayor' is no kind of chord in MusicXML; expected one of major, minor, "),
        (("C", "other"), "a chord of the kind 'other' names no degrees"),
        (("C", "major", [(9, 0, "plus")]), "'plus' is no type of degree"),
        (("C", "major", [(11, -1, "add")]), "the degree b11 is in no chord that can be read"),
        (("C", "major", [(14, 0, "add")]), "the degree 14 is in no chord"),
        (("C", "major", [(3, 0, "add")]), "the degree 3 is in no chord"),
        (("C", "dominant", [(7, -1, "alter")]), "the degree bb7 is in no chord but a diminished"),
        (("C", "major", [(5, -1, "alter"), (5, 0, "subtract")]), "the fifth is both altered and"),
        (("C", "major-sixth", [(7, 1, "add"), (7, 0, "add")]), "the chord has two sevenths"),
        (("H", "major"), "'H' is no pitch name"),
        (("C", "major", [], "e"), "'e' is no pitch name"),
    ],
)
def test_what_is_no_harmony_is_refused(args, message):
    with pytest.raises(ChartFault, match=f"^{message}"):
        chord_from_musicxml(*args)


def sound(chord):
    return chord.root, chord.bass, chord.tones, chord.tensions, chord.available, chord.kind


@given(
    st.sampled_from(["C", "F#", "Bb", "Eb"]), st.sampled_from(SYMBOLS), st.sampled_from("CDEFGAB")
)
def test_kind_and_degrees_give_the_chord_back(root, spelling, bass):
    tail = "" if "/" in spelling[-2:] or spelling.startswith(":") else f"/{bass}"
    chord = read_chord(root + spelling + tail)
    kind, degrees = musicxml_kind(chord)
    assert kind in KIND_VALUES
    again = chord_from_musicxml(chord.root_name, kind, degrees, chord.bass_name)
    assert sound(again) == sound(chord)


def test_a_tone_left_out_is_subtracted():
    assert musicxml_kind(read_chord("C9no7")) == ("dominant-ninth", ((7, 0, "subtract"),))
    assert musicxml_kind(read_chord("Cm7no5")) == ("minor-seventh", ((5, 0, "subtract"),))


def test_no_chord_has_the_kind_none():
    assert musicxml_kind(read_chord("N.C.")) == ("none", ())
    assert chord_from_musicxml("", "none").root is None


@given(
    st.sampled_from(KIND_VALUES),
    st.lists(
        st.tuples(
            st.integers(-1, 15), st.integers(-3, 3), st.sampled_from(["add", "alter", "subtract"])
        ),
        max_size=4,
    ),
)
def test_any_degrees_are_read_or_refused(kind, degrees):
    try:
        chord = chord_from_musicxml("D", kind, degrees)
    except ChartFault:
        return
    assert {t.degree for t in chord.tensions} <= set(ORDER)
    if chord.root is not None:  # and the symbol that was written for it can be read
        assert read_chord(chord.symbol).tones == chord.tones
