"""The journal as a file: one entry a take, two writers at once, killed writers, spoiled files."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from linecheck.faults import JournalFault
from linecheck.journal import check_journal, courses, entries, others_with, record
from linecheck.journal.course_in_words import caveats
from linecheck.journal.journal_file import (
    _COLUMNS,
    _SCHEMA_STEPS,
    APPLICATION,
    SCHEMA,
    _row,
    _schema,
)
from tests.journal.invented_entries import entry_like

ROOT = Path(__file__).parent.parent.parent


@pytest.fixture
def journal(tmp_path):
    return tmp_path / "class.journal"


# ---- what is kept ----------------------------------------------------------------------------


def test_what_is_recorded_is_read_back_as_it_was(journal):
    made = [
        entry_like(),
        entry_like(student="", take="ohne Namen ♭.mid", date_origin="file"),
        entry_like(
            student="Åsa",
            take="line.musicxml",
            kind="written",
            losses=(),
            tempo=None,
            tempo_change=None,
            placement_mean_ms=None,
            placement_spread_ms=None,
            parts={"purpose": None, "landings": 1.0, "form": 1.0, "presence": 1.0},
        ),
    ]
    assert record(journal, made) == (3, 0)
    assert set(map(repr, entries(journal))) == set(map(repr, made))
    assert [e.student for e in entries(journal)] == ["", "Mira", "Åsa"]


def test_nothing_stays_beside_the_file(journal):
    record(journal, [entry_like()])
    entries(journal)
    assert [p.name for p in journal.parent.iterdir()] == ["class.journal"]


def test_the_same_take_audited_twice_is_one_entry(journal):
    assert record(journal, [entry_like()]) == (1, 0)
    again = entry_like(take="renamed.mid", take_key=entry_like().take_key, commitment=72.0)
    assert record(journal, [again]) == (0, 1)
    assert entries(journal) == (again,)


def test_another_rubric_another_take_another_student_are_entries_of_their_own(journal):
    first = entry_like()
    others = [
        replace(first, rubric_fingerprint="r2", rubric="Landings first"),
        entry_like(take="other.mid"),
        replace(first, student="Tom"),
    ]
    assert record(journal, [first, *others]) == (4, 0)
    assert len(entries(journal)) == 4


def test_a_better_known_date_holds_whichever_comes_first(journal):
    given = entry_like(date="2026-03-01", date_origin="given")
    by_file = replace(given, date="2026-04-09", date_origin="file", rubric_fingerprint="r2")
    record(journal, [given, by_file])
    assert {(e.date, e.date_origin) for e in entries(journal)} == {("2026-03-01", "given")}
    other = journal.with_name("other.journal")
    record(other, [by_file])
    record(other, [given])
    assert {(e.date, e.date_origin) for e in entries(other)} == {("2026-03-01", "given")}


def test_of_two_days_of_a_file_the_earlier_one_holds(journal):
    late = entry_like(date="2026-04-09", date_origin="file")
    record(journal, [late])
    record(journal, [replace(late, date="2026-03-02")])
    record(journal, [replace(late, date="2026-05-05")])
    assert [e.date for e in entries(journal)] == ["2026-03-02"]


def test_a_date_that_is_given_anew_corrects_the_old_one(journal):
    record(journal, [entry_like(date="2026-03-01")])
    record(journal, [entry_like(date="2026-02-28")])
    assert [e.date for e in entries(journal)] == ["2026-02-28"]


def test_a_take_without_a_name_is_that_of_the_one_who_has_it(journal):
    named = entry_like()
    nameless = replace(named, student="")
    record(journal, [nameless])
    assert record(journal, [named]) == (0, 1)
    record(journal, [nameless])
    assert [e.student for e in entries(journal)] == ["Mira"]
    record(journal, [replace(named, student="Tom")])
    record(journal, [nameless])
    assert [e.student for e in entries(journal)] == ["", "Mira", "Tom"]


def test_an_entry_that_cannot_be_written_takes_all_of_its_like_back(journal):
    record(journal, [entry_like(take="first.mid")])
    with pytest.raises(ValueError, match="JSON compliant"):
        record(journal, [entry_like(), entry_like(parts={"form": float("nan")}, take="b.mid")])
    assert [e.take for e in entries(journal)] == ["first.mid"]


def test_a_file_name_that_is_no_text_is_kept(journal):
    record(journal, [entry_like(take="b\udcffass.mid", take_key="k")])
    assert [e.take for e in entries(journal)] == ["b\\udcffass.mid"]


# ---- whose the takes are ---------------------------------------------------------------------


def owners(journal):
    return [(e.student, e.class_name, e.take) for e in entries(journal)]


def test_students_of_one_name_in_two_classes_have_entries_of_their_own(journal):
    monday = entry_like(student="Anna", class_name="Mo")
    record(journal, [monday, replace(monday, class_name="Do")], settled=True)
    assert owners(journal) == [("Anna", "Mo", "blues.mid"), ("Anna", "Do", "blues.mid")]


def test_a_class_that_is_not_known_is_that_in_which_the_student_has_the_take(journal):
    unknown = entry_like(student="Anna")
    known = replace(unknown, class_name="Mo")
    record(journal, [unknown])
    record(journal, [known])
    record(journal, [unknown])
    assert owners(journal) == [("Anna", "Mo", "blues.mid")]


def test_a_take_that_is_anothers_now_is_no_longer_in_the_old_name(journal):
    wrong = entry_like(student="2026-01-12", date="2026-01-12", date_origin="name")
    by_another_rubric = replace(wrong, rubric_fingerprint="r2")
    right = replace(wrong, student="Jörg", date="2026-11-27", date_origin="file")
    record(journal, [wrong, by_another_rubric])
    assert record(journal, [right], settled=True) == (0, 1)
    assert [(e.student, e.date, e.rubric_fingerprint) for e in entries(journal)] == [
        ("Jörg", "2026-01-12", "r2"),
        ("Jörg", "2026-01-12", "r1"),
    ]


def test_the_best_known_date_of_a_take_stays_when_it_changes_hands(journal):
    given = entry_like(student="x", date="2026-01-12", date_origin="given")
    right = replace(given, student="Jörg", date="2026-11-27", date_origin="file")
    record(journal, [right])
    record(journal, [given])
    record(journal, [right], settled=True)
    (entry,) = entries(journal)
    assert (entry.student, entry.date, entry.date_origin) == ("Jörg", "2026-01-12", "given")


def test_takes_of_which_nothing_is_said_stay(journal):
    before = entry_like(student="Jörg", class_name="Mo", take="last week.mid")
    record(journal, [before, entry_like(student="Zoë", take="now.mid", take_key="k")])
    record(journal, [entry_like(student="Jörg", take="now.mid", take_key="k")], settled=True)
    assert owners(journal) == [("Jörg", "Mo", "last week.mid"), ("Jörg", "", "now.mid")]


def test_a_take_of_two_students_is_no_longer_that_of_a_third(journal):
    duet = entry_like(student="Ada", take_key="k")
    record(journal, [replace(duet, student="duet")])
    record(journal, [duet, replace(duet, student="Bea")], settled=True)
    assert [e.student for e in entries(journal)] == ["Ada", "Bea"]


def test_a_copied_take_takes_nothing_from_its_owner(journal):
    mira = entry_like(take="m.mid", date="2026-03-01", take_key="k", class_name="Mo")
    noor = replace(mira, student="Noor", take="n.mid", date="2026-03-08", date_origin="file")
    record(journal, [mira], settled=True)
    other = entry_like(take="other.mid")
    assert others_with(journal, [noor, other]) == ((("Mira",), ()), ((), ()))
    assert record(journal, [noor], settled=True) == (1, 0)
    assert entries(journal) == (mira, noor)  # also the date of each
    assert record(journal, [mira, noor], settled=True) == (0, 2)
    assert others_with(journal, [mira, noor]) == (((), ()), ((), ()))


def test_a_name_that_several_students_have_hands_no_take_over(journal):
    mira = entry_like(take="take.mid", take_key="k", class_name="Mo")
    record(journal, [mira], settled=True)
    noor = replace(mira, student="Noor")
    new = replace(mira, take_key="n")  # Mira's next one, while Noor's is a copy of her last one
    assert others_with(journal, [new, noor]) == (((), ()), (("Mira",), ()))
    record(journal, [new, noor], settled=True)
    assert owners(journal) == [(who, "Mo", "take.mid") for who in ("Mira", "Mira", "Noor")]
    later = replace(new, student="Noor")  # Mira hands in nothing, and both had the name before
    assert others_with(journal, [later]) == ((("Mira",), ()),)
    record(journal, [later], settled=True)
    assert [e.student for e in entries(journal)] == ["Mira", "Mira", "Noor", "Noor"]
    third = replace(mira, student="Tom", take_key="t")
    record(journal, [third], settled=True)
    assert others_with(journal, [replace(third, student="Ada")]) == ((("Tom",), ()),)


def test_the_takes_of_some_weeks_in_files_of_one_name_are_put_right_together(journal):
    weeks = [entry_like(student="Montag", take="Bo.mid", take_key=key) for key in "ab"]
    record(journal, weeks, settled=True)
    right = [
        entry_like(student="Bo", class_name="Montag", take="Bo.mid", take_key=key) for key in "abc"
    ]
    assert others_with(journal, right) == (((), ("Montag",)), ((), ("Montag",)), ((), ()))
    record(journal, right, settled=True)
    assert owners(journal) == [("Bo", "Montag", "Bo.mid")] * 3


@pytest.mark.parametrize(
    ("before", "after", "lose"),
    [
        ({"student": "Myra"}, {}, ("Myra",)),  # a corrected table
        ({"take": "x.mid"}, {"class_name": "Mo"}, ()),
        ({"take": "x.mid", "student": "ZOE\u0308"}, {"student": "Zoë"}, ()),
        ({"take": "x.mid", "student": "2026-03-01 Mira"}, {}, ()),
        ({"take": "x.mid", "student": "2026-03-01"}, {}, ()),
        ({"take": "x.mid", "student": ""}, {}, ()),
    ],
)
def test_a_take_that_is_put_right_is_handed_over(journal, before, after, lose):
    old = replace(entry_like(take_key="k"), **before)
    new = replace(entry_like(take_key="k"), **after)
    record(journal, [old], settled=True)
    assert others_with(journal, [new]) == (((), lose),)
    assert record(journal, [new], settled=True) == (0, 1)
    assert entries(journal) == (new,)


def test_a_journal_of_an_older_linecheck_is_read_and_goes_on(journal):
    first, *_ = _SCHEMA_STEPS
    made = entry_like(class_name="")
    names = [name for name in _COLUMNS if name != "class_name"]
    row = [cell for name, cell in zip(_COLUMNS, _row(made), strict=True) if name != "class_name"]
    with closing(sqlite3.connect(journal)) as old:
        for statement in first:
            old.execute(statement)
        marks = ", ".join("?" * len(names))
        old.execute(f"INSERT INTO entry ({', '.join(names)}) VALUES ({marks})", row)  # noqa: S608
        old.execute(f"PRAGMA application_id = {APPLICATION}")
        old.execute("PRAGMA user_version = 1")
        old.commit()
    # Its tempo was in beats, of which nobody knows any more how long they were.
    assert entries(journal) == (replace(made, tempo=None),)
    assert record(journal, [entry_like(take="new.mid", tempo=180.0)]) == (1, 0)
    assert [e.tempo for e in entries(journal)] == [None, 180.0]
    (course,) = courses(entries(journal))
    assert not any("tempos differ" in text for text in caveats(course))
    assert record(journal, [replace(made, class_name="Mo")]) == (0, 1)
    assert replace(made, class_name="Mo") in entries(journal)


# ---- writers at once, and killed ones --------------------------------------------------------

WRITER = """
import sys
from dataclasses import replace
from linecheck.journal import record
from tests.journal.invented_entries import entry_like
journal, who, many = sys.argv[1], sys.argv[2], int(sys.argv[3])
print("ready", flush=True)
sys.stdin.readline()
for n in range(many):
    record(journal, [entry_like(student=who, take=f"{n}.mid"), entry_like(student=who, take=f"{n}b.mid")])
    print(n, flush=True)
