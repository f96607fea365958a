from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from linecheck.report.course_picture import course_picture
from linecheck.report.feel_picture import feel_picture
from linecheck.report.form_map_picture import form_map_picture
from linecheck.report.form_strip import form_strips
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


def test_a_written_line_has_no_time_feel():
    written = replace(AUDIT, line=replace(AUDIT.line, grid="written"))
    assert feel_picture(written) is None
