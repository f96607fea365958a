"""A student who has learned a line by heart, one chorus to walk and one to solo, for each chart.

The learned chorus is a plain teacher's line, composed once from the player's own seed: chord tones
where chords begin and on strong beats, led on by steps, arpeggios, approaches and octaves; for the
solo an etude of phrases and rests. Each chorus is that one again with slips of memory: a bar
varied, on roots, with notes changed round, an octave off, as another bar, late, or left out; one
slip brings the next. Adrift he has the bars in a wrong order or key, goes round on one, hops about
the line or makes something up. Pitches: 28 to 55, solo 31 to 67.
"""

# ruff: noqa: PLR0917 -- a line is composed from many choices, said plainly

from __future__ import annotations

from itertools import pairwise
from types import SimpleNamespace
from typing import TYPE_CHECKING

import numpy as np

from linecheck.terms import STEPS_PER_BEAT
from tests.synthetic.charts import chart, scale
from tests.synthetic.lines import LineNote

if TYPE_CHECKING:
    from linecheck.music.form import Form
    from linecheck.terms import Chart, Chord

ADRIFT_WAYS = ("shuffled bars", "another key", "one bar round", "hopping about", "made up")
SLIPS = ("varied", "roots", "changed round", "octave", "like bar", "late", "left out")
PAIR, TRIPLET, QUARTER, OFF_BEAT, HELD, REST = range(6)  # what a beat of the etude holds
STRUCK = {PAIR: (0, 6), TRIPLET: (0, 4, 8), QUARTER: (0,), OFF_BEAT: (6,), HELD: (), REST: ()}
AWKWARD = (2.2, 0, 0, 0.5, 0.5, 0.9, 5.3, 1.7, 2.1, 2.5, 6.9, 7.3, 8)  # by half steps of a move
HANDS = ((0, 2, 4, 5, 7, 9, 11), (0, 3, 5, 6, 7, 10), (0, 2, 3, 5, 7, 8, 10), (0, 2, 4, 7, 9))
TRIES = 4  # tries adrift, of which the one that fits the form least is kept

HABITS = {
    "loud": (62, 98), "spread": (3, 11), "legato": (0.65, 1.0), "walk_centre": (36.5, 43.5), "solo_centre": (44, 55),
    "root": (0.6, 1.0), "tones": (0.7, 1.0), "chromatic": (0.0, 1.0), "leaps": (0.0, 1.0), "strict": (0.4, 1.0), "fancy": (0.4, 1.6),
    "skip": (0.0, 0.14), "ghost": (0.0, 0.1), "push": (0.0, 0.35), "walk_push": (0.0, 0.025), "gap": (0.0, 0.35),
}  # fmt: skip


