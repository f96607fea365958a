"""A player who plans ahead: targets first, vocabulary between them.

Walking, strong beats and new chords get their pitch first, the beats between lead on. A solo is
phrases with breath between them: aimed at guide tones, a motif taken up again, or the blues.
Adrift, the harmony is another one, or none. Pitches: E1 = 28 to 55 walking, to 67 in a solo.
"""

# ruff: noqa: PLR0917 -- a generator draws from many shares, and says so plainly
# fmt: off

from collections import namedtuple
from itertools import pairwise
from math import log
from types import SimpleNamespace as Player

import numpy as np

from linecheck.music.form import Form
from tests.synthetic.charts import NAMES, chart, pitch_class, scale
from tests.synthetic.lines import LineNote

AIMLESS = ("crawl", "stuck", "fragments")
ADRIFT_WAYS = ("guessed roots", "hunting", "key chords", "other tune", *AIMLESS)
GHOST = 42  # as loud as this or softer: not heard as a pitch
LOW, WALK_HIGH, SOLO_HIGH, STRINGS = 28, 55, 67, (28, 33, 38, 43)
CELLS = ("scale", "chord run", "digits", "thirds", "half steps", "added half step", "turn")
# Steps to the next note, with their weights; sixteenths only where a slow tempo calls for them.
PACES = {"eighths": ((6, 12), (0.93, 0.07)), "quarters": ((6, 12), (0.2, 0.8)),
         "mixed": ((6, 12, 18), (0.55, 0.33, 0.12)),
         "long": ((12, 18, 24, 36), (0.3, 0.15, 0.4, 0.15)), "sixteenths": ((6,), (1,))}
TUNES = """\
Dented Kettle Blues; F; A; 4; F7|Bb7|F7|Cm7 F7|Bb7|Bdim7|F7|Am7b5 D7b9|Gm7|C7|Am7 D7|Gm7 C7
Night Tender; Cm; A; 4; Cm7|Fm7|Cm7|C7alt|Fm7|%|Cm6|%|Ab7|G7alt|Cm7 / A7 /|Dm7b5 G7b9
Paper Lantern Street; Bb; AABA; 4; Bb6 G7|Cm7 F7|Dm7 Db7|Cm7 F7|Bb7|Eb7 Edim7|Bb6 / F7 /|Bb6 /
  F7sus F7; Am7b5|D7b9|Gm7|C9|Fm7|Bb13|Ebm7 Ab7|Cm7 F7
Window in October; Eb; ABAC; 4; Ebmaj7|Cm7|Fm7|Bb7|Gm7b5|C7b9|Fm7|Abm6; Gm7|Gbdim7|Fm7|Bb7|Cm7|F7|
  Fm7|Bb7; Bbm7|Eb7|Abmaj7|Db7|Gm7 C7|Fm7 Bb7|Eb6 C7|Fm7 Bb7
Standing Pines; Gm; AABA; 4; Gm7|%|%|%|%|%|%|%; Bbm7|%|%|%|Abmaj7|%|Am7b5|D7alt
Zigzag Tram; G; A; 4; Gmaj7 Bb7|Ebmaj7 Ab7|Dbmaj7|Em7 A7|Dmaj7 F7|Bbmaj7 D7|Gmaj7|Ebm7 Ab7|Dbmaj7|
  Cm7 F7|Bbmaj7|Em7 A7|Dmaj7|Abm7 Db7|Gm7 / C7 /|Am7 D7
The Lamp Trimmer's Waltz; D; AB; 3; Dmaj7|Bm7|Em7|A7|F#m7|B7b9|Em7|A7sus|Am7|D7|Gmaj7|Gm6|F#m7|
  Fdim7|Em7|A7; C#m7b5|F#7b9|Bm7|%|Bm7|E7|Em7|A7|Dmaj7|D7/C|G/B|Gm6/Bb|Dmaj7/A|B7alt|Em7|A7
Fourteen Steps; Am; A; 4; Am6|Bm7b5 E7b9|Am6|Gm7 C7|Fmaj7|Bb7|Am7|D9|Dm7|G7|Cmaj7|F#m7b5 B7b9|
  E7sus|E7alt
Eleven Past Noon; C; ABC; 4; Cmaj7|A7alt|Dm7|Fm6|Em7|A7|Dm7 G7; Cm7|F7|Bbmaj7|Bbm7 Eb7|Abmaj7|%;
  Dm7|Db7|Cmaj7/G|F#m7b5|Fmaj7 Em7|A7|Dm7 / G7 G7b9
Slow Barge; Db; AABA; 4; Dbmaj7 Bbm7|Ebm7 Ab7|Fm7 Edim7|Ebm7 Ab7|Abm7 Db7|Gbmaj7 Gbm6|Fm7 Bb7b9|
  Ebm7 Ab7; Cm7b5|F7b9|Bbm7|%|Bm7|E7|Amaj7|Ebm7 Ab7
Green Corridor; A; AAB; 4; Amaj7|%|Dm7 G7|Dm7 G7|Amaj7|G#m7 C#7|F#m7|F#m7/E|Bm7|%|Dm6|%|C#m7|
  Cdim7|Bm7|E7sus E7; Fmaj7|%|Bm7b5|E7b9|Am7|D9|Bm7|E7
Chapel Road; Bb; A; 4; Bb7|Eb7|Bb7|%|Bb7/D|D7|Gm7|C9|Eb7|Edim7|Bb7/F|G7|C7|F7|Bb7 Eb7|Bb7 F7
Soot and Amber; Gm; AABA; 4; Gm6|Ebmaj7|Am7b5|D7alt|Gmmaj7 Gm7|C7|Am7b5 D7b9|Gm6; Cm7|F7|Bbmaj7|
  Ebmaj7|C#m7|F#7|Am7b5|D7b9
Three-Legged Heron; Em; A; 3; Em7|%|F#m7b5|B7b9|Em7|%|Bm7b5|E7alt|Am7|%|D7|%|Gmaj7|%|C7|%|F#m7b5|%|
  B7alt|%|Em6|C7|F#m7b5|B7b9
Quay of Fourths; D; AAB; 4; D7sus|%|%|%|F7sus|%|Eb7sus|%; Bbmaj7|%|C13|%|Abmaj7|%|Em7|A7sus
"""  # a line that is not set in begins a tune: title, key, form, beats, sections A, B, C
# What sounds on a beat, where that stands in how long a bar, whether its chord is new.
Beat = namedtuple("Beat", "root bass tones run place bar fresh")  # noqa: PYI024

