"""A diligent student who practises cells and moves each to the chord of the moment.

The cells: 1-2-3-5 in his favourite orders, 3-5-7-9, broken triads in inversions, scales in thirds,
short runs. A cell is laid under the hand where it lies (strings E1 A1 D2 G2, a third's reach, open
strings liked, shifts avoided), so that the hand decides on octave and inversion. Solo: stiff
eighths, quarters and quarter-note triplets, one cell and rhythm kept for some bars, rests at bar
ends. Walking: 1-3-5-3, 1-5-8-5, 1-2-3-5 with approaches, varied where a chord stays. Now and then
he is a beat late at a change or has a chord wrong. Adrift he drills what he drills at home, lies a
fret off, goes round on a cell, feels for notes, or jumps about the form. Pitches: E1 = 28 to 67.
"""

# ruff: noqa: PLR0917 -- a generator draws from many shares, and says so plainly

from __future__ import annotations

from functools import lru_cache
from itertools import permutations, product
from types import SimpleNamespace
from typing import TYPE_CHECKING

import numpy as np

from linecheck.terms import STEPS_PER_BEAT
from tests.synthetic.charts import NAMES, chart, chord, pitch_class, scale
from tests.synthetic.lines import LineNote

if TYPE_CHECKING:
    from linecheck.music.form import Form
    from linecheck.terms import Chart, Chord

ADRIFT_WAYS = ("home drill", "frets off", "hopping", "one cell", "feeling about")
LOST_HANDS = ADRIFT_WAYS[3:]  # here the notes heed no chord at all
STRINGS = (28, 33, 38, 43)
HANDS = (0, 1, -1, 2, -2, 3, -3, 5, -5, 7, -7)  # shifts that come into question
FOLD, STRETCH, AGAIN = 0.9, 4.0, 2.5  # costs of an octave, of a note out of reach, of the same cell
TRIES = 4  # so many lines adrift are drawn, and the one that fits the form worst is kept

# Steps of a chord from 0: 0 2 4 6 are its tones, 7 the octave, 1.5 a half step below 2.
DIGITS = tuple(permutations((0, 1, 2, 4)))
ARPEGGIOS = ((2, 4, 6, 8), (8, 6, 4, 2), (0, 2, 4, 6), (6, 4, 2, 0), (4, 6, 8, 6))
TRIADS = ((0, 1, 2, 3), (3, 2, 1, 0), (0, 2, 1, 3), (3, 1, 2, 0), (0, 2, 1, 2), (1, 0, 2, 1))
CHROMATIC = ((1.5, 2, 4, 6), (0, 1, 1.5, 2), (3.5, 4, 2, 0), (5, 4, 3.5, 4), (6.5, 7, 4, 2))
CELLS = ("digits", "arpeggio", "triad", "thirds", "run", "chromatic")
WALKED = {1: ((0,),), 2: ((0, 4), (0, 2), (0, 7), (0, 1)), 3: ((0, 2, 4), (0, 4, 7), (0, 1, 2), (0, 4, 2)),
    4: ((0, 2, 4, 2), (0, 4, 7, 4), (0, 1, 2, 4), (0, 2, 4, 5), (0, 2, 4, 7), (0, 1, 1.5, 2), (0, 0, 4, 4))}  # fmt: skip
VARIED = {1: ((4,), (2,), (0,)), 2: ((2, 4), (4, 2), (7, 4), (2, 0)), 3: ((2, 4, 7), (7, 4, 2), (4, 2, 1), (2, 1, 0)),
    4: ((2, 4, 7, 4), (7, 4, 2, 0), (4, 2, 1, 0), (0, 4, 2, 4), (2, 1, 0, 4), (7, 6, 5, 4), (4, 5, 6, 7))}  # fmt: skip
# Rhythms of two beats and of one: letters are notes, a dot an eighth's rest, a dash a quarter's.
LASTS = {"s": 4, "e": 6, "t": 8, "q": 12, "d": 18, "h": 24, ".": 6, "-": 12}
RHYTHMS = ("eeee", "qq", "ttt", "eeq", "qee", ".eee", "h", "eqe", "sssq", "de")
BREATHS, ENDS, SHORT = ("ee-", "q-", "e.-", "h", "--", "q-"), ("h", "q-", "h", "eeq"), ("ee", "q", "ee", "q", "-")  # fmt: skip
# How a weak student takes a chord for a plainer one, and how he has it wrong.
PLAINER = {"7b9": "7", "7alt": "7", "7#5": "7", "13": "7", "9": "7", "7sus": "7", "mmaj7": "m6", "m7b5": "m7", "maj7#11": "maj7"}  # fmt: skip
WRONG = {"m7": "7", "7": "m7", "maj7": "7", "6": "m6", "m6": "6", "m7b5": "7", "dim7": "m7b5"}


