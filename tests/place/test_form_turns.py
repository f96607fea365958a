"""Where a stretch is said to begin, and what one state gains over another."""

from __future__ import annotations

import numpy as np
import pytest

from linecheck.music.form import Form
from linecheck.place.form_evidence import form_tables
from linecheck.place.form_loss import find_form
from linecheck.place.form_path import Stretch
from linecheck.place.form_turns import StateGain, place_turns
from linecheck.terms import STEPS_PER_BEAT
from tests.label_lines import chart_of
from tests.measure_form import match
from tests.synthetic.drawn_takes import draw_take
from tests.synthetic.players import graduate

BARS = "| C7 | F7 | Bb7 | Eb7 | Ab7 | Db7 | Gb7 | B7 | E7 | A7 | D7 | G7 |"
AHEAD, ADRIFT = 4, 48


def gained(beats: int, seed: int = 0) -> StateGain:
    """Evidence by lot, weighed as a take weighs it: offsets by half, adrift by a third."""
    raw = np.random.default_rng(seed).normal(size=(beats, ADRIFT + 1)).astype(np.float32)
    gain = 0.5 * (raw - raw[:, :1])
    gain[:, ADRIFT] = (raw[:, ADRIFT] - raw[:, 0]) / 3
    return StateGain(gain, raw, np.full(beats, 1 / 3, dtype=np.float32))


@pytest.mark.parametrize("one", [0, AHEAD, ADRIFT])
@pytest.mark.parametrize("other", [0, AHEAD, ADRIFT])
def test_what_a_state_gains_over_another_that_one_loses(one: int, other: int) -> None:
    gain = gained(96)
    here, back = gain.over(one, other, 8, 72), gain.over(other, one, 8, 72)
    assert np.allclose(here, -back)
    assert len(here) == 64


def test_adrift_is_held_against_an_offset_as_against_being_in_place() -> None:
    gain = gained(96)
    over_offset = gain.over(ADRIFT, AHEAD, 0, 96)
    assert np.allclose(over_offset, (gain.raw[:, ADRIFT] - gain.raw[:, AHEAD]) / 3, atol=1e-5)


def begins(nats: np.ndarray) -> int:
    """The beat at which a slip is said to begin that gains ``nats`` beat by beat."""
    form = Form(chart_of(BARS))
    gain = np.zeros((len(nats), ADRIFT + 1), dtype=np.float32)
    gain[:, AHEAD] = nats
    told = StateGain(gain, np.zeros_like(gain), np.zeros(len(nats), dtype=np.float32))
    path = [Stretch(0, 40, 0), Stretch(40, len(nats), AHEAD)]
    return place_turns(path, told, form_tables(form), form, 0)[1].start


def test_a_slip_that_the_notes_show_begins_where_they_do() -> None:
    assert begins(np.where(np.arange(96) < 44, -2.0, 2.0)) == 44


def test_of_bars_that_tell_nothing_a_late_one_is_taken() -> None:
    silent = np.zeros(96)
    silent[:46], silent[80:] = -2.0, 2.0  # the next chorus begins at 48, where a line likely turns
    assert 64 <= begins(silent) <= 80


def test_adrift_beside_a_slip_takes_nothing_from_it() -> None:
    take = draw_take(np.random.default_rng(20), "two slips walking", graduate)
    columns = [list(column) for column in zip(*take.line, strict=True)]
    losses = find_form(*columns, Form(take.chart, take.choruses)).losses
    bar = take.chart.meter.beats * STEPS_PER_BEAT
    pairs, _, false = match(take.truth, [x for x in losses if x.certain], bar)
    assert pairs
    assert not false


def back(nats: np.ndarray) -> int:
    """The beat from which on a line is back that was a bar ahead over changes and a long C7."""
    form = Form(chart_of("| F7 | Bb7 | Eb7 | F7 | C7 | C7 | C7 | C7 | F7 | Bb7 | Eb7 | Ab7 |"))
    gain = np.zeros((len(nats), ADRIFT + 1), dtype=np.float32)
    gain[:, AHEAD] = nats
    told = StateGain(gain, np.zeros_like(gain), np.zeros(len(nats), dtype=np.float32))
    path = [Stretch(0, 28, AHEAD), Stretch(28, len(nats), 0)]
    return place_turns(path, told, form_tables(form), form, 0)[1].start


def test_a_line_is_back_at_the_first_bar_line_from_which_on_nothing_shows_it_lost() -> None:
    beats = np.arange(48)
    # A bar ahead it has C7 from bar 4 on, so that bars 5 to 7 are the same in both places.
    assert back(np.where(beats < 16, 2.0, np.where(beats < 32, 0.0, -2.0))) == 16
    assert back(np.where(beats < 22, 2.0, np.where(beats < 32, 0.0, -2.0))) == 24


def test_a_line_is_back_where_the_notes_say_so_and_not_sooner() -> None:
    assert back(np.where(np.arange(48) < 10, 2.0, -2.0)) == 10
