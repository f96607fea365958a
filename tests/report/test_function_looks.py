from __future__ import annotations

import pytest

import linecheck
from linecheck.report.function_looks import LOOKS, approach_in_words, letter, tone_name
from linecheck.report.score_in_words import note_in_words
from linecheck.report.score_marks import badge_id, mark_symbols
from linecheck.terms import FUNCTIONS, Approach

# Okabe and Ito, "Color Universal Design", figure 16: black, orange, sky blue, bluish green,
# yellow, blue, vermillion, reddish purple.
PUBLISHED = {
    "#000000", "#e69f00", "#56b4e9", "#009e73", "#f0e442", "#0072b2", "#d55e00", "#cc79a7",
}  # fmt: skip


def luminance(colour):
    """Relative luminance, WCAG 2.1."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return sum(w * p for w, p in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def test_every_function_has_a_letter_and_a_colour_of_its_own():
    assert tuple(LOOKS) == FUNCTIONS
    assert len({look.letter for look in LOOKS.values()}) == len(FUNCTIONS)
    assert len({look.colour for look in LOOKS.values()}) == len(FUNCTIONS)


def test_the_colours_are_the_published_ones():
    assert {look.colour for look in LOOKS.values()} <= PUBLISHED


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_letter_can_be_read_on_its_colour(name):
    low, high = sorted((luminance(LOOKS[name].colour), luminance(LOOKS[name].ink)))
    assert (high + 0.05) / (low + 0.05) >= 4.5  # WCAG 2.1, 1.4.3


@pytest.mark.parametrize(
    ("kind", "direction", "words"),
    [
        ("chromatic", "below", "a half step from below"),
        ("scale", "above", "a whole step from above"),
        ("double", "below", "the first of two half steps from below"),
        ("enclosure", None, "with the next note it encloses its target"),
        ("from the fifth", None, "from the fifth of the next chord to its root"),
    ],
)
def test_an_approach_in_words(kind, direction, words):
    assert approach_in_words(Approach(kind, direction, 40, 1)) == words


LAB = """X:1
T:Four bars of colour
M:4/4
L:1/4
K:C clef=bass
"G7sus4"G,,C,D,F,|"C6"C,E,G,A,|"A7alt"A,,^C,_E,F,|"Cmaj7"C,E,G,B,|]
"""


def test_a_note_is_told_by_its_degree_and_not_by_whose_place_it_stands_in(tmp_path):
    """Over sus the fourth tells no major from minor; a fifth that the symbol alters is not safe."""
    (tmp_path / "lab.abc").write_text(LAB)
    audit = linecheck.audit(tmp_path / "lab.abc", tmp_path / "lab.abc")
    notes = {(note.chord, note.degree): note for note in audit.labels.notes}
    for chord, degree, function, name, on_badge, words in (
        ("G7sus4", "4", "third", "suspended fourth", "4", "in the third's place"),
        ("C6", "6", "seventh", "sixth", "6", "in the seventh's place"),
        ("A7alt", "b5", "fifth", "flat fifth", "5", "it colours the chord"),
        ("A7alt", "#5", "fifth", "sharp fifth", "5", "it colours the chord"),
        ("Cmaj7", "3", "third", "third", "3", "the third: it tells major from minor"),
        ("Cmaj7", "5", "fifth", "fifth", "5", "the fifth: safe, it tells little"),
    ):
        note = notes[chord, degree]
        assert note.function == function  # as the contract has it
        assert tone_name(function, degree) == name
        assert letter(function, degree) == on_badge
        assert note_in_words(note).endswith(words)
        assert f'id="{badge_id(function, degree)}"' in mark_symbols()
