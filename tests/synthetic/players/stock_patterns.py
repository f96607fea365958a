"""A student as a bass teacher hears him: stock patterns, roots and fifths, approaches.

Walking, each chord of a bar gets a first note (mostly the root) and one of a few patterns, often
the one he played on that chord before; the last note leads into the next first note. A solo is
phrases of rhythmic cells, filled by outlines, scale runs, enclosures, motifs and blues licks.
Adrift he wanders by half steps, in some key or with one small figure, or trusts wrong chords.
Pitches: E1 = 28 to 55 walking, to 67 in a solo; ghost notes have a third of the velocity.
"""

# ruff: noqa: C901, PLR0917 -- a generator draws from many shares, and says so plainly

from __future__ import annotations

from bisect import bisect
from itertools import accumulate, pairwise
from math import exp
from types import SimpleNamespace as Player
from typing import TYPE_CHECKING

import numpy as np

from linecheck.terms import STEPS_PER_BEAT
from tests.synthetic.charts import MAJOR, NAMES, chart, chord, pitch_class, scale
from tests.synthetic.lines import LineNote

if TYPE_CHECKING:
    from linecheck.music.form import Form
    from linecheck.terms import Chart, Chord

    Random = np.random.Generator

ADRIFT_WAYS = ("chromatic", "diatonic", "stuck", "guessing", "patchwork")
WANDERING = ADRIFT_WAYS[:3]  # no chord in mind
LOW, HIGH_WALKING, HIGH_SOLO = 28, 55, 67
CELLS = {
    "eighths": ((0, 6), (6, 6)), "quarter": ((0, 12),), "off-beat": ((6, 6),), "half": ((0, 24),),
    "dotted": ((0, 18), (18, 6)), "dotted late": ((0, 6), (6, 18)), "long": ((0, 36),),
    "triplet": ((0, 4), (4, 4), (8, 4)), "sixteenths": ((0, 3), (3, 3), (6, 3), (9, 3)),
}  # fmt: skip


