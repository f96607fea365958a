"""Bars to watch: what is kept of them, and what is said of them after the next take."""

from __future__ import annotations

import io
import json
import tomllib
from dataclasses import replace

import pypdf
import pytest

from linecheck import audit, command_line
from linecheck.demo import demo_take
from linecheck.faults import WatchFault
from linecheck.practice import check_watched, drill, read_watched, write_watched
from linecheck.report.as_html import write_html
from linecheck.report.as_json import audit_as_data
from linecheck.report.as_pdf import write_pdf
from linecheck.report.as_terminal import terminal_page
from linecheck.report.handout import sentence
from linecheck.report.watched_in_words import watched_sentences


def audited(name):
    take = demo_take(name)
    return audit(take.chart, take.take)


@pytest.fixture(scope="module")
def oskar():
    return audited("oskar")


@pytest.fixture(scope="module")
def mira():
    return audited("mira")


@pytest.fixture(scope="module")
def kept(oskar, tmp_path_factory):
    file = tmp_path_factory.mktemp("watch") / "oskar.watch"
    file.write_text(write_watched(oskar, drill(oskar)), encoding="utf-8")
    return file


def test_the_file_counts_what_was_missed_in_every_bar_of_the_plan(oskar, kept):
    """Held against the audit's own landings and notes."""
    table = tomllib.loads(kept.read_text("utf-8"))
    assert table["chart"] == "Tollgate Shuffle"
    for bar in table["bars"]:
        landings = [x for x in oskar.labels.landings if x.counted and x.place.bar == bar["bar"]]
        assert bar["marks"]["landings"] == len(landings)
        assert bar["missed"].get("landings", 0) == sum(not x.met for x in landings)
        notes = [n for n in oskar.labels.notes if n.place.bar == bar["bar"] and n.place.chorus <= 2]
        outside = sum(note.function == "outside" for note in notes)
        assert bar["missed"].get("purpose", 0) == outside
    missed = {x.place.bar for x in oskar.labels.landings if x.counted and not x.met}
    assert missed <= {bar["bar"] for bar in table["bars"]}


def test_what_was_written_is_read_back(oskar, kept):
    read = read_watched(kept)
    assert [record.bar for record in read] == sorted({record.bar for record in read})
    assert check_watched(oskar, read).watched[0].before == read[0]


def test_the_same_take_again_is_as_before(oskar, kept):
    verdicts = {bar.verdict for bar in check_watched(oskar, read_watched(kept)).watched}
    assert verdicts == {"same"}


def test_a_good_take_holds_what_was_missed(mira, kept):
    found = check_watched(mira, read_watched(kept))
    by_bar = {bar.now.bar: bar for bar in found.watched}
    assert by_bar[9].verdict == "holds"
    assert by_bar[11].verdict == "better"  # mira misses the landing of bar 11 once
    assert by_bar[9].commitment_now == 100
    assert by_bar[9].commitment_before < 100
    told = watched_sentences(found.watched)
    assert "bar 9 (Gm7): holds now in 3 choruses; landings met 0 of 2 before, 3 of 3 now" in told


def test_a_worse_take_is_called_worse(oskar, mira, tmp_path):
    file = tmp_path / "mira.watch"
    plan = drill(mira, bars=((8, 9),))
    file.write_text(write_watched(mira, plan), encoding="utf-8")
    found = check_watched(oskar, read_watched(file))
    assert [(bar.now.bar, bar.verdict) for bar in found.watched] == [(8, "worse"), (9, "worse")]


def test_a_bar_that_was_not_reached_is_not_judged(oskar, kept):
    short = replace(oskar.judgement.evidence, bars=oskar.judgement.evidence.bars[:4])
    found = replace(oskar, judgement=replace(oskar.judgement, evidence=short))
    by_bar = {bar.now.bar: bar.verdict for bar in check_watched(found, read_watched(kept)).watched}
    assert by_bar[9] == "not played"


