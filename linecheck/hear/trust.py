"""Where a recording is to be doubted, and when nothing in it can be graded.

A stretch is doubtful where its samples are clipped, or where other sounds are as loud as the bass:
noise, a room full of people, another instrument. There the notes may be wrong and nothing is
claimed in cents. Where most of a recording is so, or it is silent, or no bass is in it, it is a
fault: a grade of it would be unfair. Before the line begins, what has no settled pitch (a voice
that counts in) is no note.

Speech is told by two things together: few of its tones are settled (5 to 70 in a hundred), and its
pitches keep to no half steps. Of 150 renders of bass, some of them fast lines in a room, one had a
stretch that looks so; fast notes do not settle, but keep to the half steps of one tuning.

A name that is announced is too short for that. It is told by five signs of its tones against those
of the take's own line (naive Bayes), and left out where it has pauses, and keeps neither to the
half steps nor to a time: a fast run into a line has none of these. Where only some of it holds, it
is told and kept. Seconds; levels as shares of full scale. Thresholds: measured on renders
(``tests/measure_hearing.py``), those of speech on ten synthetic voices.
"""

from __future__ import annotations

from itertools import pairwise
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
PURE, LOUD_DB, LONG_S = 0.7, -6.0, 0.15  # share of the power; to the line's median; of a tone
# How many tones are settled, at a half step, pure, loud and long: of speech, of a line.
SPEECH_SIGNS = (0.5, 0.42, 0.25, 0.45, 0.4)
LINE_SIGNS = (0.9, 0.9, 0.9, 0.95, 0.9)
SIGNS_WEIGHT = 8.0  # tones; the take's own weigh against that
SURELY = 0.97  # no sign is in more of a line
PAUSE_ODDS, PAUSE_S = 6.0, (0.3, 0.7)  # a pause speaks for a change from speech: from and over
EDGE_S = 15.0  # from an end on, speech is looked for; and so far in from it is the line at first:
LINE_FROM_S, LEAST_LINE = 12.0, 16
SHORT_TALK_ODDS, SHORT_TALK_TONES = 25.0, 6  # the least that is left out
MAY_TALK_ODDS, MAY_TALK_TONES = 10.0, 3  # the least that is told
TALK_NEAR, TALK_PURE = 0.65, 0.7  # of its tones at most are at a half step, and pure
MAY_TALK_NEAR = 0.71
TALK_UNEVEN = 0.3  # middle half of the times between its tones, to their median
TALK_PAUSE_S, SURE_PAUSE_S = 0.6, 1.0  # in speech; even where its tones come at even times
LONG_TALK_S, LONG_TALK_PAUSE_S = 10.0, 0.4
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
    if warnings:  # told already, and left out
        said = [remark for remark in said if remark.doubt != "beginning"]
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
    heard = np.ones(len(tones), dtype=bool)
    for begin, end in spoken:
        heard[begin:end] = False
    if heard.sum() < EDGE_TONES:
        return ([], [], []) if spoken else (tones, [], [])
    first, last, inside = _long_talk(tones, spoken, heard)
    may_begin = may_end = 0
    if not first:
        first, may_begin = _short_talk(tones[:last])
    if last == len(tones):
        count, may_end = _short_talk(tones[first:], from_end=True)
        last -= count
    kept = tones[first:last]
    if len(kept) < EDGE_TONES:
        return [], [], []
    said = []
    if first:
        said.append(Remark(_left_out(f"before {kept[0].onset_s:.1f}")))
    if may_begin:
        told, begins = f"before {kept[may_begin].onset_s:.1f}", kept[may_begin].onset_s
        then = f"if it is and chorus 1 begins there, give --first-beat-one {begins:.1f}s"
        said.append(Remark(f"what sounds {told} s may be speech; {then}", "beginning"))
    if last < len(tones):
        said.append(Remark(_left_out(f"after {kept[-1].end_s:.1f}")))
    if may_end:
        told = f"what sounds after {kept[-may_end - 1].end_s:.1f} s may be speech"
        said.append(Remark(told, "recording"))
    return kept, inside or _talk_between(kept), said


