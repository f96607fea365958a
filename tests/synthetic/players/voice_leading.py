"""A player who hears the whole line ahead: every pitch is weighed with all that follow it.

What a note is to its chord, where it lies, how far the step to it goes and which way the line
went each have a weight; a line is drawn from all lines at once. Walking it stands on pedals, skips
and thinks other chords than the chart's; a solo is phrases in changing cells, over the bar line,
often ahead of the change. Adrift it plays as surely over guesses. Pitches: E1 = 28 to 55 walking,
to 67 solo; ghost notes: about a third of the velocity.
"""

# ruff: noqa: PLR0917 -- a generator draws from many shares, and says so plainly
from functools import lru_cache
from itertools import pairwise
from types import SimpleNamespace
from typing import NamedTuple

import numpy as np

from linecheck.terms import STEPS_PER_BEAT
from tests.synthetic.charts import QUALITIES, chart, pitch_class
from tests.synthetic.lines import LineNote

ADRIFT_WAYS = ("wrong key", "guess", "hop", "noodle", "chromatic", "riff")
LOW, WALK_HIGH, SOLO_HIGH = 28, 55, 67
ATTEMPTS, GAP = 8, 0.19  # a lost stretch fits worse than one in place by so much
# Tones and scale of the kinds of chords; in a loose one no tone leads.
ALL, BLUES = tuple(range(12)), (0, 3, 5, 6, 7, 10)
LOOSE = {"noodle": ((0, 2, 4, 7, 9), (0, 2, 4, 5, 7, 9, 11)), "bluesy": ((0, 3, 5, 7, 10), BLUES), "any": (ALL, ALL)}  # fmt: skip
KINDS = {kind: ((0, *q[0]), q[2]) for kind, q in QUALITIES.items()} | LOOSE
KINDS |= {"7alt": ((0, 4, 10, 10), KINDS["7alt"][1]), "7#11": ((0, 4, 7, 10), (0, 2, 4, 6, 7, 9, 10))}  # fmt: skip
TENSIONS = {
    "6": (2, 11), "maj7#11": (2, 6, 9), "7#11": (2, 6, 9), "7b9": (1, 3, 8), "7alt": (1, 3, 6, 8),
    "m7": (2, 5), "m": (2, 5), "m6": (2, 11), "m7b5": (5, 8, 2), "dim7": (2, 5), "7#5": (2, 6),
    "aug": (2, 6), **dict.fromkeys(LOOSE, ())}  # fmt: skip
CELLS = {  # where the notes of a beat (or two) stand in it, and how often
    "eighths": {(0, 6): 12, (0,): 2, (6,): 2, (0, 4, 8): 0.6, (): 0.3},
    "off-beats": {(6,): 6, (0, 6): 3, (0,): 2, (): 2}, "long": {(0,): 5, (): 6, (6,): 2.5, (0, 8, 16): 1},
    "quarters": {(0,): 8, (0, 6): 2, (6,): 1, (): 0.7, (0, 8, 16): 0.9},
    "triplets": {(0, 4, 8): 6, (0, 6): 2.5, (0,): 2, (4, 8): 1},
    "sixteenths": {(0, 3, 6, 9): 9, (0, 6, 9): 1.5, (0, 3, 6): 1.5, (0, 6): 1, (0,): 1}}  # fmt: skip
# Log weights of a step by half steps, the last for all wider ones; which of them leaping moves.
SIZES = {
    "plain": (-2.2, 0.4, 0.7, 0.3, 0.1, 0, -2, -0.5, -1.6, -1.8, -2.5, -4, -1.2, -7),
    "leading": (-2, 1.3, 0.8, -0.4, -0.5, 0.4, -2, 0.1, -2.5, -3, -3.5, -5, -2, -7),
    "creep": (-1, 3, 0.8, -1, -1, -2, -3, -2, -4, -5, -5, -5, -3, -7),
    "fast": (-3, 1.2, 1.2, 0.1, -0.2, -1, -2.5, -1.8, -3, -3, -4, -5, -3, -8),
    "quick": (-2.2, 0.9, 1, 0.4, 0.2, -0.3, -1.8, -0.7, -1.2, -1.6, -2.5, -4, -1.6, -6),
    "slow": (-0.9, 0.3, 0.6, 0.5, 0.4, 0.3, -1.2, 0.1, -0.5, -0.7, -1.3, -3, -0.5, -4),
    "breath": tuple(-i / 9 for i in range(40))}  # fmt: skip
