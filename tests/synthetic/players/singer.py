"""A player who hears melodies: every chart has a tune for it, and all that it plays sings.

The tune of a chart is composed by rules (held chord tones, sequences of motifs, cadences, an arch).
A solo is a paraphrase of it, ornaments, fills, eighths around its frame, call and response, or an
own song. Walking is scalar lines over several bars in arcs, chord tones on the strong beats, roots
at the tops of sections; or in two. E1 = 28 to 55 walking, to 67 in a solo; ghost notes are soft.
"""

# ruff: noqa: PLR0917 -- a generator draws from many shares, and says so plainly

from __future__ import annotations

import math
from collections import namedtuple
from itertools import pairwise
from types import SimpleNamespace as Player
from zlib import crc32

import numpy as np

from linecheck.music.form import Form
from linecheck.terms import STEPS_PER_BEAT as BEAT
from tests.synthetic.charts import chart, pitch_class, scale
from tests.synthetic.lines import LineNote

ADRIFT_WAYS = ("another song", "humming", "groping", "patchwork", "sliding key", "backwards")
LOW, TOP_WALKING, TOP_SOLO = 28, 55, 67
Rng, Line = np.random.Generator, list[LineNote]
Tone = namedtuple("Tone", "step end pitch")  # noqa: PYI024 -- as it is sung, in steps
TREATMENTS = ("paraphrase", "frame", "call", "answer", "own song", "lay out")
# Two beats of rhythm as (from, length), the plain ones first.
CELLS = (
    ((0, 24),), ((0, 12), (12, 12)), ((0, 18), (18, 6)), ((0, 12), (12, 6), (18, 6)), ((6, 18),),
    ((0, 6), (6, 12), (18, 6)), ((0, 8), (8, 8), (16, 8)), ((6, 6), (12, 6), (18, 6)),
    ((0, 6), (6, 6), (12, 6), (18, 6)), ((0, 4), (4, 4), (8, 4), (12, 12)),
)  # fmt: skip
TUNES = """
Copper Kettle Lane; Eb; AABA; 4; A: Ebmaj7 C7b9|Fm7 Bb7|Gm7 Gbdim7|Fm7 Bb7|Bbm7 Eb7|Abmaj7 Db9|
  Gm7 C7|Fm7 Bb7; B: Am7b5|D7b9|Gm7|C7|Fm7|Db7|Ebmaj7 Cm7|Fm7 Bb7
The Thimble Seller; F; ABAC; 4; A: Fmaj7|%|Gm7|C7|Am7|D7b9|Gm7|C7; B: Cm7|F7|Bbmaj7|Bbm6|Am7|
  Abdim7|Gm7|C7; C: Bbmaj7|Bdim7|Fmaj7/C|D7alt|Gm7|C7b9|F6 D7|Gm7 C7
Ninepin Blues; G; A; 4; A: G7|C9|G7|Dm7 G7|C7|C#dim7|G7|E7b9|Am7|D7|G7 E7|Am7 D7
Moth at the Window; Cm; AABA; 4; A: Cm7|Am7b5|Dm7b5|G7b9|Cm7|Fm7 Bb7|Ebmaj7 Abmaj7|Dm7b5 G7b9;
  B: Fm7|Bb7|Ebmaj7|%|Am7b5|D7b9|Dm7b5|G7alt
Ropewalk Waltz; Bb; AB; 3; A: Bbmaj7|Eb9|Bbmaj7|Dm7b5 / G7b9|Cm7|%|F7sus|F7; B: Ebmaj7|Ebm6|Dm7|
  G7|Cm7|F7|Dm7 / Dbdim7|Cm7 / F7
Tin Whistle Weather; C; AABC; 4; A: Am7|D7|Dm7|G7|Cmaj7|Fmaj7|Bm7b5|E7b9; B: Am7|Abm7|Gm7|C7|
  Fmaj7|Bb9|Cmaj7|A7; C: F#m7b5|Fm6|Em7|A7b9|Dm7|G7|C6 A7|Dm7 G7
Half a Hedgerow; Dm; AAB; 4; A: Dm7|%|Gm7|Dm7|Bb7|A7alt|Dm7|A7b9; B: Fmaj7|C7|Fmaj7|Eb7|Dm7|
  Bb7 A7|Dm7|%
Dovecote; Ab; AABA; 4; A: Abmaj7 F7|Bbm7 Eb7|Cm7 F7|Bbm7 Eb7|Ab7|Dbmaj7 Gb9|Cm7 F7|Bbm7 Eb7;
  B: Emaj7|%|F#m7|B7|Emaj7|C#m7|Bbm7|Eb7
Lowland Mirror; Em; AB; 4; A: Em7|%|%|%|Cmaj7#11|%|Em7|%; B: Gm7|%|%|%|F#m7b5|B7alt|Em7|%
Buttermilk Step; Bb; AABA; 4; A: Bb6 Gm7|Cm7 F7|Bb6 G7|Cm7 F7|Bb7|Eb7 Edim7|Bb6/F G7|Cm7 F7;
  B: Am7|D7|Dm7|G7|Gm7|C7|Cm7|F7
Seven Letters Home; D; ABCD; 4; A: Dmaj7|C#m7b5 F#7b9|Bm7|Am7 D7; B: Gmaj7|C9|F#m7|B7b9; C: Em7|
  Gm6|Dmaj7|F7; D: Bbmaj7|Em7 A7|D6 B7|Em7 A7
Quarry Pond; Fm; AB; 5; A: Fm7|Dbmaj7|Gm7b5|C7b9|Fm7|Eb7; B: Abmaj7|Dbmaj7|Gm7b5|C7alt
A Loaf for the Lodger; A; AB; 4; A: A6|F#7|Bm7|E7|C#m7|Cdim7|Bm7|E7; B: A7|Dmaj7|Dm6|A6/E F#7|B7|
  Bm7 E7|A6 F#m7|Bm7 E7
Chalk on the Sill; Gb; AB; 4; A: Gbmaj7|Ebm7|Abm7|Db7|Bbm7b5|Eb7b9|Abm7|Db7sus Db7; B: Bmaj7|E9|
  Bbm7|Eb7|Amaj7|Abm7 Db7|Gbmaj7|Abm7 Db7
Barley Minor; Gm; A; 4; A: Gm6|D7alt|Gm6|G7b9|Cm7|F7|Bbmaj7|Ebmaj7|Am7b5|D7b9|Gm6 Eb7|Am7b5 D7
"""