def charts():
    """Fifteen charts that stand nowhere else."""
    tunes = [tune.split("; ") for tune in TUNES.replace("\n  ", " ").splitlines()]
    return [chart(title, key, form, dict(zip("ABC", sections, strict=False)), beats=int(beats))
            for title, key, form, beats, *sections in tunes]

def draw_player(rng):
    """A student or not, and a tempo that the habits bow to; shares are probabilities."""
    u, tempo, solo_high = rng.uniform, rng.uniform(80, 220), int(rng.integers(58, 68))
    fast, student = min(max((tempo - 120) / 120, 0), 1), rng.random() < 0.35
    return Player(
        tempo=tempo, two_feel=rng.random() < 0.14 and tempo < 190, high=int(rng.integers(46, 56)),
        root_first=u(0.8, 0.98) if student else u(0.55, 0.9), centre=u(36, 43),
        stock=u(0.1, 0.55), lead=u(0.4, 0.9),  # bars from stock, and whether these lead on
        leads=(u(0.5, 2), u(0.3, 1.8), u(0.4, 1.8), u(0.1, 1.2)),  # below, above, scale, fifth
        double_lead=u(0, 0.4), repeat=u(0.1, 0.8) if student else u(0, 0.25),
        skip=u(0, 0.16) * (1 - 0.8 * fast), ghost=u(0, 0.1) * (1 - 0.7 * fast),
        drop=u(0, 0.03) * (1 - fast), hold=u(0, 0.03), push=u(0, 0.02), enclose=u(0.1, 0.7),
        cells=rng.dirichlet(np.full(len(CELLS), 1.2)), motif=u(0.05, 0.45), early=u(0, 0.25),
        off_beat=u(0.2, 0.6), blues=u(0, 0.15), phrase=u(6, 12), breath=u(0.8, 3.2),
        long_rest=u(0, 0.1), solo_low=int(rng.integers(31, 39)), solo_high=solo_high,
        solo_centre=min(u(44, 53), solo_high - 8), guide=u(0.55, 0.9),
        solo_root=u(0.3, 0.95) if student else u(0.1, 0.7), triplets=u(0, 0.25),
        paces=rng.dirichlet([4 * (1.3 - fast), 1 + 2 * fast, 3, 0.7]), sixteenths=u(0, 0.5),
        legato=u(0.78, 0.97), loud=u(68, 95), spread=u(4, 10))

