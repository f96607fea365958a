"""What all tests share: the browser, and how property tests draw.

Property tests draw the same examples in every run; ``--hypothesis-profile=search`` draws new.
"""

from __future__ import annotations

import shutil

import pytest
from hypothesis import settings

# No test is timed: on a busy machine one call in a thousand is slow.
settings.register_profile("same", derandomize=True, database=None, deadline=None)
settings.register_profile("search", derandomize=False, deadline=None)
settings.load_profile("same")

CHROMIUM = next(
    (p for p in ("chromium", "chromium-browser", "google-chrome") if shutil.which(p)), ""
)


@pytest.fixture(scope="module")
def browser():
    """The browser in which the pages are tested as their readers meet them."""
    if not CHROMIUM:
        pytest.skip("NO BROWSER: no page was tested as a reader meets it; apt-get install chromium")
    sync_api = pytest.importorskip("playwright.sync_api", reason="pip install playwright")
    with sync_api.sync_playwright() as driver:
        started = driver.chromium.launch(
            executable_path=shutil.which(CHROMIUM), args=["--no-sandbox", "--disable-gpu"]
        )
        yield started
        started.close()
