"""A lead sheet in MusicXML as a chart."""

from __future__ import annotations

from pathlib import Path

import pytest

from linecheck.faults import ChartFault
from linecheck.music.musicxml_kinds import KIND_VALUES
from linecheck.read.chart_musicxml import read_chart_musicxml
from linecheck.terms import Key, Meter
from tests.read.small_scores import (
    BACKWARD,
    DOUBLE,
    FORWARD,
    TIME_44,
    degree,
    direction,
    ending,
    harmony,
    measure,
    note,
    part,
    rehearsal,
    rest,
    score,
    words,
)


@pytest.fixture
def read(tmp_path):
    def from_text(text):
        file = tmp_path / "tune.musicxml"
        file.write_text(text, encoding="utf-8")
        return read_chart_musicxml(file)

    return from_text


def chords_of(bars):
    """Symbols bar by bar with the beat, as ``C7@1``; a chord that only goes on is left out."""
    text, before = [], None
    for bar in bars:
        for placed in bar.chords:
            if placed.step or placed.chord.symbol != before:
                beat = 1 + placed.step / 12
                text.append(f"{bar.number}:{placed.chord.symbol}@{beat:g}")
            before = placed.chord.symbol
    return " ".join(text)


def bar(*pieces, **options):
    """A bar of 4/4 that is filled by a rest."""
    return measure(*pieces, rest(48), **options)


def test_bars_chords_and_places(read):
    chart = read(
        score(
            part(
                bar(harmony("D", "minor-seventh")),
                measure(harmony("G", "dominant"), rest(24), harmony("C", "dominant"), rest(24)),
                bar(),
                bar(harmony("Bb", "major-sixth", bass="F")),
            ),
            head="<movement-title>Lantern Street</movement-title>",
        )
    )
    assert chart.title == "Lantern Street"
    assert chords_of(chart.bars) == "1:Dm7@1 2:G7@1 2:C7@3 4:Bb6/F@1"
    assert [b.number for b in chart.bars] == [1, 2, 3, 4]
    assert chart.bars[2].chords[0].steps == 48
    assert chart.sections[0].name == "A"
    assert chart.sections[0].bars == 4
    assert chart.warnings == ()


# MusicXML 4.0, data type kind-value, in its order. The tones are those of its descriptions
# (a seventh chord and what is stacked on it); of the functional kinds, as they sound in C.
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
    "dominant-ninth": "1 3 5 b7 + 9",
    "major-ninth": "1 3 5 7 + 9",
    "minor-ninth": "1 b3 5 b7 + 9",
    "dominant-11th": "1 3 5 b7 + 9 11",
    "major-11th": "1 3 5 7 + 9 11",
    "minor-11th": "1 b3 5 b7 + 9 11",
    "dominant-13th": "1 3 5 b7 + 9 13",
    "major-13th": "1 3 5 7 + 9 13",
    "minor-13th": "1 b3 5 b7 + 9 11 13",
    "suspended-second": "1 2 5",
    "suspended-fourth": "1 4 5",
    "Neapolitan": "Db 1 3 5",
    "Italian": "Ab 1 3 b7",
    "French": "Ab 1 3 b5 b7",
    "German": "Ab 1 3 5 b7",
    "pedal": "1",
    "power": "1 5",
    "Tristan": "1 b3 b5 b7",
    "other": "",
    "none": "",
}


def test_every_kind_of_the_standard_is_read(read):
    assert set(KINDS) == set(KIND_VALUES)
    named = [kind for kind in KINDS if kind != "other"]  # it says nothing without its text
    chart = read(score(part(*(bar(harmony("C", kind)) for kind in named))))
    for kind, placed in zip(named, chart.bars, strict=True):
        chord = placed.chords[0].chord
        tones = " ".join(tone.degree for tone in chord.tones)
        tensions = " ".join(tension.degree for tension in chord.tensions)
        root = "" if chord.root_name in ("C", "") else f"{chord.root_name} "
        assert root + " + ".join(filter(None, (tones, tensions))) == KINDS[kind], kind


