"""A chart in another key: the same chords as far from the tonic, with names that a player expects."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21.interval import Interval
from music21.note import Note

from linecheck.faults import ChartFault, OptionFault
from linecheck.music.chord_symbol import read_chord
from linecheck.music.keys import key_moved, key_text, read_key, signature
from linecheck.music.other_key import in_key, key_in_title, named_key
from linecheck.music.pitch import pitch_class
from linecheck.read import read_chart
from linecheck.read.chart_toml import parse_chart_toml
from tests.music.test_chord_spellings import SYMBOLS

CHARTS = [
    read_chart(path)
    for path in sorted((Path(__file__).parents[2] / "demo_tunes" / "charts").iterdir())
]
MAJOR = ["C", "Db", "D", "Eb", "E", "F", "F#", "Gb", "G", "Ab", "A", "Bb", "B", "C#", "Cb"]
MINOR = ["C", "C#", "D", "Eb", "E", "F", "F#", "G", "G#", "Ab", "A", "Bb", "B", "D#", "A#"]


def chart_of(*symbols, key="C"):
    bars = " | ".join(symbols)
    text = f'title = "Made up"\nkey = "{key}"\nform = ["A"]\n[sections]\nA = "| {bars} |"\n'
    return parse_chart_toml(text, "made_up.toml")


def symbols_of(chart):
    return [placed.chord.symbol for bar in chart.bars for placed in bar.chords]


def chords_of(chart):
    return [
        (bar.number, placed.step, placed.steps, placed.chord)
        for bars in (chart.intro, chart.bars, chart.ending)
        for bar in bars
        for placed in bar.chords
    ]


def asked_of(chord, tonic):
    """What a chord asks of a line, counted from the tonic."""
    if chord.root is None:
        return None
    return (
        (chord.root - tonic) % 12,
        (chord.bass - tonic) % 12,
        chord.kind,
        [(t.degree, t.function, (t.pitch_class - tonic) % 12) for t in chord.tones],
        [(t.degree, (t.pitch_class - tonic) % 12) for t in chord.tensions],
        [(t.degree, (t.pitch_class - tonic) % 12) for t in chord.available],
    )


@pytest.mark.parametrize("chart", CHARTS, ids=lambda chart: chart.source.rpartition("/")[2])
def test_every_chord_is_as_far_from_the_tonic_in_every_key(chart):
    old = pitch_class(chart.key.tonic)
    for tonic in MINOR if chart.key.minor else MAJOR:
        moved = in_key(chart, tonic)
        assert moved.key.tonic == tonic
        new = pitch_class(tonic)
        assert [(*place, asked_of(chord, new)) for *place, chord in chords_of(moved)] == [
            (*place, asked_of(chord, old)) for *place, chord in chords_of(chart)
        ]


@given(spelling=st.sampled_from(SYMBOLS), old=st.sampled_from(MAJOR), new=st.sampled_from(MAJOR))
def test_every_spelling_of_a_chord_keeps_what_it_asks(spelling, old, new):
    symbol = f"{old}{spelling}"
    if " " in symbol:
        symbol = symbol.replace(" ", "")
    before = chart_of(symbol, key=old)
    after = in_key(before, new)
    (one,), (two,) = (
        [placed.chord for b in c.bars for placed in b.chords] for c in (before, after)
    )
    assert asked_of(two, pitch_class(new)) == asked_of(one, pitch_class(old))


@pytest.mark.parametrize("new", MAJOR)
@pytest.mark.parametrize("old", ["C", "F", "Eb", "A"])
def test_roots_are_spelled_as_a_transposed_part_has_them(old, new):
    """Against music21's transposition by the interval between the tonics (reference library)."""
    roots = ["C", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"]
    by = Interval(Note(old.replace("b", "-") + "4"), Note(new.replace("b", "-") + "4"))
    moved = symbols_of(in_key(chart_of(*(f"{root}7" for root in roots), key=old), new))
    for root, symbol in zip(roots, moved, strict=True):
        name = Note(root.replace("b", "-") + "4").transpose(by).name.replace("-", "b")
        found = symbol.removesuffix("7")
        assert pitch_class(found) == pitch_class(name)
        if len(name) < 3 and name not in ("E#", "B#", "Cb", "Fb"):
            assert found == name
        assert len(found) < 3


@pytest.mark.parametrize(
    ("symbols", "old", "new", "moved"),
    [
        ("Bb7 Bdim7 F7/C D7b9", "F", "E", "A7 A#dim7 E7/B C#7b9"),
        ("B♭maj7 Ebm6 C7(b9,b13)", "Bb", "G", "Gmaj7 Cm6 A7(b9,b13)"),
        ("C6/9 G7/F F:maj7/3 N.C.", "C", "Db", "Db6/9 Ab7/Gb Gb:maj7/3 N.C."),
        ("Cm/maj7 Fm7/Bb", "Cm", "F#", "F#m/maj7 Bm7/E"),
        ("F7 B7", "C", "Gb", "Cb7 F7"),  # Cb is in the scale of Gb; what would be F is F
    ],
)
def test_symbols_as_they_are_moved(symbols, old, new, moved):
    assert symbols_of(in_key(chart_of(*symbols.split(), key=old), new)) == moved.split()


def test_the_chart_says_that_it_was_moved_and_is_itself_in_its_own_key():
    chart = chart_of("F7", key="F")
    assert in_key(chart, "F") is chart
    assert in_key(chart, "Bb").warnings == ("the chart is in F and is read in Bb",)
    assert in_key(chart, "Bb").title == "Made up in Bb"
    there_and_back = in_key(in_key(chart, "Bb"), "F")
    assert chords_of(there_and_back) == chords_of(chart)


def test_minor_may_be_said_or_left_out_and_major_is_not_minor():
    chart = chart_of("Cm6", "Fm7", key="Cm")
    assert in_key(chart, "Dm").bars == in_key(chart, "D").bars
    assert key_text(in_key(chart, "Db").key) == "C#m"  # D flat minor has eight flats
    assert key_text(in_key(chart, "G#").key) == "G#m"
    assert key_text(in_key(chart_of("C7"), "G#").key) == "Ab"  # G sharp major has eight sharps
    with pytest.raises(OptionFault, match="key is Dm, and the chart is in F, major; name a key of"):
        in_key(chart_of("F7", key="F"), "Dm")


@pytest.mark.parametrize("key", ["E major", "EM", "E maj"])
def test_a_chart_in_minor_is_read_in_no_major_key(key):
    with pytest.raises(
        OptionFault, match="and the chart is in Cm, minor; name a key of the same mode"
    ):
        in_key(chart_of("Cm6", key="Cm"), key)


def test_what_the_title_says_of_the_key_is_told_apart():
    assert key_in_title(in_key(chart_of("Cm6", key="Cm"), "Bb").title) == " in Bbm"
    assert key_in_title("Walking in Rain") == ""


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("H", "key: 'H' is no key; expected a tonic such as 'Bb', or 'Dm' for minor"),
        ("", "key: '' is no key"),
        ("Dbm", "key: 'Dbm' is a key of more than seven sharps or flats; write 'C#m'"),
        (3, "key is 3; expected a tonic"),
    ],
)
def test_what_is_no_key(key, said):
    for reads in (named_key, lambda key: read_chart(CHARTS[0].source, key=key)):
        with pytest.raises(OptionFault) as stop:
            reads(key)
        assert said in str(stop.value)


@given(
    key=st.sampled_from([*MAJOR, *(f"{tonic}m" for tonic in MINOR)]),
    half_steps=st.integers(-12, 12),
)
def test_a_key_moved_is_a_key_that_sounds_so_much_higher(key, half_steps):
    old = read_key(key)
    new = key_moved(old, half_steps)
    assert (pitch_class(new.tonic) - pitch_class(old.tonic) - half_steps) % 12 == 0
    assert new.minor == old.minor
    assert abs(signature(new)) <= 6


def test_a_key_with_too_many_signs_names_the_one_that_sounds_the_same():
    with pytest.raises(ChartFault, match="write 'C#m', which sounds the same"):
        read_key("Dbm")
    assert read_chord("C7").root == 0
