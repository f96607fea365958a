"""The file of a journal: SQLite in write-ahead mode, one row an entry.

What is the same take? The same student and a file that holds the same: audited again it is the
same entry, renewed; judged by another rubric it has an entry for each. A date that is better
known (see ``entry.DATE_ORIGINS``) holds for the take from then on, and of two that are only the
day of the file the earlier one, since copying a file makes it younger. An entry without a name is
that of the one student who has the same take, and one without a class is of the one class in which
the student has it. Where the writer knows whose each take is, ``settled`` entries take the place
of those that are plainly the same file put right: of the same student, but for the class and how
the name is written; else of the same file name, where no one else has takes of that name; else of
nobody, or of a mere day or week. Anyone else who has the same take keeps it, for it may be copied;
so do entries of other takes.

Every writing is one transaction, with a lock that other writers wait for; what was recorded
outlives the process that is killed the moment after. A file on a network drive is for one machine
at a time: write-ahead mode needs memory that its users share (sqlite.org/wal.html).
"""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import time
from contextlib import closing, contextmanager
from dataclasses import asdict, fields, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from linecheck.faults import JournalFault, OptionFault
from linecheck.journal.entry import DATE_ORIGINS, Entry, EntryLoss
from linecheck.journal.student_and_date import checked_date
from linecheck.output_files import NO_RIGHT, may_be_written
from linecheck.read.days_in_names import name_without_day
from linecheck.read.file_names import folded

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from os import PathLike

__all__ = ["Others", "Recorded", "check_journal", "entries", "others_with", "record"]

APPLICATION = 0x4C436A6E  # "LCjn": tells a journal from other SQLite files
WAIT_S = 10.0  # for another writer, whose writing takes less than one; who waits hears nothing
_RETRY_S = 0.05
_LEAST_ROOM = 65536  # bytes: what write-ahead mode takes of memory shared by files, and a little
_SQLITE_BEGINS = b"SQLite format 3\0"

_FIRST_COLUMNS = """
        recorded INTEGER PRIMARY KEY AUTOINCREMENT,
        student TEXT NOT NULL,
        date TEXT NOT NULL,
        date_origin TEXT NOT NULL,
        take TEXT NOT NULL,
        take_key TEXT NOT NULL,
        kind TEXT NOT NULL,
        chart TEXT NOT NULL,
        chart_key TEXT NOT NULL,
        choruses INTEGER NOT NULL,
        notes INTEGER NOT NULL,
        commitment REAL NOT NULL,
        parts TEXT NOT NULL,
        landings_met INTEGER NOT NULL,
        landings_asked INTEGER NOT NULL,
        losses TEXT NOT NULL,
        grid TEXT NOT NULL,
        tempo REAL,
        tempo_change REAL,
        placement_mean_ms REAL,
        placement_spread_ms REAL,
        swing_ratio REAL,
        rubric TEXT NOT NULL,
        rubric_fingerprint TEXT NOT NULL,
        weights TEXT NOT NULL,
        version TEXT NOT NULL,
"""
# Step i takes a journal from schema i to schema i + 1.
_SCHEMA_STEPS: tuple[tuple[str, ...], ...] = (
    (f"CREATE TABLE entry ({_FIRST_COLUMNS} UNIQUE (student, take_key, rubric_fingerprint))",),
    (  # SQLite changes no constraint of a table that is there
        f"""
        CREATE TABLE renewed ({_FIRST_COLUMNS}
            class_name TEXT NOT NULL DEFAULT '',
            UNIQUE (student, take_key, class_name, rubric_fingerprint)
        )
        """,
        "INSERT INTO renewed SELECT *, '' FROM entry",
        "UPDATE renewed SET tempo = NULL",  # it was in beats; the meter is not known any more
        "DROP TABLE entry",
        "ALTER TABLE renewed RENAME TO entry",
    ),
)
SCHEMA = len(_SCHEMA_STEPS)
_IN_SCHEMA_1 = {"class_name": "''", "tempo": "NULL"}  # what the step to schema 2 makes of them
_OF_OWNER = "student = ? AND take_key = ? AND class_name = ?"
_COLUMNS = tuple(field.name for field in fields(Entry) if field.name != "recorded")
_AS_JSON = ("parts", "losses", "weights")
_FIGURE = (int, float)
_KINDS: dict[str, type | tuple[type, ...]] = {
    **dict.fromkeys(("student", "date", "take", "take_key", "kind", "chart", "chart_key"), str),
    **dict.fromkeys(("grid", "rubric", "rubric_fingerprint", "version", "class_name"), str),
    **dict.fromkeys(("choruses", "notes", "landings_met", "landings_asked"), int),
    **dict.fromkeys(("tempo", "tempo_change", "swing_ratio"), (*_FIGURE, type(None))),
    **dict.fromkeys(("placement_mean_ms", "placement_spread_ms"), (*_FIGURE, type(None))),
    **dict.fromkeys(("parts", "weights"), dict),
    "commitment": _FIGURE,
}


