"""A player from Latin and dance bands, who hears the harmony an eighth to a beat early.

Walking: bars of plain quarters, of root and fifth, of dotted figures, and bars whose first note was
struck before the line and is tied over, so that beat one is silent; now and then all the bars of a
section are pushed. Solo: ideas of one to four bars (clave cells, broken chords, call and response,
runs, repeated figures, eighth lines, long notes) with breath between. Every change of chord comes
early, in time or late in the player's ear, and the notes follow the ear. Adrift the ear follows
other chords, or the rhythm goes on while the hand strays or goes round. Pitches: 28 to 67.
"""

# ruff: noqa: PLR0917 -- a player is asked for a line by place, chance, habits and way

from functools import partial
from itertools import pairwise
from types import SimpleNamespace

import numpy as np

from linecheck.terms import STEPS_PER_BEAT
from tests.synthetic.charts import NAMES, chart, chord, scale
from tests.synthetic.lines import LineNote

ADRIFT_WAYS = ("another tune", "shifted hand", "hopping", "one figure", "straying")
HALF = 6  # an eighth: the grain of the ear
TEXTURES = ("quarters", "halves", "dotted", "tumbao")
DEAD = -99  # the accent of a dead note
IDEAS = ("clave", "montuno", "answer", "run", "figure", "swing", "long")
# Onsets of two bars, by the length of a bar in steps.
# fmt: off
CLAVE = {
    48: ((0, 18, 36, 60, 72), (12, 24, 48, 66, 84), (0, 18, 42, 60, 72), (12, 24, 30, 48, 66, 90), (0, 18, 36, 60, 78), (6, 18, 36, 54, 66, 84), (0, 12, 18, 30, 42, 60, 66, 78, 90), (0, 18, 30, 42, 66), (0, 6, 18, 36, 48, 54, 66, 84)),
    36: ((0, 18, 36, 54), (0, 18, 30, 48, 60), (12, 24, 36, 54), (0, 6, 18, 36, 48, 66), (6, 18, 30, 54)),
}
MONTUNO = {
    48: ((0, 12, 18, 30, 42, 54, 66, 78, 90), (0, 6, 18, 30, 42, 54, 66, 78, 90), (0, 12, 18, 24, 30, 42, 54, 60, 66, 78, 90), (6, 18, 24, 36, 42, 54, 66, 72, 84, 90)),
    36: ((0, 6, 18, 30, 42, 54, 66), (0, 12, 18, 30, 36, 42, 54, 66), (0, 12, 18, 30, 42, 48, 60, 66)),
}
LONG = {48: ((0, 42), (18, 66), (0, 36, 72), (6, 42, 90), (0, 60)), 36: ((0, 30), (18, 48), (0, 66))}
SHAPES = ((0, 2, 1, 2), (2, 1, 0, 1), (0, 3, 1, 3, 2), (3, 2, 1, 2, 0), (0, 1, 2, 3, 2, 1), (3, 0, 2, 1))
CONTOURS = ((0, 1, 2, 1), (0, 2, 1, -1), (2, 1, 0), (0, 0, 1, 0), (1, 0, -1, 0, 1), (0, -1, 1, 2, 0))
# Habits drawn evenly between two ends.
HABITS = {
    "loud": (62, 96), "spread": (3, 11), "legato": (0.65, 0.98), "tied": (0.05, 0.7), "whole_beat": (0.1, 0.9),
    "section_push": (0, 0.1), "stay": (0.4, 0.9), "root": (0.6, 0.97), "approach": (0.2, 0.9), "chromatic": (0.1, 0.8),
    "skip": (0, 0.14), "ghost": (0, 0.1), "walk_centre": (36, 43), "solo_centre": (44, 55), "rest": (0.3, 4),
    "drop": (0, 0.15), "guide": (0.1, 0.7), "repeat": (0, 0.25), "neighbour": (0.05, 0.4), "passing": (0.3, 0.8), "triplet": (0, 0.2), "end_early": (0.3, 0.95), "reach": (1.8, 4.5),
}
# fmt: on


