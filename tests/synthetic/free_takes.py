"""Whole free takes with truth: a chart, a line over it, a hand that plays it, a way to begin.

Every take follows from its seed. ``LINE_KINDS`` and the six characters of ``timing.random_hand``
can be held out: what is tuned on some of them is measured on the others.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from linecheck.music.form import Form
from linecheck.terms import STEPS_PER_BEAT, Chart
from tests.synthetic.charts import chart, named_charts, random_chart
from tests.synthetic.drawn_takes import PlayerModule, mixed
from tests.synthetic.lines import (
    SOLO_FAMILIES,
    WALKING_FAMILIES,
    LineNote,
    Plan,
    SoloStyle,
    WalkingStyle,
    draw_course,
    generate_walking,
    monophonic,
    play_plan,
)
from tests.synthetic.timing import TimedTake, play, random_hand

LINE_KINDS = ("walking", "in two", "solo", "straight eighths", "mixed", "slips")
MOST_A_SECOND = 11.0  # notes, plucked on a double bass; common practice
STARTS = ("one", "pickup", "count-in", "middle", "intro", "counted to the middle")


@dataclass(frozen=True)
class FreeTake:
    """A take, the chart it is over, and how it was made."""

    take: TimedTake
    chart: Chart
    kind: str
    start: str
    choruses: int
    seed: int
    family: str = ""


def six_eight_chart() -> Chart:
    """A tune in 6/8: its beat is the eighth."""
    return chart(
        "Rope Walk", "G", "AB",
        {"A": "G6 | Em7 | Am7 | D7 | Bm7 | E7b9 | Am7 | D7", "B": "Cmaj7 | Cm6 | G6 | E7 | Am7 | D7 | G6 | D7sus"},
        beats=6, unit=8,
    )  # fmt: skip


def draw_chart(rng: np.random.Generator) -> Chart:
    roll = rng.random()
    if roll < 0.05:
        return six_eight_chart()
    if roll < 0.55:
        charts = named_charts()
        return charts[int(rng.integers(len(charts)))]
    return random_chart(rng)


def _playable(style: SoloStyle, bpm: float) -> SoloStyle:
    """Without what no hand can play at this tempo: a bassist strikes some eleven notes a second."""
    return replace(
        style,
        sixteenths=style.sixteenths if bpm * 4 / 60 < MOST_A_SECOND else 0.0,
        triplets=style.triplets if bpm * 3 / 60 < MOST_A_SECOND else 0.0,
    )


def _plan(form: Form, kind: str, choruses: int, bpm: float, rng: np.random.Generator) -> Plan:
    walking = WalkingStyle.draw(rng)
    soloing = _playable(SoloStyle.draw(rng), bpm)
    kinds = ["walking"] * choruses
    if kind == "in two":
        walking = WalkingStyle.draw(rng, "two_feel")
        kinds = ["walking"] * choruses
    elif kind == "solo":
        kinds = ["solo"] * choruses
    elif kind == "straight eighths":
        family = str(rng.choice([f for f in SOLO_FAMILIES if f not in ("guide", "sparse")]))
        soloing = replace(
            SoloStyle.draw(rng, family), density=0.97, triplets=0.02, sixteenths=0.0,
            phrase_beats=float(rng.uniform(8, 20)), rest_beats=float(rng.uniform(0.2, 1.5)),
        )  # fmt: skip
        kinds = ["solo"] * choruses
    elif kind in ("mixed", "slips"):
        kinds = [str(k) for k in rng.choice(["walking", "solo"], size=choruses)]
    if walking.family == "two_feel" and kind != "in two":
        walking = WalkingStyle.draw(
            rng, str(rng.choice([f for f in WALKING_FAMILIES if f != "two_feel"]))
        )
    plan = Plan(kinds, walking, soloing)
    if kind == "slips":
        plan.course = draw_course(form, choruses, rng, 1 + int(rng.integers(2)), 0.2)
        plan.course = [c for c in plan.course if c[0] >= 8 * 48] or []
    return plan


def _begin(
    line: list[LineNote], start: str, the_chart: Chart, rng: np.random.Generator
) -> list[LineNote]:
    """The line from where it begins; it was made from a chorus before step 0 on."""
    form = Form(the_chart)
    bar_steps = the_chart.bars[0].meter.beats * STEPS_PER_BEAT
    first = 0
    if start == "pickup":
        first = -int(rng.integers(1, bar_steps))
    elif start == "middle":
        first = -int(rng.integers(bar_steps // STEPS_PER_BEAT + 1, form.beats - 1)) * STEPS_PER_BEAT
        if rng.random() < 0.8:
            first = first // bar_steps * bar_steps
    elif start == "counted to the middle":
        first = -int(rng.integers(2, len(the_chart.bars))) * bar_steps
    kept = [n for n in line if n.step >= first]
    if start != "intro":
        return kept
    own = replace(the_chart, bars=the_chart.intro, intro=(), ending=())
    intro = generate_walking(own, 1, rng)
    shift = form.intro_steps
    return [n._replace(step=n.step - shift, end_step=n.end_step - shift) for n in intro] + kept


def _cut_off(line: list[LineNote], form: Form, rng: np.random.Generator) -> list[LineNote]:
    """The line, often without the end of its last chorus."""
    if rng.random() > 0.3:
        return line
    last = line[-1].step - int(rng.integers(0, form.steps * 3 // 4))
    kept = [n for n in line if n.step <= last]
    return kept if len(kept) > 40 else line


def _players_line(
    who: PlayerModule, kind: str, form: Form, choruses: int, rng: np.random.Generator
) -> list[LineNote]:
    """A clean line of a player with habits of its own."""
    plays = {"walking": who.walk, "solo": who.solo, "mixed": mixed(who, choruses, rng)}
    return monophonic(plays[kind](form, 0, choruses * form.beats, rng, who.draw_player(rng)))


def free_take(
    seed: int,
    *,
    kind: str | None = None,
    start: str | None = None,
    choruses: int | None = None,
    who: PlayerModule | None = None,
    sway: float = 0.0,
) -> FreeTake:
    """The take of a seed; what is named is not drawn. ``who`` plays, or else ``lines``.

    Where there is a ``sway``, the tempo hurries and slackens by this share every few bars.
    """
    rng = np.random.default_rng((7919, seed))
    the_chart = draw_chart(rng)
    if who is not None:
        the_chart = who.charts()[int(rng.integers(len(who.charts())))]
        kind = kind or ("walking", "solo", "mixed")[int(rng.integers(3))]
    form = Form(the_chart)
    kind = kind or LINE_KINDS[int(rng.choice(len(LINE_KINDS), p=[0.25, 0.12, 0.2, 0.13, 0.2, 0.1]))]
    drawn = STARTS[int(rng.choice(4, p=[0.42, 0.2, 0.25, 0.13]))]
    if the_chart.intro and rng.random() < 0.4:
        drawn = "intro"
    start = start or drawn
    if start == "intro" and not the_chart.intro:
        start = "one"
    choruses = choruses or max(1, int(rng.integers(2, 6)) * 16 // max(len(the_chart.bars), 8))
    hand = random_hand(rng)
    if the_chart.meter.unit == 8:
        hand = replace(hand, bpm=float(rng.uniform(130, 360)), swing=0.5)
    if sway:
        hand = replace(hand, curve="sway", drift=sway)
    family = ""
    if who is not None:
        line = _players_line(who, kind, form, choruses + 1, rng)
    else:
        plan = _plan(form, kind, choruses + 1, hand.bpm, rng)
        line, _ = play_plan(the_chart, plan, rng)
        family = plan.walking.family if kind in ("walking", "in two") else plan.soloing.family
    line = [n._replace(step=n.step - form.steps, end_step=n.end_step - form.steps) for n in line]
    line = _cut_off(_begin(line, start, the_chart, rng), form, rng)
    if start.startswith("count"):
        count = str(rng.choice(["bar", "two bars", "halves then beats"]))
        hand = replace(hand, count_in=count)  # type: ignore[arg-type]
    bar = the_chart.bars[0].meter.beats
    one = min(0, -(-line[0].step // STEPS_PER_BEAT)) if start == "counted to the middle" else 0
    one = one // bar * bar  # the bar line that the count leads to
    take = play(line, hand, rng, bar_beats=bar, chorus_beats=form.beats, counted_to=one)
    return FreeTake(take, the_chart, kind, start, choruses, seed, family)


def random_onsets(seed: int, notes: int = 200, a_second: float = 3.0) -> dict[str, Any]:
    """Onsets at random, as Poisson would have them: there is no beat."""
    rng = np.random.default_rng((104729, seed))
    onsets = np.cumsum(rng.exponential(1 / a_second, notes) + 0.02)
    return {
        "onsets_s": onsets,
        "durations_s": np.full(notes, 0.2),
        "pitches": rng.integers(28, 55, notes),
        "velocities": rng.integers(60, 100, notes),
    }
