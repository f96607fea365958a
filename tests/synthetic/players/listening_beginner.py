"""A student in his second year who works each chord out as he goes.

A chord costs him time, the more the stranger its key; until he has it he plays its root, a note
shared with the chord before, or nothing. Some qualities he takes for plainer ones; where he hears
the clash he mends it by a half step on the next eighth. Solos: three to eight notes that begin
after the downbeat and end on a long one, out of the parent key and the chords that he has. Walking
goes up from the root until the neck ends, then down, with an approach where he has had time. He
grows bolder by the chorus. Adrift he plays so over chords that do not stand there, goes round on a
figure, or gropes by half steps. Pitches: E1 = 28 to 55 walking, to 67 in a solo.
"""

# ruff: noqa: PLR0911, PLR0917 -- one way of getting out of a doubt after the other

from __future__ import annotations

from itertools import groupby, pairwise
from types import SimpleNamespace
from typing import TYPE_CHECKING

import numpy as np

from tests.synthetic.charts import MAJOR, NAMES, QUALITIES, chart, chord, pitch_class
from tests.synthetic.lines import LineNote, monophonic

if TYPE_CHECKING:
    from linecheck.music.form import Form
    from linecheck.terms import Chart, Chord

ADRIFT_WAYS = ("another key", "guessed chords", "looking for the place", "one figure", "groping")
BY_HAND = ADRIFT_WAYS[3:]  # the chords are forgotten; the others put other chords in their place
MAJOR_KEYS = np.array([[(pc - key) % 12 in MAJOR for pc in range(12)] for key in range(12)], float)
TAKEN_FOR = {  # what a badly known quality is taken for
    "m7b5": "m7", "7alt": "7", "7b9": "7", "7#5": "7", "7sus": "7", "9": "7", "13": "7", "maj7": "", "maj7#11": "", "6": "", "m6": "m7", "mmaj7": "m7", "dim7": "m7b5", "aug": "",
}  # fmt: skip
PLAIN, BLUES = ("", "m", "7", "m7", "maj7", "6"), (0, 3, 5, 6, 7, 10)  # plain: found quickly
FROM_BEAT = ((6, 6), (6, 6, 6, 6), (12,), (12, 12), (4, 4, 4), (18, 6), (6, 12, 6), (12, 6, 6))
FROM_OFF, OFF_SHARES = ((6,), (6, 6, 6), (18,), (12, 6)), (0.5, 0.25, 0.1, 0.15)
BUSY = np.array([9 * len(cell) / sum(cell) for cell in FROM_BEAT])
TRIES, WORSE = 8, 0.15  # lines adrift are drawn until one fits the form so much worse than usual
# Habits, drawn between the weak student's and the able one's by skill, with some will of their own.
BY_SKILL = {
    "latency": (1.9, 0.35), "wrong": (0.09, 0), "ear": (0.3, 0.9), "adapts": (0.35, 1), "rooty": (0.75, 0.3), "push": (0, 0.55),
    "tones": (0.2, 0.85), "ending": (0.4, 0.95),  # chord tones where it counts, and on the last note
    "chroma": (0, 0.28), "flow": (0.1, 0.85), "slope": (1.5, 0.4), "knows": (0.2, 0.9), "root": (0.72, 0.97), "approach": (0.35, 0.95),
}  # fmt: skip
BY_TASTE = {
    "arpeggio": (0.1, 0.5), "safe": (0.3, 0.9), "blues": (-0.3, 0.4), "holes": (0.5, 3.4), "again": (0.05, 0.45), "loud": (62, 96),
    "bold": (0, 0.4), "grows": (0.1, 0.35), "middle": (42, 52), "ceiling": (55, 66), "neck": (44, 53), "in_two": (-0.85, 0.15),
    "again_root": (0.3, 0.95), "returns": (0.05, 0.7), "half_step": (0.25, 0.8), "skips": (-0.05, 0.12), "ghosts": (-0.06, 0.09), "legato": (0.7, 1),
}  # fmt: skip


