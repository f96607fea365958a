"""The page of a class: what most miss, what several lose, who was refused; names only as given."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from linecheck import read_rubric
from linecheck.grade import grade_folder
from linecheck.grade.class_files import write_class_pages
from linecheck.grade.class_findings import BarFindings, ChartFindings, class_findings
from linecheck.grade.class_page import write_class_page
from linecheck.grade.class_pictures import missed_bars_picture
from linecheck.grade.write import write_grades
from linecheck.read.file_names import alike_names, near_names
from linecheck.terms import Remark
from tests.grade.class_folders import put, put_chart, small_class
from tests.grade.invented_class import class_rows, demo_audit, graded, refused


def page_of(rows, **more):
    return write_class_page(rows, read_rubric(), title="Tuesday", **more)


def words(page):
    text = re.sub(r"(?s)<(svg|style|head)\b.*?</\1>|<[^>]*>", " ", page)
    return " ".join(text.replace("\u00a0", " ").split())


def test_one_mark_of_all_takes_is_said_plainly():
    assert "Commitment from" in words(page_of([graded("A", "mira"), graded("B", "oskar")]))
    alone = words(page_of([graded("A", "mira")]))
    assert re.search(r"Commitment \d+ of 100\.", alone)
    several = words(page_of([graded(name, "mira") for name in "ABCDEFGH"]))
    assert re.search(r"Each take has \d+ of 100\.", several)
    assert "middle" not in alone + several


def test_the_bars_that_most_miss_are_those_that_their_takes_miss():
    (chart,) = class_findings(
        [graded("A", "oskar"), graded("B", "oskar"), graded("C", "mira")]
    ).charts
    take = graded("A", "oskar").judgement.evidence
    by_bar = {}
    for bar in take.bars:
        if bar.marks.get("landings"):
            by_bar.setdefault(bar.bar, []).append(bool(bar.missed.get("landings")))
    expected = {bar for bar, found in by_bar.items() if sum(found) * 2 >= len(found)}
    assert {bar.bar for bar in chart.bars if bar.missed == 2} == expected
    assert all(bar.takes == 3 for bar in chart.bars)


def test_every_section_of_the_form_is_named_over_the_bars():
    """A A: the second A has the name of the first, and begins a section all the same."""
    bars = tuple(
        BarFindings(number, "A" if number < 17 else "B", 3, 0, (), opens_section=number % 8 == 1)
        for number in range(1, 33)
    )
    drawn = missed_bars_picture(ChartFindings("Two of a Kind", 3, bars, ()))
    assert re.findall(r">([AB])</text>", drawn) == ["A", "A", "B", "B"]
    (chart,) = class_findings([graded("Ada", "oskar")]).charts
    opening = [section.bar for section in demo_audit("oskar").chart.sections]
    assert [bar.bar for bar in chart.bars if bar.opens_section] == opening


def test_a_loss_is_shared_where_two_students_lose_the_form_in_the_same_place():
    (chart,) = class_findings([graded("Ann", "tomasz"), graded("Bea", "tomasz")]).charts
    (loss,) = chart.losses
    assert (loss.first_bar, loss.kind, loss.students) == (7, "ahead", ("Ann", "Bea"))
    (chart,) = class_findings([graded("Ann", "tomasz"), graded("Bea", "lena")]).charts
    assert chart.losses == ()
    (chart,) = class_findings([graded("Ann", "tomasz"), graded("Ann", "tomasz")]).charts
    assert chart.losses == ()  # one student twice is not several


def test_takes_over_other_charts_are_not_thrown_together():
    charts = class_findings(class_rows()).charts
    assert [(chart.title, chart.takes) for chart in charts] == [
        ("Gravel and Rain", 3), ("Tollgate Shuffle", 3), ("Attic Window", 1),
    ]  # fmt: skip


def test_the_page_says_what_the_class_did():
    said = words(page_of(class_rows(85), pass_mark=85.0))
    assert "8 students, 7 takes graded, 1 refused" in said
    assert "5 of 7 reach the pass mark of 85" in said
    assert "Hal Wick (broken.mid): is not a MIDI file" in said
    assert "One take alone shows nothing of a class." in said
    assert "The teacher decides" in said


def test_what_puts_a_grade_in_question_is_told_first_and_the_rest_once_for_all():
    asked = "only 22 of 55 landings are met: is it the right chart, and does chorus 1 begin there?"
    odd = replace(graded("Ivo Tarn", "mira"), warnings=(Remark(asked, "chart"),), late=True)
    page = words(page_of([graded("Ansel Brook", "tomasz"), graded("Bettina Vale", "lena"), odd]))
    assert "Ivo Tarn : Only 22 of 55 landings" in page
    assert "Tollgate Shuffle · mira.mid 99 late, chart?" in page
    assert page.count("was not played to the click") == 1
    assert "found from the line. Ansel Brook, Bettina Vale" in page


def test_a_folder_is_not_repeated_in_every_row():
    row = graded("Ansel Brook", "lena")
    far = replace(row, submission=replace(row.submission, take_name="Week 3/Mon/Ansel/gravel.mid"))
    page = page_of([far])
    assert "gravel.mid" in page
    assert "Week 3" not in page


def test_marks_have_the_decimals_that_decide():
    lena, mira = graded("A", "lena", 99), graded("B", "mira", 99)  # 98.89 and 99.17
    page = words(page_of([lena, mira], pass_mark=99.0))
    assert "lena.mid 98.9 no" in page
    assert "mira.mid 99.2 yes" in page
    assert "lena.mid 99 " in words(page_of([graded("A", "lena"), graded("B", "mira")]))
    ranked = words(page_of([graded("A", "lena"), graded("B", "mira")], ranking=True))
    assert ranked.index("mira.mid 99") < ranked.index("lena.mid 99")


def test_a_note_on_equal_files_is_on_the_pages_of_their_classes_alone(tmp_path):
    put_chart(tmp_path, "shuffle.toml", "mira")
    for name in ("Mon/Ada/a.mid", "Mon/Ben/a.mid", "Tue/Cleo/b.mid", "Wed/Dora/c.mid"):
        put(tmp_path, name, "oskar" if name.startswith("Mon") else "mira")
    write_grades(grade_folder(tmp_path, jobs=1), tmp_path / "out")
    page = {
        day: words((tmp_path / "out" / f"class_{day}.html").read_text("utf-8"))
        for day in ("Mon", "Tue", "Wed")
    }
    assert "Handed in by Ada, Ben: files that are the same" in page["Mon"]
    assert "Cleo" not in page["Mon"]
    for day in ("Tue", "Wed"):
        assert "Handed in by Cleo (Tue), Dora (Wed): files that are the same" in page[day]
        assert "Ada" not in page[day]


def test_names_that_differ_in_capitals_are_asked_about_in_their_class(tmp_path):
    put_chart(tmp_path, "shuffle.toml", "mira")
    rows = ["student,class,take"]
    for class_name, student in (
        ("Montag", "Anna"), ("montag", "anna"), ("Dienstag", "Cleo"), ("Mittwoch", "cleo"),
    ):  # fmt: skip
        put(tmp_path, f"{student}.mid", "mira")
        rows.append(f"{student},{class_name},{student}.mid")
    (tmp_path / "submissions.csv").write_text("\n".join(rows), "utf-8")
    book = grade_folder(tmp_path, jobs=1)
    student, of_class = (
        "are Anna and anna the same student?",
        "are Montag and montag the same class?",
    )
    assert [note for note in book.notes if note.startswith("are ")] == [student, of_class]
    for note in (student, of_class):
        assert [book.concerns(note, name) for name in ("Montag", "montag", "Dienstag")] == [
            True, True, False,
        ]  # fmt: skip
    assert alike_names([("Bo", "Mo"), ("bo", "Mo")])[0].question == (
        "are Bo and bo (Mo) the same student?"
    )
    hidden = grade_folder(tmp_path, jobs=1, anonymous=True)
    names = sorted(
        row.submission.student for row in hidden if row.submission.class_name.lower() == "montag"
    )
    assert f"are {names[0]} and {names[1]} the same student?" in hidden.notes
    assert not any("nna" in note for note in hidden.notes)


def test_a_rank_is_only_there_where_it_was_asked_for():
    assert "Rank" not in words(page_of(class_rows()))
    ranked = words(page_of(class_rows(), ranking=True))
    assert "Rank" in ranked
    assert ranked.index("Finn Rill") < ranked.index("Ansel Brook") < ranked.index("Dilys Ford")


def test_a_hostile_name_is_only_a_name():
    row = graded("<img src=x onerror=alert(1)>", "lena")
    page = page_of([row, refused("<b>Z</b>", "<script>")])
    assert "<img" not in page
    assert "<script>" not in page
    assert "&lt;img src=x" in page


def test_a_class_without_a_graded_take_has_a_page():
    assert "No take of this class could be graded." in words(page_of([refused("A", "empty")]))


def test_every_class_has_its_page_with_links_to_its_files(tmp_path):
    folder = small_class(tmp_path / "class")
    book = grade_folder(folder, jobs=1)
    _, files = write_grades(book, tmp_path / "out", appeals=True)
    page = (tmp_path / "out" / "class.html").read_text("utf-8")
    assert tmp_path / "out" / "class.html" in files
    places = re.findall(r'href="(appeals/[^"]+)"', page)
    assert places
    for place in places:
        assert (tmp_path / "out" / place).is_file()
        assert (tmp_path / "out" / place).with_suffix(".json").is_file()


def test_the_files_are_the_same_to_the_byte(tmp_path):
    folder = small_class(tmp_path / "class")
    for out in ("one", "two"):
        write_grades(grade_folder(folder, jobs=1), tmp_path / out, appeals=True, ranking=True)
    one = {p.relative_to(tmp_path / "one"): p for p in (tmp_path / "one").rglob("*")}
    for name, path in one.items():
        if path.is_file():
            assert path.read_bytes() == (tmp_path / "two" / name).read_bytes(), name


def test_an_archive_has_no_page_and_is_told_so(tmp_path, monkeypatch):
    monkeypatch.setattr("linecheck.grade.class_files.MOST_IN_A_CLASS", 1)
    book = grade_folder(small_class(tmp_path / "class"), jobs=1)
    pages, trouble = write_class_pages(book, tmp_path)
    assert pages == []
    assert trouble == ["class: no page for a class of more than 1 takes"]


@pytest.mark.parametrize(("given", "shown"), [("Mon/Tue", "class_Mon_Tue"), ("..", "class_")])
def test_a_class_may_be_called_anything(tmp_path, given, shown):
    folder = small_class(tmp_path / "class")
    takes = sorted(p.name for p in folder.iterdir() if p.suffix == ".mid")
    chart = next(p.name for p in folder.iterdir() if p.suffix == ".toml")
    (folder / "submissions.csv").write_text(
        "class,student,take,chart\n" + f"{given},A,{takes[0]},{chart}\n", encoding="utf-8"
    )
    pages, _ = write_class_pages(grade_folder(folder, jobs=1), tmp_path)
    assert [page.name for page in pages] == [f"{shown}.html"]


@pytest.mark.parametrize(
    ("one", "other", "are_near"),
    [
        ("Marta Lind", "Marta Lindt", True),
        ("Marta Lind", "marta lint", True),
        ("Henrik", "Hendrik", True),
        ("Jürgen Wolf", "Jurgen Wolf", True),
        ("Mira A", "Mira B", False),  # initials
        ("Student 1041", "Student 1042", False),
        ("Anna2", "Anna3", False),
        ("Bo Ek", "Bo Elk", False),  # too short to tell
        ("Ana", "Anna", False),
        ("Marta Lind", "Marta Linden", False),
        ("Marta Lind", "Mara Lint", False),
        ("Marta Lind", "Marta", False),
        ("Marta Lind", "Marta Lind", False),
        ("Marta Lind", "MARTA LIND", False),  # asked about with the capitals
    ],
)
def test_names_that_differ_in_one_letter_are_asked_about(one, other, are_near):
    found = near_names([(one, "Mon"), (other, "Mon"), (one, "Thu"), ("Paola Ferri", "Mon")])
    assert [set(alike.names) for alike in found] == ([{one, other}] if are_near else [])
    assert near_names([(one, "Mon"), (other, "Thu")]) == []


def test_a_misspelt_name_is_asked_about_once(tmp_path):
    put_chart(tmp_path, "shuffle.toml", "mira")
    for name in ("a", "b", "c"):
        put(tmp_path, f"{name}.mid", "mira")
    (tmp_path / "submissions.csv").write_text(
        "student,class,take\nMarta Lind,Mon,a.mid\nMarta Lindt,Mon,b.mid\nMarta Lindt,Mon,c.mid\n"
    )
    book = grade_folder(tmp_path, jobs=1)
    assert "are Marta Lind and Marta Lindt (Mon) the same student?" in book.notes
    hidden = grade_folder(tmp_path, jobs=1, anonymous=True)
    (asked,) = [note for note in hidden.notes if "the same student" in note]
    assert "Lind" not in asked
