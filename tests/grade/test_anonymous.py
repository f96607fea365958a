"""An anonymous grade book: no name in any file, charts and linecheck's own words as they are."""

from __future__ import annotations

import csv
import html
import io
import re
import unicodedata

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linecheck import command_line, read_chart, read_take
from linecheck.demo import copy_demo_tunes
from linecheck.faults import InputFault
from linecheck.grade import Submission, grade_folder
from linecheck.grade.anonymous import Hidden, _file_words, _name_words, blanked, shown_title
from linecheck.grade.work import told
from linecheck.grade.write import write_grades
from linecheck.terms import Remark
from tests.grade.class_folders import cut_to_a_chorus, put, put_chart

CLICK = "the take was not played to the click of its file; its beats were found from the line"


def rows_of(path):
    return list(csv.DictReader(io.StringIO(path.read_text("utf-8"), newline="")))


def everything_in(folder):
    """All names of files in a folder, and all that is to be read in them."""
    told = []
    for path in sorted(folder.rglob("*")):
        told.append(path.relative_to(folder).as_posix())
        if path.suffix == ".xlsx":
            book = openpyxl.load_workbook(path)
            told += [str(cell.value) for sheet in book for row in sheet.rows for cell in row]
            told += book.sheetnames
        elif path.suffix == ".parquet":
            parquet = pytest.importorskip("pyarrow.parquet")
            told.append(str(parquet.read_table(path).to_pylist()))
        elif path.is_file():
            told.append(html.unescape(path.read_text("utf-8")))
    return "\n".join(told)


def test_charts_keep_their_names_and_each_has_one(tmp_path):
    copy_demo_tunes(tmp_path)
    book = grade_folder(tmp_path, jobs=1, anonymous=True)
    rows, _ = write_grades(book, tmp_path / "out")
    assert {row["chart"] for row in rows} == {
        path.name for path in (tmp_path / "charts").glob("*.toml")
    } - {"copper_lantern.toml"}
    page = (tmp_path / "out" / "class_Monday.html").read_text("utf-8")
    assert "Gravel and Rain" in page


def test_no_name_stands_in_any_file(tmp_path):
    folder = tmp_path / "class"
    put_chart(folder, "mira.toml", "mira")
    put_chart(folder, "charts/MiraCastellans_blues.toml", "oskar")
    put_chart(folder, "charts/ballad.toml", "oskar")
    title = (folder / "mira.toml").read_text("utf-8")
    (folder / "mira.toml").write_text(re.sub('title = ".*"', 'title = "For MIRA"', title), "utf-8")
    for name, take, track in (
        ("mira.mid", "mira", "Mira's bass"),
        ("Zoë.mid", "oskar", "zoe 2"),
        ("blues by venn.mid", "oskar", "Castellan"),
        ("copy.mid", "oskar", "Bo"),
    ):
        put(folder, name, take)
        cut_to_a_chorus(folder / name, track)
    (folder / "castellan.mid").write_bytes(b"no MIDI")
    (folder / "submissions.csv").write_text(
        "class,student,take,chart,track\n"
        "Mon,Mira Castellan,mira.mid,mira.toml,\n"
        "Mon,Zoë Brandt,Zoë.mid,charts/MiraCastellans_blues.toml,\n"
        "Mon,Oskar,blues by venn.mid,charts/ballad.toml,\n"
        "Mon,Bo,copy.mid,charts/ballad.toml,Oskar\n"
        "Mon,Bo,castellan.mid,charts/ballad.toml,\n"
        "Mon,Zoë Brandt,castelan.mid,charts/ballad.toml,\n"
        "Mon,Oskar,Oskar is not here.mid,charts/ballad.toml,\n",
        "utf-8",
    )
    book = grade_folder(folder, keep_in=tmp_path / "kept", jobs=1, anonymous=True)
    rows, _ = write_grades(book, tmp_path / "out", reports=True, appeals=True, jobs=1, ranking=True)
    told = everything_in(tmp_path / "out")
    for name in ("mira", "castellan", "zo[eë]", "brandt", "venn", "oskar", "Bo"):
        flags = 0 if name == "Bo" else re.IGNORECASE
        found = re.search(rf"(?<![a-z]){name}(?![a-z])", told, flags)
        assert not found, told[max(0, found.start() - 80) : found.end() + 80]
    assert {row["chart"] for row in rows} == {"chart 1", "chart 2", "ballad.toml"}
    assert "track 2 '…'s bass'" in told