def charts() -> list[Chart]:
    """Fifteen charts that stand nowhere else."""
    return [
        chart("Borrowed Bow", "G", "A", {"A": "G7 | C7 | G7 | Dm7 G7 | C7 | C#dim7 | G7 | Bm7b5 E7 | Am7 | D7 | Bm7 E7 | Am7 D7b9"}), chart("Rosin Blues", "D", "A", {"A": "D7 | % | % | % | G9 | % | D7 | % | A7 | G9 | D7 | A7alt"}),
        chart("Practice Room Nine", "Fm", "A", {"A": "Fm6 | % | Gm7b5 | C7b9 | Fm6 | F7b9 | Bbm7 | % | Db9 | C7alt | Fm6 Db9 | Gm7b5 C7b9"}), chart("Half a Sandwich", "A", "A", {"A": "A6 F#7 | Bm7 E7 | C#m7 Cdim7 | Bm7 E7 | A7 | Dmaj7 Dm6 | C#m7 F#7b9 | Bm7 E7sus"}), chart("Twenty Steps Up", "Db", "ABC", {"A": "Dbmaj7 | % | Ebm7 | Ab7 | Fm7 | Bb7b9 | Ebm7 | Ab7", "B": "Gbmaj7 | Gbm6 | Dbmaj7 | Cm7b5 F7 | Bbm7 | % | Eb9 | %", "C": "Ebm7 | Ab7sus | Db6 | Ab7"}),
        chart("The Second Shelf", "F", "AABA", {"A": "F6 | Dm7 | Gm7 | C7 | Am7 Abdim7 | Gm7 C7 | F6 D7 | Gm7 C7sus", "B": "Bbmaj7 | Bm7b5 E7b9 | Am7 | D7 | Gm7 | Bbm6 | Am7 Dm7 | G7 C7"}),
        chart("Broken Metronome", "Eb", "AABA", {"B": "G7 | % | C7 | % | F7 | % | Bb7 | %", "A": "Eb6 C7 | Fm7 Bb7 | Gm7 C7b9 | Fm7 Bb7 | Bbm7 Eb7 | Ab6 Adim7 | Eb6/Bb C7 | Fm7 Bb7"}),
        chart("Wet Umbrellas", "Am", "AABA", {"A": "Am6 | Fmaj7 | Bm7b5 | E7b9 | Am7 | D9 | Bm7b5 E7alt | Am6", "B": "Gm7 | C7 | Fmaj7 | % | F#m7b5 | B7b9 | Em7 | E7sus E7"}),
        chart("Corridor Talk", "C", "ABAC", {"A": "C6 | % | Gm7 | C7 | Fmaj7 | Bb9 | Em7 | A7b9", "B": "Dm7 | % | D7 | % | Dm7 | Fm6 | G7sus | G7", "C": "F#m7b5 | Fm6 | Em7 | Ebdim7 | Dm7 | G7b9 | C6 A7 | Dm7 G7"}),
        chart("Letter to a Landlord", "Gm", "ABAC", {"A": "Gmmaj7 | Gm7 | Em7b5 | Ebmaj7 | Cm7 | F7 | Bbmaj7 | D7b9", "B": "Ebmaj7 | % | Am7b5 | D7alt | Gm6 | % | A9 | D7", "C": "Cm7 | Am7b5 | Bbmaj7 | G7b9 | Cm7 Am7b5 | D7alt | Gm6 | Am7b5 D7"}),
        chart("Still Water Tank", "Em", "ABA", {"A": "Em7 | % | % | % | % | % | % | %", "B": "Cmaj7#11 | % | % | % | F#m7 | % | % | %"}), chart("Grey Tiles", "Ebm", "ABC", {"A": "Ebm7 | % | % | %", "B": "Bmaj7 | % | % | %", "C": "Abm7 | % | Db7sus | % | Fm7b5 | Bb7alt | Ebm7 | %"}),
        chart("Waltz of the Spare Key", "G", "AB", {"A": "Gmaj7 | Em7 | Am7 | D7 | Bm7 | Bbdim7 | Am7 | D7sus", "B": "Dm7 | G7 | Cmaj7 | Cm6 | Bm7 | E7b9 | Am7 / D7 | G6"}, beats=3), chart("Three Cold Spoons", "Bbm", "AAB", {"A": "Bbm7 | % | Ebm7 | % | Cm7b5 | F7b9 | Bbm6 | %", "B": "Gbmaj7 | % | Db6 | % | C7#5 | % | F7alt | %"}, beats=3),
        chart("Slow Lift", "B", "AB", {"A": "Bmaj7 | G#m7 | C#m7 F#7 | Bmaj7 | Em7 A7 | Dmaj7 | Fm7 Bb7 | Ebmaj7", "B": "Abm7 | Db9 | C#m7 | F#7 | Bmaj7 E9 | D#m7 G#7 | C#m7 | F#7alt"}),
    ]  # fmt: skip


