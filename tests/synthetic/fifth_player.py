"""A player by statistics: every pitch is drawn from a softmax over the whole register.

The energy of a pitch sums habits of the player: what the pitch is to the chord (apart for changes,
strong beats, weak beats and off-beats), the size and direction of the move, the way back after a
leap, the middle of the register, what was played lately, and on the last note before a change how
it leads into the next chord. The rhythm of a solo is a Markov chain over figures of one or two
beats; phrases and rests take turns by a process of two states.
"""

# ruff: noqa: PLR0917 -- a line is asked for by place, chance, habits and way

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from linecheck.terms import STEPS_PER_BEAT
from tests.synthetic.charts import QUALITIES, chart, pitch_class
from tests.synthetic.lines import LineNote, monophonic

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from linecheck.music.form import Form
    from linecheck.terms import Chart, Chord

    Floats = NDArray[np.float64]
    Play = Callable[[Form, int, int, np.random.Generator, "Player"], list[LineNote]]

LOWEST, HIGHEST = 28, 67
OPEN_STRINGS = (28, 33, 38, 43)
ROOT, THIRD, FIFTH, SEVENTH, TENSION, SCALE, ALTERED, OUTSIDE = range(8)
CHANGE, STRONG, WEAK, OFF = range(4)
SPAN = HIGHEST - LOWEST
FITS_AT_MOST = 0.5  # share of beats at which borrowed chords may agree with one place of the form
BLUES = (0, 3, 5, 6, 7, 10)

# A figure has its length in beats and the onsets of its notes in steps; each rings to the next.
Figure = tuple[int, tuple[int, ...]]
FIGURES: tuple[tuple[Figure, ...], ...] = (
    ((2, (0,)), (2, (0,)), (3, (0,)), (2, (12,))),
    ((1, (0,)), (2, (0, 12)), (1, (0,)), (2, (0, 12, 18))),
    ((1, (0, 6)), (2, (0, 6, 12, 18)), (2, (0, 6, 12)), (2, (6, 12, 18))),
    ((1, (0, 4, 8)), (2, (0, 4, 8, 12)), (2, (0, 8, 16)), (1, (4, 8))),
    ((2, (0, 18)), (2, (0, 6, 18)), (1, (6,)), (2, (6, 18)), (2, (0, 6, 18))),
    ((1, (0, 3, 6, 9)), (1, (0, 6, 9)), (1, (0, 3, 6))),
)  # fmt: skip
ADRIFT_WAYS = ("by ear in the key", "chromatic", "another tune", "jumps about", "bars out of order",
    "own harmonic rhythm", "backwards", "one chord", "wrong keys", "hand shapes")  # fmt: skip


class Sound(NamedTuple):
    """What is in force: its bass, and the role of each pitch class."""

    bass: int
    roles: tuple[int, ...]

    def up(self, interval: int) -> Sound:
        at = -interval % 12
        return Sound((self.bass + interval) % 12, self.roles[at:] + self.roles[:at])


class Lane(NamedTuple):
    """Sounds beat by beat, with one before and two after, and the weight of each beat."""

    sounds: Sequence[Sound]
    slots: Sequence[int]

    def now(self, beat: int) -> Sound:
        return self.sounds[beat + 1]

    def following(self, beat: int) -> Sound | None:
        """The sound of the next beat if it is another."""
        after = self.sounds[beat + 2]
        return None if after == self.sounds[beat + 1] else after


@dataclass(frozen=True)
class Habits:
    """Coefficients of the energy; ``roles`` has a row for each weight of a beat."""

    roles: Floats
    lead: Floats  # before a change, by the distance above the next root
    guides: float  # before a change: lying a step from the next third
    moves: Floats  # by the size of the move in half steps
    keep: float
    back: float
    recent: float
    memory: int
    middle: float
    pull: float
    low: int
    high: int
    loose: float  # how far a phrase strays from the coefficients
    wrong: float


@dataclass(frozen=True)
class Rhythm:
    """Figures, phrases and rests of a solo."""

    turns: Floats  # weights from kind of figure to kind of figure
    fickle: float
    phrase: float  # mean beats of a phrase and of a rest
    rest: float
    anticipate: float
    by_key: float  # share of phrases that keep to the key and leave the chords
    bluesy: bool
    legato: float


@dataclass(frozen=True)
class Feel:
    """What a walking player does beside quarter notes, as shares of beats or of phrases."""

    skip: float
    even: float  # share of skips on the even eighth
    ghost: float
    rest: float
    push: float
    triplet: float
    two: float
    legato: float