class Recorded(NamedTuple):
    """How many entries were new, and how many stood there already and were renewed."""

    new: int
    renewed: int


class Others(NamedTuple):
    """Who else has a take by a journal: those who keep it, and those who lose it as put right."""

    keep: tuple[str, ...]
    lose: tuple[str, ...]


def record(
    journal: str | PathLike[str], new_entries: Iterable[Entry], *, settled: bool = False
) -> Recorded:
    """Write entries into a journal, all of them or none; the file is made where there is none.

    Args:
        journal: the file.
        new_entries: the entries.
        settled: whether they say all of whose their takes are: what the journal holds of the same
            takes under another student or class is then theirs, where it is plainly the same file.

    Raises:
        JournalFault: the file is no journal, damaged, of a newer linecheck, or cannot be written.
    """
    path = Path(journal)
    made = list(new_entries)
    new = 0
    with (
        _one_line_faults(path),
        closing(_opened_to_write(path)) as database,
        _transaction(database),
    ):
        if settled:
            _hand_over(database, made)
        for entry in made:
            new += _put(database, entry if settled else _named(database, entry))
    return Recorded(new, len(made) - new)


def entries(journal: str | PathLike[str]) -> tuple[Entry, ...]:
    """All entries of a journal, by student, date and take; of equal ones the last recorded last.

    So of the takes that a student had in files of one name on one day, the last one handed in is
    the last.

    Raises:
        JournalFault: there is no such file, it is no journal, damaged, or of a newer linecheck.
    """
    path = Path(journal)
    if not path.exists():
        raise JournalFault("no such file", source=str(path))
    check_journal(path)
    with _one_line_faults(path), closing(_opened_to_read(path)) as database:
        _check_whole(database, path)
        schema = _schema(database, path)
        if not schema:
            return ()
        older = _IN_SCHEMA_1 if schema == 1 else {}
        columns = ", ".join(older.get(name, name) for name in _COLUMNS)
        query = f"SELECT recorded, {columns} FROM entry ORDER BY recorded"  # noqa: S608
        found = [_entry(row, path) for row in database.execute(query)]
    return tuple(sorted(found, key=lambda entry: (entry.student, entry.date, entry.take)))


def others_with(journal: str | PathLike[str], new_entries: Sequence[Entry]) -> tuple[Others, ...]:
    """For each entry who else has its take where all are recorded as ``settled``, by name.

    Names that only differ in how they are written, and those of no student, are not told.

    Raises:
        JournalFault: it is no journal, damaged, or of a newer linecheck.
    """
    known = entries(journal) if Path(journal).exists() else ()
    owners = _owners(new_entries)
    names = _FileNames(map(_named_take, known), map(_named_take, new_entries))
    keep: dict[str, dict[str, None]] = {}
    lose: dict[str, dict[str, None]] = {}
    for old in known:
        if old.take_key not in owners:
            continue
        heirs = _heirs(_held(old), old.take_key, owners[old.take_key], names)
        if not heirs:
            keep.setdefault(old.take_key, {})[old.student] = None
        elif (name := _name_key(old.student)) and name not in {_name_key(who) for who, _ in heirs}:
            lose.setdefault(old.take_key, {})[old.student] = None
    return tuple(
        Others(tuple(keep.get(new.take_key, ())), tuple(lose.get(new.take_key, ())))
        for new in new_entries
    )


