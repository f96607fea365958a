"""Decoding to a low rate: the same sound at the same time, whatever the rate and the blocks."""

from __future__ import annotations

import numpy as np
import pytest
import soundfile

from linecheck.faults import TakeFault
from linecheck.hear.decode import BLOCK_S, WORKING_HZ, open_recording


def opened(path):
    with open_recording(path) as source:
        blocks = list(source.blocks)
    return source, np.concatenate([b.sound for b in blocks]), blocks


@pytest.mark.parametrize("rate", [8_000, 11_025, 16_000, 22_050, 32_000, 44_100, 48_000, 96_000])
def test_a_sine_comes_down_in_place(tmp_path, rate):
    seconds = 2 * BLOCK_S + 0.7  # over two seams
    t = np.arange(round(seconds * rate)) / rate
    soundfile.write(tmp_path / "a.wav", 0.5 * np.sin(2 * np.pi * 110 * t), rate, subtype="FLOAT")
    source, sound, _ = opened(tmp_path / "a.wav")
    assert source.rate >= min(rate, WORKING_HZ)
    assert len(sound) == pytest.approx(seconds * source.rate, abs=2)
    at = np.arange(len(sound)) / source.rate
    inside = (at > 0.05) & (at < seconds - 0.05)
    wanted = 0.5 * np.sin(2 * np.pi * 110 * at)
    assert np.abs(sound - wanted)[inside].max() < 0.005


def test_what_lies_above_the_working_rate_is_taken_out(tmp_path):
    t = np.arange(44_100) / 44_100
    soundfile.write(tmp_path / "a.wav", 0.5 * np.sin(2 * np.pi * 9_000 * t), 44_100)
    _, sound, _ = opened(tmp_path / "a.wav")
    assert np.abs(sound[200:-200]).max() < 0.005


def test_channels_are_averaged(tmp_path):
    both = np.stack([np.full(8_000, 0.5), np.full(8_000, -0.1)], axis=1)
    soundfile.write(tmp_path / "a.wav", both, 8_000, subtype="FLOAT")
    source, sound, _ = opened(tmp_path / "a.wav")
    assert source.channels == 2
    assert sound == pytest.approx(0.2, abs=1e-6)


def test_a_ceiling_is_seen_and_a_loud_sine_is_none(tmp_path):
    t = np.arange(44_100) / 44_100
    sine = np.sin(2 * np.pi * 55 * t)
    for name, sound, clipped in (("sine", sine, False), ("clipped", 1.5 * sine, True)):
        soundfile.write(tmp_path / f"{name}.wav", np.clip(sound, -1, 1), 44_100)
        _, _, blocks = opened(tmp_path / f"{name}.wav")
        assert (blocks[0].flat > 0).all() == clipped
        assert (blocks[0].flat > 0).any() == clipped


def test_a_rate_out_of_range_is_one_line(tmp_path):
    soundfile.write(tmp_path / "a.wav", np.zeros(4_000), 4_000)
    with pytest.raises(TakeFault, match=r"is sampled at 4,000 Hz; expected 6,000 to"):
        opened(tmp_path / "a.wav")


def test_a_recording_of_many_hours_is_refused_before_it_is_heard(tmp_path, monkeypatch):
    monkeypatch.setattr("linecheck.hear.decode.LONGEST_S", 3600.0)
    path = tmp_path / "a.flac"
    with soundfile.SoundFile(path, "w", 8_000, 1) as file:
        for _ in range(63):
            file.write(np.zeros(8_000 * 60))
    with pytest.raises(TakeFault, match=r"lasts 1\.1 hours; expected 1 at most"):
        opened(path)