def charts() -> list[Chart]:
    """Fifteen charts that stand nowhere else."""
    return [
        chart("Corner Kettle Blues", "F", "A", {"A": "F7 | Bb7 | F7 | Cm7 F7 | Bb7 | Bdim7 | F7 | Am7 D7 | Gm7 | C7 | F7 D7 | Gm7 C7"}),
        chart("Slate Roof Minor", "Cm", "A", {"A": "Cm7 | % | % | C7alt | Fm7 | % | Cm7 | % | Ab7 | G7b9 | Cm6 | Dm7b5 G7b9"}),
        chart("Lantern on the Weir", "Bb", "AABA", {"A": "Bb6 G7 | Cm7 F7 | Dm7 G7 | Cm7 F7 | Fm7 Bb7 | Eb6 Ebm6 | Bb6 F7 | Bb6 F7", "B": "D7 | % | G7 | % | C7 | % | F7 | %"}),
        chart("Paper Orchard", "Eb", "ABAC", {"A": "Ebmaj7 | % | Gm7b5 | C7b9 | Fm7 | % | Am7b5 | D7b9", "B": "Gm7 | C7 | Fm7 | Bb7 | Gm7 Gbdim7 | Fm7 | F7 | Fm7 Bb7", "C": "Abmaj7 | Abm6 | Gm7 | C7b9 | Fm7 | Bb7sus Bb7 | Eb6 Gbdim7 | Fm7 Bb7"}),
        chart("Two Still Harbours", "Dm", "AABA", {"A": "Dm7 | % | % | % | % | % | % | %", "B": "Fm7 | % | % | % | Ebmaj7 | % | Em7b5 | A7alt"}),
        chart("Quick Ladder", "C", "AB", {"A": "Cmaj7 Eb7 | Abmaj7 B7 | Emaj7 | Bm7 E7 | Amaj7 C7 | Fmaj7 Ab7 | Dbmaj7 | Dm7 G7", "B": "Em7 A7 | Ebm7 Ab7 | Dm7 | G7 | Cmaj7 | F#m7 B7 | Emaj7 | Dm7 / / G7"}),
        chart("Gravel Path Waltz", "G", "AB", {"A": "Gmaj7 | Em7 | Am7 | D7 | Bm7 | E7b9 | Am7 | D7 | Dm7 | G7 | Cmaj7 | F7 | Bm7 | Em7 | A7 | Am7 / D7", "B": "Cmaj7 | % | Cm6 | F7 | Bbmaj7 | % | Am7b5 | D7b9 | Gmaj7 | Em7 | Am7 | D7 | Bm7 | Bbdim7 | Am7 / D7 | G6"}, beats=3),
        chart("Fourteen Windows", "Ab", "A", {"A": "Abmaj7 | Fm7 | Bbm7 | Eb7 | Cm7b5 | F7b9 | Bbm7 | Dbm6 | Abmaj7 | Dbmaj7 | Dm7b5 G7 | Cm7 F7 | Bbm7 | Eb7sus Eb7"}),
        chart("Rust and Honey", "Gm", "AABC", {"A": "Am7b5 | D7b9 | Gm6 | % | Cm7 | F7 | Bbmaj7 | Ebmaj7", "B": "Am7b5 | D7 | Gm7 | G7alt | Cm7 | F7 | Bbmaj7 | D7alt", "C": "Ebmaj7 | Am7b5 D7 | Gm7 Gb7 | Fm7 E7 | Am7b5 | D7b9 | Gm6 | Am7b5 D7"}),
        chart("Ferry at Low Water", "D", "AB", {"A": "D6 | D6/F# | Gmaj7 | G#dim7 | D/A | B7 | Em7 | A7", "B": "F#m7 | B7b9 | Em7 | Gm6 | F#m7 Fdim7 | Em7 A7 | Cmaj7 Bbmaj7 | Em7 A13 | D6 | Em7 A7"}),
        chart("Blue Tin Roof", "Bb", "A", {"A": "Bb7 | Eb9 | Bb7 | Fm7 Bb7 | Eb7 | Edim7 | Bb7 Am7 | Abm7 Db7 | Cm7 | F7 | Dm7 G7 | Cm7 F7"}),
        chart("Northern Sidings", "Em", "AAB", {"A": "Em7 | % | F#m7b5 | B7b9 | Em7 A7 | Dmaj7 | F#m7b5 B7b9 | Em6", "B": "Cmaj7 | % | Bm7 | % | Am7 | D7 | Gmaj7 | B7alt"}),
        chart("Glass Meridian", "Fm", "ABA", {"A": "Fm7 | % | Dbmaj7 | % | Gbmaj7 | % | C7sus | C7alt", "B": "Abm7 | % | Emaj7 | % | Am7 | % | Gm7b5 | C7b9"}),
        chart("Sparrow Arithmetic", "A", "AABA", {"A": "Amaj7 | F#m7 | Bm7 | E7 | C#m7 | F#7b9 | Bm7 E7 | A6 E7", "B": "Em7 | A7 | Dmaj7 | % | Dm7 | G7 | Cmaj7 | Bm7 E7"}),
        chart("Salt Wind Waltz", "Dm", "A", {"A": "Dm7 | Bm7b5 | E7b9 | Am7 | Gm7 | C7 | Fmaj7 | % | Bbmaj7 | Em7b5 | A7b9 | Dm7 | Bb7 | A7alt | Dmmaj7 | A7"}, beats=3),
    ]  # fmt: skip


