"""The files of a grade book: what stands in them, and that they are the same to the byte."""

from __future__ import annotations

import csv
import io
import re
import shutil
from datetime import datetime
from urllib.parse import unquote

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linecheck import command_line, steps
from linecheck.demo import copy_demo_tunes
from linecheck.grade import Graded, Submission, grade_folder, reports
from linecheck.grade.as_xlsx import LONGEST_SHEET_NAME, _Book, _cut
from linecheck.grade.columns import COLUMNS, RANK, text_cell
from linecheck.grade.journal_entries import JournalEntries
from linecheck.grade.write import add_ranks, write_grades
from linecheck.journal import entries, entry_of_audit
from tests.grade.class_folders import TUNES, cut_to_a_chorus, put, put_chart, small_class

FORMULA = '=HYPERLINK("http://x","y")'


@pytest.fixture
def folder(tmp_path):
    folder = small_class(tmp_path / "class")
    (folder / "submissions.csv").write_text(
        "class,student,take,chart,due,submitted\n"
        "Mon,Mira,mira.mid,shuffle.toml,2026-11-20,2026-11-21\n"
        f'Mon,"{FORMULA.replace(chr(34), chr(34) * 2)}",oskar.mid,shuffle.toml,,\n'
        "Thu,@Zoë,zoe.mid,shuffle.toml,,\n",
        encoding="utf-8",
    )
    return folder


def rows_of(path):
    return list(csv.DictReader(io.StringIO(path.read_text("utf-8"), newline="")))


def cells_of(path):
    book = openpyxl.load_workbook(path)
    return {sheet.title: list(sheet.iter_rows(values_only=True)) for sheet in book}


def test_the_csv_has_a_row_a_submission(folder, tmp_path):
    write_grades(grade_folder(folder, jobs=1, pass_mark=90), tmp_path / "out")
    oskar, mira, zoe = rows_of(tmp_path / "out" / "grades.csv")
    assert list(mira) == [column.name for column in COLUMNS]
    assert (mira["commitment"], mira["passed"], mira["late"]) == ("99.17", "yes", "yes")
    assert (oskar["passed"], oskar["landings_missed"], oskar["late"]) == ("no", "12", "")
    assert oskar["student"] == "'" + FORMULA
    assert zoe["student"] == "'@Zoë"
    assert (zoe["commitment"], zoe["reason"]) == (
        "",
        "no MIDI file: one begins with MThd, and this does not",
    )
    assert mira["rubric"] == "Even-handed"
    assert len(mira["rubric_fingerprint"]) == len(mira["key"]) == 64


def test_a_written_take_lies_around_no_beat(tmp_path):
    folder = tmp_path / "class"
    put_chart(folder, "lamp.toml", "idris")
    put(folder, "idris.abc", "idris")
    put(folder, "ruben.mid", "ruben")
    write_grades(grade_folder(folder, jobs=1), tmp_path / "out")
    spreads = {
        row["take"]: row["placement_spread_ms"] for row in rows_of(tmp_path / "out" / "grades.csv")
    }
    assert spreads["idris.abc"] == ""
    assert float(spreads["ruben.mid"]) > 1
    titles, *rows = next(iter(cells_of(tmp_path / "out" / "grade_book.xlsx").values()))
    at = titles.index("Spread around the beat, ms")
    assert sorted(row[at] is None for row in rows[:2]) == [False, True]


