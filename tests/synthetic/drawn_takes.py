"""Takes of a synthetic player, clean or lost once, and what is true of them.

A *player* is a module with ``charts()``, ``draw_player(rng)``, ``walk`` and ``solo`` (both
``(form, start, stop, rng, player)``, beats, giving notes), ``adrift`` (the same, then the way and
which of the two is played) and ``ADRIFT_WAYS``.

    rng = np.random.default_rng(3)
    take = draw_take(rng, "adrift walking", second_player)
    take.chart, take.choruses, take.line, take.truth

Kinds: ``clean walking``, ``clean solo``, ``walking`` and ``solo`` (one slip each), ``adrift
walking`` and ``adrift solo`` (one stretch that fits no place), ``two slips walking`` and ``two slips
solo`` (a slip, and another before the line is back). ``mixed`` for ``solo``: by chorus, as it comes.
"""

# ruff: noqa: PLR0917 -- a player is asked for a line by place, chance, habits and way

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Protocol

from linecheck.music.form import Form
from linecheck.terms import STEPS_PER_BEAT
from tests.synthetic.lines import LineNote, Slip, monophonic, truth_of

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy as np

    from linecheck.terms import Chart

    Play = Callable[[Form, int, int, np.random.Generator, Any], list[LineNote]]

KINDS = ("clean walking", "clean solo", "walking", "solo", "adrift walking", "adrift solo", "two slips walking", "two slips solo", "clean mixed", "mixed", "adrift mixed")  # fmt: skip
LEAST_SHOWN = 2.5  # bars in which the chart shows a slip, or the slip is drawn again
TRIES = 200
LATEST_SHOWN = 8  # bars after which it shows at the latest


class PlayerModule(Protocol):
    """What a module has to hold to be a player."""

    ADRIFT_WAYS: tuple[str, ...]

    def charts(self) -> list[Chart]:
        """Charts that stand nowhere else."""

    def draw_player(self, rng: np.random.Generator) -> Any:
        """Habits, drawn widely."""

    def walk(self, form: Form, start: int, stop: int, rng: np.random.Generator, player: Any) -> list[LineNote]:  # fmt: skip
        """Walking over the beats from ``start`` to ``stop`` of a form."""

    def solo(self, form: Form, start: int, stop: int, rng: np.random.Generator, player: Any) -> list[LineNote]:  # fmt: skip
        """A solo over the beats from ``start`` to ``stop`` of a form."""

    def adrift(
        self, form: Form, start: int, stop: int, rng: np.random.Generator, player: Any, way: str, play: Play
    ) -> list[LineNote]:  # fmt: skip
        """A stretch that fits the form nowhere."""


@dataclass(frozen=True)
class DrawnTake:
    """A take and what is true of it."""

    chart: Chart
    choruses: int
    line: list[LineNote]
    truth: list[Slip]
    way: str


def _sounds(form: Form, beat: int) -> frozenset[int]:
    found = form.chord(beat * STEPS_PER_BEAT)
    assert found is not None
    return frozenset(t.pitch_class for t in found.tones)


def _size(form: Form, rng: np.random.Generator) -> int:
    """By how much a line slips: mostly by whole bars; 0 where that is once round the form."""
    bar = form.chart.meter.beats
    sizes = [bar, bar, bar, 2 * bar, 2 * bar, 4 * bar, 8 * bar, 1, 2, int(rng.integers(1, form.beats))]  # fmt: skip
    size = int(rng.choice(sizes)) * int(rng.choice([-1, 1])) % form.beats
    return size - form.beats if 2 * size > form.beats else size


def _differing(form: Form, beats: range, first: int, second: int) -> list[int]:
    """The beats at which two offsets are over different chords."""
    return [b for b in beats if _sounds(form, (b + first) % form.beats) != _sounds(form, (b + second) % form.beats)]  # fmt: skip


