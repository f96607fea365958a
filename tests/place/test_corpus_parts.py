"""The form inference on parts that nobody generated: chorales of music21's corpus (public domain)."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import pytest

from linecheck.music.form import Form
from linecheck.place.form_loss import find_form
from tests.measure_form_corpus import piece, played

if TYPE_CHECKING:
    from tests.synthetic.lines import LineNote

PIECES = ("bach/bwv10.7", "bach/bwv101.7", "bach/bwv102.7", "bach/bwv103.6", "bach/bwv104.6", "bach/bwv108.6")  # fmt: skip
CHORUSES = 4


@lru_cache
def read(name: str) -> tuple[Form, dict[str, list[LineNote]]]:
    made = piece(name)
    assert made is not None
    chart, lines = made
    return Form(chart, CHORUSES), lines


def certain(form: Form, line: list[LineNote], course: list[tuple[int, int]]):
    found = find_form(*zip(*played(form, line, course, CHORUSES * form.steps), strict=True), form)
    return [loss for loss in found[1] if loss.certain]


@pytest.mark.parametrize("voice", ["bass", "soprano"])
@pytest.mark.parametrize("name", PIECES)
def test_a_part_over_its_own_harmony_is_in_place(name: str, voice: str) -> None:
    form, lines = read(name)
    assert certain(form, lines[voice], [(0, 0)]) == []


@pytest.mark.parametrize("offset", [-4, -1, 2, 8])
@pytest.mark.parametrize("name", PIECES)
def test_a_bass_that_slips_for_six_bars_is_found(name: str, offset: int) -> None:
    form, lines = read(name)
    at = form.beats + form.beats // 2
    slip = [(0, 0), (12 * at, offset), (12 * (at + 24), 0)]
    [loss] = certain(form, lines["bass"], slip)
    assert loss.offset_beats == offset
    assert abs(loss.step - 12 * at) <= 48
