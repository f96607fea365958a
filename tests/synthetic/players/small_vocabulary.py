"""A student with a small vocabulary: a few figures for each family of chords, said again and again.

Walking bars are figures of degrees with an approach at their end, now and then a passage of the key
around; solos mix shapes of the chord, scales of the key and blues licks, in other shares each
chorus. Some roots lie well in the hand, others bring more wrong notes. Lost, the student guesses
chords, jumps about the form, or wanders. Pitches: E1 = 28 to 55 walking, to 67 in a solo.
"""

# ruff: noqa: PLR0917 -- a player is asked for a line by place, chance, habits and way

from __future__ import annotations

from functools import lru_cache
from itertools import count, cycle, islice, pairwise
from types import SimpleNamespace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from linecheck.terms import STEPS_PER_BEAT as BEAT
from tests.synthetic.charts import MAJOR, NAMES, chart, chord, pitch_class
from tests.synthetic.lines import LineNote

if TYPE_CHECKING:
    from linecheck.music.form import Form
    from linecheck.terms import Chart, Chord

Generator = np.random.Generator
ADRIFT_WAYS = ("guessed chords", "jumping", "key scale", "half steps", "one position")
AIMLESS = ADRIFT_WAYS[2:]  # these know no chord
MOVES, GUESSES = (-1, 1, -1, 1, -2, 0), ("m7", "7", "maj7", "m7", "7", "m7b5")
PHRASES, GAPS = (0.5, 1, 1.5, 2, 2, 3, 4), (0.5, 1, 1.5, 2, 3, 4)  # bars, and beats between them
LOWEST, WALKING_TOP, SOLO_TOP = 28, 55, 67


class Place(NamedTuple):
    """What the player thinks stands at a beat."""

    chord: Chord
    beat: int  # in the bar, from 0
    key: set[int]  # the major scale that fits best around
    aimless: str = ""  # one of AIMLESS
    doubt: float = 0.0


# fmt: off
# Quality: family, and seven degrees, of which 1, 3, 5 and 7 are the tones that a student thinks of.
SCALES = {
    "": ("major", MAJOR), "6": ("major", MAJOR), "maj7": ("major", MAJOR),
    "maj7#11": ("major", (0, 2, 4, 6, 7, 9, 11)), "aug": ("major", (0, 2, 4, 6, 8, 9, 11)),
    "m": ("minor", (0, 2, 3, 5, 7, 8, 10)), "m7": ("minor", (0, 2, 3, 5, 7, 9, 10)),
    "m6": ("minor", (0, 2, 3, 5, 7, 9, 11)), "mmaj7": ("minor", (0, 2, 3, 5, 7, 9, 11)),
    "7b9": ("dominant", (0, 1, 4, 5, 7, 8, 10)), "7#5": ("dominant", (0, 2, 4, 6, 8, 8, 10)),
    "7alt": ("dominant", (0, 1, 4, 6, 6, 8, 10)), "7sus": ("dominant", (0, 2, 5, 5, 7, 9, 10)),
    "m7b5": ("half dim", (0, 1, 3, 5, 6, 8, 10)), "dim7": ("dim", (0, 2, 3, 5, 6, 8, 9))}
DOMINANT = ("dominant", (0, 2, 4, 5, 7, 9, 10))
# Figures by degrees: 8 is the octave, 0 the seventh below, a to d the four degrees below that.
WALKING = {
    "major": "1235 1356 1565 8765 10ab 1353 1231 1155 1321 1ba0",
    "minor": "1235 1357 1234 8753 10ab 1353 1585 1135 1345 1b01",
    "dominant": "1356 1235 1357 8753 10ab 1531 1585 1133 1353 10bd",
    "half dim": "1357 1353 10bd 1155 1345 8753", "dim": "1357 1353 10bd 1133 1531"}
