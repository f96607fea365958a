"""A table of submissions: what its cells mean, and how each fault of it is said."""

from __future__ import annotations

import io
import re
from datetime import date, datetime, time, timedelta

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linecheck.faults import InputFault
from linecheck.grade.submission_table import COLUMNS, TableFault, find_table, read_submissions
from linecheck.grade.table_cells import bar_and_beat
from linecheck.grade.terms import Refused, Submission, TakeOptions


@pytest.fixture
def folder(tmp_path):
    for name in ("a.mid", "b.mid", "x.toml", "sub/c.mid"):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_text("x", encoding="utf-8")
    return tmp_path


DAY = datetime.fromisoformat("2026-11-20")
MOMENT = datetime.fromisoformat("2026-11-20 17:05")


def read_all(folder, content, name="submissions.csv", **more):
    """The rows, and the texts of the notes."""
    table = folder / name
    table.write_bytes(content if isinstance(content, bytes) else content.encode())
    rows, notes = read_submissions(table, folder, **more)
    return rows, [note.text for note in notes]


def read(folder, content, name="submissions.csv", **more):
    return read_all(folder, content, name, **more)[0]


def reason(folder, content, **more):
    (row,) = read(folder, content, **more)
    assert isinstance(row, Refused), row
    return row.reason


def spreadsheet(*sheets):
    """Sheets called "list 0", "list 1" …"""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for number, rows in enumerate(sheets):
        sheet = book.create_sheet(f"list {number}")
        for row in rows:
            sheet.append(row)
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


# ---- what is read ----------------------------------------------------------------------------

WHOLE = (
    "student,take,chart,class,due,submitted,track,tempo,first_beat_one,click,in_key,# seat\n"
    'Mira,a.mid,x.toml,Monday,2026-11-20,20.11.2026 17:05,"Bass, low",132.5,3:2,yes,Bb,12\n'
)


@pytest.mark.parametrize(
    "content",
    [
        WHOLE,
        "\ufeff" + WHOLE,
        WHOLE.replace("\n", "\r\n"),
        WHOLE.replace("\n", "\r"),
        WHOLE.replace("\n", "\n\n"),
        WHOLE.replace("student", " Student ").replace("first_beat_one", "First Beat-One"),
        WHOLE.encode("utf-16"),
        "sep=,\r\n" + WHOLE,
        WHOLE.replace(",", ";").replace("Bass; low", "Bass, low").replace("132.5", '"132,5"'),
        WHOLE.replace(",", "\t").replace("Bass\t low", "Bass, low"),
    ],
)
def test_the_same_table_in_all_its_dresses(folder, content):
    (row,) = read(folder, content)
    assert isinstance(row, Submission)
    assert (row.student, row.class_name) == ("Mira", "Monday")
    assert (row.take, row.chart) == (folder / "a.mid", folder / "x.toml")
    assert (row.due, row.submitted) == ("2026-11-20", "2026-11-20 17:05")
    assert row.options == TakeOptions("Bass, low", 132.5, "3:2", click=True, key="Bb")
    assert row.where.startswith("submissions.csv row ")


def test_a_spreadsheet_with_its_own_dates_times_and_numbers(folder):
    content = spreadsheet(
        [["what this is"], [None, "for"]],
        [
            list(COLUMNS[:9]),
            ["Mira", "a.mid", "x.toml", "M", DAY, MOMENT,
             2.0, 132, time(3, 2)],
            [None] * 9,
            ["Oskar", "b.mid", "x.toml", "M", date(2026, 11, 20), "2026-11-21", "2", 131.5, 3],
        ],
    )  # fmt: skip
    (first, second), notes = read_all(folder, content, "submissions.xlsx")
    assert (first.due, first.submitted) == ("2026-11-20", "2026-11-20 17:05")
    assert first.options == TakeOptions("2", 132.0, "3:2")
    assert second.options == TakeOptions("2", 131.5, "3")
    assert second.where == "submissions.xlsx sheet 'list 1' row 4"
    assert notes == ["of submissions.xlsx sheet 'list 1' was read; not 'list 0'"]


