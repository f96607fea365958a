"""A player of riffs and of call and response, in the solo and under others.

Solo: a riff of one or two bars is invented, said again with the fewest notes changed that fit it to
the next chords, answered, dropped; then space. Some riffs keep to the tonic's pentatonic over two
or three chords and rest on chord tones. Double stops are two notes in turn, long notes fall off,
pull-offs end on open strings. Walking: two-bar ostinatos over roots, fifths and sixths, boogie on
dominants, two-beat, then a strict four; turnarounds are worked out once and come back.
"""

# ruff: noqa: PLR0917 -- a player is asked for a line by place, chance, habits and way

from __future__ import annotations

from functools import lru_cache
from types import SimpleNamespace
from typing import TYPE_CHECKING

import numpy as np

from tests.synthetic.charts import NAMES, chart, chord, pitch_class, scale
from tests.synthetic.lines import LineNote, monophonic

if TYPE_CHECKING:
    from linecheck.music.form import Form
    from linecheck.terms import Chart, Chord

ADRIFT_WAYS = ("another blues", "guessed chords", "hopping", "round and round", "fishing")
OPEN, MAJOR_FIVE, MINOR_FIVE = (28, 33, 38, 43), (0, 2, 4, 7, 9), (0, 3, 5, 7, 10)
# What lies under the hand over a chord; other chords have the major five.
FIVES = {"7": (0, 2, 4, 7, 9, 10), "7b9": (0, 1, 4, 7, 10), "7alt": (0, 1, 3, 4, 8, 10), "7#5": (0, 2, 4, 8, 10), "7sus": (0, 2, 5, 7, 10), "m": MINOR_FIVE, "m7": MINOR_FIVE,
    "m6": (0, 2, 3, 7, 9), "mmaj7": (0, 2, 3, 7, 11), "maj7": (0, 2, 4, 7, 11), "m7b5": (0, 3, 5, 6, 10), "dim7": (0, 3, 6, 9), "aug": (0, 2, 4, 8)}  # fmt: skip
# Rhythm cells: the notes (place, length), and how far the cell goes. Ways into a riff likewise.
CELLS = ((((0, 12),), 12), (((0, 6), (6, 6)), 12), (((6, 6),), 12), (((0, 18), (18, 6)), 24), ((), 12),
    (((0, 6), (6, 18)), 24), (((0, 4), (4, 4), (8, 4)), 12), (((0, 24),), 24), (((6, 12), (18, 6)), 24))  # fmt: skip
ENTRIES = (((), 0), (((-6, 6),), 0), (((-12, 6), (-6, 6)), 0), (((6, 6),), 12), ((), 12))
# Call, head of the call alone, answer, a run, and silence.
PLANS = ("caca", "ccca", "c-ca", "cca-", "c--a", "cc-a", "chha", "c-cl", "cal-", "ccl-", "cca", "cc", "ca")  # fmt: skip
SHAPES = ((0, 0, -3, 0), (2, 2, -2, 3), (-2, -2, 3, -3), (3, -3, 5, -5), (3, 2, -2, -3), (-2, 2, -5, 5), (0, 3, 0, -3), (12, -12, 0, 7))  # fmt: skip
# Where a bass figure goes from a degree: L5 and L6 lie below the root.
GOES = {"R": ("R", "3", "5", "5", "8", "L5", "L5", "2"), "2": ("3", "3", "R"), "3": ("5", "5", "6", "R", "2"), "5": ("6", "6", "8", "R", "3", "7"),
    "6": ("5", "5", "8", "7", "R"), "7": ("6", "5", "8"), "8": ("7", "6", "5", "5"), "L5": ("L6", "R", "R", "L5"), "L6": ("R", "R", "L5")}  # fmt: skip
