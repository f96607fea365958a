from __future__ import annotations

import json
import re
import subprocess
import sys
from base64 import b64encode
from dataclasses import replace
from hashlib import sha256
from html.parser import HTMLParser

import pytest

from linecheck.report.as_html import _data, write_html
from linecheck.report.listening import clock, listening
from linecheck.terms import Section
from tests.report.invented_audits import audit_of

AUDIT = audit_of(choruses=2)
PAGE = write_html(AUDIT)
HOSTILE = "</script><img src=x onerror=alert(1)><!-- \"'&"
VOID = {"meta", "input", "br", "img", "link", "hr", "path", "use", "rect", "circle"}


class Reader(HTMLParser):
    """Collects elements and checks that they nest."""

    def __init__(self):
        super().__init__()
        self.open, self.tags, self.ids, self.attributes = [], [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs
        self.ids += [v for k, v in attrs if k == "id"]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs
        self.ids += [v for k, v in attrs if k == "id"]

    def handle_endtag(self, tag):
        if tag not in VOID:
            assert self.open.pop() == tag


def read(page):
    reader = Reader()
    reader.feed(page)
    reader.close()
    assert reader.open == []
    return reader


def test_elements_nest_and_ids_are_unique():
    reader = read(PAGE)
    assert len(reader.ids) == len(set(reader.ids))


def test_every_link_of_the_page_leads_to_a_place_in_it():
    reader = read(PAGE)
    targets = {v[1:] for k, v in reader.attributes if k == "href"}
    assert {v[:1] for k, v in reader.attributes if k == "href"} == {"#"}
    assert targets <= set(reader.ids)


def test_nothing_is_loaded_from_anywhere():
    reader = read(PAGE)
    assert not {"img", "link", "iframe", "object", "embed", "audio"} & set(reader.tags)
    assert not [k for k, _ in reader.attributes if k in ("src", "style") or k.startswith("on")]
    assert not re.search(r"url\((?!#)", PAGE)
    assert "@import" not in PAGE
    assert "default-src 'none'" in PAGE


@pytest.mark.parametrize(("tag", "rule"), [("style", "style-src"), ("script", "script-src")])
def test_the_policy_names_the_style_and_the_script_by_their_hashes(tag, rule):
    text = re.search(rf"<{tag}>(.*?)</{tag}>", PAGE, re.DOTALL)[1]
    digest = b64encode(sha256(text.encode()).digest()).decode()
    assert f"{rule} 'sha256-{digest}'" in PAGE


def test_hostile_names_never_become_markup():
    chart = replace(
        AUDIT.chart,
        title=HOSTILE,
        bars=tuple(replace(b, section=HOSTILE) for b in AUDIT.chart.bars),
        sections=(Section(HOSTILE, 1, 12),),
    )
    notes = tuple(replace(n, section=HOSTILE, chord=HOSTILE) for n in AUDIT.labels.notes)
    hostile = replace(
        AUDIT,
        chart=chart,
        take=replace(AUDIT.take, source=HOSTILE, line=HOSTILE, warnings=(HOSTILE,)),
        labels=replace(AUDIT.labels, notes=notes),
        judgement=replace(
            AUDIT.judgement,
            rubric=replace(AUDIT.judgement.rubric, name=HOSTILE),
            costs=tuple(replace(c, why=HOSTILE) for c in AUDIT.judgement.costs),
        ),
        warnings=(HOSTILE,),
    )
    page = write_html(hostile)
    reader = read(page)
    assert "img" not in reader.tags
    assert reader.tags.count("script") == 2
    assert "<!--" not in page
    assert "onerror" not in [k for k, _ in reader.attributes]


def test_the_page_is_the_same_from_run_to_run():
    assert write_html(AUDIT) == PAGE


def test_every_figure_of_the_answer_stands_in_the_page():
    assert f"<strong>{AUDIT.judgement.commitment:.0f}</strong>" in PAGE
    for score in AUDIT.judgement.choruses:
        assert f"<strong>{score.commitment:.0f}</strong>" in PAGE


def test_losses_and_missed_landings_are_named_in_the_score():
    assert PAGE.count("one bar ahead from here") == 2  # once for a sheet, once for a phone
    assert "back in place</text>" in PAGE
    missed = sum(x.counted and not x.met for x in AUDIT.labels.landings)
    assert PAGE.count(">missed</text>") == 2 * missed


def test_whose_take_it_is_stands_at_the_head_where_it_was_said():
    page = write_html(replace(AUDIT, student="Mira <b>, Monday"))
    assert '<p class="verdict">Mira &lt;b&gt;, Monday</p>' in page
    assert "<title>Mira &lt;b&gt;, Monday, " in page
    assert '<p class="verdict"></p>' not in PAGE


def test_progress_reaches_the_end():
    told = []
    write_html(AUDIT, lambda done, whole: told.append((done, whole)))
    assert told == [(1, 4), (2, 4), (3, 4), (4, 4)]


def test_the_take_sounds_as_it_was_played():
    heard = listening(AUDIT)
    assert [n[:3] for n in heard["notes"]] == [
        [round(n.onset_s, 3), round(n.duration_s, 3), n.pitch] for n in AUDIT.labels.notes
    ]
    at = clock(AUDIT)
    assert at(0) == pytest.approx(AUDIT.line.beats_s[0], abs=1e-3)
    assert at(18) == pytest.approx(sum(AUDIT.line.beats_s[1:3]) / 2, abs=1e-3)
    assert at(-12) == pytest.approx(2 * AUDIT.line.beats_s[0] - AUDIT.line.beats_s[1], abs=2e-3)
    data = json.loads(re.search(r'id="take">(.*?)</script>', PAGE, re.DOTALL)[1])
    assert data == json.loads(json.dumps(heard))


@pytest.mark.parametrize("beats", [(), (2.0,)])
def test_a_take_of_unknown_beats_still_has_a_clock(beats):
    at = clock(replace(AUDIT, line=replace(AUDIT.line, beats_s=beats)))
    assert at(12) - at(0) == pytest.approx(60 / 132, abs=2e-3)


def test_importing_the_writer_loads_neither_engraver_nor_template_engine():
    code = (
        "import sys, linecheck.report.as_html, linecheck.report.as_pdf;"
        "sys.exit(bool({'verovio', 'jinja2', 'typst'} & set(sys.modules)))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_data_can_not_end_the_script_that_holds_it():
    made = _data({"name": "</script><!--&"})
    assert not set("<>&") & set(made)
    assert json.loads(made) == {"name": "</script><!--&"}


def test_the_numbers_of_bars_stand_clear_of_the_chord_symbols():
    """Capitals of the chord symbols are less than 370 units tall."""
    number = r'<text x="[\d.]+" y="([-\d.]+)" class="fine" font-size="230">\d+</text>'
    chord = r'<text x="[\d.]+" y="([-\d.]+)" class="chord">'
    beside = re.findall(number + chord, PAGE)
    assert len(beside) == 2 * 24  # on the sheet and on the phone
    assert all(float(low) - float(high) >= 370 for high, low in beside)