def test_of_one_sheet_nothing_is_said_and_a_remark_beside_it_is_no_fault(folder):
    content = spreadsheet([["student", "take"], ["Mira", "a.mid", None, "was ill"]], [])
    (row,), notes = read_all(folder, content, "submissions.xlsx")
    assert (row.where, notes) == ("submissions.xlsx row 2", [])
    assert isinstance(row, Submission)


@pytest.mark.parametrize(
    ("written", "read_as"),
    [
        ("6.3.26", "2026-03-06"),
        ("06.03.2026", "2026-03-06"),
        ("6.3.2026, 18:00", "2026-03-06 18:00"),
        ("2026/3/6", "2026-03-06"),
        ("25/3/2026 9:05", "2026-03-25 09:05"),
        ("3/25/2026", "2026-03-25"),
        ("5/5/2026", "2026-05-05"),
        ("6. März 2026", "2026-03-06"),
        ("6. Ma\u0308rz 2026 18:00", "2026-03-06 18:00"),
        ("6 Mrz 2026", "2026-03-06"),
        ("6 March 2026", "2026-03-06"),
        ("March 6, 2026", "2026-03-06"),
        ("20 Dez. 2026", "2026-12-20"),
        ("Sept. 1 2026", "2026-09-01"),
        ("1 may 2026", "2026-05-01"),
    ],
)
def test_a_date_in_the_ways_that_it_is_written(folder, written, read_as):
    (row,), notes = read_all(folder, f'student,take,submitted\nMira,a.mid,"{written}"\n')
    assert (row.submitted, row.remarks, notes) == (read_as, (), [])


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("6/3/2026", "which may be 2026-03-06 or 2026-06-03; write it like these"),
        ("6-3-2026", "which may be 2026-03-06 or 2026-06-03; write it like these"),
        ("2026-02-30", "there is no such day or time"),
        ("31.2.26", "there is no such day or time"),
        ("46087", "expected a date such as 2026-11-20"),
        ("Freitag", "expected a date such as 2026-11-20"),
        ("6 Ma 2026", "expected a date such as 2026-11-20"),
        ("6 takes 2026", "expected a date such as 2026-11-20"),
        ("1/2/26", "expected a date such as 2026-11-20"),
    ],
)
def test_a_date_that_cannot_be_read_costs_no_grade_and_is_told(folder, written, told):
    content = f"student,take,due,submitted\nMira,a.mid,2026-03-06,{written}\nOskar,x,,{written}\n"
    (row, refused), notes = read_all(folder, content)
    assert isinstance(row, Submission)
    assert (row.due, row.submitted) == ("2026-03-06", "")
    said = f"submitted is '{written}'[,;] {told}; whether the take is late is not known"
    assert re.fullmatch(said, row.remarks[0])
    assert refused.reason == "submissions.csv row 3: there is no take x"
    assert re.fullmatch(f"rows 2, 3 of submissions.csv: {said}", notes[0])


def test_of_many_dates_that_cannot_be_read_some_are_told(folder):
    rows = "".join(f"S{n},a.mid,day {n}\n" for n in range(9))
    _, notes = read_all(folder, f"student,take,due\n{rows}")
    assert len(notes) == 6
    assert notes[-1] == "more dates that cannot be read: 4 in number (submissions.csv)"


def test_a_time_of_day_is_no_date_and_is_shown_as_one_writes_it(folder):
    content = spreadsheet([["student", "take", "due"], ["Mira", "a.mid", time(9)]])
    (row,) = read(folder, content, "submissions.xlsx")
    assert row.remarks[0].startswith("due is '09:00'; expected a date")


def test_columns_of_the_teacher_are_passed_over_and_named_once(folder):
    content = "student,take,Bemerkung,note,note,cahrt,# seat\nMira,a.mid,ill,3,4,x.toml,12\n"
    (row,), notes = read_all(folder, content)
    assert isinstance(row, Submission)
    told = "'Bemerkung', 'note', 'note', 'cahrt'; 'cahrt' looks like chart"
    assert notes == [f"columns of submissions.csv passed over: {told}"]
    assert read_all(folder, content.replace("cahrt", "Instrument"))[1][0].endswith("'Instrument'")


def test_german_headings(folder):
    content = (
        "SCHÜLER;Klasse;Datei;Akkorde;F\u00e4llig;Abgegeben\nZoë;Mo;a.mid;x.toml;6.3.26;5.3.26\n"
    )
    (row,), notes = read_all(folder, content)
    assert (row.student, row.class_name, row.take_name) == ("Zoë", "Mo", "a.mid")
    assert (row.chart_name, row.due, row.submitted) == ("x.toml", "2026-03-06", "2026-03-05")
    assert notes == []