def charts() -> list:
    """Fifteen charts that stand nowhere else."""
    tunes = [text.split("; ") for text in TUNES.replace("\n  ", " ").strip().splitlines()]
    return [chart(*t[:3], dict(p.split(": ") for p in t[4:]), beats=int(t[3])) for t in tunes]


def draw_player(rng: Rng) -> Player:
    """Habits: from a beginner who holds on to roots to a strong one who sings all the time."""
    u, craft, low = rng.uniform, rng.beta(1.2, 1.0), int(rng.integers(LOW, 32))
    liked = (0.5 + craft, 0.2 + 1.2 * craft, 0.6, 0.3, 0.8, 0.35)
    return Player(
        learnt=int(rng.integers(9)),  # which version of the tunes is known
        voice=int(rng.integers(43, 56)), low=low,  # the middle of what it sings, the lowest walked
        high=min(TOP_WALKING, low + int(rng.integers(15, 20)) + int(7 * craft)),
        top_root=u(0.75, 1.0),  # at the top of a section; then at a change, over the same chord
        root_first=min(0.97, max(0.2, 0.95 - 0.6 * craft + u(-0.15, 0.15))), loose=u(0, 0.5),
        root_again=u(0.1, 0.6) * (1 - 0.6 * craft), skip=u(0, 0.25), slur=u(0, 0.08),
        song=u(0, 4), arc=u(1.2, 5.0),  # the tune's tones liked in walking; bars up or down
        stepwise=min(1.0, 0.35 + 0.6 * craft + u(-0.15, 0.15)), chromatic=u(0, 0.6) * craft,
        two_feel=float(rng.choice([0.0, u(0, 0.3), u(0.2, 0.8)])),
        hang=float(rng.choice([0.0, 0.0, u(0, 0.15)])),  # a change heard late
        wrong=float(rng.choice([0.0, u(0, 0.03), u(0, 0.12) * (1 - 0.6 * craft)])),
        treatments=np.array([w * rng.gamma(1.0) + 0.03 for w in liked]), busy=u(0.05, 1.0),
        ornament=u(0, 0.6) * (0.3 + craft), fill=u(0, 0.9) * (0.3 + 0.7 * craft),
        early=u(0, 0.3), late=u(0, 0.3), leave_out=u(0, 0.35), aim=u(0.1, 1.0),
        key_ear=float(rng.choice([0.0, 0.0, u(0, 0.4)])),  # phrases in the key, whatever the chord
    )  # fmt: skip