SHAPES = {
    "major": "1235 3579 5321 1357 7531 5653 321a 135653 9753 53135",
    "minor": "1235 1357 5431 7531 3579 1345 3210 875431 531 98753",
    "dominant": "1357 7531 3579 1235 876543 5653 3457 5310 9753 10b1",
    "half dim": "1357 7531 3578 5431 8753", "dim": "1357 7531 8753 3578 1315"}


TUNES = (  # title, key, form, and the sections A, B, C, D
    ("Corner Laundry", "G", "A", "G7|C7|G7|Dm7 G7|C7|C#dim7|G7|Bm7b5 E7b9|Am7|D7|G7 E7|Am7 D7"),
    ("Slow Tram", "Cm", "A", "Cm7|%|%|C7alt|Fm7|%|Cm7|%|Ab7|G7b9|Cm6|Dm7b5 G7"),
    ("Plain Tile", "Bb", "A", "Bb7|%|%|%|Eb7|%|Bb7|%|F7|Eb7|Bb7|F7"),
    ("Two Left Gloves", "Bb", "AABC", "Bb6 G7|Cm7 F7|Dm7 G7|Cm7 F7|Fm7 Bb7|Eb7 Edim7|Bb6 G7|Cm7 F7",
     "D7|%|G7|%|C7|%|F7|%", "Bb6 G7|Cm7 F7|Dm7 G7|Cm7 F7|Fm7 Bb7|Eb7 Ab9|Cm7 F7|Bb6"),
    ("Umbrella Season", "Eb", "AABA", "Ebmaj7|Cm7|Fm7|Bb7|Gm7|C7b9|Fm7 Bb7|Eb6",
     "Abmaj7|%|Am7|D7|Gmaj7|Gm7 C7|Fm7|Bb7"),
    ("What the Baker Said", "G", "ABAC", "Gmaj7|%|Bm7|E7|Am7|E7b9|Am7|D7",
     "Bm7|Bbdim7|Am7|D7|Em7|A7|Am7|D7", "Cmaj7|Cm6|Bm7|E7|Am7|D7|G6|Am7 D7"),
    ("Low Shelf", "Dm", "AABA", "Dm7|%|%|%|%|%|%|%", "Fm7|%|%|%|Ebmaj7|%|%|%"),
    ("Four Lamps", "Am", "ABCD", "Am7|D7|Gmaj7|Cmaj7|F#m7b5|B7b9|Em7|%",
     "Am7|D7|Gmaj7|Cmaj7|F#m7b5|B7b9|Em7|Em7 A7", "F#m7b5|B7b9|Em7|%|Am7|D7|Gmaj7|%",
     "F#m7b5|B7b9|Em7 Eb7|Dm7 Db7|Cmaj7|B7b9|Em6|Bm7b5 E7"),
    ("Paper Kite", "F", "AB", "Fmaj7|%|Gm7|C7|Am7|D7|Gm7|C7|Cm7|F7|Bbmaj7|Bbm6|Am7|D7b9|Gm7|C7",
     "Fmaj7|%|Bm7b5|E7|Am7|%|Dm7|G7|Gm7|%|Bbm7|Eb7|Am7|Dm7|Gm7 C7 /|F6"),
    ("Hall Ladder", "C", "AB", "Cmaj7 Eb7|Abmaj7 B7|Emaj7|Dm7 G7|Cmaj7|Fm7 Bb7|Ebmaj7 Gb7|Bmaj7",
     "Abm7 Db7|Gbmaj7|Am7 D7|Gmaj7|Bbm7 Eb7|Abmaj7|Dm7b5 G7alt|Cmaj7 / Dm7 G7"),
    ("Thirty Steps Home", "Ab", "ABC", "Fm7|Bbm7|Eb7|Abmaj7|Dbmaj7|G7|Cmaj7|%",
     "Cm7|Fm7|Bb7|Ebmaj7|Am7b5|D7b9|Gm7|C7",
     "Fm7|Bbm7|Eb7|Abmaj7|Dbmaj7|Dbm6|Cm7 Bdim7|Bbm7 Eb7|Ab6|Gm7b5 C7"),
    ("Marble Counter", "Gm", "AB", "Gm|Gmmaj7|Gm7|Gm6|Cm7|F7|Bbmaj7|Ebmaj7",
     "Am7b5|D7|Gm7|G7b9/B|Cm7 Eb7|Am7b5 D7alt|Gm6|D7"),
    ("Eighteen Windows", "D", "AB", "Dmaj7|Bm7|Em7|A7|F#m7|B7|Em7 A7|D6",
     "G7sus|G7|F7sus|F7|Bbmaj7|Bb6|Em7b5|A7b9|Dmaj7/F# Fdim7|Em7 A13"),
    ("Harbour Fog", "Em", "ABA", "Em7|%|%|%|Cmaj7|%|Em7|%", "F#7sus|%|Amaj7|%|Gm7|%|B7alt|%"),
    ("Buttons", "C", "AABA", "C6|A7|D7|G7|C6 E7|A7|D7 G7|C6 / G7 /", "Gm7|C7|F6|Bb9|Am7|D7|Dm7|G7"))


