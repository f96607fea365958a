"""A tune in ABC with quoted chords as a chart."""

from __future__ import annotations

from pathlib import Path

import pytest

from linecheck.faults import ChartFault
from linecheck.read.chart_abc import read_chart_abc
from linecheck.terms import Key, Meter
from tests.read.test_chart_musicxml import chords_of

HEAD = "X:1\nT:Low Road\nM:4/4\nL:1/4\nK:F\n"


@pytest.fixture
def read(tmp_path):
    def from_text(text, head=HEAD):
        file = tmp_path / "tune.abc"
        file.write_bytes((head + text).encode() if isinstance(text, str) else text)
        return read_chart_abc(file)

    return from_text


def test_the_order_of_the_parts_may_stand_after_the_key(read):
    body = 'P:A\n|: "F"F4 | "C7"C4 :|\nP:B\n"Bb"B4 | "F"F4 |]\n'
    before = read(body, HEAD.replace("K:F", "P:ABA\nK:F"))
    after = read("P:ABA\n" + body)
    assert after.form == before.form == ("A", "A", "B", "A", "A")
    assert chords_of(after.bars) == chords_of(before.bars)
    assert read("P:AB\n" + body).form == ("A", "A", "B")
    two = 'V:1\nP:A\n"F"F4 |\nP:B\n"C7"C4 |\nV:2\nP:A\nz4 |\nP:B\nz4 |\n'
    assert read(two).form == ("A", "B")
    assert read('P:AB\n"F"F4 | "C7"C4 |\nP:C\n"F"F4 |\n').form == ("AB", "C")


def test_bars_and_chords(read):
    chart = read('"F7"F4 | "Bb7"B2 "Bdim7"=B2 | "F7/C" z4 | x4 | "Am7b5"A2 "D7b9"z2 |]\n')
    assert chords_of(chart.bars) == ("1:F7@1 2:Bb7@1 2:Bdim7@3 3:F7/C@1 5:Am7b5@1 5:D7b9@3")
    assert chart.title == "Low Road"
    assert chart.key == Key("F", minor=False)
    assert chart.form == ("A",)
    assert chart.warnings == ()


def test_repeats_and_endings(read):
    chart = read('|: "F"F4 | "C7"C4 |1 "F"F4 :|2 "F7"F4 || "Bb"B4 | "F"F4 |]\n')
    assert chords_of(chart.bars) == "1:F@1 2:C7@1 3:F@1 5:C7@1 6:F7@1 7:Bb@1 8:F@1"
    chart = read('|: "F"F4 | "C7"C4 | [1 "F"F4 :| [2 "F7"F4 |]')
    assert chords_of(chart.bars) == "1:F@1 2:C7@1 3:F@1 5:C7@1 6:F7@1"
    chart = read('|: "F"F4 | [1,3 "C"C4 :| [2,4 "G"G4 :| "A"A4 |]')
    assert chords_of(chart.bars) == ("1:F@1 2:C@1 3:F@1 4:G@1 5:F@1 6:C@1 7:F@1 8:G@1 9:A@1")


@pytest.mark.parametrize(
    ("line", "bars"),
    [
        ("|: F4 :|: C4 :|", 4),
        ("|: F4 :: C4 :|", 4),
        ("|: F4 :||: C4 :|", 4),
        ("F4 :| |: C4 :|", 5),
        ("|:: F4 ::| C4 |]", 4),
        ("F4 | C4 [|] G4", 3),
        ("F4 .| C4 || G4", 3),
        ("[| F4 | C4 |]", 2),
        ("|: F4 :|\\\n|: C4 :|\n", 4),
        ("F4 | Z3 | C4", 5),
        ("F4 | Z3", 4),
        ("F4 |2 C4", 2),
        ("F4 |> C4", 2),
        ("F4 |: C4 [|]:| G4", 4),
        ("F4 ||\n: C4 :| G4", 4),
    ],
)
def test_bar_lines_of_every_kind(read, line, bars):
    assert len(read('"F"x4|' + line).bars) == bars + 1


def test_parts_are_sections_and_the_header_gives_their_order(read):
    body = 'P:A\n"F"F4 | "C7"C4 |\nP:B\n|: "Bb"B4 | "G7"G4 :|\n'
    chart = read(body)
    assert chart.form == ("A", "B", "B")
    chart = read(body, HEAD.replace("K:F", "P:A2(BA)2\nK:F"))
    assert chart.form == ("A", "A", "B", "B", "A", "B", "B", "A")
    assert len(chart.bars) == 16
    assert [b.number for b in chart.bars if b.opens_section] == [1, 3, 5, 7, 9, 11, 13, 15]
    chart = read(body, HEAD.replace("K:F", "P:AC\nK:F"))
    assert chart.form == ("A", "B", "B")
    assert "the order of parts 'AC' names none" in chart.warnings[0]


