"""Tunings, an extension, what is out of reach, and the costs that can be changed."""

from __future__ import annotations

import re
import tomllib
from dataclasses import fields, replace
from pathlib import Path

import pytest

import linecheck
from linecheck.faults import CostsFault, OptionFault, TakeFault
from linecheck.left_hand import TUNINGS, read_costs
from linecheck.left_hand.costs import PACKAGED
from linecheck.left_hand.tuning import note_name, read_bass, spelling_key

README = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
TAKES = Path(__file__).parents[2] / "demo_tunes" / "takes"


def taken(found):
    return [(n.string_name, n.finger) for n in found.notes]


@pytest.mark.parametrize(
    ("name", "strings"),
    [
        ("fourths", (28, 33, 38, 43)),
        ("solo", (30, 35, 40, 45)),
        ("fifths", (24, 31, 38, 45)),
        ("low-b", (23, 28, 33, 38, 43)),
        ("high-c", (28, 33, 38, 43, 48)),
        ("E1,A1,D2,G2", (28, 33, 38, 43)),
        ("d1 a1 d2 g2", (26, 33, 38, 43)),
        ("Eb1,Ab1,Db2,Gb2", (27, 32, 37, 42)),
        ((28, 33), (28, 33)),
    ],
)
def test_a_tuning_is_a_name_or_its_open_strings(name, strings):
    assert read_bass(name).strings == strings


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"tuning": ["E1", "A1", "D2", "G2"]}, "tuning: a pitch is 'E1'; expected a name such as"),
        ({"tuning": [28, 33.5]}, "tuning: a pitch is 33.5; expected"),
        ({"tuning": [28, 10**5000]}, "tuning: a pitch is of type int; expected"),
        ({"tuning": None}, "tuning is None; expected a name such as 'fourths', or the open"),
        ({"extension": True}, "extension: a pitch is True; expected a note such as 'C1', or"),
        ({"extension": 24.5}, "extension: a pitch is 24.5; expected a note"),
        ({"costs": 3}, "cost file is 3; expected"),
        ({"line": None}, "line is None; expected MIDI numbers from 0 to 127, a take or the name"),
        ({"line": 33}, "line is 33; expected MIDI"),
        ({"line": ["E1"]}, "line: a pitch is 'E1'; expected MIDI"),
    ],
)
def test_what_is_no_argument_of_a_fingering_is_refused_by_its_name(options, said):
    with pytest.raises(OptionFault) as fault:
        linecheck.fingering(**({"line": [28, 33, 38]} | options))
    assert str(fault.value).startswith(said)


def test_every_tuning_plays_its_open_strings_open():
    for name, strings in TUNINGS.items():
        bass = read_bass(name)
        found = linecheck.fingering(bass.strings, tuning=name)
        assert [n.finger for n in found.notes] == ["0"] * len(strings)
        assert [n.string for n in found.notes] == list(range(len(strings), 0, -1))


@pytest.mark.parametrize(
    ("tuning", "says"),
    [
        ("forths", "'forths' is no note with its octave, such as E1"),
        ("E,A,D,G", "'E' is no note with its octave"),
        ("G2,D2,A1,E1", "from the lowest to the highest"),
        ("E1,E1", "from the lowest to the highest"),
        ("E1", "1 strings were read, 2 to 7 were expected"),
        ("", "0 strings were read"),
        ("E1,E6", "no string of a bass sounds so"),
    ],
)
def test_a_tuning_that_is_none_is_told(tuning, says):
    with pytest.raises(OptionFault, match=re.escape(says)):
        read_bass(tuning)


def test_an_extension_reaches_below_the_lowest_string():
    found = linecheck.fingering([24, 25, 26, 27, 28], extension="C1")
    assert {n.string_name for n in found.notes} == {"E1"}
    assert found.notes[0].finger == found.notes[-1].finger == "0"
    assert {n.position_name for n in found.notes[1:4]} == {"extension"}
    assert found.shifts == 0
    assert found.extension == 24
    without = linecheck.fingering([24, 28])
    assert without.notes[0].out_of_reach == "below the lowest string, E1"
    assert without.notes[1].finger == "0"
    too_low = linecheck.fingering([23], extension=24)
    assert too_low.notes[0].out_of_reach == "below the lowest note of the extension, C1"


def test_notes_of_the_extension_are_only_on_the_lowest_string():
    # With a hand up at the scroll no note of the neck is at hand: it has to shift.
    found = linecheck.fingering([25, 35, 25, 35], extension="C1")
    assert [n.string_name for n in found.notes] == ["E1", "A1", "E1", "A1"]
    assert found.shifts == 3


@pytest.mark.parametrize("extension", ["E1", "F1", "G0", 40])
def test_an_extension_that_is_none_is_told(extension):
    with pytest.raises(OptionFault, match="half steps below the lowest string, E1"):
        read_bass("fourths", extension)


def test_the_end_of_the_fingerboard():
    found = linecheck.fingering([67, 68, 60])
    assert [bool(n.out_of_reach) for n in found.notes] == [False, True, False]
    assert found.notes[1].out_of_reach == "above the end of the fingerboard, G4"
    assert found.out_of_reach == 1
    assert found.notes[1].string is None


def test_nothing_at_all_has_a_fingering():
    found = linecheck.fingering([])
    assert (found.notes, found.cost, found.shifts) == ((), 0.0, 0)


