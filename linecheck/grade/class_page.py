"""The page of a class, for its teacher: marks, missed bars, shared losses, what was refused.

It is one file that opens from disk and asks nothing of any network. The names on it are those of
the rows; of an anonymous grade book they are pseudonyms. A ranking is only there when asked for.
"""

from __future__ import annotations

from collections import Counter
from statistics import median, quantiles
from typing import TYPE_CHECKING, Any, TypeAlias
from urllib.parse import quote

from linecheck.doubts import doubts
from linecheck.grade.class_findings import class_findings
from linecheck.grade.class_pictures import distribution_picture, missed_bars_picture
from linecheck.grade.shown_marks import holds_whole_form, ranked, ranks
from linecheck.grade.whose import short_names
from linecheck.report.figures import counted, mark_digits, percent, plain, to_the_hundredth
from linecheck.report.findings_in_words import CAUTION
from linecheck.report.handout import sentence
from linecheck.report.html_frame import packaged, rendered
from linecheck.version import __version__

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from linecheck.grade.class_findings import BarFindings, ChartFindings, ClassFindings
    from linecheck.grade.terms import Graded, Row
    from linecheck.terms import Rubric

__all__ = ["write_class_page"]

_Take: TypeAlias = tuple[str, str, str]  # class, student and take

FOLDER = ("linecheck.grade", "class_sheet")
MOST_BARS = 8  # of a chart's missed bars that are told in words
MOST_OF = 0.5  # share of the takes from which a bar is one that most of the class miss
MOST_NAMES = 12
LEAST_FOR_QUARTERS = 4


def write_class_page(
    rows: Iterable[Row],
    rubric: Rubric,
    *,
    title: str,
    pass_mark: float | None = None,
    ranking: bool = False,
    notes: Sequence[str] = (),
    links: Callable[[Row], Mapping[str, str]] | None = None,
) -> str:
    """The page as text.

    Args:
        rows: the rows of one class, in the order in which they are shown.
        rubric: what they were weighed by.
        title: the name of the class.
        pass_mark: 0 to 100, where one was asked for.
        ranking: with the best take first, and the rank of each that is of the whole form.
        notes: what was noticed about the class as a whole.
        links: gives for a row what to call a file and where it is, from the page's own folder.
    """
    found = class_findings(rows)
    marks = [row.judgement.commitment for row in found.graded]
    names = short_names(map(_take, _all(found)))
    return rendered(
        (*FOLDER, "page.html"),
        more_style=packaged(*FOLDER, "page.css"),
        title=plain(title),
        facts=_facts(found),
        sentences=[sentence(text) for text in _sentences(found, pass_mark)],
        distribution=distribution_picture(marks, pass_mark) if marks else None,
        ranking=ranking,
        takes=_takes(found, names, ranking, links),
        with_pass=pass_mark is not None,
        to_check=_told(found.graded, names, doubtful=True),
        noted=_told(found.graded, names, doubtful=False),
        charts=[_chart(chart) for chart in found.charts],
        refused=[
            {
                "student": plain(row.submission.student),
                "take": plain(names[_take(row)]),
                "late": row.late,
                "reason": plain(row.reason),
            }
            for row in found.refused
        ],
        notes=[sentence(plain(note)) for note in notes],
        rubric=plain(rubric.name),
        fingerprint=rubric.fingerprint,
        weights=_weights(rubric),
        pass_mark=None if pass_mark is None else f"{pass_mark:g}",
        version=__version__,
        caution=CAUTION,
    )


def _all(found: ClassFindings) -> list[Row]:
    return [*found.graded, *found.refused]


def _facts(found: ClassFindings) -> str:
    students = {row.submission.student for row in _all(found)}
    graded = f"{counted(len(found.graded), 'take')} graded"
    refused = f", {len(found.refused)} refused" if found.refused else ""
    return f"{counted(len(students), 'student')}, {graded}{refused}"


def _sentences(found: ClassFindings, pass_mark: float | None) -> list[str]:
    marks = [_mark(row) for row in found.graded]
    if not marks:
        return ["no take of this class could be graded"]
    lowest, highest, middle = min(marks), max(marks), median(marks)
    digits = mark_digits(marks, pass_mark)
    low, high, half = (f"{mark:.{digits}f}" for mark in (lowest, highest, middle))
    told = [f"commitment from {low} to {high} of 100, the middle take has {half}"]
    if low == high:
        told = [f"commitment {low} of 100" if len(marks) == 1 else f"each take has {low} of 100"]
    if len(marks) >= LEAST_FOR_QUARTERS and low != high:
        first, _, third = quantiles(marks, n=4, method="inclusive")
        told.append(f"the middle half lies between {first:.{digits}f} and {third:.{digits}f}")
    if pass_mark is not None:
        passed = sum(row.passed is True for row in found.graded)
        told.append(f"{passed} of {len(marks)} reach the pass mark of {pass_mark:g}")
    late = sum(row.late is True for row in _all(found))
    if late:
        told.append(f"{counted(late, 'take')} handed in late, which costs no points")
    return told