LEAPS = {"plain": [3, 4, 5, 6, 7, 8, 9, 12], "quick": [4, 5, 7, 8, 9, 12], "slow": [5, 7, 8, 9, 10, 12]}  # fmt: skip


class Idea(NamedTuple):  # a chord as the player thinks it
    root: int
    kind: str
    bass: int


def charts():
    """Fifteen charts that stand nowhere else."""
    return [
        chart("Tin Roof Ledger", "F", "A", {"A": "F7 | Bb7 | F7 | Cm7 F7 | Bb7 | Bdim7 | F7 | Am7b5 D7b9 | Gm7 | C7 | F7 D7alt | Gm7 C7"}),
        chart("Charcoal Window", "Cm", "A", {"A": "Cm7 | Fm7 | Cm7 | Gm7b5 C7alt | Fm7 | % | Cm7 | % | Ab7 | G7alt | Cm6 Am7b5 | Dm7b5 G7b9"}),
        chart("Pepper On Tuesday", "Bb", "AABA", {"A": "Bb6 G7b9 | Cm7 F7 | Dm7 G7 | Cm7 F7 | Fm7 Bb7 | Ebmaj7 Edim7 | Bb6/F G7 | Cm7 F7", "B": "Am7 | D7 | Dm7 | G7 | Gm7 | C7 | Cm7 | F7"}),
        chart("Slow Ferry Lamp", "Eb", "AABA", {"A": "Ebmaj7 | Gm7b5 C7b9 | Fm7 | Abm6 Db9 | Ebmaj7 / / Cm7 | Fm7 Bb7 | Gm7 C7 | Fm7 Bb7", "B": "Abmaj7 | Am7b5 D7b9 | Gm7 | Cm7 | F13 | % | Fm7 | Bb7sus Bb7"}),
        chart("A Coat For The Gatepost", "G", "ABAC", {"A": "Gmaj7 | Bm7b5 E7b9 | Am7 | Cm6 | Bm7 | E7 | Am7 | D7", "B": "Bm7b5 | E7b9 | Am7 | % | Em7 | A9 | Am7 | D7", "C": "Bm7b5 | E7b9 | Am7 | Cm7 F7 | Bm7 Bb7 | Am7 D7b9 | G6 E7 | Am7 D7"}),
        chart("Salt Flat Hours", "Dm", "AABA", {"A": "Dm7 | % | % | % | Em7/D | % | Dm7 | %", "B": "Fmaj7#11 | % | Ebmaj7 | % | Dbmaj7 | % | Em7b5 | A7alt"}),
        chart("Four Grey Doors", "Gm", "AB", {"A": "Gm7 | % | % | % | Bbm7 | % | % | %", "B": "Ebmaj7 | % | C#m7 | % | Cm7 | % | Am7b5 | D7alt"}),
        chart("Ratchet Study", "Ab", "AB", {"A": "Abmaj7 B7 | Emaj7 G7 | Cmaj7 | Bbm7 Eb7 | Abmaj7 | Dm7 G7 | Cmaj7 | Am7 D7", "B": "Gmaj7 | Cm7 F7 | Bbmaj7 | Ebm7 Ab7 | Dbmaj7 E7 | Amaj7 C7 | Fm7 Bb7 | Bbm7 Eb7"}),
        chart("Thistledown By Threes", "F", "ABAC", {"A": "Fmaj7 | Em7b5 / A7b9 | Dm7 | G7 | Cm7 | F7 | Bbmaj7 | Eb9", "B": "Am7 | Abdim7 | Gm7 | C7 | Am7 | D7b9 | Gm7 | C7", "C": "Am7 | D7alt | Gm7 | Bbm6 | Fmaj7/C | D7 | Gm7 / C7 | F6"}, beats=3),
        chart("Three Quiet Wells", "Am", "AAB", {"A": "Am7 | % | Fmaj7 | % | Bm7b5 | E7b9 | Ammaj7 | Am7", "B": "Dm7 | G7 | Cmaj7 | Fmaj7 | Bm7b5 | E7alt | Am6 | E7alt"}, beats=3),
        chart("Seven Plus A Broom", "C", "AAB", {"A": "Cmaj7 | F#m7b5 B7b9 | Em7 | A7 | Dm7 | Fm6 | Em7 A7alt", "B": "Fmaj7 | Fm7 Bb7 | Ebmaj7 | Am7b5 D7 | Dm7 | G7sus G7"}),
        chart("Fourteen Under Glass", "Db", "A", {"A": "Dbmaj7 | Bbm7 | Ebm7 | Ab7 | Fm7 | E7 | Ebm7 | D7 | Dbmaj7 | Gm7b5 C7b9 | Fm7 Bb7 | Gbmaj7 | Gbm6 | Ab7sus"}),
        chart("Verandah With Goats", "D", "AABD", {"A": "D6 | % | E7 | % | Em7 | A7 | F#m7 Fdim7 | Em7 A7", "B": "Am7 | D7b9 | Gmaj7 | % | Gm7 | C9 | F#m7b5 | B7b9", "D": "D6 | % | E7 | % | Em7 | Gm6 | D6/F# | Fdim7 | Em7 | A7b9 | D6 B7 | Em7 A7"}),
        chart("Nine Mile Kettle", "Fm", "AB", {"A": "Fm6 | Db7 C7 | Fm6 | Cm7b5 F7b9 | Bbm7 | Eb7 | Abmaj7 | Gm7b5 C7", "B": "Fm7 Fm7/Eb | Dm7b5 | Dbmaj7 | C7sus C7b9 | Bbm7 | Ebm7 Ab7 | Dbmaj7 Gb7 | Gm7b5 C7alt"}),
        chart("Old Quay Stomp", "Bb", "A", {"A": "Bb7 | % | % | % | Eb7 | % | Bb7 | Dm7b5 G7alt | Cm7 | F13 | Bb7 G7 | C7 F7"}),
    ]  # fmt: skip


