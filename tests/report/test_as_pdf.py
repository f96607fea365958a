from __future__ import annotations

import io
from dataclasses import replace

import pypdf
import pytest

from linecheck.report.as_pdf import write_pdf
from linecheck.terms import Remark
from tests.report.invented_audits import audit_of

AUDIT = audit_of(choruses=2)


def pages(pdf):
    return pypdf.PdfReader(io.BytesIO(pdf)).pages


def words(pdf):
    return " ".join(" ".join(page.extract_text() for page in pages(pdf)).split())


def test_the_paper_says_what_the_page_says():
    text = words(write_pdf(AUDIT))
    for part in (
        "Gatepost Blues",
        "What to practise",
        "What was good",
        "Chorus 2, bar 5 to bar 9",
        "one bar ahead from here",
        "missed",
        "The teacher decides.",
    ):
        assert part in text


def test_whose_take_it_is_stands_on_every_sheet():
    for page in pages(write_pdf(replace(AUDIT, student="Mira #x, Monday"))):
        assert "Mira #x, Monday" in " ".join(page.extract_text().split())


def test_its_key_has_every_mark_that_the_notation_has():
    text = words(write_pdf(AUDIT))
    for part in (
        "missed: no chord tone was struck for this landing",
        "an approach leads up a step, or down",
        "small: what the note is in the bar that you were in",
    ):
        assert part in text
    assert "pushed: struck" not in text
    own = tuple(
        replace(note, anticipation=n == 5, function_in_own_place=note.function)
        for n, note in enumerate(AUDIT.labels.notes)
    )
    text = words(write_pdf(replace(AUDIT, labels=replace(AUDIT.labels, notes=own))))
    assert "pushed: struck on the off-beat before its chord" in text
    assert "small: what the note is" not in text


@pytest.mark.parametrize(("paper", "millimetres"), [("a4", (210, 297)), ("letter", (215.9, 279.4))])
def test_it_is_set_for_either_paper(paper, millimetres):
    # Sizes: ISO 216 and ANSI Y14.1.
    for page in pages(write_pdf(AUDIT, paper=paper)):
        size = tuple(float(x) / 72 * 25.4 for x in page.mediabox[2:])
        assert size == pytest.approx(millimetres, abs=0.2)


def test_another_paper_is_refused():
    with pytest.raises(ValueError, match="'a5' is no paper; expected one of a4, letter"):
        write_pdf(AUDIT, paper="a5")


def test_hostile_names_are_only_text():
    title = '#panic("x") *b* <img src=x> $a$ ]'
    audit = replace(AUDIT, chart=replace(AUDIT.chart, title=title), warnings=("#eval <b>",))
    text = words(write_pdf(audit))
    assert title in text
    assert "#eval <b>" in text


def test_what_is_asked_first_says_on_which_page_it_is_told():
    asks = (Remark("only 3 of 24 landings are met: is it the right chart?", "chart"),)
    made = pages(write_pdf(replace(AUDIT, warnings=asks)))
    (at,) = [n for n, page in enumerate(made, 1) if "Only 3 of 24" in page.extract_text()]
    first = " ".join(made[0].extract_text().split())
    assert f"(see Worth knowing, page {at})" in first
    assert "see Worth knowing" not in words(write_pdf(AUDIT))


@pytest.mark.parametrize(
    "title", ["日本語のブルース", "🎷 \u202egnp.exe", "\x00\ud800", "", "a" * 500]
)
def test_any_title_makes_a_file(title):
    audit = audit_of(title, choruses=1, source=title)
    assert len(pages(write_pdf(audit))) >= 2


def test_it_is_tagged_for_readers_and_the_same_from_run_to_run():
    made = write_pdf(AUDIT)
    assert pypdf.PdfReader(io.BytesIO(made)).trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert write_pdf(AUDIT) == made


def test_progress_counts_choruses():
    told = []
    write_pdf(AUDIT, lambda done, whole: told.append((done, whole)))
    assert told == [(1, 2), (2, 2)]
