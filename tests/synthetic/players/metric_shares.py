"""A player who draws beat by beat, from shares that hang on where the beat stands.

Walking: where a chord begins comes its root (or another tone), before it an approach to the pitch
already chosen, in between chord tones, scale and now and then a figure of a bar. Solo: phrases of
rhythm cells and rests, chord tones likelier on strong beats, off-beats that lead into the next
chord. A direction and a middle of the neck carry the line. Adrift he still plays so, over chords
that do not stand there, or lets the chords be and strays by small steps or goes round on a few
notes. Pitches: E1 = 28 to 55 walking, to 67 in a solo; ghost notes have a third of the velocity.
"""

# ruff: noqa: PLR0911, PLR0917 -- a generator draws from many shares, and says so plainly

from __future__ import annotations

from types import SimpleNamespace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from linecheck.terms import STEPS_PER_BEAT
from tests.synthetic.charts import NAMES, chart, chord, pitch_class, scale
from tests.synthetic.lines import LineNote

if TYPE_CHECKING:
    from linecheck.music.form import Form
    from linecheck.terms import Chart, Chord

ADRIFT_WAYS = ("wandering", "stuck", "guessed chords", "hopping", "wrong key")
ASTRAY = ADRIFT_WAYS[:2]  # the chords stand, but the notes do not heed them
LYDIAN_DOMINANT, BLUES = (0, 2, 4, 6, 7, 9, 10), (0, 3, 5, 6, 7, 10)
# Figures of a bar after its root, as places in the scale of the chord.
FIGURES = ((1, 2, 4), (2, 4, 5), (4, 0, 4), (0, 4, 4), (2, 4, 2), (6, 5, 4))
PAIR, QUARTER, TRIPLET, OFF_BEAT, LONG, TIED, DOUBLED = range(7)  # rhythm cells of a solo
STRUCK = {PAIR: (0, 6), TRIPLET: (0, 4, 8), OFF_BEAT: (6,), DOUBLED: (0, 3, 6, 9)}
TRIES, WORSE = 8, 0.06  # lines adrift are drawn until one fits the form so much worse than usual

# Shares and middles of the neck, each drawn evenly between two ends.
HABITS = {
    "legato": (0.7, 0.98), "loud": (65, 95), "loud_spread": (4, 12),
    "walk_centre": (38, 44), "root": (0.55, 0.95), "approach": (0.35, 0.95),
    "strong": (0.55, 0.95), "weak": (0.25, 0.7),  # chord tones on beat three; others elsewhere
    "half_step": (0.2, 0.75), "repeat": (0, 0.1), "turn": (0.12, 0.4), "figure": (0, 0.35),
    "wrong": (0, 0.03), "skip": (0, 0.12), "ghost": (0, 0.08),
    "solo_centre": (45, 55), "tones": (0.5, 0.92), "off_tones": (0.2, 0.5),  # on and off the beat
    "passing": (0.03, 0.2), "lead": (0.2, 0.8), "push": (0.1, 0.7), "blues": (-0.3, 0.3),
    "phrase": (3, 11), "rest": (0.8, 4), "long_rest": (0, 0.1),  # beats
    "leap": (0.05, 0.3), "stray": (0.1, 0.45), "motif": (0, 0.35),
}  # fmt: skip


class Belief(NamedTuple):
    """What the player takes a beat for; ``beat`` counts from 0 in the bar."""

    symbol: str
    bass: int
    tones: tuple[int, ...]
    scale: tuple[int, ...]
    beat: int