def charts() -> list[Chart]:
    """Fifteen charts that stand nowhere else; one of them is a waltz."""
    named = [(t, k, f, dict(zip("ABCD", parts, strict=False))) for t, k, f, *parts in TUNES]
    return [chart(*tune, beats=3 if tune[0] == "Paper Kite" else 4) for tune in named]


def draw_player(rng: Generator) -> SimpleNamespace:
    """A player: few figures, favourite roots and positions, from beginner to nearly good."""
    u, level, favourite = rng.uniform, rng.uniform(0, 1), int(rng.integers(12))
    low, solo_low = int(rng.integers(28, 34)), int(rng.choice([28, 31, 33, 36, 38]))
    return SimpleNamespace(
        walking=_few(WALKING, 5, rng), shapes=_few(SHAPES, 4, rng),
        approach=rng.dirichlet([1.6, 1.2, 1.5, 0.8, 1.8]),  # below, above, scale, fifth, none
        root=u(0.72, 0.97), key_passage=u(0.03, 0.2), skip=u(0, 0.12),
        wrong=u(0.008, 0.06) * (1.4 - level), hesitates=u(0.003, 0.03) * (1.4 - level),
        ghost=rng.choice([0, 0.01, 0.03, 0.05]), position=int(rng.integers(31, 42)),
        choruses_in_two=rng.choice([0.5, 1]) * (rng.random() < 0.15),
        roots_at_home={(favourite + 5 * i) % 12 for i in range(6)},
        walking_range=(low, int(rng.integers(46, 56))),
        solo_range=(solo_low, min(SOLO_TOP, solo_low + int(rng.integers(19, 30)))),
        mix=rng.dirichlet([4.5, 1.8, 1.0]),  # shapes, scale of the key, blues licks
        blues=(0, 2, 3, 4, 7, 9) if rng.random() < 0.25 else (0, 3, 5, 6, 7, 10),
        licks=[(rng.integers(6), rng.choice(MOVES, rng.integers(3, 8))) for _ in range(3)],
        rhythms=rng.dirichlet([4, 1.5, 1.2, 0.7]),  # eighths, quarters, mixed, triplets
        busy=u(0.35, 0.85), enclose=u(0, 0.3), push=u(0.25, 0.4), tempo=u(80, 220),
        over=u(0.05, 0.4),  # plays a figure on over the change
        astray={})  # beats where another place is thought to be
# fmt: on


def _few(stock: dict[str, str], most: int, rng: Generator) -> dict[str, tuple]:
    """Two to ``most`` figures of each family, and their weights."""
    made = {}
    for family, text in stock.items():
        figures = rng.permutation(text.split())[: rng.integers(2, most + 1)]
        own = [[int(d) if d.isdigit() else 96 - ord(d) for d in f] for f in figures]
        made[family] = (own, rng.dirichlet([1.2] * len(own)))
    return made


