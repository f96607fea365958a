"""What a comparison found, in words and rows that all formats share.

A comparison says what one side showed and the other kept; it does not say that a solo must show
everything that a line shows, and no sentence here does.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal, TypeAlias

from linecheck.music.keys import names_in_key
from linecheck.music.pitch import pitch_name
from linecheck.report.figures import percent, plain
from linecheck.report.findings_in_words import in_words, listed

if TYPE_CHECKING:
    from linecheck.comparison_terms import (
        CarryOver,
        ComparedKind,
        ComparedPlace,
        ComparedSide,
        Comparison,
        Share,
        Trait,
    )

__all__ = [
    "KEPT_MEANS",
    "SHOWN_WORDS",
    "Shown",
    "added_sentences",
    "break_sentences",
    "carried_rows",
    "carry_over_summary",
    "caution",
    "change_sentence",
    "dropped_sentences",
    "headline",
    "room_sentence",
    "section_sentences",
    "shown_in_bars",
    "side_sentence",
    "the",
    "traits_rows",
]

Shown: TypeAlias = Literal["shown", "partly", "dropped", "open"]
SHOWN_WORDS: dict[Shown, str] = {
    "shown": "shown",
    "partly": "in some choruses",
    "dropped": "not shown",
    "open": "not asked for",
}
WORDS: dict[ComparedKind, str] = {
    "landings": "landings",
    "bars": "whole bars",
    "sections": "section beginnings",
    "form": "bars in place",
}
_CAUTION = "what is dropped is a place to listen to, and no fault. The teacher decides."
KEPT_MEANS = (
    "Kept: of what {before} shows in at least half of its choruses, how often {after} shows it "
    "too. What falls into a breath is not asked for."
)
MOST, MOST_BREAKS = 6, 3
FEW = 3  # of fewer choruses a sentence says that they are few
FEW_TO_DIFFER = 8  # the same where the choruses of one side are held against the other's


def side_sentence(side: ComparedSide) -> str:
    """``"Solo: juno.mid, choruses 2 and 3, solo"``."""
    numbers = listed([str(n) for n in side.choruses])
    word = "chorus" if len(side.choruses) == 1 else "choruses"
    kind = "" if side.name == side.style else f", {side.style}"
    name = f"{side.name[:1].upper()}{side.name[1:]}"
    return f"{name}: {plain(Path(side.source).name)}, {word} {numbers}{kind}"


def the(side: ComparedSide) -> str:
    """A side within a sentence: ``"the solo"``, ``"the second take"``."""
    return f"the {side.name}" + (" take" if side.name in ("first", "second") else "")


def _of(comparison: Comparison, kind: ComparedKind) -> CarryOver:
    return next(carried for carried in comparison.carried if carried.kind == kind)


def caution(comparison: Comparison) -> str:
    """What a reader should keep in mind."""
    if comparison.after.style == "solo" and comparison.before.style != "solo":
        return f"A solo need not show all that a line shows: {_CAUTION}"
    return f"No take need show all that another shows: {_CAUTION}"


def headline(comparison: Comparison) -> str:
    """The answer in one sentence."""
    kept = _of(comparison, "landings").kept
    before, after = the(comparison.before), the(comparison.after)
    if kept.share is None:
        return f"Nothing can be said: {before} shows no landing that {after} was asked for"
    return f"{_capital(after)} keeps {percent(kept.share)} of the landings that {before} shows"


def room_sentence(comparison: Comparison) -> str:
    """How far the answer can be relied on."""
    kept = _of(comparison, "landings").kept
    if kept.share is None:
        return "Compare takes in which chords are landed on."
    return f"That is {_counted(kept)}. {_range(kept)}."


def _counted(share: Share) -> str:
    words = "one chorus" if share.choruses == 1 else f"{in_words(share.choruses)} choruses"
    return f"{share.shown} of {share.asked} in {words}"


def _range(share: Share) -> str:
    """What so few choruses leave open."""
    few = "So few choruses leave" if share.choruses < FEW else "That leaves"
    return f"{few} room for {percent(share.low)} to {percent(share.high)} in the long run"


def carried_rows(comparison: Comparison) -> list[tuple[str, str, str, str, str, str]]:
    """For each kind: its name, both sides' shares, the share kept, its counts, its interval."""
    rows = []
    for carried in comparison.carried:
        kept = carried.kept
        nothing = kept.share is None
        rows.append((
            WORDS[carried.kind],
            percent(carried.before.share),
            percent(carried.after.share),
            percent(kept.share),
            "-" if nothing else f"{kept.shown} of {kept.asked}",
            "-" if nothing else f"{percent(kept.low)} to {percent(kept.high)}",
        ))  # fmt: skip
    return rows


def change_sentence(comparison: Comparison) -> str | None:
    """For two takes of one style: by how much the landings changed, and whether by chance."""
    change = _of(comparison, "landings").change
    if change is None or comparison.before.style != comparison.after.style:
        return None
    by, low, high = (round(100 * x) for x in change)
    few = min(len(comparison.before.choruses), len(comparison.after.choruses)) < FEW_TO_DIFFER
    if by == 0:
        room = "so few choruses leave" if few else "that leaves"
        room += f" room for {_signed(low)} to {_signed(high)} of 100"
        return f"as many landings are met in both; {room}"
    told = f"of 100 landings the second meets {abs(by)} {'more' if by > 0 else 'fewer'}"
    if low <= 0 <= high:
        chance = "so few choruses can differ as much" if few else "they can differ as much"
        return f"{told}; {chance} by chance ({_signed(low)} to {_signed(high)})"
    return f"{told}, more than chance explains ({_signed(low)} to {_signed(high)})"


