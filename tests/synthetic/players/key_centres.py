"""A player who hears key centres and cadences, not single chords.

Out of the chords he makes out which key holds for a while (cheapest course through 24 keys), and
which chords are the goals of cadences. A solo states motifs in the scale of the key, sequences them
by scale steps, and runs into the third, fifth or root of a goal on or near its beat one; a chord
that leaves the key gets one telling note, if any. Walking is scale lines in the key between the
roots of first and goal chords, with chord tones by chance or where they lie near. Adrift he hears
keys that do not stand there, goes round on one motif, or strays with no goal.
"""

# ruff: noqa: PLR0917 -- a player is asked for a line by place, chance, habits and way

from __future__ import annotations

from itertools import pairwise
from types import SimpleNamespace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from linecheck.terms import STEPS_PER_BEAT
from tests.synthetic.charts import NAMES, chart, chord, pitch_class
from tests.synthetic.lines import LineNote, monophonic

if TYPE_CHECKING:
    from linecheck.music.form import Form
    from linecheck.terms import Chart, Chord

ADRIFT_WAYS = ("keys off by one move", "cadences of no tune", "hopping", "one motif", "no goal")
FAMILY = {"": "M", "6": "M", "maj7": "M", "maj7#11": "M", "7sus": "7", "7#5": "7", "7alt": "7", "7": "7", "9": "7", "13": "7", "7b9": "7", "aug": "7",
    "m": "m", "m6": "m", "m7": "m", "mmaj7": "m", "m7b5": "h", "dim7": "o"}  # fmt: skip
# What a chord costs in a key, by family and distance of its root from the tonic.
IN_MAJOR = {"M0": 0, "m2": 0, "70": 0.3, "77": 0, "m4": 0.2, "M5": 0.2, "m9": 0.2, "h11": 0.4, "75": 0.4, "72": 0.7, "79": 0.7, "74": 0.8, "m5": 0.7,
    "710": 0.7, "71": 0.8, "o1": 0.6, "o3": 0.6, "o6": 0.6, "78": 0.9, "M8": 1, "M10": 1, "M3": 1, "m7": 1}  # fmt: skip
IN_MINOR = {"m0": 0, "h2": 0, "77": 0.05, "m5": 0.3, "M3": 0.4, "M8": 0.3, "710": 0.6, "78": 0.5, "72": 0.8, "o11": 0.2, "70": 0.9, "h6": 0.8,
    "h9": 0.7, "M1": 0.8, "M10": 0.7}  # fmt: skip
CADENCES = (((2, "m7"), (7, "7"), (0, "maj7"), (9, "m7")), ((2, "m7b5"), (7, "7b9"), (0, "m6"), (8, "7")))  # fmt: skip
BLUES, SWEET_BLUES = (0, 3, 5, 6, 7, 10), (0, 2, 3, 4, 7, 9)
# Rhythms of a motif, a beat or two each: onset and length in steps.
CELLS = (((0, 6), (6, 6)), ((0, 11),), ((6, 6),), ((0, 4), (4, 4), (8, 4)), ((0, 6), (6, 16)), ((0, 22),), ((0, 16), (18, 6)), ((0, 3), (3, 3), (6, 6)), ())  # fmt: skip
CELL_BEATS = (1, 1, 1, 1, 2, 2, 2, 1, 1)
HABITS = {"switch": (0.7, 2.6), "goal_gap": (2, 4), "telling": (0.05, 0.9), "blue": (0, 0.35), "passing": (0, 0.2), "half_step": (0.1, 0.8), "legato": (0.65, 1),
    "loud": (62, 98), "spread": (3, 11), "ghost": (0, 0.1), "walk_middle": (37, 44), "skip": (0, 0.14), "pause": (0, 0.04), "repeat": (0, 0.12), "turn": (0.1, 0.35),
    "leap": (0.05, 0.35), "walk_push": (0, 0.1), "root": (0.15, 0.8), "solo_middle": (44, 55), "phrase": (5, 16), "rest": (0.8, 4.5), "long_rest": (0, 0.12),
    "memory": (0.1, 0.7), "push": (0, 0.4), "late": (0, 0.3), "thirds": (0.1, 0.5), "run": (0.1, 0.5)}  # fmt: skip


