"""Whether a take was played to its file's grid.

Takes are drawn by ``tests.measure_click``, which measures how often the answer is wrong over many
more of them; here a few seeds of every row guard the answer.
"""

from __future__ import annotations

import numpy as np
import pytest

from linecheck.place.click_evidence import click_evidence
from linecheck.terms import Take, TakeKind, TakeNote, TempoMap
from tests.measure_click import CLICK, FREE, click_take, free_take

SEEDS = 12


def take(quarters: np.ndarray | list[float], bpm: float = 120, kind: TakeKind = "played") -> Take:
    notes = tuple(TakeNote(q * 60 / bpm, 0.2, 40, 80, float(q), 0.3) for q in quarters)
    return Take("take.mid", kind, notes, TempoMap((0.0,), (0.0,), (60 / bpm,)))


def wrong(row: str, kind: str) -> int:
    click = row in CLICK
    make = click_take if click else free_take
    drawn = (make(row, kind, np.random.default_rng([s, 77])) for s in range(SEEDS))
    return sum(click_evidence(t).usable != click for t in drawn)


@pytest.mark.parametrize("kind", ["walking", "solo"])
@pytest.mark.parametrize("row", CLICK)
def test_takes_to_a_click(row: str, kind: str):
    assert wrong(row, kind) <= 1


@pytest.mark.parametrize("kind", ["walking", "solo"])
@pytest.mark.parametrize("row", FREE)
def test_free_takes(row: str, kind: str):
    assert wrong(row, kind) <= (2 if row in {"near the tempo", "drifting 2 %"} else 1)


@pytest.mark.parametrize("bpm", [80, 90, 100, 140, 150, 160, 180])
@pytest.mark.parametrize("start", [0.0, 0.31])
def test_a_steady_pulse_that_is_not_the_files(bpm: float, start: float):
    found = click_evidence(take(np.arange(96) * 120 / bpm + start))
    assert not found.usable
    assert found.reason == "the notes drift through the beats of the file"


@pytest.mark.parametrize("late_s", [-0.05, 0.0, 0.04, 0.11])
def test_a_steady_lateness_is_no_drift(late_s: float):
    rng = np.random.default_rng(5)
    onsets = np.arange(96) + (late_s + rng.normal(0, 0.012, 96)) * 2
    found = click_evidence(take(np.sort(onsets)))
    assert found.usable
    assert found.reason == "the notes keep to the beats of the file"
    assert found.lateness_s == pytest.approx(late_s, abs=0.012)


def test_a_pulse_at_the_files_tempo_but_not_on_its_beats():
    found = click_evidence(take(np.arange(96) + 0.4))
    assert not found.usable
    assert found.reason == "the notes lie +198 ms off the beats of the file throughout"


def test_a_written_line_has_a_grid():
    assert click_evidence(take([0.37, 0.91, 1.17] * 5, kind="written")).usable


def test_clock_time_is_no_grid():
    notes = tuple(TakeNote(i / 2, 0.4, 40, 80) for i in range(40))
    found = click_evidence(Take("take.mid", "played", notes, None))
    assert not found.usable
    assert found.reason == "the file counts clock time and has no beats"


@pytest.mark.parametrize(("bpm", "text"), [(2000, "2e+03"), (6, "6")])
def test_a_tempo_that_none_plays_to(bpm: float, text: str):
    found = click_evidence(take(np.arange(40.0), bpm=bpm))
    assert not found.usable
    assert found.reason == f"the file's tempo, {text} a minute, is none to play to"


def test_too_few_notes_to_doubt():
    assert click_evidence(take([0.3, 1.4, 2.1])).usable
    assert click_evidence(take([])).usable


def test_the_answer_does_not_depend_on_where_the_take_begins():
    made = click_take("plain", "walking", np.random.default_rng(1))
    onsets = np.array([n.onset_quarters for n in made.notes])
    supports = [click_evidence(take(onsets + shift)).support for shift in (0, 16, 1000)]
    assert supports == pytest.approx([supports[0]] * 3, rel=0.02)
