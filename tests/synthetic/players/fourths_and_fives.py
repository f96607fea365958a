"""A modern player of intervals, who thinks in shapes and lets them run over the bar line.

A shape is a few places on a ladder of pitches: the scale of the chord, a five-note set put on its
root, second or fifth, or its tones. Groups of three and five eighths go up or down that ladder, or
are moved whole by half steps, so that accents fall elsewhere each time; between them stand plain
phrases of chord tones, and silence. Walking: the same shapes in quarters, fifths below the root,
broken tenths, dropped octaves and groups of three beats; the root comes on a change as often as
habit has it. Adrift he keeps his rhythm, but hears other chords, or lets the hands go on alone.
"""

# ruff: noqa: PLR0917 -- a player is asked for a line by place, chance, habits and way

from __future__ import annotations

from functools import lru_cache
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from linecheck.music.form import Form
from tests.synthetic.charts import NAMES, chart, chord, scale
from tests.synthetic.lines import LineNote, monophonic

if TYPE_CHECKING:
    from collections.abc import Callable

    from linecheck.terms import Chart

ADRIFT_WAYS = ("other tune", "hopping", "far key", "going round", "drifting shapes")
LOWEST, HIGHEST = 28, 67
EVERY = tuple(range(12))
SETS = {"M": (0, 2, 4, 7, 9), "m": (0, 3, 5, 7, 10), "s": (0, 3, 5, 7, 9)}  # s: minor, with a sixth
# Five-note sets by kind of chord: which, and the half steps above the root where it is put.
FIVES = {
    "": "M0 M7", "6": "M0 M7 M2", "maj7": "M0 M7 m4 M2", "maj7#11": "M2 M7 m4", "7": "M0 m7 m2 s7",
    "7sus": "m7 m2 M10 m0", "7b9": "m3 s10", "7alt": "m3 M6 s1", "m": "m0 m7", "m7": "m0 m7 m2",
    "m6": "s0 M7", "mmaj7": "s0 M7", "m7b5": "s3 m3", "9": "M0 m7 m2 s7", "13": "M0 m2 s7",
}  # fmt: skip
# Shapes of a group: the ladder, then places on it.
SHAPES = {
    "fourths": ("scale", ((0, 3, 6), (6, 3, 0), (0, 3, 6, 4, 1), (0, 3, 1, 4, 2), (6, 3, 5, 2, 4))),
    "fifths": ("scale", ((0, 4, 8), (8, 4, 0), (0, 4, 2), (0, 4, 8, 7, 3), (8, 4, 6, 2, 0))),
    "sixths": ("scale", ((0, 5, 1), (5, 0, 4), (0, 5, 3), (0, 5, 1, 6, 2), (5, 0, 4, -1, 3))),
    "fives": ("five", ((0, 1, 2), (2, 1, 0), (0, 2, 1), (0, 2, 4), (4, 2, 0), (0, 1, 2, 3, 4), (4, 3, 2, 1, 0), (0, 2, 1, 3, 2), (4, 2, 3, 1, 0), (0, 3, 2, 5, 4))),
    "wide": ("tones", ((0, 5, 2), (0, 5, 4), (5, 0, 2), (0, 4, 1), (0, 2, 5, 4, 2), (5, 2, 0, 4, 1))),
}  # fmt: skip
RHYTHMS = {  # lengths in units; below nothing is a rest
    3: ((1, 1, 1), (1, 1, 1), (2, 1), (1, 2), (1, 1, -1), (3,)), 2: ((1, 1), (2,)),
    5: ((1, 1, 1, 1, 1), (1, 1, 1, 2), (2, 1, 2), (1, 1, 1, 1, -1), (2, 1, 1, -1), (2, 3)), 4: ((1, 1, 1, 1), (1, 1, 2), (1, 1, 1, -1)),
}  # fmt: skip
CELLS = (((0, 12),), ((0, 6), (6, 6)), ((0, 4), (4, 4), (8, 4)), ((6, 6),), ((0, 30),), ((0, 6), (6, 18)))  # fmt: skip
# What is walked over one chord: the ladder ("fifth": root and fifth), then places from the first.
WALKS = {
    "plain": ("tones", ((0, 1, 2, 1), (0, 1, 2, 3), (0, 2, 1, 3), (0, -1, -2, -3), (0, 2, 3, 2))),
    "fourths": ("scale", ((0, 3, 6, 3), (0, -3, -6, -3), (0, 3, 1, 4), (0, -3, -1, -4))),
    "sixths": ("scale", ((0, 5, 1, 6), (0, -5, -1, -6), (0, 5, 4, 2), (0, -2, 3, 1))),
    "below": ("fifth", ((0, -1, 0, -1), (0, -1, 0, 1), (0, -1, -2, -1))),
    "tenths": ("tones", ((0, 5, 0, 2), (0, 5, 4, 2), (0, 5, 0, -1), (0, 2, 5, 2))),
    "octaves": ("fifth", ((0, -2, -1, -2), (0, 2, 1, 0), (0, 2, 0, 1), (0, -2, 0, -1))),
}  # fmt: skip
THREES = (("fifth", (0, 1, 2)), ("fifth", (0, -1, 0)), ("tones", (0, 5, 0)), ("tones", (0, 1, 2)), ("scale", (0, 3, 6)), ("scale", (6, 3, 0)), ("tones", (4, 2, 0)))  # fmt: skip
# Habits, each drawn between two ends; those of GOOD are pulled to the upper end by skill.
GOOD = {"land": (0.2, 0.8), "beat_tones": (0, 0.4), "refit": (0.2, 0.95), "root": (0.4, 0.97), "tones": (0.35, 0.82), "aim": (0.2, 0.9), "hear": (0.7, 1)}  # fmt: skip
HABITS = {
    "loud": (68, 92), "spread": (3, 11), "accent": (4, 20), "legato": (0.65, 1), "centre": (46, 54), "walk_centre": (37, 43),
    "planing": (0, 0.4), "plain": (0.25, 0.7), "phrase": (4, 13), "rest": (0.7, 4), "again": (0, 0.5), "ghost": (0, 0.1),
    "push": (0, 0.5), "chromatic": (0, 0.3), "approach": (0.15, 0.7), "fifth_in": (0.1, 0.6), "skip": (0, 0.13), "drop": (0, 0.05),
    "hold": (0, 0.06), "pause": (0, 0.03), "threes": (0, 0.16), "early": (0, 0.08), "leap": (0, 0.25),
}  # fmt: skip


