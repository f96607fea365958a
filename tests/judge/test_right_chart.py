"""Whether take and chart belong together: doubted where they do not, never where they do."""

from __future__ import annotations

from dataclasses import replace

import pytest

from linecheck import audit, read_chart, read_take
from linecheck.demo import demo_takes
from linecheck.report.findings_in_words import verdict

TAKES = {take.name: take for take in demo_takes()}


def doubts(found):
    return [text for text in found.warnings if text.startswith("only ")]


@pytest.mark.parametrize("name", TAKES)
def test_no_demo_take_is_doubted_over_its_own_chart(name):
    assert doubts(audit(TAKES[name].chart, TAKES[name].take)) == []


@pytest.mark.parametrize(
    ("name", "shift", "said"),
    [
        ("bram", 1, "1 half step higher"),
        ("wen", -1, "1 half step lower"),
        ("wen", 3, "3 half steps higher"),
    ],
)
def test_a_line_in_another_key_is_told_so(name, shift, said):
    take = read_take(TAKES[name].take)
    moved = replace(
        take, notes=tuple(replace(note, pitch=note.pitch + shift) for note in take.notes)
    )
    found = audit(TAKES[name].chart, moved)
    (text,) = doubts(found)
    assert f"over this chart {said}: is the key right?" in text
    assert verdict(found).startswith("The line hardly fits this chart:") or found.line.losses


def test_a_line_over_another_tune_is_told_so():
    found = audit(read_chart(TAKES["bram"].chart), TAKES["wen"].take)
    (text,) = doubts(found)
    assert text.endswith("is it the right chart, and does chorus 1 begin where it says?")
