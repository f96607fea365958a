"""The place that every note was meant for.

Rhythms are written as steps (twelfths of a beat) and played with a swing, a jitter and a
lateness; what was written has to come back. Tempi, jitter (10 to 30 ms) and swing (1 to 3) of
players: common practice.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from linecheck.place.quantise import Quantised, end_steps, quantise, quantise_written

WALKING = np.arange(64) * 12
# Eight bars: beats with off-beats, pushes over the beat, rests.
SWINGING = np.array(
    [s + 48 * bar for bar in range(8) for s in (0, 6, 12, 24, 30, 36, 42)]
    + [s + 48 * bar for bar in range(8, 16) for s in (0, 12, 18, 30, 36)]
)


def played(
    steps: np.ndarray,
    *,
    off_beat: float = 0.5,
    bpm: float = 120,
    jitter_s: float = 0.0,
    late_s: float = 0.0,
    seed: int = 1,
) -> np.ndarray:
    """Onsets in beats, in order."""
    beats = np.where(steps % 12 == 6, steps // 12 + off_beat, steps / 12)
    noise = np.random.default_rng(seed).normal(0, jitter_s, len(steps))
    return np.sort(beats + (noise + late_s) * bpm / 60)


def placed(beats: np.ndarray, bpm: float = 120) -> Quantised:
    return quantise(beats, np.full(len(beats), 60 / bpm))


def off_beat(ratio: float) -> float:
    return ratio / (1 + ratio)


# ---- figures ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("within", "steps"),
    [
        ([0.0], [0]),
        ([0.04], [0]),
        ([-0.04], [0]),  # 20 ms before the bar line at 120: it belongs to beat one
        ([0.0, 0.5], [0, 6]),
        ([0.0, 0.58], [0, 6]),
        ([0.0, 2 / 3], [0, 6]),  # a swung off-beat is half a beat, however long the swing
        ([0.0, 0.75], [0, 6]),
        ([0.6], [6]),  # pushed: its beat is not struck
        ([0.0, 1 / 3, 2 / 3], [0, 4, 8]),
        ([0.02, 0.31, 0.69], [0, 4, 8]),
        ([1 / 3, 2 / 3], [4, 8]),  # a triplet after a rest
        ([0.0, 1 / 3], [0, 4]),
        ([0.0, 0.25, 0.5, 0.75], [0, 3, 6, 9]),
        ([0.0, 0.5, 0.75], [0, 6, 9]),
        ([0.0, 0.25, 0.5], [0, 3, 6]),
        ([0.0, 0.25, 0.75], [0, 3, 9]),
        ([0.0, 0.25], [0, 3]),
        ([0.0, 1 / 6, 1 / 3, 0.5, 2 / 3, 5 / 6], [0, 2, 4, 6, 8, 10]),
        ([0.0, 0.2, 0.4, 0.6, 0.8], [0, 2, 5, 7, 10]),
        ([0.0, 0.95], [0, 9]),  # a grace note to the next beat, which has its own note
        ([0.0, 0.06], [0, 3]),  # a second stroke right after the beat
        ([0.0, 2 / 3, 0.93], [0, 6, 9]),
    ],
)
def test_a_beat_in_a_walking_line(within: list[float], steps: list[int]):
    # The beat stands in the middle of a walking line with some off-beats of its own.
    around = played(SWINGING, off_beat=0.62)
    beat = 40
    before, after = around[np.floor(around + 0.2) < beat], around[around > beat + 0.9]
    result = placed(np.concatenate((before, beat + np.array(within), after)))
    found = result.steps[len(before) : len(before) + len(within)]
    assert (found - beat * 12).tolist() == steps


def test_a_straight_take_tells_sixteenths_from_off_beats():
    straight = played(SWINGING, jitter_s=0.005)
    result = placed(np.concatenate((straight, [70.0, 70.75, 71.0])))
    assert (result.steps[-3:] - 70 * 12).tolist() == [0, 9, 12]


def test_three_in_the_time_of_two_beats():
    line = np.concatenate((played(SWINGING, off_beat=0.64), [70.0, 70 + 2 / 3, 70 + 4 / 3, 72.0]))
    assert (placed(line).steps[-4:] - 70 * 12).tolist() == [0, 8, 16, 24]


def test_more_onsets_than_a_figure_holds_keep_their_order():
    many = np.concatenate((np.arange(8.0), 8 + np.arange(8) / 8, 9 + np.arange(30) / 30, [10.0]))
    steps = placed(many).steps
    assert (np.diff(steps[:16]) > 0).all()  # a step for each while they last
    assert (np.diff(steps) >= 0).all()
    assert steps[-1] == 120


def test_simultaneous_onsets_share_a_step():
    beats = np.sort(np.concatenate((played(WALKING), [20.0, 20.5, 20.5])))
    steps = placed(beats).steps
    assert steps[20:24].tolist() == [240, 240, 246, 246]


def test_no_onsets_and_one():
    assert placed(np.zeros(0)).steps.tolist() == []
    one = placed(np.array([3.0]))
    assert one.steps.tolist() == [36]
    assert one.swing_ratio is None


# ---- what the take shows ---------------------------------------------------------------------


@pytest.mark.parametrize("bpm", [60, 120, 200])
@pytest.mark.parametrize("ratio", [1.0, 1.2, 1.5, 1.8, 2.0, 2.4, 3.0])
def test_the_swing_is_found(ratio: float, bpm: float):
    beats = played(SWINGING, off_beat=off_beat(ratio), bpm=bpm, jitter_s=0.01)
    result = placed(beats, bpm)
    assert result.steps.tolist() == SWINGING.tolist()
    assert result.swing_ratio == pytest.approx(ratio, rel=0.08)


def test_few_off_beats_give_no_ratio():
    line = np.sort(np.concatenate((WALKING, [6, 30, 54, 102])))
    assert placed(played(line, off_beat=0.66)).swing_ratio is None
    five = np.sort(np.concatenate((line, [150])))
    assert placed(played(five, off_beat=0.66)).swing_ratio == pytest.approx(2.0, rel=0.1)


@pytest.mark.parametrize("late_s", [-0.03, 0.02, 0.04, 0.06])
@pytest.mark.parametrize("bpm", [60, 120, 200, 260])
def test_a_player_who_lays_back_is_late_everywhere(late_s: float, bpm: float):
    beats = played(SWINGING, off_beat=0.62, bpm=bpm, jitter_s=0.008, late_s=late_s)
    result = placed(beats, bpm)
    assert result.steps.tolist() == SWINGING.tolist()
    late_ms = result.placement_beats * 60_000 / bpm
    assert np.mean(late_ms[SWINGING % 12 == 0]) == pytest.approx(late_s * 1000, abs=4)
    assert np.mean(late_ms[SWINGING % 12 == 6]) == pytest.approx(late_s * 1000, abs=4)
    assert result.swing_ratio == pytest.approx(0.62 / 0.38, rel=0.08)


def test_lateness_is_in_seconds_where_the_tempo_changes():
    bpm = np.where(SWINGING < 384, 80.0, 240.0)
    beats = played(SWINGING, off_beat=0.6) + 0.05 * bpm / 60
    assert quantise(beats, 60 / bpm).steps.tolist() == SWINGING.tolist()


def test_placement_is_against_the_grid():
    beats = played(WALKING) + np.where(np.arange(64) % 4 == 2, 0.06, 0.0)
    assert placed(beats).placement_beats[:4].tolist() == pytest.approx([0, 0, 0.06, 0])


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10_000), bpm=st.integers(60, 300))
def test_jitter_of_20_ms_moves_no_note_of_a_walking_line(seed: int, bpm: int):
    jitter_s = min(0.02, 0.06 * 60 / bpm)
    beats = played(WALKING, bpm=bpm, jitter_s=jitter_s, seed=seed)
    # The rare throw of three spreads and more lies nearer to a swung off-beat than to its beat.
    assume(np.abs(beats - WALKING / 12).max() < 0.16)
    assert placed(beats, bpm).steps.tolist() == WALKING.tolist()


rhythms = st.lists(st.sampled_from([3, 4, 6, 6, 12, 12, 24]), min_size=1, max_size=60)


@pytest.mark.parametrize("bpm", [60, 100, 120, 160, 200])
@pytest.mark.parametrize("jitter_s", [0.0, 0.01])
@pytest.mark.parametrize("early", [0.06, 0.12, 0.16])
def test_a_note_of_a_steady_walk_that_is_early_is_still_the_beats(
    early: float, jitter_s: float, bpm: float
):
    beats = played(WALKING, bpm=bpm, jitter_s=jitter_s)
    beats[20] = 20 - early  # the nearest eighth is the beat
    assert placed(beats, bpm).steps.tolist() == WALKING.tolist()


@pytest.mark.parametrize("bpm", [60, 120, 200])
@pytest.mark.parametrize("early", [0.3, 0.4, 0.5])
def test_one_note_of_a_steady_walk_may_be_pushed(early: float, bpm: float):
    beats = played(WALKING, bpm=bpm)
    beats[20] = 20 - early
    assert placed(beats, bpm).steps[20] == 20 * 12 - 6


@settings(max_examples=60, deadline=None)
@given(rhythm=rhythms, seed=st.integers(0, 100), jitter_s=st.floats(0, 0.05), ratio=st.floats(1, 3))
def test_tempo_and_whole_beats_move_nothing(
    rhythm: list[int], seed: int, jitter_s: float, ratio: float
):
    beats = played(np.cumsum(rhythm), off_beat=off_beat(ratio), jitter_s=jitter_s, seed=seed)
    beats = np.round(beats * 2**20) / 2**20  # so that shifting by whole beats is exact
    steps = placed(beats, 120).steps
    assert (np.diff(steps) >= 0).all()
    assert (np.diff(steps)[np.diff(beats) > 1e-3] > 0).all()
    assert placed(beats, 47).steps.tolist() == steps.tolist()
    assert placed(beats + 17, 120).steps.tolist() == (steps + 17 * 12).tolist()
    assert placed(beats - 5, 120).steps.tolist() == (steps - 5 * 12).tolist()


@given(st.lists(st.integers(-100, 5000), max_size=40))
def test_a_written_line_is_exact(steps: list[int]):
    written = np.sort(np.array(steps, dtype=np.int64))
    result = quantise_written(written / 12)
    assert result.steps.tolist() == written.tolist()
    assert not result.placement_beats.any()
    assert result.swing_ratio is None


def test_a_long_take_is_quantised_in_time_that_grows_with_its_length():
    rng = np.random.default_rng(3)
    beats = np.sort(np.arange(100_000) + rng.normal(0, 0.04, 100_000))
    assert np.array_equal(placed(beats).steps, np.arange(100_000) * 12)


# ---- ends ------------------------------------------------------------------------------------


def ends(steps: list[int], stops: list[float], off: float = 0.5, late: float = 0.0) -> list[int]:
    count = len(steps)
    late_by = np.full(count, late)
    result = Quantised(np.array(steps), np.zeros(count), late_by, off, None)
    return end_steps(np.array(stops), result).tolist()


def test_a_note_held_over_the_beat_ends_after_it():
    assert ends([42, 60], [4.6, 6.0]) == [55, 72]


def test_a_note_released_at_the_beat_is_not_held_over_it():
    assert ends([42, 60], [4.02, 5.97]) == [48, 72]


def test_a_note_ends_by_the_next_notes_step():
    assert ends([0, 12, 24], [1.03, 1.99, 3.0]) == [12, 24, 36]


def test_a_swung_eighth_ends_at_the_off_beat():
    assert ends([0, 6, 12], [0.66, 1.0, 2.0], off=2 / 3) == [6, 12, 24]
    assert ends([0, 12], [2 / 3, 2.0], off=2 / 3) == [6, 24]


def test_lateness_does_not_hold_a_note_over():
    assert ends([36, 60], [4.1, 6.1], late=0.1) == [48, 72]


def test_every_note_has_a_length():
    assert ends([0, 12, 12, 24], [0.0, 1.0, 1.5, 1.0]) == [1, 13, 18, 25]
    assert ends([], []) == []
