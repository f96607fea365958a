"""A fluent, schooled player: every note is on its way to one that stands over a change.

Walking, the first note under the next chord is chosen first (most often its root), and of a few
ways there the smoothest is taken; the line keeps its direction until a turning point of the
register. Soloing, phrases of one to four bars run in eighths from chord tone to chord tone and
into a third or seventh over the bar line. Pitches: 28 to 55 walking, to 67 soloing.
"""

# ruff: noqa: PLR0917 -- a line is drawn from many shares

from __future__ import annotations

from bisect import bisect
from itertools import accumulate, cycle, pairwise
from types import SimpleNamespace
from typing import TYPE_CHECKING, NamedTuple

from linecheck.music.form import Form
from linecheck.terms import STEPS_PER_BEAT
from tests.synthetic.charts import ALTERED, MAJOR, NAMES, chart, pitch_class, scale
from tests.synthetic.lines import LineNote

if TYPE_CHECKING:
    import numpy as np

    from linecheck.terms import Chart

ADRIFT_WAYS = ("groping", "key alone", "hand shapes", "wrong tune", "stray bars", "drifting riff", "own changes")  # fmt: skip
BOTTOM, TOP, SOLO_TOP = 28, 55, 67
MINOR, MINOR_FIVE, MAJOR_FIVE, BLUES = (0, 2, 3, 5, 7, 8, 10), (0, 3, 5, 7, 10), (0, 2, 4, 7, 9), (0, 3, 5, 6, 7, 10)  # fmt: skip
SHAPES = ((0, 4, 7, 9), (0, 3, 7, 10), (12, 7, 4, 0), (0, 2, 3, 7), (0, 4, 5, 6))  # of the hand
CELLS = {"eighths": (6, 6), "quarter": (12,), "triplet": (4, 4, 4), "syncope": (6, 12, 6), "turn": (3, 3, 6), "breath": (-6, 6)}  # fmt: skip
SLOW = ((12,), (24,), (18, 6), (36,), (6, 18), (6, 6))
BARS = {"one": 1, "two": 2, "three": 3, "four": 4}
Player = SimpleNamespace  # habits: shares are probabilities, dicts are weights