def draw_player(rng: Random) -> Player:
    """A player: habits drawn over a wide range; weights are his own, other shares probabilities."""

    def own(sameness: float, **weights: float) -> dict[str, float]:
        total = sum(weights.values())
        return {name: rng.gamma(w / total * sameness + 0.05) for name, w in weights.items()}

    u, tempo = rng.uniform, int(rng.integers(80, 221))
    quick = ({"triplet": 1} if tempo < 185 else {}) | ({"sixteenths": 1.2} if tempo < 105 else {})
    odd = {"off-beat": 1.4, "dotted": 0.6, "dotted late": 0.6, "half": 0.8, "long": 0.4}
    return Player(
        tempo=tempo, in_two=rng.random() < 0.12, root_first=u(0.72, 0.98), same_again=u(0, 0.6),
        patterns=own(6, fifths=3, arpeggio=3, scale=3, chromatic=1.5, repeats=1.2, triad=1.5),
        approaches=own(6, below=3, above=2.2, step=2, fifth=1.5, none=2),
        walking_middle=u(36, 43), solo_middle=u(43, 54), skip=_one_of((0, 0.03, 0.08, 0.15), rng),
        ghost=_one_of((0, 0.02, 0.05), rng), rake=_one_of((0, 0, 0.015), rng),
        wrong=_one_of((0, 0.01, 0.025, 0.04), rng), tritone=_one_of((0, 0, 0.06), rng),
        cells=own(9, eighths=5 if tempo <= 190 else 3, quarter=3, **odd, **quick),
        devices=own(10.6, scale=3.2, arpeggio=3.2, enclosure=1.8, blues=0.6, blues_on_a_blues=2,
                    fifths=1.2, chromatic=0.7, repeat=0.5),
        aim=u(0.5, 0.95), phrase_beats=u(4, 11), rest_beats=u(1, 4.5), motif=u(0, 0.35),
        legato=u(0.72, 0.98), loud=u(68, 95), lost="", lost_at=0, lost_chords=(), lost_key=(),
    )  # fmt: skip


def _pick(weights: dict, rng: Random):
    sums = list(accumulate(weights.values()))
    return list(weights)[bisect(sums, rng.random() * sums[-1], hi=len(sums) - 1)]


def _one_of(options, rng: Random):
    return options[int(rng.random() * len(options))]


def _near(pc: int, to: float, low: int, high: int, rng: Random, spread: float = 4) -> int:
    """A pitch of that class, more likely the nearer."""
    found = (p for p in range(low, high + 1) if (p - pc) % 12 == 0)
    return _pick({p: exp(-abs(p - to) / spread) for p in found}, rng)


def _along(pitch: int, way: int, run: tuple[int, ...]) -> int:
    """The next pitch of a run that way."""
    return next((pitch + way * i for i in range(1, 12) if (pitch + way * i) % 12 in run), pitch)


def _tones(of: Chord) -> tuple[int, ...]:
    return tuple(t.pitch_class for t in of.tones)


