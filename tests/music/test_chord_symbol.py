"""The reader of chord symbols: traps, refusals, outside references, and what holds of all."""

from __future__ import annotations

import re

import mir_eval
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linecheck.faults import ChartFault
from linecheck.music.chord_makeup import write_symbol
from linecheck.music.chord_slips import MOST_CHARACTERS
from linecheck.music.chord_symbol import read_chord
from linecheck.music.chord_types import CHORD_TYPES
from linecheck.music.musicxml_kinds import makeup_of
from tests.music.test_chord_spellings import SYMBOLS


def degrees(chord):
    return " ".join(t.degree for t in chord.tones), " ".join(t.degree for t in chord.tensions)


# ---- traps -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("symbol", "root", "tones", "tensions"),
    [
        ("Bb7", "Bb", "1 3 5 b7", ""),  # on B flat, and not B with a lowered 7th
        ("B-7", "B", "1 b3 5 b7", ""),  # B minor 7, and not B flat 7
        ("C-7", "C", "1 b3 5 b7", ""),
        ("Bb-7", "Bb", "1 b3 5 b7", ""),
        ("C13b9", "C", "1 3 5 b7", "b9 13"),
        ("Ab9", "Ab", "1 3 5 b7", "9"),
        ("A(b9)", "A", "1 3 5", "b9"),
        ("A b9", "A", "1 3 5", "b9"),
        ("Cb5", "Cb", "1 5", ""),
        ("C(b5)", "C", "1 3 b5", ""),
        ("C#9", "C#", "1 3 5 b7", "9"),
        ("C-9", "C", "1 b3 5 b7", "9"),
        ("C7-9", "C", "1 3 5 b7", "b9"),
        ("CM7", "C", "1 3 5 7", ""),
        ("Cm7", "C", "1 b3 5 b7", ""),
        ("CMI7", "C", "1 b3 5 b7", ""),
        ("CMA7", "C", "1 3 5 7", ""),
        ("Edim", "E", "1 b3 b5", ""),
        ("Ebdim", "Eb", "1 b3 b5", ""),
        ("Bdim7", "B", "1 b3 b5 bb7", ""),
        ("Dsus", "D", "1 4 5", ""),
        ("Gaug", "G", "1 3 #5", ""),
        ("Aaug", "A", "1 3 #5", ""),
        ("Balt", "B", "1 3 b5 #5 b7", "b9 #9"),
        ("Abalt", "Ab", "1 3 b5 #5 b7", "b9 #9"),
        ("Badd9", "B", "1 3 5", "9"),
        ("Ddom7", "D", "1 3 5 b7", ""),
        ("Cmadd9", "C", "1 b3 5", "9"),
        ("CMadd9", "C", "1 3 5", "9"),
        ("Do7", "D", "1 b3 b5 bb7", ""),
        ("E+7#9", "E", "1 3 #5 b7", "#9"),
        ("Fm6", "F", "1 b3 5 6", ""),
        ("Fmi6", "F", "1 b3 5 6", ""),
        ("Dbmaj7#5", "Db", "1 3 #5 7", ""),
        ("Bbb7", "Bbb", "1 3 5 b7", ""),
        ("F𝄪7", "F##", "1 3 5 b7", ""),
        ("Fx7", "F##", "1 3 5 b7", ""),
        ("A♮7", "A", "1 3 5 b7", ""),
        ("  F7 ", "F", "1 3 5 b7", ""),
    ],
)
def test_traps(symbol, root, tones, tensions):
    chord = read_chord(symbol)
    assert (chord.root_name, *degrees(chord)) == (root, tones, tensions)
    assert chord.symbol == symbol.strip()


