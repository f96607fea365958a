"""A fluent soloist of long eighth-note lines, who hears chords early, late and in other guises.

Solo: phrases from anywhere to anywhere in the bar, strung from scale runs with an added tone that
puts chord tones on the beat, enclosures, arpeggios up from the third, sequences and held notes.
He hears changes up to two beats early or late, a tritone substitute or back-door chord for a
dominant, and leaves a still chord for a while. Walking: goals led to by half steps from either
side; scales through two bars. A weak one keeps to the key and runs plain scales. Adrift he is as
fluent over chords that do not stand there, or his fingers go on by themselves.
"""

# ruff: noqa: PLR0917 -- a player is asked for a line by place, chance and habits

from __future__ import annotations

from bisect import bisect_right
from itertools import pairwise
from types import SimpleNamespace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from linecheck.terms import STEPS_PER_BEAT as BEAT
from tests.synthetic.charts import NAMES, chart, chord, pitch_class, scale
from tests.synthetic.lines import LineNote, monophonic

if TYPE_CHECKING:
    from linecheck.music.form import Form
    from linecheck.terms import Chart, Chord

ADRIFT_WAYS = ("other changes", "wrong key", "hopping", "stuck figure", "fingers alone")
HALF, MAJOR, MINOR = BEAT // 2, (0, 2, 4, 5, 7, 9, 11), (0, 2, 3, 5, 7, 8, 10)
DOMINANTS = ("7", "9", "13", "7b9", "7#5", "7alt", "7sus")
SIXTHS = ("", "maj7", "maj7#11", "m", "mmaj7")  # here a run rests on the sixth, not the seventh
# Shapes in places of the scale, and by how much they move where they are repeated.
SHAPES = (((0, -2), -1), ((0, 2), 1), ((0, 1, 2, 0), 1), ((0, -1, -2, 0), -1), ((0, 1, 2), -1),
          ((0, 1, 2, 4), -1), ((0, -2, -3, -4), 1), ((0, 1, 0, -1), -1))  # fmt: skip
GRIPS = ((1, 1, 1), (1, 2), (2, 2), (4, 3, 4), (2, 1, 2, 2), (3, -1))  # half steps, by hand only
DEVICES = {"run": 3, "enclose": 2.6, "arpeggio": 2.2, "shape": 1.7, "hold": 1}


class Heard(NamedTuple):  # a chord as the player has it in his ear, from a step on
    begin: int
    root: int
    bass: int
    tones: tuple[int, ...]
    guides: tuple[int, ...]
    scale: tuple[int, ...]
    moved: bool  # another root than the one heard before


