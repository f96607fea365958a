"""What the notes of a line say for every place of the form: the evidence behind a form loss.

For each beat of the line and each offset (whole beats ahead of the form clock, 0 to one chorus
less one) the evidence is a log-likelihood ratio in nats, up to a constant that is the same for
all offsets of that beat. One more column stands for *adrift*: the line fits no place.

Each note is scored at the place where it would stand at that offset: what it is to the chord
there (``ROOT`` … ``FOREIGN``), which degree over which kind of chord (the fourth over a minor
chord, …), what kind of place it is (a chord change on beat one, a weak beat before a change, …),
how it moves on (a half step into a chord tone, from the fifth to a root, …), and by the *voice* it
is played in: walking or solo by the rhythm around it, short or long.
A note held over the next beat with no other attack there is heard at that beat.

The weights are fitted by ``tests/fit_form_weights.py``; see ``form_weights``.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from linecheck.music.same_object import SameObject
from linecheck.place.form_weights import (
    ADRIFT_WEIGHTS,
    DEGREE_WEIGHTS,
    MOVE_WEIGHTS,
    PLACE_WEIGHTS,
)
from linecheck.place.sorted_arrays import distinct
from linecheck.terms import STEPS_PER_BEAT, Chord

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from linecheck.music.form import Form
    from linecheck.terms import Bar

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float32]

# What a pitch class is to a chord.
ROOT, THIRD, FIFTH, SEVENTH, COLOUR, ALTERED, NEIGHBOUR, FOREIGN, NO_CHORD = range(9)
CODES, PLACES, VOICES, LINKS = 9, 10, 7, 8
CODE_OF_FUNCTION = {"root": ROOT, "third": THIRD, "fifth": FIFTH, "seventh": SEVENTH}
# What a place is. The last two are for notes held over it, struck on the off-beat before.
(
    CHANGE_ON_ONE,
    CHANGE,
    BEAT_ONE,
    STRONG,
    WEAK_BEFORE_CHANGE,
    WEAK,
    OFF_BEFORE_CHANGE,
    OFF,
    PUSHED_CHANGE,
    PUSHED,
) = range(10)
# How a note moves on.
(
    NO_NEXT,
    HALF_STEP_IN,
    WHOLE_STEP_IN,
    LEAP_IN,
    TO_NO_CHORD_TONE,
    HALF_STEP_TO_ROOT,
    FIFTH_TO_ROOT,
    OTHER_TO_ROOT,
) = range(8)
# The voice a note is played in.
WALKING, MIXED, SOLO_SHORT, SOLO_BEAT, SOLO_LONG, WALKING_LONG, WALKING_SHORT = range(7)
STYLES = 3  # of voices: walking, mixed, solo
STYLE_OF_VOICE = np.array((0, 1, 2, 2, 2, 0, 0))
# What kind of chord it is: the same degree is another thing over another kind.
DOMINANT, MAJOR, MINOR, HALF_DIMINISHED, OTHER_CHORD = range(5)
QUALITIES = 5

ON_BEAT, OFF_BEAT, HELD_OVER = range(3)
LINK_BEATS = 2  # a rest of two beats or more breaks the link (the definition of approach)
WALKING_SHARE, MIXED_SHARE = 0.72, 0.45  # of the beats around, one plain note on the beat
VOICE_BEATS = 8  # the rhythm is judged over so many beats to either side
ALIKE_BARS = 4
PART_BEATS = 6144  # of a long line at a time
REPEAT_WEIGHT, AGAIN_WEIGHT = 0.7, 0.25
MOVES = 5  # adrift: repeat, step, third or fourth, up to an octave, more


@dataclass(frozen=True, slots=True)
class FormTables:
    """One chorus of a chart beat by beat, as the evidence needs it.

    ``codes[pc, beat]``, ``degrees[pc, beat]`` (above the root, by kind of chord; -1: no chord),
    ``places[phase, beat]`` and ``changes[beat]``; ``sounds[beat]`` numbers the chords (same tones
    and bass, same number); ``share[pc]`` is how much of the chorus has the pitch class as a chord
    tone, as a log share. ``alone[voice, phase, pc, beat]``: evidence of a note for itself, nats.
    """

    beats: int
    codes: Ints
    degrees: Ints
    places: Ints
    changes: NDArray[np.bool_]
    sounds: Ints
    share: Floats
    alone: Floats

    def differ(self, beats: Ints, one: Ints | int, other: Ints | int) -> NDArray[np.bool_]:
        """Whether two offsets are over other chords, at beats of the line."""
        sounds = self.sounds
        there: NDArray[np.bool_] = (
            sounds[(beats + one) % self.beats] != sounds[(beats + other) % self.beats]
        )
        return there


def _codes_of(chord: Chord) -> list[int]:
    if chord.root is None:
        return [NO_CHORD] * 12
    codes = [FOREIGN] * 12
    for tension in chord.available:
        codes[tension.pitch_class] = COLOUR
    for tone in chord.tones:
        codes[tone.pitch_class] = CODE_OF_FUNCTION[tone.function]
    if chord.bass is not None:
        codes[chord.bass] = ROOT
    return codes


def _degrees_of(chord: Chord) -> list[int]:
    """Degree above the root and kind of chord in one number, for every pitch class."""
    if chord.root is None:
        return [-1] * 12
    above = {(tone.pitch_class - chord.root) % 12 for tone in chord.tones}
    if {4, 10} <= above:
        kind = DOMINANT
    elif 3 in above:
        kind = HALF_DIMINISHED if 6 in above else MINOR
    else:
        kind = MAJOR if 4 in above and 8 not in above else OTHER_CHORD
    return [(pc - chord.root) % 12 * QUALITIES + kind for pc in range(12)]


def _alone(codes: Ints, degrees: Ints, places: Ints) -> Floats:
    """Evidence of every voice, phase and pitch class at every beat."""
    at_place = PLACE_WEIGHTS[:, places[:, None, :], codes[None]]
    degree = DEGREE_WEIGHTS.reshape(STYLES, -1)[STYLE_OF_VOICE][:, degrees]
    alone: Floats = at_place + np.where(degrees < 0, np.float32(0), degree)[:, None]
    return alone


def form_tables(form: Form) -> FormTables:
    """The tables of one chorus. Cost: a look-up a voice, phase, pitch class and beat, once a chart."""
    return _tables_of(SameObject(form.chart.bars))


@lru_cache(maxsize=8)
def _tables_of(chorus: SameObject[tuple[Bar, ...]]) -> FormTables:
    bars = chorus.it
    beats = sum(bar.meter.beats for bar in bars)
    codes = np.empty((12, beats), dtype=np.int64)
    degrees = np.empty((12, beats), dtype=np.int64)
    sounds = np.empty(beats, dtype=np.int64)
    ones = np.zeros(beats, dtype=bool)
    strong = np.zeros(beats, dtype=bool)
    seen: dict[tuple[int, ...], int] = {}
    at = 0
    for bar in bars:
        for beat in range(bar.meter.beats):
            step = beat * STEPS_PER_BEAT
            chord = next(c.chord for c in reversed(bar.chords) if c.step <= step)
            row = _codes_of(chord)
            codes[:, at] = row
            degrees[:, at] = _degrees_of(chord)
            sounds[at] = seen.setdefault(
                (*row, -1 if chord.bass is None else chord.bass), len(seen)
            )
            ones[at] = beat == 0
            strong[at] = beat > 0 and 2 * beat == bar.meter.beats
            at += 1
    changes = sounds != np.roll(sounds, 1)
    tone = codes <= SEVENTH
    near = np.zeros_like(tone)
    for away in (*range(-6, 0), *range(1, 7)):
        near |= np.roll(tone, away, axis=1)
    codes[(codes == FOREIGN) & near] = NEIGHBOUR
    codes[(codes == COLOUR) & ~near] = ALTERED
    before = np.roll(changes, -1)
    on = np.where(before, WEAK_BEFORE_CHANGE, WEAK)
    on[strong] = STRONG
    on[ones] = BEAT_ONE
    on[changes] = CHANGE
    on[changes & ones] = CHANGE_ON_ONE
    off = np.where(before, OFF_BEFORE_CHANGE, OFF)
    held = np.where(changes, PUSHED_CHANGE, PUSHED)
    share = np.log(tone.mean(axis=1) + 0.03).astype(np.float32)
    places = np.stack((on, off, held))
    alone = _alone(codes, degrees, places)
    for table in (codes, degrees, places, changes, sounds, share, alone):
        table.flags.writeable = False  # shared by all takes over the chart
    return FormTables(beats, codes, degrees, places, changes, sounds, share, alone)


def alike_from_the_top(tables: FormTables) -> Ints:
    """For how many beats on from each beat the chorus sounds as from its first beat on.

    The chorus goes round; where all of it does, and at the first beat, it is the whole chorus.
    """
    around = np.concatenate((tables.sounds, tables.sounds))
    windows = np.lib.stride_tricks.sliding_window_view(around, tables.beats)[: tables.beats]
    other = windows != tables.sounds
    return np.where(other.any(axis=1), other.argmax(axis=1), tables.beats).astype(np.int64)


def sounding_like_the_top(form: Form) -> Ints:
    """Beats where bars begin that sound like the top of the form, for four bars at least.

    Nobody can hear there whether a line begins at them or at the top.
    """
    starts = np.array(form.bar_starts) // STEPS_PER_BEAT
    bar = form.chart.bars[0].meter.beats
    alike = alike_from_the_top(form_tables(form))[starts] >= ALIKE_BARS * bar
    alike[0] = False
    found: Ints = starts[alike]
    return found


@dataclass(frozen=True, slots=True)
class LineCodes:
    """A line as the evidence hears it, one entry a note: all that does not depend on the offset.

    ``beats`` is the beat where it is heard, counted from step 0; ``phases`` on, off or held over;
    ``next_beats`` how many beats later the next note is heard (−1: none that links). ``weights`` is
    below 1 for a note that only repeats the pitch before it: a pedal says one thing, many times.
    """

    beats: Ints
    phases: Ints
    voices: Ints
    pitch_classes: Ints
    next_pitch_classes: Ints
    next_beats: Ints
    next_on: Ints
    intervals: Ints
    weights: Floats

    def between(self, first: int, stop: int) -> LineCodes:
        """The notes that are heard on the beats from ``first`` to ``stop``."""
        low, high = np.searchsorted(self.beats, (first, stop))
        return self.taken(slice(int(low), int(high)))

    def taken(self, notes: slice | Ints) -> LineCodes:
        """Some of the notes."""
        return LineCodes(**{f.name: getattr(self, f.name)[notes] for f in fields(self)})


def line_codes(steps: Ints, end_steps: Ints, pitches: Ints) -> LineCodes:
    """Phase, voice and link of every note. Arrays have one entry a note, ascending steps."""
    beat, inside = np.divmod(steps, STEPS_PER_BEAT)
    following = np.append(steps[1:], steps[-1:] + 10**6)
    held = (inside >= STEPS_PER_BEAT // 2) & (end_steps > (beat + 1) * STEPS_PER_BEAT + 2)
    held &= following >= (beat + 1) * STEPS_PER_BEAT + 6
    phases = np.where(held, HELD_OVER, np.where(inside == 0, ON_BEAT, OFF_BEAT))
    beats = beat + held
    lasts = np.minimum(end_steps, following) - steps
    voices = _voices(beats, phases, lasts, following - steps)
    linked = following - end_steps < LINK_BEATS * STEPS_PER_BEAT
    next_beats = np.append(beats[1:], 0) - beats
    next_beats = np.where(linked & (next_beats < 8), np.maximum(next_beats, 0), -1)
    intervals = np.append(np.diff(pitches), 0)
    return LineCodes(
        beats,
        phases,
        voices,
        pitches % 12,
        np.append(pitches[1:], 0) % 12,
        next_beats,
        np.append((phases != OFF_BEAT)[1:], False).astype(np.int64),
        intervals,
        _repeat_weights(pitches),
    )


def _repeat_weights(pitches: Ints) -> Floats:
    """1 for a new pitch, less for its first repeat, little for those after it."""
    same = np.diff(pitches, prepend=-1) == 0
    again = same & np.roll(same, 1)
    return np.where(again, AGAIN_WEIGHT, np.where(same, REPEAT_WEIGHT, 1.0)).astype(np.float32)


def _voices(beats: Ints, phases: Ints, lasts: Ints, gaps: Ints) -> Ints:
    """Walking, mixed or solo by the share of beats around that hold one plain note."""
    if not beats.size:
        return beats
    first = int(beats[0])
    count = int(beats[-1]) - first + 1
    onsets = np.bincount(beats - first, minlength=count)
    plain_note = (phases == ON_BEAT) & (lasts >= STEPS_PER_BEAT // 2)
    plain = np.bincount((beats - first)[plain_note], minlength=count).astype(float)
    plain *= onsets <= 2
    # A half note on the beat fills the next beat too: the two-beat feel walks as well.
    two = (phases == ON_BEAT) & (lasts >= 20) & (gaps >= 24) & (gaps <= 30)
    after = (beats - first)[two] + 1
    plain[after[after < count]] = 1.0
    sums = np.concatenate(([0.0], np.cumsum(np.minimum(plain, 1.0))))
    low = np.maximum(np.arange(count) - VOICE_BEATS, 0)
    high = np.minimum(np.arange(count) + VOICE_BEATS + 1, count)
    share = ((sums[high] - sums[low]) / (high - low))[beats - first]
    long, short = lasts >= 18, lasts <= 7
    solo = np.where(long, SOLO_LONG, np.where(short, SOLO_SHORT, SOLO_BEAT))
    walking = np.where(long, WALKING_LONG, np.where(short, WALKING_SHORT, WALKING))
    return np.where(share >= WALKING_SHARE, walking, np.where(share >= MIXED_SHARE, MIXED, solo))


def place_cells(line: LineCodes, tables: FormTables) -> tuple[Ints, Ints]:
    """Index into ``PLACE_WEIGHTS`` and ``DEGREE_WEIGHTS`` of every note at every beat of the chorus.

    Returns two arrays of shape (notes, beats of a chorus): flat indices, -1 where there is none.
    ``FormTables.alone`` holds the sums.
    """
    code = tables.codes[line.pitch_classes]
    place = tables.places[line.phases]
    degree = tables.degrees[line.pitch_classes]
    style = STYLE_OF_VOICE[line.voices][:, None] * 12 * QUALITIES
    cells = (line.voices[:, None] * PLACES + place) * CODES + code
    return cells, np.where(degree < 0, -1, style + degree)


def move_cells(line: LineCodes, tables: FormTables) -> Ints:
    """Index into ``MOVE_WEIGHTS`` of every note at every beat of the chorus (notes × beats), flat."""
    code = tables.codes[line.pitch_classes]
    beat = np.arange(tables.beats)
    there = (beat[None, :] + np.maximum(line.next_beats, 0)[:, None]) % tables.beats
    target = tables.codes[line.next_pitch_classes[:, None], there]
    to_root = (target == ROOT) & tables.changes[there] & (line.next_on[:, None] == 1)
    size = np.abs(line.intervals)[:, None]
    fifth = (line.intervals == 5) | (line.intervals == -7)
    move = np.where(size == 1, HALF_STEP_IN, np.where(size == 2, WHOLE_STEP_IN, LEAP_IN))
    root_move = np.where(
        size == 1, HALF_STEP_TO_ROOT, np.where(fifth[:, None], FIFTH_TO_ROOT, OTHER_TO_ROOT)
    )
    move = np.where(to_root, root_move, np.where(target > SEVENTH, TO_NO_CHORD_TONE, move))
    move = np.where(line.next_beats[:, None] < 0, NO_NEXT, move)
    return (line.voices[:, None] * CODES + code) * LINKS + move


def adrift_cells(line: LineCodes, tables: FormTables) -> tuple[Ints, Floats]:
    """For adrift: the flat index (voice, size of the move) and the log share of the pitch class."""
    size = np.abs(line.intervals)
    move = np.digitize(size, (1, 3, 6, 13))
    return line.voices * MOVES + move, tables.share[line.pitch_classes]


def _unique(line: LineCodes) -> tuple[LineCodes, Ints]:
    """The distinct notes of a line, and which of them each note is."""
    interval = np.clip(line.intervals, -8, 8) + 8
    key = line.phases
    for part, size in (
        (line.voices, VOICES),
        (line.pitch_classes, 12),
        (line.next_pitch_classes, 12),
        (line.next_beats + 1, 9),
        (line.next_on, 2),
        (interval, 17),
    ):
        key = key * size + part
    first, which = distinct(key)
    return line.taken(first), which


def evidence(line: LineCodes, tables: FormTables, first_beat: int, beats: int) -> Floats:
    """Evidence of shape (beats, offsets + 1), in nats; the last column is adrift.

    Rows are the beats of the line from ``first_beat`` on; notes outside them are left out.
    """
    distinct, which = _unique(line)
    scores = tables.alone[distinct.voices, distinct.phases, distinct.pitch_classes]
    scores += MOVE_WEIGHTS.reshape(-1)[move_cells(distinct, tables)]
    twice = np.concatenate((scores, scores), axis=1)
    windows = np.lib.stride_tricks.sliding_window_view(twice, tables.beats, axis=1)
    inside = (line.beats >= first_beat) & (line.beats < first_beat + beats)
    at = line.beats[inside]
    out = np.zeros((beats, tables.beats + 1), dtype=np.float32)
    if not at.size:
        return out
    rows = windows[which[inside], at % tables.beats]
    rows = rows * line.weights[inside, None]
    starts = np.flatnonzero(np.diff(at, prepend=at[0] - 1))
    out[at[starts] - first_beat, :-1] = np.add.reduceat(rows, starts, axis=0)
    cell, share = adrift_cells(line, tables)
    alone = ADRIFT_WEIGHTS[cell] + ADRIFT_WEIGHTS[VOICES * MOVES + line.voices] * share
    out[at[starts] - first_beat, -1] = np.add.reduceat((alone * line.weights)[inside], starts)
    return out