def charts() -> list[Chart]:
    """Fifteen charts of its own."""
    return [
        chart("Copper Kettle Row", "F", "A", {"A": "F7 | Bb7 | F7 | B7#5 | Bb7 | Ebm7 Ab7 | F7 | Am7 D7alt | Gm7 | Db7 C7 | Am7 D7 | Gm7 C7"}),
        chart("Chalk on the Stairs", "Bb", "AABA", {"A": "Bbmaj7 | Ebmaj7 | Dm7 | G7b9 | Cm7 | F7 | Dm7 Dbdim7 | Cm7 F7", "B": "Am7b5 | D7b9 | Gm7 | C7 | Cm7 | Am7b5 D7 | Gm7 C9 | F7sus F7"}),
        chart("The Night Porter's Keys", "Cm", "AB", {"A": "Cm6 | Abmaj7 | Dm7b5 | G7alt | Cm6 | Bbm7 Eb7 | Abmaj7 | Dm7b5 G7b9", "B": "Fm7 | Bb13 | Ebmaj7 | Am7b5 D7 | Gm7b5 | C7b9 | Fm7 G7 | Cm6"}),
        chart("Tin Weathercock", "G", "ABAC", {"A": "Gmaj7 | Gdim7 | Am7 | D7 | Bm7 | E7 | Am7 | Cm6", "B": "Bm7 | Bbm7 | Am7 | D9 | C#m7b5 F#7 | Bm7 E7 | A7 | D7sus", "C": "G7 | Cmaj7 | C#dim7 | G/D E7 | A7 | D7 | G6 E7 | Am7 D7"}),
        chart("Salt Marsh Road", "Em", "AABA", {"A": "Em7 | % | C7 | B7alt | Em7 | F#m7b5 B7b9 | Em6 | %", "B": "Am7 | D7 | Gmaj7 | Cmaj7 | F#m7b5 | B7 | Em7 A7 | Cmaj7 B7"}),
        chart("Ropewalk", "Eb", "AABC", {"A": "Eb6 | Gm7 C7 | Fm7 | Bb7 | Ebmaj7 Cm7 | Fm7 Bb7 | Eb6 | Fm7 Bb7", "B": "Bbm7 | Eb7 | Abmaj7 | Db7 | Cm7 | F7 | Fm7 | Bb7#5", "C": "Abmaj7 | Adim7 | Eb/Bb | C7b9 | F7 | Bb7 | Eb6 Db7 | C7 B7"}),
        chart("Quarter to Rain", "A", "AB", {"A": "Amaj7 | F#m7 | Bm7 | E7 | C#m7 | Cdim7 | Bm7 | E7sus", "B": "Dmaj7 | Dm6 | C#m7 | F#7 | Bm7 | G7 | Amaj7 | Bm7 / E7"}, beats=3),
        chart("Bramble Ladder", "Ab", "ABC", {"A": "Abmaj7 | Am7 D7 | Dbmaj7 | Dbm7 Gb7 | Cm7 B7 | Bbm7 Eb7 | Ab6 F7 | Bbm7 Eb7", "B": "Bmaj7 | % | Bbm7 | Eb7 | Em7 | A7 | Dmaj7 | Eb7", "C": "Abmaj7 | C7 | Fm7 | Bb7 | Bbm7 | E7 Eb7 | Ab6 | Bbm7 Eb7"}),
        chart("Two Herons", "Dm", "AABA", {"A": "Dm7 | % | % | Ebmaj7#11 | Dm7 | % | Gm7 | A7alt", "B": "Fm7 | % | Abm7 | % | Bm7 | % | Bbmaj7 | A7#5"}),
        chart("Cold Tea Bounce", "C", "AABA", {"A": "C6 A7 | D7 G7 | Em7 Ebdim7 | Dm7 G7 | C7 E7 | F6 F#dim7 | C/G A7 | Dm7 G7", "B": "Em7b5 | A7b9 | Dm7 | % | Am7 | D7 | Dm7 | Db7"}),
        chart("Fifth Lamp Post", "Db", "AB", {"A": "Dbmaj7 Fm7 | Em7 A7 | Ebm7 | Ab7 | Cm7b5 F7 | Bbm7 | Abm7 Db7 | Gbmaj7", "B": "Gbm7 B7 | Fm7 Bb7 | Eb7 | Ebm7 Ab7 | Amaj7 | D7 | Dbmaj7 Bb7 | Ebm7 D7"}),
        chart("Orchard Clock", "Gm", "AAB", {"A": "Gm7 | Gm7/F | Em7b5 | Ebmaj7 | Cm7 | Am7b5 D7 | Gm7 | D7b9", "B": "Bbmaj7 | F7 | Cm7 | D7 | Ebmaj7 | Cm7 F7 | Bbmaj7 | Am7b5 D7alt"}),
        chart("Nine Pins Down", "Bm", "AB", {"A": "Bm7 | Gmaj7 | C#m7b5 | F#7", "B": "Em7 | A7 | Dmaj7 Gmaj7 | C#m7b5 F#7b9"}),
        chart("Uneven Cobbles", "Fm", "AB", {"A": "Fm7 | Db7 / / C7 / | Fm7 | Bbm7 / / Eb7 / | Abmaj7 | Gm7b5", "B": "C7 | Fm7 | Bbm7 | Gm7b5 / / C7b9 /"}, beats=5),
        chart("Last Bus but One", "D", "ABAC", {"A": "Dmaj7 | Bm7 | E7 | A7 | F#m7b5 B7b9 | Em7 | Gm6 | C7", "B": "F#m7 | Fdim7 | Em7 A7 | Dmaj7 | G#m7b5 | C#7 | F#maj7 | Em7 A7", "C": "Dmaj7 D7 | Gmaj7 Gm6 | F#m7 | Bm7 | Em7 | A7sus A7 | D6 Bb7 | Em7 A7"}),
    ]  # fmt: skip


