from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linecheck.report.engraving import engrave
from linecheck.terms import Bar, Meter, Section
from tests.report.invented_audits import audit_of, audit_with, lines

AUDIT = audit_of(choruses=2)
ENGRAVING = engrave(AUDIT)


def test_every_note_is_drawn_once_and_under_its_number():
    drawn = [
        int(n)
        for chorus in ENGRAVING.choruses
        for system in chorus.systems
        for n in re.findall(r'data-n="(\d+)"', system.markup)
    ]
    assert sorted(set(drawn)) == list(range(len(AUDIT.labels.notes)))
    assert drawn == sorted(drawn)


def test_four_bars_stand_on_a_line_and_two_on_a_phone():
    assert [len(s.bars) for c in ENGRAVING.choruses for s in c.systems] == [4] * 6
    phone = engrave(AUDIT, width=920, bars_a_line=2)
    assert {len(s.bars) for c in phone.choruses for s in c.systems} == {2}


def test_places_run_from_left_to_right_inside_their_bars():
    for chorus in ENGRAVING.choruses:
        for system in chorus.systems:
            for box in system.bars:
                xs = [x for _, x in box.marks]
                assert xs == sorted(xs)
                assert box.x < xs[0]
                assert xs[-1] < box.x + box.width
                assert len(xs) == len(box.bar.symbols)
                assert box.x_at(box.bar.step) == xs[0]


def test_a_place_without_a_symbol_lies_between_its_neighbours():
    box = ENGRAVING.choruses[0].systems[0].bars[0]
    (one, x), (two, y) = box.marks[:2]
    assert box.x_at((one + two) // 2) == pytest.approx((x + y) / 2)


def test_every_glyph_used_is_defined_and_nothing_of_the_engraver_stays():
    for chorus in ENGRAVING.choruses:
        for system in chorus.systems:
            used = set(re.findall(r'href="#([^"]+)"', system.markup))
            assert used <= set(ENGRAVING.glyphs)
            assert "<text" not in system.markup
            assert "style" not in system.markup
            ET.fromstring(f"<g>{system.markup}</g>")


def test_it_is_the_same_from_run_to_run():
    assert engrave(AUDIT) == ENGRAVING


def test_progress_counts_choruses():
    told = []
    engrave(AUDIT, progress=lambda done, whole: told.append((done, whole)))
    assert told == [(1, 2), (2, 2)]


def test_long_sections_are_split_evenly():
    chart = AUDIT.chart
    bars = tuple(
        replace(bar, section="A", opens_section=bar.number == 1) for bar in chart.bars[:10]
    )
    chart = replace(chart, bars=bars, sections=(Section("A", 1, 10),), form=("A",))
    notes = tuple(n for n in AUDIT.labels.notes if n.step < 480)
    audit = replace(
        AUDIT,
        chart=chart,
        line=replace(AUDIT.line, choruses=1),
        labels=replace(AUDIT.labels, notes=notes),
    )
    assert isinstance(bars[0], Bar)
    assert [len(s.bars) for s in engrave(audit).choruses[0].systems] == [3, 4, 3]


def test_a_take_without_notes_is_bars_of_rest():
    empty = replace(AUDIT, labels=replace(AUDIT.labels, notes=()))
    drawn = engrave(empty)
    assert len(drawn.choruses) == 2
    assert "data-n" not in "".join(s.markup for c in drawn.choruses for s in c.systems)


def test_a_full_line_is_not_broken_by_the_engraver():
    drawn = engrave(audit_with([(-50, -50), (-1, -1)]), width=920, bars_a_line=2)
    assert [len(s.bars) for s in drawn.choruses[0].systems] == [2]


@settings(max_examples=30, deadline=None)
@given(
    lines(),
    st.sampled_from(["written", "played"]),
    st.sampled_from([Meter(4, 4), Meter(2, 2), Meter(6, 8), Meter(6, 4), Meter(12, 8)]),
)
def test_any_rhythm_in_any_meter_is_drawn_whole(spans, kind, meter):
    drawn = engrave(audit_with(spans, kind, meter), width=920, bars_a_line=2)
    numbers = [
        int(n)
        for chorus in drawn.choruses
        for system in chorus.systems
        for n in re.findall(r'data-n="(\d+)"', system.markup)
    ]
    assert set(numbers) == set(range(len(spans)))
