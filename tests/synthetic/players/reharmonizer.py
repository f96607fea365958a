"""An advanced player who thinks substitutes over the chart and plays those.

First he thinks: tritone substitutes, a ii before a V, a V before any chord, side-slips by a half
step, diminished and whole-tone scales and upper triads over dominants, common-tone diminished
chords, each by a share of his own; he is away for a bar or two at most. Then he plays what he
thought. Walking: the substitute's root where he puts it, else roots, thirds, fifths and chromatic
leading notes. Solo: eighths and triplets in groups of four notes of the thought chord, linked by
half steps; he comes home on a plain chord tone. Adrift he does the same over what is not there.
"""

# ruff: noqa: PLR0917 -- a player is asked for a line by place, chance, habits and way

from __future__ import annotations

from functools import partial
from itertools import pairwise
from types import SimpleNamespace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from linecheck.terms import STEPS_PER_BEAT
from tests.synthetic.charts import QUALITIES, chart, pitch_class
from tests.synthetic.lines import LineNote

if TYPE_CHECKING:
    from linecheck.music.form import Form
    from linecheck.terms import Chart

ADRIFT_WAYS = ("another tune", "slipping on", "same cells", "hopping", "symmetric")
LYDIAN_DOMINANT, HALF_WHOLE, WHOLE = (0, 2, 4, 6, 7, 9, 10), (0, 1, 3, 4, 6, 7, 9, 10), (0, 2, 4, 6, 8, 10)  # fmt: skip
# Colours over a dominant: four-note groups in half steps above its root.
DIMINISHED_GROUPS = ((1, 4, 7, 10), (10, 7, 4, 1), (4, 7, 10, 13), (0, 1, 3, 4), (4, 3, 1, 0), (7, 6, 4, 3), (10, 9, 7, 6))  # fmt: skip
WHOLE_GROUPS = ((0, 4, 8, 12), (8, 4, 2, 0), (4, 6, 8, 10), (10, 8, 6, 4), (4, 8, 10, 14))
SYMMETRIC = (("7#5", WHOLE, WHOLE_GROUPS), ("dim7", HALF_WHOLE, DIMINISHED_GROUPS))
TRIADS = ((0, 4, 7, 12), (12, 7, 4, 0), (4, 7, 12, 16), (7, 4, 0, -5), (-5, 0, 4, 7))
RUNS_UNDER = {2: LYDIAN_DOMINANT, 8: (0, 1, 3, 4, 6, 8, 10), 9: HALF_WHOLE}  # the scales of triads
FIGURES = ("1235", "1357", "3579", "5321", "7531", "9753", "3578", "8753", "5357", "3215", "5789", "7535", "3175")  # fmt: skip
PATTERNS = ((0, 6, 12, 18), (0, 4, 8, 12, 18), (0, 6, 12, 16, 20), (0, 4, 8, 12, 16, 20), (6, 12, 18), (0, 6, 18), (0, 12, 18), (0, 12), (0,), (0, 8, 16))  # fmt: skip
BUSY = np.array((10, 2.2, 1.2, 0.8, 2, 1.2, 1.5, 0.5, 0.4, 0.4))
CALM = np.array((2.5, 0.6, 0.3, 0.1, 1.8, 2, 3, 4, 3, 0.8))
GHOST = -60  # the accent of a ghost note
# Shares of one who uses it often; boldness scales them down.
SUBSTITUTES = {"tritone": 0.75, "two": 0.7, "before": 0.55, "slip": 0.6, "diminished": 0.45, "whole": 0.3, "triad": 0.5, "common": 0.5}  # fmt: skip
HABITS = {
    "settled": (0, 0.9), "away": (0.6, 2.1), "density": (0.25, 1), "triplets": (0, 2), "phrase": (4, 13), "rest": (0.6, 3.5), "push": (0, 0.3), "link": (0.3, 0.95),
    "enclose": (0, 0.25), "runs": (0.05, 0.35), "chroma": (0, 0.12), "loose": (0.5, 2.5), "sequence": (0.2, 0.9), "guide": (0, 2.5),
    "centre": (45, 55), "legato": (0.7, 0.98), "loud": (62, 95), "spread": (4, 12), "solo_ghost": (0, 0.09), "low_centre": (36, 43),
    "root": (0.65, 1), "sub_root": (0.85, 1), "lead": (0.4, 0.98), "half_step": (0.4, 0.95), "chromatic_run": (0, 0.3),
    "skip": (0, 0.12), "ghost": (0, 0.1), "walk_push": (0, 0.04), "walk_rest": (0, 0.02),
}  # fmt: skip