def _near(pool: tuple[int, ...], to: float, low: int, high: int) -> int:
    return min((p for p in range(low, high + 1) if p % 12 in pool), key=lambda p: abs(p - to))


def _move(run: tuple[int, ...], pitch: int, moves: int) -> int:
    """So many steps along a scale, up or down."""
    way = 1 if moves > 0 else -1
    for _ in range(abs(moves)):
        pitch += way
        while pitch % 12 not in run:
            pitch += way
    return pitch


def _key(form: Form) -> tuple[int, ...]:
    steps = (0, 2, 3, 5, 7, 8, 10) if form.chart.key.minor else (0, 2, 4, 5, 7, 9, 11)
    return tuple((pitch_class(form.chart.key.tonic) + i) % 12 for i in steps)


def _bars(form: Form, start: int, stop: int) -> list[tuple[int, int]]:
    """Where bars begin and how many beats they have; the first may begin before ``start``."""
    made = []
    while start < stop:
        made.append((form.bar_begins(start), form.bar(start).meter.beats))
        start = made[-1][0] + made[-1][1] * BEAT
    return made


def _tidy(line: Line, start: int, stop: int, top: int) -> Line:
    """In order, one at a time, inside the stretch and the range."""
    notes = list({n.step: n for n in sorted(line) if start * BEAT <= n.step < stop * BEAT}.values())
    made = []
    for note, after in pairwise([*notes, LineNote(stop * BEAT, 0, 0, 0)]):
        pitch = note.pitch
        while not LOW <= pitch <= top:
            pitch += 12 if pitch < LOW else -12
        end = max(note.step + 1, min(note.end_step, after.step))
        made.append(LineNote(note.step, end, pitch, note.velocity))
    return made