@pytest.mark.parametrize("pitches", [[28, 128], [-1], [True], [28.5], ["E1"]])
def test_pitches_are_midi_numbers(pitches):
    with pytest.raises(OptionFault, match=r"a pitch is .*; expected MIDI numbers from 0 to 127"):
        linecheck.fingering(pitches)


def test_a_take_its_file_and_its_pitches_are_alike():
    file = TAKES / "slow_ferry_bram.musicxml"
    take = linecheck.read_take(file)
    found = linecheck.fingering(take)
    assert linecheck.fingering(str(file)) == found
    assert found.notes[0].bar == 1
    assert [n.beat for n in found.notes[:3]] == [1, 2, 3]
    alone = linecheck.fingering([n.pitch for n in take.notes])
    assert [n.pitch for n in alone.notes] == [n.pitch for n in found.notes]
    with pytest.raises(TakeFault, match="no such file"):
        linecheck.fingering(TAKES / "nobody.mid")


def test_a_free_take_has_no_bars_of_its_own():
    assert linecheck.fingering(TAKES / "gravel_lena.mid").notes[0].bar is None
    click = linecheck.fingering(TAKES / "tollgate_mira.mid")
    assert all(n.bar is not None and 1 <= n.beat < 5 for n in click.notes)


def test_a_line_without_a_key_is_spelled_by_its_notes():
    assert spelling_key([41, 43, 45, 46, 48, 50, 51]).tonic == "Bb"
    assert spelling_key([]).tonic == "C"
    assert note_name(44, spelling_key([39, 41, 43, 44, 46, 48, 50])) == "Ab2"
    assert note_name(44, spelling_key([40, 42, 44, 45, 47, 49, 51])) == "G#2"


# ---- the costs -------------------------------------------------------------------------------


def costs_file(folder, text):
    file = folder / "hand.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_every_packaged_cost_is_explained_and_read():
    table = tomllib.loads(PACKAGED.read_text("utf-8"))
    keys = [key for section in table.values() if isinstance(section, dict) for key in section]
    costs = read_costs()
    assert {f.name for f in fields(costs)} == {"name", *keys}
    for section in table.values():
        if isinstance(section, dict):
            for key, value in section.items():
                assert getattr(costs, key) == value


def test_what_is_left_out_keeps_its_number(tmp_path):
    costs = read_costs(costs_file(tmp_path, 'name = "Mine"\n[shift]\nstart = 9\n'))
    assert costs == replace(read_costs(), name="Mine", start=9.0)


def test_the_costs_of_the_readme_are_costs(tmp_path):
    (text,) = re.findall(r"<!-- costs -->\n```toml\n(.*?)```", README, re.DOTALL)
    costs = read_costs(costs_file(tmp_path, text))
    assert (costs.name, costs.pivot, costs.third) == ("Small hand, no pivots", 50.0, 4)
    assert linecheck.fingering(range(28, 60), costs=costs).pivots == 0


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[shift]\nstart = 1", "name is missing"),
        ('name = "x"\n[shift]\nstrat = 1', "[shift]: unknown key 'strat'"),
        ('name = "x"\n[shift]\nstrat = 1', "did you mean start?"),
        ('name = "x"\n[shfit]\nstart = 1', "unknown key 'shfit'"),
        ('name = "x"\nshift = 3', "shift is 3; expected a table"),
        ('name = "x"\n[shift]\nstart = -1', "start is -1; expected a number, 0 or more"),
        ('name = "x"\n[shift]\nstart = nan', "start is nan"),
        ('name = "x"\n[shift]\nstart = "much"', "start is 'much'"),
        ('name = "x"\n[hand]\nthird = 5.5', "expected a whole number of half steps, 3 or more"),
        ('name = "x"\n[hand]\nboard = 99', "three octaves (36 half steps) are the most"),
        ('name = "x"\n[hand]\nneck_to = 3', "no hand reaches the notes between them"),
        ('name = "x"\n[hand]\nsecond = 6', "must reach further one after the other"),
        ('name = "x"\n[time]\nleast = 3.0', "least is 3, above most, 2.5"),
        ('name = "x"\n[time]\neven_s = 0', "even_s is 0; expected a number, 0.01 or more"),
        ("name = ", "is not valid TOML"),
    ],
)
def test_costs_that_are_none_are_told(tmp_path, text, says):
    file = costs_file(tmp_path, text)
    with pytest.raises(CostsFault, match=re.escape(says)) as told:
        read_costs(file)
    assert str(told.value).startswith(str(file))
    assert "\n" not in str(told.value)


def test_dearer_crossings_are_fewer_and_dearer_shifts_too():
    pitches = [28 + (11 * n * n + 3 * n) % 32 for n in range(120)]
    costs = read_costs()
    usual = linecheck.fingering(pitches, costs=costs)
    assert (
        linecheck.fingering(pitches, costs=replace(costs, crossing=9.0)).crossings < usual.crossings
    )
    dear = linecheck.fingering(pitches, costs=replace(costs, start=60.0))
    assert dear.shifts < usual.shifts
    assert {way.name: way for way in usual.other_ways}["fewest shifts"].shifts <= usual.shifts
    assert {way.name: way for way in usual.other_ways}[
        "fewest crossings"
    ].crossings < usual.crossings