def test_the_spreadsheet_has_a_sheet_a_class_a_criterion_and_a_student(folder, tmp_path):
    write_grades(grade_folder(folder, jobs=1), tmp_path / "out", ranking=True)
    sheets = cells_of(tmp_path / "out" / "grade_book.xlsx")
    assert list(sheets) == [
        "Mon", "Thu", "Commitment", "Purpose", "Landings", "Form", "Presence",
        '=HYPERLINK("http x","y")', "Mira", "@Zoë", "Rubric", "Keys",
    ]  # fmt: skip
    titles, oskar, mira, nothing, mean = sheets["Mon"]
    assert (titles[0], titles[1]) == ("Rank", "Student")
    assert (oskar[0], oskar[1], mira[0]) == (2, FORMULA, 1)
    assert dict(zip(titles, mira, strict=True))["Commitment"] == 99.17
    assert set(nothing) == {None}
    mean = dict(zip(titles, mean, strict=True))
    assert mean["Student"] == "Mean of 2 takes"
    of_oskar = dict(zip(titles, oskar, strict=True))["Commitment"]
    assert mean["Commitment"] == pytest.approx((99.17 + of_oskar) / 2, abs=0.006)
    assert not [title for title in titles if "ingerprint" in title or title.startswith("Key")]
    keys = [row[3] for row in sheets["Keys"][1:]]
    assert keys == [row["key"] for row in rows_of(tmp_path / "out" / "grades.csv")]
    (head, _, of_mira) = sheets["Landings"]
    assert head[:5] == ("Class", "Student", "Take", "All", "Chorus 1")
    csv_row = rows_of(tmp_path / "out" / "grades.csv")[1]
    assert of_mira[3] == float(csv_row["landings"])
    assert len(sheets["Mira"]) == 1 + 1 + 3  # titles, the take, its choruses
    assert sheets["@Zoë"][1][8].startswith("no MIDI file")
    assert ("Rubric", "Even-handed") in sheets["Rubric"]


def test_a_scrap_gets_no_rank_beside_takes_of_the_whole_form(tmp_path, capsys):
    folder = small_class(tmp_path / "class")
    cut_to_a_chorus(put(folder, "scrap.mid", "mira"), bars=6)
    assert command_line.run(["grade", str(folder), "--ranking"]) == 0
    by_student = {row["student"]: row for row in rows_of(folder / "grades" / "grades.csv")}
    assert "whole form" in by_student["scrap"]["to_check"]
    assert {name: row["rank"] for name, row in by_student.items()} == {
        "mira": "1", "oskar": "2", "scrap": "", "zoe": "",
    }  # fmt: skip
    said = capsys.readouterr().out
    assert re.search(r"\n +1 +mira .*\n +2 +oskar .*\n +- +scrap ", said)
    page = (folder / "grades" / "class.html").read_text("utf-8")
    cells = re.findall(r"<tr><td>([^<]*)</td>\s*<th[^>]*><span[^>]*>(\w+)", page)
    assert cells == [("1", "mira"), ("2", "oskar"), ("-", "scrap")]
    sheet = cells_of(folder / "grades" / "grade_book.xlsx")["Class"]
    assert [row[0] for row in sheet[1:4]] == [1, 2, None]
    for name in ("mira.mid", "oskar.mid"):  # where none is whole, all are ranked
        (folder / name).unlink()
    assert command_line.run(["grade", str(folder), "--ranking", "--quiet"]) == 0
    assert rows_of(folder / "grades" / "grades.csv")[0]["rank"] == "1"


def test_no_cell_is_a_formula(folder, tmp_path):
    write_grades(grade_folder(folder, jobs=1), tmp_path / "out")
    book = openpyxl.load_workbook(tmp_path / "out" / "grade_book.xlsx")
    kinds = {cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row}
    assert kinds == {"s", "n", "d"}


def test_the_spreadsheet_knows_dates_shares_and_links_and_prints_as_wide_as_the_paper(tmp_path):
    folder = small_class(tmp_path / "class")
    (folder / "submissions.csv").write_text(
        "class,student,take,chart,due,submitted\n"
        "Mon,Mira Zoë,mira.mid,shuffle.toml,2026-11-20,2026-11-21 18:30\n",
        "utf-8",
    )
    for name in ("mira", "oskar"):
        cut_to_a_chorus(folder / f"{name}.mid")
    write_grades(grade_folder(folder, jobs=1), tmp_path / "out", reports=True, jobs=1)
    book = openpyxl.load_workbook(tmp_path / "out" / "grade_book.xlsx")
    date_of = datetime.fromisoformat
    titles = [cell.value for cell in book["Mon"][1]]
    row = dict(zip(titles, book["Mon"][2], strict=True))
    assert (row["Due"].value, row["Due"].number_format) == (date_of("2026-11-20"), "yyyy-mm-dd")
    assert row["Submitted"].value == date_of("2026-11-21 18:30")
    assert row["Landings"].number_format == book["Landings"]["D2"].number_format == "0.0%"
    assert (tmp_path / "out" / unquote(row["Report"].hyperlink.target)).is_file()
    for sheet in book:
        assert sheet.page_setup.orientation == "landscape"
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert sheet.page_setup.fitToHeight == 0  # as many sheets as it needs


