"""The engraver's SVG taken apart: lines of bars, and where every symbol stands.

Ids, styles and texts of the engraver are left out; glyphs are collected once for all choruses.
Units: a hundredth of the engraver's drawing unit; a staff space is ``SPACE`` of them.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from typing import TYPE_CHECKING

from linecheck.report.markup import Safe, element, number

if TYPE_CHECKING:
    from collections.abc import Iterator

    from linecheck.report.notation import NotatedBar, NotatedChorus, Symbol

__all__ = ["SPACE", "EngravedBar", "EngravedChorus", "System", "read_engraved"]

SPACE = 180
HEAD = 113  # half the width of a notehead
SVG = "{http://www.w3.org/2000/svg}"
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
DROPPED = frozenset(("verse", "harm", "placeholder", "pageMilestone", "systemMilestone"))


@dataclass(frozen=True, slots=True)
class EngravedBar:
    """A bar where it stands: ``x`` to ``x + width``.

    ``marks`` are the steps of its symbols with their x, ``chord_xs`` where its chord symbols are.
    """

    bar: NotatedBar
    x: float
    width: float
    marks: tuple[tuple[int, float], ...]
    chord_xs: tuple[float, ...]

    def x_at(self, step: int) -> float:
        """The x of a step of this bar, between symbols by interpolation."""
        before, after = (self.bar.step, self.x + 2 * HEAD), None
        for mark in self.marks:
            if mark[0] <= step:
                before = mark
            elif after is None:
                after = mark
        if after is None:
            after = (self.bar.step + self.bar.steps, self.x + self.width)
        share = (step - before[0]) / max(after[0] - before[0], 1)
        return before[1] + share * (after[1] - before[1])


@dataclass(frozen=True, slots=True)
class System:
    """One line of bars. ``top`` and ``bottom`` bound the ink; the rows are where text may stand.

    ``staff`` is the y of the highest and of the lowest staff line.
    """

    markup: Safe
    width: float
    top: float
    bottom: float
    staff: tuple[float, float]
    chord_row: float
    label_row: float
    bars: tuple[EngravedBar, ...]


@dataclass(frozen=True, slots=True)
class EngravedChorus:
    """The systems of one chorus."""

    number: int
    systems: tuple[System, ...]


def read_engraved(
    svg: str,
    chorus: NotatedChorus,
    lines: list[list[NotatedBar]],
    glyphs: dict[str, Safe],
    width: float,
) -> EngravedChorus:
    """The systems of one chorus out of the engraver's SVG.

    Args:
        svg: the engraver's whole page.
        chorus: what was engraved.
        lines: its bars, line by line.
        glyphs: gets the definition of every glyph that is not in it yet.
        width: of a line.
    """
    root = ET.fromstring(svg)  # noqa: S314 - our own engraver's output
    for glyph in root.iterfind(f"{SVG}defs/{SVG}g"):
        name = glyph.get("id", "").split("-")[0]
        if name not in glyphs:
            paths = [element("path", d=p.get("d"), transform="scale(1,-1)") for p in glyph]
            glyphs[name] = element("g", *paths, id=name)
    groups = [g for g in root.iter(f"{SVG}g") if g.get("class") == "system"]
    systems = [_read_system(g, line, width) for g, line in zip(groups, lines, strict=True)]
    return EngravedChorus(chorus.number, tuple(systems))


def _read_system(group: ET.Element, line: list[NotatedBar], width: float) -> System:
    pen = _Pen()
    bars = []
    measures = [m for m in group if m.get("class") == "measure"]
    for measure, bar in zip(measures, line, strict=True):
        pen.begin(bar)
        pen.draw(measure)
        low, high = pen.staff_x
        symbols = _texts(measure, "harm")
        chord_xs = tuple(float(t.get("x", 0)) for t in symbols)
        bars.append(EngravedBar(bar, low, high - low, tuple(pen.marks), chord_xs))
        pen.chord_rows += [float(t.get("y", 0)) for t in symbols]
        pen.label_rows += [float(t.get("y", 0)) for t in _texts(measure, "syl")]
    for other in group:
        if other.get("class") != "measure":
            pen.draw(other)
    top, bottom = min(pen.staff_y), max(pen.staff_y)
    rules = [
        element("path", d=f"M0 {number(y)}H{number(pen.staff_x[1])}", stroke_width=13)
        for y in sorted(pen.staff_y)
    ]
    return System(
        Safe("".join([*rules, *pen.out])),
        max(width, pen.staff_x[1]),
        min([*pen.ys, top]),
        max([*pen.ys, bottom]),
        (top, bottom),
        min([*pen.chord_rows, min([*pen.ys, top]) + 60]),
        max([*pen.label_rows, max([*pen.ys, bottom]) + 310]),
        tuple(bars),
    )


def _texts(element_: ET.Element, kind: str) -> list[ET.Element]:
    return [
        text
        for group in element_.iter(f"{SVG}g")
        if group.get("class") == kind
        for text in group.iter(f"{SVG}text")
    ]


class _Pen:
    """Copies the engraver's drawing without its ids, texts and styles, and notes where it went."""

    def __init__(self) -> None:
        self.out: list[str] = []
        self.ys: list[float] = []
        self.staff_x = (0.0, 0.0)
        self.staff_y: set[float] = set()
        self.marks: list[tuple[int, float]] = []
        self.pending: Iterator[Symbol] = iter(())
        self.chord_rows: list[float] = []
        self.label_rows: list[float] = []

    def begin(self, bar: NotatedBar) -> None:
        """A new bar: its symbols come in the order in which they were handed to the engraver."""
        self.marks = []
        self.pending = iter(bar.symbols)

    def draw(self, shape: ET.Element) -> None:
        kinds = set(shape.get("class", "").split())
        if kinds & DROPPED:
            return
        tag = shape.tag.removeprefix(SVG)
        if tag == "g" and "staff" in kinds:
            self._staff(shape)
        elif tag == "g":
            self._group(shape, kinds)
        elif tag == "use":
            x, y, scale, *_ = NUMBER.findall(shape.get("transform", ""))
            self.ys += [float(y) - SPACE, float(y) + SPACE / 2]
            name = shape.get("href", "").lstrip("#").split("-")[0]
            self.out.append(
                element("use", href="#" + name, transform=f"translate({x} {y}) scale({scale})")
            )
        elif tag in ("path", "polygon", "polyline", "rect", "ellipse"):
            self._outline(tag, shape)

    def _staff(self, staff: ET.Element) -> None:
        for child in staff:
            if child.tag == f"{SVG}path":
                x, y, right, _ = (float(n) for n in NUMBER.findall(child.get("d", "")))
                self.staff_x = (x, right)
                self.staff_y.add(y)
            else:
                self.draw(child)

    def _group(self, shape: ET.Element, kinds: set[str]) -> None:
        symbol = next(self.pending) if kinds & {"note", "rest", "mRest"} else None
        sounding = symbol is not None and symbol.note is not None
        if symbol is not None:
            head = (
                next(g for g in shape.iter(f"{SVG}g") if g.get("class") == "notehead")
                if (sounding)
                else shape
            )
            glyph = next(head.iter(f"{SVG}use"))
            self.marks.append(
                (symbol.step, float(NUMBER.findall(glyph.get("transform", ""))[0]) + HEAD)
            )
        if symbol is not None and sounding:
            self.out.append(f'<g data-n="{symbol.note}">')
        for child in shape:
            self.draw(child)
        if sounding:
            self.out.append("</g>")

    def _outline(self, tag: str, shape: ET.Element) -> None:
        for name in ("d", "points"):
            numbers = [float(n) for n in NUMBER.findall(shape.get(name, ""))]
            self.ys += numbers[1::2]
        kept = {k: v for k, v in shape.attrib.items() if k not in ("id", "class", "stroke-linecap")}
        self.out.append(str(element(tag, **kept)))
