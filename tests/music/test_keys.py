"""Keys: their names, their signatures, and spelling by the key."""

from __future__ import annotations

import pytest

from linecheck.faults import ChartFault
from linecheck.music.keys import key_of_signature, names_in_key, read_key, signature
from linecheck.terms import Key


@pytest.mark.parametrize(
    ("text", "tonic", "minor"),
    [
        ("F", "F", False),
        ("Dm", "D", True),
        ("Bb", "Bb", False),
        ("B♭", "Bb", False),
        ("F#m", "F#", True),
        ("F♯ minor", "F#", True),
        ("Eb major", "Eb", False),
        ("C min", "C", True),
        ("CM", "C", False),
        ("A-", "A", True),
        (" G ", "G", False),
        ("D Minor", "D", True),
        ("Cmaj", "C", False),
    ],
)
def test_names_of_keys(text, tonic, minor):
    assert read_key(text) == Key(tonic, minor)


@pytest.mark.parametrize(
    "text", ["", "H", "f", "F7", "Fmm", "major", "F minorr", "Bbb", "C dorian"]
)
def test_what_is_no_key(text):
    with pytest.raises(ChartFault, match="is no key; expected a tonic such as 'Bb', or 'Dm'"):
        read_key(text)


@pytest.mark.parametrize(
    ("text", "ending"),
    [
        ("H", "; nearest reading 'B' (H is B in German, where B is Bb)"),
        ("h-moll", "; nearest reading 'Bm' (H is B in German"),
        ("Es", "; nearest reading 'Eb' (Es is Eb in German and Dutch; in German, B is Bb)"),
        ("fis-Moll", "; nearest reading 'F#m' (Fis is F# in German"),
        ("Bes", "; nearest reading 'Bb' (Bes is Bb in Dutch)"),
        ("c-moll", "; nearest reading 'Cm'"),
        ("F-Dur", "; nearest reading 'F'"),
        ("B-Dur", "; nearest reading 'Bb'"),
        ("d minor", "; nearest reading 'Dm'"),
        ("c", "; nearest reading 'C' or 'Cm'"),
        ("Gis-Dur", ""),
        ("F7", ""),
    ],
)
def test_the_nearest_key_is_named(text, ending):
    with pytest.raises(ChartFault) as caught:
        read_key(text)
    after = str(caught.value).partition("'Dm' for minor")[2]
    assert after.startswith(ending)
    assert bool(after) == bool(ending)


@pytest.mark.parametrize("text", ["G#", "D#", "Fb", "Dbm", "Gbm", "B#m"])
def test_keys_of_more_than_seven_signs(text):
    with pytest.raises(ChartFault, match="is a key of more than seven sharps or flats"):
        read_key(text)


# The thirty key signatures of common practice, as in SMF 1.0's key signature event (sf, mi).
MAJOR = "Cb Gb Db Ab Eb Bb F C G D A E B F# C#"
MINOR = "Ab Eb Bb F C G D A E B F# C# G# D# A#"


@pytest.mark.parametrize("fifths", range(-7, 8))
def test_signatures(fifths):
    for names, minor in ((MAJOR, False), (MINOR, True)):
        key = Key(names.split()[fifths + 7], minor)
        assert signature(key) == fifths
        assert key_of_signature(fifths, minor=minor) == key
        assert read_key(key.tonic + ("m" if minor else "")) == key


@pytest.mark.parametrize(
    ("key", "names"),
    [
        ("C", "C C# D Eb E F F# G G# A Bb B"),
        ("F", "C Db D Eb E F Gb G Ab A Bb B"),
        ("D", "C C# D D# E F F# G G# A A# B"),
        ("Gb", "C Db D Eb E F Gb G Ab A Bb Cb"),
        ("F#", "C C# D D# E E# F# G G# A A# B"),
        ("Am", "C C# D Eb E F F# G G# A Bb B"),
        ("Dm", "C C# D Eb E F Gb G Ab A Bb B"),
        ("Gm", "C Db D Eb E F F# G Ab A Bb B"),
        ("Ebm", "C Db D Eb E F Gb G Ab A Bb Cb"),
    ],
)
def test_names_in_a_key(key, names):
    assert names_in_key(read_key(key)) == tuple(names.split())
