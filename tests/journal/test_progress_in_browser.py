"""The page of courses as a teacher meets it: a real browser, phone and desk, dark and light."""

from __future__ import annotations

import pytest

from linecheck.journal import courses, write_courses_html
from tests.journal.invented_entries import entry_like
from tests.journal.test_progress_command import mira

HOSTILE = '"><script>alert(1)</script><img src=x onerror=alert(2)>'
SIZES = {"phone": (390, 844), "desk": (1440, 900)}


@pytest.fixture(scope="module")
def page_file(tmp_path_factory):
    entries = [
        *mira(),
        entry_like(student=HOSTILE, take=HOSTILE, chart=HOSTILE),
        entry_like(student="", take="Interlude-" * 12, chart="Interlude-" * 12),
    ]
    file = tmp_path_factory.mktemp("progress") / "progress.html"
    file.write_text(write_courses_html(courses(entries)), encoding="utf-8")
    return file


@pytest.fixture
def open_page(browser, page_file):
    """Opens the page; in the end no error, warning, dialog or request may have happened."""
    troubles, contexts = [], []

    def opened(size="desk", **options):
        width, height = SIZES[size]
        context = browser.new_context(viewport={"width": width, "height": height}, **options)
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda m: troubles.append(m.text))
        page.on("pageerror", lambda e: troubles.append(str(e)))
        page.on("dialog", lambda d: troubles.append(d.message) or d.dismiss())
        page.on(
            "request",
            lambda r: None if r.url == page_file.as_uri() else troubles.append(r.url),
        )
        page.goto(page_file.as_uri())
        return page

    yield opened
    for context in contexts:
        context.close()
    assert troubles == []


@pytest.mark.parametrize("size", SIZES)
def test_nothing_is_wider_than_the_window(open_page, size):
    page = open_page(size)
    assert page.evaluate("document.documentElement.scrollWidth") <= SIZES[size][0]


def test_the_overview_fits_a_desk(browser, tmp_path):
    both = [
        entry_like(
            student="Maximiliane",
            class_name=day,
            take=f"{day}.mid",
            chart="Tollgate Shuffle",
            choruses=12,
            date=date,
        )
        for day in ("Dienstag", "Montag")
        for date in ("2026-03-01", "2026-03-08", "2026-03-15", "2026-03-22")
    ]
    file = tmp_path / "progress.html"
    file.write_text(write_courses_html(courses(both)), encoding="utf-8")
    page = browser.new_page(viewport={"width": 1200, "height": 900})
    page.goto(file.as_uri())
    table = page.locator(".scroll").first
    assert table.evaluate("it => it.scrollWidth <= it.clientWidth")
    page.close()


@pytest.mark.parametrize(("size", "theme"), [("phone", "light"), ("desk", "dark")])
def test_axe_finds_nothing_serious(open_page, size, theme):
    axe = pytest.importorskip(
        "axe_playwright_python.sync_playwright", reason="pip install axe-playwright-python"
    )
    page = open_page(size, color_scheme=theme, bypass_csp=True)
    found = axe.Axe().run(page).response["violations"]
    told = [
        (v["id"], v["impact"], v["nodes"][0]["html"][:200])
        for v in found
        if v["impact"] in ("serious", "critical", "moderate")
    ]
    assert told == []


def test_names_stay_text(open_page):
    page = open_page()
    assert page.locator("h3", has_text="<script>alert(1)").count() == 1
    assert page.locator("img").count() == 0


def test_every_measure_is_drawn_and_told(open_page):
    page = open_page()
    course = page.locator(".course", has_text="6 takes")
    labels = [p.get_attribute("aria-label") for p in course.locator("svg[role=img]").all()]
    assert len(labels) == 5
    assert labels[0].startswith("commitment of 100: 2026-03-01 58, 2026-03-08 61, ")
    # A wall where the rubric changes, and none where it does not matter.
    assert [("another rubric" in p.inner_html()) for p in course.locator("svg").all()] == [
        True, False, False, False, False,
    ]  # fmt: skip
    assert course.locator("tr.break").count() == 1


def test_the_keyboard_leads_from_the_table_to_the_student(open_page):
    page = open_page()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Mira"
    page.keyboard.press("Enter")
    page.wait_for_url("**#student-2-1", timeout=8000)


def test_paper_shows_every_take(open_page, tmp_path):
    pypdf = pytest.importorskip("pypdf", reason="pip install pypdf")
    page = open_page()
    file = tmp_path / "progress.pdf"
    page.pdf(path=str(file), format="A4")
    text = " ".join(p.extract_text() for p in pypdf.PdfReader(str(file)).pages)
    assert "2026-04-05" in text
    assert "another rubric from here on" in text
