"""The command as a user meets it: files, faults, standard output."""

from __future__ import annotations

import pytest

from linecheck import command_line
from linecheck.commands.drill import EXERCISES
from linecheck.demo import demo_take
from linecheck.practice.exercise_kinds import KINDS


def run(name, *arguments):
    take = demo_take(name)
    return command_line.run(["drill", str(take.chart), str(take.take), *arguments])


def test_the_plan_is_printed_and_files_are_written(tmp_path, capsys):
    files = {kind: tmp_path / f"made.{kind}" for kind in ("midi", "musicxml")}
    asked = [text for kind, file in files.items() for text in (f"--{kind}", str(file))]
    assert run("tomasz", *asked) == 0
    out, err = capsys.readouterr()
    assert out.startswith("What to practise: Gravel and Rain\n")
    assert "1. Bars 6 to 7" in out
    assert err == ""
    assert files["midi"].read_bytes()[:4] == b"MThd"
    assert files["musicxml"].read_text("utf-8").startswith("<?xml")


def test_a_dash_is_standard_output_and_nothing_else_goes_there(capsysbinary):
    assert run("tomasz", "--midi", "-") == 0
    assert capsysbinary.readouterr().out[:4] == b"MThd"


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("--bars", "seven"), "'seven' is no run of bars such as 7-8 or 7"),
        (("--bars", "11-30"), "the chart has bars 1 to 12, and 30 was read"),
        (("--from", "90", "--to", "60", "--midi", "x.mid"), "goes from slow to fast"),
        (("--with-bass", "slap"), "'slap' is not one of"),
        (("--track", " "), "--track is empty"),
        (("--midi", "no/such/folder/x.mid"), "there is no folder"),
    ],
)
def test_faults_are_one_line(arguments, told, capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert run("tomasz", *arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert told in err
    assert err.startswith("linecheck: ")
    assert err.count("\n") == 1
    assert not list(tmp_path.iterdir())


def test_a_perfect_take_is_told_where_it_can_grow(capsys, tmp_path):
    file = tmp_path / "x.mid"
    assert run("idris", "--midi", str(file)) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "Nothing in this take cost anything. To grow: bars in which every landing was" in told
    assert file.read_bytes()[:4] == b"MThd"


def test_where_there_is_nothing_at_all_no_file_is_written(capsys, tmp_path, monkeypatch):
    monkeypatch.setattr("linecheck.practice.planning.growth_spots", lambda _: [])
    file = tmp_path / "x.mid"
    assert run("idris", "--midi", str(file)) == 2
    assert "name bars to practise with --bars 7-8" in capsys.readouterr().err
    assert not file.exists()
    assert run("idris") == 0
    assert "Nothing in this take cost anything. Play it faster" in capsys.readouterr().out


def test_of_a_take_that_fits_nowhere_no_file_is_written(capsys, tmp_path, monkeypatch):
    monkeypatch.setattr("linecheck.practice.planning._share_adrift", lambda _: 1.0)
    file = tmp_path / "x.mid"
    assert run("oskar", "--midi", str(file)) == 2
    assert "the line fits no place in the form nearly throughout" in capsys.readouterr().err
    assert not file.exists()
    assert run("oskar", "--bars", "7-8", "--midi", str(file)) == 0
    assert file.exists()


def test_the_exercises_of_the_option_are_those_that_there_are():
    assert tuple(kind.name for kind in KINDS) == EXERCISES
