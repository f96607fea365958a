"""A lyrical player of accented dissonance, who lets the chord tone come late.

Solo: singing phrases of some bars with breaths. Each rests on pillars (bar lines, changes of chord)
that move mostly by step; on a pillar there often stands a suspension, tied or struck again, or an
appoggiatura, and the tone of the chord follows an eighth or a beat later. Between pillars lie long
notes, scale runs into the next note, turns, mordents and glides. Walking: scale lines towards the
next landing, where beat one may hold a passing tone or a tone of the chord before and the root
comes on beat two; approaches against the way of the line; now and then a pedal. Adrift he sings on
over chords of his own, at ever other places or beside the key, or sighs and slides past all chords.
"""

# ruff: noqa: PLR0917 -- a player is asked for a line by place, chance, habits and way

from __future__ import annotations

from functools import partial
from types import SimpleNamespace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from linecheck.terms import STEPS_PER_BEAT
from tests.synthetic.charts import NAMES, chart, chord, pitch_class, scale
from tests.synthetic.lines import LineNote, monophonic

if TYPE_CHECKING:
    from linecheck.music.form import Form
    from linecheck.terms import Chart, Chord

ADRIFT_WAYS = ("another song", "hopping", "beside the key", "sighing", "sliding")
HEEDLESS = ADRIFT_WAYS[3:]  # the rhythm is his own, the notes follow no chord
MAJOR, MINOR, MINOR_FIVE = (0, 2, 4, 5, 7, 9, 11), (0, 2, 3, 5, 7, 8, 10), (0, 1, 4, 5, 7, 8, 10)
PLAIN, TIED, STRUCK, LEAN, LATE, PUSH = range(6)  # how a pillar is reached
HOLD, RUN, TURN, MORDENT, GLIDE = range(5)  # what lies between two pillars
ROOT, TONE, ROOT_ON_TWO, KEPT = range(4)  # where a walking line lands
TRIES, WORSE = 9, 0.09  # a line adrift is drawn again until it fits so much worse than usual

# Habits of the weakest and of the most able one; then habits that have nothing to do with that.
SKILLED = {"wrong": (0.1, 0.0), "deaf": (0.4, 0.02), "tones": (0.3, 1.3), "root": (0.5, 0.75), "clumsy": (1.9, 0.7), "unresolved": (0.25, 0.0)}  # fmt: skip
HABITS = {"loud": (62, 96), "loud_spread": (3, 11), "legato": (0.8, 1.0), "by_key": (0, 1.3), "tie": (0.3, 2.2), "strike": (0.1, 0.9), "lean": (0.4, 2.2), "late": (0.05, 0.5), "push": (0.02, 0.6), "density": (0.15, 0.85), "graces": (0.1, 0.8), "glides": (0.05, 0.5), "triplets": (0, 0.35), "slow": (0.1, 0.7), "half": (0.05, 0.7), "breadth": (0.0, 0.3), "colour": (0, 1), "chromatic": (0.02, 0.35), "bars": (1.8, 4.2), "breath": (0.8, 4.5),
    "recall": (0, 0.45), "ghost": (0, 0.08), "centre": (47, 59), "walk_centre": (37, 44), "on_two": (0.05, 0.3), "kept": (0.03, 0.25), "third": (0.05, 0.25), "contrary": (0, 2.5), "skips": (0, 0.14), "gaps": (0, 0.04), "pedal": (-0.04, 0.16), "early": (0, 0.06), "leap": (0.03, 0.25), "turning": (0.05, 0.3)}  # fmt: skip


# What is heard under a beat; ``beat`` counts from 0 in the bar.
Ground = NamedTuple("Ground", [("symbol", str), ("bass", int), ("tones", tuple), ("scale", tuple), ("colours", tuple), ("beat", int)])  # noqa: UP014  # fmt: skip


