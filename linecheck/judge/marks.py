"""A mark: one thing that could be earned at one step, and what was missed there.

Every part of the commitment gives marks over the whole take; its share in any stretch is that of
the marks in it that were earned. So a chorus, a section and a bar are judged by the same marks,
and what each took adds up.
"""

from __future__ import annotations

from typing import NamedTuple


class Mark(NamedTuple):
    """A mark at ``step``; ``missed`` says in a few words what was missed, "" where it is earned."""

    step: int
    missed: str = ""
