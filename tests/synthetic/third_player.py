"""A synthetic player that thinks in targets and phrases.

Every change gets a tone to land on first; the way there is planned backwards from it: an approach
before the landing, and before that a scale, an arpeggio or a figure. Solos are phrases of a few
bars with pickups, pushed changes and answers; walking picks its targets by voice leading or habit.

    player = draw_player(rng)
    line = solo(Form(charts()[0]), 0, 48, rng, player)
"""

# ruff: noqa: PLR0911, PLR0917 -- a line is drawn by place, chance and habits, in one of many ways

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from linecheck.music.form import Form
from linecheck.terms import STEPS_PER_BEAT, Chart, Chord, Key
from tests.synthetic.charts import chart, pitch_class, scale
from tests.synthetic.lines import LineNote, monophonic

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    Play = Callable[[Form, int, int, np.random.Generator, "Player"], list[LineNote]]
    Shares = dict[str, float]

BEAT, EIGHTH = STEPS_PER_BEAT, STEPS_PER_BEAT // 2
ADRIFT_WAYS = (
    "key by ear", "chromatic", "another tune", "jumping", "wrong order", "own rate", "one chord",
    "wrong key", "strange cadences", "hand shapes",
)  # fmt: skip
UPPER, LOWER = 50, -50  # the scale's neighbour above and below, whatever its distance
APPROACHES: dict[str, tuple[int, ...]] = {
    "none": (), "half below": (-1,), "half above": (1,), "step below": (LOWER,), "step above": (UPPER,),
    "two below": (-2, -1), "two above": (2, 1), "three below": (-3, -2, -1), "dominant": (7,),
    "dominant below": (-5,), "enclosure": (UPPER, -1), "turned enclosure": (-1, UPPER), "both sides": (1, -1),
    "long enclosure": (UPPER, LOWER, -1), "late enclosure": (2, 1, -1),
}  # fmt: skip
# Shares of what a beat holds, for each way of moving in a solo.
CELLS: dict[str, tuple[tuple[tuple[int, ...], float], ...]] = {
    "eighths": (((0, 6), 0.84), ((0,), 0.06), ((6,), 0.06), ((), 0.02), ((0, 4, 8), 0.02)),
    "quarters": (((0,), 0.7), ((0, 6), 0.18), ((), 0.08), ((6,), 0.04)),
    "triplets": (((0, 4, 8), 0.5), ((0, 6), 0.3), ((0,), 0.12), ((4, 8), 0.04), ((), 0.04)),
    "sixteenths": (((0, 3, 6, 9), 0.3), ((0, 6, 9), 0.15), ((0, 6), 0.35), ((0,), 0.12), ((), 0.08)),
    "pushes": (((6,), 0.4), ((0,), 0.2), ((0, 6), 0.25), ((), 0.15)),
    "long": (((0,), 0.36), ((), 0.42), ((6,), 0.12), ((0, 6), 0.1)),
}  # fmt: skip
PENTATONIC = {True: (0, 3, 5, 7, 10), False: (0, 2, 4, 7, 9)}
FUNCTION = ("root", "third", "fifth", "seventh")
# Blues, songs, two chords, quick changes, threes and a five: title, key, form, sections, beats a bar.
CHARTS: tuple[tuple[str, str, str, dict[str, str], int], ...] = (
    ("Coal Cellar", "G", "A", {"A": "G7 | C7 | G7 | Dm7 G7 | C7 | C#dim7 | G7/D | Bm7b5 E7b9 | Am7 | D7 | Bm7 E7 | Am7 D7"}, 4),
    ("Bramble Jar", "Bb", "A", {"A": "Bb6 | Am7b5 D7b9 | Gm7 C7 | Fm7 Bb7 | Ebmaj7 | Ebm7 Ab7 | Dm7 | Dbm7 Gb7 | Cm7 | F7 | Dm7 G7b9 | Cm7 F7"}, 4),
    ("Night Porter's Bell", "Fm", "A", {"A": "Fm6 | Bbm7 | Fm6 | F7b9 | Bbm7 | % | Fm6 | % | Gm7b5 | C7b9 | Fm6 | Db7 C7"}, 4),
    ("Cheap Lodgings", "D", "A", {"A": "D7 | F#7 | G7 | G#dim7 | D7/A B7 | E7 A7 | D7 G7 | D7 A7"}, 4),
    ("Umbrella Stand", "F", "AABA", {"A": "Fmaj7 | D7b9 | Gm7 | Bbm6 | Am7 D7 | G7 | Gm7 C7 | F6", "B": "Bm7 | E7 | Amaj7 | F#m7 | Am7 | D7 | Gm7 | C7"}, 4),
    ("Chalk and Slate", "Ab", "ABAC", {"A": "Abmaj7 | Gm7b5 C7 | Fm7 | Eb7 | Dbmaj7 | Bb7 | Bbm7 | Eb7sus", "B": "Cm7 | F7 | Bbm7 | Dbm6 | Abmaj7 | F7 | Bb7 | Eb7", "C": "Dbmaj7 | Gb7 | Abmaj7 | F7alt | Bbm7 | Eb7 | Ab6 | Bbm7 Eb7"}, 4),
    ("Third Landing", "Am", "AABA", {"A": "Am6 | E7b9 | Am6 | A7b9 | Dm7 | Bm7b5 E7 | Am6 F7 | E7", "B": "Gm7 | C7 | Fmaj7 | % | F#m7b5 | B7b9 | Em7b5 | E7alt"}, 4),
    ("Marsh Road", "Em", "ABC", {"A": "Em7 | % | % | % | % | % | % | %", "B": "Fmaj7#11 | % | % | % | Ebmaj7#11 | % | % | %", "C": "Em7 | % | % | % | Gm7 | % | F#7alt | B7alt"}, 4),
    ("Two Kettles", "Cm", "AAB", {"A": "Cm7 | F7 | Cm7 | F7 | Cm7 | F7 | Cm7 | F7", "B": "Abmaj7 | % | Gm7 | % | Abmaj7 | Bb7 | Dm7b5 | G7#5"}, 4),
    ("Goods Lift", "E", "AB", {"A": "E6 C#7 | F#m7 B7 | G#m7 C#7 | F#m7 B7 | Bm7 E7 | A6 Am6 | G#m7 C#7 | F#m7 B7", "B": "Cmaj7 A7 | Dm7 G7 | Cmaj7 C#m7 | F#7 Bmaj7 | G#m7 C#7 | F#m7 D7 | G#m7 C7 | F#m7 B7"}, 4),
    ("Sluice Waltz", "G", "AABA", {"A": "Gmaj7 | Bm7 | Cmaj7 | C#m7b5 / F#7 | Bm7 | Em7 | Am7 | D7", "B": "Ebmaj7 | Cm7 | Fm7 | Bb7 | Gm7 | C7 | Am7 | D7b9"}, 3),
    ("Glasshouse", "Dm", "AB", {"A": "Dm6 | Bbmaj7 | Em7b5 | A7 | Dm6 | D7 | Gm7 | %", "B": "C7 | Fmaj7 | Bb7 | A7b9 | Dm7 / C7 | Bm7b5 | Bb7 / A7 | Dm6"}, 3),
    ("Odd Change", "Eb", "AB", {"A": "Ebmaj7 | Gm7 / / C7 / | Fm7 | Abm6 / / Bb7 / | Ebmaj7 | Db7", "B": "Gbmaj7 | Abm7 / / Db7 / | Cm7 | F7 | Fm7 | Bb7"}, 5),
    ("Slate Roof", "Db", "ABAC", {"A": "Dbmaj7 | Bb7 | Ebm7 | Ab7", "B": "Dbmaj7 | Db7 | Gbmaj7 | Gbm6", "C": "Fm7 Bb7 | Ebm7 Ab7 | Db6 A7 | Dmaj7 Ab7"}, 4),
    ("Back Gate", "A", "ABAC", {"A": "A E/G# | F#m7 A/E | D A/C# | Bm7 E7", "B": "C#m7 | F#7 | Bm7 D/C | E7/B E7", "C": "Dmaj7 | Dm6 | A/C# Cdim7 | Bm7 E7"}, 4),
)  # fmt: skip


