"""The takes of a folder by their days, without a journal."""

from __future__ import annotations

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
    assert "Mira: 2 takes in 7 days" in out
    assert "Left out" in out
    assert "Tom.mid: " in out
    assert command_line.run(["progress", str(tmp_path), "--anonymous"]) == 0
    out = capsys.readouterr().out
    assert "Tom" not in out
    assert "1 of the takes" in out


def test_a_folder_without_a_take_is_told(tmp_path):
    with pytest.raises(OptionFault, match="holds no take that can be audited; takes are MIDI"):
        entries_of_folder(tmp_path)
