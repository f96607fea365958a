"""Each rule of the approach, at its edges."""

from __future__ import annotations

import pytest

from linecheck.terms import Approach
from tests.label_lines import chart_of, label, notes_of, pitch_of

CHART = "| F7 | Bb7 | F7 | F7 |"


def labelled(notes, bars=CHART):
    return label(notes_of(notes), chart_of(bars)).notes


def approach_of(notes, index, bars=CHART):
    return labelled(notes, bars)[index].approach


# ---- a step ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("note", "kind", "direction"),
    [
        ("B2", "chromatic", "above"),
        ("C3", None, None),  # the fifth of its own chord is no approach
        ("Ab2", "scale", "below"),
    ],
)
def test_a_step_into_the_next_chord(note, kind, direction):
    found = labelled(f"F2 A2 C3 {note} Bb2")[3]
    if kind is None:
        assert (found.function, found.approach) == ("fifth", None)
    else:
        assert found.function == "approach"
        assert found.approach == Approach(kind, direction, pitch_of("Bb2"), 4)


@pytest.mark.parametrize("note", ["B1", "B3", "Ab1", "Ab3"])
def test_a_step_is_measured_in_actual_pitch(note):
    assert approach_of(f"F2 A2 C3 {note} Bb2", 3) is None


def test_three_half_steps_are_no_step():
    assert approach_of("F2 A2 C3 Db3 Bb2", 3) is None


def test_the_target_must_be_a_tone_of_the_chord_in_force_at_the_target():
    # G is no tone of Bb7 nor of F7; A is a tone of F7 but not of Bb7, where it stands.
    assert approach_of("F2 A2 C3 Gb2 G2", 3) is None
    assert approach_of("F2 A2 C3 B2 A2", 3) is None
    assert approach_of("F2 A2 B2 A2", 2).kind == "scale"


def test_a_note_on_a_landing_is_no_approach():
    first, second = labelled("B2 C3 F2 A2  B2 Bb2")[0], labelled("F2 A2 C3 F2  A2 Bb2")[4]
    assert (first.landing, first.function, first.approach) == (True, "tension", None)
    assert (second.landing, second.function, second.approach) == (True, "outside", None)


def test_a_landing_inside_the_bar_counts_too():
    notes = labelled("C2 E2 Gb2 F2", "| C7 F7 |")
    assert (notes[2].landing, notes[2].function) == (True, "tension")  # b9


def test_a_step_from_just_after_a_landing():
    note = labelled("F2:0.5 B2:0.5 C3 F2 F2")[1]
    assert (note.landing, note.approach.kind) == (False, "chromatic")


def test_the_first_rule_that_fits_holds():
    # E is the third of C7 and leads by a half step to F: a chord tone is never an approach.
    note = labelled("C2 G2 Bb2 E2 F2", "| C7 | F7 |")[3]
    assert (note.function, note.approach) == ("third", None)


def test_a_tension_that_leads_is_an_approach():
    notes = labelled("F2 G2 A2 D3 F2")
    assert [note.function for note in notes[:4]] == ["root", "approach", "third", "tension"]


def test_the_last_note_leads_nowhere():
    assert labelled("F2 B2")[1].function == "tension"


# ---- ghosts, repeated notes, rests -----------------------------------------------------------


def test_ghosts_are_looked_through():
    notes = labelled("F2 A2 B2:0.5 F2:0.25x F2:0.25x B2:0.5 F2:0.5x Bb2")
    assert notes[5].approach == Approach("chromatic", "above", pitch_of("Bb2"), 7)
    assert labelled("F2 A2 C3 B2:0.5 F2:0.5x Bb2")[3].approach.target_note == 5


def test_a_repeated_note_is_not_looked_through():
    notes = labelled("F2 A2 C3 B2:0.5 B2:0.5 Bb2")
    assert notes[3].function == "tension"
    assert notes[4].approach.kind == "chromatic"


@pytest.mark.parametrize(
    ("rest", "leads"), [("1", True), ("1.75", True), ("2", False), ("3", False)]
)
def test_a_rest_of_two_beats_or_more_breaks_the_link(rest, leads):
    found = approach_of(f"F2 B2:0.25 -:{rest} C3", 1, "| F7 | F7 | F7 |")
    assert (found is not None) is leads


def test_a_rest_breaks_the_link_of_the_second_of_two_as_well():
    assert approach_of("F2 G#2:0.5 Bb2:0.5 A2", 1).kind == "enclosure"
    assert approach_of("F2 G#2:0.5 Bb2:0.5 -:2 A2", 1, "| F7 | F7 | F7 |") is None


# ---- two notes into a target -----------------------------------------------------------------


def test_two_half_steps_in_one_direction():
    notes = labelled("F2 A2:0.5 Db3:0.5 G2 Gb2 F2", "| F7 | F7 |")
    assert [n.approach and n.approach.kind for n in notes] == [
        None,
        None,
        None,
        "double",
        "chromatic",
        None,
    ]
    assert notes[3].approach == Approach("double", "above", pitch_of("F2"), 5)
    assert approach_of("F2 A2 Bb2 B2 C3", 2, "| F7 | F7 |") == Approach(
        "double", "below", pitch_of("C3"), 4
    )


def test_a_whole_step_and_a_half_step_are_not_double():
    assert approach_of("F2 A2 Ab2 Gb2 F2", 2, "| F7 | F7 |") is None