def check_journal(journal: str | PathLike[str]) -> None:
    """Look whether the file is a journal or could become one, without changing anything.

    Raises:
        JournalFault: it is a folder, no journal, or its folder is not there, or it is not there and
            may not be made.
    """
    path = Path(journal)
    source = str(journal)
    try:
        if path.is_dir():
            raise JournalFault("is a folder; expected the file of a journal", source=source)
        if not path.exists():
            if not path.parent.is_dir():
                raise JournalFault(
                    f"there is no folder {path.parent}; make it first", source=source
                )
            if not os.access(path.parent, os.W_OK):
                raise JournalFault(NO_RIGHT, source=source)
            return
        if not path.is_file():
            raise JournalFault("is not a regular file", source=source)
        with path.open("rb") as file:
            begins = file.read(len(_SQLITE_BEGINS))
    except (OSError, ValueError) as fault:
        why = (fault.strerror if isinstance(fault, OSError) else None) or str(fault)
        raise JournalFault(f"cannot be opened: {why}", source=source) from None
    if begins and begins != _SQLITE_BEGINS:
        raise JournalFault(
            "is no journal; expected one that audit --journal or grade has written", source=source
        )


# ---- writing ---------------------------------------------------------------------------------


def _put(database: sqlite3.Connection, entry: Entry) -> bool:
    """Put one entry in; true where it is new."""
    entry = _dated(database, entry)
    known = database.execute(
        f"SELECT 1 FROM entry WHERE {_OF_OWNER} AND rubric_fingerprint = ?",  # noqa: S608
        (*_owned(entry), entry.rubric_fingerprint),
    ).fetchone()
    marks = ", ".join("?" * len(_COLUMNS))
    database.execute(
        f"INSERT OR REPLACE INTO entry ({', '.join(_COLUMNS)}) VALUES ({marks})",  # noqa: S608
        _row(entry),
    )
    return known is None


def _owned(entry: Entry) -> tuple[str, str, str]:
    return entry.student, entry.take_key, entry.class_name


class _Held(NamedTuple):
    """Who has a take, and how the file is called."""

    student: str
    class_name: str
    take: str


def _held(entry: Entry) -> _Held:
    return _Held(entry.student, entry.class_name, _storable(entry.take))


def _named_take(entry: Entry) -> tuple[str, str, str]:
    return entry.student, entry.take, entry.take_key


def _owners(made: Iterable[Entry]) -> dict[str, list[_Held]]:
    owners: dict[str, list[_Held]] = {}
    for entry in made:
        owners.setdefault(entry.take_key, []).append(_held(entry))
    return owners


class _FileNames:
    """Which students have a file of a name, in a journal and now: whether it tells a file at all.

    Args:
        before: student, file name and key of the takes in the journal.
        now: the same of the new ones.
    """

    def __init__(
        self, before: Iterable[tuple[str, str, str]], now: Iterable[tuple[str, str, str]]
    ) -> None:
        self._before, self._now = self._of(before), self._of(now)

    @staticmethod
    def _of(takes: Iterable[tuple[str, str, str]]) -> dict[str, set[tuple[str, str]]]:
        found: dict[str, set[tuple[str, str]]] = {}
        for student, name, key in takes:
            if who := _name_key(student):
                found.setdefault(folded(_storable(name)), set()).add((who, key))
        return found

    def tell(self, old: _Held, take_key: str, owners: Sequence[_Held]) -> bool:
        """Whether the name shows that the take of an old owner is now the new owners'.

        It does not where others have takes of that name: the old one now, the new ones before, or
        anyone else.
        """
        name, was = folded(old.take), _name_key(old.student)
        now, before = self._now.get(name, set()), self._before.get(name, set())
        new = {_name_key(owner.student) for owner in owners}
        return (
            all(who in new for who, _ in now)
            and all(who in {was, *new} for who, _ in before)
            and not any(who in new and key != take_key for who, key in before)
        )