@pytest.mark.parametrize(
    ("symbol", "bass_name", "tones"),
    [
        ("F7/C", "C", "1 3 5 b7"),
        ("C/E", "E", "1 3 5"),
        ("C6/9/G", "G", "1 3 5 6"),
        ("C6/9", "C", "1 3 5 6"),
        ("C6/A", "A", "1 3 5 6"),
        ("Am7b5/Eb", "Eb", "1 b3 b5 b7"),
        ("Bb7/Ab", "Ab", "1 3 5 b7"),
        ("C7/A#", "A#", "1 3 5 b7"),  # B flat by another name is the seventh
        ("Am/maj7", "A", "1 b3 5 7"),
        ("Am/maj7/G#", "G#", "1 b3 5 7"),
        ("C/C", "C", "1 3 5"),
        ("F/G", "G", "1 3 5 9"),
        ("C/Bb", "Bb", "1 3 5 b7"),
        ("C/D", "D", "1 3 5 9"),
        ("C/F#", "F#", "1 3 5 #11"),
        ("C/Gb", "Gb", "1 3 5 b5"),
        ("C/A", "A", "1 3 5 13"),
        ("Cm/Ab", "Ab", "1 b3 5 b13"),
        ("C:maj/3", "E", "1 3 5"),
        ("Bb:min7/b7", "Ab", "1 b3 5 b7"),
        ("C:maj6/9", None, None),
    ],
)
def test_slash_bass(symbol, bass_name, tones):
    if bass_name is None:
        with pytest.raises(ChartFault, match="cannot read"):
            read_chord(symbol)
        return
    chord = read_chord(symbol)
    assert chord.bass_name == bass_name
    assert degrees(chord)[0] == tones


def test_a_bass_that_is_no_chord_member_counts_as_root():
    chord = read_chord("F/G")
    assert [(t.degree, t.function) for t in chord.tones] == [
        ("1", "root"),
        ("3", "third"),
        ("5", "fifth"),
        ("9", "root"),
    ]
    assert (chord.root, chord.bass) == (5, 7)
    assert "9" not in [t.degree for t in chord.available]


@pytest.mark.parametrize(
    "text", ["N.C.", "NC", "N.C", "n.c.", "nc", "N", "No chord", "N. C.", "(N.C.)"]
)
def test_no_chord(text):
    chord = read_chord(text)
    assert (chord.root, chord.bass, chord.tones, chord.tensions, chord.available) == (
        None,
        None,
        (),
        (),
        (),
    )
    assert (chord.symbol, chord.kind) == (text, "none")