class Heard(NamedTuple):
    """What the player takes a beat for: chord, beat of the bar and bar of the form, from 0."""

    chord: Chord
    count: int
    bar: int


def charts() -> list[Chart]:
    return [
        chart("Brick Dust Blues", "Ab", "A", {"A": "Ab7 | Db9 | Ab7 | Ebm7 Ab7 | Db9 | Ddim7 | Ab7 | Cm7b5 F7b9 | Bbm7 | Eb13 | Ab7 B7 | Bbm7 Eb7"}),
        chart("Weir Keeper's Blues", "Em", "A", {"A": "Em7 | Am7 | Em7 | Bm7b5 E7b9 | Am7 | % | Em7 | % | C9 | B7alt | Em6 C7 | F#m7b5 B7b9"}),
        chart("Turnstile", "G", "AABA", {"A": "G6 E7b9 | Am7 D7 | Bm7 Bbdim7 | Am7 D7 | Dm7 G7 | C6 F9 | Bm7 E7 | Am7 D7", "B": "B7 | % | E9 | % | A9 | % | Am7 | D7"}),
        chart("Three Garden Gates", "D", "AABA", {"A": "Em7 | A7 | Dmaj7 | Bm7 | Gm7 | C9 | Dmaj7 | F#m7 B7", "B": "Gm7 | C7 | Fmaj7 | Dm7 | Bbm7 | Eb7 | Abmaj7 | Em7b5 A7"}),
        chart("Side Door Waltz", "Bb", "AABA", {"A": "Bbmaj7 | Gm7 | Cm7 | F7 | Ebm7 | Ab9 | Bb6 | Cm7 / F7", "B": "Am7b5 | D7b9 | Gm7 | % | Gm7 | C9 | Cm7 | F7sus"}, beats=3),
        chart("Snow on the Tiles", "F#m", "AB", {"A": "F#m6 | % | G#m7b5 | C#7b9 | F#m6 | F#7b9 | Bm7 | %", "B": "E7 | Amaj7 | Dmaj7 | % | G#m7b5 | C#7alt | F#m6 | G#m7b5 / C#7b9"}, beats=3),
        chart("Low Tide, High Tide", "Gm", "AABA", {"A": "Gm7" + 7 * " | %", "B": "Bbm7 | % | % | % | Am7 | % | % | %"}),
        chart("Empty Depot", "E", "ABC", {"A": "E7sus | % | % | %", "B": "Gmaj7 | % | % | %", "C": "C#m7 | % | % | % | Am6 | % | B7sus | %"}),
        chart("Post Before Noon", "F", "ABAC", {"A": "Fmaj7 | Abdim7 | Gm7 | C7 | Am7b5 | D7b9 | Gm7 | C7", "B": "Bbmaj7 | Eb9 | Fmaj7 | Dm7 | G13 | % | Gm7 | C7sus", "C": "Bbmaj7 | Bdim7 | F6/C | D7alt | Gm7 | C7b9 | F6 | Gm7 C7"}),
        chart("Ropewalk", "Bm", "AABA", {"A": "Bm7 | C#m7b5 F#7b9 | Bm7 | B7alt | Em7 | A7 | Dmaj7 | C#m7b5 F#7b9", "B": "Am7 | D7 | Gmaj7 | % | G#m7b5 | C#7b9 | F#7sus | F#7"}),
        chart("Twenty Steps Down", "Db", "AB", {"A": "Dbmaj7 | Bbm7 | Ebm7 | Ab7 | Fm7 Bb7b9 | Ebm7 Ab7 | Db6 | Abm7 Db7 | Gbmaj7 | B9", "B": "Dbmaj7 | % | Fm7b5 | Bb7b9 | Ebm7 | % | Gbm6 | Ab7 | Db6 Bb7 | Ebm7 Ab7"}),
        chart("Eight at the Pump", "A", "A", {"A": "Amaj7 F#7 | Bm7 E7 | C#m7 F#7 | Bm7 E9 | Em7 A7 | Dmaj7 G9 | C#m7 F#7b9 | Bm7 E7"}),
        chart("Four Roads", "Eb", "ABCD", {"A": "Ebmaj7 | % | Am7 | D7", "D": "Abm7 | Db9 | Eb6 | Fm7 Bb7", "B": "Gmaj7 | % | Fm7 | Bb7", "C": "Ebmaj7 | Ebm7 Ab7 | Dbmaj7 | Gm7 C7"}),
        chart("Milk Float", "C", "AAB", {"A": "C6 | Fm7 | C6 | Bb9 | C6/E | A7 | Dm7 G7", "B": "Ebm7 | Ab7 | Dbmaj7 | % | Dm7 | G7b9"}),
        chart("Sixteen Under Glass", "Cm", "A", {"A": "Cm6 | % | % | Dm7b5 G7b9 | Cm6 | C7b9 | Fm7 | % | Bbm7 | Eb7 | Abmaj7 | % | D7 | % | Dm7b5 | G7alt"}),
    ]  # fmt: skip