class Ground(NamedTuple):
    """A stretch of one sound between two landings."""

    step: int
    end: int
    bar: bool
    bass: int
    tones: tuple[int, ...]
    scale: tuple[int, ...]


@dataclass(frozen=True)
class Player:
    """Habits; shares need not add up to one."""

    wrong: float
    low: int
    high: int
    aims: Shares
    led: float  # share of targets that lie nearest instead of by habit
    paths: Shares
    approaches: Shares
    manners: Shares
    skips: float
    ghosts: float
    rests: float
    early: float
    late: float
    leaps: float
    shown: float  # share of changes that a solo lands on
    by_key: float  # share of phrases that hear only the key
    solo_low: int
    solo_high: int
    guides: Shares
    figures: Shares
    enclosing: Shares
    rhythms: Shares
    bars: tuple[int, int]
    breath: float
    pickups: float
    pushes: float
    answers: float
    off_ends: float


HANDS: dict[str, float] = {"beginner": 1.2, "student": 2, "schooled": 2, "chromatic": 1.3, "loose": 1.3, "sparse": 1, "busy": 1.2}  # fmt: skip
AIMS = {
    "beginner": (14, 0.4, 0.8, 0.1), "student": (10, 1, 1.2, 0.2), "schooled": (7, 2, 1.2, 0.4),
    "chromatic": (7, 1.5, 1.5, 0.4), "loose": (5, 1.5, 1.8, 0.8), "sparse": (9, 0.8, 2, 0.2), "busy": (7, 2, 1.6, 0.6),
}  # fmt: skip


def _spread(rng: np.random.Generator, shares: Shares, width: float = 0.7) -> Shares:
    return {k: v * float(np.exp(width * rng.standard_normal())) for k, v in shares.items()}


