"""The style of each chorus.

style: ``walking`` (mostly one note a beat), ``solo``, or ``mixed``.

It is read from the rhythm alone, bar by bar. A beat is *walked* when a note is struck on it, or
one struck on a beat is held through it (half notes in two, a dotted half in a waltz); it is *busy*
when more than one note is struck in it, or one off the beat. A skip makes its beat busy, so a bar
of four may have two skips and still walk. A bar with most of its beats busy solos; a bar with
most of its beats walked walks; a bar with few notes in it leans half as much to one side.
Ghosts make no beat busy, and a silent bar says nothing: dropping or muffling notes gives no bar
the look of a solo. A chorus in which nothing is struck has the style of the choruses around it.

Steps are twelfths of a beat. In 2/2 the bassist's beat is the quarter note.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from linecheck.music.form import Form, bar_steps
from linecheck.terms import STEPS_PER_BEAT, PlacedNote, Style

if TYPE_CHECKING:
    from collections.abc import Sequence

# Share of the evidence that walks: from the first on a chorus walks, below the second it solos.
WALKS_FROM = 0.7
SOLOS_BELOW = 0.35
BUSY_BAR = 0.5  # more than this share of its beats busy: the bar solos
WALKED_BAR = 2 / 3  # at least this share of its beats walked: the bar walks
LEANING = 0.5
ON_THE_BEAT = 2  # steps


def chorus_styles(
    notes: Sequence[PlacedNote], ghosts: Sequence[bool], form: Form, choruses: int
) -> tuple[Style, ...]:
    """The style of each chorus from chorus 1 on."""
    shares = _walking_shares(notes, ghosts, form, choruses)
    styles: list[Style | None] = [None if s is None else _style(s) for s in shares]
    for ahead in (range(1, choruses), range(choruses - 2, -1, -1)):
        for at in ahead:
            if styles[at] is None:
                styles[at] = styles[at - 1] if ahead.step > 0 else styles[at + 1]
    return tuple(style or "walking" for style in styles)


def _style(walking: float) -> Style:
    if walking >= WALKS_FROM:
        return "walking"
    return "solo" if walking < SOLOS_BELOW else "mixed"


def _walking_shares(
    notes: Sequence[PlacedNote], ghosts: Sequence[bool], form: Form, choruses: int
) -> list[float | None]:
    shares: list[float | None] = []
    at = 0
    while at < len(notes) and notes[at].step < 0:
        at += 1
    begins = 0
    for _ in range(choruses):
        walks = solos = 0.0
        for bar in form.chart.bars:
            pulse = STEPS_PER_BEAT // 2 if bar.meter.unit == 2 else STEPS_PER_BEAT
            ends = begins + bar_steps(bar.meter)
            first = at
            while at < len(notes) and notes[at].step < ends:
                at += 1
            bar_beats = (ends - begins) // pulse
            since = max(0, first - 1)  # the note before may be held into this bar
            attacks = _attacks(notes[since:at], ghosts[since:at], begins, pulse)
            leaning = _bar_leans(attacks, bar_beats)
            walks += max(leaning, 0.0)
            solos += max(-leaning, 0.0)
            begins = ends
        shares.append(walks / (walks + solos) if walks or solos else None)
    return shares


class _Attack(NamedTuple):
    """A note by the beats of a bar: struck in ``beat`` (negative: before it), held to ``held_to``."""

    beat: int
    on_beat: bool
    held_to: int


def _attacks(
    notes: Sequence[PlacedNote],
    ghosts: Sequence[bool],
    begins: int,
    pulse: int,
) -> list[_Attack]:
    """The attacks of a bar that begins at step ``begins``, without ghosts off the beat."""
    found: list[_Attack] = []
    for note, ghost in zip(notes, ghosts, strict=True):
        beat, inside = divmod(note.step - begins, pulse)
        if inside >= pulse - ON_THE_BEAT:
            beat, inside = beat + 1, 0
        on_beat = inside <= ON_THE_BEAT
        if on_beat or not ghost:
            held_to = (note.end_step - begins + pulse // 2) // pulse
            found.append(_Attack(beat, on_beat, held_to))
    return found


def _bar_leans(attacks: Sequence[_Attack], beats: int) -> float:
    """1 for a bar that walks, −1 for one that solos, between for a bar of few notes, 0 for none."""
    struck: dict[int, int] = {}
    on, walked = set[int](), set[int]()
    for beat, on_beat, held_to in attacks:
        if on_beat:
            walked.update(range(max(beat, 0), min(max(held_to, beat + 1), beats)))
        if 0 <= beat < beats:
            struck[beat] = struck.get(beat, 0) + 1
            if on_beat:
                on.add(beat)
    busy = sum(count > 1 or beat not in on for beat, count in struck.items())
    if not struck:
        return 0.0
    if busy > BUSY_BAR * beats:
        return -1.0
    if len(walked) >= WALKED_BAR * beats:
        return 1.0
    return -LEANING if 2 * busy >= len(struck) else LEANING