def test_sheets_of_students_of_one_name_say_the_class(tmp_path):
    put_chart(tmp_path, "shuffle.toml", "mira")
    for name in ("Mon/Tim/a.mid", "Thu/Tim/a.mid", "Thu/Ada/a.mid"):
        put(tmp_path, name, "mira")
    write_grades(grade_folder(tmp_path, jobs=1), tmp_path / "out")
    assert {"Tim, Mon", "Tim, Thu", "Ada"} <= set(cells_of(tmp_path / "out" / "grade_book.xlsx"))


def test_the_parquet_holds_what_the_csv_holds(folder, tmp_path):
    parquet = pytest.importorskip("pyarrow.parquet", reason="pyarrow is not installed: no Parquet")
    rows, files = write_grades(grade_folder(folder, jobs=1), tmp_path / "out")
    tables = ["grades.csv", "grade_book.xlsx", "grades.parquet"]
    assert [file.name for file in files] == [*tables, "class_Mon.html", "class_Thu.html"]
    assert parquet.read_table(files[2]).to_pylist() == rows


def test_without_pyarrow_there_is_no_parquet(folder, tmp_path, monkeypatch):
    monkeypatch.setattr("linecheck.grade.write.can_write_parquet", lambda: False)
    write_grades(grade_folder(folder, jobs=1), tmp_path / "out")
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [
        "class_Mon.html",
        "class_Thu.html",
        "grade_book.xlsx",
        "grades.csv",
    ]


def test_files_are_the_same_to_the_byte_from_run_to_run(folder, tmp_path):
    for name in ("one", "two"):
        write_grades(grade_folder(folder, jobs=1), tmp_path / name, ranking=True)
    for file in (tmp_path / "one").iterdir():
        assert file.read_bytes() == (tmp_path / "two" / file.name).read_bytes(), file.name


def test_students_by_the_hundred_have_no_sheets(tmp_path):
    put_chart(tmp_path, "x.toml", "mira")
    for number in range(101):
        put(tmp_path, f"s{number}.mid", "mira")
    write_grades(grade_folder(tmp_path, jobs=1), tmp_path / "out")
    sheets = cells_of(tmp_path / "out" / "grade_book.xlsx")
    assert len(sheets) == 8
    assert any("101 students" in str(row[1]) for row in sheets["Rubric"])


def test_as_many_whole_points_have_equal_rank():
    rows = [
        {"class": c, "commitment": x}
        for c, x in zip("aaaabb", (70.0, 90.4, 89.6, None, 5.0, 60.0), strict=False)
    ]
    add_ranks(rows, [True] * 6)
    assert [row["rank"] for row in rows] == [3, 1, 1, None, 2, 1]
    add_ranks(rows, [True, False, True, False, False, False])  # of class b no take is whole
    assert [row["rank"] for row in rows] == [2, None, 1, None, 2, 1]
    assert RANK.name == "rank"


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.one_of(st.text(max_size=40), st.sampled_from(["History", "a" * 31, "A" * 32])),
        max_size=6,
    )
)
def test_any_names_are_names_of_sheets(names):
    book = _Book()
    for name in names:
        book._sheet(name, ["x"], [5], 0)
    book._sheet("last", ["x"], [5], 0)
    titles = openpyxl.load_workbook(io.BytesIO(book.content())).sheetnames
    assert len({title.casefold() for title in titles}) == len(names) + 1
    for title in titles:
        assert 1 <= len(title.encode("utf-16-le")) // 2 <= LONGEST_SHEET_NAME
        assert not set(title) & set("[]:*?/\\")


