"""A class of twelve: students and amateurs as a teacher meets them, each with habits of its own.

A take is one of the class (``draw_player``) with its habits shaken. All of them read a *road*: the
chords beat by beat. Lost, they mostly play on as they always do, over a road that is not the form.
"""

# ruff: noqa: PLR0917 -- a player is asked for a line by place, chance, habits and way

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from linecheck.music.form import Form
from tests.synthetic.charts import chart, pitch_class, scale
from tests.synthetic.lines import LineNote

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from linecheck.terms import Chart, Chord

BEAT = 12  # steps
LOWEST, HIGHEST = 28, 67
FITS = 0.66  # a stretch that agrees more than this with some place of the form is drawn again
TRIES = 8


def charts() -> list[Chart]:
    return [
        chart("Dented Bucket", "Bb", "A", {"A": "Bb7 | Eb7 | Bb7 | Fm7 Bb7 | Eb7 | Edim7 | Bb7 | Dm7b5 G7alt | Cm7 | F7 | Dm7 G7 | Cm7 F7"}),
        chart("Nine Stairs Down", "Gm", "A", {"A": "Gm6 | Am7b5 D7b9 | Gm6 | G7alt | Cm7 | F9 | Gm6 | Em7b5 | Eb7 | D7alt | Gm6 Eb7 | Am7b5 D7"}),
        chart("Eight Wet Flagstones", "Eb", "A", {"A": "Eb7 | Bb7 | Ab7 | Adim7 | Eb7 C7 | F7 Bb7 | Eb7 Ab7 | Eb7 Bb7"}),
        chart("Button Box", "Ab", "AABA", {"A": "Ab6 F7 | Bbm7 Eb7 | Cm7 F7b9 | Bbm7 Eb7 | Ebm7 Ab7 | Dbmaj7 Dbm6 | Cm7 F7 | Bbm7 Eb7", "B": "Gm7 | C7 | Fm7 | % | Bb7 | % | Bbm7 | Eb7#5"}),
        chart("Goose on the Lawn", "G", "ABAC", {"A": "Gmaj7 | E7 | Am7 | % | Cm6 | F7 | Bm7 | E7b9", "B": "A7 | % | Am7 | D7 | Bm7b5 | E7 | Am7 | D7sus D7", "C": "Cmaj7 | C#dim7 | Bm7 | E7 | Am7 | D7 | G6 E7 | Am7 D7"}),
        chart("Cold Soup", "Cm", "AABA", {"A": "Cm6 | % | Dm7b5 | G7b9 | Cm7 Bbm7 | Eb7 Abmaj7 | Dm7b5 G7 | Cm6", "B": "Fm7 | Bb7 | Ebmaj7 | Abmaj7 | Am7b5 | D7 | Gmaj7 | G7alt"}),
        chart("Grain Silo", "Em", "AABA", {"A": "Em7 | % | % | % | Em7 | % | Cmaj7#11 | %", "B": "Gm7 | % | % | % | Bbm7 | % | Gm7 | B7alt"}),
        chart("Lantern Fair", "Bb", "AB", {"A": "Bbmaj7 | Am7b5 | D7b9 | Gm7 | Cm7 | F7 | Dm7 / Db7 | Cm7 / F7", "B": "Fm7 | Bb7 | Ebmaj7 | Ebm6 | Dm7 | G7 | Cm7 | F7sus"}, beats=3),
        chart("Crooked Ladder", "Dm", "AB", {"A": "Dm7 / / A7alt / | Dm7 | Gm7 / / C7 / | Fmaj7 | Bbmaj7 | Em7b5 / / A7b9 /", "B": "Ebmaj7 | % | Am7 / / D7 / | Gm7 | Em7b5 | A7"}, beats=5),
        chart("Sewing Table", "F", "AB", {"A": "F6 F#dim7 | Gm7 G#dim7 | Am7 D7 | Gm7 C7 | F7 Bb7 | F6 D7 | G7 C7 | Am7 Abm7", "B": "Dm7 G7 | Cm7 F7 | Bbmaj7 Bbm6 | Am7 D7 | Bm7b5 E7 | Am7 D7 | Gm7 C7 | F6 C7"}),
        chart("Dry Dock", "Fm", "AB", {"A": "Fm7 | Bb7 | Fm7 | Bb7 | Fm7 | Bb7 | Abm7 | Db7", "B": "Gbmaj7 | % | Fm7 | % | Em7 | A7 | Dmaj7 | C7alt"}),
        chart("Three Keys on a Ring", "D", "ABCA", {"A": "Dmaj7 F7 | Bbmaj7 Db7 | Gbmaj7 A7 | Dmaj7", "B": "Am7 D7 | Gmaj7 | Cm7 F7 | Bbmaj7", "C": "Gbmaj7 | Em7 A7 | Dmaj7 | C#m7 F#7"}),
        chart("Tarpaulin", "F#m", "ABAC", {"A": "F#m7 | B7 | Emaj7 | Amaj7 | D#m7b5 | G#7b9 | C#m7 | F#7", "B": "Bm7 | E7 | Amaj7 | Dmaj7 | G#m7b5 | C#7alt | F#m6 | %", "C": "Bm7 | Bbdim7 | A6 | F#7 | G#m7b5 | C#7 | F#mmaj7 | C#7b9"}),
        chart("Hill Path by Night", "E", "AB", {"A": "E E/D# | C#m7 E/B | A A/G# | F#m7 B7 | G#m7 C#7 | F#m7 Am6 | E/B B7 | E", "B": "C#m7 | G#7/B# | C#m7 | F#7 | A | Am6 | G#m7 G7 | F#m7 B7"}),
        chart("Rhubarb in March", "C", "ABC", {"A": "Cmaj7 | Fm7 Bb7 | Cmaj7 | Ebm7 Ab7 | Dm7 | G7 | Em7 | A7", "B": "Abmaj7 | Dbmaj7 | Gm7 | C7 | Fmaj7 | Bb9 | Em7b5 | A7b9", "C": "Dm7 | G7 | Ebdim7 | Em7 A7 | Dm7 | Db7 | C6 A7 | Dm7 G7"}),
    ]  # fmt: skip


