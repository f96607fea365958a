"""An audit as an entry: what is counted, which date it has, when two charts are alike."""

from __future__ import annotations

import os
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from linecheck import audit, read_chart
from linecheck.demo import demo_take
from linecheck.faults import OptionFault
from linecheck.journal import checked_date, date_of_take, entry_of_audit, student_name
from linecheck.journal.entry_of_audit import chart_key
from tests.hand_made_audit import hand_made_audit


@pytest.fixture(scope="module")
def tomasz():
    take = demo_take("tomasz")
    return audit(take.chart, take.take)


def test_the_figures_are_those_of_the_report(tomasz):
    entry = entry_of_audit(tomasz, student="Tomasz", date="2026-03-01")
    # The report of the same take, as the README prints it.
    assert (entry.landings_met, entry.landings_asked) == (50, 56)
    assert round(entry.commitment) == 93
    assert entry.parts["landings"] == pytest.approx(50 / 56)
    assert round(entry.parts["purpose"], 2) == 0.98
    (loss,) = entry.losses
    assert (loss.chorus, loss.bar, loss.beat, loss.kind) == (3, 7, 1.0, "ahead")
    assert (loss.offset_beats, loss.recovered) == (4.0, True)
    assert (round(entry.tempo), entry.choruses, entry.notes) == (121, 4, 193)
    assert entry.weights == {"purpose": 0.4, "landings": 0.4, "form": 0.2}
    assert entry.rubric_fingerprint == tomasz.judgement.rubric.fingerprint
    assert entry.take == "gravel_tomasz.mid"


def test_the_parts_weighed_are_the_commitment_where_every_chorus_asks_alike(tomasz):
    parts = entry_of_audit(tomasz, date="2026-03-01").parts
    weighed = 0.4 * parts["purpose"] + 0.4 * parts["landings"] + 0.2 * parts["form"]
    assert 100 * parts["presence"] * weighed == pytest.approx(tomasz.judgement.commitment, abs=0.2)


def test_the_take_is_known_by_what_the_file_holds(tomasz, tmp_path):
    copy = tmp_path / "copy.mid"
    copy.write_bytes(demo_take("tomasz").take.read_bytes())
    entry = entry_of_audit(tomasz, date="2026-03-01")
    assert entry_of_audit(tomasz, date="2026-03-01", take_file=copy).take_key == entry.take_key
    copy.write_bytes(copy.read_bytes() + b"\0")
    assert entry_of_audit(tomasz, date="2026-03-01", take_file=copy).take_key != entry.take_key


def test_a_take_without_a_file_is_known_by_its_notes():
    found = hand_made_audit(source="nowhere.mid")
    entry = entry_of_audit(found, date="2026-03-01")
    assert entry == entry_of_audit(hand_made_audit(source="nowhere.mid"), date="2026-03-01")
    fewer = replace(found, take=replace(found.take, notes=found.take.notes[1:]))
    assert entry_of_audit(fewer, date="2026-03-01").take_key != entry.take_key
    with pytest.raises(OptionFault, match=r"no date is given for nowhere\.mid"):
        entry_of_audit(found)


def test_a_loss_that_is_only_possible_does_not_count():
    found = hand_made_audit()
    assert [loss.certain for loss in found.line.losses] == [True, False]
    assert len(entry_of_audit(found, date="2026-03-01").losses) == 1


def test_charts_that_ask_the_same_have_one_key(tmp_path):
    def key(form, bars, **more):
        file = tmp_path / "chart.toml"
        lines = [f'{name} = "{value}"' for name, value in more.items()]
        file.write_text(
            "\n".join(['title = "T"', 'key = "F"', 'meter = "4/4"', *lines])
            + f'\nform = {form}\n[sections]\nA = "{bars}"\n',
            encoding="utf-8",
        )
        return chart_key(read_chart(file))

    plain = key('["A"]', "| Fmaj7 | Gm7 C7 |")
    assert key('["A"]', "| FM7 |  G-7  C7 |", feel="swing") == plain
    assert key('["A"]', "| FΔ | Gmi7 / C7 / |") == plain
    assert key('["A"]', "| F7 | Gm7 C7 |") != plain
    assert key('["A"]', "| Fmaj7 | Gm7 / / C7 |") != plain
    assert key('["A", "A"]', "| Fmaj7 | Gm7 C7 |") != plain


# ---- dates and names -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("folder", "name", "date"),
    [
        ("takes", "2026-03-01 blues.mid", "2026-03-01"),
        ("takes", "mira_2026-12-24.mid", "2026-12-24"),
        ("2026-03-08", "mira.mid", "2026-03-08"),
        ("2026-03-08", "2026-03-01.mid", "2026-03-01"),
        ("2026-03-08", "2026-99-99.mid", "2026-03-08"),
    ],
)
def test_a_date_in_the_name_of_the_file_or_its_folder_is_read(tmp_path, folder, name, date):
    assert date_of_take(tmp_path / folder / name) == (date, "name")


def test_a_date_in_the_name_of_this_folder_is_read(tmp_path, monkeypatch):
    (tmp_path / "2026-03-08").mkdir()
    monkeypatch.chdir(tmp_path / "2026-03-08")
    assert date_of_take(Path("mira.mid")) == ("2026-03-08", "name")


def test_the_nearest_date_on_the_way_to_the_file_counts(tmp_path):
    week = tmp_path / "2025-01-01" / "term 2026-01-05" / "2026-01-12"
    file = week / "Montag" / "Bo" / "take.mid"
    file.parent.mkdir(parents=True)
    file.write_bytes(b"x")
    assert date_of_take(file, within=tmp_path) == ("2026-01-12", "name")
    assert date_of_take(file, within=week.parent) == ("2026-01-12", "name")
    assert date_of_take(file, within=week)[1] == "file"
    assert date_of_take(file)[1] == "file"


def test_else_it_is_the_day_of_the_last_change(tmp_path):
    file = tmp_path / "blues 12026-03-011.mid"
    file.write_bytes(b"x")
    noon = datetime(2026, 2, 3, 12, 0).astimezone()
    os.utime(file, (noon.timestamp(), noon.timestamp()))
    assert date_of_take(file) == ("2026-02-03", "file")
    assert date_of_take(file, "2026-02-01") == ("2026-02-01", "given")


@pytest.mark.parametrize(
    "text", ["2026-02-30", "20260301", "1.3.2026", "", "2026-W10-1", "٢٠٢٦-٠٣-٠١"]
)
def test_what_is_no_date_is_told(text):
    with pytest.raises(OptionFault, match="expected year-month-day such as 2026-03-01"):
        checked_date(text)


def test_names_are_kept_in_one_spelling():
    assert student_name("  A\u030asa\tBerg\n") == "Åsa Berg"
    with pytest.raises(OptionFault, match="has 200 letters; at most 120"):
        student_name("x" * 200)


def test_of_a_written_line_no_time_is_kept_but_its_tempo():
    take = demo_take("idris")
    written = audit(take.chart, take.take)
    entry = entry_of_audit(written, date="2026-03-01")
    assert entry.tempo == pytest.approx(written.line.tempo_bpm)
    assert (entry.placement_mean_ms, entry.placement_spread_ms) == (None, None)
    assert (entry.tempo_change, entry.swing_ratio) == (None, None)
