"""Another player than ``lines``: the judge of the form inference, which nothing is fitted on.

Its charts, its habits and its ways of being lost are its own. ``lines`` draws note by note from
shares; this player thinks in figures: a walking bar is one of a stock of patterns with an approach
at its end, a solo is made of licks that are turned to the chord they fall on. Both share only the
builder of charts and the word ``LineNote``. Takes of it: ``drawn_takes``.
"""

# ruff: noqa: PLR0911, PLR0917 -- a generator draws from many shares, and says so plainly

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from linecheck.music.form import Form
from linecheck.terms import STEPS_PER_BEAT
from tests.synthetic.charts import chart, pitch_class, scale
from tests.synthetic.lines import LineNote

if TYPE_CHECKING:
    import numpy as np

    from linecheck.terms import Chart, Chord

ADRIFT_WAYS = ("in the key", "half steps", "leaps", "another tune", "roots by lot", "hopping", "near misses")  # fmt: skip


@dataclass(frozen=True)
class Player:
    """Habits; shares are probabilities."""

    figures: dict[str, float]  # walking patterns, by weight
    root_first: float
    approach: dict[str, float]
    skip: float
    slur: float
    wrong: float
    lick_length: int
    licks: dict[str, float]
    rest: float
    aim: float
    push: float
    own_ear: float  # licks on the key instead of on the chord
    low: int
    high: int


def charts() -> list[Chart]:
    """Fifteen charts that stand nowhere else."""
    return [
        chart("Pewter Ladle", "Bb", "A", {"A": "Bb7 | Eb7 | Bb7 | Fm7 Bb7 | Eb7 | Edim7 | Bb7 | G7alt | Cm7 | F7 | Dm7 G7 | Cm7 F7"}),
        chart("Ninth of Never", "Gm", "A", {"A": "Gm6 | % | Am7b5 D7b9 | Gm6 | Cm7 | % | Gm7 | % | Eb7 | D7alt | Gm6 | Am7b5 D7b9"}),
        chart("Lantern Hill", "G", "AABA", {"A": "Gmaj7 E7b9 | Am7 D7 | Bm7 Bbdim7 | Am7 D7 | G7 | Cmaj7 Cm6 | Bm7 E7 | Am7 D7", "B": "B7 | % | E7 | % | A7 | % | Am7 | D7"}),
        chart("Zinc Gutter", "Ab", "ABAC", {"A": "Abmaj7 | Bbm7 Eb7 | Cm7 | F7b9 | Bbm7 | Dbm6 | Abmaj7 | Ebm7 Ab7", "B": "Dbmaj7 | % | Dm7b5 | G7b9 | Cm7 | F7 | Bbm7 | Eb7sus Eb7", "C": "Dbmaj7 | Gb9 | Cm7 | Bdim7 | Bbm7 | Eb7 | Ab6 F7 | Bbm7 Eb7"}),
        chart("Blue Oilcloth", "C", "AABA", {"A": "Cmaj7 | Bm7b5 E7b9 | Am7 | Gm7 C7 | Fmaj7 | Bb7 | Em7 A7 | Dm7 G7", "B": "Fm7 | Bb7 | Ebmaj7 | % | Ebm7 | Ab7 | Dbmaj7 | Dm7 G7"}),
        chart("Millrace", "F", "AB", {"A": "Fmaj7 | Em7b5 A7b9 | Dm7 | G7 | Bbmaj7 | Bbm6 Eb7 | Am7 Abdim7 | Gm7 C7", "B": "Fm7 | Db7 | Fm7 | Bb7 | Ebmaj7 | Gm7b5 C7b9 | Fmaj7 D7 | Gm7 C7"}),
        chart("Salt and Slate", "Dm", "AABA", {"A": "Dm7 | % | Em7b5 | A7alt | Dm7 | Bb7 | Em7b5 A7b9 | Dm6", "B": "Gm7 | C7 | Fmaj7 | Bbmaj7 | Em7b5 | A7 | Dm7 | Em7b5 A7b9"}),
        chart("Three Gates", "Eb", "AB", {"A": "Ebmaj7 | Cm7 | Fm7 | Bb7 | Gm7 | C7b9 | Fm7 | Bb7sus", "B": "Abmaj7 | Abm6 | Gm7 | C7 | Fm7 | Bb7 | Ebmaj7 | Fm7 / Bb7"}, beats=3),
        chart("Winter Lock", "E", "AB", {"A": "Emaj7 G7 | Cmaj7 Eb7 | Abmaj7 | F#m7 B7 | Emaj7 | Am7 D7 | Gmaj7 | F#m7 B7", "B": "Amaj7 | Dm7 G7 | Cmaj7 | A7 | F#m7 | B7 | Emaj7 C#7 | F#m7 B7"}),
        chart("Yellow Hatch", "Cm", "AB", {"A": "Cm7 | Ab7 | Cm7 | Ab7 G7 | Cm7 | Fm7 Bb7 | Ebmaj7 | Dm7b5 G7b9", "B": "Abmaj7 | Db7 | Cm7 | F7 | Fm7 | Bb7 | Dm7b5 | G7alt"}),
        chart("Old Sixpence", "D", "AABC", {"A": "D6 | B7 | Em7 | A7 | F#m7 B7 | Em7 A7 | D6 | Em7 A7", "B": "D7 | % | Gmaj7 | % | E7 | % | Em7 | A7", "C": "G6 | Gm6 | F#m7 | B7b9 | Em7 | A7 | D6 | Em7 A7"}),
        chart("Hop Yard", "F", "AABA", {"A": "F6 D7 | Gm7 C7 | F6 D7 | Gm7 C7 | Cm7 F7 | Bb6 Bdim7 | F6 D7 | Gm7 C7", "B": "A7 | % | D7 | % | G7 | % | C7 | %"}),
        chart("Standing Water", "Am", "AAB", {"A": "Am7 | % | % | % | Dm7 | % | Am7 | %", "B": "F7 | E7alt | Am7 | D7 | F7 | E7alt | Am7 | %"}),
        chart("Five Steps Down", "Gm", "AB", {"A": "Gm7 | Cm7 F7 | Bbmaj7 | Am7b5 D7b9", "B": "Ebmaj7 | Am7b5 D7b9 | Gm7 | D7alt"}, beats=5),
        chart("Crossing Sweeper", "Db", "ABAB", {"A": "Dbmaj7 | Bbm7 | Ebm7 | Ab7 | Fm7 | Bb7 | Ebm7 | Ab7", "B": "Gbmaj7 | B7 | Dbmaj7 | Bb7b9 | Ebm7 | Ab7 | Dbmaj7 | Ab7"}),
    ]  # fmt: skip