# ---- the road ---------------------------------------------------------------------------------


class Harmony(NamedTuple):
    """A chord as a hand knows it: pitch classes."""

    root: int
    bass: int
    tones: tuple[int, ...]
    scale: tuple[int, ...]
    colours: tuple[int, ...]

    def moved(self, by: int) -> Harmony:
        tones, run, colours = (tuple((t + by) % 12 for t in s) for s in self[2:])
        return Harmony((self.root + by) % 12, (self.bass + by) % 12, tones, run, colours)


class Beat(NamedTuple):
    """A beat of the road: the chord before, now and on the next beat; ``left`` beats of it."""

    step: int
    before: Harmony
    now: Harmony
    then: Harmony
    fresh: bool
    left: int
    place: int
    bar: int  # its length
    number: int  # bars from the form's beginning


def _harmony(of: Chord | None, key: int) -> Harmony:
    if of is None or of.root is None or not of.tones:
        return Harmony(key, key, (key, (key + 7) % 12), tuple(range(12)), ())
    bass = of.root if of.bass is None else of.bass
    tones = tuple(t.pitch_class for t in of.tones)
    return Harmony(of.root, bass, tones, scale(of), tuple(t.pitch_class for t in of.available))


def _key(form: Form) -> int:
    return pitch_class(form.chart.key.tonic)


def _chords(form: Form, start: int, stop: int) -> list[Harmony]:
    made: list[Harmony] = []
    last: Chord | None = None
    for beat in range(start, stop):
        of = form.chord(beat * BEAT)
        if not made or of is not last:
            made.append(_harmony(of, _key(form)))
        else:
            made.append(made[-1])
        last = of
    return made


def _road(form: Form, start: int, stop: int, chords: list[Harmony] | None = None) -> list[Beat]:
    """The beats of a form with its chords, or with ``chords`` of the player's own making."""
    sounds = chords or _chords(form, start, stop + 1)
    count = stop - start
    left = [1] * count
    for i in range(count - 2, -1, -1):
        left[i] = left[i + 1] + 1 if sounds[i] == sounds[i + 1] else 1
    road: list[Beat] = []
    for i in range(count):
        step = (start + i) * BEAT
        bar = form.bar(step)
        assert bar is not None
        place = (step - form.bar_begins(step)) // BEAT
        before, after = sounds[max(i - 1, 0)], sounds[min(i + 1, len(sounds) - 1)]
        fresh = not i or sounds[i] != before
        number = bar.number - 1
        road.append(Beat(step, before, sounds[i], after, fresh, left[i], place, bar.meter.beats, number))  # fmt: skip
    return road


# ---- the class --------------------------------------------------------------------------------


@dataclass(frozen=True)
class Student:
    """Habits; shares are probabilities, lengths are beats."""

    walks: str  # manners of walking, by their letters; the more often one stands, the likelier
    solos: str
    skip: float = 0.06
    ghost: float = 0.02
    rest: float = 0.01
    push: float = 0.02
    two: float = 0.05  # stretches in two
    home: float = 0.7  # a bar of the same chord begins on its root again
    run: float = 0.01  # eighths within a walking line
    phrase: float = 7.0
    breath: float = 2.0
    thin: float = 0.12  # eighths left out
    turn: float = 0.05  # triplets in place of eighths
    late: float = 0.04  # still on the chord before
    ahead: float = 0.25  # the next chord already on the off-beat before it
    heard: float = 0.85  # long notes that are fitted to the chord
    loyal: float = 0.6  # keeps the manner from phrase to phrase
    square: float = 0.5  # phrases begin with a bar
    wrong: float = 0.01
    low: int = 28
    high: int = 47
    solo_low: int = 35
    solo_high: int = 60
    length: float = 0.9
    loud: int = 78
    tune: int = 0  # which melody it has made up, which patterns it likes


CLASS: dict[str, Student] = {
    "the beginner": Student("rrrrs", "rrrq", skip=0.01, push=0.0, two=0.25, home=0.95, run=0.0, thin=0.05, turn=0.0, late=0.1, ahead=0.02, square=0.9, wrong=0.03, high=43, solo_low=31, solo_high=50, phrase=8, breath=2.5),
    "from the classical method": Student("sssa", "sssa", skip=0.02, run=0.03, thin=0.05, ahead=0.05, square=0.7, phrase=10, breath=1.5, solo_high=62, length=0.97),
    "all positions": Student("aaac", "aaas", turn=0.1, thin=0.08, phrase=9, breath=1.5, solo_low=30, solo_high=65),
    "good ear, no theory": Student("eeeck", "eeem", late=0.12, wrong=0.03, home=0.6, push=0.05, square=0.3, breath=2.5, heard=0.8),
    "transcribes horns": Student("ppkc", "hhhd", skip=0.1, ghost=0.04, turn=0.1, ahead=0.4, square=0.2, phrase=9, breath=2.0, solo_high=64),
    "sings half notes": Student("gggp", "ggge", two=0.45, skip=0.04, thin=0.05, phrase=10, breath=1.5, wrong=0.005, solo_low=40, solo_high=62, length=0.98),
    "plays on the tune": Student("ccpr", "mmme", skip=0.08, phrase=8, breath=2.0, square=0.7, heard=0.9),
    "walks his solo": Student("pkec", "wwwq", skip=0.16, ghost=0.08, run=0.05, phrase=14, breath=1.0, turn=0.12, solo_low=30, solo_high=52),
    "riffs": Student("orrc", "qqqr", push=0.08, skip=0.1, phrase=8, breath=1.5, square=0.85, solo_high=57),
    "fast fingers": Student("kpcs", "dddh", skip=0.12, run=0.06, phrase=6, breath=2.5, turn=0.15, solo_high=66, wrong=0.02),
    "colours": Student("iiip", "tttg", home=0.35, ahead=0.35, late=0.06, square=0.3, breath=2.5, solo_low=40, solo_high=66),
    "a bit of all": Student("rsaepgckio", "rsaehgmwqdt", skip=0.09, ghost=0.04, push=0.04, loyal=0.3),
}  # fmt: skip


