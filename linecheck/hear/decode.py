"""A recording as blocks of mono sound at a low rate, and how its samples were taken.

``.wav .flac .ogg .mp3`` are decoded by libsndfile (soundfile), ``.m4a`` by the system's ffmpeg
where there is one. Channels are averaged. The working rate is the recording's divided by a whole
number, 10.6 to 21 kHz, or the recording's own where that is lower: the tone of a double bass lies
below 3 kHz. Only one block at a time is in memory. Levels are shares of full scale.
"""

from __future__ import annotations

import os
import subprocess
import sys
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from importlib import import_module
from itertools import chain
from shutil import which
from threading import Lock
from typing import IO, TYPE_CHECKING, Any, cast

import numpy as np
from numpy.typing import NDArray

from linecheck.faults import TakeFault

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

Floats = NDArray[np.float32]

EXTRA = "a recording is read with the optional extra; install it"
WORKING_HZ = 10_600  # the least that a rate is brought down to
LEAST_HZ, MOST_HZ = 6_000, 400_000
BLOCK_S = 10.0
LONGEST_S = 4 * 3600.0
FFMPEG_SUFFIXES = (".m4a",)
FFMPEG_HZ = 44_100
STRIP_S = 0.1  # samples are watched in strips of this length
MP3_FRAME = 1_441  # bytes that a frame has at most
STDERR = 2
CLIP_RATIO = 1.5  # samples in the top thousandth against those in the hundredth below
LEAST_CLIPPED = 0.004  # of the samples of a strip


@dataclass(frozen=True, slots=True)
class Block:
    """Sound at the working rate, and the strips of it as they were sampled.

    ``peaks`` and ``flat`` have one entry a strip of ``STRIP_S``: the largest sample, and the
    share of its samples that stand at a ceiling (0 where there is none).
    """

    sound: Floats
    peaks: Floats
    flat: Floats


@dataclass(frozen=True, slots=True)
class Source:
    """An open recording.

    ``frames`` is the length that its header gives, and None where that is not known beforehand;
    a file that was cut off holds fewer.
    """

    sample_rate: int
    channels: int
    frames: int | None
    rate: float
    blocks: Iterator[Block]


def audio_libraries() -> tuple[Any, Any]:
    """Soundfile and scipy.signal.

    Raises:
        TakeFault: the optional extra is not installed.
    """
    try:
        return import_module("soundfile"), import_module("scipy.signal")
    except ModuleNotFoundError as error:
        raise TakeFault(f"{EXTRA}: pip install 'linecheck[audio]'") from error
    except (ImportError, OSError) as error:  # they are there, and libsndfile itself is missing
        again = "pip install --force-reinstall 'linecheck[audio]'"
        raise TakeFault(f"{EXTRA} again: {again} ({error})") from error


@contextmanager
def open_recording(path: Path, *, working_hz: int = WORKING_HZ) -> Iterator[Source]:
    """Open a recording; its blocks are decoded as they are asked for.

    Args:
        path: the recording.
        working_hz: the least that its rate is brought down to.

    Raises:
        TakeFault: it cannot be decoded, or its rate or length is out of range.
    """
    soundfile, signal = audio_libraries()
    lowered = partial(_source, signal=signal, working_hz=working_hz)
    if path.suffix.lower() in FFMPEG_SUFFIXES:
        with _by_ffmpeg(path) as stream:
            chunks = _ffmpeg_chunks(stream)
            yield lowered(chunks, FFMPEG_HZ, 1, None)
        return
    file: Any = None
    try:
        with _no_chatter():
            file = soundfile.SoundFile(str(path))
        rate, frames = int(file.samplerate), int(file.frames)
        told = file.format != "MP3" or _mp3_tells_its_length(path)
        known = frames if told and 0 < frames < 2**50 else None
        _check_rate(rate)
        if known is not None and known / rate > LONGEST_S:
            raise TakeFault(
                f"lasts {known / rate / 3600:.1f} hours; expected {LONGEST_S / 3600:.0f} at most"
            )
        yield lowered(_file_chunks(file), rate, int(file.channels), known)
    except soundfile.LibsndfileError as error:  # its own words speak of pipes and side infos
        suffix = path.suffix.lower()
        raise TakeFault(
            f"cannot be decoded as {suffix}: it is damaged, or it is no {suffix} but something else "
            "by that name"
        ) from error
    finally:
        if file is not None:
            with _no_chatter():
                file.close()


def _file_chunks(file: Any) -> Iterator[Floats]:
    """Blocks as they are decoded (frames × channels), until there is no more: headers err."""
    size = round(BLOCK_S * file.samplerate)
    while True:
        with _no_chatter():
            chunk = file.read(size, dtype="float32", always_2d=True)
        if not len(chunk):
            return
        yield chunk


def _mp3_tells_its_length(path: Path) -> bool:
    """Whether the first frame counts the others; where none does, a length is only estimated.

    The frame lies behind the tags in front of it (*ID3v2.4*, 3.1: ten bytes, the last four a
    length in sevens of bits).
    """
    with path.open("rb") as file:
        head = file.read(10)
        tags = 0
        if head[:3] == b"ID3" and len(head) == 10:
            tags = 10 + sum(
                (byte & 0x7F) << shift for byte, shift in zip(head[6:], (21, 14, 7, 0), strict=True)
            )
        file.seek(tags)
        first = file.read(MP3_FRAME)
    return any(name in first for name in (b"Xing", b"Info", b"VBRI"))


