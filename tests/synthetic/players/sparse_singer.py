"""A spare player: a guide-tone line carries the solo, rhythm decorates it, rests set it off.

Solo: one long tone for every chord is laid out, mostly thirds and sevenths joined by step (ninths
and elevenths, for one who keeps off the roots); phrases are cut from that line by rhythm: repeated
notes, dotted figures, threes over four, quarter triplets, ties over the bar line, seldom a burst.
Earlier phrases come back, bent to the new chord. Walking: few notes, roots and fifths repeated,
octave drops, halves, pedals where a section ends, skips and ghost notes. Adrift he sings over other
chords, goes round on one phrase, or lets the pitches wander under his usual rhythms.
"""

# ruff: noqa: PLR0917 -- a player is asked for a line by place, chance, habits and way

from __future__ import annotations

from bisect import bisect_right
from functools import partial
from itertools import pairwise
from types import SimpleNamespace
from typing import NamedTuple

import numpy as np

from linecheck.music.form import Form
from tests.synthetic.charts import MAJOR, chart, chord, pitch_class, scale
from tests.synthetic.lines import MINOR_SCALE, LineNote, monophonic

ADRIFT_WAYS = ("other changes", "another key", "one phrase", "wandering", "hopping")
# What a rhythm is made of, in steps; rests are negative. First the ways in which its notes move.
CELLS = {
    "guide": ("same", ()), "long": ("same", ((24,), (36,), (48,), (30,), (42,), (60,))),  # guide: until the chord changes
    "same": ("same", ((6, 12, 6), (12, 6, 6), (6, 6, 12), (-6, 6, 12), (12, 12, -12), (6, 6, -6, 6), (12, 12, 24))),
    "dotted": ("same line pair", ((18, 6), (18, 18, 12), (18, 6, 24), (9, 3, 12), (6, 18), (-6, 18, 24))),
    "cross": ("pair same line", ((18,) * 5, (18, 18, 18, 18, 24), (6, 12) * 4, (6, 6, -6) * 4, (24, 12) * 3, (-6, 12) * 4)),
    "triplet": ("line pair same", ((8, 8, 8), (8,) * 6, (16, 16, 16), (8, 16, 12), (8, 8, 8, 24), (4, 4, 4, 12))),
    "quarter": ("line pair line", ((12, 12), (12, 12, 12), (12, 24), (-12, 12, 12), (-6, 12, 12, 12))),
    "run": ("run", ((6,) * 4, (6,) * 6, (6,) * 7, (6,) * 9, (-6, *(6,) * 5))), "double": ("run", ((3, 3, 3, 3, 12), (3,) * 8, (3, 3, 6, 3, 3, 6))),
}  # fmt: skip
# A chord's beats walking: root, fifth, eighth (up), drop (an octave), third, next's leading note.
FIGURES = {
    1: "R", 2: "RR R5 Rn R- RD R5 RR", 3: "RRR R55 R-5 RRn R-- R5n RDD R-n R5R", 5: "RR5R5 R--5- RRR5n",
    4: "RRRR RR55 RRDD R-5- R-Rn RR5n R5R5 RRRn R--5 R585 R-55 RR8n RR3n R-DD R5D5 R-n- R555 RR53",
}  # fmt: skip
# Habits, each drawn evenly between two ends.
HABITS = {
    "loud": (62, 96), "spread": (3, 11), "legato": (0.6, 1.0), "wrong": (-0.03, 0.1), "late": (0, 0.08), "ghost": (0, 0.1),
    "skip": (0, 0.14), "push": (0, 0.9), "chromatic": (0.05, 0.6), "guide": (0.6, 0.97), "fifth": (0.8, 4), "colour": (0.2, 4),
    "root": (1, 4), "common": (0, 1.2), "loose": (0.2, 1.1), "strong": (0.45, 0.95), "lead": (0.2, 0.9), "by_key": (0, 0.3),
    "quote": (0.05, 0.4), "rest": (0.6, 4), "long_rest": (0, 0.18), "phrase": (1.5, 4), "low": (36, 45), "reach": (14, 22), "breath": (0.05, 0.35),
    "centre": (34, 41), "early": (0, 0.07), "pedal": (0, 0.5), "vary": (0.1, 0.7), "halves": (0.05, 1.2), "half_step": (0.3, 0.9),
}  # fmt: skip


