"""The style of a chorus, from rhythms alone."""

from __future__ import annotations

import numpy as np
import pytest

from linecheck.label import label_line
from linecheck.music.form import Form
from linecheck.terms import Meter
from tests.label_lines import chart_of, label, line_of, notes_of, placed
from tests.synthetic.charts import named_charts
from tests.synthetic.lines import (
    SOLO_FAMILIES,
    WALKING_FAMILIES,
    SoloStyle,
    WalkingStyle,
    generate_solo,
    generate_walking,
)

BARS = chart_of("| F7 | Bb7 | F7 | F7 | Bb7 | Bb7 | F7 | D7 |")
WALK = "F2 A2 C3 A2"
SKIP = "F2 A2:0.67 A2:0.33 C3 A2"
SWUNG = "F2:0.67 F2:0.33 A2 C3:0.67 G2:0.33 A2"
TRIPLETS = "F2 A2:0.33 A2:0.34 A2:0.33 C3 A2"
HALVES = "F2:2 C3:2"
RUN = "F2:0.5 G2:0.5 A2:0.5 C3:0.5 D3:0.5 C3:0.5 A2:0.5 F2:0.5"
OFFS = "-:0.5 A2:1 C3:1 D3:1 F3:0.5"
PHRASE_ON_TWO = "- C3:0.5 D3:0.5 F3:1.5 -:0.5"
PHRASE = "C3:0.5 D3:0.5 F3:0.5 C3:1.5 -"


def styles_of(*bars, choruses=1, chart=BARS):
    return label(" ".join(bars), chart, choruses).styles


@pytest.mark.parametrize(
    "bar", [WALK, SKIP, SWUNG, TRIPLETS, HALVES, "F2:4", "F2 - C3 -", "F2:3 C3"]
)
def test_bars_that_walk(bar):
    assert styles_of(*[bar] * 8) == ("walking",)


@pytest.mark.parametrize("bar", [RUN, OFFS, PHRASE, RUN.replace("A2:0.5 F2:0.5", "A2")])
def test_bars_that_solo(bar):
    assert styles_of(*[bar] * 8) == ("solo",)


def test_half_and_half_is_mixed_and_says_where():
    labels = label(" ".join([WALK] * 4 + [RUN] * 4), BARS)
    assert labels.styles == ("mixed",)
    assert labels.solo_bars == (False,) * 4 + (True,) * 4


def test_a_fill_leaves_a_walking_chorus_walking():
    chart = chart_of("|".join(["F7"] * 16))
    assert styles_of(*[WALK] * 15, RUN, chart=chart) == ("walking",)


def test_each_chorus_has_its_own():
    bars = [WALK] * 8 + [RUN] * 8
    assert styles_of(*bars, choruses=2) == ("walking", "solo")


def test_a_silent_chorus_has_the_style_around_it():
    assert styles_of(*[RUN] * 8, "-:32", *[WALK] * 8, choruses=3) == ("solo", "solo", "walking")
    assert styles_of("-:32", *[RUN] * 8, choruses=2) == ("solo", "solo")
    assert label("F2x", BARS).styles == ("walking",)


def test_ghosts_make_no_bar_busy():
    bar = "F2:0.5 F2:0.5x A2:0.5 A2:0.5x C3:0.5 C3:0.5x A2:0.5 A2:0.5x"
    assert styles_of(*[bar] * 8) == ("walking",)
    assert styles_of(*[bar.replace("x", "")] * 8) == ("solo",)


def test_a_waltz_walks_in_three_and_in_one():
    chart = chart_of("|".join(["F7"] * 8), meter=Meter(3, 4))
    for bar in ("F2 A2 C3", "F2:3", "F2 A2:0.5 A2:0.5 C3", "F2:2 C3"):
        assert styles_of(*[bar] * 8, chart=chart) == ("walking",)
    assert styles_of(*["F2:0.5 A2:0.5 C3:0.5 A2:0.5 F2:0.5 E2:0.5"] * 8, chart=chart) == ("solo",)


def test_in_cut_time_a_bassist_walks_in_quarters():
    chart = chart_of("|".join(["F7"] * 8), meter=Meter(2, 2))
    assert styles_of(*["F2:0.5 A2:0.5 C3:0.5 A2:0.5"] * 8, chart=chart) == ("walking",)
    assert styles_of(*["F2:0.25 A2:0.25 C3:0.25 A2:0.25"] * 16, chart=chart) == ("solo",)


def test_a_note_a_little_before_its_bar_is_struck_on_its_beat_one():
    notes = tuple(placed(48 * bar - (1 if bar else 0), 41, 40) for bar in range(8))
    assert label(notes, BARS).styles == ("walking",)


def test_notes_before_the_first_chorus_are_not_asked():
    notes = (*notes_of(RUN, step=-48), *notes_of(" ".join([WALK] * 8)))
    assert label(notes, BARS).styles == ("walking",)


def placed_line(line, chart, choruses):
    ordered = sorted(line, key=lambda note: note.step)
    notes = (placed(n.step, n.pitch, max(1, n.end_step - n.step), n.velocity) for n in ordered)
    return line_of(tuple(notes), chart, choruses)


def share_of(style, make):
    found = []
    for seed, chart in enumerate(named_charts()):
        line = placed_line(make(chart, np.random.default_rng(seed)), chart, 2)
        found.extend(label_line(line, Form(chart, 2), chart.key).styles)
    return sum(of_chorus == style for of_chorus in found) / len(found)


@pytest.mark.parametrize("family", WALKING_FAMILIES)
def test_invented_walking_lines_of_every_kind_walk(family):
    def make(chart, rng):
        return generate_walking(chart, 2, rng, WalkingStyle.draw(rng, family))

    assert share_of("walking", make) == 1.0


@pytest.mark.parametrize("family", SOLO_FAMILIES)
def test_invented_solos_of_every_kind_mostly_solo(family):
    def make(chart, rng):
        return generate_solo(chart, 2, rng, SoloStyle.draw(rng, family))

    assert share_of("walking", make) == 0.0
    assert share_of("solo", make) >= (0.6 if family == "guide" else 0.8)


def test_phrases_mostly_on_the_beat_that_breathe_are_a_solo():
    assert styles_of(*[PHRASE_ON_TWO, "-:4"] * 4) == ("solo",)


def test_a_walking_line_that_leaves_notes_out_does_not_solo():
    gaps = ["F2 A2 C3 A2", "F2 A2 - A2", "F2 - C3 A2", "F2 A2 C3 -"] * 2
    assert styles_of(*gaps) == ("walking",)
    assert styles_of(*["F2 A2 -:2"] * 2, *[WALK] * 6) == ("walking",)


def test_one_bar_of_walking_within_a_solo_is_of_the_solo():
    labels = label(" ".join([RUN] * 3 + [WALK] + [RUN] * 4), BARS)
    assert labels.styles == ("solo",)
    assert all(labels.solo_bars)
