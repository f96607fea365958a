"""What good lines do: the shares of functions by beat, chord type and style, over given takes.

``reference`` counts them and makes a profile; ``audit(..., reference=profile)`` reads a line
against it. What a place is stands in ``judge/reference.py``. A profile holds counts and shares, and
no name of a student or a take.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from os import PathLike
from typing import TYPE_CHECKING

from linecheck.faults import ChartFault, InputFault, ReferenceFault
from linecheck.judge.reference import count_functions
from linecheck.music.other_key import in_key, named_key
from linecheck.reference_lines.find_takes import find_takes
from linecheck.reference_terms import ReferenceProfile, ReferenceShare
from linecheck.share_interval import spread_of
from linecheck.steps import audit, read_chart
from linecheck.terms import FUNCTIONS, Audit, Chart

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence
    from pathlib import Path

    from linecheck.judge.reference import PlaceCount, PlaceOfForm
    from linecheck.reference_lines.find_takes import FoundTake

__all__ = ["profile_of_audits", "reference"]

# Doubts whether the chart is that of the line: over another, the functions are those of no line.
ANOTHER = frozenset(("chart", "meter", "key"))


def reference(
    takes: str | PathLike[str] | Sequence[str | PathLike[str]],
    *,
    chart: Chart | str | PathLike[str] | None = None,
    key: str | None = None,
    progress: Callable[[str], None] | None = None,
) -> ReferenceProfile:
    """The profile of takes that are files or lie in folders.

    Args:
        takes: files of takes, and folders in which all takes are read. Without ``chart``, the chart
            of a take is the file beside it with its name (``mira.toml`` for ``mira.mid``); in a
            folder also the chart of its name, or the only one, in ``charts`` or in a folder above.
            A written take without one is read over its own chord symbols.
        chart: the chart of all takes.
        key: the key that all takes are in ("Bb"), where their charts are in another.
        progress: is called with the name of each take as it is read.

    Returns:
        The profile. A take of a folder that cannot be used is left out, and so is any take that
        seems to be of another chart, key or meter; a warning says why.
        Another says how many takes were read over their own chord symbols.

    Raises:
        InputFault: a file that was named cannot be used, or no take can be counted.
    """
    the_key = named_key(key)
    the_chart: Chart | None = None
    if chart is not None:
        the_chart = chart if isinstance(chart, Chart) else read_chart(chart)
        the_chart = the_chart if the_key is None else in_key(the_chart, the_key)
    say = progress or (lambda _name: None)
    audits: list[Audit] = []
    warnings: list[str] = []
    of_takes: list[str] = []  # those of them that were read
    over_their_own = 0
    named = [takes] if isinstance(takes, (str, PathLike)) else takes
    for found in find_takes(named, given_chart=the_chart is not None):
        if found.trouble:
            warnings.append(f"left out: {found.take}: {found.trouble}")
            continue
        say(found.take.name)
        known = the_chart or found.chart
        of_take = _audit_or_reason(found, known, None if the_chart else the_key)
        if isinstance(of_take, str):
            of_takes.append(f"left out: {of_take}")
            warnings.append(of_takes[-1])
            continue
        audits.append(of_take)
        if not count_functions(of_take.labels, of_take.chart):
            warnings.append(f"left out: {found.take}: it has no walking or solo chorus")
        elif known is None:
            over_their_own += 1
    if warnings and not audits:
        raise ReferenceFault(f"no take can be used; the first is {(of_takes or warnings)[0]}")
    if over_their_own:
        warnings.append(
            "1 take was read over its own chord symbols"
            if over_their_own == 1
            else f"{over_their_own} takes were read over their own chord symbols"
        )
    return replace(profile_of_audits(audits), warnings=tuple(warnings))


def profile_of_audits(audits: Iterable[Audit]) -> ReferenceProfile:
    """The profile of takes that are audited already.

    Raises:
        ReferenceFault: no note of them can be counted.
    """
    counts: dict[PlaceOfForm, list[PlaceCount]] = defaultdict(list)
    choruses = notes = takes = 0
    for found in audits:
        of_take = count_functions(found.labels, found.chart)
        by_beat = [count for (_, by, _), count in of_take.items() if by == "beat"]
        if by_beat:
            takes += 1
            notes += sum(count.notes for count in by_beat)
            choruses += len(set().union(*(count.choruses for count in by_beat)))
        for place, count in of_take.items():
            counts[place].append(count)
    if not takes:
        raise ReferenceFault(
            "no walking or solo chorus was found in these takes; good lines over their charts "
            "were expected"
        )
    order = sorted(counts, key=lambda place: (place[0] != "walking", place[1:]))
    shares = tuple(_share(place, counts[place]) for place in order)
    return ReferenceProfile(takes, choruses, notes, shares)


def _audit_or_reason(found: FoundTake, chart: Chart | Path | None, key: str | None) -> Audit | str:
    """The audit of a take, or why it is left out.

    Raises:
        InputFault: it was named itself, and cannot be used.
    """
    try:
        audited = _audited(found.take, chart, key)
    except InputFault as fault:
        if not found.of_folder:
            raise
        return str(fault)
    doubt = next((said for said in audited.warnings if said.doubt in ANOTHER), None)
    return audited if doubt is None else f"{found.take}: {doubt}"


def _audited(take: Path, chart: Chart | Path | None, key: str | None) -> Audit:
    """The audit of a take over its chart, or without one over its own chord symbols."""
    if chart is not None:
        return audit(chart, take, key=key)
    try:
        return audit(take, take, key=key)
    except ChartFault as fault:
        if take.is_file():
            fault.problem += (
                f"; no other chart of it was found: {take.stem}.toml was expected, or --chart for "
                "all takes"
            )
        raise


def _share(place: PlaceOfForm, counts: Sequence[PlaceCount]) -> ReferenceShare:
    notes = sum(count.notes for count in counts)
    usual = {f: spread_of([(c.functions[f], c.notes) for c in counts]) for f in FUNCTIONS}
    return ReferenceShare(
        *place,
        takes=len(counts),
        choruses=sum(len(count.choruses) for count in counts),
        notes=notes,
        shares={f: sum(count.functions[f] for count in counts) / notes for f in FUNCTIONS},
        means={f: mean for f, (mean, _) in usual.items()},
        spreads={f: spread for f, (_, spread) in usual.items()},
    )
