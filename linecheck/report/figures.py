"""How figures, keys, meters and places are written, the same in every format.

Seconds are rounded to a microsecond, milliseconds to a hundredth, shares and confidences to four
digits, beats to three, commitment and points to two.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.terms import Chart, Meter, Place

SECONDS, MS, SHARE, BEATS, POINTS = 6, 2, 4, 3, 2


def rounded(value: float | None, digits: int) -> float | int | None:
    """A figure to so many digits; a whole one without a fraction, and no minus zero."""
    if value is None:
        return None
    figure = round(float(value), digits)
    return int(figure) if figure.is_integer() else figure


def to_the_hundredth(commitment: float, pass_mark: float | None) -> float | int:
    """A commitment as files hold it: rounded, but never onto the other side of a pass mark.

    So a program that holds it against the pass mark decides as linecheck does.
    """
    figure = float(rounded(commitment, POINTS) or 0.0)
    step = 10**-POINTS
    if pass_mark is not None and commitment < pass_mark <= figure:
        figure -= step
    elif pass_mark is not None and figure < pass_mark <= commitment:
        figure += step
    return rounded(figure, POINTS) or 0


def mark_digits(marks: Sequence[float], pass_mark: float | None = None) -> int:
    """How many decimals marks need.

    Args:
        marks: commitments to the hundredth.
        pass_mark: shown with it, a mark must be on its own side.
    """
    if pass_mark is None:
        return 0
    for digits in range(POINTS):
        if all((round(mark, digits) >= pass_mark) == (mark >= pass_mark) for mark in marks):
            return digits
    return POINTS


def mark_text(commitment: float, pass_mark: float | None) -> str:
    """A commitment for a reader: whole points, or as many decimals as put it on its side of the mark."""
    figure = to_the_hundredth(commitment, pass_mark)
    return f"{figure:.{mark_digits([figure], pass_mark)}f}"


def beat_text(beat: float) -> str:
    """A beat, or a number of beats, in words: ``"3"``, ``"2.5"``, ``"2.33"``."""
    return f"{beat:.2f}".rstrip("0").rstrip(".")


def percent(share: float | None) -> str:
    """A share as whole per cent; 100 only where it is all, 0 only where it is nothing."""
    if share is None:
        return "-"
    if 0 < share < 1:
        share = min(max(share, 0.01), 0.99)
    return f"{round(share * 100)} %"


def meter_text(meter: Meter) -> str:
    """A meter as a chart file writes it: ``"4/4"``."""
    return f"{meter.beats}/{meter.unit}"


def tempo_unit(chart: Chart) -> str:
    """What a tempo counts: ``"beats"`` where all are quarter notes, else ``"quarter notes"``."""
    return "beats" if all(bar.meter.unit == 4 for bar in chart.bars) else "quarter notes"


def a_minute(chart: Chart) -> str:
    """What stands after a tempo: ``"a minute"``, with its unit where a beat is no quarter note."""
    unit = tempo_unit(chart)
    return "a minute" if unit == "beats" else f"{unit} a minute"


def place_text(place: Place) -> str:
    """A place in words, without its chorus: ``"bar 3"``, ``"bar 3 beat 2.5"``, ``"pickup"``."""
    if place.bar is None or place.beat is None:
        return "pickup"
    if place.beat == 1:
        return f"bar {place.bar}"
    return f"bar {place.bar} beat {beat_text(place.beat)}"


def counted(number: int, one: str, many: str | None = None) -> str:
    """A number with its word: ``"1 note"``, ``"3 notes"``."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def plain(text: str) -> str:
    """Text of the user's files without control and direction characters, on one line."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def short_name(name: str, most: int = 16) -> str:
    """A name of the user's files, cut where it is longer than there is room for."""
    name = plain(name)
    return name if len(name) <= most else name[: most - 1] + "…"
