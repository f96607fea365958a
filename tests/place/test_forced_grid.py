"""A grid that was asked for is taken, and doubted aloud where the notes do not keep to it."""

from __future__ import annotations

from linecheck import audit
from linecheck.demo import demo_take


def doubts(name, click):
    take = demo_take(name)
    found = audit(take.chart, take.take, click=click)
    assert found.line.grid == ("tempo-map" if click else "tracked")
    return [text for text in found.warnings if "as was asked for" in text]


def test_a_free_take_on_a_forced_grid_is_doubted():
    (text,) = doubts("ruben", click=True)
    assert text.endswith("they are the grid as was asked for, and may mean nothing")


def test_a_take_to_a_click_is_not():
    assert doubts("mira", click=True) == []
    assert doubts("mira", click=False) == []