def _draw(rng: np.random.Generator, shares: Shares) -> str:
    left = rng.random() * sum(shares.values())
    for name, share in shares.items():
        left -= share
        if left < 0:
            return name
    return next(iter(shares))


def _one(rng: np.random.Generator, low: int, high: int) -> int:
    """A whole number, both ends included."""
    return low + int(rng.random() * (high - low + 1))


def draw_player(rng: np.random.Generator) -> Player:
    """Habits over a wide range, around one of a few kinds of hand."""
    hand = _draw(rng, HANDS)
    plain, free = hand in {"beginner", "sparse"}, hand in {"chromatic", "loose", "busy"}
    half = 3.0 if hand == "chromatic" else 0.3 if plain else 1.0
    approaches = {
        "none": 4 if plain else 1, "half below": 1.6 * half, "half above": half, "step below": 1.5,
        "step above": 1.5, "two below": half, "two above": half, "dominant": 0.8, "dominant below": 0.6,
        "both sides": 0.4 * half, "enclosure": 0.4 * half, "three below": 0.3 * half,
    }  # fmt: skip
    paths = {
        "short": 2.0, "wide": 0.6, "arpeggio": 2.0, "cell": 0.8, "third": 0.5, "repeat": 1.5 if plain else 0.15,
        "passing": 0.5 * half, "octave": 0.3, "fifths": 0.8 if plain else 0.3,
    }  # fmt: skip
    manners = {"line": 8.0, "two": 2.5 if hand == "sparse" else 0.4, "descent": 1.0, "ascent": 0.5, "pedal": 0.1}  # fmt: skip
    hardly = rng.random() < 1 / 6
    shown = rng.uniform(0.1, 0.4) if hardly else rng.uniform(0.72, 1.0)
    figures = {
        "short": 1.5, "passing": 1.2 if free else 0.5, "third": 1.6, "arpeggio": 1.6, "wide": 0.6,
        "cell": 0.8, "broken": 0.4, "pentatonic": 0.5, "repeat": 0.1, "octave": 0.08,
    }  # fmt: skip
    enclosing = {
        "none": 2.5 if plain else 0.8, "half below": 1.0, "half above": 0.6, "step above": 1.0,
        "step below": 0.8, "enclosure": 1.0, "turned enclosure": 0.5, "long enclosure": 0.4 * half,
        "two below": 0.6 * half, "two above": 0.6 * half, "both sides": 0.4 * half, "late enclosure": 0.3 * half,
    }  # fmt: skip
    rhythms = {
        "eighths": 5.0, "quarters": 2.5 if plain else 0.7, "triplets": 0.7, "pushes": 0.8,
        "sixteenths": 0.8 if hand == "busy" else 0.05, "long": 2.5 if hand == "sparse" else 0.3,
    }  # fmt: skip
    low = _one(rng, 28, 31)
    solo_low = _one(rng, 31, 40)
    fewest = _one(rng, 2, 3)
    return Player(
        wrong=float(rng.choice([0.0, rng.uniform(0, 0.05), rng.uniform(0.03, 0.12)], p=[0.3, 0.55, 0.15])),
        low=low, high=_one(rng, 45, 50), aims=_spread(rng, dict(zip(FUNCTION, AIMS[hand], strict=True)), 0.4),
        led=rng.uniform(0, 0.1 if plain else 0.4), paths=_spread(rng, paths), approaches=_spread(rng, approaches),
        manners=_spread(rng, manners, 1.0), skips=rng.beta(1, 30 if plain else 12), ghosts=rng.beta(1, 40 if plain else 20),
        rests=rng.beta(1, 60), early=rng.beta(1, 70 if not free else 25), late=rng.beta(1, 60 if not free else 20),
        leaps=rng.uniform(0, 0.15), shown=shown, by_key=rng.uniform(0.4, 0.9) if hardly else rng.uniform(0, 0.1),
        solo_low=solo_low, solo_high=min(67, solo_low + _one(rng, 17, 28)),
        guides=_spread(rng, {"root": 3.0 if plain else 1.5, "third": 2.5, "fifth": 1.3, "seventh": 1.3, "ninth": 0.3 if free else 0.1}),
        figures=_spread(rng, figures), enclosing=_spread(rng, enclosing), rhythms=_spread(rng, rhythms, 0.8),
        bars=(fewest, fewest + _one(rng, 0, 3)), breath=rng.uniform(3, 14) if hand == "sparse" else rng.uniform(0, 6 if plain else 4),
        pickups=rng.uniform(0.1, 0.9), pushes=rng.beta(1.2, 4), answers=rng.beta(1.2, 4), off_ends=rng.uniform(0.2, 0.9),
    )  # fmt: skip


def _key_scale(key: Key) -> tuple[int, tuple[int, ...]]:
    tonic = pitch_class(key.tonic)
    steps = (0, 2, 3, 5, 7, 8, 10) if key.minor else (0, 2, 4, 5, 7, 9, 11)
    return tonic, tuple((tonic + i) % 12 for i in steps)


