from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from linecheck.report.course_picture import course_picture
from linecheck.report.feel_picture import feel_picture
from linecheck.report.form_map_picture import form_map_caption, form_map_picture
from linecheck.report.form_strip import form_strips
from linecheck.terms import FormSpan, Loss
from tests.report.invented_audits import audit_of

AUDIT = audit_of(choruses=4)
SVG = "{http://www.w3.org/2000/svg}"
PICTURES = [course_picture, form_map_picture, feel_picture]


@pytest.mark.parametrize("picture", PICTURES)
def test_a_picture_opens_as_a_file_of_its_own(picture):
    root = ET.fromstring(picture(AUDIT, setting="file"))
    assert root.tag == f"{SVG}svg"
    assert root.get("aria-label")
    assert float(root.get("width")) > 300
    assert not list(root.iter(f"{SVG}a"))


@pytest.mark.parametrize("picture", PICTURES)
@pytest.mark.parametrize("choruses", [1, 20])
def test_everything_is_drawn_inside_the_picture(picture, choruses):
    root = ET.fromstring(picture(audit_of(choruses=choruses), setting="print"))
    _, _, width, height = (float(n) for n in root.get("viewBox").split())
    for shape in root.iter():
        x, y = float(shape.get("x", 0)), float(shape.get("y", 0))
        assert 0 <= x <= width, ET.tostring(shape)
        assert 0 <= y <= height, ET.tostring(shape)
        assert y + float(shape.get("height") or 0) <= height + 0.01 or shape is root


def test_the_form_map_has_a_link_for_every_bar_and_says_its_state():
    root = ET.fromstring(form_map_picture(AUDIT))
    links = {a.get("href"): a.get("aria-label") for a in root.iter("a")}
    assert len(links) == 4 * 12
    assert links["#c2b5"] == "Chorus 2, bar 5: ahead of the form"
    for strip in form_strips(AUDIT):
        for bar in range(1, 13):
            assert f"#c{strip.chorus}b{bar}" in links


def test_a_lost_bar_differs_from_one_in_place_by_more_than_colour():
    root = ET.fromstring(form_map_picture(AUDIT))
    shapes = {a.get("href"): [c.tag for c in a] for a in root.iter("a")}
    assert shapes["#c2b6"] != shapes["#c1b6"]


def test_the_course_tells_every_chorus_in_words():
    label = ET.fromstring(course_picture(AUDIT)).get("aria-label")
    for score in AUDIT.judgement.choruses:
        assert f"chorus {score.chorus} {score.commitment:.0f}" in label


def test_a_chorus_in_which_the_form_is_lost_differs_from_one_that_is_still_lost():
    lost = replace(AUDIT, line=replace(AUDIT.line, losses=(Loss(480, "ahead", 4.0, 1200, 0.9),)))
    root = ET.fromstring(course_picture(lost))
    rings = [c.get("stroke-dasharray") for c in root.iter("circle") if c.get("r") == "7.5"]
    assert rings == [None, "3 2.5", "3 2.5"]
    texts = [text.text for text in root.iter("text")]
    assert "the form is lost here" in texts
    assert "still lost" in texts
    told = root.get("aria-label")
    assert told.count("the form is lost") == 1
    assert told.count("still lost") == 2
    perhaps = replace(lost.line.losses[0], certain=False)
    doubtful = replace(lost, line=replace(lost.line, losses=(perhaps,)))
    assert "lost" not in course_picture(doubtful)


def test_bars_that_were_not_played_have_an_edge_in_map_and_legend():
    played = replace(AUDIT, line=replace(AUDIT.line, spans=AUDIT.line.spans[:-1]), labels=replace(
        AUDIT.labels, landings=()))  # fmt: skip
    root = ET.fromstring(form_map_picture(played))
    broken = [box for box in root.iter("rect") if box.get("stroke-dasharray")]
    unplayed = sum(strip.bars.count("unplayed") for strip in form_strips(played))
    assert unplayed
    assert len(broken) == unplayed + 1  # and the legend's
    assert all(box.get("stroke") == "currentColor" for box in broken)


def test_the_rows_of_a_long_form_are_numbered_by_bar():
    assert form_map_caption(AUDIT.chart) == "A row is a chorus, a box is a bar."
    bars = tuple(
        replace(AUDIT.chart.bars[n % 12], number=n + 1, opens_section=n % 64 == 0)
        for n in range(256)
    )
    long = replace(AUDIT, chart=replace(AUDIT.chart, bars=bars), line=replace(
        AUDIT.line, choruses=1, spans=(), losses=()))  # fmt: skip
    texts = [text.text for text in ET.fromstring(form_map_picture(long)).iter("text")]
    for number in range(1, 256, 16):
        assert str(number) in texts
    assert form_map_caption(long.chart).startswith("A chorus takes 16 rows, each behind the")


def test_every_section_keeps_its_name_whatever_happened_in_its_bar():
    bars = tuple(
        replace(AUDIT.chart.bars[n % 12], number=n + 1, section="B" if n >= 12 else "A",
                opens_section=n % 12 == 0)
        for n in range(24)
    )  # fmt: skip
    audit = replace(AUDIT, chart=replace(AUDIT.chart, bars=bars), line=replace(
        AUDIT.line, choruses=2, spans=(FormSpan(0, 24 * 48 * 2, 4.0, 0.9),)))  # fmt: skip
    root = ET.fromstring(form_map_picture(audit))
    for cell, name in (("#c1b1", "A"), ("#c1b13", "B"), ("#c2b13", "B")):
        (link,) = [a for a in root.iter("a") if a.get("href") == cell]
        assert link.get("aria-label").endswith("ahead of the form")
        assert [text.text for text in link.iter("text")] == [name]
        sign = link.find("g").get("transform")
        assert "scale" in sign  # small, so that the name is seen


def test_a_written_line_has_no_time_feel():
    written = replace(AUDIT, line=replace(AUDIT.line, grid="written"))
    assert feel_picture(written) is None
