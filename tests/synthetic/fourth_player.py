"""A player by ear and by motif: short ideas moved from chord to chord, and a beginner's bass lines.

Solos grow out of motifs (a rhythm and a contour) that are repeated, moved, lengthened and answered,
out of sung melodies, riffs, pentatonics and blues. Walking lines come from a stock of memorised
figures: the same bar has the same figure from chorus to chorus. An independent hand: it shares only
the note, the builder of charts and the interface with the other players.
"""

# ruff: noqa: C901, PLR0911, PLR0917 -- a generator draws from many habits, and says so plainly

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from linecheck.music.form import Form
from linecheck.terms import STEPS_PER_BEAT, Bar, Chart, ChartChord, Chord
from tests.synthetic.charts import MAJOR, QUALITIES, chart, pitch_class
from tests.synthetic.lines import LineNote, monophonic

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from typing import TypeVar

    T = TypeVar("T")
    Sound = tuple[int, str]  # root and quality
    Pool = tuple[int, ...]
    Play = Callable[[Form, int, int, np.random.Generator, "Player"], list[LineNote]]

ADRIFT_WAYS = (
    "in the key by ear",
    "chromatic noodling",
    "another tune",
    "jumping about",
    "bars in the wrong order",
    "a harmonic rhythm of its own",
    "one chord",
    "licks in a wrong key",
    "dropping and adding beats",
    "invented changes",
)
BEAT = STEPS_PER_BEAT
BOTTOM, TOP = 28, 67
TRIES, FITS = 8, 0.7  # of a stretch adrift, and the share at which it would fit a place

# Figures of a walking line by their length in beats: degrees above the chord's bass ("_": below
# it), "a" an approach to what follows, "+" and "-" scale steps, "c" half steps towards what
# follows, "=" the note held on.
FIGURES = {
    1: ("1", "1", "3", "8"),
    2: ("1 a", "1 5", "1 3", "1 1", "1 5_", "1 8", "1 2", "3 a", "1 a"),
    3: ("1 3 5", "1 5 a", "1 3 a", "1 2 3", "1 + a", "1 - a", "1 1 a", "1 5 8", "1 8 5", "5 3 1", "1 5_ 5_"),
    4: (
        "1 1 5 5", "1 3 5 a", "1 5 1 5", "1 3 5 3", "1 2 3 5", "1 3 5 6", "1 8 5 a", "1 5 8 5",
        "1 + + a", "1 - - a", "8 7 5 a", "1 1 1 a", "1 5 3 a", "1 c c a", "1 5_ 6_ 7_", "1 1 3 5",
        "8 5 3 1", "1 5_ 1 a", "3 5 1 a", "1 7 6 5", "1 2 3 a", "1 1 3 3", "1 3 1 5_", "1 5 6 5",
    ),
    5: ("1 3 5 1 a", "1 1 5 5 a", "1 + + 5 a", "1 2 3 5 3", "1 8 5 3 a", "1 - - 5_ a"),
}  # fmt: skip
IN_TWO = {
    1: ("1",),
    2: ("1 =", "1 =", "1 5"),
    3: ("1 = 5", "1 = =", "1 = a", "1 = 3"),
    4: ("1 = 5 =", "1 = 5_ =", "1 = 3 =", "1 = 5 a", "1 = = a", "1 = 8 =", "1 = 5_ 5_", "1 = 1 ="),
    5: ("1 = = 5 =", "1 = = 5_ a", "1 = 5 = a"),
}
OCTAVES = {
    1: ("1",),
    2: ("1 8", "1 5", "8 1"),
    3: ("1 5 8", "1 8 5", "1 8 8"),
    4: ("1 8 1 8", "1 5 8 5", "8 5 1 5", "1 8 5 5", "1 1 8 8"),
    5: ("1 5 8 5 1", "1 8 1 5 8"),
}

# What stands within one beat of a solo, by how busy the hand is.
Cell = tuple[int, ...]
CELLS: tuple[tuple[Cell, ...], ...] = (
    ((0,), (0,), (), (0,), (6,), (), (0, 6), ()),
    ((0,), (0, 6), (0,), (6,), (0, 6), (), (0,), (0, 6)),
    ((0, 6), (0, 6), (0,), (6,), (0, 6), (0, 4, 8), (0, 6), ()),
    ((0, 6), (0, 6), (0, 4, 8), (0, 6), (0, 3, 6, 9), (0, 6), (0,), (0, 6, 9), (6,)),
)
MANNERS = ("motif", "song", "riff", "run", "blues", "long", "answer", "quarters")
SHARES = (0.26, 0.18, 0.1, 0.14, 0.08, 0.06, 0.1, 0.08)


@dataclass(frozen=True)
class Player:
    """Habits. Shares are from 0 to 1; ``memory`` stands for what was learnt by heart."""

    memory: tuple[int, ...]
    stock: dict[int, tuple[str, ...]]
    modes: tuple[str, ...]  # how choruses are walked
    by_heart: float
    skips: float
    ghosts: float
    rests: float
    pushes: float
    hesitates: float
    chromatic: float
    early: float
    late: float
    pedal: float
    wrong: float
    legato: float
    low: int
    high: int
    manners: tuple[str, ...]
    busy: int
    space: float
    hears: float
    blue: float
    floor: int
    ceiling: int
    leaps: float