def test_a_chart_that_is_not_named_is_looked_for_as_without_a_table(folder):
    charts = folder / "charts"
    charts.mkdir()
    (folder / "x.toml").rename(charts / "a.toml")
    (charts / "b_minor.toml").write_text("x", encoding="utf-8")
    (folder / "B Minor (Zoë).mid").write_text("x", encoding="utf-8")
    content = (
        "student,take,chart\nM,a.mid,\nZ,B Minor (Zoë).mid,\nN,b.mid,\nO,b.mid,charts/a.toml\n"
    )
    rows = read(folder, content)
    assert [row.chart for row in rows if isinstance(row, Submission)] == [
        charts / "a.toml", charts / "b_minor.toml", charts / "a.toml",
    ]  # fmt: skip
    assert rows[1].chart_name == "charts/b_minor.toml"
    assert rows[2].reason == (
        "any of 2 charts may be meant: charts/a.toml, charts/b_minor.toml; begin the name of a take "
        "with that of its chart, or name it in the column chart"
    )
    assert read(folder, content, leave_out=[charts / "a.toml"])[2].chart == charts / "b_minor.toml"


def test_a_written_file_that_the_table_calls_a_take_is_no_chart(folder):
    (folder / "x.toml").unlink()
    (folder / "a.xml").write_text("x", encoding="utf-8")
    rows, notes = read_all(folder, "student,take\nM,a.mid\n")
    assert (rows[0].chart_name, notes) == ("a.xml", [])
    rows = read(folder, "student,take\nM,a.mid\nN,a.xml\n")
    assert {row.reason.partition(";")[0] for row in rows} == {"there is no chart for it"}


def test_files_under_their_own_names(folder):
    (folder / "two  spaces.mid").write_text("x", encoding="utf-8")
    (folder / "Zoe\u0308").mkdir()
    (folder / "Zoe\u0308" / "u\u0308.mid").write_text("x", encoding="utf-8")
    (folder / "=1.mid").write_text("x", encoding="utf-8")
    names = ("two  spaces.mid", "Zoë/ü.mid", "'=1.mid")
    rows = read(folder, "student,take\n" + "".join(f"'-A,{name}\n" for name in names))
    assert [row.take.name for row in rows] == ["two  spaces.mid", "u\u0308.mid", "=1.mid"]
    assert {row.student for row in rows} == {"-A"}


def test_a_row_without_a_take_says_that_the_student_has_others(folder):
    content = "student,take,class\nT,a.mid,1\nT,,1\nT,,2\nU,,1\nT,gone.mid,1\n"
    told = [row.reason for row in read(folder, content) if isinstance(row, Refused)]
    assert told[0] == (
        "submissions.csv row 3: take is empty: nothing was handed in for this row; 2 other rows of "
        "the same student name a take"
    )
    assert told[1] == "submissions.csv row 4: take is empty: nothing was handed in"
    assert told[2] == "submissions.csv row 5: take is empty: nothing was handed in"


def test_the_chart_of_all_stands_in_where_the_row_names_none(folder):
    (row,) = read(folder, "student,take\nMira,a.mid\n", chart=folder / "x.toml")
    assert row.chart_name == "x.toml"


def test_a_path_that_was_written_on_windows(folder):
    (row,) = read(folder, "student,take,chart\nMira,sub\\c.mid,x.toml\n")
    assert row.take == folder / "sub" / "c.mid"


def test_a_track_of_the_same_take_is_another_submission(folder):
    rows = read(folder, "student,take,chart,track\nA,a.mid,x.toml,1\nA,a.mid,x.toml,2\n")
    assert [type(row) for row in rows] == [Submission, Submission]