def charts() -> list[Chart]:
    """Fifteen charts that stand nowhere else."""
    return [
        chart("Pencil Case Blues", "G", "A", {"A": "G7 | C7 | G7 | Dm7 G7 | C7 | C#dim7 | G7 | Bm7b5 E7b9 | Am7 | D7 | Bm7 E7 | Eb9 D7"}),
        chart("Metronome on the Shelf", "Ab", "A", {"A": "Ab7 | % | % | Ebm7 Ab7 | Db9 | Gb9 | Ab7 | % | Bb7 | Eb7sus | Ab7 Db7 | Ab7 Eb7"}),
        chart("Rosin and Rain", "F#m", "A", {"A": "F#m7 | % | G#m7b5 C#7b9 | F#m7 | Bm7 | % | F#m7 | D#m7b5 | D7 | C#7alt | F#m6 A7 | D7 C#7b9"}),
        chart("Page Forty-One", "E", "AABA", {"A": "Emaj7 | G#m7 C#7 | F#m7 | B7 | Emaj7 E7 | Amaj7 D9 | G#m7 Gdim7 | F#m7 B7", "B": "C#m7 | F#7 | C#m7 | F#7 | Bmaj7 | G#7alt | C#7 | F#m7 B7b9"}),
        chart("Five Flights Up", "Eb", "AABA", {"A": "Eb6 C7b9 | Fm7 Bb7 | Gm7 Gbdim7 | Fm7 Bb7 | Bbm7 Eb7 | Ab6 Abm6 | Eb6/Bb C7 | Fm7 Bb7", "B": "Am7 D7 | G7 | Gm7 C7 | C7 | Cm7 F7 | F7 | Fm7 | Bb7"}),
        chart("The Borrowed Bow", "A", "ABAC", {"A": "Amaj7 | % | G#m7b5 | C#7b9 | F#m7 | B7 | Em7 | A7", "B": "Dmaj7 | G9 | C#m7 | F#7 | B7 | % | Bm7 | E7", "C": "Dmaj7 | Dm6 | C#m7 | Cdim7 | Bm7 | E7sus E7 | A6 F#7 | Bm7 E7"}),
        chart("Basement Window", "Bbm", "AABA", {"A": "Bbm6 | Cm7b5 F7b9 | Bbm6 | Bb7alt | Ebm7 | Ab7 | Dbmaj7 Gbmaj7 | Cm7b5 F7alt", "B": "Abm7 | Db7 | Gbmaj7 | % | Gm7b5 | C7b9 | F7sus | F7b9"}),
        chart("Bench by the Lockers", "Em", "AAB", {"A": "Em7" + 7 * " | %", "B": "Gm7 | % | % | % | F#m7 | % | % | %"}),
        chart("Four Quiet Rooms", "Eb", "AB", {"A": "Eb7sus | % | % | % | Gbmaj7#11 | % | % | %", "B": "Bm7 | % | % | % | Bb7sus | % | Bb7alt | %"}),
        chart("Chalk Circle", "D", "AB", {"A": "Dmaj7 | Bm7 | Em7 | A7 | F#m7 | Fdim7 | Em7 | A7", "B": "Am7 | D7 | Gmaj7 | Gm6 | F#m7 | B7b9 | Em7 / A7 | D6"}, beats=3),
        chart("Winter Timetable", "Cm", "AAB", {"A": "Cm7 | % | Fm7 | % | Dm7b5 | G7b9 | Cmmaj7 | Cm6", "B": "Bbm7 | Eb7 | Abmaj7 | Dbmaj7 | Dm7b5 | Db9 | Cm7 / A7alt | Ab7 / G7"}, beats=3),
        chart("Eight Pegs", "Fm", "A", {"A": "Fm7 | Db9 | Gm7b5 | C7b9 | Fm7 | Bb7 | Ebm7 Ab7 | Gm7b5 C7alt"}),
        chart("Ladder Practice", "B", "A", {"A": "Bmaj7 G#7 | C#m7 F#7 | D#m7 D7 | C#m7 C7 | Bmaj7 Bm7 | Emaj7 A9 | D#m7 G#7b9 | C#m7 F#7 | G#m7 | C#7 | Amaj7 | D9 | G#m7 Gm7 | C#m7 F#7 | B6 D7 | Gmaj7 F#7"}),
        chart("The Odd Locker Key", "C", "AB", {"A": "C6 | Bm7b5 E7b9 | Am7 | % | D9 | % | Fm6 | Em7 A7 | Dm7 | G7", "B": "Ebmaj7 | % | Ab7 | Dbmaj7 | Dm7 | Em7b5 A7 | D7 | Dm7 | Db9 | C6 / / G7"}),
        chart("Down the Stringer", "Gb", "AAB", {"A": "Gb6 | Gb7/E | Ebm7 | Dmaj7 | Db7sus | Db7 C7", "B": "Bmaj7 | Bm6 | Bbm7 | Eb7b9 | Abm7 / / Db7 | Gb6"}),
    ]  # fmt: skip