def draw_player(rng: np.random.Generator) -> SimpleNamespace:
    """A student: from a careful one to a weak one, each habit with a will of its own."""
    shares = np.clip(rng.beta(1.3, 1.2) + rng.normal(0, 0.24, len(BY_SKILL)), 0, 1).tolist()
    habits = {n: a + (b - a) * u for (n, (a, b)), u in zip(BY_SKILL.items(), shares, strict=True)}
    habits |= {name: float(rng.uniform(*ends)) for name, ends in BY_TASTE.items()}
    slope, push, favourite = habits["slope"], habits["push"], int(rng.choice((0, 5, 7, 10, 3, 2)))
    fifths = np.array([min(f := (7 * (key - favourite)) % 12, 12 - f) for key in range(12)])
    trouble = np.clip(fifths * slope / 6 + (fifths > 0) * rng.normal(0, 0.12, 12), 0, 1.3).tolist()
    known = {kind for kind in TAKEN_FOR if rng.random() < habits["knows"]}
    entry = rng.dirichlet((4, 4, 2.5, 2, 0.8, 0.4 + push, 0.2 + push))
    cells = rng.dirichlet((4, 3, 2, 1.5, rng.uniform(0.05, 2), 0.8, 1, 1.5))
    return SimpleNamespace(**habits, trouble=trouble, known=known, entry=entry, cells=cells)


def _scale_of(tones, after, kept: int, home: int, *, adapts: bool) -> tuple[int, tuple[int, ...]]:
    """The parent key that holds this chord and the next one best, and its scale, bent or not."""
    scores = MAJOR_KEYS @ np.bincount([*tones, *tones, *after], minlength=12)
    key = int(np.argmax(scores + 0.6 * (np.arange(12) == kept) + 0.8 * (np.arange(12) == home)))
    run = {(key + i) % 12 for i in MAJOR}
    for tone in set(tones) - run if adapts else ():
        run -= {(tone + 1) % 12, (tone - 1) % 12} - set(tones)
        run.add(tone)
    return key, tuple(sorted(run))