def _ground(step: int, end: int, chord: Chord | None, key: Key, *, bar: bool = True) -> Ground:
    """The ground of a chord; without one, that of the tonic."""
    if chord is None or chord.root is None:
        tonic, tones = _key_scale(key)
        return Ground(step, end, bar, tonic, (tones[0], tones[2], tones[4]), tones)
    bass = chord.root if chord.bass is None else chord.bass
    return Ground(step, end, bar, bass, tuple(t.pitch_class for t in chord.tones), scale(chord))


def _grounds(form: Form, start: int, stop: int) -> list[Ground]:
    """What stands between landings, and enough after ``stop`` to aim at."""
    made: list[Ground] = []
    step, last = start * BEAT, stop * BEAT
    while step <= last:
        end = form.next_landing(step)
        bar = form.bar_begins(step) == step
        made.append(_ground(step, end, form.chord(step), form.chart.key, bar=bar))
        step = end
    return made


def _moved(ground: Ground, step: int, end: int, up: int = 0) -> Ground:
    tones, classes = (tuple((t + up) % 12 for t in some) for some in (ground.tones, ground.scale))
    return Ground(step, end, ground.bar, (ground.bass + up) % 12, tones, classes)


def _near(classes: Sequence[int], pitch: float, low: int, high: int) -> int:
    """The pitch of one of the classes that lies nearest, within a range of an octave or more."""
    wanted = round(min(max(pitch, low), high))
    for away in range(13):
        for found in (wanted - away, wanted + away):
            if low <= found <= high and found % 12 in classes:
                return found
    return wanted


def _next(classes: Sequence[int], pitch: int, way: int) -> int:
    pitch += way
    while pitch % 12 not in classes:
        pitch += way
    return pitch


def _ladder(classes: Sequence[int], pitch: int, way: int, count: int) -> list[int]:
    """``count`` steps through the classes, the pitch itself left out."""
    made: list[int] = []
    for _ in range(count):
        pitch = _next(classes, pitch, way)
        made.append(pitch)
    return made