def draw_player(rng):
    """Habits drawn over a wide range: shares are probabilities, leanings log weights."""
    u, usual = rng.uniform, float(np.clip(rng.lognormal(np.log(140), 0.27), 80, 220))
    tempo = usual if rng.random() < 0.6 else u(75, 260)
    fast, doubles = max(0, tempo - 190) / 60, u(0, 0.22) * (4 if tempo < 90 else 1.6)
    return SimpleNamespace(
        tempo=tempo, inversions=u(0.08, 0.6), chromatic=u(-0.8, 0.7), leap=u(-0.6, 0.5),
        cells=np.array([1 / (1 + 0.9 * fast), u(0.3, 1), u(0.12, 0.6) * (0.6 + tempo / 300),
                        0.35 + 0.4 * fast, u(0, 0.25) * (tempo < 195), doubles * (tempo < 148)]),
        repeat=u(-3.2, -1.2), direction=u(0.2, 0.9),  # how gladly it goes on as it goes
        skip=u(0.02, 0.14) * rng.choice([0.3, 1, 1.4]), triplet=u(0, 0.025) * (tempo < 215),
        hold=u(0, 0.03), push=u(0, 0.03), other_chords=u(0, 0.22), pedal=u(0, 0.25),
        register=u(37, 43), two=rng.random() < 0.12,  # the first eight bars in two
        tension=u(-0.9, 0.4), ahead=u(0.2, 0.8), phrase=u(0.6, 1.5), blues=u(-0.4, 0.9),
        rest=u(0.02, 0.08) * rng.choice([1, 1, 2]), altered=u(0, 0.5), center=u(45, 53),
        span=u(5, 10), motif=u(0.05, 0.35), legato=u(0.8, 0.97), loudness=u(72, 92),
    )  # fmt: skip


@lru_cache(maxsize=2048)
def _roles(idea, count):
    """Of each pitch from LOW up: 0 root to 3 seventh, 4 tension, 5 scale, 6 outside."""
    above = (np.arange(LOW, LOW + count) - idea.root) % 12
    roles = np.where(np.isin(above, KINDS[idea.kind][1]), 5, 6)
    roles[np.isin(above, TENSIONS.get(idea.kind, (2, 9)))] = 4
    for index, tone in enumerate(KINDS[idea.kind][0]):
        roles[above == tone] = 0 if idea.kind in LOOSE else min(index, 3)
    return roles


