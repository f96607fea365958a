"""The page of a class in a real browser: phone and desk, dark and light, hostile and long names."""

from __future__ import annotations

import pytest

from linecheck import read_rubric
from linecheck.grade.class_page import write_class_page
from tests.grade.invented_class import class_rows, graded, refused

HOSTILE = '"><script>alert(1)</script>'


@pytest.fixture(scope="module")
def page_file(tmp_path_factory):
    rows = [
        *class_rows(85),
        graded(HOSTILE, "ruben"),
        graded("Interlude-" * 12, "edda"),
        refused("Interlude-" * 12, "Interlude-" * 20),
    ]
    file = tmp_path_factory.mktemp("class") / "class.html"
    page = write_class_page(
        rows, read_rubric(), title=HOSTILE, pass_mark=85.0, ranking=True,
        links=lambda _: {"report": "reports/a b.html"},
    )  # fmt: skip
    file.write_text(page, encoding="utf-8")
    return file


@pytest.mark.parametrize("width", [390, 800, 1200, 1600])
def test_what_a_teacher_needs_is_in_sight(browser, tmp_path, width):
    file = tmp_path / "class.html"
    page = write_class_page(
        class_rows(85), read_rubric(), title="Tuesday", pass_mark=85.0, ranking=True,
        links=lambda _: {"report": "reports/a.html", "points": "appeals/a.txt"},
    )  # fmt: skip
    file.write_text(page, encoding="utf-8")
    page = browser.new_context(viewport={"width": width, "height": 900}).new_page()
    page.goto(file.as_uri())
    ends = page.evaluate(
        "[...document.querySelectorAll('.takes strong, .takes a')]"
        ".map(e => e.getBoundingClientRect().right)"
    )
    high = page.evaluate(
        "Math.max(...[...document.querySelectorAll('.takes tbody tr')].map(e => e.offsetHeight))"
    )
    cut = page.evaluate(
        "(e => e.scrollWidth - e.clientWidth)(document.querySelector('.takes').parentElement)"
    )
    assert max(ends) <= width
    assert high <= 110
    assert width < 800 or cut <= 0


@pytest.mark.parametrize(
    ("width", "theme"), [(390, "light"), (390, "dark"), (1440, "light"), (1440, "dark")]
)
def test_it_fits_the_window_asks_for_nothing_and_axe_finds_nothing_serious(
    browser, page_file, width, theme
):
    axe = pytest.importorskip(
        "axe_playwright_python.sync_playwright", reason="pip install axe-playwright-python"
    )
    troubles = []
    page = browser.new_context(
        viewport={"width": width, "height": 900}, color_scheme=theme, bypass_csp=True
    ).new_page()
    page.on("console", lambda m: troubles.append(m.text))
    page.on("pageerror", lambda e: troubles.append(str(e)))
    page.on("dialog", lambda d: troubles.append(d.message) or d.dismiss())
    page.on("request", lambda r: troubles.append(r.url) if r.url != page_file.as_uri() else 0)
    page.goto(page_file.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.locator("h1").inner_text() == HOSTILE
    found = axe.Axe().run(page).response["violations"]
    told = [
        (v["id"], v["impact"], v["nodes"][0]["html"][:200])
        for v in found
        if v["impact"] in ("serious", "critical", "moderate")
    ]
    assert told == []
    assert troubles == []


def test_no_empty_line_stands_in_a_row_however_long_the_name(browser, tmp_path):
    file = tmp_path / "class.html"
    page = write_class_page(
        [graded("Ana " + "il"[n % 2] * n, "edda") for n in range(30)], read_rubric(), title="Tue",
        links=lambda _: {"report": "reports/a.html", "points": "appeals/a.txt"},
    )  # fmt: skip
    file.write_text(page, encoding="utf-8")
    shown = browser.new_context(viewport={"width": 390, "height": 900}).new_page()
    shown.goto(file.as_uri())
    for width in range(390, 1000, 90):
        shown.set_viewport_size({"width": width, "height": 900})
        gaps = shown.evaluate(
            "[...document.querySelectorAll('.takes th .file')].map(file => "
            "file.getBoundingClientRect().top - [...file.parentNode.querySelectorAll('a')].at(-1)"
            ".getClientRects()[0].bottom)"
        )
        assert len(gaps) == 30
        assert max(gaps) < 8