# ---- rows with a reason ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cells", "told"),
    [
        (",a.mid,x.toml,,,", "row 2: student is empty"),
        ("M,,x.toml,,,", "row 2: take is empty: nothing was handed in"),
        ("M,A.mid,x.toml,,,", "there is no take A.mid; did you mean a.mid?"),
        ("M,a.mid,y.toml,,,", "there is no chart y.toml; did you mean x.toml?"),
        ("M,a,x.toml,,,", "there is no take a; did you mean a.mid?"),
        ("M,a.mid,x,,,", "there is no chart x; did you mean x.toml?"),
        (
            "M,a.mid,charts/mill_walz.toml,,,",
            "mill_walz.toml; did you mean charts/mill_waltz.toml?",
        ),
        ("M,a.mid,charts\\mill_walz.toml,,,", "did you mean charts/mill_waltz.toml?"),
        ("M,a.mid,Mill_Waltz,,,", "no chart Mill_Waltz; did you mean charts/mill_waltz.toml?"),
        ("M,a.mid,../mill_walz.toml,,,", "did you mean charts/mill_waltz.toml?"),
        ("M,gone/far.mid,x.toml,,,", r"there is no take gone/far.mid$"),
        ("M,sub,x.toml,,,", "take sub is a folder; a file was expected"),
        ("M,a.mid,x.toml,,fast,", "tempo is 'fast'; expected quarter notes a minute, 20 to 500"),
        ("M,a.mid,x.toml,,nan,", "tempo is 'nan'"),
        ("M,a.mid,x.toml,,5000,", "tempo is '5000'"),
        ("M,a.mid,x.toml,,,maybe", "click is 'maybe'; expected yes, no or nothing"),
        ("Castellan, Mira,a.mid,x.toml,,,yes", "has a cell more than there are columns"),
    ],
)
def test_what_is_wrong_with_a_row_is_its_reason(folder, cells, told):
    (folder / "y").mkdir()
    (folder / "charts").mkdir()
    (folder / "charts" / "mill_waltz.toml").write_text("x", "utf-8")
    said = reason(folder, f"student,take,chart,due,tempo,click\n{cells}\n")
    assert re.search(told, said), said
    assert said.startswith("submissions.csv row 2: ")


def test_a_row_that_is_there_twice_is_refused_once(folder):
    rows = read(folder, "student,take,chart\nM,a.mid,x.toml\nN,a.mid,x.toml\nM,a.mid,x.toml\n")
    assert [isinstance(row, Refused) for row in rows] == [False, False, True]
    assert rows[2].reason == "it is the same submission as in submissions.csv row 2"


def test_a_take_that_a_student_has_in_two_rows_is_refused_in_the_second(folder):
    head = "student,class,take,chart,in_key,track\n"
    rows = "M,,a.mid,x.toml,Bb,\nM,,a.mid,x.toml,,\nM,,a.mid,x.toml,,2\nM,B,a.mid,x.toml,,\n"
    found = read(folder, head + rows)
    assert [isinstance(row, Refused) for row in found] == [False, True, False, False]
    already = "the take stands in submissions.csv row 2 already, read in another way"
    assert found[1].reason == already


# ---- faults of the whole table ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "is empty"),
        (b"\n\n", "holds no row"),
        (b"student,take\n", "names no submission"),
        (b"student,chart\nM,x\n", "row 1: there is no column take"),
        (b"x,y\n", "there is no column student and no column take; the first row"),
        (b"studnet,take\n", "there is no column student; 'studnet' looks like student; the first"),
        (b"student,take,Take\n", "column take is there twice; keep one of 'take' and 'Take'"),
        (b"student,take,Datei\n", "column take is there twice; keep one of 'take' and 'Datei'"),
        (b"student,take\nZo\xeb,a.mid\n", "line 2: is not text in UTF-8; save it as CSV UTF-8"),
        (b"student,take\nM,a\0.mid\n", "is no text: it holds zero bytes"),
        (b'student,take\nM,"a.mid\n', "line 2: cannot be read"),
        (b"student,take\nM," + b"a" * 200_000 + b"\n", "line 2: cannot be read"),
    ],
)
def test_what_is_wrong_with_a_table_is_one_line(folder, content, told):
    with pytest.raises(TableFault, match=told) as fault:
        read(folder, content)
    assert "\n" not in str(fault.value)


