"""A line written in another meter than its chart is told so; what only looks so is not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from linecheck import audit
from linecheck.judge import meter_doubts
from linecheck.read import read_take
from linecheck.read.chart_toml import parse_chart_toml
from tests.read.small_scores import BASS_CLEF, TIME_44, measure, note, part, score

BAR = {"4/4": "C,E,G,E,|", "3/4": "C,E,G,|", "2/4": "C,E,|", "12/8": "C,3E,3|", "6/4": "C,6|"}


def chart(meter="4/4", bridge=None):
    form = '["A", "B"]' if bridge else '["A"]'
    section = f'B = {{ meter = "{bridge}", bars = "| F7 |" }}' if bridge else ""
    return parse_chart_toml(
        f'title = "x"\nkey = "C"\nmeter = "{meter}"\nform = {form}\n'
        f'[sections]\nA = "| C7 | F7 | C7 | G7 |"\n{section}'
    )


@pytest.fixture
def line(tmp_path):
    def written(body, meter="4/4"):
        file = tmp_path / "line.abc"
        file.write_text(f"X:1\nT:Line\nM:{meter}\nL:1/4\nK:C clef=bass-8\n{body}\n")
        return read_take(file)

    return written


@pytest.mark.parametrize(
    ("meter", "of_chart", "bridge", "named"),
    [
        ("3/4", "4/4", None, "4/4"),
        ("4/4", "3/4", None, "3/4"),
        ("12/8", "4/4", None, "4/4"),
        ("3/4", "4/4", "5/4", "4/4 and 5/4"),
    ],
)
def test_another_meter_is_told(line, meter, of_chart, bridge, named):
    said = (
        f"the line is written in {meter}, the chart is in {named}: their bars do not fall together"
    )
    take, over = line(16 * BAR[meter], meter), chart(of_chart, bridge)
    assert meter_doubts(take, over) == (said,)
    assert said in audit(over, take).warnings


@pytest.mark.parametrize(
    ("body", "meter", "over"),
    [
        (8 * BAR["4/4"], "4/4", chart()),
        ("G,|" + 7 * BAR["4/4"] + "C,E,G,|", "4/4", chart()),  # a pickup and the last bar
        (6 * BAR["4/4"] + "[M:3/4]" + BAR["3/4"] + "[M:4/4]" + BAR["4/4"], "4/4", chart()),
        (4 * BAR["4/4"] + "[M:3/4]" + BAR["3/4"], "4/4", chart(bridge="3/4")),
        (16 * BAR["2/4"], "2/4", chart()),
        (8 * BAR["4/4"], "C|", chart()),
        (8 * BAR["3/4"], "3/4", chart("6/4")),
        (8 * BAR["4/4"], "3/4", chart()),  # the bars themselves are of four beats
    ],
)
def test_what_is_no_other_meter(line, body, meter, over):
    assert meter_doubts(line(body, meter), over) == ()


def test_a_line_in_musicxml_is_asked_too(tmp_path):
    three = TIME_44.replace("<beats>4", "<beats>3")
    bar = measure(note("C2", 12), note("E2", 12), note("G2", 12))
    file = tmp_path / "line.musicxml"
    file.write_text(score(part(*[bar] * 8, attributes=three + BASS_CLEF)))
    assert meter_doubts(read_take(file), chart("3/4")) == ()
    (said,) = meter_doubts(read_take(file), chart())
    assert said.startswith("the line is written in 3/4, the chart is in 4/4")


def test_a_played_file_says_its_meter_only_where_somebody_set_it(line):
    waltz, common = line(16 * BAR["3/4"], "3/4"), line(16 * BAR["4/4"], "4/4")
    said = "the file is in 3/4, the chart is in 4/4: their bars do not fall together"
    assert meter_doubts(replace(waltz, kind="played"), chart()) == (said,)
    assert meter_doubts(replace(waltz, kind="played"), chart("3/4")) == ()
    assert meter_doubts(replace(common, kind="played"), chart("3/4")) == ()