@given(st.text(max_size=50), st.integers(0, 60))
def test_a_text_is_cut_by_utf_16_units(text, most):
    text = text.encode("utf-16-le", "ignore").decode("utf-16-le")
    cut = _cut(text, most)
    assert text.startswith(cut)
    assert len(cut.encode("utf-16-le")) // 2 in {most, most - 1, len(text.encode("utf-16-le")) // 2}


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\r"])
def test_a_text_like_a_formula_gets_an_apostrophe(sign):
    assert text_cell(sign + "1") == "'" + sign + "1"
    assert text_cell("1" + sign) == "1" + sign


# ---- the command -----------------------------------------------------------------------------


def run(capsys, *arguments):
    status = command_line.run(["grade", *map(str, arguments)])
    done = capsys.readouterr()
    return status, done.out, done.err


def test_the_demo_class(tmp_path, capsys):
    copy_demo_tunes(tmp_path)
    status, out, err = run(capsys, tmp_path, "--jobs", "1", "--pass-mark", "80")
    assert (status, err) == (1, "")
    assert "13 submissions, 12 graded, 1 not; 12 audited now" in out
    assert "Pass mark 80: 11 of 12 passed" in out
    assert "Otis Marlow: submissions.csv row 14: take is empty: nothing was handed in" in out
    assert max(map(len, out.splitlines())) <= 80
    assert (tmp_path / "grades" / "grade_book.xlsx").is_file()
    status, out, _ = run(capsys, tmp_path, "--jobs", "1", "--ranking")
    assert (status, "0 audited now" in out) == (0, True)
    status, out, _ = run(capsys, tmp_path, "--jobs", "1", "--quiet", "--anonymous")
    assert (status, out) == (0, "")
    shared = tmp_path / "grades" / "anonymous"
    assert {path.name for path in shared.iterdir()} >= {"grades.csv", "grade_book.xlsx"}
    text = (shared / "grades.csv").read_text("utf-8")
    assert "Student " in text
    assert "Tomasz" not in text
    assert "gravel_tomasz" not in text


def test_the_terminal_shows_what_is_in_doubt_late_and_decided_by_a_decimal(tmp_path, capsys):
    copy_demo_tunes(tmp_path)
    table = tmp_path / "submissions.csv"
    wrong = "harbour_gate_nadia.mid,charts/lamp_oil.toml"
    text = table.read_text("utf-8")
    text = text.replace("harbour_gate_nadia.mid,charts/harbour_gate.toml", wrong)
    text = text.replace(
        "harbour_gate.toml,2026-03-13,\n", "harbour_gate.toml,2026-03-13,2026-04-01\n"
    )
    table.write_text(text, "utf-8")
    _, out, _ = run(capsys, tmp_path, "--jobs", "1", "--pass-mark", "99")
    lines = {line[:11]: line for line in out.splitlines()}
    assert re.search(r" 46\.8 \? .* no$", lines["Nadia Ferro"])
    assert re.search(r" 98\.9 .* no$", lines["Lena Okonjo"])
    assert lines["Oskar Venn "].endswith("  late")
    assert "Handed in late: 2" in out
    assert "- Otis Marlow, late: submissions.csv row 14" in out
    assert lines["Lena Okonjo"].count("?") == 0  # to be found free is no doubt
    said = " ".join(out.split())
    assert "? is it the right chart, and does chorus 1 begin where it says? Nadia Ferro" in said
    assert said.count("Nadia Ferro") == 2
    assert max(map(len, out.splitlines())) <= 80
    row = next(
        r for r in rows_of(tmp_path / "grades" / "grades.csv") if r["student"][:5] == "Nadia"
    )
    assert row["to_check"].startswith("is it the right chart")


