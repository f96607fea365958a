"""Synthetic lines over any chart: walking, solos, adrift stretches, and known slips.

A line is a list of ``LineNote`` in steps from beat one of chorus 1 (a step is a twelfth of a
beat). The styles are drawn widely on purpose; a *family* is a way of playing, so that whole
families can be held out from whatever is fitted.

    rng = np.random.default_rng(7)
    line = generate_walking(chart, 3, rng)                          # three clean choruses
    solo = generate_solo(chart, 2, rng, SoloStyle.draw(rng, "bebop"))
    line, truth = inject_slips(chart, 6, rng)                       # what was lost, and where

``inject_slips`` plays over *own places*: the player believes in a place of the form, the line
runs on from there, and truth says how far that place lies from the steady count.
"""

# ruff: noqa: PLR0911, PLR0917 -- a generator draws from many shares, and says so plainly

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from linecheck.music.form import Form
from linecheck.terms import STEPS_PER_BEAT, Chart, Chord, LossKind
from tests.synthetic.charts import pitch_class, random_chart, scale

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy as np

WALKING_FAMILIES = ("plain", "arpeggio", "scalar", "chromatic", "two_feel", "root_fifth", "pedal", "loose")  # fmt: skip
SOLO_FAMILIES = ("bebop", "arpeggio", "guide", "scalar", "motif", "sparse", "key", "blues", "outside")  # fmt: skip
ADRIFT_FAMILIES = ("notes", "key", "steps", "other tune", "hopping", "stuck")
MORE_ADRIFT = ("other changes", "other key", "shuffled", "half there")  # to fit on as well
BLUES_SCALE = (0, 3, 5, 6, 7, 10)
MAJOR_SCALE = (0, 2, 4, 5, 7, 9, 11)
MINOR_SCALE = (0, 2, 3, 5, 7, 8, 10)


class LineNote(NamedTuple):
    """A note in steps; ``end_step`` is where it stops."""

    step: int
    end_step: int
    pitch: int
    velocity: int


class Slip(NamedTuple):
    """What happened to the form.

    From ``step`` on the player's own place is ``offset_beats`` ahead of the steady count (None:
    adrift), until ``recovered_step`` (None: to the end, or until another slip). ``shown_step`` is
    the first step where the chord in the own place is another than the one by the count; None
    where the chart never shows it.
    """

    step: int
    kind: LossKind
    offset_beats: int | None
    recovered_step: int | None
    shown_step: int | None
    end_step: int


@dataclass(frozen=True)
class WalkingStyle:
    """How a walking line is made; shares are probabilities."""

    family: str = "plain"
    root_on_change: float = 0.85
    root_on_bar: float = 0.5
    arpeggio: float = 0.5
    scalar: float = 0.35
    approach: float = 0.6
    chromatic_approach: float = 0.5
    fifth_approach: float = 0.15
    repeat: float = 0.05
    ornament: float = 0.06
    rest: float = 0.01
    outside: float = 0.02
    push: float = 0.02
    two_feel: bool = False
    pedal: float = 0.0
    low: int = 28
    high: int = 50
    ghosts: float = 0.02

    @classmethod
    def draw(cls, rng: np.random.Generator, family: str | None = None) -> WalkingStyle:
        """A style of a family (of any, where none is named), its shares drawn widely."""
        family = family or str(rng.choice(WALKING_FAMILIES))
        low = int(rng.integers(26, 34))
        u = rng.uniform
        made = {
            "root_on_change": u(0.65, 1.0),
            "root_on_bar": u(0.3, 0.8),
            "arpeggio": u(0.3, 0.8),
            "scalar": u(0.2, 0.6),
            "approach": u(0.3, 0.9),
            "chromatic_approach": u(0.2, 0.8),
            "fifth_approach": u(0.0, 0.4),
            "repeat": u(0.0, 0.15),
            "ornament": u(0.0, 0.15),
            "rest": u(0.0, 0.04),
            "outside": u(0.0, 0.08),
            "push": u(0.0, 0.06),
            "ghosts": u(0.0, 0.08),
        }
        by_family = {
            "arpeggio": {"arpeggio": 0.95, "scalar": 0.05, "approach": u(0.0, 0.4)},
            "scalar": {"arpeggio": 0.1, "scalar": 0.9, "chromatic_approach": 0.2},
            "chromatic": {"arpeggio": 0.2, "scalar": 0.2, "approach": 0.95, "chromatic_approach": 0.9},
            "two_feel": {"two_feel": True},
            "root_fifth": {"arpeggio": 0.0, "scalar": 0.0, "approach": u(0.0, 0.3), "root_on_change": 0.97, "root_on_bar": 0.9},
            "pedal": {"pedal": u(0.1, 0.35)},
            "loose": {"outside": u(0.12, 0.25), "root_on_change": u(0.35, 0.65), "root_on_bar": u(0.2, 0.4)},
        }  # fmt: skip
        made.update(by_family.get(family, {}))
        return cls(family=family, low=low, high=low + int(rng.integers(17, 26)), **made)  # type: ignore[arg-type]


