"""The path that costs least: against every way tried, and what must hold of any line."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from linecheck.left_hand import finger_line, fingering, read_costs
from linecheck.left_hand.tuning import Bass
from linecheck.terms import TakeNote
from tests.left_hand.plain_fingering import least_cost

COSTS = read_costs()
# A short fingerboard keeps the number of ways small enough to try all; the rules are the same.
SHORT = replace(COSTS, neck_to=5, thumb_from=6, board=11)
TWO_STRINGS = (33, 38)

lengths = st.sampled_from((0.11, 0.2, 0.35, 0.5, 1.0, 2.5))
sounding = st.sampled_from((0.3, 0.9, 1.0))


def line(pitches, times, shares):
    notes, at = [], 0.0
    for pitch, time_s, share in zip(pitches, times, shares, strict=True):
        notes.append(TakeNote(at, time_s * share, pitch, 80))
        at += time_s
    return notes


def lines(low, high, fewest, most):
    size = st.integers(fewest, most)
    return size.flatmap(
        lambda n: st.builds(
            line,
            *(
                st.lists(of, min_size=n, max_size=n)
                for of in (st.integers(low, high), lengths, sounding)
            ),
        )
    )


@settings(max_examples=60, deadline=None)
@given(lines(33, 49, 1, 3))
def test_no_way_of_all_costs_less(notes):
    found = finger_line(notes, Bass(TWO_STRINGS), SHORT)
    assert abs(found.cost - least_cost(notes, TWO_STRINGS, SHORT)) < 1e-9


@settings(max_examples=12, deadline=None)
@given(lines(43, 67, 2, 2))
def test_no_way_of_all_costs_less_on_the_whole_bass(notes):
    strings = (28, 33, 38, 43)
    found = finger_line(notes, Bass(strings), COSTS)
    assert abs(found.cost - least_cost(notes, strings, COSTS)) < 1e-9


@settings(max_examples=40, deadline=None)
@given(lines(28, 55, 1, 24))
def test_up_a_fourth_on_the_neighbouring_strings_is_the_same_work(notes):
    # On three strings, and on the three that are a fourth higher.
    up = [replace(note, pitch=note.pitch + 5) for note in notes]
    low = finger_line(notes, Bass((28, 33, 38)), COSTS)
    high = finger_line(up, Bass((33, 38, 43)), COSTS)
    assert [(n.finger, n.position, n.shift, n.pivot, n.crossing, n.string) for n in low.notes] == [
        (n.finger, n.position, n.shift, n.pivot, n.crossing, n.string) for n in high.notes
    ]
    # On four strings the way is open too, if the lower line does without the highest string.
    four = finger_line(notes, Bass((28, 33, 38, 43)), COSTS)
    if all(note.string is not None and note.string > 1 for note in four.notes):
        assert finger_line(up, Bass((28, 33, 38, 43)), COSTS).cost <= four.cost + 1e-9


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_a_line_that_lies_in_one_position_has_no_shift(data):
    place = data.draw(st.integers(1, 9))
    stops = st.sampled_from((0, place, place + 1, place + 2))
    strings = st.sampled_from((28, 33, 38, 43))
    pitches = data.draw(st.lists(st.builds(int.__add__, strings, stops), min_size=1, max_size=30))
    # Where nothing is worth a shift there is none; the packaged costs may trade one for crossings.
    staying = fingering(pitches, costs=replace(COSTS, start=1000.0, pivot=1000.0))
    assert staying.shifts == staying.pivots == 0
    assert fingering(pitches).cost <= staying.cost + 1e-9


@settings(max_examples=25, deadline=None)
@given(lines(20, 75, 1, 40))
def test_every_note_is_where_it_is_said_to_be(notes):
    strings = (28, 33, 38, 43)
    found = finger_line(notes, Bass(strings), COSTS)
    for note in found.notes:
        if note.string is None:
            assert note.pitch < 28 or note.pitch > 67
            continue
        stop = note.pitch - strings[-note.string]
        assert 0 <= stop <= 24
        assert (stop == 0) == (note.finger == "0")
        if note.finger != "0" and not note.position_name.startswith("thumb"):
            offset = {"1": 0, "2": 1, "3": 2, "4": 2}[note.finger]
            assert stop == note.position + offset
        elif note.finger == "T":
            assert stop == note.position
    assert found.shifts == sum(note.shift != 0 for note in found.notes)


def test_the_same_line_has_the_same_fingering_every_time():
    pitches = [28 + (7 * n * n) % 30 for n in range(300)]
    first = fingering(pitches)
    assert all(fingering(pitches) == first for _ in range(3))


def test_a_repeated_note_keeps_its_finger():
    found = fingering([45, 45, 52, 52, 52, 40, 40, 57, 57])
    for before, note in zip(found.notes, found.notes[1:], strict=False):
        if before.pitch == note.pitch:
            assert (before.string, before.finger, note.shift) == (note.string, note.finger, 0)


# ---- when a shift is made --------------------------------------------------------------------


def shifts_at(notes, strings=(33, 60), **changed):
    found = finger_line(notes, Bass(strings), replace(COSTS, **changed))
    return [index for index, note in enumerate(found.notes) if note.shift]


def test_the_shift_is_made_while_an_open_string_sounds():
    # On the A string from Bb and C to F and G: the hand goes while the open A sounds between.
    notes = line([34, 36, 33, 41, 43, 41], [0.25] * 6, [1.0] * 6)
    assert shifts_at(notes) == [3]
    (shift,) = [note for note in finger_line(notes, Bass((33, 60)), COSTS).notes if note.shift]
    stopped = line([34, 36, 36, 41, 43, 41], [0.25] * 6, [1.0] * 6)
    (harder,) = [note for note in finger_line(stopped, Bass((33, 60)), COSTS).notes if note.shift]
    assert shift.shift == harder.shift
    eased = finger_line(notes, Bass((33, 60)), COSTS).cost
    assert eased < finger_line(stopped, Bass((33, 60)), COSTS).cost - COSTS.stopped


def test_a_shift_is_told_at_the_stopped_note_that_it_is_for():
    # Open strings on both sides: while they sound the hand waits, and is told where it was.
    notes = line([34, 33, 38, 33, 43, 45, 38, 33], [0.25] * 8, [1.0] * 8)
    found = finger_line(notes, Bass(TWO_STRINGS), replace(COSTS, high_on_low=5.0)).notes
    opened = [note for note in found if note.finger == "0"]
    assert len(opened) == 5
    assert not any(note.shift or note.pivot for note in opened)
    assert [n.position for n in found[:4]] == [found[0].position] * 4
    assert found[4].shift == found[4].position - found[0].position > 0
    assert found[-1].position == found[-3].position == found[5].position


def test_a_line_climbs_no_low_string_where_the_next_has_its_notes():
    pitches = [38, 41, 45, 48, 50, 46, 50, 53, 52, 53, 48, 45, 41, 36, 40, 43, 46, 41, 45, 48, 50,
               46, 50, 53, 52, 53, 48, 45, 41, 48, 52, 50, 48, 41]  # fmt: skip
    found = fingering(pitches)
    assert found.high <= 8
    assert found.shifts <= 3
    assert found.open_strings >= 2
    low = {way.name: way for way in found.other_ways}["low positions"]
    assert low.high <= 2


def test_the_shift_is_made_after_the_long_note_and_not_between_fast_ones():
    # Five half steps up one string ask for one shift: before the third, the fourth or the fifth.
    pitches = [34, 35, 36, 37, 38]
    long_third = line(pitches, [0.12, 0.12, 2.0, 0.12, 0.12], [1.0] * 5)
    long_second = line(pitches, [0.12, 2.0, 0.12, 0.12, 0.12], [1.0] * 5)
    assert shifts_at(long_third, pivot=50.0) == [3]
    assert shifts_at(long_second, pivot=50.0) == [2]


def test_a_rest_eases_a_shift():
    held = line([34, 35, 36, 39, 40, 41], [0.4] * 6, [1.0] * 6)
    breath = line([34, 35, 36, 39, 40, 41], [0.4] * 6, [1.0, 1.0, 0.2, 1.0, 1.0, 1.0])
    low = Bass((33, 60))
    assert finger_line(breath, low, COSTS).cost < finger_line(held, low, COSTS).cost


def test_a_pivot_goes_no_further_than_a_half_step_from_the_thumb():
    found = fingering(list(range(45, 60)), tuning=(43, 72))
    thumb = found.notes[0].position
    for note in found.notes[1:]:
        if note.shift:
            thumb = note.position
        elif note.position_name.startswith("thumb"):
            break
        assert abs(note.position - thumb) <= 2  # the first hand may have been turned already
        assert abs(note.pivot) <= 1
