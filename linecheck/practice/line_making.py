"""A line round a loop: the landings chosen so that the whole line is the cheapest.

Prices are those of ``fingerboard`` and ``ways``; the last way leads back to the first landing.
"""

from __future__ import annotations

from functools import cache
from itertools import chain
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from linecheck.music.keys import signature_scale
from linecheck.practice.closed_path import cheapest_round
from linecheck.practice.fingerboard import HIGHEST, LOWEST, pitch_price
from linecheck.practice.ways import Way, way

if TYPE_CHECKING:
    from linecheck.practice.exercise_kinds import Kind
    from linecheck.practice.practice_plan import Lead, LineNote, Loop, Target

__all__ = ["Line", "make_line"]

THE_SAME_AGAIN = 0.8  # the price of landing on the pitch of the landing before
_Struck: TypeAlias = "int | None"  # None: over N.C. nothing is struck


class Line(NamedTuple):
    """The notes of a line round the loop, its approaches, and the landings that none leads to."""

    notes: tuple[LineNote, ...]
    leads: tuple[Lead, ...]
    not_led: tuple[Target, ...]


def make_line(loop: Loop, kind: Kind, landings: tuple[int | None, ...] | None = None) -> Line:
    """The cheapest line of a kind round a loop.

    Args:
        loop: the loop; not all of it N.C.
        kind: of the exercise.
        landings: the pitch to strike for each landing (None over N.C.); None: they are chosen.
    """
    targets = loop.targets
    scale = signature_scale(loop.chart.key)
    choices: list[dict[_Struck, float]]
    if landings is None:
        choices = [_choices(target, kind) for target in targets]
    else:
        choices = [{pitch: 0.0} for pitch in landings]

    @cache
    def between(nth: int, here: _Struck, there: _Struck) -> Way:
        if here is None:
            return Way((), (), 0.0, led=True)
        return way(kind, targets[nth], here, there, scale)

    def price(nth: int, here: _Struck, there: _Struck) -> float:
        again = THE_SAME_AGAIN if kind.moves != "held" and here == there is not None else 0.0
        return between(nth, here, there).price + again

    path = cheapest_round(choices, price)
    ways = [
        between(nth, here, there)
        for nth, (here, there) in enumerate(zip(path, [*path[1:], path[0]], strict=True))
    ]
    # A way into N.C. leads nowhere and is not missed; nor is one out of it.
    not_led = tuple(
        targets[(nth + 1) % len(targets)]
        for nth, made in enumerate(ways)
        if not made.led and path[(nth + 1) % len(path)] is not None
    )
    return Line(
        tuple(chain.from_iterable(made.notes for made in ways)),
        tuple(chain.from_iterable(made.leads for made in ways)),
        not_led,
    )


def _choices(target: Target, kind: Kind) -> dict[_Struck, float]:
    """The pitches that may be struck for a landing, with their prices."""
    if target.chord.root is None:
        return {None: 0.0}
    tones = {tone.pitch_class: tone.function for tone in target.chord.tones}
    allowed = {pc: function for pc, function in tones.items() if function in kind.tones}
    if not allowed:  # a power chord has no guide tones: its fifth and root stand in
        allowed = tones
    found: dict[_Struck, float] = {}
    for pitch in range(LOWEST, HIGHEST + 1):
        function = allowed.get(pitch % 12)
        if function is None:
            continue
        # A slash bass is what the chord stands on.
        slash = pitch % 12 == target.chord.bass != target.chord.root
        role = 0.0 if slash else kind.tones.get(function, 0.0)
        found[pitch] = role + pitch_price(pitch)
    return found