def charts() -> list[Chart]:
    """Fifteen charts that stand nowhere else."""
    return [
        chart("Homework Blues", "G", "A", {"A": "G7 | C9 | G7 | Dm7 G7b9 | C7 | C#dim7 | G7 | Bm7 E7alt | Am7 | D9 | Bm7b5 E7b9 | Am7 D13"}),
        chart("Pencil Case", "Db", "A", {"A": "Db7 | % | Gb7 | Db7 | Gb9 | Gbm6 | Db7 | Bb7 | Ebm7 | Ab7 | Db7 Gb7 | Db7 Ab7"}),
        chart("Blotting Paper", "Fm", "A", {"A": "Fm6 | Gm7b5 C7b9 | Fm6 | F7b9 | Bbm7 | Eb9 | Fm7 | % | Db7 | C7#5 | Fm6 Db9 | C7alt"}),
        chart("Second Row Left", "F", "AABA", {"A": "Fmaj7 Dm7 | Gm7 C9 | Am7 | D7 | Gm7 | Bbm6 C7 | Am7 Abdim7 | Gm7 C7", "B": "Ebm7 | Ab7 | Dbmaj7 | % | Dm7 | G13 | Gm7 | C7sus C7b9"}),
        chart("Late Bell", "Am", "AABA", {"A": "Am6 | F9 E7 | Am6 | Gm7 C7 | Fmaj7 | Bm7b5 | E7alt | Am6", "B": "Dm7 | G9 | Em7 | A7b9 | Dm7 | Ab9 | Cmaj7 | Bm7b5 E7b9"}),
        chart("Stairs by Twos", "Ab", "AABA", {"A": "Ab6 F7 | Bbm7 Eb7 | Cm7 Bdim7 | Bbm7 Eb9 | Ab7 | Db6 Ddim7 | Ab6/Eb F7 | Bbm7 Eb7", "B": "C9 | % | F13 | % | Bb9 | % | Eb7 | Eb7#5"}),
        chart("Copied Out Twice", "D", "ABAC", {"A": "Dmaj7 | Gmaj7 | F#m7 | B7b9 | Em7 | % | A7sus | A7", "B": "Am7 | D7 | Gmaj7 | C9 | F#m7 | Fdim7 | Em7 | A7", "C": "Gmaj7 | Gm6 | F#m7 | B7alt | Em7 | A13 | D6 B7 | Em7 A7"}),
        chart("A Margin of Red", "B", "ABAC", {"A": "Bmaj7 | G#m7 | C#m7 | F#7", "B": "D#m7 | G#7b9 | C#m7 F#7 | Bmaj7", "C": "Em6 | D#m7 G#7 | C#9 | F#7sus F#7"}),
        chart("Empty Schoolyard", "Gm", "AABA", {"A": "Gm7 | % | % | % | % | % | % | %", "B": "Bbm7 | % | % | % | Dbmaj7 | % | Am7 | %"}),
        chart("Chalk and Window", "E", "ABC", {"A": "Emaj7#11 | % | % | % | Cmaj7 | % | % | %", "B": "F#7sus | % | % | % | Am7 | % | % | %", "C": "Gmaj7 | % | F#m7 | %"}),
        chart("Recess Waltz", "Bb", "AB", {"A": "Bbmaj7 | Gm7 | Cm7 | F7 | Dm7 | G7b9 | Cm7 / F7 | Bb6", "B": "Ebmaj7 | Ab9 | Dm7 | G7 | Cm7 | Ebm6 | Dm7 / Dbdim7 | Cm7 / F7"}, beats=3),
        chart("Three Rulers", "C#m", "AAB", {"A": "C#m7 | A9 | D#m7b5 | G#7b9 | C#m7 | F#9 | Bmaj7 | G#7alt", "B": "F#m7 | B7 | Emaj7 | Amaj7 | D#m7b5 | G#7 | C#m6 | %"}, beats=3),
        chart("Pocket Round", "Eb", "A", {"A": "Ebmaj7 Gb7 | Bmaj7 D7 | Gm7 C7b9 | Fm7 Bb7 | Gm7 Gbm7 | Fm7 E9 | Ebmaj7 Ab7 | Gm7 / C7 /"}),
        chart("Twenty Lines", "C", "ABA", {"A": "Cmaj7 | Ebdim7 | Dm7 | G7 | Em7b5 A7b9 | Dm7 G7 | C6 | Dm7 G9", "B": "Fmaj7 | Bb9 | Em7 A7 | Dm7 / / G7"}),
        chart("Folded Corner", "Gb", "AB", {"A": "Gbmaj7 | Cm7b5 F7b9 | Bbm7 | Ebm7 Ab7 | Abm7 | Db7 | Gb6", "B": "Em7 | A7 | Dmaj7 | Fm7b5 Bb7 | Ebm7 | Ab9 | Abm7 Db7 | Gb6 Eb7b9 | Abm7 | Db7sus"}),
    ]  # fmt: skip