class Heard(NamedTuple):
    root: int
    tones: tuple[int, ...]
    scale: tuple[int, ...]
    fives: tuple[tuple[int, ...], ...]
    fifth: tuple[int, ...]


def charts() -> list[Chart]:
    """Fifteen charts that stand nowhere else."""
    return [
        chart("Rope Ladder Blues", "G", "A", {"A": "G7 | C9 | G7 | Dm7 G7alt | C7 | C#dim7 | G7 | Fm7 Bb7 | Am7 | Ab7 | Bm7 E7b9 | Am7 D7alt"}),
        chart("Scaffold in Six Flats", "Gb", "A", {"A": "Gb7 | Cb7 | Gb7 | Dbm7 Gb7 | Cb7 | Em7 A7 | Bbm7 | Eb7alt | Abm7 | Db7sus | Gb7 A7 | D7 Db7"}),
        chart("Minor Weather", "Fm", "A", {"A": "Fm7 | Db7 | Fm7 | Cm7b5 F7b9 | Bbm7 | Bbm6 | Fm7 | Dm7b5 | Db9 | C7alt | Fm6 Abm7 | Gbmaj7 C7alt"}),
        chart("Crane Driver", "D", "AABA", {"A": "Dmaj7 | G7sus | F#m7 | B7alt | Em7 | Em7 A7sus | Dmaj7 Fmaj7 | Bbmaj7 A7sus", "B": "Cm7 | F7 | Bbmaj7 | Ebmaj7 | Bm7 | E9 | Em7b5 | A7b9"}),
        chart("Spare Bicycle", "Ab", "AABA", {"A": "Ab6 F7 | Bbm7 Eb7 | Cm7 Bdim7 | Bbm7 Eb7 | Ab7 | Db6 Ddim7 | Ab6 Gb7 | Bbm7 E7", "B": "C7alt | % | Fm7 | F7 | Bb9 | % | Eb7sus | E7 Eb7"}),
        chart("Long Division", "Em", "AABA", {"A": "Em7 | Cmaj7 | F#m7b5 | B7alt | Em7 | A9 | Cmaj7 B7alt | Em6", "B": "Gm7 | C7 | Fmaj7 | % | F#m7 | B7 | Emaj7 | B7alt"}),
        chart("Window Seat, Late", "Db", "ABAC", {"A": "Dbmaj7 | Bmaj7 | Dbmaj7 | Ab7sus | Fm7 | Bb7alt | Ebm7 | Ab7", "B": "Ebm7 | A7 | Dmaj7 | Gmaj7 | Gm7b5 | C7b9 | Fm7 E7 | Ebm7 Ab7", "C": "Gbmaj7 | Gbm6 | Fm7 | Edim7 | Ebm7 | D7 | Db6 | Ebm7 Ab7sus"}),
        chart("The Ferryman's Change", "A", "ABAC", {"A": "A6 | C#m7 Cdim7 | Bm7 | E7", "B": "F#m7 | B9 | Bm7 | Bb7", "C": "Dmaj7 | D#dim7 | A6/E F#7alt | Bm7 E7 A6 /"}),
        chart("Four Grey Doors", "Cm", "ABAC", {"A": "Cm7" + 3 * " | %", "B": "Ebm7" + 3 * " | %", "C": "Am7 | % | Dbmaj7#11 | %"}),
        chart("Standing Water", "F#m", "AB", {"A": "F#m7 | % | % | % | Amaj7#11 | % | % | %", "B": "D7sus | % | Em7 | % | Fmaj7#11 | % | G#m7b5 | C#7alt"}),
        chart("Waltz of the Tall Steps", "Bb", "AB", {"A": "Bbmaj7 | Abmaj7 | Gm7 | C9 | Ebmaj7 | Dm7 | Dbmaj7 | F7sus", "B": "Gbmaj7 | % | Fm7 | Bb7 | Em7b5 | Eb7 | Dm7 G7b9 / | Cm7 F7sus /"}, beats=3),
        chart("Three for the Stove", "Am", "AAB", {"A": "Am7 | % | Fmaj7 | % | Dm7 | E7alt", "B": "Bbmaj7 | Gm7 | Bm7b5 | E7b9"}, beats=3),
        chart("Loading Bay", "E", "A", {"A": "E7sus | % | Gmaj7 | A9 | C#m7 | Cmaj7 | F#m7 B7 | F7"}),
        chart("Twenty to Five", "C", "ABC", {"A": "Cmaj7 | Ebmaj7 | Abmaj7 | Db7 | Cmaj7 | F#m7b5 B7b9", "B": "Em7 | % | Gm7 | C7 | Fmaj7 | Bb9", "C": "Em7 A7alt | Dm7 | Bbm7 | Eb7 | Am7 | D9 | Dm7 | G7sus"}),
        chart("Unequal Parcels", "B", "ABA", {"A": "B6 | D7 Gmaj7 | C#m7 | F#7", "B": "Dm7 G7 | Cmaj7 | Bbm7 Eb7 | Abmaj7 | G#m7 | C#9 | C#m7 / / F#7"}),
    ]  # fmt: skip