def draw_player(rng: np.random.Generator) -> SimpleNamespace:
    made, skill = {n: float(rng.uniform(*ends)) for n, ends in HABITS.items()}, rng.beta(1.6, 1.1)
    made["switch"] *= 3 if rng.random() < 0.06 else 1  # he hears hardly a key but the tune's
    chances = {"heed": 0.15 + 0.7 * skill * rng.uniform(0.7, 1), "aim": 0.6 + 0.4 * skill, "wrong": 0.1 * (1 - skill) * rng.random()}  # fmt: skip
    drawn = {"cells": rng.dirichlet((7, 3, 2, 1.2, 1.6, 1.2, 1.3, 0.3, 1.2)), "goals": rng.dirichlet((4, 5, 3))}  # fmt: skip
    return SimpleNamespace(**made, **chances, **drawn, in_two=rng.random() < 0.12)


def _tones(of: Chord) -> tuple[int, ...]:
    return tuple(t.pitch_class for t in of.tones)


def _costs(spans: list[tuple[int, int, Chord]], bar: int) -> np.ndarray:
    costs = np.ones((len(spans), 24)) * 1.2
    for i, (begin, end, c) in enumerate(spans):
        family, root = FAMILY.get(c.kind, "7"), c.root or 0
        for key in range(24):
            known = (IN_MINOR if key >= 12 else IN_MAJOR).get(f"{family}{(root - key) % 12}")
            costs[i, key] = 2.0 if known is None else known
        if end - begin >= 4 * bar:  # a chord that stands is a key of its own
            costs[i] += 1.0
            costs[i, root + 12 * (family in "mh")] -= 1.5
        costs[i] *= min(2.0, (end - begin) / bar)
        before = spans[i - 1][2] if i else c
        if FAMILY.get(before.kind) == "7" and before.root == (root + 7) % 12 and family in "Mm":
            costs[i - 1 : i + 1, root + 12 * (family == "m")] -= 0.4
    return costs


