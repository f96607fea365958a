"""From one landing to the next: held, led by one approach, in quarters, or in eighths.

A *way* is what is played from a landing up to the next one. Its approaches keep the rules of
``label.approach``: no tone of the chord that they stand over, off the landings, leading to a tone
of the next chord. Steps are twelfths of a beat from the beginning of the loop.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from linecheck.music.chord_tones import is_available_tension, tone_function
from linecheck.music.form import bar_groups, is_compound
from linecheck.practice.fingerboard import HIGHEST, LOWEST, move_price, pitch_price
from linecheck.practice.practice_plan import Lead, LineNote
from linecheck.terms import STEPS_PER_BEAT

if TYPE_CHECKING:
    from collections.abc import Iterator

    from linecheck.practice.exercise_kinds import Kind
    from linecheck.practice.practice_plan import Target
    from linecheck.terms import Chord, Direction, Meter

__all__ = ["Way", "eighth_steps", "pulse_starts", "way"]

NOT_LED = 40.0  # the price of a landing that the approach cannot reach
NO_LEAD = 0.6  # the last note before a landing rather leads into it than is a chord tone
OFF_KEY = 1.0  # a whole step out of the key, where the chord has room for it
OUT_OF_SCALE = 6.0  # one that is in no scale of this key and chord; no exercise is about it
BACK_AND_FORTH = 1.2
WIDEST = 9  # of a move within a walking line, in half steps
HALF_STEP, WHOLE_STEP, FIFTH, FOURTH = 1, 2, 7, 5


@dataclass(frozen=True, slots=True)
class Way:
    """The notes from a landing on, the approaches among them, and what it costs."""

    notes: tuple[LineNote, ...]
    leads: tuple[Lead, ...]
    price: float
    led: bool


def eighth_steps(meter: Meter) -> int:
    """Steps of an eighth note: a beat is a unit of the meter's lower figure."""
    return STEPS_PER_BEAT * meter.unit // 8


def pulse_starts(meter: Meter) -> list[int]:
    """Where a bar is walked: on quarters; in x/8 on its groups, such as the dotted quarters of 6/8."""
    if meter.unit == 8:
        return bar_groups(meter)
    steps, eighth = meter.beats * STEPS_PER_BEAT, eighth_steps(meter)
    if meter.unit >= 8 and steps % (3 * eighth) == 0:
        return list(range(0, steps, 3 * eighth))
    starts = list(range(0, steps, 2 * eighth))
    if steps - starts[-1] < 2 * eighth and len(starts) > 1:
        starts.pop()  # an eighth left over makes the last group one of three
    return starts


def way(kind: Kind, target: Target, here: int, there: int | None, scale: frozenset[int]) -> Way:
    """How an exercise of a kind gets from one landing to the next.

    Args:
        kind: of the exercise.
        target: the landing that it begins at.
        here: the pitch struck for it.
        there: the pitch of the next landing; None where that is over N.C.
        scale: the pitch classes of the key's scale, which a whole step rather keeps to.
    """
    if there is None and kind.moves == "led":
        return _held(target, here)
    if kind.moves == "held":
        price = 0.0 if there is None else move_price(here, there)
        return Way(_held(target, here).notes, (), price, led=True)
    if kind.moves == "led" and there is not None:
        return _led(kind, target, here, there, scale)
    return _walked(target, here, there, scale, in_eighths=kind.moves == "in eighths")


def _held(target: Target, here: int) -> Way:
    return Way((LineNote(target.step, target.steps, here),), (), NOT_LED, led=False)


def _is_tone(chord: Chord, pitch: int) -> bool:
    return tone_function(chord, pitch % 12) is not None


# ---- one approach ----------------------------------------------------------------------------