def test_of_a_double_the_second_is_no_chord_tone():
    # Bb A Ab over F7 with A a chord tone: Bb steps into A itself, a step and no double.
    assert approach_of("F2 C3 Bb2 A2 Ab2", 2, "| F7 | Fm7 |").kind == "chromatic"


@pytest.mark.parametrize(
    ("first", "second", "fits"),
    [
        ("Ab2", "Bb2", True),
        ("Bb2", "Ab2", True),
        ("G2", "B2", True),
        ("G2", "Bb2", True),
        ("B2", "G2", True),
        ("Gb2", "Bb2", False),  # further than a whole step below A
        ("Bb2", "Gb2", False),
        ("Ab1", "Bb2", False),  # an octave too low
        ("B2", "Bb2", False),  # both above, and by half steps: see below
    ],
)
def test_an_enclosure_lies_within_a_whole_step_on_either_side(first, second, fits):
    found = approach_of(f"F2 C3 {first} {second} A2", 2, "| F7 | F7 |")
    assert (found == Approach("enclosure", None, pitch_of("A2"), 4)) is fits


def test_of_an_enclosure_the_second_is_no_chord_tone():
    # Over Bb7 the second, Ab, is its seventh; over C7 it is none of its tones.
    assert approach_of("Bb2 D3 B2 Ab2 Bb2", 2, "| Bb7 | Eb7 |") is None
    assert approach_of("E2 C3 B2 Ab2 Bb2", 2, "| C7 | Eb7 |").kind == "enclosure"


def test_the_second_of_two_is_asked_for_its_own_chord():
    # Eb is no tone of C7, where it stands, although F7 has it: an enclosure of D.
    bars = "| C7 | Gm7 |"
    assert approach_of("C2 G2 C#2 Eb2 D2", 2, bars) == Approach(
        "enclosure", None, pitch_of("D2"), 4
    )


# ---- from the fifth --------------------------------------------------------------------------


@pytest.mark.parametrize("fifth", ["A1", "A2", "A3"])
def test_the_fifth_of_the_new_root_in_any_octave(fifth):
    notes = labelled(f"Eb2 G2 Bb2 {fifth} D2", "| Eb7 | Dm7 |")
    assert notes[3].function == "approach"
    assert notes[3].approach == Approach("from the fifth", None, pitch_of("D2"), 4)


def test_the_next_note_must_be_that_root():
    assert approach_of("Eb2 G2 Bb2 A1 F2", 3, "| Eb7 | Dm7 |") is None


def test_only_the_last_note_before_the_change():
    assert approach_of("Eb2 G2 A1 D2", 2, "| Eb7 | Dm7 |") is None


def test_where_no_chord_changes_there_is_no_new_root():
    # Over a long chord nothing is new, however its symbol is spelled the second time.
    assert labelled("C2 E2 G2 Bb2 C2", "| C7 | C7 |")[3].function == "seventh"
    for bars in ("| F7 | F7 |", "| F-7 | Fm7 |"):
        assert approach_of("F2 A2 Ab2 B1 E2", 3, bars) is None
    notes = labelled("D2 F2 Ab2 A2 D2", "| Dm7b5 | Dm7b5 |")
    assert notes[3].function == "outside"


def test_the_root_may_be_pushed():
    notes = labelled("Eb2 G2 Bb2 A1:0.5 D2:1.5", "| Eb7 | Dm7 |")
    assert notes[4].anticipation
    assert notes[3].approach.kind == "from the fifth"


def test_a_slash_bass_that_counts_as_root_is_a_root_to_lead_to():
    assert approach_of("Eb2 G2 Bb2 A1 D2", 3, "| Eb7 | C/D |").kind == "from the fifth"
    # The bass of C/E is a third: B leads by a half step to C only.
    assert labelled("F2 A2 C3 B1 E2", "| F7 | C/E |")[3].approach is None


# ---- no chord --------------------------------------------------------------------------------


def test_over_no_chord_nothing_leads_and_nothing_is_led_to():
    notes = labelled("F2 A2 C3 B2 Bb2 B2 Bb2 B2 C3", "| F7 | N.C. | F7 |")
    assert [note.function for note in notes[3:]] == ["tension", None, None, None, None, "fifth"]
    assert all(note.approach is None for note in notes)


def test_a_target_that_is_an_anticipation_is_judged_by_its_new_chord():
    notes = labelled("F2 A2 C3 C#3:0.5 D3:1.5", "| F7 | Bb7 |")
    assert notes[4].anticipation
    assert notes[4].function == "third"
    assert notes[3].approach == Approach("chromatic", "below", pitch_of("D3"), 4)
    held_short = labelled("F2 A2 C3 C#3:0.5 D3:0.5 Bb2", "| F7 | Bb7 |")
    assert not held_short[4].anticipation
    assert held_short[3].approach is None


# ---- names -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "names"),
    [
        ("F2 A2 Eb2 A1 Bb1", "A1"),
        ("F2 A2 Eb2 C#2 D2", "C#2"),  # from below, though the key has flats
        ("F2 A2 Eb2 Gb2 F2", "Gb2"),
        ("F2 A2 G2 Ab2 Bb2", "Ab2"),
    ],
)
def test_a_note_is_spelled_as_it_leads(line, names):
    assert labelled(line)[3].name == names


def test_both_notes_of_an_enclosure_are_spelled_as_they_lead():
    found = labelled("F2 A2 Eb3 C#3 D3", bars="| F7 | Bb7 | F7 | F7 |")
    assert [n.name for n in found[2:]] == ["Eb3", "C#3", "D3"]