def draw_player(rng: np.random.Generator) -> SimpleNamespace:
    """A player: his seed, by which he learned, and habits from careful to weak."""
    habits = {name: rng.uniform(*ends) for name, ends in HABITS.items()}
    weak = rng.uniform()  # one thing behind most of what goes wrong
    sure, wrong = 0.97 - 0.55 * weak + rng.normal(0, 0.06), 0.1 * weak * rng.uniform()
    return SimpleNamespace(
        seed=int(rng.integers(2**31)), learned={}, sure=float(np.clip(sure, 0.35, 0.98)), wrong=wrong,
        slips=rng.dirichlet((1.6, 0.9, 1.0, 1.1, 1.0, 0.9, 0.6)),
        cells=rng.dirichlet((5, 1.0, 2.8, 1.0, 1.2)), bars=rng.dirichlet((1, 3, 1.5, 2)), **habits,
    )  # fmt: skip


def _tones(of: Chord) -> tuple[int, ...]:
    return tuple(t.pitch_class for t in of.tones) or scale(of)


class _Learned:
    """The chorus that was learned: bars with their notes, in steps from where the bar begins."""

    def __init__(self, form: Form, player, *, soloing: bool) -> None:
        self.rng = np.random.default_rng([player.seed, soloing])
        self.player, self.soloing = player, soloing
        self.low, self.high = (31, 67) if soloing else (28, 55)
        self.centre = player.solo_centre if soloing else player.walk_centre
        spots = [form.at(beat * STEPS_PER_BEAT).spot for beat in range(form.beats)]
        self.chords, self.bars = [spot.chord for spot in spots], []
        begins = [beat for beat, spot in enumerate(spots) if spot.beat == 1 or not beat]
        for begin, end in pairwise([*begins, form.beats]):
            bar = SimpleNamespace(begin=begin, beats=end - begin, notes=[])
            bar.chords, bar.hard = self.chords[begin:end], self.rng.gamma(2, 0.5)
            self.bars.append(bar)
        self.compose(self.etude() if soloing else self.quarters())

    def to(self, note: LineNote, pitch: int) -> LineNote:
        """The note at a pitch, or at its octave that lies on the neck."""
        pitch += 12 * max(0, -((pitch - self.low) // 12))
        return note._replace(pitch=pitch - 12 * max(0, -((self.high - pitch) // 12)))

    def near(self, note: LineNote, pitch: float, classes) -> LineNote:
        """The note at the nearest pitch of these classes."""
        pool = [p for p in range(self.low, self.high + 1) if p % 12 in classes]
        return note._replace(pitch=min(pool, key=lambda p: abs(p - pitch)))

    def quarters(self) -> list[list]:
        """Onset, length, whether a chord tone belongs there, the chord, whether it begins anew."""
        old, bars = [None, *(c.symbol for c in self.chords)], {b.begin for b in self.bars}
        begin = [i in bars or c.symbol != old[i] for i, c in enumerate(self.chords)]
        return [[i * 12, 12, begin[i], c, False] for i, c in enumerate(self.chords)]

    def figure(self, beats: int) -> list[int]:
        return [int(c) for c in self.rng.choice(5, size=beats, p=self.player.cells)]

    def phrases(self) -> tuple[list[int], set[int]]:
        """What each beat of the solo holds, bars on a figure or two, and where phrases begin."""
        rng, cells, first, bars = self.rng, [], set(), [b.beats for b in self.bars]
        while bars:
            count = min(len(bars), 1 + int(rng.choice(4, p=self.player.bars)))
            one, two = self.figure(max(bars)), self.figure(max(bars))
            first.add(len(cells))
            for j in range(count):
                beats = bars.pop(0)
                row = list(one if j % 2 == 0 or rng.random() < 0.35 else two)[:beats]
                if j == 0 and rng.random() < 0.45:
                    row[0] = int(rng.choice((REST, OFF_BEAT, REST)))
                if j and rng.random() < 0.3:
                    row[int(rng.integers(beats))] = self.figure(1)[0]
                if j == count - 1:
                    end = int(rng.integers(1, beats + (count == 1)))
                    row[end - 1] = int(rng.choice((QUARTER, QUARTER, OFF_BEAT, PAIR)))
                    row[end:] = [HELD if rng.random() < 0.3 else REST, *([REST] * beats)]
                cells += row[:beats]
            cells += [REST] * (bars.pop(0) if bars and rng.random() < self.player.gap else 0)
        return cells, first

    def etude(self) -> list[list]:
        """The same of the solo, where a chord may be met early."""
        made, begins, (cells, first) = [], {b.begin for b in self.bars}, self.phrases()
        for beat, (cell, chord) in enumerate(zip(cells, self.chords, strict=True)):
            new, held = beat in first, made and made[-1][0] + made[-1][1] == beat * 12
            if cell == HELD and held:
                made[-1][1] += 12
            for step in STRUCK[cell]:
                early = step == 0 and beat in begins and held and made[-1][0] % 12 == 6
                if early and self.rng.random() < self.player.push:
                    made[-1][1:4] = [made[-1][1] + 6 * (1 + (cell == QUARTER)), True, chord]
                    continue
                fresh = new or not made or made[-1][3].symbol != chord.symbol
                strong = step == 0 and bool({beat, beat - 2} & begins)
                length = 6 if cell == OFF_BEAT else 12 // len(STRUCK[cell])
                made.append([beat * 12 + step, length, fresh or strong, chord, new])
                new = False
        for note, after in zip(made, [*made[1:], None], strict=True):
            note[2] = note[2] or note[1] > 12 or after is None or after[4]
        return made

    def goals(self, now: float, chord: Chord, *, changed: bool) -> list[int]:
        """Pitches that a chord may be met with."""
        rng, tones = self.rng, _tones(chord)
        root = self.player.root * (0.35 if self.soloing else 1 if changed else 0.6)
        if rng.random() < root:
            classes = {tones[0] if chord.bass is None else chord.bass}
        elif self.soloing and rng.random() > self.player.tones:
            classes = set(scale(chord))
        else:
            places = rng.permutation([0, 1, 1, 1, 2, 2, 3, 3, 3])[: 2 if self.soloing else 1]
            classes = {tones[i % len(tones)] for i in places}
        pool = [p for p in range(self.low, self.high + 1) if p % 12 in classes]
        return sorted(pool, key=lambda p: abs(p - now) + abs(p - self.centre) / 4)[:4]

    def fills(self, now: int, goal: int, count: int, chord: Chord) -> list[list[int]]:
        """Ways from one pitch to the next: bodies by the chord or the scale, and their ends."""
        if not count:
            return [[]]
        run = scale(chord)
        ladders = [[p for p in range(22, 74) if p % 12 in c] for c in (_tones(chord), run)]

        def climb(ladder: int, at: int, by: int, some: int) -> list[int]:
            return [p for p in ladders[ladder][::by] if (p - at) * by > 0][:some]

        half, bodies = (count + 1) // 2, []
        for by in (1, -1):
            bodies += [climb(0, now, by, count), climb(1, now, by, count)]
            bodies.append(climb(0, now, by, half))
            bodies[-1] += climb(1, bodies[-1][-1] if bodies[-1] else now, -by, count - half)
            bodies.append([now + 12 * by, *climb(0, now + 12 * by, -by, count - 1)])
        over = goal + 1 + ((goal + 1) % 12 not in run)
        under = goal - 1 - ((goal - 1) % 12 not in run)
        ends = [[], [goal - 1], [goal + 1], [over], [under], [over, goal - 1], [goal - 1, over]]
        ends += [] if self.soloing else [[goal + 7], [goal - 5]]
        ways = [(b, ends[e]) for b in bodies for e in self.rng.integers(len(ends), size=3)]
        found = [b[: max(0, count - len(e))] + e for b, e in ways]
        return [way for way in found if len(way) == count] or [[now] * count]

    def cost(self, now: int, notes: list[int], goal: int, chord: Chord, middle: float) -> float:
        """How awkward a way is to a teacher's ear."""
        player, tones, run = self.player, _tones(chord), scale(chord)
        last, total, before = len(notes), 0.0, now
        for n, pitch in enumerate([*notes, goal]):
            move = abs(pitch - before)
            leap = 5.5 - 6 * player.leaps if move == 12 else AWKWARD[min(move, 12)]
            total += leap + 9 * max(0, move - 12) + 0.012 * (pitch - middle) ** 2
            total += 40 * (not self.low <= pitch <= self.high)
            total += 2.6 * (1 - player.chromatic) * (n < last and pitch % 12 not in run)
            strong = n % 2 == 1 and n < last - (not self.soloing and last > 1)
            total += 3.5 * player.strict * (strong and pitch % 12 not in tones)
            before = pitch
        return total + 1.5 * (last > 0 and abs(goal - notes[-1]) not in {1, 2, 5, 7})

    def compose(self, slots: list[list]) -> None:
        """Pitches for a rhythm, from one chord tone that is aimed at to the next."""
        rng, at, middle, pitches = self.rng, 0, self.centre, []
        now = self.goals(middle, slots[0][3], changed=True)[0]
        while at < len(slots):
            end = next((e for e in range(at + 1, len(slots)) if slots[e][2]), len(slots))
            chord, following = slots[at][3], slots[end % len(slots)]
            if following[4] or rng.random() < 0.12:  # a phrase begins; or the line drifts
                middle = self.centre + rng.normal(0, 4 if self.soloing else 2.5)
            goals = self.goals(now, following[3], changed=following[3].symbol != chord.symbol)
            goals = pitches[:1] if end == len(slots) and pitches else goals
            ways = [(w, g) for g in goals for w in self.fills(now, g, end - at - 1, chord)]
            prices = [self.cost(now, way, goal, chord, middle) for way, goal in ways]
            prices += rng.exponential(self.player.fancy, len(ways))
            way, goal = ways[int(np.argmin(prices))]
            pitches += [now, *way]
            at, now = end, goal
        for (step, length, *_), pitch in zip(slots, pitches, strict=True):
            bar = next(b for b in reversed(self.bars) if b.begin * 12 <= step)
            on = step - bar.begin * 12
            accent = 3 * (on // 12 % 2) if not self.soloing else 4 * (on % 12 == 6) - 2
            note = LineNote(on, on + length, pitch, int(self.player.loud + accent))
            bar.notes.append(self.to(note, pitch))


def _learned(form: Form, player, *, soloing: bool) -> _Learned:
    if (key := (form.chart.title, soloing)) not in player.learned:
        player.learned[key] = _Learned(form, player, soloing=soloing)
    return player.learned[key]


def _like_bar(line: _Learned, own, rng) -> list[LineNote]:
    """Another bar for this one: of the same kinds of chord, put where this one stands."""
    found = [(own, 0)]
    for bar in line.bars:
        pairs = list(zip(bar.chords, own.chords, strict=False))
        if bar.beats == own.beats and bar is not own and all(a.kind == b.kind for a, b in pairs):
            shift = (own.chords[0].root or 0) - (bar.chords[0].root or 0)
            found.append((bar, (shift + 6) % 12 - 6))
    bar, shift = found[-int(rng.integers(1, max(2, len(found))))]
    return [line.to(n, n.pitch + shift) for n in bar.notes]


def _slipped(line: _Learned, own, kind: str, rng) -> list[LineNote]:
    """The bar as memory gives it this time."""
    notes = list(_like_bar(line, own, rng) if kind == "like bar" else own.notes)
    if len(notes) < 2:
        return notes
    pick, by = int(rng.integers(len(notes) - 1)), int(rng.choice((6, 6, 12)))
    after, fifths = range(pick, len(notes)), 2 * (rng.random() < 0.4)
    tones = [_tones(own.chords[min(n.step // 12, own.beats - 1)]) for n in notes]
    if kind == "varied":
        for n in after:
            run = scale(own.chords[min(notes[n].step // 12, own.beats - 1)])
            classes = tones[n] if not n or rng.random() < 0.6 else run
            notes[n] = line.near(notes[n], notes[n].pitch + rng.normal(0, 4), classes)
    elif kind == "roots":
        roots = (t[fifths * (n % 2) % len(t)] for n, t in enumerate(tones))
        notes = [line.near(n, n.pitch, (r,)) for n, r in zip(notes, roots, strict=True)]
        notes = [n for n in notes if n.step % 12 == 0]
    elif kind == "changed round":
        one, two = notes[pick : pick + 2]
        notes[pick : pick + 2] = [one._replace(pitch=two.pitch), two._replace(pitch=one.pitch)]
    elif kind == "octave":
        up = 12 if all(notes[n].pitch + 12 <= line.high for n in after) else -12
        notes[pick:] = [line.to(notes[n], notes[n].pitch + up) for n in after]
    elif kind == "late":  # one note, or all that follow
        till = pick + 1 if rng.random() < 0.5 else len(notes)
        late = [_later(n, by) for n in notes[pick:till]]
        notes[pick:] = late + [n for n in notes[till:] if n.step > late[-1].step]
        notes = [n for n in notes if n.step < own.beats * 12]
    elif kind == "left out":
        notes = notes[: int(rng.choice((0, 0, 1, 2)))]
    return notes


def _later(note: LineNote, by: int) -> LineNote:
    return note._replace(step=note.step + by, end_step=note.end_step + by)


def _sounded(line: _Learned, notes, start: int, stop: int, rng) -> list[LineNote]:
    """The notes as the hands play them, within the stretch."""
    made, player, soloing = [], line.player, line.soloing
    for note in notes:
        step, length, loud = note.step, note.end_step - note.step, rng.normal(0, player.spread)
        wrong = int(rng.choice((-2, -1, 1, 2))) if rng.random() < player.wrong else 0
        ghost = rng.random() < player.ghost
        loud += note.velocity * (0.35 if ghost and soloing and length == 6 and step % 12 else 1)
        if not soloing and step % 12 == 0 and rng.random() < player.walk_push:
            step, length = step - 6, length + 6
        end = step + max(2, round(length * min(1, player.legato + rng.normal(0, 0.05))))
        whole = LineNote(step, end, note.pitch, int(np.clip(loud, 18, 122)))
        made.append(line.to(whole, note.pitch + wrong))
        if not soloing and length == 12 and (ghost or rng.random() < player.skip):
            loud *= 0.35 if ghost else 0.85
            extra = made[-1]._replace(step=step + 6, velocity=int(np.clip(loud, 18, 122)))
            made.append(extra._replace(end_step=step + (8 if ghost else 11)))
    kept = list({n.step: n for n in sorted(made) if start <= n.step / 12 < stop}.values())
    ends = [*(n.step for n in kept[1:]), stop * 12]
    return [n._replace(end_step=min(n.end_step, e)) for n, e in zip(kept, ends, strict=False)]


def _play(form: Form, start: int, stop: int, rng, player, *, soloing: bool) -> list[LineNote]:
    """The learned chorus over a stretch, with this time's slips."""
    line = _learned(form, player, soloing=soloing)
    made, shaken, kind = [], False, ""
    for chorus in range(start // form.beats, (stop - 1) // form.beats + 1):
        for bar in line.bars:
            at, out = chorus * form.beats + bar.begin, kind == "left out"
            if at + bar.beats <= start or at >= stop:
                continue
            shaken = rng.random() < (1 - player.sure) * bar.hard * (1.7 if shaken else 1)
            kind = str(rng.choice(SLIPS, p=player.slips)) if shaken else ""
            notes = _slipped(line, bar, kind, rng)
            if out and rng.random() < 0.4:  # comes back in after the one
                notes = [n for n in notes if n.step >= 12]
            made += [_later(n, at * 12) for n in notes]
    return _sounded(line, made, start, stop, rng)


def walk(form: Form, start: int, stop: int, rng: np.random.Generator, player) -> list[LineNote]:
    """Walking over the beats from ``start`` to ``stop`` of a form."""
    return _play(form, start, stop, rng, player, soloing=False)


def solo(form: Form, start: int, stop: int, rng: np.random.Generator, player) -> list[LineNote]:
    """A solo over the beats from ``start`` to ``stop`` of a form."""
    return _play(form, start, stop, rng, player, soloing=True)


def _made_up(line: _Learned, notes: list[LineNote], rng) -> list[LineNote]:
    """The notes with other pitches, by a hand shape that heeds no chord."""
    made, now, up, hand = [], int(line.centre), 1, set()
    for note in notes:
        if not hand or rng.random() < 0.07:
            key, shape = int(rng.integers(12)), HANDS[int(rng.integers(len(HANDS)))]
            hand = {(key + d) % 12 for d in shape}
        up = -up if rng.random() < 0.25 else up
        up = 1 if now < line.low + 5 else -1 if now > line.high - 6 else up
        made.append(line.near(note, now + up * rng.integers(1, 5), hand))
        now = made[-1].pitch
    return made


def _misplaced(form: Form, start: int, stop: int, rng, line: _Learned, way: str) -> list[LineNote]:
    """The learned line where it does not belong."""
    made, beat, shift, total = [], start, 0, form.beats
    whole = [_later(n, (b.begin + t) * 12) for t in (0, total) for b in line.bars for n in b.notes]
    while beat < stop:
        bar = line.bars[int(rng.integers(len(line.bars)))]
        begin, beats, times = bar.begin, bar.beats, 1
        if way == "another key":  # and now and then another one yet
            begin, beats = beat % total, int(rng.integers(4, 9)) * bar.beats
            shift = int(rng.choice((-5, -4, -2, -1, 1, 2, 3, 4, 6)))
        elif way in {"shuffled bars", "made up"}:
            shift = int(rng.choice((-4, -1, 1, 2, 3, 5))) if rng.random() < 0.35 else 0
        elif way == "one bar round":
            times, shift = int(rng.integers(4, 13)), int(rng.choice((0, 0, 0, -1, 1, 3)))
            beats -= rng.random() < 0.3
        else:
            begin, beats = int(rng.integers(total)), int(rng.integers(2, 6))
        part = [n for n in whole if begin * 12 <= n.step < (begin + beats) * 12]
        for _ in range(times):
            found = [_later(n, (beat - begin) * 12) for n in part if rng.random() < 0.95]
            made += [line.to(n, n.pitch + shift) for n in found]
            beat += beats + (way == "hopping about" and rng.random() < 0.25)  # a beat to think
    return made


def _fits(form: Form, line: list[LineNote]) -> np.ndarray:
    """By place of the form, the share of the notes on beats that are tones of its chords."""
    chords = [_tones(form.chord(beat * STEPS_PER_BEAT)) for beat in range(form.beats)]
    table = np.array([[pc in of for pc in range(12)] for of in chords])
    on = np.array([(n.step // 12, n.pitch % 12) for n in line if n.step % 12 == 0]).reshape(-1, 2)
    places = (on[:, :1] + np.arange(form.beats)) % form.beats
    return table[places, on[:, 1:]].mean(axis=0) if len(on) else np.ones(form.beats)


def adrift(form: Form, start: int, stop: int, rng, player, way: str, play) -> list[LineNote]:
    """A stretch that fits the form nowhere, walking or solo as ``play`` is."""
    line = _learned(form, player, soloing=play is solo or (play is not walk and rng.random() < 0.5))
    tries = []
    for _ in range(TRIES):
        notes = _misplaced(form, start, stop, rng, line, way)
        notes = _made_up(line, notes, rng) if way == "made up" else notes
        tries.append([n for n in notes if n.step < stop * 12])
    best = min(tries, key=lambda notes: _fits(form, notes).max())
    return _sounded(line, best, start, stop, rng)