def charts():
    """Fifteen charts that stand nowhere else."""
    return [
        chart("Salt on the Counter", "C", "A", {"A": "C9 | F9 | C9 | Gm7 C7 | F9 | Fm6 | C6 | Em7 A7b9 | Dm7 | G7sus G7 | C6 Eb7 | Ab7 G7"}),
        chart("Banana Crate Blues", "Eb", "A", {"A": "Eb7 | Ab7 | Eb7 | % | Ab7 | % | Eb7 | C7alt | B7 | Bb7 | Eb7 Gb7 | F7 Bb7"}),
        chart("Blue Awning", "Fm", "A", {"A": "Fm6 | Gm7b5 C7b9 | Fm6 | F7b9 | Bbm6 | % | Fm6 | Db9 | Gm7b5 | C7alt | Fm6 Db9 | C7#5"}),
        chart("The Parrot's Cousin", "Gm", "AABA", {"A": "Gm7 | Gmmaj7 | Gm7 | Gm6 | Cm7 | Am7b5 D7 | Gm6 | D7b9", "B": "Fm7 Bb7 | Ebmaj7 | % | Abm7 Db7 | Gbmaj7 | % | Am7b5 | D7alt"}),
        chart("Rope Soles", "Ab", "AABA", {"A": "Abmaj7 | Bbm7 | Cm7 | Dbmaj7 | Dm7b5 G7b9 | Cm7 Bdim7 | Bbm7 Eb7 | Ab6", "B": "Em7 | A7 | Dmaj7 | Bm7 | Fm7b5 | Bb7b9 | Eb7sus | Eb7"}),
        chart("Hot Tin Stairs", "G", "AABA", {"A": "G6 E7 | Am7 D7 | G6 Bb7 | Am7 D7 | Dm7 G7 | C6 C#dim7 | G6/D E7b9 | Am7 D13", "B": "B7 | % | E9 | % | A9 | % | D7 | D7#5"}),
        chart("Late Mangoes", "D", "ABAC", {"A": "Dmaj7 | Gm6 | Dmaj7 | Am7 D7 | Gmaj7 | C9 | F#m7 | B7b9", "B": "E9 | % | Em7 | A7sus | F#m7 | Fdim7 | Em7 | A7", "C": "Em7 | Gm6 | F#m7 B7 | Em7 A7 | Bm7 | Bbaug | D6/A | A7b9"}),
        chart("Verandah, Empty", "Db", "ABAC", {"A": "Dbmaj7 | Bbm7 | Gbmaj7 | Ab7sus", "B": "Fm7 | Bb7alt | Ebm7 | Ab7", "C": "Abm7 | Db9 | Gbmaj7 Gbm6 | Ab7 Dbmaj7"}),
        chart("Flat Sea", "Am", "AABA", {"A": "Am7 | % | % | % | % | % | % | %", "B": "Bbmaj7#11 | % | % | % | Gm7 | % | % | %"}),
        chart("Two Fans Turning", "E", "AB", {"A": "E7sus | % | % | % | G7sus | % | % | %", "B": "C#m7 | % | Cmaj7#11 | % | B7sus | % | B7alt | %"}),
        chart("Waltz of the Nets", "Dm", "AABA", {"A": "Dm6 | Bm7b5 | Em7b5 | A7 | Dm7 | Gm7 | Em7b5 / A7b9 | Dm6", "B": "Gm7 | C7 | Fmaj7 | Bbmaj7 | Em7b5 | A7 | D7 | A7#5"}, beats=3),
        chart("Swing Boat in Three", "B", "AB", {"A": "Bmaj7 | % | C#m7 | F#7 | D#m7 | G#7 | C#m7 | F#7sus", "B": "Emaj7 | Em6 | D#m7 | Ddim7 | C#m7 | F#7b9"}, beats=3),
        chart("Eight for the Door", "Cm", "A", {"A": "Cm7 Bb7 | Abmaj7 G7 | Cm7 F9 | Bb7sus Bb7 | Ebmaj7 D7 | G7sus G7b9 | Cm6 A7 | D7 G7"}),
        chart("Twenty Lemons", "F", "ABC", {"A": "Fmaj7 | Ebmaj7 | Fmaj7 | Ebmaj7 | Dm7 | Dbmaj7 | Gm7 | C7sus", "B": "Am7b5 | D7b9 | Gm7 | Bbm6", "C": "F6/C | Dm7 | Gm7 C7 | Am7 Ab7 | Gm7 | Gb7 | F6 | C7"}),
        chart("Sixteen and Out", "Gb", "AB", {"A": "Gbmaj7 Cb7 | Bbm7 Eb7 | Abm7 Db7 | Gb6 | Abm7 | Adim7 | Bbm7 | Eb7b9", "B": "Cbmaj7 | F7 Bb7 | Ebm7 | Ab9 | Abm7 Db7sus | Bbm7b5 Eb7 | Abm7 Db7b9 | Gb6 Db7"}),
    ]  # fmt: skip


