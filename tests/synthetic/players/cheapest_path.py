"""A player whose lines are cheapest paths.

Every pitch has a price under its chord, and so has every interval and every turn of direction; a
line is the cheapest way through it all, with noise on each note. Habits are the prices. Adrift,
other chords or a few notes are heard in the head, at the same prices. Walking lies from E1 = 28
to 55, a solo reaches 67; ghost notes sound at about a third of the usual velocity.
"""

# ruff: noqa: C901, PLR0912, PLR0917 -- a generator weighs many things, and says so plainly

from __future__ import annotations

from collections import namedtuple
from functools import lru_cache
from types import SimpleNamespace as Player
from typing import TYPE_CHECKING

import numpy as np

from linecheck.music.form import Form
from tests.synthetic.charts import chart, chord, pitch_class, scale
from tests.synthetic.lines import LineNote

if TYPE_CHECKING:
    from numpy.random import Generator

    from linecheck.terms import Chart, Chord

ADRIFT_WAYS = ("other tune", "wrong key", "guessed roots", "wandering", "noodling", "searching",
               "few notes")  # fmt: skip
TRIES = 8  # draws of a stretch adrift, until it fits nowhere
PITCHES = np.arange(28, 68)
WALK_TOP, OPEN_STRINGS = 55, (28, 33, 38, 43)
MOVES = PITCHES[None, :] - PITCHES[:, None]
SIZES, SIDES = np.abs(MOVES), np.stack([MOVES == 0, MOVES > 0, MOVES < 0])
OTHER_SIDE = np.where(SIDES, 0, 1e6)
MAJOR, MINOR, BLUES = (0, 2, 4, 5, 7, 9, 11), (0, 2, 3, 5, 7, 8, 10), (0, 3, 5, 6, 7, 10)
# What this player hears as a chord's tones where it is more, or other, than the plain four.
TONES = {"9": (0, 2, 4, 7, 10), "13": (0, 4, 7, 9, 10), "7b9": (0, 1, 4, 7, 10),
         "7alt": (0, 4, 8, 10)}  # fmt: skip
# Rhythms of a solo: beats, and the notes in them by step and length; with their usual weight.
CELLS = {
    "quarter": (1, ((0, 12),), 1.0), "eighths": (1, ((0, 6), (6, 6)), 2.6),
    "triplet": (1, ((0, 4), (4, 4), (8, 4)), 0.35), "off-beat": (1, ((6, 6),), 0.4),
    "tied": (2, ((0, 6), (6, 18)), 0.4), "long": (2, ((0, 24),), 0.3),
    "dotted": (2, ((0, 18), (18, 6)), 0.4), "wide triplet": (2, ((0, 8), (8, 8), (16, 8)), 0.1),
    "sixteenths": (1, ((0, 3), (3, 3), (6, 3), (9, 3)), 0.25), "short": (1, ((0, 6),), 0.3),
}  # fmt: skip
LICKS = ((2, 2, 3), (4, 3, 4), (3, 4, 3), (-2, -1, -2, -2), (-1, -1, -1), (2, 1, 2, 2),
         (-3, -4, -3), (3, -4, 1), (1, -2, 1), (-2, 5, -2, -3), (7, -2, -1))  # fmt: skip
# A chord in pitch classes; a beat: where in its bar, and how far from its chord's ends; a note.
Heard = namedtuple("Heard", "root bass tones run")  # noqa: PYI024
Spot = namedtuple("Spot", "pos since left chord")  # noqa: PYI024
Struck = namedtuple("Struck", "step length role opens closes", defaults=(0, 0))  # noqa: PYI024