def charts() -> list[Chart]:
    """Fifteen charts that stand nowhere else."""
    return [
        chart("Wet Slate Blues", "Ab", "A", {"A": "Ab13 | Db9 | Ab13 | Ebm7 Ab7 | Db9 | Ddim7 | Ab6/Eb | Gm7b5 C7b9 | Fm7 Bb7 | Bbm7 Eb7sus | Cm7 F7b9 | Bbm7 Eb7b9"}),
        chart("Gravel Path Blues", "D", "A", {"A": "D7 | % | % | Am7 D7b9 | G9 | % | D7 | F#m7 B7b9 | Em7 | A7sus | D7 | A7#5"}),
        chart("The Widow's Umbrella", "Fm", "A", {"A": "Fmmaj7 | Bbm6 | Fm6 | F7b9 | Bbm7 | Eb9 | Fm7 | Dm7b5 | Dbmaj7#11 | C7alt | Fm6 Db7 | Gm7b5 C7b9"}),
        chart("Slow Weir", "Db", "AABA", {"A": "Dbmaj7 | Bbm7 | Gbmaj7 | Gbm6 | Fm7 | Bb7b9 | Ebm7 Ab7sus | Ab7b9", "B": "Abm7 | Db7b9 | Gbmaj7 | % | Gm7b5 | C7b9 | Fm7 E7 | Ebm7 Ab7"}),
        chart("Candle in the Boathouse", "Em", "AABA", {"A": "Em6 | Em7/D | C#m7b5 | Cmaj7 | F#m7b5 | B7b9 | Em7 A9 | F#m7b5 B7b9", "B": "Am7 | D7sus | Gmaj7 | Cmaj7#11 | F#m7b5 | B7alt | Bm7b5 | E7b9"}),
        chart("Mending Day", "G", "AABA", {"A": "G6 E7b9 | Am7 D7sus | G6/B Bbdim7 | Am7 D7 | Dm7 G7 | C6 C#dim7 | G6/D E7b9 | Am7 D7b9", "B": "F#m7 | B7 | Em7 | A9 | Dm7 | G7 | Cmaj7 Cm6 | Am7 D7sus"}),
        chart("Where the Hedge Ends", "A", "ABAC", {"A": "Amaj7 | G#m7b5 C#7b9 | F#m7 | Em7 A7 | Dmaj7 | Dm6 | C#m7 | F#7b9", "B": "Bm7 | G9 | C#m7 | Cdim7 | Bm7 | B7 | E7sus | E7b9", "C": "Bm7 | Dm6 | C#m7 F#7b9 | D#m7b5 Dm6 | A6/E | F#7b9 | Bm7 E7sus | A6"}),
        chart("Late Plum", "Bbm", "ABAC", {"A": "Bbm7 | Ebm7 | Ab13 | Dbmaj7 | Gbmaj7 | Cm7b5 | F7b9 | Bbm6", "B": "Ebm7 | Ab7sus | Dbmaj7 | Bb7alt | Ebm6 | Gb9 | F7sus | F7b9", "C": "Cm7b5 | F7b9 | Bbm7/Ab | Gm7b5 | Gbmaj7 | F7alt | Bbmmaj7 | Bbm6"}),
        chart("Three Quiet Fields", "Gm", "ABA", {"A": "Gm7" + 7 * " | %", "B": "Bbmaj7#11 | % | % | % | A7sus | % | % | %"}),
        chart("Rooms With the Blinds Down", "E", "ABC", {"A": "E7sus | % | % | % | C#m7 | % | % | %", "B": "Gmaj7 | % | % | % | F#m7 | % | B7sus | %", "C": "Bbmaj7#11 | % | Amaj7 | %"}),
        chart("Waltz of the Thin Ice", "Bb", "AB", {"A": "Bbmaj7 | Ebmaj7 | Dm7 | G7b9 | Cm7 | Ebm6 | Dm7 / Dbdim7 | Cm7 / F7", "B": "Fm7 | Bb7sus | Ebmaj7 | Ab9 | Gm7 | C9 | Cm7 | F7sus / F7b9"}, beats=3),
        chart("The Ferryman's Daughter", "Cm", "AAB", {"A": "Cm6 | Cm7/Bb | Am7b5 | Abmaj7 | Fm7 | Dm7b5 | G7sus | G7b9", "B": "Ebmaj7 | Abmaj7 | Dm7b5 | G7alt | Cmmaj7 | Fm6 | Dm7b5 / G7b9 | Cm6"}, beats=3),
        chart("Vamp by the Pump", "F#", "A", {"A": "F#maj7 D#m7 | G#m7 C#7sus | A#m7 D#7b9 | G#m7 C#7b9 | F#maj7 | Bm6 | A#m7 Adim7 | G#m7 C#7"}),
        chart("Twenty Stepping Stones", "Eb", "ABC", {"A": "Ebmaj7 | Dm7b5 G7b9 | Cm7 | Bbm7 Eb7 | Abmaj7 | Abm6 | Gm7 | Gbdim7", "B": "Fm7 | Db9 | Ebmaj7/Bb | C7b9 | F9 | % | Bb7sus | Bb7b9", "C": "Gm7 C7b9 | Fm7 / / Bb7 | Eb6 Abm6 | Eb6"}),
        chart("Clock Without Hands", "C", "AB", {"A": "Cmaj7 Ebmaj7 | Abmaj7 Db9 | Cmaj7 | Em7b5 A7b9 | Dm7 | Fm6 | Em7 A7#5", "B": "Abm7 | Db7sus | Gbmaj7 | Em7 A7 | Dmaj7 | Dm7 G7sus | G7b9"}),
    ]  # fmt: skip


