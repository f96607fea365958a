"""The README is fed to the program: every option, command, key and chord in it is real."""

from __future__ import annotations

import json
import re
import shlex
import tomllib
from itertools import pairwise
from pathlib import Path

import click
import pytest

from linecheck import command_line, commands, tables
from linecheck.demo import copy_demo_tunes
from linecheck.grade.columns import COLUMNS, RANK, REPORT
from linecheck.music.chord_symbol import read_chord
from linecheck.read import read_chart, read_rubric
from linecheck.report.as_json import write_json
from linecheck.report.chart_as_json import write_chart_json
from tests.hand_made_audit import hand_made_audit, hand_made_chart
from tests.recorded_audit import recorded

README = (Path(__file__).parent.parent / "README.md").read_text("utf-8")
COMMANDS = {
    name: command_line.linecheck.get_command(click.Context(command_line.linecheck), name)
    for name in commands.COMMANDS
}
OPTIONS = {
    option
    for command in (command_line.linecheck, *COMMANDS.values())
    for parameter in command.params
    for option in (*parameter.opts, *parameter.secondary_opts)
    if option.startswith("--")
}
BLOCKS = re.findall(r"(?:<!-- ([^\n]*?) -->\n)?```(\w+)\n(.*?)```", README, re.DOTALL)


def block(marker):
    (found,) = [text for name, _, text in BLOCKS if name == marker]
    return found


def test_every_option_in_the_readme_is_one_of_the_program():
    told = set(re.findall(r"(?<![\w-])--[a-z][a-z-]+", README))
    assert told - {"--upgrade"} <= OPTIONS


def test_every_option_of_the_program_is_in_the_readme():
    assert {f for f in OPTIONS if f not in README} == {"--version"}


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_every_command_and_option_has_help(name):
    command = COMMANDS[name]
    assert command.help
    assert f"linecheck {name}" in README
    for parameter in command.params:
        if parameter.param_type_name == "option":
            assert parameter.help, parameter.opts


@pytest.mark.parametrize(
    "line",
    [
        line
        for marker, kind, text in BLOCKS
        if marker == "run in the demo folder" and kind == "sh"
        for line in text.splitlines()
    ],
)
def test_every_command_of_the_tour_works(line, tmp_path, monkeypatch, capsys):
    copy_demo_tunes(tmp_path)
    monkeypatch.chdir(tmp_path)
    program, *arguments = shlex.split(line)
    assert program == "linecheck"
    assert command_line.run(arguments) == 0
    assert capsys.readouterr().out
    for option, value in pairwise(arguments):
        if option in ("--json", "--csv", "--html", "--musicxml"):
            assert Path(value).stat().st_size > 500


@pytest.mark.parametrize(
    "lines",
    [
        text.splitlines()
        for marker, _, text in BLOCKS
        if marker == "run in order in the demo folder"
    ],
)
def test_commands_that_build_on_each_other_work(lines, tmp_path, monkeypatch, capsys):
    copy_demo_tunes(tmp_path)
    monkeypatch.chdir(tmp_path)
    for line in lines:
        program, *arguments = shlex.split(line)
        assert program == "linecheck"
        assert command_line.run(arguments) == 0, line
        assert capsys.readouterr().out


def test_the_notebook_lines_work(tmp_path, monkeypatch):
    copy_demo_tunes(tmp_path)
    monkeypatch.chdir(tmp_path)
    names: dict = {}
    shown = []
    for code in (text for _, kind, text in BLOCKS if kind == "python"):
        *lines, last = code.strip().splitlines()
        exec("\n".join(lines), names)  # noqa: S102  (the README's own lines)
        shown.append(eval(last, names))  # noqa: S307
    sizes, shares = shown
    assert sizes["outside"] == 10
    assert shares["share"].sum() == pytest.approx(1)


