"""How a line differs from reference lines, in sentences that all formats share."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.report.figures import counted, percent, plain

if TYPE_CHECKING:
    from linecheck.reference_terms import ReferenceDifference, ReferenceProfile, ReferenceReading

__all__ = ["behind_it", "reading_sentences"]

MOST = 8


def behind_it(profile: ReferenceProfile) -> str:
    """``"3 takes, 9 choruses, 430 notes"``."""
    return ", ".join((
        counted(profile.takes, "take"),
        counted(profile.choruses, "chorus", "choruses"),
        counted(profile.notes, "note"),
    ))  # fmt: skip


def reading_sentences(reading: ReferenceReading, most: int = MOST) -> list[str]:
    """What differs by more than chance, the least likely first; no score changes."""
    found = sorted(
        (row for row in reading.differences if row.differs),
        key=lambda row: (row.chance, row.style, row.name, row.function),
    )
    said = [f"the reference: {behind_it(reading.profile)}"]
    if not reading.differences:
        said.append("too few notes of this line stand where the reference says something")
    elif not found:
        said.append("no share of this line differs from it by more than chance")
    said += [_sentence(row) for row in found[:most]]
    if len(found) > most:
        said.append(f"and {len(found) - most} more shares differ")
    if reading.passed_over:
        places = ", ".join(plain(place) for place in reading.passed_over[:4])
        more = f" and {len(reading.passed_over) - 4} more" if len(reading.passed_over) > 4 else ""
        said.append(f"the reference says nothing of: {places}{more}")
    return said


def _sentence(row: ReferenceDifference) -> str:
    where = f"over {plain(row.name)} chords" if row.by == "chord type" else f"on {plain(row.name)}"
    where = where.replace("on ", "", 1) if "off the beat" in where else where
    side = "more" if row.share > row.expected else "less"
    return (
        f"{row.style} {where}: {side} {row.function}, {percent(row.share)} of "
        f"{counted(row.notes, 'note')} against {percent(row.expected)}; such lines lie within "
        f"{percent(row.low)} to {percent(row.high)}"
    )
