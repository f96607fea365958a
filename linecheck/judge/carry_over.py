"""What a line showed and the solo kept: place by place of the form.

A *place* is a landing, a bar, a section's beginning, or a bar as a part of the form. In one chorus
it is

- asked for: a landing that counts; a bar with such a landing in it; a section whose first landing
  counts; for the form every bar that is judged. What lies in a breath of a solo, over N.C. or
  outside of the take is not asked for;
- shown: the landing is met; the line is in place throughout the bar and meets all its landings; the
  section's first landing is met in place; the line is in place throughout the bar.

Over the choruses of a side a place is shown where it is in at least half of those in which it was
asked for. What the first side shows the second kept or dropped; what it does not show the second
added, or neither shows it. The carry-over is counted over choruses: of the times that the second
side was asked for a place that the first shows, how often it showed it.
"""

from __future__ import annotations

from itertools import accumulate
from typing import TYPE_CHECKING, NamedTuple

from linecheck.comparison_terms import (
    CarryOver,
    ComparedKind,
    ComparedPlace,
    ComparedSide,
    Comparison,
    FirstBreak,
    Outcome,
    Trait,
    TraitUnit,
)
from linecheck.music.form import bar_steps
from linecheck.share_interval import difference, share_of
from linecheck.terms import CHORD_TONES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.terms import Chart, LabelledLine, Landing

__all__ = ["Chosen", "carried_over", "line_to_solo"]

HALF = 0.5
KINDS: tuple[ComparedKind, ...] = ("landings", "bars", "sections", "form")


class Chosen(NamedTuple):
    """The choruses of a labelled line that stand on one side."""

    side: ComparedSide
    labels: LabelledLine


class _Spot(NamedTuple):
    """A place of the form."""

    bar: int
    beat: float | None
    section: str
    chord: str


class _Sheet(NamedTuple):
    """What one side showed: for each kind and place one entry a chorus, None: not asked for."""

    spots: dict[ComparedKind, list[_Spot]]
    shown: dict[ComparedKind, list[list[bool | None]]]


def line_to_solo(chart: Chart, labels: LabelledLine, source: str) -> Comparison | None:
    """The walking choruses of a take against its solo choruses; None where it lacks either.

    Args:
        chart: the chart.
        labels: the labelled line; mixed choruses stand on neither side.
        source: the take's file.
    """
    walking, solo = (
        tuple(n for n, of_it in enumerate(labels.styles, start=1) if of_it == style)
        for style in ("walking", "solo")
    )
    if not walking or not solo:
        return None
    return carried_over(
        chart,
        Chosen(ComparedSide("line", source, "walking", walking), labels),
        Chosen(ComparedSide("solo", source, "solo", solo), labels),
    )


def carried_over(
    chart: Chart, before: Chosen, after: Chosen, warnings: tuple[str, ...] = ()
) -> Comparison:
    """Compare two sides, each with one chorus or more, over one chart.

    Args:
        chart: the chart of both.
        before: what showed the form first: the walking choruses, or last week's.
        after: what is held against it.
        warnings: what the reader of the comparison should know.
    """
    first, second = _sheet(chart, before), _sheet(chart, after)
    return Comparison(
        chart=chart,
        before=before.side,
        after=after.side,
        carried=tuple(_carried(kind, first, second) for kind in KINDS),
        places=tuple(place for kind in KINDS for place in _places(kind, first, second)),
        first_breaks=tuple(_first_breaks(after, first, second)),
        traits=tuple(_traits(before, after)),
        warnings=warnings,
    )


# ---- what a side shows -----------------------------------------------------------------------


