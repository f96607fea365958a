"""A comparison as a page tells it: sentences that stand alone, rows, and the picture."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linecheck.report import comparison_in_words as words
from linecheck.report.comparison_picture import comparison_picture
from linecheck.report.handout import sentence

if TYPE_CHECKING:
    from linecheck.comparison_terms import Comparison

__all__ = ["told"]


def told(comparison: Comparison, *, unfolded: bool = False) -> dict[str, Any]:
    """What ``carried_over.html`` shows.

    Args:
        comparison: what was compared.
        unfolded: whether the tables are open from the beginning.
    """
    before, after = words.the(comparison.before), words.the(comparison.after)
    change = words.change_sentence(comparison)
    lists = (
        ("Dropped at times, or always", words.dropped_sentences(comparison)),
        ("Section beginnings", words.section_sentences(comparison)),
        (f"Only {after} lands here", words.added_sentences(comparison)),
    )
    return {
        "before": _capital(before.removeprefix("the ")),
        "after": _capital(after.removeprefix("the ")),
        "headline": sentence(words.headline(comparison)),
        "room": sentence(words.room_sentence(comparison)),
        "picture": comparison_picture(comparison),
        "breaks": [sentence(s) for s in words.break_sentences(comparison)],
        "lists": [(title, [sentence(s) for s in said]) for title, said in lists if said],
        "rows": [[_kept_together(cell) for cell in row] for row in words.carried_rows(comparison)],
        "means": words.KEPT_MEANS.format(before=before, after=after),
        "change": None if change is None else sentence(change),
        "otherwise": f"What {after} does otherwise",
        "traits": [[_kept_together(cell) for cell in row] for row in words.traits_rows(comparison)],
        "caution": words.caution(comparison),
        "open": unfolded,
    }


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _kept_together(figure: str) -> str:
    """A figure with its sign, never on two lines."""
    return figure.replace(" %", "\u00a0%")