def test_degrees_are_added_altered_and_taken_away(read):
    chart = read(
        score(
            part(
                bar(harmony("C", "dominant", after=degree(9, -1, "add"))),
                bar(harmony("C", "major-seventh", after=degree(5, 1, "alter"))),
                bar(harmony("C", "dominant-ninth", after=degree(3, 0, "subtract"))),
            )
        )
    )
    chords = [b.chords[0].chord for b in chart.bars]
    assert [tone.degree for tone in chords[1].tones] == ["1", "3", "#5", "7"]
    assert [tension.degree for tension in chords[0].tensions] == ["b9"]
    assert "3" not in [tone.degree for tone in chords[2].tones]


def test_the_text_is_read_where_the_kind_says_too_little(read):
    chart = read(
        score(
            part(
                bar(harmony("C", "other", text="m7b5")),
                bar(harmony("C", "dominant", text="7alt")),
                # What is printed does not overrule a kind that says it all.
                bar(harmony("C", "minor-seventh", text="odd")),
            )
        )
    )
    kinds = [b.chords[0].chord.kind for b in chart.bars]
    assert kinds == ["half-diminished", "altered", "minor-seventh"]


def test_inversions_put_a_chord_member_into_the_bass(read):
    inverted = [
        bar(harmony("Bb", "dominant", after=f"<inversion>{n}</inversion>")) for n in range(4)
    ]
    chart = read(score(part(*inverted)))
    names = [b.chords[0].chord.bass_name for b in chart.bars]
    assert names == ["Bb", "D", "F", "Ab"]
    with pytest.raises(ChartFault, match=r"measure 1: inversion 4 of Bb7 was read"):
        read(score(part(bar(harmony("Bb", "dominant", after="<inversion>4</inversion>")))))


def test_offsets_within_the_bar(read):
    chart = read(
        score(
            part(
                measure(
                    harmony("C"),
                    harmony("F", after="<offset>24</offset>"),
                    note("C4", 36),
                    harmony("G", after="<offset>6</offset>"),
                    rest(12),
                ),
                bar(harmony("A", "minor", after="<offset>0</offset>")),
            )
        )
    )
    assert chords_of(chart.bars) == "1:C@1 1:F@3 1:G@4.5 2:Am@1"


def test_an_offset_out_of_the_bar_is_a_fault(read):
    with pytest.raises(ChartFault, match=r"measure 1: a chord symbol's <offset> leads out"):
        read(score(part(bar(harmony("C", after="<offset>-1</offset>")))))
    with pytest.raises(ChartFault, match=r"measure 1: the chord C stands beyond the end of its b"):
        read(score(part(bar(harmony("C", after="<offset>48</offset>")))))


def test_an_alternate_chord_is_not_the_chord(read):
    other = harmony("F").replace("<harmony>", '<harmony type="alternate">')
    assert chords_of(read(score(part(bar(harmony("C"), other)))).bars) == "1:C@1"


def test_two_chords_at_one_place_are_told(read):
    chart = read(score(part(bar(harmony("C"), harmony("F")))))
    assert chords_of(chart.bars) == "1:F@1"
    assert chart.warnings == ("measure 1: C and F stand at one place; F is taken",)


