"""Positions and lines as classical bass methods have them. All tables here are from memory."""

from __future__ import annotations

import pytest

from linecheck.left_hand import fingering, read_costs
from linecheck.left_hand.positions import NECK, OCTAVE, position_name, reach
from linecheck.left_hand.tuning import note_name, read_bass
from linecheck.left_hand.ways import ways_to_take

COSTS = read_costs()
BASS = read_bass("fourths")
NUMBER = {"C": 0, "C#": 1, "D": 2, "Eb": 3, "E": 4, "F": 5, "F#": 6, "G": 7, "G#": 8, "A": 9,
          "Bb": 10, "B": 11}  # fmt: skip

# position → string → the notes of fingers 1, 2 and 4 (from memory)
METHOD = {
    "half": {"E": "F F# G", "A": "Bb B C", "D": "Eb E F", "G": "G# A Bb"},
    "first": {"E": "F# G G#", "A": "B C C#", "D": "E F F#", "G": "A Bb B"},
    "second": {"E": "G G# A", "A": "C C# D", "D": "F F# G", "G": "Bb B C"},
    "second and a half": {"E": "G# A Bb", "A": "C# D Eb", "D": "F# G G#", "G": "B C C#"},
    "third": {"E": "A Bb B", "A": "D Eb E", "D": "G G# A", "G": "C C# D"},
    "third and a half": {"E": "Bb B C", "A": "Eb E F", "D": "G# A Bb", "G": "C# D Eb"},
    "fourth": {"E": "B C C#", "A": "E F F#", "D": "A Bb B", "G": "D Eb E"},
    "fifth": {"E": "C C# D", "A": "F F# G", "D": "Bb B C", "G": "Eb E F"},
    "fifth and a half": {"E": "C# D Eb", "A": "F# G G#", "D": "B C C#", "G": "E F F#"},
    "sixth": {"E": "D Eb E", "A": "G G# A", "D": "C C# D", "G": "F F# G"},
    "sixth and a half": {"E": "Eb E F", "A": "G# A Bb", "D": "C# D Eb", "G": "F# G G#"},
    "seventh": {"E": "E F F#", "A": "A Bb B", "D": "D Eb E", "G": "G G# A"},
}


@pytest.mark.parametrize("name", METHOD)
def test_a_position_holds_the_notes_of_the_method(name):
    for string, open_note in zip("EADG", BASS.strings, strict=True):
        taken = {}
        for pitch in range(open_note + 1, open_note + 15):
            ways = ways_to_take(pitch, BASS, COSTS)
            for row in range(len(ways)):
                here = ways.string[row] == BASS.strings.index(open_note) and ways.kind[row] == NECK
                if here and position_name(NECK, int(ways.place[row])) == name:
                    taken[int(ways.finger[row])] = pitch
        notes = [note_name(taken[finger]).rstrip("0123456789") for finger in (1, 2, 3)]
        assert " ".join(notes) == METHOD[name][string]


def pitches(text):
    """Note names going up from E1 as near as can be to the one before."""
    found = []
    for name in text.split():
        low = found[-1] + 1 if found else 28
        found.append(low + (NUMBER[name] - low) % 12)
    return found


def marks(found):
    return " ".join(f"{n.finger}{n.string_name[0]}" for n in found.notes)


# Scales of one octave in the lowest positions, one position each (from memory).
SCALES = {
    "F G A Bb C D E F": ("half", "1E 4E 0A 1A 4A 0D 2D 4D"),
    "Bb C D Eb F G A Bb": ("half", "1A 4A 0D 1D 4D 0G 2G 4G"),
    "G A B C D E F# G": ("first", "2E 0A 1A 2A 0D 1D 4D 0G"),
    "E F G A B C D E": ("half", "0E 1E 4E 0A 2A 4A 0D 2D"),
    "C D E F G A Bb C": (None, None),
}


@pytest.mark.parametrize("scale", SCALES)
def test_a_scale_of_the_low_positions_lies_as_in_the_method(scale):
    position, taken = SCALES[scale]
    found = fingering(pitches(scale))
    assert found.shifts <= 1
    if position:
        assert found.shifts == found.pivots == 0
        assert {n.position_name for n in found.notes if n.finger != "0"} == {position}
        assert marks(found) == taken


def test_b_flat_major_stays_in_half_and_first_position():
    found = fingering(pitches("Bb C D Eb F G A Bb"))
    assert {n.position_name for n in found.notes} <= {"half", "first"}


def test_the_octave_harmonic_is_where_the_thumb_begins():
    # G major from the octave of the G string: thumb, 1, 2, 3 (common practice).
    found = fingering([55, 57, 59, 60], tuning=(43, 72))
    assert [n.finger for n in found.notes] in (["T", "1", "2", "3"], ["1", "3", "1", "2"])
    assert {n.position_name for n in found.notes} <= {"thumb", "seventh"}
    assert found.shifts <= 1


def test_the_span_grows_up_the_string():
    spans = [reach(COSTS.third, place) for place in range(OCTAVE, 25)]
    assert spans[0] == 5  # a fourth
    assert spans == sorted(spans)
    assert spans[-1] == 12  # an octave, two octaves up (from memory: players span it there)


def test_high_on_the_neck_the_third_finger_plays_for_the_fourth():
    high = fingering([53, 54, 55], tuning=(43, 72))
    low = fingering([45, 46, 47], tuning=(43, 72))
    assert [n.finger for n in high.notes] == ["1", "2", "3"]
    assert [n.finger for n in low.notes] == ["1", "2", "4"]