def _left_out(where: str) -> str:
    return f"what sounds {where} s is no bass but speech: left out"


def _long_talk(
    tones: Sequence[Tone], spoken: Sequence[tuple[int, int]], heard: NDArray[np.bool_]
) -> tuple[int, int, list[DoubtfulStretch]]:
    """From which tone to which the line is, and the speech within it."""
    first, last = 0, len(tones)
    marks, pauses = _marks(tones, heard, ~heard), _pauses(tones)
    inside = []
    for begin, end in spoken:
        if begin < EDGE_TONES:
            first = _cut(marks, pauses, end + SPOKEN_TONES)[0]
        elif len(tones) - end < EDGE_TONES:
            last = (
                len(tones) - _cut(marks[::-1], pauses[::-1], len(tones) - begin + SPOKEN_TONES)[0]
            )
        else:
            inside.append(DoubtfulStretch(tones[begin].onset_s, tones[end - 1].end_s, DROWNED))
    return first, last, inside


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
    pauses = _pauses(tones)
    return [
        (begin, end)
        for begin, end in found
        if _breathes(tones[begin:end], pauses[begin + 1 : end].max())
    ]


def _breathes(tones: Sequence[Tone], pause_s: float) -> bool:
    """Whether speech it is by its times: with pauses and uneven, as no run of fast notes is."""
    long = tones[-1].end_s - tones[0].onset_s > LONG_TALK_S
    apart = np.diff([tone.onset_s for tone in tones])
    few, middle, many = np.percentile(apart, [25, 50, 75])
    uneven = bool(many - few >= TALK_UNEVEN * middle)
    least_s = LONG_TALK_PAUSE_S if long else TALK_PAUSE_S
    return pause_s >= SURE_PAUSE_S or (uneven and pause_s >= least_s)


def _half_steps(tones: Sequence[Tone]) -> NDArray[np.float64]:
    return np.asarray(12.0 * np.log2([tone.hertz for tone in tones]))