TWELVE, EXTRAS = (0, 5, 0, 0, 5, 5, 0, 9, 2, 7, 0, 7), ("double", "octave", "pull", "ghost")
HABITS = {"loud": (64, 96), "spread": (3, 11), "legato": (0.7, 1), "ghost": (-0.05, 0.15), "push": (0, 0.12), "late": (-0.04, 0.07), "root": (0.6, 1), "lead": (0.3, 0.95),
    "half": (0.2, 0.8), "ostinato": (0.15, 0.8), "boogie": (0.3, 1), "worked": (0.4, 1), "skip": (0, 0.15), "gap": (-0.02, 0.03), "walk_centre": (34, 40), "centre": (45, 54),
    "busy": (4, 9), "hold": (0.2, 0.8), "wide": (0.1, 0.6), "home": (0.05, 0.85), "dark": (0.1, 0.9), "heed": (0.25, 0.95), "heedless": (-0.05, 0.3), "recall": (0, 0.45),
    "space": (0, 0.45), "double": (0, 0.12), "octave": (0, 0.08), "pull": (0, 0.14), "blue": (0, 0.3), "fall": (0, 0.6), "run": (0, 0.5), "strict": (0.5, 0.95),
    "move": (0, 2.5), "colour": (0, 0.4), "between": (0, 0.4)}  # fmt: skip


def charts() -> list[Chart]:
    return [
        chart("Tin Bath", "D", "A", {"A": "D7 | F9 | G7 | Bb9 | D7 | F9 | Em7 A7 | D7"}), chart("Crooked Ladder", "Gb", "ABC", {"A": "Gb7 | % | B7 | % | Gb7 | Eb7", "B": "Abm7 | Db9 | Bbm7 | Eb7b9 | Abm7 | Db7sus", "C": "B7 | Cdim7 | Gb6/Db | Eb7 | Ab9 | Db7 | Gb7 A9 | Ab9 Db7"}),
        chart("Boiler Room Stomp", "E", "A", {"A": "E7 | % | % | % | A7 | % | E7 | C#7 | B7 | A9 | E7 A7 | E7 B7#5"}), chart("Under the Viaduct", "Gm", "AABC", {"A": "Gm6 | Eb9 | Gm6 | D7#5", "B": "Cm7 | F9 | Bbmaj7 | Bb7 | Ebmaj7 | Edim7 | Am7b5 | D7b9", "C": "Gm7 | Gm7/F | Eb9 | D7b9"}),
        chart("Cinder Path", "G", "A", {"A": "G7 | C7 | G7 | Dm7 G7 | C7 | C#dim7 | G7 | F9 E7 | Am7 | D7 | G7 E7 | Eb9 D7"}), chart("Hay Cart Waltz", "G", "AB", {"A": "G7 | % | C7 | % | G6 | E7b9 | A9 | D7", "B": "Em7 | Eb9 | Dm7 | G7 | Cmaj7 | C#dim7 | Bm7 / E7 | Am7 / D7"}, beats=3),
        chart("Three Green Doors", "Am", "ABA", {"A": "Am7 | % | % | % | % | % | % | %", "B": "Cm7 | % | % | % | Bbm7 | % | % | %"}), chart("Knock Twice", "Db", "AABA", {"A": "Db6 | Gb7 | Db6 Bb7 | Ebm7 Ab7 | Fm7 | E9 | Ebm7 Ab7 | Db6 Ab7sus", "B": "Gb7 | % | Db7 | % | Eb9 | % | Ebm7 | Ab7"}),
        chart("Chalk on the Step", "Bb", "A", {"A": "Bb7 Eb7 | Bb7 Ab9 | Gm7 C7 | Gb9 F7 | Bb7 Bb7/D | Eb7 Edim7 | Bb6/F G7 | C9 F7"}), chart("Candle Tax", "Bm", "AABA", {"A": "Bm7 | % | G9 | F#7alt | Bm7 | E9 | C#m7b5 | F#7b9", "B": "Em7 | A7 | Dmaj7 | Gmaj7 | C#m7b5 | F#7 | Bm6 | C9 F#7b9"}),
        chart("Soot and Treacle", "Fm", "A", {"A": "Fm7 | Bbm7 | Fm7 | F7b9 | Bbm7 | % | Fm6 | Db9 | Gm7b5 | C7alt | Fm7 Ab7 | Db9 C7alt"}), chart("Snow on the Slipway", "Cm", "A", {"A": "Cm7 | % | Abmaj7 | % | Fm7 | G7b9 | Cm6 | Ebmaj7 | Abmaj7 | Dbmaj7#11 | Dm7b5 | G7alt"}, beats=3),
        chart("Fourteen Shovels", "A", "AAB", {"A": "A7 | G9 | A7 | F#m7 | D9 | E7sus", "B": "Dmaj7 | Dm6 | C#m7 F#7 | Bm7 E7 | A7 | Bb9"}), chart("Milestone", "Eb", "AB", {"A": "Eb7sus | % | % | % | Gb7sus | % | % | %", "B": "Dm7 | % | Fm7 | % | Ab7sus | % | Bb7sus | %"}),
        chart("Whistle at the Weir", "Ab", "ABAC", {"A": "Abmaj7 | Fm7 | Bbm7 | Eb9 | Cm7b5 | F7b9 | Bbm7 | Eb7sus", "B": "Dbmaj7 | % | Dbm6 | Gb9 | Cm7 | F7 | Bb9 | Eb7", "C": "Dbmaj7 | Ddim7 | Cm7 F7 | Bbm7 A9 | Ab6 | Db9 | Ab6 F7 | Bb9 Eb7"}),
    ]  # fmt: skip


