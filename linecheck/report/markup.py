"""Elements of SVG and MEI as text. Every text and every value is escaped here and nowhere else."""

from __future__ import annotations

from xml.sax.saxutils import escape

__all__ = ["Safe", "element", "number", "text_of"]

# Characters that XML 1.0 forbids even when escaped.
FORBIDDEN = dict.fromkeys(
    [*range(9), 11, 12, *range(14, 32), 0xFFFE, 0xFFFF, *range(0xD800, 0xE000)]
)


class Safe(str):
    """Text that is markup already; anything else is escaped when it becomes a child."""

    __slots__ = ()

    def __html__(self) -> str:
        """What a template engine asks for before it escapes."""
        return str(self)


def number(value: float) -> str:
    """A coordinate with at most two decimals and no tail of zeros: 12.50 gives ``12.5``."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def text_of(text: str) -> Safe:
    """Text made harmless: escaped, and without the characters that XML forbids."""
    return Safe(escape(text.translate(FORBIDDEN), {'"': "&quot;", "'": "&#39;"}))


def element(tag: str, *children: str, **attributes: str | float | None) -> Safe:
    """One element. An attribute of None is left out.

    ``class_`` gives ``class``; an underscore inside a name becomes a hyphen.
    """
    parts = [f"<{tag}"]
    for name, value in attributes.items():
        if value is None:
            continue
        written = number(value) if isinstance(value, int | float) else text_of(value)
        parts.append(f' {name.rstrip("_").replace("_", "-")}="{written}"')
    if not children:
        return Safe("".join([*parts, "/>"]))
    inside = "".join(c if isinstance(c, Safe) else text_of(c) for c in children)
    return Safe("".join([*parts, ">", inside, f"</{tag}>"]))