def _heirs(
    old: _Held, take_key: str, owners: Sequence[_Held], names: _FileNames
) -> list[tuple[str, str]]:
    """The students and classes that a take is now of which an old owner had, maybe the same one.

    Empty where nothing shows that it is the same file put right, and no copy.
    """
    same = [new for new in owners if (new.student, new.class_name) == old[:2]]
    if not same:
        name = _name_key(old.student)
        same = [new for new in owners if name and _name_key(new.student) == name]
    if not same and names.tell(old, take_key, owners):
        same = [new for new in owners if folded(new.take) == folded(old.take)]
    if not same and not name_without_day(old.student):
        same = list(owners)
    return list(dict.fromkeys((new.student, new.class_name) for new in same))


def _name_key(student: str) -> str:
    return folded(name_without_day(student))


def _hand_over(database: sqlite3.Connection, made: Sequence[Entry]) -> None:
    """Give what stands of the takes under others to their one heir; of several, take it out."""
    owners = _owners(made)
    astray: dict[tuple[str, tuple[tuple[str, str], ...]], list[int]] = {}
    query = "SELECT recorded, take_key, student, class_name, take FROM entry"
    known = database.execute(query).fetchall()
    names = _FileNames(
        [(student, name, take) for _, take, student, _, name in known], map(_named_take, made)
    )
    for number, take, *held in known:
        old = _Held(*held)
        heirs = tuple(_heirs(old, take, owners[take], names)) if take in owners else ()
        if heirs and heirs != (old[:2],):
            astray.setdefault((take, heirs), []).append(number)
    for (take, heirs), numbers in astray.items():
        heir, *others = heirs
        if not others:
            _date_alike(database, take, heir, numbers)
            database.executemany(
                "UPDATE OR IGNORE entry SET student = ?, class_name = ? WHERE recorded = ?",
                [(*heir, number) for number in numbers],
            )
        database.executemany(
            "DELETE FROM entry WHERE recorded = ? AND NOT (student = ? AND class_name = ?)",
            [(number, *heir) for number in numbers],
        )


def _date_alike(
    database: sqlite3.Connection, take: str, heir: tuple[str, str], handed: Sequence[int]
) -> None:
    """Let the best known date of a take hold for the entries of its heir and those handed over."""
    known = [
        (number, (date, origin))
        for number, date, origin, *owner in database.execute(
            "SELECT recorded, date, date_origin, student, class_name FROM entry "
            "WHERE take_key = ? ORDER BY recorded",
            (take,),
        )
        if number in handed or tuple(owner) == heir
    ]
    best = known[0][1]
    for _, other in known[1:]:
        if _holds(*other, against=best):
            best = other
    database.executemany(
        "UPDATE entry SET date = ?, date_origin = ? WHERE recorded = ?",
        [(*best, number) for number, _ in known],
    )


def _holds(date: str, origin: str, *, against: tuple[str, str]) -> bool:
    """Whether a date that is said later holds against the one that was known."""
    known_date, known_origin = against
    if known_origin not in DATE_ORIGINS:
        return True
    better = DATE_ORIGINS.index(known_origin) - DATE_ORIGINS.index(origin)
    return better > 0 or (better == 0 and not (origin == "file" and known_date < date))


def _named(database: sqlite3.Connection, entry: Entry) -> Entry:
    """The entry under the name and the class that its take is known by."""
    if entry.student:
        database.execute(
            "UPDATE OR REPLACE entry SET student = ? WHERE student = '' AND take_key = ?",
            (entry.student, entry.take_key),
        )
    else:
        names = database.execute(
            "SELECT DISTINCT student FROM entry WHERE take_key = ?", (entry.take_key,)
        ).fetchall()
        if len(names) == 1:
            entry = replace(entry, student=names[0][0])
    if entry.class_name:
        database.execute(
            "UPDATE OR REPLACE entry SET class_name = ? "
            "WHERE student = ? AND take_key = ? AND class_name = ''",
            (entry.class_name, entry.student, entry.take_key),
        )
        return entry
    classes = database.execute(
        "SELECT DISTINCT class_name FROM entry WHERE student = ? AND take_key = ?",
        (entry.student, entry.take_key),
    ).fetchall()
    return replace(entry, class_name=classes[0][0]) if len(classes) == 1 else entry