def draw_player(rng: np.random.Generator) -> SimpleNamespace:
    """Habits drawn between two ends each; a weak hand errs more and heeds the chords less."""
    habits, weak = {name: rng.uniform(*ends) for name, ends in HABITS.items()}, rng.beta(1, 2.2)
    habits |= {name: habits[name] * (1 - 0.25 * weak) for name in ("heed", "root")}
    habits["wrong"] = 0.1 * weak * rng.random()
    habits["cells"] = rng.dirichlet((3, 5, 1.5, 1.5, 1.5, 1.5, 0.8, 0.8, 0.8))
    habits["entries"] = rng.dirichlet((4, 1.5, 1.5, 1.5, 1.5))
    habits["turns"] = rng.choice(("5", "3", "R", "8", "lead", "lead"), 2, replace=False).tolist()
    habits["two"] = int(rng.choice(3, p=(0.6, 0.15, 0.25)))  # two-beat: never, A's, chorus 1
    return SimpleNamespace(top=int(rng.integers(58, 68)), **habits)


@lru_cache(maxsize=512)
def _here(of: Chord) -> SimpleNamespace:
    """What a chord is to the hand: pitch classes, and half steps above the root by degree."""
    root, run, tones = of.root or 0, scale(of), tuple(t.pitch_class for t in of.tones)
    has, (third, fifth) = {(pc - root) % 12 for pc in run}, [(pc - root) % 12 for pc in tones[1:3]]
    two, six = 2 if 2 in has else third, 9 if 9 in has else 8
    seven = 10 if 10 in has else 11 if 11 in has else 9
    ups = (0, two, third, fifth, six, seven, 12, fifth - 12, (six if third == 4 else seven) - 12)
    kind = "7" if of.kind in {"9", "13"} else of.kind
    five = tuple((root + i) % 12 for i in FIVES.get(kind, MAJOR_FIVE))
    return SimpleNamespace(root=root, bass=of.bass, tones=tones, five=five, run=run, degrees=dict(zip(GOES, ups, strict=True)))  # fmt: skip


