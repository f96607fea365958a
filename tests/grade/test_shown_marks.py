"""Marks: the digits that decide, and no rounding up to a pass mark."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

import linecheck
from linecheck import command_line
from linecheck.demo import demo_take
from linecheck.grade.shown_marks import ranks
from linecheck.report.figures import mark_digits, to_the_hundredth

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


@given(st.floats(0, 100), st.floats(0, 100))
def test_a_commitment_in_a_file_is_on_its_side_of_any_pass_mark(commitment, pass_mark):
    figure = to_the_hundredth(commitment, pass_mark)
    assert (figure >= pass_mark) == (commitment >= pass_mark)
    assert abs(figure - commitment) < 0.0151
    assert figure == round(figure, 2)


@pytest.mark.parametrize("mark", ["99.17", "99.166", "99.16", "99.165", "99.2"])
def test_a_program_that_reads_the_json_decides_as_the_exit_status(mark, tmp_path):
    take, file = demo_take("mira"), tmp_path / "audit.json"
    asked = ["audit", str(take.chart), str(take.take), "--quiet", "--json", str(file)]
    status = command_line.run([*asked, "--pass-mark", mark])
    assert (status == 0) == (json.loads(file.read_text("utf-8"))["commitment"] >= float(mark))
    rubric = tmp_path / "rubric.toml"
    weights = linecheck.read_rubric(None).weights
    rubric.write_text(
        f'name = "r"\npass_mark = {mark}\n[weights]\n'
        + "".join(f"{part} = {weight}\n" for part, weight in weights.items()),
        "utf-8",
    )
    assert command_line.run([*asked, "--rubric", str(rubric)]) == status
    assert (status == 0) == (json.loads(file.read_text("utf-8"))["commitment"] >= float(mark))


@given(MARKS)
def test_marks_that_look_alike_in_whole_points_share_their_rank(marks):
    of_mark = ranks(marks)
    for one in marks:
        assert of_mark[one] == 1 + sum(round(other) > round(one) for other in marks)