@pytest.mark.parametrize(
    ("chord", "message"),
    [
        ("<harmony><function>V7</function><kind>dominant</kind></harmony>", "'V7' is given by its"),
        (
            "<harmony><numeral><numeral-root>5</numeral-root></numeral><kind>major</kind></harmony>",
            "'5' is given by its function in the key, and a chord with a root was expected",
        ),
        ("<harmony><root><root-step>C</root-step></root></harmony>", "without a <kind>"),
        ("<harmony><kind>major</kind></harmony>", "without a <root>"),
        (
            harmony("C").replace("</harmony>", "") + harmony("D").replace("<harmony>", ""),
            "a chord of several roots was read, and one root was expected",
        ),
        (harmony("H"), "the chord's root 'H' was read, and A to G was expected"),
        (harmony("C", "mayor"), "'mayor' is no kind of chord in MusicXML"),
        (harmony("C", "other"), "measure 2"),
        (harmony("C", after=degree(9, 0, "plus")), "'plus' was read, and add, alter or subtract"),
        (harmony("C", after=degree(99, 0, "add")), "a degree '99' was read, and a number from 1"),
    ],
)
def test_chords_that_cannot_be_read_are_refused_with_their_place(read, chord, message):
    with pytest.raises(ChartFault, match="part Lead, measure 2: ") as caught:
        read(score(part(bar(harmony("C")), bar(chord)), names=("Lead",)))
    assert message in str(caught.value)


def test_no_chords_no_parts_other_roots(read):
    with pytest.raises(ChartFault, match="it holds no chord symbols, and a chart needs them"):
        read(score(part(bar())))
    with pytest.raises(ChartFault, match="it holds no part"):
        read(score())
    with pytest.raises(ChartFault, match="<html>, and <score-partwise> was expected"):
        read("<html/>")
    with pytest.raises(ChartFault, match="an opus is a list of scores: give one of them"):
        read("<opus/>")


# ---- form ------------------------------------------------------------------------------------


def test_repeats_and_endings_are_played_out_and_marks_name_the_sections(read):
    chart = read(
        score(
            part(
                bar(rehearsal("A"), harmony("C"), FORWARD),
                bar(harmony("D", "minor-seventh")),
                bar(harmony("G", "dominant"), ending("1", "start"), ending("1", "stop", RPT)),
                bar(harmony("C", "dominant"), ending("2", "start"), ending("2", "discontinue")),
                bar(rehearsal("B"), harmony("F")),
                bar(harmony("Bb")),
            )
        )
    )
    assert chords_of(chart.bars) == ("1:C@1 2:Dm7@1 3:G7@1 4:C@1 5:Dm7@1 6:C7@1 7:F@1 8:Bb@1")
    assert chart.form == ("A", "A", "B")
    assert [(s.name, s.bar, s.bars) for s in chart.sections] == [
        ("A", 1, 3),
        ("A", 4, 3),
        ("B", 7, 2),
    ]
    assert [b.number for b in chart.bars if b.opens_section] == [1, 4, 7]


RPT = '<repeat direction="backward"/>'


def test_a_repeat_around_the_whole_tune_is_told(read):
    chart = read(score(part(bar(harmony("C"), FORWARD), bar(harmony("F"), BACKWARD))))
    assert len(chart.bars) == 4
    assert "one chorus is twice through it" in chart.warnings[0]


def test_da_capo_al_fine(read):
    chart = read(
        score(
            part(
                bar(rehearsal("A"), harmony("C")),
                bar(harmony("F"), words("Fine")),
                bar(rehearsal("B"), harmony("A", "minor"), words("D.C. al Fine")),
            )
        )
    )
    assert chords_of(chart.bars) == "1:C@1 2:F@1 3:Am@1 4:C@1 5:F@1"
    assert chart.form == ("A", "B", "A")


def test_signs_on_bar_lines(read):
    def sign(name, side):
        return f'<barline location="{side}" {name}="x"><{name}/></barline>'

    chart = read(
        score(
            part(
                bar(harmony("C")),
                bar(harmony("D"), sign("segno", "left")),
                bar(harmony("E"), '<sound tocoda="x"/>'),
                bar(harmony("F"), '<sound dalsegno="x"/>'),
                bar(harmony("G"), sign("coda", "left")),
            )
        )
    )
    assert chords_of(chart.bars) == "1:C@1 2:D@1 3:E@1 4:F@1 5:D@1 6:E@1 7:G@1"