class _Hand:
    """One stretch as it is played, and what the hand remembers of it."""

    def __init__(self, form: Form, start: int, stop: int, rng: Random, player: Player) -> None:
        self.form, self.start, self.stop, self.rng, self.player = form, start, stop, rng, player
        self.way, self.lost, self.notes, self.known, self.motif = 1, player.lost, [], {}, None
        self.last = _near(self.chord(start).root, player.walking_middle, LOW, HIGH_WALKING, rng)
        self.figure, self.figure_notes = (0, 3, 5)[: int(rng.integers(2, 4))], 0
        self.figure_times, self.figure_pitch = 2, int(rng.integers(34, 46))

    def chord(self, beat: int) -> Chord:
        inside, believed = beat - self.player.lost_at, self.player.lost_chords
        return believed[inside] if 0 <= inside < len(believed) else self.form.chord(beat * 12)

    def strike(self, step: int, length: float, pitch: int, louder: int = 0, share=1.0) -> int:
        pitch += 12 * max(0, -((pitch - LOW) // 12))
        pitch -= 12 * max(0, -((self.high - pitch) // 12))
        loud = (self.player.loud + louder + self.rng.normal(0, 7)) * share
        end = min(step + max(1, round(length)), self.stop * STEPS_PER_BEAT)
        self.notes.append(LineNote(step, end, pitch, int(min(124, max(12, loud)))))
        return pitch

    def wander(self, low: int, high: int) -> int:
        rng, pitch = self.rng, self.last
        if not low <= pitch <= high:
            self.way = -1 if pitch > high else 1
        elif rng.random() < 0.3:
            self.way *= -1
        if self.lost == "chromatic":
            pitch += self.way * _one_of((1, 1, 1, 2, 2, 3, 5), rng)
        elif self.lost == "diatonic":
            for _ in range(3 if rng.random() < 0.25 else 1):
                pitch = _along(pitch, self.way, self.player.lost_key)
        else:  # a small figure again and again, shifted
            if self.figure_notes >= len(self.figure) * self.figure_times:
                self.figure_notes, self.figure_times = 0, int(rng.integers(1, 4))
                moved = self.figure_pitch + _one_of((-3, -2, -1, 1, 2, 4), rng)
                self.figure_pitch = min(high, max(low, moved))
                if rng.random() < 0.4:
                    self.figure = (0, *rng.integers(-4, 6, rng.integers(1, 4)).tolist())
            pitch = self.figure_pitch + self.figure[self.figure_notes % len(self.figure)]
            self.figure_notes += 1
        self.last = min(high + 4, max(LOW, pitch))
        return self.last

    def first(self, on: Chord, *, same: bool) -> int:
        """The first note on a chord: mostly its root."""
        rng, player, tones = self.rng, self.player, _tones(on)
        if on.bass != on.root and rng.random() < 0.85:
            pc = on.bass
        elif rng.random() < player.root_first * (0.6 if same else 1):
            pc = on.root
        else:
            pc = _one_of((*[tones[1]] * 3, *[tones[2]] * 4, tones[-1]), rng)
        if rng.random() < player.tritone and on.kind.startswith("7") and not same:
            pc = on.root + 6
        to = self.last + 3 * self.way
        return _near(pc, to + (player.walking_middle - to) / 4, LOW, HIGH_WALKING, rng, 2.5)

    def fill(self, beats: int, first: int, goal: int, on: Chord) -> list[int]:
        """So many notes from ``first`` that lead to ``goal``."""
        if beats == 1:
            return [first]
        rng, tones, run, player = self.rng, _tones(on), scale(on), self.player
        pattern = self.known.get((on.symbol, beats))
        if not pattern or rng.random() >= player.same_again:
            pattern = _pick(player.patterns, rng)
        self.known[on.symbol, beats] = pattern
        way = 1 if goal > first or (goal == first and rng.random() < 0.5) else -1
        way = 1 if first < 32 else -1 if first > 51 else way
        if rng.random() < 0.15 and 33 < first < 49:
            way = -way
        third, fifth = (_along(first, way, tones[i : i + 1]) for i in (1, 2))
        other = fifth if LOW <= fifth <= HIGH_WALKING else _along(first, -way, tones[2:3])
        octave = first + 12 if first < 41 and rng.random() < 0.6 else first
        more, up = beats - 1, 1 if goal > first else -1
        count = min(more, max(1, abs(goal - first) - 1), 3)
        figures = {
            "fifths": ((other, octave, other),),
            "repeats": ((first, fifth, fifth), (first, first, first), (first, first, fifth)),
            "triad": ((fifth, third, fifth), (third, first, fifth), (third, fifth, third)),
        }
        made = [first]
        if pattern in ("arpeggio", "scale"):
            for _ in range(more):
                made.append(_along(made[-1], way, run if pattern == "scale" else tones))
        elif pattern == "chromatic":
            made += [_along(first, up, tones)] * (more - count)
            made += [goal - up * i for i in range(count, 0, -1)]
        else:
            made += _one_of(figures[pattern], rng)[:more]
        while len(made) < beats:
            made.append(_along(made[-1], -way, tones))
        if pattern != "chromatic" and (beats > 2 or rng.random() < 0.6):
            now, ways = made[-2] if beats > 2 else made[-1], {"below": goal - 1, "above": goal + 1}
            ways["step"] = _along(goal, 1 if now > goal else -1, run)
            ways["fifth"] = _near(goal + 7, now, LOW, HIGH_WALKING, rng, 2)
            made[-1] = ways.get(_pick(player.approaches, rng), made[-1])
        return made

    def walk(self) -> list[LineNote]:
        rng, start, player, self.high = self.rng, self.start, self.player, HIGH_WALKING
        later = range(start + 1, self.stop)
        edges = {b for b in later if self.chord(b) is not self.chord(b - 1)}
        edges |= {b for b in later if self.form.bar_begins(b * 12) == b * 12}
        now = self.first(self.chord(start), same=False)
        for at, end in pairwise([start, *sorted(edges), self.stop]):
            on, after, pitches = self.chord(at), self.chord(end), []
            if self.lost in WANDERING:
                pitches = [self.wander(32, 48) for _ in range(at, end)]
            else:
                if abs(now - self.last) > 14:
                    now = _near(now, self.last, LOW, HIGH_WALKING, rng)
                self.last = now
                if not 33 <= now <= 47:
                    self.way = -1 if now > 47 else 1
                elif rng.random() < 0.25:
                    self.way *= -1
                goal = self.first(after, same=after is on)
                pitches, now = self.fill(end - at, now, goal, on), goal
            two = player.in_two and at < self.form.beats and not self.lost and len(pitches) == 4
            for i, meant in enumerate(pitches):
                halved = two and (i == 1 or (i == 3 and rng.random() < 0.75))
                if halved or (self.lost and rng.random() < 0.12):  # or he hesitates
                    continue
                wrong = _one_of((-2, -1, 1, 2), rng) if rng.random() < player.wrong else 0
                step = (at + i) * STEPS_PER_BEAT
                back_beat = (step - self.form.bar_begins(step)) // STEPS_PER_BEAT % 2
                shares = (player.skip, player.ghost, player.rake)
                skip, ghost, rake = (rng.random() < share for share in shares)
                rake = rake and player.tempo < 170 and not skip and not ghost
                held = (1 + (two and i == 0)) * player.legato
                length = 0.45 if skip or ghost else 0.3 if rake else held
                pitch = self.last = self.strike(step, length * 12, meant + wrong, 4 * back_beat)
                if skip:
                    other = _near(_one_of(_tones(on), rng), pitch, LOW, HIGH_WALKING, rng)
                    self.strike(step + 6, 4, pitch if rng.random() < 0.6 else other, -12)
                elif ghost:
                    self.strike(step + 6, 2, _one_of((28, 33, 38, 43, pitch), rng), share=0.33)
                elif rake:
                    self.strike(step + 4, 2, 43, share=0.35)
                    self.strike(step + 8, 2, 38, share=0.35)
        return self.notes

    def solo(self) -> list[LineNote]:
        rng, at, player, self.high = self.rng, self.start, self.player, HIGH_SOLO
        while at < self.stop:
            end = min(at + max(1, rng.normal(player.phrase_beats, 3)), self.stop)
            places, cell = [], ""
            if self.motif and rng.random() < player.motif:
                room = (end - at) * 12 + 7
                places = [(s + at * 12, n) for s, n in self.motif[0] if s + n <= room]
                at += self.motif[1]
            while at < end:
                if cell in ("", "half", "long") or rng.random() > 0.45:
                    cell = _pick(player.cells, rng)
                places += [(at * 12 + s, n) for s, n in CELLS[cell]]
                at += sum(CELLS[cell][-1]) // 12
            places = [p for p in places if p[0] < self.stop * STEPS_PER_BEAT]
            if places:
                self.sing(places)
            bar, out = self.form.chart.meter.beats, rng.random() < 0.04  # lays out for some bars
            rest = rng.exponential(player.rest_beats) + out * int(rng.integers(2, 5)) * bar
            at += int(min(rest, (1.5 if self.lost else 6) * bar))
        return self.notes

    def sing(self, places: list[tuple[int, int]]) -> None:
        rng, player, now, count = self.rng, self.player, self.last, len(places)
        low, high = 31, min(HIGH_SOLO, int(player.solo_middle + 14))
        early = [s % 12 >= 6 and n >= 6 and rng.random() < 0.5 for s, n in places]
        heard = [self.chord(s // 12 + e) for (s, _), e in zip(places, early, strict=True)]
        if abs(now - player.solo_middle) > 9 or rng.random() < 0.3:
            now = int(rng.normal(player.solo_middle, 4))
        now = _near(_one_of(_tones(heard[0]), rng), now, low, high, rng, 3)
        made: list[int] = []
        if self.motif and count >= 3 and rng.random() < player.motif:
            for interval, on in zip(self.motif[2], heard, strict=False):
                run, pitch, way = scale(on), now + interval, _one_of((-1, 1), rng)
                made.append(pitch if pitch % 12 in run else _along(pitch, way, run))
        while len(made) < count:
            now = made[-1] if made else now
            if self.lost in WANDERING:
                self.last = now
                made.append(self.wander(36, high - 4))
                continue
            done = len(made)
            made += self.lick(places[done:], heard[done:], now, (low, high), fresh=not made)
        if not self.motif or rng.random() < 0.2:
            begins, size = places[0][0] // 12 * 12, int(rng.integers(3, 8))
            if count >= size:
                kept = [(s - begins, n) for s, n in places[:size]]
                self.motif = kept, -(-sum(kept[-1]) // 12), [p - made[0] for p in made[:size]]
        for (step, length), meant in zip(places, made, strict=True):
            pitch = meant + (_one_of((-1, 1), rng) if rng.random() < player.wrong else 0)
            pitch += 12 if pitch < LOW + 2 else 0
            ghost = length <= 6 and rng.random() < player.ghost
            held, louder = length * rng.uniform(0.7, 1) * player.legato, 3 * (step % 12 > 4)
            self.last = self.strike(step, held, pitch, louder, 0.35 if ghost else 1)

    def lick(self, places, heard, now: int, neck: tuple[int, int], *, fresh: bool) -> list[int]:
        rng, middle, (low, high) = self.rng, self.player.solo_middle, neck
        bars, tonic = self.form.chart.bars, pitch_class(self.form.chart.key.tonic)
        blues = tuple((tonic + i) % 12 for i in (0, 3, 5, 6, 7, 10))
        used, unused = "blues", "blues_on_a_blues"
        if len(bars) == 12 and bars[0].chords[0].chord.kind == "7":
            used, unused = unused, used
        device = _pick({d: w for d, w in self.player.devices.items() if d != unused}, rng)
        count = min(len(places), int(rng.integers(3, 8)))
        if rng.random() < 0.5:
            self.way *= -1
        if count >= 3 and device in ("chromatic", "enclosure"):
            if device == "enclosure":
                count = 4 if count >= 4 and rng.random() < 0.4 else 3
            on, way = heard[count - 1], 1 if now < middle else -1
            pc = _one_of(_tones(on), rng)
            if device == "chromatic":
                goal = _near(pc, now + way * (count - 1), low, high, rng, 1)
                return [goal - way * i for i in range(count - 1, -1, -1)]
            goal = _near(pc, now, low, high, rng, 3)
            above, below = _along(goal, 1, scale(on)), goal - 1
            over, under = [above + 1, above, below, goal], [goal + 2, below, above, goal]
            return (under if rng.random() < 0.25 else over)[4 - count :]
        made: list[int] = []
        for (step, length), on in zip(places[:count], heard, strict=False):
            tones, run = _tones(on), scale(on)
            if not low + 3 <= now <= high - 2:
                self.way = -1 if now > high - 2 else 1
            elif rng.random() < 0.1 + 0.012 * abs(now - middle):
                self.way = 1 if now < middle else -1
            strong = length >= 18 or (step % 12 == 0 and device == "scale")
            if (made or not fresh) and (device != "repeat" or rng.random() > 0.7):
                ninth = run[1:2] if device != "repeat" and rng.random() < 0.2 else ()
                pools = {"scale": run, "fifths": (tones[0], tones[2]), used: blues}
                way = _one_of((-1, -1, 1), rng) if device == used else self.way
                now = _along(now, way, pools.get(device, tones + ninth))
            if strong and rng.random() < self.player.aim and device != used:
                now = now if now % 12 in tones else _along(now, self.way, tones)
            made.append(now)
        return made


def walk(form: Form, start: int, stop: int, rng: Random, player: Player) -> list[LineNote]:
    """Walking over the beats from ``start`` to ``stop`` of a form."""
    return _Hand(form, start, stop, rng, player).walk()


def solo(form: Form, start: int, stop: int, rng: Random, player: Player) -> list[LineNote]:
    """A solo over the beats from ``start`` to ``stop`` of a form."""
    return _Hand(form, start, stop, rng, player).solo()


def _believed(form: Form, beats: int, rng: Random, way: str) -> tuple[Chord, ...]:
    """Chords he trusts: guesses, or bits of the form from elsewhere, often moved."""
    made: list[Chord] = []
    root, bar = int(rng.integers(12)), form.chart.meter.beats
    bar_lines = [b for b in range(form.beats) if form.bar_begins(b * 12) == b * 12]
    while len(made) < beats:
        length = bar * _one_of((1, 1, 2), rng)
        if way == "guessing":
            root = (root + _one_of((5, 5, 5, 1, 2, 10, 11, 3, 8, 6), rng)) % 12
            kind = _one_of(("7", "7", "m7", "m7", "maj7", "m7b5"), rng)
            made += [chord(NAMES[root] + kind)] * length
        else:
            begin, move = _one_of(bar_lines, rng), _one_of((0, 0, 1, 11, 2, 6), rng)
            own = [form.chord(b * STEPS_PER_BEAT) for b in range(begin, begin + length)]
            moved = {c.symbol: chord(NAMES[(c.root + move) % 12] + c.kind) for c in own}
            made += [moved[c.symbol] for c in own]
    return tuple(made[:beats])


def adrift(form: Form, start: int, stop: int, rng: Random, player: Player, way: str, play):
    """A stretch that fits the form nowhere: of some tries the first far off, or the farthest."""
    heard = [_tones(form.chord(b * STEPS_PER_BEAT)) for b in range(form.beats)]
    sounds = np.array([[pc in tones for pc in range(12)] for tones in heard])
    tries: list[tuple[float, int, list[LineNote]]] = []
    for _ in range(30):
        tonic = pitch_class(form.chart.key.tonic) + _one_of((0, 1, 2, 3, 5, 6, 7, 8, 10, 11), rng)
        key = tuple((tonic + i) % 12 for i in MAJOR)
        chords = () if way in WANDERING else _believed(form, stop - start, rng, way)
        lost = {"lost": way, "lost_at": start, "lost_chords": chords, "lost_key": key}
        tried = play(form, start, stop, rng, Player(**(vars(player) | lost)))
        struck = [((n.step + 2) // 12, n.pitch % 12) for n in tried if n.velocity > 45] or [(0, 0)]
        beats, classes = (np.array(column)[:, None] for column in zip(*struck, strict=True))
        hits = sounds[(beats + np.arange(form.beats)) % form.beats, classes]
        fit = hits.mean(axis=0).max() if len(struck) >= 8 else 1.0  # at the place that fits best
        tries.append((fit, len(tries), tried))
        if fit < (0.58 if stop - start > 32 else 0.62):
            break
    return min(tries)[2]
