"""Recordings that are to be doubted, and those that cannot be graded: said in one line, with places."""

from __future__ import annotations

from time import process_time

import numpy as np
import pytest
import soundfile
from scipy import signal

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


def test_a_click_that_can_be_heard_is_told(tmp_path):
    sound = pluck(line(3))
    t = np.arange(round(0.06 * RATE)) / RATE
    for at in np.arange(0.7, len(sound) / RATE - 0.1, 0.4):
        begin = round(at * RATE)
        sound[begin : begin + len(t)] += 0.3 * np.sin(2 * np.pi * 2000 * t) * np.exp(-t / 0.01)
    said = take_of(tmp_path, sound).warnings[0]
    assert (
        said == "a click can be heard in the recording; soft notes may be missing where it sounds"
    )


def test_much_noise_is_told_and_a_little_is_not(tmp_path):
    sound = pluck(line(3))
    noise = np.random.default_rng(3).normal(0, 1, len(sound))
    level = float(np.sqrt((sound**2).mean()))
    loud = take_of(tmp_path, 0.5 * (sound + 0.5 * level * noise)).warnings
    assert loud[0].startswith("there is much noise in the recording; soft notes may be missing")
    assert take_of(tmp_path, 0.5 * (sound + 0.05 * level * noise)).warnings == (MAY_MISHEAR,)


# ---- speech ----------------------------------------------------------------------------------


def speech(seconds, seed=7, loud=0.3):
    """A voice of some 120 Hz: pulses through three formants, syllables, phrases and breath."""
    t = np.arange(round(seconds * RATE)) / RATE
    hertz = 120 + 22 * np.sin(2 * np.pi * 0.7 * t) + 14 * np.sin(2 * np.pi * 0.23 * t + seed)
    pulses = np.diff(np.floor(np.cumsum(hertz) / RATE), prepend=0.0)
    said = np.zeros(len(t))
    for formant in (500, 1500, 2500):
        said += signal.lfilter(*signal.iirpeak(formant / (RATE / 2), formant / 80), pulses)
    syllables = np.clip(np.sin(2 * np.pi * 3.7 * t) + 0.4 * np.sin(2 * np.pi * 0.9 * t), 0, None)
    said *= syllables * (np.sin(2 * np.pi * 0.11 * t) > -0.6)
    return (loud * said / np.abs(said).max()).astype(np.float32)


@pytest.mark.parametrize("loud", [0.3, 0.05])
def test_speech_before_the_line_is_left_out_and_the_line_is_whole(tmp_path, loud):
    said = speech(20.0, loud=loud)
    take = take_of(tmp_path, np.concatenate([said, pluck(line(3))]))
    assert [n.pitch for n in take.notes] == list(WALK * 3)
    assert take.warnings == (
        "what sounds before 20.5 s is no bass but speech: left out",
        MAY_MISHEAR,
    )


def test_speech_on_both_sides_of_the_line_is_left_out(tmp_path):
    take = take_of(tmp_path, np.concatenate([speech(12.0), pluck(line(3)), speech(15.0, seed=2)]))
    pitches = [n.pitch for n in take.notes]
    assert pitches[: 3 * len(WALK)] == list(WALK * 3)
    assert len(pitches) <= 3 * len(WALK) + 2
    before, after, _ = take.warnings
    assert before == "what sounds before 12.5 s is no bass but speech: left out"
    assert after.startswith("what sounds after 3")


def test_speech_in_the_middle_of_a_line_is_doubtful(tmp_path):
    take = take_of(tmp_path, np.concatenate([pluck(line(2)), speech(12.0), pluck(line(2))]))
    (stretch,) = take.recording.doubtful
    begin = len(pluck(line(2))) / RATE
    assert (stretch.from_s, stretch.to_s) == pytest.approx((begin, begin + 12.0), abs=4.0)
    assert "notes there may be wrong" in take.warnings[0]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_speech_alone_is_no_bass(tmp_path, seed):
    with pytest.raises(TakeFault, match=r"no bass line was heard in its 25 s"):
        take_of(tmp_path, speech(25.0, seed=seed))


@pytest.mark.parametrize("cents", [0.0, 25.0])
def test_a_fast_line_badly_in_tune_is_no_speech(tmp_path, cents):
    rng = np.random.default_rng(5)
    quick = [
        Pluck(0.5 + 0.13 * k, 0.11, p, float(rng.normal(0, cents))) for k, p in enumerate(WALK * 5)
    ]
    take = take_of(tmp_path, pluck(quick))
    assert len(take.notes) > 0.9 * len(quick)
    assert not any("speech" in said for said in take.warnings)


# ---- a name that is announced ----------------------------------------------------------------


