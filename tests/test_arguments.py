"""How a take is read: what is taken from a notebook, what is refused, and in which words."""

from __future__ import annotations

import os
from fractions import Fraction

import numpy as np
import pytest

import linecheck
from linecheck import command_line
from linecheck.arguments import (
    PASS_MARK,
    TEMPO,
    checked_click,
    checked_first_beat_one,
    checked_pass_mark,
    checked_tempo,
)
from linecheck.demo import demo_take
from linecheck.faults import ChartFault, OptionFault
from linecheck.grade.book import GradeBook, grade_folder
from linecheck.read import read_take

NAN, INF = float("nan"), float("inf")
WRONG = [
    ({"tempo": NAN}, "tempo is nan; expected quarter notes a minute, 20 to 500"),
    ({"tempo": np.float64("nan")}, "tempo is nan; expected quarter notes"),
    ({"tempo": INF}, "tempo is inf; "),
    ({"tempo": -3}, "tempo is -3; "),
    ({"tempo": 0}, "tempo is 0; "),
    ({"tempo": 10**400}, "tempo is of type int; "),
    ({"tempo": "120"}, "tempo is '120'; "),
    ({"tempo": True}, "tempo is True; "),
    ({"tempo": np.array([120.0])}, r"tempo is array\(\[120.\]\); "),
    ({"key": 3}, "key is 3; expected a tonic such as 'Bb', or 'Dm' for minor"),
    ({"key": "H"}, "key: 'H' is no key; expected a tonic such as 'Bb', or 'Dm' for minor"),
    ({"first_beat_one": 10**400}, "first_beat_one is of type int; expected a bar of the file"),
    ({"track": 10**400}, "track is of type int; tracks are counted from 1"),
    ({"track": 0}, "track is 0; tracks are counted from 1"),
    ({"track": 2.0}, "track is 2.0; expected the number or the name of a track"),
    ({"track": True}, "track is True; expected the number or the name of a track"),
    ({"track": " "}, "track is empty; the number or the name of a track was expected"),
    ({"first_beat_one": 4.2}, "first_beat_one is 4.2; expected a bar of the file"),
    ({"first_beat_one": (3, 2)}, r"first_beat_one is \(3, 2\); expected a bar of the file"),
    ({"first_beat_one": "x"}, "first beat one 'x': expected a bar of the file"),
    ({"first_beat_one": -1}, "first beat one '-1': expected a bar of the file"),
    ({"click": 1}, "click is 1; expected True, False or None"),
    ({"click": "free"}, "click is 'free'; expected True, False or None"),
    ({"rubric": {"a": 1}}, r"rubric is \{'a': 1\}; expected a rubric or the name of its file"),
    ({"progress": 3}, "progress is 3; expected a function, or None"),
    ({"reference": 3}, "reference is 3; expected a reference or the name of its file"),
]  # fmt: skip


@pytest.fixture(scope="module")
def mira():
    return demo_take("mira")


@pytest.fixture(scope="module")
def plain(mira):
    return linecheck.audit(mira.chart, mira.take)


@pytest.mark.parametrize(("options", "said"), WRONG)
def test_what_an_audit_cannot_use_is_refused_by_its_name(mira, options, said):
    with pytest.raises(OptionFault, match=said) as fault:
        linecheck.audit(mira.chart, mira.take, **options)
    assert "\n" not in str(fault.value)


@pytest.mark.parametrize(
    ("options", "said"),
    [row for row in WRONG if not {"rubric", "reference", "progress"} & set(row[0])],
)
def test_a_comparison_refuses_the_same(mira, options, said):
    with pytest.raises(OptionFault, match=said):
        linecheck.compare(mira.chart, mira.take, **options)


def test_inputs_of_a_wrong_kind_are_refused_by_their_names(mira, plain):
    for call, said in (
        (
            lambda: linecheck.audit(plain.take, plain.chart),
            "chart is of type Take; expected a chart or",
        ),
        (
            lambda: linecheck.audit(mira.chart, 5),
            "take is 5; expected a take or the name of its file",
        ),
        (lambda: linecheck.read_chart(None), "chart is None; expected a chart"),
        (lambda: linecheck.read_take(mira.take, track=0), "track is 0; tracks are counted from 1"),
        (
            lambda: linecheck.fingering(mira.take, track=-1),
            "track is -1; tracks are counted from 1",
        ),
        (lambda: linecheck.reference([mira.take], chart=5), "chart is 5; expected a chart"),
    ):
        with pytest.raises(OptionFault, match=said):
            call()


def test_a_track_is_refused_for_a_take_that_is_read_already(mira):
    take = linecheck.read_take(mira.take)
    for call in (
        lambda: linecheck.audit(mira.chart, take, track=99),
        lambda: linecheck.compare(mira.chart, take, track="Bass"),
        lambda: linecheck.compare(mira.chart, mira.take, take, track=2),
        lambda: linecheck.fingering(take, track=2),
        lambda: linecheck.fingering([40, 43, 45], track=2),
    ):
        with pytest.raises(OptionFault, match=r"^track is for a file; this take is read already"):
            call()