def test_bars_without_a_meter_are_as_long_as_they_are_filled(read):
    free = "<time><senza-misura/></time>"
    chart = read(score(part(bar(harmony("C")), bar(attributes=free), measure(rest(60)), bar())))
    assert [b.meter.beats for b in chart.bars] == [4, 4, 5, 4]


def test_a_key_of_single_accidentals_names_no_tonic(read):
    odd = "<key><key-step>F</key-step><key-alter>1</key-alter></key>" + TIME_44
    assert read(score(part(bar(harmony("C")), attributes=odd))).key == Key("C", minor=False)


def test_marks_that_are_numbers(read):
    chart = read(score(part(bar(harmony("C")), bar(rehearsal("2"), harmony("F")))))
    assert chart.form == ("1", "2")


def test_signs_in_sound_and_in_another_part(read):
    # Programs write directions into the first part only; the chords stand in the second.
    signs = part(
        bar(),
        bar('<sound segno="s"/>'),
        bar(direction("<words>To Coda</words>", '<sound tocoda="c"/>')),
        bar('<sound dalsegno="s"/>'),
        bar(direction("<coda/>", '<sound coda="c"/>')),
    )
    chords = part(*(bar(harmony(root)) for root in "CDEFG"))
    chart = read(score(signs, chords, names=("Melody", "Chords")))
    assert chords_of(chart.bars) == "1:C@1 2:D@1 3:E@1 4:F@1 5:D@1 6:E@1 7:G@1"


def test_without_marks_double_bars_part_the_tune_and_like_changes_get_one_letter(read):
    def eight(roots, *end):
        return [bar(harmony(root)) for root in roots[:-1]] + [bar(harmony(roots[-1]), *end)]

    chart = read(
        score(
            part(
                *eight("CFCGCFCG", DOUBLE),
                *eight("CFCGCFGC", DOUBLE),
                *eight("EEAADDGG", DOUBLE),
                *eight("CFCGCFGC"),
            )
        )
    )
    assert chart.form == ("A", "A", "B", "A")
    # A double bar after two bars is no section of its own.
    chart = read(score(part(*eight("CG", DOUBLE), *eight("CFCGCFGC"))))
    assert chart.form == ("A",)


def test_a_pickup_is_no_part_of_the_chorus_and_its_repeat_completes_the_bar(read):
    chart = read(
        score(
            part(
                measure(harmony("G", "dominant"), rest(12), implicit=True),
                bar(harmony("C")),
                measure(harmony("F"), rest(36), BACKWARD),
                bar(harmony("D"), attributes=""),
            )
        )
    )
    assert chords_of(chart.bars) == "1:C@1 2:F@1 2:G7@4 3:C@1 4:F@1 5:D@1"
    assert [len(b.chords) for b in chart.bars] == [1, 2, 1, 1, 1]
    assert [b.number for b in chart.bars if b.opens_section] == [1]


def test_a_short_first_measure_is_a_pickup_without_being_called_so(read):
    chart = read(score(part(measure(rest(24)), bar(harmony("C")), bar())))
    assert len(chart.bars) == 2
    # A chord over the pickup goes on where bar 1 names none.
    chart = read(score(part(measure(harmony("F"), rest(24)), bar(), bar())))
    assert chords_of(chart.bars) == "1:F@1"


def test_a_pickup_that_is_filled_up_with_rests_is_no_part_of_the_chorus(read):
    filled = measure(rest(36), note("G4", 12))
    chart = read(score(part(filled, bar(harmony("C")), bar(harmony("F")))))
    assert chords_of(chart.bars) == "1:C@1 2:F@1"
    assert chart.warnings == ("measure 1: begins with a rest and has no chord, taken as a pickup",)
    # A melody from beat one, or N.C. written, makes it a bar of the tune.
    for first in (measure(note("G4", 48)), measure(harmony("C", "none"), rest(36), note("G4", 12))):
        assert len(read(score(part(first, bar(harmony("C")), bar(harmony("F"))))).bars) == 3