def _idea(form, beat):
    chord = form.chord(beat * STEPS_PER_BEAT)
    return Idea(chord.root, chord.kind, chord.bass) if chord.tones else Idea(0, "any", 0)


def _mind(form, start, stop, rng):
    """What is in mind for every beat of a stretch, and for a bar beyond it."""
    span = range(start, stop + (bar := form.chart.meter.beats))
    spots = [form.at(beat * STEPS_PER_BEAT).spot for beat in span]
    opening = [s.bar.opens_section or (s.bar_index % 4 == 0 and rng.random() < 0.25) for s in spots]
    return SimpleNamespace(
        ideas=[_idea(form, b) for b in span], beats=[int(s.beat) - 1 for s in spots], first=start,
        opens=[o and s.beat == 1 for o, s in zip(opening, spots, strict=True)], bar=bar,
        tonic=pitch_class(form.chart.key.tonic), jumps=set(), unsure=set(), silent=set(),
        blues=form.beats == 12 * bar or rng.random() < 0.3,
    )  # fmt: skip


def _other_chords(mind, share, rng):
    """Here and there other chords that lead to the same place; on which beats chords change."""
    ideas = list(mind.ideas)
    changes = [i for i, c in enumerate(ideas) if i == 0 or i in mind.jumps or c != ideas[i - 1]]
    for begins, after in pairwise(changes):
        was, goal = ideas[begins], ideas[after].root
        if rng.random() > share or after - begins < 2 or was.kind in LOOSE:
            continue
        at, end, rise = begins, min(after, begins + 8), (goal - was.root) % 12
        beats, dominant, root, kind = end - begins, was.kind[:1] in ("7", "9", "1"), 0, ""
        if dominant and rise == 5 and rng.random() < 0.6:
            at = begins if rng.random() < 0.4 else end - beats // 2
            root, kind = was.root + 6, "7#11"
        elif dominant and beats >= 3:
            end, root, kind = begins + beats // 2, was.root + 7, "m7"
        elif not dominant and beats >= 4 and rise in (2, 5):
            at, (root, kind) = end - 2, ((goal - 1, "dim7") if rise == 2 else (goal + 7, "7b9"))
        if kind:
            ideas[at:end] = [Idea(root % 12, kind, root % 12)] * (end - at)
    return ideas, [i in changes or c != ideas[i - 1] for i, c in enumerate(ideas)]


def _drawn(weights, rng):
    return int(rng.choice(len(weights), p=np.array(weights) / np.sum(weights)))


def _pitches(leanings, kinds, rng, player):
    """A line of pitches, one for each row of leanings; ``kinds`` are of the step after each."""
    (length, count), way = leanings.shape, player.direction
    columns, moves = np.arange(count), {}
    away = columns[None, :] - columns[:, None]
    turns = np.where(away == 0, 4, (away < 0) + 2 * (np.abs(away) > 4))  # up, down, leaps, none
    leapt = [-0.5, 0.5, -0.5, 0, 0], [0.5, -0.5, 0, -0.5, 0]  # a leap turns back
    bent = np.array([[way, -way, 0, 0, 0], [-way, way, 0, 0, 0], *leapt, [0] * 5])
    for k in set(kinds):
        sizes = np.array(SIZES[k], float)
        sizes[LEAPS.get(k, [])] += player.leap
        sizes[:2] += (player.repeat + 2.2) * (k == "plain"), player.chromatic * (k == "leading")
        moves[k] = np.exp(sizes[np.minimum(np.abs(away), len(sizes) - 1)] + bent[:, turns])
    here = np.exp(leanings - leanings.max(1, keepdims=True))
    ahead = [np.ones((count, 5))] * length
    for i in range(length - 2, -1, -1):
        onward = (here[i + 1][:, None] * ahead[i + 1])[columns[None, :], turns]
        sums = np.einsum("dpq,pq->pd", moves[kinds[i]], onward)
        ahead[i] = sums / sums.max()
    pitch, turn = _drawn(here[0] * ahead[0][:, 4], rng), 4
    line = [pitch + LOW]
    for i in range(length - 1):
        onward = here[i + 1] * ahead[i + 1][columns, turns[pitch]]
        after = _drawn(moves[kinds[i]][turn, pitch] * onward, rng)
        turn, pitch = int(turns[pitch, after]), after
        line.append(pitch + LOW)
    return line