def charts() -> list[Chart]:
    """Fifteen charts that stand nowhere else."""
    return [
        chart("Corner Shop Nocturne", "F", "A", {"A": "F7|Bb7|F7|Cm7 F7|Bb7|Bdim7|F7|Am7b5 D7b9|"
            "Gm7|Db9 C7|F7 D7alt|Gm7 C7"}),
        chart("Low Lamp", "Cm", "A", {"A": "Cm7|Fm7|Cm7|Gm7b5 C7alt|Fm7|%|Cm7|%|Ab7|G7alt|Cm7|"
            "Dm7b5 G7b9"}),
        chart("Ladder Talk", "Bb", "A", {"A": "Bbmaj7|Am7b5 D7b9|Gm7 C7|Fm7 Bb7|Eb7|Ebm7 Ab7|"
            "Dm7 G7|Dbm7 Gb7|Cm7|F7|Bbmaj7 G7alt|Cm7 F7"}),
        chart("Paper Umbrella", "Eb", "ABCB", {"A": "Ebmaj7|Gm7b5 C7b9|Fm7|Bb7|Gm7 C7|Fm7 Bb7|"
            "Ebmaj7 Cm7|Fm7 Bb7", "B": "Ebmaj7|Gm7b5 C7b9|Fm7|Bb7|Gm7 C7|Fm7 Bb7|Eb6|%",
            "C": "Bbm7|Eb7|Abmaj7|%|Am7b5|D7b9|Gm7 C7|Fm7 Bb7"}),
        chart("Quick Errand", "Bb", "AABA", {"A": "Bb6 G7|Cm7 F7|Dm7 G7b9|Cm7 F7|Bb7/D / / Bb7|"
            "Eb6 Edim7|Bb6/F G7|Cm7 / F7 /", "B": "Am7b5|D7|Dm7b5|G7|Gm7|C7|Cm7|F7"}),
        chart("Harbour Ledger", "G", "ABAC", {"A": "Gmaj7|%|Bm7b5|E7b9|Am7|%|Cm7|F7", "B": "Bm7|"
            "Bbdim7|Am7|D7|Bm7|E7|Am7|D7", "C": "Bm7|E7alt|A7|%|Am7|D7b9|G6 E7|Am7 D7"}),
        chart("Quarter to Nowhere", "F", "ABAC", {"A": "Fmaj7|Em7b5 A7|Dm7|Cm7 F7|Bbmaj7|Bbm7 Eb7|"
            "Am7|D7", "B": "G7|%|Gm7|C7sus|Abm7|Db7|Gm7|C7", "C": "Bbmaj7|Bm7b5 E7|Am7|Abdim7|Gm7|"
            "C7b9|F6|Gm7 / C7 /"}),
        chart("Saltpan", "Fm", "AABA", {"A": "Fm7|%|%|%|%|%|%|%", "B": "Abm7|%|%|%|Dm7|%|C7sus|%"}),
        chart("Still Pond", "Dm", "AB", {"A": "Dm7|%|%|%|Bbmaj7#11|%|%|%", "B": "Gm7|%|Em7b5|A7alt|"
            "Dm7|%|Ebmaj7|A7sus"}),
        chart("Spin Gate", "C", "AB", {"A": "Cmaj7 Eb7|Abmaj7 B7|Emaj7|Em7 A7|Dmaj7 F7|Bbmaj7 Db7|"
            "Gbmaj7|Dm7 G7", "B": "Em7b5 A7b9|Dm7 Fm7|Em7 Ebm7|Dm7 Db7|Gm7 C7|F#m7 B7|Fmaj7 Bb13|"
            "Em7 A7 Dm7 G7"}),
        chart("Paper Boat Waltz", "D", "ABAC", {"A": "Dmaj7|Bm7|Em7|A7|F#m7|B7b9|Em7|A7",
            "B": "Am7|D7|Gmaj7|Gm6|F#m7|Fdim7|Em7|A7sus / A7", "C": "Am7|D7|Gmaj7|C9|F#m7|Em7 / A7|"
            "D6|%"}, beats=3),
        chart("Fourteen Pegs", "Gm", "A", {"A": "Gm6|%|Cm7|F9|Bbmaj7|Ebmaj7|Am7b5|D7b9|Gm7 Gm7/F|"
            "Em7b5|Eb7|D7alt|Gm6|Am7b5 D7"}),
        chart("Odd Sock", "Ab", "ABC", {"A": "Abmaj7|Db7|Abmaj7|Cm7 F7|Bbm7|Eb7|Cm7 Bdim7|Bbm7 Eb7",
            "B": "Dbmaj7|Dbm7 Gb7|Cm7|F7alt", "C": "Bbm7|Bbm7b5|Eb7|E7|Abmaj7|F7|Bbm7|Eb7"}),
        chart("South Seat", "Am", "ABAC", {"A": "Am7|%|Bm7b5|E7b9|Ammaj7|Am7|Gm7|C7", "B": "Fmaj7|"
            "%|Bm7b5|E7|Cmaj7|A7|Dm7|G7", "C": "Fmaj7|F#dim7|Em7|A7b9|Bm7b5|E7alt|Am6|Bm7b5 E7"}),
        chart("The Long Corridor", "Db", "AABC", {"A": "Dbmaj7|Gm7b5 C7|Fm7|Bb7|Ebm7|Gb6 Gbm6|"
            "Dbmaj7/Ab Bb7|Ebm7 Ab7", "B": "Amaj7|%|Bm7|E7|Amaj7|F#m7|Ebm7b5|Ab7b9", "C": "Dbmaj7|"
            "Gm7b5 C7|Fm7|Bb7|Ebm7|Gbm6|Fm7|Edim7|Ebm7|Ab7|Db6|Ebm7 / Ab7 /"}),
    ]  # fmt: skip