def test_the_chart_of_the_readme_is_a_chart(tmp_path):
    file = tmp_path / "readme.toml"
    file.write_text(block("chart"), encoding="utf-8")
    chart = read_chart(file)
    assert [section.name for section in chart.sections] == ["A", "A", "B", "A"]
    assert len(chart.bars) == 3 * 8 + 4
    assert len(chart.intro) == len(chart.ending) == 2


def test_the_rubric_of_the_readme_is_a_rubric(tmp_path):
    file = tmp_path / "rubric.toml"
    file.write_text(block("rubric"), encoding="utf-8")
    assert read_rubric(file).name == tomllib.loads(block("rubric"))["name"] == "Landings first"


def test_every_chord_symbol_of_the_readme_is_read():
    (symbols,) = re.findall(r"<!-- chord symbols --> `(.*?)`", README, re.DOTALL)
    assert len(symbols.split()) >= 20
    for symbol in symbols.split():
        assert read_chord(symbol).root is not None, symbol


def test_the_keys_of_the_json_are_all_in_the_readme_and_the_other_way_round():
    part = README.partition("<!-- keys of the JSON -->")[2].partition("\n\n")[0]
    data = json.loads(write_json(recorded(hand_made_audit())))
    rows = {}
    for row in part.strip().splitlines()[2:]:
        first, _, rest = row.strip("| ").partition("|")
        rows[first.strip().strip("`")] = set(re.findall(r"`(\w+)`", rest))
    assert list(rows) == list(data)
    for key, told in rows.items():
        others = {"choruses": data["choruses"][0]["functions"], "rubric": data["rubric"]["weights"]}
        assert told == keys_below(data[key]) - set(others.get(key, ())), key


def keys_below(value) -> set[str]:
    if isinstance(value, dict):
        return set(value).union(*map(keys_below, value.values()))
    if isinstance(value, list):
        return set().union(*map(keys_below, value))
    return set()


def test_the_keys_of_a_chart_as_json_are_in_the_readme():
    told = README.partition("The JSON of\n`linecheck chart")[2].partition("\n\n")[0]
    told = (
        told or README.partition("linecheck chart CHART --json FILE` has")[2].partition("\n\n")[0]
    )
    data = json.loads(write_chart_json(hand_made_chart()))
    words = set(re.findall(r"`(\w+)`", told))
    assert words
    assert words <= keys_below(data)


def test_the_tables_of_the_readme_are_there():
    told = README.partition("`linecheck.tables` has")[2].partition("The objects")[0]
    assert set(re.findall(r"`(\w+)`", told)) == set(tables.__all__)


def test_the_columns_of_the_grades_are_all_in_the_readme():
    part = README.partition("<!-- columns of the grades -->")[2].partition("\n\n")[0]
    firsts = [row.strip("| ").partition("|")[0] for row in part.strip().splitlines()[2:]]
    told = [name for first in firsts for name in re.findall(r"`(\w+)`", first)]
    assert sorted(told) == sorted(column.name for column in (RANK, *COLUMNS, REPORT))


def test_the_exit_statuses_of_the_readme():
    told = README.partition("## Exit status")[2].partition("##")[0]
    assert [int(n) for n in re.findall(r"(?m)^\| (\d+) ", told)] == [
        0, commands.BELOW_PASS_MARK, commands.FAULT, commands.INTERRUPTED, commands.READER_GONE,
    ]  # fmt: skip


def test_the_keys_of_watched_bars_are_in_the_readme():
    from dataclasses import replace

    from linecheck.report.as_json import audit_as_data
    from linecheck.terms import BarRecord, WatchedBar

    told = README.partition("<!-- keys of watched -->")[2].partition("\n\n")[0]
    record = BarRecord(1, "F7", 1, {}, {})
    audit = replace(hand_made_audit(), watched=(WatchedBar(record, record, 0.0, 0.0, "same"),))
    assert set(re.findall(r"`(\w+)`", told)) == keys_below(audit_as_data(audit)["watched"])
