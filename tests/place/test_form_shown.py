"""A line that shows nowhere where in the form it is: it is told so, and no form is praised."""

from __future__ import annotations

from dataclasses import replace

import pytest

from linecheck.judge.right_chart import NOBODY_CAN_TELL, NOT_SHOWN
from linecheck.read import read_chart, read_take
from linecheck.read.chart_toml import parse_chart_toml
from linecheck.report.findings_in_words import verdict
from linecheck.report.what_was_good import what_was_good
from linecheck.steps import audit
from linecheck.terms import Take, TakeNote, TempoMap
from tests.test_invariants import DEMO, TAKES

SCALE = (0, 2, 4, 5, 7, 9, 11, 12, 11, 9, 7, 5, 4, 2)  # half steps over the tonic


def over(chart: str, take: str, pitch_of=None):
    """A demo take over a demo chart, with other pitches where they are asked for."""
    played = read_take(DEMO / TAKES[take]["file"])
    if pitch_of is not None:
        notes = tuple(replace(n, pitch=pitch_of(i)) for i, n in enumerate(played.notes))
        played = replace(played, notes=notes)
    return audit(read_chart(DEMO / "charts" / chart), played)


def lost_share(found) -> float:
    """How much of the line is out of place."""
    steps = [(s.end_step - s.step, s.offset_beats != 0) for s in found.line.spans]
    return sum(n for n, out in steps if out) / sum(n for n, _ in steps)


@pytest.mark.parametrize("name", TAKES)
def test_every_demo_take_shows_the_form_of_its_chart(name):
    found = audit(DEMO / TAKES[name]["chart"], DEMO / TAKES[name]["file"])
    assert found.line.shows_form
    assert NOT_SHOWN not in found.warnings


@pytest.mark.parametrize(
    ("chart", "take"),
    [
        ("slow_ferry.toml", "sefa"),
        ("gravel_and_rain.toml", "mira"),
        ("ninepenny_walk.toml", "wen"),
        ("gravel_and_rain.toml", "wen"),
        ("lamp_oil.toml", "paola"),
        ("attic_window.toml", "juno"),
    ],
)
def test_over_the_chart_of_another_tune_it_is_doubted_or_told_lost_and_never_in_form(chart, take):
    found = over(chart, take)
    doubted = [text for text in found.warnings if "right chart" in text or "key right" in text]
    assert doubted or lost_share(found) > 0.5
    assert not verdict(found).startswith("The form is kept")


@pytest.mark.parametrize(
    "pitch_of",
    [lambda _: 34, lambda i: 39 + SCALE[i % 14]],
    ids=["one note", "the scale of the key"],
)
def test_a_line_that_knows_nothing_of_the_chords_is_told_so(pitch_of):
    found = over("attic_window.toml", "wen", pitch_of)
    assert lost_share(found) == 0
    assert not found.line.shows_form
    assert any("right chart" in text for text in found.warnings)
    assert what_was_good(found) == []
    assert verdict(found).startswith(("The line does not show where", "The line hardly fits"))


def test_a_line_that_goes_up_by_half_steps_is_adrift():
    found = over("attic_window.toml", "wen", lambda i: 28 + i % 24)
    assert lost_share(found) > 0.75


def test_a_pedal_that_the_whole_chart_asks_for_is_no_doubt_about_the_chart():
    chart = parse_chart_toml(
        'title = "Over G"\nkey = "G"\nform = ["A"]\n[sections]\n'
        'A = "| G7 | C/G | G7 | D7/G | C/G | Cm6/G | G7 | D7/G |"\n'
    )
    notes = tuple(TakeNote(n * 0.5, 0.45, 31, 80, float(n), 0.9) for n in range(64))
    found = audit(chart, Take("made", "written", notes, TempoMap((0.0,), (0.0,), (0.5,))))
    assert not found.line.shows_form
    assert NOBODY_CAN_TELL in found.warnings
    assert not any(said.doubt == "chart" for said in found.warnings)
    assert what_was_good(found)