def draw_player(rng: np.random.Generator) -> SimpleNamespace:
    """A player, from a careful one to a weak student."""
    skill = rng.beta(1.6, 1.1)
    habits = {name: rng.uniform(*ends) for name, ends in HABITS.items()}
    for name, (weak, able) in SKILLED.items():
        habits[name] = weak + (able - weak) * np.clip(skill + rng.normal(0, 0.15), 0, 1)
    return SimpleNamespace(skill=skill, **habits)


def _ground(form: Form, beat: int, player: SimpleNamespace, at: Chord | None = None) -> Ground:
    """The chart's chord on a beat, or ``at`` instead, with the scale he hears to it."""
    spot, key, ours = form.at(beat * STEPS_PER_BEAT).spot, form.chart.key, at is None
    at, tonic = at or spot.chord, pitch_class(key.tonic)
    home = tuple((tonic + i) % 12 for i in (MINOR if key.minor else MAJOR))
    tones = tuple(t.pitch_class for t in at.tones) or home[::2]
    run = home if not at.tones or (ours and player.by_key > 0.5 and set(tones) <= set(home)) else scale(at)  # fmt: skip
    if ours and player.by_key > 0.5 and key.minor and at.kind == "7" and at.root == (tonic + 7) % 12:  # fmt: skip
        run = tuple((at.root + i) % 12 for i in MINOR_FIVE)
    bass = tones[0] if at.bass is None else at.bass
    colours = tuple((tones[0] + i) % 12 for i in (2, 9) if (tones[0] + i) % 12 in run)
    return Ground(at.symbol, bass, tones, run, colours, int(spot.beat) - 1)