def _led(kind: Kind, target: Target, here: int, there: int, scale: frozenset[int]) -> Way:
    """The landing held, then an approach in the longest notes that there is room for."""
    best = _held(target, here)
    for pitches, direction in _approaches(kind, target, there):
        room = target.steps // (len(pitches) + 1)
        size = next((length for length in _note_lengths(target) if length <= room), None)
        if size is None:
            continue
        if any(_is_tone(target.chord, p) or not LOWEST <= p <= HIGHEST for p in pitches):
            continue
        price = move_price(here, pitches[0]) + move_price(pitches[-1], there)
        if kind.approach == "scale":
            off_key = _off_key(target.chord, pitches[0], scale)
            if off_key == OUT_OF_SCALE:
                continue
            price += off_key
        if price < best.price:
            made = _with_approach(kind, target, here, (pitches, direction), size)
            best = Way(*made, price, led=True)
    return best


def _note_lengths(target: Target) -> tuple[int, ...]:
    """Quarter notes where there is room, else eighths; in a compound meter eighths."""
    meter, eighth = target.bar.meter, eighth_steps(target.bar.meter)
    return (eighth,) if is_compound(meter) else (2 * eighth, eighth)


def _approaches(
    kind: Kind, target: Target, there: int
) -> Iterator[tuple[tuple[int, ...], Direction | None]]:
    if kind.approach == "chromatic":
        if kind.side == "below":
            yield (there - HALF_STEP,), "below"
        else:
            yield (there + HALF_STEP,), "above"
    elif kind.approach == "scale":
        yield (there - WHOLE_STEP,), "below"
        yield (there + WHOLE_STEP,), "above"
    elif kind.approach == "double":
        yield (there - 2 * HALF_STEP, there - HALF_STEP), "below"
        yield (there + 2 * HALF_STEP, there + HALF_STEP), "above"
    elif kind.approach == "enclosure":
        for wide in (WHOLE_STEP, HALF_STEP):
            yield (there + wide, there - HALF_STEP), None
            yield (there - wide, there + HALF_STEP), None
    elif kind.approach == "from the fifth":
        to_root = tone_function(target.following, there % 12) == "root"
        if to_root and not _same_chord(target.chord, target.following):
            yield (there + FIFTH,), None
            yield (there - FOURTH,), None


def _same_chord(one: Chord, other: Chord) -> bool:
    """Whether no change lies between them, however their symbols are spelled."""
    return (one.root, one.bass, one.tones) == (other.root, other.bass, other.tones)


def _with_approach(
    kind: Kind, target: Target, here: int, lead: tuple[tuple[int, ...], Direction | None], size: int
) -> tuple[tuple[LineNote, ...], tuple[Lead, ...]]:
    """The landing held, then notes of one size up to the next."""
    pitches, direction = lead
    first = target.step + target.steps - size * len(pitches)
    notes = [LineNote(target.step, first - target.step, here)]
    notes += [LineNote(first + nth * size, size, pitch) for nth, pitch in enumerate(pitches)]
    return tuple(notes), (Lead(first, kind.approach or "", direction),)


def _off_key(chord: Chord, pitch: int, scale: frozenset[int]) -> float:
    """A whole step that belongs to neither key nor chord sounds like a slip."""
    if pitch % 12 in scale:
        return 0.0
    return OFF_KEY if is_available_tension(chord, pitch % 12) else OUT_OF_SCALE


# ---- walking and eighths ---------------------------------------------------------------------


def _walked(
    target: Target, here: int, there: int | None, scale: frozenset[int], *, in_eighths: bool
) -> Way:
    """Chord tones, and notes that lead by a step, on every pulse or on every eighth."""
    starts = _starts(target, in_eighths=in_eighths)
    ends = [*starts[1:], target.step + target.steps]
    pulses = {target.begins + start for start in pulse_starts(target.bar.meter)}
    may_lead = [start not in pulses or nth == len(starts) - 1 for nth, start in enumerate(starts)]
    found = _cheapest(_Walk(target.chord, scale), here, there, may_lead)
    if found is None:
        return _held(target, here)
    pitches, price = found
    notes = tuple(
        LineNote(start, end - start, pitch)
        for start, end, pitch in zip(starts, ends, pitches, strict=True)
    )
    return Way(notes, _leads(target.chord, notes, there), price, led=True)