def charts() -> list[Chart]:
    """Fifteen charts that stand nowhere else."""
    return [
        chart("Ferryman's Blues", "Db", "A", {"A": "Db7 | Gb7 | Db7 | Abm7 Db7 | Gb7 | Gdim7 | Db7/Ab | Fm7b5 Bb7b9 | Ebm7 | A7 Ab7 | Db7 Bb7alt | Ebm7 Ab7"}),
        chart("Rope and Tackle", "E", "A", {"A": "E7 | % | % | Bm7 E7 | A9 | % | E7 | % | F#m7 | B7 | G#m7 G7 | F#m7 F7"}),
        chart("Soot", "F#m", "A", {"A": "F#m7 | G#m7b5 C#7b9 | F#m7 | F#7alt | Bm7 | % | F#m7 | F#m6 | D9 | C#7#5 | F#m6 A7 | G#m7b5 C#7alt"}),
        chart("Ladder Race", "Ab", "AABA", {"A": "Ab6 F7b9 | Bbm7 Eb7 | Cm7 F7 | Bbm7 Eb7 | Ebm7 Ab7 | Db6 Gb9 | Cm7 B7 | Bbm7 A7", "B": "Gm7 | C7 | Cm7 | F7 | Fm7 | Bb7 | Bbm7 | E7 Eb7"}),
        chart("Evening at the Weir", "E", "AABA", {"A": "Emaj7 | A9 | G#m7 | C#7b9 | F#m7 | Am6 | G#m7 G7 | F#m7 B7", "B": "Dm7 | G7 | Cmaj7 | % | D#m7b5 | G#7b9 | C#m7 F#7 | F#m7 B7"}),
        chart("A Box of Hinges", "Gb", "ABAC", {"A": "Gbmaj7 | Fm7b5 Bb7b9 | Ebm7 | Dbm7 Gb7 | Bmaj7 | E9 | Bbm7 | Eb7", "B": "Abm7 | % | Db7sus | Db7 | Dmaj7 | % | Abm7 | Db7alt", "C": "Abm7 | Bm6 | Bbm7 | Adim7 | Abm7 | Db7b9 | Gb6 Eb7 | Abm7 Db7"}),
        chart("Cold Stove", "Bm", "AABA", {"A": "Bm6 | % | C#m7b5 | F#7b9 | Bm7 E7 | Amaj7 | C#m7b5 F#7b9 | Bm6", "B": "Em7 | A7 | Dmaj7 | Gmaj7 | C#m7b5 | C7 | Bm6 G#m7b5 | C#m7b5 F#7alt"}),
        chart("Tide Table", "Fm", "ABC", {"A": "Fm7 | Dbmaj7 | Gm7b5 | C7b9 | Fm7 | Ab7 | G7alt | C7alt", "B": "Bbm7 | Eb7 | Abmaj7 | Dbmaj7 | Gm7b5 | C7 | Fmmaj7 | Fm6", "C": "Bm7 | E7 | Amaj7 | % | Bbm7 Eb7 | Gm7b5 C7b9 | Fm6 | C7#5"}),
        chart("The Long Shelf", "Gm", "ABA", {"A": "Gm7" + 7 * " | %", "B": "Bbm7 | % | % | % | Am7 | % | D7sus | D7"}),
        chart("Four Windows", "A", "AB", {"A": "A7sus | % | % | % | Fmaj7#11 | % | % | % | Dm7 | % | % | % | Bmaj7 | % | % | %", "B": "Gm7 | % | % | % | Ebmaj7 | % | % | % | C#m7 | % | F#m7 | % | Bm7 | % | E7 | E7alt"}),
        chart("Waltz of the Spare Key", "Am", "AB", {"A": "Am7 | F7 | Bm7b5 | E7b9 | Am7 | D7 | Gmaj7 | Cmaj7", "B": "F#m7b5 | B7b9 | Em7 | A7 | Dm7 | G7 / Db7 | Cmaj7 | Bm7b5 / E7b9"}, beats=3),
        chart("Three Steps Down", "Bb", "ABA", {"A": "Bbmaj7 | Am7 / D7 | Gm7 | Fm7 / Bb7 | Ebmaj7 | Ab9 | Dm7 / G7 | Cm7 / F7", "B": "Bm7 | E7 | Amaj7 | F#m7 | Cm7 | F7"}, beats=3),
        chart("Corner Vamp", "Em", "A", {"A": "Em7 | A7 | Em7 | A7 | Cmaj7 | B7alt | Em7 D7 | C7 B7"}),
        chart("Twenty Planks", "D", "ABC", {"A": "Dmaj7 | Ddim7 | Em7 | A7 | F#m7 F7 | Em7 Eb7 | D6 | Am7 D7", "B": "Gmaj7 | Gm6 | F#m7 | B7b9 | E7 | % | Em7 | A7sus A7", "C": "Bbmaj7 | C9 | D6 B7 | Em7 A7"}),
        chart("Fast Thread", "C", "AB", {"A": "C6 Eb7 | Abmaj7 B7 | Em7 A7 | Ebm7 Ab7 | Dm7 G7 | Bbm7 Eb7 | Am7 Ab7 | Dm7 Db7", "B": "Gm7 C7 | Fmaj7 | Fm7 Bb7 | Em7 Eb7 | Dm7 E7 | Am7 D7"}),
    ]  # fmt: skip


