"""An audit with a fingering under its notes: the page, the paper and the notation say so."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

import linecheck
from linecheck import command_line
from linecheck.left_hand import finger_line
from linecheck.report.as_html import write_html
from linecheck.report.as_musicxml import write_musicxml
from linecheck.report.handout import handout
from tests.report.test_as_musicxml import errors, read_back

TUNES = Path(__file__).parents[2] / "demo_tunes"
CHART, TAKE = TUNES / "charts" / "gravel_and_rain.toml", TUNES / "takes" / "gravel_lena.mid"


@pytest.fixture(scope="module")
def plain():
    return linecheck.audit(CHART, TAKE)


@pytest.fixture(scope="module")
def fingered(plain):
    return replace(plain, fingering=finger_line(plain.labels.notes))


def test_the_notation_has_a_finger_for_every_note(fingered, tmp_path):
    text = write_musicxml(fingered)
    assert errors(text) == []
    take = read_back(text, tmp_path)
    assert [n.fingering for n in take.notes] == [n.finger for n in fingered.fingering.notes]
    assert "A hand that hurts stops" in text


def test_the_page_has_a_finger_under_every_note(fingered):
    page = write_html(fingered)
    under = re.findall(r'class="fingers"[^>]*>([^<]+)<', page)
    fingers = [n.finger for n in fingered.fingering.notes]
    # Each chorus stands there twice, for a sheet and for a phone.
    assert sorted(text[0] for text in under) == sorted(fingers * 2)
    assert [text[0] for text in under[:48]] == fingers[:48]
    assert "a suggested fingering" in page
    assert "half position" in page


def test_the_handout_says_that_it_is_a_suggestion(plain, fingered):
    assert any("A fingering is a suggestion" in text for text in handout(fingered).cautions)
    assert not any("A fingering" in text for text in handout(plain).cautions)


def test_without_it_nothing_is_told_of_a_hand(plain):
    assert "<technical>" not in write_musicxml(plain)
    assert 'class="fingers"' not in write_html(plain)


def test_the_option_asks_for_it(tmp_path):
    file = tmp_path / "a.musicxml"
    arguments = ["audit", str(CHART), str(TAKE), "--quiet", "--musicxml", str(file)]
    assert command_line.run([*arguments, "--fingering"]) == 0
    assert "<technical>" in file.read_text("utf-8")
    assert command_line.run(arguments) == 0
    assert "<technical>" not in file.read_text("utf-8")


def test_where_it_would_show_nowhere_it_is_refused(capsys):
    assert command_line.run(["audit", str(CHART), str(TAKE), "--fingering", "--json", "-"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "--fingering shows in --html, --pdf, --musicxml; give one of them" in err
    assert err.count("\n") == 1
