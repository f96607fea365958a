"""Where a recording is to be doubted, and when nothing in it can be graded."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.faults import TakeFault

if TYPE_CHECKING:
    from linecheck.hear.listen import Heard
    from linecheck.hear.tones import Tone
    from linecheck.terms import DoubtfulStretch


def trusted(
    heard: Heard,
) -> tuple[tuple[Tone, ...], tuple[DoubtfulStretch, ...], tuple[str, ...]]:
    """The tones that are the line's, the doubtful stretches, and what to say of the recording."""
    if not heard.tones:
        raise TakeFault("no bass was heard in the recording")
    return heard.tones, (), ()