@dataclass(frozen=True)
class Player:
    """Habits of one player; ``level`` is the usual velocity."""

    walking: Habits
    soloing: Habits
    rhythm: Rhythm
    feel: Feel
    level: int


def _between(rng: np.random.Generator, low: float, high: float) -> float:
    return float(low + (high - low) * rng.random())


def _moves(rng: np.random.Generator, repeat: float, smooth: float) -> Floats:
    sizes = np.arange(SPAN + 1)
    made: Floats = -smooth * np.maximum(0, sizes - 2.0)
    made[0] = repeat
    made[1] += _between(rng, -0.4, 0.5)
    made[3:5] += _between(rng, -0.2, 0.8)
    made[5] += _between(rng, 0, 1)
    made[6] -= _between(rng, 0, 1)
    made[7] += _between(rng, 0, 1)
    made[12] += _between(rng, 0, 4 * smooth + 1.5)
    made[13:] -= _between(rng, 0.5, 2.5)
    return made


def _roles(rng: np.random.Generator, clear: Sequence[float], colour: float, spread: float) -> Floats:  # fmt: skip
    """Rows from how clearly each weight of beat shows the chord."""
    rows = np.zeros((4, 8))
    for row, gap in enumerate(clear):
        rows[row] = (gap, gap, gap, gap - 0.3, colour, 0, colour - 1, -1.2 - 0.5 * gap)
        rows[row, : TENSION + 1] += rng.normal(0, spread, 5)
        rows[row, OUTSIDE] -= _between(rng, 0, 1.5)
    return rows


def _walking_habits(rng: np.random.Generator, wrong: float) -> Habits:
    clear = _between(rng, 1.3, 4.2)
    loves_root = rng.choice(["much", "some", "little"], p=[0.55, 0.3, 0.15])
    extra = {"much": (2.2, 4.5), "some": (0.8, 2.2), "little": (-0.4, 0.8)}[str(loves_root)]
    inside = _between(rng, 0.8, 2.4)
    roles = _roles(rng, (clear, inside, _between(rng, 0, 1.5), 1.2), _between(rng, -1, 0.3), 0.3)
    roles[CHANGE, ROOT] += _between(rng, *extra)
    roles[STRONG, ROOT] += _between(rng, 0, 1.2)
    roles[STRONG, FIFTH] += _between(rng, 0, 1.2)
    lead = np.zeros(12)
    lead[1], lead[11] = _between(rng, -0.5, 3), _between(rng, -0.5, 3)
    lead[2] = lead[10] = _between(rng, -0.5, 2)
    lead[7], lead[0] = _between(rng, -0.5, 2.2), _between(rng, -3, 0.3)
    return Habits(
        roles, lead, guides=_between(rng, -0.2, 0.5),
        moves=_moves(rng, _between(rng, -3.5, 0.5), _between(rng, 0.12, 0.5)),
        keep=_between(rng, -0.3, 1.4), back=_between(rng, 0, 1.4),
        recent=float(rng.choice([-0.9, -0.5, -0.2, 0, 0.3])), memory=int(rng.integers(2, 6)),
        middle=_between(rng, 35, 42), pull=_between(rng, 0.006, 0.03),
        low=28, high=int(rng.integers(46, 52)), loose=_between(rng, 0.05, 0.5), wrong=wrong,
    )  # fmt: skip


def _solo_habits(rng: np.random.Generator, wrong: float, *, hidden: bool) -> Habits:
    clear = _between(rng, 0, 0.9) if hidden else _between(rng, 1.4, 4)
    less = clear * rng.uniform(0.25, 0.8, 3) * (1, 0.7, 0.6)
    roles = _roles(rng, (clear, *less), _between(rng, -0.6, 1.0), 0.5)
    if rng.random() < 0.25:
        # A chromatic hand: what stands outside costs little off the beat.
        roles[WEAK:, OUTSIDE] += _between(rng, 0.6, 1.6)
        roles[WEAK:, ALTERED] += _between(rng, 0.3, 1)
    lead = np.zeros(12)
    lead[1], lead[11], lead[2], lead[10] = rng.uniform(-0.3, 1.2, 4)
    low = int(rng.integers(28, 41))
    high = int(rng.integers(max(52, low + 16), 68))
    return Habits(
        roles, lead, guides=_between(rng, 0, 0.4) if hidden else _between(rng, 0, 1.6),
        moves=_moves(rng, _between(rng, -3.5, -0.2), _between(rng, 0.15, 0.6)),
        keep=_between(rng, -0.2, 1.3), back=_between(rng, 0, 1.6),
        recent=float(rng.choice([-1, -0.5, -0.2, 0, 0.3, 0.6])), memory=int(rng.integers(2, 8)),
        middle=_between(rng, low + 7, high - 7), pull=_between(rng, 0.003, 0.025),
        low=low, high=high, loose=_between(rng, 0.1, 0.7), wrong=wrong,
    )  # fmt: skip