class _Voice:
    """Notes of a stretch; steps count from its beginning."""

    def __init__(self, grounds, start, rng, player, *, soloing: bool) -> None:
        self.grounds, self.start, self.rng, self.player = grounds, start, rng, player
        self.stop = (len(grounds) - 1) * STEPS_PER_BEAT
        self.low, self.high = (31, 67) if soloing else (28, 56)
        self.centre = player.centre if soloing else player.walk_centre
        self.notes, self.plans, self.now = [], [], round(self.centre + rng.normal(0, 3))
        self.roll = lambda share: bool(rng.random() < share)

    def pick(self, *weights: float) -> int:
        sums = np.cumsum(weights)
        return int(np.searchsorted(sums, self.rng.random() * sums[-1], side="right"))

    def at(self, step: int) -> Ground:
        return self.grounds[max(0, min(step // STEPS_PER_BEAT, len(self.grounds) - 1))]

    def new(self, beat: int) -> bool:
        here = self.grounds[beat]
        return not beat or here.beat == 0 or here.symbol != self.grounds[beat - 1].symbol

    def put(self, step: int, end: int, pitch: int, accent: float = 0) -> None:
        pitch = max(self.low, min(self.high, pitch))
        if accent > -30 and self.roll(self.player.wrong):
            pitch += 1 if pitch < self.high and self.roll(0.5) else -1 if pitch > 28 else 1
        loud = self.rng.normal(self.player.loud + accent, self.player.loud_spread)
        begins, ends = (self.start * STEPS_PER_BEAT + s for s in (step, min(end, self.stop)))
        if 0 <= step < self.stop:
            self.notes.append(LineNote(begins, ends, int(pitch), int(np.clip(loud, 16, 122))))

    def by_step(self, pitch: int, way: int, ground: Ground) -> int:
        """The next note of the scale up or down."""
        return next((p for p in range(pitch + way, pitch + 4 * way, way) if p % 12 in ground.scale), pitch + way)  # fmt: skip

    def goal(self, step: int, aim: float) -> int:
        """A note to rest on: near, singable, along the arch of the phrase."""
        here, player = self.at(step), self.player
        worth = dict.fromkeys(here.colours, 2.4 - 1.6 * player.colour)
        worth.update(zip(here.tones, (0.9, 0.0, 0.9, 0.4), strict=False))
        worth = dict.fromkeys(here.scale, 0.0) if self.roll(player.deaf) else worth
        pool = [p for p in range(self.low, self.high + 1) if p % 12 in worth]
        apart = (2.2, 0, 0, 0.5, 0.6, 1.3, 2.4, 1.6, 2.0, 2.2, 3.5, 4, 5)
        costs = [apart[min(12, abs(p - self.now))] + 0.22 * abs(p - aim) + worth[p % 12] for p in pool]  # fmt: skip
        return pool[int(np.argmin(costs + self.rng.exponential(0.7 * player.clumsy, len(pool))))]

    def suspension(self, step: int, aim: float) -> tuple[int, int] | None:
        """A note of the chord before that has to give way by step, and what it gives way to."""
        before, here = self.at(step - 1), self.at(step)
        found = [(0.35 * abs(held - self.now) + (held % 12 not in before.tones) + self.rng.exponential(0.5)
                  + 1.2 * (by > 0) + 0.15 * abs(held + by - aim), held, held + by)
                 for held in range(max(self.low + 2, self.now - 4), min(self.high, self.now + 4) + 1)
                 for by in (-1, -2, 1) if held % 12 in before.scale and held % 12 not in here.tones
                 and (held + by) % 12 in here.tones]  # fmt: skip
        return min(found)[1:] if found and before.symbol != here.symbol else None

    def leaning(self, goal: int, step: int) -> int:
        """The dissonance before a note: mostly the scale step above."""
        here = self.at(step)
        ways = self.by_step(goal, 1, here), self.by_step(goal, -1, here), goal - 1
        first = ways[self.pick(0.68, 0.17, 0.6 * self.player.chromatic)]
        return next((p for p in (first, *ways) if p % 12 not in here.tones), first)

    def plan(self) -> tuple:
        """How a pillar is reached, how late, and how the way to it is filled."""
        by, full = self.player, self.player.density
        reach = self.pick(1.2, by.tie, by.strike, by.lean, by.late, by.push)
        waits = self.pick(1 + by.slow, 1.6 - by.slow, 0.3, by.triplets / 2, by.triplets)
        fill = self.pick(0.9 - full, 1.6 * full, 0.3 * by.graces, 0.2 * by.graces, 0.6 * by.glides)  # fmt: skip
        unit = (6, 12, 4)[self.pick(1, by.slow * 1.2, by.triplets)]
        most = 1 + int(self.rng.binomial(7, 0.2 + 0.6 * full))
        return reach, (12, 6, 18, 8, 4)[waits], fill, unit, most

    def run(self, on: int, until: int, first: int, target: int, unit: int, most: int):
        """Scale notes that lead into ``target``, from the end backwards; (step, pitch) ascending."""
        way = 1 if (first > target or self.roll(0.35)) and self.roll(0.85) else -1
        pitch, notes = target, []
        for step in range(until - unit, max(on + min(unit, 6), until - unit * most) - 1, -unit):
            pitch = self.by_step(pitch, way, self.at(step))
            if not notes and self.roll(self.player.chromatic):
                pitch = target + way
            gap = abs(pitch - first)
            if not self.low <= pitch <= self.high or gap > max(9, abs(target - first)) or not gap:
                break
            notes.append((step, pitch))
            if gap < 3 and self.roll(0.6):
                break
        return notes[::-1]

    def fill(self, on: int, until: int, first: int, target: int, plan: tuple) -> None:
        """The way from a resting note to the next one; it begins with the resting note."""
        _, _, kind, unit, most = plan
        span, here, notes = until - on, self.at(until - 1), []
        upper, lower = self.by_step(first, 1, here), self.by_step(first, -1, here)
        if kind == RUN and span >= 12:
            notes = self.run(on, until, first, target, unit, most)
        elif kind == TURN and span >= 18:
            each = 6 if span >= 30 and self.roll(0.5) else 4
            notes = [(until - each * (3 - i), p) for i, p in enumerate((upper, first, lower))]
        elif kind == MORDENT and span >= 12:
            notes = [(on + 2, lower if self.roll(0.3) else upper), (on + 5, first)]
        elif kind == GLIDE and span >= 12 and abs(first - target) > 1:
            notes = [(until - int(self.rng.integers(2, 5)), target + (1 if first > target else -1))]
        edges = [on, *(step for step, _ in notes), until]
        for i, pitch in enumerate((first, *(p for _, p in notes))):
            sung = max(2, round((edges[i + 1] - edges[i]) * self.player.legato))
            self.put(edges[i], edges[i] + sung, pitch, -8 if kind == GLIDE and i else 0)
        if not notes and span >= 18 and self.roll(self.player.ghost):
            self.put(until - 6, until - 3, first, -0.66 * self.player.loud)

    def pillars(self, begin: int, end: int) -> list[int]:
        by, beats = self.player, range(-(-begin // 12), min(end, self.stop) // 12)
        likely = {b: 1 - by.breadth if self.new(b) else by.half * (self.grounds[b].beat == 2) for b in beats}  # fmt: skip
        return [12 * b for b in beats if self.roll(likely[b])]

    def meet(self, spot: int, aim: float, reach: int, *, prepared: bool) -> tuple[int, int, int]:
        """What stands on a pillar, what it gives way to, and how it is reached in the end."""
        if reach in (TIED, STRUCK):
            if prepared and (pair := self.suspension(spot, aim)):
                return *pair, reach
            reach = LEAN
        goal = self.goal(spot, aim)
        met = self.leaning(goal, spot) if reach == LEAN else goal
        return met, goal, PLAIN if reach == PUSH and not prepared else reach

    def phrase(self, begin: int, end: int) -> int:
        """A phrase; says where its last note ends."""
        rng, by, spots = self.rng, self.player, self.pillars(begin, end)
        if not spots:
            return end
        again, used, on = self.plans if self.roll(by.recall) else [], [], None
        top, drop = self.centre + rng.normal(2, 3), rng.uniform(2, 11)
        bend = ((0, 0.5, 1), (0.7, 0, 1), (1, 0.5, 0), (0.5, 0, 0.6))[self.pick(5, 3, 1.5, 2)]
        for k, (spot, after) in enumerate(zip(spots, [*spots[1:], end], strict=True)):
            used.append(plan := again[k] if k < len(again) else self.plan())
            aim = top - drop * np.interp((spot - begin) / max(1, end - begin), (0, 0.5, 1), bend)
            delay = min(plan[1], after - spot - 6)
            prepared = on is not None and spot - on >= 12
            met, goal, reach = self.meet(spot, aim, plan[0] if delay > 2 else 0, prepared=prepared)
            goal = self.by_step(met, -1, self.at(spot)) if self.roll(by.unresolved) else goal
            arrives = spot + {PUSH: -6, LATE: 6, PLAIN: 0}.get(reach, delay)
            comes = spot if reach in (LEAN, STRUCK) else arrives
            if on is None:  # an upbeat, or none
                for step, pitch in self.run(begin - 12, comes, self.now, met, 6, plan[4] // 2 * self.roll(0.45)):  # fmt: skip
                    self.put(step, step + 6, pitch, -4)
            elif reach == TIED:
                held = on if met == self.now else spot - (12 if spot - on >= 24 else 6)
                if held > on:
                    self.fill(on, held, self.now, met, plan)
                self.put(held, arrives, met)
            else:
                self.fill(on, comes, self.now, met, plan)
            self.put(spot if reach in (LEAN, STRUCK) else -1, arrives, met, 7)
            on, self.now = arrives, goal
        self.plans, close = used, max(on + 6, min(end, on + 12 * int(rng.integers(1, 5))))
        self.fill(on, close, self.now, self.now, (PLAIN, 0, MORDENT * self.roll(0.4 * by.graces), 6, 1))  # fmt: skip
        return close

    def sing(self, bar: int, *, amid: bool) -> None:
        step = int(self.rng.integers(0, 4)) * 12 if amid or self.roll(0.3) else 0
        while step < self.stop:
            bars = max(1, round(self.rng.normal(self.player.bars, 0.8)))
            step = self.phrase(step, min((step + bars * bar * 12) // 12 * 12, self.stop))
            step += round(2 * self.rng.gamma(3, self.player.breath / 3)) * 6

    def near(self, classes, to: float, same: float = 0) -> int:
        pool = [p for p in range(self.low, self.high + 1) if p % 12 in classes]
        costs = [abs(p - to) + 0.015 * (p - self.centre) ** 2 + same * (p == to) for p in pool]
        return pool[int(np.argmin(costs + self.rng.exponential(1.2, len(pool))))]

    def landing(self, beat: int, length: int, *, held: bool) -> tuple[list[int], bool]:
        """What stands where a chord or bar begins in walking, and whether it is tied over."""
        by, here = self.player, self.grounds[beat]
        late = 0.0 if length < 2 or not beat else 1.0 if length > 2 else 0.4
        kind = self.pick((by.root - by.third) * (0.6 if held else 1), by.third, by.on_two * late, by.kept * late * (not held))  # fmt: skip
        resting = self.near(here.scale if self.roll(by.deaf / 2) else (here.bass,), self.now, 3)
        if kind == TONE or (kind == ROOT and held and self.roll(0.4)):
            return [self.near(here.tones[1:3], self.now, 3)], False
        if kind == ROOT_ON_TWO:
            way = 1 if self.roll(0.5 + 0.3 * np.sign(self.now - resting)) else -1
            return [self.by_step(resting, way, here), resting], False
        if kind == KEPT and (pair := self.suspension(beat * 12, resting)):
            return [pair[0], resting if abs(pair[0] - resting) < 4 else pair[1]], self.roll(0.4)
        return [resting], False

    def path(self, beat: int, count: int, first: int, target: int) -> list[int]:
        """``count`` notes by the scale from ``first`` to ``target``; the best of some."""
        by, best, least = self.player, [], np.inf
        for _ in range(7 if count else 0):
            way = side = 1 if self.roll(0.5) else -1
            pitch, notes, cost = target, [], self.rng.exponential(0.8 * by.clumsy)
            for here in self.grounds[beat : beat + count][::-1]:
                way = -way if notes and self.roll(by.turning) else way
                pitch = self.by_step(pitch, way, here) if notes or not self.roll(by.chromatic) else pitch + way  # fmt: skip
                if notes and self.roll(by.leap):
                    pitch = self.near(here.tones, pitch + 4 * way)
                notes.append(pitch)
                cost += by.tones * (here.beat == 2 and pitch % 12 not in here.tones)
                cost += 3.0 * (not self.low <= pitch <= self.high)
            gap = abs(first - pitch)
            cost += (5, 0, 0, 0.7, 0.9, 1.2, 3)[min(6, gap)] + gap / 4
            cost += by.contrary * 0.5 * ((target - first) * side < 0)
            best, least = (notes[::-1], cost) if cost < least else (best, least)
        return best

    def stay(self, beats: range) -> None:
        """A pedal: the note that most of these chords bear, with tones of the chords above it."""
        heard = [pc for b in beats for pc in (self.grounds[b].bass, *self.grounds[b].tones)]
        pedal = self.near((int(np.argmax(np.bincount(heard))),), self.centre - 4)
        for b in beats:
            self.now = self.near(self.grounds[b].tones, pedal + 8) if self.grounds[b].beat % 2 and self.roll(0.6) else pedal  # fmt: skip
            self.put(b * 12, b * 12 + 11, self.now)

    def walk(self, bar: int) -> None:
        total, until = len(self.grounds) - 1, 0
        edges = [*(b for b in range(total) if self.new(b)), total, total + 1]
        entry, tied = self.landing(0, 1, held=False)
        for beat, end, after in zip(edges, edges[1:], edges[2:], strict=False):
            if beat >= until and not self.grounds[beat].beat and self.roll(self.player.pedal / 4):
                until = min(total, beat + bar * int(self.rng.integers(2, 5)))
                self.stay(range(beat, until))
            if beat < until:
                entry, tied = [self.now], False
                continue
            self.now = entry[-1]
            onward, over = self.landing(end, after - end, held=self.grounds[end].symbol == self.grounds[beat].symbol)  # fmt: skip
            over = over and end - beat > len(entry)
            notes = entry + self.path(beat + len(entry), end - beat - len(entry) - over, entry[-1], onward[0])  # fmt: skip
            self.bar(beat, (notes + onward[:1] * over)[: end - beat], tied=tied, over=over)
            entry, tied = onward, over

    def bar(self, beat: int, notes: list[int], *, tied: bool, over: bool) -> None:
        """The notes of one chord in time; one that is tied stands there already."""
        by = self.player
        for i, pitch in enumerate(notes):
            step, last = (beat + i) * 12, i == len(notes) - 1
            if (tied and not i) or (i and not last and self.roll(by.gaps)):
                continue
            early, sounds = 6 * (not i and self.roll(by.early)), 24 if last and over else 12
            self.put(step - early, step + round(sounds * by.legato), pitch, 4 * (self.grounds[beat + i].beat % 2))  # fmt: skip
            if sounds == 12 and self.roll(by.skips):
                extra = pitch if self.roll(0.4) else self.near(self.grounds[beat + i].tones, pitch)
                self.put(step + 6, step + 11, extra, -10)
            elif sounds == 12 and self.roll(by.ghost):
                self.put(step + 6, step + 9, pitch, -0.66 * by.loud)


def _write(form, start, stop, rng, player, *, soloing: bool, grounds=None) -> list[LineNote]:
    grounds = grounds or [_ground(form, beat, player) for beat in range(start, stop + 1)]
    voice, bar = _Voice(grounds, start, rng, player, soloing=soloing), form.chart.meter.beats
    voice.sing(bar, amid=bool(start % form.beats)) if soloing else voice.walk(bar)
    return monophonic(voice.notes)


walk, solo = partial(_write, soloing=False), partial(_write, soloing=True)


def _elsewhere(form: Form, start: int, stop: int, rng, player, way: str) -> list[Ground]:
    """What he believes to be under him."""
    grounds: list[Ground] = []
    move, root = int(rng.choice((1, 1, 11, 6, 3, 8, 10))), int(rng.integers(12))
    ahead = int(rng.integers(1, form.beats))
    while len(grounds) <= stop - start:
        root = (root + int(rng.choice((5, 5, 5, 1, 8, 10, 3)))) % 12
        own = chord(NAMES[root] + str(rng.choice(("m7", "7", "maj7", "7b9", "m7b5", "m6"))))
        if way == "hopping":  # and half the time he does not hear the root
            ahead, move = int(rng.integers(form.beats)), int(rng.choice((0, 0, 0, 1, 5, 11)))
        for _ in range(int(rng.choice((3, 4, 5, 6, 7) if way == "hopping" else (2, 4, 4, 4, 8)))):
            beat = start + len(grounds)
            at = own if way == "another song" else form.chord((beat + ahead) * STEPS_PER_BEAT)
            at = chord(NAMES[(at.root + move) % 12] + at.kind) if at.root is not None else at
            grounds.append(_ground(form, beat, player, at))
    return grounds[: stop - start + 1]


def _heedless(line: list[LineNote], rng: np.random.Generator, way: str) -> list[LineNote]:
    """The same rhythm: a few falling sighs round and round, or sliding on by small steps."""
    count, peaks = np.arange(len(line)), rng.choice((-4, -1, 2, 3, 6), 2, replace=False)
    moves = np.column_stack((peaks, peaks - rng.integers(1, 3, 2))).ravel()[count % 4]
    if way == "sliding":
        down = np.where(count // int(rng.integers(4, 9)) % 2, 1, -1)
        moves = np.cumsum(down * rng.choice((1, 2, 3), len(line), p=(0.5, 0.4, 0.1)))
    middle = np.median([n.pitch for n in line] or [40])
    return [n._replace(pitch=int(np.clip(middle + m, 28, 67))) for n, m in zip(line, moves, strict=True)]  # fmt: skip


def _fit(form: Form, line: list[LineNote], player) -> np.ndarray:
    """By place of the form, the share of the time that sounds tones of its chords."""
    grounds = [_ground(form, beat, player).tones for beat in range(form.beats)]
    table = np.array([[pc in tones for pc in range(12)] for tones in grounds])
    steps, ends, pitches, _ = np.array(line or [(0, 1, 0, 0)]).T
    places = ((ends - 1)[:, None] // STEPS_PER_BEAT + np.arange(form.beats)) % form.beats
    return np.average(table[places, pitches[:, None] % 12], axis=0, weights=ends - steps)


def adrift(form: Form, start: int, stop: int, rng, player, way: str, play) -> list[LineNote]:
    """A stretch that fits the form nowhere, walking or solo as ``play`` is."""
    soloing = play is solo or (play is not walk and rng.random() < 0.5)
    usual = _fit(form, _write(form, start, start + 96, rng, player, soloing=soloing), player)[0]
    best, least = [], np.inf
    for _ in range(TRIES):
        grounds = None if way in HEEDLESS else _elsewhere(form, start, stop, rng, player, way)
        line = _write(form, start, stop, rng, player, soloing=soloing, grounds=grounds)
        line = _heedless(line, rng, way) if way in HEEDLESS else line
        score = _fit(form, line, player).max() + (len(line) < 0.3 * (stop - start))
        best, least = (line, score) if score < least else (best, least)
        if least < usual - WORSE:
            break
    return best