def test_what_is_wrong_with_a_spreadsheet_is_one_line(folder):
    with pytest.raises(TableFault, match=r"cannot be read as a spreadsheet \(.xlsx\)"):
        read(folder, b"student,take\n", "submissions.xlsx")
    header = ["student", "take"]
    with pytest.raises(TableFault, match="sheets 'list 0' and 'list 1' both name a student"):
        read(folder, spreadsheet([header], [header]), "submissions.xlsx")
    with pytest.raises(TableFault, match="holds no row"):
        read(folder, spreadsheet([]), "submissions.xlsx")
    with pytest.raises(TableFault, match="sheet 'list 0', row 1: there is no column student"):
        read(folder, spreadsheet([["name"]], [["x"]]), "submissions.xlsx")
    with pytest.raises(TableFault, match=r"a table is a .csv, .tsv or .xlsx file"):
        read(folder, b"x", "submissions.ods")


def test_of_two_tables_none_is_guessed(folder):
    assert find_table(folder) is None
    (folder / "submissions.csv").write_text("x", encoding="utf-8")
    assert find_table(folder) == folder / "submissions.csv"
    (folder / "submissions.xlsx").write_text("x", encoding="utf-8")
    with pytest.raises(TableFault, match=r"submissions.csv and submissions.xlsx; name the one"):
        find_table(folder)


# ---- fuzz ------------------------------------------------------------------------------------

WORDS = st.sampled_from(
    [*COLUMNS, "a.mid", "x.toml", "2026-11-20", "=1+1", "sub", "../a.mid", "", " ", '"', "''", "\\",
     "\0", "\ufeff", "ß", "1e999", "-1", "yes", "#", "3:2", "//", "CON", "a" * 300]
)  # fmt: skip
CELLS = st.one_of(WORDS, st.text(max_size=12))
ENDS = st.sampled_from(["\n", "\r\n", "\r", "\n\n", ""])


def checked(folder, content, name):
    """A table gives rows, each whole, or one line that says what is wrong."""
    try:
        rows = read(folder, content, name)
    except InputFault as fault:
        if not str(fault).isprintable():
            raise AssertionError(repr(str(fault))) from fault
        return
    for row in rows:
        if isinstance(row, Refused):
            assert row.reason.isprintable()
            starts = ("submissions", "it is the same", "any of ", "there is no chart")
            assert row.reason.startswith(starts)
        else:
            assert row.student
            assert row.take.is_file()
            assert row.chart.is_file()


@settings(max_examples=100, deadline=None)
@given(
    header=st.lists(st.one_of(st.sampled_from(COLUMNS), CELLS), max_size=6),
    rows=st.lists(st.lists(CELLS, max_size=7), max_size=5),
    separator=st.sampled_from(",;\t|"),
    end=ENDS,
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-32-le"]),
)
def test_any_table_of_text(tmp_path_factory, *, header, rows, separator, end, encoding):
    folder = tmp_path_factory.mktemp("fuzz")
    (folder / "a.mid").write_text("x")
    (folder / "x.toml").write_text("x")
    text = end.join(separator.join(row) for row in (["student", "take", "chart", *header], *rows))
    checked(folder, text.encode(encoding, "surrogatepass"), "submissions.csv")


@settings(max_examples=60, deadline=None)
@given(
    content=st.binary(max_size=200), cut=st.integers(0, 2000), name=st.sampled_from(["csv", "xlsx"])
)
def test_any_bytes(tmp_path_factory, content, cut, name):
    folder = tmp_path_factory.mktemp("fuzz")
    good = spreadsheet([["student", "take"], ["M", "a.mid"]]) if name == "xlsx" else WHOLE.encode()
    checked(folder, good[:cut] + content, f"submissions.{name}")


@pytest.mark.parametrize(
    ("cell", "text"),
    [(time(3, 2), "3:2"), (timedelta(hours=25, minutes=2), "25:2"), (7, "7"), ("4.2s", "4.2s")],
)
def test_a_bar_and_beat_that_a_spreadsheet_took_for_a_time(cell, text):
    assert bar_and_beat(cell) == text


def test_a_key_that_is_none_is_the_reason_of_its_row(folder):
    table = "student,take,chart,in_key\nM,a.mid,x.toml,Q\n"
    assert reason(folder, table) == (
        "submissions.csv row 2: key: 'Q' is no key; expected a tonic such as 'Bb', or 'Dm' for minor"
    )
    (row,) = read(folder, "student,take,chart,in_key\nM,a.mid,x.toml,\n")
    assert row.options == TakeOptions()
