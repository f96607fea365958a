"""Time feel as facts. Every line is played by a rule whose figures have to come back."""

from __future__ import annotations

import numpy as np
import pytest

from linecheck.place.feel import time_feel
from linecheck.terms import Feel, PlacedNote

CHORUS = 48  # beats


def line(
    steps: list[int],
    beats_s: np.ndarray,
    *,
    off_beat: float = 0.5,
    late_ms: float = 0.0,
    share: float = 0.8,
    velocities: list[int] | None = None,
) -> list[PlacedNote]:
    at = np.array([s // 12 + (off_beat if s % 12 == 6 else s % 12 / 12) for s in steps])
    onsets = np.interp(at, np.arange(len(beats_s)), beats_s) + late_ms / 1000
    gaps = np.append(np.diff(onsets), 0.5)
    velocities = velocities or [80] * len(steps)
    return [
        PlacedNote(o, share * g, 40, v, s, s + 6, late_ms)
        for o, g, v, s in zip(onsets.tolist(), gaps.tolist(), velocities, steps, strict=True)
    ]


def steady(beats: int, bpm: float = 120) -> np.ndarray:
    return np.arange(beats + 1) * 60 / bpm


WALKING = [12 * i for i in range(2 * CHORUS)]
SWINGING = sorted(WALKING + [12 * i + 6 for i in range(0, 2 * CHORUS, 3)])


def test_a_steady_walking_line():
    feel = time_feel(line(WALKING, steady(96), late_ms=12, share=0.9), steady(96), CHORUS, 2)
    assert feel.whole.tempo == pytest.approx(120)
    assert feel.whole.tempo_change == pytest.approx(0, abs=1e-9)
    assert feel.whole.placement_mean_ms == pytest.approx(12)
    assert feel.whole.placement_spread_ms == pytest.approx(0, abs=1e-9)
    assert feel.whole.swing_ratio is None
    assert feel.whole.length_share == pytest.approx(0.9)
    assert feel.whole.length_spread == pytest.approx(0, abs=1e-9)
    assert (feel.whole.loudness, feel.whole.loudness_spread) == (80, 0)
    assert len(feel.choruses) == 2
    assert feel.choruses[1].placement_mean_ms == pytest.approx(12)


def test_the_tempo_by_chorus():
    beats = np.concatenate(([0], np.cumsum(np.repeat([0.5, 0.4], CHORUS))))
    feel = time_feel(line(WALKING, beats), beats, CHORUS, 2)
    assert [c.tempo for c in feel.choruses] == pytest.approx([120, 150])


@pytest.mark.parametrize("change", [-0.1, 0.08])
def test_rushing_and_dragging_within_a_chorus(change: float):
    pace = np.linspace(1, 1 / (1 + change), CHORUS) * 0.5
    beats = np.concatenate(([0], np.cumsum(pace)))
    feel = time_feel(line(WALKING[:CHORUS], beats), beats, CHORUS, 1)
    assert feel.choruses[0].tempo_change == pytest.approx(change, abs=0.005)


@pytest.mark.parametrize("late_ms", [-20, 0, 30])
@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.0, 3.0])
def test_the_swing_by_chorus(ratio: float, late_ms: float):
    beats = steady(96)
    first = line(SWINGING, beats, off_beat=ratio / (1 + ratio), late_ms=late_ms)
    second = line(SWINGING, beats, late_ms=late_ms)
    notes = [n for n in first if n.step < 12 * CHORUS] + [
        n for n in second if n.step >= 12 * CHORUS
    ]
    feel = time_feel(notes, beats, CHORUS, 2)
    assert feel.choruses[0].swing_ratio == pytest.approx(ratio)
    assert feel.choruses[1].swing_ratio == pytest.approx(1.0)


def test_sixteenths_and_triplets_show_no_swing():
    steps = sorted(
        {12 * i + s for i in range(CHORUS) for s in ((0, 3, 6, 9) if i % 2 else (0, 4, 8))}
    )
    assert time_feel(line(steps, steady(48)), steady(48), CHORUS, 1).whole.swing_ratio is None


def test_evenness_of_loudness_and_length_is_that_of_walking_notes():
    velocities = [70 if i % 2 else 90 for i in range(len(WALKING))]
    notes = line(WALKING, steady(96), velocities=velocities)
    feel = time_feel(notes, steady(96), CHORUS, 2)
    assert feel.whole.loudness == pytest.approx(80, abs=0.2)
    assert feel.whole.loudness_spread == pytest.approx(10, abs=0.1)
    half_notes = line([24 * i for i in range(CHORUS)], steady(96))
    assert time_feel(half_notes, steady(96), CHORUS, 2).whole.loudness is None


def test_pickups_and_the_last_hit_do_not_count():
    notes = line(WALKING, steady(96))
    extra = [
        PlacedNote(-0.25, 0.2, 40, 127, -6, 0, 90.0),
        PlacedNote(48, 0.2, 40, 1, 1152, 1154, 90.0),
    ]
    assert time_feel([*notes, *extra], steady(97), CHORUS, 2).whole.placement_mean_ms == 0


def test_too_little_says_nothing():
    nothing = Feel(None, None, None, None, None, None, None, None, None)
    feel = time_feel([], [0.0], CHORUS, 0)
    assert feel.whole == nothing
    assert feel.choruses == ()
    few = time_feel(line([0, 12, 24], steady(3)), steady(3), CHORUS, 1)
    assert few.choruses == (nothing,)
    # Beats that do not go on say nothing of the tempo.
    assert time_feel([], [1.0] * 20, CHORUS, 1).whole.tempo is None
