"""What the reports say of intonation: tendencies only, and nothing where nothing is claimed."""

from __future__ import annotations

import csv
import io
import json
import random
from dataclasses import replace

import pytest

from linecheck import audit
from linecheck.demo import demo_take
from linecheck.report.as_csv import write_csv
from linecheck.report.as_json import write_json
from linecheck.report.as_terminal import terminal_page
from linecheck.report.intonation_in_words import intonation_sentences
from linecheck.report.intonation_picture import intonation_picture
from linecheck.terms import IntonationRow
from tests.recorded_audit import recorded


@pytest.fixture(scope="module")
def played():
    take = demo_take("paola")
    return audit(take.chart, take.take)


def sentences(audit_, cents):
    return "\n".join(intonation_sentences(recorded(audit_, cents)))


def test_a_played_take_has_no_intonation(played):
    assert intonation_sentences(played) == []
    assert intonation_picture(played) is None
    assert "Intonation" not in terminal_page(played).as_text()
    assert json.loads(write_json(played))["intonation"] is None


def test_a_pitch_that_is_always_sharp_is_named(played):
    said = sentences(played, lambda i, n: (15.0 if n.name == "F2" else 0.0) + i % 3 - 1)
    assert "sharp on average: F2 by 15 cents" in said
    assert "flat on average" not in said


def test_chance_is_not_named(played):
    for seed in range(20):
        draw = random.Random(seed)
        said = sentences(played, lambda _i, _n, draw=draw: draw.gauss(0, 4))
        assert "on average" not in said


@pytest.mark.parametrize(
    ("by_pitch", "is_told"),
    [
        ((-14.0, -12.0, -17.0, -13.0), True),
        ((0.0, -25.0, 1.0, 0.0, -1.0), False),  # one pitch alone is off
        ((-22.0, -25.0, 1.0, 0.0), False),  # two are
        ((-14.0, -15.0), False),  # too few to speak of a region
    ],
)
def test_a_region_is_told_where_its_pitches_agree_and_as_the_likeliest_string(
    played, by_pitch, is_told
):
    told = recorded(played)
    rows = (IntonationRow("region", "G string, low", 40, -14.0, 9.0, by_pitch),)
    told = replace(told, intonation=replace(told.intonation, rows=rows))
    said = "\n".join(intonation_sentences(told))
    sentence = (
        "by the likeliest string (a recording cannot tell which): G string low −14 cents (40 notes)"
    )
    assert (sentence in said) == is_told
    assert ("string" in said) == is_told


@pytest.mark.parametrize(
    ("shifts", "spread", "is_told"),
    [(10, 20.0, True), (7, 20.0, False), (10, 4.0, False)],  # too few; no wider than elsewhere
)
def test_a_hand_that_lands_unsurely_after_shifts_is_told_so(played, shifts, spread, is_told):
    told = recorded(played)
    rows = (
        IntonationRow("reached by", "a step", 20, 0.0, 3.0),
        IntonationRow("reached by", "a shift", shifts, 0.0, spread),
    )
    told = replace(told, intonation=replace(told.intonation, rows=rows))
    said = "\n".join(intonation_sentences(told))
    assert ("after a shift of the hand the notes lie 19 cents off, where it stays 3" in said) == (
        is_told
    )
    assert ("after a shift" in said) == is_told


def test_nothing_is_claimed_where_nothing_could_be_measured(played):
    said = sentences(played, lambda _i, _n: None)
    assert said.endswith(f"none of {len(played.labels.notes)} notes could be measured")
    assert intonation_picture(recorded(played, lambda _i, _n: None)) is None


def test_json_and_csv_have_the_cents(played):
    told = recorded(played)
    data = json.loads(write_json(told))
    rows = list(csv.DictReader(io.StringIO(write_csv(told))))
    assert [n["cents"] for n in data["notes"]] == [n.cents for n in told.labels.notes]
    assert [float(row["cents"]) for row in rows] == [n.cents for n in told.labels.notes]
    assert data["intonation"]["tuning_hz"] == 438.5
    assert data["take"]["recording"]["doubtful"][0]["why"] == "clipped"


def test_the_picture_says_in_words_what_it_shows(played):
    drawn = str(intonation_picture(recorded(played)))
    assert 'aria-label="Intonation: the take is tuned to A = 438.5 Hz' in drawn
    assert ">F2</text>" in drawn