def test_students_called_by_numbers_or_other_letters_stand_in_no_file(tmp_path):
    folder = tmp_path / "class"
    charts = ("charts/blues for 48213377.toml", "charts/Shuffle for Lukasz.toml", "ballad.toml")
    for chart in charts:
        put_chart(folder, chart, "mira")
    ballad = folder / "ballad.toml"
    title = ballad.read_text("utf-8")
    ballad.write_text(re.sub('title = ".*"', 'title = "Shuffle of 48213377"', title), "utf-8")
    tracks = {"a.mid": "s1042 bass", "b.mid": "Jo\u0308rg bass", "c.mid": "bass"}
    for name, track in tracks.items():
        put(folder, name, "mira")
        cut_to_a_chorus(folder / name, track.encode().decode("latin-1"))  # in UTF-8
    (folder / "submissions.csv").write_text(
        "student,take,chart,track\n"
        f"48213377,a.mid,{charts[0]},\n"
        f"s1042,b.mid,{charts[1]},\n"
        "Jörg,c.mid,ballad.toml,48213377 solo\n"
        "Łukasz Nowak,c.mid,ballad.toml,\n",
        "utf-8",
    )
    book = grade_folder(folder, jobs=1, anonymous=True)
    rows, _ = write_grades(book, tmp_path / "out", reports=True, appeals=True, jobs=1)
    # The fingerprints may hold any number.
    told = re.sub(r"\b[0-9a-f]{64}\b", "", everything_in(tmp_path / "out"))
    told = unicodedata.normalize("NFC", told)
    for name in ("48213377", "s1042", "Jörg", "Lukasz", "Łukasz"):
        assert name.casefold() not in told.casefold(), name
    assert "no track '… solo' that holds notes" in told
    assert {row["chart"] for row in rows} == {"chart 1", "chart 2", "ballad.toml"}


def test_a_take_called_by_words_of_linecheck_leaves_its_texts_alone(tmp_path):
    put(tmp_path, "the take.mid", "lena")
    put_chart(tmp_path, "gravel_and_rain.toml", "lena")
    (row,) = grade_folder(tmp_path, jobs=1, anonymous=True)
    assert row.warnings == (CLICK,)
    assert row.submission.chart_name == "gravel_and_rain.toml"
    (one,) = grade_folder(tmp_path, jobs=1)
    assert row.title == one.title == "Gravel and Rain"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("track 1 'Mira', program Acoustic Bass", "track 1 '…', program Acoustic Bass"),
        ("track 1 'the takes of MiraC'", "track 1 'the takes of …'"),
        ("there is no take Mon/Mira's 2.mid; did you mean mira.mid?",
         "there is no take …; did you mean ….mid?"),
        (Remark("part MAY is the bass; it may be wrong"),
         "part … is the bass; it may be wrong"),
        (Remark("part may is the bass; it will be wrong", names=("may",)),
         "part … is the bass; it will be wrong"),
        (Remark("sections are bo, tuesday, a mira\u0308; mind it", names=("bo", "tuesday", "a mira\u0308")),
         "sections are …, …, a …; mind it"),
        ("Mon/tuesday/nine penny has no suffix", "… has no suffix"),
        ("no track 'may' that holds notes", "no track '…' that holds notes"),
        ("part Zoe: 2 bars, A7 over Bb", "part …: 2 bars, A7 over Bb"),
        ("part 李雷的琴", "part …"),
        ("part Mira May: a bass", "part …: a bass"),
        ("where chorus 1 begins is not certain", "where chorus 1 begins is not certain"),
        ("section tuesday is not used", "section … is not used"),
    ],
)  # fmt: skip
def test_a_text_hides_names_and_files_and_nothing_else(text, shown):
    names = ("bo", "may", "mira", "zoe", "李雷")
    assert (
        blanked(text, Hidden(("Mon/Mira's 2.mid", "Mon/tuesday/nine penny"), ("tuesday",), names))
        == shown
    )
    assert blanked(text, None) == text


