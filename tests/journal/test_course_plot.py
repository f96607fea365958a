"""The drawn course: figures that are written lie clear of each other, and of other points."""

from __future__ import annotations

import re
from datetime import date, timedelta
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linecheck.journal import courses
from linecheck.journal.course_plot import _Box, _Text, course_plot
from linecheck.journal.measures import MEASURES
from tests.journal.invented_entries import entry_like

LANDINGS_FIRST = {"rubric_fingerprint": "r2", "weights": {"purpose": 0.3, "landings": 0.7}}
COMMITMENT = MEASURES[0]
TEXT = re.compile(
    r'<text x="([\d.]+)" y="([\d.]+)" text-anchor="middle" (font-\w+)="\d+">([^<]+)</text>'
)
DOT = re.compile(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="4"')


def drawn(days, commitments, rubrics=()):
    """Texts and points of the plot of commitment, takes on these days after the first of March."""
    (course,) = courses(
        entry_like(
            date=(date(2026, 3, 1) + timedelta(days=day)).isoformat(),
            take=f"{n:02}.mid",
            commitment=commitment,
            **(LANDINGS_FIRST if n in rubrics else {}),
        )
        for n, (day, commitment) in enumerate(zip(days, commitments, strict=True))
    )
    svg = str(course_plot(course, COMMITMENT))
    texts = [
        _Text(text, float(x), float(y), 11 if kind == "font-weight" else 9)
        for x, y, kind, text in TEXT.findall(svg)
        if not text.startswith("2026")
    ]
    dots = {(float(x), float(y)) for x, y in DOT.findall(svg)}
    return texts, dots


def figures(texts):
    return [text.text for text in texts if text.size == 11]


def test_of_takes_close_together_only_what_has_room_has_its_figure():
    texts, _ = drawn([0, 1, 2, 3, 4, 200], [60, 62, 58, 66, 71, 90])
    assert figures(texts) == ["90", "58", "71"]


def test_of_few_takes_with_room_each_has_its_figure():
    texts, _ = drawn([0, 7, 14, 21, 28], [90, 60, 70, 80, 95])
    assert sorted(figures(texts)) == ["60", "70", "80", "90", "95"]


def test_two_takes_of_one_day_and_mark_have_one_figure():
    texts, _ = drawn([0, 0, 7], [50, 50, 80])
    assert sorted(figures(texts)) == ["50", "80"]


@given(
    st.lists(
        st.tuples(st.integers(0, 300), st.integers(0, 100), st.booleans()), min_size=2, max_size=14
    )
)
def test_nothing_lies_on_another_thing_or_beyond_the_picture(takes):
    takes = sorted(takes)
    texts, dots = drawn(
        [day for day, _, _ in takes],
        [mark for _, mark, _ in takes],
        [at for at, (_, _, other) in enumerate(takes) if other],
    )
    assert figures(texts)
    for one, other in combinations(texts, 2):
        assert not one.box.meets([other.box]), (one, other)
    for text in texts:
        assert text.box.left >= -0.1
        assert text.box.right <= 360.1
        if text.size == 11:
            # A point of its own is as near as a figure lies above or below it, others are not in it.
            assert sum(text.box.meets([_Box(x, y, x, y)]) for x, y in dots) == 0
            near = min(text.box.far_from(*dot) for dot in dots)
            assert near == pytest.approx(text.box.far_from(*own(text, dots)), abs=0.2)


def own(text, dots):
    """The point whose figure it is: 9 above it, or 17 below."""
    return min(
        dots,
        key=lambda dot: (
            min(abs(text.y + 9 - dot[1]), abs(text.y - 17 - dot[1])) + abs(text.x - dot[0])
        ),
    )