def draw_player(rng: np.random.Generator) -> Player:
    """A beginner, a good student, a loose hand, a sparse one, a busy one, and all between."""
    level = float(rng.random())  # of skill: a beginner has a small stock and trips more often
    stock = {}
    for length, all_of in FIGURES.items():
        known = max(2, round(len(all_of) * (0.15 + 0.6 * level * float(rng.random()))))
        stock[length] = (all_of[0], *(all_of[int(i)] for i in rng.permutation(len(all_of))[:known]))
    modes = ["stock"] * 4 + [str(m) for m in rng.choice(["two", "scale", "octaves", "free", "stock"], 3)]  # fmt: skip
    wrong = float(rng.uniform(0, 0.05) if rng.random() < 0.85 else rng.uniform(0.05, 0.12))
    low = int(rng.integers(28, 32))
    floor = int(rng.integers(30, 43))
    count = int(rng.integers(2, 7))
    return Player(
        memory=tuple(int(m) for m in rng.integers(0, 10**6, 211)),
        stock=stock,
        modes=tuple(modes[int(i)] for i in rng.permutation(7)),
        by_heart=float(rng.choice([0.95, 0.8, 0.5, 0.2])),
        skips=float(rng.choice([0, 0.03, 0.1, 0.25]) * rng.random()),
        ghosts=float(rng.choice([0, 0, 0.05, 0.15]) * rng.random()),
        rests=float(rng.choice([0, 0.01, 0.04]) * rng.random()),
        pushes=float(rng.choice([0, 0, 0.05, 0.2]) * rng.random()),
        hesitates=float((1 - level) * 0.03 * rng.random()),
        chromatic=float(rng.random()),
        early=float(rng.choice([0, 0.02, 0.06, 0.12]) * rng.random()),
        late=float(rng.choice([0, 0.02, 0.06, 0.15]) * rng.random()),
        pedal=float(rng.choice([0, 0.3, 0.9])),
        wrong=wrong,
        legato=float(rng.uniform(0.45, 1)),
        low=low,
        high=int(rng.integers(low + 15, 51)),
        manners=tuple(str(m) for m in rng.choice(MANNERS, count, p=SHARES)),
        busy=int(rng.choice(4, p=[0.2, 0.35, 0.3, 0.15])),
        space=float(rng.uniform(0.4, 2.2)),
        hears=float(rng.uniform(0.02, 0.3) if rng.random() < 1 / 6 else rng.uniform(0.7, 1)),
        blue=float(rng.random() ** 2),
        floor=floor,
        ceiling=int(rng.integers(min(62, floor + 16), 68)),
        leaps=float(rng.random() * 0.3),
    )


# ---- what is heard ---------------------------------------------------------------------------


def _pick(rng: np.random.Generator, of: Sequence[T]) -> T:
    return of[int(rng.integers(len(of)))]


@lru_cache(maxsize=64)
def _degrees(kind: str) -> dict[str, int]:
    third, fifth, *rest = QUALITIES[kind][0]
    own = QUALITIES[kind][2]
    sixth = max(i for i in own if i <= 9)
    seventh = rest[0] if rest else own[-1]
    return {"1": 0, "2": own[1], "3": third, "5": fifth, "6": sixth, "7": seventh, "8": 12}


def _colours(kind: str, sort: str) -> tuple[int, ...]:
    """Intervals above a root by the sort of sound that the ear has in mind."""
    tones, _, own = QUALITIES[kind]
    plain = 7 in tones
    if sort == "chord":
        return (0, *tones)
    if sort == "blues" and plain:
        return (0, 3, 4, 6, 7, 10) if 4 in tones else (0, 3, 5, 6, 7, 10)
    if sort in {"pent", "blues"} and plain:
        if 3 in tones:
            return (0, 3, 5, 7, 10) if 10 in tones else (0, 2, 3, 7, 9)
        if 5 in tones:
            return (0, 2, 5, 7, 10)
        return (0, 2, 4, 7, 10) if 10 in tones else (0, 2, 4, 7, 9)
    if sort == "pent":
        return tuple(sorted({0, *tones, own[1]}))
    return own


def _pitches(classes: set[int]) -> Pool:
    return tuple(p for p in range(BOTTOM, TOP + 1) if p % 12 in classes)


@lru_cache(maxsize=4096)
def _pool(root: int, kind: str, sort: str) -> Pool:
    return _pitches({(root + i) % 12 for i in _colours(kind, sort)})


@lru_cache(maxsize=8192)
def _area_pool(tonic: int, root: int, kind: str) -> Pool:
    """The pentatonic of a key area; a note that the chord does not have is fitted to it."""
    own = {(root + i) % 12 for i in QUALITIES[kind][2]}
    fitted = {(root + i) % 12 for i in QUALITIES[kind][0][:1]}
    for interval in (0, 2, 4, 7, 9):
        heard = (tonic + interval) % 12
        fitted.add(next(p % 12 for p in (heard, heard - 1, heard + 1, heard + 2) if p % 12 in own))
    return _pitches(fitted)


