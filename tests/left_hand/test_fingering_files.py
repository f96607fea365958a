"""What is written of a fingering: the page, JSON, CSV and MusicXML."""

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path
from xml.etree.ElementTree import fromstring

import pytest

import linecheck
from linecheck import command_line
from linecheck.faults import OptionFault
from linecheck.left_hand.as_csv import write_csv
from linecheck.left_hand.as_json import write_json
from linecheck.left_hand.as_musicxml import write_musicxml
from linecheck.left_hand.as_terminal import fingering_page
from linecheck.read import read_take
from linecheck.report import as_musicxml
from tests.read.small_scores import BACKWARD, OCTAVE_DOWN, TIME_44, measure, note, part, score
from tests.report.test_as_musicxml import errors

ROOT = Path(__file__).parents[2]
TAKES = ROOT / "demo_tunes" / "takes"
BRAM = TAKES / "slow_ferry_bram.musicxml"
FIRST, STOPS = "A hand that hurts stops", "asks a teacher or a doctor"


@pytest.fixture(scope="module")
def bram():
    take = read_take(BRAM)
    return take, linecheck.fingering(take)


def read_again(text, folder):
    file = folder / "again.musicxml"
    file.write_text(text, encoding="utf-8")
    return read_take(file)


def test_every_output_says_that_it_is_a_suggestion(bram):
    take, found = bram
    page = " ".join(fingering_page(found).as_text().split())
    for text in (page, write_json(found), write_musicxml(found, take)):
        assert "suggestion" in text
        assert FIRST in text
        assert STOPS in text


def test_the_json_has_the_keys_of_the_readme(bram):
    data = json.loads(write_json(bram[1]))
    told = (ROOT / "README.md").read_text("utf-8").partition("<!-- keys of the fingering -->")[2]
    told = told.partition(". Strings")[0]
    notes = told.partition("`notes` (")[2].partition(")")[0]
    assert re.findall(r"`(\w+)`", notes) == list(data["notes"][0])
    assert re.findall(r"`(\w+)`", told.replace(notes, "")) == list(data)
    assert data["bass"]["strings"][-1] == {"string": 1, "name": "G2", "pitch": 43}


def test_the_csv_has_a_row_a_note(bram):
    _, found = bram
    rows = list(csv.DictReader(io.StringIO(write_csv(found))))
    data = json.loads(write_json(found))
    assert list(rows[0]) == list(data["notes"][0])
    assert [row["finger"] for row in rows] == [n.finger for n in found.notes]
    assert write_csv(linecheck.fingering([])).splitlines()[0].startswith("bar,beat,")


def test_a_musicxml_line_keeps_its_notation_and_gets_its_marks(bram, tmp_path):
    take, found = bram
    text = write_musicxml(found, take)
    assert len(errors(text)) == len(errors(BRAM.read_text("utf-8")))
    again = read_again(text, tmp_path)
    assert [n.fingering for n in again.notes] == [n.finger for n in found.notes]
    told = [n.string for n in again.notes]
    strings = [n.string for n in found.notes]
    changes = [s if not i or s != strings[i - 1] else None for i, s in enumerate(strings)]
    assert told == changes
    written = linecheck.fingering(again).written
    assert written is not None
    assert (written.shifts, written.differs, written.impossible) == (found.shifts, (), ())
    kept = [n.onset_quarters for n in take.notes]
    assert [n.onset_quarters for n in again.notes] == kept


def test_written_marks_are_replaced_and_other_marks_stay(tmp_path):
    own = (
        "<notations><slur type='start'/><technical><up-bow/><fingering>4</fingering>"
        "<string>4</string></technical></notations><lyric><text>la</text></lyric>"
    )
    file = tmp_path / "line.musicxml"
    pieces = (note("A2", 12, inside=own), note("B2", 36, inside="<lyric><text>li</text></lyric>"))
    file.write_text(score(part(measure(*pieces)), names=("Bass",)), encoding="utf-8")
    take = read_take(file)
    text = write_musicxml(linecheck.fingering(take), take)
    first, second = fromstring(text).findall(".//note")
    assert [e.tag for e in first.find("notations/technical")] == ["up-bow", "open-string", "string"]
    assert first.find("notations/slur") is not None
    assert [e.tag for e in second][-2:] == ["notations", "lyric"]