class _Ear:
    """The keys and goals of a run of beats."""

    def __init__(self, heard: list[Heard], bar: int, home: int, player: SimpleNamespace) -> None:
        self.heard = heard
        edges = [b for b in range(len(heard)) if not b or heard[b].chord != heard[b - 1].chord]
        self.spans = [(b, e, heard[b].chord) for b, e in pairwise([*edges, len(heard)])]
        costs = _costs(self.spans, bar) - 0.25 * np.eye(24)[home]  # the key of the tune is known
        total, back = costs[0], []
        for row in costs[1:]:
            ways = total[:, None] + player.switch * (1 - np.eye(24))
            back.append(ways.argmin(axis=0))
            total = ways.min(axis=0) + row
        keys = [int(total.argmin())]
        for came in reversed(back):
            keys = [int(came[keys[0]]), *keys]
        self.key = [k for (b, e, _), k in zip(self.spans, keys, strict=True) for _ in range(e - b)]
        self.span = [i for i, (b, e, _) in enumerate(self.spans) for _ in range(e - b)]
        weights, self.goals = [self._weight(b) for b in range(len(heard))], []
        for beat in sorted(range(len(weights)), key=lambda b: -weights[b]):
            if weights[beat] and all(abs(beat - g) >= player.goal_gap * bar for g in self.goals):
                self.goals.append(beat)
        self.goals.sort()

    def _weight(self, beat: int) -> float:
        here, i = self.heard[beat], self.span[beat]
        on_four = 0.8 * (here.count == 0 and here.bar % 4 == 0)
        if not i or self.spans[i][0] != beat or here.chord.root is None:
            return on_four
        before, family = self.spans[i - 1][2], FAMILY.get(here.chord.kind, "7")
        down = ((before.root or 0) - here.chord.root) % 12
        led = {"7": down in {7, 1} or (down == 10 and family in "Mm"), "o": down == 11}
        home = here.chord.root == self.key[beat] % 12
        if led.get(FAMILY.get(before.kind, ""), False) and (family in "Mm" or home):
            return (3.0 if home else 1.8) - (here.count > 0)
        moved = 1.6 * (self.key[beat] != self.key[beat - 1])
        return max(1.5 * on_four, moved) * (here.count == 0)

    def tones(self, beat: int) -> set[int]:
        return set(_tones(self.heard[beat].chord))

    def scale(self, beat: int) -> frozenset[int]:
        tonic, minor = self.key[beat] % 12, self.key[beat] >= 12
        tones = {(t - tonic) % 12 for t in self.tones(beat)}
        home = self.heard[beat].chord.root == tonic
        seventh, sixth = 11 - (10 in tones and (minor or home)), 9 - (minor and not (9 in tones and home))  # fmt: skip
        return frozenset((tonic + i) % 12 for i in (0, 2, 4 - minor, 5, 7, sixth, seventh))


