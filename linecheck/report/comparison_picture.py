"""The form in boxes, a row for each side of a comparison: what each bar showed.

A bar that is shown is a filled box, one that is shown in some choruses only is half filled, one
that is not shown has a cross, one that was not asked for is an empty outline; no colour is needed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.report.comparison_in_words import SHOWN_WORDS, Shown, shown_in_bars, the
from linecheck.report.figures import short_name
from linecheck.report.markup import Safe, element, number
from linecheck.report.picture import WIDTH, Setting, label, picture, stroke

if TYPE_CHECKING:
    from linecheck.comparison_terms import Comparison

__all__ = ["comparison_picture"]

NAMES = 52  # room for the names of the sides
ACROSS = 16  # bars side by side, at most
TALL = 18
CROSS = "M-4 -4L4 4M4 -4L-4 4"


def comparison_picture(comparison: Comparison, *, setting: Setting = "page") -> Safe:
    """Both rows of boxes, four bars apart, under the names of the sections."""
    sides = (
        (comparison.before.name, shown_in_bars(comparison, after=False)),
        (comparison.after.name, shown_in_bars(comparison, after=True)),
    )
    bars = comparison.chart.bars
    across = len(bars) if len(bars) <= ACROSS else next(
        (n for n in range(ACROSS, 7, -1) if len(bars) % n == 0), ACROSS
    )  # fmt: skip
    wide = (WIDTH - NAMES) / across
    parts: list[str] = []
    y = 0.0
    for low in range(0, len(bars), across):
        y += 12
        for bar in bars[low : low + across]:
            x = NAMES + (bar.number - 1 - low) * wide + 2
            if bar.opens_section:
                parts.append(label(short_name(bar.section, 8), x, y, font_weight="700"))
            elif (bar.number - 1) % 4 == 0:
                parts.append(label(str(bar.number), x, y, font_size=9, opacity=0.75))
        y += 5
        for name, states in sides:
            parts.append(label(name, NAMES - 8, y + TALL / 2 + 4, "end"))
            for index in range(low, min(low + across, len(bars))):
                corner = (NAMES + (index - low) * wide, y)
                parts.append(_box(states[index], corner, wide))
            y += TALL + 3
        y += 7
    y = _legend(parts, [s for s in SHOWN_WORDS if any(s in states for _, states in sides)], y)
    spoken = "; ".join(
        f"{the(side)} {_in_words(states)}"
        for side, (_, states) in zip((comparison.before, comparison.after), sides, strict=True)
    )
    return picture(f"The bars of the form: {spoken}", y, parts, setting)


def _box(state: Shown, corner: tuple[float, float], wide: float) -> Safe:
    x, y = corner
    left, room = x + 1, wide - 2
    parts = [
        element(
            "rect", x=left, y=y, width=room, height=TALL, rx=2,
            fill="currentColor", fill_opacity=0.22 if state == "shown" else 0,
            stroke="currentColor", stroke_opacity=0.45,
        )
    ]  # fmt: skip
    if state == "partly":
        parts.append(
            element(
                "rect", x=left, y=y + TALL / 2, width=room, height=TALL / 2, rx=1,
                fill="currentColor", fill_opacity=0.22,
            )
        )  # fmt: skip
    if state == "dropped":
        at = f"translate({number(left + room / 2)} {number(y + TALL / 2)})"
        parts.append(element("g", stroke(CROSS, width=1.8), transform=at))
    return element("g", *parts)


def _legend(parts: list[str], states: list[Shown], y: float) -> float:
    x = 0.0
    for state in states:
        wide = 26 + 6.2 * len(SHOWN_WORDS[state]) + 10
        if x + wide > WIDTH and x:
            x, y = 0.0, y + TALL + 4
        parts += [_box(state, (x, y), TALL), label(SHOWN_WORDS[state], x + 24, y + 13)]
        x += wide
    return y + TALL + 2


def _in_words(states: list[Shown]) -> str:
    """``"shows all bars"``, or which it shows in some choruses or not."""
    told = []
    for state in ("partly", "dropped", "open"):
        bars = [str(n) for n, of_it in enumerate(states, start=1) if of_it == state]
        if bars:
            told.append(
                f"bar{'' if len(bars) == 1 else 's'} {', '.join(bars)} {SHOWN_WORDS[state]}"
            )
    return "; ".join(told) or "shows every bar"
