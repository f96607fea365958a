"""What is heard in tones from arithmetic, whose truth is known exactly."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from linecheck.hear.decode import Block, Source
from linecheck.hear.listen import STRETCH_S, hear, hear_stretch
from linecheck.hear.pitch_comb import HERTZ, PITCHES, fits
from linecheck.hear.spectra import Spectra
from tests.synthetic.plucked import Pluck, pluck

RATE = 11_025


def heard(notes, **how):
    return hear_stretch(pluck(notes, rate=RATE, **how), RATE)


def pitches(tones):
    return [round(69 + 12 * np.log2(tone.hertz / 440)) for tone in tones]


@pytest.mark.parametrize("missing", [0, 1, 2])
@pytest.mark.parametrize("pitch", range(28, 63, 3))
def test_every_pitch_is_heard_with_and_without_its_lowest_partials(pitch, missing):
    tones = heard([Pluck(0.3, 0.6, pitch)], missing=missing)
    assert pitches(tones) == [pitch]
    assert tones[0].settled
    cents = 1200 * np.log2(tones[0].hertz / 440) - 100 * (pitch - 69)
    assert abs(cents) < 2.0


def test_the_comb_fits_the_tone_and_neither_its_octaves_nor_its_fifth():
    spectra = Spectra(pluck([Pluck(0.1, 1.0, 40)], rate=RATE), RATE)
    row = fits(spectra.clear, RATE, spectra.sizes)[40]
    best = int(row.argmax())
    assert PITCHES[best] == pytest.approx(40, abs=0.2)
    assert HERTZ[best] == pytest.approx(82.4, rel=0.012)
    for other in (28, 52, 47, 59):
        assert row[int(np.abs(PITCHES - other).argmin())] < 0.7 * row[best]


@pytest.mark.parametrize("gap_s", [0.4, 0.25, 0.17])
def test_a_repeated_note_is_struck_again(gap_s):
    line = [Pluck(0.3 + gap_s * k, 0.8 * gap_s, 38) for k in range(8)]
    tones = heard(line)
    assert pitches(tones) == [38] * 8
    assert [t.onset_s for t in tones] == pytest.approx([n.onset_s for n in line], abs=0.02)


def test_a_vibrato_and_a_slide_into_a_note_are_one_note_each():
    line = [Pluck(0.3, 1.0, 45, vibrato_cents=25), Pluck(1.4, 1.0, 43, slide_cents=-180)]
    tones = heard(line)
    assert pitches(tones) == [45, 43]
    assert tones[0].settled
    assert abs(1200 * np.log2(tones[0].hertz / 440) + 2400) < 6


def test_a_note_hammered_on_is_a_note_of_its_own():
    sound = pluck([Pluck(0.3, 1.2, 40)], rate=RATE)
    t = np.arange(len(sound)) / RATE
    # The same tone played faster from 0.9 s on is a whole step higher.
    warped = np.where(t < 0.9, t, 0.9 + (t - 0.9) * 2 ** (2 / 12))
    hammered = np.interp(warped, t, sound).astype(np.float32)
    tones = hear_stretch(hammered, RATE)
    assert pitches(tones) == [40, 42]
    assert [tone.struck for tone in tones] == [True, False]
    assert tones[1].onset_s == pytest.approx(0.9, abs=0.05)


def test_ends_and_loudness_are_those_that_were_played():
    line = [Pluck(0.3, 0.3, 40), Pluck(1.0, 0.6, 40, loud=0.3), Pluck(2.0, 0.1, 40, loud=0.12)]
    tones = heard(line)
    assert [t.end_s - t.onset_s for t in tones] == pytest.approx([0.3, 0.6, 0.1], abs=0.07)
    levels = [t.level_db - tones[0].level_db for t in tones]
    assert levels == pytest.approx([0, -6, -14], abs=2.0)


def test_hum_noise_and_silence_are_no_notes():
    t = np.arange(8 * RATE) / RATE
    rng = np.random.default_rng(5)
    hum = sum(0.1 / k * np.sin(2 * np.pi * 50 * k * t) for k in (1, 2, 3))
    assert hear_stretch(hum.astype(np.float32), RATE) == []
    assert hear_stretch(np.zeros(RATE, dtype=np.float32), RATE) == []
    noise = rng.normal(0, 0.05, 8 * RATE).astype(np.float32)
    assert all(tone.share < 0.3 for tone in hear_stretch(noise, RATE))


def source_of(sound, block_s=10.0):
    size = round(block_s * RATE)
    empty = np.zeros(1, dtype=np.float32)
    blocks = (Block(sound[k : k + size], empty, empty) for k in range(0, len(sound), size))
    return Source(RATE, 1, len(sound), RATE, blocks)


def test_a_long_recording_is_heard_stretch_by_stretch_without_a_seam():
    gap_s = 0.47
    line = [Pluck(0.4 + gap_s * k, 0.4, 33 + (5 * k) % 12) for k in range(340)]
    told = []
    found = hear(source_of(pluck(line, rate=RATE)), told.append)
    assert line[-1].onset_s > 2 * STRETCH_S
    assert pitches(found.tones) == [n.pitch for n in line]
    assert all(
        b.onset_s - a.onset_s == pytest.approx(gap_s, abs=0.03) for a, b in pairwise(found.tones)
    )
    assert len(told) >= 3
    assert told == sorted(told)


def test_no_more_than_a_stretch_is_held(monkeypatch):
    longest = []

    def watched(sound, rate, _beside):
        longest.append(len(sound) / rate)
        return []

    monkeypatch.setattr("linecheck.hear.listen.hear_stretch", watched)
    silence = np.zeros(400 * RATE, dtype=np.float32)
    assert hear(source_of(silence)).duration_s == pytest.approx(400)
    assert max(longest) <= 70.1
