"""The sheets in MusicXML: valid, read back note by note, and perfect when they are audited."""

from __future__ import annotations

from xml.etree.ElementTree import fromstring

import pytest

from linecheck import audit
from linecheck.practice import drill
from linecheck.practice.as_musicxml import write_musicxml
from linecheck.read.take_written import read_take_musicxml
from tests.hand_made_audit import hand_made_audit
from tests.report.test_as_musicxml import errors


@pytest.fixture(scope="module")
def plan():
    return drill(hand_made_audit(), bars=((1, 2), (3, 3)))


@pytest.fixture(scope="module")
def file(plan, tmp_path_factory):
    path = tmp_path_factory.mktemp("sheets") / "sheets.musicxml"
    path.write_text(write_musicxml(plan), encoding="utf-8")
    return path


def test_it_is_valid(file):
    assert errors(file.read_text("utf-8")) == []


def test_every_loop_is_read_back_twice_and_closed(plan, file):
    heard = [note.pitch for note in read_take_musicxml(file).notes]
    expected = []
    for spot in plan.spots:
        for exercise in spot.exercises:
            once = [note.pitch for note in exercise.line]
            expected += [*once, *once, once[0]]
    assert heard == expected


def test_the_sheets_are_a_perfect_take_over_their_own_chords(file):
    found = audit(file, file)
    assert found.judgement.commitment == pytest.approx(100)


def test_headings_repeats_and_tempos(plan, file):
    root = fromstring(file.read_text("utf-8"))
    words = [w.text for w in root.iter("words") if w.text and w.text[0].isdigit()]
    assert words[0] == "1a. Landings only, bars 1 to 2"
    assert len(words) == sum(len(spot.exercises) for spot in plan.spots)
    signs = [r.get("direction") for r in root.iter("repeat")]
    assert signs == ["forward", "backward"] * len(words)
    tempos = [int(m.findtext("per-minute")) for m in root.iter("metronome")]
    assert tempos == [e.tempos[0] for spot in plan.spots for e in spot.exercises]