def draw_player(rng: np.random.Generator) -> Player:
    """A player: the same school, habits drawn widely."""
    u, g = rng.uniform, rng.gamma
    low, solo_low = int(rng.integers(28, 31)), int(rng.integers(30, 38))

    def weights(**usual: float) -> dict[str, float]:
        return {name: share * g(1.3) + 0.01 for name, share in usual.items()}

    return Player(
        low=low, high=int(rng.integers(45, 54)),
        solo_low=solo_low, solo_high=solo_low + int(rng.integers(18, 28)),
        root=u(0.68, 0.98), root_again=u(0.25, 0.75),  # on a change, on a bar line without one
        figures=weights(arpeggio=3, scale=3, back=1.5, five=1, halves=1, octave=0.5, twice=0.4),
        approaches=weights(half=3, scale=2, dominant=1, two=1, chord=1, around=0.4),
        tries=int(rng.integers(1, 7)),  # ways to the next goal that are weighed
        skip=u(0, 0.22), missed=_one((0.0, u(0, 0.06)), rng), late=_one((0.0, u(0, 0.1)), rng),
        two_feel=_one((0.0, 0.0, u(0, 0.5)), rng), wrong=_one((0.01, 0.03, 0.08), rng) * u(0, 1),
        cells=weights(eighths=9, quarter=1.2, triplet=0.9, syncope=0.8, turn=0.3, breath=0.4),
        phrases=weights(line=6, motif=1.3, pentatonic=1.2, song=0.8),
        bars=weights(one=1.5, two=3, three=1.2, four=1), rest=u(0.6, 3.0),  # rests in beats
        on_beat=u(0.6, 0.98), aim=u(0.5, 0.98),  # chord tones; thirds and sevenths on a change
        chromatic=u(0.1, 0.6), enclosure=u(0, 0.5), arpeggio=u(0.05, 0.45), blanket=u(0.1, 0.8),
        altered=_one((0.0, u(0, 0.5)), rng), off_count=_one((0.0, u(0, 0.2)), rng),  # a beat off
    )  # fmt: skip


class Sound(NamedTuple):
    """A chord as it is thought of, in pitch classes; the first of the tones is the root."""

    symbol: str
    tones: tuple[int, ...]
    run: tuple[int, ...]
    bass: int


def _sound(form, step, *, altered=False) -> Sound:
    chord = form.chord(max(0, step))
    tones = tuple(t.pitch_class for t in chord.tones) or _key_run(form.chart)[:5:2]
    root, run = tones[0], scale(chord)
    if altered and chord.kind in ("7", "9", "13"):
        tones = (root, tones[1], (root + 8) % 12, tones[3])
        run = tuple((root + i) % 12 for i in ALTERED)
    return Sound(chord.symbol, tones, run, root if chord.bass is None else chord.bass)


def _key_run(of: Chart) -> tuple[int, ...]:
    return tuple((pitch_class(of.key.tonic) + i) % 12 for i in (MINOR if of.key.minor else MAJOR))


def _pick(weights: dict[str, float], rng: np.random.Generator) -> str:
    sums = list(accumulate(weights.values()))
    return list(weights)[bisect(sums, rng.random() * sums[-1])]


def _one(of, rng: np.random.Generator):
    return of[int(rng.integers(len(of)))]


def _near(pcs: tuple[int, ...], to: float, low: int, high: int) -> int:
    """The pitch nearest to ``to`` among some pitch classes."""
    return min((p for p in range(low, high + 1) if p % 12 in pcs), key=lambda p: abs(p - to))


def _along(run: tuple[int, ...], pitch: int, moves: int) -> int:
    """So many steps along a scale or chord; none leaves the pitch."""
    way = 1 if moves > 0 else -1
    for _ in range(abs(moves)):
        pitch = next(p for p in range(pitch + way, pitch + 13 * way, way) if p % 12 in run)
    return pitch