def _beats(form, start, stop):
    made, before = [], ""
    for step in range(start * 12, stop * 12, 12):
        chord, bar, place = form.chord(step), form.bar(step), (step - form.bar_begins(step)) // 12
        tones, new = tuple(t.pitch_class for t in chord.tones), chord.symbol != before
        run, before = frozenset(scale(chord)), chord.symbol
        made.append(Beat(chord.root, chord.bass, tones, run, place, bar.meter.beats, new))
    return made

def _pick(rng, items, weights):
    sums = np.cumsum(weights)
    return items[int(np.searchsorted(sums, rng.random() * sums[-1], "right"))]

def _along(run, pitch, moves):  # so many steps along a scale; the pitch itself may lie outside it
    way = 1 if moves > 0 else -1
    for _ in range(abs(moves)):
        pitch = next(p for p in range(pitch + way, pitch + 13 * way, way) if p % 12 in run)
    return pitch

def _near(rng, tones, weights, about, low, high, avoid=None, loose=1.6, centre=None):
    """A pitch of these tones, by their weights and close by."""
    options = [(p, 3 * log(w + 1e-6)) for tone, w in zip(tones, weights, strict=False)
               for p in range(low + (tone - low) % 12, high + 1, 12)]
    costs = np.array([abs(p - about) + 0.12 * abs(p - (centre or p)) + 4 * (p == avoid) - gain
                      for p, gain in options])
    return _pick(rng, [p for p, _ in options], np.exp((costs.min() - costs) / loose))

def _note(step, length, pitch, loud, high):
    pitch, loud = min(max(pitch, LOW), high), min(max(round(loud), 15), 120)
    return LineNote(step, step + max(1, round(length)), pitch, loud)

def _moved(line, steps):
    return [n._replace(step=n.step + steps, end_step=n.end_step + steps) for n in line]

def _stock_bar(first, beat, rng, player):  # a bar that the hand knows, from its root on
    one, down, down2, down3, six = (_along(beat.run, first, m) - first for m in (1, -1, -2, -3, 5))
    fifth = next((i for i in range(5, 9) if (first + i) % 12 in beat.tones), 7)
    third = next((i for i in range(3, 6) if (first + i) % 12 in beat.tones), 4)
    bars = [[0, one, third, fifth], [0, third, fifth, six], [0, fifth, 12, fifth],
            [0, down, down2, down3], [0, 0, fifth, fifth], [0, one, 3, 4],
            [0, fifth - 12, down, 0], [0, third, one, -1], [0, fifth, six, 12]]
    shares = [3, 3, 1, 3, 6 * player.repeat, 0.8 * (third == 4), 1, 0.6, 1]
    made = [first + i for i in _pick(rng, bars, shares)[: beat.bar]]
    return made if all(LOW <= p <= player.high for p in made) else []

def _targets(beats, rng, player):  # pitches of strong beats and new chords, and of bars from stock
    plan, now, way, skipped = {}, int(rng.integers(33, 42)), int(rng.choice([-1, 1])), 0
    root, other, top, centre = player.root_first, 1 - player.root_first, player.high, player.centre
    for at, beat in enumerate(beats):
        if at < skipped or not (beat.fresh or beat.place == 0 or beat[4:6] == (2, 4)):
            continue
        if now > min(top - 4, centre + 8):
            way = -1
        elif now < LOW + 4 or rng.random() < 0.12:
            way = 1 if now < centre else way
        elif rng.random() < 0.15:
            way = -way
        tones, weights = beat.tones, [root, other * 0.5, other * 0.4, other * 0.1]
        if not beat.fresh:
            weights = [0.22, 0.3, 0.38, 0.15] if beat.place else [0.45, 0.2, 0.27, 0.08]
        elif beat.bass != beat.root:
            tones, weights = (beat.bass, *tones), [root, 0.05, 0.05, 0.05, 0.02]
        now = _near(rng, tones, weights, now + 2.5 * way, LOW, top, now, 1.6, centre)
        plan[at], rest, bar = now, beats[at + 1 : at + beat.bar], []
        whole = beat.place == 0 and len(rest) == beat.bar - 1 and not any(b.fresh for b in rest)
        if whole and rng.random() < player.stock and now % 12 == beat.root:
            bar = _stock_bar(now, beat, rng, player)
        kept = len(bar) - (len(bar) == beat.bar and rng.random() < player.lead)
        plan |= {at + i: bar[i] for i in range(kept)}
        now, skipped = (bar[-2], at + beat.bar) if bar else (now, 0)
    return plan