def _signed(points: int) -> str:
    return f"{points:+d}".replace("-", "\u2212")


# ---- bars ------------------------------------------------------------------------------------


def shown_in_bars(comparison: Comparison, *, after: bool) -> list[Shown]:
    """One entry a bar of the form: whether a side showed it, in place and with all landings."""
    bars = [place for place in comparison.places if place.kind == "bars"]
    form = [place for place in comparison.places if place.kind == "form"]
    found: list[Shown] = []
    for bar, in_place in zip(bars, form, strict=True):
        shown, asked = bar.after if after else bar.before
        if not asked:
            in_form, judged = in_place.after if after else in_place.before
            found.append("dropped" if in_form < judged else "open")
        elif shown == asked:
            found.append("shown")
        else:
            found.append("partly" if shown else "dropped")
    return found


def break_sentences(comparison: Comparison) -> list[str]:
    """Where each chorus of the second side first drops what the first shows."""
    whole = [b.chorus for b in comparison.first_breaks if b.bar is None]
    said = []
    broken: dict[tuple[int, str], list[int]] = {}
    for found in comparison.first_breaks:
        if found.bar is not None:
            broken.setdefault((found.bar, found.why), []).append(found.chorus)
    for (bar, why), choruses in broken.items():
        word = "chorus" if len(choruses) == 1 else "choruses"
        said.append(f"{word} {listed([str(n) for n in choruses])}: bar {bar} ({why})")
    if whole:
        word = "chorus" if len(whole) == 1 else "choruses"
        said.append(f"{word} {listed([str(n) for n in whole])}: nowhere")
    return said


def _sided(place: ComparedPlace, comparison: Comparison) -> str:
    (shown, asked), (kept, times) = place.before, place.after
    return f"{comparison.before.name} {shown} of {asked}, {comparison.after.name} {kept} of {times}"


def _place(place: ComparedPlace) -> str:
    beat = "" if place.beat in (None, 1) else f" beat {place.beat:.4g}"
    return f"bar {place.bar}{beat} ({plain(place.chord)})"


def dropped_sentences(comparison: Comparison, most: int = MOST) -> list[str]:
    """The landings that were dropped at least once, those dropped oftenest first."""
    dropped = [
        place
        for place in comparison.places
        if place.kind == "landings"
        and place.outcome in ("kept", "dropped")
        and place.after[0] < place.after[1]
        and place.after[0] * place.before[1] < place.before[0] * place.after[1]
    ]
    dropped.sort(key=lambda p: (p.after[0] / p.after[1], -p.after[1], p.bar, p.beat or 0))
    said = [f"{_place(place)}: {_sided(place, comparison)}" for place in dropped[:most]]
    if len(dropped) > most:
        said.append(f"and {len(dropped) - most} more")
    return said


def added_sentences(comparison: Comparison, most: int = MOST) -> list[str]:
    """The landings that only the second side shows."""
    added = [p for p in comparison.places if p.kind == "landings" and p.outcome == "added"]
    said = [f"{_place(place)}: {_sided(place, comparison)}" for place in added[:most]]
    if len(added) > most:
        said.append(f"and {len(added) - most} more")
    return said


def section_sentences(comparison: Comparison) -> list[str]:
    """Section beginnings that were dropped or added."""
    said = []
    for place in comparison.places:
        if place.kind == "sections" and place.outcome in ("dropped", "added"):
            word = "dropped" if place.outcome == "dropped" else "added"
            said.append(
                f"section {plain(place.section)} at bar {place.bar} {word}: "
                f"{_sided(place, comparison)}"
            )
    return said


# ---- facts of both ---------------------------------------------------------------------------


def traits_rows(comparison: Comparison) -> list[tuple[str, str, str]]:
    """Name and both figures of every fact that differs or says something."""
    return [
        (trait.name, _figure(trait, trait.before, comparison), _figure(trait, trait.after, comparison))
        for trait in comparison.traits
    ]  # fmt: skip


def _figure(trait: Trait, value: float | None, comparison: Comparison) -> str:
    if value is None:
        return "-"
    if trait.unit == "share":
        return percent(value)
    if trait.unit == "pitch":
        pitch = round(value)
        return pitch_name(names_in_key(comparison.chart.key)[pitch % 12], pitch)
    return f"{value:.1f}"


def carry_over_summary(comparison: Comparison) -> list[str]:
    """Two or three sentences for the report of an audit."""
    kept = _of(comparison, "landings").kept
    if kept.share is None:
        return [_uncapital(headline(comparison))]
    said = [
        f"{_uncapital(headline(comparison))}, {_counted(kept)}",
        f"{_uncapital(_range(kept))}",
    ]
    breaks = [b for b in comparison.first_breaks if b.bar is not None]
    if breaks:
        said.append("it breaks first at " + "; ".join(
            f"chorus {b.chorus} bar {b.bar} ({b.why})" for b in breaks[:MOST_BREAKS]
        ))  # fmt: skip
    elif comparison.first_breaks:
        many = len(comparison.first_breaks)
        often = "its chorus" if many == 1 else f"its {in_words(many)} choruses"
        said.append(f"it drops no bar that {the(comparison.before)} shows in {often}")
    return said


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _uncapital(text: str) -> str:
    return text[:1].lower() + text[1:]