def _line(notes, start, stop, high):
    """Notes (step, length, pitch, loudness) one at a time, from beat ``start`` to ``stop``."""
    begin, end = start * STEPS_PER_BEAT, stop * STEPS_PER_BEAT
    kept = [n for n in {n[0]: n for n in sorted(notes)}.values() if 0 <= n[0] < end - begin]
    line = []
    for (at, length, pitch, loud), after in zip(kept, [*kept, (end - begin,)][1:], strict=True):
        sound = int(np.clip(pitch, LOW, high)), int(np.clip(loud, 18, 120))
        line.append(LineNote(begin + at, begin + min(after[0], at + max(1, round(length))), *sound))
    return line


def _pedal(mind, ideas, beat, loud, rng):
    """One note under whole bars from ``beat`` on, where it fits, and the beat it ends on."""
    bar, idea = mind.bar, ideas[beat]
    pool = [p for p in (mind.tonic + 7, mind.tonic, idea.root) if (p - idea.root) % 12 in KINDS[idea.kind][0]]  # fmt: skip
    low = LOW + (int(rng.choice(pool)) - LOW) % 12
    low += 12 * (low < 32 and rng.random() < 0.5)
    end = min([beat + int(rng.choice([2, 4, 4, 8])) * bar, len(ideas), *(j for j in mind.jumps if j > beat)])  # fmt: skip
    bars = [*((low - c.root) % 12 in KINDS[c.kind][1] for c in ideas[beat:end]), False].index(False) // bar  # fmt: skip
    figure = [
        [(b * 12, 10, 0) for b in range(bar)], [(b * 12, 10, b % 2 * 12) for b in range(bar)],
        [(b * 12, 20, 0) for b in range(0, bar, 2)], [(0, 16, 0), (18, 14, 0)],
    ][rng.integers(4)]  # fmt: skip
    ons = range(beat * 12, (beat + bars * bar) * 12, bar * 12) if bars > 1 else ()
    return [(on + at, length, low + up, loud) for on in ons for at, length, up in figure], beat + len(ons) * bar  # fmt: skip