def charts() -> list[Chart]:
    """Fifteen charts that stand nowhere else."""
    return [
        chart("Coal Shed Blues", "F", "A", {"A": "F7 | Bb7 | F7 | Cm7 F7 | Bb7 | Bdim7 | F7"
              " | Am7b5 D7b9 | Gm7 | C7 | F7 D7b9 | Gm7 C7"}),
        chart("Plain Shoe Leather", "Bb", "A", {"A": "Bb7 | % | % | % | Eb7 | % | Bb7 | %"
              " | F7 | Eb7 | Bb7 | Cm7 F7"}),
        chart("Minor Drainpipe", "Cm", "A", {"A": "Cm6 | Fm7 | Cm6 | C7alt | Fm7 | % | Cm6 | %"
              " | Ab9 | G7b9 | Cm6 Ab7 | Dm7b5 G7b9"}),
        chart("The Orchard Gate", "Eb", "AABA", {
            "A": "Ebmaj7 | Cm7 | Fm7 | Bb7 | Gm7 C7b9 | Fm7 Bb7 | Eb6 | Fm7 Bb7",
            "B": "Bbm7 | Eb7 | Abmaj7 | % | Am7 | D7 | Gmaj7 Gm7 | Fm7 Bb7"}),
        chart("Nine Lanterns", "Dm", "AABA", {"A": "Dm6 | Em7b5 A7b9 | Dm6 | D7alt | Gm7 | C7"
            " | Fmaj7 | Em7b5 A7b9", "B": "Cm7 | F7 | Bbmaj7 | % | Bm7b5 | E7b9 | A7sus | A7b9"}),
        chart("Quick Parcels", "Bb", "AABA", {"B": "D7 | % | G7 | % | C7 | % | F7 | %",
          "A": "Bb6 G7b9 | Cm7 F7 | Dm7 G7b9 | Cm7 F7 | Fm7 Bb7 | Eb7 Edim7 | Bb6/F G7 | Cm7 F7"}),
        chart("Letters Unsent", "G", "ABAC", {"A": "Gmaj7 | % | Bm7b5 | E7b9 | Am7 | D7 | Gmaj7"
            " | Bbdim7", "B": "Am7 | F7 | Gmaj7 | E7 | A7 | % | Am7 | D7",
            "C": "Cmaj7 | Cm6 | Bm7 | E7 | Am7 | D7 | G6 E7 | Am7 D7"}),
        chart("Harbour Wall at Ten", "Ab", "ABAC", {"A": "Abmaj7 | Dbmaj7 | Cm7 | F7 | Bbm7 | Eb7"
            " | Ebm7 | Ab7", "B": "Dbmaj7 | Gb9 | Abmaj7 | F7 | Bb7 | % | Bbm7 | Eb7",
            "C": "Dbmaj7 | Ddim7 | Ab6/Eb | F7alt | Bbm7 | Eb7 | Ab6 | Bbm7 Eb7"}),
        chart("Two Still Ponds", "Dm", "AABA", {"A": "Dm7" + 7 * " | %", "B": "Fm7" + 7 * " | %"}),
        chart("Glass Corridor", "C", "ABC", {"A": "Cm7 | % | % | % | Abmaj7 | % | % | %",
            "B": "A7sus | % | % | % | Fmaj7 | % | % | %",
            "C": "Em7 | % | Ebmaj7 | % | Dm7 | % | G7sus | G7alt"}),
        chart("The Spinner's Stairs", "B", "A", {"A": "Bmaj7 D7 | Gmaj7 C7 | Fmaj7 | Abm7 Db7"
              " | Gbmaj7 A7 | Dmaj7 G7 | Cmaj7 | Fm7 Bb7 | Ebmaj7 | Em7 A7 | Dmaj7 | Gm7 C7"
              " | Fmaj7 | G#m7 C#7 | F#maj7 | C#m7 / F#7 /"}),
        chart("Waltz for a Milk Jug", "F", "AB", {
            "A": "Fmaj7 | Dm7 | Gm7 | C7 | Am7 | D7b9 | Gm7 | C7",
            "B": "Cm7 | F7 | Bbmaj7 | Bbm6 | Am7 | D7b9 | Gm7 / C7 | F6"}, beats=3),
        chart("Two Bars Short", "Gm", "AB", {"A": "Gm7 | % | Ebmaj7 | D7alt | Gm7 | C7 | Fmaj7",
            "B": "Bbm7 | Eb7 | Abmaj7 | Am7b5 / / D7b9 | Gmmaj7 | Gm6 | D7alt"}),
        chart("Kettle at Twenty Past", "A", "AAB", {"A": "Amaj7 | F#m7 | Bm7 | E7 | C#m7 F#7"
            " | Bm7 E7", "B": "Em7 | A7 | Dmaj7 | G9 | C#m7 | Cdim7 | Bm7 | E7sus E7"}),
        chart("Cellar Steps", "C", "AB", {
            "A": "Cmaj7 | Fm7 Bb7 | Cmaj7 | Bbm7 Eb7 | Abmaj7 | Am7 D7 | Dm7 | G7",
            "B": "Em7 A7 | Dm7 G7 | Em7b5 | A7b9 | Dm7 | Fm6 | Em7 Ebdim7 | Dm7 G13"}),
    ]  # fmt: skip


