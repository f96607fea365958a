"""Bars to watch: how they went in one take, kept in a small file, and how they go in the next.

    chart = "Copper Lantern"    # its title
    take = "tuesday.mid"
    [[bars]]
    bar = 9                     # as the chart numbers it
    chords = "Gm7"              # as the chart writes them, so that another chart is noticed
    choruses = 2                # in which it was played
    marks = { landings = 2, purpose = 8, form = 8, presence = 8 }    # what could be earned
    missed = { landings = 1 }                                        # what was not

Counts are over all choruses in which the bar was judged. Both takes are weighed by the rubric of
the later audit. A bar *holds* where nothing of it is missed any more; it is better or worse where
its commitment has changed by ``CHANGED`` points or more.
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linecheck.faults import WatchFault
from linecheck.judge import PARTS, gather_evidence
from linecheck.judge.commitment import PRESENCE, Count, weigh
from linecheck.music.form import Form
from linecheck.music.keys import key_text
from linecheck.music.other_key import in_key
from linecheck.read.toml_checks import check_keys, read_table, shown
from linecheck.report.figures import plain
from linecheck.terms import BarRecord, WatchedBar

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from os import PathLike

    from linecheck.practice.practice_plan import PracticePlan, Spot
    from linecheck.terms import Audit, Bar, BarEvidence, Chart, Rubric, WatchVerdict

__all__ = ["check_watched", "read_watched", "watched_bars", "write_watched"]

CHANGED = 2.0
MOST_BARS = 200
MOST = 1_000_000  # of anything that is counted
KEYS = ("chart", "take", "bars")
KEYS_ASKED = ("C", "Db", "C#", "D", "Eb", "E", "F", "F#", "Gb", "G", "Ab", "G#", "A", "Bb", "B")
BAR_KEYS = ("bar", "chords", "choruses", "marks", "missed")


def watched_bars(audit: Audit, plan: PracticePlan) -> tuple[BarRecord, ...]:
    """How the bars of a plan went in its take: those with a fault, or those that were chosen."""
    watched: list[BarRecord] = []
    for number in range(1, len(audit.chart.bars) + 1):
        spots = [spot for spot in plan.spots if _is_in(spot, number)]
        if not spots:
            continue
        record = _record(audit, number)
        named = any(trouble.bar == number for spot in spots for trouble in spot.troubles)
        if record.missed or named or not any(spot.troubles for spot in spots):
            watched.append(record)
    return tuple(watched)


def _is_in(spot: Spot, number: int) -> bool:
    return any(number in bars for bars in (spot.loop.numbers, *spot.also_at))


def write_watched(audit: Audit, plan: PracticePlan) -> str:
    """The text of the file to be read with the next take."""
    lines = [
        "# Bars to watch in the next take: linecheck audit CHART TAKE --watch FILE",
        f"chart = {_text(audit.chart.title)}",
        f"take = {_text(plan.take)}",
    ]
    for record in watched_bars(audit, plan):
        lines += [
            "",
            "[[bars]]",
            f"bar = {record.bar}",
            f"chords = {_text(record.chords)}",
            f"choruses = {record.choruses}",
            f"marks = {_counts(record.marks)}",
            f"missed = {_counts(record.missed)}",
        ]
    return "\n".join(lines) + "\n"


def check_watched(audit: Audit, records: Iterable[BarRecord], *, source: str = "") -> Audit:
    """The audit, with what has become of the bars of an earlier take.

    Args:
        audit: of the later take.
        records: of the earlier one.
        source: the file that they are from, for faults.

    Raises:
        WatchFault: a bar is not in the chart, or has other chords there.
    """
    bars = audit.chart.bars
    records = tuple(records)
    watched = []
    for before in records:
        place = (f"bar {before.bar}",)
        if before.bar > len(bars):
            raise WatchFault(
                f"the chart has bars 1 to {len(bars)}; is this another chart?",
                source=source,
                place=place,
            )
        chords = _chords(bars[before.bar - 1])
        if chords != before.chords:
            key = _key_of(records, audit.chart)
            why = (
                "is this another chart?"
                if key is None
                else f"the bars seem to be kept in {key}: --key {key} reads the chart so"
            )
            raise WatchFault(
                f"it is {before.chords} there and {chords} in the chart; {why}",
                source=source,
                place=place,
            )
        watched.append(_compared(before, _record(audit, before.bar), audit.judgement.rubric))
    return replace(audit, watched=tuple(watched))


def read_watched(path: str | PathLike[str]) -> tuple[BarRecord, ...]:
    """Read the bars to watch.

    Raises:
        WatchFault: the file cannot be used; one line says where and why.
    """
    source = str(path)
    table = read_table(Path(path), source, WatchFault)
    check_keys(table, KEYS, WatchFault, source)
    bars = table.get("bars")
    if not isinstance(bars, list) or not bars or not all(isinstance(bar, dict) for bar in bars):
        raise WatchFault(
            "has no [[bars]]; expected a file that linecheck drill --watch has written",
            source=source,
        )
    if len(bars) > MOST_BARS:
        raise WatchFault(f"{len(bars)} bars; expected {MOST_BARS} at most", source=source)
    return tuple(_read_bar(bar, nth, source) for nth, bar in enumerate(bars, 1))


def _key_of(records: Iterable[BarRecord], chart: Chart) -> str | None:
    """The key in which the chart has the chords of all records, if there is one."""
    for tonic in KEYS_ASKED:
        bars = in_key(chart, tonic).bars
        if all(
            record.bar <= len(bars) and record.chords == _chords(bars[record.bar - 1])
            for record in records
        ):
            return key_text(in_key(chart, tonic).key)
    return None


# ---- what a bar earned -----------------------------------------------------------------------


def _record(audit: Audit, number: int) -> BarRecord:
    evidence = audit.judgement.evidence or gather_evidence(
        audit.labels, audit.line, Form(audit.chart, audit.line.choruses)
    )
    played = [bar for bar in evidence.bars if bar.bar == number and bar.marks]
    return BarRecord(
        bar=number,
        chords=_chords(audit.chart.bars[number - 1]),
        choruses=len(played),
        marks=_summed(played, lambda bar: dict(bar.marks)),
        missed=_summed(played, lambda bar: {part: len(why) for part, why in bar.missed.items()}),
    )


def _summed(bars: Iterable[BarEvidence], counts: Any) -> dict[str, int]:
    found: dict[str, int] = {}
    for bar in bars:
        for part, count in counts(bar).items():
            found[part] = found.get(part, 0) + count
    return dict(sorted(found.items()))


def _chords(bar: Bar) -> str:
    return plain(" ".join(placed.chord.symbol for placed in bar.chords))


def _compared(before: BarRecord, now: BarRecord, rubric: Rubric) -> WatchedBar:
    then, after = (_commitment(record, rubric) for record in (before, now))
    verdict: WatchVerdict
    if not now.choruses:
        verdict = "not played"
    elif not any(now.missed.values()):
        verdict = "holds"
    elif after - then >= CHANGED:
        verdict = "better"
    else:
        verdict = "worse" if then - after >= CHANGED else "same"
    return WatchedBar(before, now, then, after, verdict)


def _commitment(record: BarRecord, rubric: Rubric) -> float:
    counts = {
        part: Count(marks, min(marks, record.missed.get(part, 0)))
        for part, marks in record.marks.items()
    }
    return weigh(counts, tuple(PARTS), rubric).commitment if record.choruses else 0.0


# ---- the file --------------------------------------------------------------------------------


def _text(text: str) -> str:
    return json.dumps(plain(text), ensure_ascii=False)


def _counts(counts: Mapping[str, int]) -> str:
    inside = ", ".join(f"{part} = {count}" for part, count in counts.items() if count)
    return f"{{ {inside} }}" if inside else "{}"


def _read_bar(table: dict[str, Any], nth: int, source: str) -> BarRecord:
    place = (f"[[bars]] {nth}",)
    check_keys(table, BAR_KEYS, WatchFault, source, place)
    for key, low in (("bar", 1), ("choruses", 0)):
        if not _is_count(table.get(key), low):
            raise WatchFault(
                f"{key} is {shown(table.get(key))}; expected a whole number from {low} on",
                source=source,
                place=place,
            )
    if not isinstance(table.get("chords"), str):
        raise WatchFault(
            f"chords is {shown(table.get('chords'))}; expected a text", source=source, place=place
        )
    for key in ("marks", "missed"):
        _check_counts(table.get(key), key, source, place)
    return BarRecord(
        bar=table["bar"],
        chords=table["chords"],
        choruses=table["choruses"],
        marks=dict(table["marks"]),
        missed=dict(table["missed"]),
    )


def _check_counts(counts: object, key: str, source: str, place: tuple[str, ...]) -> None:
    if not isinstance(counts, dict):
        raise WatchFault(
            f"{key} is {shown(counts)}; expected counts such as {{ landings = 2 }}",
            source=source,
            place=place,
        )
    check_keys(counts, (*PARTS, PRESENCE), WatchFault, source, (*place, key))
    for part, count in counts.items():
        if not _is_count(count, 0):
            raise WatchFault(
                f"{part} is {shown(count)}; expected a whole number from 0 on",
                source=source,
                place=(*place, key),
            )


def _is_count(value: object, low: int) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and low <= value <= MOST
