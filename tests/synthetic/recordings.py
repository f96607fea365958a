"""Recordings of known lines: rendered through a free sound font, then spoiled as rooms do.

``render`` plays notes (seconds, MIDI pitches, velocities, cents) with FluidSynth through a General
MIDI sound font; ``CONDITIONS`` are what a phone, a room or a band does to the sound. All follow
from their seed. Sounds are float32 arrays at ``RATE``, mono, full scale ±1.
"""

from __future__ import annotations

import io
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path
from shutil import which
from typing import TYPE_CHECKING

import mido
import numpy as np
import soundfile
from numpy.typing import NDArray
from scipy import signal

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

Sound = NDArray[np.float32]
RATE = 44_100
FOLDERS = (Path("/usr/share/sounds/sf2"), Path("/usr/share/soundfonts"))
# name → (file, Debian package); the first two were heard while the settings were made
FONTS = {
    "fluid": ("FluidR3_GM.sf2", "fluid-soundfont-gm"),
    "general": ("MuseScore_General_Full.sf2", "musescore-general-soundfont-lossless"),
    "tim": ("TimGM6mb.sf2", "timgm6mb-soundfont"),
    "csound": ("sf_GMbank.sf2", "csound-soundfont"),
}
ACOUSTIC, FINGERED, PICKED, FRETLESS, BOWED = 32, 33, 34, 35, 43  # programs, counted from 0
PPQ = 9600  # at the 120 of a file without a tempo a tick is 0.05 ms
BEND_SEMITONES = 2.0


@dataclass(frozen=True)
class SoundNote:
    """What is played, and what is true: ``cents`` off equal temperament at A = 440."""

    onset_s: float
    duration_s: float
    pitch: int
    velocity: int
    cents: float = 0.0


def font_file(name: str) -> Path | None:
    """The file of a font, or None where it is not installed."""
    file, _ = FONTS[name]
    return next((folder / file for folder in FOLDERS if (folder / file).is_file()), None)


def can_render(name: str = "fluid") -> bool:
    return which("fluidsynth") is not None and font_file(name) is not None


def render(
    notes: Sequence[SoundNote],
    font: str = "fluid",
    program: int = ACOUSTIC,
    *,
    bends: Sequence[tuple[float, float, float]] = (),
    tail_s: float = 1.5,
) -> Sound:
    """The sound of a line.

    ``bends`` are (second, cents, number of the note): a note's pitch from then on, beside its own
    cents. Notes take turns over the channels, so that a bend leaves the tone before it alone.
    """
    events: list[tuple[int, int, mido.Message]] = []
    channels = [c for c in range(16) if c != 9]

    def wheel(cents: float) -> int:
        return int(np.clip(round(cents / (100 * BEND_SEMITONES) * 8192), -8192, 8191))

    for number, note in enumerate(notes):
        channel = channels[number % len(channels)]
        begin, end = (round(s * 2 * PPQ) for s in (note.onset_s, note.onset_s + note.duration_s))
        bend = mido.Message("pitchwheel", channel=channel, pitch=wheel(note.cents))
        on = mido.Message("note_on", channel=channel, note=note.pitch, velocity=note.velocity)
        off = mido.Message("note_off", channel=channel, note=note.pitch)
        events += [(begin, 1, bend), (begin, 2, on), (max(end, begin + 1), 0, off)]
    for at_s, cents, number in bends:
        channel = channels[number % len(channels)]
        message = mido.Message(
            "pitchwheel", channel=channel, pitch=wheel(cents + notes[number].cents)
        )
        events.append((round(at_s * 2 * PPQ), 3, message))
    track = mido.MidiTrack(
        mido.Message("program_change", channel=c, program=program) for c in channels
    )
    now = 0
    for at, _, message in sorted(events, key=lambda e: (e[0], e[1])):
        track.append(message.copy(time=at - now))
        now = at
    content = io.BytesIO()
    mido.MidiFile(type=0, ticks_per_beat=PPQ, tracks=[track]).save(file=content)
    with tempfile.TemporaryDirectory() as folder:
        midi, wav = Path(folder) / "line.mid", Path(folder) / "line.wav"
        midi.write_bytes(content.getvalue())
        command = ["fluidsynth", "-ni", "-q", "-R0", "-C0", "-g", "0.6", "-r", str(RATE)]
        command += ["-T", "wav", "-O", "float", "-F", str(wav), str(font_file(font)), str(midi)]
        subprocess.run(command, check=True, capture_output=True)
        sound, _ = soundfile.read(wav, dtype="float32", always_2d=True)
    mono = sound.mean(axis=1)
    last = max(note.onset_s + note.duration_s for note in notes)
    length = round((last + tail_s) * RATE)
    mono = np.pad(mono[:length], (0, max(0, length - len(mono))))
    return np.asarray(mono * (0.5 / max(1e-6, float(np.abs(mono).max()))), dtype=np.float32)


# ---- what happens to a sound -----------------------------------------------------------------