# ---- refusals --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("symbol", "message"),
    [
        ("C[]X", "'C[]X': cannot read ']X' after 'C['; nearest reading 'C'"),
        ("Cmaj77", "'Cmaj77': cannot read '7' after 'Cmaj7'; nearest reading 'Cmaj7'"),
        ("Cmja7", "'Cmja7': cannot read 'a7' after 'Cmj'; nearest reading 'Cmaj7'"),
        ("C07", "'C07': cannot read '07' after 'C'; nearest reading 'Co7'"),
        ("H7", "'H7': H is B in German, where B is Bb; nearest reading 'B7'"),
        ("Hm7b5", "'Hm7b5': H is B in German, where B is Bb; nearest reading 'Bm7b5'"),
        ("C/H", "'C/H': H is B in German, where B is Bb; nearest reading 'C/B'"),
        ("As7", "'As7': As is Ab in German and Dutch; in German, B is Bb; nearest reading 'Ab7'"),
        ("Es", "'Es': Es is Eb in German and Dutch; in German, B is Bb; nearest reading 'Eb'"),
        ("es7", "'es7': Es is Eb in German and Dutch; in German, B is Bb; nearest reading 'Eb7'"),
        ("Es/B", "'Es/B': Es is Eb in German and Dutch; in German, B is Bb; nearest reading 'Eb/B'"),
        ("Gesmaj7", "'Gesmaj7': Ges is Gb in German and Dutch; in German, B is Bb; nearest reading 'Gbmaj7'"),
        ("Fis7/Ais", "'Fis7/Ais': Fis is F# and Ais is A# in German and Dutch; in German, B is Bb; nearest reading 'F#7/A#'"),
        ("Es7x", "'Es7x': Es is Eb in German and Dutch; in German, B is Bb; nearest reading 'Eb7'"),
        ("Bes7", "'Bes7': Bes is Bb in Dutch; nearest reading 'Bb7'"),
        ("B7b", "'B7b': cannot read 'b' after 'B7'; nearest reading 'Bb7'"),
        ("♭B7", "'♭B7': a chord symbol begins with its root, A to G, not with 'b'; nearest reading 'Bb7'"),
        ("Bm7b", "'Bm7b': cannot read 'b' after 'Bm7'; nearest reading 'Bm7b5'"),
        ("Fmaj7#", "'Fmaj7#': cannot read '#' after 'Fmaj7'; nearest reading 'Fmaj7#11'"),
        ("c7", "'c7': a chord symbol begins with its root, A to G, not with 'c'; nearest reading 'C7'"),
        ("bb7", "'bb7': a chord symbol begins with its root, A to G, not with 'b'; nearest reading 'Bb7'"),
        ("C7/b9", "'C7/b9': after 'C7/' a bass note, A to G, was expected, not 'b9'; nearest reading 'C7b9'"),
        ("C/e", "'C/e': after 'C/' a bass note, A to G, was expected, not 'e'; nearest reading 'C/E'"),
        ("C/", "'C/': something is missing after 'C/'; nearest reading 'C'"),
        ("F/G7", "'F/G7': cannot read '7' after 'F/G'; nearest reading 'F/G'"),
        ("C9b9", "'C9b9' names both 9 and b9; nearest reading 'C7b9'"),
        ("C13b13", "'C13b13' names both 13 and b13; nearest reading 'C7b13'"),
        ("C7b9b9", "'C7b9b9' names b9 twice"),
        ("C7(b9", "'C7(b9' has a bracket that is not closed; nearest reading 'C7(b9)'"),
        ("Cadd(9", "'Cadd(9' has a bracket that is not closed; nearest reading 'Cadd(9)'"),
        ("C7b9)", "'C7b9)': cannot read ')' after 'C7b9'; nearest reading 'C7b9'"),
        ("Cb#7", "'Cb#7': cannot read 'b#7' after 'C'"),
        ("Cbbb", "'Cbbb': cannot read 'bbb' after 'C'"),
        ("Csus#4", "'Csus#4': cannot read 'sus#4' after 'C'; nearest reading 'Csus4'"),
        ("C++", "'C++': cannot read '+' after 'C+'; nearest reading 'C+'"),
        ("C5b5", "'C5b5' is a power chord, which has no 6th, no 7th and no altered fifth"),
        ("C(no9)", "'C(no9)' has no 9 to leave out"),
        ("C7sus(no4)", "'C7sus(no4)': cannot read 'no4)' after 'C7sus('"),
        ("Cmj7", "'Cmj7' is read in two ways; write 'Cmaj7' or 'CmMaj7'"),
        ("Cm+7", "'Cm+7' is read in two ways; write 'Cm7#5' or 'CmMaj7'"),
        ("C-5", "'C-5' is read in two ways; write 'Cm' or 'C(b5)'"),
        ("C7(4)", "'C7(4)' is read in two ways; write sus4 or add11 for its 4"),
        ("F#+11", "'F#+11' is read in two ways; write 'F#(#11)' or 'F#11#5'"),
        ("Ebb9", "'Ebb9' is read in two ways; write 'Ebbdom9' or 'Eb(b9)'"),
        ("Bbb5", "'Bbb5' is read in two ways; write 'Bbb(no3)' or 'Bb(b5)'"),
        ("F##11", "'F##11' is read in two ways; write 'F##dom11' or 'F#(#11)'"),
        ("", "a chord symbol was expected and nothing was read"),
        ("%", "'%': a chord symbol begins with its root, A to G, not with '%'"),
        ("foo", "'foo': a chord symbol begins with its root, A to G, not with 'f'"),
        ("(D7)", "'(D7)': a chord symbol begins with its root, A to G, not with '('; nearest reading 'D7'"),
        ("C7\nG7", "'C7\\nG7': cannot read '\\nG7' after 'C7'; nearest reading 'C7'"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_refused_with_the_nearest_reading(symbol, message):
    with pytest.raises(ChartFault) as caught:
        read_chord(symbol)
    text = str(caught.value)
    assert text.startswith(message)
    assert "two ways" not in text or "nearest" not in text
    if "nearest" not in message and "nearest" in text:  # another one is given: it can be read
        read_chord(re.search(r"nearest reading '(.*)'$", text)[1])


NO_SYMBOLS = """
C7m C7min C7- C7b Cb7b C#7# C7sussus Cdimsus4 Cø5 Cm5 Cdim5 Cmaj2 Cm4 Cmaj4 C10 C12 C8 C3 C1 C711 C79
C713 Cmaj79 C77 Cmaj6maj7 C7b57 Cm7b56 C7b11 C7#13 C7b3 C7b1 C7bb9 C7##9 C7#b9 C/3 C/9 C7/9 C7/13 C7/4
C9/6 C6/7 C7altsus C9alt Cm7alt Cmaj7alt Calt9 Calt(13) Cdim7#5 Caug(b5) C+b5 C(7) Cadd7 Cadd Cadd3
C7(add3) C7add(9 Cno C(no1) C7omit Cno4 C( C() C7() C7(,b9) C7(b9,) C7(b9,,b13) C7((b9)) C7,b9 C7b9, C|
C. C: C:: C:/3 C:foo C7: Cm7:min X Xm7 R/C 7 m7 /C C//E C/E/G C\\E Cfoo Cmaug Cdomm7 Dom7 Re Mi Fa Sol
La Si Am/g C7/e♭ C7sus5 C7sus3 Csus13b9sus Cpedal7 C:maj/b C5no5no5 Cm7maj9 Cmaj7maj7 Cmajmaj7 CΔ6 Cø6 Cdim6
C+6 C7b9#9b9 C11#11 C13b13 Cmaj9b9 C69b9 N.C.7 NCm Cj CJ CmM Cm(maj) C7Δ9 Cbsus4b C2(9) C(b5,no5) C9add9 C6add6 C7b99 C6#99 C7b5b5 C7#5+5
"""


@pytest.mark.parametrize("symbol", NO_SYMBOLS.split())
def test_more_that_is_no_chord_symbol(symbol):
    with pytest.raises(
        ChartFault, match=re.escape(repr(symbol)) + "(: | is | has | names | alters )"
    ):
        read_chord(symbol)


def test_a_very_long_symbol_is_refused_at_once_and_shown_short():
    with pytest.raises(
        ChartFault, match=rf"C7{'b' * (MOST_CHARACTERS - 2)}…' is longer than"
    ) as it:
        read_chord("C7" + "b" * 100_000)
    assert len(str(it.value)) < 200


# ---- outside references ----------------------------------------------------------------------


def pitch_classes(chord):
    return {(t.pitch_class - chord.root) % 12 for t in (*chord.tones, *chord.tensions)}


@pytest.mark.parametrize("quality", sorted(set(mir_eval.chord.QUALITIES) - {""}))
def test_the_shorthands_of_mir_eval(quality):
    """Source: mir_eval 0.8, chord.QUALITIES and EXTENDED_QUALITY_REDUX (after Harte 2010)."""
    plain, extensions = mir_eval.chord.reduce_extended_quality(quality)
    bitmap = mir_eval.chord.quality_to_bitmap(plain)
    expected = {pc for pc, on in enumerate(bitmap) if on}
    expected |= {mir_eval.chord.scale_degree_to_semitone(d) % 12 for d in extensions}
    if quality in ("13", "maj13"):
        expected.remove(5)  # common practice: a 13th over a major third has no 11th
    assert pitch_classes(read_chord(f"Eb:{quality}")) == expected


LABELS = """C:maj7(9) C:min7(11) C:7(#9) C:7(b9,13) C:hdim7(11) C:min(7) C:maj(9) C:sus4(b7,9) C:min7(*5,11)
    C:7(*5,b13) C:maj/3 C:min7/b7 F#:maj/5 A:sus4(9) Bb:aug(b7) G:dim7(b13) D:maj7(*3) C:min(9)
    C:maj6(9) C:min6(9) E:7(#9)/b7"""


@pytest.mark.parametrize("label", LABELS.split())
def test_labels_that_mir_eval_reads_too(label):
    """Source: mir_eval 0.8, chord.encode: the same pitch classes and the same bass."""
    root, bitmap, bass = mir_eval.chord.encode(label, reduce_extended_chords=True)
    chord = read_chord(label)
    expected = {(i - 0) % 12 for i, on in enumerate(bitmap) if on}
    named = set(mir_eval.chord.split(label)[2])
    expected |= {
        mir_eval.chord.scale_degree_to_semitone(d) % 12 for d in named if not d.startswith("*")
    }
    assert chord.root == root
    assert (chord.bass - chord.root) % 12 == bass
    assert pitch_classes(chord) == expected


def test_every_type_of_the_table_is_reached_by_its_plain_spelling():
    for row in CHORD_TYPES:
        chord = read_chord(f"C{row.suffix}")
        by_function = {
            f: tuple(t.degree for t in chord.tones if t.function == f)
            for f in ("third", "fifth", "seventh")
        }
        assert chord.kind == row.kind
        assert by_function["third"] == row.thirds
        assert by_function["fifth"] == row.fifths
        assert by_function["seventh"] == ((row.seventh,) if row.seventh else ())


# The table of available tensions in the definition, row by row.
@pytest.mark.parametrize(
    ("symbols", "available"),
    [
        ("C Cmaj7", "9 #11 13"),
        ("Cmaj9 Cmaj7#11 Cmaj13#11", "9 #11 13"),
        ("C6 C69", "9 #11 7"),
        ("Cm Cm7 Cm(maj7) Cm9 Cm11 Cm13", "9 11 13"),
        ("Cm6 Cm69", "9 11 7"),
        ("C7 C9 C13 C9#11", "9 b9 #9 #11 13 b13"),
        ("C7b9 C7#9 C13b9 C7b9#11 C7#9#11", "b9 #9 #11 13 b13"),
        ("C7b13 C9b13", "9 b9 #9 #11 b13"),
        ("C7(b9,b13)", "b9 #9 #11 b13"),
        ("C7b5", "9 b9 #9 13 b13"),
        ("C7#5", "9 b9 #9 #11 13"),
        ("C7#5#9", "b9 #9 #11 13"),
        ("C7alt", "b9 #9"),
        ("Csus C7sus C9sus C13sus", "9 13 3"),
        ("C7susb9", "b9 9 13 3"),
        ("Csus2", "13 3"),
        ("Cm7b5 Cø Cm9b5", "9 11 b13"),
        ("Cdim7", "9 11 b13 7"),
        ("Caug Cmaj7#5", "9 #11"),
        ("Cadd11", "9 11 #11 13"),
        ("Cm(b13)", "9 11 13 b13"),
        ("Cmaj7b5", "9 13"),
        ("C7no3", "9 b9 #9 #11 13 b13 3"),
        ("C/F#", "9 13"),
        ("C11", "9 b9 #9 11 #11 13 b13"),
        ("N.C.", ""),
    ],
)
def test_available_tensions(symbols, available):
    for symbol in symbols.split():
        assert {t.degree for t in read_chord(symbol).available} == set(available.split()), symbol


# ---- what holds of all -----------------------------------------------------------------------

LETTERS = "CDEFGAB"
roots = st.tuples(st.sampled_from(LETTERS), st.sampled_from(["", "b", "#"])).map("".join)


def shape(chord):
    """All but the names: tones and tensions relative to the root."""
    return (
        chord.kind,
        (chord.bass - chord.root) % 12,
        [((t.pitch_class - chord.root) % 12, t.degree, t.function) for t in chord.tones],
        [((t.pitch_class - chord.root) % 12, t.degree) for t in chord.tensions],
        [((t.pitch_class - chord.root) % 12, t.degree) for t in chord.available],
    )


@given(roots, roots, st.sampled_from(SYMBOLS))
def test_transposing_the_root_transposes_every_tone(one, other, spelling):
    assert shape(read_chord(one + spelling)) == shape(read_chord(other + spelling))


@given(roots, st.sampled_from(SYMBOLS), st.none() | roots)
def test_a_chord_written_plainly_reads_back_as_the_same(root, spelling, bass):
    if bass and "/" not in spelling and ":" not in spelling:
        spelling = f"{spelling}/{bass}"
    chord = read_chord(root + spelling)
    written = write_symbol(chord.root_name, makeup_of(chord), chord.bass_name)
    again = read_chord(written)
    assert shape(again) == shape(chord)
    assert (again.root, again.bass_name) == (chord.root, chord.bass_name)


PIECES = """C D E F G A B b # ♭ m M - + maj min dim aug sus alt add no omit dom 2 4 5 6 7 9 11 13 69 6/9 ( )
    , / : Δ ^ ø o ° 7 b9 #11 b13 b5 #5 9 n x * . j ♮"""


@settings(max_examples=300)
@given(
    st.lists(st.sampled_from([*PIECES.split(), " "]), max_size=10).map("".join)
    | st.text(max_size=20)
)
def test_any_text_is_read_or_refused_in_one_line(text):
    fault = None
    try:
        chord = read_chord(text)
    except ChartFault as caught:
        fault = caught
    if fault is not None:
        assert "\n" not in str(fault)
        assert (fault.source, fault.place) == (None, ())
        return
    assert chord.symbol == text.strip()
    if chord.root is not None:
        assert chord.tones[0].function == "root"
        assert chord.root_name[0] in LETTERS


@settings(max_examples=60)
@given(st.sampled_from(SYMBOLS), st.integers(0, 20), st.sampled_from("b#79x(/mM%!"))
def test_the_nearest_reading_can_be_read(spelling, at, sign):
    symbol = f"G{spelling}"
    slip = symbol[:at] + sign + symbol[at:]
    try:
        read_chord(slip)
    except ChartFault as fault:
        found = re.search(r"nearest reading '(.*)'$", str(fault))
        if found:
            read_chord(found[1])