class _Hand:
    """Writes a stretch; beats are counted from the beginning of what was heard."""

    def __init__(self, ear: _Ear, first: int, beats: int, rng, player, *, soloing: bool) -> None:
        self.ear, self.rng, self.player = ear, rng, player
        self.first, self.last = first * STEPS_PER_BEAT, (first + beats) * STEPS_PER_BEAT
        self.low, self.high = (31, 67) if soloing else (28, 55)
        self.middle = player.solo_middle if soloing else player.walk_middle
        self.now, self.up = round(self.middle + rng.normal(0, 3)), int(rng.choice((-1, 1)))
        self.told, self.blue = -1, ()  # the last chord that was told; a blues scale for a phrase
        self.notes, self.motifs = [], []

    def chance(self, share: float) -> bool:
        return self.rng.random() < share

    def add(self, step: int, length: float, pitch: int, *, ghost: bool = False) -> None:
        loud = self.rng.normal(self.player.loud, self.player.spread) * (0.34 if ghost else 1)
        wrong = int(self.rng.choice((-1, 1, -2, 2))) if self.chance(self.player.wrong) else 0
        pitch, end = int(np.clip(pitch + wrong, self.low, self.high)), step + max(2, round(length))
        if self.first <= step < self.last:
            self.notes.append(LineNote(step, min(end, self.last), pitch, int(np.clip(loud, 12, 124))))  # fmt: skip

    def pool(self, classes) -> np.ndarray:
        return np.array([p for p in range(self.low, self.high + 1) if p % 12 in classes])

    def near(self, classes, to: float, loose: float = 0.0) -> int:
        pool = self.pool(classes or {round(to) % 12})
        costs = abs(pool - to) + 0.012 * (pool - self.middle) ** 2
        return int(pool[np.argmin(costs + loose * self.rng.exponential(size=len(pool)))])

    def moved(self, pitch: int, steps: int, beat: int) -> int:
        ladder = self.pool(
            {(self.ear.key[beat] + i) % 12 for i in self.blue} or self.ear.scale(beat)
        )
        at = abs(int(np.argmin(abs(ladder - pitch))) + steps)
        return int(ladder[max(0, min(at, 2 * len(ladder) - 2 - at))])

    def telling(self, pitch: int, beat: int) -> int | None:
        fresh, self.told = self.told != self.ear.span[beat], self.ear.span[beat]
        out = self.ear.tones(beat) - self.ear.scale(beat)
        return self.near(out, pitch) if fresh and out and self.chance(self.player.telling) else None

    def goal_pitch(self, beat: int, to: float) -> int:
        tones = _tones(self.ear.heard[beat].chord)[:3]
        if not tones or not self.chance(self.player.aim):
            return self.moved(round(to), int(self.rng.integers(-1, 2)), beat)
        return self.near({tones[self.rng.choice(3, p=self.player.goals) % len(tones)]}, to, 1.0)

    def motif(self) -> tuple:
        """Steps in all, onsets and lengths, moves by scale steps: known, along the scale or new."""
        rng, player, beats = self.rng, self.player, int(self.rng.choice((2, 3, 4, 4)))
        if self.motifs and self.chance(player.memory):
            return self.motifs[-1 - int(rng.integers(min(3, len(self.motifs))))]
        way = 1 if self.now < self.middle + rng.normal(0, 7) else -1
        if self.chance(player.run):
            moves = (way * rng.choice((1, -2), size=2 * beats, p=(0.86, 0.14))).tolist()
            return beats * 12, [(6 * i, 6) for i in range(2 * beats)], moves
        rhythm, at = [], 0
        while at < beats:
            cell = int(rng.choice(len(CELLS), p=player.cells))
            if at + CELL_BEATS[cell] <= beats:
                rhythm += [(at * STEPS_PER_BEAT + on, length) for on, length in CELLS[cell]]
                at += CELL_BEATS[cell]
        sizes = rng.choice((1, 2, 0, 3), size=len(rhythm) or 1, p=(0.9 - player.thirds, player.thirds, 0.07, 0.03))  # fmt: skip
        ways = way * np.cumprod(rng.choice((1, -1), size=len(sizes), p=(0.75, 0.25)))
        self.motifs.append((beats * 12, rhythm or [(0, 11)], [0, *(sizes * ways)[1:].tolist()]))
        return self.motifs[-1]

    def state(self, motif: tuple, at: int, pitch: int, until: int) -> None:
        player = self.player
        for (on, length), move in zip(motif[1], motif[2], strict=True):
            step, beat = at + on, (at + on) // STEPS_PER_BEAT
            if step >= until:
                return
            pitch = sounded = self.moved(pitch, move, beat)
            tones, strong, told = self.ear.tones(beat), step % 12 == 0, self.telling(pitch, beat)
            if told is not None and abs(told - pitch) <= 4:
                sounded = told
            elif strong and pitch % 12 not in tones and self.chance(0.7 * player.heed):
                beside = [self.moved(pitch, d, beat) for d in (-self.up, self.up)]
                pitch = sounded = next((p for p in beside if p % 12 in tones), pitch)
            elif not strong and abs(pitch - self.now) == 2 and self.chance(player.passing):
                sounded = (pitch + self.now) // 2
            long, self.now, weak = min(length * player.legato, until - step), sounded, not strong
            self.add(step, long, sounded, ghost=weak and self.chance(player.ghost))

    def fill(self, at: int, until: int) -> int:
        rng, until = self.rng, min(until, self.last)
        while at < until:
            beat, motif, on = at // STEPS_PER_BEAT, self.motif(), self.chance(self.player.heed)
            pull = self.now + 0.25 * (self.middle - self.now) + rng.normal(0, 2)
            start = self.near(self.ear.tones(beat), pull, 1.0) if on else self.moved(round(pull), 0, beat)  # fmt: skip
            by = int(rng.choice((-1, 1, -2, 2, 0), p=(0.4, 0.25, 0.12, 0.08, 0.15)))
            for _ in range(int(rng.choice((1, 2, 3, 4), p=(0.3, 0.4, 0.2, 0.1)))):
                self.state(motif, at, start, until)
                at, start = at + motif[0], self.moved(start, by, min(at, until) // STEPS_PER_BEAT)
        return until

    def land(self, beat: int, lead: int) -> int:
        """Runs into a goal over ``lead`` steps and lands; gives the step where it is over."""
        rng, player = self.rng, self.player
        goal, grid, self.up = self.goal_pitch(beat, self.now), int(rng.choice((6, 6, 6, 12))), int(rng.choice((-1, -1, 1)))  # fmt: skip
        shares = np.array((player.push, 1, 0.6 * player.late, 0.4 * player.late))
        at = beat * STEPS_PER_BEAT + int(rng.choice((-6, 0, 6, 12), p=shares / shares.sum()))
        side = (1 if self.now > goal else -1) * (-1 if self.chance(0.15) else 1)
        for n in range(max(1, lead // grid), 0, -1):
            step = min(at, beat * STEPS_PER_BEAT) - n * grid
            pitch = self.moved(goal, side * n, max(0, step // STEPS_PER_BEAT))
            half = n == 1 and self.chance(player.half_step)
            self.add(step, grid * player.legato, goal + self.up if half else pitch)
        over = at + int(rng.choice((6, 12, 18, 24, 36), p=(0.15, 0.3, 0.25, 0.2, 0.1)))
        self.add(at, over - at, goal)
        self.now, self.told = goal, self.ear.span[beat]
        return over

    def solo(self, *, amid: bool) -> list[LineNote]:
        rng, player, at = self.rng, self.player, self.first
        at += 6 * int(rng.exponential(player.rest)) * (amid or self.chance(0.3))
        while at < self.last:
            room = round(12 * max(2.0, rng.gamma(4, player.phrase / 4)))
            sweet = self.ear.key[at // 12] < 12 and self.chance(0.5)
            self.blue = (SWEET_BLUES if sweet else BLUES) if self.chance(player.blue) else ()
            reach = min(1.5 * room, self.last - at)
            within = [g for g in self.ear.goals if 18 <= g * 12 - at <= reach]
            lead = int(rng.choice((6, 12, 18, 24)))
            lead = min(lead, within[-1] * 12 - at - 6) if within else -room
            until = self.fill(at, (within[-1] * 12 - 6 if within else at) - lead)
            at = self.land(within[-1], lead) if within else until
            long = 8 * rng.integers(1, 4) * self.chance(player.long_rest)
            at += 6 * round(2 * rng.exponential(player.rest) + long)
            at += -at % 6 + 6 * (at % 12 == 6 and self.chance(0.5))
        return self.notes

    def roots(self) -> list[int]:
        ear, wanted = self.ear, set(self.ear.goals)
        for b in range(1, len(ear.heard)):
            fresh = ear.span[b] != ear.span[b - 1]
            share = self.player.root * (1 if fresh else 0.5 * (ear.heard[b].count == 0))
            wanted |= {b} if ear.key[b] != ear.key[b - 1] or self.chance(share) else set()
        return [*sorted(wanted), len(ear.heard) - 1]

    def bass(self, beat: int) -> int:
        of, to, sure = (
            self.ear.heard[beat].chord.bass,
            self.now + 2 * self.up,
            self.player.aim + 0.1,
        )
        return self.goal_pitch(beat, to) if of is None or not self.chance(sure) else self.near({of}, to, 1.0)  # fmt: skip

    def lead_in(self, beat: int, target: int) -> int:
        side, half = 1 if self.now > target else -1, self.chance(self.player.half_step)
        step = target + side if half else self.moved(target, side, beat)
        return self.moved(target, -side, beat) if step == self.now else step

    def on_the_way(self, beat: int, left: int, target: int) -> int:
        player, count = self.player, self.ear.heard[beat].count
        if not self.low + 2 <= self.now <= self.high - 3 or self.chance(player.turn):
            self.up = 1 if self.now < self.middle + self.rng.normal(0, 3) else -1
        self.up = (
            int(np.sign(target - self.now)) if abs(target - self.now) > 2.2 * left else self.up
        )
        pitch, tones = self.moved(self.now, self.up, beat), self.ear.tones(beat)
        told = self.telling(pitch, beat)
        if told is not None or self.chance(player.repeat):
            return told or self.now
        strong = count == 0 or self.ear.spans[self.ear.span[beat]][0] == beat
        if tones and self.chance(player.heed * (1 if strong else 0.5)):
            return self.near(tones, pitch + self.up, 0.8)
        return self.near(tones, self.now + 5 * self.up, 0.8) if tones and self.chance(player.leap) else pitch  # fmt: skip

    def walk(self, *, in_two: bool) -> list[LineNote]:
        player, wanted, aimed, target = self.player, self.roots(), -1, 0
        for step in range(self.first, self.last, STEPS_PER_BEAT):
            beat, ahead = step // 12, next(w for w in wanted if 12 * w >= step)
            if ahead != aimed:
                aimed, target = ahead, self.bass(ahead)
            pitch = target
            if ahead > beat:
                close = ahead - beat == 1 and self.chance(0.85)
                pitch = self.lead_in(beat, target) if close else self.on_the_way(beat, ahead - beat, target)  # fmt: skip
            self.now, self.told = pitch, self.ear.span[beat]
            early = 6 * (ahead == beat and self.chance(player.walk_push))
            weak = in_two and self.ear.heard[beat].count % 2 and self.chance(0.85)
            if weak or (not early and self.chance(player.pause)):
                continue
            self.add(step - early, 12 * (1 + in_two) * player.legato + early, pitch)
            if self.chance(player.skip):
                self.add(step + int(self.rng.choice((6, 6, 8))), 4, pitch, ghost=self.chance(0.4))
        return self.notes


def _heard(form: Form, start: int, stop: int) -> list[Heard]:
    spots = [form.at(b * STEPS_PER_BEAT).spot for b in range(form.beats)]
    bars = np.cumsum([int(s.beat) == 1 for s in spots]) - 1
    around = [Heard(s.chord, int(s.beat) - 1, int(b)) for s, b in zip(spots, bars, strict=True)]
    return [around[b % form.beats] for b in range(start, stop)]


def _play(form, start, stop, rng, player, *, soloing, heard=None) -> list[LineNote]:
    key, bar = form.chart.key, form.chart.meter.beats
    home = pitch_class(key.tonic) + 12 * key.minor
    ear = _Ear(heard or _heard(form, start - 4 * bar, stop + 8 * bar), bar, home, player)
    hand = _Hand(ear, 4 * bar, stop - start, rng, player, soloing=soloing)
    in_two = player.in_two and start < form.beats and bar == 4
    notes = hand.solo(amid=start % form.beats > 0) if soloing else hand.walk(in_two=in_two)
    by = (start - 4 * bar) * STEPS_PER_BEAT
    return [n._replace(step=n.step + by, end_step=n.end_step + by) for n in monophonic(notes)]


def walk(form: Form, start: int, stop: int, rng: np.random.Generator, player) -> list[LineNote]:
    """Walking over the beats from ``start`` to ``stop`` of a form."""
    return _play(form, start, stop, rng, player, soloing=False)


def solo(form: Form, start: int, stop: int, rng: np.random.Generator, player) -> list[LineNote]:
    """A solo over the beats from ``start`` to ``stop`` of a form."""
    return _play(form, start, stop, rng, player, soloing=True)


def _misheard(form: Form, start: int, stop: int, rng, way: str) -> list[Heard]:
    bar, made, move = form.chart.meter.beats, [], int(rng.choice((1, 3, 4, 6, 8, 10, 11)))
    true = _heard(form, start - 4 * bar, stop + 8 * bar)
    while len(made) < len(true):
        here, root, ahead = true[len(made)], int(rng.integers(12)), int(rng.integers(form.beats))
        each, steps = int(rng.choice((bar, 2 * bar))), CADENCES[int(rng.random() < 0.4)]
        if way == "hopping":
            made += _heard(form, ahead, ahead + int(rng.integers(2, bar + 3)))
            continue
        if way == "one motif":
            each, steps, root = len(true), ((0, "m7"),), pitch_class(form.chart.key.tonic) + move
        elif way == "keys off by one move":
            root, each, steps = (here.chord.root or 0) + move, 1, ((0, here.chord.kind),)
        chords = [chord(NAMES[(root + up) % 12] + kind) for up, kind in steps for _ in range(each)]
        made += [t._replace(chord=c) for t, c in zip(true[len(made) :], chords, strict=False)]
    return made[: len(true)]


def adrift(form: Form, start: int, stop: int, rng, player, way: str, play) -> list[LineNote]:
    """A stretch that fits the form nowhere, walking or solo as ``play`` is."""
    soloing = play is solo or (play is not walk and bool(rng.random() < 0.5))
    none = dict.fromkeys(("heed", "aim", "root", "telling"), 0.0)
    other = {"no goal": none, "one motif": {"memory": 0.97, "blue": 0.0}}.get(way, {})
    heard, lost = (
        _misheard(form, start, stop, rng, way),
        SimpleNamespace(**{**vars(player), **other}),
    )
    return _play(form, start, stop, rng, lost, soloing=soloing, heard=heard)
