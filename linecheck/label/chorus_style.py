"""The style of each chorus.

style: ``walking`` (mostly one note a beat), ``solo``, or ``mixed``.

It is read from the rhythm alone, bar by bar. A beat is *walked* when a note is struck on it, or
one struck on a beat is held through it (half notes in two, a dotted half in a waltz); it is *busy*
when more than one note is struck in it, or one off the beat only. A bar

- solos when all its beats are busy, or most of them while not every beat is struck, or when two
  beats or more are struck off the beat only;
- leans a little to a solo when most of its beats are busy and every one is struck, for it may be
  full of skips;
- walks when most of its beats are walked, and leans that way when one is struck off the beat only;
- else, having few notes in it, leans to one side; with none it says nothing.

Ghosts off the beat are not asked. A chorus in which no bar says anything has the style of the
choruses around it. In a mixed chorus the bars around a bar say whether it is in a soloed stretch,
where a silence is a breath.

Steps are twelfths of a beat. In 2/2 the bassist's beat is the quarter note. The thresholds were
set on invented lines of many kinds: plain walking, in two, with skips in up to four beats of ten,
with notes left out, and solos from long notes to sixteenths.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from linecheck.music.form import Form, bar_steps
from linecheck.terms import STEPS_PER_BEAT, PlacedNote, Style

if TYPE_CHECKING:
    from collections.abc import Sequence

# Share of the evidence that walks: from the first on a chorus walks, below the second it solos.
WALKS_FROM = 0.85
SOLOS_BELOW = 0.45
MOST_BUSY = 0.5  # more than this share of its beats busy: most are
MOST_WALKED = 2 / 3  # at least this share of its beats walked: most are
LEANING, FULL_OF_SKIPS = 0.5, -0.25
ON_THE_BEAT = 2  # steps
# How much the bars around a bar (two before to two after) say about it.
AROUND = (1, 2, 3, 2, 1)
SOLOED_BELOW = -0.3


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
    leanings = _leanings(notes, ghosts, form, choruses)
    styles = _fill_from_neighbours([_style(of_chorus) for of_chorus in leanings])
    solo_bars: list[bool] = []
    for style, of_chorus in zip(styles, leanings, strict=True):
        if style == "mixed":
            solo_bars.extend(_is_soloed(of_chorus, bar) for bar in range(len(of_chorus)))
        else:
            solo_bars.extend([style == "solo"] * len(of_chorus))
    return Styles(tuple(styles), tuple(solo_bars))


def _style(leanings: Sequence[float]) -> Style | None:
    walks = sum(leaning for leaning in leanings if leaning > 0)
    solos = -sum(leaning for leaning in leanings if leaning < 0)
    if not walks and not solos:
        return None
    share = walks / (walks + solos)
    if share >= WALKS_FROM:
        return "walking"
    return "solo" if share < SOLOS_BELOW else "mixed"


def _fill_from_neighbours(styles: list[Style | None]) -> list[Style]:
    """Give a chorus without a style that of the one before, else of the first after."""
    before: Style = next((style for style in styles if style is not None), "walking")
    filled: list[Style] = []
    for style in styles:
        before = style or before
        filled.append(before)
    return filled


def _is_soloed(leanings: Sequence[float], bar: int) -> bool:
    reach = len(AROUND) // 2
    first = max(0, bar - reach)
    around = leanings[first : bar + reach + 1]
    weights = AROUND[first - (bar - reach) :][: len(around)]
    said = sum(weight * leaning for weight, leaning in zip(weights, around, strict=True))
    return said < SOLOED_BELOW * sum(weights)


def _leanings(
    notes: Sequence[PlacedNote], ghosts: Sequence[bool], form: Form, choruses: int
) -> list[list[float]]:
    """For each bar of each chorus: 1 walks, −1 solos, between leans, 0 says nothing."""
    found: list[list[float]] = []
    at = begins = 0
    while at < len(notes) and notes[at].step < 0:
        at += 1
    for _ in range(choruses):
        of_chorus: list[float] = []
        for bar in form.chart.bars:
            pulse = STEPS_PER_BEAT // 2 if bar.meter.unit == 2 else STEPS_PER_BEAT
            ends = begins + bar_steps(bar.meter)
            since = max(0, at - 1)  # the note before may be held into this bar
            while at < len(notes) and notes[at].step < ends:
                at += 1
            beats = (ends - begins) // pulse
            beaten = _beaten(notes[since:at], ghosts[since:at], begins, pulse, beats)
            of_chorus.append(_leaning(*beaten))
            begins = ends
        found.append(of_chorus)
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


def _leaning(struck: list[int], struck_on: list[bool], walked: list[bool]) -> float:
    """How a bar leans by its beats: 1 walks, −1 is soloed."""
    beats = len(struck)
    filled, on = beats - struck.count(0), struck_on.count(True)
    if not filled:
        return 0.0
    off_only = filled - on
    busy = off_only + sum(
        count > 1 for count, is_on in zip(struck, struck_on, strict=True) if is_on
    )
    if off_only > 1 or busy == beats:
        return -1.0
    if busy > MOST_BUSY * beats:
        return FULL_OF_SKIPS if on == beats else -1.0
    if walked.count(True) >= MOST_WALKED * beats:
        return LEANING if off_only else 1.0
    return -LEANING if off_only or 2 * busy > filled else LEANING