def test_report_and_json_tell_it(mira, kept):
    found = check_watched(mira, read_watched(kept))
    page = terminal_page(found).as_text()
    assert "Bars to watch\n" in page
    assert max(map(len, page.splitlines())) <= 80
    data = audit_as_data(found)["watched"]
    assert data[0]["verdict"] == "holds"
    assert data[0]["before"]["missed"] == {"landings": 1}
    assert audit_as_data(mira)["watched"] is None
    assert "Bars to watch" not in terminal_page(mira).as_text()


def test_page_and_paper_tell_it(mira, kept):
    watched = check_watched(mira, read_watched(kept))
    page = write_html(watched)
    assert ">Bars to watch</h2>" in page
    assert all(sentence(said) in page for said in watched_sentences(watched.watched))
    paper = pypdf.PdfReader(io.BytesIO(write_pdf(watched)))
    assert "Bars to watch" in " ".join(page.extract_text() for page in paper.pages)
    assert "Bars to watch" not in write_html(mira)


def test_another_chart_is_noticed(kept):
    with pytest.raises(WatchFault, match=r"bar 1: it is F7 there and G7 in the chart"):
        check_watched(audited("tomasz"), read_watched(kept), source="oskar.watch")


def test_bars_kept_in_another_key_say_how_the_chart_is_read_so(tmp_path, oskar, kept):
    take = demo_take("oskar")
    in_bb = audit(take.chart, take.take, key="Bb")
    file = tmp_path / "bb.watch"
    file.write_text(write_watched(in_bb, drill(in_bb)), encoding="utf-8")
    said = r"; the bars seem to be kept in Bb: --key Bb reads the chart so$"
    with pytest.raises(WatchFault, match=said):
        check_watched(oskar, read_watched(file))
    assert check_watched(in_bb, read_watched(file)).watched
    with pytest.raises(WatchFault, match="in F: --key F reads the chart so"):
        check_watched(in_bb, read_watched(kept))


def test_a_bar_beyond_the_chart_is_noticed(oskar, kept):
    records = [replace(read_watched(kept)[0], bar=13)]
    with pytest.raises(WatchFault, match=r"bar 13: the chart has bars 1 to 12"):
        check_watched(oskar, records)


GOOD = 'bars = [{ bar = 1, chords = "F7", choruses = 1, marks = { landings = 1 }, missed = {} }]'


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("title = 1", "unknown key 'title'; expected chart, take or bars"),
        ('chart = "A"', r"has no \[\[bars\]\]"),
        ("bars = [", "is not valid TOML"),
        (GOOD.replace("bar = 1", "bar = 0"), "bar is 0; expected a whole number from 1 on"),
        (GOOD.replace("bar = 1", "bar = true"), "bar is True; expected a whole number"),
        (GOOD.replace('"F7"', "7"), "chords is 7; expected a text"),
        (GOOD.replace("missed = {}", "missed = 3"), "missed is 3; expected counts"),
        (GOOD.replace("landings = 1", "landing = 1"), "did you mean landings"),
        (GOOD.replace("landings = 1", "landings = -1"), "landings is -1; expected a whole"),
    ],
)
def test_a_file_that_is_none_is_told_in_one_line(text, told, tmp_path):
    file = tmp_path / "broken.watch"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(WatchFault, match=told):
        read_watched(file)


def test_drill_keeps_and_audit_checks(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    take = demo_take("oskar")
    files = [str(take.chart), str(take.take)]
    assert command_line.run(["drill", *files, "--quiet", "--watch", "a.watch"]) == 0
    capsys.readouterr()
    assert command_line.run(["audit", *files, "--watch", "a.watch", "--json", "-"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert {bar["verdict"] for bar in data["watched"]} == {"same"}
    assert command_line.run(["audit", *files, "--watch", "none.watch"]) == 2
    assert "none.watch: no such file" in capsys.readouterr().err