def walk(form, start, stop, rng, player, mind=None):
    """Walking over the beats from ``start`` to ``stop`` of a form, or over what is in mind."""
    mind = mind or _mind(form, start, stop, rng)
    ideas, new = _other_chords(mind, player.other_chords, rng)
    inv, u = player.inversions, rng.uniform
    on_change = np.log([1, 0.5 * inv, 0.45 * inv, 0.2 * inv, 0.012, 0.006, 0.002])
    on_one = np.log([0.8, 0.5 * inv + 0.1, 0.6 * inv + 0.15, 0.35 * inv, 0.06, 0.04, 0.01])
    on_three = np.log([0.7, 0.9, 1, 0.7, 0.3, 0.25, 0.05])
    between = np.log([0.8, 0.9, 1, 0.8, 0.5, 0.42, 0.12]) + player.chromatic * np.eye(7)[6]
    leading = np.array([0, 0, 0, 0, 0.2, 0.3, 1.2 + 0.5 * player.chromatic])
    time, pitches = np.arange(len(ideas)), np.arange(LOW, WALK_HIGH + 1)
    middle = player.register + 3.5 * np.sin(time * u(0.12, 0.3) + u(0, 6))
    middle += 3 * np.sin(time * u(0.03, 0.1) + u(0, 6))
    leanings, kinds = -((pitches[None, :] - middle[:, None]) ** 2) / 60, []
    for i, (idea, beat, leads) in enumerate(zip(ideas, mind.beats, [*new[1:], False], strict=True)):
        weights = on_three if beat == 2 and mind.bar == 4 else between
        weights = on_change if new[i] else on_one if beat == 0 else weights
        leanings[i] += (weights + leading * (leads and not new[i]))[_roles(idea, len(pitches))]
        if idea.bass != idea.root:
            leanings[i][(pitches - idea.bass) % 12 == 0] = 0.3 if new[i] else -0.2
        kinds.append("creep" if idea.kind == "any" else "leading" if leads else "plain")
    line, notes, under = _pitches(leanings, kinds, rng, player), [], 0  # under: where a pedal ends
    for i, (pitch, after) in enumerate(pairwise([*line, line[-1]])):
        unsure, place = i in mind.unsure, mind.beats[i]
        loud = player.loudness + rng.normal(0, 5) + 3 * (place in (1, 3)) - 12 * unsure
        if i >= under and mind.opens[i] and not unsure and rng.random() < player.pedal:
            held, under = _pedal(mind, ideas, i, loud, rng)
            notes += held
        if i < under:
            continue
        in_two = player.two and mind.first + i < 8 * mind.bar and place % 2
        holds = not new[i] and rng.random() < player.hold + 0.12 * unsure
        if holds or (in_two and rng.random() < 0.85):
            notes[-1:] = [(at, length + 12, *sound) for at, length, *sound in notes[-1:]]
        elif place == 0 and i and i not in mind.jumps and rng.random() < player.push:
            notes.append((i * 12 - 6, 17, pitch, loud + 4))
        else:
            struck = notes[-1][2] if unsure and notes and rng.random() < 0.15 else pitch
            notes.append((i * 12, 11, struck, loud))
            roll, less, skip = rng.random(), rng.uniform(5, 30), player.skip / (1 + unsure)
            tones = [p for p in range(max(LOW, struck - 9), struck + 10) if p != struck and (p - ideas[i].root) % 12 in KINDS[ideas[i].kind][0]]  # fmt: skip
            if roll < skip:  # something between this beat and the next
                kind, string = int(rng.choice(4, p=[0.45, 0.2, 0.15, 0.2])), LOW + 5 * min(3, max(0, round((struck - LOW) / 5)))  # fmt: skip
                extra = (struck, string, after + int(rng.choice([-1, 1, 2, -2])), after)[kind]
                ghost = kind < 2 and rng.random() < 0.4
                notes.append((i * 12 + 6, 4, extra, loud / 3 if ghost else loud - less))
            elif roll < skip + player.triplet:
                one, two = (int(rng.choice(t)) for t in (tones, tones if rng.random() < 0.6 else [struck]))  # fmt: skip
                notes += [(i * 12 + 4, 3, one, loud - less), (i * 12 + 8, 3, two, loud - less / 2)]
    return _line(notes, start, stop, WALK_HIGH)