def draw_player(rng: np.random.Generator) -> SimpleNamespace:
    """A player: from careful to weak, the other habits as they come."""
    weak = float(rng.beta(1.1, 1.5))
    habits = {name: float(rng.uniform(*ends)) for name, ends in HABITS.items()}
    early = rng.dirichlet((1.6, 2.6, 1.4))  # in time, an eighth early, a beat early
    return SimpleNamespace(
        leads=early * (1 - 0.2 * weak), late=0.2 * weak, missed=0.12 * weak * rng.random(),
        wrong=0.1 * weak * rng.random(), stray=0.3 * rng.random(),
        textures=rng.dirichlet((3.2, 1.0, 1.1, 1.1)), ideas=rng.dirichlet((1.4, 1.2, 1, 1, 1.1, 1.1, 0.5)),
        **habits,
    )  # fmt: skip


def _ear(of) -> SimpleNamespace:
    tones = tuple(t.pitch_class for t in of.tones) or scale(of)
    return SimpleNamespace(
        bass=tones[0] if of.bass is None else of.bass, tones=tones, run=scale(of)
    )


class _Hand:
    """Writes a line; positions are steps from the beginning of the bar in which it starts."""

    def __init__(self, form, start, stop, rng, player, *, soloing, other=None) -> None:
        where = form.at(start * STEPS_PER_BEAT)
        self.origin = where.begins + where.spot.bar_begins
        self.first, self.end = (b * STEPS_PER_BEAT - self.origin for b in (start, stop))
        self.rng, self.player, self.bars = rng, player, [0]
        while self.bars[-1] < self.end + 200:
            long = form.at(self.origin + self.bars[-1]).spot.bar.meter.beats * STEPS_PER_BEAT
            self.bars.append(self.bars[-1] + long)
        steps = range(self.origin, self.origin + self.bars[-1], HALF)
        laid = [other(s) if other else form.at(s).spot.chord for s in steps]
        known = {c.symbol: _ear(c) for c in laid}
        self.plain = [known[c.symbol] for c in laid]
        self.heard = self.listen()
        self.key = scale(chord(form.chart.key.tonic + ("m7" if form.chart.key.minor else "maj7")))
        self.low, self.high = (31, 67) if soloing else (28, 54)
        self.centre = player.solo_centre if soloing else player.walk_centre
        self.now, self.up = int(self.centre + rng.normal(0, 3)), int(rng.choice((-1, 1)))
        self.struck: dict[int, tuple[int, int]] = {}  # step: pitch and accent

    def chance(self, share: float) -> bool:
        return self.rng.random() < share

    def one_of(self, things):
        return things[int(self.rng.integers(len(things)))]

    def listen(self) -> list:
        """The chords as the ear takes them: each change early, in time, late or missed."""
        player, heard, plain = self.player, list(self.plain), self.plain
        turns = [i for i in range(1, len(plain)) if plain[i] is not plain[i - 1]]
        for i, after in pairwise([*turns, len(plain)]):
            lead = int(self.rng.choice((0, 1, 2, -2), p=(*player.leads, player.late)))
            lead = i - after if after - i <= 8 and self.chance(player.missed) else lead
            heard[max(0, i - max(0, lead)) : i] = [plain[i]] * min(i, max(0, lead))
            heard[i : min(after, i - lead)] = heard[i - 1 : i] * max(0, min(after - i, -lead))
        return heard

    def ear(self, step: int, *, plain=False) -> SimpleNamespace:
        return (self.plain if plain else self.heard)[max(0, min(len(self.plain) - 1, step // HALF))]

    def pick(self, classes, around: float | None = None, reach=3.0, *, same=0.25) -> int:
        """A pitch of some classes, likelier near ``around`` and near the middle of the neck."""
        pool = np.array([p for p in range(self.low, self.high + 1) if p % 12 in classes])
        cost = abs(pool - (self.now if around is None else around)) / reach
        cost += 0.006 * (pool - self.centre) ** 2
        sums = np.cumsum(np.exp(cost.min() - cost) * np.where(pool == self.now, same, 1))
        return int(pool[min(len(pool) - 1, np.searchsorted(sums, self.rng.random() * sums[-1]))])

    def strike(self, step: int, pitch: int, accent: int = 0) -> None:
        if self.chance(self.player.wrong):
            pitch += int(self.rng.choice((-2, -1, 1, 2)))
        self.now = int(min(self.high, max(self.low, pitch)))
        self.struck[step] = self.now, accent

    def turn(self, share: float) -> None:
        if abs(self.now - self.centre) > 8 or self.chance(share):
            self.up = 1 if self.now < self.centre else -1

    def walk(self) -> None:
        rng, player, texture, pushed, early = self.rng, self.player, "", 0, 0
        goal = self.pick((self.ear(0, plain=True).bass,))
        for begin, stop in pairwise(self.bars):
            if not texture or not self.chance(player.stay):
                texture = str(rng.choice(TEXTURES, p=player.textures))
            pushed = pushed - 1 if pushed else 8 * self.chance(player.section_push)
            tied, share = early > 0, player.tied * (1.4 if texture == "tumbao" else 0.5)
            share = 0.93 if pushed else share
            half = pushed or not self.chance(player.whole_beat)
            early = (HALF if half else 12) * int(self.chance(share))
            goal = self.walk_bar(begin, stop - begin, texture, early, goal, tied=tied)

    def onsets(self, begin: int, long: int, texture: str) -> tuple[set[int], set[int]]:
        cell = {"quarters": (0, 12, 24, 36), "halves": (0, 24)}.get(texture, (0, 18, 36))
        cell = (0,) if texture == "halves" and long == 36 and self.chance(0.5) else cell
        onsets = {b + s for b in range(0, long, 48) for s in cell if b + s < long}
        roots = set()
        for s in range(begin + HALF, begin + long, HALF):
            if self.ear(s, plain=True) is not self.ear(s - HALF, plain=True):
                at = s - begin
                early = at - HALF in onsets or self.chance(self.player.tied * 0.35)
                roots.add(at - HALF * int(early))
                onsets.discard(at)
        return onsets | roots, roots

    def walk_bar(self, begin, long, texture, early, goal, *, tied) -> int:
        """A bar that begins on ``goal``; tells the pitch that the next one begins on."""
        onsets, roots = self.onsets(begin, long, texture)
        if early:
            onsets = {s for s in onsets if s < long - max(early, 12 * self.chance(0.5))}
        ahead = self.ear(begin + long, plain=True)
        root = self.chance(self.player.root)
        following = self.pick((ahead.bass,) if root else ahead.tones[1:3], reach=4, same=0.5)
        for at, after in pairwise([*sorted(onsets - {0} if tied else onsets), long - early]):
            ear, last = self.ear(begin + at), after == long - early
            if at == 0:
                pitch = goal
            elif at in roots:
                pitch = self.pick((self.ear(begin + at + HALF, plain=True).bass,))
            elif texture != "quarters":
                pitch = self.pick(
                    ear.tones[2:3] or ear.tones if self.chance(0.72) else ear.tones, reach=4
                )
            elif last and self.chance(self.player.approach):
                pitch = self.approach(following, ear)
            else:
                pitch = self.between(ear, following)
            if not self.chance(self.player.drop * 0.1):
                self.strike(begin + at, pitch, 4 if at % 24 == 12 else 0)
                self.fill(begin + at, after - at)
        if early:
            self.strike(begin + long - early, following, 6)
        return following

    def between(self, ear, goal: int) -> int:
        self.turn(0.1)
        self.up = self.up if self.chance(0.85) else 1 if goal > self.now else -1
        if self.chance(self.player.passing * 0.6):
            return self.pick(ear.run, self.now + 2 * self.up, 1.2, same=0.05)
        return self.pick(ear.tones, self.now + 4 * self.up, 2.5, same=0.1)

    def approach(self, goal: int, ear) -> int:
        side = 1 if self.now > goal else -1
        if self.chance(self.player.chromatic):
            return goal + (side if self.chance(0.8) else -side)
        if self.chance(0.4):
            return goal + (7 if goal + 7 <= self.centre + 6 else -5)
        return self.pick([c for c in ear.run if c != goal % 12], goal + 2 * side, 0.8)

    def fill(self, step: int, gap: int) -> None:
        if gap == 12 and self.chance(self.player.skip):
            self.struck[step + (8 if self.chance(0.2) else 6)] = self.now, -10
        elif gap == 12 and self.chance(self.player.ghost):
            self.struck[step + 6] = self.now, DEAD

    def solo(self) -> None:
        rng, player, bar, free, kind = self.rng, self.player, 0, 0, ""
        while self.bars[bar] < self.end:
            if not kind or self.chance(0.8):
                kind = str(rng.choice(IDEAS, p=player.ideas))
            count = self.one_of({"figure": (2, 3, 4, 4), "run": (1, 2)}.get(kind, (2,)))
            marks, bar = self.bars[bar : bar + count + 1], min(bar + count, len(self.bars) - 1)
            if marks[-1] - free > 12 and len(marks) > 2 - (kind == "run"):
                getattr(self, f"idea_{kind}", self.idea_cell)(marks, max(free, marks[0]), kind)
                free = marks[-1] + 12 * (int(rng.exponential(player.rest)) - int(rng.integers(3)))

    def rhythm(self, table, marks, free: int) -> list[int]:
        """Onsets of a cell of two bars, some left out, none before ``free``."""
        long = marks[1] - marks[0]
        cell = self.one_of(table.get(long, (range(0, 2 * long, 18), range(0, 2 * long, 30))))
        return [
            s
            for s in (marks[0] + c for c in cell)
            if s >= free and not self.chance(self.player.drop)
        ]

    def colour(self, step: int, around=None, reach=None, *, fresh: bool) -> int:
        """A chord tone for a solo; at a fresh chord the third or seventh is sought."""
        ear, player = self.ear(step), self.player
        if self.chance(player.stray):
            return self.pick(self.key if self.chance(0.5) else ear.run, around, 2)
        if fresh and self.chance(0.8):
            return self.pick(ear.tones[self.chance(player.guide) :: 2], around, 5)
        return self.pick(ear.tones, around, reach or player.reach, same=player.repeat * 2)

    def say(self, onsets, contour=()) -> None:
        """Chord tones on the onsets, with neighbours between; with a contour, along it."""
        before = None
        for i, (at, after) in enumerate(pairwise([*onsets, 10**6])):
            ear, self_up = self.ear(at), 3.5 * contour[i % len(contour)] if contour else 2 * self.up
            near = i and after - at <= 12 and self.ear(after) is ear
            if near and self.chance(self.player.neighbour):
                pitch = self.pick(ear.run, self.now + self.up, 1, same=0)
            else:
                pitch = self.colour(at, self.now + self_up, fresh=ear is not before)
            self.turn(0.25)
            self.strike(at, pitch, 5 if at % 12 else 0)
            before = ear

    def idea_cell(self, marks, free, kind) -> None:
        self.say(self.rhythm(LONG if kind == "long" else CLAVE, marks, free))

    def idea_montuno(self, marks, free, _kind) -> None:
        shape, grip, before = self.one_of(SHAPES), [self.now - 4], None
        for i, at in enumerate(self.rhythm(MONTUNO, marks, free)):
            ear = self.ear(at)
            if ear is not before:  # the hand takes the nearest grip of the new chord
                base = self.pick(ear.tones, max(self.low + 1, min(grip[0], 52)), 1.2, same=1)
                grip = [p for p in range(base, min(base + 18, 68)) if p % 12 in ear.tones]
                before = ear
            self.strike(at, grip[shape[i % len(shape)] % len(grip)], 4 if at % 12 else 0)

    def idea_answer(self, marks, free, _kind) -> None:
        contour = self.one_of(CONTOURS)
        cell = [s for s in self.rhythm(CLAVE, marks, 0) if s < marks[1] - HALF]
        self.say([s for s in cell if s >= free], contour)
        moved = marks[1] - marks[0] + HALF * int(self.chance(0.3))
        answer = [s + moved for s in cell if s + moved >= free]
        self.say(answer[:-1], [-c for c in contour])
        if answer:
            self.strike(answer[-1], self.pick(self.ear(answer[-1]).tones[:2], reach=2), 2)

    def idea_run(self, marks, free, _kind) -> None:
        stop = marks[-1] - HALF * int(self.chance(self.player.end_early))
        at = max(free, stop - 12 * int(self.rng.integers(2, 4 * len(marks) - 3)))
        self.up = 1 if self.now < self.centre else -1
        self.strike(at, self.colour(at, fresh=True))
        pace = 4 if self.chance(self.player.triplet) else HALF
        while (at := at + (pace if at % 12 + pace <= 12 else HALF)) < stop:
            self.turn(0.05)
            goal = self.now + self.up * (4 if self.chance(0.12) else 2)
            self.strike(at, self.pick(self.ear(at).run, goal, 0.6, same=0.01))
        self.strike(stop, self.pick(self.ear(stop).tones, self.now + self.up, 1.5), 7)

    def idea_figure(self, marks, free, _kind) -> None:
        cell = {s - marks[0] for s in self.rhythm(CLAVE, marks, 0) if s < marks[1]}
        while len(cell) < 3 or self.chance(0.4):
            cell |= {HALF * int(self.rng.integers((marks[1] - marks[0]) // HALF))}
        line = {s: self.colour(marks[0] + s, fresh=s == min(cell)) for s in sorted(cell)}
        for begin in marks[:-1]:
            for s, pitch in line.items():
                if pitch % 12 not in (tones := self.ear(begin + s).tones):
                    line[s] = self.pick(tones, pitch, 1)
                if begin + s >= free:
                    self.strike(begin + s, line[s], 4 if s % 12 else 0)

    def idea_swing(self, marks, free, _kind) -> None:
        """Chord tones on the beats, and what lies between them; the last one early."""
        here, before = self.now, None
        for at in range(-(-free // 12) * 12, marks[-1], 12):
            self.turn(0.3)
            ear, around = self.ear(at), here + self.up * self.one_of((2, 3, 5))
            there = self.colour(at, around, 1.5, fresh=ear is not before)
            if before and not self.chance(self.player.drop):
                way = 1 if there > here else -1
                between = self.pick(self.ear(at - HALF).run, (here + there) / 2 + way, 1.3)
                half_step = self.chance(self.player.chromatic * 0.45)
                self.strike(at - HALF, there - way if half_step else between, 3)
            self.strike(at, there)
            here, before = self.now, ear
        if self.chance(self.player.end_early):
            self.strike(marks[-1] - HALF, self.pick(self.ear(marks[-1]).tones, reach=2), 7)

    def line(self) -> list[LineNote]:
        player, notes = self.player, []
        for at, after in pairwise([*sorted(s for s in self.struck if self.first <= s < self.end), self.end]):  # fmt: skip
            pitch, accent = self.struck[at]
            gap = min(after - at, 42 if self.chance(0.5) else 20)
            ends = at + max(2, round(gap * min(1, player.legato + self.rng.normal(0, 0.05))))
            loud = np.clip(self.rng.normal(player.loud + max(accent, -10), player.spread), 36, 122)
            ends, loud = (at + 2, player.loud / 3) if accent == DEAD else (min(ends, after), loud)
            notes.append(LineNote(self.origin + at, self.origin + ends, pitch, int(loud)))
        return notes


def _write(form, start, stop, rng, player, *, soloing, other=None) -> list[LineNote]:
    hand = _Hand(form, start, stop, rng, player, soloing=soloing, other=other)
    hand.solo() if soloing else hand.walk()
    return hand.line()


walk, solo = partial(_write, soloing=False), partial(_write, soloing=True)


def _believed(form, start: int, stop: int, rng: np.random.Generator, way: str):
    """The chord that a lost player takes a step for."""
    bar, made, begin = form.chart.meter.beats, [], max(0, start - 8)
    root, moves = int(rng.integers(12)), (5, 5, 7, 1, 3, 11, 8)
    if way == "straying":
        bar, moves = 2, (1, 1, 2, 11, 11, 10)
    while len(made) < stop - start + 60:
        root = (root + int(rng.choice(moves))) % 12
        guess = chord(NAMES[root] + str(rng.choice(("m7", "7", "maj7", "7", "m7b5", "m6"))))
        move, ahead = int(rng.choice((1, 3, 4, 6, 8, 9, 11))), int(rng.integers(form.beats))
        for _ in range(int(rng.choice((bar, bar, 2 * bar, max(1, bar // 2))))):
            beat = begin + len(made) + (ahead if way == "hopping" else 0)
            at = form.at(beat * STEPS_PER_BEAT).spot.chord if way in ADRIFT_WAYS[1:3] else guess
            shifted = way == "shifted hand" and at.root is not None
            made.append(chord(NAMES[(at.root + move) % 12] + at.kind) if shifted else at)
    return lambda step: made[max(0, step // STEPS_PER_BEAT - begin)]


def _fit(form, line: list[LineNote]) -> float:
    tones = [_ear(form.at(b * STEPS_PER_BEAT).spot.chord).tones for b in range(form.beats)]
    table = np.array([[c in of for c in range(12)] for of in tones])
    beats = np.array([(n.step + HALF) // STEPS_PER_BEAT for n in line])
    places = (np.arange(form.beats)[:, None] + beats) % form.beats
    return float(table[places, [n.pitch % 12 for n in line]].mean(axis=1).max())


def _lost(form, start, stop, rng, player, way, *, soloing) -> list[LineNote]:
    other = None if way == "one figure" else _believed(form, start, stop, rng, way)
    line = _write(form, start, stop, rng, player, soloing=soloing, other=other)
    if other is None:  # the rhythm goes on, the hand goes round on a few notes
        few = rng.choice(range(30, 42), int(rng.integers(3, 6)), replace=False)
        few += int(rng.integers(12)) + 12 * int(soloing)
        line = [n._replace(pitch=int(few[i % len(few)])) for i, n in enumerate(line)]
    return line


def adrift(form, start: int, stop: int, rng, player, way: str, play) -> list[LineNote]:
    """A stretch that fits the form nowhere: of a few tries the one that fits it least."""
    soloing = play is solo or (play is not walk and rng.random() < 0.5)
    tries = [_lost(form, start, stop, rng, player, way, soloing=soloing) for _ in range(4)]
    return min(tries, key=lambda t: _fit(form, t) if len(t) > 0.3 * (stop - start) else 2)
