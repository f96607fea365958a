"""Measures as written into bars as played: repeats played out, split bars put together, a pickup.

A measure that is shorter than its meter is, in this order: a pickup, where it is the first; the
half of a bar that a repeat sign or a double bar splits, where its other half follows; a bar of
its own meter, where the file marks it as irregular; else a bar that was not filled up, and is
taken as full. Lengths are exact quarter notes. The rules are common practice of engraving.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from linecheck.read.played_order import MOST_PLAYED, Visit, played_order
from linecheck.terms import Meter

if TYPE_CHECKING:
    from linecheck.read.fault_place import Where
    from linecheck.read.score import Frame, Measure, Part, Score

COMMON_TIME = Meter(4, 4)
ROUNDING = Fraction(1, 24)  # quarter notes: some programs round the parts of tuplets
SMALLEST_UNIT = 64


@dataclass(frozen=True, slots=True)
class PlayedBar:
    """A bar in its turn. ``pieces`` are frames (by index) and where in the bar they begin.

    ``turned_back`` is true where a repeat or a jump led back to it, ``turned_inside`` where it
    led back to its second piece, the pickup of what is repeated.
    """

    pieces: tuple[tuple[int, Fraction], ...]
    quarters: Fraction
    meter: Meter
    pickup: bool = False
    turned_back: bool = False
    turned_inside: bool = False


def meter_quarters(meter: Meter) -> Fraction:
    """Length of a bar in quarter notes."""
    return Fraction(4 * meter.beats, meter.unit)


def played_bars(score: Score, where: Where) -> list[PlayedBar]:
    """The bars of a score as they are played, a pickup (if it has one) first.

    What had to be assumed is added to ``score.warnings``.
    """
    try:
        visits = _visits(score)
    except ValueError as error:
        raise where.wrong(str(error)) from None
    return _Bars(score, where).of(visits)


def _visits(score: Score) -> list[Visit]:
    flows = [frame.flow for frame in score.frames]
    if not score.order:
        return played_order(flows)
    # The file names the order of its parts: repeats are played out inside each of them.
    starts = [i for i, frame in enumerate(score.frames) if frame.mark]
    bounds = dict(zip(starts, [*starts[1:], len(flows)], strict=True))
    named: dict[str, tuple[int, int]] = {}
    for start, end in bounds.items():
        named.setdefault(score.frames[start].mark or "", (start, end))
    visits = [Visit(i) for i in range(starts[0] if starts else 0)]
    for name in score.order:
        start, end = named[name]
        inside = played_order(flows[start:end])
        back = bool(visits) and visits[-1].index >= start
        visits.extend(
            Visit(start + v.index, v.turned_back or (back and not n)) for n, v in enumerate(inside)
        )
        if len(visits) > MOST_PLAYED:
            raise ValueError(f"its parts lead to more than {MOST_PLAYED} measures")
    return visits


class _Bars:
    def __init__(self, score: Score, where: Where) -> None:
        self._score = score
        self._where = where
        self._frames = score.frames
        self._meters: list[Meter] = []
        meter = COMMON_TIME
        for frame in score.frames:
            meter = frame.meter or meter
            self._meters.append(meter)
        self._filled = [
            _snapped(frame.filled, meter_quarters(meter))
            for frame, meter in zip(score.frames, self._meters, strict=True)
        ]
        self._warned: set[int] = set()
        self._pickup = self._find_pickup()

    def of(self, visits: list[Visit]) -> list[PlayedBar]:
        bars: list[PlayedBar] = []
        k = 0
        while k < len(visits):
            visit = visits[k]
            following = visits[k + 1] if k + 1 < len(visits) else None
            if visit.index == self._pickup:
                if not k:
                    piece = ((visit.index, Fraction(0)),)
                    length = self._filled[visit.index]
                    bars.append(PlayedBar(piece, length, self._meters[visit.index], pickup=True))
                else:
                    self._warn(
                        visit.index, "the pickup finds no room when it is repeated: left out"
                    )
            elif following and self._are_halves(visit, following):
                bars.append(self._joined(visit, following))
                k += 1
            else:
                bars.append(self._alone(visit, last=following is None))
            k += 1
        return bars

    def _find_pickup(self) -> int | None:
        """The first measure, where it is short and the bars after it are not all so."""
        if len(self._frames) < 2 or not 0 < self._filled[0] < meter_quarters(self._meters[0]):
            return None
        first, full = self._frames[0], meter_quarters(self._meters[1])
        sure = first.implicit or first.number == "0"
        # A repeat sign or the second half of a split bar may follow at once.
        usual = self._filled[1] >= full or not self._filled[1]
        return 0 if sure or usual else None

    def _are_halves(self, visit: Visit, following: Visit) -> bool:
        one, two = visit.index, following.index
        full = meter_quarters(self._meters[one])
        if not (0 < self._filled[one] < full and self._filled[one] + self._filled[two] == full):
            return False
        before, after = self._frames[one], self._frames[two]
        return (
            before.implicit
            or after.implicit
            or before.double_bar
            or bool(before.flow.closes_repeat)
            or before.flow.ending_stops
            or after.flow.opens_repeat
            or two != one + 1
        )

    def _joined(self, visit: Visit, following: Visit) -> PlayedBar:
        pieces = ((visit.index, Fraction(0)), (following.index, self._filled[visit.index]))
        meter = self._meters[visit.index]
        return PlayedBar(
            pieces,
            meter_quarters(meter),
            meter,
            turned_back=visit.turned_back,
            turned_inside=following.turned_back,
        )

    def _alone(self, visit: Visit, *, last: bool) -> PlayedBar:
        index = visit.index
        frame, meter, filled = self._frames[index], self._meters[index], self._filled[index]
        full = meter_quarters(meter)
        length = full
        if filled > full:
            length = filled
            self._warn(index, f"holds {float(filled):g} quarter notes, {float(full):g} fit")
        elif 0 < filled < full and frame.implicit and not last:
            length = filled
        elif 0 < filled < full and not last:
            text = f"holds {float(filled):g} of {float(full):g} quarter notes: taken as full"
            self._warn(index, text)
        if length != full:
            meter = self._meter_of(length, meter.unit, frame)
        piece = ((index, Fraction(0)),)
        return PlayedBar(piece, meter_quarters(meter), meter, turned_back=visit.turned_back)

    def _meter_of(self, quarters: Fraction, unit: int, frame: Frame) -> Meter:
        while unit < SMALLEST_UNIT and (quarters * unit / 4).denominator != 1:
            unit *= 2
        beats = -(-quarters * unit // 4)
        if not 1 <= beats <= 256:
            raise self._where.at(f"measure {frame.number}").wrong(
                f"lasts {float(quarters):g} quarter notes, and no meter fits that"
            )
        return Meter(int(beats), unit)

    def _warn(self, index: int, text: str) -> None:
        if index not in self._warned:
            self._warned.add(index)
            self._score.warnings.append(f"measure {self._frames[index].number}: {text}")


def _snapped(filled: Fraction, full: Fraction) -> Fraction:
    return full if abs(filled - full) <= ROUNDING else filled


def contents(part: Part) -> list[Measure]:
    """The part's measures with the signs "repeat the last bars" carried out."""
    found: list[Measure] = []
    for index, measure in enumerate(part.measures):
        source = index - measure.repeats_bars
        if measure.repeats_bars and source >= 0 and not measure.notes and not measure.chords:
            measure = found[source]  # noqa: PLW2901
        found.append(measure)
    return found