def _starts(target: Target, *, in_eighths: bool) -> list[int]:
    end = target.step + target.steps
    if in_eighths:
        return list(range(target.step, end, eighth_steps(target.bar.meter)))
    pulses = (target.begins + start for start in pulse_starts(target.bar.meter))
    return [target.step, *(pulse for pulse in pulses if target.step < pulse < end)]


class _Walk:
    """What may follow what over one chord, and what that costs."""

    def __init__(self, chord: Chord, scale: frozenset[int]) -> None:
        self._tones = [_is_tone(chord, pc) for pc in range(12)]
        self._off_key = [_off_key(chord, pc, scale) for pc in range(12)]

    def followers(self, last: int, reach: range, *, may_lead: bool) -> list[int]:
        """The pitches that may come after ``last``; a note that leads is followed by its target."""
        tones = self._tones
        if not tones[last % 12]:
            near = range(
                max(last - WHOLE_STEP, reach.start), min(last + WHOLE_STEP + 1, reach.stop)
            )
            return [pitch for pitch in near if tones[pitch % 12]]
        near = range(max(last - WIDEST, reach.start), min(last + WIDEST + 1, reach.stop))
        return [pitch for pitch in near if pitch != last and (may_lead or tones[pitch % 12])]

    def price(self, before: int, here: int, there: int) -> float:
        price = move_price(here, there)
        if abs(there - here) == WHOLE_STEP and not self._tones[here % 12]:
            price += self._off_key[here % 12]
        return price + BACK_AND_FORTH if before == there else price

    def arrival(self, before: int, last: int, there: int | None) -> float | None:
        """The price of the last move, into the next landing; None where it may not be."""
        tone = self._tones[last % 12]
        if there is None:
            return 0.0 if tone else None
        if last == there or (not tone and abs(there - last) > WHOLE_STEP):
            return None
        return self.price(before, last, there) + (NO_LEAD if tone else 0.0)


def _cheapest(
    walk: _Walk, here: int, there: int | None, may_lead: list[bool]
) -> tuple[list[int], float] | None:
    """The cheapest pitches from ``here`` to before ``there``, by dynamic programming.

    A state is the last two pitches, so that going back and forth can be told.
    """
    if len(may_lead) == 1:
        return [here], 0.0 if there is None else move_price(here, there)
    around = [here] if there is None else [here, there]
    reach = range(max(LOWEST, min(around) - FIFTH), min(HIGHEST, max(around) + FIFTH) + 1)
    states: dict[tuple[int, int], tuple[float, list[int]]] = {(-1, here): (0.0, [here])}
    for leads in may_lead[1:]:
        after: dict[tuple[int, int], tuple[float, list[int]]] = {}
        for (before, last), (price, pitches) in states.items():
            for pitch in walk.followers(last, reach, may_lead=leads):
                dearer = price + walk.price(before, last, pitch) + 0.5 * pitch_price(pitch)
                if (last, pitch) not in after or dearer < after[last, pitch][0]:
                    after[last, pitch] = (dearer, [*pitches, pitch])
        states = after
    best: tuple[list[int], float] | None = None
    for (before, last), (price, pitches) in states.items():
        arrival = walk.arrival(before, last, there)
        if arrival is not None and (best is None or price + arrival < best[1]):
            best = (pitches, price + arrival)
    return best


def _leads(chord: Chord, notes: tuple[LineNote, ...], there: int | None) -> tuple[Lead, ...]:
    following = [*(note.pitch for note in notes[1:]), there]
    found = []
    for note, to in zip(notes, following, strict=True):
        if to is None or _is_tone(chord, note.pitch):
            continue
        kind = "chromatic" if abs(to - note.pitch) == HALF_STEP else "scale"
        found.append(Lead(note.step, kind, "below" if to > note.pitch else "above"))
    return tuple(found)
