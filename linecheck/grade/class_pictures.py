"""The pictures of a class page: how the marks lie, and which bars of a form are missed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.report.figures import counted
from linecheck.report.markup import Safe, element, number
from linecheck.report.picture import LEFT, LINE, LOST, WIDTH, label, picture, stroke

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.grade.class_findings import ChartFindings

__all__ = ["distribution_picture", "missed_bars_picture"]

_STEP = 10  # points of commitment that a column of the distribution holds
_TALL, _CELL = 90.0, 18.0
_MOST_ACROSS = 16


def distribution_picture(marks: Sequence[float], pass_mark: float | None) -> Safe:
    """How many takes have 0 to 10, 10 to 20 … points; the pass mark as a dashed line."""
    columns = 100 // _STEP
    counts = [0] * columns
    for mark in marks:
        counts[min(int(mark // _STEP), columns - 1)] += 1
    floor, most = 24 + _TALL, max(*counts, 1)
    wide = WIDTH / columns
    parts: list[str] = []
    for at, count in enumerate(counts):
        high = _TALL * count / most
        if count:
            parts.append(
                element("rect", x=at * wide + 1.5, y=floor - high, width=wide - 3, height=high,
                        fill=LINE, fill_opacity=0.75)
            )  # fmt: skip
            parts.append(label(str(count), (at + 0.5) * wide, floor - high - 5, "middle",
                               font_weight="700"))  # fmt: skip
        parts.append(label(str(at * _STEP), at * wide, floor + 14,
                           "start" if not at else "middle", opacity=0.75, font_size=9))  # fmt: skip
    parts.append(label("100", WIDTH, floor + 14, "end", opacity=0.75, font_size=9))
    parts.append(stroke(f"M0 {number(floor)}H{WIDTH}", opacity=0.4))
    told = ", ".join(
        f"{at * _STEP} to {(at + 1) * _STEP}: {count}" for at, count in enumerate(counts) if count
    )
    if pass_mark is not None:
        x = WIDTH * pass_mark / 100
        parts.append(
            element("path", d=f"M{number(x)} 14V{number(floor)}", fill="none",
                    stroke="currentColor", stroke_width=1.5, stroke_dasharray="3 3")
        )  # fmt: skip
        parts.append(label(f"pass mark {pass_mark:g}", x, 10, "end" if x > WIDTH / 2 else "start",
                           font_size=9))  # fmt: skip
        told += f"; the pass mark is {pass_mark:g}"
    return picture(f"Takes by commitment: {told}", floor + 18, parts, "page")


def missed_bars_picture(chart: ChartFindings) -> Safe:
    """A box a bar of the form, the darker the more takes miss it, with how many they are."""
    bars = chart.bars
    across = min(len(bars), _MOST_ACROSS)
    if len(bars) > _MOST_ACROSS:
        across = max(n for n in (8, 10, 12, 14, 16) if n == 8 or len(bars) % n == 0)
    wide = (WIDTH - LEFT) / across
    parts: list[str] = []
    y, section = 0.0, None
    for low in range(0, len(bars), across):
        y += 12
        parts.append(label(str(bars[low].bar), LEFT - 8, y + 13, "end", opacity=0.75))
        for at, bar in enumerate(bars[low : low + across]):
            x = LEFT + at * wide
            if bar.opens_section or bar.section != section:
                section = bar.section
                parts.append(label(section[:6], x + 1, y - 3, font_size=9, opacity=0.75))
            parts.append(
                element("rect", x=x + 1, y=y, width=wide - 2, height=_CELL, fill=LOST,
                        fill_opacity=0.06 + 0.94 * bar.share, stroke="currentColor",
                        stroke_opacity=0.25)
            )  # fmt: skip
            if bar.missed:
                parts.append(label(str(bar.missed), x + wide / 2, y + _CELL + 11, "middle",
                                   font_size=9))  # fmt: skip
        y += _CELL + 16
    told = ", ".join(f"bar {bar.bar} {bar.missed} of {bar.takes}" for bar in bars if bar.missed)
    return picture(
        f"Bars missed in {chart.title}, of {counted(chart.takes, 'take')}: {told or 'none'}",
        y, parts, "page",
    )  # fmt: skip