@dataclass(frozen=True)
class SoloStyle:
    """How a solo is made; shares are probabilities, lengths beats."""

    family: str = "bebop"
    density: float = 0.5  # 0: long notes, 1: eighths and shorter
    chord_on_beat: float = 0.75
    target_change: float = 0.7
    enclosure: float = 0.2
    chromatic: float = 0.1
    outside: float = 0.05
    triplets: float = 0.1
    sixteenths: float = 0.0
    syncopation: float = 0.2
    phrase_beats: float = 7.0
    rest_beats: float = 1.5
    push: float = 0.15
    low: int = 33
    high: int = 64

    @classmethod
    def draw(cls, rng: np.random.Generator, family: str | None = None) -> SoloStyle:
        """A style of a family (of any, where none is named), its shares drawn widely."""
        family = family or str(rng.choice(SOLO_FAMILIES))
        u = rng.uniform
        low = int(rng.integers(28, 40))
        made = {
            "density": u(0.25, 0.95),
            "chord_on_beat": u(0.55, 0.95),
            "target_change": u(0.4, 0.95),
            "enclosure": u(0.0, 0.35),
            "chromatic": u(0.0, 0.2),
            "outside": u(0.0, 0.12),
            "triplets": u(0.0, 0.25),
            "sixteenths": u(0.0, 0.08),
            "syncopation": u(0.0, 0.5),
            "phrase_beats": u(4, 12),
            "rest_beats": u(0.5, 3.0),
            "push": u(0.0, 0.35),
        }
        by_family = {
            "guide": {"density": u(0.0, 0.2)},
            "sparse": {"density": u(0.1, 0.4), "rest_beats": u(2.5, 5.0), "phrase_beats": u(2, 5)},
            "outside": {"outside": u(0.12, 0.25)},
        }
        made.update(by_family.get(family, {}))
        return cls(family=family, low=low, high=low + int(rng.integers(22, 32)), **made)


# ---- pitches ---------------------------------------------------------------------------------


def _near(pc: int, pitch: int, low: int, high: int, rng: np.random.Generator) -> int:
    """A pitch of class ``pc`` near ``pitch`` and within the register."""
    octaves = [p for p in range(low, high + 1) if p % 12 == pc % 12]
    octaves.sort(key=lambda p: abs(p - pitch) + rng.uniform(0, 3))
    return octaves[0]


def _step_towards(pitch: int, target: int, steps: tuple[int, ...]) -> int:
    """The next pitch from ``pitch`` towards ``target`` along a scale."""
    move = 1 if target > pitch else -1
    at = pitch + move
    while at % 12 not in steps:
        at += move
    return at


def _tones(of: Chord) -> list[int]:
    return [t.pitch_class for t in of.tones] or list(range(12))


def _key_scale(chart: Chart) -> tuple[int, ...]:
    tonic = pitch_class(chart.key.tonic)
    return tuple((tonic + i) % 12 for i in (MINOR_SCALE if chart.key.minor else MAJOR_SCALE))


def _velocity(rng: np.random.Generator, loud: int = 84) -> int:
    return int(min(127, max(20, rng.normal(loud, 9))))


def _chord_at(form: Form, step: int) -> Chord:
    found = form.chord(step)
    assert found is not None
    return found


# ---- walking ---------------------------------------------------------------------------------