def _fold(pitch: int, low: int, high: int) -> int:
    return high - (high - pitch) % 12 if pitch > high else max(pitch, low + (pitch - low) % 12)


class _Course:
    """Which way a line runs, and the edge at which it will turn."""

    def __init__(self, low: int, high: int, rng: np.random.Generator) -> None:
        self.low, self.high, self.rng = low, high, rng
        self.way = _one((-1, 1), rng)
        self.edge: float = high - 3 if self.way > 0 else low + 3

    def ahead(self, now: int, by: float) -> float:
        """The place some half steps on, after a turn where the edge is passed."""
        if (now + self.way * by - self.edge) * self.way > 0:
            self.way = -self.way
            room = (self.high - self.low) * self.rng.uniform(0.0, 0.35)
            self.edge = self.high - room if self.way > 0 else self.low + room
        return now + self.way * by


# ---- walking ---------------------------------------------------------------------------------


def walk(form, start: int, stop: int, rng: np.random.Generator, player: Player) -> list[LineNote]:
    """Walking over the beats from ``start`` to ``stop`` of a form."""
    edges = [b for b in range(start, stop) if b == start or form.is_landing(b * STEPS_PER_BEAT)]
    course = _Course(player.low, player.high, rng)
    first = _landing(form, start, start, rng.uniform(33, 43), rng, player)
    line, two = [], False
    for at, end in pairwise([*edges, stop]):
        if at == start or at % (8 * form.chart.meter.beats) == 0:
            two = rng.random() < player.two_feel
        sound, beats = _sound(form, at * STEPS_PER_BEAT), end - at
        goal = _landing(form, start, end, course.ahead(first, 1.6 * beats), rng, player)
        made = [_way_there(first, goal, beats - 1, sound, course.way, rng, player) for _ in range(player.tries)]  # fmt: skip
        notes = [first, *min(made, key=lambda way: _roughness([first, *way, goal]))]
        if rng.random() < player.late and beats > 1:  # a half step off, and into place
            notes[:2] = [first + course.way, first]
        for beat, (pitch, after) in enumerate(pairwise([*notes, goal]), at):
            if two and line and (beat - at) % 2 and rng.random() < 0.85:
                line[-1] = line[-1]._replace(end_step=beat * STEPS_PER_BEAT + 10)
                continue
            slip = _one((-2, -1, 1, 2), rng) if rng.random() < player.wrong else 0
            line += _struck(beat, _fold(pitch + slip, BOTTOM, TOP), after, rng, player)
        first = goal
    return line


def _landing(form, start, beat, to, rng, player) -> int:
    """The first note under a chord or after a bar line."""
    before, sound = (_sound(form, b * STEPS_PER_BEAT) for b in (beat - 1, beat))
    changed = beat == start or before.symbol != sound.symbol
    rooted = rng.random() < (player.root if changed else player.root_again)
    other = (_one(sound.tones[1:3] + sound.tones[1:], rng),) if changed else sound.tones
    return _near(
        (sound.bass,) if rooted else other, to + rng.uniform(-2, 2), player.low, player.high
    )


def _way_there(first, goal, count, sound, way, rng, player) -> list[int]:
    """``count`` notes between two landings: a figure, then an approach."""
    side = (1 if first >= goal else -1) * _one((1, 1, 1, -1), rng)
    _, tones, run, _ = sound
    lead = {
        "half": [goal + side], "scale": [_along(run, goal, side)],
        "dominant": [goal + 7 if goal < 38 else goal - 5], "two": [goal + 2 * side, goal + side],
        "chord": [_along(tones, goal, side)], "around": [_along(run, goal, side), goal - side],
    }[_pick(player.approaches, rng)]  # fmt: skip
    lead = lead[-count:] if count else []
    way = (1 if goal > first else -1) if abs(goal - first) > 4 else way
    body = range(1, count - len(lead) + 1)
    made = {
        "arpeggio": [_along(tones, first, way * i) for i in body],
        "scale": [_along(run, first, way * i) for i in body],
        "back": [_along(run, _along(tones, first, 2 * way), way - way * i) for i in body],
        "five": [_near(tones[2:3], first + 5 * way, BOTTOM, TOP) if i % 2 else first for i in body],
        "halves": [first + way * i for i in body],
        "octave": [first + (12 if first < 40 else -12) if i % 2 else first for i in body],
        "twice": [first if i < 2 else _along(tones, first, way) for i in body],
    }[_pick(player.figures, rng)]  # fmt: skip
    return [*made, *lead]