def test_takes_of_several_weeks_say_theirs(tmp_path, capsys):
    put_chart(tmp_path, "lamp_oil.toml", "edda")  # none of them was played over it
    for week, take in (("12", "mira"), ("19", "oskar")):
        put(tmp_path, f"2026-01-{week}/Bo.mid", take)
    _, out, _ = run(capsys, tmp_path, "--jobs", "1")
    page = (tmp_path / "grades" / "class.html").read_text("utf-8")
    for week in ("12", "19"):
        name = f"2026-01-{week}/Bo.mid"
        assert re.search(rf"^Bo +{name} ", out, re.MULTILINE)
        assert "\nstudent " in out
        assert f"Bo ({name})" in " ".join(out.split())  # the question about the chart
        assert f'<span class="file">{name}</span>' in page
        assert f"Bo ({name})" in page


def test_a_pseudonym_can_be_read_whole(tmp_path, capsys):
    copy_demo_tunes(tmp_path)
    _, out, _ = run(
        capsys, tmp_path, "--jobs", "1", "--anonymous", "--ranking", "--pass-mark", "99"
    )
    assert len(re.findall(r"^ +\d  Student [0-9A-Z]{8} take 1 +\d", out, re.MULTILINE)) == 12
    assert max(map(len, out.splitlines())) <= 80


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["nowhere"], "nowhere: is no folder"),
        ([""], "FOLDER is empty"),
        (["."], "holds no take"),
        ([".", "--pass-mark", "101"], "101 is not from 0 to 100"),
        ([".", "--jobs", "0"], "0 is not in the range"),
        ([".", "--out", "file"], "--out: it is a file"),
        ([".", "--chart", "nowhere.toml"], "nowhere.toml: no such file"),
        ([".", "--submissions", "nowhere.csv"], "nowhere.csv: no such file"),
        ([".", "--rubric", "nowhere.toml"], "nowhere.toml: no such file"),
    ],
)
def test_faults_are_one_line_and_status_2(tmp_path, monkeypatch, capsys, arguments, told):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "file").write_text("x")
    status, out, err = run(capsys, *arguments)
    assert (status, out) == (2, "")
    assert told in err
    assert err.startswith("linecheck: ")
    assert err.count("\n") == 1


# ---- the journal -----------------------------------------------------------------------------


def test_an_entry_is_the_one_that_an_audit_gives(tmp_path):
    copy_demo_tunes(tmp_path)
    book = grade_folder(tmp_path, jobs=1)
    noted = JournalEntries(book, tmp_path / "class.journal")
    for index, row in enumerate(book):
        noted.add(index, row)
    made = noted.made
    assert len(made) == 12
    for entry in made:
        (tune,) = [tune for tune in TUNES.values() if tune.take.name == entry.take]
        audit = steps.audit(tune.chart, tune.take)
        assert entry == entry_of_audit(
            audit, student=entry.student, date=entry.date, class_name=entry.class_name
        )
    assert {entry.student: entry.date for entry in made}["Oskar Venn"] == "2026-03-08"


def test_an_entry_in_six_eight_has_the_tempo_in_quarter_notes(tmp_path):
    put(tmp_path, "mira.mid", "mira")
    chart = tmp_path / "jig.toml"
    chart.write_text('title = "Jig"\nmeter = "6/8"\n[sections]\nA = "| F7 | Bb7 |"\n', "utf-8")
    book = grade_folder(tmp_path, jobs=1)
    noted = JournalEntries(book, tmp_path / "class.journal")
    noted.add(0, book[0])
    (entry,) = noted.made
    assert entry == entry_of_audit(steps.audit(chart, tmp_path / "mira.mid"), student=entry.student)
    assert entry.tempo == pytest.approx(book[0].tempo_bpm, rel=0.01)
    assert entry.tempo == pytest.approx(book[0].feel.tempo / 2)


