"""Known lines through a sound font, scored as mir_eval scores transcriptions.

The goals are those of ``tests/measure_hearing.py``, which measures all conditions on more lines.
"""

from __future__ import annotations

import numpy as np
import pytest
import soundfile

import linecheck
from linecheck.demo import demo_take
from tests.measure_hearing import heard_in, scores
from tests.measure_recordings import labels_that_agree, same_losses
from tests.synthetic.recorded_lines import expressive_line, recorded_line
from tests.synthetic.recordings import CONDITIONS, RATE, SoundNote, render


@pytest.mark.parametrize(
    ("condition", "least"), [("clean", 0.97), ("phone in a room", 0.93), ("hum 10 dB", 0.93)]
)
def test_a_line_is_heard(font, tmp_path, condition, least):
    line = recorded_line(905, 20.0)
    sound = CONDITIONS[condition](render(line.played, font), np.random.default_rng(1))
    heard, _ = heard_in(sound, tmp_path)
    f, _, _, octaves, cents, _, _ = scores(line.truth, heard.tones, font, 32)
    assert f >= least
    assert octaves == 0
    # The deviation of a font that is loosely tuned is itself known to a few cents only.
    assert np.median(np.abs(cents)) <= (3.0 if condition == "clean" else 7.0)


def test_what_is_no_attack_is_heard(font, tmp_path):
    line = expressive_line(906, 30)
    heard, _ = heard_in(render(line.played, font, bends=line.bends), tmp_path)
    assert scores(line.truth, heard.tones, font, 32)[0] >= 0.93


def test_the_audit_of_a_recording_is_that_of_what_was_played(font, tmp_path):
    demo = demo_take("tomasz")  # loses the form in the second chorus
    played = linecheck.audit(demo.chart, demo.take)
    notes = [SoundNote(n.onset_s, n.duration_s, n.pitch, n.velocity) for n in played.take.notes]
    soundfile.write(tmp_path / "take.wav", render(notes, font), RATE)
    heard = linecheck.audit(demo.chart, tmp_path / "take.wav")
    same, of, differ = labels_that_agree(played, heard)
    assert same >= 0.97 * of, differ
    assert heard.line.losses
    assert same_losses(played, heard)
    told = linecheck.audit(
        demo.chart, tmp_path / "take.wav", tempo=120, first_beat_one=f"{played.line.beats_s[0]}s"
    )
    assert labels_that_agree(played, told)[0] >= 0.97 * of
