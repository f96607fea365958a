"""Intonation: known cents in, the same cents out, by pitch, region and how a note was reached."""

from __future__ import annotations

from dataclasses import replace
from statistics import fmean, stdev

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linecheck.judge.intonation import intonation
from tests.hand_made_audit import hand_made_audit

PATTERN = hand_made_audit().labels.notes[1]
NAMES = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


def line(*played, ghosts=()):
    """Notes of pitches with cents, as ``(pitch, cents)``."""
    return [
        replace(
            PATTERN, pitch=pitch, cents=cents, ghost=index in ghosts,
            name=f"{NAMES[pitch % 12]}{pitch // 12 - 1}",
        )
        for index, (pitch, cents) in enumerate(played)
    ]  # fmt: skip


def told(notes):
    return intonation(notes, 440.0, measured=True)


def row(found, group, name):
    (one,) = [r for r in found.rows if (r.group, r.name) == (group, name)]
    return one


def test_a_note_without_cents_and_a_ghost_count_nowhere():
    found = told(line((29, 10.0), (31, None), (33, -40.0), ghosts={2}))
    assert (found.notes, found.mean_cents, found.spread_cents) == (1, 10.0, None)
    assert [r.name for r in found.rows if r.group == "pitch"] == ["F1"]


def test_where_nothing_is_claimed_there_are_no_figures():
    found = told(line((29, None), (31, None)))
    assert (found.notes, found.mean_cents, found.in_tune, found.rows) == (0, None, None, ())


def test_by_pitch_from_the_lowest_up():
    found = told(line((36, 4.0), (29, 12.0), (36, 8.0)))
    assert [r.name for r in found.rows if r.group == "pitch"] == ["F1", "C2"]
    assert row(found, "pitch", "C2").mean_cents == 6.0
    assert row(found, "pitch", "C2").spread_cents == pytest.approx(stdev([4.0, 8.0]))


def test_a_pitch_that_is_spelled_in_two_ways_is_one_row_by_its_commonest_name():
    notes = line((37, 8.0), (37, 4.0), (40, 1.0), (37, 6.0), (40, 3.0))
    notes[0] = replace(notes[0], name="C#2")
    notes[2] = replace(notes[2], name="Fb2")
    found = told(notes)
    assert [(r.name, r.notes) for r in found.rows if r.group == "pitch"] == [("Db2", 3), ("Fb2", 2)]
    assert row(found, "pitch", "Db2").mean_cents == 6.0


def test_a_region_knows_the_mean_of_each_of_its_pitches():
    found = told(line((45, -20.0), (43, 2.0), (45, -10.0), (36, 4.0)))
    assert row(found, "region", "G string, low").by_pitch == (2.0, -15.0)
    assert row(found, "pitch", "C2").by_pitch == (4.0,)


# Compass of the strings: E1 A1 D2 G2; the octave of the G string is where thumb position begins
# (common practice).
@pytest.mark.parametrize(
    ("pitch", "region"),
    [
        (24, "E string, low"), (28, "E string, low"), (32, "E string, low"),
        (33, "A string, low"), (37, "A string, low"), (38, "D string, low"),
        (43, "G string, low"), (48, "G string, low"), (49, "G string, neck"),
        (55, "thumb position"), (67, "thumb position"),
    ],
)  # fmt: skip
def test_regions(pitch, region):
    assert row(told(line((pitch, 3.0))), "region", region).notes == 1


# First position holds, from the lowest string up, F# G G#, B C C#, E F F#, A Bb B (classical
# methods, from memory); half position lies a half step lower.
@pytest.mark.parametrize(
    ("before", "pitch", "how"),
    [
        (30, 30, "a repeat"),
        (30, 32, "a step"),  # F#1 G#1, first position
        (29, 32, "a shift"),  # F1 G#1: a minor third is too wide for one string, and for two
        (30, 35, "a skip"),  # F#1 B1, across two strings
        (31, 46, "a leap"),  # G1 Bb2, first position
        (29, 48, "a shift"),  # F1 C3: far up another string
        (44, 49, "a skip"),  # Ab2 C#3, both at the sixth half step of their strings
        (43, 49, "a leap"),  # the open G lets the hand move
        (49, 43, "an open string"),
    ],
)
def test_how_a_note_was_reached(before, pitch, how):
    found = told(line((before, None), (pitch, 5.0)))
    assert row(found, "reached by", how).notes == 1


def test_the_first_note_was_reached_from_nowhere():
    assert not [r for r in told(line((30, 5.0))).rows if r.group == "reached by"]


@given(
    st.lists(
        st.tuples(
            st.integers(28, 60),
            st.none() | st.floats(-49.0, 49.0).map(lambda c: round(c, 2)),
        ),
        min_size=1,
        max_size=40,
    ),
    st.floats(-5.0, 5.0),
)
def test_every_measured_note_is_in_one_row_of_pitch_and_region_and_a_detuned_take_moves_all(
    played, more
):
    found = told(line(*played))
    cents = [c for _, c in played if c is not None]
    for group in ("pitch", "region"):
        assert sum(r.notes for r in found.rows if r.group == group) == len(cents)
    if cents:
        assert found.mean_cents == pytest.approx(fmean(cents))
        moved = told(line(*((p, None if c is None else c + more) for p, c in played)))
        for one, other in zip(found.rows, moved.rows, strict=True):
            assert other.mean_cents == pytest.approx(one.mean_cents + more, abs=1e-6)