def draw_player(rng: np.random.Generator) -> SimpleNamespace:
    """A student, from a careful one to a weak one."""
    u, weak = rng.uniform, rng.uniform() ** 1.3
    rhythms = (u(5, 16), u(2, 6), 2, 3, 2.5, 1.2, 0.7, 0.8, 0.6, 0.5)
    return SimpleNamespace(
        late=u(0, 0.05) + 0.16 * weak, wrong=u(0, 0.03) + 0.07 * weak, misread=0.1 * weak, plainer=u(0, 1) * weak,
        reach=int(rng.choice((3, 3, 4))), shift=u(0.8, 3.5), open=u(0, 0.6), whim=u(0.15, 0.9), stick=u(0.3, 0.9),
        push=u(0, 0.25), ghost=u(0, 0.08), skip=max(0, u(-0.06, 0.14)), swap=u(0, 0.35), lead=u(0.05, 0.65),
        approach=u(0.1, 0.75), half_step=u(0.2, 0.8), root=u(0.75, 0.98), breath=u(0.1, 0.7), phrase=u(6, 22),
        rest=u(0.5, 3.2), silent=u(0, 0.08), moves=u(0.1, 0.6), cells=rng.dirichlet((5, 3.5, 4, 2, 2, u(0.3, 2))),
        walked=rng.dirichlet((5, 4, 5, 2, 2, u(0.2, 2), 0.4)), rhythms=rng.dirichlet(rhythms),
        orders=[DIGITS[k] for k in (0, *rng.integers(24, size=3))], walk_middle=u(36, 42), solo_middle=u(43, 54),
        top=int(rng.integers(58, 68)), legato=u(0.7, 1), loud=u(62, 95), uneven=u(3, 11),
    )  # fmt: skip


@lru_cache(maxsize=256)
def _under(fret: int, reach: int, top: int) -> frozenset[int]:
    """What lies under a hand with its first finger at a fret, and the open strings."""
    high = fret >= 9  # from there on only the upper two strings are played
    found = {s + f for s in STRINGS[2 * high :] for f in range(fret, fret + reach + 1 + high)}
    return frozenset(p for p in found | set(STRINGS[3 * high :]) if p <= top)


def _mind(at: Chord, form: Form) -> dict:
    """A chord in the mind of one who practises cells; slots are its steps 1 to 7."""
    if at.root is None:
        at = chord(NAMES[pitch_class(form.chart.key.tonic)] + "6")
    tones = [(t.pitch_class - at.root) % 12 for t in at.tones]
    run = tuple((p - at.root) % 12 for p in scale(at))
    third, fifth, seventh = (*tones[1:4], max(run))[:3]
    slots = [0]  # each tone, and before it the scale between
    for low, high in ((0, third), (third, fifth), (fifth, seventh)):
        slots += [next((p for p in run if low < p < high), high), high]
    return {"symbol": at.symbol, "root": at.root, "bass": at.bass, "slots": slots, "run": run}


