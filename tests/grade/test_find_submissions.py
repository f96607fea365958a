"""Which files are takes, whose they are, and which chart belongs to each."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from linecheck.grade.find_submissions import find_submissions
from linecheck.grade.terms import Refused
from linecheck.grade.whose import short_names

if TYPE_CHECKING:
    from pathlib import Path

CHART = '[sections]\nA = "| C |"\n'


def tree(folder: Path, *names: str) -> Path:
    for name in names:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(CHART if name.endswith(".toml") else "x", encoding="utf-8")
    return folder


def found(folder: Path, **more):
    """take → (class, student, chart or the reason why it is refused)"""
    rows, notes = find_submissions(folder, **more)
    shown = {}
    for row in rows:
        one = row.submission if isinstance(row, Refused) else row
        last = row.reason if isinstance(row, Refused) else one.chart_name
        shown[one.take_name] = (one.class_name, one.student, last)
    return shown, [note.text for note in notes]


def test_one_chart_for_all(tmp_path):
    rows, notes = found(tree(tmp_path, "blues.toml", "mira.mid", "oskar.MIDI", "wen.abc"))
    assert rows == {
        "mira.mid": ("", "mira", "blues.toml"),
        "oskar.MIDI": ("", "oskar", "blues.toml"),
        "wen.abc": ("", "wen", "blues.toml"),
    }
    assert notes == []


def test_a_chart_that_is_called_like_the_take_comes_first(tmp_path):
    rows, _ = found(tree(tmp_path, "a.toml", "b.toml", "a.mid", "b.mid", "c.mid"))
    assert rows["a.mid"][2] == "a.toml"
    assert rows["b.mid"][2] == "b.toml"
    assert rows["c.mid"][2].startswith("any of 2 charts may be meant: a.toml, b.toml")


@pytest.mark.parametrize(
    ("take", "chart"),
    [
        ("Gravel and Rain.mid", "gravel_and_rain"),
        ("GRAVEL-AND_RAIN.mid", "gravel_and_rain"),
        ("gravelandrain.mid", "gravel_and_rain"),
        ("gravel_and_rain_mira.mid", "gravel_and_rain"),
        ("Mira - Gravel and Rain.mid", "gravel_and_rain"),
        ("Gravel and Rain, take 2 (final).mid", "gravel_and_rain"),
        ("Lamp Oil.mid", "lamp_oil"),
        ("lamp oil blues mira.mid", "Lamp Oil Blues"),
        ("mira (lamp oil blues).mid", "Lamp Oil Blues"),
        ("Cafe\u0301.mid", "Caf\u00e9"),
        ("cafe\u0301 2.mid", "Caf\u00e9"),
        ("F# Blues.mid", "f#_blues"),
        ("f blues 7.mid", "f_blues"),
        ("7.mid", "7"),
    ],
)
def test_a_chart_is_called_like_a_take_but_for_how_names_are_written(tmp_path, take, chart):
    names = (
        "gravel_and_rain",
        "lamp_oil",
        "Lamp Oil Blues",
        "Caf\u00e9",
        "7",
        "f#_blues",
        "f_blues",
    )
    rows, _ = found(tree(tmp_path, take, *(f"charts/{name}.toml" for name in names)))
    ((_, _, found_chart),) = rows.values()
    assert found_chart == f"charts/{chart}.toml"


@pytest.mark.parametrize(
    "take",
    ["lamp oils.mid", "gravel.mid", "clamp oil.mid", "mira lamp oil final.mid", "mira 7.mid",
     "lamp oil - gravel and rain.mid"],
)  # fmt: skip
def test_a_chart_that_only_may_be_meant_is_not_guessed(tmp_path, take):
    names = ("gravel_and_rain", "lamp_oil", "7", "lamp_oil_blues")
    rows, _ = found(tree(tmp_path, take, *(f"charts/{name}.toml" for name in names)))
    ((_, _, told),) = rows.values()
    number = 2 if take.startswith("lamp oil -") else 4
    assert told.startswith(f"any of {number} charts may be meant: charts/")


def test_two_charts_of_one_name_are_not_told_apart(tmp_path):
    rows, _ = found(tree(tmp_path, "Lamp oil.mid", "lamp_oil.toml", "lamp-oil.toml", "x.toml"))
    assert rows["Lamp oil.mid"][2].startswith("any of 2 charts may be meant: lamp-oil.toml, lamp_")
    rows, _ = found(tree(tmp_path, "lamp_oil.mid"))
    assert rows["lamp_oil.mid"][2] == "lamp_oil.toml"


def test_the_folder_is_the_student_and_those_above_are_the_class(tmp_path):
    folder = tree(
        tmp_path, "x.toml", "mira/one.mid", "monday/oskar/one.mid", "monday/second/wen/t.mid"
    )
    rows, _ = found(folder)
    assert rows == {
        "mira/one.mid": ("", "mira", "x.toml"),
        "monday/oskar/one.mid": ("monday", "oskar", "x.toml"),
        "monday/second/wen/t.mid": ("monday / second", "wen", "x.toml"),
    }
    rows, _ = found(folder, subfolders="classes")
    assert rows["mira/one.mid"][:2] == ("mira", "one")
    assert rows["monday/oskar/one.mid"][:2] == ("monday / oskar", "one")


def test_a_folder_that_is_a_week_is_neither_student_nor_class(tmp_path):
    folder = tree(
        tmp_path,
        "x.toml",
        "Blues.toml",
        "2026-01-12/Jörg.mid",
        "2026-01-19 blues/Montag/Bo/take.mid",
        "KW 10/Montag/Bo/take.mid",
        "Montag 2026-01-26/Bo/take.mid",
        "Zoë 2026-01-26/take.mid",
        "2026-02-02 Ada.mid",
    )
    rows, _ = found(folder)
    assert {name: row[:2] for name, row in rows.items()} == {
        "2026-01-12/Jörg.mid": ("", "Jörg"),
        "2026-01-19 blues/Montag/Bo/take.mid": ("Montag", "Bo"),
        "KW 10/Montag/Bo/take.mid": ("Montag", "Bo"),
        "Montag 2026-01-26/Bo/take.mid": ("Montag", "Bo"),
        "Zoë 2026-01-26/take.mid": ("", "Zoë"),
        "2026-02-02 Ada.mid": ("", "Ada"),
    }
    rows, _ = found(folder, subfolders="classes")
    assert rows["2026-01-12/Jörg.mid"][:2] == ("", "Jörg")
    assert rows["KW 10/Montag/Bo/take.mid"][:2] == ("Montag / Bo", "take")


@pytest.mark.parametrize(
    ("names", "subfolders", "whose"),
    [
        (("2026-03-01 Mira/take.mid", "2026-03-01 Noor/take.mid"), "students",
         [("", "Mira"), ("", "Noor")]),
        (("2026-03-01 Mira/take 1.mid", "2026-03-01 Mira/take 2.mid"), "students",
         [("", "Mira"), ("", "Mira")]),
        (("2026-03-01 Mira/lamp oil.mid", "2026-03-01 Mira/Blues.mid"), "students",
         [("", "Mira"), ("", "Mira")]),
        (("KW 10 Montag/Bo/take.mid", "KW 10 Montag/Ada/take.mid"), "students",
         [("Montag", "Ada"), ("Montag", "Bo")]),
        (("2026-03-01 Montag/Ada.mid", "2026-03-01 Montag/Bo.mid"), "classes",
         [("Montag", "Ada"), ("Montag", "Bo")]),
        (("2026-03-01 blues/Mira.mid",), "students", [("", "Mira")]),
        (("2026-03-01 lines/Mira.mid", "2026-03-01 lines/Noor lamp oil.mid"), "students",
         [("", "Mira"), ("", "Noor")]),
    ],
)  # fmt: skip
def test_a_name_behind_a_day_is_a_persons_but_for_a_chart_or_several_names_in_it(
    tmp_path, names, subfolders, whose
):
    folder = tree(tmp_path, "charts/blues.toml", "charts/lamp_oil.toml", *names)
    rows, _ = found(folder, subfolders=subfolders)
    assert sorted(row[:2] for row in rows.values()) == whose


def test_the_chart_of_all_takes_may_name_a_week(tmp_path):
    folder = tree(tmp_path, "blues.toml", "takes/2026-03-01 blues/Mira.mid")
    rows, _ = found(folder / "takes", chart=folder / "blues.toml")
    assert [row[:2] for row in rows.values()] == [("", "Mira")]


def test_the_name_of_the_chart_is_no_part_of_the_student(tmp_path):
    folder = tree(
        tmp_path,
        "charts/lamp_oil.toml",
        "charts/blues.toml",
        "2026-01-12/Lamp Oil - Mira.mid",
        "2026-01-19/Mira_blues.mid",
        "2026-01-19/Blues 2.mid",  # a number is nobody
        "2026-01-19/Anna Blues Maria.mid",
        "2026-01-19/blues.mid",
        "2026-01-26/Blues/Oskar (lamp oil).mid",
    )
    rows, _ = found(folder, subfolders="classes")
    assert {name: row[1] for name, row in rows.items()} == {
        "2026-01-12/Lamp Oil - Mira.mid": "Mira",
        "2026-01-19/Mira_blues.mid": "Mira",
        "2026-01-19/Blues 2.mid": "Blues 2",
        "2026-01-19/Anna Blues Maria.mid": "Anna Blues Maria",
        "2026-01-19/blues.mid": "blues",
        "2026-01-26/Blues/Oskar (lamp oil).mid": "Oskar",
    }
    rows, _ = found(folder, chart=folder / "charts" / "blues.toml")
    assert rows["2026-01-19/Mira_blues.mid"][1] == "Mira"
    assert rows["2026-01-12/Lamp Oil - Mira.mid"][1] == "Lamp Oil - Mira"


def test_a_day_and_a_chart_name_nobody_in_a_folder_of_ones_own(tmp_path):
    folder = tree(
        tmp_path / "Practice of Åsa",
        "lamp_oil.toml",
        "blues.toml",
        "2026-03-01 blues.mid",
        "2026-03-08 Lamp Oil 2.mid",
        "Blues 2026-03-15.mid",
        "2026-03-15/2026-03-15_lamp-oil.mid",
        "2026-03-22 Blues Mira.mid",
        "2026-03-22 bluesy.mid",
        "Mira/2026-03-22 blues.mid",
        "blues.mid",  # it may be called after its student, as the chart is
    )
    own = "Practice of Åsa"
    rows, _ = found(folder)
    assert {name: row[1] for name, row in rows.items()} == {
        "2026-03-01 blues.mid": own,
        "2026-03-08 Lamp Oil 2.mid": own,
        "Blues 2026-03-15.mid": own,
        "2026-03-15/2026-03-15_lamp-oil.mid": own,
        "2026-03-22 Blues Mira.mid": "Mira",
        "2026-03-22 bluesy.mid": "bluesy",
        "Mira/2026-03-22 blues.mid": "Mira",
        "blues.mid": "blues",
    }
    rows, _ = found(folder, subfolders="classes")
    assert rows["Mira/2026-03-22 blues.mid"][:2] == ("Mira", "blues")


def test_takes_that_are_called_alike_are_told_apart_by_their_week():
    def names(*takes, who=("Mo", "Bo")):
        return list(short_names([(*who, take) for take in takes]).values())

    assert names("2026-01-12/Mo/Bo.mid", "2026-01-19/Mo/Bo.mid") == [
        "2026-01-12/Bo.mid",
        "2026-01-19/Bo.mid",
    ]
    assert names("KW 3/Mo/Bo/a.mid", "KW 3/Mo/Bo/b.mid") == ["a.mid", "b.mid"]
    # A week that is part of another name is not told from the file: the whole name is.
    assert names("Mo 2026-01-12/Bo/a.mid", "Mo 2026-01-19/Bo/a.mid", "Mo/Bo/b.mid") == [
        "Mo 2026-01-12/Bo/a.mid",
        "Mo 2026-01-19/Bo/a.mid",
        "b.mid",
    ]
    two = [
        ("Mo", "Bo", "Mo/Bo/a.mid"),
        ("Mo", "Ada", "Mo/Ada/a.mid"),
        ("Mo", "Ada", "Mo/Ada/a.mid"),
    ]
    assert list(short_names(two).values()) == ["a.mid", "a.mid"]  # the student tells them apart


def test_the_nearest_chart_counts(tmp_path):
    folder = tree(tmp_path, "x.toml", "a/y.toml", "a/m.mid", "b/m.mid", "c/charts/z.abc", "c/m.mid")
    rows, _ = found(folder)
    assert [row[2] for row in rows.values()] == ["a/y.toml", "x.toml", "c/charts/z.abc"]


def test_in_a_folder_of_charts_everything_is_a_chart(tmp_path):
    folder = tree(
        tmp_path, "Charts/one.abc", "Charts/two.musicxml", "takes/one.abc", "takes/two.mid"
    )
    rows, _ = found(folder)
    assert {name: row[2] for name, row in rows.items()} == {
        "takes/one.abc": "Charts/one.abc",
        "takes/two.mid": "Charts/two.musicxml",
    }


def test_the_only_score_beside_played_takes_is_the_chart_and_it_is_said(tmp_path):
    rows, notes = found(tree(tmp_path, "blues.musicxml", "mira.mid", "oskar/one.mid"))
    assert {row[2] for row in rows.values()} == {"blues.musicxml"}
    assert notes == ["read as the chart, not as a take: blues.musicxml"]


def test_a_score_that_is_called_like_a_played_take_is_its_chart(tmp_path):
    rows, _ = found(tree(tmp_path, "a.mid", "a.xml", "B b.mid", "b_b.xml"))
    assert {name: row[2] for name, row in rows.items()} == {"a.mid": "a.xml", "B b.mid": "b_b.xml"}


def test_scores_that_may_be_charts_or_takes_are_refused(tmp_path):
    rows, _ = found(tree(tmp_path, "a.xml", "b.xml", "c.mid"))
    assert rows["a.xml"][2].startswith("it may be a chart or a written take")
    assert rows["b.xml"][2].startswith("it may be a chart or a written take")
    assert rows["c.mid"][2].startswith("there is no chart for it")


def test_with_a_chart_for_all_every_other_score_is_a_take(tmp_path):
    folder = tree(tmp_path, "a.xml", "b.xml", "c.toml")
    rows, _ = found(folder, chart=folder / "a.xml")
    assert {name: row[2] for name, row in rows.items()} == {"b.xml": "a.xml"}


def test_a_written_take_in_one_folder_with_toml_charts(tmp_path):
    rows, _ = found(tree(tmp_path, "blues.toml", "a.xml", "b.abc"))
    assert {row[2] for row in rows.values()} == {"blues.toml"}
    assert len(rows) == 2


def test_what_is_neither_is_named_and_what_is_hidden_is_not_looked_at(tmp_path):
    folder = tree(
        tmp_path, "x.toml", "a.mid", "b.docx", ".hidden.mid", ".git/c.mid", "~$b.docx", "__MACOSX/d.mid",
        "grades/e.mid",
    )  # fmt: skip
    (folder / "rubric.toml").write_text('name = "r"\n[weights]\nform = 1\n', encoding="utf-8")
    rows, notes = found(folder, leave_out=[folder / "grades"])
    assert list(rows) == ["a.mid"]
    assert notes == ["neither a take nor a chart, left out: b.docx, rubric.toml"]


def test_recordings_are_takes_too(tmp_path):
    rows, _ = found(tree(tmp_path, "x.toml", "a.wav"))
    assert list(rows) == ["a.wav"]


def test_a_chart_that_cannot_be_read_is_still_the_chart(tmp_path):
    folder = tree(tmp_path, "a.mid")
    (folder / "x.toml").write_text("form = [", encoding="utf-8")
    assert found(folder)[0]["a.mid"][2] == "x.toml"


def test_numbers_in_names_stand_by_their_size(tmp_path):
    rows, _ = found(tree(tmp_path, "x.toml", "s10.mid", "s9.mid", "s1.mid", "²3.mid"))
    assert list(rows) == ["s1.mid", "s9.mid", "s10.mid", "²3.mid"]


def test_a_name_is_composed_and_printable(tmp_path):
    rows, _ = found(tree(tmp_path, "x.toml", "Zoe\u0308.mid", "a\nb.mid"))
    assert [row[1] for row in rows.values()] == ["a�b", "Zoë"]


@pytest.mark.parametrize("suffix", [".xml", ".abc", ".mxl", ".musicxml"])
def test_scores_alone_are_all_refused(tmp_path, suffix):
    rows, _ = found(tree(tmp_path, f"a{suffix}"))
    assert rows[f"a{suffix}"][2].startswith("it may be a chart or a written take")
