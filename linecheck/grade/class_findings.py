"""What a class has in common: its marks, the bars that most of it miss, the losses it shares.

A take *misses a bar* of the form where in half of the choruses in which the bar has landings, or
more, one of them is missed. A loss is *shared* where it begins, by its kind, within the same two
neighbouring bars of the form with two students or more; losses that are only possible are left
out. Takes belong together where the title and the sections of their chart are the same.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from linecheck.grade.terms import Graded, Refused

if TYPE_CHECKING:
    from collections.abc import Iterable

    from linecheck.grade.terms import Row
    from linecheck.terms import Evidence, LossKind

__all__ = ["BarFindings", "ChartFindings", "ClassFindings", "SharedLoss", "class_findings"]

LANDINGS = "landings"
MISSES_FROM = 0.5  # share of its choruses in which a take misses a bar
MOST_REASONS = 3
LEAST_STUDENTS = 2


@dataclass(frozen=True, slots=True)
class BarFindings:
    """One bar of the form: how many takes have landings in it, and how many of them miss it.

    ``reasons`` are what was missed, the most frequent first, with how often; ``opens_section``
    tells the second A of A A from the first.
    """

    bar: int
    section: str
    takes: int
    missed: int
    reasons: tuple[tuple[str, int], ...]
    opens_section: bool = False

    @property
    def share(self) -> float:
        """The share of the takes that miss the bar, 0 to 1."""
        return self.missed / self.takes if self.takes else 0.0


@dataclass(frozen=True, slots=True)
class SharedLoss:
    """A form loss that begins in the same bars with several students, the names in order."""

    first_bar: int
    last_bar: int
    kind: LossKind
    students: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ChartFindings:
    """All takes over one chart."""

    title: str
    takes: int
    bars: tuple[BarFindings, ...]
    losses: tuple[SharedLoss, ...]


@dataclass(frozen=True, slots=True)
class ClassFindings:
    """A class: its rows in order, and what is common to the takes over each chart."""

    graded: tuple[Graded, ...]
    refused: tuple[Refused, ...]
    charts: tuple[ChartFindings, ...]


def class_findings(rows: Iterable[Row]) -> ClassFindings:
    """What the rows of one class have in common."""
    graded: list[Graded] = []
    refused: list[Refused] = []
    charts: dict[tuple[object, ...], _Chart] = {}
    for row in rows:
        if isinstance(row, Refused):
            refused.append(row)
            continue
        graded.append(row)
        evidence = row.judgement.evidence
        if evidence is None:
            raise ValueError("a graded row is made of its evidence")
        form = tuple((bar.bar, bar.section) for bar in evidence.bars[: row.form_bars])
        charts.setdefault((row.title, *form), _Chart(row.title, form)).add(row, evidence)
    return ClassFindings(
        graded=tuple(graded),
        refused=tuple(refused),
        charts=tuple(chart.findings() for chart in charts.values()),
    )


class _Chart:
    """The takes over one chart, counted as they come."""

    def __init__(self, title: str, form: tuple[tuple[int, str], ...]) -> None:
        self._title = title
        self._form = form
        self._takes = 0
        self._asked = Counter[int]()
        self._missed = Counter[int]()
        self._opening: set[int] = set()
        self._reasons: dict[int, Counter[str]] = {}
        self._losses: dict[LossKind, dict[int, set[str]]] = {}

    def add(self, row: Graded, evidence: Evidence) -> None:
        self._takes += 1
        self._opening.update(section.bar for section in evidence.sections)
        asked, missed = Counter[int](), Counter[int]()
        for bar in evidence.bars:
            if bar.marks.get(LANDINGS):
                asked[bar.bar] += 1
                reasons = bar.missed.get(LANDINGS, ())
                missed[bar.bar] += bool(reasons)
                self._reasons.setdefault(bar.bar, Counter()).update(reasons)
        for number, choruses in asked.items():
            self._asked[number] += 1
            self._missed[number] += missed[number] >= MISSES_FROM * choruses
        for loss in row.losses:
            if loss.certain and loss.begins.bar is not None:
                begun = self._losses.setdefault(loss.kind, {})
                begun.setdefault(loss.begins.bar, set()).add(row.submission.student)

    def findings(self) -> ChartFindings:
        return ChartFindings(
            title=self._title,
            takes=self._takes,
            bars=tuple(
                BarFindings(
                    bar=number,
                    section=section,
                    takes=self._asked[number],
                    missed=self._missed[number],
                    reasons=_most(self._reasons.get(number, Counter())),
                    opens_section=number in self._opening,
                )
                for number, section in self._form
            ),
            losses=tuple(
                sorted(
                    (loss for kind, begun in self._losses.items() for loss in _shared(kind, begun)),
                    key=lambda loss: (-len(loss.students), loss.first_bar, loss.kind),
                )
            ),
        )


def _most(reasons: Counter[str]) -> tuple[tuple[str, int], ...]:
    ranked = sorted(reasons.items(), key=lambda found: (-found[1], found[0]))
    return tuple(ranked[:MOST_REASONS])


def _shared(kind: LossKind, begun: dict[int, set[str]]) -> list[SharedLoss]:
    """The losses of one kind by the two neighbouring bars with the most students, then the next."""
    left = dict(begun)
    found = []
    while left:
        best = max(left, key=lambda bar: (len(left[bar] | left.get(bar + 1, set())), -bar))
        bars = [bar for bar in (best, best + 1) if bar in left]
        students = set[str]().union(*(left.pop(bar) for bar in bars))
        if len(students) >= LEAST_STUDENTS:
            found.append(SharedLoss(bars[0], bars[-1], kind, tuple(sorted(students))))
    return found