class Thought(NamedTuple):
    """What the player thinks from one beat to another; intervals are above ``root``."""

    begin: int
    end: int
    root: int
    tones: tuple[int, ...]
    run: tuple[int, ...]
    groups: tuple[tuple[int, ...], ...]
    bass: int
    away: bool = False


def charts() -> list[Chart]:
    """Fifteen charts that stand nowhere else."""
    return [
        chart("Crooked Ladder Blues", "Ab", "A", {"A": "Ab7 | Db9 | Ab7 | Ebm7 Ab7alt | Db7 | Ddim7 | Ab7 Gb7 | F7alt | Bbm7 | Eb7 | Cm7 F7b9 | Bbm7 Eb13"}),
        chart("Cold Radiator", "F#m", "A", {"A": "F#m6 | % | F#m7 | F#7alt | Bm7 | % | F#m7 | D#m7b5 | D9 | C#7alt | F#m6 D9 | G#m7b5 C#7b9"}),
        chart("Spare Key", "Db", "AABA", {"A": "Dbmaj7 | Bb7 | Ebm7 | Ab7 | Fm7 Bb7b9 | Ebm7 Ab7 | Db6 | Ab7sus", "B": "Gbmaj7 | % | Gm7b5 | C7b9 | Fm7 | Bb7 | Ebm7 | Ab7alt"}),
        chart("Copper Kettle Rhythm", "C", "AABA", {"A": "C6 A7b9 | Dm7 G7 | Em7 A7 | Dm7 G7 | C9 | F6 F#dim7 | C6/G A7 | Dm7 G13", "B": "E9 | % | A13 | % | D9 | % | Dm7 | G7alt"}),
        chart("The Unpaid Clerk", "E", "ABAC", {"A": "Emaj7 | G#m7 C#7 | F#m7 | B7 | Bm7 | E7 | Amaj7 | Am6", "B": "G#m7 | Gdim7 | F#m7 | B7 | D#m7b5 | G#7b9 | C#m7 F#7 | F#m7 B7", "C": "Emaj7 | A9 | G#m7 | C#7alt | F#m7 | B7 | E6 C#7 | F#m7 B7"}),
        chart("Salt on the Sill", "Bbm", "AABA", {"A": "Bbm6 | Cm7b5 F7b9 | Bbm6 | Bb7alt | Ebm7 | Ab7 | Dbmaj7 | Cm7b5 F7alt", "B": "Gbmaj7 | % | Fm7 | Bb7b9 | Ebm7 | Eb7 | Cm7b5 | F7#5"}),
        chart("Three Grey Hangars", "Em", "AABA", {"A": "Em7 | % | % | % | % | % | % | %", "B": "Cm7 | % | % | % | Bbm7 | % | % | %"}),
        chart("Slow Escalator", "A", "AB", {"A": "Gmaj7#11 | % | % | % | Bbmaj7#11 | % | % | %", "B": "Am7 | % | Cm7 | % | Ebm7 | % | E7sus | %"}),
        chart("Waltz in Wet Boots", "Bb", "AB", {"A": "Bbmaj7 | G7b9 | Cm7 | F7 | Dm7 | Db7 | Cm7 | B7", "B": "Ebmaj7 | Ab9 | Dm7 | G7 | Cm7 | F7 | Bb6 | Cm7 / F7"}, beats=3),
        chart("Mothlight", "Cm", "AAB", {"A": "Cmmaj7 | Am7b5 | Abmaj7 | G7alt | Cm6 | Fm7 | Dm7b5 | G7b9", "B": "Ebmaj7 | Db9 | Cm7 | F7 | Fm7 | G7sus | Cm6 | %"}, beats=3),
        chart("Eight Short Planks", "G", "A", {"A": "Gmaj7 | E7 | Am7 Eb7 | D7 | Bm7 Bb7 | Am7 Ab7 | G6 | Am7 D7"}),
        chart("Vending Machine", "D", "AB", {"A": "D7 | % | F7 | % | D7 | % | Bb7 | A7", "B": "G7 | % | E7 | % | D7 B7 | E7 A7 | D7 | A7sus"}),
        chart("Twenty Fence Posts", "B", "ABC", {"A": "Bmaj7 | G#m7 | C#m7 | F#7 | D#m7 G#7 | C#m7 F#7 | Bmaj7 | B7", "B": "Emaj7 | Em6 | D#m7 | G#7b9 | C#7 | % | C#m7 | F#7", "C": "Bmaj7 D7 | C#m7 F#7 | B6 | C#m7 F#7"}),
        chart("Left Hand Drawer", "Eb", "AB", {"A": "Ebmaj7 Gb7 | Fm7 Bb7 | Gm7 C7 | Fm7 E7 | Abmaj7 Db9 | Gm7 C7 | Fm7 Bb7", "B": "Am7 D7 | Gmaj7 | Bbm7 Eb7 | Abmaj7 | Abm7 Db7 | Gbmaj7 | Fm7 Bb7"}),
        chart("Under the Viaduct", "Gm", "ABAC", {"A": "Gm7 | % | Cm7 F7 | Bbmaj7 | Ebmaj7 | Am7b5 D7b9 | Gm6 | G7alt", "B": "Cm7 | % | Fm7 | Bb7 | Ebmaj7 | Ab9 | Am7b5 | D7alt", "C": "Cm7 | C#dim7 | Gm7 | E7 | Ebmaj7 | D7alt | Gm6 Eb9 | Am7b5 D7b9"}),
    ]  # fmt: skip