def _degree(of: Chord, degree: int) -> int:
    return of.root + SCALES.get(of.kind, DOMINANT)[1][(degree - 1) % 7] + (degree - 1) // 7 * 12


def _sounds(form: Form) -> list[set[int]]:
    """The tones of the chord at each beat of a chorus."""
    return [{t.pitch_class for t in form.chord(b * BEAT).tones} for b in range(form.beats)]


@lru_cache(maxsize=4)
def _keys(form: Form) -> list[set[int]]:
    """For each beat of a chorus the major scale that most of the chords around it are made of."""
    bar, key = form.chart.meter.beats, form.chart.key
    scales = [{(tonic + i) % 12 for i in MAJOR} for tonic in range(12)]
    each = np.array([[len(tones & run) for run in scales] for tones in _sounds(form)])
    fits = sum(np.roll(each, -i, axis=0) for i in range(-bar, 2 * bar)) / (3 * bar)
    fits[:, (pitch_class(key.tonic) + 3 * key.minor) % 12] += 0.45
    return [scales[best] for best in fits.argmax(axis=1)]


def _place(form: Form, beat: int, aimless: str = "", doubt: float = 0.0) -> Place:
    step, key = beat * BEAT, _keys(form)[beat % form.beats]
    return Place(form.chord(step), (step - form.bar_begins(step)) // BEAT, key, aimless, doubt)


def _run(first: int, run: set[int], way: int, length: int) -> list[int]:
    """So many pitches along a scale or a chord."""
    return [first, *islice((p for p in count(first + way, way) if p % 12 in run), length - 1)]


def _fold(pitch: int, low: int, high: int) -> int:
    return min(range(low + (pitch - low) % 12, high + 1, 12), key=lambda p: abs(p - pitch))


class _Hand:
    """The player at work over a stretch: places, the pitch of now, the way a wandering goes."""

    def __init__(self, form: Form, start: int, stop: int, rng: Generator, player, span, to) -> None:
        self.form, self.start, self.stop, self.rng, self.player = form, start, stop, rng, player
        beats, self.notes, self.way = range(start, stop + 1), [], int(rng.choice([-1, 1]))
        self.places = {b: player.astray.get(b) or _place(form, b) for b in beats}
        (self.low, self.high), self.middle = span, sum(span) / 2
        self.now = self.near(pitch_class(form.chart.key.tonic), to)

    def near(self, pc: int, to: int) -> int:
        """The octave near a pitch, with a pull to the middle of the range."""
        options = range(self.low + (pc - self.low) % 12, self.high + 1, 12)
        away = {p: abs(p - to) + abs(p - self.middle) / 4 + self.rng.random() for p in options}
        return min(away, key=away.get)

    def figure(self, stock: dict[str, tuple], of: Chord) -> list[int]:
        figures, weights = stock[SCALES.get(of.kind, DOMINANT)[0]]
        return figures[self.rng.choice(len(figures), p=weights)]

    def strike(self, step: int, length: float, pitch: int, loud: float) -> None:
        end = min(step + max(1, round(length)), self.stop * BEAT)
        if self.notes and self.notes[-1].end_step > step:  # rang till now
            self.notes[-1] = self.notes[-1]._replace(end_step=step)
        self.notes.append(LineNote(step, end, pitch, int(loud)))

    def finger(self, pitch: int, of: Chord) -> int:  # now and then a wrong one beside
        wrong = self.player.wrong * (1 if of.root in self.player.roots_at_home else 1.6)
        beside = int(self.rng.choice([-2, -1, 1, 2], p=[0.15, 0.4, 0.3, 0.15]))
        return pitch + beside * (self.rng.random() < wrong)

    def wander(self, many: int, place: Place) -> list[int]:  # knows no chord
        rng, pitch, made = self.rng, self.now, []
        for _ in range(many):
            if not self.low + 1 < pitch < self.high - 1 or rng.random() < 0.18:
                self.way = 1 if pitch < self.middle else -1
            if place.aimless == "one position":
                pitch = self.player.position + int(rng.choice([0, 0, 3, 5, 1, -2, 6]))
            elif rng.random() < 0.93:
                half = place.aimless == "half steps" and rng.random() < 0.8
                pitch = pitch + self.way if half else _run(pitch, place.key, self.way, 2)[1]
            else:
                pitch += int(rng.choice([-5, 5, 4, -3]))
            made.append(pitch := _fold(pitch, self.low, self.high))
        return made

    def bar(self, of: Chord, beats: int, first: int | None, share: float) -> list[int]:
        """A figure of the chord from its root, or its tones from another one."""
        rng, other = self.rng, _degree(of, int(self.rng.choice([3, 5, 5, 7])))
        if first is None or ((first - of.bass) % 12 and rng.random() < 0.8):
            rooted = rng.random() < share * self.player.root
            first = self.near(of.bass if rooted else other, self.now)
        figure = self.figure(self.player.walking, of)
        if beats != 4 and (beats > 4 or rng.random() < 0.5):
            figure = (1, 5, 3, 5) if rng.random() < 0.5 else (1, 1, 5, 3)
        if (first - of.root) % 12 == 0 and beats <= 4:
            return [first - _degree(of, figure[0]) + _degree(of, d) for d in figure[:beats]]
        return _run(first, {t.pitch_class for t in of.tones}, int(rng.choice([-1, 1])), beats)

    def approach(self, bar: list[int], here: Place, following: Chord) -> int | None:
        """Bends the bar's end to the next bass note; gives that where it is meant to be played."""
        goal = self.near(following.bass, bar[-2])
        fifth = goal + 7 if goal + 7 <= self.high else goal - 5
        beside = _run(goal, here.key, int(self.rng.choice([-1, 1])), 2)[1]
        way = self.rng.choice(5, p=self.player.approach)
        pitch = (goal - 1, goal + 1, beside, fifth, 0)[way]
        if LOWEST <= pitch <= WALKING_TOP and following.symbol != here.chord.symbol:
            bar[-1] = pitch
        return goal if self.rng.random() < self.player.root else None

    def beat(self, beat: int, pitch: int, of: Chord) -> None:
        """A beat of walking: plain, skipped, with a ghost, or missed."""
        rng, player, place, step = self.rng, self.player, self.places[beat], beat * BEAT
        pitch = min(WALKING_TOP, max(LOWEST, self.finger(pitch, of)))
        missed = 0.5 * (beat > self.start and rng.random() < player.hesitates + 0.35 * place.doubt)
        in_two = beat < player.choruses_in_two * self.form.beats and place.beat % 2
        if rng.random() < missed or (in_two and rng.random() < 0.8):
            return
        pitch = self.now if missed else pitch
        loud = rng.normal(84 + 4 * (place.beat % 2) - 14 * place.doubt, 6)
        skipped = rng.random() < player.skip and not in_two
        self.strike(step, 5 if skipped else rng.uniform(8.6, 11.6), pitch, loud)
        if skipped:
            again = pitch if rng.random() < 0.6 else int(rng.choice([28, 33, 38, 43]))
            self.strike(step + 6, 4, again, loud - 14)
        elif rng.random() < player.ghost:
            self.strike(step + 6, 1, int(rng.choice([pitch, 28, 33, 38])), rng.integers(18, 38))
        self.now = pitch

    def phrase(self, here: Place, mix: np.ndarray) -> list[int]:
        """Pitches of the next figure of a solo."""
        rng, player, of = self.rng, self.player, here.chord
        if here.aimless:
            return self.wander(int(rng.integers(3, 7)), here)
        first = self.near(_degree(of, int(rng.choice([1, 3, 5]))), self.now)
        how = 3 if rng.random() < 0.1 else rng.choice(3, p=mix)
        if how == 0:
            shape = [_degree(of, d) for d in self.figure(player.shapes, of)]
            first = self.near(shape[0], self.now)
            beside = [shape[0] + int(rng.choice([-1, 1]))] * (rng.random() < player.enclose)
            return [first - shape[0] + p for p in beside + shape]
        if how == 1:
            way = int(rng.choice([-1, 1]))
            made = [_run(self.now, here.key, way, 2)[1] if rng.random() < 0.7 else first]
            for _ in range(rng.integers(2, 8)):
                if not self.low < made[-1] < self.high:
                    way = 1 if made[-1] <= self.low else -1
                made += _run(made[-1], here.key, way if rng.random() < 0.88 else -way, 2)[1:]
            return made
        if how == 2:
            blues = [(pitch_class(self.form.chart.key.tonic) + i) % 12 for i in player.blues]
            run = [p for p in range(LOWEST, SOLO_TOP + 1) if p % 12 in blues]
            lick, moves = player.licks[rng.integers(3)]
            away = [abs(p - self.now) + (i - lick) % 3 * 2 for i, p in enumerate(run)]
            at = np.argmin(away) + np.cumsum([0, *moves])
            return [run[i] for i in at.clip(0, len(run) - 1)]
        return [first]  # a long note

    def played(self, of: Chord, at: int, until: int, pitches: list[int]) -> int:
        """Strikes a figure as far as ``until``; gives the step after it."""
        rng, tempo = self.rng, self.player.tempo
        fit = [1 if tempo < 200 else 0.45, 1, 1, tempo <= 190 and at % BEAT == 0]
        shares = self.player.rhythms * fit
        mixed = ([12, 6, 6], [6, 6, 12], [18, 6, 12], [6, 12, 6])[rng.integers(4)]
        lengths = ([6], [12], mixed, [4])[rng.choice(4, p=shares / shares.sum())]
        lengths = [3] if tempo < 84 and rng.random() < 0.3 else lengths
        lengths = [int(rng.choice([18, 24, 36, 48]))] if len(pitches) == 1 else lengths
        low, high = max(LOWEST, self.low - 3), min(SOLO_TOP, self.high + 4)
        for pitch, length in zip(pitches, cycle(lengths), strict=False):
            if at >= until:
                break
            self.now = _fold(self.finger(pitch, of), low, high)
            loud = rng.normal(85 if at % BEAT == 6 else 80, 9)
            self.strike(at, length * rng.uniform(0.7, 0.98), self.now, loud)
            at += length
            if rng.random() < self.player.hesitates:
                return at // 6 * 6 + 6
        return at


def walk(form: Form, start: int, stop: int, rng: Generator, player) -> list[LineNote]:
    """Walking over the beats from ``start`` to ``stop`` of a form."""
    hand = _Hand(form, start, stop, rng, player, player.walking_range, 38)
    first, passage, symbol = None, 0, ""
    what = [(p.chord.symbol, p.beat == 0) for p in hand.places.values()]
    changes = [start + i for i, w in enumerate(what) if w[1] or w[0] != what[i - 1][0]]
    for at, end in pairwise(sorted({start, *changes, stop})):
        here, beats = hand.places[at], end - at
        if here.aimless:
            bar = hand.wander(beats, here)
        elif passage > 0 or (rng.random() < player.key_passage and beats > 1 and not here.doubt):
            passage = (passage if passage > 0 else int(rng.choice([0, 4, 8]))) - beats
            first = hand.near(here.chord.root, hand.now) if first is None else first
            bar = _run(first, here.key, 1 if first < hand.middle else -1, beats)
        else:
            bar = hand.bar(here.chord, beats, first, 0.7 if here.chord.symbol == symbol else 1)
        bar = [_fold(p, LOWEST, min(WALKING_TOP, hand.high + 3)) for p in bar]
        led = not here.aimless and beats > 1 and rng.random() < 0.9
        first = hand.approach(bar, here, hand.places[end].chord) if led else None
        for beat, pitch in zip(range(at, end), bar, strict=True):
            hand.beat(beat, pitch, here.chord)
        symbol = here.chord.symbol
    return hand.notes


def solo(form: Form, start: int, stop: int, rng: Generator, player) -> list[LineNote]:
    """A solo over the beats from ``start`` to ``stop`` of a form."""
    hand = _Hand(form, start, stop, rng, player, player.solo_range, sum(player.solo_range) // 2)
    bar, last, chorus, mix = form.chart.meter.beats * BEAT, stop * BEAT - 2, -1, player.mix
    at = start * BEAT + int(rng.choice([0, 0, 6, 12, 18, 24]))
    while at < last:
        end = min(last, at + round(rng.choice(PHRASES) * (0.6 + player.busy) * bar))
        while at < end:
            if at // form.steps > chorus:
                chorus = at // form.steps
                mix = rng.dirichlet(player.mix * rng.choice([1.5, 4, 9]) + 0.15)
            beat = at // BEAT
            pushed = at % BEAT == 6 and rng.random() < player.push and beat + 1 < stop
            here, until = hand.places[beat + pushed], beat
            while until < stop and hand.places[until].chord.symbol == here.chord.symbol:
                until += 1  # a pushed figure comes only where it is played on over the change
            until = min(last, until * BEAT) if rng.random() > player.over else last
            if here.doubt and rng.random() < 0.4:
                at += BEAT  # waits and listens
            elif at % 6:  # back to the beat after triplets and sixteenths
                at += -at % BEAT
            else:
                at = hand.played(here.chord, at, until, hand.phrase(here, mix))
        if hand.notes and rng.random() < 0.35:  # the last note rings
            end = min(hand.notes[-1].end_step + int(rng.integers(4, 19)), stop * BEAT)
            hand.notes[-1] = hand.notes[-1]._replace(end_step=end)
        long = rng.random() < 0.05
        gap = rng.integers(2, 5) * bar / 12 if long else rng.choice(GAPS) * (1.5 - player.busy)
        at = 6 * round(2 * (-(-at // BEAT) + gap))
    return hand.notes


def adrift(form: Form, start: int, stop: int, rng: Generator, player, way: str, play) -> list:
    """A stretch that fits the form nowhere: what is played for places that are not there."""
    sounds = np.array([[pc in tones for pc in range(12)] for tones in _sounds(form)])
    for _ in range(12):
        lost = vars(player) | {"astray": _astray(form, start, stop, rng, way)}
        line = play(form, start, stop, rng, SimpleNamespace(**lost))
        places, pitches = np.array([(n.step // BEAT, n.pitch % 12) for n in line] or [(0, 0)]).T
        fits = [sounds[(places + k) % form.beats, pitches].mean() for k in range(form.beats)]
        if len(line) >= 0.4 * (stop - start) and fits[0] <= 0.52 and max(fits) <= 0.70:
            break  # else once more: it fits a place by chance
    return line


def _astray(form: Form, start: int, stop: int, rng: Generator, way: str) -> dict[int, Place]:
    """What a lost player thinks to be at each beat."""
    if way in AIMLESS:
        return {beat: _place(form, beat, way, 0.2) for beat in range(start, stop)}
    bar, made, at, sounds = form.chart.meter.beats, {}, start, _sounds(form)
    while at < stop:
        end = min(stop, at + int(rng.choice([bar, bar, 2 * bar, 2, 3])))
        for _ in range(20):
            away = int(rng.integers(1, form.beats)) if way == "jumping" else 0
            guess = chord(str(rng.choice(NAMES)) + str(rng.choice(GUESSES)))
            what = form.chord((at + away) * BEAT) if away else guess
            if len({t.pitch_class for t in what.tones} & sounds[at % form.beats]) < 3:
                break
        for beat in range(at, end):
            place = _place(form, beat + away, doubt=0.2)
            made[beat] = place if away else place._replace(chord=guess)
        at = end
    return made
