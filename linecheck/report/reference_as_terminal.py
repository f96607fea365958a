"""A profile of reference lines as a page for a terminal of 80 columns."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.report.figures import counted, percent, plain
from linecheck.report.page import Page, fit
from linecheck.report.reference_in_words import behind_it
from linecheck.terms import FUNCTIONS

if TYPE_CHECKING:
    from linecheck.reference_terms import ReferenceProfile, ReferenceShare

__all__ = ["reference_page"]

NAME = 18
COLUMNS = {"root": 7, "third": 7, "fifth": 7, "seventh": 9, "approach": 10, "tension": 9,
           "outside": 9}  # fmt: skip


def reference_page(profile: ReferenceProfile, *, width: int = 80) -> Page:
    """The shares of functions by beat and by type of chord, a table for each style.

    Args:
        profile: the profile.
        width: the widest that a line may be, in cells; tables need 80.
    """
    page = Page(width)
    page.say(f"Reference lines: {behind_it(profile)}", style="heading")
    for style in dict.fromkeys(row.style for row in profile.shares):
        for by in ("beat", "chord type"):
            rows = [row for row in profile.shares if (row.style, row.by) == (style, by)]
            if rows:
                _table(page, f"{style.capitalize()}, by {by}", rows)
    page.gap()
    page.say(
        "Shares of the notes in each row, and how many notes of how many takes stand behind it. "
        "With --json FILE they become a profile for linecheck audit --reference FILE."
    )
    if profile.warnings:
        page.heading("Mind")
        page.points(plain(warning) for warning in profile.warnings)
    return page


def _table(page: Page, title: str, rows: list[ReferenceShare]) -> None:
    page.heading(title)
    head = "".join(function.rjust(COLUMNS[function]) for function in FUNCTIONS)
    page.row([(" " * NAME + head, "")])
    for row in rows:
        shares = "".join(percent(row.shares[f]).rjust(COLUMNS[f]) for f in FUNCTIONS)
        page.row([(fit(plain(row.name), NAME) + shares, "")])
    behind = "; ".join(
        f"{plain(row.name)}: {counted(row.notes, 'note')} of {counted(row.takes, 'take')}"
        for row in rows
    )
    page.say(behind, indent=2, hang=2)
