"""``linecheck progress`` as a user meets it: the screen, the files, what is refused."""

from __future__ import annotations

import csv
import io
import json
from datetime import date, timedelta

import pytest

from linecheck import command_line
from linecheck.journal import courses, courses_page, record
from linecheck.journal.course_in_words import span_of
from tests.journal.invented_entries import LOST, entry_like

SCREEN = """\
Mira: 6 takes, 5 in 4 weeks and 1 without a known day

Gatepost Blues
  date        commitment              landings     losses placement       tempo
  2026-03-01   58 #########        29/50  58 %     2 in 4     25 ms  120 +4.0 %
  2026-03-08   61 #########        30/50  60 %     2 in 4     24 ms  120 +3.0 %
  2026-03-15   66 ##########       33/50  66 %     1 in 4     23 ms  120 +2.0 %
  2026-03-22   70 ##########       35/50  70 %     1 in 4     22 ms  120 +1.0 %
  -- another rubric --------------------
  2026-03-29   79 ############     39/50  78 %  none in 4     21 ms   120 0.0 %
  2026-04-05*  82 ############     41/50  82 %  none in 4     20 ms  120 -1.0 %

  100 |                                                 :
   80 |                                      o          :o            o
   60 |o            o           o                       :
   40 |                                                 :
   20 |                                                 :
    0 |                                                 :
      +----------------------------------------------------------------
       2026-03-01                                            2026-04-05

  - commitment of 100: 79 to 82 over the 2 takes that compare
  - landings met: rising, 58 % to 82 %: better
  - form losses a chorus: falling, 0.50 to 0.00: better
  - spread of the placement: falling, 25 ms to 20 ms: better
  - drift of the tempo in a take: falling, 4.0 % to 1.0 %: better
  - 2026-03-29: another rubric from here on: its commitment does not compare
    with that before
  - a day with * is only that on which the file was last changed; put the day
    into the name of the take or of its folder, or give it with audit --date
  Rubric Even-handed (r1): purpose 40 %, landings 40 %, form 20 %.
  Rubric Landings first (r2): purpose 30 %, landings 50 %, form 20 %.

A grade is advice: it counts what can be counted and hears neither tone nor
taste. The teacher decides.
"""


