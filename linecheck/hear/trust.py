"""Where a recording is to be doubted, and when nothing in it can be graded.

A stretch is doubtful where its samples are clipped, or where other sounds are as loud as the bass:
noise, a room full of people, another instrument. There the notes may be wrong and nothing is
claimed in cents. Where most of a recording is so, or it is silent, or no bass is in it, it is a
fault: a grade of it would be unfair. Before the line begins, what has no settled pitch (a voice
that counts in) is no note.

Speech is told by two things together: few of its tones are settled (5 to 70 in a hundred), and its
pitches keep to no half steps. Of 150 renders of bass, some of them fast lines in a room, one had a
stretch that looks so; fast notes do not settle, but keep to the half steps of one tuning. Seconds;
levels as shares of full scale. Thresholds: measured on renders (``tests/measure_hearing.py``), those
of speech on nine synthetic voices.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from linecheck.faults import TakeFault
from linecheck.hear.decode import STRIP_S
from linecheck.terms import DoubtfulStretch, Remark

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from linecheck.hear.listen import Heard
    from linecheck.hear.tones import Tone

SILENT = 0.001  # -60 dB
QUIET = 0.01  # -40 dB: much of a phone's own noise is heard with it
CLIPPED_NEAR = 0.5  # of the loudest sample: softer strips are not at the ceiling
CLIP_GAP_S = 1.0
LEAST_CLIPPED_S = 0.25  # of clipped strips in a stretch
WINDOW_S = 6.0
LEAST_TONES = 4  # in a window, and in a take
OWN_SHARE = (
    0.2  # of the power; a bass alone has a quarter to all of it in its harmonics, by its string
)
PLAIN_FIT = 0.42
VOICE_SHARE = 0.2  # a hiss
WEAK_TONES = 0.4  # so many of a window's tones make it doubtful
HOPELESS = 0.6  # so much of the line doubtful is no grade
FAINT_DB = 34.0  # below the plain tones: an echo, a rustle
OPENING = 4  # settled tones in a row are the line
LEAST_GLIDING = 3  # tones before it, to be told as a count-in
SHORT_S = 0.13  # a shorter tone is not settled either
SPOKEN_TONES = 24  # in a row, to be told as speech
SPOKEN_SETTLED = 0.8  # at most, and with the next:
SPOKEN = 0.9  # share of settled tones, and how well their pitches keep to half steps (0 to 1)
EDGE_TONES = 8  # fewer at an end of the recording, outside speech, are no line
NEAR_STEP = 0.2  # half steps
SETTLED_ODDS = (0.4, -0.6)  # of a tone of a line against one of speech, if it is so and if not;
NEAR_ODDS = (0.75, -1.4)  # the notes of a fast line are seldom settled
NOISE_DB = -24.0  # under the bass: pink noise of 10 dB and worse
LEAST_CLICKS = 5  # in a stretch; a bass alone has none
PLACES = 3  # are named

CLIPPED, DROWNED = "clipped", "other sounds are as loud as the bass"


class Trusted(NamedTuple):
    """The tones that are the line's, where they are doubtful, and what is to be said."""

    tones: tuple[Tone, ...]
    doubtful: tuple[DoubtfulStretch, ...]
    warnings: tuple[Remark, ...]