def draw_player(rng: np.random.Generator) -> Player:
    """A player: habits drawn over a wide range, from steady student to loose hand."""
    u, g = rng.uniform, rng.gamma
    figures = ("chord up", "chord down", "scale up", "scale down", "root fifth", "octave", "pairs", "cling", "leap and fill")  # fmt: skip
    approaches = ("half below", "half above", "scale", "fifth", "two halves", "none")
    licks = ("digits", "chord run", "scale run", "enclosure", "half steps", "held", "repeat", "broken thirds")  # fmt: skip
    low = int(rng.integers(27, 32))
    return Player(
        figures={f: g(0.7) + 0.01 for f in figures},
        root_first=u(0.55, 0.97),
        approach={a: g(0.8) + 0.01 for a in approaches},
        skip=u(0.0, 0.2),
        slur=u(0.0, 0.08),
        wrong=float(rng.choice([0.0, u(0, 0.04), u(0, 0.12)])),
        lick_length=int(rng.integers(3, 8)),
        licks={k: g(0.7) + 0.02 for k in licks},
        rest=u(0.1, 0.5),
        aim=u(0.6, 1.0),
        push=u(0, 0.3),
        own_ear=float(rng.choice([0.0, 0.0, u(0, 0.25)])),
        low=low,
        high=low + int(rng.integers(18, 26)),
    )


def _pick(weights: dict[str, float], rng: np.random.Generator) -> str:
    total = sum(weights.values())
    return str(rng.choice(list(weights), p=[w / total for w in weights.values()]))