def _near(pool: Pool, pitch: int, moves: int = 0, low: int = BOTTOM, high: int = TOP) -> int:
    """The pitch of a pool nearest to one, or so many places from it; turned back at the edges."""
    first, after = bisect_left(pool, low), bisect_left(pool, high + 1) - 1
    at = bisect_left(pool, pitch)
    if at == len(pool) or (at and pitch - pool[at - 1] < pool[at] - pitch):
        at -= 1
    at += moves
    if at < first:
        at = min(after, 2 * first - at)
    elif at > after:
        at = max(first, 2 * after - at)
    return pool[at]


def _chord(form: Form, beat: int) -> Chord:
    """The chord in force; over N.C. the last one goes on."""
    for back in range(form.beats):
        found = form.chord(max(0, beat - back) * BEAT)
        if found is not None and found.root is not None and found.kind in QUALITIES:
            return found
    raise ValueError("a chart without chords")


def _sound(of: Chord) -> Sound:
    return (of.root or 0, of.kind)


def _areas(form: Form) -> list[int]:
    """The tonic of the major scale that the chords around each beat agree on best."""
    heard = np.zeros((form.beats, 12))
    for beat in range(form.beats):
        root, kind = _sound(_chord(form, beat))
        for interval in (0, *QUALITIES[kind][0]):
            heard[beat, (root + interval) % 12] = 1
    reach = 2 * form.chart.meter.beats
    around = sum(np.roll(heard, shift, axis=0) for shift in range(-reach, reach + 1))
    keys = np.array([[(p - k) % 12 in MAJOR for p in range(12)] for k in range(12)], float)
    keys += 0.3 * np.eye(12)
    return [int(k) for k in np.argmax(around @ keys.T, axis=1)]


def _within(notes: list[LineNote], start: int, stop: int) -> list[LineNote]:
    inside = [n for n in notes if start * BEAT <= n.step < stop * BEAT]
    return [n._replace(end_step=min(n.end_step, stop * BEAT)) for n in monophonic(inside)]


# ---- walking ---------------------------------------------------------------------------------


def _into(low: int, high: int, pitch: int) -> int:
    while pitch < low:
        pitch += 12
    while pitch > high:
        pitch -= 12
    return max(BOTTOM, pitch)


def _approach(rng: np.random.Generator, player: Player, of: Chord, after: Chord, last: int) -> int:
    goal = after.bass if after.bass is not None else after.root or 0
    target = _near(_pitches({goal}), last, 0, player.low, player.high)
    side = -1 if last < target else 1
    if rng.random() < 0.25:
        side = -side
    if rng.random() < 0.25 + 0.6 * player.chromatic:
        return _into(player.low, player.high, target + side)
    if rng.random() < 0.3:
        return _into(player.low, player.high, target + _pick(rng, (7, -5)))
    return _near(_pool(*_sound(of), "scale"), target + 2 * side, 0, player.low, player.high)