def draw_player(rng: np.random.Generator) -> SimpleNamespace:
    """A player: from one who hardly ever substitutes to one who seldom lets a chord be."""
    bold, wrong = rng.uniform(0.05, 1), max(0, rng.uniform(-0.06, 0.1))
    habits = {name: rng.uniform(*ends) for name, ends in HABITS.items()}
    shares = {name: bold * most * rng.random() ** 0.7 for name, most in SUBSTITUTES.items()}
    seed, in_two = int(rng.integers(2**31)), rng.random() < 0.1
    return SimpleNamespace(**habits, **shares, wrong=wrong, seed=seed, in_two=in_two)


def _think(begin: int, end: int, root: int, kind: str, *, run=None, bass=None, away=True) -> Thought:  # fmt: skip
    tones, run = (0, *QUALITIES[kind][0]), run or QUALITIES[kind][2]
    ninth, second = (2, 2) if 2 in run else (1, 5)  # a fourth stands for a flat second
    by = dict(zip("1235789", (0, second, *(*tones[1:], 9)[:3], 12, 12 + ninth), strict=True))
    groups = tuple(tuple(by[d] for d in figure) for figure in FIGURES)
    bass = root % 12 if bass is None else bass
    return Thought(begin, end, root % 12, tones, run, groups, bass, away)


def _heard(form: Form, place: int, start: int, stop: int) -> list[Thought]:
    """The chart's chords from a place of the form on, as plain thoughts of two bars at most."""
    bar, made, begin = form.chart.meter.beats, [], start
    chords = [form.chord((place + i) * STEPS_PER_BEAT) for i in range(stop - start)]
    for beat, after in enumerate([*chords[1:], None], start + 1):
        at, long = chords[begin - start], beat % bar == 0 and beat - begin > bar
        if long or after is None or after.symbol != at.symbol:
            root = pitch_class(form.chart.key.tonic) if at.root is None else at.root
            kind = at.kind if at.kind in QUALITIES else ""
            made.append(_think(begin, beat, root, kind, bass=at.bass, away=False))
            begin = beat
    return made


def _moved(it: Thought, begin: int, end: int, by: int = 0) -> Thought:
    root, bass = (it.root + by) % 12, (it.bass + by) % 12
    return it._replace(begin=begin, end=end, root=root, bass=bass, away=by != 0)


