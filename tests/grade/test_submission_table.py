"""A table of submissions: what its cells mean, and how each fault of it is said."""

from __future__ import annotations

import io
import re
from datetime import date, datetime, time

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linecheck.faults import InputFault
from linecheck.grade.submission_table import COLUMNS, TableFault, find_table, read_submissions
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


def read(folder, content, name="submissions.csv", **more):
    table = folder / name
    table.write_bytes(content if isinstance(content, bytes) else content.encode())
    return read_submissions(table, folder, **more)


def reason(folder, content, **more):
    (row,) = read(folder, content, **more)
    assert isinstance(row, Refused), row
    return row.reason


def spreadsheet(*sheets):
    book = openpyxl.Workbook()
    book.remove(book.active)
    for number, rows in enumerate(sheets):
        sheet = book.create_sheet(f"sheet {number}")
        for row in rows:
            sheet.append(row)
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


# ---- what is read ----------------------------------------------------------------------------

WHOLE = (
    "student,take,chart,class,due,submitted,track,tempo,first_beat_one,click,# seat\n"
    'Mira,a.mid,x.toml,Monday,2026-11-20,20.11.2026 17:05,"Bass, low",132.5,3:2,yes,12\n'
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
    assert row.options == TakeOptions("Bass, low", 132.5, "3:2", click=True)
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
    first, second = read(folder, content, "submissions.xlsx")
    assert (first.due, first.submitted) == ("2026-11-20", "2026-11-20 17:05")
    assert first.options == TakeOptions("2", 132.0, "3:2")
    assert second.options == TakeOptions("2", 131.5, "3")
    assert second.where == "submissions.xlsx row 4"


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
        ("M,a.mid,,,,", "chart is empty, and no chart is named for all takes"),
        ("M,A.mid,x.toml,,,", "there is no take A.mid; did you mean a.mid?"),
        ("M,a.mid,y.toml,,,", "there is no chart y.toml; did you mean x.toml?"),
        ("M,gone/far.mid,x.toml,,,", r"there is no take gone/far.mid$"),
        ("M,sub,x.toml,,,", "take sub is a folder; a file was expected"),
        ("M,a.mid,x.toml,05/11/2026,,", "due is '05/11/2026'; expected a date such as 2026-11-20"),
        ("M,a.mid,x.toml,2026-02-30,,", "due is '2026-02-30'; there is no such day or time"),
        ("M,a.mid,x.toml,46346,,", "due is '46346'; expected a date"),
        ("M,a.mid,x.toml,,fast,", "tempo is 'fast'; expected quarter notes a minute, 20 to 500"),
        ("M,a.mid,x.toml,,nan,", "tempo is 'nan'"),
        ("M,a.mid,x.toml,,5000,", "tempo is '5000'"),
        ("M,a.mid,x.toml,,,maybe", "click is 'maybe'; expected yes, no or nothing"),
        ("Castellan, Mira,a.mid,x.toml,,,yes", "has a cell more than there are columns"),
    ],
)
def test_what_is_wrong_with_a_row_is_its_reason(folder, cells, told):
    (folder / "y").mkdir()
    said = reason(folder, f"student,take,chart,due,tempo,click\n{cells}\n")
    assert re.search(told, said), said
    assert said.startswith("submissions.csv row 2: ")


def test_a_row_that_is_there_twice_is_refused_once(folder):
    rows = read(folder, "student,take,chart\nM,a.mid,x.toml\nN,a.mid,x.toml\nM,a.mid,x.toml\n")
    assert [isinstance(row, Refused) for row in rows] == [False, False, True]
    assert rows[2].reason == "it is the same submission as in submissions.csv row 2"


# ---- faults of the whole table ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "is empty"),
        (b"\n\n", "holds no row"),
        (b"student,take\n", "names no submission"),
        (b"student,chart\nM,x\n", "row 1: there is no column take"),
        (b"x,y\n", "unknown column 'x'"),
        (b"studnet,take\n", "unknown column 'studnet'.*did you mean student"),
        (b"student,take,Take\n", "column take is there twice"),
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
    with pytest.raises(TableFault, match="sheets 'sheet 0' and 'sheet 1' both name a student"):
        read(folder, spreadsheet([header], [header]), "submissions.xlsx")
    with pytest.raises(TableFault, match="holds no row"):
        read(folder, spreadsheet([]), "submissions.xlsx")
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
            assert row.reason.startswith(("submissions", "it is the same"))
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
