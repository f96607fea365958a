"""Grading a folder: rows, kept audits, other rubrics, lateness, pseudonyms."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import linecheck
from linecheck import steps
from linecheck.faults import ChartFault, OptionFault, RubricFault
from linecheck.grade import Graded, Refused, grade_folder, points
from linecheck.grade import keys as keys_of_grading
from linecheck.grade import work as work_of_grading
from linecheck.grade.as_terminal import grade_page
from linecheck.grade.columns import flat_row
from linecheck.grade.find_submissions import in_order
from linecheck.grade.findings import findings_of, read_findings, write_findings
from linecheck.grade.kept_audits import KeptAudits
from linecheck.grade.rows import graded_row, is_late
from linecheck.grade.terms import Submission
from linecheck.judge import judge_line
from linecheck.music.form import Form
from linecheck.terms import Rubric
from tests.grade.class_folders import TUNES, put, put_chart, small_class

DRUMS = 9  # of the channels from 0 (General MIDI)
ONLY_FORM = Rubric("form", {"purpose": 0.0, "landings": 0.0, "form": 1.0}, "", "f")
UNEVEN = Rubric("uneven", {"purpose": 3.0, "landings": 0.5, "form": 7.0}, "", "u", pass_mark=90.0)


@pytest.fixture
def folder(tmp_path):
    return small_class(tmp_path / "class")


def old(folder: Path) -> None:
    """Let the files be older than a tick of the clock, so that their hashes are remembered."""
    for path in folder.rglob("*"):
        os.utime(path, (time.time() - 100, time.time() - 100))
    time.sleep(0.06)  # the time of the change of state cannot be set


def test_a_take_in_another_key_is_graded_over_its_chart_in_that_key(folder):
    as_written = linecheck.audit(folder / "shuffle.toml", folder / "oskar.mid")
    file = mido.MidiFile(folder / "oskar.mid")
    for message in (m for track in file.tracks for m in track):
        if message.type in ("note_on", "note_off") and message.channel != DRUMS:
            message.note += 5
    file.save(folder / "oskar in bb.mid")
    (folder / "submissions.csv").write_text(
        "student,take,chart,in_key\nOskar,oskar.mid,shuffle.toml,\n"
        "Oskar,oskar in bb.mid,shuffle.toml,Bb\nOtto,oskar in bb.mid,shuffle.toml,Dm\n",
        encoding="utf-8",
    )
    rows = {(row.submission.take_name, row.submission.options.key): row
            for row in grade_folder(folder, jobs=1)}  # fmt: skip
    first = rows["oskar.mid", None]
    second, third = (rows["oskar in bb.mid", key] for key in ("Bb", "Dm"))
    assert first.title == as_written.chart.title
    assert second.title == f"{first.title} in Bb"
    assert second.judgement.commitment == first.judgement.commitment
    assert third.reason.startswith(
        "submissions.csv row 4: key is Dm, and the chart is in F, major; name a key of the same"
    )


def test_a_row_for_every_submission(folder):
    book = grade_folder(folder, jobs=1, pass_mark=90)
    mira, oskar, zoe = book
    assert isinstance(mira, Graded)
    assert isinstance(oskar, Graded)
    assert zoe == Refused(
        zoe.submission, "no MIDI file: one begins with MThd, and this does not", None, zoe.key
    )
    audit = linecheck.audit(folder / "shuffle.toml", folder / "oskar.mid")
    assert oskar.judgement.choruses == audit.judgement.choruses
    assert oskar.judgement.costs == audit.judgement.costs
    assert oskar.judgement.commitment == audit.judgement.commitment
    assert (mira.passed, oskar.passed, oskar.pass_mark) == (True, False, 90)
    assert oskar.judgement.rubric.fingerprint == audit.judgement.rubric.fingerprint
    assert oskar.linecheck == linecheck.__version__
    assert (oskar.title, oskar.form_bars, oskar.notes) == (
        audit.chart.title,
        12,
        len(audit.take.notes),
    )
    assert book[-1] == zoe
    assert list(book[:2]) == [mira, oskar]
    assert book.audited == 3


@pytest.mark.parametrize("name", sorted(TUNES))
@pytest.mark.parametrize("rubric", [ONLY_FORM, UNEVEN])
def test_a_kept_audit_is_judged_as_a_fresh_one(name, rubric):
    tune = TUNES[name]
    audit = steps.audit(tune.chart, tune.take)
    kept = read_findings(write_findings(findings_of(audit)))
    fresh = steps.audit(tune.chart, tune.take, rubric=rubric)
    row = graded_row(Submission("a", "", None, None, "a", "b"), kept, rubric)
    assert row.judgement == fresh.judgement
    assert repr(row.judgement) == repr(fresh.judgement)
    form = Form(audit.chart, audit.line.choruses)
    assert row.judgement == judge_line(audit.labels, audit.line, form, rubric)
    assert row.warnings == fresh.warnings


@pytest.mark.parametrize("name", sorted(TUNES))
@pytest.mark.parametrize("rubric", [ONLY_FORM, UNEVEN])
def test_every_point_is_given_or_taken(name, rubric):
    kept = findings_of(steps.audit(TUNES[name].chart, TUNES[name].take))
    row = graded_row(Submission("a", "", None, None, "a", "b"), kept, rubric)
    found = points(row)
    assert sum(p.given for p in found) == pytest.approx(row.judgement.commitment)
    assert sum(p.taken for p in found) == pytest.approx(100 - row.judgement.commitment)
    taken = {(c.chorus, c.bar, c.part): c.points for c in row.judgement.costs}
    assert taken == {(p.chorus, p.bar, p.part): p.taken for p in found if p.taken}
    landings = [p for p in found if p.part == "landings"]
    audit = steps.audit(TUNES[name].chart, TUNES[name].take)
    counted = [landing for landing in audit.labels.landings if landing.counted]
    assert sum(p.marks for p in landings) == len(counted)
    assert sum(len(p.missed) for p in landings) == sum(not landing.met for landing in counted)


def test_losses_are_told_by_their_places(tmp_path):
    put(tmp_path, "tomasz.mid", "tomasz")
    put_chart(tmp_path, "gravel.toml", "tomasz")
    (row,) = grade_folder(tmp_path, jobs=1)
    (loss,) = row.losses
    assert (loss.begins.chorus, loss.begins.bar, loss.kind, loss.offset_beats) == (3, 7, "ahead", 4)
    assert (loss.recovered.chorus, loss.recovered.bar) == (4, 1)


# ---- what is kept ----------------------------------------------------------------------------


def test_an_unchanged_take_is_not_audited_again(folder, tmp_path):
    first = grade_folder(folder, keep_in=tmp_path / "kept", jobs=1)
    again = grade_folder(folder, keep_in=tmp_path / "kept", jobs=1)
    assert (first.audited, again.audited) == (3, 0)
    assert list(first) == list(again)


def test_another_rubric_reads_no_take(folder, tmp_path, monkeypatch):
    old(folder)
    kept = tmp_path / "kept"
    first = grade_folder(folder, keep_in=kept, jobs=1)
    fresh = list(grade_folder(folder, jobs=1, rubric=UNEVEN))
    opened = []
    before = Path.open
    monkeypatch.setattr(
        Path, "open", lambda self, *a, **k: (opened.append(self.name), before(self, *a, **k))[1]
    )
    monkeypatch.setattr(steps, "audit", lambda *_, **__: pytest.fail("audited again"))
    by_other = grade_folder(folder, keep_in=kept, jobs=1, rubric=UNEVEN)
    assert list(by_other) == fresh == list(first.regraded(UNEVEN))
    assert not [name for name in opened if name.endswith(".mid")]


@pytest.mark.parametrize("changed", ["take", "chart", "option", "program"])
def test_what_was_changed_is_audited_again(folder, tmp_path, monkeypatch, changed):
    old(folder)
    kept = tmp_path / "kept"
    table = folder / "submissions.csv"
    table.write_text("student,take,chart,tempo\nM,mira.mid,shuffle.toml,\n", encoding="utf-8")
    (first,) = grade_folder(folder, keep_in=kept, jobs=1)
    if changed == "take":
        put(folder, "mira.mid", "oskar")
    elif changed == "chart":
        text = (folder / "shuffle.toml").read_text("utf-8")
        (folder / "shuffle.toml").write_text(text + "\n# new\n", encoding="utf-8")
    elif changed == "option":
        table.write_text("student,take,chart,tempo\nM,mira.mid,shuffle.toml,90\n", encoding="utf-8")
    else:
        monkeypatch.setattr("linecheck.grade.keys.program_fingerprint", lambda: "other")
    book = grade_folder(folder, keep_in=kept, jobs=1)
    assert book.audited == 1
    assert book[0].key != first.key


def test_a_take_of_the_same_size_and_time_but_other_content_is_noticed(folder, tmp_path):
    old(folder)
    first = grade_folder(folder, keep_in=tmp_path / "kept", jobs=1)
    take = folder / "zoe.mid"
    times = take.stat()
    take.write_bytes(take.read_bytes()[::-1])
    os.utime(take, ns=(times.st_atime_ns, times.st_mtime_ns))
    again = grade_folder(folder, keep_in=tmp_path / "kept", jobs=1)
    assert again.audited == 1
    assert again[2].key != first[2].key


def test_files_of_the_same_content_are_audited_once_and_it_is_said(folder):
    put(folder, "copy.mid", "mira")
    book = grade_folder(folder, jobs=1)
    assert book.audited == 3
    assert book.notes == ("handed in by copy, mira: files that are the same to the byte",)
    copy, mira = book[0], book[1]
    assert replace(copy, submission=mira.submission) == mira


def test_one_file_listed_for_two_students_is_told(folder):
    table = folder / "submissions.csv"
    rows = "Anna,mira.mid,\nBeate,mira.mid,\nBeate,oskar.mid,\nCleo,oskar.mid,1\nDora,oskar.mid,2\n"
    table.write_text(f"student,take,track\n{rows}Anna,,\n", encoding="utf-8")
    book = grade_folder(folder, jobs=1)
    assert book.notes == ("handed in by Anna, Beate (mira.mid): one and the same file",)
    (note,) = grade_folder(folder, jobs=1, anonymous=True).notes
    assert re.fullmatch(
        r"handed in by (Student \w{8}( \(take [12]\))?(, )?){2}: one and .* file", note
    )


def test_one_take_that_a_student_handed_in_twice_is_told(folder):
    shutil.copy(folder / "mira.mid", folder / "again.mid")
    table = folder / "submissions.csv"
    table.write_text("student,take\nMira,mira.mid\nMira,again.mid\n", encoding="utf-8")
    book = grade_folder(folder, jobs=1)
    told = "handed in twice by Mira (again.mid, mira.mid): files that are the same to the byte"
    assert book.notes == (told,)
    page = grade_page(book, [flat_row(row) for row in book], "out", ["grades.csv"]).as_text()
    assert re.search(r"Commitment: each take has \d+ of 100\n", page)


def test_a_date_that_cannot_be_read_is_a_warning_of_its_take(folder):
    table = folder / "submissions.csv"
    rows = (
        "Mira,mira.mid,2026-03-05,6/3/2026\nOskar,oskar.mid,5.3.26,06.03.2026\nZoe,zoe.mid,,soon\n"
    )
    table.write_text(f"student,take,due,submitted\n{rows}", encoding="utf-8")
    book = grade_folder(folder, jobs=1)
    mira, oskar, zoe = book
    unknown = "; whether the take is late is not known"
    told = f"submitted is '6/3/2026', which may be 2026-03-06 or 2026-06-03; write it like these{unknown}"
    assert (mira.late, oskar.late) == (None, True)
    assert mira.warnings[-1] == f"submissions.csv row 2: {told}"
    assert not any("submitted" in text for text in oskar.warnings)
    assert zoe.reason.startswith("no MIDI file")
    soon = f"submitted is 'soon'; expected a date such as 2026-11-20{unknown}"
    assert book.notes == (f"row 2 of submissions.csv: {told}", f"row 4 of submissions.csv: {soon}")
    hidden = grade_folder(folder, jobs=1, anonymous=True)
    assert any(row.warnings[-1:] == (told,) for row in hidden if isinstance(row, Graded))
    assert not any("row 2" in note or "soon" in note for note in hidden.notes)


def test_a_table_without_charts_grades_as_the_folder_does(folder):
    without = list(grade_folder(folder, jobs=1))
    (folder / "submissions.csv").write_text(
        "student,take\nmira,mira.mid\noskar,oskar.mid\nzoe,zoe.mid\n", encoding="utf-8"
    )
    by_table = list(grade_folder(folder, jobs=1))
    assert [replace(row, submission=None) for row in by_table] == [
        replace(row, submission=None) for row in without
    ]
    assert [row.submission.chart for row in by_table] == [row.submission.chart for row in without]


def test_a_take_that_changes_while_it_is_read_is_not_kept(folder, tmp_path, monkeypatch):
    before = steps.audit

    def slow(chart, take, **more):
        found = before(chart, take, **more)
        if Path(take).name == "mira.mid":
            put(folder, "mira.mid", "oskar")
        return found

    monkeypatch.setattr(steps, "audit", slow)
    mira = grade_folder(folder, keep_in=tmp_path / "kept", jobs=1)[0]
    assert mira.reason == "it was changed while it was being read; grade once more"
    monkeypatch.setattr(steps, "audit", before)
    book = grade_folder(folder, keep_in=tmp_path / "kept", jobs=1)
    assert book.audited == 0  # the content is that of oskar's take by now, which is kept
    assert isinstance(book[0], Graded)


def test_a_fault_of_the_program_is_a_reason_and_is_tried_again(folder, tmp_path, monkeypatch):
    with monkeypatch.context() as patch:
        patch.setattr(steps, "audit", lambda *_, **__: 1 / 0)
        rows = list(grade_folder(folder, keep_in=tmp_path / "kept", jobs=1))
    assert {row.reason for row in rows} == {
        "a fault of linecheck: ZeroDivisionError: division by zero"
    }
    assert grade_folder(folder, keep_in=tmp_path / "kept", jobs=1).audited == 3


def test_a_chart_that_cannot_be_read_is_the_reason_of_its_takes(folder):
    (folder / "shuffle.toml").write_text("form = [", encoding="utf-8")
    rows = list(grade_folder(folder, jobs=1))
    assert all(row.reason.startswith("its chart: is not valid TOML") for row in rows[:2])
    assert str(folder) not in rows[0].reason


def test_files_that_cannot_be_opened_are_rows(folder):
    (folder / "gone.mid").symlink_to(folder / "nowhere")
    (folder / "none.mid").write_bytes(b"")
    (folder / "folder.mid").mkdir()
    reasons = {
        row.submission.student: getattr(row, "reason", "") for row in grade_folder(folder, jobs=1)
    }
    assert reasons["gone"] == "no such file"
    assert reasons["none"].startswith("is empty")


# ---- the file of kept audits -----------------------------------------------------------------


def test_what_was_cut_off_or_spoilt_does_not_count_and_the_rest_does(tmp_path):
    kept = KeptAudits(tmp_path)
    kept.keep([("aa", '{"x":1}'), ("bb", '{"x":2}'), ("cc", '{"x":3}')])
    kept.close()
    (file,) = tmp_path.glob("*.audits")
    whole = file.read_bytes()
    for cut in range(len(whole) + 1):
        file.write_bytes(whole[:cut])
        seen = KeptAudits(tmp_path)
        lines = whole[:cut].count(b"\n")
        assert [key in seen for key in ("aa", "bb", "cc")] == [n < lines for n in range(3)]
    file.write_bytes(whole.replace(b'"x":2', b'"x":7'))
    seen = KeptAudits(tmp_path)
    assert ("aa" in seen, "bb" in seen, seen.get("cc")) == (True, False, b'{"x":3}')


@settings(max_examples=60, deadline=None)
@given(junk=st.lists(st.one_of(st.binary(max_size=40), st.just(b"a aa 00000000 {}\n"))))
def test_any_junk_among_the_kept_audits_is_passed_over(tmp_path_factory, junk):
    folder = tmp_path_factory.mktemp("kept")
    kept = KeptAudits(folder)
    kept.keep([("aa", '{"x":1}')])
    kept.close()
    (folder / "0.audits").write_bytes(b"".join(junk))
    (folder / "z.audits").write_bytes(b"".join(junk))
    assert KeptAudits(folder).get("aa") == b'{"x":1}'


def test_two_writers_at_once(tmp_path):
    one, other = KeptAudits(tmp_path), KeptAudits(tmp_path)
    for number in range(50):
        one.keep([(f"1{number}", "{}")])
        other.keep([(f"2{number}", "{}"), ("same", "{}")])
    seen = KeptAudits(tmp_path)
    assert all(f"{who}{number}" in seen for who in (1, 2) for number in range(50))
    one.close()
    other.close()


def test_kept_text_that_is_no_audit_is_refused():
    for text in ("", "[]", "{}", '{"kind":"played","grid":"tracked"}', '{"kind":1}'):
        with pytest.raises(ValueError, match=r"JSON|findings|neither|Expecting"):
            read_findings(text)


# ---- lateness, pseudonyms, faults ------------------------------------------------------------


@pytest.mark.parametrize(
    ("due", "submitted", "late"),
    [
        ("", "2026-11-20", None),
        ("2026-11-20", "", None),
        ("2026-11-20", "2026-11-20", False),
        ("2026-11-20", "2026-11-20 23:59", False),
        ("2026-11-20", "2026-11-21 00:00", True),
        ("2026-11-20 18:00", "2026-11-20 18:00", False),
        ("2026-11-20 18:00", "2026-11-20 18:01", True),
        ("2026-11-20 18:00", "2026-11-20", False),
        ("2026-11-20 18:00", "2026-11-21", True),
    ],
)
def test_late_is_what_was_handed_in_after_it_was_due(due, submitted, late):
    one = Submission("a", "", None, None, "a", "b", due=due, submitted=submitted)
    assert is_late(one) is late


def anonymous_class(tmp_path):
    folder = small_class(tmp_path / "class")
    put(folder, "Mira Castellan/Castellan blues.mid", "juno")
    put_chart(folder, "Mira Castellan/ninepenny.toml", "juno")
    (folder / "notes by mira.docx").write_text("x")
    (folder / "submissions.tsv").write_text(
        "student\ttake\tchart\ttrack\n"
        "Mira Castellan\tmira.mid\tshuffle.toml\tMira\n"
        "Mira Castellan\toskar.mid\tshuffle.toml\t\n"
        "Oskar\tOskar is not here.mid\tshuffle.toml\t\n",
        encoding="utf-8",
    )
    return folder


def test_an_anonymous_book_names_nobody(tmp_path):
    folder = anonymous_class(tmp_path)
    for _ in range(2):
        rows = list(grade_folder(folder, keep_in=tmp_path / "kept", jobs=1, anonymous=True))
        shown = " ".join(
            f"{s.student} {s.class_name} {s.take_name} {s.chart_name} {getattr(r, 'reason', r.warnings if isinstance(r, Graded) else '')}"
            for r in rows
            for s in [r.submission]
        )
        for name in ("Mira", "Castellan", "mira", "Oskar", "oskar"):
            assert name not in shown
        (folder / "submissions.tsv").unlink(missing_ok=True)  # then the files are found


def test_a_pseudonym_stays_with_the_folder_of_the_kept_audits(tmp_path):
    folder = anonymous_class(tmp_path)

    def submissions(kept):
        rows = grade_folder(folder, keep_in=tmp_path / kept, jobs=1, anonymous=True)
        return [row.submission for row in rows]

    def names(kept):
        return [one.student for one in submissions(kept)]

    assert names("one") == names("one")
    assert names("one") != names("two")
    assert len(set(names("one"))) == 2
    assert in_order(submissions("one")) == submissions("one")  # by pseudonyms, not by names


def test_faults_of_the_whole(tmp_path):
    with pytest.raises(OptionFault, match="is no folder"):
        grade_folder(tmp_path / "nowhere")
    with pytest.raises(OptionFault, match="holds no take"):
        grade_folder(tmp_path)
    put(tmp_path, "a.mid", "mira")
    with pytest.raises(OptionFault, match="no such file; the chart of all takes"):
        grade_folder(tmp_path, chart=tmp_path / "x.toml")
    with pytest.raises(RubricFault, match="no such file"):
        grade_folder(tmp_path, rubric=tmp_path / "x.toml")


def test_a_chart_fault_is_told_from_a_take_fault():
    assert work_of_grading._reason(ChartFault("odd", source="x", place=("bar 2",))) == (
        "its chart: bar 2: odd"
    )


def test_a_moved_folder_needs_no_new_audit(folder, tmp_path):
    grade_folder(
        folder, keep_in=folder / "grades" / "audits", jobs=1, leave_out=[folder / "grades"]
    )
    moved = Path(shutil.copytree(folder, tmp_path / "moved"))
    book = grade_folder(
        moved, keep_in=moved / "grades" / "audits", jobs=1, leave_out=[moved / "grades"]
    )
    assert book.audited == 0


def test_every_module_that_an_audit_imports_is_in_the_key():
    code = (
        "import sys; from linecheck import steps; import linecheck.grade.keys as k;"
        "steps.audit(*sys.argv[1:]);"
        "print(*(m.__file__ for n, m in sys.modules.items() if n.startswith('linecheck.')))"
    )
    tune = TUNES["lena"]
    done = subprocess.run(
        [sys.executable, "-c", code, tune.chart, tune.take],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    package = Path(linecheck.__file__).parent
    names = {Path(file).relative_to(package).parts[0] for file in done.stdout.split()}
    # Where the key itself is made, and what that writes with:
    assert names & keys_of_grading._ABOVE == {"grade", "output_files.py"}
