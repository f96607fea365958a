"""The JSON of real audits: what stands where, what may be null, and that the figures agree."""

from __future__ import annotations

import json
from collections import Counter
from itertools import pairwise

import pytest

from linecheck import audit
from linecheck.demo import demo_takes
from linecheck.report.as_json import write_json
from linecheck.terms import FUNCTIONS

NAMES = [take.name for take in demo_takes()]
APPROACHES = {"chromatic", "scale", "double", "enclosure", "from the fifth"}


@pytest.fixture(scope="module")
def all_data():
    return {t.name: json.loads(write_json(audit(t.chart, t.take))) for t in demo_takes()}


@pytest.fixture(params=NAMES)
def data(all_data, request):
    return all_data[request.param]


def test_functions_are_null_only_where_they_may_be(data):
    choruses = data["take"]["choruses"]
    for note in data["notes"]:
        pickup = note["chorus"] == 0 and note["bar"] is None
        may = note["ghost"] or pickup or note["chord"] in (None, "N.C.")
        may = may or not 1 <= note["chorus"] <= choruses  # intro, ending, last hit: no chorus
        assert (note["function"] is None) <= may
        assert note["function"] in (None, *FUNCTIONS)
        assert (note["approach"] is not None) == (note["function"] == "approach")
        if note["approach"]:
            assert note["approach"]["kind"] in APPROACHES
            target = data["notes"][note["approach"]["target_note"]]
            assert target["pitch"] == note["approach"]["target"]


def test_places_are_those_of_the_form(data):
    for note in data["notes"]:
        if note["bar"] is None:
            assert note["beat"] is None
            assert note["chorus"] == 0
        else:
            assert 1 <= note["bar"] <= data["chart"]["bars"]
            assert 1 <= note["beat"] < 5
    for span, after in pairwise(data["form"]["spans"]):
        assert span["to"] == after["from"]


def test_beats_rise_and_cover_all_choruses(data):
    beats = data["time"]["beats_s"]
    assert all(a < b for a, b in pairwise(beats))
    assert len(beats) >= data["take"]["choruses"] * data["chart"]["beats"] - 4
    first = next(n for n in data["notes"] if (n["chorus"], n["bar"], n["beat"]) == (1, 1, 1))
    assert abs(first["onset_s"] - beats[0]) < 0.08


def test_figures_of_a_chorus_agree_with_its_notes_and_landings(data):
    for chorus in data["choruses"]:
        number = chorus["chorus"]
        own = Counter(
            n["function"] for n in data["notes"] if n["chorus"] == number and n["function"]
        )
        assert {k: v for k, v in chorus["functions"].items() if v} == dict(own)
        judged = sum(own.values())
        assert chorus["purpose"] == pytest.approx(1 - own["outside"] / judged, abs=1e-4)
        asked = [x for x in data["landings"] if x["chorus"] == number and x["counted"]]
        met = sum(x["met"] for x in asked)
        assert chorus["landings"] == pytest.approx(met / len(asked), abs=1e-4)
    assert [c["chorus"] for c in data["choruses"]] == list(range(1, data["take"]["choruses"] + 1))


def test_what_was_lost_adds_up(data):
    costs = sum(cost["points"] for cost in data["costs"])
    assert costs == pytest.approx(100 - data["commitment"], abs=0.02)


def test_met_landings_have_a_chord_tone_and_others_none(data):
    for landing in data["landings"]:
        assert landing["met"] == (landing["function"] in FUNCTIONS[:4])


def test_bars_and_sections_of_the_chart(data):
    sections = data["chart"]["sections"]
    assert sections[0]["bar"] == 1
    assert sum(s["bars"] for s in sections) == data["chart"]["bars"]
    assert len(data["sections"]) == len(sections) * data["take"]["choruses"]


def test_no_span_of_the_form_begins_or_ends_nowhere():
    pickup = 0
    for one in demo_takes():
        found = audit(one.chart, one.take)
        spans = json.loads(write_json(found))["form"]["spans"]
        pickup += found.labels.notes[0].place.bar is None
        assert spans[0]["from"]["chorus"] == 1
        for span in spans:
            for place in (span["from"], span["to"]):
                assert None not in place.values()
    assert pickup