class _Hand:
    """Plays. A riff is its notes, its first root, and the tonic's five if it keeps to them."""

    def __init__(self, form, start, stop, rng, me, soloing, believed=()) -> None:
        self.form, self.rng, self.me, self.believed = form, rng, me, believed
        self.first, self.last, self.soloing = start * 12, stop * 12, soloing
        self.low, self.high, self.centre = (31, me.top, me.centre) if soloing else (28, 52, me.walk_centre)  # fmt: skip
        self.now = round(self.centre + rng.normal(0, 2.5))
        self.tonic, self.minor = pitch_class(form.chart.key.tonic), form.chart.key.minor
        self.notes, self.worked = [], {}  # worked: figures of the last bars, by where they stand
        self.bars, step = [], form.bar_begins(self.first)
        while step < self.last:
            self.bars.append((step, form.bar(step).meter.beats * 12))
            step += self.bars[-1][1]

    def at(self, step: int, length: int = 0) -> SimpleNamespace:
        """The chord a note is meant for: held over a beat, it is the next one's."""
        step = max(self.first, step + 6 * (step % 12 >= 6 and length > 6))
        if self.believed:
            return _here(self.believed[min((step - self.first) // 12, len(self.believed) - 1)])
        found = self.form.chord(step)
        return _here(found if found.tones else chord(NAMES[self.tonic] + "m6"[not self.minor :]))

    def put(self, step, length, pitch: int, accent: float = 0, part: float = 1) -> None:
        rng, me = self.rng, self.me
        pitch += int(rng.choice((-1, 1, -1, 1, -2, 2))) * (part == 1 and rng.random() < me.wrong)
        pitch += 12 * (pitch < self.low) - 12 * (pitch > self.high)
        pitch = max(self.low, min(self.high, pitch))
        loud = int(np.clip(part * rng.normal(me.loud + accent, me.spread), 14, 122))
        if self.first <= step < self.last:
            self.notes.append(LineNote(step, min(self.last, step + max(1, round(length))), pitch, loud))  # fmt: skip
        self.now = pitch

    def near(self, classes, goal: float, same: float = 0, pull: float = 0.015) -> int:
        pool = [p for p in range(self.low, self.high + 1) if p % 12 in classes]
        noise = dict(zip(pool, self.rng.random(len(pool)).tolist(), strict=True))
        return min(pool, key=lambda p: abs(p - goal) + pull * (p - self.centre) ** 2 + same * (p == self.now) + noise[p])  # fmt: skip

    def rhythm(self, span: int) -> list[tuple[int, int]]:
        rng, me = self.rng, self.me
        head, at = ENTRIES[rng.choice(len(ENTRIES), p=me.entries)]
        places, count = list(head), max(2, rng.normal(me.busy * (span / 48) ** 0.7, 1))
        while at < span - 12 and len(places) < count:
            cell, far = CELLS[rng.choice(len(CELLS), p=me.cells)]
            places += [(at + step, length) for step, length in cell if at + step < span]
            at += far
        if len(places) < 3 and span >= 36:
            return self.rhythm(span)
        step, length = (places or [(0, 12)])[-1]
        if rng.random() < me.hold:  # the last note stays
            length = max(6, min(span - step, int(rng.choice((12, 18, 24, 36)))))
        return [*places[:-1], (step, length)]

    def sing(self, places, base: int, home, shape, *, close=False, run=False):
        """Pitches for a rhythm: a shape within five notes (or a scale), and chord tones to rest on."""
        rng, me, made = self.rng, self.me, []
        for index, (step, length) in enumerate(places):
            here, last = self.at(base + step, length), index == len(places) - 1
            still = length >= 18 or (step % (12 if run else 24) == 0)
            still = still or (not last and places[index + 1][0] > step + length)
            rests = last or (still and rng.random() < (me.strict if run else me.heed))
            pool = home or (here.run if run or rng.random() < me.between else here.five)
            if rests and rng.random() > me.colour * (1 - 0.7 * close):
                shared = [pc for pc in here.tones if pc in pool]
                pool = shared if shared and rng.random() < 0.75 else here.tones[: 3 if close else 4]
            move = shape[index % 4] * rng.uniform(0.6, 1.3)
            self.now = self.near(pool, self.now + move, 3 * (move != 0))
            extra = [name for name in EXTRAS if rng.random() < getattr(me, name) and not run]
            leads = rests and made and not made[-1][3] and self.now % 12 in here.tones[1:]
            if leads and rng.random() < (me.lead / 2 if run else me.blue):  # from half a step
                above = 2 * (run and made[-1][2] > self.now)
                made[-1] = (*made[-1][:2], self.now - 1 + above, False, "")
            made.append((step, length, self.now, rests, (*extra, "")[0]))
        return made, self.at(base).root, home

    def invent(self, base: int, span: int):
        rng, home = self.rng, ()
        if rng.random() < self.me.home:
            blues = self.form.chord(0).kind[:1] in {"7", "9"} and rng.random() < self.me.dark
            home = tuple((self.tonic + i) % 12 for i in (MAJOR_FIVE, MINOR_FIVE)[self.minor or blues])  # fmt: skip
            home *= len(set(home) & set(self.at(base).tones)) >= 2
        self.now = self.now if rng.random() < 0.6 else round(self.centre + rng.normal(0, 4))
        return self.sing(self.rhythm(span), base, home, SHAPES[rng.integers(len(SHAPES))])

    def answer(self, riff, base: int, span: int):
        """The rhythm of the riff's head or a new one, going the other way; it closes."""
        rng, (notes, _, home), places = self.rng, riff, self.rhythm(span)
        if rng.random() < 0.5:
            head = [n[:2] for n in notes[: (len(notes) + 1) // 2]]
            places = head + [p for p in places if p[0] >= sum(head[-1])]
        shape = SHAPES[2 if notes[-1][2] > notes[0][2] else rng.choice((1, 3, 4))]
        self.now = notes[-1][2] - 12 * (rng.random() < 0.2)
        return self.sing(places, base, home if rng.random() < 0.6 else (), shape, close=True)

    def fit(self, riff, base: int):
        """The riff over other chords: as it is or moved with the root, whichever changes least."""
        (notes, root, home), found = riff, []
        if self.rng.random() < self.me.heedless:
            return riff
        far = (self.at(base).root - root + 5) % 12 - 5
        far -= 12 * (far + max(n[2] for n in notes) > self.high)
        for shift in {0, far}:
            made, cost = [], bool(shift) * (self.me.move + 4 * bool(home)) + self.rng.random()
            for step, length, pitch, rests, extra in notes:
                here = self.at(base + step, length)
                good = {*here.tones, *(() if rests else (*here.five, *home))}
                own = [pitch + shift + d for d in (0, -1, 1, -2, 2, -3, 3, -4, 4)]
                own = [p for p in own if p % 12 in good]
                cost += own[0] != pitch + shift
                made.append((step, length, own[0], rests, extra))
            found.append((cost, (made, self.at(base).root if shift else root, home)))
        return min(found, key=lambda f: f[0])[1]

    def say(self, riff, base: int, count: int = 99) -> None:
        rng, me, free = self.rng, self.me, -99
        for step, length, pitch, rests, extra in riff[0][:count]:
            early = 6 * (step == 0 and rng.random() < me.push)
            at, here = base + step - early, self.at(base + step, length)
            accent, held = 5 * (step % 12 == 6) + 3 * rests, max(2, length * me.legato) + early
            lower = [p for p in range(max(self.low, pitch - 9), pitch - 2) if p % 12 in here.tones]
            strings = [p for p in OPEN if pitch - 12 < p < pitch and p % 12 in here.five]
            octave = [pitch + (12 if pitch + 12 <= self.high else -12)]
            second = {"double": lower[-2:], "octave": octave, "pull": strings[-1:]}.get(extra, [])
            half = 3 if extra == "pull" and length == 6 else 6
            beside = [(half, held - half, p, 0.9) for p in second[:1] if length > half]
            if extra == "ghost" and free <= at - 6:
                beside = [(-6, 3, self.now, 1 / 3)]
            elif step == riff[0][-1][0] and length >= 18 and rng.random() < me.fall:
                beside = [(length - 6 + 2 * k, 2, pitch - 1 - k, 0.55 - 0.1 * k) for k in range(3)]
            for place, long, other, part in beside:
                self.put(at + place, long, other, accent, part)
            self.put(at, held, pitch, accent)
            free = at + length

    def run(self, base: int, span: int) -> None:
        rng, up = self.rng, 1 if self.now < self.centre else -1
        first, last = int(rng.choice((0, 6, 12))), max(12, span - int(rng.choice((6, 12, 18, 24))))
        places = [(s, 6) for s in range(first, last, 6) if s % 12 or rng.random() < 0.92]
        shape = [up * m for m in ((2, 2, 3, 2), (2, 2, -3, 3), (3, 3, -2, -2))[rng.integers(3)]]
        self.say(self.sing([*places, (last, 12)], base, (), shape, run=True), base)

    def solo(self) -> list[LineNote]:
        rng, me, bars, kept = self.rng, self.me, self.bars, []
        i = int(self.first > self.form.bar_begins(self.first))
        if i and rng.random() < 0.6:  # in the midst of a bar: a way into the next
            self.run(self.first, sum(bars[0]) - self.first)
        while i < len(bars):
            wide, reply = 1 + (rng.random() < me.wide), None
            riff = kept[rng.integers(len(kept))] if kept and rng.random() < me.recall else None
            for letter in PLANS[rng.integers(len(PLANS))][: -((i - len(bars)) // wide)]:
                base, span = bars[i][0], sum(length for _, length in bars[i : i + wide])
                i += wide
                if letter == "l" or (letter == "a" and rng.random() < me.run):
                    self.run(base, span)
                elif letter in "ch":
                    riff = self.fit(riff, base) if riff else self.invent(base, span)
                    kept.append(riff)
                    self.say(riff, base, 99 if letter == "c" else 3)
                elif letter == "a":
                    reply = self.fit(reply, base) if reply else self.answer(riff, base, span)
                    self.say(reply, base)
            i += int(rng.integers(1, 3)) * (rng.random() < me.space)
        return monophonic(self.notes)

    def figure(self, beats: int, first: str, *, boogie: bool) -> list[str]:
        degrees = [first]
        for _ in range(beats - 1):
            degrees.append(str(self.rng.choice([d for d in GOES[degrees[-1]] if boogie or d not in "27"])))  # fmt: skip
        return degrees

    def place(self, here, degrees: list[str]) -> list[int]:
        """A figure on the neck, over the root that lies nearest and leaves it room."""
        offsets = [here.degrees[d] for d in degrees]
        fit = range(28 - min(offsets), 53 - max(offsets))
        roots = [r for r in fit if r % 12 == here.root] or [33 + (here.root + 3) % 12]
        costs = [abs(r + offsets[0] - self.now) + 0.05 * (r + 5 - self.centre) ** 2 for r in roots]
        return [roots[costs.index(min(costs))] + o for o in offsets]

    def choose(self, here, after, beats: int) -> list[str]:
        """The one of three figures that comes out nearest to the next root."""
        rng, found = self.rng, []
        for _ in range(3):
            first = "R" if rng.random() < self.me.root else str(rng.choice(("3", "5", "8")))
            made = self.figure(beats, first, boogie=rng.random() < 0.6)
            found.append((abs((self.place(here, made)[-1] - after.root + 6) % 12 - 6) or 6, made))
        return min(found)[1]

    def towards(self, after, now: int, here) -> int:
        """A note that leads to the next chord's bass."""
        rng, goal = self.rng, self.near((after.bass,), now, pull=0.03)
        steps = [p for p in (goal - 2, goal + 2, goal - 1, goal + 1) if p % 12 in here.run]
        half = rng.random() < self.me.half
        return int(rng.choice([goal - 1, goal + 1] if half else [*steps, *steps, goal + (7 if goal < 40 else -5)]))  # fmt: skip

    def strike(self, step: int, pitch: int, beats: int = 1, *, one: bool = False) -> None:
        rng, me, last = self.rng, self.me, step + 12 * beats - 12
        early = 6 * (one and rng.random() < 0.4 * me.push)
        self.put(step - early, 12 * beats * min(1, me.legato + 0.1) + early, pitch, 3 * (not one))
        strings = [p for p in OPEN if p < pitch and p % 12 in self.at(step).tones]
        if rng.random() < me.skip:
            self.put(last + 6, 5, strings[-1] if strings and rng.random() < 0.5 else pitch, -12)
        elif rng.random() < me.ghost:
            self.put(last + 6, 2, pitch, 0, 1 / 3)
        self.now = pitch

    def walk(self) -> list[LineNote]:
        rng, me, left, kept = self.rng, self.me, 0, []
        for number, (base, length) in enumerate(self.bars):
            where, stop = self.form.at(base), base + length
            if left <= 0:  # an ostinato for some bars, or a strict four
                boogie, left = rng.random() < me.boogie, int(rng.choice((2, 4, 4, 8)))
                kept = [self.figure(8, d, boogie=boogie) for d in ("R", "R8"[rng.random() < 0.3])]
                kept = kept if rng.random() < me.ostinato else []
            left -= 1
            two = where.chorus == 1 and me.two > (where.spot.bar.section != "A")
            new = [s for s in range(base, stop, 12) if s == base or self.at(s) != self.at(s - 1)]
            for step, end in zip(new, (*new[1:], stop), strict=True):
                figure = kept[number % 2][: (end - step) // 12] if kept else []
                self.over(step, (end - step) // 12, figure, two=two and len(new) == 1)
        return monophonic(self.notes)

    def over(self, step: int, beats: int, degrees: list[str], *, two: bool) -> None:
        """Walks over one chord: the ostinato, what was worked out, or the figure that fits best."""
        rng, me, after = self.rng, self.me, self.at(step + 12 * beats)
        here = self.at(step - (rng.random() < me.late))  # late: the chord before is still played
        leads = after != here and rng.random() < me.lead * (0.7 if degrees else 1)
        degrees = degrees or self.choose(here, after, beats)
        if beats == 2:
            way = me.turns[step // 24 % 2]
            degrees, leads = ["R", way if way in GOES else "R"], way == "lead"
        elif step % self.form.steps >= self.form.steps - 96 and rng.random() < me.worked:
            degrees = self.worked.setdefault(step % self.form.steps, degrees)
        pitches = self.place(here, degrees)
        if degrees[0] == "R" and here.bass != here.root:
            pitches[0] += (here.bass - here.root + 5) % 12 - 5
        if len(pitches) > 1 and leads:
            pitches[-1] = self.towards(after, pitches[-2], here)
        hits = [(b, p, 1) for b, p in enumerate(pitches) if not b or rng.random() > me.gap]
        if two and beats > 2:
            fifth = self.place(here, [str(rng.choice(("5", "5", "L5", "3")))])[0]
            hits = [(0, pitches[0], 2), (2, fifth, beats - 2), *hits[max(3, beats - leads) :]]
        for beat, pitch, long in hits:
            self.strike(step + 12 * beat, pitch, long, one=beat == 0)

    def astray(self, way: str) -> list[LineNote]:
        """Without chords: a cell of odd length again and again, or fishing for the note."""
        rng, step, cell, beats = self.rng, self.first, [], int(self.rng.choice((3, 5, 5, 7)))
        lost = set(rng.permutation(12)[:5].tolist())
        while step < self.last:
            if not cell or way == "fishing" or rng.random() < 0.06:
                places = self.rhythm(12 * beats) if self.soloing else [(12 * k, 11) for k in range(beats)]  # fmt: skip
                cell = []
                for place, length in places:
                    self.now += int(rng.choice((0, 1, 1, 2, 6))) * int(rng.choice((-1, 1)))
                    if way != "fishing" or not self.low <= self.now <= self.high - 8:
                        self.now = self.near(lost, self.now, 2, 0.03)
                    cell.append((place, length, self.now))
            for place, length, pitch in cell:
                self.put(step + place, length, pitch)
            step += 12 * (beats + (self.soloing and rng.random() < self.me.space))
        return monophonic(self.notes)


def _believed(form: Form, beats: int, rng, way: str) -> list[Chord]:
    """The chords of one who has another tune in mind, guesses, or hops about the form."""
    made, bar, turn = [], form.chart.meter.beats, int(rng.integers(12))
    key = pitch_class(form.chart.key.tonic) + int(rng.choice((1, 3, 4, 6, 7, 8, 11)))
    kinds = (("m7", "7"), ("7",), ("maj7",), ("m7",), ("m7b5", "7b9"))
    while len(made) <= beats:
        up, turn, root = TWELVE[turn % 12], turn + 1, int(rng.integers(12))
        if way == "another blues":
            made += [chord(NAMES[(key + up) % 12] + ("m7" if up == 2 else "7"))] * bar
        elif way == "hopping":
            spots = rng.integers(form.beats) + np.arange(rng.integers(3, 2 * bar + 2))
            made += [c if c.tones else chord("C7") for c in (form.chord(b * 12) for b in spots.tolist())]  # fmt: skip
        else:
            for k, kind in enumerate(kinds[rng.integers(5)]):
                made += [chord(NAMES[(root + 5 * k) % 12] + kind)] * (bar * int(rng.integers(1, 3)))
    return made


def _fits(form: Form, line: list[LineNote]) -> np.ndarray:
    """By place of the form, the share of chord tones among the notes on a beat or long ones."""
    tones = [{t.pitch_class for t in form.chord(12 * b).tones} for b in range(form.beats)]
    table = np.array([[not of or pc in of for pc in range(12)] for of in tones])
    told = [(n.step // 12, n.pitch % 12) for n in line if not n.step % 12 or n.end_step > n.step + 9]  # fmt: skip
    on = np.array(told, dtype=int).reshape(-1, 2)
    places = (on[:, :1] + np.arange(form.beats)) % form.beats
    return table[places, on[:, 1:]].mean(axis=0) if told else np.ones(form.beats)


def walk(form: Form, start: int, stop: int, rng: np.random.Generator, player) -> list[LineNote]:
    """Walking over the beats from ``start`` to ``stop`` of a form."""
    return _Hand(form, start, stop, rng, player, soloing=False).walk() if start < stop else []


def solo(form: Form, start: int, stop: int, rng: np.random.Generator, player) -> list[LineNote]:
    """A solo over the beats from ``start`` to ``stop`` of a form."""
    return _Hand(form, start, stop, rng, player, soloing=True).solo() if start < stop else []


def adrift(form: Form, start: int, stop: int, rng, player, way: str, play) -> list[LineNote]:
    """A stretch that fits the form nowhere, walking or solo as ``play`` is."""
    soloing = play is solo or (play is not walk and rng.random() < 0.5)
    longer, found = max(stop, start + 20 * form.chart.meter.beats), []
    usual = (solo if soloing else walk)(form, start, longer, rng, player)
    enough = _fits(form, usual)[0] - 0.12  # drawn until so much worse
    while len(found) < 8 and (not found or min(found)[0] > enough):
        believed = _believed(form, stop - start, rng, way)
        hand = _Hand(form, start, stop, rng, player, soloing, believed)
        line = hand.astray(way) if way in ADRIFT_WAYS[3:] else hand.solo() if soloing else hand.walk()  # fmt: skip
        found.append((_fits(form, line).max() + (len(line) < (stop - start) / 5), line))
    return min(found)[1]