def test_a_repeated_bar_carries_its_first_fingering(tmp_path):
    bar = measure(*(note(name, 12) for name in ("A2", "B2", "C3", "D3")), BACKWARD)
    file = tmp_path / "line.musicxml"
    file.write_text(score(part(bar), names=("Bass",)), encoding="utf-8")
    take = read_take(file)
    found = linecheck.fingering(take)
    assert len(found.notes) == 8
    marks = [
        len(n.findall("notations/technical"))
        for n in fromstring(write_musicxml(found, take)).iter("note")
    ]
    assert marks == [1] * 4


def test_a_score_of_measures_first_stays_one(tmp_path):
    inside = f"<attributes><divisions>12</divisions></attributes>{note('A2', 24)}{note('B2', 24)}"
    file = tmp_path / "line.musicxml"
    file.write_text(
        '<score-timewise version="4.0"><part-list><score-part id="P1"><part-name>Bass</part-name>'
        f'</score-part></part-list><measure number="1"><part id="P1">{inside}</part></measure>'
        "</score-timewise>",
        encoding="utf-8",
    )
    take = read_take(file)
    text = write_musicxml(linecheck.fingering(take), take)
    assert "<score-timewise" in text
    assert [n.fingering for n in read_again(text, tmp_path).notes] == ["0", "2"]


@pytest.mark.parametrize("name", ["lamp_oil_idris.abc", "tollgate_mira.mid", "ninepenny_juno.mid"])
def test_any_other_line_is_written_out_in_its_bars(name, tmp_path):
    take = read_take(TAKES / name)
    found = linecheck.fingering(take)
    text = write_musicxml(found, take)
    assert errors(text) == []
    again = read_again(text, tmp_path)
    assert [n.pitch for n in again.notes] == [n.pitch for n in take.notes]
    assert [n.fingering for n in again.notes] == [n.finger for n in found.notes]


def test_a_free_take_is_written_over_its_chart():
    take = read_take(TAKES / "gravel_lena.mid")
    with pytest.raises(OptionFault, match="linecheck audit CHART TAKE --fingering --musicxml FILE"):
        write_musicxml(linecheck.fingering(take), take)


# ---- the page --------------------------------------------------------------------------------


def test_the_page_names_what_is_out_of_reach_and_what_is_impossible(tmp_path):
    own = "<notations><technical><fingering>0</fingering></technical></notations>"
    file = tmp_path / "line.musicxml"
    pieces = (note("C2", 12), note("G2", 12, inside=own), note("G3", 24))
    file.write_text(
        score(part(measure(*pieces), attributes=TIME_44 + OCTAVE_DOWN), names=("Bass",)),
        encoding="utf-8",
    )
    page = fingering_page(linecheck.fingering(file)).as_text()
    assert "Out of reach\n  - bar 1 beat 1: C1, below the lowest string, E1" in page
    assert "bar 1 beat 2: impossible: G1 is no open string" in page
    assert "1 note of 3" in page


def test_the_page_says_where_the_hand_shifts_and_over_which_open_string():
    found = linecheck.fingering([34, 36, 33, 41, 43, 41], tuning=(33, 60))
    page = " ".join(fingering_page(found).as_text().split())
    assert (
        "bar 1 beat 4: 5 half steps up, from half to sixth" in page or "half steps up, from" in page
    )
    assert "while the open A1 sounds" in page


# Lines over which another way has the same figures, or more of what it is named for.
ALIKE = [31, 38, 43, 38, 33, 40, 45, 43, 38, 33, 38, 42, 28, 35, 40, 38]
HIGH = """X:1
M:4/4
L:1/8
K:G clef=bass
G A B c d e f g|a b c' b a g f e|d2 G2 G,2 D,2|
"""
BETTER = [
    34, 33, 30, 31, 39, 37, 36, 39, 40, 41, 45, 51, 50, 41, 43, 48, 46, 40, 41, 33, 33, 34, 38, 42,
    41, 44, 45, 46, 38, 38, 39, 38, 31, 32, 36, 37, 38, 29, 36, 37, 40, 37, 36, 39, 41, 46, 38, 35,
]  # fmt: skip