def _level(sound: Sound) -> float:
    """RMS of what sounds: silence does not count."""
    frames = sound[: len(sound) // 1024 * 1024].reshape(-1, 1024)
    power = (frames.astype(np.float64) ** 2).mean(axis=1)
    return float(np.sqrt(power[power > power.max() * 1e-3].mean()))


def _add(sound: Sound, other: NDArray[np.floating], below_db: float) -> Sound:
    """Add another sound so that the line lies ``below_db`` above it."""
    gain = _level(sound) / max(_level(other.astype(np.float32)), 1e-9) * 10 ** (-below_db / 20)
    return (sound + gain * other[: len(sound)]).astype(np.float32)


def pink(length: int, rng: np.random.Generator) -> NDArray[np.float64]:
    """Noise that falls by 3 dB an octave from 20 Hz on."""
    spectrum = np.fft.rfft(rng.normal(0, 1, length))
    hz = np.fft.rfftfreq(length, 1 / RATE)
    return np.fft.irfft(spectrum / np.sqrt(np.maximum(hz, 20.0)), length)


def hum(sound: Sound, rng: np.random.Generator, db: float = 10.0, mains: float = 50.0) -> Sound:
    t = np.arange(len(sound)) / RATE
    tone = sum(
        a * np.sin(2 * np.pi * mains * h * t + rng.uniform(0, 6.28))
        for h, a in ((1, 1.0), (2, 0.6), (3, 0.45), (4, 0.2), (5, 0.2), (6, 0.1))
    )
    return _add(sound, np.asarray(tone), db)


def noise(sound: Sound, rng: np.random.Generator, db: float = 15.0) -> Sound:
    return _add(sound, pink(len(sound), rng), db)


def reverb(
    sound: Sound, rng: np.random.Generator, rt60_s: float = 0.7, wet_db: float = -4.0
) -> Sound:
    """A small room: early reflections and a tail that is darker as it goes."""
    length = round(rt60_s * 1.2 * RATE)
    t = np.arange(length) / RATE
    tail = rng.normal(0, 1, length) * np.exp(-6.91 * t / rt60_s)
    dark = signal.sosfilt(signal.butter(1, 2500, fs=RATE, output="sos"), tail)
    tail = np.where(t < 0.03, 0, dark)
    for _ in range(6):
        tail[round(rng.uniform(0.004, 0.035) * RATE)] += rng.choice([-1, 1]) * rng.uniform(2, 5)
    tail *= 10 ** (wet_db / 20) / np.sqrt((tail**2).sum())
    tail[0] += 1.0
    return signal.fftconvolve(sound, tail)[: len(sound)].astype(np.float32)


def phone(sound: Sound, rng: np.random.Generator, low_hz: float = 120.0, db: float = 26.0) -> Sound:
    """A phone: no low end, none above 7 kHz, a compressor, its own noise."""
    cut = signal.sosfilt(signal.butter(3, low_hz, "highpass", fs=RATE, output="sos"), sound)
    cut = signal.sosfilt(signal.butter(4, 7000, fs=RATE, output="sos"), cut)
    power = signal.lfilter([1 - 0.9995], [1, -0.9995], cut**2) + 1e-8
    squeezed = cut * (power / power.max()) ** -0.15
    squeezed = squeezed / np.abs(squeezed).max() * 0.6
    return _add(squeezed.astype(np.float32), rng.normal(0, 1, len(sound)), db)


def foot(sound: Sound, rng: np.random.Generator, every_s: float = 0.55, db: float = 7.0) -> Sound:
    """A foot that taps: a thump near 75 Hz and the slap of the sole."""
    t = np.arange(round(0.25 * RATE)) / RATE
    taps = np.zeros(len(sound) + 2 * len(t))
    for at in np.arange(0.3, len(sound) / RATE, every_s):
        hz = rng.uniform(60, 95)
        thump = np.sin(2 * np.pi * hz * t) * np.exp(-t / 0.03)
        slap = 0.25 * rng.normal(0, 1, len(t)) * np.exp(-t / 0.006)
        begin = round((at + rng.normal(0, 0.02)) * RATE)
        taps[begin : begin + len(t)] += thump + slap
    return (sound + taps[: len(sound)] * np.abs(sound).max() * 10 ** (-db / 20)).astype(np.float32)


def click(sound: Sound, rng: np.random.Generator, every_s: float = 0.5, db: float = 8.0) -> Sound:
    """A metronome from a small loudspeaker: blips of 1 kHz, the first of four higher."""
    t = np.arange(round(0.05 * RATE)) / RATE
    blips = np.zeros(len(sound) + len(t))
    first = rng.uniform(0, every_s)
    for number, at in enumerate(np.arange(first, len(sound) / RATE, every_s)):
        hz = 1500 if number % 4 == 0 else 1000
        begin = round(at * RATE)
        blips[begin : begin + len(t)] += np.sin(2 * np.pi * hz * t) * np.exp(-t / 0.012)
    return (sound + blips[: len(sound)] * np.abs(sound).max() * 10 ** (-db / 20)).astype(np.float32)


def clip(sound: Sound, rng: np.random.Generator, over_db: float = 8.0) -> Sound:
    del rng
    loud = sound / np.abs(sound).max() * 10 ** (over_db / 20)
    return np.clip(loud, -1.0, 1.0).astype(np.float32)


def worst(sound: Sound, rng: np.random.Generator) -> Sound:
    return noise(phone(reverb(sound, rng), rng), rng, 15.0)


def as_it_is(sound: Sound, rng: np.random.Generator) -> Sound:
    del rng
    return sound


CONDITIONS: dict[str, Callable[[Sound, np.random.Generator], Sound]] = {
    "clean": as_it_is,
    "hum 10 dB": hum,
    "pink noise 15 dB": noise,
    "pink noise 10 dB": lambda s, r: noise(s, r, 10.0),
    "room 0.7 s": reverb,
    "phone, from 120 Hz": phone,
    "phone in a room": lambda s, r: phone(reverb(s, r, 0.4, -8.0), r),
    "phone, room, noise": worst,
    "foot": foot,
    "click": click,
    "clipped": clip,
}