def draw_player(rng: np.random.Generator) -> Student:
    """One of the class, with each habit of its own shaken."""
    names = list(CLASS)
    base = CLASS[names[int(rng.integers(len(names)))]]

    def shaken(share: float, spread: float = 0.45, top: float = 0.6) -> float:
        return float(min(top, share * np.exp(rng.normal(0, spread))))

    shares = ("skip", "ghost", "rest", "push", "two", "run", "thin", "turn", "late", "ahead")
    changed: dict[str, Any] = {name: shaken(getattr(base, name)) for name in shares}
    for name in ("home", "loyal", "square", "heard", "length"):
        changed[name] = shaken(getattr(base, name), 0.12, 1.0)
    changed["phrase"] = shaken(base.phrase, 0.3, 20.0)
    changed["breath"] = shaken(base.breath, 0.4, 8.0)
    wrong = base.wrong * rng.gamma(1.0, 1.0)
    if rng.random() < 0.08:
        wrong = rng.uniform(0.05, 0.12)
    changed["wrong"] = float(min(0.12, wrong))
    up, reach = int(rng.integers(-3, 4)), int(rng.integers(-3, 4))
    changed["low"], changed["high"] = 28 + max(0, up), min(50, base.high + reach)
    changed["solo_low"] = max(LOWEST, base.solo_low + up)
    changed["solo_high"] = min(HIGHEST, base.solo_high + reach)
    changed["loud"] = int(rng.integers(62, 96))
    changed["tune"] = int(rng.integers(1 << 20))
    solos = base.solos
    if rng.random() < 0.16:
        # It knows the key and trusts in it: the changes hardly show.
        solos, changed["heard"], changed["late"] = "bbb" + solos[:1], 0.3, 0.3
    elif rng.random() < 0.3:
        every = CLASS["a bit of all"].solos
        solos += every[int(rng.integers(len(every)))]
    return replace(base, solos=solos, **changed)


class Hand:
    """Where the left hand is, and what it has played."""

    def __init__(self, rng: np.random.Generator, of: Student, key: int, low: int, high: int) -> None:  # fmt: skip
        self.rng, self.of, self.key, self.low, self.high = rng, of, key, low, high
        self.last = low + int((0.25 + 0.4 * rng.random()) * (high - low))
        self.way = 1 if rng.random() < 0.5 else -1
        self.line: list[LineNote] = []
        self.taste = np.random.default_rng(of.tune).random(8).tolist()

    def chance(self, share: float) -> bool:
        return bool(self.rng.random() < share)

    def pick(self, of: Sequence[Any]) -> Any:
        return of[int(self.rng.random() * len(of))]

    def near(self, pc: int, around: float | None = None) -> int:
        """The pitch of a pitch class nearest to where the hand is, within its range."""
        at = round(self.last if around is None else around)
        pitch = at + (pc - at + 6) % 12 - 6
        while pitch < self.low:
            pitch += 12
        while pitch > self.high:
            pitch -= 12
        return pitch if pitch >= LOWEST else pitch + 12

    def nearest(self, pcs: Iterable[int], around: float, *, but: int = -1) -> int:
        found = [p for p in (self.near(pc, around) for pc in pcs) if p != but]
        return min(found, key=lambda p: (abs(p - around), p)) if found else self.near(self.key)

    def onward(self, pcs: tuple[int, ...], pitch: int) -> int:
        """The next of some pitch classes in the direction of the hand; it turns at the edges."""
        if (pitch >= self.high - 1 and self.way > 0) or (pitch <= self.low + 1 and self.way < 0):
            self.way = -self.way
        for _ in range(12):
            pitch += self.way
            if pitch % 12 in pcs:
                break
        return max(LOWEST, min(HIGHEST, pitch))

    def note(self, step: int, steps: float, pitch: int, louder: int = 0) -> None:
        self.last = pitch
        if self.chance(self.of.wrong):
            pitch += self.pick((-1, 1, -1, 1, -2, 2))
        pitch = max(LOWEST, min(HIGHEST, pitch))
        loud = self.of.loud + louder + int(self.rng.random() * 14) - 7
        end = step + max(1, round(steps * self.of.length))
        self.line.append(LineNote(step, end, pitch, max(15, min(120, loud))))

    def pair(self, beat: Beat, first: int, second: int) -> None:
        """Two eighths, or what this hand makes of them."""
        draw = self.rng.random()
        if draw < self.of.turn:
            between = self.nearest(beat.now.scale, (first + second) / 2 + self.way, but=first)
            if between == second:
                between += self.way  # from the fret beside it
            for step, pitch in ((0, first), (4, between), (8, second)):
                self.note(beat.step + step, 4, pitch)
        elif draw < self.of.turn + self.of.thin:
            if self.chance(0.7):
                self.note(beat.step, BEAT, first)
            else:
                self.note(beat.step + 6, 6, second, 5)
            self.last = second
        else:
            self.note(beat.step, 6, first)
            self.note(beat.step + 6, 6, second, 4)

    def sounds(self, beat: Beat, *, off: bool = False) -> Harmony:
        """The chord that this hand has in mind on a beat, or on the off-beat after it."""
        if off and beat.left == 1 and self.chance(self.of.ahead):
            return beat.then
        return beat.before if beat.fresh and self.chance(self.of.late) else beat.now


# ---- walking: pitches for the beats of one chord in one bar -----------------------------------


def _roots(hand: Hand, cell: list[Beat], first: int) -> list[int]:
    fifth = hand.near(cell[0].now.tones[2 if len(cell[0].now.tones) > 2 else -1], first + 4)
    octave = hand.near(first % 12, first + 12)
    shapes = ((0, 0, 1, 1), (0, 1, 0, 1), (0, 0, 0, 0), (0, 1, 2, 1), (0, 0, 1, 0))
    mine = shapes[int(hand.taste[0] * len(shapes))] if hand.chance(0.7) else hand.pick(shapes)
    return [(first, fifth, octave)[mine[i % 4]] for i in range(len(cell))]


def _scale(hand: Hand, cell: list[Beat], first: int) -> list[int]:
    goal = hand.near(cell[-1].then.bass, first + hand.pick((-4, 0, 4)))
    hand.way = 1 if goal > first or (goal == first and hand.chance(0.6)) else -1
    made = [first]
    while len(made) < len(cell):
        made.append(hand.onward(cell[0].now.scale, made[-1]))
    return made