def _coloured(it: Thought, rng, player) -> Thought:
    """A dominant with another scale or a triad on top; the root stays."""
    on, odds = int(rng.choice((2, 8, 9))), (player.diminished, player.whole, player.triad)
    triads = tuple(tuple(on + i for i in up) for up in TRIADS) + it.groups[:2]
    colours = ((HALF_WHOLE, DIMINISHED_GROUPS), (WHOLE, WHOLE_GROUPS), (RUNS_UNDER[on], triads))
    pick = int(np.searchsorted(np.cumsum(odds), rng.random()))
    run, groups = (*colours, (it.run, it.groups))[pick]
    return it._replace(run=run, groups=groups, away=pick < 3)


def _substitutes(it: Thought, after: Thought, bar: int, rng, player) -> list[Thought]:
    """What is thought in place of one chord of the chart."""
    begin, end, parts, length = it.begin, it.end, [it], it.end - it.begin
    half, dominant = begin + length // 2, {4, 10} <= set(it.tones)
    if dominant and rng.random() < player.tritone:
        whole = length <= bar and (it.root - after.root) % 12 == 7 and rng.random() < 0.5
        cut = begin if whole else half
        other = _think(cut, end, it.root + 6, "7", run=LYDIAN_DOMINANT)
        return [_moved(it, begin, cut), other]
    if dominant:
        parts = [_coloured(it, rng, player)]
        if length >= 2 and rng.random() < player.two:
            two = _think(begin, half, it.root + 7, "m7b5" if 3 in after.tones else "m7", away=False)
            return [two, parts[0]._replace(begin=half)]
    elif length >= bar and 4 in it.tones and rng.random() < player.common:
        parts = [_think(begin, begin + 2, it.root, "dim7"), _moved(it, begin + 2, end)]
    if parts == [it] and length >= bar and rng.random() < player.slip:
        cut = half if length <= bar or rng.random() < 0.6 else begin + bar // 2  # early, and back
        back, by = min(end, cut + bar), int(rng.choice((1, 1, -1)))
        return [_moved(it, begin, cut), _moved(it, cut, back, by), _moved(it, back, end)]
    falls = dominant and (it.root - after.root) % 12 in (1, 7)
    if not falls and length >= 3 and rng.random() < player.before:
        tritone, cut = rng.random() < player.tritone, max(end - 2, parts[-1].begin + 1)
        five = _think(cut, end, after.root + 1, "7", run=LYDIAN_DOMINANT)
        plain = _coloured(_think(cut, end, after.root + 7, "7"), rng, player)
        return [*parts[:-1], parts[-1]._replace(end=cut), five if tritone else plain]
    return parts


def _thought(form: Form, start: int, stop: int, rng, player) -> list[Thought]:
    """What is thought over the chart; never away for longer than the player's bars."""
    bar, made, away = form.chart.meter.beats, [], 0
    heard = _heard(form, start, start, stop + bar)
    for it, after in zip(heard, [*heard[1:], heard[-1]], strict=True):
        settled = rng.random() < player.settled
        own = np.random.default_rng((player.seed, it.begin % form.beats)) if settled else rng
        parts = [p for p in _substitutes(it, after, bar, own, player) if p.begin < p.end]
        if away + parts[0].away * (parts[0].end - parts[0].begin) > player.away * bar:
            parts = [it]
        for part in parts:
            away = (away + part.end - part.begin) * part.away
        made += parts
    return made


class _Pen:
    """Writes notes; they are kept as lists, so that a later one may change an earlier one."""

    def __init__(self, start, stop, rng, player, low, high, now) -> None:
        self.first, self.last = start * STEPS_PER_BEAT, stop * STEPS_PER_BEAT
        self.rng, self.player, self.low, self.high = rng, player, low, high
        self.notes, self.now = [], int(now)

    def add(self, step: int, length, pitch: int, accent: float = 0) -> None:
        if not self.first <= step < self.last:
            return
        if self.rng.random() < self.player.wrong:
            pitch += int(self.rng.choice((-2, -1, -1, 1, 1, 2)))
        self.now = pitch = max(self.low, min(self.high, int(pitch)))
        loud = self.player.loud + self.rng.normal(0, self.player.spread)
        loud = 0.33 * loud if accent == GHOST else loud + accent
        while self.notes and self.notes[-1][0] >= step:
            self.notes.pop()
        self.notes[-1:] = [[a, min(b, step), *more] for a, b, *more in self.notes[-1:]]
        end = min(self.last, step + max(1, round(length)))
        self.notes.append([step, end, pitch, int(np.clip(loud, 12, 122))])

    def near(self, pc: int, to: float, centre: float, loose: float = 1.0) -> int:
        """The octave of a pitch class that lies best."""
        pool = [p for p in range(self.low, self.high + 1) if p % 12 == pc % 12]
        costs = [abs(p - to) + 0.25 * abs(p - centre) + self.rng.exponential(loose) for p in pool]
        return pool[int(np.argmin(costs))]