def mira():
    other = {
        "weights": {"purpose": 0.3, "landings": 0.5, "form": 0.2},
        "rubric": "Landings first",
        "rubric_fingerprint": "r2",
    }
    return [
        entry_like(
            date=(date(2026, 3, 1) + timedelta(days=7 * n)).isoformat(),
            date_origin="file" if n == 5 else "given",
            take=f"{n}.mid",
            commitment=commitment,
            landings_met=int(commitment / 2),
            losses=(LOST,) * max(0, 2 - n // 2),
            placement_spread_ms=25.0 - n,
            tempo=120.0,
            tempo_change=0.04 - 0.01 * n,
            **(other if n > 3 else {}),
        )
        for n, commitment in enumerate([58, 61, 66, 70, 79, 82])
    ]


@pytest.fixture
def journal(tmp_path):
    file = tmp_path / "class.journal"
    record(file, mira())
    return str(file)


def run(*arguments):
    return command_line.run(["progress", *arguments])


def test_the_course_of_one_student(journal, capsys):
    assert run(journal) == 0
    assert capsys.readouterr().out == SCREEN


def test_a_class_has_a_line_a_course_and_full_shows_all(journal, capsys):
    record(
        journal,
        [entry_like(student="Åsa 李小龙 von und zu Lang", take="x.mid"), entry_like(student="")],
    )
    assert run(journal) == 0
    out = capsys.readouterr().out
    assert "3 students: 8 takes, 7 in 4 weeks and 1 without a known day" in out
    assert "    6  2026-04-05*         82     82 %  too few 2/6" in out
    assert "A day with * is only that on which the file was last changed;" in out
    assert "too few 2/6" in out
    assert "2/7: two of seven takes compare with the last" in " ".join(out.split())
    assert "2026-03-15" not in out
    assert run(journal, "--full") == 0
    full = capsys.readouterr().out
    assert full.startswith(out.split("\n\n")[0])
    assert "Mira: 6 takes, 5 in 4 weeks and 1 without a known day" in full
    assert "without a name: 1 take on 2026-03-01" in full
    for line in (out + full).splitlines():
        assert len(line) <= 80, line


def test_what_no_row_shows_is_not_explained(tmp_path, capsys):
    journal = str(tmp_path / "class.journal")
    record(journal, [entry_like(student=name, take=f"{name}.mid") for name in ("Ada", "Bo")])
    assert run(journal) == 0
    assert "compare with the last" not in capsys.readouterr().out


def test_a_page_gives_no_sign_to_nothing_and_parts_tempo_and_change(tmp_path, capsys):
    journal = str(tmp_path / "class.journal")
    record(journal, [entry_like(placement_mean_ms=-0.2, placement_spread_ms=14.0,
                                tempo=126.0, tempo_change=-0.001)])  # fmt: skip
    assert run(journal, "--html", "-") == 0
    out = capsys.readouterr().out
    assert "<td>0 ± 14 ms</td><td>126, -0.1 %</td>" in out


def test_days_of_files_alone_are_marked_as_such(tmp_path, capsys):
    journal = str(tmp_path / "class.journal")
    days = ("2026-03-01", "2026-11-27")
    record(journal, [entry_like(date=day, date_origin="file", take=day) for day in days])
    assert run(journal) == 0
    assert capsys.readouterr().out.startswith("Mira: 2 takes in 39 weeks*\n")
    assert run(journal, "--html", "-") == 0
    assert "2026-11-27*" in capsys.readouterr().out


def test_students_of_one_name_are_told_apart_by_their_class(tmp_path, capsys):
    journal = str(tmp_path / "class.journal")
    record(
        journal,
        [
            entry_like(student="Anna", class_name="Mo", take="a.mid"),
            entry_like(student="Anna", class_name="Do", take="b.mid"),
            entry_like(student="Bo", class_name="Mo", take="c.mid"),
        ],
    )
    assert run(journal) == 0
    out = capsys.readouterr().out
    lines = out.splitlines()
    names = [line[: lines[2].index("chart")].strip() for line in lines[3:6]]
    assert names == ["Anna (Do)", "Anna (Mo)", "Bo"]
    assert "--full all of them" in out
    assert run(journal, "--student", "Anna") == 0
    out = capsys.readouterr().out
    for name in ("Anna (Do)", "Anna (Mo)"):
        assert f"\n{name}: 1 take on 2026-03-01\n" in out
    assert "--full all of them" not in out
    assert run(journal, "--student", "anna (mo)") == 0
    assert capsys.readouterr().out.startswith("Anna (Mo): 1 take on 2026-03-01\n")
    assert run(journal, "--student", "Anna", "--json", "-") == 0
    data = json.loads(capsys.readouterr().out)
    assert [(s["student"], s["class"]) for s in data["students"]] == [
        ("Anna", "Do"),
        ("Anna", "Mo"),
    ]
    assert run(journal, "--csv", "-") == 0
    rows = csv.DictReader(io.StringIO(capsys.readouterr().out))
    assert [(row["student"], row["class"]) for row in rows] == [
        ("Anna", "Do"), ("Anna", "Mo"), ("Bo", "Mo"),
    ]  # fmt: skip
    assert run(journal, "--anonymous") == 0
    out = capsys.readouterr().out
    assert "3 students" in out
    assert "Anna" not in out
    assert "Mo" not in out


def test_of_a_long_name_the_class_is_still_seen(tmp_path, capsys):
    journal = str(tmp_path / "class.journal")
    for class_name in ("Monday", "Thursday evening"):
        long = entry_like(student="Maximiliane Bäßler", class_name=class_name)
        record(journal, [long])
    assert run(journal) == 0
    lines = capsys.readouterr().out.splitlines()
    names = [line[: lines[2].index("chart")].strip() for line in lines[3:5]]
    assert names == ["Maxim~ (Monday)", "Maxim~ (Thursd~"]


def with_alike_charts():
    long = "Gatepost Blues for the Long Road in "
    charts = [("F", "played"), ("F", "written"), ("B flat, slow", "played"), ("D", "played")]
    return [
        *mira(),
        *(
            entry_like(student="Zoë", take=name, chart=long + name, chart_key=name, kind=kind)
            if kind == "played"
            else entry_like(student="Zoë", take="w", chart=long + name, chart_key=name, kind=kind)
            for name, kind in charts
        ),
        *(
            entry_like(student="Bo", take=f"{n}", chart="Rust Bucket Rag", chart_key=str(n))
            for n in range(2)
        ),
    ]


@pytest.mark.parametrize("width", [80, 60, 40])
def test_the_tables_fit_the_width_and_no_two_charts_of_a_student_look_alike(width):
    found = courses(with_alike_charts())
    for full in (False, True):
        lines = courses_page(found, width=width, full=full).as_text().splitlines()
        assert max(map(len, lines)) <= width
        assert any(
            "commitment  direction" in line or "landings  direction" in line for line in lines
        )
    head = next(n for n, line in enumerate(lines) if line.startswith("student"))
    begins, ends = lines[head].index("chart"), lines[head].index("commitment")
    labels = [line[begins:ends].split("  ")[0].strip() for line in lines[head + 1 : head + 8]]
    assert len(set(labels[:2])) == 2  # Bo's
    assert len(set(labels[3:])) == 4  # Zoë's
    assert labels[0].endswith("(1)")
    assert any(label.endswith(", written") for label in labels[3:]) == (width > 40)


def test_names_that_are_cut_do_not_look_alike():
    names = ["Marta Lind", "Marta Lindt", "Marta Lindholm", "Bo"]
    found = courses([entry_like(student=name, take=name) for name in names])
    lines = courses_page(found, width=40).as_text().splitlines()
    head = next(n for n, line in enumerate(lines) if line.startswith("student"))
    shown = [line[: lines[head].index("chart")].strip() for line in lines[head + 1 : head + 5]]
    assert len(set(shown)) == 4
    assert any("~" in name for name in shown)


def test_charts_of_one_title_are_told_apart_and_it_is_said_why(tmp_path, capsys):
    journal = str(tmp_path / "class.journal")
    record(journal, with_alike_charts())
    assert run(journal, "--student", "Bo") == 0
    out = capsys.readouterr().out
    assert "\nRust Bucket Rag (1)\n" in out
    assert "\nRust Bucket Rag (2)\n" in out
    assert "Rust Bucket Rag is the title of several charts, which differ in chords," in out
    assert run(journal, "--html", "-") == 0
    page = capsys.readouterr().out
    assert page.count('<td class="words">Rust Bucket Rag (2)') == 1
    assert "Rust Bucket Rag is the title of several charts" in page


@pytest.mark.parametrize(
    ("days", "says"),
    [
        (["2026-11-01"], "1 take on 2026-11-01"),
        (["2026-11-02", "2026-11-04"], "2 takes in 3 days"),
        (["2026-11-01", "2026-11-14"], "2 takes in 14 days"),
        (["2026-11-01", "2026-11-15"], "2 takes in 2 weeks"),
        (["2026-11-01", "2026-11-11", "2026-11-25"], "3 takes in 4 weeks"),
    ],
)
def test_a_span_counts_its_first_and_its_last_day(days, says):
    assert span_of(courses([entry_like(date=day, take=day) for day in days])) == says


def test_names_that_differ_in_capitals_are_asked_about(tmp_path, capsys):
    journal = str(tmp_path / "class.journal")
    record(
        journal,
        [
            entry_like(student="Anna", class_name="Montag", take="a.mid"),
            entry_like(student="anna", class_name="montag", take="b.mid"),
        ],
    )
    assert run(journal) == 0
    out = capsys.readouterr().out
    assert "  - are Anna and anna the same student?\n" in out
    assert "  - are Montag and montag the same class?\n" in out
    assert run(journal, "--html", "-") == 0
    assert "Are Anna and anna the same student?" in capsys.readouterr().out
    assert run(journal, "--anonymous") == 0
    assert "the same" not in capsys.readouterr().out


def test_an_empty_journal_says_so(tmp_path, capsys):
    empty = str(tmp_path / "empty.journal")
    record(empty, [])
    assert run(empty) == 0
    assert capsys.readouterr().out == "The journal holds no take yet.\n"
    assert run(empty, "--html", "-") == 0
    assert "holds no take yet" in capsys.readouterr().out


def test_the_json_has_every_take_and_trend(journal, capsys):
    assert run(journal, "--json", "-") == 0
    data = json.loads(capsys.readouterr().out)
    assert data["schema"] == 1
    (course,) = data["students"][0]["courses"]
    assert [t["commitment"] for t in course["takes"]] == [58, 61, 66, 70, 79, 82]
    assert [t["breaks"] for t in course["takes"]] == [[], [], [], [], ["rubric"], []]
    assert course["trends"][1] == {
        "measure": "landings", "takes": 6, "first": 0.58, "last": 0.82,
        "direction": "rising", "better": True,
    }  # fmt: skip
    assert course["takes"][0]["losses"][0] == {
        "chorus": 2, "bar": 5, "beat": 1, "kind": "ahead", "offset": 4, "recovered": True,
        "confidence": 0.97,
    }  # fmt: skip


def test_the_csv_has_a_row_a_take_and_no_formulas(journal, capsys):
    record(journal, [entry_like(student="=HYPERLINK(1)", take="+x.mid")])
    assert run(journal, "--csv", "-") == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert len(rows) == 7
    assert rows[0]["student"] == "'=HYPERLINK(1)"
    assert rows[0]["take"] == "'+x.mid"
    assert rows[1]["placement_spread_ms"] == "25"
    assert rows[5]["breaks"] == "rubric"


@pytest.mark.parametrize("kind", ["--json", "--csv", "--html"])
def test_anonymous_files_hold_no_name(journal, kind, capsys):
    assert run(journal, "--anonymous", kind, "-") == 0
    out = capsys.readouterr().out
    assert "Student 1" in out
    assert "Mira" not in out
    assert ".mid" not in out


def test_files_are_the_same_from_run_to_run(journal, capsys):
    for kind in ("--json", "--csv", "--html"):
        run(journal, kind, "-")
        first = capsys.readouterr().out
        run(journal, kind, "-")
        assert capsys.readouterr().out == first


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ([], "Missing argument 'FOLDER|JOURNAL'"),
        ([""], "the name of an input is empty"),
        (["no.journal"], "no.journal: no such file"),
        (["JOURNAL", "--student", "Quentin"], "no take is of 'Quentin'; there are"),
        (["JOURNAL", "--json", "JOURNAL"], "would overwrite the input"),
        (["JOURNAL", "--pdf", "x"], "No such option '--pdf'"),
        (["JOURNAL", "--chart", "x.toml"], "--chart is for a folder without a journal"),
        (["JOURNAL", "--subfolders", "students"], "--subfolders is for a folder without a journal"),
    ],
)
def test_every_fault_is_one_line(journal, arguments, says, capsys):
    assert run(*(journal if a == "JOURNAL" else a for a in arguments)) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("linecheck: ")
    assert says in err
    assert err.count("\n") == 1
