"""Marks: the digits that decide, and no rounding up to a pass mark."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linecheck.grade.shown_marks import mark_digits, ranks, to_the_hundredth

MARKS = st.lists(st.floats(0, 100), min_size=1, max_size=20)


@pytest.mark.parametrize(
    ("marks", "pass_mark", "digits"),
    [
        ([91.67, 80.0], None, 0),
        ([91.67, 80.0], 92, 1),
        ([91.97, 80.0], 92, 2),
        ([92.0, 92.4], 92, 0),
        ([99.33, 99.17, 98.89], None, 0),
    ],
)
def test_the_digits_that_marks_need(marks, pass_mark, digits):
    assert mark_digits(marks, pass_mark) == digits


@given(MARKS, st.integers(0, 100))
def test_no_shown_mark_contradicts_its_verdict(found, pass_mark):
    marks = [to_the_hundredth(mark, pass_mark) for mark in found]
    digits = mark_digits(marks, pass_mark)
    shown = [float(f"{mark:.{digits}f}") for mark in marks]
    assert [s >= pass_mark for s in shown] == [mark >= pass_mark for mark in found]


@given(MARKS)
def test_marks_that_look_alike_in_whole_points_share_their_rank(marks):
    of_mark = ranks(marks)
    for one in marks:
        assert of_mark[one] == 1 + sum(round(other) > round(one) for other in marks)