def trusted(heard: Heard) -> Trusted:
    """What of a recording can be used.

    Raises:
        TakeFault: it is silent, holds no bass, or is drowned by other sounds for the most part.
    """
    loudest = float(heard.peaks.max()) if len(heard.peaks) else 0.0
    if loudest < SILENT:
        level = f"{20 * np.log10(loudest):.0f} dB" if loudest > 0 else "digital silence"
        raise TakeFault(f"is silent: its loudest sample is at {level}; was the microphone on?")
    sounding, spoken, said = _without_speech(_without_faint(heard.tones))
    tones, warnings = _from_the_line_on(sounding)
    warnings = [*said, *warnings]
    if len(tones) < LEAST_TONES or not any(_plain(tone) for tone in tones):
        raise TakeFault(
            f"no bass line was heard in its {heard.duration_s:.0f} s; "
            "a take is one bass, recorded alone and close by"
        )
    drowned = _drowned(tones, spoken)
    doubted = sum(any(s.from_s <= t.onset_s < s.to_s for s in drowned) for t in tones)
    if doubted > HOPELESS * len(tones):
        raise TakeFault(
            f"cannot be graded: {DROWNED} in most of it ({_places(drowned)}); "
            "record one bass alone and close by"
        )
    clipped = _clipped(heard)
    if loudest < QUIET:
        warnings.append(
            Remark(
                f"the recording is very quiet (at most {20 * np.log10(loudest):.0f} dB); "
                "soft notes may be missing",
                "recording",
            )
        )
    if clipped:
        warnings.append(
            Remark(
                f"the recording is clipped (too loud for the microphone) at {_places(clipped)}; "
                "notes there may be wrong",
                "recording",
            )
        )
    if drowned:
        told = f"{DROWNED} at {_places(drowned)}; notes there may be wrong"
        warnings.append(Remark(told, "recording"))
    if heard.beside and np.median([beside.noise_db for beside in heard.beside]) > NOISE_DB:
        warnings.append(
            Remark(
                "there is much noise in the recording; soft notes may be missing, and some may be "
                "heard that were not played",
                "recording",
            )
        )
    if any(beside.clicks >= LEAST_CLICKS for beside in heard.beside):
        warnings.append(
            Remark(
                "a click can be heard in the recording; soft notes may be missing where it sounds",
                "recording",
            )
        )
    doubtful = sorted([*clipped, *drowned], key=lambda s: (s.from_s, s.to_s, s.why))
    return Trusted(tuple(tones), tuple(doubtful), tuple(warnings))


def _plain(tone: Tone) -> bool:
    return tone.share >= OWN_SHARE and tone.fit >= PLAIN_FIT


def _without_faint(tones: Sequence[Tone]) -> list[Tone]:
    """Tones that are loud enough to be played: a ghost lies some 20 dB below its neighbours."""
    if not tones:
        return []
    plain = float(np.percentile([tone.level_db for tone in tones], 75))
    return [tone for tone in tones if tone.level_db > plain - FAINT_DB]


def _without_speech(
    tones: list[Tone],
) -> tuple[list[Tone], list[DoubtfulStretch], list[Remark]]:
    """The tones without the speech at both ends, the speech among them, and what to say."""
    spoken = _spoken(tones)
    if not spoken:
        return tones, [], []
    heard = np.ones(len(tones), dtype=bool)
    for begin, end in spoken:
        heard[begin:end] = False
    if heard.sum() < EDGE_TONES:
        return [], [], []
    marks = _marks_of_a_line(tones, heard)
    first, last = 0, len(tones)
    inside = []
    for begin, end in spoken:
        if begin < EDGE_TONES:
            first = _cut(marks, end + EDGE_TONES)
        elif len(tones) - end < EDGE_TONES:
            last = len(tones) - _cut(marks[::-1], len(tones) - begin + EDGE_TONES)
        else:
            inside.append(DoubtfulStretch(tones[begin].onset_s, tones[end - 1].end_s, DROWNED))
    kept = tones[first:last]
    said = []
    if kept and first:
        told = f"what sounds before {kept[0].onset_s:.1f} s is no bass but speech: left out"
        said.append(Remark(told))
    if kept and last < len(tones):
        told = f"what sounds after {kept[-1].end_s:.1f} s is no bass but speech: left out"
        said.append(Remark(told))
    return kept, inside, said


def _spoken(tones: Sequence[Tone]) -> list[tuple[int, int]]:
    """Stretches of speech, as indices from and to; those with few tones between them are one."""
    if len(tones) < SPOKEN_TONES:
        return []
    each = np.ones(SPOKEN_TONES) / SPOKEN_TONES
    settled = np.convolve([float(tone.settled) for tone in tones], each, "valid")
    # The length of the mean of the directions, where a half step is once around a circle.
    steps = np.abs(np.convolve(np.exp(2j * np.pi * _half_steps(tones)), each, "valid"))
    drowned = np.convolve([float(not _plain(tone)) for tone in tones], each, "valid") > WEAK_TONES
    speech = (settled + steps <= SPOKEN) & (settled <= SPOKEN_SETTLED) & ~drowned
    found: list[tuple[int, int]] = []
    for begin in np.flatnonzero(speech).tolist():
        if found and begin - found[-1][1] < EDGE_TONES:
            found[-1] = (found[-1][0], begin + SPOKEN_TONES)
        else:
            found.append((begin, begin + SPOKEN_TONES))
    return found


def _half_steps(tones: Sequence[Tone]) -> NDArray[np.float64]:
    return np.asarray(12.0 * np.log2([tone.hertz for tone in tones]))


