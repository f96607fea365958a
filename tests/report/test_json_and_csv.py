"""JSON and CSV: their keys, their rounding, and that they are the same from run to run."""

from __future__ import annotations

import csv
import io
import json
import math
from dataclasses import replace

import pytest

from linecheck.report import WRITERS
from linecheck.report.as_csv import COLUMNS, write_csv
from linecheck.report.as_json import write_json
from linecheck.report.chart_as_json import write_chart_json
from linecheck.report.figures import beat_text, percent, plain, rounded
from tests.hand_made_audit import NO_CHORD, bar, hand_made_audit, hand_made_chart

NOTE_KEYS = {
    "onset_s", "duration_s", "pitch", "chorus", "bar", "beat", "section", "chord", "degree",
    "function", "function_in_own_place", "approach", "anticipation", "ghost", "landing",
}  # fmt: skip


@pytest.fixture(scope="module")
def audit():
    return hand_made_audit()


@pytest.fixture(scope="module")
def data(audit):
    return json.loads(write_json(audit))


def test_the_keys_of_schema_1(data):
    assert data["schema"] == 1
    assert {"chart", "take", "time", "notes", "landings", "form", "choruses", "sections"} <= set(
        data
    )
    assert {"title", "key", "meter", "bars", "beats", "sections"} <= set(data["chart"])
    assert data["chart"]["beats"] == 16
    assert data["chart"]["sections"][1] == {"name": "B", "bar": 3, "bars": 2}
    assert {"source", "kind", "notes", "choruses"} <= set(data["take"])
    assert {"grid", "tempo_bpm", "beats_s", "swing_ratio", "placement_ms"} <= set(data["time"])
    assert set(data["time"]["placement_ms"]) == {"mean", "spread"}
    assert all(set(note) >= NOTE_KEYS for note in data["notes"])
    assert isinstance(data["commitment"], float)
    assert data["warnings"] == ["three notes of two at a time: the lower one was kept"]


def test_a_pickup_has_no_bar_and_no_beat(data):
    assert [data["notes"][0][key] for key in ("chorus", "bar", "beat", "function")] == [
        0, None, None, None,
    ]  # fmt: skip


def test_an_approach_says_where_it_leads(data):
    note = data["notes"][4]
    assert note["approach"] == {
        "kind": "chromatic",
        "target": 46,
        "direction": "above",
        "target_note": 5,
    }
    assert data["notes"][5]["approach"] is None


def test_places_of_the_form(data):
    assert data["form"]["spans"][0]["from"] == {"chorus": 1, "bar": 1, "beat": 1}
    assert data["form"]["spans"][1]["to"] == {"chorus": 4, "bar": 1, "beat": 1}
    loss = data["form"]["losses"][0]
    assert (loss["chorus"], loss["bar"], loss["kind"], loss["offset"]) == (3, 2, "ahead", 4)
    assert loss["recovered"] is None


def test_a_loss_that_is_only_possible_stands_apart(data):
    assert len(data["form"]["losses"]) == 1
    perhaps = data["form"]["perhaps"][0]
    assert perhaps["kind"] == "adrift"
    assert perhaps["offset"] is None
    assert perhaps["recovered"] == {"chorus": 2, "bar": 4, "beat": 1}


def test_figures_are_rounded_once(data):
    assert data["form"]["losses"][0]["confidence"] == 0.9346
    assert data["time"]["swing_ratio"] == 1.8333
    assert data["notes"][1]["onset_s"] == 2.004


def test_the_text_is_the_same_from_run_to_run(audit):
    assert write_json(audit) == write_json(hand_made_audit())
    assert write_csv(audit) == write_csv(hand_made_audit())


def test_every_note_has_a_line_of_its_own(audit):
    lines = write_json(audit).splitlines()
    assert sum('"onset_s"' in line for line in lines) == len(audit.labels.notes)


def test_nan_is_a_fault_of_the_program(audit):
    wrong = replace(audit, line=replace(audit.line, swing_ratio=math.inf))
    with pytest.raises((ValueError, OverflowError)):
        write_json(wrong)


def test_csv_has_one_row_a_note(audit):
    rows = list(csv.DictReader(io.StringIO(write_csv(audit))))
    assert len(rows) == len(audit.labels.notes)
    assert list(rows[0]) == [name for name, _ in COLUMNS]
    assert rows[4]["approach"] == "chromatic"
    assert rows[0]["bar"] == ""
    assert {row["ghost"] for row in rows} == {"true", "false"}


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@now", "\t=1", '=HYPERLINK("x")'])
def test_text_of_a_file_never_becomes_a_formula(audit, text):
    note = replace(audit.labels.notes[1], section=text, chord=text)
    hostile = replace(audit, labels=replace(audit.labels, notes=(note,)))
    row = next(csv.DictReader(io.StringIO(write_csv(hostile))))
    assert row["section"] == row["chord"] == "'" + text


def test_negative_figures_stay_figures(audit):
    note = replace(audit.labels.notes[1], placement_ms=-12.345)
    table = write_csv(replace(audit, labels=replace(audit.labels, notes=(note,))))
    assert next(csv.DictReader(io.StringIO(table)))["placement_ms"] == "-12.35"


def test_a_chart_as_json():
    chart = replace(hand_made_chart(), intro=(bar(1, "I", NO_CHORD, opens=True),))
    data = json.loads(write_chart_json(chart))
    assert {"title", "key", "meter", "tempo", "form", "bars"} <= set(data)
    assert data["form"] == ["A", "B"]
    assert data["bars"][2]["section"] == "B"
    second = data["bars"][2]["chords"][1]
    assert (second["beat"], second["symbol"], second["root"], second["bass"]) == (3, "C7/E", 0, 4)
    assert second["tones"][1] == {"pitch_class": 4, "degree": "3", "function": "third"}
    assert second["tensions"] == []
    assert data["intro"][0]["chords"][0]["root"] is None


def test_rows_of_the_table_of_writers_are_told_apart():
    options = [writer.option for writer in WRITERS]
    assert options[:2] == ["json", "csv"]
    assert len(set(options)) == len(options)


@pytest.mark.parametrize(
    ("value", "digits", "written"),
    [(2.0, 3, 2), (2.3333333, 3, 2.333), (-0.0001, 2, 0), (None, 2, None), (1e-9, 6, 0)],
)
def test_rounding(value, digits, written):
    assert rounded(value, digits) == written
    assert str(rounded(value, digits)) == str(written)


def test_figures_in_words():
    assert [percent(x) for x in (None, 0, 0.001, 0.5, 0.999, 1)] == [
        "-", "0 %", "1 %", "50 %", "99 %", "100 %",
    ]  # fmt: skip
    assert [beat_text(x) for x in (1, 2.5, 7 / 3, 10.0)] == ["1", "2.5", "2.33", "10"]
    assert plain("a\x1b[31m\n\u202eb") == "a [31m b"
