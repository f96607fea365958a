"""A written fingering: how its marks are read, and how it is held against the suggested one."""

from __future__ import annotations

import pytest

import linecheck
from linecheck.read import read_take
from tests.read.small_scores import (
    BASS_CLEF,
    OCTAVE_DOWN,
    TIME_44,
    measure,
    note,
    part,
    rest,
    score,
)


def technical(*marks):
    return f"<notations><technical>{''.join(marks)}</technical></notations>"


def finger(text, **attributes):
    attrs = "".join(f' {key}="{value}"' for key, value in attributes.items())
    return f"<fingering{attrs}>{text}</fingering>"


def on(string):
    return f"<string>{string}</string>"


def take_of(folder, *notes):
    """A line of quarters; each is (written name, marks)."""
    bars = [
        measure(
            *(
                note(name, 12, inside=technical(*marks) if marks else "")
                for name, *marks in notes[i : i + 4]
            )
        )
        for i in range(0, len(notes), 4)
    ]
    file = folder / "line.musicxml"
    attributes = TIME_44 + BASS_CLEF + OCTAVE_DOWN
    file.write_text(score(part(*bars, attributes=attributes), names=("Bass",)), encoding="utf-8")
    return read_take(file)


@pytest.mark.parametrize(
    ("marks", "fingering", "string"),
    [
        ([finger("1")], "1", None),
        ([finger(" 4 "), on(2)], "4", 2),
        (["<open-string/>"], "0", None),
        (["<thumb-position/>", on(1)], "T", 1),
        ([finger("0")], "0", None),
        ([finger("T")], "T", None),
        ([finger("+")], "T", None),
        ([finger("2", alternate="yes"), finger("4")], "4", None),
        ([finger("4"), finger("1", substitution="yes")], "4", None),
        ([finger("")], None, None),
        (["<string>one</string>"], None, None),
        (["<up-bow/>"], None, None),
        ([finger("p")], "T", None),
    ],
)
def test_the_marks_of_a_note(tmp_path, marks, fingering, string):
    take = take_of(tmp_path, ("G2", *marks), ("A2",), ("B2",), ("C3",))
    assert (take.notes[0].fingering, take.notes[0].string) == (fingering, string)
    assert (take.notes[1].fingering, take.notes[1].string) == (None, None)


def test_where_a_note_is_written(tmp_path):
    take = take_of(tmp_path, *[("G2",)] * 6)
    assert [n.written_at for n in take.notes] == [(1, 0, 0), (1, 0, 1), (1, 0, 2), (1, 0, 3),
                                                  (1, 1, 0), (1, 1, 1)]  # fmt: skip


def test_rests_and_grace_notes_are_counted_as_the_file_counts_them(tmp_path):
    pieces = (note("F2", 0, before="<grace/>"), note("G2", 12), rest(12), note("A2", 24))
    file = tmp_path / "line.musicxml"
    file.write_text(score(part(measure(*pieces)), names=("Bass",)), encoding="utf-8")
    assert [n.written_at for n in read_take(file).notes] == [(1, 0, 1), (1, 0, 3)]


def test_a_line_without_marks_is_held_against_nothing(tmp_path):
    assert linecheck.fingering(take_of(tmp_path, *[("G2",)] * 4)).written is None


def test_the_suggested_fingering_written_out_is_the_same(tmp_path):
    names = ["F2", "G2", "A2", "Bb2", "C3", "D3", "E3", "F3"]
    marks = [finger(1), finger(4), finger(0), finger(1), finger(4), finger(0), finger(2), finger(4)]
    found = linecheck.fingering(take_of(tmp_path, *zip(names, marks, strict=True)))
    assert found.written is not None
    assert (found.written.marked, found.written.shifts) == (8, 0)
    assert found.written.differs == found.written.impossible == ()


def test_a_longer_way_is_counted_and_the_notes_named(tmp_path):
    # F major as the method has it: the E of the D string in first position (from memory).
    names = ["F2", "G2", "A2", "Bb2", "C3", "D3", "E3", "F3"]
    marks = [finger(1), finger(4), finger(0), finger(1), finger(4), finger(0), finger(1), finger(2)]
    found = linecheck.fingering(take_of(tmp_path, *zip(names, marks, strict=True)))
    assert found.written is not None
    assert found.shifts == 0
    assert (found.written.differs, found.written.impossible) == ((6, 7), ())
    assert found.written.notes[6].position_name == "first"
    assert found.written.notes[6].pivot + found.written.notes[6].shift == 1


def test_all_on_one_string_is_many_shifts(tmp_path):
    names = ["A2", "B2", "C#3", "D3", "E3", "F#3", "G#3", "A3"]
    found = linecheck.fingering(take_of(tmp_path, *((name, on(3)) for name in names)))
    assert found.written is not None
    assert {n.string for n in found.written.notes} == {3}
    assert found.written.shifts >= 2
    assert found.written.shifts > found.shifts
    assert found.written.biggest_shift >= 3


@pytest.mark.parametrize(
    ("name", "marks", "why"),
    [
        ("G2", [on(1)], "G1 is not on the G2 string: it lies below it"),
        ("G2", [on(7)], "there is no string 7; this bass has 4"),
        ("G2", [finger("0")], "G1 is no open string"),
        ("A2", [finger("0"), on(4)], "A1 is no open string on the E1 string"),
        ("G2", [finger("T")], "G1 lies below thumb position"),
        ("A2", [finger("1"), on(3)], "A1 on the A1 string cannot be taken with finger 1"),
        ("F2", [finger("4")], "F1 cannot be taken with finger 4"),
        ("G2", [finger("7")], "'7' is no finger; 0 to 4 or T were expected"),
        ("C2", [finger("1")], "below the lowest string, E1"),
        ("G5", [on(4)], "G4 is not on the E1 string: it lies above its fingerboard"),
    ],
)
def test_a_mark_that_no_hand_can_take_is_named(tmp_path, name, marks, why):
    found = linecheck.fingering(
        take_of(tmp_path, (name, *marks), ("D3",), ("G3",), ("D3", finger(0)))
    )
    assert found.written is not None
    assert found.written.impossible == ((0, why),)
    assert found.written.marked == 2


def test_a_three_is_read_as_low_and_high_methods_write_it(tmp_path):
    low = linecheck.fingering(
        take_of(tmp_path, ("F2", finger(1)), ("F#2", finger(3)), ("G2", finger(4)), ("G2",))
    )
    assert low.written is not None
    assert not low.written.impossible
    assert low.written.shifts == 0