TOML = 'title = "x"\nkey = "C"\n'
ABC = "X:1\nT:x\nM:4/4\nL:1/4\nK:C\n"
PART = '<score-partwise><part-list><score-part id="P1"><part-name>mira blue</part-name>'
PARTS = f'{PART}</score-part></part-list><part id="P1">'
NOTE = "<note><pitch><step>{}</step><octave>2</octave></pitch><duration>4</duration></note>"
MEASURE = (
    f'<measure number="{{}}"><attributes><divisions>1</divisions></attributes>{NOTE}</measure>'
)


@pytest.mark.parametrize(
    ("suffix", "text"),
    [
        (".toml", TOML + 'form = ["A"]\n[sections]\nmira = "| C |"\nB = "| C |"\n'),
        (".toml", TOML + '[sections]\nmira = "| X7 |"\n'),
        (".toml", TOML + '[sections]\n"mira blue" = 3\n'),
        (".toml", TOML + '[sections]\nmira = "| C |"\nmira = "| F |"\n'),
        (".toml", TOML + "[sections]\nmira =\n"),
        (".toml", TOML + "[sections]\nA = mira\n"),
        (".toml", TOML + '[sections]\nA = "mira\n'),
        (".toml", TOML + "mira = 3\n[sections]\nA = '| C |'\n"),
        (".abc", ABC + "V:1 transpose=mira\nCDEF|\n"),
        (".abc", ABC + "V:mira\nCDEF|\nV:oskar\nCDEF|\n"),
        (".abc", ABC + '"Bb7mira"CDEF|mira\n'),
        (".musicxml", "<mira/>"),
        (".musicxml", PARTS + MEASURE.format("1", "H") + "</part></score-partwise>"),
        (".musicxml", PARTS + MEASURE.format("mira 2", "H") + "</part></score-partwise>"),
        (".musicxml", PARTS + MEASURE.format("1", "C") + "</part></score-partwise>"),
        (".musicxml", "<!DOCTYPE x [<!ENTITY mira 'x'>]><x/>"),
        (".mira", "nothing"),
    ],
)  # fmt: skip
def test_a_reason_of_a_reader_tells_no_name_in_small_letters(suffix, text, tmp_path):
    file = tmp_path / f"x{suffix}"
    file.write_text(text)
    hidden = Hidden((), (), ("mira", "oskar"))
    raised = []
    for read, options in ((read_chart, {}), (read_take, {}), (read_take, {"track": "zoe"})):
        try:
            read(file, **options)
        except InputFault as fault:
            raised.append(told(fault))
    assert any("mira" in reason for reason in raised), raised
    for reason in raised:
        left = blanked(reason, hidden)
        assert "mira" not in left, (left, reason.names)
        assert "oskar" not in left, (left, reason.names)


def test_a_remark_keeps_its_own_words_and_its_doubt_whatever_students_are_called():
    own = "no track looks like a bass; track 1 'the bass' was read. --track chooses another"
    words = tuple(sorted(set(re.findall("[a-z]+", own))))
    left = blanked(Remark(own, "track", ("the bass",)), Hidden((), words, words))
    assert left == own.replace("the bass", "…")
    assert left.doubt == "track"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("no track '48213377 solo' that holds notes", "no track '… solo' that holds notes"),
        ("part s1042: bar 12 of 1043", "part …: bar 12 of 1043"),
        ("x_1042_S7", "x_…_S7"),
        ("part 48213377bass", "part …"),
        ("track 7 'S7 solo', 12 of 40, 148213377", "track 7 '… solo', 12 of 40, 148213377"),
        ("did you mean 12.mid, in bar 7.5?", "did you mean ….mid, in bar 7.5?"),
        ("in 12/8 there is 12/solo", "in 12/8 there is …/solo"),
        ("tempo 120 '120', 20261127", "tempo 120 '…', …"),
        ("A7 over Bb7", "A7 over Bb7"),
        ("part Jo\u0308rg: a bass", "part …: a bass"),
        ("part Joerg of ŁUKASZ, Soeren and Soren", "part … of …, … and …"),
        ("no take at Mon/Zoe\u0308.mid", "no take at …"),
    ],
)  # fmt: skip
def test_a_number_is_hidden_where_it_may_be_a_student_s(text, shown):
    students = ("48213377", "s1042", "s7", "12", "Jo\u0308rg", "Lukasz Nowak", "Søren")
    names = _name_words(Submission(name, "", None, None, "", "") for name in students)
    files, words = _file_words(
        Submission("", "", None, None, "Mon/Zoe\u0308.mid", ""), public=set()
    )
    _, more = _file_words(Submission("", "", None, None, "20261127 Bb7 at 120.mid", ""), set())
    assert blanked(text, Hidden(files, (*words, *more), names)) == shown