class _Ear:
    """What a player hears over a form."""

    def __init__(self, form: Form, rng: Rng, player: Player) -> None:
        self.form, self.rng, self.player = form, rng, player
        self.low, self.high = max(LOW, player.voice - 15), min(TOP_SOLO, player.voice + 14)
        self.deaf = False  # to the chords: a phrase in the key
        self.tune = self._tune()

    def pool(self, step: int, held: bool = False) -> tuple[int, ...]:
        """The tones of the chord where one is held, else its scale."""
        found = self.form.chord(max(0, step))
        if not found.tones or self.deaf:
            return _key(self.form)
        return tuple(t.pitch_class for t in found.tones) if held else scale(found)

    def strong(self, step: int) -> bool:
        """Beats one and three, and where a chord begins."""
        beats, inside = self.form.bar(step).meter.beats, step - self.form.bar_begins(step)
        half = inside == (beats + 1) // 2 * BEAT and beats > 3
        return step % BEAT == 0 and (half or self.form.is_landing(step))

    def sing(self, bars: list[tuple[int, int]], busy: float, rng: Rng) -> list[Tone]:
        """A melody: two motifs in sequence, a held cadence to each phrase, an arch over it all."""
        voice, now, sung = self.player.voice, self.player.voice, []
        long = 4 if len(bars) % 4 == 0 and rng.random() < 0.6 else 2
        most = max(beats for _, beats in bars)
        cells = np.minimum(9, rng.exponential(0.7 + 6 * busy, (2, most // 2 + 1))).astype(int)
        motifs = [[(24 * i + at, n) for i, c in enumerate(r) for at, n in CELLS[c]] for r in cells]
        moves = rng.choice([-3, -2, -1, -1, 0, 1, 1, 2, 4], size=(2, 5 * most))
        peak, plain = rng.uniform(0.35, 0.85), rng.uniform(0.4, 1)  # plain: no tensions are held
        for index, (begins, beats) in enumerate(bars):
            full, rhythm = beats * BEAT, motifs[index % long % 2]
            if index % long == long - 1:  # the cadence, and perhaps a pick-up
                rhythm = [(0, full - int(rng.choice([6, 12, 24]))), (full - 6, 6)]
                rhythm = rhythm[: 1 + (rng.random() < 0.4)]
            lift = voice + 4 - 9 * abs(index / len(bars) - peak)
            inside = [(at, length) for at, length in rhythm if at < full]
            for (at, length), move in zip(inside, moves[index % long % 2], strict=False):
                step = begins + at
                heard = step + 6 if at % BEAT == 6 and length > 6 else step  # pushed
                want = _move(self.pool(heard), now, int(move))
                want += 3 * int(np.sign(lift - want)) * (abs(want - lift) > 5)
                held = (length >= 18 or self.strong(heard)) and rng.random() < plain
                pool = self.pool(heard, held)[: 2 if index == len(bars) - 1 and at == 0 else 12]
                now = _near(pool, want + rng.uniform(-0.5, 0.5), voice - 11, voice + 11)
                sung.append(Tone(step, step + min(length, full - at), now))
        return sung

    def _tune(self) -> list[Tone]:
        """The tune of one chorus: what has one section name has one melody."""
        form, known, tune, bars = self.form, {}, [], _bars(self.form, 0, self.form.steps)
        rng = np.random.default_rng([crc32(form.chart.title.encode()), self.player.learnt])
        for part in form.chart.sections:
            own = bars[part.bar - 1 : part.bar - 1 + part.bars]
            if part.name not in known:
                known[part.name] = own[0][0], self.sing(own, rng.uniform(0, 0.6), rng)
            first, melody = known[part.name]
            tune += [Tone(s + own[0][0] - first, e + own[0][0] - first, p) for s, e, p in melody]
        return tune

    def goals(self, beats: list[int]) -> list[int]:
        """Pitches for the strong beats: chord tones in arcs, roots where they belong."""
        form, rng, player, goals, before = self.form, self.rng, self.player, [], -1
        low, high, way, left = player.low, player.high, 1, rng.exponential(player.arc)
        tune, now = {t.step: t.pitch % 12 for t in self.tune}, low + int(rng.integers(2, 11))
        for beat in beats:
            step = beat * BEAT
            chord, bar = form.chord(step), form.bar(step)
            left -= (beat - before) / bar.meter.beats if goals else 0
            if left <= 0 or not low + 3 < now < high - 3:
                way = 1 if now <= low + 3 else -1 if now >= high - 3 else -way
                left = player.arc * rng.uniform(0.5, 1.5)
            changed = not goals or form.chord(before * BEAT) != chord
            top = bar.opens_section and form.bar_begins(step) == step
            share = player.root_first if changed else player.root_again
            late = not top and changed and step and rng.random() < player.hang
            held, before = rng.random() >= player.loose, beat  # loose: any tone of the scale
            pool = self.pool(step - BEAT if late else step, held)
            if not late and chord.tones and rng.random() < (player.top_root if top else share):
                pool = (chord.bass,)
            want, liked = now + way * rng.uniform(1.5, 5), tune.get(step % form.steps, -1)
            options = np.array([p for p in range(low, high + 1) if p % 12 in pool])
            costs = abs(options - want) + 2.5 * (options == now) + rng.uniform(0, 2, len(options))
            now = int(options[np.argmin(costs - player.song * (options % 12 == liked))])
            goals.append(now)
        return goals

    def between(self, step: int, here: int, goal: int, count: int) -> list[int]:
        """Notes that lead from one strong beat to the next."""
        player, rng, run = self.player, self.rng, self.pool(step)
        way = 1 if goal > here or (goal == here and rng.random() < 0.5) else -1
        if rng.random() > player.stepwise:  # a plain hand: the tone again, or others of the chord
            reach = 0 if rng.random() < 0.4 else 8
            wants = here + rng.uniform(-reach, reach, count)
            made = [_near(self.pool(step, held=True), w, player.low, player.high) for w in wants]
        else:
            made = [p for p in range(here + way, goal, way) if p % 12 in run]
            if len(made) > count:  # too far: the leap first or last
                made = made[len(made) - count :] if rng.random() < 0.65 else made[:count]
            while len(made) < count:  # too near: away and back, or round the goal
                away = rng.random() < 0.4
                tone = _move(run, here, -way) if away else _move(run, goal, way)
                made.insert(0 if away else len(made), tone)
        if made and rng.random() < player.chromatic:
            made[-1] = goal - 1 if made[-1] < goal else goal + 1
        return made

    def struck(self, step: int, end: int, pitch: int, after: int) -> Line:
        """A walking note as it is played: plain, with a skip or a ghost, or run into the next."""
        rng, skip = self.rng, self.player.skip
        pitch += int(rng.choice([-2, -1, 1, 2])) * (rng.random() < self.player.wrong)
        note = LineNote(step, end - int(rng.integers(0, 3)), pitch, int(rng.integers(72, 100)))
        off, roll = end - int(rng.choice([4, 6])), rng.random()
        if roll > skip:
            return [note]
        if roll < 0.6 * skip:
            return [note, LineNote(off, end - 1, pitch, note.velocity // 3)]
        passing = pitch + (1 if after > pitch else -1) * int(rng.choice([1, 2]))
        return [note, LineNote(off, end, passing, note.velocity - 8)]

    def bent(self, step: int, want: float, *, held: bool) -> int:
        """The tone nearest to what is wanted, of the chord where it matters."""
        held = held and self.rng.random() < self.player.aim
        return _near(self.pool(step, held), want, self.low, self.high)

    def lead(self, start: int, stop: int, here: int, goal: int) -> list[Tone]:
        """Eighths that sing from one tone to another, straight or in a bow."""
        count, made = (stop - start) // 6, []
        bow = float(self.rng.choice([0, 0, 4, -4])) * min(count, 6) / 4
        for i in range(count):
            at, part = start + 6 * i, (i + 1) / (count + 1)
            want = here + (goal - here) * part + bow * math.sin(math.pi * part)
            pitch = self.bent(at, want, held=self.strong(at))
            if pitch == (made[-1].pitch if made else here):
                pitch = _move(self.pool(at), pitch, int(self.rng.choice([-1, 1])))
            if i == count - 1 and self.rng.random() < self.player.chromatic:
                pitch = goal + (1 if pitch > goal else -1)
            made.append(Tone(at, at + 6, pitch))
        return made

    def ornament(self, tone: Tone) -> list[Tone]:
        """A tone with a neighbour, a turn, a slide or said twice."""
        (step, end, pitch), kind = tone, int(self.rng.integers(4))
        other = _move(self.pool(step), pitch, int(self.rng.choice([-1, 1])))
        if kind == 0:
            return [Tone(step - 3, step, pitch - 1), tone]
        told = [(other, pitch, 2 * pitch - other), (pitch, other), (pitch,)][kind - 1]
        unit = 4 if kind == 1 else 6
        made = [Tone(step + unit * i, step + unit * (i + 1), p) for i, p in enumerate(told)]
        return [*made, Tone(made[-1].end, max(end, made[-1].end + 6), pitch)]

    def paraphrase(self, sung: list[Tone], stop: int) -> list[Tone]:
        """The tune as this player tells it."""
        player, chance, made = self.player, self.rng.random, []
        for tone, after in pairwise([*sung, Tone(stop, stop, player.voice)]):
            step, end, roll, long = tone.step, tone.end, chance(), tone.end - tone.step >= 12
            if chance() < player.leave_out * (0.5 if long else 1):
                continue
            if step % BEAT == 0:
                step += -6 if roll < player.early else 6 if roll > 1 - player.late else 0
            pitch = self.bent(tone.step, tone.pitch, held=self.strong(tone.step))
            made.append(Tone(step, max(end, step + 6), pitch))
            if long and chance() < player.ornament:
                made[-1:] = self.ornament(made[-1])
            free = -(-max(tone.step + 12, end - 12) // 6) * 6
            if after.step - free >= 18 and chance() < player.fill:
                made = [t for t in made if t.step < free]
                made += self.lead(free, after.step, pitch, after.pitch)
        return made

    def frame(self, sung: list[Tone], start: int, stop: int) -> list[Tone]:
        """The tune's tones on strong beats, run through in eighths."""
        bones, made, beats = [], [], [s for s in range(start, stop, BEAT) if self.strong(s)]
        for step in beats[:: int(self.rng.choice([1, 2, 2, 3]))]:
            near = min(sung, key=lambda t, s=step: abs(t.step - s), default=None)
            pitch = self.bent(step, near.pitch if near else self.player.voice, held=True)
            bones.append(Tone(step, step + 6, pitch))
        for here, there in pairwise([*bones, Tone(stop, stop, self.player.voice)]):
            made += [here, *self.lead(here.step + 6, there.step, here.pitch, there.pitch)]
        return [t for t in made if self.rng.random() > 0.3 * (1 - self.player.busy)]

    def phrase(self, bars: list[tuple[int, int]]) -> list[Tone]:
        """Some bars, treated in one way."""
        rng, player, steps, weights = self.rng, self.player, self.form.steps, self.player.treatments
        start, half, stop = bars[0][0], bars[len(bars) // 2][0], bars[-1][0] + bars[-1][1] * BEAT
        turns = range(start // steps * steps, stop, steps)
        sung = [Tone(s + t, e + t, p) for t in turns for s, e, p in self.tune]
        sung = [t for t in sung if start <= t.step < stop]
        name = str(rng.choice(TREATMENTS, p=weights / weights.sum()))
        self.deaf = rng.random() < player.key_ear
        if name == "paraphrase":
            return self.paraphrase(sung, stop)
        if name in ("frame", "answer"):  # to answer, the tune is first only thought
            wait = half - start + int(rng.integers(0, 3)) * BEAT if name == "answer" else 0
            return self.frame(sung, start + wait, stop)
        if name == "call":  # said again later, turned to the chords there
            call = self.paraphrase([t for t in sung if t.step < half - BEAT], half - BEAT)
            lift, later = int(rng.choice([-5, -3, -2, 0, 2, 3, 5])), half - start
            again = [(t.step + later, t.end + later, t.pitch + lift) for t in call]
            return call + [Tone(s, e, self.bent(s, p, held=self.strong(s))) for s, e, p in again]
        return self.sing(bars, player.busy, rng) if name == "own song" else []


def walk(form: Form, start: int, stop: int, rng: Rng, player: Player) -> Line:
    """Walking over the beats from ``start`` to ``stop`` of a form."""
    ear = _Ear(form, rng, player)
    strong = [b for b in range(start, stop + 1) if b in (start, stop) or ear.strong(b * BEAT)]
    goals, line, two, until = ear.goals(strong), [], False, start
    for (here, there), (pitch, goal) in zip(pairwise(strong), pairwise(goals), strict=True):
        if here >= until:
            two, until = rng.random() < player.two_feel, here + int(rng.integers(3, 9)) * 4
        path = [pitch, *ear.between(here * BEAT, pitch, goal, there - here - 1)]
        ends = [*range(here + 1, there + 1)]
        if two and len(path) > 1:  # one long note, now and then the last beat leads on
            lead = rng.random() < 0.25
            path, ends = ([pitch, path[-1]], ends[-2:]) if lead else ([pitch], [there])
        for i, (end, (note, after)) in enumerate(zip(ends, pairwise([*path, goal]), strict=True)):
            if not i or rng.random() >= player.slur:
                line += ear.struck((ends[i - 1] if i else here) * BEAT, end * BEAT, note, after)
    return _tidy(line, start, stop, TOP_WALKING)


def solo(form: Form, start: int, stop: int, rng: Rng, player: Player) -> Line:
    """A solo over the beats from ``start`` to ``stop`` of a form."""
    ear, line, bars = _Ear(form, rng, player), [], _bars(form, start * BEAT, stop * BEAT)
    while bars:
        count = int(rng.choice([2, 2, 4, 4, 8]))
        for step, end, sung in ear.phrase(bars[:count]):
            pitch = sung + int(rng.choice([-1, 1])) * (rng.random() < player.wrong)
            loud = int(rng.integers(66, 92)) + max(-8, min(12, pitch - player.voice))
            line.append(LineNote(step, end, pitch, loud))
        bars = bars[count:]
    return _tidy(line, start, stop, ear.high)


def adrift(form: Form, start: int, stop: int, rng: Rng, player: Player, way: str, play) -> Line:
    """A stretch that fits the form at no place, in the manner of ``play``."""
    top, key, line, at = TOP_WALKING if play is walk else TOP_SOLO, _key(form), [], start
    source, by, bar = form, 0, form.chart.meter.beats
    if way == "another song":
        source = Form([c for c in charts() if c.title != form.chart.title][int(rng.integers(14))])
        by = pitch_class(form.chart.key.tonic) - pitch_class(source.chart.key.tonic)
        by = (by + int(rng.choice([0, 0, 5, 7])) + 6) % 12 - 6
    while at < stop and way in ("another song", "patchwork", "sliding key"):
        end = stop if source is not form else min(stop, at + int(rng.integers(bar, 2 * bar + 2)))
        place = at if way == "sliding key" else int(rng.integers(source.beats))
        by = int(rng.choice([-4, -3, -2, -1, 1, 2, 3, 6])) if way == "sliding key" else by
        for note in play(source, place, place + end - at, rng, player):
            step, last = (s + (at - place) * BEAT for s in note[:2])
            line.append(LineNote(step, last, note.pitch + by, note.velocity))
        at = end
    base = play(form, start, stop, rng, player) if not line else []
    now = middle = (player.low + player.high) // 2 + (0 if play is walk else 8)
    for note, mirrored in zip(base, base[::-1], strict=True):
        if way == "backwards":
            now = mirrored.pitch
        elif way == "humming":
            now = _move(key, now, int(rng.choice([-3, -2, -1, -1, 1, 1, 2, 3])))
        else:  # groping
            now += int(rng.choice([-2, -1, -1, 0, 1, 1, 2]))
        now += -12 if now > middle + 11 else 12 if now < middle - 11 else 0
        line.append(note._replace(pitch=now))
    return _tidy(line, start, stop, top)