def test_a_missing_meter_is_told(read):
    chart = read(score(part(bar(harmony("C")), attributes="")))
    assert chart.warnings == ("no meter is given at the beginning: taken as 4/4",)


def test_a_bar_split_by_a_double_bar_is_one_bar(read):
    chart = read(
        score(
            part(
                bar(harmony("C")),
                measure(harmony("F"), rest(36), DOUBLE),
                measure(harmony("G"), rest(12)),
                bar(),
            )
        )
    )
    assert chords_of(chart.bars) == "1:C@1 2:F@1 2:G@4"
    assert len(chart.bars) == 3


def test_a_short_bar_has_its_own_meter_where_the_others_are_full(read):
    chart = read(score(part(bar(harmony("C")), measure(harmony("F"), rest(24)), bar(), bar())))
    assert [b.meter for b in chart.bars] == [Meter(4, 4), Meter(2, 4), Meter(4, 4), Meter(4, 4)]
    assert chart.warnings == (
        "measure 2: 2 quarter notes, where 4 fit: taken as a bar of its own meter",
    )


def test_where_many_bars_are_short_they_were_not_filled_up(read):
    short = [measure(harmony(root), rest(12)) for root in "CFG"]
    chart = read(score(part(*short, bar())))
    assert [b.meter for b in chart.bars] == [Meter(4, 4)] * 4
    assert chart.warnings == ("measures 1, 2, 3: 1 quarter note, where 4 fit: taken as a full bar",)
    # Chords alone, without notes or rests, make full bars.
    assert len(read(score(part(measure(harmony("C")), measure(harmony("F"))))).bars) == 2


def test_an_irregular_bar_has_a_meter_of_its_own(read):
    chart = read(score(part(bar(harmony("C")), measure(rest(24), implicit=True), bar(), bar())))
    assert [b.meter for b in chart.bars] == [Meter(4, 4), Meter(2, 4), Meter(4, 4), Meter(4, 4)]


def test_changes_of_meter(read):
    three = TIME_44.replace("<beats>4", "<beats>3")
    mixed = "<time><beats>3+2</beats><beat-type>8</beat-type></time>"
    chart = read(
        score(
            part(
                bar(harmony("C")),
                measure(harmony("F"), rest(24), harmony("G"), rest(12), attributes=three),
                measure(harmony("E"), rest(18), harmony("D"), rest(12), attributes=mixed),
            )
        )
    )
    assert [b.meter for b in chart.bars] == [Meter(4, 4), Meter(3, 4), Meter(5, 8)]
    assert chords_of(chart.bars) == "1:C@1 2:F@1 2:G@3 3:E@1 3:D@4"
    assert chart.meter == Meter(4, 4)


def test_introduction_and_ending_are_played_once(read):
    chart = read(
        score(
            part(
                bar(rehearsal("Intro"), harmony("G")),
                bar(rehearsal("A"), harmony("C")),
                bar(harmony("F")),
                bar(rehearsal("Ending"), harmony("C", "major-sixth")),
            )
        )
    )
    assert chords_of(chart.intro) == "1:G@1"
    assert chords_of(chart.bars) == "1:C@1 2:F@1"
    assert chords_of(chart.ending) == "1:C6@1"
    assert chart.form == ("A",)


def test_bars_before_mark_a_are_an_introduction(read):
    chart = read(score(part(bar(harmony("G")), bar(rehearsal("A"), harmony("C")))))
    assert chords_of(chart.intro) == "1:G@1"
    assert chart.form == ("A",)
    # Before any other mark they are section A.
    chart = read(score(part(bar(harmony("G")), bar(rehearsal("B"), harmony("C")))))
    assert chart.form == ("A", "B")


