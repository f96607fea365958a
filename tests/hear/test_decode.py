"""Decoding to a low rate: the same sound at the same time, whatever the rate and the blocks."""

from __future__ import annotations

import os
import subprocess
import sys

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


# ---- MP3: what its header says, and what its decoder writes ---------------------------------


def mp3(path, seconds=30, **how):
    """A sine as an MP3 whose first frame counts the others."""
    t = np.arange(22_050 * seconds) / 22_050
    with soundfile.SoundFile(path, "w", 22_050, 1, format="MP3", **how) as file:
        file.write(0.3 * np.sin(2 * np.pi * 110 * t) * (t < seconds / 2))
    return path


def test_a_file_that_was_cut_off_ends_where_its_sound_ends(tmp_path, capfd):
    path = mp3(tmp_path / "a.mp3")
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 4])
    source, sound, blocks = opened(path)
    assert source.frames == 30 * 22_050
    assert 3 < len(sound) / source.rate < 9
    assert sum(len(b.peaks) for b in blocks) == pytest.approx(len(sound) / source.rate * 10, abs=2)
    assert capfd.readouterr().err == ""


def test_a_length_that_is_only_estimated_is_not_known(tmp_path):
    path = mp3(tmp_path / "a.mp3", bitrate_mode="VARIABLE")
    content = path.read_bytes()
    second = content.find(b"\xff", content.find(b"Xing") + 120)
    while content[second + 1] != content[1]:
        second = content.find(b"\xff", second + 1)
    path.write_bytes(content[second:])
    assert opened(path)[0].frames is None
    tagged = b"ID3\x04\x00\x00\x00\x00\x02\x00" + bytes(256)  # a tag before the first frame
    path.write_bytes(tagged + content)
    assert opened(path)[0].frames == 30 * 22_050


DAMAGED = {
    "zeros.mp3": bytes(3_000),
    "zeros.ogg": bytes(3_000),
    "text.flac": b"fLaC and no more than that",
}


@pytest.mark.parametrize("name", DAMAGED)
def test_what_cannot_be_decoded_is_one_line_in_plain_words(tmp_path, capfd, name):
    path = tmp_path / name
    path.write_bytes(DAMAGED[name])
    suffix = path.suffix
    said = (
        rf"^cannot be decoded as {suffix}: it is damaged, or it is no {suffix} but something else "
        r"by that name$"
    )
    with pytest.raises(TakeFault, match=said):
        opened(path)
    assert capfd.readouterr().err == ""


OPEN_ALL = """
import sys
from pathlib import Path
from linecheck.hear.decode import open_recording
with open_recording(Path(sys.argv[1])) as source:
    seconds = sum(len(block.sound) for block in source.blocks) / source.rate
print(round(seconds))
"""


@pytest.mark.skipif(os.name == "nt", reason="a shell closes standard error")
def test_standard_error_may_be_closed(tmp_path):
    path = mp3(tmp_path / "a.mp3")
    done = subprocess.run(
        ["/bin/sh", "-c", 'exec "$0" -c "$1" "$2" 2>&-', sys.executable, OPEN_ALL, str(path)],
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.strip() == "30"


def test_standard_error_is_the_programs_own_between_the_blocks(tmp_path, capfd):
    with open_recording(mp3(tmp_path / "a.mp3")) as source:
        for _ in source.blocks:
            os.write(2, b"heard\n")
    os.write(2, b"done\n")
    assert capfd.readouterr().err == "heard\n" * 4 + "done\n"