def _walk(thoughts: list[Thought], start: int, stop: int, bar: int, rng, player) -> list[LineNote]:
    pen = _Pen(start, stop, rng, player, 28, 55, player.low_centre + rng.normal(0, 3))
    aim, goal, chromatic = player.low_centre, None, 0
    for it, after in zip(thoughts, [*thoughts[1:], thoughts[-1]], strict=True):
        aim = player.low_centre + rng.normal(0, 4) if rng.random() < 0.3 else aim
        for beat in range(it.begin, min(it.end, stop)):
            begins, left, bar_one = beat == it.begin, it.end - beat, beat % bar == 0
            two = player.in_two and beat % bar % 2 and rng.random() < 0.8
            if not begins and (two or rng.random() < player.walk_rest):
                continue
            if begins or bar_one:
                sure = player.sub_root if it.away else player.root * (1 if begins else 0.6)
                other = it.root + int(rng.choice(it.tones[1:3]))
                pitch = goal or pen.near(it.bass if rng.random() < sure else other, pen.now, aim)
                goal, chromatic = None, 0
            elif left == 1 and rng.random() < player.lead:
                sure = player.sub_root if after.away else player.root
                tone = after.bass if rng.random() < sure else after.root + after.tones[2]
                goal = pen.near(tone, pen.now, aim)
                up = 1 if goal < pen.now else -1
                up *= -1 if rng.random() < 0.25 or goal + up == pen.now else 1
                far = (2 * up, 7 if goal < 38 else -5)[int(rng.integers(2))]
                pitch = goal + (far if rng.random() > player.half_step else up)
            elif chromatic or (left == 3 and rng.random() < player.chromatic_run):
                chromatic = chromatic or int(rng.choice((-1, 1)))
                pitch = pen.now + chromatic
            else:
                weights = np.array([*(0.8, 1.5, 1.6, 0.7)[: len(it.tones)], 0.5])
                tone = rng.choice((*it.tones, int(rng.choice(it.run))), p=weights / weights.sum())
                pitch = pen.near(it.root + tone, pen.now + int(rng.choice((-4, 4))), aim, 1.5)
            pitch += 12 * (pitch < 28) - 12 * (pitch > 55)
            step, early = beat * 12, 6 * (bar_one and rng.random() < player.walk_push)
            length = 12 * (1 + (player.in_two and left > 1)) * player.legato
            pen.add(step - early, length + early, pitch, 4 * (beat % 2))
            if (roll := rng.random()) < player.skip:
                low = 12 * (pitch > 45 and rng.random() < 0.3)
                pen.add(step + int(rng.choice((6, 8))), 4, pitch - low, -10)
            elif roll < player.skip + player.ghost:
                pen.add(step + 6, 2, pitch - int(rng.choice((0, 0, 5))), GHOST)
            pen.now = pitch
    return [LineNote(*note) for note in pen.notes]


