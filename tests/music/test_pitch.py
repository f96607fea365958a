"""Pitch names, degrees and frequencies."""

from __future__ import annotations

from itertools import pairwise

import pytest

from linecheck.music.pitch import (
    OPEN_STRINGS,
    degree_name,
    degree_number,
    degree_semitones,
    frequency_hz,
    leading_name,
    pitch_class,
    pitch_name,
    spell,
)


@pytest.mark.parametrize(
    ("name", "pc"),
    [("C", 0), ("B#", 0), ("Cb", 11), ("Bb", 10), ("F##", 7), ("Ebb", 2), ("Bbb", 9)],
)
def test_pitch_classes(name, pc):
    assert pitch_class(name) == pc
    assert spell(name[0], pc) == name


@pytest.mark.parametrize("name", ["", "H", "c", "C!", "bB", "C b"])
def test_what_is_no_name(name):
    with pytest.raises(ValueError, match="is no pitch name; expected A to G"):
        pitch_class(name)


@pytest.mark.parametrize(
    ("degree", "number", "semitones"),
    [("1", 1, 0), ("b9", 9, 1), ("#9", 9, 3), ("b3", 3, 3), ("#11", 11, 6), ("bb7", 7, 9), ("b13", 13, 8), ("7", 7, 11), ("13", 13, 9)],
)  # fmt: skip
def test_degrees(degree, number, semitones):
    assert degree_number(degree) == number
    assert degree_semitones(degree) == semitones


@pytest.mark.parametrize(
    ("root", "degree", "name"),
    [("C", "b7", "Bb"), ("Eb", "b7", "Db"), ("F#", "#11", "B#"), ("B", "3", "D#"), ("Ab", "b5", "Ebb"), ("G", "9", "A"), ("Db", "b9", "Ebb"), ("A", "13", "F#")],
)  # fmt: skip
def test_names_of_degrees(root, degree, name):
    assert degree_name(root, degree) == name


@pytest.mark.parametrize(
    ("name", "pitch", "shown"),
    [("E", 28, "E1"), ("Cb", 35, "Cb2"), ("B#", 36, "B#1"), ("C", 60, "C4")],
)
def test_names_with_octaves(name, pitch, shown):
    assert pitch_name(name, pitch) == shown


@pytest.mark.parametrize(
    ("pitch", "hertz"), [(69, 440.0), (28, 41.203), (33, 55.0), (38, 73.416), (43, 97.999)]
)
def test_frequencies(pitch, hertz):
    """ISO 16: A4 is 440 Hz; the open strings in equal temperament, from memory."""
    assert frequency_hz(pitch) == pytest.approx(hertz, abs=0.001)


def test_the_open_strings_are_fourths():
    pitches = list(OPEN_STRINGS.values())
    assert [b - a for a, b in pairwise(pitches)] == [5, 5, 5]


@pytest.mark.parametrize(
    ("target", "half_steps", "name"),
    [
        ("A", -1, "G#"),
        ("A", 1, "Bb"),
        ("F", -2, "Eb"),
        ("F", 1, "Gb"),
        ("Bb", 2, "C"),
        ("E", -1, "D#"),
        ("Db", 7, "Ab"),
        ("F", -5, "C"),
        ("F#", -1, None),  # E#
        ("Bb", 1, None),  # Cb
        ("Ab", 1, None),  # Bbb
        ("A", 3, None),
    ],
)
def test_a_note_that_leads_stands_on_the_next_letter(target, half_steps, name):
    assert leading_name(target, half_steps) == name