def _rhythm(rng: np.random.Generator, kind: str, *, hidden: bool) -> Rhythm:
    typical = {
        "sparse": (3, 4, 1, 0.2, 1.0, 0),
        "steady": (1.2, 4, 3, 0.2, 0.6, 0),
        "busy": (0.3, 0.8, 6, 1.3, 1, 0.25),
        "loose": (1, 1.5, 2.5, 1, 2.4, 0.08),
    }
    weights = np.array(typical.get(kind, (1, 2, 4, 0.6, 1.1, 0.05)))
    weights = weights * np.exp(rng.normal(0, 0.5, 6))
    turns = weights * np.exp(rng.normal(0, 0.5, (6, 6)))
    turns += np.diag(weights * _between(rng, 0, 2.5))
    turns[5, 5] = weights[5]
    sparse = kind == "sparse"
    return Rhythm(
        turns, fickle=_between(rng, 0, 0.9),
        phrase=_between(rng, 3, 8) if sparse else _between(rng, 6, 18),
        rest=_between(rng, 2, 6) if sparse else _between(rng, 1, 3.5),
        anticipate=float(rng.choice([0, 0.2, 0.5, 0.8])),
        by_key=_between(rng, 0.3, 0.9) if hidden else float(rng.choice([0, 0, 0.05, 0.12])),
        bluesy=bool(rng.random() < 0.35), legato=_between(rng, 0.6, 1),
    )  # fmt: skip


def draw_player(rng: np.random.Generator) -> Player:
    """Habits of one player, drawn over a wide range."""
    wrong = float(rng.choice([0, _between(rng, 0, 0.02), _between(rng, 0.01, 0.05), _between(rng, 0.05, 0.12)], p=[0.3, 0.35, 0.25, 0.1]))  # fmt: skip
    kind = str(rng.choice(["steady", "student", "loose", "sparse", "busy"]))
    plain = kind == "steady" or rng.random() < 0.3
    hidden = bool(rng.random() < 0.16)
    feel = Feel(
        skip=_between(rng, 0, 0.04) if plain else _between(rng, 0, 0.2),
        even=_between(rng, 0, 1) if rng.random() < 0.3 else 0.0,
        ghost=0.0 if plain else _between(rng, 0, 0.1), rest=float(rng.choice([0, 0.01, 0.04])),
        push=float(rng.choice([0, 0, 0.03, 0.12])), triplet=0.0 if plain else _between(rng, 0, 0.03),
        two=float(rng.choice([0, 0, 0, 0.1, 0.3, 0.8])), legato=_between(rng, 0.7, 1),
    )  # fmt: skip
    soloing = _solo_habits(rng, wrong, hidden=hidden)
    rhythm, level = _rhythm(rng, kind, hidden=hidden), int(rng.integers(60, 100))
    return Player(_walking_habits(rng, wrong), soloing, rhythm, feel, level)