def _signs(tones: Sequence[Tone], line: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """What a tone of a line has (signs × tones); tuning and loudness are those of the line."""
    steps = _half_steps(tones)
    tuning = np.angle(np.exp(2j * np.pi * steps[line]).mean()) / (2 * np.pi)
    off = np.abs((steps - tuning + 0.5) % 1.0 - 0.5)
    level = np.array([tone.level_db for tone in tones])
    return np.array(
        [
            [tone.settled for tone in tones],
            off < NEAR_STEP,
            [tone.share > PURE for tone in tones],
            level > np.median(level[line]) + LOUD_DB,
            [tone.end_s - tone.onset_s > LONG_S for tone in tones],
        ]
    )


def _marks(
    tones: Sequence[Tone], line: NDArray[np.bool_], speech: NDArray[np.bool_]
) -> NDArray[np.float64]:
    """How much every tone speaks for speech (log-odds), by what is held for line and speech."""
    signs = _signs(tones, line)
    of_line, of_speech = (
        (signs[:, held].sum(axis=1) + SIGNS_WEIGHT * np.array(before)) / (held.sum() + SIGNS_WEIGHT)
        for held, before in ((line, LINE_SIGNS), (speech, SPEECH_SIGNS))
    )
    of_line = np.maximum(np.minimum(of_line, SURELY), of_speech)
    there, missing = np.log(of_speech / of_line), np.log((1 - of_speech) / (1 - of_line))
    return np.asarray(np.where(signs, there[:, None], missing[:, None]).sum(axis=0))


def _pauses(tones: Sequence[Tone]) -> NDArray[np.float64]:
    """The pause before every tone, and 0 after the last; the first has none."""
    between = [b.onset_s - a.end_s for a, b in pairwise(tones)]
    return np.array([0.0, *between, 0.0])


def _cut(marks: NDArray[np.float64], pauses: NDArray[np.float64], most: int) -> tuple[int, float]:
    """How many tones from the beginning on are speech, ``most`` at most, and the odds for it."""
    odds = np.concatenate([[0.0], np.cumsum(marks[:most])])
    least, over = PAUSE_S
    change = PAUSE_ODDS * np.clip((pauses[: len(odds)] - least) / over, 0.0, 1.0)
    change[0] = 0.0
    count = int((odds + change).argmax())
    return count, float(odds[count])


def _short_talk(tones: Sequence[Tone], *, from_end: bool = False) -> tuple[int, int]:
    """How many tones at the beginning (or end) are speech, and how many may be."""
    if len(tones) < LEAST_LINE:
        return 0, 0
    way = -1 if from_end else 1
    onsets = np.array([tone.onset_s for tone in tones])
    line = (onsets >= onsets[0] + LINE_FROM_S) & (onsets <= onsets[-1] - LINE_FROM_S)
    number = np.arange(len(tones))
    if line.sum() < LEAST_LINE:
        line = (number >= len(tones) // 4) & (number < len(tones) - len(tones) // 4)
    pauses = _pauses(tones)
    near_end = int((np.abs(onsets - onsets[::way][0]) < EDGE_S).sum())
    far = number[line][::way][-1]
    count, odds, speech = 0, 0.0, np.zeros(len(tones), dtype=bool)
    for _ in range(3):  # what is found tells how this speech and this line are
        marks = _marks(tones, line, speech)
        count, odds = _cut(marks[::way], pauses[::way], min(near_end, len(tones) - EDGE_TONES))
        speech[:] = False
        speech[::way][:count] = True
        line = ~speech & (number * way <= far * way)
        if line.sum() < EDGE_TONES:
            return 0, 0
    if odds < MAY_TALK_ODDS or count < MAY_TALK_TONES:
        return 0, 0
    pause_s = float(pauses[::way][1 : count + 1].max())
    surely, maybe = _looks_spoken(tones, speech, line, pause_s)
    if surely and odds >= SHORT_TALK_ODDS and count >= SHORT_TALK_TONES:
        return count, 0
    return 0, count if maybe else 0


def _looks_spoken(
    tones: Sequence[Tone], speech: NDArray[np.bool_], line: NDArray[np.bool_], pause_s: float
) -> tuple[bool, bool]:
    """Whether it is surely, and maybe, speech by its half steps, its sound and its times."""
    _, near, pure, *_ = _signs(tones, line)[:, speech].mean(axis=1).tolist()
    talk = [tone for tone, held in zip(tones, speech, strict=True) if held]
    if np.mean([not _plain(tone) for tone in talk]) > WEAK_TONES:
        return False, near <= MAY_TALK_NEAR  # a line that is drowned looks so too
    maybe = near <= MAY_TALK_NEAR and pure <= TALK_PURE and pause_s >= TALK_PAUSE_S
    return maybe and near <= TALK_NEAR and _breathes(talk, pause_s), maybe


def _talk_between(tones: Sequence[Tone]) -> list[DoubtfulStretch]:
    """The stretch within a line that is most like speech, if it is."""
    if len(tones) < LEAST_LINE:
        return []
    every = np.ones(len(tones), dtype=bool)
    odds = np.concatenate([[0.0], np.cumsum(_marks(tones, every, ~every))])
    lowest = np.minimum.accumulate(odds)
    end = int((odds - lowest).argmax())
    begin = int(odds[: end + 1].argmin())
    speech = ~every
    speech[begin:end] = True
    few = end - begin < SHORT_TALK_TONES or len(tones) - (end - begin) < EDGE_TONES
    if few or odds[end] - odds[begin] < SHORT_TALK_ODDS:
        return []
    pause_s = float(_pauses(tones)[begin : end + 1].max())
    if not _looks_spoken(tones, speech, ~speech, pause_s)[0]:
        return []
    return [DoubtfulStretch(tones[begin].onset_s, tones[end - 1].end_s, DROWNED)]


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