def test_a_short_number_is_no_name_beside_another():
    students = [Submission(name, "", None, None, "", "") for name in ("Mira 2", "7", "Bo 104")]
    assert _name_words(students) == ("104", "7", "bo", "mira")


@given(
    st.text(st.characters(categories=("Lu", "Ll")), min_size=4, max_size=12).filter(str.isalpha),
    st.sampled_from(["track 1 '{}'", "part {} (2)", "no take {}.mid", "x_{}_y"]),
)
def test_no_name_is_left_in_a_text(name, text):
    from linecheck.grade.anonymous import _words

    hidden = Hidden((), (), tuple(_words(name)))
    left = blanked(text.format(name), hidden)
    assert name not in left or name in blanked(name, hidden)


def test_a_title_is_the_chart_s_name_where_it_holds_a_student():
    hidden = Hidden((), (), ("mira",))
    assert shown_title("Mira's Blues", "chart 1", hidden) == "chart 1"
    assert shown_title("Admiral", "b.toml", hidden) == "b"  # a name within a word may be one
    assert shown_title("Gravel and Rain", "b.toml", hidden) == "Gravel and Rain"
    assert shown_title("Mira's Blues", "b.toml", None) == "Mira's Blues"
    hidden = Hidden((), (), ("48213377", "7"))
    assert shown_title("Shuffle of 48213377", "chart 1", hidden) == "chart 1"
    assert shown_title("For 7", "b.toml", hidden) == "b"
    assert shown_title("A 12-Bar Shuffle", "b.toml", hidden) == "A 12-Bar Shuffle"


def test_who_is_who_stands_beside_the_kept_audits_alone(tmp_path, capsys):
    copy_demo_tunes(tmp_path)
    assert command_line.run(["grade", str(tmp_path), "--jobs", "1", "--anonymous"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "Who is who, to keep to yourself: " in out
    shared = rows_of(tmp_path / "grades" / "anonymous" / "grades.csv")
    known = rows_of(tmp_path / "grades" / "audits" / "pseudonyms.csv")
    assert [(row["student"], row["take"]) for row in shared] == [
        (row["pseudonym"], row["shown_take"]) for row in known
    ]
    assert {row["student"]: row["take"] for row in known}["Mira Castellan"] == (
        "takes/tollgate_mira.mid"
    )
    assert not list((tmp_path / "grades" / "anonymous").rglob("pseudonyms*"))


def test_a_copy_of_a_take_does_not_tell_whose_row_it_is(tmp_path):
    folder = tmp_path / "class"
    put_chart(folder, "shuffle.toml", "mira")
    put(folder, "Mira.mid", "mira")
    put(folder, "Oskar.mid", "oskar")
    open_keys = {row.key for row in grade_folder(folder, jobs=1, keep_in=tmp_path / "kept")}
    shown = []
    for out in ("one", "two"):
        book = grade_folder(folder, jobs=1, keep_in=tmp_path / "kept", anonymous=True)
        rows, _ = write_grades(book, tmp_path / out, appeals=True, reports=True)
        told = everything_in(tmp_path / out)
        assert not [key for key in open_keys if key[:12] in told]
        shown.append([row["key"] for row in rows])
    assert shown[0] == shown[1]  # the same in every run on the folder
    assert len({*shown[0]}) == 2
    assert all(re.fullmatch("[0-9a-f]{64}", key) for key in shown[0])
    elsewhere = grade_folder(folder, jobs=1, anonymous=True)
    assert not {row.key for row in elsewhere} & {*shown[0]}