def _closest(pc: int, to: int, low: int, high: int) -> int:
    return min((p for p in range(low, high + 1) if p % 12 == pc % 12), key=lambda p: abs(p - to))


def _along(run: tuple[int, ...], pitch: int, moves: int) -> int:
    """So many steps along a scale, up or down."""
    way = 1 if moves > 0 else -1
    for _ in range(abs(moves)):
        pitch += way
        while pitch % 12 not in run:
            pitch += way
    return pitch


def _chord_at(form: Form, beat: int) -> Chord:
    found = form.chord(beat * STEPS_PER_BEAT)
    assert found is not None
    return found


def _tones(of: Chord) -> tuple[int, ...]:
    return tuple(t.pitch_class for t in of.tones)


def _key_run(of: Chart) -> tuple[int, ...]:
    steps = (0, 2, 3, 5, 7, 8, 10) if of.key.minor else (0, 2, 4, 5, 7, 9, 11)
    return tuple((pitch_class(of.key.tonic) + i) % 12 for i in steps)


# ---- walking ---------------------------------------------------------------------------------


def _cells(form: Form, start: int, stop: int) -> list[tuple[int, int]]:
    """Runs of beats in one bar under one chord, from ``start`` to ``stop``."""
    edges = [start]
    inside = range(start + 1, stop)
    edges += [beat for beat in inside if form.is_landing(beat * STEPS_PER_BEAT)]
    return list(pairwise([*edges, stop]))


def _figure(name: str, first: int, beats: int, chord: Chord, rng: np.random.Generator) -> list[int]:
    """A bar's worth of pitches from ``first``, before its end is bent to what follows."""
    run, tones = scale(chord), tuple(sorted(_tones(chord)))
    way = 1 if rng.random() < 0.5 else -1
    made = {
        "chord up": [_along(tones, first, i) if i else first for i in range(beats)],
        "chord down": [_along(tones, first, -i) if i else first for i in range(beats)],
        "scale up": [_along(run, first, i) if i else first for i in range(beats)],
        "scale down": [_along(run, first, -i) if i else first for i in range(beats)],
        "octave": [first + 12 * (i % 2) for i in range(beats)],
        "cling": [first if i % 3 < 2 else _along(run, first, way) for i in range(beats)],
    }
    if name in made:
        return made[name]
    fifth = first - 5 if rng.random() < 0.5 else first + 7
    if len(tones) > 2 and (_tones(chord)[2] - (chord.root or 0)) % 12 == 6:
        fifth -= 1
    if name == "root fifth":
        return [first if i % 2 == 0 else fifth for i in range(beats)]
    if name == "pairs":
        return [first if i < 2 else fifth for i in range(beats)]
    leap = _along(tones, first, 2 * way)
    return [first, *(_along(run, leap, -way * i) if i else leap for i in range(beats - 1))]


def _bend(goal: int, chord: Chord, now: int, name: str, beats: int) -> list[int]:
    """The last notes of a bar that lead to ``goal``; none where the figure just goes on."""
    if name == "half below":
        return [goal - 1]
    if name == "half above":
        return [goal + 1]
    if name == "scale":
        return [_along(scale(chord), goal, 1 if now > goal else -1)]
    if name == "fifth":
        return [goal + 7 if now > goal else goal - 5]
    if name == "two halves" and beats > 2:
        way = 1 if now > goal else -1
        return [goal + 2 * way, goal + way]
    return []


