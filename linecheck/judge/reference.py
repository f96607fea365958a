"""What the notes are, by beat of the bar and by type of chord, and how that differs from others.

A *place* is a beat of the bar in its meter (notes struck on the beat; all others are off the beat),
or the type of the chord in force. Of each place in the walking and in the solo choruses the
functions of the notes are counted; mixed choruses, ghosts and notes over N.C. are left out.

Against a profile each count is asked how often a line like those of the profile would have one as
far off, by a beta-binomial with the profile's share and spread. Of so many shares some are off by
chance alone: a share *differs* by the rule of Benjamini and Hochberg (1995, J. R. Statist. Soc. B
57; from memory), so that at most one in twenty of those that are told are chance. No score changes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.reference_terms import ReferenceDifference, ReferenceReading
from linecheck.share_interval import strays
from linecheck.terms import FUNCTIONS

if TYPE_CHECKING:
    from linecheck.reference_terms import ReferenceGroup, ReferenceProfile, ReferenceShare
    from linecheck.terms import Chart, Function, LabelledLine, Style

    PlaceOfForm = tuple[Style, ReferenceGroup, str]

__all__ = ["PlaceCount", "against_reference", "count_functions"]

FEWEST = 8  # notes of a place, below which it is not asked
FALSE_SHARE = 0.05
STYLES: tuple[Style, ...] = ("walking", "solo")


class PlaceCount:
    """The notes of one place of a take: how many of each function, and in which choruses."""

    __slots__ = ("choruses", "functions")

    def __init__(self) -> None:
        self.functions: dict[Function, int] = dict.fromkeys(FUNCTIONS, 0)
        self.choruses: set[int] = set()

    @property
    def notes(self) -> int:
        """All of them."""
        return sum(self.functions.values())


def count_functions(labels: LabelledLine, chart: Chart) -> dict[PlaceOfForm, PlaceCount]:
    """The counts of every place of a line, in the order of their names."""
    kinds = {
        placed.chord.symbol: placed.chord.kind
        for bar in (*chart.bars, *chart.intro, *chart.ending)
        for placed in bar.chords
    }
    meters = [f"{bar.meter.beats}/{bar.meter.unit}" for bar in chart.bars]
    found: dict[PlaceOfForm, PlaceCount] = {}
    for note in labels.notes:
        chorus, bar, beat = note.place.chorus, note.place.bar, note.place.beat
        if note.function is None or not 0 < chorus <= len(labels.styles) or bar is None:
            continue
        style = labels.styles[chorus - 1]
        if style not in STYLES or beat is None:
            continue
        on = f"beat {beat:.0f}" if beat == int(beat) else "off the beat"
        places: list[PlaceOfForm] = [(style, "beat", f"{meters[bar - 1]} {on}")]
        if note.chord in kinds:
            places.append((style, "chord type", kinds[note.chord]))
        for place in places:
            count = found.setdefault(place, PlaceCount())
            count.functions[note.function] += 1
            count.choruses.add(chorus)
    return dict(sorted(found.items(), key=lambda item: (STYLES.index(item[0][0]), item[0][1:])))


def against_reference(
    labels: LabelledLine, chart: Chart, profile: ReferenceProfile
) -> ReferenceReading:
    """Read a line against a profile.

    Args:
        labels: the labelled line.
        chart: its chart.
        profile: what reference lines do.
    """
    known = {(row.style, row.by, row.name): row for row in profile.shares}
    asked: list[tuple[ReferenceShare, Function, int, int, tuple[float, float, float]]] = []
    passed_over = []
    for place, count in count_functions(labels, chart).items():
        row = known.get(place)
        if row is None:
            passed_over.append(f"{place[0]}, {place[2]}")
        elif count.notes >= FEWEST:
            for function, shown in count.functions.items():
                off = strays(shown, count.notes, row.means[function], row.spreads[function])
                asked.append((row, function, shown, count.notes, off))
    limit = _limit([off[2] for *_, off in asked])
    return ReferenceReading(
        profile,
        tuple(
            ReferenceDifference(
                row.style, row.by, row.name, function, notes, shown / notes,
                row.shares[function], low, high, chance, differs=chance <= limit,
            )
            for row, function, shown, notes, (low, high, chance) in asked
        ),
        tuple(passed_over),
    )  # fmt: skip


def _limit(chances: list[float]) -> float:
    """The largest chance that still counts as a difference, below 0 where none does."""
    limit = -1.0
    for rank, chance in enumerate(sorted(chances), start=1):
        if chance <= FALSE_SHARE * rank / len(chances):
            limit = chance
    return limit