class Heard(NamedTuple):
    """What the player hears on a beat; ``left`` and ``goal``: bars of the section, and then."""

    symbol: str
    bass: int
    tones: tuple[int, ...]
    colours: tuple[int, ...]  # ninths, elevenths, thirteenths of the chord's scale
    scale: tuple[int, ...]
    beat: int
    bar: int
    left: int
    goal: int

    def moved(self, by: int) -> Heard:
        up = [tuple((p + by) % 12 for p in of) for of in (self.tones, self.colours, self.scale)]
        return Heard(f"{self.symbol} {by}", (self.bass + by) % 12, *up, *self[5:])


def charts():
    return [
        chart("Half a Candle Blues", "Eb", "A", {"A": "Eb7 | Ab7 | Eb7 | Bbm7 Eb7 | Ab7 | Adim7 | Eb7 | Gm7b5 C7b9 | Fm7 | Bb7sus | Eb7 C7 | Fm7 Bb7"}),
        chart("Thin Wall", "Gm", "A", {"A": "Gm7 | % | Cm7 | Gm7 | Cm7 | % | Gm7 | % | Ebmaj7 | D7alt | Gm7 | Am7b5 D7alt"}),
        chart("Said Only Once", "A", "AABA", {"A": "Amaj7 | F#7b9 | Bm7 | % | Dm6 | E7 | C#m7 Cdim7 | Bm7 E7", "B": "Gm7 | C7 | Fmaj7 | % | F#m7b5 | B7b9 | Bm7 | E7sus"}),
        chart("The Long Hedge", "Db", "ABAC", {"A": "Dbmaj7 | % | Cm7b5 | F7b9 | Bbm7 | % | Abm7 | Db7", "B": "Gbmaj7 | Cb7 | Fm7 | Bb7 | Eb7 | % | Ebm7 | Ab7", "C": "Gbmaj7 | Gbm6 | Dbmaj7/Ab | Bb7alt | Ebm7 | Ab7 | Db6 | Ebm7 Ab7"}),
        chart("Nobody's Umbrella", "Fm", "AABA", {"A": "Fm6 | Db9 | Gm7b5 | C7b9 | Fm6 | Bbm7 Eb7 | Abmaj7 Dbmaj7 | Gm7b5 C7b9", "B": "Bbm7 | Eb7 | Abmaj7 | % | Dm7b5 | G7b9 | Gm7 | C7#5"}),
        chart("Frost on Slate", "Gm", "AABA", {"A": "Gm7" + 7 * " | %", "B": "Bbm7 | % | % | % | Abmaj7#11 | % | % | %"}),
        chart("Three Empty Chairs", "D", "AB", {"A": "Dmaj7 | Bm7 | Em7 | A7 | F#m7b5 | B7b9 | Em7 / A7 | Dmaj7", "B": "Am7 | D7 | Gmaj7 | C9 | F#m7 | Fdim7 | Em7 | A7sus"}, beats=3),
        chart("Slow Carousel", "Bm", "ABC", {"A": "Bm7 | % | Gmaj7 | % | Em7 | F#7alt | Bm7 | %", "B": "Dmaj7 | % | C#m7b5 | F#7b9 | Bm7 | E9 | Em7 / A7 | Dmaj7", "C": "Gmaj7 | Gm6 | F#m7 | B7b9 | Em7 | F#7alt | Bm6 | %"}, beats=3),
        chart("Eight Nails", "C", "A", {"A": "Cmaj7#11 | % | Bbmaj7 | % | Abmaj7#11 | % | Fm7 | G7sus"}),
        chart("Tide Table", "F", "AB", {"A": "F7sus | % | Gbmaj7/F | % | F7sus | % | Ebmaj7/F | %", "B": "Dbmaj7 | % | Bbm7 | % | Gm7b5 | C7alt | F7sus | %"}),
        chart("Twenty Paces", "E", "AB", {"A": "Emaj7 | C#7 | F#m7 | B7 | G#m7 | Gdim7 | F#m7 | B7sus B7", "B": "Bm7 | E7 | Amaj7 | Am6 | G#m7 | C#7b9 | F#7 | % | F#m7 | B7 | E6 C#7 | F#m7 B7"}),
        chart("Pocket Full of Corks", "Ab", "AABA", {"A": "Ab6 F7 | Bbm7 Eb7 | Cm7 F7 | Bbm7 Eb7 | Ebm7 Ab7 | Db6 Ddim7 | Cm7 F7b9 | Bbm7 Eb7", "B": "C7 | % | F7 | % | Bb7 | % | Eb7 | %"}),
        chart("Crooked Ladder", "F#", "A", {"A": "F#maj7 D#m7 | G#m7 C#7 | A#m7 D7 | Gmaj7 A7 | Dmaj7 Bb7 | Ebmaj7 | Ebm7 G#7 | C#7sus C#7 | F#m7 B7 | Emaj7 C7 | Bmaj7 Bm6 | A#m7 C#7"}),
        chart("Four Bars of Rain", "D", "ABCD", {"A": "D7sus | % | % | %", "B": "Fmaj7 | % | % | %", "C": "Eb7 | % | % | %", "D": "Bbm7 | % | A7alt | %"}),
        chart("Odd Man's Errand", "Am", "AB", {"A": "Am7 | D7 / / Ab7 | Gmaj7 | % | Gm7 / / C7 | Fmaj7 | E7alt", "B": "Dm7 | Dm6 | Am7/C | Bm7b5 E7b9 | F7 | E7#5 | Am6"}),
    ]  # fmt: skip


