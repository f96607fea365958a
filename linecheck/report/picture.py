"""The ground that all small pictures of an audit stand on: size, type, colours, settings.

A picture is ``WIDTH`` units wide, so that its type is readable on a phone and on paper, and says
in words what it shows. A *setting* says where it will stand: in a ``page``, whose colours and
type it takes and where its parts may be links; as a ``file`` with a ground of its own; in
``print``. Colours are from the palette of ``function_looks``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, TypeAlias

from linecheck.report.markup import Safe, element, number

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = [
    "INK",
    "LEFT",
    "LINE",
    "LOST",
    "PAPER",
    "PRINT",
    "WIDTH",
    "Setting",
    "label",
    "picture",
    "stroke",
]

Setting: TypeAlias = Literal["page", "file", "print"]
WIDTH = 360
LEFT = 34  # where a plot begins, right of the names of its rows
MARGIN = 8
SANS = "system-ui, 'Segoe UI', Roboto, 'Helvetica Neue', 'DejaVu Sans', sans-serif"
PRINT = "Libertinus Serif"  # the type that the PDF carries
INK, PAPER, LOST, LINE = "#1b1a17", "#fdfcf8", "#d55e00", "#0072b2"


def picture(
    words: str, height: float, parts: Sequence[str], setting: Setting, role: str = "img"
) -> Safe:
    """The whole picture; ``words`` say what it shows, ``height`` is how far the parts reach.

    A picture with links in it has the role of a group: an image holds nothing to click.
    """
    margin = MARGIN if setting == "file" else 0
    wide, tall = WIDTH + 2 * margin, height + 2 * margin
    ground = element("rect", x=-margin, y=-margin, width=wide, height=tall, fill=PAPER)
    alone = setting != "page"
    return element(
        "svg",
        *([ground] if setting == "file" else []),
        *parts,
        xmlns="http://www.w3.org/2000/svg" if alone else None,
        width=wide * 1.5 if alone else None,
        height=tall * 1.5 if alone else None,
        class_=None if alone else "picture",
        viewBox=f"{-margin} {-margin} {wide} {number(tall)}",
        role=role,
        aria_label=words,
        color=INK if alone else None,
        fill="currentColor",
        font_family={"page": None, "file": SANS, "print": PRINT}[setting],
        font_size=11,
    )


def label(text: str, x: float, y: float, anchor: str = "start", **more: str | float) -> Safe:
    """A piece of text, placed by its baseline."""
    return element("text", text, x=x, y=y, text_anchor=anchor, **more)


def stroke(d: str, *, width: float = 1, opacity: float = 1, colour: str = "currentColor") -> Safe:
    """A line without a filling."""
    return element(
        "path", d=d, fill="none", stroke=colour, stroke_width=width, stroke_opacity=opacity
    )
