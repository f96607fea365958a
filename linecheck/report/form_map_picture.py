"""The form map: a strip of bars a chorus, each bar with a mark for what happened in it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.report.figures import short_name
from linecheck.report.form_strip import BarState, ChorusStrip, form_strips
from linecheck.report.markup import Safe, element, number
from linecheck.report.picture import LEFT, LOST, WIDTH, Setting, label, picture, stroke

if TYPE_CHECKING:
    from linecheck.terms import Audit, Chart

__all__ = ["form_map_caption", "form_map_picture"]

STATES: dict[BarState, str] = {
    "in place": "in place",
    "missed": "a landing missed",
    "ahead": "ahead of the form",
    "behind": "behind the form",
    "adrift": "fits no place",
    "silent": "silent",
    "unplayed": "not played",
}
# What is drawn in a cell of 16 by 16 for each state, so that the colour is not needed.
MARKS: dict[BarState, str] = {
    "missed": "M5 5L11 11M11 5L5 11",
    "ahead": "M5 3L11 8L5 13",
    "behind": "M11 3L5 8L11 13",
    "adrift": "M2 9C5 4 6 4 8 8S11 12 14 7",
}
CORNER_MARK = 0.7  # of its size, in a cell that holds the name of its section too
_LOST_STATES = ("ahead", "behind", "adrift")


def form_map_states(audit: Audit) -> list[BarState]:
    """The states that occur in the take, in the order of the legend."""
    used = {state for strip in form_strips(audit) for state in strip.bars}
    return [state for state in STATES if state in used]


def form_map_picture(audit: Audit, *, setting: Setting = "page") -> Safe:
    """A strip of bars a chorus: in place, landing missed, ahead, behind, adrift, silent.

    A bar is a link to ``#c2b7`` where it stands in a page.
    """
    strips = form_strips(audit)
    bars = len(audit.chart.bars)
    columns = _columns(bars)
    rows_each = -(-bars // columns)
    tall = 20 if len(strips) * rows_each <= 10 else 16 if len(strips) * rows_each <= 30 else 13
    wide = (WIDTH - LEFT) / columns
    parts: list[str] = []
    y = 0.0
    if rows_each == 1:
        y = _form_header(parts, audit, wide)
    for strip in strips:
        for row in range(rows_each):
            low = row * columns
            if row == 0:
                at, anchor = (LEFT - 8, "end") if rows_each == 1 else (0, "start")
                parts.append(
                    label(str(strip.chorus), at, y + tall / 2 + 4, anchor, font_weight="600")
                )
            if rows_each > 1:
                first = str(low + 1)
                parts.append(
                    label(first, LEFT - 4, y + tall / 2 + 3, "end", font_size=8, opacity=0.75)
                )
            parts += [
                _cell(audit, strip, index, (LEFT + (index - low) * wide, y), (wide, tall),
                      linked=setting == "page", named=rows_each > 1)
                for index in range(low, min(low + columns, bars))
            ]  # fmt: skip
            y += tall + 3
        y += 5 if rows_each > 1 else 1
    y = _legend(parts, form_map_states(audit), y + 6)
    told = "; ".join(_strip_in_words(strip) for strip in strips)
    role = "group" if setting == "page" else "img"
    return picture(f"Form map. {told}", y, parts, setting, role)


def form_map_caption(chart: Chart) -> str:
    """What a row and a box of the map are."""
    bars = len(chart.bars)
    rows = -(-bars // _columns(bars))
    if rows == 1:
        return "A row is a chorus, a box is a bar."
    return f"A chorus takes {rows} rows, each behind the number of its first bar; a box is a bar."


def _columns(bars: int) -> int:
    """Bars side by side: all of them up to 16, else the most that divide the form evenly."""
    if bars <= 16:
        return bars
    return next((n for n in range(16, 7, -1) if bars % n == 0), 16)


def _form_header(parts: list[str], audit: Audit, wide: float) -> float:
    """Names of the sections and numbers of bars over the first row; how far down they reach."""
    named = len(audit.chart.sections) > 1
    row = 24 if named else 10
    for bar in audit.chart.bars:
        x = LEFT + (bar.number - 1) * wide + 2
        if bar.opens_section and named:
            parts.append(label(short_name(bar.section), x, 10, font_weight="700"))
        if (bar.number - 1) % 4 == 0 or bar.opens_section:
            parts.append(label(str(bar.number), x, row, font_size=9, opacity=0.75))
    return row + 6.0


def _cell(
    audit: Audit,
    strip: ChorusStrip,
    index: int,
    corner: tuple[float, float],
    size: tuple[float, float],
    *,
    linked: bool,
    named: bool,
) -> Safe:
    x, y = corner
    state = strip.bars[index]
    bar = audit.chart.bars[index]
    wide, tall = size
    lead = 3.0 if bar.opens_section else 1.0
    parts = [_box(state, (x + lead, y), (wide - lead - 0.5, tall))]
    if bar.opens_section:
        parts.append(stroke(f"M{number(x + 1)} {number(y)}v{tall}", width=1.6, opacity=0.7))
        if named:
            parts.append(label(short_name(bar.section, 2), x + 5, y + 8, font_size=8, opacity=0.75))
    if state in MARKS:
        at = f"translate({number(x + lead / 2 + wide / 2 - 8)} {number(y + tall / 2 - 8)})"
        if named and bar.opens_section:  # small in the corner across from the name
            side = 16 * CORNER_MARK
            left, top = number(x + wide - side - 0.5), number(y + tall - side)
            at = f"translate({left} {top}) scale({CORNER_MARK})"
        mark = stroke(MARKS[state], width=1.8)
        parts.append(element("g", mark, transform=at))
    words = f"Chorus {strip.chorus}, bar {index + 1}: {STATES[state]}"
    if not linked:
        return element("g", *parts)
    # Reached by the score's own bars with the keyboard; hundreds of tab stops would be a trap.
    return element(
        "a",
        element("title", words),
        *parts,
        href=f"#c{strip.chorus}b{index + 1}",
        tabindex="-1",
        aria_label=words,
    )


def _box(state: BarState, corner: tuple[float, float], size: tuple[float, float]) -> Safe:
    """The ground of a bar: filled where it is played, else only its edge (broken: not played)."""
    lost, empty = state in _LOST_STATES, state in ("unplayed", "silent")
    return element(
        "rect", x=corner[0], y=corner[1], width=size[0], height=size[1], rx=2,
        fill=LOST if lost else "currentColor",
        fill_opacity=0 if empty else 0.3 if lost else 0.1,
        stroke="currentColor" if empty else None,
        stroke_opacity=0.35 if empty else None,
        stroke_dasharray="2 2" if state == "unplayed" else None,
    )  # fmt: skip


def _legend(parts: list[str], states: list[BarState], y: float) -> float:
    x = float(LEFT)
    for state in states:
        words = STATES[state]
        wide = 24 + 5.8 * len(words) + 12
        if x + wide > WIDTH and x > LEFT:
            x, y = float(LEFT), y + 19
        parts.append(_box(state, (x, y), (16, 16)))
        if state in MARKS:
            at = f"translate({number(x)} {number(y)})"
            parts.append(element("g", stroke(MARKS[state], width=1.8), transform=at))
        parts.append(label(words, x + 22, y + 12))
        x += wide
    return y + 18


def _strip_in_words(strip: ChorusStrip) -> str:
    runs: list[tuple[BarState, int, int]] = []
    for bar, state in enumerate(strip.bars, start=1):
        if runs and runs[-1][0] == state:
            runs[-1] = (state, runs[-1][1], bar)
        else:
            runs.append((state, bar, bar))
    if [run[0] for run in runs] == ["in place"]:
        return f"chorus {strip.chorus} in place throughout"
    told = ", ".join(
        f"bar {low} {STATES[s]}" if low == high else f"bars {low} to {high} {STATES[s]}"
        for s, low, high in runs
        if s != "in place"
    )
    return f"chorus {strip.chorus}: {told}"
