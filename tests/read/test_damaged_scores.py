"""Scores that were changed at random are read or refused in one line, and never for long."""

from __future__ import annotations

import io
import time
import zipfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from linecheck.faults import ChartFault, InputFault, TakeFault
from linecheck.read.chart_abc import read_chart_abc
from linecheck.read.chart_musicxml import read_chart_musicxml
from linecheck.read.take_written import read_take_abc, read_take_musicxml
from linecheck.terms import Chart, Take
from tests.read.small_scores import (
    BACKWARD,
    BASS_CLEF,
    DOUBLE,
    FORWARD,
    OCTAVE_DOWN,
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

MUSICXML = score(
    part(
        measure(note("G2", 12), implicit=True),
        measure(
            rehearsal("A"),
            FORWARD,
            harmony("C", "minor-seventh", bass="G"),
            note("C3", 24, inside="<tie type='start'/>"),
            harmony("F", "dominant", after=degree(9, -1, "add") + "<offset>6</offset>"),
            note("C3", 12, inside="<tie type='stop'/>"),
            note("D3", 0, before="<grace/>"),
            note("E3", 12, inside="<notehead>x</notehead>"),
        ),
        measure(
            ending("1", "start"),
            direction(
                "<metronome><beat-unit>half</beat-unit><per-minute>90</per-minute></metronome>"
            ),
            *(note("G2", 4) for _ in range(3)),
            rest(24),
            ending("1", "stop", '<repeat direction="backward"/>'),
        ),
        measure(ending("2", "start"), harmony("Bb"), note("Bb2", 36), ending("2", "stop"), DOUBLE),
        measure(rehearsal("B"), words("To Coda"), note("F2", 48)),
        measure(words("D.C. al Coda"), note("E2", 24), note("G2", 24, before="<chord/>"), rest(24)),
        measure(direction("<coda/>"), harmony("C", "major-sixth"), note("C3", 48), BACKWARD),
        attributes="<key><fifths>-3</fifths><mode>minor</mode></key>"
        + TIME_44
        + BASS_CLEF
        + OCTAVE_DOWN,
    ),
    names=("Bass",),
    head="<work><work-title>Low Road</work-title></work>",
)
ABC = """X:1
T:Low Road
P:AB2
M:4/4
L:1/8
Q:"Swing" 1/4=132
V:1 name="Bass" clef=bass transpose=-12
K:Gm
P:A
D2 |: "Gm7"G,2 (3B,CD ^F>G z2 | "Cm7/Bb" [CE]4 {f}D2- D/E// |1 "F7"F8 :|2 !f!"D7#9"d4 D,,4 ||
P:B
[M:3/4] "^Bossa" "Eb6" E6 | [K:Bb] "A7alt" =A,2 B,2 _C2 | Z2 | "D7" D4 !D.C.! |]
"""
READERS = {
    "chart.musicxml": (MUSICXML, read_chart_musicxml, ChartFault),
    "take.musicxml": (MUSICXML, read_take_musicxml, TakeFault),
    "chart.abc": (ABC, read_chart_abc, ChartFault),
    "take.abc": (ABC, read_take_abc, TakeFault),
}
FRAGMENTS = [b"<", b">", b'"', b"&", b"]]>", b"-1", b"99999999999999999999", b"0", b"\0", b"\xff",
             b"<a>", b"|:", b":|", b"[", b"]", b"(9", b"/0", b"Z", b"\n\n", b"{", b"e9", b"1/", b"nan",
             b"</note>", b"<backup><duration>1</duration></backup>", b"V:2\n", b"K:", b"%", b'"']  # fmt: skip


def test_the_whole_files_are_read(tmp_path):
    for name, (text, reader, _) in READERS.items():
        file = tmp_path / name
        file.write_text(text, encoding="utf-8")
        assert isinstance(reader(file), Chart | Take)


@st.composite
def damaged(draw):
    name = draw(st.sampled_from(sorted(READERS)))
    content = bytearray(READERS[name][0].encode())
    for _ in range(draw(st.integers(1, 5))):
        at = draw(st.integers(0, len(content)))
        match draw(st.sampled_from(["cut", "drop", "double", "byte", "insert"])):
            case "cut":
                del content[at:]
            case "drop":
                del content[at : at + draw(st.integers(1, 40))]
            case "double":
                piece = content[at : at + draw(st.integers(1, 200))]
                content[at:at] = piece * draw(st.integers(1, 4))
            case "byte":
                content[at : at + 1] = bytes([draw(st.integers(0, 255))])
            case "insert":
                content[at:at] = draw(st.sampled_from(FRAGMENTS))
    return name, bytes(content)


@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(damaged())
def test_damage_is_read_or_refused_in_one_line(tmp_path_factory, case):
    name, content = case
    file = tmp_path_factory.getbasetemp() / name
    file.write_bytes(content)
    _, reader, kind = READERS[name]
    begin = time.perf_counter()
    try:
        found = reader(file)
    except InputFault as fault:
        assert type(fault) is kind  # noqa: PT017 - it need not be raised
        assert str(fault).startswith(str(file))  # noqa: PT017
        assert "\n" not in str(fault)  # noqa: PT017
    else:
        check_chart(found) if isinstance(found, Chart) else check_take(found)
    assert time.perf_counter() - begin < 5


def check_chart(chart):
    assert chart.bars
    for bar in (*chart.intro, *chart.bars, *chart.ending):
        at = 0
        for placed in bar.chords:
            assert placed.step == at
            assert placed.steps > 0
            at += placed.steps
        assert at == bar.meter.beats * 12
    assert chart.bars[0].opens_section
    assert sum(section.bars for section in chart.sections) == len(chart.bars)


def check_take(take):
    assert take.notes
    before = -1.0
    for one in take.notes:
        assert before < one.onset_quarters
        before = one.onset_quarters
        assert one.duration_quarters > 0
        assert one.duration_s > 0
        assert 0 <= one.pitch <= 127
        assert 1 <= one.velocity <= 127
    assert take.meters[0].quarters == 0


@settings(max_examples=150, deadline=None)
@given(st.text(st.sampled_from("|:[]ABCdefgz()<>/23\"^_=,'-& {}!.%\nVKMP"), max_size=80))
def test_any_typing_after_a_header_is_read_or_refused(tmp_path_factory, text):
    file = tmp_path_factory.getbasetemp() / "typed.abc"
    file.write_text(f"X:1\nM:4/4\nL:1/4\nK:C\n{text}", encoding="utf-8")
    for reader in (read_chart_abc, read_take_abc):
        try:
            found = reader(file)
        except InputFault as fault:
            assert "\n" not in str(fault)  # noqa: PT017 - it need not be raised
        else:
            check_chart(found) if isinstance(found, Chart) else check_take(found)


@pytest.mark.parametrize("reader", [read_chart_musicxml, read_take_musicxml])
def test_noise_under_each_suffix(tmp_path, reader):
    for suffix in ("musicxml", "xml", "mxl"):
        file = tmp_path / f"noise.{suffix}"
        file.write_bytes(bytes(range(256)) * 40)
        with pytest.raises(InputFault, match=r"noise\.(musicxml|xml|mxl)(, line 1)?: is not"):
            reader(file)


def test_a_packed_score_is_read_as_the_plain_one(tmp_path):
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("tune.xml", MUSICXML)
    (tmp_path / "tune.mxl").write_bytes(packed.getvalue())
    (tmp_path / "tune.xml").write_text(MUSICXML, encoding="utf-8")
    one = read_chart_musicxml(tmp_path / "tune.mxl")
    two = read_chart_musicxml(tmp_path / "tune.xml")
    assert one.bars == two.bars


@pytest.mark.parametrize(
    ("name", "text", "message"),
    [
        # Everything below took minutes, or all memory, before it had a limit.
        ("b.musicxml", ['<sound dacapo="yes"/>'], "lead to more than 50000 measures"),
        (
            "c.musicxml",
            [FORWARD, '<barline><repeat direction="backward" times="64"/></barline>'],
            "lead to more than 50000 measures",
        ),
    ],
)
def test_jumps_without_end_are_refused_quickly(tmp_path, name, text, message):
    file = tmp_path / name
    bars = [measure(*text[:1], note("C3", 48), *text[1:])] * 2000
    file.write_text(score(part(*bars)), encoding="utf-8")
    begin = time.perf_counter()
    with pytest.raises(TakeFault, match=message):
        read_take_musicxml(file)
    assert time.perf_counter() - begin < 10


def test_scores_of_a_corpus_are_takes():
    # Bass parts of music21's corpus: every note of the last part, sounding as written.
    music21 = pytest.importorskip("music21")
    folder = Path(music21.__file__).parent / "corpus" / "bach"
    read = 0
    for file in sorted(folder.glob("bwv2[5-9]*.mxl")):
        try:
            take = read_take_musicxml(file, track="4")
        except TakeFault as fault:
            assert "no part is called" in str(fault)  # noqa: PT017 - some have fewer parts
            continue
        check_take(take)
        read += 1
    assert read >= 50