def test_a_line_may_end_with_the_old_sign_for_a_line_break(read):
    assert len(read('"F"F4 | C4 | !\nC4 |\n').bars) == 3


@pytest.mark.parametrize("order", ["A)B", "(AB", "A999999", "a b", "((((A999)999)999)999)"])
def test_an_order_of_parts_that_cannot_be_read_is_told(read, order):
    chart = read('P:A\n"F"F4 |\nP:B\n"C"C4 |\n', HEAD.replace("K:F", f"P:{order}\nK:F"))
    assert chart.form == ("A", "B")
    assert "it is played as it stands" in chart.warnings[0]


def test_an_order_of_parts_without_end(read):
    body = "P:A\n|: " + '"F"F4 |' * 60 + " :|\n"
    with pytest.raises(ChartFault, match="its parts lead to more than 50000 measures"):
        read(body, HEAD.replace("K:F", "P:A999\nK:F"))


def test_annotations_and_remarks_are_no_chords(read):
    chart = read('"^Dm7 maybe""F"F4 | "_slow""<G""@1,2 C"C4 | "swing it" F4 |')
    assert chords_of(chart.bars) == "1:F@1"
    assert chart.warnings == (
        "'swing it' is taken as a remark, not as a chord: measure 3 (F holds there)",
    )
    assert chart.feel == "swing"


def test_a_remark_is_named_with_the_chord_that_holds_there(read):
    chart = read('"Intro"z4 | "Vamp""Dm7"D2 "rit."D2 | "Head"D2 "G7"D2 | "Fine"G4 |')
    assert chords_of(chart.bars) == "1:N.C.@1 2:Dm7@1 3:G7@3"
    assert chart.warnings == (
        "'Intro' is taken as a remark, not as a chord: measure 1 (no chord holds there yet)",
        "'Vamp' is taken as a remark, not as a chord: measure 2 (Dm7 holds there)",
        "'rit.' is taken as a remark, not as a chord: measure 2 (Dm7 holds there)",
        "'Head' is taken as a remark, not as a chord: measure 3 (Dm7 holds there)",
    )


def test_a_remark_that_comes_often_is_named_once(read):
    chart = read('"F"F2 "4"F2 | "C7""4"C4 |' + '"4"C4 |' * 5)
    assert chart.warnings == (
        (
            "'4' is taken as a remark, not as a chord: measure 1 (F holds there), measure 2 (C7 holds "
            "there), measure 3 (C7 holds there) and 4 more"
        ),
    )


@pytest.mark.parametrize(
    ("chord", "message"),
    [
        ("H7", "'H7': H is B in German, where B is Bb; nearest reading 'B7'"),
        ("Fis", "'Fis': Fis is F# in German and Dutch; in German, B is Bb; nearest reading 'F#'"),
        ("dm7", "'dm7': a chord symbol begins with its root, A to G, not with 'd'; nearest reading 'Dm7'"),
        ("♭B7", "'♭B7': a chord symbol begins with its root, A to G, not with 'b'; nearest reading 'Bb7'"),
        ("Gmaj77", "'Gmaj77': cannot read '7' after 'Gmaj7'; nearest reading 'Gmaj7'"),
        ("D7 swing", "'D7 swing': cannot read 'swing' after 'D7'; nearest reading 'D7'"),
    ],
)  # fmt: skip
def test_a_chord_that_cannot_be_read_is_refused_with_its_measure(read, chord, message):
    with pytest.raises(ChartFault) as caught:
        read(f'"Dmaj7"D4 | "G"G4 |\n"{chord}"B,4 |')
    where = "tune.abc, line 7, measure 3: "
    assert str(caught.value).partition(where)[2] == (
        f"{message}; a remark that is no chord begins with ^"
    )


def test_jumps_in_words_and_signs(read):
    assert chords_of(read('"F"F4 | "C"C4 !fine! | "G"G4 "^D.C. al Fine" |]').bars) == (
        "1:F@1 2:C@1 3:G@1 4:F@1 5:C@1"
    )
    assert chords_of(read('"F"F4 | !segno!"C"C4 | "G"G4 !D.S.! |]').bars) == (
        "1:F@1 2:C@1 3:G@1 4:C@1 5:G@1"
    )
    jumped = read('"F"F4 | "C"C4 !dacoda! | "G"G4 !D.C.! | O"A"A4 |]')
    assert chords_of(jumped.bars) == "1:F@1 2:C@1 3:G@1 4:F@1 5:C@1 6:A@1"
    # A sign after the last bar line belongs to the last bar.
    assert len(read('"F"F4 | "C"C4 |] !D.C.!').bars) == 4


def test_a_pickup_is_no_part_of_the_chorus(read):
    chart = read('C | "F"F4 | "C7"C3 :| "Bb"B4 |]')
    assert chords_of(chart.bars) == "1:F@1 2:C7@1 3:F@1 4:C7@1 5:Bb@1"
    assert len(chart.bars) == 5


