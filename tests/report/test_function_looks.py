from __future__ import annotations

import pytest

from linecheck.report.function_looks import LOOKS, approach_in_words
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
