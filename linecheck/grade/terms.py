"""The words of a grade book, as frozen dataclasses. No logic stands here.

A *submission* is one take that a student handed in, with its chart. It becomes one *row*:
``Graded``, or ``Refused`` with the reason why it could not be graded. Rows show a submission by
``student``, ``take_name`` and ``chart_name``, which are pseudonyms in an anonymous grade book;
the paths ``take`` and ``chart`` are for reading files and are never shown.

Units and words are those of ``linecheck.terms``: commitment and points 0 to 100, shares 0 to 1.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from pathlib import Path

    from linecheck.terms import Feel, GridKind, Judgement, LossKind, Place, Remark, TakeKind

__all__ = [
    "BarPoints",
    "Graded",
    "Loss",
    "Refused",
    "Row",
    "Submission",
    "TakeOptions",
]


@dataclass(frozen=True, slots=True)
class TakeOptions:
    """How one take is to be read: the options of ``linecheck.audit`` of the same names."""

    track: str | None = None
    tempo: float | None = None
    first_beat_one: str | None = None
    click: bool | None = None
    key: str | None = None


@dataclass(frozen=True, slots=True)
class Submission:
    """A take that was handed in.

    ``class_name`` is "" where there are no classes. ``take`` or ``chart`` is None where none was
    found; the submission is then refused. ``due`` and ``submitted`` are ISO 8601 dates, with a
    time ("2026-11-20 18:00") where the table gives one, "" where it gives none. ``where`` is the
    row of the table that it comes from ("submissions.csv row 7"), or "". ``remarks`` say what of
    that row could not be understood and stops no grade: a date.
    """

    student: str
    class_name: str
    take: Path | None
    chart: Path | None
    take_name: str
    chart_name: str
    options: TakeOptions = TakeOptions()
    due: str = ""
    submitted: str = ""
    where: str = ""
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BarPoints:
    """What one part (or presence) gave and took in one bar, in points of the whole take.

    ``marks`` things could be earned in it, of which ``len(missed)`` were not; ``missed`` says of
    each why. Over a take all that was given adds up to its commitment and all that was taken to
    100 minus it. Presence gives nothing by itself: the other parts are multiplied by it.
    ``chorus`` and ``bar`` count from 1, ``bar`` within the form.
    """

    chorus: int
    bar: int
    section: str
    part: str
    marks: int
    missed: tuple[str, ...]
    given: float
    taken: float


@dataclass(frozen=True, slots=True)
class Loss:
    """A form loss by its places; as ``linecheck.terms.Loss``. ``certain`` false is "perhaps"."""

    begins: Place
    kind: LossKind
    offset_beats: float | None
    recovered: Place | None
    confidence: float
    certain: bool


@dataclass(frozen=True, slots=True)
class Graded:
    """A submission that was graded.

    ``judgement`` has the choruses with their parts, the sections, the dearest bars, the rubric
    with its fingerprint, and the evidence; ``linecheck.grade.points(row)`` gives of it every bar
    and part with the points given and taken (``BarPoints``). ``passed`` is None without a
    pass mark, ``late`` None where the table does not give both dates. ``key`` says what was
    graded: a hash of take, chart, options and program. ``feel`` is the time feel of the whole
    take, as facts.
    """

    submission: Submission
    title: str
    form_bars: int
    kind: TakeKind
    notes: int
    grid: GridKind
    tempo_bpm: float
    tempo_change: float | None
    swing_ratio: float | None
    placement_mean_ms: float
    placement_spread_ms: float
    judgement: Judgement
    losses: tuple[Loss, ...]
    warnings: tuple[Remark, ...]
    pass_mark: float | None
    passed: bool | None
    late: bool | None
    key: str
    linecheck: str
    feel: Feel | None = None


@dataclass(frozen=True, slots=True)
class Refused:
    """A submission that could not be graded, with the reason in one line."""

    submission: Submission
    reason: Remark
    late: bool | None = None
    key: str = ""


Row: TypeAlias = Graded | Refused
