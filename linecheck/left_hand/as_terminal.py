"""A fingering as a page for a terminal of 80 columns: what it asks of the hand, then the line.

The line stands bar by bar, where the file has bars: a note, its finger, and the letter of its
string where that changes; ``>`` before a note where the hand shifts, ``~`` where it pivots. A long
line is cut unless it is asked for in full.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from linecheck.left_hand.tuning import note_name
from linecheck.report.figures import beat_text, counted, plain
from linecheck.report.left_hand_marks import CAUTION, string_letter
from linecheck.report.page import Page, cells

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.terms import FingeredNote, Fingering, OtherWay, WrittenFingering

__all__ = ["fingering_page"]

MOST_BARS = 24
MOST_SHIFTS = 16
MOST_NAMED = 8
NOTES_A_ROW = 8  # where the file has no bars
LABEL = 6


def fingering_page(found: Fingering, *, width: int = 80, full: bool = False) -> Page:
    """The fingering as a page.

    Args:
        found: the fingering.
        width: the widest that a line may be, in cells.
        full: every bar, shift and difference, however many.
    """
    page = Page(width)
    _head(page, found)
    _positions(page, found)
    _shifts(page, found, full=full)
    _line(page, found, full=full)
    _other_ways(page, found)
    if found.written is not None:
        _written(page, found, found.written, full=full)
    _out_of_reach(page, found, full=full)
    if found.warnings:
        page.heading("Mind")
        page.points(plain(warning) for warning in found.warnings)
    page.gap()
    page.say(
        f"Costs {plain(found.costs_name)}; the names of the positions are those of classical "
        "methods."
    )
    page.say(CAUTION)
    return page


def _head(page: Page, found: Fingering) -> None:
    name = plain(Path(found.source).name) if found.source else "a line"
    page.say(f"A fingering for {name}", style="heading")
    strings = " ".join(note_name(pitch) for pitch in found.tuning)
    more = "" if found.extension is None else f", extension to {note_name(found.extension)}"
    page.say(f"{counted(len(found.notes), 'note')}; strings {strings}{more}")
    page.gap()
    page.say(counted(found.shifts, "shift"), indent=2, style="answer")
    facts = []
    if found.shifts:
        facts.append(f"the biggest over {counted(found.biggest_shift, 'half step')}")
    facts += [
        counted(found.pivots, "pivot"),
        f"{counted(found.open_strings, 'note')} on open strings",
        f"{counted(found.crossings, 'string')} crossed",
    ]
    page.say("; ".join(facts), indent=2)


def _positions(page: Page, found: Fingering) -> None:
    stopped = [note for note in found.notes if note.finger not in (None, "0")]
    if not stopped:
        return
    page.heading("Positions")
    names = {note.position_name: note.position or 0 for note in stopped}
    many = Counter(note.position_name for note in stopped)
    widest = max(map(len, names))
    for name in sorted(names, key=lambda name: (names[name], name)):
        bar = "#" * max(1, round(many[name] * 30 / len(stopped)))
        page.row([(f"  {name.ljust(widest)}  {many[name]:5}  {bar}", "")])


# ---- shifts ----------------------------------------------------------------------------------


def _shifts(page: Page, found: Fingering, *, full: bool) -> None:
    moved = [index for index, note in enumerate(found.notes) if note.shift]
    if not moved:
        return
    shown = moved if full or len(moved) <= MOST_SHIFTS else _biggest(found, moved)
    page.heading("Where the hand shifts")
    page.points(_shift(found.notes, index) for index in shown)
    if len(shown) < len(moved):
        page.say(f"These are the biggest {len(shown)} of {len(moved)}; --full shows all.", indent=2)


def _biggest(found: Fingering, moved: list[int]) -> list[int]:
    ordered = sorted(moved, key=lambda index: (-abs(found.notes[index].shift), index))
    return sorted(ordered[:MOST_SHIFTS])


def _shift(notes: tuple[FingeredNote, ...], index: int) -> str:
    note = notes[index]
    before = next(n for n in reversed(notes[:index]) if n.string is not None)
    way = "up" if note.shift > 0 else "down"
    freed = f", while the open {before.string_name} sounds" if before.finger == "0" else ""
    return (
        f"{_where(note, index)}: {counted(abs(note.shift), 'half step')} {way}, from "
        f"{before.position_name} to {note.position_name}, for {_taken(note)}{freed}"
    )


def _where(note: FingeredNote, index: int) -> str:
    if note.bar is None or note.beat is None:
        return f"note {index + 1} ({note.onset_s:.1f} s)"
    if note.bar == 0:
        return f"pickup, beat {beat_text(note.beat)}"
    return f"bar {note.bar} beat {beat_text(note.beat)}"


def _taken(note: FingeredNote) -> str:
    """A note as it is taken: ``"Bb1 (A string, 1)"``."""
    name = note.name
    if note.finger == "0":
        return f"{name} (open)"
    finger = "thumb" if note.finger == "T" else note.finger
    return f"{name} ({string_letter(note)} string, {finger})"


# ---- the line --------------------------------------------------------------------------------


def _line(page: Page, found: Fingering, *, full: bool) -> None:
    if not found.notes:
        return
    page.heading("The line")
    page.say("note, finger, string where it changes; > the hand shifts, ~ it pivots", indent=2)
    rows: list[tuple[str, list[str]]] = []
    string: int | None = None
    for index, note in enumerate(found.notes):
        label = str(index // NOTES_A_ROW * NOTES_A_ROW + 1) if note.bar is None else str(note.bar)
        if not rows or rows[-1][0] != label:
            rows.append((label, []))
        rows[-1][1].append(_cell(note, new_string=note.string != string))
        string = note.string
    shown = rows if full else rows[:MOST_BARS]
    size = max(cells(cell) for _, row in shown for cell in row) + 2
    for label, row in shown:
        _put_row(page, label, row, size)
    if len(shown) < len(rows):
        page.say(f"{len(rows) - len(shown)} more rows; --full shows all.", indent=2)


def _cell(note: FingeredNote, *, new_string: bool) -> str:
    sign = ">" if note.shift else "~" if note.pivot else " "
    if note.finger is None:
        return f"{sign}{note.name} -"
    string = f" {string_letter(note)}" if new_string else ""
    return f"{sign}{note.name} {note.finger}{string}"


def _put_row(page: Page, label: str, row: Sequence[str], size: int) -> None:
    many = max(1, (page.width - LABEL) // size)
    for begin in range(0, len(row), many):
        head = label.rjust(LABEL - 1) + " " if not begin else " " * LABEL
        page.row([(head + "".join(cell.ljust(size) for cell in row[begin : begin + many]), "")])


# ---- the rest --------------------------------------------------------------------------------


def _other_ways(page: Page, found: Fingering) -> None:
    others = _worth_showing(found)
    if not others or not found.notes:
        return
    page.heading("Other ways along the line")
    page.say("high: notes a fifth or more up a string that has a higher neighbour", indent=2)
    page.row([(f"  {'':18}shifts  biggest  pivots  crossings  open  high", "")])
    ways: list[tuple[str, Fingering | OtherWay]] = [("suggested", found)]
    ways += [(way.name, way) for way in others]
    for name, way in ways:
        row = f"  {name:18}{way.shifts:6}{way.biggest_shift:9}{way.pivots:8}{way.crossings:11}"
        page.row([(f"{row}{way.open_strings:6}{way.high:6}", "")])
    if any(all(a <= b for a, b in zip(_asks(way), _asks(found), strict=True)) for way in others):
        page.say(
            "The suggested way costs least all the same: the costs also weigh what stands in no "
            "column, such as the time for a move and the way of the hand in all.",
            indent=2,
        )


def _worth_showing(found: Fingering) -> list[OtherWay]:
    """The other ways that have less of what they are named for, than the suggested and each other."""
    gains = [way for way in found.other_ways if _named_for(way, way) < _named_for(way, found)]
    return [
        way
        for way in gains
        if not any(_named_for(way, other) < _named_for(way, way) for other in gains)
    ]


def _named_for(way: OtherWay, of: Fingering | OtherWay) -> int:
    """How much there is of what a way is to have little of."""
    figure = {
        "fewest shifts": of.shifts,
        "fewest crossings": of.crossings,
        "without pivots": of.pivots,
        "low positions": of.high,
    }
    return figure[way.name]


def _asks(way: Fingering | OtherWay) -> tuple[int, ...]:
    """The columns, the less the better."""
    return (
        way.shifts, way.biggest_shift, way.pivots, way.crossings, -way.open_strings, way.high,
    )  # fmt: skip


def _written(page: Page, found: Fingering, written: WrittenFingering, *, full: bool) -> None:
    page.heading("Against the written fingering")
    biggest = (
        f", the biggest over {counted(written.biggest_shift, 'half step')}"
        if written.shifts
        else ""
    )
    told = (
        f"{counted(written.marked, 'note')} of {len(found.notes)} have a mark; in its kindest "
        f"reading the written fingering has {counted(written.shifts, 'shift')}{biggest}, the "
        f"suggested one {found.shifts}"
    )
    page.points([told])
    lines = [
        f"{_where(found.notes[i], i)}: written {_taken(written.notes[i])}, suggested "
        f"{_taken(found.notes[i])}"
        for i in written.differs
    ]
    _some(page, lines, full=full)
    _some(
        page,
        [f"{_where(found.notes[i], i)}: impossible: {plain(why)}" for i, why in written.impossible],
        full=full,
        style="missed",
    )


def _out_of_reach(page: Page, found: Fingering, *, full: bool) -> None:
    lines = [
        f"{_where(note, index)}: {note.name}, {note.out_of_reach}"
        for index, note in enumerate(found.notes)
        if note.out_of_reach
    ]
    if lines:
        page.heading("Out of reach")
        _some(page, lines, full=full, style="missed")


def _some(page: Page, lines: list[str], *, full: bool, style: str = "") -> None:
    shown = lines if full else lines[:MOST_NAMED]
    page.points(shown, style=style)
    if len(shown) < len(lines):
        page.say(f"{len(lines) - len(shown)} more; --full shows all.", indent=2)