class _Hand:
    """Draws one pitch after another by habits that stray from phrase to phrase."""

    def __init__(self, habits: Habits, rng: np.random.Generator) -> None:
        self.habits, self.rng = habits, rng
        self.pitches = np.arange(habits.low, habits.high + 1)
        self.classes = self.pitches % 12
        self.played: list[int] = []
        self.sign, self.leapt = 0, False
        self.leads: dict[Sound, Floats] = {}
        self.turn()

    def turn(self) -> None:
        """A new phrase: part of the habits are drawn anew about the player's own."""
        habits, rng, loose = self.habits, self.rng, self.habits.loose
        self.roles = habits.roles + rng.normal(0, loose, 8) * (rng.random(8) < 0.5)
        keep = habits.keep + float(rng.normal(0, loose))
        both = np.concatenate((habits.moves[:0:-1], habits.moves)) * np.exp(rng.normal(0, loose / 2))  # fmt: skip
        up = np.sign(np.arange(-SPAN, SPAN + 1))
        self.moves = {s: both + keep * (up == s) * (s != 0) for s in (-1, 0, 1)}
        near = np.abs(np.arange(-SPAN, SPAN + 1)) <= 4
        self.back = {s: habits.back * (up == -s) * near for s in (-1, 0, 1)}
        middle = habits.middle + float(rng.normal(0, 1 + 5 * loose))
        self.centre = -habits.pull * (self.pitches - middle) ** 2
        self.known: dict[tuple[Sound, int], Floats] = {}

    def _standing(self, sound: Sound, slot: int) -> Floats:
        found = self.known.get((sound, slot))
        if found is None:
            found = self.roles[slot][list(sound.roles)][self.classes] + self.centre
            self.known[sound, slot] = found
        return found

    def _lead(self, sound: Sound) -> Floats:
        if sound not in self.leads:
            lead = np.roll(self.habits.lead, sound.bass)
            if THIRD in sound.roles:
                steps = sound.roles.index(THIRD) + np.array([-2, -1, 1, 2])
                lead[steps % 12] += self.habits.guides
            self.leads[sound] = lead[self.classes]
        return self.leads[sound]

    def pick(self, sound: Sound, slot: int, ahead: Sound | None = None) -> int:
        habits, rng = self.habits, self.rng
        energy = self._standing(sound, slot)
        if self.played:
            last = self.played[-1]
            first = habits.low - last + SPAN
            part = slice(first, first + self.pitches.size)
            energy = energy + self.moves[self.sign][part]
            if self.leapt:
                energy += self.back[self.sign][part]
            for pitch in self.played[-1 - habits.memory : -1]:
                energy[pitch - habits.low] += habits.recent
        if ahead is not None:
            energy = energy + self._lead(ahead)
        sums = np.exp(energy - energy.max()).cumsum()
        pitch = habits.low + int(sums.searchsorted(rng.random() * sums[-1]))
        if habits.wrong and rng.random() < habits.wrong:
            pitch += int(rng.choice([-2, -1, -1, 1, 1, 2]))
        return self.note(pitch)

    def note(self, pitch: int) -> int:
        """Take a pitch as played, within the register."""
        pitch = min(max(pitch, self.habits.low), self.habits.high)
        if self.played:
            move = pitch - self.played[-1]
            self.sign = (move > 0) - (move < 0)
            self.leapt = abs(move) >= 5
        self.played.append(pitch)
        return pitch


def _sound(of: Chord | None) -> Sound:
    if of is None or of.root is None:
        return Sound(0, (SCALE,) * 12)
    roles = [OUTSIDE] * 12
    for tension in of.available:
        roles[tension.pitch_class] = ALTERED
    degrees = QUALITIES[of.kind][2] if of.kind in QUALITIES else ()
    for degree in degrees:
        at = (of.root + degree) % 12
        roles[at] = TENSION if roles[at] == ALTERED else SCALE
    for role, tone in enumerate(of.tones[:4]):
        roles[tone.pitch_class] = role
    bass = of.root if of.bass is None else of.bass
    roles[bass] = ROOT
    return Sound(bass, tuple(roles))


def _home(form: Form, *, bluesy: bool) -> Sound:
    """The key, or its blues scale, taken for a chord."""
    key = form.chart.key
    tonic = 0 if key is None else pitch_class(key.tonic)
    minor = key is not None and key.minor
    degrees = BLUES if bluesy else QUALITIES["m7" if minor else "maj7"][2]
    roles = [OUTSIDE] * 12
    for degree in degrees:
        roles[degree] = TENSION
    roles[0], roles[7], roles[3 if minor or bluesy else 4] = ROOT, FIFTH, THIRD
    return Sound(0, tuple(roles)).up(tonic)


def _chart_sounds(of: Chart) -> list[Sound]:
    """Beat by beat through one chorus."""
    made = list[Sound]()
    for bar in of.bars:
        chords = [(_sound(c.chord), c.step) for c in bar.chords]
        for beat in range(bar.meter.beats):
            made.append([s for s, step in chords if step <= beat * STEPS_PER_BEAT][-1])
    return made


@cache
def _tunes() -> list[tuple[str, list[Sound]]]:
    return [(c.title, _chart_sounds(c)) for c in charts()]