class _Soloist(_Pen):
    """Phrases of four-note groups; ``old`` is the last thought, its pattern and its pitches."""

    aim, calm, linked, old = 50.0, False, False, (None, (), ())

    def pattern(self, room: int, *, home: bool) -> tuple[int, ...]:
        player, dense = self.player, self.player.density * (0.4 if self.calm else 1)
        if room == 1:
            odds = (0.55, 0.12 * player.triplets * dense, 0.45 - 0.12 * player.triplets * dense)
            return ((0, 6), (0, 4, 8), (0,))[int(self.rng.choice(3, p=odds))]
        weights = dense * BUSY / BUSY.sum() + (1 - dense) * CALM / CALM.sum()
        weights[1:4] *= player.triplets
        if home:
            weights *= [p[0] == 0 and (1 if len(p) > 2 else 3) for p in PATTERNS]
        return PATTERNS[int(self.rng.choice(len(PATTERNS), p=weights / weights.sum()))]

    def group(self, it: Thought, count: int, *, home: bool, fresh: bool) -> list[int]:
        """Pitches of the thought: a group that lies well, or a run, and what goes on from it."""
        rng, player, starts = self.rng, self.player, {t % 12 for t in it.tones[:3]}
        groups = [g for g in it.groups if not home or g[0] % 12 in starts] or list(it.groups)
        pool = np.concatenate([np.array(groups) + it.root + 12 * k for k in range(1, 6)])
        pool = pool[(pool.min(axis=1) >= 31) & (pool.max(axis=1) <= 67)]
        gap = np.abs(pool[:, 0] - self.now)
        cost = gap * (0.3 if fresh else 0.8) + 3 * (gap == 0) - 1.5 * (gap == 1) * player.link
        cost += 0.35 * np.abs(pool.mean(axis=1) - self.aim)
        cost -= player.guide * np.isin((pool[:, 0] - it.root) % 12, (it.tones[1], it.tones[-1]))
        best = pool[np.argmin(cost + rng.exponential(player.loose, len(pool)))].tolist()
        if count < 4 and not home and rng.random() < 0.3:
            return best[-count:]
        run, up = {(it.root + i) % 12 for i in it.run}, 1 if best[-1] > best[-2] else -1
        if (roll := rng.random()) < player.runs + player.chroma:
            up, best = (1 if best[0] < self.aim else -1), best[:1]
            run = set(range(12)) if roll > player.runs else run
        while len(best) < count:
            up = -up if not 33 <= best[-1] + 2 * up <= 65 else up
            best.append(next(p for i in range(1, 13) if (p := best[-1] + i * up) % 12 in run))
        return best[:count]

    def link(self, first: int, beat: int) -> None:
        """Bends the end of the last group towards the first note of this one."""
        notes, rng = self.notes, self.rng
        if not self.linked or len(notes) < 3 or abs(notes[-1][2] - first) in (1, 2):
            return
        if notes[-1][0] >= beat * 12 - 6 and rng.random() < self.player.link:
            up = 1 if notes[-2][2] > first else -1
            if rng.random() < self.player.enclose:
                notes[-2][2], up = min(67, first + 1), -1
            up = -up if notes[-2][2] == first + up else up
            notes[-1][2] = max(31, min(67, first + up))

    def play(self, it: Thought, beat: int, room: int, *, home: bool, fresh: bool) -> int:
        """One group; the beats that it takes."""
        rng, player, (before, steps, pitches) = self.rng, self.player, self.old
        same = before and it.tones == before.tones and (it.root - before.root) % 12 in (1, 11)
        if same and not fresh and room > 1 and steps[-1] >= 12 and rng.random() < player.sequence:
            move = (it.root - before.root + 6) % 12 - 6
            pitches = [max(31, min(67, p + move)) for p in pitches]
        else:
            steps = self.pattern(room, home=home)
            pitches = self.group(it, len(steps), home=home, fresh=fresh)
        beats = min(room, 4 if steps == (0,) and rng.random() < 0.4 else 2)
        self.link(pitches[0], beat)
        early = 6 * (beat == it.begin and steps[0] == 0 and not home and rng.random() < player.push)
        for index, (step, until) in enumerate(pairwise((*steps, 12 * beats))):
            at = step - early * (index == 0)
            ghost = index and step % 12 and rng.random() < player.solo_ghost
            accent = GHOST if ghost else 4 * (step % 12 == 6) + 5 * (home and index == 0)
            length = (until - at) * (player.legato if until - at > 6 else 1)
            self.add(beat * 12 + at, length, pitches[index], accent)
        self.old, self.linked = (it, steps, pitches), len(steps) > 2
        return beats

    def end(self, it: Thought) -> None:
        """The last note of a phrase: mostly a chord tone, mostly held a little."""
        if note := self.notes and self.notes[-1]:
            tones, held = [(it.root + t) % 12 for t in it.tones], int(self.rng.integers(3)) * 6
            if self.rng.random() < 0.75:
                note[2] = min(range(31, 68), key=lambda p: (p % 12 not in tones, abs(p - note[2])))
            note[1], self.linked = min(note[1] + held, self.last), False


