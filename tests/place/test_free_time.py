"""Beats, level and first beat one of a free take, decided with the harmony."""

from __future__ import annotations

import numpy as np
import pytest

from linecheck.music.form import Form
from linecheck.place.count_in import count_ins
from linecheck.place.free_time import place_free
from linecheck.terms import TakeNote
from tests.synthetic import fifth_player, sixth_player
from tests.synthetic.beat_measures import beat_f
from tests.synthetic.charts import named_charts
from tests.synthetic.free_takes import STARTS, free_take, random_onsets
from tests.synthetic.players import graduate

BLUES = named_charts()[0]
F7, BB7 = (29, 33, 36, 39), (34, 38, 41, 32)


def _notes(onsets, pitches, length=0.3):
    return [TakeNote(float(t), length, int(p), 80) for t, p in zip(onsets, pitches, strict=True)]


def _of(take):
    columns = (take.onsets_s, take.durations_s, take.pitches, take.velocities)
    return [TakeNote(*row) for row in zip(*(c.tolist() for c in columns), strict=True)]


def _walk_blues(choruses=2):
    """Chord tones, the root on every beat one, over the twelve bars of the chart."""
    form = Form(BLUES)
    pitches = []
    for beat in range(choruses * form.beats):
        chord = form.chord(beat * 12)
        tones = [t.pitch_class for t in chord.tones]
        pitches.append(28 + (tones[beat % 4 % len(tones)] - 28) % 12)
    return pitches


def test_a_line_in_time_begins_with_its_first_note():
    pitches = _walk_blues()
    onsets = 2.0 + np.arange(len(pitches)) * 0.5
    found = place_free(_notes(onsets, pitches), Form(BLUES))
    assert found.bpm == pytest.approx(120, rel=0.01)
    assert found.beats_s[found.beat_one] == pytest.approx(2.0, abs=0.01)
    assert found.positions == pytest.approx(np.arange(len(pitches)), abs=0.03)
    assert found.steadiness > 0.9


@pytest.mark.parametrize("tempo", [42, 50, 57])
def test_a_take_that_is_practised_slowly_is_read_at_its_own_tempo(tempo):
    pitches = _walk_blues(3)
    jitter = np.random.default_rng(tempo).normal(0, 0.02, len(pitches))
    onsets = 1.0 + np.arange(len(pitches)) * 60 / tempo + jitter
    found = place_free(_notes(onsets, pitches, 0.8), Form(BLUES))
    assert found.bpm == pytest.approx(tempo, rel=0.02)
    assert found.beats_s[found.beat_one] == pytest.approx(1.0, abs=0.07)


@pytest.mark.parametrize("hits", [[0, 1, 2, 3], [0, 2, 4, 5, 6, 7], list(range(8))])
def test_a_count_in_is_no_part_of_the_line(hits):
    pitches = _walk_blues()
    length = 4 if hits[-1] < 4 else 8
    onsets = np.concatenate([np.array(hits), length + np.arange(len(pitches))]) * 0.5
    found = place_free(_notes(onsets, [41] * len(hits) + pitches), Form(BLUES))
    assert found.count_in == len(hits)
    assert found.beats_s[found.beat_one] == pytest.approx(length * 0.5, abs=0.02)


@pytest.mark.parametrize("pickup", [[], [36], [36, 40]])
def test_two_bars_of_count_in_may_leave_their_last_beats_to_a_pickup(pickup):
    pitches, hits = _walk_blues(), [0, 2, 4, 5, 6, 7][: 6 - max(1, len(pickup))]
    before = [8 - len(pickup) + number for number in range(len(pickup))]
    onsets = np.concatenate([hits, before, 8 + np.arange(len(pitches))]) * 0.5
    found = place_free(_notes(onsets, [41] * len(hits) + pickup + pitches), Form(BLUES))
    assert found.count_in == len(hits)
    assert found.beats_s[found.beat_one] == pytest.approx(4.0, abs=0.02)


def test_a_line_may_be_counted_in_to_the_middle_of_the_form():
    pitches = _walk_blues(3)[16:]
    onsets = np.concatenate([np.arange(4), 4 + np.arange(len(pitches))]) * 0.5 + 12
    found = place_free(_notes(onsets, [41] * 4 + pitches), Form(BLUES))
    assert found.count_in == 4
    assert found.positions[4] == pytest.approx(16, abs=0.05)


def test_hits_that_sound_unlike_the_line_are_rather_a_count_in():
    pitches = np.array([36, 36, *_walk_blues()])
    steps, ends = 12 * np.arange(len(pitches)), 12 * np.arange(len(pitches)) + 11
    loud = np.full(len(pitches), 80.0)
    (plain,) = count_ins(steps, ends, pitches, loud, 2)
    soft = np.where(np.arange(len(pitches)) < 2, 30.0, loud)
    short = np.where(np.arange(len(pitches)) < 2, steps + 3, ends)
    for way in (
        count_ins(steps, ends, pitches, soft, 2),
        count_ins(steps, short, pitches, loud, 2),
        count_ins(steps, ends, np.array([76, 76, *pitches[2:]]), loud, 2),
    ):
        assert way[0][:2] == plain[:2]
        assert way[0].log_prior > plain.log_prior + 1


