"""The command line as a user meets it: what is printed where, and with which exit status."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tomllib
from dataclasses import replace
from datetime import date
from pathlib import Path
from types import ModuleType

import pytest

from linecheck import command_line
from linecheck.faults import ChartFault
from tests.hand_made_audit import hand_made_audit, hand_made_chart


@pytest.fixture
def steps(monkeypatch):
    """Stand-in for the steps: audits nothing and hands back the audit made by hand."""
    made = ModuleType("linecheck.steps")
    made.calls = []

    def audit(chart, take, **options):
        made.calls.append((chart, take, options))
        return hand_made_audit()

    made.audit = audit
    made.read_chart = lambda _, **_options: hand_made_chart()
    monkeypatch.setitem(sys.modules, "linecheck.steps", made)
    monkeypatch.setattr("linecheck.steps", made, raising=False)
    return made


def run(*arguments):
    return command_line.run(arguments)


def one_line_fault(capsys):
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("linecheck: ")
    assert err.count("\n") == 1
    assert err.endswith("\n")
    return err


def test_audit_points_to_the_exercises_where_anything_cost_points(steps, capsys, monkeypatch):
    assert run("audit", "my chart.toml", "t.mid") == 0
    out = capsys.readouterr().out
    assert out.endswith("\n\nTo go on:\n  linecheck drill 'my chart.toml' t.mid\n")
    assert run("audit", "c.toml", "t.mid", "--free") == 0
    assert capsys.readouterr().out.endswith("(with the same options for how the take is read)\n")
    assert run("audit", "c.toml", "t.mid", "--brief") == 0
    assert "To go on" not in capsys.readouterr().out
    made = hand_made_audit()
    perfect = replace(made, judgement=replace(made.judgement, costs=()))
    monkeypatch.setattr(steps, "audit", lambda *_, **__: perfect)
    assert run("audit", "c.toml", "t.mid") == 0
    assert "To go on" not in capsys.readouterr().out


def test_audit_prints_the_report(steps, capsys):
    assert run("audit", "c.toml", "t.mid") == 0
    out, err = capsys.readouterr()
    assert "Commitment 84 of 100" in out
    assert err == ""
    chart, take, options = steps.calls[0]
    assert (chart, take) == ("c.toml", "t.mid")
    assert {k: v for k, v in options.items() if k != "progress"} == {
        "key": None,
        "rubric": None,
        "reference": None,
        "track": None,
        "tempo": None,
        "first_beat_one": None,
        "click": None,
    }


def test_options_reach_the_steps(steps):
    options = [
        "--key",
        "Bb",
        "--rubric",
        "r.toml",
        "--track",
        "2",
        "--tempo",
        "96",
        "--first-beat-one",
        "3:2",
    ]
    assert run("audit", "c.toml", "t.mid", "--quiet", "--free", *options) == 0
    _, _, seen = steps.calls[0]
    assert seen["rubric"] == "r.toml"
    assert seen["key"] == "Bb"
    assert seen["track"] == "2"
    assert seen["tempo"] == 96
    assert seen["first_beat_one"] == "3:2"
    assert seen["click"] is False
    run("audit", "c.toml", "t.mid", "--quiet", "--click")
    assert steps.calls[1][2]["click"] is True


@pytest.mark.usefixtures("steps")
def test_a_dash_is_standard_output_and_nothing_else_goes_there(capsys):
    assert run("audit", "c.toml", "t.mid", "--json", "-") == 0
    out, err = capsys.readouterr()
    assert json.loads(out)["schema"] == 1
    assert err == ""


@pytest.mark.usefixtures("steps")
def test_two_dashes_are_a_fault(capsys):
    assert run("audit", "c.toml", "t.mid", "--json", "-", "--csv", "-") == 2
    assert "both ask for standard output" in one_line_fault(capsys)


def test_files_are_written_and_the_report_is_printed(steps, tmp_path, capsys):
    assert run("audit", "c.toml", "t.mid", "--json", str(tmp_path / "a.json")) == 0
    assert json.loads((tmp_path / "a.json").read_text("utf-8"))["take"]["notes"] == 49
    assert "Choruses" in capsys.readouterr().out
    assert [p.name for p in tmp_path.iterdir()] == ["a.json"]
    assert steps.calls


def test_a_missing_folder_is_told_before_the_work(steps, tmp_path, capsys):
    assert run("audit", "c.toml", "t.mid", "--json", str(tmp_path / "no" / "a.json")) == 2
    assert "there is no folder" in one_line_fault(capsys)
    assert not steps.calls


def test_an_output_never_overwrites_an_input(steps, tmp_path, capsys):
    take = tmp_path / "t.mid"
    take.write_bytes(b"notes")
    assert run("audit", "c.toml", str(take), "--json", str(tmp_path / "." / "t.mid")) == 2
    assert "would overwrite the input" in one_line_fault(capsys)
    assert take.read_bytes() == b"notes"
    assert not steps.calls


@pytest.mark.usefixtures("steps")
def test_a_page_says_whose_take_it_is_without_a_journal(tmp_path):
    page = tmp_path / "page.html"
    named = ["--student", " Ruben  Falk", "--html", str(page), "--quiet"]
    assert run("audit", "c.toml", "t.mid", *named) == 0
    assert '<p class="verdict">Ruben Falk</p>' in page.read_text("utf-8")


@pytest.mark.usefixtures("steps")
def test_a_take_is_noted_in_a_journal(tmp_path):
    from linecheck.journal import entries

    journal = str(tmp_path / "class.journal")
    noted = ["--journal", journal, "--student", "Mira", "--date", "2026-03-01", "--quiet"]
    assert run("audit", "c.toml", "t.mid", *noted) == 0
    assert run("audit", "c.toml", "t.mid", *noted) == 0
    (entry,) = entries(journal)
    assert (entry.student, entry.date, entry.take) == ("Mira", "2026-03-01", "t.mid")


@pytest.mark.usefixtures("steps")
def test_a_day_that_is_still_to_come_or_long_ago_is_asked_about(tmp_path, capsys):
    noted = ["--journal", str(tmp_path / "class.journal"), "--quiet", "--date"]
    assert run("audit", "c.toml", "t.mid", *noted, "2999-12-01") == 0
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("linecheck: --date: 2999-12-01 is after today, ")
    assert err.endswith("is the year right?\n")
    assert run("audit", "c.toml", "t.mid", *noted, "0001-01-01") == 0
    err = capsys.readouterr().err
    assert re.match(r"linecheck: --date: 0001-01-01 is 2\d\d\d years before today, 2", err)
    assert err.endswith("is the year right?\n")
    last_year = f"{date.today().year - 1}-12-01"  # noqa: DTZ011  (the user's day)
    assert run("audit", "c.toml", "t.mid", *noted, last_year) == 0
    assert capsys.readouterr().err == ""


@pytest.mark.usefixtures("steps")
def test_below_the_pass_mark_is_status_1(capsys):
    assert run("audit", "c.toml", "t.mid", "--pass-mark", "85") == 1
    assert run("audit", "c.toml", "t.mid", "--pass-mark", "84") == 0
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize(
    ("commitment", "mark", "said"),
    [
        (91.6667, "92", "Commitment 91.7, below the pass mark 92"),
        (91.6667, "91.7", "Commitment 91.67, below the pass mark 91.7"),
        (99.99999, "100", "Commitment 99.99999, below the pass mark 100"),
        (91.0, "92", "Commitment 91, below the pass mark 92"),
        (92.0, "92", ""),
    ],
)
def test_a_miss_of_the_pass_mark_is_told_to_the_digit_that_shows_it(
    steps, capsys, commitment, mark, said
):
    made = hand_made_audit()
    made = replace(made, judgement=replace(made.judgement, commitment=commitment))
    steps.audit = lambda *_, **__: made
    assert run("audit", "c.toml", "t.mid", "--brief", "--pass-mark", mark) == bool(said)
    out = capsys.readouterr().out
    assert out.endswith(f"\n\n{said}\n") if said else "pass mark" not in out
    run("audit", "c.toml", "t.mid", "--json", "-", "--pass-mark", mark)
    assert "pass mark" not in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["audit"], "Missing argument 'CHART'; see linecheck audit --help"),
        (["audit", "c.toml"], "Missing argument 'TAKE'"),
        (["audit", "c.toml", "t.mid", "x"], "unexpected extra argument"),
        (["audit", "c.toml", "t.mid", "--jsn", "x"], "No such option '--jsn'"),
        (["audit", "c.toml", "t.mid", "--json"], "requires an argument"),
        (["audit", "c.toml", "t.mid", "--json", ""], "--json needs the name of a file"),
        (["audit", "c.toml", "t.mid", "--tempo", "fast"], "'fast' is not a valid number"),
        (["audit", "c.toml", "t.mid", "--tempo", "nan"], "nan is not from 20 to 500"),
        (["audit", "c.toml", "t.mid", "--pass-mark", "101"], "101 is not from 0 to 100"),
        (["audit", "c.toml", "t.mid", "--brief", "--quiet"], "exclude each other"),
        (["audit", "c.toml", "t.mid", "--track", " "], "--track is empty"),
        (["audit", "c.toml", "t.mid", "--click", "--free"], "--click and --free exclude each"),
        (["compare", "c.toml", "t.mid", "--free", "--click"], "--click and --free exclude each"),
        (["drill", "c.toml", "t.mid", "--click", "--free"], "--click and --free exclude each"),
        (["audit", "", "t.mid"], "the name of an input is empty"),
        (
            ["audit", "c.toml", "t.mid", "--student", "Mira"],
            "--student is for a journal, a page or a PDF; give",
        ),
        (["audit", "c.toml", "t.mid", "--date", "2026-03-01"], "--date is for a journal; give"),
        (["audit", "c.toml", "t.mid", "--journal", "j", "--date", "soon"], "the date is 'soon'"),
        (["audit", "c.toml", "t.mid", "--journal", "j", "--student", " "], "--student is empty"),
        (["audit", "c.toml", "t.mid", "--journal", "no/j"], "no/j: there is no folder no"),
        (["audit", "c.toml", "t.mid", "--journal", "j", "--json", "j"], "overwrite the input j"),
        (["chart", ""], "the name of an input is empty"),
        (["chart"], "Missing argument 'CHART'"),
        (["adit"], "No such command 'adit'"),
        (["--nothing"], "No such option"),
    ],
)
@pytest.mark.usefixtures("steps")
def test_every_usage_fault_is_one_line(arguments, says, capsys):
    assert run(*arguments) == 2
    assert says in one_line_fault(capsys)


def test_a_fault_of_an_input_is_one_line(steps, capsys):
    def refuse(*_, **__):
        raise ChartFault("read 'H7',\nexpected a chord", source="c.toml", place=("bar 3",))

    steps.audit = refuse
    assert run("audit", "c.toml", "t.mid") == 2
    said = one_line_fault(capsys)
    assert said == "linecheck: c.toml, bar 3: read 'H7', expected a chord\n"


def test_a_fault_of_the_program_is_one_line_too(steps, capsys, monkeypatch):
    def break_down(*_, **__):
        raise KeyError("x")

    steps.audit = break_down
    assert run("audit", "c.toml", "t.mid") == 2
    said = one_line_fault(capsys)
    assert "internal fault: KeyError: 'x' in test_command_line.py, line" in said
    assert "LINECHECK_DEBUG=1" in said
    monkeypatch.setenv("LINECHECK_DEBUG", "1")
    assert run("audit", "c.toml", "t.mid") == 2
    assert "Traceback" in capsys.readouterr().err


def test_ctrl_c_is_quiet(steps, capsys):
    def interrupt(*_, **__):
        raise KeyboardInterrupt

    steps.audit = interrupt
    assert run("audit", "c.toml", "t.mid") == 130
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.usefixtures("steps")
def test_chart_prints_the_chart_and_its_json(tmp_path, capsys):
    assert run("chart", "c.toml") == 0
    assert "| Gm7 C7/E | F7" in capsys.readouterr().out
    assert run("chart", "c.toml", "--json", "-") == 0
    data = json.loads(capsys.readouterr().out)
    assert data["bars"][2]["chords"][1]["beat"] == 3
    assert run("chart", "c.toml", "--json", str(tmp_path / "c.json")) == 0
    assert json.loads((tmp_path / "c.json").read_text("utf-8")) == data


@pytest.mark.parametrize(
    "arguments", [[], ["-h"], ["--help"], ["audit", "-h"], ["chart", "--help"]]
)
def test_help_is_never_a_fault_and_fits_80_columns(arguments, capsys):
    assert run(*arguments) == 0
    out, err = capsys.readouterr()
    assert "linecheck" in out
    assert err == ""
    assert max(map(len, out.splitlines())) <= 80


def test_version_is_that_of_the_project(capsys):
    project = Path(__file__).resolve().parents[1] / "pyproject.toml"
    declared = tomllib.loads(project.read_text(encoding="utf-8"))["project"]["version"]
    assert run("--version") == 0
    assert capsys.readouterr().out == f"linecheck {declared}\n"


def test_importing_the_command_line_pulls_in_nothing_heavy():
    heavy = {"music21", "pandas", "scipy", "numpy", "mido", "rich", "verovio", "jinja2"}
    code = (
        "import sys, linecheck.command_line\n"
        f"print(*sorted({heavy!r} & {{name.partition('.')[0] for name in sys.modules}}))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "\n"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("audit", "--paper", "letter"), "--paper is for --pdf; give --pdf FILE with it"),
        (("drill", "--paper", "a4"), "--paper is for --pdf; give --pdf FILE with it"),
        (("drill", "--step", "4"), "--step is for --midi; give --midi FILE with it"),
        (
            ("drill", "--with-bass", "walking"),
            "--with-bass is for --midi; give --midi FILE with it",
        ),
        (("drill", "--from", "60"), "--from is for --midi; give --midi FILE with it"),
    ],
)
def test_an_option_that_would_do_nothing_is_refused(capsys, arguments, said):
    command, *options = arguments
    assert run(command, "chart.toml", "take.mid", *options) == 2
    assert said in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "option"),
    [
        (("audit", "c.toml", "t.mid", "--json", "a", "--quiet", "--json", "b"), "--json"),
        (("audit", "--rubric=a", "c.toml", "t.mid", "--rubric", "b"), "--rubric"),
        (("chart", "c.toml", "--json", "a", "--json", "a"), "--json"),
        (("grade", "f", "--out", "a", "--out", "b"), "--out"),
        (("progress", "j", "--csv", "a", "--csv", "b"), "--csv"),
    ],
)
def test_a_file_option_given_twice_is_refused(capsys, arguments, option):
    assert run(*arguments) == 2
    said = (
        f"linecheck: {option} is given twice; give it once; see linecheck {arguments[0]} --help\n"
    )
    assert capsys.readouterr().err == said
