"""The style of each chorus.

style: ``walking`` (mostly one note a beat), ``solo``, or ``mixed``.

It is read from the rhythm alone. A beat is *walked* when a note is struck on it, or one struck on a
beat is held through it (half notes in two, a dotted half in a waltz); it is *busy* when more than
one note is struck in it, or one off the beat only, which counts twice. Each bar says how much it
walks, in nats: much where every beat is walked, little where a few are busy (skips), the contrary
where most are, and less for each beat that is silent. A bar with nothing off the beat does not by
itself speak for a solo: else a walking line would solo by leaving notes out. A rest of two beats or
more does, by its length, for phrases breathe.

No bar is asked alone: a player walks or solos for some bars on end and changes mostly where a chorus
begins, then at a section, seldom within (the best path through the bars). The bars of a chorus that
are soloed give it its style; in them a silence is a breath. Where no bar says anything the style goes
on, before the first that does it is that one's.

Ghosts off the beat are not asked. Steps are twelfths of a beat. In 2/2 the bassist's beat is the
quarter note. ``WALKS`` is about what such a bar is worth in lines of 24 invented players, each walking
and soloing (log of the ratio of its shares).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from linecheck.music.form import Form, bar_steps
from linecheck.terms import STEPS_PER_BEAT, PlacedNote, Style

if TYPE_CHECKING:
    from collections.abc import Sequence

# Nats that a bar walks, by how many of four beats are busy.
WALKS = (3.5, 1.8, 0.3, -2.5, -5.0)
SILENT_BEAT = 0.7  # less for each of four
RATHER_WALKS = 4.0  # nats, for a line that solos from its first bar on
# Nats for a solo that each beat of a rest says, of one of two beats or more: phrases breathe.
BREATH, REST_BEATS, LONGEST_REST = 0.7, 2, 6
# Nats that a change between walking and solo costs.
AT_CHORUS, AT_SECTION, WITHIN = 1.5, 4.0, 6.0
# Share of its bars that are soloed: up to the first a chorus walks, from the second on it solos.
WALKS_UP_TO, SOLOS_FROM = 0.15, 0.85
ON_THE_BEAT = 2  # steps


class Styles(NamedTuple):
    """``by_chorus`` from chorus 1 on; ``solo_bars`` says of every bar whether it is soloed."""

    by_chorus: tuple[Style, ...]
    solo_bars: tuple[bool, ...]


def chorus_styles(
    notes: Sequence[PlacedNote], ghosts: Sequence[bool], form: Form, choruses: int
) -> Styles:
    """The style of each chorus from chorus 1 on, and of each bar.

    Args:
        notes: the line, in the order of its places.
        ghosts: which of them are ghosts.
        form: the form.
        choruses: how many choruses were begun.
    """
    solo_bars = _soloed(_walks(notes, ghosts, form, choruses), form)
    bars = len(form.chart.bars)
    shares = [sum(solo_bars[at : at + bars]) / bars for at in range(0, len(solo_bars), bars)]
    return Styles(tuple(_style(share) for share in shares), tuple(solo_bars))


def _style(soloed: float) -> Style:
    if soloed <= WALKS_UP_TO:
        return "walking"
    return "solo" if soloed >= SOLOS_FROM else "mixed"


def _soloed(walks: Sequence[float], form: Form) -> list[bool]:
    """For each bar whether it is soloed: the best path through all of them (Viterbi)."""
    chart_bars = form.chart.bars
    costs = [AT_SECTION if bar.opens_section else WITHIN for bar in chart_bars]
    costs[0] = AT_CHORUS
    first = next((number for number, nats in enumerate(walks) if nats), len(walks))
    walking, soloing = 0.0, -math.inf
    came: list[tuple[bool, bool]] = []  # whether a bar that walks, and one that solos, changed
    for number, nats in enumerate(walks[first:], first):
        cost = RATHER_WALKS if number == first else costs[number % len(costs)]
        came.append((soloing - cost >= walking, walking - cost >= soloing))
        walking, soloing = (
            max(walking, soloing - cost) + max(nats, 0.0),
            max(soloing, walking - cost) + max(-nats, 0.0),
        )
    soloed: list[bool] = []
    now = soloing > walking
    for changed_to in reversed(came):
        soloed.append(now)
        now ^= changed_to[now]
    return [soloed[-1] if soloed else False] * first + soloed[::-1]


def _walks(
    notes: Sequence[PlacedNote], ghosts: Sequence[bool], form: Form, choruses: int
) -> list[float]:
    """For each bar of each chorus the nats that it walks; below 0 it is soloed, 0 says nothing."""
    found: list[float] = []
    at = begins = 0
    while at < len(notes) and notes[at].step < 0:
        at += 1
    for _ in range(choruses):
        for bar in form.chart.bars:
            pulse = STEPS_PER_BEAT // 2 if bar.meter.unit == 2 else STEPS_PER_BEAT
            ends = begins + bar_steps(bar.meter)
            since = max(0, at - 1)  # the note before may be held into this bar
            while at < len(notes) and notes[at].step < ends:
                at += 1
            beats = (ends - begins) // pulse
            beaten = _beaten(notes[since:at], ghosts[since:at], begins, pulse, beats)
            rests = (
                (after.step - max(before.end_step, before.step + pulse)) / pulse
                for before, after in zip(notes[since:at], notes[since + 1 : at + 1], strict=False)
                if before.step >= begins
            )
            breath = sum(min(rest, LONGEST_REST) for rest in rests if rest >= REST_BEATS)
            found.append(_bar_walks(*beaten) - BREATH * breath)
            begins = ends
    return found


def _beaten(
    notes: Sequence[PlacedNote], ghosts: Sequence[bool], begins: int, pulse: int, beats: int
) -> tuple[list[int], list[bool], list[bool]]:
    """Of every beat of a bar that begins at step ``begins``: notes struck, on it, held over it.

    ``notes`` are those struck in the bar and the one before; ``pulse`` is the length of a beat.
    Ghosts off the beat are not asked.
    """
    struck, struck_on, walked = [0] * beats, [False] * beats, [False] * beats
    for note, ghost in zip(notes, ghosts, strict=True):
        beat, inside = divmod(note.step - begins, pulse)  # negative: struck before the bar
        if inside >= pulse - ON_THE_BEAT:
            beat, inside = beat + 1, 0
        if inside <= ON_THE_BEAT:
            held_to = (note.end_step - begins + pulse // 2) // pulse
            for held in range(max(beat, 0), min(max(held_to, beat + 1), beats)):
                walked[held] = True
            if 0 <= beat < beats:
                struck_on[beat] = True
        elif ghost:
            continue
        if 0 <= beat < beats:
            struck[beat] += 1
    return struck, struck_on, walked


def _bar_walks(struck: list[int], struck_on: list[bool], walked: list[bool]) -> float:
    """The nats that a bar walks, by its beats."""
    beats = len(struck)
    silent = sum(not count and not held for count, held in zip(struck, walked, strict=True))
    off_only = sum(count > 0 and not on for count, on in zip(struck, struck_on, strict=True))
    more = sum(count > 1 and on for count, on in zip(struck, struck_on, strict=True))
    busy = min(4.0, (more + 2 * off_only) * 4 / beats)
    full = min(int(busy), 3)
    nats = WALKS[full] + (busy - full) * (WALKS[full + 1] - WALKS[full])
    nats -= SILENT_BEAT * silent * 4 / beats
    return nats if busy else max(0.0, nats) * (silent < beats)
