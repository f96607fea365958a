"""The sample reports and the README's printed ones are what the program makes now.

Whole screens are compared line by line; `python tests/renew_reports.py` makes them again.
"""

from __future__ import annotations

import re

import pytest

from linecheck.demo import demo_takes
from tests.renew_reports import (
    README,
    REPORTS,
    SCREENS,
    all_reports,
    all_screens,
    formats_without_a_sample,
    printed,
    renewed_readme,
)


@pytest.fixture(scope="module")
def made():
    return all_reports()


def test_there_is_a_sample_of_every_format():
    assert formats_without_a_sample() == set()


def test_the_samples_are_these(made):
    assert sorted(made) == sorted(path.name for path in REPORTS.iterdir())


@pytest.mark.parametrize("name", sorted(path.name for path in REPORTS.iterdir()))
def test_a_report_is_what_its_sample_says(made, name):
    kept = (REPORTS / name).read_bytes()
    if name.endswith(".pdf"):
        assert made[name][:5] == kept[:5] == b"%PDF-"
    elif name.endswith(".mid"):
        assert made[name] == kept
    elif name.endswith(".html"):
        assert words(made[name]) == words(kept)
    elif name.endswith("_score.svg"):  # where a note stands to a hair is the engraver's business
        assert re.findall(rb">([^<]+)<", made[name]) == re.findall(rb">([^<]+)<", kept)
    else:
        assert made[name].decode().splitlines() == kept.decode().splitlines()


@pytest.mark.parametrize("name", sorted(path.name for path in SCREENS.iterdir()))
def test_help_and_lists_look_as_they_did(name):
    assert all_screens()[name].splitlines() == (SCREENS / name).read_text("utf-8").splitlines()


def words(page: bytes) -> list[str]:
    """The words of a page without its drawings, scripts and styles."""
    text = re.sub(r"(?s)<(svg|script|style)\b.*?</\1>|<[^>]*>", " ", page.decode())
    return text.split()


def test_the_readme_prints_what_the_program_prints():
    assert renewed_readme().splitlines() == README.read_text("utf-8").splitlines()


def test_every_line_of_every_screen_fits_80_columns(made):
    screens = {name: content.decode() for name, content in made.items() if name.endswith(".txt")}
    for name, text in {**screens, **all_screens(), "demo": printed("demo")}.items():
        assert max(map(len, text.splitlines())) <= 80, name


# ---- what the stories of the takes promise ---------------------------------------------------

GOOD = ("mira", "juno", "lena", "idris", "wen", "bram", "sefa", "nadia")


@pytest.fixture(scope="module")
def audits():
    from linecheck import audit

    return {take.name: audit(take.chart, take.take) for take in demo_takes()}


@pytest.mark.parametrize("name", GOOD)
def test_good_takes_look_good(audits, name):
    found = audits[name]
    assert not found.line.losses
    assert found.judgement.commitment > 95
    assert all(
        score.purpose is not None and score.purpose > 0.95 for score in found.judgement.choruses
    )


def test_a_careless_take_shows_its_faults(audits):
    found = audits["oskar"]
    assert not [loss for loss in found.line.losses if loss.certain]
    assert found.judgement.commitment < 85
    missed = [
        (x.place.chorus, x.place.bar, x.place.beat)
        for x in found.labels.landings
        if x.counted and not x.met
    ]
    assert missed == [
        (1, 4, 3), (1, 5, 1), (1, 9, 1), (1, 10, 1), (1, 11, 3), (1, 12, 3),
        (2, 1, 1), (2, 3, 1), (2, 8, 1), (2, 9, 1), (2, 12, 1), (2, 12, 3),
    ]  # fmt: skip


# name → kind, offset in beats, and chorus and bar of the loss and of the way back
LOST = {
    "tomasz": ("ahead", 4, (3, 7), (4, 1)),
    "paola": ("ahead", 8, (2, 21), (2, 29)),
    "ruben": ("adrift", None, (2, 5), (2, 9)),
}


@pytest.mark.parametrize("name", LOST)
def test_lost_takes_show_the_place_where_the_form_was_lost(audits, name):
    found = audits[name]
    kind, offset, begin, back = LOST[name]
    (loss,) = [loss for loss in found.line.losses if loss.certain]
    assert (loss.kind, loss.offset_beats) == (kind, offset)
    bar = 48  # steps; all three tunes are in 4/4
    first = (begin[0] - 1) * len(found.chart.bars) + begin[1] - 1
    last = (back[0] - 1) * len(found.chart.bars) + back[1] - 1
    beat = 12  # the place within a beat: these losses are as clear as they can be
    assert abs(loss.step - first * bar) <= beat
    assert loss.recovered_step is not None
    assert abs(loss.recovered_step - last * bar) <= beat