def _between(now, goal, beat, rng, player):  # the last note before a target
    k, up = 1 if beat.place == beat.bar - 1 else 0.35, 1 if goal >= now else -1
    below, above, by_scale, fifth = player.leads
    options = [(goal - 1, below * k), (goal + 1, above * k), (_along(beat.run, goal, -1), by_scale),
        (_along(beat.run, goal, 1), by_scale), (goal + 7, fifth * 0.5 * k),
        (goal - 5, fifth * 0.6 * k), (now, player.repeat), (_along(beat.run, now, up), 0.6 / k),
        (_along(beat.run, now, -up), 0.2), (now + 12, 0.1), (now - 12, 0.1),
        *((p, 0.35 / k) for p in range(LOW, player.high + 1) if p % 12 in beat.tones and p != now)]
    pitches, weights = np.array([o for o in options if LOW <= o[0] <= player.high]).T
    far = (abs(pitches - now) - 4).clip(0) / 2.2 + (abs(pitches - goal) - 5).clip(0) / 2.5
    return int(_pick(rng, pitches, weights * np.exp(-far) * np.where(pitches == goal, 0.1, 1)))

def _plan(beats, rng, player):  # a pitch for every beat: the targets, then what leads on
    plan = _targets(beats, rng, player)
    for at, after in pairwise([*sorted(plan), len(beats)]):
        goal = plan.get(after, plan[at])
        way, half = 1 if goal < plan[at] else -1, (plan[at] + goal) / 2
        if after - at > 3 or (after - at == 3 and rng.random() < player.double_lead):
            plan[after - 1], plan[after - 2] = goal + way, goal + 2 * way
        for i in (i for i in range(at + 1, after - 1) if i not in plan):
            plan[i] = _near(rng, beats[i].tones, [1] * 4, half, LOW, player.high, plan[at])
        if after - 1 not in plan:
            plan[after - 1] = _between(plan[after - 2], goal, beats[after - 1], rng, player)
    return [min(max(plan[i], LOW), WALK_HIGH) for i in range(len(beats))]

def walk(form, start, stop, rng, player):
    """Walking over the beats from ``start`` to ``stop``; the first chorus may be in two."""
    beats, line, held = _beats(form, start, stop), [], -1
    plan, skip, ghost = _plan(beats, rng, player), player.skip, player.skip + player.ghost
    for at, ((*_, place, _, _), pitch) in enumerate(zip(beats, plan, strict=True)):
        if at == held:
            continue
        loud = player.loud + rng.normal(0, player.spread) + 4 * (place in {1, 3})
        length, step, roll = player.legato * rng.uniform(0.92, 1.03), 12 * at, rng.random()
        two = player.two_feel and start + at < form.beats and place in {0, 2}
        hold = (two and rng.random() < 0.85) or rng.random() < player.hold
        notes = [(0, 12 * length, pitch, loud)]
        if hold and at + 1 < len(beats) and not beats[at + 1].fresh:
            notes, held = [(0, 24 * player.legato, pitch, loud)], at + 1
        elif roll < skip:
            after = plan[min(at + 1, len(plan) - 1)]
            again = _pick(rng, [pitch, after, pitch + 12, pitch - 12], [5, 1, 0.5, 0.5])
            again = again if LOW <= again <= WALK_HIGH else pitch
            notes = [(0, 6, pitch, loud), (6, 5, again, loud - 8)]
        elif roll < ghost:
            ghosted = _pick(rng, [pitch, *STRINGS], [3, 1, 1, 1, 1])
            notes = [(0, 6, pitch, loud), (6, 2, ghosted, rng.uniform(18, 38))]
        elif roll < ghost + player.drop:
            fall, lower = int(rng.choice(STRINGS)), 5 * (rng.random() < 0.4)
            notes = [(0, 4, pitch, loud), (4, 3, fall, loud - 25), (8, 3, fall - lower, loud - 18)]
        elif roll > 1 - player.push and place == 0 and line and line[-1].step == step - 12:
            line[-1] = line[-1]._replace(end_step=step - 6)
            notes = [(-6, 17, pitch, loud + 4)]
        line += [_note(step + s, long, p, v, WALK_HIGH) for s, long, p, v in notes]
    return _moved(line, start * 12)

