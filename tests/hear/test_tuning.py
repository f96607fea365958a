"""The take's own tuning, from tones off it by what fingers do."""

from __future__ import annotations

import numpy as np
import pytest

from linecheck.hear.tuning import LEAST_TONES, find_tuning, pitch_and_cents


@pytest.mark.parametrize("a4", [428.0, 432.0, 436.5, 440.0, 443.0, 448.0, 452.0])
def test_it_is_found_within_fingers_errors(a4):
    rng = np.random.default_rng(round(a4))
    pitches = rng.integers(28, 60, 60)
    hertz = a4 * 2 ** ((pitches - 69 + np.clip(rng.normal(0, 0.08, 60), -0.2, 0.2)) / 12)
    found, measured = find_tuning(hertz.tolist())
    assert measured
    assert abs(1200 * np.log2(found / a4)) < 3.5  # of sixty fingers' errors of 8 cents
    assert [pitch_and_cents(h, found)[0] for h in hertz.tolist()] == pitches.tolist()


def test_a_few_notes_far_off_do_not_move_it():
    hertz = [220.0] * 20 + [220.0 * 2 ** (45 / 1200)] * 6
    assert find_tuning(hertz)[0] == pytest.approx(440.0, abs=0.3)


def test_few_tones_tell_none():
    assert find_tuning([221.0] * (LEAST_TONES - 1)) == (440.0, False)


def test_pitch_and_cents():
    assert pitch_and_cents(41.2034, 440.0) == (28, pytest.approx(0.0, abs=0.05))  # ISO 16: E1
    assert pitch_and_cents(110.0 * 2 ** (10 / 1200), 440.0) == (45, pytest.approx(10.0))