def draw_player(rng: np.random.Generator) -> SimpleNamespace:
    habits = SimpleNamespace(**{name: float(rng.uniform(*ends)) for name, ends in HABITS.items()})
    habits.rootless = rng.random() < 0.35  # keeps off the roots, sings the upper notes
    habits.root, habits.colour = habits.root + 6 * habits.rootless, habits.colour / (1 + 3 * habits.rootless)  # fmt: skip
    habits.cells = rng.dirichlet((4, 1.2, 2.3, 1.6, 1.6, 1.6, 1.9, 1.4, 0.3))
    habits.low, habits.high = round(habits.low), round(habits.low + habits.reach)
    habits.figures = {n: rng.dirichlet([0.7 * (1, habits.halves)["-" in f] for f in fs.split()]) for n, fs in FIGURES.items()}  # fmt: skip
    return habits


def _hear(form: Form, start: int, stop: int) -> list[Heard]:
    """The chords on the beats; no chord is heard as the one before."""
    bars, at, made = form.chart.bars, chord(form.chart.key.tonic), []
    ends = [i + 1 for i in range(len(bars)) if i + 1 == len(bars) or bars[i + 1].opens_section]
    for beat in range(start, stop):
        spot = form.at(beat % form.beats * 12).spot
        at = spot.chord if spot.chord.tones else at
        end = next(e for e in ends if e > spot.bar_index)
        goal = bars[end % len(bars)].chords[0].chord.root or 0
        place = (int(spot.beat) - 1, spot.bar.meter.beats, end - spot.bar_index, goal)
        tones, run = tuple(t.pitch_class for t in at.tones), scale(at)
        colours = tuple(t.pitch_class for t in at.available if t.pitch_class in run)
        made.append(Heard(at.symbol, at.bass, tones, colours, run, *place))
    return made


def _near(classes, pitch: float, low: int, high: int) -> int:
    pool = [p for p in range(low, high + 1) if p % 12 in classes]
    return min(pool or range(low, high + 1), key=lambda p: abs(p - pitch))


def _onward(pitch: int, way: int, run) -> int:
    """The next pitch of a scale upwards (1) or downwards (-1)."""
    return next(p for k in range(1, 13) if (p := pitch + way * k) % 12 in run)