def _cell(now, count, beat, rng, player):  # so many notes of vocabulary that go on from a pitch
    kind, way = _pick(rng, CELLS, player.cells), int(rng.choice([-1, 1]))
    run, top, made = beat.run, int(rng.integers(2, 5)), []
    moves = {"digits": (1, 1, 2, -3), "thirds": (2, -1), "turn": (1, -1, -1, 1, 2)}.get(kind, (1,))
    if kind == "added half step":
        run |= {(beat.root + (11 if (beat.root + 10) % 12 in beat.tones else 8)) % 12}
    way = -1 if kind in {"chord run", "added half step"} else way
    for i in range(count):
        rising, halves = kind == "chord run" and i < top, kind == "half steps" and i < 3
        over, move = (beat.tones, 1) if rising else (run, moves[i % len(moves)] * way)
        made.append(now := now + way if halves else _along(over, now, move))
    return made

def _led(now, goal, beat, steps, rng, player):  # a cell, then a lead: the best of nine thoughts
    thoughts, count, under, over = [], len(steps), goal - 1, goal + 1
    up, down = _along(beat.run, goal, 1), _along(beat.run, goal, -1)
    enclosures = [[up, under], [under, over], [up, down], [up, over, under], [down, under, over],
                  [goal + 2, goal - 2, under]]
    leads = ([[], [under], [over], [up], [down], [goal - 2, under], [goal + 2, over]],
             (2, 2, 1.2, 1.5, 1.5, 1, 1))
    for _ in range(9):
        around = rng.random() < player.enclose
        lead = _pick(rng, *((enclosures, (4, 2, 2, 1.5, 1, 0.5)) if around else leads))[-count:]
        made, cost = _cell(now, count - len(lead), beat, rng, player) + lead, rng.uniform(0, 2)
        for a, b in pairwise([now, *made, goal]):
            cost += max(0, abs(b - a) - 5) * 0.8 + 1.5 * (a == b)
        for pitch, step in zip(made, steps, strict=True):
            cost += 0 if player.solo_low <= pitch <= player.solo_high else 6
            cost += 0.7 * (step % 12 == 0 and pitch % 12 not in beat.tones)
        thoughts.append((cost, made))
    return min(thoughts)[1]

def _steps(at, goal, pace, rng, player):  # steps after ``at`` and before ``goal`` with a note
    made, triplets = [], player.triplets * 0.5 if player.tempo < 185 else 0
    while at < goal:
        go, whole = [6], at % 12 == 0 and goal - at >= 12
        if pace == "sixteenths" and whole and rng.random() < 0.75:
            go = [3, 6, 9, 12]
        elif whole and rng.random() < triplets:
            go = [4, 8, 12]
        elif at % 12 == 0:
            go = [_pick(rng, *PACES[pace])]
        made, at = made + [at + g for g in go], at + go[-1]
    return [s for s in made if s < goal]