def _phrases(mind, rng, player):
    """Where the notes of each phrase stand: cells that change now and then, or the last again."""
    length, phrases = len(mind.ideas), []
    beat = int(rng.choice([0, 0, 0, 1, 1, 2, 3, 4]))
    on_one = beat == 0 and rng.random() < 0.6
    while beat < length:
        if phrases and rng.random() < player.motif and len(phrases[-1]) < 12:
            onsets = [s + (beat - phrases[-1][0] // 12) * 12 for s in phrases[-1]]
            onsets = onsets[: max(2, len(onsets) - max(0, int(rng.integers(-3, 3))))]
        else:
            end = beat + int(np.clip(rng.gamma(3, 2.6 * player.phrase) + 1.5, 2, 30))
            onsets, at, mode = [], beat, ""
            while at < end:
                if not mode or rng.random() < 0.22:
                    mode = list(CELLS)[_drawn(player.cells, rng)]
                cell = list(CELLS[mode])[_drawn(list(CELLS[mode].values()), rng)]
                cell = (0,) if 4 in cell and player.tempo >= 200 else cell
                if at == beat and rng.random() < 0.4 and (phrases or not on_one):
                    cell = tuple(s for s in cell if s >= 6) or (6,)
                onsets += [at * 12 + s for s in cell if s == at - beat == 0 or rng.random() > 0.03]
                at += 1 + (16 in cell)
            onsets = sorted({*onsets, beat * 12}) if on_one and not phrases else onsets
        onsets = [s for s in onsets if s < length * 12 and s // 12 not in mind.silent]
        onsets = [s for s in onsets if s == beat * 12 or s // 12 not in mind.unsure or rng.random() > 0.12]  # fmt: skip
        phrases += [onsets] if onsets else []
        breath = rng.gamma(1.6, 1.5 / player.phrase)
        breath += mind.bar * rng.integers(1, 4) if rng.random() < player.rest else 0
        beat = (onsets[-1] // 12 if onsets else beat) + 1 + round(breath)
        beat += rng.random() < 0.35 and beat < length and mind.beats[beat] == 0
    return phrases


def solo(form, start, stop, rng, player, mind=None):
    """A solo over the beats from ``start`` to ``stop`` of a form, or over what is in mind."""
    mind = mind or _mind(form, start, stop, rng)
    ideas, new = _other_chords(mind, player.other_chords * 0.6, rng)
    pitches, u = np.arange(LOW, SOLO_HIGH + 1), rng.random
    blues = np.isin((pitches - mind.tonic) % 12, BLUES) * mind.blues * player.blues * 0.5
    tense, end, leanings, kinds, notes = player.tension, player.center, [], [], []
    for onsets in _phrases(mind, rng, player):
        begin = float(np.clip(0.4 * end + 0.6 * rng.normal(player.center, player.span), 33, 63))
        end = float(np.clip(rng.normal(player.center, player.span), 33, 62))
        arch, runs_ahead = rng.normal(0, 5), u() < player.ahead
        for i, (at, after) in enumerate(pairwise([*onsets, onsets[-1] + 108])):
            gap, last, through = after - at, i + 1 == len(onsets), i / max(1, len(onsets) - 1)
            beat, inside = divmod(at, 12)
            idea, later, place = ideas[beat], ideas[beat : beat + 2][-1], mind.beats[beat]
            strong = inside == 0 and (place in (0, 2 * (mind.bar == 4)) or new[beat])
            if later != idea and beat + 1 not in mind.jumps:  # perhaps it hears the next one
                tied = inside >= 6 and inside + gap >= 17
                share = 0.25 if inside >= 6 else 0.12 * (place == mind.bar - 1)
                if u() < share * player.ahead or (tied and (runs_ahead or u() < 0.7)):
                    idea, strong = later, strong or tied
            if idea.kind in ("7", "9") and u() < player.altered * 0.3:
                idea = idea._replace(kind="7b9" if u() < 0.6 else "7alt")
            weights = [0, 0, 0, 0, 0, -0.1, -1.3 + player.chromatic]
            if strong or gap >= 12:
                weights = [-0.5, 0.5, 0, 0.5, tense, -1.6 - (gap >= 12), -4.5 - (gap >= 12)]
            elif inside == 0:
                weights = [-0.1, 0.2, 0.1, 0.2, -0.1 + 0.5 * tense, -0.7, -2.2]
            middle = begin + (end - begin) * through + arch * np.sin(np.pi * through)
            leanings.append(np.array(weights)[_roles(idea, len(pitches))] + blues - (pitches - middle) ** 2 / 55)  # fmt: skip
            kind = "fast" if gap < 5 else "quick" if gap < 9 else "slow"
            kinds.append("breath" if last else "creep" if idea.kind == "any" else kind)
            ends = rng.choice([5, 7, 12, 18, 24, 36, 48], p=[0.22, 0.2, 0.2, 0.15, 0.11, 0.08, 0.04])  # fmt: skip
            loud = player.loudness + rng.normal(0, 7) + 4 * strong + 4 * (inside > 5 and gap > 10)
            loud /= 3 if gap < 9 and u() < 0.06 else 1  # swallowed
            notes.append((at, ends if last else gap * player.legato, loud))
    line = _pitches(np.array(leanings), kinds, rng, player) if notes else []
    notes = [(at, length, p, loud) for p, (at, length, loud) in zip(line, notes, strict=True)]
    return _line(notes, start, stop, SOLO_HIGH)


def _guessed(form, way, beats, rng):
    """Chords, or only scales, that the player guesses at for so many beats."""
    bar, tonic = form.chart.meter.beats, pitch_class(form.chart.key.tonic)
    key = int(tonic + 3 * form.chart.key.minor + rng.choice([0, 0, 5, 7])) % 12
    noodle = Idea(key, "noodle", key) if rng.random() < 0.6 else Idea(tonic, "bluesy", tonic)
    up, ideas = int(rng.choice([1, 2, 3, 4, 6, 8, 9, 10, 11])) * (way == "wrong key"), []
    while len(ideas) < beats:
        length = beats if up else int(rng.choice([bar, bar, 2 * bar, 2 if bar == 4 else 3]))
        root = (tonic + _drawn([2, 1, 2, 1, 2, 2, 1, 2, 1, 2, 1, 1], rng)) % 12
        guess = Idea(root, str(rng.choice(["m7", "7", "maj7", "m7b5", "7"])), root)
        at = int(rng.integers(form.beats // bar)) * bar
        there = [_idea(form, at + i) for i in range(length)]
        moved = [Idea((c.root + up) % 12, c.kind, (c.bass + up) % 12) for c in there]
        held = {"chromatic": Idea(0, "any", 0), "noodle": noodle}.get(way, guess)
        ideas += moved if way in ("hop", "wrong key") else [held] * length
    return ideas[:beats]


def _lost(form, start, stop, rng, player, way, play):
    """Parts of some bars, one way of guessing after another; the given way leads."""
    bar, beats, mind = form.chart.meter.beats, stop - start, _mind(form, start, stop, rng)
    ideas, riffs = [], []
    while (left := beats - len(ideas)) > 0:
        length = int(rng.integers(2, 9)) * bar
        length = left if left - length < 2 * bar else length
        now = way if not ideas or rng.random() < 0.5 else str(rng.choice(ADRIFT_WAYS))
        riffs += [(len(ideas) * 12, (len(ideas) + length) * 12)] if now == "riff" else []
        ideas += _guessed(form, now, length, rng)
    mind.ideas[:beats], mind.jumps = ideas, {0, beats}
    mind.unsure = {i for i in range(beats) if rng.random() < 0.7}
    if rng.random() < 0.6:  # before it finds back
        last = range(max(0, beats - int(rng.integers(1, bar + 2))), beats)
        mind.unsure, mind.silent = {*mind.unsure, *last}, {i for i in last if rng.random() < 0.6}
    notes = [(n.step - start * 12, n.end_step - n.step, *n[2:]) for n in play(form, start, stop, rng, player, mind)]  # fmt: skip
    for at, end in riffs:  # the first bar or two over and over, now and then moved a little
        length = int(rng.choice([1, 2])) * bar * 12
        figure = [n for n in notes if at <= n[0] < at + length]
        notes = [n for n in notes if not at + length <= n[0] < end]
        for on in range(length, end - at, length):
            up = int(rng.choice([0, 0, 0, 1, -1, 2]))
            notes += [(s + on, long, p + up, v) for s, long, p, v in figure if s + on < end - 5]
    return _line(notes, start, stop, WALK_HIGH if play is walk else SOLO_HIGH)


def _fit(form, notes, offsets):
    """How well notes on the beat fit the form at the best of some offsets in beats."""
    on = np.array([(n.step // 12, n.pitch % 12) for n in notes if n.step % 12 == 0] or [(0, 0)])
    worth, ideas = np.zeros((form.beats, 12)), [_idea(form, beat) for beat in range(form.beats)]
    for beat, idea in enumerate(ideas):
        worth[beat, [(idea.root + t) % 12 for t in KINDS[idea.kind][0]]] = 1
        worth[beat, idea.bass] += 0.8 * (ideas[beat - 1] != idea)
    return float(worth[(on[:, 0] + offsets[:, None]) % form.beats, on[:, 1]].mean(1).max())


def adrift(form, start, stop, rng, player, way, play):
    """A stretch that fits the form nowhere: of some attempts one that fits no place well."""
    play = play if play in (walk, solo) else (walk, solo)[rng.integers(2)]
    bar, tried = form.chart.meter.beats, []
    least = _fit(form, play(form, start, start + 16 * bar, rng, player), np.arange(1)) - GAP
    for _ in range(ATTEMPTS):
        line = _lost(form, start, stop, rng, player, way, play)
        parts = [(n.step - start * 12) // (24 * bar) for n in line]
        thin = any(parts.count(i) < 2 for i in range((stop - start) // (2 * bar)))
        tried.append((_fit(form, line, np.arange(form.beats)) + 2 * thin, line))
        if tried[-1][0] < least:
            break
    return min(tried)[1]