def draw_player(rng: Generator) -> Player:
    """A player: prices drawn widely around the usual ones, from steady hand to loose."""
    u, pick = rng.uniform, rng.choice

    def near(usual: float, spread: float = 0.35) -> float:
        return float(usual * rng.lognormal(0, spread))

    unison, wide = near(1.3, 0.7), [3.2 + 0.25 * more for more in range(1, len(PITCHES) - 12)]
    walked = [unison, *map(near, (0.3, 0.2, 0.5, 0.6, 0.65, 1.7, 0.8, 1.6, 1.8, 2, 3, 1.3))]
    soloed = [*map(near, (1.4, 0.3, 0.15, 0.35, 0.5, 0.7, 1.5, 1, 1.5, 1.6, 1.9, 2.6, 1.6))]
    skipped = [0.1, *walked[1:12], 0.6]
    leaps = {"walk": walked, "solo": soloed, "skip": skipped, "ghost": skipped}
    leaps = {role: np.array([*prices, *wide])[SIZES] for role, prices in leaps.items()}
    leaps["fresh"] = np.minimum(0.09 * SIZES, 2.0)
    moved = np.array([False, True, True])[:, None, None]
    on, back = SIDES & moved, SIDES[[0, 2, 1]] & moved
    turns = near(0.25, 0.6) * back + on * np.where(SIZES > 4, 0.7, near(0.12, 0.6))
    approach = np.full(12, 9.0)  # by half steps above the goal
    approach[[11, 1, 2, 10, 7, 0]] = [near(x, 0.7) for x in (0.25, 0.35, 0.5, 0.6, 0.6, 2.0)]
    pace = np.clip(rng.normal(140, 35), 80, 220) if rng.random() < 0.75 else u(75, 260)
    skill = u(0.2, 1.0)
    return Player(
        heat=0.42 - 0.2 * skill + u(0, 0.15), wrong=0.02 * (1 - skill),  # noise on the prices
        root=near(2.0), other_tone=near(1.0), outside=near(4.5), run_tone=near(0.7),
        off_run=near(2.2), contour=near(0.5), guide=near(0.5, 0.5), leaps=leaps, turns=turns,
        approach=approach, fit=u(0.65, 1.3),  # how much the chord matters in a solo
        cells={name: near(usual, 0.5) for name, (_, _, usual) in CELLS.items()},
        walk_middle=u(37, 43), solo_middle=u(44, 54), two_feel=rng.random() < 0.06,
        skip=pick([0, 0.02, 0.06, 0.12]), ghost=pick([0, 0, 0.03, 0.08]),
        early=u(0, 0.6), late=u(0, 0.25) * (1 - skill),  # thinks of the next chord, or the last
        blues=pick([0, 0, 0.1, 0.25]), lick=u(0, 0.5), phrase=near(9, 0.3), persist=u(0.25, 0.65),
        rest=near(2.6, 0.4), long_rest=(0.13, 5) if rng.random() < 0.27 else (0.03, 3),
        swing=u(0.54, 0.69), legato=u(0.72, 0.99), loud=(u(66, 96), u(4, 10)), backbeat=u(-3, 8),
        pace=float(pace), hesitates=0.004, head={},  # beats a minute; what is heard when adrift
    )  # fmt: skip