def _lane(form: Form, sounds: Sequence[Sound], start: int, stop: int) -> Lane:
    """The sounds (one before ``start`` and two after ``stop`` with them) and the weights."""
    slots = []
    for index, beat in enumerate(range(start, stop)):
        where = form.at(beat * STEPS_PER_BEAT)
        inside = int(where.spot.beat) if where else 1
        beats = where.spot.bar.meter.beats if where else 4
        strong = inside == 1 or inside == beats // 2 + 1 + beats % 2 * (beats > 3)
        slots.append(STRONG if strong and (beats > 3 or inside == 1) else WEAK)
        if sounds[index + 1] != sounds[index]:
            slots[-1] = CHANGE
    return Lane(sounds, slots)


def _true_lane(form: Form, start: int, stop: int) -> Lane:
    of = _chart_sounds(form.chart)
    return _lane(form, [of[b % form.beats] for b in range(start - 1, stop + 2)], start, stop)


def _note(step: int, length: int, pitch: int, velocity: int) -> LineNote:
    return LineNote(step, step + max(2, length), pitch, velocity)


def _until(stop: int, line: list[LineNote]) -> list[LineNote]:
    """One note at a time, none going on after ``stop``."""
    return monophonic([n._replace(end_step=min(n.end_step, stop)) for n in line if n.step < stop])


def _walked(lane: Lane, start: int, rng: np.random.Generator, player: Player) -> list[LineNote]:
    feel, hand = player.feel, _Hand(player.walking, rng)
    played: list[LineNote] = []
    left, two = 0, False
    for index, slot in enumerate(lane.slots):
        if left <= 0:
            hand.turn()
            left = int(rng.integers(3, 9)) * 4
            two = rng.random() < feel.two
        left -= 1
        chance, at = rng.random(6), (start + index) * STEPS_PER_BEAT
        if (two and slot == WEAK and chance[0] < 0.85) or chance[0] > 1 - feel.rest:
            continue
        if slot == CHANGE and chance[1] < feel.push and index:
            at -= 4 if rng.random() >= feel.even else 6
        sound, ahead = lane.now(index), lane.following(index)
        ahead = lane.following(index + 1) if two and ahead is None else ahead
        pitch = hand.pick(sound, slot, ahead)
        loud = player.level + int(rng.integers(-8, 9)) + 4 * (slot == CHANGE)
        full = round((2 if two else 1) * STEPS_PER_BEAT * (0.1 * chance[5] + 0.9) * feel.legato)
        played.append(_note(at, full, pitch, loud))
        late = (start + index) * STEPS_PER_BEAT + (6 if rng.random() < feel.even else 8)
        if chance[2] < feel.skip:
            other = hand.pick(sound, OFF, ahead) if chance[3] < 0.5 else pitch
            played.append(_note(late, 5, other, loud - 12))
        elif chance[3] < feel.ghost:
            string = pitch if chance[4] < 0.6 else OPEN_STRINGS[int(rng.integers(4))]
            played.append(_note(late, 2, string, int(rng.integers(22, 42))))
        elif chance[4] < feel.triplet:
            drop = [hand.pick(sound, OFF, ahead) for _ in range(2)]
            at = late // STEPS_PER_BEAT * STEPS_PER_BEAT
            played += [_note(at + 4 * (i + 1), 4, p, loud - 8) for i, p in enumerate(drop)]
    return _until((start + len(lane.slots)) * STEPS_PER_BEAT, played)


class _Figures:
    """The Markov chain of figures; a phrase bends its weights."""

    def __init__(self, rhythm: Rhythm, rng: np.random.Generator) -> None:
        self.rhythm, self.rng, self.kind = rhythm, rng, int(rng.integers(5))
        self.turn()

    def turn(self) -> None:
        bent = self.rhythm.turns * np.exp(self.rng.normal(0, self.rhythm.fickle, 6))
        self.sums = bent.cumsum(axis=1)

    def next(self) -> Figure:
        row = self.sums[self.kind]
        self.kind = int(row.searchsorted(self.rng.random() * row[-1]))
        choice = FIGURES[self.kind]
        # The first ones of a kind are the plain ones.
        return choice[int(len(choice) * self.rng.random() ** 1.3)]