def draw_player(rng: np.random.Generator) -> SimpleNamespace:
    """Habits; ``skill`` ties those together that make a careful player or a weak one."""
    skill = rng.beta(1.6, 1.2)
    good = {k: a + (b - a) * (0.7 * skill + 0.3 * rng.random()) for k, (a, b) in GOOD.items()}
    habits = {k: float(rng.uniform(*ends)) for k, ends in HABITS.items()}
    mixes = {"shapes": (2.5, 1.2, 1.5, 3, 1.2), "walks": (4, 2, 1.6, 2.2, 1.2, 1.2), "groups": (4, 3, 1, 0.7), "cells": (3, 5, 1, 1.2, 1.2, 1.2)}  # fmt: skip
    mixes = {k: rng.dirichlet(shares) for k, shares in mixes.items()}
    wrong, triplets = 0.1 * (1 - skill) * float(rng.random()), float(rng.choice((0, 0.08, 0.2)))
    return SimpleNamespace(wrong=wrong, triplets=triplets, **good, **habits, **mixes)


@lru_cache(maxsize=4096)
def _heard(root: int | None, kind: str, up: int) -> Heard:
    if root is None:  # no chord: anything goes
        return Heard(0, EVERY, EVERY, (EVERY,), EVERY)
    root = (root + up) % 12
    of = chord(NAMES[root] + kind)
    tones, run, words = tuple(t.pitch_class for t in of.tones), scale(of), FIVES.get(kind, "")
    sets = [tuple((root + int(w[1:]) + i) % 12 for i in SETS[w[0]]) for w in words.split()]
    return Heard(root, tones, run, tuple(sets) or (run,), (root, tones[2]))