"""


def writer(journal, who, many):
    started = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(journal), who, str(many)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    if started.stdout.readline() != "ready\n":
        pytest.fail(started.communicate()[1])
    return started


def test_three_writers_at_once_lose_nothing_and_repeat_nothing(journal):
    writers = [writer(journal, who, 10) for who in ("Mira", "Tom", "Åsa")]
    for one in writers:
        one.stdin.write("\n")
        one.stdin.flush()
    for one in writers:
        _, faults = one.communicate(timeout=60)
        assert (one.returncode, faults) == (0, "")
    assert len(entries(journal)) == 3 * 10 * 2


def test_a_file_that_becomes_a_journal_while_it_is_looked_at_is_one(journal):
    with closing(sqlite3.connect(journal, isolation_level=None)) as database:
        database.execute("PRAGMA journal_mode = WAL")
        made = []

        def another_makes_it(statement):
            if "user_version" in statement and not made:
                made.append(record(journal, [entry_like()]))

        database.set_trace_callback(another_makes_it)
        assert _schema(database, journal) == 0  # as it was when the look began
        assert made
        assert _schema(database, journal) == SCHEMA


def test_a_killed_writer_loses_nothing_that_it_said_was_recorded(journal):
    record(journal, [entry_like()])
    kept = 0
    for turn in range(6):
        one = writer(journal, f"S{turn}", 10_000)
        one.stdin.write("\n")
        one.stdin.flush()
        time.sleep(0.015 * turn)
        one.send_signal(signal.SIGKILL)
        told, _ = one.communicate()
        said = len(told.split())
        found = [e for e in entries(journal) if e.student == f"S{turn}"]
        assert len(found) in (2 * said, 2 * said + 2)  # both of a pair, or none
        kept += len(found)
    assert kept > 0
    assert record(journal, [entry_like()]) == (0, 1)
    assert len(entries(journal)) == kept + 1


# ---- files that are no journal ---------------------------------------------------------------


def test_a_missing_journal_is_told(journal):
    with pytest.raises(JournalFault, match=r"class\.journal: no such file$"):
        entries(journal)


def test_another_kind_of_file_is_refused_and_left_alone(journal):
    journal.write_text("student,date\n", encoding="utf-8")
    for use in (entries, check_journal, lambda j: record(j, [entry_like()])):
        with pytest.raises(JournalFault, match="is no journal; expected one that"):
            use(journal)
    assert journal.read_text("utf-8") == "student,date\n"


def test_the_sqlite_file_of_another_program_is_refused_and_left_alone(journal):
    with closing(sqlite3.connect(journal)) as other:
        other.execute("CREATE TABLE addresses (name TEXT)")
        other.commit()
    before = journal.read_bytes()
    with pytest.raises(JournalFault, match="SQLite file of another program"):
        record(journal, [entry_like()])
    with pytest.raises(JournalFault, match="SQLite file of another program"):
        entries(journal)
    assert journal.read_bytes() == before


def test_a_journal_of_a_newer_linecheck_is_refused(journal):
    record(journal, [entry_like()])
    with closing(sqlite3.connect(journal)) as other:
        other.execute("PRAGMA user_version = 7")
    with pytest.raises(JournalFault, match="has schema 7, and this linecheck knows 2"):
        record(journal, [entry_like()])
    with pytest.raises(JournalFault, match="has schema 7"):
        entries(journal)


def test_a_damaged_journal_is_told_in_one_line(journal):
    record(journal, [entry_like(take=f"{n}.mid") for n in range(200)])
    content = bytearray(journal.read_bytes())
    content[4096:] = bytes(b ^ 0x5A for b in content[4096:])
    journal.write_bytes(content)
    with pytest.raises(JournalFault, match=r"is damaged \(.*\); put a copy") as found:
        entries(journal)
    assert "\n" not in str(found.value)


def test_a_journal_cut_short_is_told(journal):
    record(journal, [entry_like(take=f"{n}.mid") for n in range(200)])
    journal.write_bytes(journal.read_bytes()[: journal.stat().st_size // 2])
    with pytest.raises(JournalFault, match="is damaged"):
        entries(journal)


@pytest.mark.parametrize(
    ("column", "value", "says"),
    [
        ("date", "'soon'", "the date is 'soon'; expected year-month-day"),
        ("date_origin", "'guess'", "date_origin is 'guess'"),
        ("commitment", "140", "commitment is 140"),
        ("commitment", "'good'", "commitment is 'good'"),
        ("losses", "'[{\"size\": 3}]'", "unexpected keyword argument 'size'"),
        ("parts", "'none'", "Expecting value"),
        ("weights", "'[1]'", r"weights is \[1\]"),
        ("choruses", "'many'", "choruses is 'many'"),
    ],
)
def test_a_row_changed_by_hand_is_told_with_its_number(journal, column, value, says):
    record(journal, [entry_like(take="a.mid"), entry_like(take="b.mid")])
    with closing(sqlite3.connect(journal)) as other:
        other.execute(f"UPDATE entry SET {column} = {value} WHERE take = 'b.mid'")  # noqa: S608
        other.commit()
    with pytest.raises(JournalFault, match=f"entry 2: cannot be read: .*{says}.* linecheck did"):
        entries(journal)


def test_a_folder_and_a_missing_folder_are_told(tmp_path):
    with pytest.raises(JournalFault, match="is a folder"):
        check_journal(tmp_path)
    with pytest.raises(JournalFault, match=r"there is no folder .*no; make it first"):
        check_journal(tmp_path / "no" / "class.journal")


def test_a_locked_journal_is_told_after_the_wait(journal, monkeypatch):
    record(journal, [entry_like()])
    monkeypatch.setattr("linecheck.journal.journal_file.WAIT_S", 0.05)
    with closing(sqlite3.connect(journal, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(JournalFault, match=r"in use by another program for more than 0\.05 s"):
            record(journal, [entry_like(take="b.mid")])
        assert len(entries(journal)) == 1  # reading does not wait
        other.execute("ROLLBACK")


def test_a_journal_is_read_where_nothing_may_be_written(journal):
    record(journal, [entry_like()])
    journal.chmod(0o444)
    journal.parent.chmod(0o555)
    try:
        assert entries(journal) == (entry_like(),)
    finally:
        journal.parent.chmod(0o755)


@pytest.fixture
def no_room():
    """No file may grow, as on a full disk."""
    resource = pytest.importorskip("resource")
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    yield lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (1000, before[1]))
    resource.setrlimit(resource.RLIMIT_FSIZE, before)


def test_a_journal_is_read_on_a_full_disk_and_writing_says_that_it_is_full(
    journal, no_room, monkeypatch
):
    record(journal, [entry_like()])
    no_room()
    assert entries(journal) == (entry_like(),)
    with pytest.raises(JournalFault, match=r"cannot be used: disk I/O error$"):
        record(journal, [entry_like(take="b.mid")])
    usage = SimpleNamespace(free=0)
    monkeypatch.setattr("linecheck.journal.journal_file.shutil.disk_usage", lambda _: usage)
    with pytest.raises(JournalFault, match=r"the disk is full; make room and try again$"):
        record(journal, [entry_like(take="b.mid")])


def test_where_no_journal_may_be_made_it_is_said_in_the_words_of_every_file(journal, monkeypatch):
    monkeypatch.setattr("os.access", lambda place, _: place != journal.parent)
    with pytest.raises(JournalFault, match=r"class\.journal: no right to write there$"):
        check_journal(journal)
    with pytest.raises(JournalFault, match=r"class\.journal: no such file$"):
        entries(journal)
