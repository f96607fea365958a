"""The line engraved: one call of the engraver a chorus, taken apart into lines of bars.

Definition: a *system* is one line of bars on the page. Each comes as bare SVG elements of the
staff and what stands on it, with the places of its bars and symbols, so that a page can draw
chord symbols, labels and losses in its own type over it. A chorus takes about 10 ms, so that
sharing the work between processes would cost more than it saves.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import ceil
from typing import TYPE_CHECKING, Any

from linecheck.report.chorus_as_mei import chorus_as_mei
from linecheck.report.engraved_svg import EngravedChorus, read_engraved
from linecheck.report.notation import NotatedBar, notate

if TYPE_CHECKING:
    from collections.abc import Callable

    from linecheck.report.markup import Safe
    from linecheck.terms import Audit

__all__ = ["Engraving", "engrave"]

DENSE_SYMBOLS = 10  # a chorus with a fuller bar than this gets half as many bars a line
OPTIONS: dict[str, Any] = {
    "adjustPageHeight": True,
    "font": "Leland",
    "footer": "none",
    "header": "none",
    "lyricSize": 4.5,
    "minLastJustification": 0.0,
    "mnumInterval": 0,
    "pageHeight": 60000,
    "pageMarginBottom": 0,
    "pageMarginLeft": 0,
    "pageMarginRight": 0,
    "pageMarginTop": 0,
    "scale": 100,
    "smuflTextFont": "none",
    "spacingLinear": 0.3,
    "svgFormatRaw": True,
    "svgRemoveXlink": True,
    "svgViewBox": True,
    "xmlIdSeed": 1,
}


@dataclass(frozen=True, slots=True)
class Engraving:
    """All choruses, and the glyphs that they use: name to markup of its definition."""

    choruses: tuple[EngravedChorus, ...]
    glyphs: dict[str, Safe]


def engrave(
    audit: Audit,
    *,
    width: int = 2100,
    bars_a_line: int = 4,
    repeated: int = 0,
    progress: Callable[[int, int], None] | None = None,
) -> Engraving:
    """The line in bass clef, chorus by chorus.

    Args:
        audit: a complete audit.
        width: of a line, in the engraver's units: the narrower, the larger the notes look.
        bars_a_line: at most so many; sections are split evenly, dense choruses get half.
        repeated: so many bars from the first of each chorus stand between repeat signs.
        progress: called after every chorus with the number done and the number in all.
    """
    import verovio  # noqa: PLC0415 - loads a large library that most runs do not need

    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions(OPTIONS)
    glyphs: dict[str, Safe] = {}
    done: list[EngravedChorus] = []
    choruses = notate(audit)
    for chorus in choruses:
        lines = _lines(chorus.bars, bars_a_line)
        # A pickup or an ending of a bar or two is not stretched over the whole line.
        share = min(1.0, (len(chorus.bars) + 0.5) / bars_a_line)
        # Without a break in it the engraver would break a line where it likes.
        breaks = "encoded" if len(lines) > 1 else "none"
        toolkit.setOptions({"pageWidth": round(width * share), "breaks": breaks})
        if not toolkit.loadData(chorus_as_mei(chorus, lines, audit, repeated)):
            raise RuntimeError(f"the engraver refused chorus {chorus.number}: {toolkit.getLog()}")
        done.append(read_engraved(toolkit.renderToSVG(1), chorus, lines, glyphs, width * 10.0))
        if progress:
            progress(len(done), len(choruses))
    return Engraving(tuple(done), dict(sorted(glyphs.items())))


def _lines(bars: tuple[NotatedBar, ...], most: int) -> list[list[NotatedBar]]:
    """Bars in lines: sections begin a line, and their lines are as even as can be."""
    if max(len(b.symbols) for b in bars) > DENSE_SYMBOLS:
        most = max(1, most // 2)
    sections: list[list[NotatedBar]] = []
    for bar in bars:
        if not sections or bar.opens_section:
            sections.append([])
        sections[-1].append(bar)
    # Sections shorter than a line share it, so that no line holds one or two bars alone.
    merged: list[list[NotatedBar]] = []
    for section in sections:
        if merged and len(merged[-1]) + len(section) <= most:
            merged[-1].extend(section)
        else:
            merged.append(section)
    lines = []
    for section in merged:
        count = ceil(len(section) / most)
        edges = [round(i * len(section) / count) for i in range(count + 1)]
        lines += [section[low:high] for low, high in pairwise(edges)]
    return lines
