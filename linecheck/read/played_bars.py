"""Measures as written into bars as played: repeats played out, split bars put together, a pickup.

A measure that is shorter than its meter is, in this order: a pickup, where it is the first; the
half of a bar that is split, where its other half follows; the pickup of a section or a repeat, for
which the bar before leaves no room, and which is played over the end of that bar; the last bar,
which gives the pickup its time; else a bar of its own meter, where a program wrote the file, which
fills all others up with rests. In typed files, and where such measures are many, they were not
filled up and are full bars. Lengths are exact quarter notes. The rules are common practice of
engraving.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
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
MOST_IRREGULAR = 0.25  # share of short measures above which a file is taken as carelessly filled
MOST_NAMED = 6  # measures in one warning


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


def played_bars(score: Score, part: Part, where: Where) -> list[PlayedBar]:
    """The bars of a score as they are played, a pickup (if it has one) first.

    A bar is as long as the meter says where ``part`` fills it so, else as its fullest part.
    What had to be assumed is added to the score's warnings.
    """
    try:
        visits = _visits(score)
    except ValueError as error:
        raise where.wrong(str(error)) from None
    bars = _Bars(score, part, where).of(visits)
    if not bars:
        raise where.wrong("its repeats and endings leave no bar to be played")
    return bars


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
    def __init__(self, score: Score, part: Part, where: Where) -> None:
        self._score = score
        self._where = where
        self._frames = score.frames
        self._meters: list[Meter] = []
        meter = COMMON_TIME
        for frame in score.frames:
            meter = frame.meter or meter
            self._meters.append(meter)
        self._filled = [
            _filled(measure.filled, frame.filled, meter_quarters(meter))
            for measure, frame, meter in zip(part.measures, score.frames, self._meters, strict=True)
        ]
        short = sum(self._is_short(index) for index in range(len(self._frames)))
        self._unfilled = score.typed or short > max(1, MOST_IRREGULAR * len(self._frames))
        self._found: dict[str, dict[str, None]] = {}
        if score.frames and score.frames[0].meter is None and not score.frames[0].implicit:
            score.warn("no meter is given at the beginning: taken as 4/4")
        self._pickup = self._find_pickup()

    def of(self, visits: list[Visit]) -> list[PlayedBar]:
        bars: list[PlayedBar] = []
        k = 0
        while k < len(visits):
            visit = visits[k]
            if visit.index == self._pickup and not k:
                piece = ((visit.index, Fraction(0)),)
                length = self._filled[visit.index]
                bars.append(PlayedBar(piece, length, self._meters[visit.index], pickup=True))
            elif self._are_halves(visits, k):
                bars.append(self._joined(visit, visits[k + 1]))
                k += 1
            elif bars and self._is_late_pickup(visits, k, bars[-1]):
                bars[-1] = self._over_the_end(bars[-1], visit)
            else:
                bars.append(self._alone(visit, last=k + 1 == len(visits)))
            k += 1
        for text, numbers in self._found.items():
            self._score.warn(f"{_measures(list(numbers))}: {text}", *numbers)
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

    def _are_halves(self, visits: list[Visit], k: int) -> bool:
        """Whether visit ``k`` and the next are two halves of one bar.

        They are where a sign stands between them, or the bars on both sides of them are full.
        """
        if k + 1 == len(visits):
            return False
        one, two = visits[k].index, visits[k + 1].index
        full = meter_quarters(self._meters[one])
        if not (self._is_short(one) and self._filled[one] + self._filled[two] == full):
            return False
        before, after = self._frames[one], self._frames[two]
        parted = (
            before.implicit
            or after.implicit
            or before.double_bar
            or bool(before.flow.closes_repeat)
            or before.flow.ending_stops
            or after.flow.opens_repeat
            or two != one + 1
        )
        beside = [visits[n].index for n in (k - 1, k + 2) if 0 <= n < len(visits)]
        return parted or not any(self._is_short(n) for n in beside if n != self._pickup)

    def _is_short(self, index: int) -> bool:
        return 0 < self._filled[index] < meter_quarters(self._meters[index])

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

    def _is_late_pickup(self, visits: list[Visit], k: int, before: PlayedBar) -> bool:
        """Whether visit ``k`` is the pickup of a section (or of a repeat) that has no room left."""
        index, back = visits[k].index, visits[k - 1].index
        filled, full = self._filled[index], meter_quarters(self._meters[index])
        if not 0 < filled * 2 <= full or filled > before.quarters or before.pickup:
            return False
        if index == self._pickup:
            return True
        flow, opening = self._frames[back].flow, self._frames[index].flow.opens_repeat
        sign = self._frames[back].double_bar or flow.closes_repeat or opening or index != back + 1
        return self._score.typed and bool(sign) and k + 1 < len(visits)

    def _over_the_end(self, bar: PlayedBar, visit: Visit) -> PlayedBar:
        """The bar with a pickup over its end, as players play it."""
        filled = self._filled[visit.index]
        text = f"a pickup of {_counted(filled)} has no room; it is played over the end"
        self._warn(visit.index, f"{text} of the bar before")
        return replace(
            bar,
            pieces=(*bar.pieces, (visit.index, bar.quarters - filled)),
            turned_inside=bar.turned_inside or visit.turned_back,
        )

    def _alone(self, visit: Visit, *, last: bool) -> PlayedBar:
        index = visit.index
        frame, meter, filled = self._frames[index], self._meters[index], self._filled[index]
        full = meter_quarters(meter)
        length = full
        if filled > full:
            length = filled
            self._warn(index, f"{_counted(filled)}, where {float(full):g} fit")
        elif self._is_short(index) and not last:
            text = f"{_counted(filled)}, where {float(full):g} fit"
            if self._unfilled and not frame.implicit:
                self._warn(index, f"{text}: taken as a full bar")
            else:
                length = filled
                if not frame.implicit:
                    self._warn(index, f"{text}: taken as a bar of its own meter")
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
                f"lasts {_counted(quarters)}, and no meter fits that"
            )
        return Meter(int(beats), unit)

    def _warn(self, index: int, text: str) -> None:
        self._found.setdefault(text, {})[self._frames[index].number] = None


def _counted(quarters: Fraction) -> str:
    return f"{float(quarters):g} quarter note{'' if quarters == 1 else 's'}"


def _measures(numbers: list[str]) -> str:
    more = f" and {len(numbers) - MOST_NAMED} more" if len(numbers) > MOST_NAMED else ""
    listed = ", ".join(numbers[:MOST_NAMED])
    return f"measure{'s' if len(numbers) > 1 else ''} {listed}{more}"


def _filled(own: Fraction, fullest: Fraction, full: Fraction) -> Fraction:
    return full if abs(own - full) <= ROUNDING or abs(fullest - full) <= ROUNDING else fullest


def contents(part: Part) -> list[Measure]:
    """The part's measures with the signs "repeat the last bars" carried out."""
    found: list[Measure] = []
    for index, measure in enumerate(part.measures):
        source = index - measure.repeats_bars
        if measure.repeats_bars and source >= 0 and not measure.notes and not measure.chords:
            measure = found[source]  # noqa: PLW2901
        found.append(measure)
    return found
