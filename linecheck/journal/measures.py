"""The measures of a course: what of a take is followed over the weeks, and which way is better.

Whether two takes can be compared in a measure depends on it: commitment only under the same
weights, time only on the same kind of grid, since a spread around a click and a spread around the
beats of one's own playing are not the same thing. Placement is one standard deviation in
milliseconds; drift is how far the tempo moves within the take, whichever way.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from linecheck.report.figures import percent

if TYPE_CHECKING:
    from collections.abc import Callable

    from linecheck.journal.entry import Entry

__all__ = ["MEASURES", "Measure", "comparable", "losses_a_chorus", "same_weights"]


@dataclass(frozen=True, slots=True)
class Measure:
    """``value`` is None where a take does not show it; ``text`` writes a value with its unit.

    ``alike`` says what two takes must share to be compared. ``top`` is the most that it can be,
    where there is a most; ``least_top`` is what a plot reaches up to at least.
    """

    name: str
    title: str
    better: Literal["higher", "lower"]
    alike: Literal["nothing", "weights", "grid"]
    value: Callable[[Entry], float | None]
    text: Callable[[float], str]
    top: float | None
    least_top: float


def losses_a_chorus(entry: Entry) -> float | None:
    """Form losses that count, for each chorus begun."""
    return len(entry.losses) / entry.choruses if entry.choruses else None


def _landings(entry: Entry) -> float | None:
    return entry.landings_met / entry.landings_asked if entry.landings_asked else None


def _drift(entry: Entry) -> float | None:
    return None if entry.tempo_change is None else abs(entry.tempo_change)


MEASURES: tuple[Measure, ...] = (
    Measure(
        "commitment", "commitment of 100", "higher", "weights",
        lambda entry: entry.commitment, lambda value: f"{value:.0f}", 100.0, 100.0,
    ),
    Measure("landings", "landings met", "higher", "nothing", _landings, percent, 1.0, 1.0),
    Measure(
        "losses", "form losses a chorus", "lower", "nothing",
        losses_a_chorus, lambda value: f"{value:.2f}", None, 1.0,
    ),
    Measure(
        "placement", "spread of the placement", "lower", "grid",
        lambda entry: entry.placement_spread_ms, lambda value: f"{value:.0f} ms", None, 30.0,
    ),
    Measure(
        "drift", "drift of the tempo in a take", "lower", "grid",
        _drift, lambda value: f"{100 * value:.1f} %", None, 0.05,
    ),
)  # fmt: skip


def same_weights(one: Entry, other: Entry) -> bool:
    """Whether the commitment of two entries was weighed alike, whatever the rubrics are called."""
    parts = {*one.weights, *other.weights}
    return all(abs(one.weights.get(p, 0.0) - other.weights.get(p, 0.0)) < 1e-6 for p in parts)


def comparable(measure: Measure, one: Entry, other: Entry) -> bool:
    """Whether two entries over one chart can be compared in a measure."""
    if measure.alike == "weights":
        return same_weights(one, other)
    return measure.alike == "nothing" or one.grid == other.grid