def other_ways(line):
    """The names of the other ways on the page, and whether it says why the suggested one is."""
    page = fingering_page(linecheck.fingering(line)).as_text()
    names = re.findall(
        r"(?m)^  (fewest shifts|fewest crossings|without pivots|low positions) ", page
    )
    return names, "costs least all the same" in page


def test_the_page_shows_another_way_only_for_what_it_gains(tmp_path):
    assert other_ways(ALIKE) == (["fewest crossings"], False)
    # Low positions cross fewer strings there than the way that is named for it.
    high = tmp_path / "high.abc"
    high.write_text(HIGH, encoding="utf-8")
    assert other_ways(high) == (["low positions"], False)
    assert other_ways([43, 45]) == ([], False)


def test_where_another_way_asks_no_more_the_page_says_why_the_suggested_one_is():
    names, said = other_ways(BETTER)
    assert names[-1] == "low positions"
    assert said


@pytest.mark.parametrize("name", sorted(p.name for p in TAKES.iterdir()))
def test_a_page_fits_80_columns_and_full_leaves_nothing_out(name):
    found = linecheck.fingering(TAKES / name)
    short, full = (fingering_page(found, full=full).as_text() for full in (False, True))
    assert max(map(len, (short + full).splitlines())) <= 80
    assert "--full" not in full
    assert len(re.findall(r"(?m)^  - .* half steps? (?:up|down)", full)) == found.shifts


# ---- the command -----------------------------------------------------------------------------


def test_the_command_prints_and_writes(tmp_path, capsys):
    files = [str(tmp_path / name) for name in ("a.json", "a.csv", "a.musicxml")]
    options = [
        x for pair in zip(("--json", "--csv", "--musicxml"), files, strict=True) for x in pair
    ]
    assert command_line.run(["fingering", str(BRAM), *options]) == 0
    out, err = capsys.readouterr()
    assert out.startswith("A fingering for slow_ferry_bram.musicxml\n")
    assert err == ""
    assert json.loads(Path(files[0]).read_text("utf-8"))["schema"] == 1
    assert all(Path(file).stat().st_size > 500 for file in files)
    assert command_line.run(["fingering", str(BRAM), "--json", "-"]) == 0
    assert json.loads(capsys.readouterr().out)["shifts"] == 0


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--tuning", "forths"], "'forths' is no note"),
        (["--extension", "C9"], "extension C9"),
        (["--costs", "none.toml"], "none.toml: no such file"),
        (["--track", " "], "--track is empty"),
        (["--json", "-", "--csv", "-"], "both ask for standard output"),
        (["--json", ""], "--json needs the name of a file"),
        (["--musicxml", str(BRAM)], "would overwrite the input"),
    ],
)
def test_a_fault_of_the_command_is_one_line(arguments, says, capsys):
    assert command_line.run(["fingering", str(BRAM), *arguments]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("linecheck: ")
    assert err.count("\n") == 1
    assert says in err


def test_a_written_line_keeps_its_names(tmp_path):
    chart, line = tmp_path / "chart.toml", tmp_path / "line.abc"
    chart.write_text(
        'title = "T"\nkey = "C"\nform = ["A"]\n[sections]\nA = "| Db7 | D7b9 |"\n',
        encoding="utf-8",
    )
    line.write_text(
        "X:1\nM:4/4\nL:1/4\nK:C clef=bass\n_D, F, _A, _D, | ^F, D, ^G, =A, |\n", encoding="utf-8"
    )
    told = ["Db", "F", "Ab", "Db", "F#", "D", "G#", "A"]
    take = read_take(line)
    found = linecheck.fingering(take)
    audit = linecheck.audit(chart, line)
    for notes in (found.notes, audit.labels.notes):
        assert [note.name.rstrip("0123456789") for note in notes] == told
    for text in (write_musicxml(found, take), as_musicxml.write_musicxml(audit)):
        assert [n.spelled for n in read_again(text, tmp_path).notes] == told