def draw_player(rng: np.random.Generator) -> SimpleNamespace:
    """A player: how well he knows his trade, and habits that partly hang on it."""
    u, skill, low = rng.uniform, rng.beta(1.3, 1.1), int(rng.integers(31, 41))
    weights = np.array([w * rng.gamma(2.5, 0.4) for w in DEVICES.values()])
    return SimpleNamespace(
        believes={}, astray=0, shares=np.cumsum(weights / weights.sum())[:-1],
        grasp=0.76 + 0.24 * skill**0.5, wrong=u(0, 0.1) * (1.1 - skill) / 1.1, guide=u(0.25, 0.85),
        placed=np.clip(0.45 + 0.5 * skill + rng.normal(0, 0.1), 0.3, 1), push=u(0.03, 0.32),
        lag=u(0, 0.1) + 0.12 * (1 - skill), far=u(0.05, 0.4), sub=u(0, 0.35), passing=u(0, 0.15),
        merge=u(0, 0.3), slide=u(0, 0.6), phrase=u(4, 16), rest=u(1.2, 4.2), tail=u(0.1, 0.7),
        broad=u(0, 0.45) * u(0.2, 1), triplets=u(0, 0.4), ghost=u(0, 0.14), legato=u(0.75, 1),
        neck=(low, min(67, low + int(rng.integers(21, 32)))), loud=u(62, 96), spread=u(3, 11),
        walk_neck=(int(rng.integers(28, 31)), int(rng.integers(46, 56))), root=u(0.6, 0.97),
        chromatic=u(0.25, 0.85), double=u(0.05, 0.5), through=u(0.03, 0.35), steps=u(0.25, 0.8),
        skip=u(0, 0.14), gap=u(0, 0.05), same=u(0, 0.07),
    )  # fmt: skip


def _shift(pitch: int, n: int, classes: tuple[int, ...]) -> int:  # by n places
    way = 1 if n > 0 else -1
    places = [p for p in range(pitch + way, pitch + 25 * way, way) if p % 12 in classes]
    return places[abs(n) - 1] if n else pitch


def _recast(begin: int, end: int, at: Chord, after: Chord, rng, player) -> list[tuple[int, Chord]]:
    """A chord as the player may take it: a substitute, its neighbour for it, a passing chord."""
    beats, roll, made = end - begin, rng.random(), [(begin, at)]
    if at.root is None or after.root is None:
        return made
    falls, dominant = (after.root - at.root) % 12 == 5, at.kind in DOMINANTS
    other, back = [(1, "7"), (1, "7"), (10, "9"), (11, "dim7")], []  # from the chord that follows
    if falls and dominant and roll < player.sub:
        start = begin if beats < 3 or rng.random() < 0.5 else begin + beats // 2
    elif falls and after.kind in DOMINANTS and not dominant and roll < player.merge:
        start, other = begin, [(0, after.kind)]
    elif beats >= 8 and roll < player.slide:  # out by a half step or by its dominant, and back
        start, by = begin + int(rng.integers(3, beats - 3)), at.root - after.root
        other, back = [(by + 1, at.kind), (by - 1, at.kind), (by + 7, "7b9")], [at]
    elif beats >= 4 and roll > 1 - player.passing:
        start, other = end - 2, [(1, "7"), (7, "7")]
    else:
        return made
    by, kind = other[rng.integers(len(other))]
    made = made * (start > begin) + [(start, chord(NAMES[(after.root + by) % 12] + kind))]
    return made + [(start + int(rng.integers(2, 4)), c) for c in back]


def _hear(form: Form, start: int, stop: int, rng, player, *, walking: bool) -> list[Heard]:
    """The chords from ``start`` to past ``stop`` as the player has them in his ear."""
    beats = range(start, stop + 2 * form.chart.meter.beats + 2)
    given = [(b, player.believes.get(b) or form.chord(b * BEAT)) for b in beats]
    new = [b for a, b in pairwise(given) if a[1].symbol != b[1].symbol]
    turns = pairwise([given[0], *new, (beats[-1] + 1, given[-1][1])])
    taken = [s for (b, at), (e, after) in turns for s in _recast(b, e, at, after, rng, player)]
    steps, unit = [b * BEAT for b, _ in taken], BEAT if walking else HALF
    for i in range(1, len(taken) - 1):  # changes early and late
        by = unit * int(rng.integers(1, 5 if rng.random() < player.far and not walking else 3))
        roll = rng.random() * (5 if walking else 1)
        moved = steps[i] + by * (-1 if roll < player.push else roll < player.push + player.lag)
        steps[i] = moved if steps[i - 1] < moved < steps[i + 1] else steps[i]
    key, heard = pitch_class(form.chart.key.tonic) + player.astray, []
    home = tuple((key + i) % 12 for i in (MINOR if form.chart.key.minor else MAJOR))
    for begin, (_, at) in zip(steps, taken, strict=True):
        root, tones, run = home[0], (home[0], home[2], home[4], home[5]), home
        if at.tones and (walking or rng.random() < player.grasp):
            root, tones, run = at.root, tuple(t.pitch_class for t in at.tones), scale(at)
        guides, bass = (tones[1], tones[-1]), root if at.bass is None else at.bass
        if at.kind in SIXTHS and root == at.root and not walking and rng.random() < 0.65:
            tones = (*tones[:3], (root + 9) % 12)
        moved = not heard or heard[-1].root != root
        heard.append(Heard(begin, root, bass, tones, guides, run, moved))
    return heard