DECODING = Lock()


@contextmanager
def _no_chatter() -> Iterator[None]:
    """Keep standard error free of what the decoder of MP3 writes there past all settings.

    Only around calls of the decoder: meanwhile nobody else is heard there either. Where standard
    error is closed its number may be another file's, and is left alone.
    """
    with DECODING:
        try:
            kept = os.dup(STDERR) if sys.__stderr__ is not None else None
        except OSError:
            kept = None
        if kept is None:
            yield
            return
        try:
            nowhere = os.open(os.devnull, os.O_WRONLY)
            try:
                os.dup2(nowhere, STDERR)
            finally:
                os.close(nowhere)
            yield
        finally:
            os.dup2(kept, STDERR)
            os.close(kept)


def _check_rate(rate: int) -> None:
    if not LEAST_HZ <= rate <= MOST_HZ:
        raise TakeFault(
            f"is sampled at {rate:,} Hz; expected {LEAST_HZ:,} to {MOST_HZ:,} (a phone records "
            "at 44,100 or 48,000)"
        )


def _source(
    chunks: Iterator[Floats],
    sample_rate: int,
    channels: int,
    frames: int | None,
    *,
    signal: Any,
    working_hz: int,
) -> Source:
    divisor = max(1, sample_rate // working_hz)
    blocks = _lowered(chunks, sample_rate, divisor, signal)
    return Source(sample_rate, channels, frames, sample_rate / divisor, blocks)


def _lowered(
    chunks: Iterator[Floats], sample_rate: int, divisor: int, signal: Any
) -> Iterator[Block]:
    """Blocks brought down to the working rate by one filter that runs on from block to block."""
    reach = 12 * divisor
    taps = signal.firwin(2 * reach + 1, 0.92 / divisor).astype(np.float32) if divisor > 1 else None
    held = np.zeros(reach, dtype=np.float32)
    strip = max(1, round(STRIP_S * sample_rate))
    silence = np.zeros((reach, 1), dtype=np.float32)
    for chunk in chain(chunks, [] if taps is None else [silence]):
        mono = np.nan_to_num(chunk.mean(axis=1, dtype=np.float32), posinf=0.0, neginf=0.0)
        peaks, flat = _watched(np.abs(chunk).max(axis=1), strip)
        if chunk is silence:
            peaks, flat = peaks[:0], flat[:0]
        if taps is None:
            yield Block(mono, peaks, flat)
            continue
        held = np.concatenate([held, mono])
        ready = max(0, (len(held) - 2 * reach - 1) // divisor + 1)
        low = signal.upfirdn(taps, held, 1, divisor)[24 : 24 + ready]
        yield Block(low.astype(np.float32), peaks, flat)
        held = held[ready * divisor :]


def _watched(level: Floats, strip: int) -> tuple[Floats, Floats]:
    """Peak of every strip, and the share of its samples that stand at a ceiling.

    A sine has half as many samples in the top thousandth as in the hundredth below it; what is
    clipped has many times more.
    """
    count = -(-len(level) // strip)
    rows = np.pad(level, (0, count * strip - len(level))).reshape(count, strip)
    peaks = rows.max(axis=1)
    top = (rows >= 0.999 * peaks[:, None]).mean(axis=1, dtype=np.float32)
    below = (rows >= 0.99 * peaks[:, None]).mean(axis=1, dtype=np.float32) - top
    clipped = (peaks > 0) & (top > CLIP_RATIO * below) & (top > LEAST_CLIPPED)
    return peaks, np.where(clipped, top, 0.0).astype(np.float32)


# ---- by the system's decoder -----------------------------------------------------------------


@contextmanager
def _by_ffmpeg(path: Path) -> Iterator[IO[bytes]]:
    program = which("ffmpeg")
    if program is None:
        raise TakeFault(
            f"{path.suffix.lower()} is decoded by ffmpeg, which is not installed here; install it, "
            "or save the recording as .wav, .flac or .mp3"
        )
    command = [program, "-v", "error", "-nostdin", "-i", f"file:{path}", "-vn", "-ac", "1"]
    command += ["-ar", str(FFMPEG_HZ), "-f", "f32le", "-"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE)  # noqa: S603
    sound, errors = cast("IO[bytes]", process.stdout), cast("IO[bytes]", process.stderr)
    try:
        yield sound
        sound.close()
        told = errors.read().decode("utf-8", "replace").strip().splitlines()
        if process.wait():
            last = told[-1] if told else "ffmpeg gave up"
            raise TakeFault(f"cannot be decoded: {last}", names=(last,))
    finally:
        sound.close()
        errors.close()
        process.kill()
        process.wait()


def _ffmpeg_chunks(stream: IO[bytes]) -> Iterator[Floats]:
    size = round(BLOCK_S * FFMPEG_HZ) * 4
    seconds = 0.0
    while content := stream.read(size):
        seconds += len(content) / 4 / FFMPEG_HZ
        if seconds > LONGEST_S:
            raise TakeFault(f"lasts longer than {LONGEST_S / 3600:.0f} hours")
        yield np.frombuffer(content[: len(content) // 4 * 4], dtype="<f4").reshape(-1, 1)
