"""Beats from onsets alone: exact on plain cases, and measured on synthetic takes."""

from __future__ import annotations

import numpy as np
import pytest

from linecheck.place.beat_fit import smooth_beats
from linecheck.place.beat_lattice import best_paths
from linecheck.place.beat_tracking import track_beats
from linecheck.place.rhythm_likelihood import chain, styles_of
from tests.synthetic.beat_measures import beat_errors_ms, beat_f
from tests.synthetic.free_takes import free_take

LOUD = 80


def _track(onsets, **options):
    onsets = np.asarray(onsets, dtype=float)
    return track_beats(onsets, np.full(len(onsets), LOUD), **options)


@pytest.mark.parametrize("bpm", [60, 97, 144, 211, 300])
def test_even_walking_gives_back_its_beats(bpm):
    onsets = 1.3 + np.arange(48) * 60 / bpm
    best = _track(onsets)[0]
    assert best.bpm == pytest.approx(bpm, rel=0.005)
    nearest = np.abs(best.beats_s[:, None] - onsets[None, :]).min(axis=0)
    assert nearest.max() < 0.003
    assert best.beats_s[0] < onsets[0]
    assert best.beats_s[-1] > onsets[-1]


def test_positions_are_onsets_on_the_beats():
    onsets = np.cumsum(np.full(40, 0.5))
    for reading in _track(onsets):
        by_beats = np.interp(onsets, reading.beats_s, np.arange(len(reading.beats_s)))
        assert reading.positions == pytest.approx(by_beats, abs=1e-6)


def test_a_line_in_two_has_the_quarters_among_its_readings():
    rates = [r.bpm for r in _track(np.arange(40) * 0.8)]
    assert any(rate == pytest.approx(150, rel=0.01) for rate in rates)
    assert any(rate == pytest.approx(75, rel=0.01) for rate in rates)


# A note every 0.4 s: quarters at 150 or eighths at 75.
@pytest.mark.parametrize("bpm", [75.0, 150.0])
def test_a_range_of_tempos_settles_the_level(bpm):
    best = _track(np.arange(40) * 0.4 + 1, bpm_range=(bpm / 1.3, bpm * 1.3))[0]
    assert best.bpm == pytest.approx(bpm, rel=0.01)


def test_a_hint_speaks_for_its_level():
    def lead(hint):
        readings = _track(np.arange(40) * 0.4 + 1, tempo_hint=hint)
        slow, fast = (
            max(r.log_likelihood for r in readings if r.bpm == pytest.approx(bpm, rel=0.01))
            for bpm in (75, 150)
        )
        return slow - fast

    assert lead(75.0) - lead(150.0) > 4


def test_swung_skips_leave_the_beat_where_it_is():
    beats = np.arange(64) * 0.45
    skips = beats[3::5] + 0.45 * 0.66
    onsets = np.sort(np.concatenate([beats, skips]))
    best = _track(onsets)[0]
    assert best.bpm == pytest.approx(60 / 0.45, rel=0.005)
    assert best.swing == pytest.approx(0.66, abs=0.03)


def test_a_rest_of_four_bars_is_counted_through():
    beats = np.arange(96) * 0.4
    onsets = beats[(beats < 12) | (beats > 18.6)]
    best = _track(onsets)[0]
    nearest = np.abs(best.beats_s[:, None] - beats[None, :]).min(axis=0)
    assert nearest.max() < 0.02


@pytest.mark.parametrize("onsets", [[], [1.0], [0.0, 0.5, 1.0], [0.0, 0.1, 0.2, 0.3, 0.4]])
def test_too_little_to_tell(onsets):
    assert _track(onsets) == []


def _takes(kind, seeds):
    made = (free_take(seed, kind=kind, start="one") for seed in seeds)
    return [t.take for t in made if t.chart.meter.unit == 4]


def test_synthetic_walking_takes():
    scores, errors = [], []
    for take in _takes("walking", range(310, 324)):
        # The level may stay open by rhythm alone.
        near = (take.hand.bpm / 1.3, take.hand.bpm * 1.3)
        best = track_beats(take.onsets_s, take.velocities, bpm_range=near)[0]
        scores.append(beat_f(best.beats_s, take))
        errors.append(np.median(beat_errors_ms(best.beats_s, take)))
    assert np.mean(scores) > 0.98
    assert np.median(errors) < 10


