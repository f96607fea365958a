"""The recording in the page: all of it, the same bytes every time, and nothing else let in."""

from __future__ import annotations

import io
from base64 import b64decode

import numpy as np
import pytest

from linecheck.report.as_html import write_html
from linecheck.report.recorded_sound import recorded_sound
from tests.hand_made_audit import hand_made_audit
from tests.recorded_audit import hummed, recorded

soundfile = pytest.importorskip("soundfile", reason="pip install 'linecheck[audio]'")


@pytest.mark.parametrize(("rate", "kept"), [(44100, 22050), (48000, 24000), (16000, 16000)])
def test_all_of_the_recording_is_there_at_its_place(tmp_path, rate, kept):
    wav = tmp_path / "take.wav"
    hummed(wav, 12.3, rate)
    address = recorded_sound(recorded(hand_made_audit(), source=str(wav)).take)
    kind, _, data = address.partition(";base64,")
    assert kind == "data:audio/mpeg"
    sound, heard_rate = soundfile.read(io.BytesIO(b64decode(data)))
    assert heard_rate == kept
    assert len(sound) == pytest.approx(12.3 * kept, abs=0.1 * kept)  # MP3 has whole frames
    # The swells stand where they stood: twice a second, loudest a quarter of a second in.
    loud = np.abs(sound[: 240 * (kept // 20)]).reshape(24, 10, -1).max(axis=2)
    assert set(loud[1:-1].argmax(axis=1)) <= {4, 5}


def test_the_same_recording_gives_the_same_bytes(tmp_path):
    wav = tmp_path / "take.wav"
    hummed(wav, 2.0)
    take = recorded(hand_made_audit(), source=str(wav)).take
    assert recorded_sound(take) == recorded_sound(take)


def test_a_recording_that_went_away_leaves_the_page_without_it(tmp_path):
    audit = recorded(hand_made_audit(), source=str(tmp_path / "gone.wav"))
    assert recorded_sound(audit.take) is None
    page = write_html(audit)
    assert "<audio" not in page
    assert "media-src" not in page


def test_a_file_that_is_no_recording_any_more_is_left_out(tmp_path):
    wav = tmp_path / "take.wav"
    wav.write_bytes(b"not a recording")
    assert recorded_sound(recorded(hand_made_audit(), source=str(wav)).take) is None


def test_a_played_take_has_no_recording():
    assert recorded_sound(hand_made_audit().take) is None


def test_a_page_with_a_recording_lets_only_it_in(tmp_path):
    wav = tmp_path / "take.wav"
    hummed(wav, 1.0)
    page = write_html(recorded(hand_made_audit(), source=str(wav)))
    assert page.count("data:audio/mpeg;base64,") == 1
    assert "media-src data:; " in page
    assert "default-src &#39;none&#39;" in page or "default-src 'none'" in page
