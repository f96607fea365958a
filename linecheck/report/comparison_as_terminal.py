"""A comparison as a page for a terminal of 80 columns: the answer first, then the bars."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.music.keys import key_text
from linecheck.report import comparison_in_words as words
from linecheck.report.figures import counted, meter_text, plain
from linecheck.report.page import Page
from linecheck.report.strip_lines import put_rows

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.comparison_terms import Comparison
    from linecheck.report.comparison_in_words import Shown

__all__ = ["comparison_page"]

# Widths of the columns of both tables, in cells; where a figure is longer, its column is wider.
CARRIED = (21, 11, 11, 8, 12, 16)
TRAITS = (33, 11, 11)
# One character a bar, in ASCII.
GLYPHS: dict[Shown, tuple[str, str]] = {
    "shown": (".", ""),
    "partly": ("o", "missed"),
    "dropped": ("x", "missed"),
    "open": ("_", ""),
}


def comparison_page(comparison: Comparison, *, width: int = 80) -> Page:
    """The comparison as a page.

    Args:
        comparison: what was compared.
        width: the widest that a line may be, in cells; what a table does not fit on is told in
            sentences.
    """
    page = Page(width)
    chart = comparison.chart
    page.say(
        f"{plain(chart.title)}: {key_text(chart.key)}, {meter_text(chart.meter)}, "
        f"{counted(len(chart.bars), 'bar')} a chorus",
        style="heading",
    )
    page.say(words.side_sentence(comparison.before))
    page.say(words.side_sentence(comparison.after))
    page.gap()
    page.say(words.headline(comparison), indent=2, style="answer")
    page.say(words.room_sentence(comparison), indent=2)
    _carried(page, comparison)
    _bars(page, comparison)
    page.heading("Where it breaks first")
    page.points(words.break_sentences(comparison))
    for title, sentences in (
        ("Dropped at times, or always", words.dropped_sentences(comparison)),
        ("Section beginnings", words.section_sentences(comparison)),
        (f"Only {words.the(comparison.after)} lands here", words.added_sentences(comparison)),
    ):
        if sentences:
            page.heading(title)
            page.points(sentences)
    _traits(page, comparison)
    if comparison.warnings:
        page.heading("Mind")
        page.points(plain(warning) for warning in comparison.warnings)
    page.gap()
    page.say(words.caution(comparison))
    return page


def _carried(page: Page, comparison: Comparison) -> None:
    page.heading("What was carried over")
    sides = (comparison.before.name, comparison.after.name)
    head = ("", *sides, "kept", "of times", "95 % interval")
    rows = [head, *words.carried_rows(comparison)]
    sizes = _sizes(rows, CARRIED)
    if page.width >= sum(sizes):
        for row in rows:
            page.row([(_table_row(row, sizes), "")])
    else:
        page.points(
            f"{name}: {sides[0]} {before}, {sides[1]} {after}; kept {kept}, {times} times, "
            f"95 % interval {interval}"
            for name, before, after, kept, times, interval in rows[1:]
        )
    page.say(words.KEPT_MEANS.format(before=words.the(comparison.before),
                                     after=words.the(comparison.after)), indent=2)  # fmt: skip
    change = words.change_sentence(comparison)
    if change:
        page.points([change])


def _bars(page: Page, comparison: Comparison) -> None:
    page.heading("The form, one character a bar")
    rows = []
    used: dict[Shown, None] = {}
    for side, after in ((comparison.before, False), (comparison.after, True)):
        states = words.shown_in_bars(comparison, after=after)
        used.update(dict.fromkeys(states))
        rows.append((side.name[:7], [GLYPHS[state] for state in states]))
    put_rows(page, comparison.chart, rows)
    legend = [f"{GLYPHS[state][0]} {words.SHOWN_WORDS[state]}" for state in GLYPHS if state in used]
    page.say("   ".join(legend), indent=9)


def _traits(page: Page, comparison: Comparison) -> None:
    page.heading(f"What {words.the(comparison.after)} does otherwise")
    sides = (comparison.before.name, comparison.after.name)
    rows = words.traits_rows(comparison)
    table = [("", *sides), *rows]
    sizes = _sizes(table, TRAITS)
    if page.width >= sum(sizes):
        for row in table:
            page.row([(_table_row(row, sizes), "")])
    else:
        page.points(
            f"{name}: {sides[0]} {before}, {sides[1]} {after}" for name, before, after in rows
        )


def _sizes(rows: Sequence[Sequence[str]], least: Sequence[int]) -> list[int]:
    """The widths of columns that keep two cells between figures; the first is a name's."""
    columns = list(zip(*rows, strict=True))[1:]
    longest = [max(map(len, column)) + 2 for column in columns]
    return [least[0], *map(max, least[1:], longest)]


def _table_row(row: Sequence[str], sizes: Sequence[int]) -> str:
    """The name to the left, figures to the right."""
    figures = zip(row[1:], sizes[1:], strict=True)
    return f"  {row[0]}".ljust(sizes[0]) + "".join(text.rjust(size) for text, size in figures)