def _sheet(chart: Chart, chosen: Chosen) -> _Sheet:
    labels = chosen.labels
    lengths = [bar_steps(bar.meter) for bar in chart.bars]
    starts = list(accumulate(lengths, initial=0))
    of_form = starts[-1]
    landings = labels.landings
    a_chorus = len(landings) // max(1, len(labels.styles))
    lost = [span for span in labels.spans if span.offset_beats != 0]
    chords = [" ".join(placed.chord.symbol for placed in bar.chords) for bar in chart.bars]
    spots: dict[ComparedKind, list[_Spot]] = {
        "landings": [
            _Spot(at.place.bar or 1, at.place.beat, at.section, at.chord)
            for at in landings[:a_chorus]
        ],
        "bars": [
            _Spot(bar.number, None, bar.section, chords[bar.number - 1]) for bar in chart.bars
        ],
        "sections": [
            _Spot(section.bar, None, section.name, chords[section.bar - 1])
            for section in chart.sections
        ],
    }
    spots["form"] = spots["bars"]
    shown: dict[ComparedKind, list[list[bool | None]]] = {
        kind: [[] for _ in of_kind] for kind, of_kind in spots.items()
    }
    for chorus in chosen.side.choruses:
        begins = (chorus - 1) * of_form
        in_bars: list[list[Landing]] = [[] for _ in chart.bars]
        for column, landing in zip(
            shown["landings"], landings[(chorus - 1) * a_chorus : chorus * a_chorus], strict=True
        ):
            column.append(landing.met if landing.counted else None)
            if landing.counted:
                in_bars[(landing.place.bar or 1) - 1].append(landing)
        in_place: list[bool | None] = []
        for start, length in zip(starts, lengths, strict=False):
            low, high = begins + start, begins + start + length
            judged = low < labels.judged_to and high > labels.judged_from
            clear = not any(span.step < high and span.end_step > low for span in lost)
            in_place.append(clear if judged else None)
        for index, asked in enumerate(in_bars):
            shown["form"][index].append(in_place[index])
            whole = bool(in_place[index]) and all(landing.met for landing in asked)
            shown["bars"][index].append(whole if asked else None)
        for column, section in zip(shown["sections"], chart.sections, strict=True):
            opening = next((x for x in in_bars[section.bar - 1] if x.opens_section), None)
            at = begins + starts[section.bar - 1]
            clear = not any(span.step <= at < span.end_step for span in lost)
            column.append(None if opening is None else opening.met and clear)
    return _Sheet(spots, shown)


# ---- what was carried over -------------------------------------------------------------------


def _shows(of_place: Sequence[bool | None]) -> bool | None:
    """Whether a place is shown in at least half of the choruses; None where never asked for."""
    asked = [shown for shown in of_place if shown is not None]
    return sum(asked) >= HALF * len(asked) if asked else None


def _carried(kind: ComparedKind, first: _Sheet, second: _Sheet) -> CarryOver:
    columns = list(zip(first.shown[kind], second.shown[kind], strict=True))
    kept = share_of(_by_chorus([after for before, after in columns if _shows(before)]))
    before = share_of(_by_chorus([before for before, _ in columns]))
    after = share_of(_by_chorus([after for _, after in columns]))
    return CarryOver(kind, kept, before, after, difference(before, after))


def _by_chorus(columns: Sequence[Sequence[bool | None]]) -> list[tuple[int, int]]:
    """(shown, asked) of every chorus."""
    return [
        (sum(bool(shown) for shown in row), sum(shown is not None for shown in row))
        for row in zip(*columns, strict=True)
    ]


def _places(kind: ComparedKind, first: _Sheet, second: _Sheet) -> list[ComparedPlace]:
    found = []
    for spot, before, after in zip(
        first.spots[kind], first.shown[kind], second.shown[kind], strict=True
    ):
        (counts_before,), (counts_after,) = (_by_place([before]), _by_place([after]))
        outcome = _OUTCOMES[_shows(before), _shows(after)]
        found.append(ComparedPlace(kind, *spot, counts_before, counts_after, outcome))
    return found