def _marks_of_a_line(tones: Sequence[Tone], heard: NDArray[np.bool_]) -> NDArray[np.float64]:
    """How much every tone speaks for the line (log-odds): it is settled, and at a half step."""
    around = _half_steps(tones)
    tuning = np.angle(np.exp(2j * np.pi * around[heard]).mean()) / (2 * np.pi)
    off = np.abs((around - tuning + 0.5) % 1.0 - 0.5)
    settled = np.array([tone.settled for tone in tones])
    return np.where(settled, *SETTLED_ODDS) + np.where(off < NEAR_STEP, *NEAR_ODDS)


def _cut(marks: NDArray[np.float64], most: int) -> int:
    """How many tones from the beginning on are speech, ``most`` at most."""
    return int(np.concatenate([[0.0], np.cumsum(marks[:most])]).argmin())


def _from_the_line_on(tones: list[Tone]) -> tuple[list[Tone], list[Remark]]:
    """The tones from where a line begins, and what to say of those before.

    A voice glides: few of its tones are settled, none four in a row.
    """
    first = next(
        (i for i in range(len(tones)) if all(t.settled for t in tones[i : i + OPENING])), 0
    )
    while first and not _glides(tones[first - 1]):
        first -= 1
    before = tones[:first]
    if sum(_glides(tone) for tone in before) < max(LEAST_GLIDING, len(before) / 2):
        return tones, []
    return tones[first:], [
        Remark(f"what sounds before {tones[first].onset_s:.1f} s is no bass: taken for a count-in")
    ]


def _glides(tone: Tone) -> bool:
    """No tone of a bass: long enough to be settled and not, or not for the most part a tone."""
    return tone.share < VOICE_SHARE or (not tone.settled and tone.end_s - tone.onset_s > SHORT_S)


def _drowned(tones: Sequence[Tone], spoken: Sequence[DoubtfulStretch]) -> list[DoubtfulStretch]:
    """Windows in which most tones are not plain, and speech, joined where they meet."""
    onsets = np.array([tone.onset_s for tone in tones])
    weak = np.array([not _plain(tone) for tone in tones])
    windows = [(s.from_s, s.to_s) for s in spoken]
    begin = float(onsets[0])
    while begin <= onsets[-1]:
        inside = (onsets >= begin) & (onsets < begin + WINDOW_S)
        if inside.sum() >= LEAST_TONES and weak[inside].mean() > WEAK_TONES:
            end = max(tone.end_s for tone, i in zip(tones, inside.tolist(), strict=True) if i)
            windows.append((begin, end))
        begin += WINDOW_S / 2
    found: list[DoubtfulStretch] = []
    for begin, end in sorted(windows):
        _join(found, begin, end, DROWNED, WINDOW_S / 2)
    return found


def _clipped(heard: Heard) -> list[DoubtfulStretch]:
    ceiling = CLIPPED_NEAR * float(heard.peaks.max())
    strips = np.flatnonzero((heard.flat > 0) & (heard.peaks >= ceiling))
    found: list[DoubtfulStretch] = []
    for strip in strips.tolist():
        _join(found, strip * STRIP_S, (strip + 1) * STRIP_S, CLIPPED, CLIP_GAP_S)
    middles = (strips + 0.5) * STRIP_S
    begins, ends = np.searchsorted(middles, [(s.from_s, s.to_s) for s in found]).reshape(-1, 2).T
    held = (ends - begins) * STRIP_S
    return [s for s, s_held in zip(found, held.tolist(), strict=True) if s_held >= LEAST_CLIPPED_S]


def _join(found: list[DoubtfulStretch], begin: float, end: float, why: str, gap: float) -> None:
    if found and begin <= found[-1].to_s + gap:
        begin, end = found[-1].from_s, max(end, found[-1].to_s)
        found.pop()
    found.append(DoubtfulStretch(begin, end, why))


def _places(stretches: Sequence[DoubtfulStretch]) -> str:
    named = [f"{_clock(s.from_s)} to {_clock(s.to_s)}" for s in stretches[:PLACES]]
    more = len(stretches) - PLACES
    return ", ".join(named) + (f" and {more} more" if more > 0 else "")


def _clock(seconds: float) -> str:
    minutes, rest = divmod(int(seconds), 60)
    return f"{minutes}:{rest:02d}"
