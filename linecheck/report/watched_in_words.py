"""What has become of the bars that were watched, in sentences and as data: before and now."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linecheck.report.figures import POINTS, counted, rounded

if TYPE_CHECKING:
    from linecheck.terms import BarRecord, WatchedBar

__all__ = ["watched_as_data", "watched_sentences"]

SAID = {
    "holds": "holds now",
    "better": "better",
    "same": "as before",
    "worse": "worse",
    "not played": "not played this time",
}
UNITS = {
    "landings": "landings met",
    "purpose": "notes with a purpose",
    "form": "beats in place",
    "presence": "beats that sound",
}


def watched_sentences(watched: tuple[WatchedBar, ...]) -> list[str]:
    """One sentence a bar, with the numbers before and now of all that was ever missed in it."""
    return [_sentence(bar) for bar in watched]


def _sentence(bar: WatchedBar) -> str:
    before, now = bar.before, bar.now
    told = f"bar {now.bar} ({now.chords}): {SAID[bar.verdict]}"
    if bar.verdict == "not played":
        return told
    parts = [
        part
        for part in dict.fromkeys((*before.marks, *now.marks))
        if before.missed.get(part) or now.missed.get(part)
    ]
    facts = [
        f"{UNITS.get(part, part)} {_share(before, part)} before, {_share(now, part)} now"
        for part in parts
    ]
    choruses = f"in {counted(now.choruses, 'chorus', 'choruses')}"
    return f"{told} {choruses}" + (f"; {'; '.join(facts)}" if facts else "")


def _share(record: BarRecord, part: str) -> str:
    marks = record.marks.get(part, 0)
    return f"{marks - record.missed.get(part, 0)} of {marks}"


def watched_as_data(watched: tuple[WatchedBar, ...]) -> list[dict[str, Any]]:
    """The watched bars as the JSON of an audit has them."""
    return [
        {
            "bar": bar.now.bar,
            "chords": bar.now.chords,
            "verdict": bar.verdict,
            "before": _record(bar.before, bar.commitment_before),
            "now": _record(bar.now, bar.commitment_now),
        }
        for bar in watched
    ]


def _record(record: BarRecord, commitment: float) -> dict[str, Any]:
    return {
        "choruses": record.choruses,
        "commitment": rounded(commitment, POINTS) if record.choruses else None,
        "marks": dict(record.marks),
        "missed": dict(record.missed),
    }