def walk(
    form: Form, start: int, stop: int, rng: np.random.Generator, style: WalkingStyle
) -> list[LineNote]:
    """A walking line over the places from ``start`` to ``stop`` (whole beats) of a form."""
    bounds = [start]
    while bounds[-1] < stop:
        bounds.append(min(form.next_landing(bounds[-1]), stop))
    centre = (style.low + style.high) // 2
    targets: list[int] = []
    before = centre
    for at in bounds:
        chord_now = _chord_at(form, at)
        changed = at == start or _chord_at(form, at - 1).symbol != chord_now.symbol
        root = rng.random() < (style.root_on_change if changed else style.root_on_bar)
        pc = int(rng.choice(_tones(chord_now)))
        if root and chord_now.bass is not None:
            pc = chord_now.bass
        before = _near(pc, (before * 2 + centre) // 3, style.low, style.high, rng)
        targets.append(before)
    pitches: dict[int, int] = {}
    for index, at in enumerate(bounds[:-1]):
        beats = (bounds[index + 1] - at) // STEPS_PER_BEAT
        filled = _fill(_chord_at(form, at), beats, targets[index], targets[index + 1], rng, style)
        pitches.update({at + i * STEPS_PER_BEAT: p for i, p in enumerate(filled)})
    _pedal(form, pitches, rng, style)
    return _walking_rhythm(form, pitches, stop, rng, style)


def _fill(
    chord: Chord, beats: int, first: int, goal: int, rng: np.random.Generator, style: WalkingStyle
) -> list[int]:
    """Pitches of one landing to the next: the first, what walks, and what leads on."""
    line = [first]
    run, tones = scale(chord), _tones(chord)
    for beat in range(1, beats):
        now = line[-1]
        if beat == beats - 1 and rng.random() < style.approach:
            line.append(_approach(goal, chord, rng, style))
        elif rng.random() < style.repeat:
            line.append(now)
        elif style.family == "root_fifth":
            fifth = tones[min(2, len(tones) - 1)]
            line.append(_near(fifth if beat % 2 else first, now, style.low, style.high, rng))
        elif style.family == "chromatic" and abs(goal - now) <= beats - beat + 1 and goal != now:
            line.append(now + (1 if goal > now else -1))
        elif rng.random() < style.scalar / max(style.scalar + style.arpeggio, 0.01):
            line.append(_step_towards(now, goal if goal != now else now + 2, run))
        else:
            others = [t for t in tones if t != now % 12] or tones
            line.append(_near(int(rng.choice(others)), now, style.low, style.high, rng))
    return [p + int(rng.integers(-4, 5)) if rng.random() < style.outside else p for p in line]


def _approach(goal: int, chord: Chord, rng: np.random.Generator, style: WalkingStyle) -> int:
    if rng.random() < style.fifth_approach:
        return goal + 7 if goal + 7 <= style.high else goal - 5
    move = 1 if rng.random() < 0.5 else -1
    if rng.random() < style.chromatic_approach:
        return goal + move
    return _step_towards(goal, goal + 12 * move, scale(chord))


def _pedal(
    form: Form, pitches: dict[int, int], rng: np.random.Generator, style: WalkingStyle
) -> None:
    """Hold one note through some stretches of four bars."""
    if not style.pedal:
        return
    key = pitch_class(form.chart.key.tonic)
    pedal = _near(key + int(rng.choice([0, 7])), style.low + 6, style.low, style.high, rng)
    bars4 = 4 * form.chart.meter.beats * STEPS_PER_BEAT
    for block in range(min(pitches) // bars4, max(pitches) // bars4 + 1):
        if rng.random() < style.pedal:
            for step in pitches:
                if step // bars4 == block:
                    pitches[step] = pedal


def _walking_rhythm(
    form: Form, pitches: dict[int, int], stop: int, rng: np.random.Generator, style: WalkingStyle
) -> list[LineNote]:
    line: list[LineNote] = []
    steps = sorted(pitches)
    skip = False
    for index, step in enumerate(steps):
        after = steps[index + 1] if index + 1 < len(steps) else stop
        if skip:
            skip = False
            continue
        if rng.random() < style.rest:
            continue
        pitch, velocity = pitches[step], _velocity(rng)
        two = style.two_feel and not form.is_landing(after) and rng.random() < 0.85
        if two and index + 1 < len(steps):
            after = steps[index + 2] if index + 2 < len(steps) else stop
            skip = True
        end = after - int(rng.integers(0, 3))
        if rng.random() < style.push and form.is_landing(step) and line and line[-1].step <= step - 12:  # fmt: skip
            line[-1] = line[-1]._replace(end_step=step - 6)
            line.append(LineNote(step - 6, end, pitch, velocity))
        elif rng.random() < style.ornament and not two:
            half = step + int(rng.choice([6, 8]))
            kind = rng.random()
            extra = pitch if kind < 0.5 else pitch + (12 if pitch + 12 <= style.high else 0)
            if kind > 0.8 and index + 1 < len(steps):
                extra = pitches[steps[index + 1]] + int(rng.choice([-1, 1]))
            line += [
                LineNote(step, half, pitch, velocity),
                LineNote(half, after, extra, velocity - 12),
            ]
        elif rng.random() < style.ghosts and not two:
            line += [
                LineNote(step, step + 6, pitch, velocity),
                LineNote(step + 8, step + 9, int(rng.integers(28, 44)), 22),
            ]
        else:
            line.append(LineNote(step, end, pitch, velocity))
    return line


# ---- solos -----------------------------------------------------------------------------------


def solo(
    form: Form, start: int, stop: int, rng: np.random.Generator, style: SoloStyle
) -> list[LineNote]:
    """A solo over the places from ``start`` to ``stop`` of a form."""
    line: list[LineNote] = []
    at = start + int(rng.integers(0, 4)) * 6
    while at < stop:
        phrase_end = min(stop, at + max(12, int(rng.exponential(style.phrase_beats) * 12)))
        slots = _phrase_rhythm(at, phrase_end, rng, style)
        line += _phrase_pitches(form, slots, line, rng, style)
        at = phrase_end // 6 * 6 + 6 * int(rng.exponential(style.rest_beats) * 2)
    return [n for n in line if n.step < stop]


def _phrase_rhythm(
    at: int, end: int, rng: np.random.Generator, style: SoloStyle
) -> list[tuple[int, int]]:
    """Onsets and ends of one phrase."""
    slots: list[tuple[int, int]] = []
    while at < end:
        roll = rng.random()
        if at % 12 == 0 and roll < style.triplets:
            cell = [4, 4, 4]
        elif at % 12 == 0 and roll < style.triplets + style.sixteenths:
            cell = [3, 3, 3, 3]
        elif rng.random() < style.density:
            cell = [6, 6] if at % 12 == 0 else [6]
        elif rng.random() < style.syncopation:
            cell = [6, 12, 6] if at % 12 == 0 else [12]
        else:
            cell = [
                int(rng.choice([12, 12, 24, 18, 36] if style.density < 0.3 else [12, 12, 18, 24]))
            ]
        for length in cell:
            slots.append((at, at + length))
            at += length
    return slots


def _phrase_pitches(
    form: Form,
    slots: list[tuple[int, int]],
    line: list[LineNote],
    rng: np.random.Generator,
    style: SoloStyle,
) -> list[LineNote]:
    made: list[LineNote] = []
    now = line[-1].pitch if line else (style.low + style.high) // 2
    move = int(rng.choice([-1, 1]))
    cells = [int(rng.choice([-2, -1, 1, 2, 3])) for _ in range(4)]
    planned: dict[int, int] = {}
    for index, (step, end) in enumerate(slots):
        pushed = step % 12 in (6, 8) and end > (step // 12 + 1) * 12 and rng.random() < 0.8
        heard = (step // 12 + 1) * 12 if pushed else step
        chord = _chord_at(form, heard)
        if rng.random() < 0.12 or now > style.high - 3 or now < style.low + 3:
            move = -1 if now > (style.low + style.high) // 2 else 1
        if index in planned:
            now = planned[index]
        else:
            now = _solo_pitch(form, chord, heard, now, move, cells[index % 4], rng, style)
            _plan_enclosure(form, slots, index, planned, now, rng, style)
        now = min(max(now, style.low), style.high)
        if rng.random() < style.outside:
            now += int(rng.choice([-3, -1, 1, 2]))
        made.append(LineNote(step, end - int(rng.integers(0, 2)), now, _velocity(rng)))
    return made


def _solo_pitch(
    form: Form,
    chord: Chord,
    step: int,
    now: int,
    move: int,
    jump: int,
    rng: np.random.Generator,
    style: SoloStyle,
) -> int:
    tones = _tones(chord)
    change = form.is_landing(step)
    if style.family in ("key", "blues"):
        tonic = pitch_class(form.chart.key.tonic)
        run = _key_scale(form.chart)
        if style.family == "blues":
            run = tuple((tonic + i) % 12 for i in BLUES_SCALE)
        return _walk_scale(now, move * int(rng.choice([1, 1, 1, 2, 3])), run)
    if change and rng.random() < style.target_change:
        aim = tones[1:2] + tones[3:4] if style.family == "guide" else tones
        return _near(int(rng.choice(aim or tones)), now + 2 * move, style.low, style.high, rng)
    if style.family == "guide":
        return _near(int(rng.choice(tones[1:])), now, style.low, style.high, rng)
    if style.family == "arpeggio":
        if rng.random() < 0.85:
            return _walk_scale(now, move, tuple(tones))
        return _walk_scale(now, move, scale(chord))
    if style.family == "motif":
        return _walk_scale(now, jump, scale(chord))
    if rng.random() < style.chromatic:
        return now + move
    if step % 12 == 0 and rng.random() < style.chord_on_beat and style.family != "scalar":
        return _walk_scale(now, move, tuple(tones))
    return _walk_scale(now, move * (1 if rng.random() < 0.8 else 2), scale(chord))


def _walk_scale(now: int, moves: int, run: tuple[int, ...]) -> int:
    for _ in range(abs(moves)):
        now = _step_towards(now, now + (12 if moves > 0 else -12), run)
    return now


def _plan_enclosure(
    form: Form,
    slots: list[tuple[int, int]],
    index: int,
    planned: dict[int, int],
    now: int,
    rng: np.random.Generator,
    style: SoloStyle,
) -> None:
    """Sometimes lay two notes around a chord tone that stands on a beat three notes on."""
    if (
        index + 3 >= len(slots)
        or rng.random() > style.enclosure
        or style.family in ("key", "blues")
    ):
        return
    step = slots[index + 3][0]
    if step % 12:
        return
    goal = _near(int(rng.choice(_tones(_chord_at(form, step)))), now, style.low, style.high, rng)
    above = goal + int(rng.choice([1, 2]))
    planned.update({index + 1: above, index + 2: goal - 1, index + 3: goal})


# ---- adrift ----------------------------------------------------------------------------------


def drift(
    form: Form,
    start: int,
    stop: int,
    rng: np.random.Generator,
    family: str,
    play: Callable[[Form, int, int], list[LineNote]],
) -> list[LineNote]:
    """A stretch that fits the form nowhere, with the rhythm of ``play``."""
    base = play(form, start, stop)
    if family == "hopping":
        return _hopping(form, start, stop, rng, play)
    if family in ("other changes", "shuffled"):
        return _other_changes(form, start, stop, rng, family, play)
    if family == "other key":
        away = int(rng.choice([1, -1, 2, -2, 3, 4, 6]))
        return [n._replace(pitch=n.pitch + away) for n in base]
    return _strayed(form, base, rng, family)


def _strayed(
    form: Form, base: list[LineNote], rng: np.random.Generator, family: str
) -> list[LineNote]:
    """The rhythm of a line, and other pitches."""
    low, high = 30, 52
    if base:
        low, high = min(n.pitch for n in base) - 2, max(n.pitch for n in base) + 2
    now = (low + high) // 2
    made = []
    run = _key_scale(form.chart)
    strange = [int(p) for p in rng.permutation(12)]
    for note in base:
        if family == "notes":
            now = int(rng.integers(low, high + 1))
        elif family == "steps":
            now += int(rng.choice([-2, -1, -1, 1, 1, 2]))
        elif family == "half there" and rng.random() < 0.25:
            # Now and then a note of the chord, the rest of the key.
            pc = int(rng.choice(_tones(_chord_at(form, note.step))))
            now = _near(pc, now, low, max(high, low + 12), rng)
        elif family in ("key", "half there"):
            now = _walk_scale(now, int(rng.choice([-2, -1, 1, 2])), run)
        elif family == "other tune":
            now = note.pitch - note.pitch % 12 + strange[(note.pitch + note.step // 96) % 12]
        else:
            now = now if rng.random() < 0.7 else now + int(rng.choice([-5, -2, -1, 1, 2, 5]))
        now = now + 12 if now < low else now - 12 if now > high else now
        made.append(note._replace(pitch=now))
    return made


def _other_changes(
    form: Form,
    start: int,
    stop: int,
    rng: np.random.Generator,
    family: str,
    play: Callable[[Form, int, int], list[LineNote]],
) -> list[LineNote]:
    """Over the changes of another chart in the same key, or over this one's bars out of order."""
    own = form.chart
    if family == "shuffled":
        order = [int(i) for i in rng.permutation(len(own.bars))]
        other, move = Form(replace(own, bars=tuple(own.bars[i] for i in order))), 0
    else:
        other = Form(random_chart(rng))
        move = pitch_class(own.key.tonic) - pitch_class(other.chart.key.tonic)
        move = (move + 6) % 12 - 6
    at = int(rng.integers(other.beats)) * STEPS_PER_BEAT
    return [
        LineNote(n.step + start - at, n.end_step + start - at, n.pitch + move, n.velocity)
        for n in play(other, at, at + stop - start)
    ]


def _hopping(
    form: Form,
    start: int,
    stop: int,
    rng: np.random.Generator,
    play: Callable[[Form, int, int], list[LineNote]],
) -> list[LineNote]:
    """Bits of one or two bars from anywhere in the form."""
    line: list[LineNote] = []
    at = start
    while at < stop:
        end = min(stop, at + int(rng.integers(3, 9)) * STEPS_PER_BEAT)
        place = int(rng.integers(form.beats)) * STEPS_PER_BEAT
        bit = play(form, place, place + end - at)
        line += [
            n._replace(step=n.step - place + at, end_step=n.end_step - place + at) for n in bit
        ]
        at = end
    return line


# ---- whole takes -----------------------------------------------------------------------------


def generate_walking(
    chart: Chart, choruses: int, rng: np.random.Generator, style: WalkingStyle | None = None
) -> list[LineNote]:
    """A clean walking line of so many choruses."""
    form = Form(chart)
    return walk(form, 0, choruses * form.steps, rng, style or WalkingStyle.draw(rng))


def generate_solo(
    chart: Chart, choruses: int, rng: np.random.Generator, style: SoloStyle | None = None
) -> list[LineNote]:
    """A clean solo of so many choruses."""
    form = Form(chart)
    return solo(form, 0, choruses * form.steps, rng, style or SoloStyle.draw(rng))


@dataclass
class Plan:
    """What a take shall be: the kind of each chorus and where the player believes to be.

    ``course`` is a list of (step by the count, offset in beats or None for adrift), ascending.
    """

    kinds: list[str]
    walking: WalkingStyle = field(default_factory=WalkingStyle)
    soloing: SoloStyle = field(default_factory=SoloStyle)
    course: list[tuple[int, int | None]] = field(default_factory=list)
    adrift: str = "notes"


def draw_course(
    form: Form,
    choruses: int,
    rng: np.random.Generator,
    slips: int,
    adrift: float = 0.25,
    least_bars: int = 3,
) -> list[tuple[int, int | None]]:
    """Slips at random places: most at bar lines, whole bars likelier, most of them recovered."""
    bar = form.chart.meter.beats
    total = choruses * form.beats
    sizes = [
        1,
        2,
        bar,
        bar,
        bar,
        2 * bar,
        4 * bar,
        4 * bar,
        8 * bar,
        int(rng.integers(1, form.beats)),
    ]
    course: list[tuple[int, int | None]] = []
    room = total // max(1, slips)
    for index in range(slips):
        length = max(least_bars, int(rng.choice([3, 4, 6, 8, 12, 16, 24]))) * bar
        first, last = index * room + bar, (index + 1) * room - length - 4 * bar
        if last <= first:
            length, last = (
                min(length, room // 2),
                max(first + 1, (index + 1) * room - room // 2 - bar),
            )
        at = int(rng.integers(first, last + 1))
        if rng.random() < 0.75:
            at = max(bar, at // bar * bar)
        offset: int | None = None
        if rng.random() >= adrift:
            offset = int(rng.choice(sizes)) * int(rng.choice([-1, 1]))
            offset = wrap(offset, form.beats) or bar
        course.append((at * STEPS_PER_BEAT, offset))
        if index == slips - 1 and rng.random() < 0.25:
            break
        course.append(((at + length) * STEPS_PER_BEAT, 0))
    return course


def wrap(offset: int, beats: int) -> int:
    """An offset within the form as the smaller of the two ways round."""
    offset %= beats
    return offset - beats if 2 * offset > beats else offset


def play_plan(
    chart: Chart, plan: Plan, rng: np.random.Generator
) -> tuple[list[LineNote], list[Slip]]:
    """The line of a plan, and its truth."""
    form = Form(chart)
    total = len(plan.kinds) * form.steps
    edges = sorted({0, *(s for s, _ in plan.course), *range(0, total + 1, form.steps)})
    edges = [e for e in edges if e <= total]
    line: list[LineNote] = []
    for start, stop in pairwise(edges):
        offset = next((o for s, o in reversed(plan.course) if s <= start), 0)
        kind = plan.kinds[start // form.steps]

        def play(on: Form, a: int, b: int, kind: str = kind) -> list[LineNote]:
            if kind == "walking":
                return walk(on, a, b, rng, plan.walking)
            return solo(on, a, b, rng, plan.soloing)

        if offset is None:
            line += drift(form, start, stop, rng, plan.adrift, play)
        else:
            shift = (offset % form.beats) * STEPS_PER_BEAT
            bit = play(form, start + shift, stop + shift)
            line += [n._replace(step=n.step - shift, end_step=n.end_step - shift) for n in bit]
    return monophonic(line), truth_of(form, plan.course, total)


def monophonic(line: list[LineNote]) -> list[LineNote]:
    """One note at a time, in order, none before step 0 and none without length."""
    ordered: dict[int, LineNote] = {n.step: n for n in sorted(line) if n.step >= 0}
    notes = list(ordered.values())
    for index, after in enumerate(notes[1:]):
        if notes[index].end_step > after.step:
            notes[index] = notes[index]._replace(end_step=after.step)
    return [n._replace(end_step=max(n.end_step, n.step + 1)) for n in notes]


def truth_of(form: Form, course: list[tuple[int, int | None]], total: int) -> list[Slip]:
    """The slips of a course, and where the chart first shows each."""
    slips = []
    for index, (step, offset) in enumerate(course):
        if offset == 0:
            continue
        after = course[index + 1] if index + 1 < len(course) else (total, 1)
        recovered = after[0] if after[1] == 0 else None
        shown: int | None = step
        kind: LossKind = "adrift"
        if offset is not None:
            kind = "ahead" if offset > 0 else "behind"
            shown = next(
                (
                    s
                    for s in range(step, after[0], STEPS_PER_BEAT)
                    if _sound(form, s) != _sound(form, s + (offset % form.beats) * STEPS_PER_BEAT)
                ),
                None,
            )
        slips.append(Slip(step, kind, offset, recovered, shown, after[0]))
    return slips


def _sound(form: Form, step: int) -> tuple[frozenset[int], int | None]:
    chord = _chord_at(form, step)
    return frozenset(_tones(chord)), chord.bass


def inject_slips(
    chart: Chart,
    choruses: int,
    rng: np.random.Generator,
    *,
    kind: str = "walking",
    slips: int = 1,
    adrift: float = 0.25,
    walking: WalkingStyle | None = None,
    soloing: SoloStyle | None = None,
) -> tuple[list[LineNote], list[Slip]]:
    """A take with known slips. ``kind``: walking, solo, or mixed (drawn for every chorus)."""
    kinds = [kind] * choruses
    if kind == "mixed":
        kinds = [str(k) for k in rng.choice(["walking", "solo"], size=choruses)]
    plan = Plan(
        kinds,
        walking or WalkingStyle.draw(rng),
        soloing or SoloStyle.draw(rng),
        draw_course(Form(chart), choruses, rng, slips, adrift),
        str(rng.choice(ADRIFT_FAMILIES)),
    )
    return play_plan(chart, plan, rng)