def test_a_sign_that_repeats_the_bar_before(read):
    sign = '<measure-style><measure-repeat type="{}">1</measure-repeat></measure-style>'
    chart = read(
        score(
            part(
                measure(harmony("C"), rest(24), harmony("F"), rest(24)),
                bar(attributes=sign.format("start")),
                bar(),
                bar(harmony("G"), attributes=sign.format("stop")),
            )
        )
    )
    assert chords_of(chart.bars) == "1:C@1 1:F@3 2:C@1 2:F@3 3:C@1 3:F@3 4:G@1"


# ---- key, tempo, feel ------------------------------------------------------------------------


def key(fifths, mode=""):
    shown = f"<mode>{mode}</mode>" if mode else ""
    return f"<key><fifths>{fifths}</fifths>{shown}</key>{TIME_44}"


@pytest.mark.parametrize(
    ("fifths", "mode", "expected"),
    [
        (-1, "major", Key("F", minor=False)),
        (-1, "minor", Key("D", minor=True)),
        (0, "dorian", Key("D", minor=True)),
        (3, "mixolydian", Key("E", minor=False)),
        (-6, "major", Key("Gb", minor=False)),
        (7, "minor", Key("A#", minor=True)),
    ],
)
def test_keys(read, fifths, mode, expected):
    chart = read(score(part(bar(harmony("C")), attributes=key(fifths, mode))))
    assert chart.key == expected


def test_a_signature_without_a_mode_is_settled_by_the_last_chord(read):
    minor = part(bar(harmony("G", "minor")), bar(harmony("D", "minor")), attributes=key(-1))
    assert read(score(minor)).key == Key("D", minor=True)
    major = part(bar(harmony("D", "minor")), bar(harmony("F")), attributes=key(-1, "none"))
    assert read(score(major)).key == Key("F", minor=False)


def test_a_transposing_part_is_read_at_concert_pitch(read):
    # For an alto saxophone (a major sixth down) concert F is written D.
    alto = (
        key(2, "major") + "<transpose><diatonic>-5</diatonic><chromatic>-9</chromatic></transpose>"
    )
    chart = read(
        score(part(bar(harmony("D")), bar(harmony("F#", "minor", bass="C#")), attributes=alto))
    )
    assert chords_of(chart.bars) == "1:F@1 2:Am/E@1"
    assert chart.key == Key("F", minor=False)
    plain = alto.replace("<diatonic>-5</diatonic>", "")
    assert chords_of(read(score(part(bar(harmony("D")), attributes=plain))).bars) == "1:F@1"


def metronome(unit, per_minute, dots=0):
    dotted = "<beat-unit-dot/>" * dots
    inside = f"<beat-unit>{unit}</beat-unit>{dotted}<per-minute>{per_minute}</per-minute>"
    return f"<metronome>{inside}</metronome>"


@pytest.mark.parametrize(
    ("sign", "tempo"),
    [
        (direction(metronome("quarter", "132")), 132.0),
        (direction(metronome("half", "ca. 96")), 192.0),
        (direction(metronome("quarter", "60", dots=1)), 90.0),
        ('<sound tempo="144.5"/>', 144.5),
        (direction(metronome("half", "60"), '<sound tempo="121"/>'), 121.0),
        (direction("<words>Slowly</words>"), None),
    ],
)
def test_tempo_in_quarter_notes(read, sign, tempo):
    assert read(score(part(bar(sign, harmony("C"))))).tempo == tempo


@pytest.mark.parametrize(
    ("sign", "feel"),
    [
        (words("Medium Swing"), "swing"),
        (words("Bossa nova"), "straight"),
        (words("Straight 8ths"), "straight"),
        ("<sound><swing><first>2</first><second>1</second></swing></sound>", "swing"),
        ("<sound><swing><straight/></swing></sound>", "straight"),
        (words("Ballad"), None),
    ],
)
def test_feel(read, sign, feel):
    assert read(score(part(bar(sign, harmony("C"))))).feel == feel


