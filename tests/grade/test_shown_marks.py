"""Marks: the digits that decide, and no rounding up to a pass mark; what casts a doubt."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import linecheck
from linecheck import command_line
from linecheck.demo import demo_take
from linecheck.grade.doubts import DOUBTS, doubts
from linecheck.grade.shown_marks import mark_digits, ranks
from linecheck.report.figures import to_the_hundredth

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


def test_the_texts_that_cast_a_doubt_are_those_of_the_warnings():
    package = Path(linecheck.__file__).parent
    folders = ("read", "hear", "music", "place", "label", "judge")
    texts = "".join(p.read_text("utf-8") for f in folders for p in (package / f).glob("*.py"))
    joined = texts.replace('"\n            "', "").replace('"\n                "', "")
    for doubt in DOUBTS:
        assert doubt.said in joined, doubt.said


@pytest.mark.parametrize(
    ("text", "word"),
    [
        (
            "the line is written in 3/4, the chart is in 4/4: their bars do not fall together",
            "meter?",
        ),
        ("track 2 is a flute by its program (74), and was read as the bass line", "track?"),
        (
            "90 of 96 notes are struck as chords: this may be the part of another instrument",
            "track?",
        ),
        ("only 3 of 8 bars of the form were played; every score is of these alone", "whole?"),
        (
            "no note lies below E3: the line may be saved two octaves too high",
            "octave?",
        ),
    ],
)
def test_what_a_teacher_has_to_look_at_is_a_doubt(text, word):
    assert [doubt.word for doubt in doubts(["another warning", text])] == [word]


def test_only_many_bends_are_a_doubt():
    bent = "notes are bent by more than a quarter tone; pitch bend is not read, and the pitch that"
    assert doubts([f"4 of 96 {bent} was struck is judged"]) == ()
    (doubt,) = doubts([f"40 of 96 {bent} was struck is judged: are these the pitches that sound?"])
    assert doubt.word == "pitches?"


def test_how_a_take_was_read_is_no_doubt():
    # The form was played once at least, and the grade is of all that was.
    assert doubts(["chorus 3 breaks off after bar 5 of 12; it is scored up to there"]) == ()
    assert doubts(["the take was not played to the click of its file; its beats were found"]) == ()
    octave = "no note lies below E2: the line may be saved an octave too high, as written"
    assert [doubt.word for doubt in doubts([octave, octave])] == ["octave?"]
