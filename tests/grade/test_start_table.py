"""A table that is begun for a folder, and reasons that many takes share."""

from __future__ import annotations

import re

import pytest

from linecheck import command_line
from linecheck.grade import grade_folder
from linecheck.grade.as_terminal import grade_page
from linecheck.grade.columns import flat_row
from linecheck.grade.start_table import start_table
from tests.grade.class_folders import put, put_chart, small_class


def run(capsys, *arguments):
    status = command_line.run([str(argument) for argument in arguments])
    done = capsys.readouterr()
    return status, done.out, done.err


@pytest.fixture
def two_tunes(tmp_path):
    """Takes over two charts, one of them called like none."""
    put_chart(tmp_path, "charts/shuffle.toml", "mira")
    put_chart(tmp_path, "charts/blues.toml", "tomasz")
    put(tmp_path, "Mo/Zoe\u0308/Shuffle (Zo\u00eb).mid", "mira")
    put(tmp_path, "Mo/Oskar/=take.mid", "oskar")
    put(tmp_path, "Mo/Oskar/take 2.mid", "tomasz")
    return tmp_path


def test_a_table_is_begun_and_nothing_is_graded(two_tunes, capsys):
    status, out, err = run(capsys, "grade", two_tunes, "--start-table")
    assert (status, err) == (0, "")
    assert sorted(path.name for path in two_tunes.iterdir()) == ["Mo", "charts", "submissions.csv"]
    assert (two_tunes / "submissions.csv").read_bytes().decode("utf-8").splitlines() == [
        "\ufeffstudent,class,take,chart",
        "Oskar,Mo,Mo/Oskar/=take.mid,",
        "Oskar,Mo,Mo/Oskar/take 2.mid,",
        "Zoë,Mo,Mo/Zoe\u0308/Shuffle (Zoë).mid,charts/shuffle.toml",
    ]
    assert "begun with 3 takes" in " ".join(out.split())
    told = "2 takes: any of 2 charts may be meant: charts/blues.toml, charts/shuffle.toml"
    assert told in " ".join(out.split())
    assert run(capsys, "grade", two_tunes, "--quiet")[0] == 0
    assert run(capsys, "grade", two_tunes / "Mo" / "Oskar", "--start-table", "--quiet")[1] == ""


def test_a_table_that_was_begun_is_read_as_the_folder_is(tmp_path):
    folder = small_class(tmp_path)
    put(folder, "-x/=y.mid", "mira")
    without = list(grade_folder(folder, jobs=1))
    start_table(folder)
    by_table = list(grade_folder(folder, jobs=1))
    assert [row.submission.where.partition(" ")[0] for row in by_table] == ["submissions.csv"] * 4
    assert [flat_row(row) for row in by_table] == [flat_row(row) for row in without]


def test_the_chart_of_all_takes_is_filled_in(tmp_path):
    folder = tmp_path / "class"
    put(folder, "mira.mid", "mira")
    chart = put_chart(tmp_path, "shuffle.toml", "mira")
    assert start_table(folder, chart=chart).open_reasons == {}
    assert "mira.mid,../shuffle.toml" in (folder / "submissions.csv").read_text("utf-8")


@pytest.mark.parametrize(
    ("table", "options", "told"),
    [
        ("submissions.csv", [], "submissions.csv: there is a table already; it stays as it is"),
        ("submissions.xlsx", [], "submissions.xlsx: there is a table already; it stays as it is"),
        (None, ["--ranking"], "--start-table grades nothing; leave --ranking out for now"),
        (None, ["--submissions", "x.csv"], "leave --submissions out for now"),
        (None, ["--chart", "x.toml"], "x.toml: no such file; the chart of all takes was expected"),
    ],
)
def test_what_a_table_is_not_begun_for(tmp_path, capsys, table, options, told):
    folder = small_class(tmp_path)
    if table:
        (folder / table).write_bytes(b"mine")
    status, out, err = run(capsys, "grade", folder, "--start-table", *options)
    assert (status, out) == (2, "")
    assert re.fullmatch(f"linecheck: .*{re.escape(told)}.*\n", err), err
    if table:
        assert (folder / table).read_bytes() == b"mine"
    else:
        assert not (folder / "submissions.csv").exists()


@pytest.mark.parametrize("folder", ["empty", "gone"])
def test_no_table_is_begun_without_takes(tmp_path, capsys, folder):
    (tmp_path / "empty").mkdir()
    status, _, err = run(capsys, "grade", tmp_path / folder, "--start-table")
    assert (status, err.count("\n")) == (2, 1)


def test_a_reason_of_many_takes_is_told_once_with_all_of_them(two_tunes):
    book = grade_folder(two_tunes, jobs=1)
    page = grade_page(book, [flat_row(row) for row in book], "out", ["grades.csv"]).as_text()
    text = " ".join(page.split())
    assert text.count("charts may be meant") == 1
    assert "- Oskar, Mo/Oskar/=take.mid; Oskar, Mo/Oskar/take 2.mid: any of 2 charts" in text