def test_the_takes_of_a_graded_folder_are_noted_once(tmp_path, capsys):
    copy_demo_tunes(tmp_path)
    for _ in range(2):
        run(capsys, tmp_path, "--jobs", "1", "--quiet")
        assert len(entries(tmp_path / "class.journal")) == 12
    (tmp_path / "class.journal").unlink()
    run(capsys, tmp_path, "--jobs", "1", "--quiet", "--anonymous")
    assert not (tmp_path / "class.journal").exists()
    run(capsys, tmp_path, "--jobs", "1", "--quiet", "--out", tmp_path / "out")
    assert (tmp_path / "out" / "class.journal").exists()
    assert command_line.run(["progress", str(tmp_path / "out")]) == 0


def noted(folder):
    return [(e.student, e.class_name, e.date) for e in entries(folder / "class.journal")]


def test_a_take_that_another_has_now_is_no_longer_noted_in_the_old_name(tmp_path, capsys):
    put_chart(tmp_path, "shuffle.toml", "mira")
    put(tmp_path, "2026-01-12/Montag/Bo.mid", "mira")
    put(tmp_path, "2026-01-19/Montag/Bo.mid", "oskar")
    days = ("2026-01-12", "2026-01-19")
    run(capsys, tmp_path, "--jobs", "1", "--quiet")
    assert noted(tmp_path) == [("Montag", "", day) for day in days]
    run(capsys, tmp_path, "--jobs", "1", "--quiet", "--subfolders", "classes")
    assert noted(tmp_path) == [("Bo", "Montag", day) for day in days]
    (tmp_path / "2026-01-19" / "Montag").rename(tmp_path / "2026-01-19" / "Dienstag")
    shutil.rmtree(tmp_path / "2026-01-12")  # last week's takes are cleared away, not taken back
    run(capsys, tmp_path, "--jobs", "1", "--quiet", "--subfolders", "classes")
    assert noted(tmp_path) == [("Bo", "Montag", days[0]), ("Bo", "Dienstag", days[1])]


def test_a_row_that_was_taken_out_stays_until_its_take_is_anothers(folder, capsys):
    table = folder / "submissions.csv"
    first = table.read_text("utf-8")
    run(capsys, folder, "--jobs", "1", "--quiet")
    assert [student for student, _, _ in noted(folder)] == [FORMULA, "Mira"]
    rows = first.splitlines(keepends=True)
    table.write_text("".join(rows[:1] + rows[2:]), encoding="utf-8")
    run(capsys, folder, "--jobs", "1", "--quiet")
    assert [student for student, _, _ in noted(folder)] == [FORMULA, "Mira"]
    table.write_text(first.replace("Mon,Mira", "Mon,Mirjam"), encoding="utf-8")
    run(capsys, folder, "--jobs", "1", "--quiet")
    assert [student for student, _, _ in noted(folder)] == [FORMULA, "Mirjam"]


def test_where_nothing_may_be_written_it_is_said_before_the_work(folder, monkeypatch, capsys):
    monkeypatch.setattr("os.access", lambda *_: False)
    assert command_line.run(["grade", str(folder)]) == 2
    err = capsys.readouterr().err
    assert err.endswith("grades: no right to write there; name another folder with --out\n")
    assert not (folder / "grades").exists()


# ---- reports ---------------------------------------------------------------------------------


def reports_in(folder):
    return {path.name: path.read_bytes() for path in (folder / "reports").iterdir()}


