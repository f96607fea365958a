"""What a line does over and over is told with its bars; a varied line shows none."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linecheck.demo import demo_takes
from linecheck.judge.patterns import RULES, _Bars, _rhythms, find_patterns
from linecheck.label import label_line
from linecheck.music.form import Form
from linecheck.report.patterns_in_words import pattern_places, pattern_sentence
from linecheck.steps import audit
from linecheck.terms import Key, Meter, Pattern, Section
from tests.judge.random_lines import audit as labelled
from tests.judge.random_lines import lines
from tests.label_lines import chart_of, label, line_of, placed

CHART = chart_of("| F7 | Bb7 | F7 | C7 |" * 2)
ROOTS = (29, 34, 29, 36)  # F1 Bb1 F1 C2


def walked(bars, chart=CHART, choruses=3):
    """Labels of a line of quarter notes: ``bars`` gives the pitches of bar n of the take."""
    notes = tuple(
        placed(48 * bar + 12 * beat, pitch)
        for bar in range(8 * choruses)
        for beat, pitch in enumerate(bars(bar))
    )
    return label(notes, chart, choruses)


def found(labels):
    return {pattern.kind: pattern for pattern in find_patterns(labels)}


def test_the_same_bar_over_and_over_has_every_pattern_of_a_beginner():
    made = found(walked(lambda bar: [ROOTS[bar % 4] + up for up in (0, 4, 7, 10)]))
    assert made["same figure"].what == "1 up to 3 up to 5 up to b7"
    assert (made["same figure"].times, made["same figure"].of) == (24, 24)
    assert made["same figure"].bars[:9] == tuple((1 + n // 8, n % 8 + 1) for n in range(9))
    assert made["root on one"].times == 24
    assert (made["one direction"].what, made["one direction"].times) == ("up", 24)
    assert set(made) == {"same figure", "root on one", "one direction"}


def test_approaches_from_below_only():
    """The last beat leads up by a half step into the next root; over F7 it is the third of it."""
    made = found(walked(lambda bar: [ROOTS[bar % 4], ROOTS[bar % 4] + 7, ROOTS[bar % 4] + 4,
                                     ROOTS[(bar + 1) % 4] - 1]))  # fmt: skip
    assert (made["one side"].what, made["one side"].times, made["one side"].of) == ("below", 12, 12)


def test_one_approach_of_eight_from_above_is_enough_for_none():
    made = found(walked(lambda bar: [ROOTS[bar % 4], ROOTS[bar % 4] + 7, ROOTS[bar % 4] + 4,
                                     ROOTS[(bar + 1) % 4] + (1 if bar % 8 == 0 else -1)]))  # fmt: skip
    assert "one side" not in made


def test_a_part_of_the_bass_that_is_never_used():
    high = found(walked(lambda bar: [ROOTS[bar % 4] + up for up in (12, 7, 16, 12)]))
    assert high["unused range"].what == "below 33"
    low = found(walked(lambda bar: [ROOTS[bar % 4] + up for up in (0, 4, 7, 4)]))
    assert low["unused range"].what == "above 43"
    assert low["unused range"].bars == ()


def test_a_solo_in_one_rhythm():
    def bar(number, rhythm):
        return [placed(48 * number + at, 41 + (at * 7 + number) % 13, 5) for at in rhythm]

    one, other = (0, 6, 18, 30, 42), (6, 12, 18, 30, 36)
    same = label(tuple(n for b in range(16) for n in bar(b, one)), CHART, 2)
    assert same.styles == ("solo", "solo")
    pattern = found(same)["same rhythm"]
    assert (pattern.what, pattern.times, pattern.of) == ("1 1.5 2.5 3.5 4.5", 16, 16)
    mixed = label(
        tuple(n for b in range(16) for n in bar(b, (one, other, one[1:], other[2:])[b % 4])),
        CHART, 2,
    )  # fmt: skip
    assert mixed.styles == ("solo", "solo")
    assert "same rhythm" not in found(mixed)


class CountedPlace:
    """The place of a note, and how often it was looked at."""

    looks = 0

    def __init__(self, beat):
        self._beat = beat

    @property
    def beat(self):
        CountedPlace.looks += 1
        return self._beat


def test_many_rhythms_are_not_sought_one_by_one():
    places = {
        (1 + bar // 12, bar % 12 + 1): [
            SimpleNamespace(place=CountedPlace(1 + (bar % 50) / 60 + at)) for at in range(4)
        ]
        for bar in range(1000)
    }
    CountedPlace.looks = 0
    assert list(_rhythms("solo", _Bars(places, {}))) == []
    assert CountedPlace.looks == 4000
    for bar, notes in enumerate(places.values()):  # now one rhythm has half of the bars
        for at, note in enumerate(notes):
            note.place = CountedPlace(1 + at if bar % 2 else 1 + (bar % 50) / 60 + at)
    (pattern,) = _rhythms("solo", _Bars(places, {}))
    # A bar in fifty is the same by its own count.
    assert (pattern.what, pattern.times, pattern.of) == ("1 2 3 4", 520, 1000)
    assert pattern.bars[:2] == ((1, 1), (1, 2))


@pytest.mark.parametrize("kind", RULES)
def test_too_few_bars_mean_nothing(kind):
    bars = RULES[kind].least // 8
    short = walked(lambda bar: [ROOTS[bar % 4] + up for up in (0, 4, 7, 10)], choruses=1)
    assert bars > 1 or kind in ("one side", "same rhythm")
    assert kind not in found(short)


def test_ghosts_and_bars_without_a_chord_are_not_asked():
    silent = chart_of("| N.C. | N.C. | N.C. | N.C. |" * 2)
    assert find_patterns(walked(lambda bar: [ROOTS[bar % 4]] * 4, silent)) == ()


# ---- varied lines show none ------------------------------------------------------------------


@cache
def audits():
    return {take.name: audit(take.chart, take.take) for take in demo_takes()}


@pytest.mark.parametrize("name", [take.name for take in demo_takes()])
def test_the_demo_takes_show_none(name):
    assert audits()[name].patterns == ()


def test_basses_of_chorales_show_none():
    """music21's corpus (public domain), a dozen basses in a row over chords read off the staff.

    They are sung, so that the strings of a double bass say nothing of them.
    """
    from music21 import corpus

    from tests.measure_form_corpus import piece

    bars, notes, at = [], [], 0
    for number in (10, 13, 67, 151, 155, 253, 254, 255, 256, 257, 258, 259):
        path = next(p for p in corpus.getComposer("bach") if f"bwv{number}." in str(p))
        made = piece(str(path))
        if made is None or made[0].meter != Meter(4, 4):
            continue
        chart, parts = made
        length = 48 * len(chart.bars)
        notes += [
            placed(at + n.step, n.pitch, n.end_step - n.step)
            for n in parts["bass"]
            if n.step < length
        ]
        bars += [replace(bar, number=len(bars) + 1 + i) for i, bar in enumerate(chart.bars)]
        at += length
    assert len(bars) >= 60
    whole = replace(chart, bars=tuple(bars), sections=(Section("A", 1, len(bars)),))
    labels = label_line(line_of(tuple(notes), whole), Form(whole, 1), whole.key)
    for style in ("walking", "solo"):
        kinds = {p.kind for p in find_patterns(replace(labels, styles=(style,)))}
        assert kinds <= {"unused range"}, style


def test_lines_by_lot_show_none():
    """Pitches by lot in the range of the bass, over 48 bars."""
    rng = np.random.default_rng(3)
    for _ in range(10):
        labels = walked(lambda _: [int(p) for p in rng.integers(28, 50, 4)], choruses=6)
        assert find_patterns(labels) == ()


# ---- what changes nothing --------------------------------------------------------------------


@settings(max_examples=30, deadline=None)
@given(lines(in_place=True), st.integers(1, 11))
def test_transposing_changes_no_pattern_but_the_range(made, shift):
    bars, line = made
    moved = replace(line, notes=tuple(replace(n, pitch=n.pitch + shift) for n in line.notes))

    def told(labels):
        return [
            (p.kind, p.times, p.of, p.bars)
            for p in find_patterns(labels)
            if p.kind != "unused range"
        ]

    assert told(labelled(bars, moved, shift)[0]) == told(labelled(bars, line)[0])


@pytest.mark.parametrize(
    ("pattern", "said"),
    [
        (Pattern("same figure", "walking", "1 up to 3 and 3", 6, 24, ((1, 1),)),
         "the same figure in 6 of 24 bars walked: 1 up to 3 and 3"),
        (Pattern("root on one", "solo", "the root", 20, 20, ()),
         "the root on beat one in 20 of 20 bars of the solo"),
        (Pattern("one side", "walking", "below", 14, 14, ()),
         "14 of 14 approaches by a step come from below in walking"),
        (Pattern("one direction", "walking", "down", 12, 20, ()), "12 of 20 bars walked run straight down"),
        (Pattern("unused range", "walking", "below 33", 24, 24, ()), "no note below A1 in 24 bars walked"),
        (Pattern("same rhythm", "solo", "1 2.5", 8, 12, ()),
         "the same rhythm in 8 of 12 bars of the solo: notes on 1 2.5"),
    ],
)  # fmt: skip
def test_patterns_in_words(pattern, said):
    assert pattern_sentence(pattern, Key("F", minor=False)) == said


def test_the_bars_of_a_pattern_in_words():
    bars = ((1, 1), (1, 4), (2, 7))
    assert pattern_places(Pattern("same figure", "walking", "1", 3, 12, bars)) == (
        "chorus 1 bars 1 4; chorus 2 bar 7"
    )
    assert pattern_places(Pattern("root on one", "walking", "", 3, 3, bars)) == ""