def draw_player(rng: np.random.Generator) -> SimpleNamespace:
    """A player: habits drawn over a wide range; what is too quick for the tempo is left out."""
    low, high = ((80, 220), (90, 240), (60, 300))[rng.choice(3, p=(0.73, 0.22, 0.05))]
    tempo, in_two = rng.uniform(low, high), rng.random() < 0.12
    cells = rng.dirichlet((7, 3.5, 1.3, 1.3, 1.6, 1.2))
    cells[TRIPLET] *= tempo < 190
    habits = {name: rng.uniform(*ends) for name, ends in HABITS.items()}
    return SimpleNamespace(tempo=tempo, in_two=in_two, cells=cells / cells.sum(), **habits)


def _belief(form: Form, beat: int, at: Chord | None = None) -> Belief:
    """The chart's chord on a beat, or the chord ``at`` instead."""
    spot = form.at(beat * STEPS_PER_BEAT).spot
    at = at or spot.chord
    run = scale(at)
    if at.kind == "9":  # a ninth chord is heard with its sharp eleventh
        run = tuple((at.root + i) % 12 for i in LYDIAN_DOMINANT)
    tones = tuple(t.pitch_class for t in at.tones) or run
    bass = tones[0] if at.bass is None else at.bass
    return Belief(at.symbol, bass, tones, run, int(spot.beat) - 1)