def _ears(form: Form, up: int = 0) -> Callable[[int], Heard]:
    """What is heard at a step: the chart's chords, or these ``up`` half steps above."""
    found: list[Any] = [form.chord(step) for step in range(form.steps)]
    heard = [_heard(c.root, c.kind, up) for c in found]
    return lambda step: heard[step % form.steps]


class _Hand:
    """Writes notes from ``start`` to ``stop``, in steps."""

    def __init__(self, hear, start, stop, rng, player, bar, *, soloing) -> None:
        self.hear, self.start, self.stop, self.bar = hear, start, stop, bar
        self.rng, self.player, self.notes = rng, player, []
        self.low, self.high = (31, HIGHEST) if soloing else (LOWEST, 55)
        self.centre = player.centre if soloing else player.walk_centre
        self.now = int(rng.normal(self.centre, 4))
        self.kept: tuple | None = None  # the last shape, to be taken up again

    def put(self, step: int, length: float, pitch: int, accent=0.0, *, ghost=False) -> None:
        """A note, within the stretch and on the neck; now and then a wrong one."""
        rng, player = self.rng, self.player
        if not self.start <= step < self.stop:
            return
        wrong = not ghost and rng.random() < player.wrong
        pitch = self.onto(int(pitch + wrong * rng.choice((-2, -1, -1, 1, 1, 2))))
        loud = rng.normal(player.loud + accent, player.spread) * (0.33 if ghost else 1)
        end = min(self.stop, step + max(1, round(length)))
        self.notes.append(LineNote(step, end, pitch, int(np.clip(loud, 12, 122))))
        self.now = self.now if ghost else pitch

    def onto(self, pitch: int) -> int:
        while not self.low <= pitch <= self.high:
            pitch += 12 if pitch < self.low else -12
        return pitch

    def pick(self, classes, about: float, pull: float = 0.12) -> int:
        about += self.rng.normal(0, 0.7)
        pool = [p for p in range(self.low, self.high + 1) if p % 12 in classes]
        return min(pool, key=lambda p: abs(p - about) + pull * abs(p - self.centre))

    def climb(self, at: Heard, name: str, first: int, places, five=0) -> list[int]:
        """The pitches of places on a ladder, the one of these at ``first``."""
        run = at.fives[five % len(at.fives)] if name == "five" else getattr(at, name)
        rungs = [p for p in range(self.low - 14, self.high + 15) if p % 12 in run]
        base = int(np.argmin([abs(p - first) for p in rungs])) - places[0]
        return [rungs[min(max(base + k, 0), len(rungs) - 1)] for k in places]

    def shapes(self, t: int) -> int:
        """Groups of a shape across the bar line; gives the step where they end."""
        rng, player = self.rng, self.player
        (rungs, forms), unit = list(SHAPES.values())[rng.choice(5, p=player.shapes)], 6
        group = (3, 5, 4, 2)[rng.choice(4, p=player.groups)]
        if rng.random() < player.triplets:
            group, unit = (4, 5, 2)[rng.integers(3)], int(rng.choice((4, 4, 8)))
        rhythm = RHYTHMS[group][rng.integers(len(RHYTHMS[group]))]
        move, planing = int(rng.choice((-2, -1, -1, 1, 1, 2, 0))), rng.random() < player.planing
        if not self.kept or rng.random() > player.again:
            self.kept = rungs, forms[rng.integers(len(forms))], rhythm, unit, move, planing
        rungs, places, rhythm, unit, move, planing = self.kept
        t += -t % 12 if unit % 3 else 0  # triplets begin on a beat
        five, half = int(rng.integers(4)), int(rng.choice((-3, -2, -1, 1, 2, 3, 5)))
        end = t + 12 * max(2, rng.gamma(4, player.phrase / 4))
        at, first = self.hear(t), self.pick(self.hear(t).tones, self.now + rng.normal(0, 4))
        shape, planed = [], -1
        while t < min(end, self.stop):
            now = self.hear(t + (unit if rng.random() < player.push else 0))
            if (changed := now is not at) and rng.random() < player.hear:
                at = now
            planed = (planed + 1) % 4
            if planing and planed and not changed:  # moved whole, by half steps
                shape = [p + half for p in shape]
            else:
                if rng.random() < player.land * (1 if changed else 0.8):
                    first = self.pick(at.tones, first, 0.05)
                *shape, first = self.climb(at, rungs, first, (*places, places[0] + move), five)
            away = -12 if max(shape) >= self.high else 12 if min(shape) < self.low else 0
            shape, first, move = [p + away for p in shape], first + away, -move if away else move
            t = self.group(t, shape, rhythm, unit, at, rungs)
        return t

    def group(self, t: int, shape, rhythm, unit: int, at: Heard, rungs: str) -> int:
        rng, player, place = self.rng, self.player, 0
        for length in rhythm:
            if length > 0:
                pitch, now = shape[place % len(shape)], self.hear(t)
                if now is not at and rng.random() < player.refit:
                    pitch = self.pick(now.tones if rungs == "tones" else now.scale, pitch, 0)
                if t % 12 == 0 and place and rng.random() < player.beat_tones:
                    pitch = self.pick(now.tones, pitch, 0)
                ghost, accent = place and rng.random() < player.ghost, 0 if place else player.accent
                self.put(t, length * unit * player.legato, pitch, accent, ghost=ghost)
                place += 1
            t += abs(length) * unit
        return t

    def plain(self, t: int) -> int:
        rng, player, t = self.rng, self.player, t + -t % 12
        end = t + 12 * max(2, rng.gamma(4, player.phrase / 4))
        up, goal = int(rng.choice((-1, 1))), None
        while t < min(end, self.stop):
            cell = CELLS[rng.choice(6, p=player.cells)]
            begins, t = t, t + sum(cell[-1]) + -sum(cell[-1]) % 12
            at, after = self.hear(begins), self.hear(t)
            for place, length in cell:
                if abs(self.now - self.centre) > 9 or rng.random() < 0.15:
                    up = 1 if self.now < self.centre + rng.normal(0, 3) else -1
                held = length > 12 and place and rng.random() < player.push
                here, leads = after if held else at, (place, length) == cell[-1] and place
                far = 12 if rng.random() < player.leap else 3.5
                if goal is not None and place == 0:
                    pitch, goal = goal, None
                elif leads and after is not at and rng.random() < player.aim:
                    goal = self.pick(after.tones, self.now + 2 * up)
                    pitch = self.aside(goal, at, player.chromatic)
                elif rng.random() < (player.tones if place == 0 or held else 0.6 * player.tones):
                    pitch = self.pick(here.tones, self.now + far * up)
                else:
                    pitch = self.pick(here.scale, self.now + 2 * up)
                if pitch == self.now and rng.random() < 0.8:
                    pitch = self.pick(here.tones, self.now + 5 * up)
                ghost = place > 0 and length < 7 and rng.random() < player.ghost
                self.put(begins + place, length * player.legato, pitch, ghost=ghost)
        return t

    def solo(self) -> None:
        rng, player = self.rng, self.player
        t = self.start + int(rng.choice((0, 0, 0, 6, 12, 24, 42)))
        while t < self.stop:
            t = self.plain(t) if rng.random() < player.plain else self.shapes(t)
            if rng.random() < 0.6:  # the phrase comes to rest
                t += -t % 6
                tones = getattr(self.hear(t + t % 12), "tones" if rng.random() < 0.75 else "scale")
                length = int(rng.choice((6, 12, 18, 24, 36)))
                self.put(t, length * player.legato, self.pick(tones, self.now), player.accent / 2)
                t += length
            t += 6 * round(2 * rng.exponential(player.rest))
            t += -t % 12 if rng.random() < 0.5 else -t % 6

    def landing(self, at: Heard) -> int:
        if self.rng.random() < self.player.root:
            return self.pick((at.root,), self.now + self.rng.normal(0, 3))
        return self.pick(self.rng.permutation(at.tones[1:])[:2].tolist(), self.now)

    def walk(self) -> None:
        """Chord by chord, at most a bar at a time; groups of three beats run on over both."""
        rng, player = self.rng, self.player
        beat, last, goal = self.start // 12, self.stop // 12, None
        while beat < last:
            at, ahead = self.hear(beat * 12), beat + 1
            while ahead % self.bar and self.hear(ahead * 12) is at:
                ahead += 1
            if rng.random() < player.threes:
                beat, goal = self.threes(beat), None
                continue
            if beat * 12 > self.start and rng.random() > (1 + player.hear) / 2:
                at, goal = self.hear(beat * 12 - 12), None  # has not heard that it changed
            first = self.landing(at) if goal is None else goal
            rungs, forms = WALKS[list(WALKS)[rng.choice(6, p=player.walks)]]
            pitches = self.climb(at, rungs, first, forms[rng.integers(len(forms))])
            pitches = [first, *pitches[1:], *pitches[1:]][: ahead - beat]
            goal, after = None, self.hear(ahead * 12)
            if len(pitches) > 1 and rng.random() < player.approach * (0.6 if after is at else 1):
                self.now = pitches[-2]
                goal = self.landing(after)
                pitches[-1] = self.aside(goal, at, 0.3 + player.chromatic)
                if rng.random() < player.fifth_in:  # down a fifth or up a fourth into the goal
                    pitches[-1] = goal + (7 if goal < 36 or rng.random() < 0.4 else -5)
            for pitch in pitches:
                self.quarter(beat, pitch)
                beat += 1

    def threes(self, beat: int) -> int:
        rng, player = self.rng, self.player
        rungs, places = THREES[rng.integers(len(THREES))]
        for _ in range(int(rng.integers(2, 6))):
            at = self.hear(beat * 12)
            for i, pitch in enumerate(self.climb(at, rungs, self.landing(at), places)):
                turn = i and self.hear(beat * 12) is not self.hear(beat * 12 - 12)
                if turn and rng.random() < player.refit:
                    pitch = self.landing(self.hear(beat * 12))  # noqa: PLW2901
                self.quarter(beat, pitch, 0 if i else player.accent / 2)
                beat += 1
        return beat

    def aside(self, goal: int, at: Heard, chromatic: float) -> int:
        side = int(self.rng.choice((-1, 1)))
        if self.rng.random() < chromatic:
            return goal + side
        return self.pick([c for c in at.scale if c != goal % 12], goal + 2 * side, 0)

    def quarter(self, beat: int, pitch: int, accent: float = 0) -> None:
        rng, player, t = self.rng, self.player, beat * 12
        if t >= self.stop or (rng.random() < player.pause + player.hold and beat % self.bar % 2):
            if self.notes and rng.random() < player.hold / (
                player.hold + player.pause
            ):  # the note before is held, else silence
                self.notes[-1] = self.notes[-1]._replace(end_step=min(t + 11, self.stop))
            return
        pitch = self.onto(pitch)
        early = t > self.start and beat % self.bar == 0 and rng.random() < player.early
        self.put(t - 6 * early, (12 + 6 * early) * max(0.75, player.legato), pitch, accent)
        if (roll := rng.random()) < player.skip:  # a skip: the same, its octave, an open string
            extra = int(rng.choice((pitch, pitch, pitch - 12, pitch + 12)))
            self.put(t + 6, 5, extra, -10, ghost=rng.random() < 4 * player.ghost)
        elif roll < player.skip + player.drop:  # a drop in triplets
            self.put(t + 4, 4, pitch, -8, ghost=rng.random() < 0.5)
            self.put(t + 8, 4, pitch - 5, -8)
        self.now = pitch