def test_titles(read):
    lead = part(bar(harmony("C")))
    work = "<work><work-title>Book</work-title></work>"
    assert read(score(lead, head=work)).title == "Book"
    both = f"{work}<movement-title> Low\n Road </movement-title>"
    assert read(score(lead, head=both)).title == "Low Road"
    credit = "<credit><credit-type>title</credit-type><credit-words>Hill</credit-words></credit>"
    assert read(score(lead, head=credit)).title == "Hill"
    assert read(score(lead)).title == "tune"


# ---- other shapes of the file ----------------------------------------------------------------


def test_a_timewise_score_is_read_as_a_partwise_one(read):
    body = "".join(
        f'<measure number="{n}"><part id="P1">'
        f"<attributes><divisions>12</divisions>{TIME_44}</attributes>"
        f'{harmony(root)}{rest(48)}</part><part id="P2">{rest(48)}</part></measure>'
        for n, root in enumerate("CFG", 1)
    )
    listing = '<part-list><score-part id="P1"><part-name>A</part-name></score-part></part-list>'
    chart = read(f"<score-timewise>{listing}{body}</score-timewise>")
    assert chords_of(chart.bars) == "1:C@1 2:F@1 3:G@1"


@pytest.mark.parametrize(
    ("spoiled", "message"),
    [
        (("<duration>48<", "<duration>4e9<"), "the duration '4e9' was read, and a number"),
        (("<duration>48<", "<duration>999999999<"), "the measure lasts more than 256 quarter"),
        (("<divisions>12<", "<divisions>0<"), "<divisions> is 0"),
        (("<divisions>12<", "<divisions>99999999<"), "<divisions> '99999999' was read"),
        (("<beats>4<", "<beats>x<"), "the meter's upper figure 'x' was read"),
        (("<beat-type>4<", "<beat-type>5<"), "the meter's lower figure 5 was read, and 1, 2, 4"),
        (("<beats>4</beats>", ""), "a <time> without <beats> and <beat-type>"),
        (("</harmony>", "</harmony>" + ending("x", "start")), "the ending's number 'x' was read"),
        (("</harmony>", "</harmony>" + ending("0", "start")), "the ending's number '0' was read"),
        (("<beats>4<", "<beats>999<"), "a meter of 999 beats was read"),
        (("<rest/>", "<rest/><backup><duration>1</duration></backup>"), None),
        (("<harmony>", "<backup><duration>1</duration></backup><harmony>"), "goes back beyond"),
    ],
)
def test_values_that_no_score_has(read, spoiled, message):
    text = score(part(bar(harmony("C"))), names=("Lead",)).replace(*spoiled)
    if message is None:
        assert read(text)
        return
    with pytest.raises(ChartFault, match=r"tune\.musicxml, part Lead, measure 1: ") as caught:
        read(text)
    assert message in str(caught.value)


# ---- music21's corpus ------------------------------------------------------------------------


def corpus(*names):
    music21 = pytest.importorskip("music21")
    folder = Path(music21.__file__).parent / "corpus"
    return [folder / name for name in names if (folder / name).exists()]


def test_lead_sheets_of_a_corpus_are_charts():
    # Chords as printed in the scores of music21's corpus; bars with repeats played out.
    ragtime, hair = corpus("leadSheet/berlinAlexandersRagtime.mxl", "leadSheet/fosterBrownHair.mxl")
    chart = read_chart_musicxml(hair)
    assert chart.title == "Jeanie With The Light Brown Hair"
    assert len(chart.bars) == 64
    assert chords_of(chart.bars[:8]) == ("1:F@1 2:Bb@1 3:F@1 3:C@3 4:F@1 6:Bb@1 7:F@1 7:G7@3 8:C@1")
    assert chart.form == ("A", "A")
    assert len(read_chart_musicxml(ragtime).bars) == 64
