"""The plan as a page and on paper: every exercise is drawn, every word is text."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pypdf
import pytest

from linecheck.practice import drill
from linecheck.practice.as_html import write_html
from linecheck.practice.as_pdf import write_pdf
from linecheck.report.engraving import engrave
from tests.hand_made_audit import hand_made_audit


@pytest.fixture(scope="module")
def plan():
    return drill(hand_made_audit(), bars=((1, 2),))


@pytest.fixture(scope="module")
def page(plan):
    return write_html(plan)


def test_every_exercise_is_on_the_page_for_a_sheet_and_for_a_phone(plan, page):
    exercises = plan.spots[0].exercises
    for nth, exercise in enumerate(exercises):
        assert f"<h3>1{'abcdefghij'[nth]}. {exercise.title}</h3>" in page
        assert exercise.aim in page
    for kind in ("sheet", "phone"):
        drawn = re.findall(rf'(?s)<div class="{kind}">(.*?)</div>', page)
        assert len(drawn) == len(exercises)
        for svgs, exercise in zip(drawn, exercises, strict=True):
            heads = len(re.findall(r'href="#f-', svgs))
            assert heads == len(exercise.sheet.labels.notes)  # a label under every note


def test_the_page_warns_and_loads_nothing(page):
    assert "If a hand hurts, stop and ask a teacher or a doctor." in page
    assert "default-src &#39;none&#39;" in page or "default-src 'none'" in page
    assert not re.search(r'(?:src|href)="(?!#)', page)


def test_a_title_never_becomes_markup():
    audit = hand_made_audit(title="<b>Stomp</b>")
    page = write_html(drill(audit, bars=((1, 1),)))
    assert "<b>Stomp" not in page
    assert "&lt;b&gt;Stomp" in page


def test_repeat_signs_stand_around_the_loop(plan):
    exercise = plan.spots[0].exercises[0]
    plain = engrave(exercise.sheet).choruses[0].systems[0].markup
    signs = engrave(exercise.sheet, repeated=2).choruses[0].systems[0].markup
    dots = [text.count("<ellipse") + text.count("<use") for text in (plain, signs)]
    assert dots[1] - dots[0] >= 4


@pytest.mark.parametrize(("paper", "points"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_the_paper_tells_it_all(plan, paper, points):
    read = pypdf.PdfReader(io.BytesIO(write_pdf(plan, paper=paper)))
    size = read.pages[0].mediabox
    assert (round(float(size.width)), round(float(size.height))) == points
    text = " ".join(" ".join(page.extract_text() for page in read.pages).split())
    assert "Hand-made Stomp" in text
    assert "1a. Landings only" in text
    assert "ask a teacher or a doctor" in text


def test_a_paper_that_there_is_not_is_told(plan):
    with pytest.raises(ValueError, match="'a5' is no paper"):
        write_pdf(plan, paper="a5")


def test_page_and_paper_are_the_same_every_time(plan, page):
    assert write_html(plan) == page
    assert write_pdf(plan) == write_pdf(replace(plan))
