"""What changes nothing, from chart and take to score: transposition, octaves, tempo."""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from linecheck.music.keys import key_moved, key_text
from linecheck.read import read_take
from linecheck.read.chart_toml import parse_chart_toml
from linecheck.steps import audit

if TYPE_CHECKING:
    from linecheck.terms import Audit, Take

DEMO = Path(__file__).parent.parent / "demo_tunes"
INDEX = tomllib.loads((DEMO / "takes.toml").read_text(encoding="utf-8"))["take"]
TAKES = {row["name"]: row for row in INDEX}
NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")  # keys in both modes
PITCH_CLASS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
# A root or a bass at the beginning of a symbol or behind its slash.
NOTE = re.compile(r"(?<![A-Za-z.#])([A-G])([#b]?)(?=[^A-Za-z#.]|m|M|d|a|s|$)")


def moved(name: re.Match[str], half_steps: int) -> str:
    shift = {"#": 1, "b": -1, "": 0}[name[2]]
    return NAMES[(PITCH_CLASS[name[1]] + shift + half_steps) % 12]


def transposed(text: str, half_steps: int) -> str:
    """A chart file's text with key and chords moved; titles, forms and sections stay."""
    lines = []
    for line in text.splitlines():
        head = line.split("=", 1)[0].strip()
        chords = "|" in line or head == "key"
        lines.append(NOTE.sub(lambda m: moved(m, half_steps), line) if chords else line)
    return "\n".join(lines)


@cache
def as_it_is(name: str) -> tuple[str, Take, Audit]:
    row = TAKES[name]
    text = (DEMO / row["chart"]).read_text(encoding="utf-8")
    take = read_take(DEMO / row["file"])
    return text, take, audit(parse_chart_toml(text, "chart"), take)


def at_pitch(take: Take, half_steps: int) -> Take:
    notes = tuple(replace(n, pitch=n.pitch + half_steps) for n in take.notes)
    return replace(take, notes=notes)


def at_tempo(take: Take, factor: float) -> Take:
    notes = tuple(
        replace(n, onset_s=n.onset_s * factor, duration_s=n.duration_s * factor) for n in take.notes
    )
    tempo_map = take.tempo_map
    if tempo_map is not None:
        tempo_map = replace(
            tempo_map,
            seconds=tuple(s * factor for s in tempo_map.seconds),
            seconds_per_quarter=tuple(s * factor for s in tempo_map.seconds_per_quarter),
        )
    return replace(take, notes=notes, tempo_map=tempo_map)


def labels(result: Audit) -> list[tuple[object, ...]]:
    return [
        (
            *(n.step, n.place, n.section, n.degree, n.function, n.function_in_own_place),
            *(n.anticipation, n.ghost, n.landing),
            n.approach and (n.approach.kind, n.approach.direction, n.approach.target_note),
        )
        for n in result.labels.notes
    ]


def same(one: Audit, other: Audit) -> None:
    assert labels(one) == labels(other)
    assert [(m.step, m.met) for m in one.labels.landings] == [
        (m.step, m.met) for m in other.labels.landings
    ]
    assert [(m.step, m.kind, m.offset_beats) for m in one.line.losses] == [
        (m.step, m.kind, m.offset_beats) for m in other.line.losses
    ]
    assert one.judgement.commitment == pytest.approx(other.judgement.commitment, abs=1e-9)


@pytest.mark.parametrize("half_steps", [-4, 1, 3, 6])
@pytest.mark.parametrize("name", TAKES)
def test_chart_and_line_transposed_together(name: str, half_steps: int) -> None:
    text, take, result = as_it_is(name)
    chart = parse_chart_toml(transposed(text, half_steps), "chart")
    assert chart.bars != result.chart.bars
    same(result, audit(chart, at_pitch(take, half_steps)))


@pytest.mark.parametrize("half_steps", [-5, -1, 2, 6])
@pytest.mark.parametrize("name", TAKES)
def test_a_line_in_another_key_over_the_chart_read_in_it(name: str, half_steps: int) -> None:
    _, take, result = as_it_is(name)
    key = key_text(key_moved(result.chart.key, half_steps))
    there = audit(result.chart, at_pitch(take, half_steps), key=key)
    same(result, there)
    assert {n.chord for n in there.labels.notes} != {n.chord for n in result.labels.notes}


@pytest.mark.parametrize("octaves", [-1, 1])
@pytest.mark.parametrize("name", TAKES)
def test_the_line_moved_by_octaves(name: str, octaves: int) -> None:
    text, take, result = as_it_is(name)
    same(result, audit(parse_chart_toml(text, "chart"), at_pitch(take, 12 * octaves)))


@pytest.mark.parametrize("factor", [0.9, 1.25])
@pytest.mark.parametrize("name", TAKES)
def test_another_tempo(name: str, factor: float) -> None:
    text, take, result = as_it_is(name)
    same(result, audit(parse_chart_toml(text, "chart"), at_tempo(take, factor)))