def _takes(
    found: ClassFindings,
    names: Mapping[_Take, str],
    ranking: bool,
    links: Callable[[Row], Mapping[str, str]] | None,
) -> list[dict[str, Any]]:
    graded = list(found.graded)
    marks = [_mark(row) for row in graded]
    asked = ranked([holds_whole_form(row) for row in graded])
    chosen = {id(row) for row, is_asked in zip(graded, asked, strict=True) if is_asked}
    rank = ranks(_mark(row) for row in graded if id(row) in chosen)
    digits = mark_digits(marks, graded[0].pass_mark if graded else None)
    if ranking:
        graded.sort(key=lambda row: (id(row) not in chosen, -_mark(row)))
    return [
        {
            "rank": rank[_mark(row)] if id(row) in chosen else "-",
            "student": plain(row.submission.student),
            "take": plain(names[_take(row)]),
            "chart": plain(row.title) if len(found.charts) > 1 else "",
            "commitment": f"{_mark(row):.{digits}f}",
            "shares": [
                percent(_share(row, p)).replace(" ", "\u00a0")
                for p in ("purpose", "landings", "form")
            ],
            "losses": sum(loss.certain for loss in row.losses),
            "passed": row.passed,
            "mind": [
                *(["late"] if row.late else []),
                *(doubt.word for doubt in doubts(row.warnings)),
            ],
            "links": [
                (name, quote(place, safe="/"))
                for name, place in (links(row) if links else {}).items()
            ],
        }
        for row in graded
    ]


def _mark(row: Graded) -> float:
    return to_the_hundredth(row.judgement.commitment, row.pass_mark)


def _take(row: Row) -> _Take:
    return row.submission.class_name, row.submission.student, row.submission.take_name


def _told(
    graded: Sequence[Graded], names: Mapping[_Take, str], *, doubtful: bool
) -> list[dict[str, Any]]:
    """The warnings that cast a doubt, or the others: each once, with the takes that it is about."""
    takes = Counter(row.submission.student for row in graded)
    told: dict[str, list[str]] = {}
    for row in graded:
        name = row.submission.student
        if takes[name] > 1:
            name = f"{name} ({names[_take(row)]})"
        for text in row.warnings:
            if bool(doubts([text])) == doubtful:
                told.setdefault(text, []).append(name)
    return [
        {"text": sentence(plain(text)), "names": _names(names), "many": len(names)}
        for text, names in told.items()
    ]


def _share(row: Graded, part: str) -> float | None:
    bars = row.judgement.evidence.bars if row.judgement.evidence else ()
    marks = sum(bar.marks.get(part, 0) for bar in bars)
    missed = sum(len(bar.missed.get(part, ())) for bar in bars)
    return (marks - missed) / marks if marks else None


def _chart(chart: ChartFindings) -> dict[str, Any]:
    ranked = sorted(chart.bars, key=lambda bar: (-bar.share, bar.bar))
    by_most = [bar for bar in ranked if bar.share > MOST_OF and bar.missed > 1]
    return {
        "title": plain(chart.title),
        "takes": counted(chart.takes, "take"),
        "picture": missed_bars_picture(chart),
        "bars": [_bar_sentence(bar) for bar in by_most[:MOST_BARS]],
        "more": counted(len(by_most) - MOST_BARS, "more bar", "more bars")
        if len(by_most) > MOST_BARS
        else "",
        "alone": chart.takes == 1,
        "losses": [
            {
                "where": f"bar {loss.first_bar}"
                if loss.first_bar == loss.last_bar
                else f"bar {loss.first_bar} or {loss.last_bar}",
                "kind": loss.kind,
                "many": len(loss.students),
                "students": _names(loss.students),
            }
            for loss in chart.losses
        ],
    }


def _bar_sentence(bar: BarFindings) -> str:
    reasons = "; ".join(
        f"{plain(reason)} ({counted(many, 'time')})" for reason, many in bar.reasons
    )
    return f"bar {bar.bar} ({plain(bar.section)}): {bar.missed} of {bar.takes} takes. {reasons}"


def _names(students: Sequence[str]) -> str:
    shown = ", ".join(plain(name) for name in students[:MOST_NAMES])
    more = len(students) - MOST_NAMES
    return f"{shown} and {more} more" if more > 0 else shown


def _weights(rubric: Rubric) -> str:
    whole = sum(rubric.weights.values())
    return ", ".join(f"{part} {percent(w / whole)}" for part, w in rubric.weights.items() if w > 0)
