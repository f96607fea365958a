"""Between quarter notes and seconds. The reference is mido's clock."""

from __future__ import annotations

from dataclasses import replace

import mido
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linecheck.music.form import Form
from linecheck.place.beat_grid import (
    beats_of_quarters,
    quarters_of_beats,
    quarters_of_seconds,
    seconds_of_quarters,
    seconds_per_quarter,
)
from linecheck.terms import STEPS_PER_BEAT, Bar, Chart, ChartChord, Chord, Key, Meter, TempoMap

METERS = (Meter(4, 4), Meter(6, 8), Meter(3, 4))
CHORD = Chord("C", 0, 0, "C", "C", "major", (), (), ())

CHANGING = TempoMap(
    quarters=(0.0, 4.0, 6.0), seconds=(0.0, 2.0, 4.0), seconds_per_quarter=(0.5, 1.0, 0.25)
)


def test_seconds_of_quarters():
    at = np.array([-2.0, 0.0, 1.0, 4.0, 5.0, 6.0, 8.0])
    assert seconds_of_quarters(CHANGING, at).tolist() == [-1.0, 0.0, 0.5, 2.0, 3.0, 4.0, 4.5]
    assert seconds_per_quarter(CHANGING, at).tolist() == [0.5, 0.5, 0.5, 1.0, 1.0, 0.25, 0.25]


@given(st.lists(st.floats(-100, 1000), min_size=1))
def test_there_and_back(places: list[float]):
    at = np.array(places)
    back = quarters_of_seconds(CHANGING, seconds_of_quarters(CHANGING, at))
    assert back == pytest.approx(at, abs=1e-9)


@given(st.lists(st.tuples(st.integers(1, 2000), st.integers(1000, 2_000_000)), max_size=6))
def test_midos_clock_agrees(changes: list[tuple[int, int]]):
    track, quarters, seconds, pace = mido.MidiTrack(), [0.0], [0.0], [0.5]
    for ticks, tempo in changes:
        track.append(mido.MetaMessage("set_tempo", tempo=tempo, time=ticks))
        quarters.append(quarters[-1] + ticks / 96)
        seconds.append(seconds[-1] + ticks / 96 * pace[-1])
        pace.append(tempo / 1e6)
    track.append(mido.MetaMessage("end_of_track", time=200))
    tempo_map = TempoMap(tuple(quarters), tuple(seconds), tuple(pace))
    end = np.array([quarters[-1] + 200 / 96])
    length = mido.MidiFile(ticks_per_beat=96, tracks=[track]).length
    assert seconds_of_quarters(tempo_map, end)[0] == pytest.approx(length)


def test_arrays_of_beats_and_quarters_are_as_the_form_tells_them_one_by_one():
    # A chart of three meters, with an intro, so that neither bars nor beats are all alike.
    bars = [Bar(n, "A", meter, (), n == 1) for n, meter in enumerate(METERS, 1)]
    whole = [
        replace(bar, chords=(ChartChord(CHORD, 0, bar.meter.beats * STEPS_PER_BEAT),))
        for bar in bars
    ]
    form = Form(Chart("", Key("C", minor=False), METERS[0], None, None, ("A",), (), tuple(whole), tuple(whole[:1])))  # fmt: skip
    quarters = np.arange(-90, 700) / 16 + 1 / 480
    one_by_one = [form.beats_of_quarters(q) for q in quarters.tolist()]
    assert beats_of_quarters(form, quarters).tolist() == one_by_one
    beats = np.arange(3 * form.beats)
    assert quarters_of_beats(form, beats).tolist() == [
        form.quarters_of(12 * b) for b in beats.tolist()
    ]