def test_an_audit_says_in_one_line_what_it_is(plain):
    assert repr(plain) == "Audit(Tollgate Shuffle, tollgate_mira.mid: 99 of 100, 3 choruses)"


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"jobs": 0}, "jobs is 0; expected a whole number of processes, from 1 on"),
        ({"jobs": -3}, "jobs is -3; "),
        ({"jobs": 1.5}, "jobs is 1.5; "),
        ({"subfolders": "x"}, "subfolders is 'x'; expected 'students' or 'classes'"),
        ({"progress": 3}, "progress is 3; expected a function"),
    ],
)
def test_what_grading_cannot_use_is_refused_by_its_name(tmp_path, options, said):
    with pytest.raises(OptionFault, match=said):
        grade_folder(tmp_path, **options)


def test_a_plan_is_asked_for_a_spot_or_more(plain):
    for most in (0, -1, "2", 1.5):
        with pytest.raises(OptionFault, match=r"most is .*; expected a whole number of spots"):
            linecheck.drill(plain, most=most)


@pytest.mark.parametrize("whole", [2, np.int64(2), np.uint8(2)])
def test_a_track_and_a_bar_may_be_whole_numbers(mira, whole):
    assert linecheck.read_take(mira.take, track=whole) == linecheck.read_take(mira.take, track="2")
    by_bar = linecheck.audit(mira.chart, mira.take, track=whole, first_beat_one=whole, click=True)
    as_text = linecheck.audit(mira.chart, mira.take, track="2", first_beat_one="2", click=True)
    assert by_bar == as_text


@pytest.mark.parametrize("mark", [NAN, -1, 100.5, "70", True, np.float64("nan")])
def test_a_pass_mark_that_is_none_is_refused_by_its_name(mark, tmp_path):
    said = "pass_mark is .*; expected points of commitment, 0 to 100"
    for call in (
        lambda: grade_folder(tmp_path, pass_mark=mark),
        lambda: GradeBook(tmp_path, [], None, None, pass_mark=0).regraded(pass_mark=mark),
    ):
        with pytest.raises(OptionFault, match=said):
            call()


def test_a_pass_mark_is_from_0_to_100_everywhere(mira, capsys):
    assert [checked_pass_mark(mark) for mark in (*PASS_MARK, None)] == [0.0, 100.0, None]
    for command in (["audit", str(mira.chart), str(mira.take)], ["grade", "."]):
        for mark in ("nan", "-1", "100.5"):
            assert command_line.run([*command, f"--pass-mark={mark}"]) == 2
            assert f"{mark} is not from 0 to 100" in capsys.readouterr().err


def test_a_track_that_is_not_there_is_told_with_those_that_are(mira):
    with pytest.raises(
        linecheck.TakeFault, match="no track '99' that holds notes; there are: track 2"
    ):
        linecheck.read_take(mira.take, track=99)


@pytest.mark.parametrize("tempo", [120, 120.0, np.int64(120), np.float32(120), Fraction(240, 2)])
def test_a_tempo_may_be_any_real_number(tempo):
    found = checked_tempo(tempo)
    assert (found, type(found)) == (120.0, float)


def test_the_outermost_tempos_are_taken():
    assert [checked_tempo(tempo) for tempo in TEMPO] == list(TEMPO)


def test_yes_and_no_of_a_table_are_taken():
    assert checked_click(np.True_) is True
    assert checked_click(np.array([False])[0]) is False
    assert checked_first_beat_one(np.str_("4.2s")) == "4.2s"


@pytest.mark.parametrize("tempo", [19.9, 500.1])
def test_the_command_has_the_same_bounds(mira, tempo, capsys):
    assert command_line.run(["audit", str(mira.chart), str(mira.take), "--tempo", str(tempo)]) == 2
    assert f"{tempo:g} is not from 20 to 500" in capsys.readouterr().err
    with pytest.raises(OptionFault, match="20 to 500"):
        checked_tempo(tempo)


def test_an_empty_name_is_no_folder():
    for read in (linecheck.read_chart, read_take):
        with pytest.raises(OptionFault, match=r"^(chart|take) is empty; the name of a file was"):
            read("")


def test_a_name_that_is_no_text_is_shown_by_its_bytes(tmp_path):
    name = os.fsdecode(os.fsencode(tmp_path) + b"/caf\xe9\xff.toml")
    with pytest.raises(ChartFault) as fault:
        linecheck.read_chart(name)
    assert str(fault.value).endswith(r"caf\xe9\xff.toml: no such file")
    str(fault.value).encode("utf-8")
