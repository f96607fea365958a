"""Every spelling of ``chord_spellings.txt`` gives the tones and tensions that stand beside it."""

from __future__ import annotations

from itertools import chain
from pathlib import Path

import pytest

from linecheck.music.chord_symbol import read_chord

SEMITONES = {  # half steps over the root; written out here so that nothing is shared with the reader
    "2": 2, "b3": 3, "3": 4, "4": 5, "b5": 6, "5": 7, "#5": 8, "6": 9, "bb7": 9, "b7": 10, "7": 11,
    "b9": 1, "9": 2, "#9": 3, "11": 5, "#11": 6, "b13": 8, "13": 9,
}  # fmt: skip
ROOTS = {
    "C": 0, "C#": 1, "Db": 1, "D": 2, "Eb": 3, "D#": 3, "E": 4, "Fb": 4, "F": 5, "F#": 6, "Gb": 6,
    "G": 7, "G#": 8, "Ab": 8, "A": 9, "Bb": 10, "A#": 10, "B": 11, "Cb": 11, "B#": 0, "Bbb": 9,
    "F##": 7, "B♭": 10, "F♯": 6,
}  # fmt: skip
FUNCTIONS = ("third", "fifth", "seventh")


def rows():
    """(tones by function, tensions, spellings) of each line of the table."""
    text = Path(__file__).with_name("chord_spellings.txt").read_text(encoding="utf-8")
    for written in text.splitlines():
        line = written.partition("!")[0].strip()
        if not line or line.startswith("# ") or line == "#":
            continue
        tones, tensions, spellings = (part.strip() for part in line.split(" | "))
        by_function = {
            function: () if degree == "." else tuple(degree.split("+"))
            for function, degree in zip(FUNCTIONS, tones.split(), strict=True)
        }
        # "~" is the root alone; "7(b9 b13)" holds a blank
        joined = spellings.replace("(b9 b13)", "(b9\0b13)").split()
        named = () if tensions == "." else tuple(tensions.split())
        yield by_function, named, [s.replace("\0", " ").replace("~", "") for s in joined]


ROWS = list(rows())
SYMBOLS = [s for _, _, spellings in ROWS for s in spellings]


def test_the_table_is_large_and_names_nothing_twice():
    assert len(SYMBOLS) > 600
    assert len(SYMBOLS) == len(set(SYMBOLS))


@pytest.mark.parametrize(
    ("tones", "tensions", "spellings"), ROWS, ids=[" ".join(r[2][:2]) or "root" for r in ROWS]
)
def test_spellings(tones, tensions, spellings):
    wrong = []
    for root_name, root in ROOTS.items():
        for spelling in spellings:
            if root_name.endswith(("bb", "##")) and spelling.startswith(("5", "9", "11", "13")):
                continue  # E double flat or (b9)? refused, see the test of doubtful symbols
            chord = read_chord(root_name + spelling)
            found = {
                function: tuple(
                    (t.degree, (t.pitch_class - root) % 12)
                    for t in chord.tones
                    if t.function == function
                )
                for function in FUNCTIONS
            }
            expected = {f: tuple((d, SEMITONES[d]) for d in tones[f]) for f in FUNCTIONS}
            named = [(t.degree, (t.pitch_class - root) % 12) for t in chord.tensions]
            same = (
                found == expected
                and sorted(named) == sorted((d, SEMITONES[d]) for d in tensions)
                and chord.tones[0].function == "root"
                and chord.tones[0].pitch_class == chord.root == root
                and chord.symbol == root_name + spelling
            )
            if not same:
                wrong.append((chord.symbol, found, named))
    assert wrong == []


BASSES = ["C", "Eb", "F#", "B♭", "Ab", "G"]


WITHOUT_BASS = [s for s in SYMBOLS if "/" not in s[-2:] and ":" not in s]


@pytest.mark.parametrize("spelling", WITHOUT_BASS[::5])
def test_a_slash_bass_changes_no_other_tone(spelling):
    plain = read_chord("D" + spelling)
    for bass in BASSES:
        chord = read_chord(f"D{spelling}/{bass}")
        pc = ROOTS[bass]
        member = pc in {t.pitch_class for t in plain.tones}
        added = [t for t in chord.tones if t not in plain.tones]
        assert chord.bass == pc
        assert chord.bass_name == bass.replace("♭", "b")
        assert chord.tensions == plain.tensions
        assert [(t.pitch_class, t.function) for t in added] == ([] if member else [(pc, "root")])
        used = {t.pitch_class for t in chord.available}
        assert used == {t.pitch_class for t in plain.available} - {pc}


def test_every_tone_and_tension_is_there_once():
    for symbol in SYMBOLS:
        chord = read_chord(f"A{symbol}")
        tones = [t.pitch_class for t in chord.tones]
        assert len(tones) == len(set(tones)), symbol
        for tensions in (chord.tensions, chord.available):
            pcs = [t.pitch_class for t in tensions]
            assert len(pcs) == len(set(pcs)), symbol
            assert not set(pcs) & set(tones), symbol
        assert set(chord.tensions) <= set(chord.available), symbol
        degrees = [t.degree for t in chain(chord.tones, chord.available)]
        assert len(degrees) == len(set(degrees)), symbol
