"""Recordings that are to be doubted, and those that cannot be graded: said in one line, with places."""

from __future__ import annotations

from time import process_time

import numpy as np
import pytest
import soundfile

from linecheck.faults import TakeFault
from linecheck.hear.decode import STRIP_S
from linecheck.hear.listen import Heard
from linecheck.hear.trust import _clipped
from linecheck.read import read_take
from linecheck.read.take_audio import MAY_MISHEAR
from tests.synthetic.plucked import RATE, Pluck, pluck

WALK = (33, 37, 40, 42, 45, 43, 40, 38, 36, 35, 33, 31, 28, 32, 35, 40)


def line(turns=1, at_s=0.5, gap_s=0.4):
    return [Pluck(at_s + gap_s * k, 0.36, p) for k, p in enumerate(WALK * turns)]


def take_of(folder, sound):
    path = folder / "take.wav"
    soundfile.write(path, np.clip(sound, -1, 1), RATE)
    return read_take(path)


def test_a_good_recording_is_not_doubted(tmp_path):
    take = take_of(tmp_path, pluck(line(2)))
    assert take.recording.doubtful == ()
    assert take.warnings == (MAY_MISHEAR,)
    assert all(note.cents is not None for note in take.notes)


@pytest.mark.parametrize(
    ("sound", "said"),
    [
        (np.zeros(5 * RATE), r"is silent: its loudest sample is at digital silence"),
        (np.full(5 * RATE, 5e-4) * (-1) ** np.arange(5 * RATE), r"is silent: .* at -66 dB"),
        (np.random.default_rng(1).normal(0, 0.1, 8 * RATE), r"no bass line was heard in its 8 s"),
    ],
)
def test_what_holds_no_bass_is_a_fault(tmp_path, sound, said):
    with pytest.raises(TakeFault, match=rf"take\.wav: {said}"):
        take_of(tmp_path, sound)


def test_a_clipped_stretch_is_named_and_its_cents_are_not_claimed(tmp_path):
    sound = pluck(line(3))
    loud = slice(round(5.0 * RATE), round(9.0 * RATE))
    sound[loud] = np.clip(4.0 * sound[loud], -0.5, 0.5)
    take = take_of(tmp_path, sound)
    (stretch,) = take.recording.doubtful
    assert stretch.why == "clipped"
    assert (stretch.from_s, stretch.to_s) == pytest.approx((5.0, 9.0), abs=0.4)
    warning, caution = take.warnings
    assert caution == MAY_MISHEAR
    assert warning.startswith("the recording is clipped (too loud for the microphone) at 0:0")
    inside = [n for n in take.notes if 5.5 < n.onset_s < 8.5]
    outside = [n for n in take.notes if n.onset_s < 4.0]
    assert all(n.cents is None for n in inside)
    assert all(n.cents is not None for n in outside)


def crowd(length, rng):
    """A room full of people: noise that comes and goes, louder than the bass."""
    t = np.arange(length) / RATE
    return rng.normal(0, 0.2, length) * (0.6 + 0.4 * np.sin(2 * np.pi * 0.7 * t) ** 2)


def clipped_one_by_one(heard):
    """The stretches of clipped strips that are a second apart at most, and hold three strips."""
    stretches = []
    for strip in np.flatnonzero((heard.flat > 0) & (heard.peaks >= 0.5 * heard.peaks.max())):
        if stretches and (strip - stretches[-1][-1] - 1) * STRIP_S <= 1.0 + 1e-9:
            stretches[-1].append(int(strip))
        else:
            stretches.append([int(strip)])
    return [
        (pytest.approx(s[0] * STRIP_S), pytest.approx((s[-1] + 1) * STRIP_S))
        for s in stretches
        if len(s) >= 3
    ]


@pytest.mark.parametrize("share", [0.0, 0.02, 0.1, 0.3])
def test_stretches_are_told_as_one_by_one(share):
    rng = np.random.default_rng(5)
    peaks = rng.uniform(0.2, 1.0, 2000)
    heard = Heard((), 200.0, peaks, (rng.random(2000) < share).astype(np.float64))
    found = _clipped(heard)
    assert [(s.from_s, s.to_s) for s in found] == clipped_one_by_one(heard)
    assert {s.why for s in found} <= {"clipped"}


def test_an_hour_of_clipped_notes_takes_no_time():
    strips = round(3600 / STRIP_S)
    flat = (np.arange(strips) % 16 < 4).astype(np.float64)
    begin = process_time()
    assert len(_clipped(Heard((), 3600.0, np.full(strips, 0.9), flat))) == 2250
    assert process_time() - begin < 1


def test_a_room_that_drowns_the_bass_is_a_fault(tmp_path):
    sound = pluck(line(2))
    sound = 0.1 * sound + crowd(len(sound), np.random.default_rng(2))
    with pytest.raises(TakeFault, match="cannot be graded: other sounds are as loud as the bass"):
        take_of(tmp_path, sound)


def test_a_quiet_recording_is_read_and_said_to_be_quiet(tmp_path):
    take = take_of(tmp_path, 0.01 * pluck(line(2)))
    assert [n.pitch for n in take.notes] == list(WALK * 2)
    assert take.warnings[0].startswith("the recording is very quiet (at most -4")


def test_a_voice_that_counts_in_is_no_note(tmp_path):
    sound = pluck(line(2, at_s=3.0))
    rng = np.random.default_rng(4)
    for k in range(4):  # words: a falling pitch, strong partials near a vowel's formants, breath
        t = np.arange(round(0.28 * RATE)) / RATE
        hertz = (150 - 25 * k % 10) * 2 ** (-5 * t / 0.28 / 12)
        phase = 2 * np.pi * np.cumsum(hertz) / RATE
        word = sum(
            np.exp(-(((n * 130 - 600) / 300) ** 2)) * np.sin(n * phase) for n in range(1, 20)
        )
        word = word + rng.normal(0, 0.4, len(t))
        shape = np.sin(np.pi * np.arange(len(t)) / len(t))
        begin = round((0.5 + 0.6 * k) * RATE)
        sound[begin : begin + len(t)] += (0.08 * word * shape).astype(np.float32)
    take = take_of(tmp_path, sound)
    assert [n.pitch for n in take.notes] == list(WALK * 2)
