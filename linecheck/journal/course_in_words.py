"""What can be said of a course, in sentences, and what cannot."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from linecheck.journal.course import Break, Course, Trend, days_spanned, shown_name
from linecheck.journal.direction import LEAST
from linecheck.read.file_names import alike_names
from linecheck.report.figures import counted, plain

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.journal.entry import Entry

__all__ = [
    "BREAK_WORDS",
    "FILE_DAY",
    "caveats",
    "chart_titles",
    "day_of",
    "losses_of",
    "name_of",
    "questions",
    "rubrics_of",
    "span_of",
    "tempo_of",
    "trend_sentence",
]

NO_NAME = "without a name"
BREAK_WORDS: dict[Break, str] = {
    "rubric": "another rubric from here on: its commitment does not compare with that before",
    "grid": "timed on another grid from here on: its placement and drift do not compare",
    "version": "judged by another version of linecheck from here on",
}
FILE_DAY = (
    "a day with * is only that on which the file was last changed; put the day into the name of "
    "the take or of its folder, or give it with audit --date"
)
_MOST_DAYS = 14  # of a span that is told in days
_TEMPO_APART = 0.1  # share by which tempos may differ before it is said


def name_of(course: Course) -> str:
    """How the student of a course is called on a page."""
    return plain(shown_name(course)) or NO_NAME


def chart_titles(own: Sequence[Course]) -> list[str]:
    """How the chart of each course of one student is called.

    Charts of one title that ask different things are numbered in the order of the courses.
    """
    keys: dict[str, list[str]] = {}
    for course in own:
        alike = keys.setdefault(course.chart, [])
        if course.chart_key not in alike:
            alike.append(course.chart_key)
    return [
        plain(course.chart)
        + (
            f" ({alike.index(course.chart_key) + 1})"
            if len(alike := keys[course.chart]) > 1
            else ""
        )
        for course in own
    ]


def day_of(entry: Entry) -> str:
    """The day of a take, with a star where it is only that of its file."""
    return entry.date + ("*" if entry.date_origin == "file" else "")


def span_of(courses: Sequence[Course]) -> str:
    """How many takes in how long: ``"5 takes in 4 weeks"``.

    Days of files tell nothing of how long it was: takes without another are counted apart, and
    where no take has another the span has a star.
    """
    entries = [point.entry for course in courses for point in course.points]
    known = sorted(entry.date for entry in entries if entry.date_origin != "file")
    takes = counted(len(entries), "take")
    if not known:
        days = sorted(entry.date for entry in entries)
        return f"{takes}{_in_how_long(days)}*"
    if len(known) == len(entries):
        return f"{takes}{_in_how_long(known)}"
    rest = f"{len(entries) - len(known)} without a known day"
    return f"{takes}, {len(known)}{_in_how_long(known)} and {rest}"


def _in_how_long(days: Sequence[str]) -> str:
    """From the first day to the last, both counted, as it follows a number of takes."""
    spanned = days_spanned(days[0], days[-1])
    if spanned == 1:
        return f" on {days[0]}"
    if spanned <= _MOST_DAYS:
        return f" in {spanned} days"
    return f" in {round(spanned / 7)} weeks"


def questions(courses: Sequence[Course]) -> list[str]:
    """What to look at: names that differ in capitals alone, and charts of one title."""
    people = ((plain(course.student), plain(course.class_name)) for course in courses)
    asked = [alike.question for alike in alike_names(people)]
    charts = {(c.student, c.class_name, c.chart, c.chart_key): c.chart for c in courses}
    of_one = Counter(key[:3] for key in charts)
    twice = dict.fromkeys(chart for (_, _, chart), many in of_one.items() if many > 1)
    return asked + [
        f"{plain(chart)} is the title of several charts, which differ in chords, meter or "
        "sections; (1), (2) tell the courses over them apart"
        for chart in twice
    ]


def losses_of(entry: Entry) -> str:
    """Form losses of a take with the choruses they are counted in: ``"1 in 4"``."""
    return f"{len(entry.losses) or 'none'} in {entry.choruses}"


def tempo_of(entry: Entry) -> str:
    """Tempo and how far it moves: ``"121 +3.1 %"``."""
    if entry.tempo is None:
        return "-"
    change = "" if entry.tempo_change is None else f" {100 * entry.tempo_change:+.1f} %"
    return f"{entry.tempo:.0f}{change.replace('+0.0', '0.0').replace('-0.0', '0.0')}"


def trend_sentence(trend: Trend, takes: int) -> str:
    """One measure of a course, in a sentence; ``takes`` is how many the course has."""
    measure = trend.measure
    first, last = measure.text(trend.first), measure.text(trend.last)
    among = "" if trend.takes == takes else f" over the {counted(trend.takes, 'take')} that compare"
    if trend.takes == 1:
        return f"{measure.title}: {last}" + (", in the last take alone" if takes > 1 else "")
    if trend.direction in ("rising", "falling"):
        word = "better" if trend.better else "worse"
        return f"{measure.title}: {trend.direction}, {first} to {last}{among}: {word}"
    if trend.direction == "unclear":
        return f"{measure.title}: {first} to {last}{among}, no clear direction"
    return f"{measure.title}: {first} to {last}{among}"


def caveats(course: Course) -> list[str]:
    """What keeps the takes of a course from being compared."""
    entries = [point.entry for point in course.points]
    found = []
    if len({entry.date for entry in entries}) < LEAST:
        found.append(
            f"{counted(len(entries), 'take')} on {counted(len({e.date for e in entries}), 'day')}: "
            f"a direction is only told from {LEAST} days on"
        )
    for kind, words in BREAK_WORDS.items():
        days = [point.entry.date for point in course.points if kind in point.breaks]
        if days:
            found.append(f"{', '.join(days)}: {words}")
    tempos = [entry.tempo for entry in entries if entry.tempo is not None]
    if tempos and max(tempos) > (1 + _TEMPO_APART) * min(tempos):
        found.append(
            f"the tempos differ, {min(tempos):.0f} to {max(tempos):.0f} a minute: fast and slow "
            "takes do not quite compare"
        )
    if any(entry.date_origin == "file" for entry in entries):
        found.append(FILE_DAY)
    return found


def rubrics_of(course: Course) -> list[str]:
    """Every rubric of a course with its weights and its fingerprint, in order."""
    found: dict[str, str] = {}
    for point in course.points:
        entry = point.entry
        weights = ", ".join(f"{part} {100 * w:.0f} %" for part, w in entry.weights.items())
        found.setdefault(
            entry.rubric_fingerprint,
            f"Rubric {plain(entry.rubric)} ({entry.rubric_fingerprint[:8]}): {weights}",
        )
    return list(found.values())
