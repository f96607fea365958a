"""An appeal sheet: every point that a take was given and that was taken from it, by bar.

Definition: a mark is one thing that could be earned (a judged note's purpose, a landing, a beat in
place, a beat that sounds); what a mark is worth follows from the rubric and from how many there
are in its chorus. What was given adds up to the commitment, and given and taken to 100. Figures
are shown to the hundredth and are cut so that the shown ones add up too. Units: points, 0 to 100
over the whole take.
"""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from linecheck.grade.rows import points
from linecheck.judge.commitment import PRESENCE
from linecheck.report.figures import counted, percent, plain
from linecheck.report.findings_in_words import CAUTION
from linecheck.report.page import Page

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from linecheck.grade.terms import BarPoints, Graded

__all__ = ["appeal_json", "appeal_text", "shown_points"]

HUNDREDTH = 2
# What a mark of each part is, in the words of a teacher.
MARKS = {
    "purpose": ("note with a purpose", "notes with a purpose"),
    "landings": ("landing", "landings"),
    "form": ("beat in place", "beats in place"),
    "presence": ("beat that sounds", "beats that sound"),
}
# A mark of these parts is a beat: a bar ahead misses four of them, and is one loss.
COUNTED = {"form": "beats", "presence": "beats"}


def shown_points(values: Iterable[float]) -> list[float]:
    """Points to the hundredth that add up to the sum of the values, to the hundredth.

    Each is the growth of the rounded sum, so that none is off by more than a hundredth.
    """
    shown, whole, before = [], 0.0, 0.0
    for value in values:
        whole += value
        now = round(whole, HUNDREDTH)
        shown.append(round(now - before, HUNDREDTH) + 0.0)
        before = now
    return shown


@dataclass(frozen=True, slots=True)
class _Line:
    """What one part gave and took in one bar, as it is shown."""

    points: BarPoints
    given: float
    taken: float


def appeal_text(row: Graded, *, width: int = 80) -> str:
    """The sheet of one take as text, for its teacher and its student."""
    page = Page(width)
    submission, judgement = row.submission, row.judgement
    lines = _lines(row)
    page.heading("Appeal sheet: every point that was given, and every one that was taken")
    who = ", ".join(plain(t) for t in (submission.student, submission.class_name) if t)
    page.say(f"{who}: {plain(submission.take_name)} over {plain(row.title)}", hang=2)
    given = round(sum(line.given for line in lines), HUNDREDTH)
    taken = round(sum(line.taken for line in lines), HUNDREDTH)
    page.say(f"Commitment {given:.2f} of 100; {taken:.2f} were taken", style="answer")
    if row.pass_mark is not None:
        word = "reached" if row.passed else "not reached"
        rounded_onto = not row.passed and given >= row.pass_mark
        exactly = f": it is {judgement.commitment:.5f} exactly" if rounded_onto else ""
        page.say(f"The pass mark of {row.pass_mark:g} is {word}{exactly}")
    _rule(page, row)
    in_chorus: dict[int, list[_Line]] = defaultdict(list)
    for line in lines:
        in_chorus[line.points.chorus].append(line)
    for score in judgement.choruses:
        _chorus(page, score.chorus, score.style, in_chorus[score.chorus])
    page.gap()
    page.say(
        f"Rubric {plain(judgement.rubric.name)}, fingerprint {judgement.rubric.fingerprint[:12]}; "
        f"linecheck {row.linecheck}; audit {row.key[:12]}"
    )
    page.say(CAUTION)
    return page.as_text()


def _rule(page: Page, row: Graded) -> None:
    rubric = row.judgement.rubric
    whole = sum(rubric.weights.values())
    weights = ", ".join(f"{part} {percent(w / whole)}" for part, w in rubric.weights.items())
    page.heading("How a point is made")
    page.say(
        f"The parts weigh {weights}. A chorus has points by its length; a part shares its weight "
        "of them equally among its marks in that chorus. Where a part has nothing to earn in a "
        "chorus, the others carry its weight. Where beats of a walking chorus are silent, "
        "presence takes its share of every part.",
        indent=2,
    )


def _lines(row: Graded) -> list[_Line]:
    found = points(row)
    given = shown_points(bar.given for bar in found)
    taken = shown_points(bar.taken for bar in found)
    return [_Line(bar, one, other) for bar, one, other in zip(found, given, taken, strict=True)]


def _chorus(page: Page, chorus: int, style: str, lines: Sequence[_Line]) -> None:
    given, taken = (sum(getattr(line, side) for line in lines) for side in ("given", "taken"))
    page.heading(f"Chorus {chorus}, {style}: {given:.2f} given, {taken:.2f} taken")
    by_bar: dict[int, list[_Line]] = defaultdict(list)
    for line in lines:
        by_bar[line.points.bar].append(line)
    for bar, of_bar in by_bar.items():
        _bar(page, bar, of_bar)


def _bar(page: Page, bar: int, lines: Sequence[_Line]) -> None:
    """One line where everything was given, else a line a part with what was missed."""
    given, taken = (sum(getattr(line, side) for line in lines) for side in ("given", "taken"))
    if not any(line.points.missed for line in lines):
        parts = ", ".join(f"{line.points.part} {line.given:.2f}" for line in lines if line.given)
        page.say(f"bar {bar}: {given:.2f} given ({parts})", indent=2, hang=2)
        return
    page.say(f"bar {bar}: {given:.2f} given, {taken:.2f} taken", indent=2)
    for line in lines:
        found = line.points
        if found.part == PRESENCE and not found.missed:
            continue
        one, many = MARKS.get(found.part, (found.part, found.part))
        earned = found.marks - len(found.missed)
        words = f"{found.part}: {earned} of {counted(found.marks, one, many)}"
        page.say(f"{words}, {line.given:.2f} given, {line.taken:.2f} taken", indent=6, hang=2)
        for reason, times in Counter(found.missed).items():
            often = f" ({times} {COUNTED.get(found.part, 'times')})" if times > 1 else ""
            page.say(f"- {plain(reason)}{often}", indent=8, hang=2)


def appeal_json(row: Graded) -> str:
    """The sheet of one take for a program; points to a millionth."""
    submission, judgement = row.submission, row.judgement
    found = points(row)
    told: dict[str, Any] = {
        "schema": 1,
        "student": submission.student,
        "class": submission.class_name,
        "take": submission.take_name,
        "chart": submission.chart_name,
        "title": row.title,
        "commitment": round(judgement.commitment, 6),
        "pass_mark": row.pass_mark,
        "passed": row.passed,
        "rubric": {
            "name": judgement.rubric.name,
            "fingerprint": judgement.rubric.fingerprint,
            "weights": dict(judgement.rubric.weights),
        },
        "linecheck": row.linecheck,
        "key": row.key,
        "points": [
            {
                "chorus": bar.chorus,
                "bar": bar.bar,
                "section": bar.section,
                "part": bar.part,
                "marks": bar.marks,
                "missed": list(bar.missed),
                "given": round(bar.given, 6),
                "taken": round(bar.taken, 6),
            }
            for bar in found
        ],
    }
    return json.dumps(told, indent=1, ensure_ascii=False) + "\n"