def _roughness(notes: list[int]) -> float:
    rough = {0: 1.5, 1: 0.0, 2: 0.0, 3: 0.4, 4: 0.4, 5: 0.6, 7: 0.9, 12: 1.2}
    return sum(rough.get(abs(b - a), 2.0 + abs(b - a) / 10) for a, b in pairwise(notes))


def _struck(beat, pitch, after, rng, player) -> list[LineNote]:
    at, loud, roll = beat * STEPS_PER_BEAT, int(rng.integers(72, 102)), rng.random()
    if roll < player.skip * 0.5:
        return [LineNote(at, at + 6, pitch, loud), LineNote(at + 8, at + 11, pitch, loud // 3)]
    if roll < player.skip:
        added = _fold(_one((pitch, after - 1, after, after + 1), rng), BOTTOM, TOP)
        return [LineNote(at, at + 6, pitch, loud), LineNote(at + 6, at + 11, added, loud - 12)]
    missed = roll < player.skip + player.missed
    return [] if missed else [LineNote(at, at + int(rng.integers(9, 13)), pitch, loud)]


# ---- solos -----------------------------------------------------------------------------------


def solo(form, start: int, stop: int, rng: np.random.Generator, player: Player) -> list[LineNote]:
    """A solo over the beats from ``start`` to ``stop`` of a form."""
    end, bar = stop * STEPS_PER_BEAT, form.chart.meter.beats * STEPS_PER_BEAT
    course = _Course(player.solo_low, player.solo_high, rng)
    now = int(rng.integers(player.solo_low + 4, player.solo_high - 4))
    at = start * STEPS_PER_BEAT + 6 * int(rng.integers(0, 5))
    line: list[LineNote] = []
    while at < end:
        close = (at // bar + BARS[_pick(player.bars, rng)]) * bar + 6 * int(rng.integers(-2, 5))
        close = min(end, max(at + 12, close))
        late = _one((-12, 12), rng) if rng.random() < player.off_count else 0
        altered, kind = rng.random() < player.altered, _pick(player.phrases, rng)
        slots = _rhythm(at, close, kind, bar, rng, player)
        sounds = [_sound(form, _heard(*slot) - late, altered=altered) for slot in slots]
        way = {"motif": _motif, "pentatonic": _five_notes}.get(kind, _line)
        made = way(form, slots, sounds, now, course, rng, player)
        for (step, until), pitch in zip(slots, made, strict=True):
            slip = _one((-1, 1), rng) if rng.random() < player.wrong else 0
            now = _fold(pitch, player.solo_low, player.solo_high)
            loud = int(rng.integers(66, 98)) // (3 if step % 12 and rng.random() < 0.02 else 1)
            stops = min(end, until - int(rng.integers(0, 2 if until - step <= 6 else 4)))
            line.append(LineNote(step, stops, _fold(now + slip, BOTTOM, SOLO_TOP), loud))
        at = close + 6 * (1 + int(rng.exponential(player.rest) * 2))
    return [n for n in line if n.step < end]


def _heard(step: int, end: int) -> int:
    """Where the chord of a note stands: on the next beat where the note is held over it."""
    beat = -(-step // STEPS_PER_BEAT) * STEPS_PER_BEAT
    return beat if end - beat >= 6 else step


def _rhythm(at, close, kind, bar, rng, player) -> list[tuple[int, int]]:
    """Beginnings and ends of the notes of a phrase; a motif goes round every bar or two beats."""
    slots, cells = [], []
    again = (bar if bar % 24 or rng.random() < 0.6 else 24) if kind == "motif" else 0
    while sum(abs(x) for cell in cells for x in cell) < again:
        cells.append(CELLS[_pick({**player.cells, "quarter": 2, "syncope": 2, "breath": 2}, rng)])
    turn = cycle(cells)
    while at < close:
        if at % STEPS_PER_BEAT:
            cell = (STEPS_PER_BEAT - at % STEPS_PER_BEAT,)
        elif cells:
            cell = next(turn)
        else:
            cell = _one(SLOW, rng) if kind == "song" else CELLS[_pick(player.cells, rng)]
        for length in cell:
            slots += [(at, at + length)] if length > 0 and at < close else []
            at += abs(length)
    return slots or [(close - 6, close)]


def _line(_form, slots, sounds, now, course, rng, player) -> list[int]:
    """Eighths from chord tone to chord tone; at every change a goal is set some notes before."""
    made: list[int] = []
    strong = [_heard(*slot) % STEPS_PER_BEAT == 0 for slot in slots]
    while len(made) < len(slots):
        i, rest = len(made), range(len(made) + 1, len(slots))
        j = next((k for k in rest if strong[k]), len(slots) - 1)
        change = next((k for k in rest if sounds[k].symbol != sounds[i].symbol), len(slots))
        if not strong[i] and j > i:
            goal = _goal(sounds, j, course.ahead(now, 1.7 * (j - i + 1)), course, rng, player)
            figure = [*_passing(now, goal, j - i, sounds[i].run, rng, player), goal]
        elif change == i + 2 < len(slots) and strong[change] and rng.random() < player.enclosure:
            goal = _goal(sounds, change, now + course.way, course, rng, player)
            figure = [_along(sounds[change].run, goal, 1), goal - 1, goal]
        elif change - i >= 4 and rng.random() < player.arpeggio:
            upper = sounds[i].tones[1:] + sounds[i].run[1:2]  # third to ninth, or down again
            first = _near(upper[:1] if course.way > 0 else upper, now, course.low, course.high)
            figure = [_along(upper, first, course.way * k) for k in range(4)]
        else:
            figure = [_goal(sounds, i, course.ahead(now, rng.uniform(1, 4)), course, rng, player)]
        made += figure
        now = made[-1]
    return made[: len(slots)]


def _goal(sounds, at, to, course, rng, player) -> int:
    sound, changed = sounds[at], at == 0 or sounds[at - 1].symbol != sounds[at].symbol
    pcs = sound.tones if rng.random() < player.on_beat else sound.run
    if changed and rng.random() < player.aim:
        pcs = sound.tones[1::2]  # third and seventh
    return _near(pcs, to + rng.uniform(-1, 1), course.low, course.high)


def _passing(now, goal, count, run, rng, player) -> list[int]:
    """So many notes that lead from ``now`` into ``goal``."""
    side = 1 if now > goal or (now == goal and rng.random() < 0.5) else -1
    if count > 1 and rng.random() < player.enclosure:
        return [*(_along(run, goal, i) for i in range(count - 1, 0, -1)), goal - 1]
    way = range(12) if rng.random() < player.chromatic else run
    notes = [_along(way, goal, side * i) for i in range(count, 0, -1)]
    if notes[0] == now:  # from the other side, so that no note is struck twice
        notes[0] = goal - 1 if side > 0 else _along(run, goal, 1)
    return notes


def _motif(form, slots, sounds, now, course, rng, player) -> list[int]:
    """One shape, begun anew on a tone of every chord."""
    shape = [_one((-2, -1, -1, 1, 1, 2, 3), rng) for _ in range(int(rng.integers(3, 7)))]
    made, place = [], 0
    for (step, _), sound in zip(slots, sounds, strict=True):
        now, place = _along(sound.run, now, shape[place % len(shape)]), place + 1
        new = not made or form.is_landing(step)
        if new or (step % STEPS_PER_BEAT == 0 and rng.random() < player.on_beat / 2):
            now, place = _near(sound.tones, now, course.low, course.high), 0 if new else place
        made.append(now := _fold(now, course.low, course.high))
    return made


def _five_notes(form, _slots, sounds, now, course, rng, player) -> list[int]:
    """Pentatonic, of the key (``blanket``) or of each chord."""
    key, whole, made = form.chart.key, rng.random() < player.blanket, []
    colour = BLUES if rng.random() < 0.3 else MINOR_FIVE if key.minor else MAJOR_FIVE
    for sound in sounds:
        root = pitch_class(key.tonic) if whole else sound.tones[0]
        shape = colour if whole else MINOR_FIVE if (root + 3) % 12 in sound.tones else MAJOR_FIVE
        course.ahead(now, 3)
        run = tuple((root + i) % 12 for i in shape)
        made.append(now := _along(run, now, course.way * _one((1, 1, 1, 2, -1), rng)))
    return made


# ---- adrift ----------------------------------------------------------------------------------


def adrift(form, start: int, stop: int, rng: np.random.Generator, player: Player, way: str, play):
    """A stretch that fits the form nowhere, in the rhythm of ``play``."""
    top = TOP if play is walk else SOLO_TOP
    if way in ("wrong tune", "stray bars", "own changes"):
        line = _elsewhere(form, start, stop, rng, player, way, play)
        return [n._replace(pitch=_fold(n.pitch, BOTTOM, top)) for n in line]
    key, line, hand, now = _key_run(form.chart), [], 0, int(rng.integers(34, 46))
    riff = [int(i) for i in rng.integers(-5, 8, size=int(rng.integers(3, 8)))]
    for i, note in enumerate(play(form, start, stop, rng, player)):
        if way in ("groping", "key alone"):
            run, moves = (key, (-3, -1, -1, 1, 1, 2)) if way == "key alone" else (range(12), range(-4, 5))  # fmt: skip
            now = _along(run, now, _one(moves, rng))
        elif way == "hand shapes":  # the fingers know a chord, and set it down anywhere
            if i % 4 == 0:
                hand, riff = now + _one((-6, -3, -1, 1, 2, 4), rng), _one(SHAPES, rng)
            now = hand + riff[i % 4]
        else:
            hand += _one((-3, -1, 1, 2), rng) if i % (2 * len(riff)) == 0 else 0
            now = 40 + hand + riff[i % len(riff)]
        hand += (now < BOTTOM + 2) * 12 - (now > top - 2) * 12
        line.append(note._replace(pitch=(now := _fold(now, BOTTOM, top))))
    return line


def _elsewhere(form, start, stop, rng, player, way, play) -> list[LineNote]:
    """Another tune, chords made up, or bits from all over the form."""
    meter, other, move, line, at = form.chart.meter.beats, form, 0, [], start
    if way == "wrong tune":
        other = Form(_one([c for c in charts() if c.title != form.chart.title], rng))
        move = (pitch_class(form.chart.key.tonic) - pitch_class(other.chart.key.tonic) + 6) % 12 - 6
    elif way == "own changes":
        bars = [_one(NAMES, rng) + _one(("7", "m7", "maj7", "m7b5"), rng) for _ in range(24)]
        other = Form(chart("Made up", "C", "A", {"A": " | ".join(bars)}, beats=meter))
    while at < stop:
        place, end = int(rng.integers(other.beats)), at + int(rng.integers(2, 2 * meter))
        end = min(stop, end) if way == "stray bars" else stop
        shift = (at - place) * STEPS_PER_BEAT
        bit = play(other, place, place + end - at, rng, player)
        line += [LineNote(n.step + shift, n.end_step + shift, n.pitch + move, n.velocity) for n in bit]  # fmt: skip
        at = end
    return line