def _two_slips(form: Form, choruses: int, rng: np.random.Generator) -> list[tuple[int, int | None]]:
    """A slip, another from there, and mostly the way back; each shows in the chart."""
    bar, total = form.chart.meter.beats, choruses * form.beats
    for _ in range(TRIES):
        lengths = [bar * int(n) for n in rng.choice([4, 6, 8, 12], size=2)]
        start = int(rng.integers(5 * bar, max(5 * bar + 1, total - sum(lengths))))
        first = _size(form, rng)
        second = (first + _size(form, rng)) % form.beats
        second = second - form.beats if 2 * second > form.beats else second
        turns = [start, start + lengths[0], min(total, start + sum(lengths))]
        if 0 in (first, second) or first == second:
            continue
        pairs = ((0, first, turns[0]), (first, second, turns[1]), (0, second, turns[1]))
        ends = {turns[0]: turns[1], turns[1]: turns[2]}
        shown = [_differing(form, range(t, ends[t]), a, b) for a, b, t in pairs]
        if all(len(s) >= LEAST_SHOWN * bar for s in shown):
            break
    course: list[tuple[int, int | None]] = [
        (turns[0] * STEPS_PER_BEAT, first), (turns[1] * STEPS_PER_BEAT, second)
    ]  # fmt: skip
    return course + [(turns[2] * STEPS_PER_BEAT, 0)] * (turns[2] < total)


def _course(
    form: Form, choruses: int, rng: np.random.Generator, *, lost: bool
) -> list[tuple[int, int | None]]:
    """One loss: from where to where, and by how much (None: adrift)."""
    bar, total = form.chart.meter.beats, choruses * form.beats
    for last in range(TRIES):
        start = int(rng.integers(5 * bar, total - 8 * bar))
        if rng.random() < 0.6:
            start = start // bar * bar
        bars = int(rng.choice([6, 8, 10, 12, 14] if lost else [4, 6, 8, 12, 16, 10**4]))
        stop = min(total, start + bars * bar)
        size: int | None = None
        if not lost:
            size = _size(form, rng)
            if not size:
                continue
        course: list[tuple[int, int | None]] = [(start * STEPS_PER_BEAT, size)]
        if stop < total:
            course.append((stop * STEPS_PER_BEAT, 0))
        if size is None:
            return course
        shown = [b for b in range(start, stop) if _sounds(form, b) != _sounds(form, (b + size) % form.beats)]  # fmt: skip
        plain = len(shown) >= LEAST_SHOWN * bar and shown[0] - start <= LATEST_SHOWN * bar
        if plain or last == TRIES - 1:  # over one chord no slip shows
            return course
    return []


def mixed(who: PlayerModule, choruses: int, rng: np.random.Generator) -> Play:
    """Each chorus of the player's own count walking or solo, as it comes."""
    ways: list[Play] = [(who.walk, who.solo)[int(i)] for i in rng.integers(2, size=choruses)]

    def play(form: Form, start: int, stop: int, rng: np.random.Generator, player: Any) -> list[LineNote]:  # fmt: skip
        line: list[LineNote] = []
        while start < stop:
            chorus = start // form.beats
            end = min(stop, (chorus + 1) * form.beats)
            line += ways[chorus % len(ways)](form, start, end, rng, player)
            start = end
        return line

    return play


def draw_take(
    rng: np.random.Generator, kind: str, who: PlayerModule, charts: list[Chart] | None = None
) -> DrawnTake:
    """A take of a kind (one of ``KINDS``), over one of the player's own charts or of ``charts``."""
    charts = charts or who.charts()
    the_chart = charts[int(rng.integers(len(charts)))]
    form = Form(the_chart)
    bars = int(rng.integers(32, 80))
    choruses = max(2, -(-bars * the_chart.meter.beats // form.beats))
    player = who.draw_player(rng)
    play = who.solo if kind.endswith("solo") else who.walk
    if kind.endswith("mixed"):
        play = mixed(who, choruses + 2, rng)
    course: list[tuple[int, int | None]] = []
    if kind.startswith("two"):
        course = _two_slips(form, choruses, rng)
    elif not kind.startswith("clean"):
        course = _course(form, choruses, rng, lost=kind.startswith("adrift"))
    way = str(rng.choice(who.ADRIFT_WAYS))
    total = choruses * form.beats
    edges = [0, *(s // STEPS_PER_BEAT for s, _ in course), total]
    offsets = [0, *(o for _, o in course)]
    line: list[LineNote] = []
    for (start, stop), offset in zip(pairwise(edges), offsets, strict=True):
        if offset is None:
            line += who.adrift(form, start, stop, rng, player, way, play)
            continue
        ahead = offset % form.beats
        shift = ahead * STEPS_PER_BEAT
        line += [
            n._replace(step=n.step - shift, end_step=n.end_step - shift)
            for n in play(form, start + ahead, stop + ahead, rng, player)
        ]
    return DrawnTake(
        the_chart,
        choruses,
        monophonic(line),
        truth_of(form, course, total * STEPS_PER_BEAT),
        way if kind.startswith("adrift") else "",
    )
