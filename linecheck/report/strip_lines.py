"""The form strips as lines of a terminal: one character a bar, sections and fours set apart.

Of a take of many choruses only some have a line of their own: those with a form loss first, then
those with the most bars to mend. Clean choruses in a row share one line, and a last line sums all
up: of ten choruses, in how many the bar was lost or a landing in it missed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.report.figures import counted, plain
from linecheck.report.form_strip import GLYPHS, BarState, ChorusStrip
from linecheck.report.page import fit

if TYPE_CHECKING:
    from linecheck.report.page import Page, Piece
    from linecheck.terms import Chart

__all__ = ["put_rows", "put_strips"]

BARS_ACROSS = 32  # bars side by side
_LABEL = 9  # cells before the first bar
_NAME = 7  # of them for the name of a row

_STYLES: dict[BarState, str] = {
    "in place": "",
    "missed": "missed",
    "ahead": "lost",
    "behind": "lost",
    "adrift": "lost",
    "silent": "",
    "unplayed": "",
}
_LEGEND: dict[BarState, str] = {
    "in place": "in place",
    "missed": "a landing missed",
    "ahead": "ahead",
    "behind": "behind",
    "adrift": "adrift",
    "silent": "silent",
}
_LOST = ("ahead", "behind", "adrift")


def put_strips(page: Page, chart: Chart, strips: list[ChorusStrip], most: int) -> None:
    """Put the strips on the page, under the names of their sections, with a legend.

    Args:
        page: the page.
        chart: the chart.
        strips: the strips of all choruses, in order.
        most: how many choruses have a line of their own; where there are more, they are summed up.
    """
    summed_up = len(strips) > most
    groups = _grouped(strips) if summed_up else [[strip] for strip in strips]
    shown = _worst(groups, most)
    rows = [
        (_label(group), [(GLYPHS[state], _STYLES[state]) for state in group[0].bars])
        for group in shown
    ]
    if summed_up:
        rows.append(("all", [(digit, "") for digit in _tenths(strips)]))
    put_rows(page, chart, rows)
    used = {state for group in shown for state in group[0].bars}
    legend = [f"{GLYPHS[state]} {text}" for state, text in _LEGEND.items() if state in used]
    page.say("   ".join(legend), indent=_LABEL)
    if summed_up:
        page.say("1-9: of ten choruses, how many to mend in this bar", indent=_LABEL)
        rest = sum(map(len, groups)) - sum(map(len, shown))
        if rest:
            page.say(
                f"{counted(rest, 'chorus', 'choruses')} of no more trouble than these not shown; "
                "--full shows all",
                indent=_LABEL,
            )


def put_rows(page: Page, chart: Chart, rows: list[tuple[str, list[Piece]]]) -> None:
    """Put rows of one character a bar on the page, under the names of their sections.

    A form that is too long for a line goes on below, each piece under the number of its first bar.

    Args:
        page: the page.
        chart: the chart.
        rows: the name of each row (at most seven cells) and a character and style for every bar.
    """
    across = _bars_across(chart, page.width)
    for begin in range(0, len(chart.bars), across):
        columns = _columns(chart, begin, across)
        first = f"bar {begin + 1}" if across < len(chart.bars) else ""
        names = _section_names(chart, begin, columns)
        page.row([(fit(first.rjust(_NAME), _LABEL) + names, "heading")])
        for name, cells in rows:
            page.row(_line(name, cells[begin : begin + across], columns))


def _bars_across(chart: Chart, width: int) -> int:
    """As many bars as fit on a line: all, or a number that keeps fours and eights together."""
    if len(chart.bars) <= BARS_ACROSS and _fits(chart, len(chart.bars), width):
        return len(chart.bars)
    return next((n for n in (BARS_ACROSS, 24, 16, 8) if _fits(chart, n, width)), 4)


def _fits(chart: Chart, across: int, width: int) -> bool:
    begins = range(0, len(chart.bars), across)
    return all(_LABEL + _columns(chart, begin, across)[-1] < width for begin in begins)


def _grouped(strips: list[ChorusStrip]) -> list[list[ChorusStrip]]:
    """Clean choruses in a row, all the same, as one."""
    groups: list[list[ChorusStrip]] = []
    for strip in strips:
        if groups and groups[-1][0].spotless and strip.bars == groups[-1][0].bars:
            groups[-1].append(strip)
        else:
            groups.append([strip])
    return groups


def _worst(groups: list[list[ChorusStrip]], most: int) -> list[list[ChorusStrip]]:
    """At most so many groups, in order: lost choruses before those that only miss landings."""

    def trouble(group: list[ChorusStrip]) -> tuple[int, int]:
        bars = group[0].bars
        return sum(state in _LOST for state in bars), bars.count("missed")

    worst = sorted(groups, key=trouble, reverse=True)[:most]
    chosen = {group[0].chorus for group in worst}
    return [group for group in groups if group[0].chorus in chosen]


def _label(group: list[ChorusStrip]) -> str:
    first, last = group[0].chorus, group[-1].chorus
    return f"{first}" if first == last else f"{first}-{last}"


def _tenths(strips: list[ChorusStrip]) -> str:
    """One character a bar: how many of ten choruses are lost or miss a landing in it."""
    digits = ""
    for states in zip(*(strip.bars for strip in strips), strict=True):
        played = sum(state != "unplayed" for state in states)
        trouble = sum(state == "missed" or state in _LOST for state in states)
        share = trouble / played if played else 0.0
        digits += str(min(9, max(1, round(10 * share)))) if trouble else "."
    return digits


def _columns(chart: Chart, begin: int, across: int) -> list[int]:
    """The column of each bar: a space after every four, two before a section."""
    columns: list[int] = []
    column = since = 0
    for index, bar in enumerate(chart.bars[begin : begin + across]):
        if index and bar.opens_section:
            column += 2
        elif index and since % 4 == 0:
            column += 1
        since = 1 if bar.opens_section else since + 1
        columns.append(column)
        column += 1
    return columns


def _section_names(chart: Chart, begin: int, columns: list[int]) -> str:
    """The name of each section over its first bar, cut to the room that it has."""
    bars = chart.bars[begin : begin + len(columns)]
    opens = [index for index, bar in enumerate(bars) if bar.opens_section or not index]
    line = ""
    for index, after in zip(opens, [*opens[1:], None], strict=True):
        room = 12 if after is None else columns[after] - columns[index] - 1
        name = plain(bars[index].section)
        line = fit(line, columns[index]) + fit(name, room).rstrip()
    return line


def _line(label: str, cells: list[tuple[str, str]], columns: list[int]) -> list[Piece]:
    pieces: list[Piece] = [(fit(label.rjust(_NAME), _LABEL), "")]
    column = 0
    for (glyph, style), at in zip(cells, columns, strict=True):
        pieces.append((" " * (at - column) + glyph, style))
        column = at + 1
    return pieces