def test_a_pickup_lies_before_beat_one():
    pitches = _walk_blues()
    onsets = np.concatenate([[-1.0, -0.5], np.arange(len(pitches)) * 0.5]) + 3
    found = place_free(_notes(onsets, [36, 40, *pitches]), Form(BLUES))
    assert found.positions[:3] == pytest.approx([-2, -1, 0], abs=0.05)


def test_a_take_from_the_middle_of_the_form_has_its_beat_one_before_it():
    pitches = _walk_blues(3)[16:]
    onsets = np.arange(len(pitches)) * 0.5 + 1
    found = place_free(_notes(onsets, pitches), Form(BLUES))
    assert found.positions[0] == pytest.approx(16, abs=0.05)
    assert found.beats_s[found.beat_one] == pytest.approx(1 - 16 * 0.5, abs=0.05)
    assert len(found.beats_s) > found.beat_one + len(pitches)


def test_a_line_in_two_is_counted_in_quarters_by_its_chords():
    pitches = _walk_blues(3)[::2]
    onsets = np.arange(len(pitches)) * 0.8
    found = place_free(_notes(onsets, pitches, 0.7), Form(BLUES))
    assert found.bpm == pytest.approx(150, rel=0.01)


@pytest.mark.parametrize("tempo", [75.0, 150.0])
def test_a_given_tempo_settles_the_level(tempo):
    pitches = [29] * 60
    found = place_free(_notes(np.arange(60) * 0.4, pitches), Form(BLUES), given_tempo=tempo)
    assert found.bpm == pytest.approx(tempo, rel=0.02)


def test_too_little_to_tell():
    assert place_free(_notes([0, 0.5, 1.0], [29, 33, 36]), Form(BLUES)) is None


def test_onsets_by_chance_have_no_steady_beat():
    steadiness = []
    for seed in range(12):
        found = place_free(_random(seed), Form(BLUES))
        steadiness.append(found.steadiness)
    assert max(steadiness) < 0.25


def _random(seed):
    made = random_onsets(seed, notes=120 + 20 * seed, a_second=1.5 + 0.3 * seed)
    columns = (made[k].tolist() for k in ("onsets_s", "durations_s", "pitches", "velocities"))
    return [TakeNote(*row) for row in zip(*columns, strict=True)]


def test_synthetic_walking_takes_that_begin_in_every_way():
    scores, right, steady = [], [], []
    for seed in range(500, 520):
        start = STARTS[seed % len(STARTS)]
        made = free_take(seed, kind="walking", start=start)
        form = Form(made.chart)
        found = place_free(_of(made.take), form)
        scores.append(beat_f(found.beats_s, made.take))
        steady.append(found.steadiness)
        meant = made.take.steps / 12
        away = float(np.nanmedian((found.positions - meant)[:12]))
        if "middle" in made.start:  # which chorus it is called is a matter of counting
            away = (away + form.beats / 2) % form.beats - form.beats / 2
        right.append(abs(away) < 0.4)
    assert np.mean(scores) > 0.97
    assert np.mean(right) >= 0.95
    assert min(steady) > 0.5


def test_synthetic_takes_that_are_counted_in_to_the_middle_of_the_form():
    right = []
    for seed in range(520, 540):
        made = free_take(seed, who=graduate, kind="walking", start="counted to the middle")
        form = Form(made.chart)
        found = place_free(_of(made.take), form)
        away = np.nanmedian((found.positions - made.take.steps / 12)[found.count_in :][:12])
        away = (away + form.beats / 2) % form.beats - form.beats / 2
        right.append(found.count_in > 0 and abs(away) < 0.4)
    assert np.mean(right) >= 0.9


# A first grid that slid from the beats to the off-beats had the closer look even out a drift that
# the take does not have.
@pytest.mark.parametrize(
    ("who", "seed"), [(None, 88093), (fifth_player, 2002), (fifth_player, 2085), (sixth_player, 2045)]
)  # fmt: skip
def test_a_wrong_first_grid_is_put_right(who, seed):
    made = free_take(seed, who=who)
    found = place_free(_of(made.take), Form(made.chart))
    assert found is not None
    assert beat_f(found.beats_s, made.take) > 0.97


def test_a_tempo_that_sways_by_phrases_is_followed():
    scores, right = [], []
    for seed in range(700, 724):
        made = free_take(seed, start="one", who=graduate, sway=0.06)
        found = place_free(_of(made.take), Form(made.chart))
        scores.append(beat_f(found.beats_s, made.take))
        right.append(abs(float(np.median((found.positions - made.take.steps / 12)[:12]))) < 0.4)
    assert np.mean(scores) > 0.95
    assert np.mean(right) > 0.85