def test_a_page_for_every_graded_take_is_made_once(folder, tmp_path, monkeypatch):
    out, kept = tmp_path / "out", tmp_path / "kept"
    for name in ("mira", "oskar"):  # a chorus is enough
        cut_to_a_chorus(folder / f"{name}.mid")
    book = grade_folder(folder, keep_in=kept, jobs=1)
    rows, files = write_grades(book, out, reports=True, jobs=1)
    assert [row["report"] for row in rows] == [
        "reports/Mon-HYPERLINK_http_x_y-oskar.html",
        "reports/Mon-Mira-mira.html",
        None,
    ]
    assert files[-1] == out / "reports"
    first = reports_in(out)
    assert b"Even-handed" in first["Mon-Mira-mira.html"]
    assert b"Mira, Mon" in first["Mon-Mira-mira.html"]
    assert str(folder).encode() not in first["Mon-Mira-mira.html"]
    made = []
    before = reports.write_whole
    monkeypatch.setattr(
        reports, "write_whole", lambda path, page: (made.append(path.name), before(path, page))
    )
    write_grades(grade_folder(folder, keep_in=kept, jobs=1), out, reports=True, jobs=1)
    assert made == []
    (out / "reports" / "Mon-Mira-mira.html").write_bytes(b"spoilt")
    write_grades(grade_folder(folder, keep_in=kept, jobs=1), out, reports=True, jobs=1)
    assert made == ["Mon-Mira-mira.html"]
    assert reports_in(out) == first
    anonymous = grade_folder(folder, keep_in=kept, jobs=1, anonymous=True)
    write_grades(anonymous, tmp_path / "shared", reports=True, jobs=1)
    for name, page in reports_in(tmp_path / "shared").items():
        assert b"ira" not in name.encode() + page
        assert b"oskar" not in page


def files_in(out):
    names = (path.relative_to(out).as_posix() for path in out.rglob("*") if path.is_file())
    return sorted(name for name in names if name.endswith((".html", ".txt", ".json")))


def test_pages_under_names_that_are_no_longer_used_are_removed(folder, capsys):
    for name in ("mira", "oskar"):  # a chorus is enough
        cut_to_a_chorus(folder / f"{name}.mid")
    out, table = folder / "grades", folder / "submissions.csv"
    table.write_text(
        "class,student,take,chart\n"
        "mon,Mira,mira.mid,shuffle.toml\n"
        "Mon,Oskar,oskar.mid,shuffle.toml\n",
        encoding="utf-8",
    )
    run(capsys, folder, "--jobs", "1", "--quiet", "--reports", "--appeals")
    assert files_in(out) == [
        "appeals/Mon-Oskar-oskar.json", "appeals/Mon-Oskar-oskar.txt",
        "appeals/mon-Mira-mira.json", "appeals/mon-Mira-mira.txt",
        "class_Mon.html", "class_mon-2.html",
        "reports/Mon-Oskar-oskar.html", "reports/mon-Mira-mira.html",
    ]  # fmt: skip
    table.write_text(table.read_text("utf-8").replace("mon,", "Mon,"), encoding="utf-8")
    run(capsys, folder, "--jobs", "1", "--quiet")
    # What belongs to takes of the book stays, also where it was not asked for this time.
    assert files_in(out) == [
        "appeals/Mon-Oskar-oskar.json", "appeals/Mon-Oskar-oskar.txt",
        "class_Mon.html", "reports/Mon-Oskar-oskar.html",
    ]  # fmt: skip


def test_folders_with_the_same_results_leave_each_other_s_files(tmp_path, capsys):
    out = tmp_path / "res"

    def grade(folder):
        run(capsys, folder, "--out", out, "--jobs", "1", "--quiet", "--reports", "--appeals")

    for folder, student in (("mon", "Mira"), ("tue", "Oskar")):
        put_chart(tmp_path / folder, "shuffle.toml", "mira")
        put(tmp_path / folder, f"{folder}/{student}/one.mid", "mira")
        cut_to_a_chorus(tmp_path / folder / folder / student / "one.mid")
        grade(tmp_path / folder)
    of_mon, of_tue = (
        [
            *(f"appeals/{name}-one{end}" for end in (".json", ".txt")),
            f"class_{name[:3]}.html",
            f"reports/{name}-one.html",
        ]
        for name in ("mon-Mira", "tue-Oskar")
    )
    assert files_in(out) == sorted(of_mon + of_tue)
    # Moved together with their results, they are the same folders still.
    (tmp_path / "moved").mkdir()
    for name in ("mon", "tue", "res"):
        (tmp_path / name).rename(tmp_path / "moved" / name)
    out = tmp_path / "moved" / "res"
    (tmp_path / "moved" / "mon" / "mon" / "Mira").rename(tmp_path / "moved" / "mon" / "mon" / "Bo")
    grade(tmp_path / "moved" / "mon")
    of_bo = [name.replace("Mira", "Bo") for name in of_mon]
    assert files_in(out) == sorted(of_bo + of_tue)