class _Line:
    """Writes notes beat by beat; positions are beats from the beginning of the stretch."""

    def __init__(self, beliefs, start, form, rng, player, *, soloing, way="") -> None:
        self.beliefs, self.start, self.rng, self.player = beliefs, start, rng, player
        self.bar, self.key = form.chart.meter.beats, pitch_class(form.chart.key.tonic)
        self.low, self.high, self.lost_high = (31, 67, 62) if soloing else (28, 55, 50)
        self.centre = player.solo_centre if soloing else player.walk_centre
        self.way = way if way in ASTRAY else ""  # the others differ in beliefs
        self.notes: list[LineNote] = []
        self.now, self.up = int(self.centre + rng.normal(0, 3)), int(rng.choice((-1, 1)))
        self.target, self.figure = None, None  # the pitch that an approach leads to; classes
        self.goal = (-1, 0)  # beat and pitch that a solo leads to
        self.left = self.rest = self.hold = 0
        self.played, self.remembered, self.again = [], [], []  # cells: this phrase, last, to come
        self.round: list[int] = []  # the few notes of one who is stuck

    def add(self, beat, step, length, pitch: int, accent: float = 0) -> None:
        """A note so many steps after a beat, ``length`` steps long."""
        loud = self.rng.normal(self.player.loud + accent, self.player.loud_spread)
        begins = (self.start + beat) * STEPS_PER_BEAT + step
        ends = begins + max(1, round(length))
        if self.notes and self.notes[-1].end_step > begins:
            self.notes[-1] = self.notes[-1]._replace(end_step=begins)
        ends = min(ends, (self.start + len(self.beliefs) - 1) * STEPS_PER_BEAT)
        self.notes.append(LineNote(begins, ends, int(pitch), int(np.clip(loud, 18, 120))))
        self.now = int(pitch)

    def near(self, classes, now=None, *, onward=True, loose=1.5, same=6.0) -> int:
        """The best-lying pitch: near, onward in the direction, near the centre."""
        now = self.now if now is None else now
        pool = np.array([p for p in range(self.low, self.high + 1) if p % 12 in classes])
        costs = abs(pool - now) + 0.012 * (pool - self.centre) ** 2 + same * (pool == now)
        costs += 2.5 * (onward & ((pool - now) * self.up < 0))
        return int(pool[np.argmin(costs + self.rng.exponential(loose, len(pool)))])

    def clip(self, pitch: int) -> int:
        return max(self.low, min(self.high, pitch))

    def aim(self, at: Belief, *, held: bool) -> int:
        """A note for the moment a chord begins, or goes on over the bar line."""
        if self.rng.random() < self.player.root * (0.7 if held else 1):
            return self.near((at.bass,))
        place = int(self.rng.choice(4, p=(0.1, 0.42, 0.33, 0.15)))
        return self.near((at.tones[place % len(at.tones)],))

    def astray(self) -> int:
        """A note of one who follows no chords."""
        rng, low, high = self.rng, self.low, self.lost_high
        if self.way == "stuck":
            if not self.round or rng.random() < 0.1:
                self.round = np.clip(self.now + rng.integers(-4, 5, 4), low, high).tolist()
            self.round.append(self.round.pop(0))
            return self.round[0]
        move = int(rng.choice((1, 2, 3, 4, 5, 7), p=(0.4, 0.3, 0.12, 0.06, 0.08, 0.04)))
        self.up *= -1 if rng.random() < 0.3 else 1
        self.up *= 1 if low <= self.now + self.up * move <= high else -1
        return int(np.clip(self.now + self.up * move, low, high))

    def walk_pitch(self, i: int) -> int:
        rng, player = self.rng, self.player
        at, after = self.beliefs[i : i + 2]
        held = i > 0 and self.beliefs[i - 1].symbol == at.symbol
        begins, ends = at.beat == 0 or not held, after.beat == 0 or after.symbol != at.symbol
        target, self.target = self.target, None
        if self.way:
            return self.astray()
        if rng.random() < player.wrong:
            return self.clip(self.now + int(rng.choice((-2, -1, 1, 2))))
        if begins:
            self.figure = None
            if self.bar == 4 and at.beat == 0 and not ends and rng.random() < player.figure:
                run = at.scale if len(at.scale) < 8 else at.scale[:5] + at.scale[6:]
                self.figure = [run[d % len(run)] for d in FIGURES[int(rng.integers(6))]]
            return self.aim(at, held=held) if target is None else target
        if ends and rng.random() < player.approach:
            self.target = goal = self.aim(after, held=after.symbol == at.symbol)
            if self.figure and rng.random() < 0.5:
                return self.near(self.figure[-1:])
            return self.approach(goal, at)
        return self.between(at)

    def between(self, at: Belief) -> int:
        rng, player = self.rng, self.player
        if self.figure and 1 <= at.beat <= 3:
            classes = self.figure[at.beat - 1 : at.beat]
            return self.near(classes, onward=False, loose=0.5, same=0)
        if rng.random() < player.repeat:
            return self.now
        roll, share = rng.random(), player.strong if at.beat == 2 else 1 - player.weak
        if roll < share + (1 - share) * 0.85:
            return self.near(at.tones if roll < share else at.scale)
        return self.clip(self.now + self.up)

    def approach(self, goal: int, at: Belief) -> int:
        rng, half = self.rng, self.player.half_step
        if (roll := rng.random()) < half:
            pitch = goal + int(rng.choice((-1, 1), p=(0.55, 0.45)))
        elif roll < half + (1 - half) * 0.6:
            near = [p for p in range(goal - 3, goal + 4) if p % 12 in at.scale and p != goal]
            pitch = min(near, key=lambda p: abs(p - self.now) + rng.exponential(1))
        else:
            pitch = goal + int(rng.choice((7, -5)))
        return pitch if pitch == self.clip(pitch) else goal + (1 if goal < self.high else -1)

    def walk(self, i: int, first_chorus: bool) -> None:
        rng, player, beat = self.rng, self.player, self.beliefs[i].beat
        in_two = player.in_two and first_chorus and self.bar == 4
        if not 29 <= self.now <= 53 or rng.random() < player.turn * (1 if beat else 0.5):
            self.up = 1 if self.now < 29 else -1 if self.now > 53 else -self.up
        if rng.random() < 0.1:
            self.up = 1 if self.now < self.centre else -1
        pitch = self.walk_pitch(i)
        if in_two and beat in (1, 3) and rng.random() < 0.85:
            return
        length = 12 * (2 if in_two else 1) * min(1, player.legato + rng.normal(0, 0.04))
        self.add(i, 0, length, pitch, 4 * (beat % 2))
        if player.tempo >= 260 or (roll := rng.random()) > player.skip + player.ghost:
            return
        if roll < player.skip:
            tone = self.near(self.beliefs[i].tones, onward=False)
            extra = int(rng.choice((pitch, pitch, pitch + 12 if pitch < 43 else pitch, tone)))
            self.add(i, 6, 4, extra, -12)
        else:  # a dead note
            extra = pitch if rng.random() < 0.6 else self.clip(pitch - int(rng.integers(8)))
            self.add(i, 6, 2, extra, -0.65 * player.loud)
        self.now = extra if extra == pitch + 12 else pitch

    def solo_pitch(self, i: int, *, off=True, last=True) -> int:
        """A pitch on beat ``i`` or after it; ``last`` of the beat it may lead to the next chord."""
        rng, player = self.rng, self.player
        at, after = self.beliefs[i : i + 2]
        if self.way:
            return self.astray()
        if not 36 <= self.now <= 63:
            self.up = 1 if self.now < 36 else -1
        elif rng.random() < 0.16:
            far = abs(self.now - self.centre) > 6
            self.up = (1 if self.now < self.centre else -1) if far else -self.up
        if not off and self.goal[0] == i:
            return self.goal[1]
        changes = last and off and (after.beat == 0 or after.symbol != at.symbol)
        if changes and rng.random() < player.lead:
            goal = self.near(after.tones)
            pitch = goal + int(rng.choice((-1, 1)))
            if pitch % 12 not in at.scale and rng.random() < 0.5:
                pitch = self.near(at.scale, goal, onward=False)
            self.goal = (i + 1, goal)
            return self.clip(pitch)
        if rng.random() < player.blues:
            return self.near([(self.key + d) % 12 for d in BLUES])
        share = player.off_tones if off else player.tones * (0.8 if at.beat % 2 else 1)
        if (roll := rng.random()) < share:
            jump = int(rng.integers(5, 11)) if rng.random() < player.leap else 1
            return self.near(at.tones, self.now + self.up * jump, loose=1 + 2 * player.stray)
        if roll < share + (1 - share) * (1 - player.passing):
            return self.near(at.scale, loose=0.8)
        return self.clip(self.now + self.up)

    def solo(self, i: int) -> None:
        rng, player = self.rng, self.player
        if self.hold > 0:
            self.hold, self.left = self.hold - 1, self.left - 1
            return
        if self.left <= 0 and self.rest <= 0:
            if self.played:
                self.breathe()
            if self.rest <= 0:
                self.left = max(2, round(rng.gamma(4, player.phrase / 4)))
                self.again = list(self.remembered) if rng.random() < player.motif else []
        if self.rest >= 1:
            self.rest -= 1
            if self.rest < 1 and rng.random() < 0.4:  # an eighth into the phrase
                self.add(i, 6, 6, self.solo_pitch(i))
            return
        self.left -= 1
        cell = self.again.pop(0) if self.again else int(rng.choice(6, p=player.cells))
        if self.left <= 0 and cell in (PAIR, TRIPLET) and rng.random() < 0.3:
            cell = QUARTER
        self.played.append(cell)
        self.strike(i, cell)

    def breathe(self) -> None:
        rng, self.remembered, self.played = self.rng, self.played, []
        self.rest = round(rng.exponential(self.player.rest))
        if rng.random() < self.player.long_rest:
            self.rest = int(rng.integers(2, 5)) * self.bar

    def strike(self, i: int, cell: int) -> None:
        """The notes of a rhythm cell."""
        rng, player = self.rng, self.player
        if cell == TIED:  # the beat, then the next one early, held over it
            self.add(i, 0, 6, self.solo_pitch(i, off=False))
            early = i + 2 < len(self.beliefs) and rng.random() < player.push
            self.goal, self.hold = (-1, 0), 1
            self.add(i, 6, 17, self.solo_pitch(i + early, off=not early, last=False))
            return
        if cell in (LONG, QUARTER):
            self.hold = int(rng.integers(1, 4)) if cell == LONG else 0
            self.add(i, 0, 12 * (1 + self.hold) * player.legato, self.solo_pitch(i, off=False))
            return
        if cell == PAIR and player.tempo < 92 and rng.random() < 0.35:
            cell = DOUBLED
        steps = STRUCK[cell]
        for step in steps:
            accent = 0 if cell != PAIR else 3 if step else -3
            pitch = self.solo_pitch(i, off=step > 0, last=step == steps[-1])
            self.add(i, step, 6 if cell == OFF_BEAT else 12 / len(steps), pitch, accent)


