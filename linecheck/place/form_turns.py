"""The place where a stretch begins: of all places that the evidence allows, the likeliest.

A form loss begins at the earliest place that the evidence supports: where the chords in the own
place are the same as those by the form clock nothing shows it, so it begins where they first
differ. The notes around a turn speak for each place in turn; bar lines, beginnings of sections and
of choruses are likelier turns than the rest. Of these chances the place is chosen that has most
of them near it, within a bar. A loss begins where something speaks for it: of bars that tell nothing
none is called lost, so a beginning is rather told late than early, and a line is back at the first
bar line from which on nothing shows that it is not.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from linecheck.place.form_path import Stretch

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from linecheck.music.form import Form
    from linecheck.place.form_evidence import FormTables

    Floats = NDArray[np.float32]

REACH_BEATS = 32  # to either side, of beats where the chords differ
GOOD = 0.88  # places that have nearly most of the chances near them; the likeliest is taken
TRUST = 0.8  # the notes around a turn are not independent
SPEAKS = 1.0  # nats for the lost place: fewer do not show that the line is still there
EARLY = 1.0  # how much the chance that the line is lost only two bars later counts against a place
# Nats for a turn there, adding up; a line finds its way back where a section begins.
BAR_LINE, SECTION_START, CHORUS_START = 1.8, 0.9, 0.5


@dataclass(frozen=True, slots=True)
class StateGain:
    """What each state gains over another, beat by beat, in nats.

    ``over_in_place`` (beats × states) is what each gains over being in place. Adrift is told by how
    badly the line fits, so it gains less over an offset that fits better: by ``per_nat`` (an entry
    a beat) of each nat that ``raw`` (the evidence, beats × states) has for the offset.
    """

    over_in_place: Floats
    raw: Floats
    per_nat: Floats

    def over(self, state: int, other: int, start: int, stop: int) -> Floats:
        """What a state gains over another at the beats [start, stop)."""
        gain, here = self.over_in_place, slice(start, stop)
        adrift = gain.shape[1] - 1
        if state == other or adrift not in {state, other}:
            gained: Floats = gain[here, state] - gain[here, other]
            return gained
        offset = min(state, other)
        fits = self.raw[here, offset] - self.raw[here, 0]
        misfit: Floats = gain[here, adrift] - self.per_nat[here] * fits
        return misfit if state == adrift else -misfit

    def over_each(self, state: int, others: NDArray[np.int64]) -> Floats:
        """What a state gains over another of its own at every beat (an entry a beat)."""
        gained = np.zeros(len(others), dtype=np.float32)
        for other in np.unique(others):
            mine = others == other
            gained[mine] = self.over(state, int(other), 0, len(others))[mine]
        return gained


def _likely_turns(form: Form) -> Floats:
    """Nats for a turn at every beat of the chorus."""
    nats = np.zeros(form.beats, dtype=np.float32)
    at = 0
    for bar in form.chart.bars:
        nats[at] = BAR_LINE + SECTION_START * bar.opens_section
        at += bar.meter.beats
    nats[0] += CHORUS_START
    return nats


def _differs(a: int, b: int, tables: FormTables, beats: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Whether the chords of two states differ, at beats of the line; adrift differs from all."""
    if tables.beats in (a, b):
        return np.ones(len(beats), dtype=bool)
    return tables.differ(beats, a, b)


def _first_shown(stretch: Stretch, tables: FormTables, first: int) -> int:
    """Where the line's first stretch begins: one out of place, where the chords first show it."""
    beats = np.arange(stretch.start, stretch.stop)
    differ = _differs(0, stretch.state, tables, beats + first)
    if stretch.state == 0 or not differ.any():
        return stretch.start
    return stretch.start + int(differ.argmax())


def _where_shown(chance: Floats, differ: NDArray[np.bool_]) -> Floats:
    """The chances of a loss to begin, each moved on to where the chords first show it."""
    places = np.flatnonzero(differ)
    nearest = np.searchsorted(places, np.arange(len(chance)))
    shown = nearest < len(places)
    if not shown.any():
        return chance
    moved = np.zeros_like(chance)
    np.add.at(moved, places[nearest[shown]], chance[shown])
    return moved


def _likeliest(chance: Floats, bar: int, early: float) -> int:
    """The likeliest place of those that have nearly most of the chances within a bar.

    ``early``: how much chances more than two bars later count against a place.
    """
    near = np.convolve(chance, np.ones(2 * bar + 1), mode="full")[bar : bar + len(chance)]
    later = np.append(chance[::-1].cumsum()[::-1], np.zeros(2 * bar + 1))
    near -= early * later[2 * bar + 1 :]
    good = np.flatnonzero(near >= GOOD * near.max())
    return int(good[chance[good].argmax()])


def _back_from(
    turn: int, differ: NDArray[np.bool_], rows: Floats, bar_lines: NDArray[np.bool_]
) -> int:
    """The first bar line from which on up to the turn nothing shows the line to be lost still."""
    soonest = int(np.flatnonzero(differ[:turn]).max(initial=-1)) + 1
    lost_from_there = rows[soonest:turn][::-1].cumsum()[::-1] > SPEAKS
    back = np.flatnonzero(bar_lines[soonest:turn] & ~lost_from_there)
    return soonest + int(back[0]) if back.size else turn


def place_turns(
    path: list[Stretch], gain: StateGain, tables: FormTables, form: Form, first: int
) -> list[Stretch]:
    """The same stretches, each beginning where it is likeliest to.

    Args:
        path: stretches in beats from ``first``, the beat of the first row of ``gain``.
        gain: what the states gain over one another, as the take weighs it.
        tables: the chorus beat by beat.
        form: the chart laid out.
        first: beat of the line of the first row.
    """
    turns = _likely_turns(form)
    starts = [_first_shown(path[0], tables, first)]
    for before, after in itertools.pairwise(path):
        around = np.arange(starts[-1] + 1, after.stop)
        told = np.cumsum(_differs(before.state, after.state, tables, around + first))
        here = told[min(after.start, after.stop - 1) - around[0]]
        low = int(around[np.searchsorted(told, here - REACH_BEATS)])
        high = int(around[min(np.searchsorted(told, here + REACH_BEATS), len(around) - 1)])
        at = np.arange(low, high + 1)
        rows = gain.over(before.state, after.state, low, high)
        chance = TRUST * np.concatenate(([0.0], np.cumsum(rows))) + turns[(at + first) % form.beats]
        chance = np.exp(chance - chance.max())
        bar = form.chart.meter.beats
        differ = _differs(before.state, after.state, tables, at + first)
        if after.state != 0:
            turn = _likeliest(_where_shown(chance, differ), bar, early=EARLY)
        else:
            bar_lines = turns[(at + first) % form.beats] > 0
            turn = _back_from(_likeliest(chance, bar, early=0.0), differ, rows, bar_lines)
        starts.append(int(at[turn]))
    stops = [*starts[1:], path[-1].stop]
    return [Stretch(a, b, s.state) for a, b, s in zip(starts, stops, path, strict=True)]