def test_a_sheet_is_called_by_the_week_of_its_take(tmp_path, capsys):
    put_chart(tmp_path, "shuffle.toml", "mira")
    put(tmp_path, "2026-01-12/Mon/Mira/Mira.mid", "mira")
    put(tmp_path, "2026-01-19/Mon/Mira/Mira.mid", "oskar")
    run(capsys, tmp_path, "--jobs", "1", "--quiet", "--appeals")
    sheets = [path.name for path in sorted((tmp_path / "grades" / "appeals").glob("*.txt"))]
    assert sheets == ["Mon-Mira-2026-01-12.txt", "Mon-Mira-2026-01-19.txt"]


def test_a_page_that_the_teacher_changed_or_put_there_stays(tmp_path, capsys):
    put_chart(tmp_path, "shuffle.toml", "mira")
    put(tmp_path, "Mon/Mira/one.mid", "mira")
    put(tmp_path, "Tue/Oskar/one.mid", "oskar")
    run(capsys, tmp_path, "--jobs", "1", "--quiet")
    out = tmp_path / "grades"
    assert files_in(out) == ["class_Mon.html", "class_Tue.html"]
    mon = out / "class_Mon.html"
    mon.write_text(mon.read_text("utf-8") + "<!-- seen -->", encoding="utf-8")
    (out / "class_own.html").write_bytes((out / "class_Tue.html").read_bytes())
    for day in ("Mon", "Tue"):
        (tmp_path / day).rename(tmp_path / f"{day}day")
    run(capsys, tmp_path, "--jobs", "1", "--quiet")
    kept = ["class_Mon.html", "class_Monday.html", "class_Tueday.html", "class_own.html"]
    assert files_in(out) == kept
    run(capsys, tmp_path, "--jobs", "1", "--quiet", "--anonymous")
    run(capsys, tmp_path, "--jobs", "1", "--quiet")
    assert [name for name in files_in(out) if "anonymous" not in name] == kept


def test_a_page_that_cannot_be_made_is_said(folder, tmp_path, monkeypatch):
    monkeypatch.setattr("linecheck.report.as_html.write_html", lambda _: 1 / 0)
    book = grade_folder(folder, jobs=1)
    rows, _ = write_grades(book, tmp_path / "out", reports=True, jobs=1)
    assert {row["report"] for row in rows} == {None}
    said = cells_of(tmp_path / "out" / "grade_book.xlsx")["Rubric"]
    assert any("no report on Mira, mira.mid: a fault of linecheck" in str(row[1]) for row in said)
    for name, told in (("Mon", True), ("Thu", False)):
        page = (tmp_path / "out" / f"class_{name}.html").read_text("utf-8")
        assert ("No report on Mira, mira.mid" in page) is told


@pytest.mark.parametrize(
    ("student", "take", "name"),
    [
        ("Zoë", "a/b.mid", "Zoë-b"),
        ("../x", "../../etc.mid", "x-etc"),
        ("con", "con.mid", "_con"),
        ("?", "?.mid", "take"),
        ("a" * 300, "b.mid", "a" * 100),
    ],
)
def test_the_name_of_a_page_is_safe(student, take, name):
    one = Submission(student, "", None, None, take, "")
    assert reports._plain_name(one) == name


def test_the_grades_given_as_a_table_grade_the_same(tmp_path):
    folder = small_class(tmp_path / "class")
    write_grades(grade_folder(folder, jobs=1), tmp_path / "out")
    shutil.copy(tmp_path / "out" / "grades.csv", folder / "again.csv")
    first = {row.submission.take_name: row for row in grade_folder(folder, jobs=1)}
    again = grade_folder(folder, submissions=folder / "again.csv", jobs=1)
    assert len(again) == len(first)
    for row in again:
        one = first[row.submission.take_name]
        assert type(row) is type(one)
        if isinstance(row, Graded):
            assert row.judgement.commitment == one.judgement.commitment