def _arpeggio(hand: Hand, cell: list[Beat], first: int) -> list[int]:
    hand.way = 1 if first < (hand.low + hand.high) / 2 + hand.pick((-4, 4)) else -1
    made = [first]
    turning = int(2 + 3 * hand.rng.random())
    while len(made) < len(cell):
        if len(made) == turning:
            hand.way = -hand.way
        made.append(hand.onward(cell[0].now.tones, made[-1]))
    return made


def _by_ear(hand: Hand, cell: list[Beat], first: int) -> list[int]:
    made = [first]
    for beat in cell[1:]:
        around = made[-1] + hand.pick((-5, -3, -2, 2, 3, 5))
        known = beat.now.tones if hand.chance(0.6) else beat.now.scale
        made.append(hand.nearest(known, around, but=made[-1]))
    if len(cell) > 1 and hand.chance(0.5):
        made[-1] = hand.near(cell[-1].then.bass, made[-1]) + hand.pick((-1, -2, 1, 2))
    return made


def _approached(hand: Hand, cell: list[Beat], first: int) -> list[int]:
    goal = hand.near(cell[-1].then.bass, first + hand.pick((-5, 0, 5)))
    count = len(cell)
    made = [first]
    for i in range(1, count - 1):
        around = first + (goal - first) * i / count + hand.pick((-4, -2, 0, 2, 4))
        known = cell[0].now.tones if hand.chance(0.65) else cell[0].now.scale
        made.append(hand.nearest(known, around, but=made[-1]))
    if count > 1:
        ways = (-1, 1, -1, 1, -2, 2, 7, -5) if goal != made[-1] else (-1, 1)
        made.append(goal + hand.pick(ways))
    return made


def _guided(hand: Hand, cell: list[Beat], first: int) -> list[int]:
    tones = cell[0].now.tones
    guides = (*tones[1:2], *tones[3:], tones[-1])
    made = [first]
    for i in range(1, len(cell)):
        known = guides if i == len(cell) // 2 else tones
        made.append(hand.nearest(known, made[-1] + hand.pick((-4, 4, 3, -3)), but=made[-1]))
    return made


