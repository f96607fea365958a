"""Reading a rubric: the packaged one, a teacher's own, and every slip that a rubric can have."""

from __future__ import annotations

import pytest

from linecheck.faults import RubricFault
from linecheck.judge import PARTS
from linecheck.read.rubric import read_rubric

PLAIN = 'name = "Mine"\n[weights]\npurpose = 2\nlandings = 2\nform = 1\n'


def read(tmp_path, text):
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    return read_rubric(path)


def test_the_packaged_rubric_weighs_every_part_and_nothing_else():
    rubric = read_rubric(None)
    assert set(rubric.weights) == set(PARTS)
    assert all(weight > 0 for weight in rubric.weights.values())
    assert rubric.pass_mark is None


def test_a_rubric_of_a_teacher(tmp_path):
    rubric = read(tmp_path, PLAIN.replace("form = 1", "form = 0.5"))
    assert rubric.name == "Mine"
    assert rubric.weights == {"purpose": 2.0, "landings": 2.0, "form": 0.5}
    assert rubric.source.endswith("mine.toml")


def test_a_pass_mark_may_be_asked_for(tmp_path):
    assert read(tmp_path, "pass_mark = 70\n" + PLAIN).pass_mark == 70.0


def test_a_part_left_out_weighs_nothing(tmp_path):
    rubric = read(tmp_path, 'name = "Form only"\n[weights]\nform = 1\n')
    assert rubric.weights == {"purpose": 0.0, "landings": 0.0, "form": 1.0}


def test_rubrics_that_grade_alike_have_one_fingerprint(tmp_path):
    mine = read(tmp_path, PLAIN).fingerprint
    forty = 'name = "Other name"\n[weights]\nform = 20\npurpose = 40.0\nlandings = 40\n'
    assert read(tmp_path, forty).fingerprint == mine
    assert read_rubric(None).fingerprint == mine
    assert read(tmp_path, PLAIN.replace("form = 1", "form = 2")).fingerprint != mine
    assert read(tmp_path, "pass_mark = 70\n" + PLAIN).fingerprint != mine


def test_leaving_a_part_out_means_weighing_it_with_nothing(tmp_path):
    left_out = read(tmp_path, 'name = "a"\n[weights]\npurpose = 1\nform = 1\n')
    nothing = read(tmp_path, 'name = "a"\n[weights]\npurpose = 3\nlandings = 0\nform = 3\n')
    assert left_out.fingerprint == nothing.fingerprint


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            PLAIN.replace("landings", "landing"),
            (
                r"\[weights\]: unknown key 'landing'; expected "
                r"purpose, landings or form; did you mean landings\?"
            ),
        ),
        (PLAIN.replace("purpose", "Purpose"), r"unknown key 'Purpose'.*did you mean purpose\?"),
        (PLAIN + "groove = 3\n", r"unknown key 'groove'; expected purpose, landings or form$"),
        ("weight = 3\n" + PLAIN, r"unknown key 'weight'.*did you mean weights\?"),
        (PLAIN.replace("= 1", "= -1"), r"\[weights\]: form is -1; expected a number, 0 or more"),
        (PLAIN.replace("= 1", '= "1"'), r"form is '1'; expected a number"),
        (PLAIN.replace("= 1", "= true"), r"form is True; expected a number"),
        (PLAIN.replace("= 1", "= nan"), r"form is nan; expected a number"),
        (PLAIN.replace("= 1", "= inf"), r"form is inf; expected a number"),
        (PLAIN.replace("= 1", "= 1" + "0" * 400), r"form is 10*; expected a number"),
        (PLAIN.replace("= 1", "= [1]"), r"form is \[1\]; expected a number"),
        (PLAIN.replace("= 2", "= 0").replace("= 1", "= 0"), r"add up to 0; expected at least one"),
        ('name = "a"\n[weights]\n', r"add up to 0"),
        ('name = "a"\n', r"has no \[weights\]; expected a table"),
        ('name = "a"\nweights = 3\n', r"weights is 3; expected a table"),
        ("[weights]\nform = 1\n", r"name is missing; expected a text"),
        (PLAIN.replace('"Mine"', '" "'), r"name is ' '; expected a text"),
        (PLAIN.replace('"Mine"', "7"), r"name is 7; expected a text"),
        ("pass_mark = 101\n" + PLAIN, r"pass_mark is 101; expected a number from 0 to 100"),
        ('pass_mark = "b"\n' + PLAIN, r"pass_mark is 'b'; expected a number from 0 to 100"),
        (PLAIN + "= 3", r"line 6: is not valid TOML: "),
        (
            PLAIN.replace('"Mine"', "Mine"),
            r'line 1: a text needs straight quotation marks: name = "Mine"',
        ),
        (PLAIN + "groove = " + "9" * 5000, r"a number of 5000 figures; nothing is so large"),
        (PLAIN + "groove = " + "[" * 5000, r"is not valid TOML: "),
    ],
)
def test_a_slip_is_refused_with_what_was_expected(tmp_path, text, message):
    with pytest.raises(RubricFault, match=message) as caught:
        read(tmp_path, text)
    assert str(caught.value).startswith(str(tmp_path / "mine.toml"))
    assert "\n" not in str(caught.value)


def test_a_file_that_is_not_there_is_a_fault(tmp_path):
    with pytest.raises(RubricFault, match="no such file"):
        read_rubric(tmp_path / "none.toml")


def test_a_file_that_is_no_text_is_a_fault(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(RubricFault, match="UTF-8"):
        read_rubric(path)