def walk(
    form: Form, start: int, stop: int, rng: np.random.Generator, player: Player
) -> list[LineNote]:
    """Walking over the beats from ``start`` to ``stop`` of a form."""
    cells = _cells(form, start, stop)
    middle = (player.low + player.high) // 2
    firsts, now = [], middle
    for at, _ in [*cells, (stop, stop)]:
        chord = _chord_at(form, at)
        tones = _tones(chord)
        changed = at == start or _chord_at(form, at - 1).symbol != chord.symbol
        root = rng.random() < (player.root_first if changed else 0.4)
        pc = chord.bass if root and chord.bass is not None else int(rng.choice(tones))
        now = _closest(pc, (now + middle) // 2 + int(rng.integers(-4, 5)), player.low, player.high)
        firsts.append(now)
    line: list[LineNote] = []
    for index, (at, end) in enumerate(cells):
        chord, beats = _chord_at(form, at), end - at
        bar = _figure(_pick(player.figures, rng), firsts[index], beats, chord, rng)
        bend = _bend(firsts[index + 1], chord, bar[-1], _pick(player.approach, rng), beats)
        if beats > len(bend):
            bar[beats - len(bend) :] = bend
        for i, pitch in enumerate(bar):
            wrong = rng.random() < player.wrong
            line += _struck(at + i, pitch + (int(rng.choice([-2, -1, 1, 2])) if wrong else 0), rng, player)  # fmt: skip
    return line


def _struck(beat: int, pitch: int, rng: np.random.Generator, player: Player) -> list[LineNote]:
    step, loud = beat * STEPS_PER_BEAT, int(rng.integers(70, 100))
    roll = rng.random()
    if roll < player.slur:  # held from the beat before
        return []
    if roll < player.slur + player.skip * 0.5:
        return [LineNote(step, step + 7, pitch, loud), LineNote(step + 8, step + 11, pitch, loud - 15)]  # fmt: skip
    if roll < player.slur + player.skip * 0.7:
        return [LineNote(step, step + 5, pitch, loud), LineNote(step + 8, step + 9, pitch, 24)]
    return [LineNote(step, step + int(rng.integers(9, 13)), pitch, loud)]


# ---- solos -----------------------------------------------------------------------------------


def _lick(
    name: str, goal: int, length: int, run: tuple[int, ...], tones: tuple[int, ...],
    rng: np.random.Generator,
) -> list[int]:  # fmt: skip
    """Pitches of a lick that starts on the tone ``goal``."""
    way = 1 if rng.random() < 0.5 else -1
    if name == "digits":
        return [goal, *(_along(run, goal, way * i) for i in (1, 2, 4))][:length]
    if name == "chord run":
        return [_along(tones, goal, way * i) if i else goal for i in range(length)]
    if name == "scale run":
        return [_along(run, goal, way * i) if i else goal for i in range(length)]
    if name == "enclosure":
        return [_along(run, goal, 1), goal - 1, goal, *([_along(tones, goal, way)] * (length - 3))][:max(3, length)]  # fmt: skip
    if name == "half steps":
        return [goal - way * i for i in range(min(length, 4))][::-1]
    if name == "repeat":
        return [goal] * min(length, 4)
    if name == "broken thirds":
        return [_along(run, goal, m) if m else goal for m in (0, 2, 1, 3, 2, 4, 3, 5)[:length]]
    return [goal]


def solo(
    form: Form, start: int, stop: int, rng: np.random.Generator, player: Player
) -> list[LineNote]:
    """A solo over the beats from ``start`` to ``stop`` of a form."""
    line: list[LineNote] = []
    now = (player.low + player.high) // 2 + 6
    at, end = start * STEPS_PER_BEAT, stop * STEPS_PER_BEAT
    high = player.high + 12
    key = _key_run(form.chart)
    while at < end:
        name = _pick(player.licks, rng)
        length = max(1, player.lick_length + int(rng.integers(-2, 3)))
        unit = int(rng.choice([6, 6, 6, 4, 12])) if at % 12 == 0 else 6
        if name == "held":
            unit = int(rng.choice([12, 18, 24, 36]))
        pushed = at % 12 == 6 and rng.random() < player.push
        heard = (at // 12 + 1) if pushed or name == "half steps" else at // 12
        chord = _chord_at(form, heard)
        run, tones = scale(chord), tuple(sorted(_tones(chord)))
        if rng.random() < player.own_ear:
            run, tones = key, key
        pool = tones if rng.random() < player.aim else run
        near = sorted(pool, key=lambda pc: abs((pc - now + 6) % 12 - 6) + rng.uniform(0, 3))
        goal = _closest(near[0], now, player.low, high)
        for pitch in _lick(name, goal, length, run, tones, rng):
            # On the beat a lick is bent to a tone of the chord there, by ear.
            on = _chord_at(form, at // 12)
            if at % 12 == 0 and run is not key and rng.random() < player.aim * (1.0 if on.symbol != chord.symbol else 0.7):  # fmt: skip
                options = [p for p in range(pitch - 4, pitch + 5) if p % 12 in _tones(on)]
                pitch = min(options, key=lambda p: abs(p - pitch) + rng.random())  # noqa: PLW2901
            if at >= end:
                break
            wrong = rng.random() < player.wrong
            bent = pitch + (int(rng.choice([-1, 1])) if wrong else 0)
            bent = bent - 12 if bent > high else bent + 12 if bent < player.low else bent
            last = at + (unit + 4 if pushed and unit == 6 else unit)
            line.append(LineNote(at, last - int(rng.integers(0, 2)), bent, int(rng.integers(66, 104))))  # fmt: skip
            at, now = at + unit, bent
        if rng.random() < player.rest:
            at = -(-at // 6) * 6 + 6 * int(rng.integers(1, 9))
        at = -(-at // 6) * 6
    return [n for n in line if n.step < end]


# ---- adrift ----------------------------------------------------------------------------------


def adrift(
    form: Form, start: int, stop: int, rng: np.random.Generator, player: Player, way: str, play
) -> list[LineNote]:
    """A stretch that fits the form nowhere, in the rhythm of ``play``."""
    if way == "hopping":
        return _hopping(form, start, stop, rng, player, play)
    if way in ("another tune", "roots by lot"):
        return _elsewhere(form, start, stop, rng, player, way, play)
    base = play(form, start, stop, rng, player)
    key = _key_run(form.chart)
    low, high = min((n.pitch for n in base), default=30), max((n.pitch for n in base), default=50)
    low, high = low - 1, max(high + 1, low + 14)
    now = _closest(key[int(rng.integers(7))], (low + high) // 2, low, high)
    made = []
    for note in base:
        if way == "in the key":
            now = _along(key, now, int(rng.choice([-3, -2, -1, -1, 1, 1, 2, 3])))
        elif way == "half steps":
            now += int(rng.choice([-1, 1])) * int(rng.choice([1, 1, 1, 2, 3]))
        elif way == "leaps":
            now += int(rng.integers(-7, 8))
        else:  # near misses: the line as it should be, most notes a half or whole step off
            now = note.pitch + int(rng.choice([-2, -1, 1, 2, 0]))
        while now > high:
            now -= 12
        while now < low:
            now += 12
        made.append(note._replace(pitch=now))
    return made


def _elsewhere(form, start, stop, rng, player, way, play) -> list[LineNote]:
    """Over other changes: of another tune in this key, or chords by lot."""
    if way == "another tune":
        other = Form(charts()[int(rng.integers(15))])
        move = pitch_class(form.chart.key.tonic) - pitch_class(other.chart.key.tonic)
        if rng.random() < 0.3:
            move += 5
    else:
        roots = ("C7", "Dm7", "Eb7", "F7", "Gm7", "Am7", "Bbmaj7", "Abmaj7", "E7", "Dbmaj7", "B7", "F#m7")  # fmt: skip
        text = " | ".join(str(rng.choice(roots)) for _ in range(16))
        other = Form(chart("By lot", "C", "A", {"A": text}, beats=form.chart.meter.beats))
        move = 0
    at = int(rng.integers(other.beats // 4)) * 4
    line = play(other, at, at + stop - start, rng, player)
    move = (move + 6) % 12 - 6
    shift = (start - at) * STEPS_PER_BEAT
    return [LineNote(n.step + shift, n.end_step + shift, n.pitch + move, n.velocity) for n in line]


def _hopping(form, start, stop, rng, player, play) -> list[LineNote]:
    """Somewhere else in the form every bar or two."""
    line: list[LineNote] = []
    at = start
    bar = form.chart.meter.beats
    while at < stop:
        end = min(stop, at + int(rng.integers(bar, 2 * bar + 2)))
        place = int(rng.integers(form.beats))
        shift = (at - place) * STEPS_PER_BEAT
        line += [
            n._replace(step=n.step + shift, end_step=n.end_step + shift)
            for n in play(form, place, place + end - at, rng, player)
        ]
        at = end
    return line