def _cells(hand: Hand, cell: list[Beat], first: int) -> list[int]:
    """Degrees learnt by heart: of the chord's own scale, from the root."""
    run = cell[0].now.scale
    if len(run) != 7 or first % 12 != run[0]:
        return _arpeggio(hand, cell, first)
    shapes = ((0, 1, 2, 4), (0, 2, 4, 5), (7, 6, 5, 4), (0, 4, 5, 4), (0, -1, -2, -3), (0, 1, 2, 1), (0, -3, -2, -1), (4, 2, 1, 0))  # fmt: skip
    start = int(hand.taste[1] * 5)
    mine = hand.pick(shapes[start : start + 3] if hand.chance(0.6) else shapes)
    made = [first + (run[d % 7] - run[0]) % 12 + 12 * (d // 7) for d in mine]
    if max(made) > hand.high:
        made = [p - 12 for p in made]
    return [p + 12 if p < LOWEST else p for p in (made * 2)[: len(cell)]]


def _chromatic(hand: Hand, cell: list[Beat], first: int) -> list[int]:
    goal = hand.near(cell[-1].then.bass, first + hand.pick((-4, 4)))
    way = 1 if goal > first else -1
    start = max(1, len(cell) - abs(goal - first) + 1)
    made = [first]
    for i in range(1, len(cell)):
        tone = hand.nearest(cell[0].now.tones, first - way * 3, but=made[-1])
        made.append(goal - way * (len(cell) - i) if i >= start or i > len(cell) - 3 else tone)
    return made


def _inverted(hand: Hand, cell: list[Beat], first: int) -> list[int]:
    now = cell[0].now
    if hand.chance(0.35):
        first = hand.nearest(now.tones[1:], hand.last)
    made = _approached(hand, cell, first)
    if len(cell) > 2 and now.colours and hand.chance(0.3):
        made[2] = hand.near(hand.pick(now.colours), made[1])
    return made


def _pedal(hand: Hand, cell: list[Beat], first: int) -> list[int]:
    tones = [hand.near(t, first + 3) for t in cell[0].now.tones]
    mine = [int(hand.taste[2 + i % 4] * 2.2 * len(tones)) for i in range(len(cell))]
    return [first, *(tones[m] if m < len(tones) else first for m in mine[1:])]


WALKS: dict[str, Callable[[Hand, list[Beat], int], list[int]]] = {
    "r": _roots, "s": _scale, "a": _arpeggio, "e": _by_ear, "p": _approached, "g": _guided,
    "c": _cells, "k": _chromatic, "i": _inverted, "o": _pedal,
}  # fmt: skip


def _ornamented(hand: Hand, beat: Beat, pitch: int, following: int, start: int) -> None:
    """One beat of walking as it is really played."""
    of, step = hand.of, beat.step
    if hand.chance(of.rest):
        return
    if beat.fresh and hand.chance(of.push):
        step = max(start, step - hand.pick((6, 4)))
    draw = hand.rng.random()
    other = hand.pick((pitch, pitch, following, hand.near(beat.now.root, pitch + 7)))
    if draw < of.skip:
        at = hand.pick((8, 8, 8, 6))
        hand.note(step, beat.step + at - step, pitch)
        hand.note(beat.step + at, BEAT - at, other, -12)
    elif draw < of.skip + of.ghost:
        hand.note(step, 6, pitch)
        hand.note(beat.step + 8, 2, other, -45)
    elif draw < of.skip + of.ghost + of.run:
        hand.note(step, beat.step + 6 - step, pitch)
        middle = hand.nearest(beat.now.scale, (pitch + following) / 2, but=pitch)
        hand.note(beat.step + 6, 6, middle)
    elif draw < of.skip * 1.15 + of.ghost + of.run:
        for at, each in ((0, pitch), (4, other), (8, pitch if other != pitch else following)):
            hand.note(beat.step + at, 4, each, -at)
    else:
        hand.note(step, beat.step + BEAT - step, pitch)
    hand.last = pitch


def _walked(hand: Hand, road: list[Beat], manners: str, *, in_two: bool = True) -> None:
    manner, two, todo = hand.pick(manners), in_two and hand.chance(hand.of.two), 8
    i = 0
    pitches: list[tuple[Beat, int, bool]] = []
    while i < len(road):
        stop = i + 1
        while stop < len(road) and road[stop].place and not road[stop].fresh:
            stop += 1
        cell, i, todo = road[i:stop], stop, todo - 1
        if todo <= 0:
            todo = int(4 + 12 * hand.rng.random())
            manner = manner if hand.chance(hand.of.loyal) else hand.pick(manners)
            two = in_two and hand.chance(hand.of.two)
        now, drift = cell[0].now, hand.pick((-3, 0, 0, 3)) + (hand.low + hand.high) / 12
        around = hand.last + drift - hand.last / 6
        if cell[0].fresh or hand.chance(hand.of.home):
            first = hand.near(cell[0].before.bass if hand.chance(hand.of.late / 3) else now.bass, around)  # fmt: skip
        else:
            first = hand.nearest(now.tones, hand.last + hand.pick((-4, 4)), but=hand.last)
        made = WALKS[manner](hand, cell, first)
        pitches += [(b, max(LOWEST, min(p, HIGHEST)), two) for b, p in zip(cell, made, strict=True)]
        hand.last = made[-1]
    for at, (beat, pitch, halves) in enumerate(pitches):
        following = pitches[min(at + 1, len(pitches) - 1)][1]
        if not halves:
            _ornamented(hand, beat, pitch, following, road[0].step)
        elif beat.place in (0, (beat.bar + 1) // 2) or beat.fresh:
            hand.note(beat.step, BEAT * min(2, max(1, beat.left)), pitch)
            if hand.chance(hand.of.skip):
                hand.note(beat.step + BEAT + 8, 4, hand.pick((pitch, following)), -10)


# ---- solos: a phrase over some beats ----------------------------------------------------------


def _solo_roots(hand: Hand, road: list[Beat]) -> None:
    i = 0
    while i < len(road):
        beat = road[i]
        now = hand.sounds(beat)
        pcs = (now.root, now.tones[-1 if len(now.tones) < 3 else 2], now.tones[min(1, len(now.tones) - 1)])  # fmt: skip
        pitch = hand.near(now.root if beat.fresh else hand.pick((pcs[0], pcs[0], pcs[1], pcs[1], pcs[2])))  # fmt: skip
        draw = hand.rng.random()
        long = draw < 0.3 and beat.left > 1
        if draw > 0.75:
            hand.pair(beat, pitch, hand.near(hand.pick(pcs), pitch + 3))
        else:
            hand.note(beat.step, BEAT * (2 if long else 1), pitch)
        i += 2 if long else 1


def _running(hand: Hand, road: list[Beat], of_scale: float) -> None:
    """Eighths up and down the scale or the chord, set anew with the chords."""
    pitch = hand.last
    for i, beat in enumerate(road):
        now = hand.sounds(beat)
        if beat.fresh or not i or (not beat.place and hand.chance(0.3)):
            starts = (now.root, now.root, now.tones[min(1, len(now.tones) - 1)])
            tight = hand.taste[3] < 0.6
            pitch = hand.near(hand.pick(starts)) if tight else hand.nearest(now.tones, pitch + hand.way)  # fmt: skip
            pcs = now.scale if hand.chance(of_scale) else now.tones
        else:
            pitch = hand.onward(pcs, pitch)
        if hand.chance(0.12):
            hand.way = -hand.way
        if hand.chance(0.12):
            hand.note(beat.step, BEAT, pitch)
            continue
        second = hand.onward(pcs, pitch)
        hand.pair(beat, pitch, second)
        pitch = second


def _solo_scales(hand: Hand, road: list[Beat]) -> None:
    _running(hand, road, 0.85)


def _solo_arpeggios(hand: Hand, road: list[Beat]) -> None:
    _running(hand, road, 0.12)


def _by_motif(hand: Hand, road: list[Beat], known: tuple[int, ...] | None, heard: float) -> None:
    """A rhythm and a contour, said again and moved; long notes lean on the chord."""
    rhythms = ((0, 12), (0, 6, 12), (6, 12, 18), (0, 12, 18), (0, 4, 8, 12), (0, 18), (6, 18), (0, 6, 12, 18), (0,))  # fmt: skip
    rhythm, moves = hand.pick(rhythms), [hand.pick((-3, -2, -1, 1, 2, 2, 4)) for _ in range(4)]
    for i in range(0, len(road), 2):
        if hand.chance(0.35):
            rhythm = hand.pick(rhythms)
        if hand.chance(0.3):
            moves = [hand.pick((-4, -2, -1, 1, 2, 3)) for _ in range(4)]
        for at, step in enumerate(rhythm):
            if i + step // BEAT >= len(road):
                break
            beat = road[i + step // BEAT]
            end = rhythm[at + 1] if at + 1 < len(rhythm) else 2 * BEAT
            now = hand.sounds(beat, off=step % BEAT > 0)
            strong = end - step >= 9 or not step % BEAT or beat.fresh
            pcs = now.tones if strong and hand.chance(heard) else known or now.scale
            middle = (hand.low + hand.high) / 2
            around = hand.last + moves[at] + (middle - hand.last) / 9
            hand.note(beat.step + step % BEAT, end - step, hand.nearest(pcs, around, but=hand.last))


def _solo_ear(hand: Hand, road: list[Beat]) -> None:
    _by_motif(hand, road, None, hand.of.heard)


def _solo_in_key(hand: Hand, road: list[Beat]) -> None:
    shape = (0, 3, 5, 6, 7, 10) if hand.taste[4] < 0.5 else (0, 2, 4, 7, 9) if hand.taste[4] < 0.8 else (0, 2, 4, 5, 7, 9, 11)  # fmt: skip
    _by_motif(hand, road, tuple((hand.key + s) % 12 for s in shape), hand.of.heard * 0.6)


def _solo_horn(hand: Hand, road: list[Beat]) -> None:
    """Eighths from chord tone to chord tone, by step, by arpeggio, by enclosure."""
    i = 0
    at = hand.nearest(hand.sounds(road[0]).tones, hand.last + hand.pick((-5, 5)))
    while i < len(road):
        count = min(2 if hand.chance(0.8) else 1, road[i].left, len(road) - i)
        beats, ahead = road[i : i + count], road[min(i + count, len(road) - 1)]
        i += count
        middle = (hand.low + hand.high) / 2
        goal = hand.nearest(hand.sounds(ahead).tones, at + hand.pick((-5, -3, 2, 4)) + (middle - at) / 6, but=at)  # fmt: skip
        hand.way = 1 if goal > at else -1
        made = [at]
        pcs = beats[0].now.tones if hand.chance(0.4) else beats[0].now.scale
        while len(made) < 2 * count:
            made.append(hand.onward(pcs, made[-1]))
        draw = hand.rng.random()
        if draw < 0.45:
            made[-1] = goal - (1 if draw < 0.3 else -1)
        elif draw < 0.65 and count > 1:
            made[-2:] = [hand.nearest(ahead.now.scale, goal + 2, but=goal), goal - 1]
        for at_beat, beat in enumerate(beats):
            hand.pair(beat, made[2 * at_beat], made[2 * at_beat + 1])
        at = goal


def _solo_guides(hand: Hand, road: list[Beat]) -> None:
    i = 0
    while i < len(road):
        beat = road[i]
        tones = hand.sounds(beat).tones
        guides = (*tones[1:2], *tones[3:]) if hand.chance(0.85) else tones
        count = min(hand.pick((1, 2, 2, 2, 3, 4, 4)), max(1, beat.left), len(road) - i)
        early = 6 if hand.chance(hand.of.ahead / 3) and i else -6 if hand.chance(0.05) else 0
        pitch = hand.nearest(guides or tones, hand.last + hand.pick((-2, -1, 0, 1, 4)))
        hand.note(beat.step - early, count * BEAT + early, pitch)
        if count > 1 and hand.chance(0.2):
            neighbour = hand.nearest(beat.now.scale, hand.last + hand.pick((-2, 2)), but=hand.last)
            hand.note(beat.step + count * BEAT - hand.pick((6, 12)), 8, neighbour, -4)
        i += count


def _solo_tune(hand: Hand, road: list[Beat]) -> None:
    """The melody it made up over these changes, bar for bar, and what becomes of it."""
    rhythms = ((0, 12, 24), (0, 18, 30), (0, 36), (6, 18, 24, 36), (0, 24, 30, 36), (0, 6, 12, 24), (12, 24, 36), (0, 16, 32))  # fmt: skip
    i = 0
    while i < len(road):
        beat = road[i]
        made_up = np.random.default_rng((hand.of.tune, beat.number)).random(8).tolist()
        kept = np.random.default_rng((hand.of.tune, beat.number % 2)).random(1)[0]
        rhythm = rhythms[int(kept * len(rhythms))] if hand.chance(0.75) else hand.pick(rhythms)
        bar = beat.bar * BEAT
        rhythm = tuple(s for s in rhythm if beat.place * BEAT <= s < bar)
        for at, step in enumerate(rhythm):
            where = i + step // BEAT - beat.place
            if where >= len(road):
                break
            now = hand.sounds(road[where], off=step % BEAT > 0)
            place = hand.low + (0.3 + 0.5 * made_up[at]) * (hand.high - hand.low)
            end = rhythm[at + 1] if at + 1 < len(rhythm) else bar
            pcs = now.tones if made_up[4 + at % 4] < hand.of.heard or end - step > 12 else now.scale
            pitch = hand.nearest(pcs, (place + hand.last) / 2)
            if hand.chance(0.15):
                pitch = hand.nearest(now.tones, pitch + hand.pick((-4, 4)), but=pitch)
            hand.note(road[where].step + step % BEAT, end - step, pitch)
            if end - step >= 12 and hand.chance(0.15):
                hand.note(road[where].step + step % BEAT + 6, 6, hand.onward(now.scale, pitch))
        i += beat.bar - beat.place


def _solo_walk(hand: Hand, road: list[Beat]) -> None:
    _walked(hand, road, hand.of.walks, in_two=False)


def _solo_riff(hand: Hand, road: list[Beat]) -> None:
    """A rhythm of a bar, the same degrees of every chord."""
    bar = road[0].bar
    slots = [s for s in range(0, bar * BEAT, 6) if hand.chance(0.6 if not s % BEAT else 0.35)] or [0]  # fmt: skip
    degrees = [hand.pick((0, 0, 1, 2, 2, 3)) for _ in slots]
    by_place: dict[int, list[tuple[int, int, int]]] = {}
    for at, (slot, degree) in enumerate(zip(slots, degrees, strict=True)):
        end = slots[at + 1] if at + 1 < len(slots) else bar * BEAT
        by_place.setdefault(slot // BEAT, []).append((slot % BEAT, min(end - slot, 18), degree))
    centre = hand.last
    for beat in road:
        for step, steps, degree in by_place.get(beat.place, ()):
            now = hand.sounds(beat, off=step > 0)
            if hand.chance(0.9):
                tone = now.tones[degree % len(now.tones)] if hand.chance(0.88) else hand.pick(now.tones)  # fmt: skip
                hand.note(beat.step + step, steps, hand.near(tone, centre + 2))


def _solo_double(hand: Hand, road: list[Beat]) -> None:
    burst = 0
    for beat in road:
        now = hand.sounds(beat)
        pitch = hand.nearest(now.tones, hand.last + 2 * hand.way, but=hand.last)
        if not burst and hand.chance(0.12):
            burst = hand.pick((1, 1, 2))
        if burst:
            burst -= 1
            pcs = now.scale if hand.chance(0.6) else now.tones
            for step in (0, 3, 6, 9):
                hand.note(beat.step + step, 3, pitch)
                pitch = hand.onward(pcs, pitch)
        elif hand.chance(0.45):
            hand.pair(beat, pitch, hand.onward(hand.sounds(beat, off=True).scale, pitch))
        elif hand.chance(0.75):
            hand.note(beat.step, BEAT, pitch)
        if hand.chance(0.2):
            hand.way = -hand.way


def _solo_colours(hand: Hand, road: list[Beat]) -> None:
    """From the third up past the seventh, or a tension that falls into a chord tone."""
    for beat in road:
        now = hand.sounds(beat)
        draw = hand.rng.random()
        upper = (*now.tones[1:], *now.colours[:3])
        if draw < 0.3 and now.colours:
            tension = hand.near(hand.pick(now.colours))
            hand.pair(beat, tension, hand.nearest(now.tones, tension - 1, but=tension))
        elif draw < 0.6:
            first = hand.nearest(now.tones[1:] or now.tones, hand.last + 2 * hand.way)
            hand.pair(beat, first, hand.onward(upper, first))
        elif draw < 0.85 or beat.fresh:
            hand.note(beat.step, BEAT, hand.nearest(now.tones, hand.last + hand.pick((-4, 3))))


SOLOS: dict[str, Callable[[Hand, list[Beat]], None]] = {
    "r": _solo_roots, "s": _solo_scales, "a": _solo_arpeggios, "e": _solo_ear, "h": _solo_horn,
    "g": _solo_guides, "m": _solo_tune, "w": _solo_walk, "q": _solo_riff, "d": _solo_double,
    "t": _solo_colours, "b": _solo_in_key,
}  # fmt: skip


def _soloed(hand: Hand, road: list[Beat]) -> None:
    of, i = hand.of, int(3 * hand.rng.random())
    manner = hand.pick(of.solos)
    while i < len(road):
        count = int(max(2, min(28, of.phrase * np.exp(hand.rng.normal(0, 0.4)))))
        before = len(hand.line)
        SOLOS[manner](hand, road[i : i + count])
        phrase = hand.line[before:]
        if len(phrase) > 3 and hand.chance(0.25):
            del hand.line[before]  # comes in after the beat
        elif phrase and phrase[0].step > road[0].step + 6 and hand.chance(0.2):
            first = phrase[0]
            hand.line.append(LineNote(first.step - 6, first.step, max(LOWEST, first.pitch - hand.pick((1, 2))), first.velocity - 6))  # fmt: skip
        i += count + round(of.breath * hand.rng.gamma(2.0, 0.5))
        while i < len(road) and road[i].place and hand.chance(of.square):
            i += 1
        if not hand.chance(of.loyal):
            manner = hand.pick(of.solos)


def walk(form: Form, start: int, stop: int, rng: np.random.Generator, player: Student) -> list[LineNote]:  # fmt: skip
    return _played(form, _road(form, start, stop), rng, player, solo_too=False)


def solo(form: Form, start: int, stop: int, rng: np.random.Generator, player: Student) -> list[LineNote]:  # fmt: skip
    return _played(form, _road(form, start, stop), rng, player, solo_too=True)


def _hand(form: Form, rng: np.random.Generator, of: Student, *, solo_too: bool) -> Hand:
    low, high = (of.solo_low, of.solo_high) if solo_too else (of.low, of.high)
    return Hand(rng, of, _key(form), low, high)


def _played(form: Form, road: list[Beat], rng: np.random.Generator, of: Student, *, solo_too: bool) -> list[LineNote]:  # fmt: skip
    hand = _hand(form, rng, of, solo_too=solo_too)
    if road and solo_too:
        _soloed(hand, road)
    elif road:
        _walked(hand, road, of.walks)
    stop = road[-1].step + BEAT if road else 0
    return [n for n in hand.line if n.step < stop]


# ---- adrift -----------------------------------------------------------------------------------


@lru_cache(maxsize=1)
def _tunes() -> tuple[Form, ...]:
    return tuple(Form(c) for c in charts())


def _runs(chords: list[Harmony]) -> list[tuple[Harmony, int]]:
    """Chords and how many beats each is held."""
    made: list[tuple[Harmony, int]] = []
    for of in chords:
        if made and made[-1][0] == of:
            made[-1] = (of, made[-1][1] + 1)
        else:
            made.append((of, 1))
    return made


def _hunting(form: Form, count: int, rng: np.random.Generator) -> list[Harmony]:
    """A bar or so from here, then from there."""
    made: list[Harmony] = []
    while len(made) < count:
        place = int(rng.integers(form.beats))
        made += _chords(form, place, place + int(rng.integers(3, 9)))
    return made


def _looping(form: Form, count: int, rng: np.random.Generator) -> list[Harmony]:
    """Two to five chords of the bridge, or of wherever it remembers, round and round."""
    bars = [m for m in form.chart.sections if m.name != "A"] or list(form.chart.sections)
    first = bars[int(rng.integers(len(bars)))].bar - 1 + int(rng.integers(4))
    place = sum(b.meter.beats for b in form.chart.bars[:first])
    held = [int(rng.choice([2, 3, 3, 4, 5, 6])) for _ in range(int(rng.integers(2, 6)))]
    runs = _runs(_chords(form, place, place + 16 * len(held)))
    loop = [of for (of, _), beats in zip(runs, held, strict=False) for _ in range(beats)]
    return loop * (count // len(loop) + 1)


def _searching(form: Form, count: int, rng: np.random.Generator) -> list[Harmony]:
    """The chords of the form, each too long or too short, some left out or said twice."""
    place, made = int(rng.integers(form.beats)), list[Harmony]()
    runs = _runs(_chords(form, place, place + form.beats + count))
    i = 0
    while len(made) < count:
        of, beats = runs[i % len(runs)]
        made += [of] * max(1, min(beats, 8) + int(rng.choice([-3, -2, -1, -1, 0, 1, 1, 2, 3])))
        i += int(rng.choice([0, 1, 1, 1, 1, 2, 3]))
    return made


def _shuffled(form: Form, count: int, rng: np.random.Generator) -> list[Harmony]:
    known = list(dict.fromkeys(_chords(form, 0, form.beats)))
    made: list[Harmony] = []
    while len(made) < count:
        beats = int(rng.choice([1, 2, 2, 3, 3, 4, 4, 5, 6]))
        made += [known[int(rng.integers(len(known)))]] * beats
    return made


def _another_tune(form: Form, count: int, rng: np.random.Generator) -> list[Harmony]:
    others = [t for t in _tunes() if t.chart.title != form.chart.title]
    other = others[int(rng.integers(len(others)))]
    place, by = int(rng.integers(other.beats)), int(rng.integers(12))
    return [h.moved(by) for h in _chords(other, place, place + count)]


def _half_step_off(form: Form, start: int, count: int, rng: np.random.Generator) -> list[Harmony]:
    """The chords that are due, or nearly, from the wrong fret; now and then from another."""
    made: list[Harmony] = []
    while len(made) < count:
        by, late = int(rng.choice([-1, 1, 1, -1, 6])), int(rng.choice([0, 0, 1, -1, 2]))
        place = start + len(made) + late
        made += [h.moved(by) for h in _chords(form, max(0, place), max(0, place) + int(rng.integers(4, 17)))]  # fmt: skip
    return made


def _aimless(hand: Hand, road: list[Beat], choose: Callable[[], int], *, solo_too: bool) -> None:
    """Notes that come from the hand alone, in the rhythms of walking or of a solo."""
    sounding, dense = 0, 0.25 + 0.45 * hand.rng.random()
    for beat in road:
        if not solo_too:
            pitch = choose()
            _ornamented(hand, beat, pitch, pitch + hand.pick((-2, -1, 1, 2)), road[0].step)
            continue
        if not sounding:
            sounding = int(hand.of.phrase * (0.5 + hand.rng.random())) + 1
            if hand.chance(0.6):
                continue
        sounding -= 1
        if hand.chance(dense):
            hand.pair(beat, choose(), choose())
        elif hand.chance(0.7):
            hand.note(beat.step, BEAT, choose())


def _chooser(hand: Hand, way: str) -> Callable[[], int]:
    """The next pitch of a hand that has lost the chords."""
    key, state = hand.key, {"at": 99, "base": hand.last}
    patterns = ((0, 2, 3, 5), (0, 1, 3, 4), (0, 4, 7, 4), (0, 5, 2, 7), (0, 3, 5, 6), (5, 3, 2, 0))
    few = [hand.last + d for d in ((0, 1, 5), (0, 2, 3), (0, 6), (0, -1, 4, 3))[int(4 * hand.taste[5])]]  # fmt: skip
    shapes = ((0, 2, 4, 5, 7, 9, 11), (0, 2, 3, 5, 7, 8, 10), (0, 2, 4, 7, 9))
    known = tuple((key + s) % 12 for s in shapes[int(3 * hand.taste[6])])

    def inside(pitch: int) -> int:
        return pitch + 12 if pitch < hand.low else pitch - 12 if pitch > hand.high else pitch

    def patterned() -> int:
        if state["at"] >= 4:
            state["at"], state["base"] = 0, inside(state["base"] + hand.pick((-5, -2, -1, 1, 2, 5, 6)))  # fmt: skip
            state["which"] = hand.pick(range(2)) + int(4 * hand.taste[7])
        state["at"] += 1
        return inside(state["base"] + patterns[state["which"]][state["at"] - 1])

    def creeping() -> int:
        if hand.chance(0.2):
            hand.way = -hand.way
        return inside(hand.last + (hand.way if hand.chance(0.85) else hand.pick((-6, -4, 4, 6))))

    def in_key() -> int:
        return hand.nearest(known, inside(hand.last + hand.pick((-5, -2, -2, 2, 2, 4))))

    return {"finger patterns": patterned, "chromatic": creeping, "in the tonic key": in_key}.get(way, lambda: hand.pick(few))  # fmt: skip


BY_CHORDS: dict[str, Callable[[Form, int, np.random.Generator], list[Harmony]]] = {
    "hunting": _hunting, "a loop": _looping, "searching": _searching,
    "chords in disorder": _shuffled, "another tune": _another_tune,
}  # fmt: skip
ADRIFT_WAYS: tuple[str, ...] = (*BY_CHORDS, "half a step off", "in the tonic key", "finger patterns", "chromatic", "a few notes")  # fmt: skip


def _fit(form: Form, line: list[LineNote]) -> float:
    """How well a line agrees with the best place of the form: 1 is chord tones alone."""
    table = np.zeros((form.beats, 12))
    for at, of in enumerate(_chords(form, 0, form.beats)):
        table[at, list(of.scale)] = 0.45
        table[at, list(of.tones)] = 1.0
    beats, pitches = np.array([(n.step // BEAT, n.pitch % 12) for n in line]).T
    places = (np.arange(form.beats)[:, None] + beats) % form.beats
    return float(table[places, pitches].mean(axis=1).max())


def _strayed(form: Form, start: int, stop: int, rng: np.random.Generator, of: Student, way: str, *, solo_too: bool) -> list[LineNote]:  # fmt: skip
    count = stop - start
    if way in BY_CHORDS or way == "half a step off":
        own = BY_CHORDS[way](form, count + 1, rng) if way in BY_CHORDS else _half_step_off(form, start, count + 1, rng)  # fmt: skip
        line = _played(form, _road(form, start, stop, own), rng, of, solo_too=solo_too)
    else:
        hand = _hand(form, rng, of, solo_too=solo_too)
        _aimless(hand, _road(form, start, stop), _chooser(hand, way), solo_too=solo_too)
        line = hand.line
    if way == "hunting":
        # Out after the break, and it stops to listen between the tries.
        quiet = (np.sin(np.arange(count) * rng.uniform(0.5, 1.1) - 1) > 0.55) | (np.arange(count) < rng.integers(2, 10))  # fmt: skip
        line = [n for n in line if not quiet[max(0, n.step // BEAT - start)]]
    return line


def adrift(
    form: Form, start: int, stop: int, rng: np.random.Generator, player: Student, way: str, play: Any
) -> list[LineNote]:  # fmt: skip
    """The way drawn again while it happens to agree with some place of the form."""
    best: tuple[float, list[LineNote]] = (2.0, [])
    for _ in range(TRIES):
        line = _strayed(form, start, stop, rng, player, way, solo_too=play is solo)
        if line and (fit := _fit(form, line)) < best[0]:
            best = (fit, line)
        if best[0] < FITS:
            break
    return best[1]