def _middle(begin: int, goal: int, count: int, ground: Ground, path: str, rng: np.random.Generator) -> list[int]:  # fmt: skip
    """``count`` pitches after ``begin`` that lead to ``goal``."""
    toward = 1 if goal > begin or (goal == begin and rng.random() < 0.5) else -1
    tones, classes = ground.tones, ground.scale
    if path == "repeat":
        return [begin] * count
    if path == "octave":
        far = begin + 12 if begin < 43 else begin - 12
        return [far, *_ladder(classes, far, -1 if far > goal else 1, count)][:count]
    if path == "fifths":
        fifth = tones[min(2, len(tones) - 1)]
        return [_next((fifth,), begin, toward) if i % 2 == 0 else begin for i in range(count)]
    if path == "arpeggio":
        turn = count if rng.random() < 0.6 else count // 2
        up = _ladder(tones, begin, toward, turn)
        return up + _ladder(tones, up[-1] if up else begin, -toward, count - turn)
    if path == "third":
        upper = (*tones[1:], classes[1])
        first = _near((tones[min(1, len(tones) - 1)],), begin - 2, begin - 9, begin + 6)
        return [first, *_ladder(upper, first, 1, count)][:count]
    if path == "cell":
        root = _near((tones[0],), begin, begin - 8, begin + 8)
        steps = [root, *_ladder(classes, root, 1, 4)]
        shape = ((0, 1, 2, 4), (2, 1, 0, 4), (4, 2, 1, 0), (2, 4, 1, 0))[_one(rng, 0, 3)]
        return [steps[shape[(i + (begin == root)) % 4]] for i in range(count)]
    if path == "broken":
        run = _ladder(classes, begin, toward, count + 3)
        return [run[i // 2 + (2 if i % 2 == 0 else 0)] for i in range(count)]
    if path == "pentatonic":
        steps5 = PENTATONIC[(tones[0] + 3) % 12 in tones]
        classes = tuple((tones[0] + i) % 12 for i in steps5)
    elif path == "passing":
        extra = (tones[0] - 1) % 12 if (tones[0] - 1) % 12 not in classes else (tones[0] + 8) % 12
        classes = (*classes, extra)
    # Planned backwards: the run ends beside its goal, and comes from the nearer or the wider side.
    sides = [_ladder(classes, goal, way, count)[::-1] for way in (1, -1)]
    sides.sort(key=lambda run: abs(run[0] - begin) + 5 * (run[0] == begin) if run else 0)
    return sides[1 if path == "wide" and abs(sides[1][0] - begin) < 15 else 0] if count else []


def _fill(begin: int, goal: int, count: int, ground: Ground, path: str, approach: str, rng: np.random.Generator) -> list[int]:  # fmt: skip
    """``count`` pitches between two targets: the approach first, then the way to it."""
    if count <= 0:
        return []
    tail: list[int] = []
    for move in APPROACHES[approach][-count:]:
        beside = abs(move) == UPPER
        tail.append(_next(ground.scale, goal, 1 if move > 0 else -1) if beside else goal + move)
    made = _middle(begin, tail[0] if tail else goal, count - len(tail), ground, path, rng) + tail
    if made[0] == begin and path != "repeat" and rng.random() < 0.7:
        made[0] = _next(ground.tones, begin, 1 if rng.random() < 0.5 else -1)
    if made[-1] == goal and path != "repeat":
        made[-1] = _next(ground.scale, goal, 1 if rng.random() < 0.5 else -1)
    return made


def _folded(pitch: int, low: int, high: int) -> int:
    while pitch > high:
        pitch -= 12
    while pitch < low:
        pitch += 12
    return pitch


def _aim(ground: Ground, before: Ground | None, pitch: float, rng: np.random.Generator, player: Player) -> int:  # fmt: skip
    """The target of a landing in walking: by voice leading, or by habit and register."""
    low, high = player.low, player.high
    same = before is not None and before.tones == ground.tones and before.bass == ground.bass
    if rng.random() < player.led:
        classes = (ground.bass, *ground.tones[1:3])
        return _near(classes, pitch + _one(rng, -2, 2), low, high)
    aims = player.aims
    if same:
        aims = {**aims, "root": aims["root"] * 0.4, "fifth": aims["fifth"] * 1.7}
    index = FUNCTION.index(_draw(rng, aims))
    if index == 0:
        wanted = ground.bass if rng.random() < 0.9 else ground.tones[0]
    else:
        wanted = ground.tones[min(index, len(ground.tones) - 1)]
    if rng.random() < player.leaps:
        pitch += 12 if pitch < 40 else -12
    return _near((wanted,), pitch + 2 * rng.standard_normal(), low, high)


def _walk_ground(
    pitch: int, goal: int, ground: Ground, after: Ground, manner: str, rng: np.random.Generator, player: Player
) -> tuple[list[int], int]:  # fmt: skip
    """The pitches of the beats of a ground from its target on, and the target after it."""
    count = max(1, -(-(ground.end - ground.step) // BEAT))
    if manner in {"descent", "ascent"}:
        way = -1 if manner == "descent" else 1
        run = [pitch, *_ladder(ground.scale, pitch, way, count - 1)]
        following = _next(after.tones, run[-1], way)
        if player.low <= following <= player.high:
            return run, following
    if manner == "pedal":
        return [pitch] * count, _near((after.bass,), pitch, player.low, player.high)
    path, approach = _draw(rng, player.paths), _draw(rng, player.approaches)
    if count == 2 and rng.random() < 0.4:
        return [pitch, _near(ground.tones[1:], (pitch + goal) / 2, player.low, player.high)], goal
    return [pitch, *_fill(pitch, goal, count - 1, ground, path, approach, rng)], goal


def _between(
    beat: int, pitch: int, coming: int, ground: Ground, loud: int, rng: np.random.Generator, player: Player
) -> list[LineNote]:  # fmt: skip
    """A skip or a ghost before the next beat, or nothing."""
    chance, low, high = rng.random(), player.low, player.high
    if chance > player.skips + player.ghosts:
        return []
    step = beat - (4 if rng.random() < 0.7 else 6)
    if chance < player.skips:
        skip = pitch if rng.random() < 0.4 else _near(ground.scale, (pitch + coming) / 2, low, high)
        return [LineNote(step, step + 4, skip, loud - _one(rng, 5, 25))]
    ghost = pitch if rng.random() < 0.6 else _folded(pitch + _one(rng, -7, 7), low, high)
    return [LineNote(step, step + 3, ghost, _one(rng, 25, 45))]


def _walk(grounds: list[Ground], rng: np.random.Generator, player: Player) -> list[LineNote]:
    low, high = player.low, player.high
    line: list[LineNote] = []
    manner, left = "line", 0
    loud = _one(rng, 70, 95)
    register = float(_one(rng, low + 4, high - 6))
    pitch = _aim(grounds[0], None, register, rng, player)
    for ground, after in pairwise(grounds):
        if left <= 0:
            left = _one(rng, 3, 9)
            manner = _draw(rng, player.manners)
            if manner == "descent":
                left, pitch = min(left, 6), pitch + (12 if pitch < high - 12 else 0)
        left -= 1
        register += 0.12 * ((low + high) / 2 - register) + 1.5 * rng.standard_normal()
        goal = _aim(after, ground, 0.6 * pitch + 0.4 * register, rng, player)
        pitches, goal = _walk_ground(pitch, goal, ground, after, manner, rng, player)
        if rng.random() < player.late and len(pitches) > 2:
            pitches[:2] = [pitch + (1 if rng.random() < 0.5 else -1), pitch]
        each = BEAT
        if manner == "two" and len(pitches) > 1:
            each = BEAT * (2 if len(pitches) % 2 == 0 else len(pitches))
            pitches = pitches[:: each // BEAT]
            if len(pitches) > 1 and rng.random() < 0.7:
                pitches[1] = _near(ground.tones[-2:], pitches[1], low, high)
        for index, planned in enumerate(pitches):
            step = ground.step + index * each
            if rng.random() < player.rests:
                continue
            heard = planned + _one(rng, -3, 3) if rng.random() < player.wrong else planned
            heard = _folded(heard, low, high)
            begins = step - EIGHTH if index == 0 and rng.random() < player.early else step
            line.append(LineNote(begins, step + each - _one(rng, 0, 2), heard, loud + _one(rng, -8, 8)))  # fmt: skip
            coming = pitches[index + 1] if index + 1 < len(pitches) else goal
            line += _between(step + each, heard, coming, ground, loud, rng, player)
        pitch = goal
    return line


def _rhythm(begin: int, end: int, rng: np.random.Generator, player: Player) -> list[int]:
    manner = _draw(rng, player.rhythms)
    found: list[int] = []
    for beat in range(begin // BEAT * BEAT, end, BEAT):
        if rng.random() < 0.06:
            manner = _draw(rng, player.rhythms)
        left = rng.random()
        for cell, share in CELLS[manner]:
            left -= share
            if left < 0:
                found += [beat + s for s in cell if begin <= beat + s < end]
                break
    if found and found[-1] % BEAT == 0 and rng.random() < player.off_ends:
        found.append(found[-1] + EIGHTH)
    return found or [begin]


def _landings(onsets: list[int], grounds: list[Ground], shown: float, rng: np.random.Generator, player: Player) -> dict[int, Ground]:  # fmt: skip
    """The onsets that are targets; a pushed one takes the place of that on the beat."""
    targets: dict[int, Ground] = {}
    before: Ground | None = None
    for ground in grounds:
        held = before is not None and before.tones == ground.tones
        before = ground
        if rng.random() > shown * (0.6 if held else 1.0):
            continue
        pushed = ground.step - EIGHTH
        at = bisect_left(onsets, ground.step)
        if at and onsets[at - 1] == pushed and rng.random() < player.pushes:
            targets[pushed] = ground
            if at < len(onsets) - 1 and onsets[at] == ground.step:
                del onsets[at]
        elif at < len(onsets) and onsets[at] < min(ground.end, ground.step + BEAT + EIGHTH):
            targets[onsets[at]] = ground
    return targets


def _guide(ground: Ground, pitch: float, rng: np.random.Generator, player: Player) -> int:
    name = _draw(rng, player.guides)
    if name == "ninth":
        wanted = (ground.tones[0] + 2) % 12
    else:
        wanted = ground.tones[min(FUNCTION.index(name), len(ground.tones) - 1)]
    return _near((wanted,), pitch, player.solo_low, player.solo_high)


def _phrase(onsets: list[int], targets: dict[int, Ground], at: Callable[[int], Ground], rng: np.random.Generator, player: Player) -> list[int]:  # fmt: skip
    """The pitches of a phrase: its targets from the last to the first, then the ways between."""
    low, high = player.solo_low, player.solo_high
    marks = sorted({*(i for i, s in enumerate(onsets) if s in targets), len(onsets) - 1})
    slope = 5 * rng.standard_normal()
    pitch = (low + high) / 2 + (high - low) / 5 * rng.standard_normal()
    planned: dict[int, int] = {}
    for mark in reversed(marks):
        ground = targets.get(onsets[mark]) or at(onsets[mark])
        planned[mark] = _guide(ground, pitch, rng, player)
        pitch = planned[mark] - slope / len(marks) + 2.5 * rng.standard_normal()
    start = _near(at(onsets[0]).tones, pitch + 3 * rng.standard_normal(), low, high)
    made: list[int] = []
    previous, begin = -1, start
    if marks[0] > 0:
        made, previous = [start], 0
    for mark in marks:
        count = mark - previous - 1
        if count > 0:
            ground = at(onsets[previous + 1])
            path, approach = _draw(rng, player.figures), _draw(rng, player.enclosing)
            made += _fill(begin, planned[mark], count, ground, path, approach, rng)
        made.append(planned[mark])
        previous, begin = mark, planned[mark]
    return made


def _answer(call: list[tuple[int, int]], shift: int, grounds: list[Ground], at: Callable[[int], Ground], rng: np.random.Generator, player: Player) -> list[tuple[int, int]]:  # fmt: skip
    """The call's rhythm again, its shape moved to what sounds there."""
    landings = {g.step for g in grounds} | {g.step - EIGHTH for g in grounds}
    home, there = at(call[0][0]).tones[0], at(call[0][0] + shift).tones[0]
    up = (there - home + 6) % 12 - 6 if rng.random() < 0.6 else 0
    made: list[tuple[int, int]] = []
    for step, pitch in call:
        ground = at(step + shift + (EIGHTH if step + shift + EIGHTH in landings else 0))
        firm = step + shift in landings or rng.random() < 0.2
        wanted = _near(ground.tones if firm else ground.scale, pitch + up, player.solo_low, player.solo_high)  # fmt: skip
        made.append((step + shift, wanted))
    return made


def _solo(grounds: list[Ground], key: Key, rng: np.random.Generator, player: Player) -> list[LineNote]:  # fmt: skip
    starts = [g.step for g in grounds]
    stop = grounds[-1].end
    lines = [*(g.step for g in grounds if g.bar), stop]
    loud = _one(rng, 70, 95)
    tonic, around = _key_scale(key)
    found: list[LineNote] = []
    call: list[tuple[int, int]] = []
    step, called = starts[0], 0
    while step < stop:
        first = bisect_left(lines, step)
        last = min(first + _one(rng, *player.bars), len(lines) - 1)
        begin = lines[min(first, len(lines) - 1)]
        end = max(lines[last] - BEAT * _one(rng, 0, 3), begin + 2 * BEAT)
        deaf = rng.random() < player.by_key

        def at(where: int, deaf: bool = deaf) -> Ground:
            here = grounds[max(0, bisect_right(starts, where) - 1)]
            if deaf:
                home = (tonic, around[2], around[4])
                here = here._replace(bass=tonic, tones=home, scale=around)
            return here

        if call and rng.random() < player.answers:
            notes = _answer(call, begin - called, grounds, at, rng, player)
            notes = [n for n in notes if n[0] >= step]
            call = []
        else:
            ahead = EIGHTH * _one(rng, 1, 6) if rng.random() < player.pickups else -EIGHTH * _one(rng, 0, 3)  # fmt: skip
            onsets = _rhythm(max(step, begin - ahead), end, rng, player)
            inside = grounds[bisect_left(starts, onsets[0]) : bisect_right(starts, onsets[-1] + EIGHTH)]  # fmt: skip
            targets = _landings(onsets, inside, player.shown, rng, player)
            notes = list(zip(onsets, _phrase(onsets, targets, at, rng, player), strict=True))
            call, called = notes, begin
        for index, (onset, planned) in enumerate(notes):
            lasts = notes[index + 1][0] - onset if index + 1 < len(notes) else _one(rng, 4, 16)
            heard = planned + _one(rng, -3, 3) if rng.random() < player.wrong else planned
            heard = _folded(heard, max(28, player.solo_low - 5), min(67, player.solo_high + 5))
            found.append(LineNote(onset, onset + max(2, min(lasts, 30) - _one(rng, 0, 1)), heard, loud + _one(rng, -12, 10)))  # fmt: skip
        step = max(end, notes[-1][0] + EIGHTH if notes else end)
        step += BEAT * int(player.breath * rng.random() * 1.6)
    return found


def _clipped(line: list[LineNote], start: int, stop: int) -> list[LineNote]:
    first, last = start * BEAT, stop * BEAT
    return monophonic([n._replace(end_step=min(n.end_step, last)) for n in line if first <= n.step < last])  # fmt: skip


def walk(form: Form, start: int, stop: int, rng: np.random.Generator, player: Player) -> list[LineNote]:  # fmt: skip
    """A walking line over the beats from ``start`` to ``stop``."""
    return _clipped(_walk(_grounds(form, start, stop), rng, player), start, stop)


def solo(form: Form, start: int, stop: int, rng: np.random.Generator, player: Player) -> list[LineNote]:  # fmt: skip
    """A solo over the beats from ``start`` to ``stop``."""
    return _clipped(_solo(_grounds(form, start, stop), form.chart.key, rng, player), start, stop)


def _explained(form: Form, line: list[LineNote]) -> float:
    """The largest share of a line's notes that are chord tones at any constant offset."""
    tones = np.zeros((form.beats, 12), dtype=bool)
    for beat in range(form.beats):
        chord = form.chord(beat * BEAT)
        tones[beat, [t.pitch_class for t in chord.tones] if chord else []] = True
    beats = np.array([n.step // BEAT for n in line])[:, None] + np.arange(form.beats)
    classes = np.array([n.pitch % 12 for n in line])[:, None]
    return float(tones[beats % form.beats, classes].mean(axis=0).max()) if line else 0.0


def _paced(sounds: list[Ground], lengths: list[int], start: int, stop: int, meter: int) -> list[Ground]:  # fmt: skip
    """Sounds in a row from beat ``start`` on, each of its length in beats, round and round."""
    made: list[Ground] = []
    beat = start
    while beat <= stop + meter:
        index = len(made) % len(sounds)
        end = beat + lengths[index % len(lengths)]
        sound = sounds[index]._replace(bar=True)
        made += [
            _moved(sound, b * BEAT, min(end, b + meter) * BEAT) for b in range(beat, end, meter)
        ]
        beat = end
    return made


def _cadences(start: int, stop: int, meter: int, rng: np.random.Generator) -> list[Ground]:
    """Two, five, one in one key after another, at a pace of their own."""
    made: list[Ground] = []
    lengths: list[int] = []
    while sum(lengths) < stop - start:
        home = _one(rng, 0, 11)
        classes = tuple((home + i) % 12 for i in (0, 2, 4, 5, 7, 9, 11))
        for root, beats in ((1, 2), (4, 2), (0, 4)):
            tones = tuple(classes[(root + i) % 7] for i in (0, 2, 4, 6))
            made.append(Ground(0, 0, bar=True, bass=tones[0], tones=tones, scale=classes))
            lengths.append(max(1, beats + _one(rng, -1, 1)))
    return _paced(made, lengths, start, stop, meter)


def _foreign_grounds(form: Form, start: int, stop: int, rng: np.random.Generator, way: str) -> list[Ground]:  # fmt: skip
    """Changes that somebody adrift may hear instead of those of the form."""
    meter = form.chart.meter.beats
    if way == "strange cadences":
        return _cadences(start, stop, meter, rng)
    here = start if way == "wrong key" else _one(rng, 0, form.beats - 1)
    own = _grounds(form, here, here + stop - start)
    lengths = [max(1, (g.end - g.step) // BEAT) for g in own]
    up = _one(rng, 1, 11)
    if way == "another tune":
        other = Form(_chart(*CHARTS[_one(rng, 0, len(CHARTS) - 1)]))
        begin = _one(rng, 0, other.beats - 1)
        own = _grounds(other, begin, begin + stop - start)
        lengths = [max(1, (g.end - g.step) // BEAT) for g in own]
        own = [_moved(g, g.step, g.end, up) for g in own]
    elif way == "jumping":
        pieces: list[Ground] = []
        while len(pieces) < len(own) + 4:
            place = _one(rng, 0, len(own) - 1)
            pieces += own[place : place + _one(rng, 1, 2)]
        own = pieces
        lengths = [_one(rng, 2, 5) for _ in own]
    elif way == "wrong order":
        order = rng.permutation(len(own))
        own = [own[i] for i in order]
        lengths = [lengths[i] if rng.random() < 0.7 else lengths[i] + 1 for i in order]
    elif way == "own rate":
        rate = (0.5, 0.6, 0.75, 1.3, 1.5, 2.0)[_one(rng, 0, 5)]
        lengths = [max(1, round(n * rate + rng.uniform(-0.5, 0.5))) for n in lengths]
    elif way == "one chord":
        own = [_moved(own[_one(rng, 0, len(own) - 1)], 0, 0, up * (rng.random() < 0.5)) for _ in own]  # fmt: skip
        lengths = [meter * _one(rng, 5, 12) for _ in own]
    elif way == "wrong key":
        return [_moved(g, g.step, g.end, up) for g in own]
    return _paced(own, lengths, start, stop, meter)


def _wandering(count: int, classes: tuple[int, ...], rng: np.random.Generator, way: str, low: int, high: int) -> list[int]:  # fmt: skip
    """Pitches that follow the ear or the hand and no change at all."""
    if way == "chromatic":
        classes = tuple(range(12))
    pitch, side = _near(classes, _one(rng, low, high), low, high), 1
    made: list[int] = []
    while len(made) < count:
        if way == "hand shapes":
            shape = ((0, 2, 4, 5), (0, 4, 2, 5), (0, 3, 5, 3), (0, 7, 5, 7), (0, 1, 3, 1), (0, 5, 10, 5), (4, 2, 1, 0))[_one(rng, 0, 6)]  # fmt: skip
            base = _one(rng, low, max(low, high - 10))
            for _ in range(_one(rng, 1, 3)):
                made += [base + i for i in shape]
                base += _one(rng, -3, 3)
            continue
        leap = rng.random()
        if leap < 0.25:
            side = -side
        pitch = _next(classes, pitch, side)
        if leap > 0.85 or not low <= pitch <= high:
            pitch = _near(classes, pitch + _one(rng, -9, 9), low, high)
        made.append(pitch)
    return [_folded(p, low, max(high, low + 11)) for p in made[:count]]


def adrift(
    form: Form, start: int, stop: int, rng: np.random.Generator, player: Player, way: str, play: Play
) -> list[LineNote]:  # fmt: skip
    """A line over the beats from ``start`` to ``stop`` that fits the form nowhere.

    By chance one may fit: of a few the one is kept that the form explains least.
    """
    line: list[LineNote] = []
    least = 2.0
    soloing = play is solo
    low, high = (player.solo_low, player.solo_high) if soloing else (player.low, player.high)
    wandering = way in {"key by ear", "chromatic", "hand shapes"}
    enough = 0.6 if way == "key by ear" else 0.5
    for up in (0, 7, 5, 2):  # an ear that the key happens to suit slips to a key nearby
        grounds = _foreign_grounds(form, start, stop, rng, "strange cadences" if wandering else way)
        heard = _solo(grounds, form.chart.key, rng, player) if soloing else _walk(grounds, rng, player)  # fmt: skip
        tried = _clipped(heard, start, stop)
        if wandering:
            classes = tuple((c + up) % 12 for c in _key_scale(form.chart.key)[1])
            pitches = _wandering(len(tried), classes, rng, way, low, high)
            tried = [n._replace(pitch=p) for n, p in zip(tried, pitches, strict=True)]
        share = _explained(form, tried)
        if share < least and tried:
            line, least = tried, share
        if least < enough:
            break
    return line


def _chart(title: str, key: str, form: str, sections: dict[str, str], beats: int) -> Chart:
    return chart(title, key, form, sections, beats=beats)


def charts() -> list[Chart]:
    """Fifteen invented charts."""
    return [_chart(*row) for row in CHARTS]