def _play(form: Form, start, stop, rng, player, *, soloing, hear=None) -> list[LineNote]:
    hear, bar = hear or _ears(form), form.chart.meter.beats
    hand = _Hand(hear, start * 12, stop * 12, rng, player, bar, soloing=soloing)
    hand.solo() if soloing else hand.walk()
    return monophonic(hand.notes)


def walk(form: Form, start: int, stop: int, rng: np.random.Generator, player) -> list[LineNote]:
    """Walking over the beats from ``start`` to ``stop`` of a form."""
    return _play(form, start, stop, rng, player, soloing=False)


def solo(form: Form, start: int, stop: int, rng: np.random.Generator, player) -> list[LineNote]:
    """A solo over the beats from ``start`` to ``stop`` of a form."""
    return _play(form, start, stop, rng, player, soloing=True)


def _misheard(form: Form, rng, way: str) -> Callable[[int], Heard]:
    """Ears in another key, in another tune, or at another place every few beats."""
    if way == "far key":
        return _ears(form, int(rng.choice((1, 3, 4, 6, 8, 9, 11))))
    if way == "other tune":
        tunes = [c for c in charts() if c.title != form.chart.title]
        ears = _ears(Form(tunes[rng.integers(len(tunes))]), int(rng.integers(12)))
        ahead = 12 * int(rng.integers(64))
        return lambda step: ears(step + ahead)
    ears, beats = _ears(form), np.cumsum(rng.integers(2, 7, 600)) * 12
    places = 12 * rng.integers(form.beats, size=600)
    return lambda step: ears(step + int(places[np.searchsorted(beats, step % beats[-1])]))