def _dated(database: sqlite3.Connection, entry: Entry) -> Entry:
    """The entry under the best known date of its take, which then holds for all its entries."""
    known = database.execute(
        f"SELECT date, date_origin FROM entry WHERE {_OF_OWNER}",  # noqa: S608
        _owned(entry),
    ).fetchall()
    for date, origin in known:
        if not _holds(entry.date, entry.date_origin, against=(date, origin)):
            entry = replace(entry, date=date, date_origin=origin)
    database.execute(
        f"UPDATE entry SET date = ?, date_origin = ? WHERE {_OF_OWNER}",  # noqa: S608
        (entry.date, entry.date_origin, *_owned(entry)),
    )
    return entry


def _row(entry: Entry) -> list[Any]:
    values = asdict(entry)
    for name in _AS_JSON:
        values[name] = json.dumps(values[name], ensure_ascii=False, allow_nan=False)
    return [_storable(v) if isinstance(v, str) else v for v in (values[name] for name in _COLUMNS)]


def _storable(text: str) -> str:
    """A text as the file keeps it: no lone surrogates, as a name that is no UTF-8 has them."""
    return text.encode("utf-8", "backslashreplace").decode()


# ---- reading ---------------------------------------------------------------------------------


def _entry(row: tuple[Any, ...], path: Path) -> Entry:
    number, *cells = row
    values = dict(zip(_COLUMNS, cells, strict=True))
    try:
        for name in _AS_JSON:
            values[name] = json.loads(values[name])
        values["losses"] = tuple(EntryLoss(**loss) for loss in values["losses"])
        wrong = _wrong(values)
    except (ValueError, TypeError) as fault:
        wrong = str(fault)
    if wrong:
        raise JournalFault(
            f"cannot be read: {wrong}; linecheck did not write it so",
            source=str(path),
            place=(f"entry {number}",),
        )
    return Entry(**values, recorded=number)


def _wrong(values: dict[str, Any]) -> str:
    """What is wrong with the cells of a row; "" for nothing."""
    for name, kind in _KINDS.items():
        value = values[name]
        if not isinstance(value, kind):
            return f"{name} is {value!r:.40}"
    try:
        checked_date(values["date"])
    except OptionFault as fault:
        return str(fault)
    if values["date_origin"] not in DATE_ORIGINS:
        return f"date_origin is {values['date_origin']!r:.40}"
    if not 0 <= values["commitment"] <= 100:
        return f"commitment is {values['commitment']!r}"
    return ""


def _check_whole(database: sqlite3.Connection, path: Path) -> None:
    found = [line for (line,) in database.execute("PRAGMA quick_check(1)")]
    if found != ["ok"]:
        raise JournalFault(_damaged(str(found[0])), source=str(path))


# ---- the file --------------------------------------------------------------------------------


def _opened_to_write(path: Path) -> sqlite3.Connection:
    check_journal(path)
    database = sqlite3.connect(path, timeout=WAIT_S, isolation_level=None)
    try:
        schema = _schema(database, path)
        _write_ahead(database)
        database.execute("PRAGMA synchronous = FULL")  # recorded is recorded, also in a power cut
        if schema < SCHEMA:
            with _transaction(database):
                for step in _SCHEMA_STEPS[_schema(database, path) :]:
                    for statement in step:
                        database.execute(statement)
                database.execute(f"PRAGMA application_id = {APPLICATION}")
                database.execute(f"PRAGMA user_version = {SCHEMA}")
    except BaseException:
        database.close()
        raise
    return database


