"""The takes of a folder by their days, without a journal."""

from __future__ import annotations

import html
import json
import shutil

import pytest

from linecheck import command_line
from linecheck.demo import demo_take
from linecheck.faults import OptionFault
from linecheck.grade.folder_courses import entries_of_folder


def put(folder, *places):
    """Tomasz's take and Lena's over one chart, by turns, at these places."""
    shutil.copy(demo_take("tomasz").chart, folder / "chart.toml")
    for at, place in enumerate(places):
        file = folder / place
        file.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(demo_take("lena" if at % 2 else "tomasz").take, file)


@pytest.mark.parametrize(
    "places",
    [
        ("2026-03-01/Mira.mid", "2026-03-08/Mira.mid"),
        ("Mira/2026-03-01.mid", "Mira/2026-03-08 blues.mid"),
        ("2026-03-01 Mira.mid", "Mira_2026-03-08.mid"),
    ],
)
def test_days_and_students_are_told_by_names(tmp_path, places):
    put(tmp_path, *places)
    entries, left_out = entries_of_folder(tmp_path)
    assert left_out == ()
    assert [(e.student, e.date, e.date_origin) for e in entries] == [
        ("Mira", "2026-03-01", "name"),
        ("Mira", "2026-03-08", "name"),
    ]
    assert entries[0].chart_key == entries[1].chart_key


def test_a_broken_take_is_left_out_with_its_reason(tmp_path, capsys):
    put(tmp_path, "2026-03-01/Mira.mid", "2026-03-08/Mira.mid")
    (tmp_path / "2026-03-08" / "Tom.mid").write_bytes(b"PK nothing")
    assert command_line.run(["progress", str(tmp_path)]) == 0
    out = capsys.readouterr().out
    assert "Mira: 2 takes in 8 days" in out
    assert "Left out" in out
    assert "Tom.mid: " in out
    assert command_line.run(["progress", str(tmp_path), "--anonymous"]) == 0
    out = capsys.readouterr().out
    assert "Tom" not in out
    assert "1 of the takes" in out


def test_a_folder_without_a_take_is_told(tmp_path):
    with pytest.raises(OptionFault, match=r"holds no take; takes are MIDI.*, and recordings"):
        entries_of_folder(tmp_path)


@pytest.mark.parametrize(
    ("places", "more", "names"),
    [
        (("2026-01-12/Montag/Bo/t.mid", "2026-01-19/Montag/Bo/t.mid"), (), "Bo"),
        (("2026-01-12/Montag/Bo.mid", "2026-01-19/Montag/Bo.mid"),
         ("--subfolders", "classes"), "Bo"),
        (("2026-01-12 Bo.mid", "2026-01-19 Bo.mid"), (), "Bo"),
        (("2026-01-12.mid", "2026-01-19.mid"), (), "Tuesday class"),
    ],
)  # fmt: skip
def test_grade_and_progress_name_the_same_students_and_days(tmp_path, places, more, names, capsys):
    folder = tmp_path / "Tuesday class"
    folder.mkdir()
    put(folder, *places)
    assert command_line.run(["progress", str(folder), *more, "--json", "-"]) == 0
    found = capsys.readouterr().out
    assert command_line.run(["grade", str(folder), *more, "--jobs", "1", "--quiet"]) == 0
    assert command_line.run(["progress", str(folder), "--json", "-"]) == 0
    assert capsys.readouterr().out == found
    (student,) = json.loads(found)["students"]
    assert student["student"] == names
    takes = [take for course in student["courses"] for take in course["takes"]]
    assert [take["date"] for take in takes] == ["2026-01-12", "2026-01-19"]


def test_the_table_of_the_folder_says_whose_the_takes_are(tmp_path):
    put(tmp_path, "a.mid", "b.mid")
    (tmp_path / "submissions.csv").write_text(
        "student,class,take,chart,submitted\n"
        "Anna,Mo,a.mid,chart.toml,2026-01-12 18:00\n"
        "Anna,Do,b.mid,chart.toml,\n",
        encoding="utf-8",
    )
    entries, _ = entries_of_folder(tmp_path)
    assert [(e.student, e.class_name, e.date_origin) for e in entries] == [
        ("Anna", "Mo", "given"),
        ("Anna", "Do", "file"),
    ]


def test_a_chart_for_all_takes_may_be_named(tmp_path, capsys):
    put(tmp_path, "Mira/2026-01-12.mid")
    chart = tmp_path.with_name("elsewhere.toml")
    (tmp_path / "chart.toml").rename(chart)
    assert command_line.run(["progress", str(tmp_path)]) == 2
    assert "name one for all takes with --chart" in capsys.readouterr().err
    assert command_line.run(["progress", str(tmp_path), "--chart", str(chart)]) == 0
    assert "Mira: 1 take on 2026-01-12" in capsys.readouterr().out
    assert command_line.run(["progress", str(tmp_path), "--chart", "no.toml"]) == 2
    assert "no.toml: no such file; the chart of all takes" in capsys.readouterr().err


def test_a_copied_take_is_told_and_takes_nothing_from_its_owner(tmp_path, capsys):
    table = tmp_path / "submissions.csv"
    grade = ["grade", str(tmp_path), "--jobs", "1", "--quiet"]
    put(tmp_path, "m.mid")
    table.write_text("student,take\nMira,m.mid\n", encoding="utf-8")
    assert command_line.run(grade) == 0
    (tmp_path / "m.mid").rename(tmp_path / "n.mid")
    table.write_text("student,take\nNoor,n.mid\n", encoding="utf-8")
    for _ in range(2):
        assert command_line.run(grade) == 0
        page = (tmp_path / "grades" / "class.html").read_text("utf-8")
        assert "The take of Noor (n.mid) was noted as Mira's before" in html.unescape(page)
    capsys.readouterr()
    assert command_line.run(["progress", str(tmp_path), "--json", "-"]) == 0
    students = json.loads(capsys.readouterr().out)["students"]
    assert [student["student"] for student in students] == ["Mira", "Noor"]