class _Singer:
    """Lays out the guide line over what is heard, and sings phrases from it (steps from 0)."""

    def __init__(self, heard: list[Heard], key, rng, player) -> None:
        self.heard, self.rng, self.player = heard, rng, player
        run = MINOR_SCALE if key.minor else MAJOR
        self.key_run = tuple((pitch_class(key.tonic) + i) % 12 for i in run)
        each = int(rng.integers(1, 3))  # a still chord is taken in bars, or in twos
        fresh = [b.symbol != a.symbol or not (b.beat or b.left % each) for a, b in pairwise(heard)]
        self.begins = [0, *(i + 1 for i, new in enumerate(fresh) if new)]
        self.guides = self.lay_out()
        self.kept: list[tuple] = []  # phrases to come back to: place in the bar, notes, contour
        self.turn, self.now = int(rng.choice((-1, 1))), self.guides[0]

    def lay_out(self) -> list[int]:
        """One long tone for every stretch of chord, each by step from the last where it can."""
        rng, player, made = self.rng, self.player, []
        now, symbol = int(rng.integers(player.low + 4, player.high - 3)), ""
        for at in (self.heard[begin] for begin in self.begins):
            costs = {pc: player.colour + ((pc - at.tones[0]) % 12 in (8, 9)) for pc in at.colours}
            costs |= dict.fromkeys(at.tones[2:3], player.fifth) | {at.tones[0]: player.root}
            costs |= dict.fromkeys(at.tones[1:2] + at.tones[3:], 0.0)
            pool = np.array([p for p in range(player.low, player.high + 1) if p % 12 in costs])
            gaps, stay = abs(pool - now), player.common + (at.symbol == symbol)
            total = np.where(gaps == 0, stay, np.where(gaps < 3, 0, 0.6 * gaps))
            total += 0.012 * (pool - (player.low + player.high) / 2) ** 2
            total += [costs[p % 12] + rng.exponential(player.loose) for p in pool.tolist()]
            now, symbol = int(pool[np.argmin(total)]), at.symbol
            made.append(now)
        return made

    def meant(self, step: int, length: int) -> int:
        """Which chord a note is meant for: one tied over into the next may belong there."""
        own = bisect_right(self.begins, step // 12) - 1
        room = self.begins[own + 1] * 12 - step
        if room <= 6 and length > room and self.rng.random() < self.player.push:
            return own + 1
        late = self.rng.random() < self.player.late
        return own - (late and own > 0 and step < self.begins[own] * 12 + 12)

    def rhythm(self, step: int, end: int) -> list[tuple[int, int, str]]:
        rng, player, made = self.rng, self.player, []
        while step < end:
            kind = list(CELLS)[rng.choice(len(CELLS), p=player.cells)]
            ways, cells = CELLS[kind]
            cell = cells[rng.integers(len(cells))] if cells else self.to_the_change(step)
            how = rng.choice(ways.split())
            step += -step % 12 if kind in ("triplet", "double") else 0
            for length in cell:
                made += [(step, length, how)] * (length > 0)
                step += abs(length)
            step += -step % 6 + int(rng.choice((6, 6, 12, 18, 24))) * (rng.random() < player.breath)
        return made

    def to_the_change(self, step: int) -> tuple[int, ...]:
        """Hold or repeat the long tone until the chord changes, or just before it."""
        room = self.begins[bisect_right(self.begins, step // 12)] * 12 - step
        if room <= 6:  # early, and tied over
            return (room + int(self.rng.choice((6, 12, 18, 30))),)
        room -= 6 * (room > 12 and self.rng.random() < self.player.push / 2)
        more: list = [(room,)] if room <= 60 else [(24,), (36,), (48,)]
        if 24 <= room <= 60:
            more += [(12, room - 12), (18, room - 18), (room - 6, 6), (6, 6, room - 12), (room - 12, -12)]  # fmt: skip
        return more[self.rng.integers(len(more))]

    def sing(self, notes, contour=None) -> list[int]:
        """Pitches for a phrase: the guide line where chords begin, figures around it between."""
        rng, player, made = self.rng, self.player, []
        meant = [self.meant(step, length) for step, length, _ in notes]
        run = self.key_run if rng.random() < player.by_key else None
        for j, (step, _, how) in enumerate(notes):
            at = self.heard[self.begins[meant[j]]]
            good = at.tones[player.rootless :] + at.colours
            fresh = not j or meant[j] != meant[j - 1]
            if contour and j:  # its own phrase, bent to what is heard now
                classes = good if fresh or step % 24 == 0 else run or at.scale
                pitch = _near(classes, made[0] + contour[j], player.low, player.high)
            elif fresh:
                other = _near(good, self.now + int(rng.integers(-3, 4)), player.low, player.high)
                pitch = self.guides[meant[j]] if rng.random() < player.guide else other
            else:
                leads = len(set(meant[j : j + 2])) > 1 and rng.random() < player.lead
                pitch = self.figure(step, how, meant[j], run or at.scale, good, leads=leads)
            pitch += int(rng.choice((-1, 1))) * (rng.random() < player.wrong)
            self.now = min(max(pitch, player.low), player.high)
            made.append(self.now)
        return made

    def figure(self, step: int, how: str, own: int, run, good, *, leads: bool) -> int:
        rng, player, now, goal = self.rng, self.player, self.now, self.guides[own + 1]
        if how == "same" and rng.random() < 0.85:
            return now
        if how in ("same", "pair"):  # to and fro between the long tone and one below or above it
            far = self.guides[own] + 5 * self.turn if how == "pair" else now + 2 * self.turn
            other = _near(good, far, player.low, player.high)
            return other if now != other else self.guides[own]
        side = 1 if now >= goal else -1
        if leads:
            return goal + side if rng.random() < player.chromatic else _onward(goal, side, run)
        edge = 1 if now < player.low + 3 else -1 if now > player.high - 3 else 0
        self.turn = edge or (-side if rng.random() < 0.17 else self.turn)
        if how == "run" and rng.random() < 0.2:
            return _near(good, now + 4 * self.turn, player.low, player.high)
        pitch = _onward(now, self.turn, run)
        if step % 12 == 0 and pitch % 12 not in good and rng.random() < player.strong:
            return _onward(pitch, self.turn, good)
        return now + self.turn if rng.random() < player.chromatic * 0.15 else pitch

    def perform(self, beats: int) -> list[LineNote]:
        rng, player, made, last = self.rng, self.player, [], beats * 12
        step = 0 if rng.random() < 0.4 else int(rng.integers(1, 9)) * 6
        while step < last:
            contour, at, bar = None, self.heard[step // 12], self.heard[step // 12].bar * 12
            if self.kept and rng.random() < player.quote:
                place, kept, contour = self.kept[-1 - int(rng.integers(min(4, len(self.kept))))]
                shift = 0 if rng.random() < 0.65 else int(rng.choice((-12, -6, 6, 12, 24)))
                step += (place + shift - at.beat * 12 - step % 12) % bar
                notes = [(step + t, n, how) for t, n, how in kept if not t or step + t < last]
            else:
                end = step + round(bar * max(0.7, rng.gamma(5, player.phrase / 5)))
                notes = self.rhythm(step, min(last, end))
            pitches, first = self.sing(notes, contour), notes[0][0]
            if not contour and 3 <= len(notes) <= 16:
                kept = [(t - first, length, how) for t, length, how in notes]
                place, moves = self.heard[first // 12].beat * 12, [p - pitches[0] for p in pitches]
                self.kept.append((place + first % 12, kept, moves))
            for (step, length, how), pitch in zip(notes, pitches, strict=True):
                held = max(2, round(length * player.legato * (0.85 if how == "same" else 1)))
                loud = rng.normal(player.loud + 5 * (step % 12 == 6 and length > 6), player.spread)
                loud /= 3 if length <= 6 and step > first and rng.random() < player.ghost else 1
                made.append(LineNote(step, step + held, pitch, int(np.clip(loud, 12, 124))))
            rest = round(12 * rng.exponential(player.rest))
            rest = int(rng.integers(1, 4)) * bar if rng.random() < player.long_rest else rest
            step = (sum(notes[-1][:2]) + rest + 5) // 6 * 6
        return made


class _Walker:
    """Walks figure by figure, one for every chord of a bar; a pedal may end a section."""

    def __init__(self, heard: list[Heard], rng, player) -> None:
        self.heard, self.rng, self.player = heard, rng, player
        self.now, self.pedal, self.until, self.made = round(player.centre), -1, -1, []

    def perform(self, beats: int) -> list[LineNote]:
        i = 0
        while i < beats:
            i = self.figure(i, self.heard[i])
        return self.made

    def pedals(self, i: int, at: Heard) -> None:
        """Two to eight bars on the dominant of what follows, or on its root, where it sounds."""
        self.pedal = self.pedal if i < self.until else -1
        share = self.player.pedal * {2: 0.8, 4: 0.6, 8: 0.3}.get(at.left, 0)
        if self.pedal < 0 and at.beat == 0 and self.rng.random() < share:
            pedal, until = (at.goal + self.rng.choice((7, 7, 0))) % 12, i + at.left * at.bar
            if np.mean([pedal in h.scale for h in self.heard[i:until]]) > 0.7:
                self.pedal, self.until = int(pedal), until
                self.now = _near((pedal,), 34 + self.rng.normal(0, 3), 28, 48)

    def figure(self, i: int, at: Heard) -> int:
        self.pedals(i, at)
        rng, player, j = self.rng, self.player, i + 1
        while self.heard[j].beat and (self.pedal >= 0 or self.heard[j].symbol == at.symbol):
            j += 1
        size = min(j - i, 5)
        figure = str(rng.choice(FIGURES[size].split(), p=player.figures[size])) + "R" * (j - i - size)  # fmt: skip
        if self.pedal >= 0:
            figure = figure.translate(str.maketrans("5n83", "RRRR"))
        elif i and self.heard[i - 1].symbol == at.symbol and rng.random() < player.vary:
            figure = figure.translate(str.maketrans("R5", "5R" if rng.random() < 0.7 else "8R"))
        elif i and rng.random() < player.late:  # still on the chord before
            figure = "=" + figure[1:]
        middle = 0.75 * self.now + 0.25 * player.centre + rng.normal(0, 2)
        home = _near((at.bass if self.pedal < 0 else self.pedal,), middle, 28, 50)
        home += 12 * ("D" in figure and home < 40 and rng.random() < 0.8)
        for k, letter in enumerate(figure):
            if letter != "-":
                length = 12 * (len(figure[k + 1 :]) - len(figure[k + 1 :].lstrip("-")) + 1)
                pitch = self.pitch(letter, home, at, self.heard[j])
                pitch += int(rng.choice((-2, -1, 1))) * (rng.random() < player.wrong)
                self.now = min(max(pitch, 28), 55)
                early = 6 * (k == 0 and i > 0 and rng.random() < player.early)
                self.add((i + k) * 12 - early, length + early, 4 * ((at.beat + k) % 2))
        return j

    def pitch(self, letter: str, home: int, at: Heard, after: Heard) -> int:
        rng, player = self.rng, self.player
        if letter == "5":  # now and then a perfect one, whatever the chord
            fifth = at.tones[2:3] if rng.random() > player.wrong else ((at.tones[0] + 7) % 12,)
            return _near(fifth or at.tones, home + int(rng.choice((7, -5, -5))), 28, 52)
        if letter == "n":
            goal = _near((after.bass,), self.now, 28, 50)
            side = 1 if self.now >= goal or goal < 30 else -1
            far = _onward(goal, side, at.scale) if rng.random() < 0.6 else goal + (7 if goal < 38 else -5)  # fmt: skip
            return goal + side if rng.random() < player.half_step else far
        if letter in "3=":
            return self.now if letter == "=" else _near(at.tones[1:2], home + 3, 28, 52)
        return home + 12 * (letter == "8" and home < 42) - 12 * (letter == "D" and home >= 40)

    def add(self, step: int, length: int, accent: int) -> None:
        rng, player, now = self.rng, self.player, self.now
        loud = int(np.clip(rng.normal(player.loud + accent, player.spread), 30, 124))
        end = step + round(length * (0.7 + 0.3 * player.legato))
        self.made.append(LineNote(step, end, now, loud))
        if length == 12 and (roll := rng.random()) < player.skip + player.ghost:
            dead = roll < player.ghost
            pitch = int(rng.choice((now, now, now + (12 if now < 43 else -12))))
            self.made.append(LineNote(step + 6, step + (8 if dead else 11), pitch, loud // 3 if dead else loud - 8))  # fmt: skip


def _elsewhere(form: Form, own: list[Heard], rng, way: str) -> list[Heard]:
    """What one hears who has other chords in the ear; the bars are counted on."""
    others, moves = own, [int(m) for m in rng.integers(1, 12, len(own))]
    if way == "other changes":
        pool, at = [c for c in charts() if c.title != form.chart.title], int(rng.integers(32))
        there = Form(pool[int(rng.integers(len(pool)))])
        others = [h.moved(moves[0]) for h in _hear(there, at, at + len(own))]
    elif way == "another key":  # and from time to time into a third one
        others = [h.moved(moves[i // 20]) for i, h in enumerate(own)]
    elif way == "hopping":
        places = rng.integers(form.beats, size=len(own)).tolist()
        others = [h for at in places for h in _hear(form, at, at + 2 + (at + moves[0]) % 4)]
    return [o._replace(beat=h.beat, bar=h.bar, left=h.left * (not way)) for o, h in zip(others, own, strict=False)]  # fmt: skip


def _play(form: Form, start: int, stop: int, rng, player, *, soloing, way="") -> list[LineNote]:
    """From the beginning of the bar on, so that a bar that is joined late goes on."""
    begin = start - int(form.at(start % form.beats * 12).spot.beat) + 1
    heard = _elsewhere(form, _hear(form, begin, stop + 64), rng, way)
    who = _Singer(heard, form.chart.key, rng, player) if soloing else _Walker(heard, rng, player)
    made, on, last = who.perform(stop - begin), begin * 12, stop * 12
    made = [n._replace(step=n.step + on, end_step=min(n.end_step + on, last)) for n in made]
    return monophonic([n for n in made if start * 12 <= n.step < last])


# Over the beats from ``start`` to ``stop`` of a form: (form, start, stop, rng, player).
walk, solo = partial(_play, soloing=False), partial(_play, soloing=True)


def _round(line: list[LineNote], start: int, stop: int, bar: int, rng) -> list[LineNote]:
    """One phrase over and over at its own pitches, here and there a half step or a beat aside."""
    first = line[int(rng.integers(max(1, len(line) // 2)))].step if line else 0
    size = int(rng.choice((bar - 1, bar, 2 * bar, 2 * bar - 1, 2 * bar + 1))) * 12
    bit, last = [n for n in line if first <= n.step < first + size], stop * 12
    move, made, by = int(rng.integers(-3, 4)), [], start * 12 - first
    while first + by < last:
        made += [LineNote(n.step + by, min(n.end_step + by, last), min(max(n.pitch + move, 28), 67), n.velocity) for n in bit if n.step + by < last]  # fmt: skip
        by += size + int(rng.choice((0, 0, 0, 6, 12)))
        move += int(rng.choice((0, 0, 0, 0, 0, -1, 1)))
    return made


def _fit(form: Form, line: list[LineNote]) -> float:
    """The largest share of notes on beats that are chord tones, wherever in the form."""
    table = np.array([[pc in h.tones for pc in range(12)] for h in _hear(form, 0, form.beats)])
    on = np.array([(n.step // 12, n.pitch % 12) for n in line if n.step % 12 == 0]).reshape(-1, 2)
    places = (on[:, :1] + np.arange(form.beats)) % form.beats
    return float(table[places, on[:, 1:]].mean(axis=0).max()) if len(on) > 4 else 2.0


def adrift(form: Form, start: int, stop: int, rng, player, way: str, play) -> list[LineNote]:
    """A stretch that fits the form nowhere, walking or solo as ``play`` is."""
    drawn, soloing = [], play is solo or (play is not walk and rng.random() < 0.5)
    for _ in range(5):  # played is the one that fits the form worst
        line = _play(form, start, stop, rng, player, soloing=soloing, way=way)
        if way == "one phrase":
            line = _round(line, start, stop, form.chart.meter.beats, rng)
        elif way == "wandering":  # the rhythm as ever, the pitches by small steps, up and down
            moves = rng.choice((-5, -3, -2, -2, -1, -1, 0, 0, 1, 1, 2, 2, 3, 5), len(line))
            low, path = min(n.pitch for n in [*line, LineNote(0, 0, 50, 0)]), 15 + np.cumsum(moves)
            line = [n._replace(pitch=low + abs(int(m) % 30 - 15)) for n, m in zip(line, path, strict=True)]  # fmt: skip
        drawn.append(line)
    return monophonic(min(drawn, key=lambda line: _fit(form, line)))
