"""The labelled line in MusicXML: valid by the standard's schema, and read back as it was played."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from xml.etree.ElementTree import fromstring

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linecheck.music.chord_symbol import read_chord
from linecheck.music.form import Form
from linecheck.music.pitch import pitch_name
from linecheck.read.chart_musicxml import read_chart_musicxml
from linecheck.read.take_written import GHOST_VELOCITY, read_take_musicxml
from linecheck.report.as_musicxml import write_musicxml
from linecheck.terms import Bar, Chart, ChartChord, Key, Meter, Section
from tests.hand_made_audit import hand_made_audit
from tests.report.invented_audits import audit_of

NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


@lru_cache
def schema():
    """The schema of MusicXML 4.0, as the package ``musicxml`` carries it."""
    xmlschema = pytest.importorskip("xmlschema")
    package = find_spec("musicxml")
    if package is None or not package.submodule_search_locations:
        pytest.skip("the package musicxml is not installed")
    folder = Path(package.submodule_search_locations[0]) / "generate_classes"
    return xmlschema.XMLSchema(folder / "musicxml_4_0.xsd", allow="local")


def errors(text):
    return [f"{error.path}: {error.reason}" for error in schema().iter_errors(fromstring(text))]


def read_back(text, folder):
    file = folder / "written.musicxml"
    file.write_text(text, encoding="utf-8")
    return read_take_musicxml(file)


def expected(audit):
    """Pitch and quarter notes from beat one of chorus 1, of the notes that can be written."""
    form = Form(audit.chart, audit.line.choruses)
    at = {note.step: note.pitch for note in audit.labels.notes}
    return [
        (pitch, Fraction(form.quarters_of(step)).limit_denominator(96))
        for step, pitch in sorted(at.items())
    ]


def heard(take, before=0.0):
    return [
        (n.pitch, Fraction(n.onset_quarters - take.pickup_quarters - before).limit_denominator(96))
        for n in take.notes
    ]


def found(text, path):
    return [(element.text or "") for element in fromstring(text).iterfind(f"part/measure/{path}")]


@pytest.mark.parametrize("audit", [hand_made_audit(), audit_of(), audit_of(kind="written")])
def test_valid_by_the_schema_of_the_standard(audit):
    assert errors(write_musicxml(audit)) == []


@pytest.mark.parametrize("audit", [hand_made_audit(), audit_of(), audit_of(kind="written")])
def test_pitches_and_places_come_back(audit, tmp_path):
    take = read_back(write_musicxml(audit), tmp_path)
    assert heard(take) == expected(audit)
    assert take.line == (
        "part 1 (Double Bass): the only one with notes; sounds by a transposition in the file"
    )
    assert take.warnings == ()


def test_another_library_reads_the_same():
    converter = pytest.importorskip("music21.converter")
    audit = audit_of()
    text = write_musicxml(audit)
    score = converter.parse(text, format="musicxml").toSoundingPitch()
    notes = score.flatten().stripTies().notes
    at = [
        (n.pitch.midi, Fraction(n.getOffsetInHierarchy(score)).limit_denominator(96))
        for n in notes
        if n.isNote
    ]
    assert at == expected(audit)
    marks = [m.content for m in score.flatten().getElementsByClass("RehearsalMark")]
    assert marks == ["A", "B", "C"] * 3
    figures = [c.chordKind for c in score.flatten().getElementsByClass("ChordSymbol")]
    assert len(figures) == 3 * sum(len(bar.chords) for bar in audit.chart.bars)
    assert figures[:2] == ["dominant-seventh", "dominant-seventh"]


def test_labels_stand_in_two_verses():
    audit = hand_made_audit()
    root = fromstring(write_musicxml(audit))
    verses = {(lyric.get("number"), lyric.findtext("text")) for lyric in root.iter("lyric")}
    assert {("1", "R"), ("1", "3"), ("1", "5"), ("1", "A"), ("1", "O"), ("1", "g")} <= verses
    assert {("2", "chromatic"), ("2", "#1")} <= verses
    labelled = [n for n in audit.labels.notes if n.function or n.ghost]
    assert sum(lyric.get("number") == "1" for lyric in root.iter("lyric")) == len(labelled)


def test_what_stands_over_the_staff():
    words = found(write_musicxml(hand_made_audit()), "direction/direction-type/words")
    assert words[0] == "Swing"
    assert [w for w in words if w.startswith("Chorus")] == [
        f"Chorus {score.chorus}: {score.style}, commitment {score.commitment:.0f}"
        for score in hand_made_audit().judgement.choruses
    ]
    assert "one bar ahead from here" in words
    assert "perhaps adrift from here" in words
    missed = [x for x in hand_made_audit().labels.landings if x.counted and not x.met]
    assert words.count("missed") == len(missed) > 0
    assert (
        found(write_musicxml(hand_made_audit()), "direction/direction-type/rehearsal")
        == [
            "A",
            "B",
        ]
        * 3
    )


def test_where_a_loss_ends_is_told():
    audit = hand_made_audit()
    back = replace(audit.line.losses[0], recovered_step=2 * 192 + 144)
    audit = replace(audit, line=replace(audit.line, losses=(back,)))
    root = fromstring(write_musicxml(audit))
    bars = {m.get("number"): [w.text for w in m.iter("words")] for m in root.iter("measure")}
    assert "one bar ahead from here" in bars["10"]
    assert "back in place" in bars["12"]


def test_a_ghost_has_an_x_for_its_head_and_comes_back_as_one(tmp_path):
    audit = hand_made_audit()
    ghosts = [n.pitch for n in audit.labels.notes if n.ghost]
    text = write_musicxml(audit)
    assert found(text, "note/notehead") == ["x"] * len(ghosts)
    take = read_back(text, tmp_path)
    assert [n.pitch for n in take.notes if n.velocity == GHOST_VELOCITY] == ghosts
    others = [n.velocity for n in audit.labels.notes if not n.ghost]
    assert [n.velocity for n in take.notes if n.velocity != GHOST_VELOCITY] == others


def test_a_pickup_is_a_bar_as_long_as_it_is(tmp_path):
    root = fromstring(write_musicxml(hand_made_audit()))
    first = root.find("part/measure")
    assert (first.get("number"), first.get("implicit")) == ("0", "yes")
    assert [n.findtext("duration") for n in first.iter("note")] == ["6"]
    assert read_back(write_musicxml(hand_made_audit()), tmp_path).pickup_quarters == 0.5


def test_swing_and_tempo(tmp_path):
    audit = hand_made_audit()
    text = write_musicxml(audit)
    assert found(text, "direction/sound/swing/first") == ["9"]
    assert found(text, "direction/sound/swing/second") == ["5"]
    assert read_back(text, tmp_path).tempo_map.seconds_per_quarter == (0.5,)
    even = replace(audit, line=replace(audit.line, swing_ratio=1.02))
    assert "Swing" not in found(write_musicxml(even), "direction/direction-type/words")


def test_unsafe_text_is_escaped_or_left_out():
    title = 'A <b> & "C"\x00\x08\ud800 ]]> &#0; ü'
    audit = hand_made_audit()
    chart = replace(
        audit.chart,
        title=title,
        bars=tuple(replace(bar, section="<A>\x1b") for bar in audit.chart.bars),
    )
    text = write_musicxml(replace(audit, chart=chart))
    assert errors(text) == []
    root = fromstring(text)
    assert root.findtext("movement-title") == 'A <b> & "C" ]]> &#0; ü'
    assert root.find(".//rehearsal").text == "<A>"
    text.encode("utf-8")


def test_the_chart_comes_back_from_its_chord_symbols(tmp_path):
    symbols = [
        "C7alt",
        "Dm7b5",
        "G7(b9,b13)",
        "Ebmaj7#11",
        "F7sus4",
        "Bb6/9",
        "Am7/G",
        "N.C.",
        "Caug",
        "Edim7",
        "GmMaj7",
        "D13",
    ]
    chart = chart_of([[symbol] for symbol in symbols])
    audit = with_notes(chart, [(0, 12, 40)])
    text = write_musicxml(audit)
    assert errors(text) == []
    file = tmp_path / "written.musicxml"
    file.write_text(text, encoding="utf-8")
    read = read_chart_musicxml(file)
    for bar, symbol in zip(read.bars, symbols, strict=True):
        chord, meant = bar.chords[0].chord, read_chord(symbol)
        assert chord.tones == meant.tones, symbol
        assert chord.tensions == meant.tensions, symbol
        assert chord.bass == meant.bass, symbol


# ---- any line over any meter -----------------------------------------------------------------


def chart_of(bars, meter=Meter(4, 4), key=Key("C", minor=False)):  # noqa: B008 - frozen
    made = []
    for number, symbols in enumerate(bars, 1):
        steps = meter.beats * 12 // len(symbols)
        chords = tuple(ChartChord(read_chord(s), n * steps, steps) for n, s in enumerate(symbols))
        made.append(Bar(number, "A", meter, chords, number == 1))
    return Chart(
        "Any Line", key, meter, 120.0, None, ("A",), (Section("A", 1, len(made)),), tuple(made)
    )


def with_notes(chart, notes, choruses=1, kind="written"):
    """An audit of (step, steps, pitch) over a chart; its labels say nothing."""
    audit = hand_made_audit()
    form = Form(chart, choruses)
    blank = audit.labels.notes[0]
    made = tuple(
        replace(
            blank,
            pitch=pitch,
            step=step,
            end_step=step + steps,
            place=form.place(step),
            name=pitch_name(NAMES[pitch % 12], pitch),
            chord=None,
            section=None,
        )
        for step, steps, pitch in notes
    )
    return replace(
        audit,
        chart=chart,
        take=replace(audit.take, kind=kind),
        line=replace(audit.line, choruses=choruses, losses=(), beats_s=(), swing_ratio=None),
        labels=replace(audit.labels, notes=made, landings=()),
    )


@st.composite
def lines(draw):
    meter = draw(
        st.sampled_from(
            [
                Meter(4, 4),
                Meter(3, 4),
                Meter(6, 8),
                Meter(2, 2),
                Meter(5, 4),
                Meter(12, 8),
                Meter(7, 8),
            ]
        )
    )
    key = draw(
        st.sampled_from([Key("C", minor=False), Key("Gb", minor=False), Key("C#", minor=True)])
    )
    chart = chart_of([["C7"], ["F7"]], meter, key)
    end = 2 * meter.beats * 12
    # Straight to sixteenths, or triplets and their halves, as places are quantised.
    grid = draw(st.sampled_from([3, 6, 12, 4, 2, 1]))
    steps = sorted(draw(st.sets(st.integers(-4, end // grid - 1), min_size=1, max_size=24)))
    notes = []
    for place, step in enumerate(steps):
        room = (steps[place + 1] if place + 1 < len(steps) else end // grid) - step
        long = draw(st.integers(1, max(1, room)))
        notes.append((step * grid, long * grid, draw(st.integers(24, 67))))
    return with_notes(chart, notes, kind=draw(st.sampled_from(["written", "played"])))


@settings(max_examples=60, deadline=None)
@given(lines())
def test_any_line_is_valid_and_comes_back(tmp_path_factory, audit):
    text = write_musicxml(audit)
    assert errors(text) == []
    take = read_back(text, tmp_path_factory.getbasetemp())
    back, meant = heard(take), expected(audit)
    # Without a pickup bar the file begins with chorus 1; whole leading bars are counted alike.
    lead = meant[0][1] - back[0][1]
    bar = audit.chart.meter.beats * Fraction(4, audit.chart.meter.unit)
    assert lead % bar == 0
    assert [(pitch, at + lead) for pitch, at in back] == meant
    if audit.take.kind == "written":
        lengths = [note.end_step - note.step for note in audit.labels.notes]
        quarter = 12 * audit.chart.meter.unit / 4
        assert [n.duration_quarters for n in take.notes] == pytest.approx(
            [length / quarter for length in lengths]
        )


def test_every_bar_is_filled_exactly():
    root = fromstring(write_musicxml(audit_of()))
    for measure in root.iterfind("part/measure"):
        assert sum(int(d.text) for d in measure.iterfind("note/duration")) == 48


def test_the_same_audit_gives_the_same_text():
    assert write_musicxml(hand_made_audit()) == write_musicxml(hand_made_audit())