def _soloed(lane: Lane, start: int, rng: np.random.Generator, player: Player, home: Sound) -> list[LineNote]:  # fmt: skip
    rhythm, hand, figures = player.rhythm, _Hand(player.soloing, rng), _Figures(player.rhythm, rng)
    played: list[LineNote] = []
    total, beat, into = len(lane.slots), 0, 0
    by_key, shown = rng.random() < rhythm.by_key, lane.sounds[0]
    while beat < total:
        if (into >= 2 and rng.random() < 1.7 / rhythm.phrase) or (not beat and rng.random() < 0.3):
            into = 0
            beat += int(rng.geometric(1 / rhythm.rest))
            hand.turn()
            figures.turn()
            by_key = rng.random() < rhythm.by_key
            continue
        beats, onsets = figures.next()
        loud = player.level + int(rng.integers(-10, 11))
        for onset, later in zip(onsets, (*onsets[1:], beats * STEPS_PER_BEAT), strict=True):
            inside = beat + onset // STEPS_PER_BEAT
            if inside >= total:
                break
            sound, ahead = lane.now(inside), lane.following(inside)
            slot = OFF if onset % STEPS_PER_BEAT else lane.slots[inside]
            if later < (onset // STEPS_PER_BEAT + 1) * STEPS_PER_BEAT:
                ahead = None
            if (
                slot == OFF
                and ahead
                and onset % STEPS_PER_BEAT >= 6
                and rng.random() < rhythm.anticipate
            ):
                sound, slot, ahead = ahead, CHANGE, None
            elif sound != shown and slot != CHANGE and rng.random() < 0.6:
                slot = CHANGE
            shown = sound
            pitch = hand.pick(home, slot) if by_key else hand.pick(sound, slot, ahead)
            step = (start + beat) * STEPS_PER_BEAT + onset
            accent = 5 * (slot == CHANGE) - 4 * (slot == OFF)
            played.append(_note(step, round((later - onset) * rhythm.legato), pitch, loud + accent))
        beat, into = beat + beats, into + beats
    return _until((start + total) * STEPS_PER_BEAT, played)


def walk(form: Form, start: int, stop: int, rng: np.random.Generator, player: Player) -> list[LineNote]:  # fmt: skip
    """Walking over the beats from ``start`` to ``stop`` of a form."""
    return _walked(_true_lane(form, start, stop), start, rng, player)


def solo(form: Form, start: int, stop: int, rng: np.random.Generator, player: Player) -> list[LineNote]:  # fmt: skip
    """A solo over the beats from ``start`` to ``stop`` of a form."""
    home = _home(form, bluesy=player.rhythm.bluesy)
    return _soloed(_true_lane(form, start, stop), start, rng, player, home)


def _agreement(sounds: Sequence[Sound], of: Sequence[Sound]) -> float:
    """The share of beats at which the basses agree with the form at its best place, by halves."""
    theirs, worst = np.array([s.bass for s in of]), 0.0
    for half in (sounds[: len(sounds) // 2], sounds[len(sounds) // 2 :]):
        ours = np.array([s.bass for s in half])
        at = np.arange(theirs.size)[:, None] + np.arange(ours.size)
        worst = max(worst, float((theirs[at % theirs.size] == ours).mean(axis=1).max()))
    return worst


def _borrowed(form: Form, of: list[Sound], size: int, rng: np.random.Generator, way: str) -> list[Sound]:  # fmt: skip
    """``size`` beats of sounds that are not those of the form."""
    bar, made = form.chart.meter.beats, list[Sound]()
    if way == "by ear in the key":
        home = _home(form, bluesy=bool(rng.random() < 0.3))
        flat = home._replace(roles=tuple(SCALE if r != OUTSIDE else r for r in home.roles))
        while len(made) < size:
            made += [home if rng.random() < 0.35 else flat] * int(rng.integers(2, 13))
        return made[:size]
    if way == "another tune":
        others = [o for title, o in _tunes() if title != form.chart.title]
        other = others[int(rng.integers(len(others)))]
        shift, first = int(rng.integers(12)), int(rng.integers(len(other)))
        return [other[(first + b) % len(other)].up(shift) for b in range(size)]
    if way == "one chord":
        held = of[int(rng.integers(len(of)))].up(int(rng.choice([0, 0, 0, 1, 5, 6])))
        return [held] * size
    if way == "backwards":
        first = int(rng.integers(len(of)))
        return [of[(first - b) % len(of)] for b in range(size)]
    runs = [s for i, s in enumerate(of) if not i or s != of[i - 1]]
    at, pace = int(rng.integers(len(runs))), int(rng.choice([1, 2, 3, 5]))
    while len(made) < size:
        if way == "jumps about":
            first, length = int(rng.integers(len(of))), int(rng.integers(bar, 2 * bar + 2))
            made += [of[(first + b) % len(of)] for b in range(length)]
        elif way == "bars out of order":
            first = int(rng.integers(len(of) // bar)) * bar
            made += of[first : first + bar]
        elif way == "wrong keys":
            first, shift = int(rng.integers(len(of))), int(rng.choice([1, 2, 3, 4, 6, 8, 9, 11]))
            made += [of[(first + b) % len(of)].up(shift) for b in range(bar * pace)]
        else:
            made += [runs[at % len(runs)]] * max(1, pace + int(rng.integers(-1, 3)))
            at += 1
    return made[:size]


def _shaped(line: list[LineNote], hand: _Hand) -> list[LineNote]:
    """Patterns of the fingers, moved about the neck with no ear for the chord."""
    rng = hand.rng
    made: list[LineNote] = []
    while len(made) < len(line):
        shape = np.cumsum(rng.choice([-5, -2, -1, 1, 2, 3, 5, 7], int(rng.integers(3, 6))))
        for _ in range(int(rng.integers(1, 4))):
            first = int(rng.integers(hand.habits.low, hand.habits.high - 6))
            for interval in (0, *shape):
                if len(made) < len(line):
                    made.append(line[len(made)]._replace(pitch=hand.note(first + int(interval))))
    return made


def _adrift_player(rng: np.random.Generator, player: Player, way: str) -> Player:
    """The player's hands when adrift: at times hesitating, in the chromatic way sliding."""
    if rng.random() < 0.35:
        slower = replace(player.rhythm, rest=player.rhythm.rest + 1.5, phrase=max(3, player.rhythm.phrase / 2))  # fmt: skip
        player = replace(player, rhythm=slower, feel=replace(player.feel, rest=0.1))
    player = replace(player, rhythm=replace(player.rhythm, by_key=0.0))
    if way != "chromatic":
        return player
    moves = np.concatenate(([-2.5, 2.5, 0.8, -0.5], np.full(SPAN - 3, -3.0)))
    sliding: dict[str, Any] = {"moves": moves, "roles": np.zeros((4, 8)), "lead": np.zeros(12)}
    sliding |= {"guides": 0.0, "keep": _between(rng, 0.3, 1.5)}
    walking, soloing = replace(player.walking, **sliding), replace(player.soloing, **sliding)
    return replace(player, walking=walking, soloing=soloing)


def adrift(
    form: Form, start: int, stop: int, rng: np.random.Generator, player: Player, way: str, play: Play
) -> list[LineNote]:  # fmt: skip
    """A stretch that fits the form nowhere."""
    walking, player = play is walk, _adrift_player(rng, player, way)
    of, size = _chart_sounds(form.chart), stop - start + 3
    sounds = [Sound(0, (SCALE,) * 12)] * size
    if way not in {"chromatic", "hand shapes"}:
        for _ in range(12):
            sounds = _borrowed(form, of, size, rng, way)
            if way == "by ear in the key" or _agreement(sounds, of) <= FITS_AT_MOST:
                break
        else:
            sounds = [s.up(1 + 5 * (b // 9 % 2)) for b, s in enumerate(sounds)]
    lane = _lane(form, sounds, start, stop)
    if walking:
        line = _walked(lane, start, rng, player)
    else:
        line = _soloed(lane, start, rng, player, sounds[0])
    if way == "hand shapes":
        return _shaped(line, _Hand(player.walking if walking else player.soloing, rng))
    return line


def charts() -> list[Chart]:
    """Fifteen invented charts that stand nowhere else."""
    return [
        chart("Clay Pigeon Blues", "Bb", "A", {"A": "Bb7 | Eb7 | Bb7 | Fm7 Bb7 | Eb7 | Ab7 | Bb7 Am7b5 | D7alt Gm7 | Cm7 | F7 | Dm7 G7 | Cm7 F7"}),
        chart("Wet Slate", "G", "A", {"A": "Gmaj7 | F#m7b5 B7b9 | Em7 A7 | Dm7 G7 | C7 | Cm7 F7 | Bm7 E7 | Bbm7 Eb7 | Am7 | D7 | Bm7 E7 | Am7 D7"}),
        chart("Coal Shed", "Fm", "A", {"A": "Fm7 | Gm7b5 C7b9 | Fm7 | Cm7b5 F7b9 | Bbm7 | % | Fm7 | Dm7b5 | Db7 | C7alt | Fm7 Db7 | Gm7b5 C7"}),
        chart("Nine Pin Alley", "A", "AABA", {"A": "A6 F#7 | Bm7 E7 | C#m7 C7 | Bm7 E7 | A7 | D6 D#dim7 | C#m7 F#7 | Bm7 E7", "B": "C#7 | % | F#7 | % | B7 | % | Bm7 | E7"}),
        chart("Upstairs at Noon", "Ab", "ABAC", {"A": "Abmaj7 | Fm7 | Bbm7 | Eb7 | Cm7 | F7b9 | Bbm7 | Bbm7 Eb7", "B": "Dbmaj7 | Dbm6 | Abmaj7 | F7 | Bb7 | % | Bbm7 | Eb7sus", "C": "Dbmaj7 | Gb7 | Cm7 | F7alt | Bbm7 | Eb7 | Ab6 F7 | Bbm7 Eb7"}),
        chart("Rope Ladder", "E", "AB", {"A": "Emaj7 | G7 | Cmaj7 | Eb7 | Abmaj7 | B7 | Emaj7 | Bm7 E7", "B": "Amaj7 | Am6 D7 | G#m7 | C#7 | F#m7 | B7 | G#m7 C#7 | F#m7 B7"}),
        chart("Green Enamel", "Dm", "AABC", {"A": "Dm6 | Em7b5 A7b9 | Dm6 | Am7b5 D7 | Gm7 | C7 | Fmaj7 | Em7b5 A7", "B": "Gm7 | C7 | Fmaj7 | Bbmaj7 | Bm7b5 | E7 | Em7b5 | A7b9", "C": "Dm6 Dm7/C | Bm7b5 Bb7 | Em7b5 | A7alt | Gm7 | Em7b5 A7 | Dm6 | Em7b5 A7"}),
        chart("Second Staircase", "Em", "AABA", {"A": "Em7 | % | A7 | % | Em7 | % | Cmaj7 | B7alt", "B": "Gm7 | % | C7 | % | Bbm7 | Eb7 | F#m7b5 | B7b9"}),
        chart("Milk Float Waltz", "Db", "AB", {"A": "Dbmaj7 | Bb7 | Ebm7 | Ab7 | Fm7 | Edim7 | Ebm7 | Ab7sus", "B": "Gbmaj7 | B7 | Dbmaj7 | Bb7b9 | Ebm7 | Gbm6 | Fm7 / Bb7 | Ebm7 / Ab7"}, beats=3),
        chart("Bent Nail", "Cm", "AB", {"A": "Cm6 | Abmaj7 | Dm7b5 | G7 | Cm7 | Gm7 / C7 | Fm7 | Bb7", "B": "Ebmaj7 | Am7 / D7 | Abmaj7 | Db7 | Cm6 | Ab7 | Dm7b5 | G7alt"}, beats=3),
        chart("Five Past Closing", "F", "AB", {"A": "Fmaj7 | Bb7 | Am7 / / D7 / | Gm7 / / C7 / | Dm7 | G7 | Gm7 | C7", "B": "Bbmaj7 | Bbm7 / / Eb7 / | Am7 | Abdim7 | Gm7 | C7sus"}, beats=5),
        chart("Quick March Home", "D", "AABA", {"A": "D6 B7 | Em7 A7 | F#m7 Fdim7 | Em7 A7 | Am7 D7 | G6 C7 | F#m7 B7 | Em7 A7", "B": "G#m7 C#7 | F#maj7 D#m7 | Gm7 C7 | Fmaj7 Dm7 | F#m7 B7 | Emaj7 | Em7 | A7"}),
        chart("Tin Bath", "C", "A", {"A": "C6 | C7/E | Fmaj7 | F#dim7 | C6/G | A7b9 | D7 | Dm7 G7"}),
        chart("Gas Mantle", "B", "AB", {"A": "Bmaj7 | A7 | Bmaj7 | A7 | G#m7 | C#7 | C#m7 | F#7", "B": "Dmaj7 | Gmaj7 | C#m7b5 | F#7alt"}),
        chart("Wicker Chair", "Gb", "ABCD", {"A": "Gbmaj7 | B7 | Gbmaj7 | Dbm7 Gb7", "B": "Bmaj7 | Bm7 E7 | Bbm7 | Eb7b9", "C": "Abm7 | Bm6 | Bbm7 | Adim7", "D": "Abm7 | Db7sus Db7 | Gb6 Eb7 | Abm7 Db7"}),
    ]  # fmt: skip
