"""One tune in every chart format is one chart."""

from __future__ import annotations

import pytest

from linecheck.read import CHART_FORMATS, read_chart
from tests.read.small_scores import (
    FORWARD,
    TIME_44,
    degree,
    direction,
    ending,
    harmony,
    measure,
    part,
    rehearsal,
    rest,
    score,
    words,
)

TOML = """
title = "Ferry Steps"
key = "Gm"
meter = "4/4"
tempo = 132
feel = "swing"
form = ["A", "A2", "B"]
[sections]
A = "| Gm7 / C7 / | Fmaj7 | Bb7(#11) / / Am7b5 | D7alt |"
A2 = "| Gm7 / C7 / | Fmaj7 | Bb7(#11) / / Am7b5 | Gm6 |"
B = { meter = "3/4", bars = "| Cm/Bb | N.C. |" }
"""
ABC = """X:1
T:Ferry Steps
M:4/4
L:1/4
Q:"Swing" 1/4=132
K:Gm
P:A
|: "Gm7"z2 "C7"z2 | "Fmaj7"z4 | "Bb7(#11)"z3 "Am7b5"z |1 "D7alt"z4 :|2 "Gm6"z4 ||
P:B
[M:3/4] "Cm/Bb"z3 | "N.C."z3 |]
"""
MUSICXML = score(
    part(
        measure(
            rehearsal("A"),
            words("Swing"),
            direction(
                "<metronome><beat-unit>quarter</beat-unit><per-minute>132</per-minute></metronome>"
            ),
            FORWARD,
            harmony("G", "minor-seventh"),
            rest(24),
            harmony("C", "dominant"),
            rest(24),
        ),
        measure(harmony("F", "major-seventh"), rest(48)),
        measure(
            harmony("Bb", "dominant", after=degree(11, 1, "add")),
            rest(36),
            harmony("A", "half-diminished"),
            rest(12),
        ),
        measure(
            ending("1", "start"),
            harmony("D", "dominant", text="7alt"),
            rest(48),
            ending("1", "stop", '<repeat direction="backward"/>'),
        ),
        measure(ending("2", "start"), harmony("G", "minor-sixth"), rest(48), ending("2", "stop")),
        measure(
            rehearsal("B"),
            harmony("C", "minor", bass="Bb"),
            rest(36),
            attributes=TIME_44.replace("<beats>4", "<beats>3"),
        ),
        measure(harmony("C", "none"), rest(36)),
        attributes="<key><fifths>-2</fifths><mode>minor</mode></key>" + TIME_44,
    ),
    head="<movement-title>Ferry Steps</movement-title>",
)
TEXTS = {".toml": TOML, ".abc": ABC, ".musicxml": MUSICXML, ".xml": MUSICXML}


@pytest.mark.parametrize("suffix", sorted({*CHART_FORMATS} - {".toml", ".mxl"}))
def test_every_format_gives_the_same_chart(tmp_path, suffix):
    charts = []
    for name in (".toml", suffix):
        file = tmp_path / f"tune{name}"
        file.write_text(TEXTS[name], encoding="utf-8")
        charts.append(read_chart(file))
    one, two = charts
    assert (two.title, two.key, two.meter) == (one.title, one.key, one.meter)
    assert (two.tempo, two.feel) == (one.tempo, one.feel)
    assert [(s.bar, s.bars) for s in two.sections] == [(s.bar, s.bars) for s in one.sections]
    assert two.form == ("A", "A", "B")  # a repeat keeps its name
    assert two.warnings == one.warnings == ()
    for bar, other in zip(one.bars, two.bars, strict=True):
        assert (other.number, other.meter, other.opens_section) == (
            bar.number,
            bar.meter,
            bar.opens_section,
        )
        for placed, found in zip(bar.chords, other.chords, strict=True):
            assert (found.step, found.steps) == (placed.step, placed.steps)
            assert found.chord.tones == placed.chord.tones
            assert found.chord.tensions == placed.chord.tensions
            assert found.chord.available == placed.chord.available
            assert (found.chord.root_name, found.chord.bass_name, found.chord.kind) == (
                placed.chord.root_name,
                placed.chord.bass_name,
                placed.chord.kind,
            )