def test_alternate_chords_in_brackets(read):
    assert chords_of(read('"G(Em)"G4 | "(Am)"A4 | "C7(b9)"C4 |').bars) == "1:G@1 3:C7(b9)@1"


def test_several_lines_in_one_text(read):
    assert chords_of(read('"F7;^with a lift"F4 |').bars) == "1:F7@1"


def test_a_chord_that_cannot_be_read_names_its_line(read):
    with pytest.raises(ChartFault, match=r"tune\.abc, line 7, measure 2: .*Cmu7"):
        read('"F"F4 |\n"Cmu7"C4 |\n')


def test_inline_fields(read):
    chart = read('"F"F4 | [M:3/4] "C7"C3 | [L:1/8][K:Bb] "Bb"B6 | [M:6/8] "F"F3 "C"C3 |]')
    assert [b.meter for b in chart.bars] == [Meter(4, 4), Meter(3, 4), Meter(3, 4), Meter(6, 8)]
    assert chords_of(chart.bars) == "1:F@1 2:C7@1 3:Bb@1 4:F@1 4:C@4"


@pytest.mark.parametrize(
    ("field", "meter"),
    [("C", Meter(4, 4)), ("C|", Meter(2, 2)), ("6/8", Meter(6, 8)), ("(2+3)/8", Meter(5, 8))],
)
def test_meters(read, field, meter):
    head = HEAD.replace("4/4", field)
    whole = {Meter(6, 8): "F3", Meter(5, 8): "F5/2"}.get(meter, "F4")
    assert read(f'"F"{whole} | "C"{whole} |]', head).bars[0].meter == meter


def test_without_a_meter_bars_are_as_long_as_they_are_filled(read):
    chart = read('"F"F4 | "C"C3 | "G"G4 |]', HEAD.replace("M:4/4\n", ""))
    assert [b.meter for b in chart.bars] == [Meter(4, 4), Meter(3, 4), Meter(4, 4)]


@pytest.mark.parametrize(
    ("field", "key"),
    [
        ("Bb", Key("Bb", minor=False)),
        ("F#m", Key("F#", minor=True)),
        ("Gmin", Key("G", minor=True)),
        ("D dorian", Key("D", minor=True)),
        ("Amix", Key("A", minor=False)),
        ("E Phr clef=bass", Key("E", minor=True)),
        ("C clef=bass octave=-1", Key("C", minor=False)),
        ("Ab bass", Key("Ab", minor=False)),
        ("none", Key("C", minor=False)),
        ("HP", Key("D", minor=False)),
        ("C#", Key("C#", minor=False)),
        ("Cm exp _e _b", Key("C", minor=True)),
    ],
)
def test_keys(read, field, key):
    assert read('"G"G4 |', HEAD.replace("K:F", f"K:{field}")).key == key


@pytest.mark.parametrize(
    ("field", "tempo"),
    [
        ("1/4=132", 132.0),
        ("1/2=96", 192.0),
        ("3/8=60", 90.0),
        ('"Medium swing" 1/4=140', 140.0),
        ("1/4=120 ", 120.0),
        ("120", 120.0),
        ('"Slowly"', None),
        ("1/4=999999", None),
    ],
)
def test_tempo_in_quarter_notes(read, field, tempo):
    assert read('"F"F4 |', HEAD.replace("K:F", f"Q:{field}\nK:F")).tempo == tempo