def _thoughts(form: Form, start: int, stop: int, rng, player, shown=None) -> list[SimpleNamespace]:
    """What he has in mind beat by beat: the chart (or ``shown``), late and mistaken at times."""
    made, before, mind, own, late = [], None, {}, {}, 0
    for place in range(start, stop + 9):
        spot = form.at(place * STEPS_PER_BEAT).spot
        at = shown[place - start] if shown else spot.chord
        if not mind or at != before:
            roll, kind, before = rng.random(), at.kind, at
            swap = WRONG if roll < player.misread else PLAINER if rng.random() < player.plainer else {}  # fmt: skip
            late = (mind != {}) * (rng.random() < player.late) * (1 + (rng.random() < 0.15))
            mind = _mind(chord(NAMES[at.root] + swap[kind]) if kind in swap else at, form)
        own = own if late else mind
        late -= late > 0
        made.append(SimpleNamespace(**own, beat=int(spot.beat) - 1, beats=spot.bar.meter.beats))
    return made


class _Student:
    """Plays a stretch; beats count from its beginning, the hand stays where the last cell was."""

    def __init__(self, thoughts, start: int, stop: int, rng, player, *, soloing, way="") -> None:
        self.thoughts, self.start, self.beats = thoughts, start, stop - start
        self.rng, self.player, self.way = rng, player, way if way in LOST_HANDS else ""
        self.top = player.top if soloing else 53
        self.low, self.middle = (31, player.solo_middle) if soloing else (28, player.walk_middle)
        self.now = int(np.clip(self.middle + rng.normal(0, 3), self.low, self.top))
        self.highest = max(2, self.top - STRINGS[-1] - player.reach)
        self.hand = int(np.clip(self.now - 41 + rng.integers(0, 4), 1, self.highest))
        self.queue, self.over, self.last = [], "", []  # pitches to come, their chord; the last cell
        self.drill, self.rhythm, self.held = (), {}, 0  # rhythms by beat of the bar; held to a step
        self.figure, self.planned, self.circle, self.notes = (), [], [], []

    def add(self, beat: int, step: int, steps: float, pitch: int, *, dead=False) -> None:
        rng, player = self.rng, self.player
        if not dead and rng.random() < player.wrong and not self.way:
            pitch += int(rng.choice((-1, 1, -2, 2, 5, -5), p=(0.35, 0.3, 0.1, 0.1, 0.1, 0.05)))
        pitch = int(np.clip(pitch, 28, self.top))
        begins = (self.start + beat) * STEPS_PER_BEAT + step
        ends = min(begins + max(1, round(steps)), (self.start + self.beats) * STEPS_PER_BEAT)
        loud = rng.normal(player.loud + (3 if step == 0 else -2), player.uneven) * (0.34 if dead else 1)  # fmt: skip
        self.notes.append(LineNote(begins, ends, pitch, int(np.clip(loud, 12, 122))))
        self.now = pitch

    def lay(self, figures, root: int, *, ease=1.0, fold=FOLD) -> list[int]:
        """The figures (half steps above a root), whichever and wherever the hand has them best."""
        player, best, least, where = self.player, [], np.inf, self.hand
        hands = [self.hand + d for d in HANDS if 1 <= self.hand + d <= self.highest]
        whims = iter(self.rng.exponential(player.whim, 4 * len(figures) * len(hands)).tolist())
        starts = product(figures, range(root + 24, 61 + root % 12, 12))
        for figure, base in [(f, b) for f, b in starts if self.low <= b + f[0] <= self.top]:
            leap = abs(base + figure[0] - self.now)
            for hand in hands:
                cost = (max(0, leap - 2) * 0.45 if leap else 3.8) + next(whims)
                if hand != self.hand:
                    cost += ease * (player.shift + 0.25 * abs(hand - self.hand))
                if cost < least:
                    pitches, more = self.fold([base + i for i in figure], hand, fold)
                    cost += more + 0.12 * abs(sum(pitches) / len(pitches) - self.middle)
                    cost += AGAIN * (pitches == self.last)
                    if cost < least:
                        best, least, where = pitches, cost, hand
        self.hand, self.last = where, best
        return list(best)

    def fold(self, wanted: list[int], hand: int, fold: float) -> tuple[list[int], float]:
        """A cell with what is out of reach an octave off, and what that costs."""
        under, made, cost = _under(hand, self.player.reach, self.top), [], 0.0
        for index, asked in enumerate(wanted):
            choices = (asked, asked - 12, asked + 12)[: 3 if index else 1]
            pitch = next((p for p in choices if p in under and p >= self.low), None)
            if pitch is None:
                cost += STRETCH
                pitch = asked + 12 * (asked < self.low) - 12 * (asked > self.top)
            else:
                cost += fold * (pitch != asked) - self.player.open * (pitch in STRINGS)
            made.append(pitch)
        return made, cost

    @staticmethod
    def sound(figure, of: SimpleNamespace, *, run=False) -> list[int]:
        """Steps as half steps above the root."""
        steps = of.run if run else of.slots
        ups = [divmod(int(-(-step // 1)), len(steps)) for step in figure]  # a half counts upward
        return [12 * up + steps[k] - (f % 1 > 0) for f, (up, k) in zip(figure, ups, strict=True)]

    def cell(self, at: SimpleNamespace, ease: float) -> list[int]:
        """The next cell over a chord: the drill goes on, or another is begun."""
        rng, player = self.rng, self.player
        if not self.drill or rng.random() > player.stick:
            kind = CELLS[int(rng.choice(6, p=player.cells))]
            shapes = {"digits": player.orders, "arpeggio": ARPEGGIOS, "triad": TRIADS, "chromatic": CHROMATIC}  # fmt: skip
            shape = shapes.get(kind, ((int(rng.choice((-1, 1))), int(rng.integers(4, 9))),))
            self.drill = (kind, shape[int(rng.integers(len(shape)))])
        (kind, shape), run = self.drill, False
        if kind == "triad":  # the inversion is the hand's choice
            steps = [[(0, 2, 4, 7, 9, 11)[k + s] for s in shape] for k in range(3)]
        elif run := kind in ("thirds", "run"):
            moves = [k // 2 + 2 * (k % 2) if kind == "thirds" else k for k in range(shape[1])]
            steps = [[s + shape[0] * m for m in moves] for s in (-1, 0, 2, 3, 4, 6, 7)]
        else:
            steps = [shape, shape[::-1]][: 1 + (rng.random() < player.swap)]
        figures = [self.sound(f, at, run=run) for f in steps]
        return self.lay(figures, at.root, ease=ease, fold=2.5 if run else FOLD)

    def approach(self, goal: int, of: SimpleNamespace) -> int:
        """A note that leads to a pitch, of the scale in mind or by a half step."""
        rng, half = self.rng, self.player.half_step
        if (roll := rng.random()) > 0.8 + 0.2 * half:
            return goal + (7 if goal < self.low + 5 else -5)
        near = [p for p in range(goal - 2, goal + 3) if p != goal and (p - of.root) % 12 in of.run]
        near = [p for p in (near if roll > half else (goal - 1, goal + 1)) if p >= self.low] or [goal + 1]  # fmt: skip
        return min(near, key=lambda p: abs(p - self.now) + rng.exponential(0.8) + 3 * (p == self.now))  # fmt: skip

    def lost(self) -> int:
        """A note of one who has let go of the chords and only moves his fingers."""
        rng = self.rng
        under = [p for p in sorted(_under(self.hand, self.player.reach, 60)) if p >= self.low]
        if self.way == "one cell":
            if not self.circle or rng.random() < 0.05:
                self.circle = rng.choice(under, size=int(rng.integers(3, 6))).tolist()
            if 33 < self.circle[0] < 50 and rng.random() < 0.08:  # a fret up or down
                self.circle = (np.array(self.circle) + rng.choice((-1, 1))).tolist()
            self.circle.append(self.circle.pop(0))
            return int(np.clip(self.circle[-1], 28, 62))
        if rng.random() < 0.12:
            self.hand = int(np.clip(self.hand + rng.choice((-3, -2, -1, 1, 2, 3)), 1, self.highest))
        costs = [abs(abs(p - self.now) - rng.gamma(2, 1.2)) + 2 * (p == self.now) for p in under]
        return under[int(np.argmin(costs))]

    def next_note(self, i: int, ease: float, *, leads=False, last=False) -> int:
        """The next pitch of a solo: on in the cell, to the next chord's cell, or a phrase's end."""
        if self.way:
            return self.lost()
        at, after = self.thoughts[i], self.thoughts[i + 1]
        if last:
            self.queue, tone = [], (0, 2, 4, 6)[int(self.rng.choice(4, p=(0.36, 0.3, 0.24, 0.1)))]
            return self.lay([[at.slots[tone]]], at.root)[0]
        if leads and after.symbol != at.symbol and self.rng.random() < self.player.lead:
            self.queue, self.over = self.cell(after, ease), after.symbol
            return self.approach(self.queue[0], at)
        if not self.queue or self.over != at.symbol:
            self.queue, self.over = self.cell(at, ease), at.symbol
        return self.queue.pop(0)

    def solo(self) -> None:
        rng, player, i = self.rng, self.player, 0
        left, ease = round(rng.gamma(5, player.phrase / 5)) * (rng.random() > 0.25), 0.3
        while i < self.beats:
            at = self.thoughts[i]
            if left <= 0:
                bars = (rng.random() < player.silent) * int(rng.integers(2, 4))
                i += round(rng.exponential(player.rest)) + bars * at.beats
                if self.thoughts[min(i, self.beats)].beat and rng.random() < 0.5:  # waits for one
                    i += at.beats - self.thoughts[min(i, self.beats)].beat
                left, ease, self.queue = max(2, round(rng.gamma(5, player.phrase / 5))), 0.3, []
                if rng.random() < player.moves:
                    self.now = int(np.clip(self.middle + rng.normal(0, 5), self.low, self.top))
                continue
            room = min(at.beats - at.beat, self.beats - i)
            size = 1 if room == 1 or (at.beat % 2 and at.beats != 3) else 2
            word = self.word(at, size, closing=at.beat + size >= at.beats, last=left <= size)
            self.strike(i, word, ease, last=left <= size)
            i, left, ease = i + size, left - size, 1.0

    def word(self, at: SimpleNamespace, size: int, *, closing: bool, last: bool) -> str:
        """A rhythm: that of the bar before, or a new one."""
        rng, player = self.rng, self.player
        if last or size == 1:
            return str(rng.choice(SHORT if size == 1 else ENDS))
        kept = self.rhythm.get(at.beat)
        if kept is None or rng.random() > player.stick:
            breathes = closing and rng.random() < player.breath
            kept = str(rng.choice(BREATHS) if breathes else rng.choice(RHYTHMS, p=player.rhythms))
            self.rhythm[at.beat] = kept
        return kept

    def strike(self, i: int, word: str, ease: float, *, last: bool) -> None:
        rng, player, ends = self.rng, self.player, i * STEPS_PER_BEAT
        for index, letter in enumerate(word):
            lasts, begins, ends = LASTS[letter], ends, ends + LASTS[letter]
            beat, inner = divmod(begins, STEPS_PER_BEAT)
            if not letter.isalpha() or begins < self.held or beat >= self.beats:
                continue
            leads, following = ends % STEPS_PER_BEAT == 0, ends // STEPS_PER_BEAT
            over_bar = leads and following < self.beats and not self.thoughts[following].beat
            if letter == "e" and over_bar and not last and rng.random() < player.push:
                lasts = int(rng.choice((12, 18, 18)))
                self.held = begins + lasts  # over the bar line, the new chord early
                pitch = self.next_note(following, ease)
            else:
                final = last and not word[index + 1 :].strip(".-")
                pitch = self.next_note(beat, ease, leads=leads, last=final)
            ghost = inner == lasts == 6 and rng.random() < player.ghost
            self.add(beat, inner, lasts * player.legato, pitch, dead=ghost)

    def bar(self, i: int) -> list[int]:
        """A walking figure for the beats that a chord has in a bar, four at most."""
        at, rng, player, count = self.thoughts[i], self.rng, self.player, 1
        while count < min(4, at.beats - at.beat) and self.thoughts[i + count].symbol == at.symbol:
            count += 1
        again = i > 0 and self.thoughts[i - 1].symbol == at.symbol
        plain = rng.random() < player.root * (0.65 if again else 1)
        pool = (WALKED if plain else VARIED)[count]
        shares = np.array(player.walked[: len(pool)]) if plain else np.ones(len(pool))
        shares = (shares + 0.02) * [0.15 if f == self.figure and again else 1 for f in pool]
        self.figure = pool[int(rng.choice(len(pool), p=shares / shares.sum()))]
        sounds = self.sound(self.figure, at)
        if plain and at.bass != at.root and rng.random() < 0.8:
            sounds[0] = (at.bass - at.root) % 12
        return self.lay([sounds], at.root)

    def walk(self) -> None:
        rng, player, i = self.rng, self.player, 0
        while i < self.beats:
            if self.way:
                pitches = [self.lost()]
            else:
                pitches, self.planned = self.planned or self.bar(i), []
                then = i + len(pitches)
                staying = self.thoughts[then].symbol == self.thoughts[i].symbol
                if len(pitches) > 1 and rng.random() < player.approach * (0.5 if staying else 1):
                    self.now = pitches[-2]
                    self.planned = self.bar(then)
                    pitches[-1] = self.approach(self.planned[0], self.thoughts[i])
            for beat, pitch in enumerate(pitches[: self.beats - i], i):
                skips, at = rng.random() < player.skip, self.thoughts[beat]
                self.add(beat, 0, (6 if skips else 12) * min(1, player.legato + 0.1), pitch)
                if skips:  # an open string or the same note, or the fingers only
                    below = [s for s in STRINGS if s < pitch and (s - at.root) % 12 in (0, 7)]
                    extra = ([pitch] + below * (rng.random() < 0.4))[-1]
                    self.add(beat, 6, 4, extra, dead=rng.random() < 0.5)
            i += len(pitches)


def _play(form, start, stop, rng, player, *, soloing, way="") -> list[LineNote]:
    shown = _elsewhere(form, start, stop, rng, way) if way in ADRIFT_WAYS[:3] else None
    thoughts = _thoughts(form, start, stop, rng, player, shown)
    student = _Student(thoughts, start, stop, rng, player, soloing=soloing, way=way)
    student.solo() if soloing else student.walk()
    return student.notes


def walk(form: Form, start: int, stop: int, rng: np.random.Generator, player) -> list[LineNote]:
    """Walking over the beats from ``start`` to ``stop`` of a form."""
    return _play(form, start, stop, rng, player, soloing=False)


def solo(form: Form, start: int, stop: int, rng: np.random.Generator, player) -> list[LineNote]:
    """A solo over the beats from ``start`` to ``stop`` of a form."""
    return _play(form, start, stop, rng, player, soloing=True)


def _elsewhere(form: Form, start: int, stop: int, rng, way: str) -> list[Chord]:
    """Chords of one who drills as at home, lies some frets off, or jumps about the form."""
    bar, shown = form.chart.meter.beats, []
    root, fall = int(rng.integers(12)), int(rng.choice((5, 11, 10, 1, 3)))
    kinds = (("7",), ("m7", "7"), ("maj7",), ("m7",))[int(rng.integers(4))]
    each, frets = int(rng.choice((2, bar, bar, 2 * bar))), int(rng.choice((1, 11, 6, 8, 3, 4)))
    still = len({c.chord.symbol for b in form.chart.bars for c in b.chords}) < 5
    while len(shown) < stop + 9 - start:
        if way == "home drill":
            shown += [chord(NAMES[(root + 5 * k) % 12] + q) for k, q in enumerate(kinds) for _ in range(each)]  # fmt: skip
            root += fall
            continue
        ahead = int(rng.integers(form.beats)) if way == "hopping" else 0
        off = frets if way == "frets off" else still * int(rng.integers(12))
        for _ in range(int(rng.integers(3, 8))):
            at = form.chord((start + len(shown) + ahead) * STEPS_PER_BEAT)
            shown.append(chord(NAMES[(at.root + off) % 12] + at.kind) if off and at.tones else at)
    return shown


def _fits(form: Form, line: list[LineNote]) -> float:
    """The share of notes on the beat that are chord tones, at the place of the form that fits best."""
    chords = [form.chord(b * STEPS_PER_BEAT) for b in range(form.beats)]
    table = np.array([[any(t.pitch_class == p for t in c.tones) for p in range(12)] for c in chords])  # fmt: skip
    on = np.array([(n.step // 12, n.pitch % 12) for n in line if n.step % 12 == 0]).reshape(-1, 2)
    places = (on[:, :1] + np.arange(form.beats)) % form.beats
    return float(table[places, on[:, 1:]].mean(axis=0).max()) if len(on) else 1.0


def adrift(form: Form, start: int, stop: int, rng, player, way: str, play) -> list[LineNote]:
    """A stretch that fits the form nowhere, walking or solo as ``play`` is."""
    soloing = play is solo or (play is not walk and rng.random() < 0.5)
    lines = [_play(form, start, stop, rng, player, soloing=soloing, way=way) for _ in range(TRIES)]
    return min(lines, key=lambda line: _fits(form, line) + 3 / (1 + len(line)))