def _write(form, start, stop, rng, player, *, soloing, beliefs=None, way="") -> list[LineNote]:
    beliefs = beliefs or [_belief(form, beat) for beat in range(start, stop + 1)]
    line = _Line(beliefs, start, form, rng, player, soloing=soloing, way=way)
    between = player.rest / (player.rest + player.phrase)
    if soloing and start % form.beats and rng.random() < between:  # starts amid a rest
        line.rest = 1 + round(rng.exponential(player.rest))
    for i in range(stop - start):
        line.solo(i) if soloing else line.walk(i, start + i < form.beats)
    return line.notes


def walk(form: Form, start: int, stop: int, rng: np.random.Generator, player) -> list[LineNote]:
    """Walking over the beats from ``start`` to ``stop`` of a form."""
    return _write(form, start, stop, rng, player, soloing=False)


def solo(form: Form, start: int, stop: int, rng: np.random.Generator, player) -> list[LineNote]:
    """A solo over the beats from ``start`` to ``stop`` of a form."""
    return _write(form, start, stop, rng, player, soloing=True)


def _elsewhere(form: Form, start: int, stop: int, rng, way: str) -> list[Belief]:
    """Beliefs of one who guesses chords, or is at another place every bar or two."""
    beliefs: list[Belief] = []
    move = int(rng.choice((1, 3, 4, 6, 8, 10, 11))) if way == "wrong key" else 0
    while len(beliefs) <= stop - start:
        at = start + len(beliefs)
        beats = form.chart.meter.beats * int(rng.integers(1, 3)) - (rng.random() < 0.2)
        guess = NAMES[rng.integers(12)] + str(rng.choice(("m7", "7", "maj7", "m7b5", "7")))
        ahead = int(rng.integers(form.beats))
        for beat in range(at, at + beats):
            found = form.chord((beat + ahead) * STEPS_PER_BEAT)
            if way == "guessed chords":
                found = chord(guess)
            elif move and found.root is not None:
                found = chord(NAMES[(found.root + move) % 12] + found.kind)
            beliefs.append(_belief(form, beat, found))
    return beliefs[: stop - start + 1]


