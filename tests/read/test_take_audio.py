"""Takes from recordings: tones from arithmetic, so that every truth is known."""

from __future__ import annotations

import subprocess
import sys
from shutil import which

import numpy as np
import pytest
import soundfile

from linecheck.faults import TakeFault
from linecheck.read import read_take
from tests.synthetic.plucked import RATE, Pluck, pluck

WALK = (28, 32, 35, 37, 40, 38, 37, 35, 33, 37, 40, 42, 43, 45, 41, 34)  # low E and up


def walk(cents=0.0, gap_s=0.45):
    return [
        Pluck(0.5 + gap_s * k, 0.9 * gap_s, p, cents + 3 * (k % 5 - 2)) for k, p in enumerate(WALK)
    ]


def write(folder, sound, name="take.wav", rate=RATE):
    path = folder / name
    soundfile.write(path, sound, rate)
    return path


@pytest.mark.parametrize("name", ["take.wav", "take.flac", "take.ogg", "take.mp3", "take.m4a"])
def test_a_walking_line_is_heard_note_by_note(tmp_path, name):
    line = walk()
    path = write(tmp_path, pluck(line), "take.wav" if name.endswith("m4a") else name)
    if name.endswith("m4a"):
        path = as_m4a(path)
    take = read_take(path)
    assert take.kind == "audio"
    assert take.tempo_map is None
    assert [note.pitch for note in take.notes] == list(WALK)
    onsets = np.array([note.onset_s for note in take.notes])
    assert np.abs(onsets - [n.onset_s for n in line]).max() < (0.06 if name[-2] in "p4" else 0.03)
    assert take.recording is not None
    assert take.recording.sample_rate == (44_100 if name.endswith("m4a") else RATE)
    assert take.recording.duration_s == pytest.approx(len(pluck(line)) / RATE, abs=0.1)


def test_of_a_file_that_was_cut_off_only_what_it_holds_is_heard(tmp_path):
    path = write(tmp_path, pluck(walk()), "take.mp3")
    whole = read_take(path)
    assert not any("cut off" in said for said in whole.warnings)
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    take = read_take(path)
    assert take.recording.duration_s < 0.6 * whole.recording.duration_s
    assert [n.pitch for n in take.notes] == list(WALK[: len(take.notes)])
    assert take.notes[-1].onset_s < take.recording.duration_s
    assert take.warnings[0] == (
        f"the file is cut off: it ends after {take.recording.duration_s:.0f} s, though it says "
        f"that it lasts {whole.recording.duration_s:.0f}; is it wholly copied?"
    )


def ffmpeg():
    program = which("ffmpeg")
    if program is None:
        pytest.skip("ffmpeg is not installed: .m4a is not decoded here")
    return program


def as_m4a(path):
    made = path.with_suffix(".m4a")
    subprocess.run([ffmpeg(), "-v", "error", "-i", path, made], check=True)
    return made


def test_m4a_without_a_decoder_is_one_line(tmp_path, monkeypatch):
    monkeypatch.setattr("linecheck.hear.decode.which", lambda _: None)
    (tmp_path / "take.m4a").write_bytes(b"x")
    with pytest.raises(TakeFault, match=r"\.m4a is decoded by ffmpeg, which is not installed"):
        read_take(tmp_path / "take.m4a")


def test_what_ffmpeg_cannot_decode_is_one_line(tmp_path):
    ffmpeg()
    (tmp_path / "take.m4a").write_bytes(b"not a recording")
    with pytest.raises(TakeFault, match=r"take\.m4a: cannot be decoded: "):
        read_take(tmp_path / "take.m4a")


def test_the_tuning_and_the_cents_are_the_takes_own(tmp_path):
    line = walk(cents=-20.0)
    take = read_take(write(tmp_path, pluck(line)))
    assert take.recording.tuning_measured
    assert take.recording.tuning_hz == pytest.approx(440 * 2 ** (-20 / 1200), abs=0.6)
    own = 1200 * np.log2(take.recording.tuning_hz / 440)
    errors = [n.cents + own - p.cents for n, p in zip(take.notes, line, strict=True) if n.cents]
    assert len(errors) > 12
    assert np.abs(errors).max() < 3.0


def test_without_the_extra_one_line_says_how_to_get_it(tmp_path, monkeypatch):
    path = write(tmp_path, pluck(walk()))
    monkeypatch.setitem(sys.modules, "soundfile", None)
    with pytest.raises(TakeFault, match=r"take\.wav: a recording is read with the optional extra; "
                       r"install it: pip install 'linecheck\[audio\]'$"):  # fmt: skip
        read_take(path)


@pytest.mark.parametrize("suffix", [".wav", ".flac", ".ogg", ".mp3"])
def test_what_is_no_recording_is_one_line(tmp_path, suffix):
    path = tmp_path / f"take{suffix}"
    path.write_bytes(b"x" * 64)
    with pytest.raises(TakeFault, match=rf"take\{suffix}: cannot be decoded as \{suffix}: "):
        read_take(path)


def test_a_recording_has_no_tracks(tmp_path):
    with pytest.raises(TakeFault, match="a recording has no tracks"):
        read_take(write(tmp_path, pluck(walk())), track="2")


def test_progress_says_how_much_is_heard(tmp_path):
    told = []
    read_take(write(tmp_path, pluck(walk())), progress=told.append)
    assert told[-1] == "hearing the recording: 100 %"