def _think(form: Form, start: int, chords: list[Chord], rng, player) -> list[SimpleNamespace]:
    """The chords as he works them out, in beats: what he takes for tones and scale, what is true."""
    sign, spans, recent, learned, first = form.chart.key, [], [], set(), start
    key = home = (pitch_class(sign.tonic) + 3 * sign.minor) % 12
    groups = [list(same) for _, same in groupby(chords, lambda c: c.symbol)]
    for group, after in zip(groups, [g[0] for g in groups[1:] + groups[-1:]], strict=True):
        at, bold = group[0], min(1.0, player.bold + player.grows * (first // form.beats))
        root = home if at.root is None else at.root
        tones = true = tuple(t.pitch_class for t in at.tones) or (root, (root + 4) % 12)
        mistaken = at.kind not in player.known or rng.random() < 0.2 * player.trouble[key]
        if mistaken and at.kind in TAKEN_FOR and at.symbol not in learned:
            tones = (root, *((root + i) % 12 for i in QUALITIES[TAKEN_FOR[at.kind]][0]))
            learned |= {at.symbol} if rng.random() < 0.4 * player.ear else set()
        bends, ahead = rng.random() < player.adapts, [t.pitch_class for t in after.tones]
        key, run = _scale_of(tones, ahead, key, home, adapts=bends)
        if at.kind in {"7", "9", "13"} and rng.random() < player.blues:
            run = tuple((pitch_class(sign.tonic) + i) % 12 for i in BLUES)
        trouble = player.trouble[key] * (1 - 0.5 * bold)
        late = player.latency * rng.exponential() * (0.35 + 1.3 * trouble) * (1.1 - 0.5 * bold)
        late *= (0.75 if at.kind in PLAIN else 1.4) * (0.5 if at.symbol in recent else 1)
        bass = root if at.bass is None or rng.random() < 0.4 * player.rooty else at.bass
        spans.append(SimpleNamespace(first=first, last=first + len(group), bass=bass, tones=tones, run=run, true=true,
            late=late, trouble=trouble, bold=bold, before=tones, after=tones))  # fmt: skip
        recent, first = [*recent[-5:], at.symbol], first + len(group)
    for one, two in pairwise(spans):
        shared = set(one.tones) & set(two.tones) if rng.random() < 0.6 else ()
        one.after = two.before = tuple(shared or set(one.run) & set(two.run)) or two.tones
    return spans


class _Hands:
    """Where the hand is, what it does next, and the notes so far."""

    def __init__(self, form, start, stop, rng, player, *, soloing, chords=None, way="") -> None:
        self.rng, self.player, self.form, self.start, self.end = rng, player, form, start, stop * 12
        spots = [form.at(b * 12).spot for b in range(start, stop + 2)]
        spans = _think(form, start, chords or [spot.chord for spot in spots], rng, player)
        self.spans = [span for span in spans for _ in range(span.first, span.last)]  # by beat
        self.beats = [int(spot.beat) - 1 for spot in spots]
        self.way = way if way in BY_HAND else ""
        self.low, self.neck = (31, int(player.ceiling)) if soloing else (28, int(player.neck))
        self.high, self.middle = self.neck, int(player.middle) if soloing else 36
        self.now, self.up = self.middle + int(rng.integers(-4, 5)), 1 if rng.random() < 0.65 else -1
        self.notes, self.goal, self.rhythm, self.figure = [], None, [], []
        self.plan: list[tuple[bool, int]] = []  # chord tone or scale, direction

    def chance(self, share: float) -> bool:
        return self.rng.random() < share

    def clip(self, pitch: int) -> int:
        return max(self.low, min(self.high, int(pitch)))

    def at(self, beat: int) -> SimpleNamespace:
        """The chord of a beat of the stretch; how far up he dares then."""
        span = self.spans[max(0, min(beat, len(self.spans) - 1))]
        self.high = self.neck + int(2.9 * span.bold)
        return span

    def add(self, step: int, length: float, pitch: int, accent: float = 0, *, dead=False) -> None:
        if self.start * 12 <= step < self.end:
            loud = self.rng.normal(self.player.loud + accent, 6) * (0.34 if dead else 1)
            end = min(self.end, step + max(1, round(length)))
            self.notes.append(LineNote(step, end, int(pitch), int(np.clip(loud, 12, 122))))

    def near(self, classes, about: int = 0, *, stay: float = 3) -> int:
        """The nearest pitch of some classes, rather onward than back, rather another than this."""
        pool = np.array([p for p in range(self.low, self.high + 1) if p % 12 in classes])
        away = pool - (about or self.now)
        costs = abs(away) + (away * self.up < 0) + stay * (pool == self.now)
        return int(pool[np.argmin(costs + self.rng.exponential(1, len(pool)))])

    def onward(self, classes, way: int) -> int:
        """The next pitch of some classes in a direction; at the end of the neck back again."""
        pool = [p for p in range(self.low, self.high + 1) if p % 12 in classes and p != self.now]
        ahead = [p for p in pool if (p > self.now) == (way > 0)]
        self.up = self.up if ahead else -way
        return min(ahead or pool, key=lambda p: abs(p - self.now))

    def lost(self) -> int:
        """A note of one who has let the chords go."""
        rng, top = self.rng, min(self.high, 58)
        if self.way == "one figure" and (not self.figure or self.chance(0.05)):
            about = int(np.clip(self.now, self.low + 4, top - 4))
            self.figure = (about + rng.choice(np.arange(-4, 5), rng.integers(3, 6))).tolist()
        if self.figure:
            self.figure.append(self.figure.pop(0))
            return self.figure[-1]
        self.up *= -1 if self.chance(0.28) or not self.low + 3 < self.now + self.up < top - 2 else 1
        moved = self.now + self.up * int(rng.choice((0, 1, 1, 1, 1, 2, 2, 3, 6)))
        return int(rng.choice((33, 38, 43)) if self.chance(0.1) else np.clip(moved, self.low, top))

    def walk_pitch(self, i: int) -> int:
        player, after, span = self.player, self.at(i + 1), self.at(i)
        goal, self.goal = self.goal, None
        if self.way or goal is not None:
            return self.lost() if self.way else goal
        since = self.start + i - span.first
        if since == 0 or self.beats[i] == 0:
            unsure, sure = since < span.late, player.again_root if since else player.root
            if self.chance(0.92 if unsure else sure):
                return self.root(span)
            told = span.tones if self.chance(0.4 + 0.5 * player.tones) else span.run
            return self.near(span.before if unsure else told)
        changes, ready = span is not after, after.late < 0.6 + 0.8 * after.bold
        if (ready or not changes) and (changes or self.beats[i + 1] == 0):
            if self.chance(player.approach * (0.6 + 0.4 * span.bold)):
                return self.approach(after, span)
        elif changes and self.chance(player.safe):
            return self.near(span.after)
        if since < span.late:  # the root again, or its fifth, right or not
            root = self.near((span.bass,), stay=0)
            return root if self.chance(0.6) else self.clip(root + (7 if root < 40 else -5))
        leaps = self.chance(player.tones if self.beats[i] == 2 else player.arpeggio)
        return self.onward(span.tones if leaps else span.run, self.up)

    def root(self, span: SimpleNamespace) -> int:
        lowest, along = 28 + (span.bass - 28) % 12, self.near((span.bass,))
        low = self.chance(self.player.returns * (1.2 - span.bold))
        self.up = 1 if low or self.now <= 34 else -1 if self.now > self.high - 4 else self.up
        return lowest if low else along

    def approach(self, target: SimpleNamespace, span: SimpleNamespace) -> int:
        goal = self.goal = self.root(target)
        pitch = goal + (7 if goal < 38 else -5)
        side = 1 if (self.now > goal or goal == self.low) and goal < self.high else -1
        if self.chance(self.player.half_step):
            pitch = goal + side * (1 if self.chance(0.7) else -1)
        elif self.chance(0.6):
            pitch = goal + side * (2 if (goal + 2 * side) % 12 in span.run else 1)
        return self.clip(pitch) if self.clip(pitch) != goal else goal + side

    def walk(self) -> list[LineNote]:
        player, in_two = self.player, self.player.in_two > 0 and self.form.chart.meter.beats == 4
        for step in range(self.start * 12, self.end, 12):
            i = step // 12 - self.start
            span, since = self.at(i), step / 12 - self.spans[i].first
            waits, two = 0 < since < span.late, in_two and step < 12 * self.form.beats
            hole = 0.02 + 0.06 * (since == 0) * (span.late > 1.5) + 0.3 * waits * span.trouble
            if self.chance(0.8 if two and self.beats[i] % 2 else hole * (1 - span.bold)):
                ends = step + 11 * self.chance(0.6)  # the last note goes on, or not
                self.notes[-1:] = [note._replace(end_step=ends) for note in self.notes[-1:]]
                self.goal = None
                continue
            meant = self.clip(self.walk_pitch(i))
            slips = not self.way and self.chance(player.wrong * (0.5 + span.trouble))
            self.now = pitch = self.clip(meant + slips * int(self.rng.choice((-1, 1))))
            self.add(step, player.legato * self.rng.normal(12, 0.6), pitch, 3 * (self.beats[i] % 2))
            if pitch != meant and self.chance(player.ear):
                self.now = meant
                self.add(step + 6, 6, meant, -4)
            elif self.chance(player.ghosts):
                self.add(step + 6, 2, pitch, dead=True)
            elif not waits and self.chance(player.skips):
                self.add(step + 6, 5, self.near((span.bass, pitch % 12), stay=0), -9)
        return monophonic(self.notes)

    def solo(self) -> list[LineNote]:
        step = self.entry(self.start * 12, self.rng.uniform(0, 0.7))
        while step < self.end:
            step = self.entry(self.statement(step))
        return monophonic(self.notes)

    def entry(self, step: int, share: float = 1) -> int:
        """When the next statement begins: after a hole, after a downbeat, mostly with the chord."""
        i = step // 12 - self.start
        hole = self.rng.gamma(2, self.player.holes / 2) * (1.25 - 0.7 * self.at(i).bold)
        span = self.at(i := i + round(hole * share * (0.75 + self.at(i).trouble)))
        i += (1 + int(span.late)) * (self.start + i < span.first + span.late and self.chance(0.5))
        begins = (self.start + i - self.beats[min(i, len(self.beats) - 1)]) * 12
        begins += int(self.rng.choice((6, 12, 18, 24, 30, 0, -6), p=self.player.entry))
        while begins < step:
            begins += self.form.chart.meter.beats * 12 if self.chance(0.4) else 12
        return begins

    def lengths(self, step: int, span: SimpleNamespace) -> list[int]:
        """The rhythm of a statement; its last note is long."""
        rng, player, made = self.rng, self.player, []
        if self.rhythm and self.chance(player.again):
            return self.rhythm
        odds = 0.12 + 0.55 * player.flow + 0.3 * span.bold - 0.25 * span.trouble
        count = 2 + int(rng.binomial(5, np.clip(odds, 0.05, 0.9)))
        weights = player.cells * BUSY ** (2.8 * player.flow - 0.7)
        while len(made) < count:
            off = (step + sum(made)) % 12
            shares = OFF_SHARES if off else weights / weights.sum()
            made += (FROM_OFF if off else FROM_BEAT)[rng.choice(len(shares), p=shares)]
        off = (step + sum(made[:count])) % 12
        if off and (off != 6 or not self.chance(player.push + 0.15)):  # the long note on a beat
            made[count - 1] += 12 - off
        self.rhythm = [*made[:count], int(rng.choice((18, 18, 18, 24, 24, 24, 36, 36, 48, 60)))]
        return self.rhythm

    def statement(self, step: int) -> int:
        """Three to eight notes, or two roots of one who is unsure; the step after them."""
        rng, player, span = self.rng, self.player, self.at(step // 12 - self.start)
        left = [*self.lengths(step, span)]
        if not self.way and step / 12 < span.first + span.late and self.chance(0.35 * player.rooty):
            left = [12 * int(n) for n in rng.integers(1, 4, 2)]
        self.plan, self.goal, mend, first = [], None, None, True
        while left and step < self.end:
            length, last = left.pop(0), not left
            right = None if mend else self.struck(step, length, first=first, last=last)
            pitch, mend = right or (mend, None)
            if mend and length > 6:  # mended on the next eighth
                left, length = [length - 6, *left], 6
            held = 0.95 * length if length < 7 else length * player.legato - rng.exponential(0.6)
            dead = not (first or last) and length == 6 and self.chance(player.ghosts)
            self.add(step, held, pitch, 4 * (step % 12 == 6) + 3 * last, dead=dead)
            self.now, first, step = pitch, False, step + length
        return step

    def struck(self, step: int, length: int, *, first: bool, last: bool) -> tuple[int, int | None]:
        """A pitch, and what he would rather have played once he hears it."""
        player, i = self.player, step // 12 - self.start
        ahead, span = self.at(i + 1), self.at(i)
        if self.way:
            return self.lost(), None
        if step % 12 == 6 and length > 6 and ahead.late < 0.5:
            span = ahead  # he hears it coming
        pitch, self.goal = self.goal, None
        self.up = -1 if self.now > self.high - 5 else 1 if self.now < self.low + 4 else self.up
        if pitch is None and step / 12 < span.first + span.late:
            rooted = self.chance(player.rooty * (0.7 if first or last else 0.3))
            pitch = self.near((span.bass,) if rooted else span.before, stay=0 if last else 3)
        right = pitch = pitch or self.further(step, length, span, first=first, last=last)
        if self.chance(player.wrong * (0.4 + 1.2 * span.trouble)):
            pitch = self.clip(pitch + int(self.rng.choice((-1, 1))))
        elif pitch % 12 not in span.true and pitch % 12 in span.tones:  # a chord taken for another
            right = next((p for p in (pitch - 1, pitch + 1) if p % 12 in span.true), pitch)
        if right == pitch or not self.chance(player.ear):
            return pitch, None
        span.tones, self.goal = span.true, None  # until the chord comes again
        return pitch, self.clip(right)

    def further(self, step: int, length: int, span, *, first: bool, last: bool) -> int:
        player, i, over = self.player, step // 12 - self.start, step + length - span.last * 12
        share = player.safe * (1 if last else 0.5 - 0.5 * span.bold)
        if (over == 0 or (last and over > 0)) and self.chance(share):
            return self.near(span.after)
        tones = span.tones if self.chance(player.ending) else span.run
        if first and tones is span.tones:
            weights = np.array((player.rooty, 0.55, 0.4, player.tones - 0.1))[: len(tones)]
            tones = (self.rng.choice(tones[:4], p=weights / weights.sum()),)
        if first or last:
            return self.near(tones, round(0.7 * self.now + 0.3 * self.middle) if first else 0)
        strong = step % 12 == 0 and (self.beats[i] % 2 == 0 or self.start + i == span.first)
        if not strong and length <= 6 and self.chance(player.chroma * (0.5 + 0.5 * span.bold)):
            self.goal = self.near(span.tones)
            return self.clip(self.goal - (self.up if abs(self.goal - self.now) > 1 else 1))
        if not self.plan:  # the note again or about a note; along the chord or the scale
            turn, leaps = self.chance(0.2), self.chance(player.arpeggio)
            about = [(False, self.up), (False, -self.up)] if self.chance(0.65) else [(False, 0)]
            self.plan = about if turn else [(leaps, self.up)] * int(self.rng.integers(2, 6 - leaps))
            self.up *= -1 if not turn and self.chance(0.5) else 1
        leaps, way = self.plan.pop(0)
        pitch = self.onward(span.tones if leaps else span.run, way) if way else self.now
        snaps = strong and pitch % 12 not in span.tones and self.chance(player.tones)
        return self.near(span.tones, pitch) if snaps else pitch


def walk(form: Form, start: int, stop: int, rng: np.random.Generator, player) -> list[LineNote]:
    """Walking over the beats from ``start`` to ``stop`` of a form."""
    return _Hands(form, start, stop, rng, player, soloing=False).walk()


def solo(form: Form, start: int, stop: int, rng: np.random.Generator, player) -> list[LineNote]:
    """A solo over the beats from ``start`` to ``stop`` of a form."""
    return _Hands(form, start, stop, rng, player, soloing=True).solo()


def _other_chords(form: Form, length: int, rng, way: str) -> list[Chord]:
    """The chords in the head of one who has lost the form."""
    made, root, bar = [], int(rng.integers(12)), form.chart.meter.beats
    while len(made) < length:
        move, kind = ((0, "maj7"), (2, "m7"), (7, "7"), (9, "m7"), (5, "maj7"))[rng.integers(5)]
        place, beats = int(rng.integers(form.beats)), int(rng.integers(2, bar + 2))
        if way == "looking for the place":
            made += [form.at(b * 12).spot.chord for b in range(place, place + beats)]
        else:
            made += [chord(NAMES[(root + move) % 12] + kind)] * (2 * beats - 1)
            root += int(rng.choice((5, 5, 2, 10, 1, 11, 4, 6))) * (way == "guessed chords")
    return made[:length]


def _fits(form: Form, line: list[LineNote]) -> np.ndarray:
    """By place of the form, the share of the line's time that lies on tones of its chords."""
    spots = [form.at(beat * 12).spot.chord for beat in range(form.beats)]
    sounds = np.array([np.isin(range(12), [t.pitch_class for t in c.tones]) for c in spots])
    told = np.array([(n.step // 12, n.pitch % 12, min(24, n.end_step - n.step)) for n in line])
    turned = (told[:, :1] + np.arange(form.beats)) % form.beats
    return told[:, 2] @ sounds[turned, told[:, 1:2]] / told[:, 2].sum()


def adrift(form: Form, start: int, stop: int, rng, player, way: str, play) -> list[LineNote]:
    """A stretch that fits the form nowhere, walking or solo as ``play`` is."""
    soloing = play is solo or (play is not walk and rng.random() < 0.5)
    usual = (solo if soloing else walk)(form, start, max(stop, start + 64), rng, player)
    best, least, enough = [], np.inf, _fits(form, usual)[0] - WORSE
    for _ in range(TRIES):
        chords = None if way in BY_HAND else _other_chords(form, stop - start + 2, rng, way)
        hands = _Hands(form, start, stop, rng, player, soloing=soloing, chords=chords, way=way)
        line = hands.solo() if soloing else hands.walk()
        fit = _fits(form, line).max() + (3 * len(line) < stop - start) if line else 9.0
        best, least = (line, fit) if fit < least else (best, least)
        if least <= enough:
            break
    return best
