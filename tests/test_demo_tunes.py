"""The demo tunes: what is listed is there, and the takes are what their lines as text say."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from linecheck import read_chart
from linecheck.demo import copy_demo_tunes, demo_take, demo_takes
from linecheck.faults import OptionFault, OutputFault
from tests.lines_as_text import CHARTS, LINES, midi_pitch, parse_bar, read_line
from tests.make_demo_takes import TAKES, all_takes, chart_as_musicxml

NAMES = sorted(path.stem for path in LINES.glob("*.toml"))


def test_the_index_lists_every_chart_and_take_there_is():
    takes = demo_takes()
    assert {take.take.resolve() for take in takes} == {p.resolve() for p in TAKES.iterdir()}
    assert {take.chart.stem for take in takes} == {path.stem for path in CHARTS.iterdir()}
    assert len({take.name for take in takes}) == len(takes) == 13


@pytest.mark.parametrize("file", ["lamp_oil.abc", "slow_ferry.musicxml"])
def test_a_chart_is_the_same_in_every_format(file):
    other, toml = (read_chart(CHARTS / name) for name in (file, f"{file.split('.')[0]}.toml"))
    assert (other.title, other.key, other.meter) == (toml.title, toml.key, toml.meter)
    assert other.sections == toml.sections
    for bar, same in zip(other.bars, toml.bars, strict=True):
        assert bar.section == same.section
        assert [(c.step, c.steps, c.chord.root, c.chord.tones) for c in bar.chords] == [
            (c.step, c.steps, c.chord.root, c.chord.tones) for c in same.chords
        ]


def test_the_takes_are_made_by_the_script_byte_for_byte():
    made = all_takes()
    assert sorted(made) == sorted(path.name for path in TAKES.iterdir())
    assert (CHARTS / "slow_ferry.musicxml").read_text("utf-8") == chart_as_musicxml()
    for name, content in made.items():
        assert (TAKES / name).read_bytes() == content, f"{name}: run tests/make_demo_takes.py"


@pytest.mark.parametrize("name", NAMES)
def test_lines_lie_on_the_bass(name):
    pitches = [note.pitch for note in read_line(name).notes]
    assert min(pitches) >= midi_pitch("E1")  # the open E string
    assert max(pitches) <= midi_pitch("C4")


@pytest.mark.parametrize("name", [n for n in NAMES if "oskar" not in n])
def test_lines_move_as_a_bassist_moves(name):
    notes = read_line(name).notes
    leaps = [abs(b.pitch - a.pitch) for a, b in pairwise(notes)]
    assert max(leaps) <= 10  # nothing wider than a seventh
    assert sum(leap <= 4 for leap in leaps) / len(leaps) > 0.5


def test_the_text_of_a_line_is_read_as_its_legend_says():
    parsed = [
        (n and n[0], n and n[1], float(beats)) for n, beats in parse_bar("F1*2 {A1 (C2)} r/2")
    ]
    assert parsed == [
        ("F1", False, 2.0), ("A1", False, 0.5), ("C2", True, 0.5), (None, None, 0.5),
    ]  # fmt: skip
    with pytest.raises(ValueError, match="is no note"):
        list(parse_bar("H1"))


def test_a_demo_take_by_name():
    assert demo_take(None) == demo_takes()[0]
    assert demo_take("oskar").take.name == "tollgate_oskar.mid"
    with pytest.raises(OptionFault, match="no demo take called 'nobody'; they are tomasz, mira"):
        demo_take("nobody")


def test_copies_overwrite_nothing(tmp_path):
    copied = copy_demo_tunes(tmp_path / "tunes")
    assert (
        len(copied) == 8 + 2 + 13 + 2
    )  # and the list of takes, and the table of what was handed in
    assert (tmp_path / "tunes" / "takes" / "tollgate_mira.mid").stat().st_size > 1000
    before = {path: Path(path).stat().st_mtime_ns for path in copied}
    with pytest.raises(OutputFault, match="it is there already"):
        copy_demo_tunes(tmp_path / "tunes")
    assert before == {path: Path(path).stat().st_mtime_ns for path in copied}