def _by_hand(line: list[LineNote], rng, way: str) -> list[LineNote]:
    """The line's rhythm with pitches that heed no chord: a few notes round, or shapes moved on."""
    made, low, round_ = [], int(rng.integers(31, 41)), way == "going round"
    now, shape = low + 6, np.cumsum(rng.choice((5, 5, 7, -2, 2, -7, 1), rng.choice((3, 4, 5, 5))))
    for i, note in enumerate(line):
        place = i % len(shape)
        if not place and round_ and rng.random() < 0.12:
            shape[rng.integers(len(shape))] += int(rng.choice((-2, -1, 1, 3)))
        elif not place and not round_:
            now += int(rng.choice((-4, -3, -2, -1, 1, 2, 3, 4)))
            now += 7 if now < low else -7 if now > low + 17 else 0
            if rng.random() < 0.35:
                shape = [0, *rng.choice((5, 7, 8, 9, -2, -5, 10, 2), rng.choice((2, 2, 4)))]
        made.append(note._replace(pitch=int(np.clip(now + shape[place], LOWEST, 60))))
    return made


def _fit(form: Form, line: list[LineNote]) -> float:
    """Share of the notes on the beat that are chord tones, at the place where it is highest."""
    tones = [at.tones for at in map(_ears(form), range(0, form.steps, 12))]
    on = [(n.step // 12, n.pitch % 12) for n in line if n.step % 12 == 0]
    sums = (sum(pc in tones[(b + o) % form.beats] for b, pc in on) for o in range(form.beats))
    return max(sums) / max(1, len(on)) + (len(on) < 6)


def adrift(form: Form, start: int, stop: int, rng, player, way: str, play) -> list[LineNote]:
    """A stretch that fits the form nowhere, walking or solo as ``play`` is."""
    soloing = play is solo or (play is not walk and rng.random() < 0.5)
    lines, by_hand = [], way in ADRIFT_WAYS[3:]
    for _ in range(4):  # the one that fits worst of a few
        hear = None if by_hand else _misheard(form, rng, way)
        line = _play(form, start, stop, rng, player, soloing=soloing, hear=hear)
        lines.append(_by_hand(line, rng, way) if by_hand else line)
    return min(lines, key=lambda made: _fit(form, made))
