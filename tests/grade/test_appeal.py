"""An appeal sheet: every point, and all of them add up to the grade."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linecheck.demo import demo_takes
from linecheck.grade.appeal import appeal_json, appeal_text, shown_points
from tests.grade.invented_class import graded

TAKES = sorted(take.name for take in demo_takes())


@pytest.mark.parametrize("name", TAKES)
def test_what_was_given_adds_up_to_the_commitment_and_all_to_100(name):
    row = graded("Ansel Brook", name)
    told = json.loads(appeal_json(row))
    given = sum(bar["given"] for bar in told["points"])
    taken = sum(bar["taken"] for bar in told["points"])
    assert given == pytest.approx(row.judgement.commitment, abs=1e-3)
    assert given + taken == pytest.approx(100, abs=1e-3)


@pytest.mark.parametrize("name", TAKES)
def test_the_shown_figures_add_up_too(name):
    text = appeal_text(graded("Ansel Brook", name))
    whole, all_taken = map(
        float, re.search(r"Commitment ([\d.]+) of 100; ([\d.]+) w", text).groups()
    )
    assert whole + all_taken == pytest.approx(100, abs=1e-9)
    choruses = [
        (float(a), float(b))
        for a, b in re.findall(
            r"^Chorus \d+, \w+: ([\d.]+) given, ([\d.]+) taken", text, re.MULTILINE
        )
    ]
    assert sum(a for a, _ in choruses) == pytest.approx(whole, abs=1e-9)
    assert sum(b for _, b in choruses) == pytest.approx(all_taken, abs=1e-9)
    bars = re.findall(r"^  bar \d+: ([\d.]+) given(?:, ([\d.]+) taken)?", text, re.MULTILINE)
    assert sum(float(a) for a, _ in bars) == pytest.approx(whole, abs=1e-9)
    assert sum(float(b or 0) for _, b in bars) == pytest.approx(all_taken, abs=1e-9)


def test_every_missed_mark_stands_in_its_bar_with_its_reason():
    row = graded("Dilys Ford", "oskar")
    text = " ".join(appeal_text(row).split())
    missed = [
        (bar.bar, reason)
        for bar in row.judgement.evidence.bars
        for reasons in bar.missed.values()
        for reason in reasons
    ]
    assert len(missed) > 12
    for _, reason in missed:
        assert " ".join(reason.split()) in text


def test_a_bar_ahead_is_counted_in_beats_and_notes_in_times():
    text = appeal_text(graded("Ansel Brook", "tomasz"))
    assert "- 1 bar ahead (4 beats)" in text
    assert "ahead (4 times)" not in text


def test_a_bar_with_nothing_missed_is_one_line():
    text = appeal_text(graded("Bettina Vale", "lena"))
    assert re.search(
        r"^  bar 1: [\d.]+ given \(purpose .*, landings .*, form .*\)$", text, re.MULTILINE
    )


def test_no_line_is_wider_than_80_columns():
    for name in TAKES:
        assert max(map(len, appeal_text(graded("Ansel Brook", name)).splitlines())) <= 80


def test_the_rubric_the_version_and_the_caution_are_named():
    row = replace(graded("Ansel Brook", "tomasz", 95), key="0123456789abcdef")
    text = appeal_text(row)
    assert "The pass mark of 95 is not reached" in text
    assert row.judgement.rubric.fingerprint[:12] in text
    assert f"linecheck {row.linecheck}" in text
    assert "0123456789ab" in text
    assert "The teacher decides" in " ".join(text.split())


@given(st.lists(st.floats(0, 5), max_size=300))
def test_shown_points_are_hundredths_next_to_the_real_ones_and_add_up(values):
    shown = shown_points(values)
    assert sum(shown) == pytest.approx(round(sum(values), 2), abs=1e-6)
    for one, real in zip(shown, values, strict=True):
        assert abs(one - real) <= 0.01 + 1e-9
        assert one == pytest.approx(round(one, 2), abs=1e-12)
        assert one >= 0
        assert real or one == 0