def test_feel_stands_in_the_tempo_or_the_rhythm(read):
    assert read('"F"F4 |', HEAD.replace("K:F", 'Q:"Swing" 1/4=90\nK:F')).feel == "swing"
    assert read('"F"F4 |', HEAD.replace("K:F", "R:bossa nova\nK:F")).feel == "straight"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('"F"F4 | 3/4', "line 6: '3/4' was read, and notes were expected"),
        ('"F"F4 | =', "line 6: '=' was read, and notes were expected"),
        ('"F"F4 | "C', "line 6: '\"C' was read, and notes were expected"),
        ('"F"F400 |', "line 6: the bar lasts more than 256 quarter notes"),
        ('"F"Z99999|', "line 6: a rest of"),
        ('"F"F2 : F2 |', "line 6: ':' was read within a bar"),
        ("F4 | C4 |", "it holds no chord symbols"),
        ("", "it holds no music"),
        ("K:H\n", "line 6: the key 'H' was read"),
        ("K:Cfoo\n", "line 6: the mode 'foo' was read"),
        (
            "K:H\n",
            "line 6: the key 'H' was read, and a tonic such as Bb or Dm expected; nearest reading 'B'",
        ),
        (
            "K:Es\n",
            "line 6: the mode 's' was read; expected m, dor, mix, phr …; nearest reading 'Eb'",
        ),
        ("K:G##m\n", "line 6: the key 'G##m' was read"),
        ("M:99/4\n", "line 6: a meter of 99 beats was read"),
        ("K:C octave=x\n", "line 6: octave=x was read, and a number up to 9 was expected"),
        ('"F"F,,,,,,,4|', "line 6: a note of MIDI number -19 was read; 0 to 127 sound"),
        ("Z1000|" * 25, "line 6: it holds more than 20000 bars"),
        ("\n".join(f"V:{n}\nC4|" for n in range(102)), "it has more than 100 voices"),
        ('"F"F4 |\n' * 4001, "one chorus has 4001 bars, and at most 4000 are read"),
        ("M:4/5\n", "line 6: the meter '4/5' was read"),
        ("L:1/7\n", "line 6: the unit length '1/7' was read"),
        ('V:\n"F"F4|', "line 6: a V: field without a name"),
        ('|[0 "F"F4 |', "line 6: the ending '0' was read"),
        ("x" * 30_000, "line 6: the line is longer than 20000 characters"),
        ("\0", "is not text: it holds NUL bytes"),
    ],
)
def test_faults_name_the_line(read, text, message):
    with pytest.raises(ChartFault) as caught:
        read(text)
    assert message in str(caught.value)
    assert str(caught.value).count("tune.abc") == 1


def test_of_a_book_of_tunes_the_first_is_read(read):
    chart = read('"F"F4 |\n\nX:2\nT:Other\nM:4/4\nK:C\n"C"C4 | C4 |\n')
    assert (chart.title, len(chart.bars)) == ("Low Road", 1)
    assert chart.warnings == ("of several tunes in the file the first is read",)


def test_what_stands_after_an_empty_line_is_told(read):
    chart = read('"F"F4 |\n\n"C"C4 |\n')
    assert len(chart.bars) == 1
    assert chart.warnings == ("the tune ends at the empty line 7; what follows is not read",)
    assert read('"F"F4 |\n\n% the end\n').warnings == ()


def test_blocks_of_text_are_no_music(read):
    chart = read('"F"F4 |\n%%begintext\nPlay it twice: {{{\n%%endtext\n"C"C4 |\n')
    assert chords_of(chart.bars) == "1:F@1 2:C@1"


def test_a_pickup_without_room_is_played_over_the_end_of_the_bar_before(read):
    chart = read('C | "F"F4 | "C7"C4 :|\n|: "G7"G | "Bb"B4 | "F"F3 :|\n')
    assert chords_of(chart.bars) == (
        "1:F@1 2:C7@1 3:F@1 4:C7@1 4:G7@4 5:Bb@1 6:F@1 6:G7@4 7:Bb@1 8:F@1"
    )
    assert chart.warnings == (
        (
            "measures 1, 4: a pickup of 1 quarter note has no room; "
            "it is played over the end of the bar before"
        ),
    )


def test_older_files_are_latin_1(tmp_path):
    file = tmp_path / "tune.abc"
    file.write_bytes(HEAD.replace("Low Road", "Müll").encode("latin-1") + b'"F"F4|\n')
    chart = read_chart_abc(file)
    assert chart.title == "Müll"
    assert "Latin-1" in chart.warnings[0]


def test_a_voice_of_its_own_may_hold_the_chords(read):
    chart = read(
        'V:1\n"F"F4 | "C"C4 |\nV:2\nF,4 | C,4 |\n[V:1] "Bb"B4 |]\n[V:2] B,,4 |]\n',
        HEAD.replace("K:F", 'V:1 name="Melody"\nV:2 clef=bass\nK:F'),
    )
    assert chords_of(chart.bars) == "1:F@1 2:C@1 3:Bb@1"


def test_tunes_of_a_corpus_are_charts(tmp_path):
    # Two reels of the Nottingham collection in music21's corpus, chords as printed there.
    music21 = pytest.importorskip("music21")
    folder = Path(music21.__file__).parent / "corpus" / "nottingham-dataset"
    nest, czech = (folder / "reelsa-c.abc").read_text(encoding="utf-8").split("\n\n\n")[:2]
    file = tmp_path / "tune.abc"
    file.write_text(nest, encoding="utf-8")
    chart = read_chart_abc(file)
    assert chart.form == ("A", "A", "B", "B")
    assert chords_of(chart.bars[:8]) == (
        "1:D@1 2:Em@1 2:A@3 3:C@1 4:Em@1 4:A7@3 5:D@1 6:Em@1 6:A7@3 7:D@1 7:A7@3 8:D@1"
    )
    file.write_text(czech, encoding="utf-8")
    chart = read_chart_abc(file)
    assert chart.key == Key("A", minor=True)
    assert {s.name for s in chart.sections} >= {"A"}
    assert "D/F#" in chords_of(chart.bars)