def _opened_to_read(path: Path) -> sqlite3.Connection:
    """A connection that changes no entry, also where nothing can be written, or on a full disk."""
    address = path.resolve().as_uri()
    # A writing connection cleans up what write-ahead mode puts beside the file; only where there
    # is no right to write, or no room, is the file opened for reading alone, at last as one that
    # never changes: it holds everything where nothing waits in the file beside it.
    for mode in ("mode=rw", "mode=ro", "immutable=1"):
        if mode == "immutable=1" and _waiting(path):
            break
        database = sqlite3.connect(f"{address}?{mode}", uri=True, timeout=WAIT_S)
        try:
            database.execute("PRAGMA query_only = ON")
            database.execute("SELECT count(*) FROM sqlite_master").fetchone()
        except sqlite3.OperationalError as fault:
            database.close()
            problem = fault
        else:
            return database
    raise problem


def _waiting(path: Path) -> bool:
    """Whether entries may wait beside the journal, in the file of write-ahead mode."""
    try:
        return path.with_name(path.name + "-wal").stat().st_size > 0
    except FileNotFoundError:
        return False


def _schema(database: sqlite3.Connection, path: Path) -> int:
    """Which schema the journal has; 0 for a new file."""
    with _one_state(database):
        (application,) = database.execute("PRAGMA application_id").fetchone()
        (schema,) = database.execute("PRAGMA user_version").fetchone()
        (tables,) = database.execute("SELECT count(*) FROM sqlite_master").fetchone()
    if application != APPLICATION and (application or schema or tables):
        raise JournalFault(
            "is an SQLite file of another program; expected a journal", source=str(path)
        )
    if schema > SCHEMA:
        raise JournalFault(
            f"has schema {schema}, and this linecheck knows {SCHEMA}; "
            "it was written by a newer linecheck",
            source=str(path),
        )
    return int(schema)


def _write_ahead(database: sqlite3.Connection) -> None:
    """Turn write-ahead mode on, once for a file; the turn itself does not wait for others."""
    end = time.monotonic() + WAIT_S
    while True:
        try:
            (mode,) = database.execute("PRAGMA journal_mode").fetchone()
            if mode != "wal":
                database.execute("PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError as fault:
            if "locked" not in str(fault) or time.monotonic() > end:
                raise
            time.sleep(_RETRY_S)
        else:
            return


@contextmanager
def _transaction(database: sqlite3.Connection) -> Iterator[None]:
    database.execute("BEGIN IMMEDIATE")
    try:
        yield
    except BaseException:
        if database.in_transaction:  # SQLite itself takes it back when the disk is full
            database.execute("ROLLBACK")
        raise
    database.execute("COMMIT")


@contextmanager
def _one_state(database: sqlite3.Connection) -> Iterator[None]:
    """Read the file as it is at one moment, also while another process makes a journal of it."""
    if database.in_transaction:
        yield
        return
    database.execute("BEGIN")
    try:
        yield
    finally:
        if database.in_transaction:
            database.execute("ROLLBACK")


@contextmanager
def _one_line_faults(path: Path) -> Iterator[None]:
    """Say what SQLite refuses as a fault of the journal."""
    try:
        yield
    except sqlite3.Error as fault:
        raise JournalFault(_told(str(fault), path), source=str(path)) from fault


def _told(problem: str, path: Path) -> str:
    if "locked" in problem:
        return f"is in use by another program for more than {WAIT_S:g} seconds; try again later"
    if any(sign in problem for sign in ("malformed", "not a database", "corrupt")):
        return _damaged(problem)
    if "readonly" in problem or ("unable to open" in problem and not may_be_written(path.parent)):
        return NO_RIGHT
    if "full" in problem or ("I/O" in problem and not _has_room(path)):
        return "the disk is full; make room and try again"
    return f"cannot be used: {problem}"


def _has_room(path: Path) -> bool:
    """Whether the disk has room for the files that SQLite needs beside a journal."""
    try:
        return shutil.disk_usage(path.parent).free >= _LEAST_ROOM
    except OSError:
        return True


def _damaged(problem: str) -> str:
    return f"is damaged ({problem}); put a copy in its place, or name a new file"