def _fits(form: Form, line: list[LineNote]) -> np.ndarray:
    """By place of the form, the share of the notes on the beat that are tones of its chords."""
    tones = [_belief(form, beat).tones for beat in range(form.beats)]
    table = np.array([[pc in of for pc in range(12)] for of in tones])
    on = np.array([(n.step // 12, n.pitch % 12) for n in line if n.step % 12 == 0]).reshape(-1, 2)
    places = (on[:, :1] + np.arange(form.beats)) % form.beats
    return table[places, on[:, 1:]].mean(axis=0) if len(on) else np.ones(form.beats)


def adrift(form: Form, start: int, stop: int, rng, player, way: str, play) -> list[LineNote]:
    """A stretch that fits the form nowhere, walking or solo as ``play`` is."""
    soloing = play is solo or (play is not walk and rng.random() < 0.5)
    longer = max(stop, start + 20 * form.chart.meter.beats)
    usual = _write(form, start, longer, rng, player, soloing=soloing)
    best, least, enough = [], np.inf, _fits(form, usual)[0] - WORSE
    for _ in range(TRIES):
        beliefs = None if way in ASTRAY else _elsewhere(form, start, stop, rng, way)
        line = _write(form, start, stop, rng, player, soloing=soloing, beliefs=beliefs, way=way)
        sparse = len({n.step // 12 for n in line}) < 0.4 * (stop - start)
        score = _fits(form, line).max() + sparse
        if score < least:
            best, least = line, score
        if least <= enough:
            break
    return best
