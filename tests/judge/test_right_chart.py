"""Whether take and chart belong together: doubted where they do not, never where they do."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from linecheck import audit, read_chart, read_take
from linecheck.demo import demo_takes
from linecheck.report.findings_in_words import verdict
from linecheck.terms import Take, TakeNote, TempoMap
from tests.synthetic import second_player
from tests.synthetic.drawn_takes import draw_take
from tests.synthetic.players import graduate

TAKES = {take.name: take for take in demo_takes()}


def doubts(found):
    return [text for text in found.warnings if text.startswith("only ")]


@pytest.mark.parametrize("name", TAKES)
def test_no_demo_take_is_doubted_over_its_own_chart(name):
    assert doubts(audit(TAKES[name].chart, TAKES[name].take)) == []


@pytest.mark.parametrize(
    ("name", "shift", "said"),
    [
        ("bram", 1, "1 half step higher, in Ab (--key Ab)"),
        ("wen", -1, "1 half step lower, in D (--key D)"),
        ("wen", 3, "3 half steps higher, in Gb (--key Gb)"),
    ],
)
def test_a_line_in_another_key_is_told_so(name, shift, said):
    take = read_take(TAKES[name].take)
    moved = replace(
        take, notes=tuple(replace(note, pitch=note.pitch + shift) for note in take.notes)
    )
    found = audit(TAKES[name].chart, moved)
    (text,) = doubts(found)
    assert f"over this chart {said}: is the key right?" in text
    assert verdict(found).startswith("The line hardly fits this chart:") or found.line.losses


@pytest.mark.parametrize("half_steps", [-5, 2, 5])
def test_another_key_is_told_where_half_of_the_landings_are_met(half_steps):
    take = read_take(TAKES["lena"].take)
    moved = tuple(replace(note, pitch=note.pitch + half_steps) for note in take.notes)
    take = replace(take, notes=moved)
    (text,) = doubts(audit(TAKES["lena"].chart, take))
    way = "lower" if half_steps < 0 else "higher"
    assert f"over this chart {abs(half_steps)} half steps {way}, in " in text
    (key,) = re.findall(r"\(--key (\w+)\): is the key right\?", text)
    assert not doubts(audit(TAKES["lena"].chart, take, key=key))


@pytest.mark.parametrize("kind", ["clean walking", "clean solo", "solo", "adrift solo"])
@pytest.mark.parametrize("player", [second_player, graduate])
def test_a_key_is_named_where_it_is_another_and_not_where_it_is_right(kind, player):
    rng = np.random.default_rng(5)
    named, wrong, takes = 0, 0, 12
    for _ in range(takes):
        made = draw_take(rng, kind, player)
        half_steps = int(rng.choice([-5, -3, -2, 2, 3, 5]))
        by = f"{abs(half_steps)} half steps {'lower' if half_steps < 0 else 'higher'}"
        for moved in (0, half_steps):
            notes = tuple(
                TakeNote(n.step / 24, 0.4, n.pitch + moved, n.velocity, n.step / 12, 1.0)
                for n in made.line
            )
            grid = TempoMap((0.0,), (0.0,), (0.5,))
            said = doubts(audit(made.chart, Take("made", "written", notes, grid)))
            about_the_key = [text for text in said if text.endswith("is the key right?")]
            if moved:
                named += any(by in text for text in about_the_key)
            else:
                wrong += len(about_the_key)
    assert wrong == 0
    assert named > takes / 2


def test_a_line_over_another_tune_is_told_so():
    found = audit(read_chart(TAKES["bram"].chart), TAKES["wen"].take)
    (text,) = doubts(found)
    assert text.endswith("is it the right chart, and does chorus 1 begin where it says?")