@lru_cache(maxsize=256)
def _heard(of: Chord, by: int = 0) -> Heard:
    root, own, b9 = (of.root or 0) + by, TONES.get(of.kind), of.kind == "7b9"
    own = own or [t.pitch_class - (of.root or 0) for t in of.tones]
    tones = frozenset((root + i) % 12 for i in own)
    run = tones | {(pc + by) % 12 for pc in scale(of)} | ({(root + 3) % 12} if b9 else set())
    return Heard(root % 12, (root if of.bass is None else of.bass + by) % 12, tones, run)


@lru_cache(maxsize=4096)
def _among(classes: frozenset[int]) -> np.ndarray:
    return np.isin(PITCHES % 12, list(classes))


def _over(form: Form) -> list[Heard]:
    return [_heard(form.chord(beat * 12)) for beat in range(form.beats)]


def _spots(form: Form) -> list[Spot]:
    chords, made = _over(form), []
    for beat, now in enumerate(chords):
        since = next((k for k in range(1, form.beats) if chords[beat - k] != now), form.beats) - 1
        to = (k for k in range(1, form.beats) if chords[(beat + k) % form.beats] != now)
        made.append(Spot(beat - form.bar_begins(beat * 12) // 12, since, next(to, form.beats), now))
    return made


def _tiers(of: Heard, tone: float, run: float, out: float) -> np.ndarray:
    return np.where(_among(of.tones), tone, np.where(_among(of.run), run, out))


def _walk_price(player: Player, spot: Spot, ahead: Heard, still: bool) -> np.ndarray:
    above, first = (PITCHES - spot.chord.bass) % 12, spot.since == 0
    out, tone = player.outside, player.other_tone + 0.3 * player.root
    if spot.left == 1:  # the beat before a change leads to the next chord's bass
        price = _tiers(spot.chord, 0.9, 1.2, 2.3)
        price = np.minimum(price, player.approach[(PITCHES - ahead.bass) % 12])
        return 0.5 * price + 1.2 * player.other_tone * (above != 0) if first else price
    if first:
        price = _tiers(spot.chord, tone, out, out) + 0.5 * ~np.isin(above, [3, 4, 7])
        return (above != 0) * np.maximum(price, 0.3)
    if spot.pos == 0:
        share = 0.35 if still else 0.6
        return (above != 0) * _tiers(spot.chord, share * player.root, *[share * out + 0.5] * 2)
    run, out = (1.3, 1.2) if spot.pos == 2 else (0.6, 0.6)
    price = _tiers(spot.chord, 0.1, run * player.run_tone, out * player.off_run)
    return price + 0.25 * (above == 0)


def _prices(form: Form, line: list[Struck], rng: Generator, player: Player):
    """What every pitch costs for one note after the other, with noise."""
    spots, head, start, blues = _spots(form), player.head, line[0].step, False
    tonic = pitch_class(form.chart.key.tonic)
    bends = rng.normal(0, 4.0, (line[-1].step - start) // 96 + 4)  # where the line is bound for
    for note in line:
        (beat, inside), noise, is_solo = divmod(note.step, 12), 1.0, note.role == "solo"
        before, spot, after = (spots[(beat + i) % form.beats] for i in (-1, 0, 1))
        over, ahead, heard = spot.chord, after.chord, head.get(beat)
        still = spot.left + spot.since > 2 * form.chart.meter.beats
        if isinstance(heard, Heard):
            over, ahead = heard, head.get(beat + 1, heard)
            since = max(1, spot.pos) if head.get(beat - 1) == heard else 0
            spot = Spot(spot.pos, since, 2 - (ahead != heard), heard)
        if note.opens:
            blues = rng.random() < player.blues
        if isinstance(heard, frozenset):
            price, noise = np.where(_among(heard), 0, 2.5 if len(heard) < 3 else 1.8), 1.6
        elif note.role == "walk":
            price = _walk_price(player, spot, ahead, still)
        elif note.role == "skip":
            price = _tiers(over, 0.1, 0.5, 1.4)
        elif note.role == "ghost":
            price, noise = 0.6 * ~np.isin(PITCHES, OPEN_STRINGS), 0.5
        else:
            if inside >= 6 and spot.left == 1 and rng.random() < player.early:
                over = ahead
            elif not spot.since and inside and heard is None and rng.random() < player.late:
                over = before.chord
            target = not spot.since and not inside
            if target or note.closes or note.length >= 12 or (not inside and spot.pos % 2 == 0):
                price = _tiers(over, 0.15, 1.2 * player.run_tone, 1.4 * player.off_run)
            else:
                price = _tiers(over, 0.1, 0.35 * player.run_tone, 0.6 * player.off_run)
            guides = np.isin((PITCHES - over.root) % 12, [3, 4, 10, 11])
            price = (price - target * player.guide * guides) * player.fit * (1 + note.closes / 2)
            if blues:
                price = 0.35 * price + 1.3 * ~np.isin((PITCHES - tonic) % 12, BLUES)
        turn, part = divmod((note.step - start) / 96, 1)
        one, two, three = bends[int(turn) : int(turn) + 3]
        bound = one + (two - one) * part + (player.solo_middle if is_solo else player.walk_middle)
        bound += 2.0 * (is_solo and three > 0)
        price = price + player.contour * np.minimum(((PITCHES - bound) / 7) ** 2, 8)
        price = price if is_solo else np.where(PITCHES > WALK_TOP, 60, price)
        yield price - player.heat * noise * rng.gumbel(size=len(PITCHES))


def _cheapest(form: Form, line: list[Struck], rng: Generator, player: Player) -> list[int]:
    """The cheapest path over direction and pitch."""
    paid, back, lick, sounded = np.array([[0.0], [9.0], [9.0]]), [], (), 0
    for note, price in zip(line, _prices(form, line, rng, player), strict=True):
        fresh = note.opens or (note.role == "solo" and note.step - sounded > 12)
        sounded = note.step + note.length
        if fresh:
            lick = ()
        elif not lick and note.role == "solo" and rng.random() < 0.25 * player.lick:
            lick = LICKS[int(rng.integers(len(LICKS)))]
        if note is line[0]:
            paid = paid + price
            continue
        so_far = paid[:, :, None] + player.turns * (not fresh)
        best = so_far.min(0) + player.leaps["fresh" if fresh else note.role]
        if lick:
            best += 0.5 * np.minimum(np.abs(MOVES - lick[0]), 3)
            lick = lick[1:]
        split = best + OTHER_SIDE
        back.append((split.argmin(1), so_far.argmin(0)))
        paid = split.min(1) + price
    side, at = np.unravel_index(paid.argmin(), paid.shape)
    path = [at]
    for sources, sides in reversed(back):
        at, side = sources[side, at], sides[sources[side, at], at]
        path.append(at)
    return [int(PITCHES[at]) for at in reversed(path)]


def _played(form: Form, line: list[Struck], rng: Generator, player: Player) -> list[LineNote]:
    """A rhythm with its pitches, without the notes that come too fast for the hand."""
    bend = (player.swing - 0.5) * np.clip(1.25 - (player.pace - 100) / 200, 0.15, 1)
    kept, last, made = [], -9.0, []
    for note in line:
        at = note.step / 12 + bend * (note.step % 12 == 6)
        if (at - last) * 60 / player.pace >= 1 / 11:
            kept.append(note)
            last = at
    pitches = _cheapest(form, kept, rng, player) if kept else []
    following = [*(n.step for n in kept[1:]), 10**9]
    for note, pitch, limit in zip(kept, pitches, following, strict=False):
        wrong = int(rng.choice([-1, 1])) if rng.random() < player.wrong else 0
        sounds = min(max(pitch + wrong, 28), 67 if note.role == "solo" else WALK_TOP)
        held = float(np.clip(rng.normal(player.legato, 0.08), 0.4, 1.0))
        loud = rng.normal(*player.loud) + player.backbeat * (note.step // 12 % 2)
        if note.role == "ghost":
            held, loud = 0.45, player.loud[0] * rng.uniform(0.25, 0.42)
        elif note.role == "skip":
            loud -= 10
        elif note.role == "solo" and note.step % 12:
            loud += rng.uniform(-8, 4)
        end = min(limit, note.step + max(1, round(held * note.length)))
        made.append(LineNote(note.step, end, sounds, int(np.clip(loud, 15, 125))))
    return made


def walk(form: Form, start: int, stop: int, rng: Generator, player: Player) -> list[LineNote]:
    """Walking over the beats from ``start`` to ``stop``: beats, ornaments, or two to the bar."""
    line, beat = [], start
    while beat < stop:
        at, roll = beat * 12, rng.random()
        beat += 1
        if rng.random() < player.hesitates and at > start * 12:
            continue
        role = "skip" if roll < player.skip else "ghost"
        even = (at - form.bar_begins(at)) % 24 == 0
        two = player.two_feel and even and form.chart.meter.beats == 4 and beat < stop
        if two and rng.random() < 0.85:
            beat += 1
            dotted = rng.random() < 0.25
            line += [(at, 18, "walk"), (at + 18, 6, "skip")] if dotted else [(at, 24, "walk")]
        elif roll >= player.skip + player.ghost:
            line.append((at, 12, "walk"))
        elif player.pace < 170 and rng.random() < 0.15:
            line += [(at, 4, "walk"), (at + 4, 4, "ghost"), (at + 8, 4, role)]
        else:
            line += [(at, 6, "walk"), (at + 6, 6, role)]
    return _played(form, [Struck(*note) for note in line], rng, player)


def solo(form: Form, start: int, stop: int, rng: Generator, player: Player) -> list[LineNote]:
    """A solo from ``start`` to ``stop``: phrases made of cells, and the rests between them."""
    line = [] if start else [Struck(0, 12, "solo", opens=True)]
    beat, cells = start + (int(rng.choice([0, 0, 1, 1, 2, 3])) if start else 1), []
    haste, pace, names = np.clip((player.pace - 120) / 160, 0, 1), player.pace, list(player.cells)
    change = {
        "eighths": 1.2 - 0.7 * haste, "quarter": 1 + 1.5 * haste, "long": 1 + 2 * haste,
        "triplet": pace < 190, "sixteenths": 2 if pace < 95 else 0.6 * (pace < 130)}  # fmt: skip
    shares = np.array([player.cells[name] * change.get(name, 1) for name in names])
    while beat < stop:
        length = max(2, player.phrase * rng.lognormal(0, 0.5) * (1 + 0.5 * haste))
        if not cells or rng.random() >= 0.2:  # else the rhythm of the phrase before
            cells = []
            while sum(CELLS[name][0] for name in cells) < length:
                same = cells and rng.random() < player.persist
                cells.append(cells[-1] if same else rng.choice(names, p=shares / shares.sum()))
        notes = []
        for beats, hits, _ in (CELLS[name] for name in cells):
            if beat + beats > stop:
                break
            notes += [Struck(beat * 12 + at, steps, "solo") for at, steps in hits]
            beat += beats
        if not notes:
            break
        notes[0] = notes[0]._replace(opens=True)
        rung = (rng.random() < 0.55) * min(int(rng.choice([6, 12, 24, 36])), (stop - beat) * 12)
        notes[-1] = notes[-1]._replace(closes=True, length=notes[-1].length + rung)
        rest = int(player.rest * rng.lognormal(0, 0.6))
        if rng.random() < player.long_rest[0]:
            rest = form.chart.meter.beats * int(rng.integers(2, player.long_rest[1]))
        beat += -(-rung // 12) + rest
        line += notes
    return _played(form, line, rng, player)


def _imagined(form: Form, start: int, beats: int, rng: Generator, way: str) -> list:
    """What goes on in the head, beat by beat: a chord, or the notes to choose among."""
    bar, source, made, now = form.chart.meter.beats, form, [], int(rng.integers(12))
    while len(made) < beats:
        if way in ("other tune", "wrong key", "searching"):
            at, by = int(rng.integers(form.beats)), 0
            stay = bar + int(rng.choice([-1, 0, 0, 0, 2, bar]))  # then somewhere else in the form
            if way == "other tune":
                source, by, stay = Form(charts()[int(rng.integers(15))]), now, beats
                at = at // bar * source.chart.meter.beats
            elif way == "wrong key":
                by, stay = int(rng.choice([1, 2, 6, 8, 10, 11])), beats
                at = start + bar * int(rng.integers(-2, 3)) + form.beats
            made += [_heard(source.chord((at + i) * 12), by) for i in range(stay)]
        elif way == "guessed roots":
            now += int(rng.choice([1, 2, 3, 4, 5, 6, 8, 9, 10, 11]))
            guess = _heard(chord("C" + rng.choice(["7", "m7", "maj7", "m7b5"])), now)
            made += [guess] * int(rng.choice([2, bar, bar, 3, 2 * bar]))
        elif way == "few notes":
            pair = frozenset((now, (now + int(rng.choice([1, 2, 11]))) % 12))
            made += [pair] * int(rng.integers(3, 9))
            now = (now + int(rng.choice([1, 2, 5, 6, 11]))) % 12
        else:  # about the home key, or wandering from scale to scale
            now, notes = pitch_class(form.chart.key.tonic), MINOR if form.chart.key.minor else MAJOR
            if way == "wandering":
                now, notes = int(rng.integers(12)), range(12) if rng.random() < 0.5 else MAJOR
            made += [frozenset((now + i) % 12 for i in notes)] * (bar * int(rng.integers(2, 5)))
    return made[:beats]


def _fits(form: Form, line: list[LineNote]) -> list[float]:
    """How well a line fits the form so many beats on, 0 to 1.3: for every number of beats."""
    keys = ((c, p) for c in _over(form) for p in range(12))
    worth = np.array([(p in c.tones or (p in c.run) * 0.45) + 0.3 * (p == c.bass) for c, p in keys])
    at, classes = np.array([(n.step // 12, n.pitch % 12) for n in line], int).reshape(-1, 2).T
    held = np.array([min(n.end_step - n.step, 18) for n in line])
    each = [(at + k) % form.beats * 12 + classes for k in range(form.beats)]
    return [float(worth[here] @ held) / max(1, held.sum()) for here in each]


def adrift(form, start, stop, rng: Generator, player: Player, way: str, play) -> list[LineNote]:
    """A stretch drawn again, at last in another way, while some place of the form explains it."""
    usual = _fits(form, play(form, start, stop, rng, player))[0]
    shy = rng.uniform(0, 0.25) if rng.random() < 0.4 else player.hesitates
    tried = []
    for turn in range(TRIES):
        now = way if turn < TRIES // 2 else str(rng.choice(ADRIFT_WAYS))
        head = dict(enumerate(_imagined(form, start, stop - start, rng, now), start))
        lost = vars(player) | {"head": head, "hesitates": shy}
        line = play(form, start, stop, rng, Player(**lost))
        few = len(line) < 2 * (stop - start) / form.chart.meter.beats
        tried.append((few, max(_fits(form, line)), line))
        if not few and tried[-1][1] <= usual - 0.12:
            break
    return min(tried, key=lambda t: t[:2])[2]