def _figure(
    figure: str, of: Chord, after: Chord, last: int, rng: np.random.Generator, player: Player
) -> list[int]:
    """Pitches of a figure; -1 holds on."""
    bass = of.bass if of.bass is not None else of.root or 0
    roots = _pitches({bass})
    base = _near(roots, (2 * last + player.low + 12) // 3, 0, player.low, player.high - 3)
    above = _degrees(of.kind) if bass == of.root else {}
    made: list[int] = []
    for word in figure.split():
        if word == "=":
            made.append(-1)
            continue
        if word == "a":
            pitch = _approach(rng, player, of, after, last)
        elif word == "c":
            goal = _near(_pitches({after.root or 0}), last)
            pitch = last + (1 if goal >= last else -1)
        elif word in "+-":
            pitch = _near(_pool(*_sound(of), "scale"), last, 1 if word == "+" else -1)
        elif word[0] in "18":
            pitch = base + (12 if word == "8" else 0)
        else:
            root = base if above else base + ((of.root or 0) - bass) % 12
            pitch = root + _degrees(of.kind)[word[0]] - (12 if word.endswith("_") else 0)
        last = _into(player.low, player.high, pitch)
        made.append(last)
    return made


def _span(
    form: Form, at: int, end: int, last: int, rng: np.random.Generator, player: Player
) -> list[int]:
    """Pitches for the beats of one chord within one bar."""
    where = form.at(at * BEAT)
    assert where is not None
    of, after = _chord(form, at), _chord(form, end)
    place = where.spot.bar_index * 5 + at - (where.begins + where.spot.bar_begins) // BEAT
    mode = player.modes[where.chorus % len(player.modes)]
    learnt = player.memory[place % len(player.memory)]
    length = min(5, end - at)
    long = of.kind[:1] in {"7", "9", "1"} or learnt % 4 == 0  # dominants, or any now and then
    if long and _sound(after) == _sound(of) and learnt % 100 < 100 * player.pedal:
        beat = _pick(rng, ("1", "1", "1", "5_", "8"))
        return _figure(" ".join(["1"] * (length - 1) + [beat]), of, after, last, rng, player)
    if mode == "scale" and length > 1:
        way = 1 if (where.spot.bar_index // 2 + player.memory[1]) % 2 else -1
        made = [_near(_pool(*_sound(of), "chord"), last + way, 0, player.low, player.high)]
        if learnt % 3:
            made = _figure("1", of, after, last, rng, player)
        for _ in range(length - 1):
            made.append(_near(_pool(*_sound(of), "scale"), made[-1], way, player.low, player.high))
        return made
    if mode in {"two", "octaves"}:
        table = (IN_TWO if mode == "two" else OCTAVES)[length]
    else:
        table = player.stock[length]
    by_heart = rng.random() < (0.05 if mode == "free" else player.by_heart)
    figure = table[learnt % len(table)] if by_heart else _pick(rng, table)
    return _figure(figure, of, after, last, rng, player)


def walk(
    form: Form, start: int, stop: int, rng: np.random.Generator, player: Player
) -> list[LineNote]:
    """Memorised figures in quarter notes, with what happens to them under way."""
    notes: list[LineNote] = []
    at, last, hesitating = start, player.low + 8, 0
    length = round(BEAT * (0.6 + 0.4 * player.legato))
    while at < stop:
        end = max(at + 1, form.next_landing(at * BEAT) // BEAT)
        pitches = _span(form, at, end, last, rng, player)
        changed = at > 0 and _sound(_chord(form, at)) != _sound(_chord(form, at - 1))
        if changed and len(pitches) > 1 and rng.random() < player.late:
            # Heard a beat late: the old chord rings on, the root comes after it.
            pitches = [_near(_pool(*_sound(_chord(form, at - 1)), "chord"), last), *pitches[:-1]]
        if len(pitches) > 2 and rng.random() < player.early:
            pitches[-1] = _figure("1", _chord(form, end), _chord(form, end), last, rng, player)[0]
        pushed = bool(notes) and rng.random() < player.pushes
        for beat, planned in enumerate(pitches, at):
            if hesitating:
                hesitating -= 1
                continue
            if rng.random() < player.hesitates:
                hesitating = int(rng.integers(0, 2))
                continue
            if planned < 0:
                if notes:
                    notes[-1] = notes[-1]._replace(end_step=beat * BEAT + length)
                continue
            if rng.random() < player.rests:
                continue
            pitch = planned
            if rng.random() < player.wrong:
                pitch = _into(player.low, player.high, pitch + _pick(rng, (-1, 1, 2, -2, 5)))
            step = beat * BEAT - (_pick(rng, (4, 6)) if pushed and beat == at else 0)
            loud = int(rng.integers(70, 105))
            notes.append(LineNote(step, beat * BEAT + length, pitch, loud))
            last = pitch
            if rng.random() < player.skips:
                again = pitch if rng.random() < 0.6 else _near(_pool(*_sound(_chord(form, beat)), "chord"), pitch, -1, player.low, player.high)  # fmt: skip
                step = beat * BEAT + _pick(rng, (8, 8, 6))
                notes.append(LineNote(step, beat * BEAT + 11, again, loud - 15))
            elif rng.random() < player.ghosts:
                step = beat * BEAT + 8
                notes.append(LineNote(step, step + 2, pitch, int(rng.integers(18, 40))))
        at = end
    return _within(notes, start, stop)


# ---- solos -----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Motif:
    """A rhythm (steps from its beginning) and a contour (places in whatever scale is heard)."""

    onsets: tuple[int, ...]
    beats: int
    moves: tuple[int, ...]


@dataclass
class Soloist:
    """A solo as it comes about."""

    form: Form
    rng: np.random.Generator
    player: Player
    areas: list[int]
    last: int
    notes: list[LineNote] = field(default_factory=list)
    sort: str = "pent"
    hearing: bool = True
    shift: int = 0
    kept: Motif | None = None

    def new_phrase(self) -> None:
        rng, player = self.rng, self.player
        self.hearing = rng.random() < player.hears
        self.shift = 0
        drawn = rng.random()
        if drawn < player.early + player.late:
            self.shift = 1 if drawn < player.early else -1
        self.sort = _pick(rng, ("pent", "pent", "scale", "area", "scale"))
        if rng.random() < player.blue:
            self.sort = "blues"

    def heard(self, step: int) -> Sound:
        # An eighth before a change the ear is already there.
        return _sound(_chord(self.form, max(0, (step + 6) // BEAT + self.shift)))

    def pool(self, step: int) -> Pool:
        tonic = self.areas[step // BEAT % len(self.areas)]
        if not self.hearing:
            key = self.form.chart.key
            if self.sort == "scale":
                return _pool(tonic, "maj7", "scale")
            return _pool(pitch_class(key.tonic), "m7" if key.minor else "7", self.sort if self.sort == "blues" else "pent")  # fmt: skip
        root, kind = self.heard(step)
        if self.sort == "area":
            return _area_pool(tonic, root, kind)
        if self.sort == "blues" and ("7" not in kind or "maj" in kind):
            return _pool(root, kind, "pent")
        return _pool(root, kind, self.sort)

    def put(self, step: int, end: int, moves: int, *, strong: bool) -> None:
        """The next note of a contour; where it is strong the ear finds a chord tone."""
        rng, player = self.rng, self.player
        pitch = _near(self.pool(step), self.last, moves, player.floor, player.ceiling)
        if strong and self.hearing and rng.random() < 0.93:
            tones = _pool(*self.heard(step), "chord")
            pitch = _near(tones, pitch, 0, player.floor, player.ceiling)
        self.note(step, end, pitch)

    def note(self, step: int, end: int, pitch: int) -> None:
        rng, player = self.rng, self.player
        if rng.random() < player.wrong:
            pitch += _pick(rng, (-1, 1, 2))
        if step % BEAT in {2, 10}:  # a triplet moved by an eighth comes out as an eighth
            step -= step % 6
        end = max(step + 2, min(end, step + BEAT * 8))
        sounding = step + max(2, round((end - step) * (0.55 + 0.45 * player.legato)))
        pitch = min(max(pitch, BOTTOM), TOP)
        self.notes.append(LineNote(step, sounding, pitch, int(rng.integers(55, 112))))
        self.last = pitch

    def rhythm(self, beats: int, busy: int | None = None) -> tuple[int, ...]:
        table = CELLS[self.player.busy if busy is None else busy]
        onsets = [b * BEAT + s for b in range(beats) for s in _pick(self.rng, table)]
        return tuple(onsets) or (0,)

    def strong(self, step: int, following: int) -> bool:
        """A change or beat one, any long note, and the beats now and then."""
        if step % BEAT not in {0, 6}:
            return False
        if self.form.is_landing(step) or self.form.is_landing(step + 6) or following - step > BEAT:
            return True
        return step % BEAT == 0 and bool(self.rng.random() < 0.35)

    def motif(self) -> Motif:
        rng = self.rng
        if self.kept is not None and rng.random() < 0.35:
            return self.kept
        beats = _pick(rng, (2, 2, 3, 4, 4))
        onsets = self.rhythm(beats)
        steps = (-1, 1, -1, 1, 0, 2, -2) if rng.random() < 0.7 else (1, 1, 0, 2) if rng.random() < 0.5 else (-1, -1, 0, -2)  # fmt: skip
        leap = self.player.leaps
        moves = tuple(_pick(rng, steps) * (3 if rng.random() < leap / 2 else 1) for _ in onsets)
        self.kept = Motif(onsets, beats, moves)
        return self.kept

    def state(self, at: int, what: Motif) -> int:
        """One statement of a motif; returns where it is over."""
        over = at + what.beats * BEAT
        onsets = [at + o for o in what.onsets]
        for index, (step, move) in enumerate(zip(onsets, what.moves, strict=True)):
            following = onsets[index + 1] if index + 1 < len(onsets) else over
            edge = index == len(onsets) - 1 or (index == 0 and self.rng.random() < 0.6)
            self.put(step, following, move, strong=edge or self.strong(step, following))
        return over

    def varied(self, what: Motif, way: str) -> Motif:
        if way == "answer":
            return replace(what, moves=tuple(-m for m in what.moves))
        if way == "longer":
            tail = self.rhythm(1)
            onsets = (*what.onsets, *(what.beats * BEAT + o for o in tail))
            return Motif(onsets, what.beats + 1, (*what.moves, *(_pick(self.rng, (-1, 1)) for _ in tail)))  # fmt: skip
        if way == "shorter" and len(what.onsets) > 2:
            half = len(what.onsets) // 2 + 1
            return replace(what, onsets=what.onsets[:half], moves=what.moves[:half])
        return what

    def play_motif(self, at: int, *, answers: bool) -> int:
        rng = self.rng
        what = self.motif()
        begin = self.last
        for turn in range(int(rng.integers(2, 5))):
            way = "answer" if answers and turn % 2 else _pick(rng, ("same", "same", "longer", "shorter"))  # fmt: skip
            if turn:
                # Moved: begun anew near where it began, a little higher or lower.
                self.last = begin + _pick(rng, (0, 0, 2, -2, -3, 3))
                begin = self.last
            at = self.state(at, self.varied(what, way))
            at += _pick(rng, (0, 0, 1, 2) if answers else (0, 0, 0, 1)) * BEAT
        return at

    def play_song(self, at: int) -> int:
        """Chord tones on the strong beats; passing tones and neighbours lead from one to the next."""
        rng, player = self.rng, self.player
        for _ in range(int(rng.integers(2, 6))):
            beats = _pick(rng, (2, 2, 2, 1, 3, 4))
            self.put(at, at + beats * BEAT, _pick(rng, (-2, -1, 0, 1, 2)), strong=True)
            busy = min(player.busy, 2)
            between = [o for o in self.rhythm(beats, busy) if o >= 6][: 2 * beats - 1]
            way = _pick(rng, (-1, 1))
            tones = self.pool(at)
            turned = self.last
            if between:
                self.notes[-1] = self.notes[-1]._replace(end_step=at + between[0])
            for index, onset in enumerate(between):
                neighbour = index % 2 == 1 and rng.random() < 0.4
                turned = _near(tones, turned, -way if neighbour else way, player.floor, player.ceiling)  # fmt: skip
                after = between[index + 1] if index + 1 < len(between) else beats * BEAT
                if self.strong(at + onset, at + after):
                    self.last = turned
                    self.put(at + onset, at + after, 0, strong=True)
                    turned = self.last
                else:
                    self.note(at + onset, at + after, turned)
            at += beats * BEAT
        return at

    def play_riff(self, at: int) -> int:
        """One figure over and over; only what jars is bent to the chord."""
        what = self.motif()
        home = self.last
        self.sort = _pick(self.rng, ("blues", "pent", "area"))
        for _ in range(int(self.rng.integers(2, 6))):
            self.last = home
            at = self.state(at, what)
            at += -at % (2 * BEAT)
        return at

    def play_run(self, at: int) -> int:
        """Up or down what is heard, now and then as thirds or back a step."""
        rng = self.rng
        onsets = [at + o for o in self.rhythm(int(rng.integers(2, 7)), max(1, self.player.busy))]
        way = _pick(rng, (-1, 1))
        chordal = rng.random() < 0.35
        for index, step in enumerate(onsets):
            if rng.random() < 0.15:
                way = -way
            following = onsets[index + 1] if index + 1 < len(onsets) else step + BEAT
            if chordal and self.hearing:
                tones = _pool(*self.heard(step), "chord")
                self.note(step, following, _near(tones, self.last, way, self.player.floor, self.player.ceiling))  # fmt: skip
            else:
                move = -way if rng.random() < 0.12 else way
                self.put(step, following, move, strong=self.strong(step, following))
        return onsets[-1] + BEAT

    def play_long(self, at: int) -> int:
        for _ in range(int(self.rng.integers(1, 4))):
            end = max(at + BEAT, self.form.next_landing(at))
            end += _pick(self.rng, (0, 0, 0, BEAT, -BEAT)) if end - at > BEAT else 0
            self.put(at, end, _pick(self.rng, (-1, 0, 1)), strong=True)
            at = end
        return at

    def play_quarters(self, at: int) -> int:
        """A bass player's solo that falls back on walking, higher up."""
        for _ in range(int(self.rng.integers(4, 10))):
            self.put(at, at + BEAT, _pick(self.rng, (-1, 1, -1, 1, 2)), strong=self.strong(at, at + BEAT))  # fmt: skip
            at += BEAT
        return at

    def phrase(self, at: int, manner: str) -> int:
        self.new_phrase()
        if manner == "blues":
            self.sort = "blues"
        if manner in {"motif", "answer", "blues"}:
            return self.play_motif(at, answers=manner == "answer")
        plays = {
            "song": self.play_song,
            "riff": self.play_riff,
            "run": self.play_run,
            "long": self.play_long,
            "quarters": self.play_quarters,
        }
        return plays[manner](at)


def solo(
    form: Form, start: int, stop: int, rng: np.random.Generator, player: Player
) -> list[LineNote]:
    """Phrases and rests."""
    middle = (player.floor + player.ceiling) // 2
    hand = Soloist(form, rng, player, _areas(form), middle)
    manner = _pick(rng, player.manners)
    at = start * BEAT + _pick(rng, (0, 0, 0, 1, 2)) * BEAT
    while at < stop * BEAT:
        if rng.random() < 0.6:
            manner = _pick(rng, player.manners)
        at = -(-hand.phrase(at, manner) // BEAT) * BEAT
        at += int(rng.poisson(player.space)) * BEAT + _pick(rng, (0, 0, 0, 6))
        if at % BEAT and rng.random() < 0.5:
            at -= 6
        hand.last = (2 * hand.last + middle) // 3
    return _within(hand.notes, start, stop)


# ---- adrift ----------------------------------------------------------------------------------


def _like(of: Chart, changes: list[tuple[Chord, int]]) -> Form:
    """A form of chords, each for so many beats, in bars no longer than the chart's."""
    spans: list[tuple[Chord, int]] = []
    for chord, beats in changes:
        if spans and _sound(spans[-1][0]) == _sound(chord):
            spans[-1] = (chord, spans[-1][1] + beats)
        else:
            spans.append((chord, beats))
    bars: list[Bar] = []
    for chord, beats in spans:
        for first in range(0, beats, of.meter.beats):
            here = min(of.meter.beats, beats - first)
            only = (ChartChord(chord, 0, here * BEAT),)
            bars.append(Bar(len(bars) + 1, "A", replace(of.meter, beats=here), only, not bars))
    return Form(replace(of, bars=tuple(bars), intro=(), ending=()))


def _moved(of: Chord, interval: int) -> Chord:
    """A chord in another key."""

    def up(pitch: int | None) -> int | None:
        return None if pitch is None else (pitch + interval) % 12

    tones = tuple(replace(t, pitch_class=(t.pitch_class + interval) % 12) for t in of.tones)
    return replace(of, root=up(of.root), bass=up(of.bass), tones=tones)


def _fit(form: Form, notes: list[LineNote]) -> float:
    """How well notes fit the form at the place where they fit it best."""
    table = np.zeros((form.beats, 12))
    for beat in range(form.beats):
        root, kind = _sound(_chord(form, beat))
        table[beat, [(root + i) % 12 for i in QUALITIES[kind][2]]] = 0.4
        table[beat, [(root + i) % 12 for i in (0, *QUALITIES[kind][0])]] = 1
    beats = np.array([n.step // BEAT for n in notes], int)
    places = (beats[:, None] + np.arange(form.beats)) % form.beats
    classes = np.array([n.pitch % 12 for n in notes], int)
    return float(table[places, classes[:, None]].mean(axis=0).max()) if notes else 2.0


def _spans(form: Form, start: int) -> list[tuple[Chord, int]]:
    """The changes of one chorus from a place on."""
    spans: list[tuple[Chord, int]] = []
    for beat in range(start, start + form.beats):
        of = _chord(form, beat)
        if spans and _sound(spans[-1][0]) == _sound(of) and beat % form.beats:
            spans[-1] = (of, spans[-1][1] + 1)
        else:
            spans.append((of, 1))
    return spans


def _changes(form: Form, rng: np.random.Generator, way: str) -> list[tuple[Chord, int]]:
    """Changes that the player believes in."""
    bar = form.chart.meter.beats
    spans = _spans(form, int(rng.integers(form.beats)))
    if way == "another tune":
        other = Form(_pick(rng, charts()))
        move = int(rng.integers(12)) if rng.random() < 0.5 else 0
        return [(_moved(c, move), n) for c, n in _spans(other, int(rng.integers(other.beats)))]
    if way == "jumping about":
        made = []
        for _ in range(24):
            place, left = int(rng.integers(form.beats)), _pick(rng, (1, 2, 3, 4, 6, 8))
            made += [(_chord(form, place + i), 1) for i in range(left)]
        return made
    if way == "bars in the wrong order":
        if rng.random() < 0.4:
            return spans[::-1]
        return [spans[int(i)] for i in rng.permutation(len(spans))]
    if way == "a harmonic rhythm of its own":
        if rng.random() < 0.5:
            rate = _pick(rng, (0.5, 0.67, 1.5, 2.0))
            return [(c, max(1, round(n * rate))) for c, n in spans]
        return [(c, _pick(rng, (1, 2, 2, 3, 4, 5, 6, 7))) for c, _ in spans]
    if way == "one chord":
        beats = bar * int(rng.integers(4, 12))
        move = _pick(rng, (0, 1, 6, 11, 3, 8))
        return [(_moved(_pick(rng, spans)[0], move), beats) for _ in range(4)]
    if way == "licks in a wrong key":
        made = []
        while len(made) < 40:
            move, first = int(rng.integers(1, 12)), int(rng.integers(len(spans)))
            made += [(_moved(c, move), n) for c, n in spans[first : first + int(rng.integers(2, 7))]]  # fmt: skip
        return made
    if way == "dropping and adding beats":
        odd = [_pick(rng, (-2, -1, -1, 1, 1, 2, 3)) + round(n * rng.uniform(-0.7, 0.3)) for _, n in spans]  # fmt: skip
        return [(c, max(1, n + o)) for (c, n), o in zip(spans, odd, strict=True)]
    made = []
    root = int(rng.integers(12))
    for _ in range(40):  # invented changes: moves that one hears everywhere, to nowhere
        root += _pick(rng, (5, 5, 3, 10, 1, 11, 8))
        kind = _pick(rng, (*(c for c, _ in spans), _moved(spans[0][0], 4)))
        made.append((_moved(kind, root - (kind.root or 0)), _pick(rng, (bar, bar, 2, bar + 1, 2 * bar))))  # fmt: skip
    return made


def _noodle(
    form: Form, start: int, stop: int, rng: np.random.Generator, player: Player, *, walks: bool, chromatic: bool
) -> list[LineNote]:  # fmt: skip
    """By the fingers or by the key alone, whatever the chord is."""
    key = form.chart.key
    scale = _pool(pitch_class(key.tonic), "m7" if key.minor else "maj7", _pick(rng, ("scale", "pent", "scale")))  # fmt: skip
    pool = tuple(range(BOTTOM, TOP + 1)) if chromatic else scale
    low, high = (player.low, player.high) if walks else (player.floor, player.ceiling)
    hand = Soloist(form, rng, player, [0], (low + high) // 2)
    way, at = 1, start
    while at < stop:
        beats = 1 if walks else int(rng.integers(2, 6))
        onsets = [at * BEAT + o for o in ((0,) if walks else hand.rhythm(beats))]
        for step in onsets:
            if rng.random() < 0.25:
                way = -way
            leap = _pick(rng, (2, 3, 4, 5)) if rng.random() < 0.15 else 1
            pitch = _near(pool, hand.last, way * leap, low, high)
            if rng.random() < 0.08:
                pitch = hand.last
            hand.note(step, step + (BEAT if walks else 8), pitch)
        at += beats + (0 if walks else int(rng.poisson(player.space * 0.6)))
    return _within(hand.notes, start, stop)


def adrift(
    form: Form,
    start: int,
    stop: int,
    rng: np.random.Generator,
    player: Player,
    way: str,
    play: Play,
) -> list[LineNote]:
    """A stretch that fits the form nowhere."""
    best: list[LineNote] = []
    least = np.inf
    for turn in range(TRIES):
        if way in ADRIFT_WAYS[:2]:
            made = _noodle(form, start, stop, rng, player, walks=play is walk, chromatic=way == ADRIFT_WAYS[1])  # fmt: skip
        else:
            # In a tune of few chords the own ones fit in any order: in the end another key as well.
            move = int(rng.integers(1, 12)) if turn >= TRIES - 3 else 0
            believed = _like(
                form.chart, [(_moved(c, move), n) for c, n in _changes(form, rng, way)]
            )
            shift = start * BEAT
            made = [
                n._replace(step=n.step + shift, end_step=n.end_step + shift)
                for n in play(believed, 0, stop - start, rng, player)
            ]
        # What chance has put near some place in the form is no stretch adrift.
        fits = _fit(form, made)
        if fits < least:
            best, least = made, fits
        if least < FITS:
            break
    return best


# ---- charts ----------------------------------------------------------------------------------


def charts() -> list[Chart]:
    """Fifteen invented charts."""
    return [
        chart("Pan Rattle", "G", "A", {"A": "G7 | C7 | G7 | % | C7 | C#dim7 | G7 | E7 | A7 | D7 | G7 C7 | G7 D7"}),
        chart("Gravel Steps", "Bb", "A", {"A": "Bb7 | Eb7 | Bb7 | Fm7 Bb7 | Eb7 | Ab7 | Dm7 | Dbm7 Gb7 | Cm7 | F7 | Dm7 G7b9 | Cm7 F7"}),
        chart("Soot and Salt", "Dm", "A", {"A": "Dm6 | A7alt | Dm6 | D7alt | Gm7 | C7 | Dm6 | % | Bb7 | A7 | Dm6 | Em7b5 A7b9"}),
        chart("Waltz of the Kettle", "G", "AB", {"A": "Gmaj7 | Em7 | Am7 | D7 | Bm7 | E7b9 | Am7 / D7 | Gmaj7", "B": "Cmaj7 | Cm6 | Bm7 | Bb7 | Am7 | Ab7 | Gmaj7 | Am7 / D7"}, beats=3),
        chart("Five Windows", "Em", "AB", {"A": "Em7 / / A7 / | Em7 / / A7 / | Cmaj7 / / B7b9 / | Em7", "B": "Am7 / / D7 / | Gmaj7 | F#m7b5 / / B7alt / | Em7"}, beats=5),
        chart("Cold Porch", "Fm", "AABA", {"A": "Fm6 | Fm6/Eb | Dm7b5 | Db7 C7b9 | Fm6 | Bbm7 Eb7 | Gm7b5 C7alt | Fm6", "B": "Bbm7 | Eb7 | Abmaj7 | Dbmaj7 | Dm7 | G7 | Gm7b5 | C7#5"}),
        chart("Chalk on the Kerb", "C", "ABAC", {"A": "C6 | Ebdim7 | Dm7 | G7 | Em7b5 | A7b9 | Dm7 | Ab7", "B": "Cmaj7 | Am7 | D7 | % | Dm7 | Em7 A7 | Dm7 | G7sus", "C": "Em7 | A7 | D7 | Fm6 | C/G | A7alt | D7 G7 | C6 G7"}),
        chart("Hollow Reed", "Gm", "AB", {"A": "Gm7 | % | % | % | Bbm7 | % | % | %", "B": "Abmaj7#11 | % | % | % | Gm7 | % | A7alt | D7alt"}),
        chart("Two Buckets", "A", "AAB", {"A": "Am7 | D7 | Am7 | D7 | Am7 | D7 | Am7 | D7", "B": "Fmaj7 | % | Em7 | % | Dm7 | Em7 | Fmaj7 | E7#5"}),
        chart("Brisk Errand", "Bb", "AABA", {"A": "Bbmaj7 Bdim7 | Cm7 C#dim7 | Bb6/D Db7 | Cm7 B7 | Bb7 Bb7/D | Eb6 Ab7 | Dm7 G7 | C7 F7", "B": "Am7 D7 | Gmaj7 | Gm7 C7 | Fmaj7 | Fm7 Bb7 | Ebmaj7 | Ebm7 Ab7 | Cm7 F7"}),
        chart("Fold the Map", "Ab", "ABAC", {"A": "Abmaj7 | Gm7b5 C7b9 | Fm7 | Ebm7 Ab7 | Dbmaj7 | Dbm6 | Cm7 | F7", "B": "Bbm7 | % | Dm7b5 | G7b9 | Cm7 | F7 | Bbm7 | Eb7", "C": "Bbm7 | Gb7 | Cm7 | Bdim7 | Bbm7 | Eb7sus Eb7 | Ab6 F7 | Bbm7 Eb7"}),
        chart("Drainpipe Whistle", "A", "AB", {"A": "A6 F#7 | B7 | Bm7 E7 | A6 | C#m7 | C7 | Bm7 | E7", "B": "Em7 A7 | Dmaj7 | Dm7 G7 | Cmaj7 | C#m7b5 F#7b9 | Bm7 | Bm7 E7 | A6 E7"}),
        chart("Under the Ladder", "Db", "AAB", {"A": "Dbmaj7 | % | Amaj7 | % | Dbmaj7 | Bb7alt | Ebm7 | Ab7", "B": "Em7 A7 | Dmaj7 | Fm7 Bb7 | Ebmaj7 | Gbm7 | B7 | Ebm7 | Ab7"}),
        chart("Long Way to the Pump", "F", "AB", {"A": "A7 | % | D7 | % | G7 | % | C7 | C7#5", "B": "F7 | % | Eb7 | % | Db7 | C7 | F7 | C7sus"}),
        chart("Ten Candles", "Em", "AB", {"A": "Emmaj7 | Em7 | C7 | B7alt | Emmaj7", "B": "Gmaj7 | F#7#5 | Fmaj7#11 | Am6 | B7b9"}),
    ]  # fmt: skip