class _Hand:  # puts notes at a cursor, over what is heard
    def __init__(self, form: Form, start: int, stop: int, rng, player, *, walking=False) -> None:
        self.form, self.rng, self.player = form, rng, player
        self.spans = _hear(form, start, stop, rng, player, walking=walking)
        self.first, self.end, self.begins = start * BEAT, stop * BEAT, [s.begin for s in self.spans]
        self.low, self.high = player.walk_neck if walking else player.neck
        self.pitch = int(np.clip(rng.normal((self.low + self.high) / 2, 4), self.low, self.high))
        self.way, self.aim = int(rng.choice((-1, 1))), (-1, 0)
        self.cursor, self.until, self.notes, self.marks = self.first, self.first, [], []

    def heard(self, step: int) -> Heard:
        return self.spans[max(0, bisect_right(self.begins, step) - 1)]

    def nearest(self, classes, to: float, *, but: int = -1, loose: float = 0.8) -> int:
        pool = [p for p in range(self.low, self.high + 1) if p % 12 in classes and p != but]
        return min(pool or [self.pitch], key=lambda p: abs(p - to) + loose * self.rng.random())

    def turn_back(self) -> None:
        near_end = self.pitch >= self.high - 2 or self.pitch <= self.low + 2
        self.way = (-1 if self.pitch > self.low + 2 else 1) if near_end else self.way

    def put(self, *pitches: int, length: int = HALF) -> None:
        """The next notes, none where the phrase is over; of four on a beat perhaps three in it."""
        rng, player = self.rng, self.player
        quick = len(pitches) == 4 and self.cursor % BEAT == 0 and rng.random() < player.triplets
        for i, wanted in enumerate(pitches):
            each, off = 4 if quick and i < 3 else length, self.cursor % BEAT > 0
            if self.first <= self.cursor < min(self.until, self.end):
                ghost = each <= HALF and rng.random() < player.ghost * (1.4 if off else 0.4)
                loud = rng.normal(player.loud + 5 * off, player.spread) * (0.33 if ghost else 1)
                ends = min(self.end, self.cursor + max(2, round(each * player.legato)))
                self.pitch = wanted + 12 * (wanted < self.low) - 12 * (wanted > self.high)
                wrong = int(rng.choice((-2, -1, 1, 2))) * (rng.random() < player.wrong)
                pitch, loud = np.clip((self.pitch + wrong, loud), (28, 15), (67, 122)).astype(int)
                self.notes.append(LineNote(self.cursor, ends, int(pitch), int(loud)))
            self.cursor += each

    def goal(self, step: int) -> int:
        if self.aim[0] != step:
            at = self.heard(step)
            pitch = _shift(self.pitch, self.way, at.tones)  # a guide tone where the chord is new
            if at.begin == step and at.moved and self.rng.random() < self.player.guide:
                guide = self.nearest(at.guides, self.pitch + self.way, but=self.pitch)
                pitch = guide if abs(guide - self.pitch) <= 5 else pitch
            self.aim = (step, pitch)
        return self.aim[1]

    def run(self) -> None:
        rng, placed = self.rng, self.rng.random() < self.player.placed
        if rng.random() < 0.7:
            self.way = -1 if rng.random() < 0.65 else 1
        for _ in range(int(rng.integers(3, 11))):
            self.turn_back()
            at, now, here = self.heard(self.cursor), self.pitch, self.cursor
            if not placed or here % BEAT == 0 or at.begin == here:
                self.put(self.goal(here) if placed else _shift(now, self.way, at.scale))
                continue
            goal = self.goal(here + HALF)
            way = 1 if goal > now else -1
            inner = [p for p in range(now + way, goal, way) if p % 12 in at.scale]
            if not inner:  # the added tone; or around the goal where it lies next door
                inner = [goal - way if abs(goal - now) > 1 else _shift(goal, way, at.scale)]
            self.put(inner[-1] if rng.random() < 0.75 else inner[0])

    def enclose(self) -> None:
        size = int(self.rng.choice((1, 3) if self.cursor % BEAT else (2, 2, 2, 4)))
        at = self.heard(self.cursor + HALF * size)
        classes = at.guides if at.moved and self.rng.random() < self.player.guide else at.tones
        goal = self.nearest(classes, self.pitch + 2 * self.way, but=self.pitch if size < 3 else -1)
        over, under = _shift(goal, 1, at.scale), goal - 1
        figures = {1: [(under,), (over,)], 2: [(over, under), (under, over), (goal + 2, goal + 1)],
                   3: [(goal + 2, goal + 1, under), (goal - 2, under, over), (goal + 3, goal + 2, goal + 1)],
                   4: [(goal + 2, goal + 1, goal - 2, under), (goal - 2, under, over, under)]}  # fmt: skip
        fresh = [f for f in figures[size] if f[0] != self.pitch]
        self.put(*fresh[self.rng.integers(len(fresh))], goal)
        self.way = int(self.rng.choice((-1, 1, self.way)))

    def arpeggio(self) -> None:
        """Thirds upward, mostly from the third of the chord; off the beat a half step before it."""
        rng, off = self.rng, self.cursor % BEAT > 0
        at, place = self.heard(self.cursor + HALF * off), int(rng.choice((1, 1, 1, 0, 2, 3)))
        classes = at.scale[::2] + at.scale[1::2] if len(at.scale) == 7 else at.tones
        begin = self.nearest((classes[place % len(classes)],), self.pitch - 3)
        line = [begin - 12 * (begin > self.high - 9 and begin - 12 >= self.low)]
        for i in range(place + 1, place + int(rng.choice((3, 4, 4, 5)))):
            line.append(_shift(line[-1], 1, (classes[i % len(classes)],)))
        self.put(*[line[0] - 1] * off)
        self.put(*line[:: -1 if rng.random() < 0.15 else 1])
        self.way = -1 if rng.random() < 0.8 else 1

    def shape(self) -> None:
        """A small shape from a chord tone, once or in sequence; a half step before it off the beat."""
        shape, on = SHAPES[self.rng.integers(len(SHAPES))]
        off = self.cursor % BEAT > 0
        here = self.nearest(self.heard(self.cursor + HALF * off).tones, self.pitch, but=self.pitch)
        self.put(*[here - 1] * off)
        for _ in range(int(self.rng.choice((1, 1, 1, 2, 3, 4)))):
            run = self.heard(self.cursor).scale
            self.put(*[_shift(here, degree, run) for degree in shape])
            here = _shift(here, on, run)
        self.way = on

    def hold(self) -> None:
        self.turn_back()
        tones = self.heard(self.cursor + self.cursor % BEAT).tones  # off the beat what comes
        pitch = self.nearest(tones, self.pitch + 3 * self.way, but=self.pitch)
        self.put(pitch, length=int(self.rng.choice((12, 12, 18, 24))))

    def phrase(self) -> None:
        """Devices to the end of a phrase, and its last note: held, short or two with a drop."""
        rng, player = self.rng, self.player
        length = max(3, round(2 * rng.gamma(3.5, player.phrase / 3.5)))
        self.until = min(self.end, self.cursor + HALF * length)
        to = rng.normal(0.7 * self.pitch + 0.15 * (self.low + self.high), 5)
        self.pitch = self.nearest(self.heard(self.cursor).scale, to)
        while self.cursor < self.until:
            name = tuple(DEVICES)[np.searchsorted(player.shares, rng.random())]
            getattr(self, name if rng.random() > player.broad else "hold")()
            self.cursor += HALF * int(rng.random() < 0.05)  # a catch of breath
        self.cursor, self.until = self.until, self.until + BEAT
        at = self.heard(self.cursor + self.cursor % BEAT)
        goal = self.nearest(at.tones, self.pitch + 2 * self.way, but=self.pitch)
        if self.cursor % BEAT == 0 and rng.random() < player.tail:
            self.put(goal, self.nearest(at.tones, goal - int(rng.integers(3, 9)), but=goal))
        else:
            self.put(goal, length=int(rng.choice((6, 6, 12, 18, 24, 36))))
        self.cursor += -self.cursor % HALF + HALF * round(np.clip(rng.gamma(2, player.rest), 2, 12))

    def landing(self, beat: int, far: float) -> int:
        at, new = self.heard(beat * BEAT), self.heard(beat * BEAT).begin == beat * BEAT
        rooted = self.rng.random() < (self.player.root if new else 0.35)
        classes, but = (at.bass,) if rooted else at.tones[1:], -1 if rooted and new else self.pitch
        return self.nearest(classes, self.pitch + self.way * far, but=but, loose=2.5)

    def lead(self, goal: int, room: int, at: Heard) -> list[int]:
        """The last notes before a goal: half steps from one side or both, or a step of the scale."""
        rng, player, roll = self.rng, self.player, self.rng.random()
        side = 1 if rng.random() < (0.7 if self.pitch > goal else 0.35) else -1
        step, tail = _shift(goal, side, at.scale), []
        if room > 1 and rng.random() < player.double:
            tail = [goal + 2 * side, goal + side] if roll < 0.5 else [step, goal - side]
        elif room and roll < player.chromatic + 0.7 * (1 - player.chromatic):
            tail = [goal + side if roll < player.chromatic else step if roll < 0.9 else goal - 5]
        return [2 * goal - p for p in tail] if tail[:1] == [self.pitch] and room < 3 else tail

    def way_to(self, goal: int, room: int, beat: int, *, run: bool) -> list[int]:
        """``room`` notes after a beat that come to a goal, by the scale or by chord tones."""
        rng, now, made = self.rng, self.pitch, []
        tail = self.lead(goal, room, self.heard((beat + room) * BEAT))
        aim = (tail or [goal])[0]
        for left in range(room - len(tail), 0, -1):
            here = beat + len(made) + 1
            at, far, way = self.heard(here * BEAT), abs(aim - now), 1 if aim > now else -1
            if far <= 2 * left and rng.random() < 0.45 and not (run and made):
                way = -way  # there is time to go round
            after = _shift(now, way, at.scale if run and far < 4 * left + 3 else at.tones)
            if here in self.marks and after % 12 not in at.tones:
                after = self.nearest(at.tones, after, but=now)
            if not self.low <= after <= self.high or (left == 1 and after == aim):
                after = _shift(aim, way if _shift(aim, -way, at.tones) == now else -way, at.tones)
            now = now if not run and rng.random() < self.player.same else after
            made.append(now)
        return made + tail

    def stroll(self) -> list[LineNote]:
        """From goal to goal, now and then by the scale through two bars; skips and gaps."""
        rng, player, i, bar = self.rng, self.player, 0, self.form.chart.meter.beats
        beats, self.until = range(self.first // BEAT, self.end // BEAT + bar + 1), self.end
        starts = {b for b in beats if self.form.at(b * BEAT).spot.beat == 1} | {beats[0]}
        self.marks = [b for b in beats if b in starts or b * BEAT in self.begins]
        goal = self.landing(beats[0], 0)
        while (beat := self.marks[i]) < beats[-1] - bar:
            self.pitch, self.way = goal, -self.way if rng.random() < 0.25 else self.way
            self.turn_back()
            long = i + 2 < len(self.marks) and rng.random() < player.through
            i += 1 + long
            room, line = self.marks[i] - beat, [goal]
            goal = self.landing(self.marks[i], 1.6 * room if long else rng.integers(1, 7))
            line += self.way_to(goal, room - 1, beat, run=long or rng.random() < player.steps)
            for n, pitch in enumerate(line):
                early = HALF * int(n == 0 and rng.random() < 0.1 * player.push)
                self.cursor = (beat + n) * BEAT - early
                if rng.random() < player.gap:
                    continue
                self.put(pitch, length=BEAT + early)
                if rng.random() < player.skip:
                    self.cursor -= int(rng.choice((4, 6, 6)))
                    self.put(pitch + int(rng.choice((0, 0, -12, 12, 7))), length=4)
        return monophonic(self.notes)


def walk(form: Form, start: int, stop: int, rng: np.random.Generator, player) -> list[LineNote]:
    """Walking over the beats from ``start`` to ``stop`` of a form."""
    return _Hand(form, start, stop, rng, player, walking=True).stroll()


def solo(form: Form, start: int, stop: int, rng: np.random.Generator, player) -> list[LineNote]:
    """A solo over the beats from ``start`` to ``stop`` of a form."""
    hand = _Hand(form, start, stop, rng, player)
    hand.cursor += HALF * int(rng.choice((0, 0, 0, 1, 2, 3, 5)))
    while hand.cursor < hand.end:
        hand.phrase()
    return monophonic(hand.notes)


def _believed(form: Form, start: int, stop: int, rng, way: str, by: int) -> dict[int, Chord]:
    """Beat by beat the chords of one who is lost."""
    bar, found, root = form.chart.meter.beats, {}, int(rng.integers(12))
    while (beat := start + len(found)) < stop + 3 * bar:
        root = (root + int(rng.choice((5, 5, 5, 2, 1, 9, 6)))) % 12
        guess = chord(NAMES[root] + str(rng.choice(("m7", "7", "7", "maj7", "m7b5"))))
        length = rng.integers(3, 2 * bar) if way == "hopping" else rng.choice((bar, bar, 2, 8))
        ahead = int(rng.integers(form.beats)) if way == "hopping" else 0
        for at in range(beat, beat + int(length)):
            own = form.chord((at + ahead) * BEAT)
            moved = own if own.root is None else chord(NAMES[(own.root + by) % 12] + own.kind)
            found[at] = guess if way == "other changes" else moved
    return found


def _fingered(line: list[LineNote], rng, way: str) -> list[LineNote]:
    """The rhythm of a line, with notes that go round or that the fingers find without the ear."""
    made, shape, up, now = [], (), 1, line[0].pitch
    low, high = min(n.pitch for n in line), max(*(n.pitch for n in line), 45)
    for place, note in enumerate(line):
        if not shape or rng.random() < (0.03 if way == "stuck figure" else 0.15):
            shape, now = GRIPS[rng.integers(6)], now + int(rng.choice((0, 0, -5, 4, -3, 6)))
            up, cell = int(rng.choice((-1, 1))), rng.integers(low, high - 6) + rng.choice(8, 4)
        now += up * shape[place % len(shape)]
        if not low <= now <= high:
            up, now = (1, low + now % 4) if now < low else (-1, high - now % 4)
        if way == "stuck figure":
            now = int(cell[place % len(cell)]) + int(rng.random() < 0.1)
        made.append(note._replace(pitch=now))
    return made


def _best_place(form: Form, line: list[LineNote]) -> float:
    """The share of the notes on beats that are chord tones, at the place where it is greatest."""
    tones = [{t.pitch_class for t in form.chord(b * BEAT).tones} for b in range(form.beats)]
    on = [(n.step // BEAT, n.pitch % 12) for n in line if n.step % BEAT == 0] or [(0, -1)]
    hits = (sum(p in tones[(b + o) % form.beats] for b, p in on) for o in range(form.beats))
    return max(hits) / len(on)


def adrift(form: Form, start: int, stop: int, rng, player, way: str, play) -> list[LineNote]:
    """A stretch that fits the form nowhere, walking or solo as ``play`` is: the best of a few."""
    drawn = []
    for _ in range(4):
        by = int(rng.choice((1, 2, 3, 6, 8, 10, 11))) if way == "wrong key" else 0
        fingers, lost = way in ADRIFT_WAYS[3:], {"astray": by}
        lost["believes"] = {} if fingers else _believed(form, start, stop, rng, way, by)
        line = play(form, start, stop, rng, SimpleNamespace(**vars(player) | lost))
        drawn.append(_fingered(line, rng, way) if line and fingers else line)
    return min(drawn, key=lambda line: _best_place(form, line) if line else 1)