def _taken_up(motif, at, now, beats, rng, player):  # the motif, over what sounds now
    (place, notes), end, low, high = motif, len(beats) * 12, player.solo_low, player.solo_high
    at, made = at + (place - at) % 12, []
    while at < end - 24 and beats[at // 12].place != place // 12 and rng.random() < 0.72:
        at += 12
    first = _near(rng, beats[min(at, end - 1) // 12].tones, [0.2, 0.5] * 2, now, low, high, now)
    for step, moves in ((at + s, m) for s, m in notes if at + s < end - 3):
        beat, bent = beats[step // 12], int(rng.integers(-1, 2)) * (step - at == notes[-1][0])
        pitch = _along(beat.run, first, moves + bent)
        if step % 12 == 0 and pitch % 12 not in beat.tones and rng.random() < 0.7:
            pitch = _near(rng, beat.tones, [1] * 4, pitch, low, high)
        made.append((step, pitch))
    return made

def _bluesy(tonic, at, end, about, rng, player):  # notes of the blues scale
    run, made = [(tonic + i) % 12 for i in (0, 3, 5, 6, 7, 10)], []
    pitch = _near(rng, run, [1] * 6, about, player.solo_low, player.solo_high)
    for step in [at, *_steps(at, min(end, at + 72), "mixed", rng, player)]:
        made.append((step, pitch))
        moved = _along(run, pitch, int(rng.choice([-2, -1, -1, 0, 1, 1, 2])))
        pitch = moved if player.solo_low <= moved <= player.solo_high else pitch
    return made

def _aimed(at, end, now, arc, beats, rng, player):  # a tone for each landing, and ways there
    low, high, pace = player.solo_low, player.solo_high, _pick(rng, [*PACES][:4], player.paces)
    slow = player.tempo < 118 and pace in {"eighths", "mixed"}
    pace = "sixteenths" if slow and rng.random() < player.sixteenths else pace
    about, tones, way = (now + arc) / 2, beats[at // 12].tones, rng.normal(0, 1.5)
    made = [(at, last := _near(rng, tones, [0.6, 1, 0.8, 1], about, low, high, now, 2.5))]
    for index in range(at // 12 + 1, -(-end // 12)):
        beat, before, half = beats[index], made[-1][0], rng.random() < 0.6
        if not (beat.fresh or beat.place == 0 or (beat[4:6] == (2, 4) and half)):
            continue
        goal = index * 12 - 6 * (index * 12 > at + 13 and rng.random() < player.early)
        guide, avoid = (player.guide, None) if beat.fresh else (0.4, last)
        weights = [player.solo_root, guide, (1 - guide) * 0.8, guide]
        about, steps = last + way + 0.15 * (arc - last), _steps(before, goal, pace, rng, player)
        target = _near(rng, beat.tones, weights, about, low, high, avoid, 1.3)
        if pace not in {"long", "sixteenths"} and rng.random() < 0.06 and len(steps) > 2:
            steps = steps[len(steps) // 2 :]
        over = beats[(before if goal - before > 7 else goal) // 12]
        led = _led(last, target, over, steps, rng, player) if steps else []
        made, last = [*made, *zip(steps, led, strict=True), (goal, target)], target
    return made

def solo(form, start, stop, rng, player):
    """A solo over the beats from ``start`` to ``stop`` of a form."""
    beats, line, motif, bar = _beats(form, start, stop), [], None, form.chart.meter.beats
    end, tonic = len(beats) * 12, pitch_class(form.chart.key.tonic)
    blues = player.blues * (2.2 if form.beats == 12 * bar else 0.7)
    now, at = round(player.solo_centre), 12 * int(rng.integers(3)) * (rng.random() < 0.6)
    while at < end - 12:
        at = -(-at // 12) * 12 + 6 * (rng.random() < player.off_beat)
        arc, roll = player.solo_centre + rng.normal(0, 4), rng.random()
        until = min(at + 12 * max(2, round(rng.normal(player.phrase, 3))), end - 6)
        phrase = (_taken_up(motif, at, now, beats, rng, player) if motif and roll < player.motif
            else _bluesy(tonic, at, until, arc, rng, player) if roll > 1 - blues
            else _aimed(at, until, now, arc, beats, rng, player))
        if not phrase:
            break
        (first, pitch), (last, now) = phrase[0], phrase[-1]
        final = (min(end, last + _pick(rng, (5, 11, 22, 36), (3, 3, 2, 1))), now)
        for (step, p), (then, _) in pairwise([*phrase, final]):
            gap, inner = then - step, first < step < last
            length = gap * player.legato * rng.uniform(0.85, 1.03)
            length = min(length, gap) if gap <= 12 or rng.random() < 0.7 else 7
            loud = player.loud + rng.normal(0, player.spread * 1.2) + 4 * (step % 12 == 6)
            loud = rng.uniform(22, 40) if inner and rng.random() < player.ghost * 0.4 else loud
            line.append(_note(step, length, p, loud, SOLO_HIGH))
        if 3 <= len(phrase) <= 9:
            notes = [(s - first, round((p - pitch) * 7 / 12)) for s, p in phrase]
            motif = beats[first // 12].place * 12 + first % 12, notes
        at = line[-1].end_step + int(12 * min(rng.exponential(player.breath), 8))
        at += 12 * bar * int(rng.integers(1, 5)) * (rng.random() < player.long_rest)
    return _moved(line, start * 12)

def _elsewhere(form, start, stop, rng, player, way, play):  # other chords in the head
    bar, key, heard = form.chart.meter.beats, form.chart.key, []
    other = charts()[int(rng.integers(15))] if way == "other tune" else form.chart
    tune = [c.chord for b in other.bars for c in b.chords for _ in range(c.steps // 12)]
    place = (start - form.bar_begins(start * 12) // 12) % bar
    count, move = -(-(place + stop - start) // bar) * bar, int(rng.choice([1, 3, 4, 6, 8, 9, 11]))
    while len(heard) < count:
        at, bars = int(rng.integers(len(other.bars))) * other.meter.beats, int(rng.integers(1, 3))
        chord, beats = tune[int(rng.integers(len(tune)))], int(rng.choice([2, 3, 4, 4, 5, 8]))
        there = [tune[(at + i) % len(tune)] for i in range(count + 2 * bar)]
        if way == "other tune":
            heard = [NAMES[(c.root + move) % 12] + c.kind for c in there]
        elif way == "hunting":
            heard += [c.symbol for c in there[: bar * bars]]
        elif way == "key chords":
            heard += [chord.symbol] * beats
        else:
            heard += [str(rng.choice(NAMES)) + str(rng.choice(["7", "m7", "maj7"]))] * beats
    text = "|".join(" ".join(heard[i : i + bar]) for i in range(0, count, bar))
    imagined = Form(chart("In the head", key.tonic, "A", {"A": text}, beats=bar))
    at = place + (count if start >= form.beats else 0)  # the first chorus alone is in two
    return _moved(play(imagined, at, at + stop - start, rng, player), (start - at) * 12)

def _aimless(_, start, stop, rng, player, way, play):  # no harmony at all
    line, at, end, turn = [], start * 12, stop * 12, int(rng.choice([-1, 1]))
    pitch = int(rng.integers(33, 42)) if play is walk else min(round(player.solo_centre), 52)
    high = 52 if play is walk or way != "fragments" else 64
    while at < end - 5:
        loud, length = player.loud + rng.normal(0, player.spread) - 10 * (way == "stuck"), 12
        if way == "crawl":
            turn = -turn if not 29 <= pitch + turn <= 52 or rng.random() < 0.15 else turn
            pitch += turn if rng.random() < 0.8 else 2 * turn
        elif way == "stuck":
            pitch += int(rng.choice([-7, -5, -2, -1, 1, 2, 5, 6])) * (rng.random() < 0.16)
        else:
            gap = rng.random() < 0.3
            at, length = at + 12 * int(rng.integers(1, 4)) * gap, int(rng.choice([6, 12]))
            pitch += int(rng.integers(-6, 7)) * gap + int(rng.choice([-3, -2, -1, 1, 2, 3]))
        pitch = min(max(pitch, LOW), high)
        line.append(_note(at, min(length * player.legato, end - at), pitch, loud, high))
        at += length
    return [n for n in line if n.step < end - 5]

def _fits(form, line):  # how well a line fits the form from each of its beats on
    tones = np.zeros((2, form.beats, 12))
    for index, beat in enumerate(_beats(form, 0, form.beats)):
        tones[:, index, list(beat.tones)] = 1
        tones[1, index, beat.bass] += 0.7 * beat.fresh
    steps, ends, pitches, louds = np.array(line).T
    lasting = np.minimum(ends - steps, 12) * (louds > GHOST) + 1e-6
    places = (steps // 12 + np.arange(form.beats)[:, None]) % form.beats
    return tones[(steps % 12 == 0).astype(int), places, pitches % 12] @ lasting / lasting.sum()

def adrift(form, start, stop, rng, player, way, play):
    """A stretch that fits the form nowhere; often it falters at the end."""
    clean, tried = play(form, start, stop, rng, player), []
    bound, make = _fits(form, clean)[0] if clean else 0, _aimless if way in AIMLESS else _elsewhere
    while not tried or (len(tried) < 6 and tried[-1][0] > 0.87 * bound):
        line = make(form, start, stop, rng, player, way, play)
        if rng.random() < 0.4:
            line = [n for n in line if n.step < 12 * (stop - int(rng.integers(1, 3)))]
        few = len(line) < 2.2 * (stop - start) / form.chart.meter.beats
        tried.append((_fits(form, line).max() + few if line else 9, line))
    return min(tried)[1]