def _solo(thoughts: list[Thought], start: int, stop: int, bar: int, rng, player) -> list[LineNote]:
    who = _Soloist(start, stop, rng, player, 31, 67, player.centre + rng.normal(0, 4))
    beat, index, left, fresh = start, 0, rng.gamma(5, player.phrase / 5), True
    while beat < stop:
        while thoughts[index].end <= beat:
            index += 1
        it, before = thoughts[index], thoughts[max(0, index - 1)]
        home = before.away and not it.away and beat == it.begin
        if left <= 0 and not (it.away and rng.random() < 0.6):  # away, he wants to come home first
            who.end(before if beat == it.begin else it)
            beat += max(1, round(rng.exponential(player.rest))) + bar * (rng.random() < 0.06)
            left, fresh = max(2, rng.gamma(5, player.phrase / 5)), True
            who.aim = player.centre + rng.normal(0, 5)
            who.calm = rng.random() > player.density + 0.2
            continue
        took = who.play(it, beat, min(it.end, stop) - beat, home=home, fresh=fresh)
        left = 0 if home and rng.random() < 0.3 else left - took
        beat, fresh = beat + took, False
        who.aim += rng.normal(0, 1.5) + 0.2 * (player.centre - who.aim)
    return [LineNote(*note) for note in who.notes]


def _play(write, form: Form, start: int, stop: int, rng, player) -> list[LineNote]:
    thoughts = _thought(form, start, stop, rng, player)
    return write(thoughts, start, stop, form.chart.meter.beats, rng, player)


walk, solo = partial(_play, _walk), partial(_play, _solo)


def _lost(form: Form, start: int, stop: int, rng, way: str) -> list[Thought]:
    """What one thinks who has lost the form."""
    bar, made, at, hops = form.chart.meter.beats, [], start, way == "hopping"
    root, cells = int(rng.integers(12)), way == "same cells"
    by = 0 if hops else int(rng.integers(2, 10))
    kinds = rng.permutation(("m7", "7", "maj7", "m7b5", "7b9", "m6"))[: 2 if cells else 6]
    while at < stop + bar:
        end = at + (int(rng.integers(2, 6)) if hops else bar * int(rng.integers(1, 3)))
        if hops or way == "slipping on":
            by = by and ((by + int(rng.choice((-1, 1, 1, 2)))) % 12 or 6)
            part = _heard(form, int(rng.integers(form.beats)) if hops else at, at, end)
            made += [_moved(p, p.begin, p.end, by) for p in part]
        elif way == "symmetric":
            root += int(rng.choice((1, 3, 4, 11)))
            kind, run, groups = SYMMETRIC[len(made) % 2]
            made.append(_think(at, end, root, kind, run=run)._replace(groups=groups))
        else:
            root += int(rng.choice((0, 0, 0, 0, 1, 11) if cells else (5, 5, 1, 3, 8, 6)))
            made.append(_think(at, end, root, str(rng.choice(kinds)), away=cells))
        at = end
    return made


def _best_fit(form: Form, line: list[LineNote]) -> float:
    """The largest share of chord tones on the beat that any place of the form gives a line."""
    on = np.array([(n.step // 12, n.pitch % 12) for n in line if n.step % 12 == 0] or [(0, 0)])
    tones = [[t.pitch_class for t in form.chord(12 * b).tones] for b in range(form.beats)]
    table = np.array([[pc in of for pc in range(12)] for of in tones])
    return float(table[(on[:, :1] + np.arange(form.beats)) % form.beats, on[:, 1:]].mean(0).max())


def adrift(form: Form, start: int, stop: int, rng, player, way: str, play) -> list[LineNote]:
    """A stretch that fits the form nowhere: of a few lines the one that fits worst."""
    soloing = play is solo or (play is not walk and rng.random() < 0.5)
    write, rest = (_solo if soloing else _walk), (start, stop, form.chart.meter.beats, rng, player)
    lines = [write(_lost(form, start, stop, rng, way), *rest) for _ in range(4)]
    return min(lines, key=lambda line: _best_fit(form, line) + (len(line) < (stop - start) // 3))