def test_the_true_beats_are_among_the_readings_of_solos():
    scores = []
    for take in _takes("mixed", range(400, 414)):
        readings = track_beats(take.onsets_s, take.velocities)
        scores.append(max(beat_f(r.beats_s, take) for r in readings))
    assert np.mean(scores) > 0.94


def test_smoothing_is_the_least_squares_solution():
    rng = np.random.default_rng(5)
    place = np.sort(rng.uniform(0, 29, 40))
    times = place * 0.5 + rng.normal(0, 0.02, 40)
    weights = rng.uniform(0.2, 1, 40)
    count, stiffness = 31, 9.0
    rows = np.zeros((40, count))
    low = np.floor(place).astype(int)
    rows[np.arange(40), low] = 1 - (place - low)
    rows[np.arange(40), low + 1] = place - low
    bend = np.diff(np.eye(count), 2, axis=0)
    # The normal equations, solved by LAPACK.
    expected = np.linalg.solve(
        rows.T @ (weights[:, None] * rows) + stiffness * bend.T @ bend, rows.T @ (weights * times)
    )
    found = smooth_beats(place, times, weights, count, stiffness)
    assert found == pytest.approx(expected, abs=1e-9)


def test_the_path_of_a_steady_beat_is_straight():
    onsets = np.arange(60) * 0.5 + 2
    path = best_paths(onsets, 50, 330)[0]
    place = np.interp(onsets, path.times_s, path.positions)
    fitted = np.polyval(np.polyfit(onsets, place, 1), onsets)
    # Its level is for the second pass to say; a phase bin is a twenty-fourth of a beat.
    assert np.abs(place - fitted).max() < 1.5 / 24


def test_no_two_readings_count_the_take_alike():
    for take in _takes("mixed", range(400, 404)):
        readings = track_beats(take.onsets_s, take.velocities, most=20)
        assert 10 < len(readings) <= 20
        for index, reading in enumerate(readings):
            for other in readings[:index]:
                away = reading.positions - other.positions
                away -= np.rint(np.median(away))
                assert np.mean(np.abs(away) < 0.12) <= 0.97


@pytest.mark.parametrize("beats", [2, 3, 4, 5, 6])
def test_the_chain_of_styles_is_the_forward_algorithm(beats):
    styles = styles_of(beats)
    rng = np.random.default_rng(beats)
    table = rng.normal(0, 3, (7, len(styles.prior)))
    assert styles.prior.sum() == pytest.approx(1)
    stay = 0.92 * np.eye(len(styles.prior)) + 0.08 * styles.prior
    alpha = styles.prior * np.exp(table[0])
    for row in table[1:]:
        alpha = alpha @ stay * np.exp(row)
    found = chain([table, table[:3]], styles)
    assert found[0] == pytest.approx(np.log(alpha.sum()), abs=1e-9)


def in_two_and_then_in_four(seed):
    """Onsets of half notes and then of quarter notes with some skips, by a human; and the beats."""
    rng = np.random.default_rng(seed)
    bpm, in_two = rng.uniform(95, 125), int(rng.choice([48, 64, 96, 128]))
    count = 3 * in_two
    slower = 1 + 0.06 * np.cos(2 * np.pi * np.arange(count) / count)
    lengths = 60 / bpm * slower
    beats = np.concatenate([[0.0], np.cumsum(lengths)])
    struck = [b for b in range(count) if b >= in_two or b % 2 == 0]
    skips = [b for b in range(in_two, count) if rng.random() < 0.2]
    onsets = np.concatenate([beats[struck], beats[skips] + 0.64 * lengths[skips]])
    return np.sort(onsets + rng.normal(0, 0.026, len(onsets))), beats


# The first grid of some, 11 and 12 among them, bent from the half notes to the quarter notes.
@pytest.mark.parametrize("seed", range(1, 13))
def test_a_line_in_two_that_goes_on_in_four_keeps_its_beat(seed):
    onsets, beats = in_two_and_then_in_four(seed)
    best = track_beats(onsets, np.full(len(onsets), 80.0), bpm_range=(40.0, 300.0))[0]
    away = np.abs(beats[:-1, None] - best.beats_s[None, :]).min(axis=1)
    assert np.mean(away < 0.07) > 0.95
    assert len(best.beats_s) < 1.1 * len(beats)
