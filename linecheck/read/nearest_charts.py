"""Which charts may be meant for a take in a folder: one rule for a class and for a corpus."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.read.file_names import listed, shown_name

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path


def nearest_charts(take: Path, charts: Mapping[Path, Sequence[Path]], top: Path) -> Sequence[Path]:
    """The charts of the nearest folder above a take that has any: those called like it, or all.

    Args:
        take: a file in ``top`` or below it.
        charts: the charts of each folder; a folder that has none may be missing.
        top: the last folder that is looked in.

    Returns:
        One chart: it is meant. More: any of them may be. None: there is none up to ``top``.
    """
    for place in take.parents:
        here = charts.get(place, ())
        if here:
            return [path for path in here if path.stem == take.stem] or here
        if place == top:
            break
    return ()


def any_of(charts: Sequence[Path], top: Path) -> str:
    """What is said where several charts may be meant; a way out of the caller's own may follow."""
    names = listed([shown_name(path, top) for path in charts])
    return f"any of {len(charts)} charts may be meant: {names}; call the chart like the take"