def _by_place(columns: Sequence[Sequence[bool | None]]) -> list[tuple[int, int]]:
    return [
        (sum(bool(shown) for shown in column), sum(shown is not None for shown in column))
        for column in columns
    ]


# whether the first shows it, whether the second does
_OUTCOMES: dict[tuple[bool | None, bool | None], Outcome] = {
    (True, True): "kept",
    (True, False): "dropped",
    (False, True): "added",
    (False, False): "neither",
    (None, None): "open",
    (None, True): "open",
    (None, False): "open",
    (True, None): "open",
    (False, None): "open",
}


def _first_breaks(after: Chosen, first: _Sheet, second: _Sheet) -> list[FirstBreak]:
    """For each chorus of the second side the first bar that the first shows and it drops."""
    bars = first.spots["bars"]
    showed = [
        _shows(of_bar) or (_shows(of_bar) is None and _shows(of_form))
        for of_bar, of_form in zip(first.shown["bars"], first.shown["form"], strict=True)
    ]
    found = []
    for nth, chorus in enumerate(after.side.choruses):
        broken = None
        for index, spot in enumerate(bars):
            out = second.shown["form"][index][nth] is False
            if showed[index] and (out or second.shown["bars"][index][nth] is False):
                broken = FirstBreak(
                    chorus, spot.bar, spot.section, _why(spot.bar, nth, second, out=out)
                )
                break
        found.append(broken or FirstBreak(chorus, None, None, ""))
    return found


def _why(bar: int, nth: int, sheet: _Sheet, *, out: bool) -> str:
    if out:
        return "the form is lost"
    missed = [
        spot.chord if spot.beat == 1 else f"{spot.chord} on beat {spot.beat:.4g}"
        for spot, shown in zip(sheet.spots["landings"], sheet.shown["landings"], strict=True)
        if spot.bar == bar and shown[nth] is False
    ]
    return f"{' and '.join(missed)} not landed on"


# ---- what was added --------------------------------------------------------------------------


def _traits(before: Chosen, after: Chosen) -> list[Trait]:
    first, second = _facts(before), _facts(after)
    return [Trait(name, unit, first[name], second[name]) for name, unit in _TRAITS]


_TRAITS: tuple[tuple[str, TraitUnit], ...] = (
    ("notes a bar", "notes a bar"),
    ("landings on a third or seventh", "share"),
    ("landings pushed ahead", "share"),
    ("chord tones", "share"),
    ("approaches", "share"),
    ("tensions", "share"),
    ("outside notes", "share"),
    ("lowest note", "pitch"),
    ("highest note", "pitch"),
)


def _facts(chosen: Chosen) -> dict[str, float | None]:
    labels, choruses = chosen.labels, set(chosen.side.choruses)
    notes = [n for n in labels.notes if n.place.chorus in choruses and not n.ghost]
    met = [x for x in labels.landings if x.place.chorus in choruses and x.counted and x.met]
    judged = [n.function for n in notes if n.function is not None]
    bars = len({(x.place.chorus, x.place.bar) for x in labels.landings
                if x.place.chorus in choruses
                and labels.judged_from <= x.step < labels.judged_to})  # fmt: skip

    def of_notes(*functions: str) -> float | None:
        return sum(f in functions for f in judged) / len(judged) if judged else None

    def of_landings(number: int) -> float | None:
        return number / len(met) if met else None

    pitches = [note.pitch for note in notes]
    return {
        "notes a bar": len(notes) / bars if bars else None,
        "landings on a third or seventh": of_landings(
            sum(x.function in ("third", "seventh") for x in met)
        ),
        "landings pushed ahead": of_landings(sum(x.anticipated for x in met)),
        "chord tones": of_notes(*CHORD_TONES),
        "approaches": of_notes("approach"),
        "tensions": of_notes("tension"),
        "outside notes": of_notes("outside"),
        "lowest note": min(pitches, default=None),
        "highest note": max(pitches, default=None),
    }
