"""One line held against another over the same chart: what the first showed and the second kept.

``compare`` is the whole of it: walking choruses against the solo of one take, the line of one take
against the solo of another, or this week's take against last week's. What a place is, and what it
means to show, keep, drop or add it, is told in ``judge/carry_over.py``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.comparison.choose import choose_sides
from linecheck.judge.carry_over import carried_over
from linecheck.steps import audit, read_chart
from linecheck.terms import Audit, Chart

if TYPE_CHECKING:
    from collections.abc import Sequence
    from os import PathLike

    from linecheck.comparison_terms import Comparison
    from linecheck.terms import Style, Take

__all__ = ["compare", "compare_audits"]


def compare(
    chart: Chart | str | PathLike[str],
    take: Take | str | PathLike[str],
    second: Take | str | PathLike[str] | None = None,
    *,
    key: str | None = None,
    walking: Sequence[int] | None = None,
    solo: Sequence[int] | None = None,
    style: Style | None = None,
    track: str | int | None = None,
    tempo: float | None = None,
    first_beat_one: str | int | None = None,
    click: bool | None = None,
) -> Comparison:
    """Compare the walking choruses of a take with its solo choruses, or two takes.

    Args:
        chart: a Chart, or the file of one.
        take: a Take, or the file of one.
        second: another take over the same chart; None: the sides are both in ``take``.
        key: as in ``audit``, of both takes.
        walking: the choruses of the walking line (the first is 1); None: as their rhythm tells.
            With a second take: the choruses of ``take``.
        solo: the choruses of the solo; with a second take: the choruses of ``second``.
        style: with a second take, compare only the choruses of this style.
        track: which track or part of the files is the bass: its number from 1 or its name; only
            where both takes are files.
        tempo: as in ``audit``, of both takes, as all that follows.
        first_beat_one: as in ``audit``.
        click: as in ``audit``.

    Returns:
        The comparison; shares are 0 to 1 and have 95 % intervals.

    Raises:
        InputFault: an input that cannot be used, or choruses that cannot be told apart.
    """
    the_chart = chart if isinstance(chart, Chart) else read_chart(chart)
    audits = [
        audit(
            the_chart,
            one,
            key=key,
            track=track,
            tempo=tempo,
            first_beat_one=first_beat_one,
            click=click,
        )
        for one in (take, second)
        if one is not None
    ]
    return compare_audits(*audits, walking=walking, solo=solo, style=style)


def compare_audits(
    found: Audit,
    second: Audit | None = None,
    *,
    walking: Sequence[int] | None = None,
    solo: Sequence[int] | None = None,
    style: Style | None = None,
) -> Comparison:
    """The same of takes that are audited already; both over the same chart.

    Args:
        found: the audit of the (first) take.
        second: the audit of the second take.
        walking: as in ``compare``.
        solo: as in ``compare``.
        style: as in ``compare``.

    Raises:
        InputFault: the choruses cannot be told apart, or the charts are not the same.
    """
    before, after, warnings = choose_sides(found, second, walking, solo, style)
    return carried_over(found.chart, before, after, warnings)