def announced(seconds, seed=7, loud=0.3, pause_s=1.0):
    """Speech of uneven syllables, with a pause for breath in it and one after it."""
    rng = np.random.default_rng(seed)
    words = []
    while sum(map(len, words)) < seconds * RATE:
        long = int(rng.integers(5, 12)) / 4
        words += [speech(long, seed=seed + len(words), loud=loud), np.zeros(round(0.15 * RATE))]
    said = np.concatenate(words)[: round(seconds * RATE)]
    said[round(0.4 * seconds * RATE) :][: round(0.8 * RATE)] = 0.0
    return np.concatenate([said, np.zeros(round(pause_s * RATE))]).astype(np.float32)


@pytest.mark.parametrize("seconds", [4.0, 5.0, 8.0, 10.0])
@pytest.mark.parametrize("loud", [0.3, 0.1])
def test_a_name_that_is_announced_is_left_out_or_told(tmp_path, seconds, loud):
    said = announced(seconds, loud=loud)
    begin = len(said) / RATE + 0.5
    take = take_of(tmp_path, np.concatenate([said, pluck(line(4))]))
    warning, *others = take.warnings
    assert others[-1] == MAY_MISHEAR
    pitches = [n.pitch for n in take.notes]
    assert pitches[-4 * len(WALK) :] == list(WALK * 4)
    if (
        "count-in" in warning
    ):  # a voice that is taken for taps is left out as well, nearly all of it
        assert warning.startswith("what sounds before ")
        assert len(pitches) <= 4 * len(WALK) + 8
    elif "left out" in warning:
        assert warning == f"what sounds before {begin:.1f} s is no bass but speech: left out"
        assert [n.pitch for n in take.notes] == list(WALK * 4)
    else:
        assert f"what sounds before {begin:.1f} s may be speech" in warning
        assert f"--first-beat-one {begin:.1f}s" in warning
        assert warning.doubt == "beginning"
        assert [n.pitch for n in take.notes][-4 * len(WALK) :] == list(WALK * 4)


@pytest.mark.parametrize("seconds", [6.0, 8.0, 10.0])
def test_a_name_of_some_seconds_is_left_out_at_both_ends(tmp_path, seconds):
    parts = [announced(seconds), pluck(line(4)), announced(seconds, seed=3)]
    take = take_of(tmp_path, np.concatenate(parts))
    assert [n.pitch for n in take.notes][: 4 * len(WALK)] == list(WALK * 4)
    before, after, _ = take.warnings
    assert before == f"what sounds before {seconds + 1.5:.1f} s is no bass but speech: left out"
    assert after.startswith("what sounds after")
    assert "speech" in after


def test_some_seconds_of_talk_within_a_line_are_doubtful(tmp_path):
    sound = np.concatenate([pluck(line(4)), announced(8.0), pluck(line(4))])
    (stretch,) = take_of(tmp_path, sound).recording.doubtful
    begin = len(pluck(line(4))) / RATE
    assert (stretch.from_s, stretch.to_s) == pytest.approx((begin, begin + 8.0), abs=4.0)


def runs(gap_s, cents, rest_s, seed=2):
    """Fast notes, a rest, and again; and when the last rest ends."""
    rng = np.random.default_rng(seed)
    at, notes = 0.5, []
    for _ in range(2):
        for pitch in WALK[:7]:
            notes.append(Pluck(at, 0.9 * gap_s, pitch + 5, float(rng.normal(0, cents))))
            at += gap_s
        at += rest_s
    return notes, at


@pytest.mark.parametrize(
    "opening",
    [
        runs(0.11, 25.0, 0.0),  # fast, and badly in tune
        runs(0.11, 12.0, 1.0),  # fast, with rests
        ([Pluck(0.5, 0.2, 38), Pluck(0.75, 0.2, 37)], 1.0),  # a pickup
        ([Pluck(0.5, 3.5, 28), Pluck(4.5, 3.5, 28)], 8.5),  # a drone
        ([Pluck(0.5 + 0.5 * k, 0.45, p) for k, p in enumerate((64, 67, 71, 76) * 2)], 4.5),
        ([Pluck(0.5 + 0.5 * k, 0.4, p, loud=0.08) for k, p in enumerate(WALK[:8])], 4.5),
        ([Pluck(0.5 + k, 0.9, p, slide_cents=-500.0) for k, p in enumerate(WALK[:6])], 6.5),
    ],
    ids=["a fast run", "runs and rests", "pickup", "drone", "harmonics", "soft", "slides"],
)
@pytest.mark.parametrize("at_end", [False, True])
def test_another_beginning_or_end_of_a_line_is_no_speech(tmp_path, opening, at_end):
    notes, at = opening
    if at_end:
        begin = 0.5 + 0.4 * 4 * len(WALK)
        played = line(4) + [n._replace(onset_s=n.onset_s + begin - 0.5) for n in notes]
    else:
        played = notes + line(4, at_s=at)
    take = take_of(tmp_path, pluck(played))
    assert take.warnings == (MAY_MISHEAR,)
    assert len(take.notes) >= len(played) - 1
