"""What the handout says, whatever it is printed on: the answer first, then why, then where.

A *finding* is one thing to practise: the bars that one loss took, or one bar of the form that
went wrong in the same way in several choruses, with all its places and what it cost in points.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from linecheck.report import findings_in_words as words
from linecheck.report.feel_in_words import feel_sentences
from linecheck.report.figures import counted, key_text, meter_text, percent, plain
from linecheck.report.function_looks import LOOKS, Look

if TYPE_CHECKING:
    from linecheck.terms import Audit, BarCost

__all__ = ["CAUTIONS", "ChorusRow", "Finding", "Handout", "handout"]

MOST_FINDINGS = 3
MOST_PLACES = 8
CAUTIONS = (
    words.CAUTION,
    "What to practise is a suggestion. If a hand hurts, stop and ask a teacher or a doctor.",
    (
        "This page was made on your own machine and loads nothing from anywhere: names and takes "
        "stay where you keep them."
    ),
)
# What helps, by the part of the commitment that suffered.
PRACTICE = {
    "purpose": (
        "Go through the notes marked O one by one: change each so that it belongs to the chord, "
        "or leads by a step to the next note that does."
    ),
    "landings": (
        "Repeat this bar with the one before it, slowly, and choose the note for the landing "
        "first: its root, third, fifth or seventh. Then find the way to it."
    ),
    "form": (
        "Repeat this place slowly with the chart before you, begin two bars earlier, and say "
        "the bar's number aloud on every beat one."
    ),
    "presence": (
        "Keep the quarter notes going through this place, even on one note a bar, before you "
        "add anything to them."
    ),
}


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing to practise. ``places`` are (chorus, bar), the first the one to listen to."""

    title: str
    why: str
    practise: str
    points: float
    places: tuple[tuple[int, int], ...]
    more_places: int


@dataclass(frozen=True, slots=True)
class ChorusRow:
    """A chorus in figures, as text: per cent, and ``commitment`` of 100."""

    chorus: int
    style: str
    notes: int
    purpose: str
    landings: str
    form: str
    presence: str
    commitment: str


@dataclass(frozen=True, slots=True)
class Handout:
    """All texts of a handout; none of them is markup."""

    title: str
    tune: str
    take: str
    commitment: str
    verdict: str
    findings: tuple[Finding, ...]
    good: tuple[str, ...]
    losses: tuple[str, ...]
    perhaps: tuple[str, ...]
    choruses: tuple[ChorusRow, ...]
    landings: tuple[str, ...]
    sections: tuple[str, ...]
    functions: tuple[tuple[Look, int, str], ...]
    feel: tuple[str, ...]
    weights: tuple[tuple[str, str], ...]
    rubric: str
    warnings: tuple[str, ...]
    cautions: tuple[str, ...]


def handout(audit: Audit) -> Handout:
    """The texts of the handout of one audit."""
    chart, take, line = audit.chart, audit.take, audit.line
    rubric = audit.judgement.rubric
    whole = sum(rubric.weights.values())
    read = f", {plain(take.line)}" if take.line else ""
    return Handout(
        title=plain(chart.title) or "Untitled",
        tune=f"{key_text(chart.key)} · {meter_text(chart.meter)} · "
        f"{counted(len(chart.bars), 'bar')} a chorus · {line.tempo_bpm:.0f} beats a minute",
        take=f"{plain(take.source)} ({take.kind}{read}) · "
        f"{counted(line.choruses, 'chorus', 'choruses')} · "
        f"{counted(len(audit.labels.notes), 'note')}",
        commitment=f"{audit.judgement.commitment:.0f}",
        verdict=_sentence(words.verdict(audit)),
        findings=findings(audit),
        good=tuple(_sentence(s) for s in words.what_was_good(audit)),
        losses=tuple(_sentence(s) for s in words.loss_sentences(audit)),
        perhaps=tuple(_sentence(s) for s in words.perhaps_sentences(audit)),
        choruses=tuple(
            ChorusRow(
                s.chorus,
                s.style,
                s.notes,
                percent(s.purpose),
                percent(s.landings),
                percent(s.form),
                percent(s.presence),
                f"{s.commitment:.0f}",
            )
            for s in audit.judgement.choruses
        ),
        landings=tuple(_sentence(s) for s in words.landing_sentences(audit)),
        sections=tuple(_sentence(s) for s in words.section_sentences(audit)),
        functions=tuple(
            (LOOKS[name], many, percent(share))  # type: ignore[index]
            for name, many, share in words.function_shares(audit)
        ),
        feel=tuple(_sentence(s) for s in feel_sentences(audit)),
        weights=tuple((part, percent(w / whole)) for part, w in rubric.weights.items()),
        rubric=plain(rubric.name),
        warnings=tuple(
            _sentence(plain(w))
            for w in dict.fromkeys(
                (
                    *chart.warnings,
                    *take.warnings,
                    *line.warnings,
                    *audit.labels.warnings,
                    *audit.warnings,
                )
            )
        ),
        cautions=CAUTIONS,
    )


def _sentence(text: str) -> str:
    """A sentence of a list as one that stands alone: capital letter and full stop."""
    # Figures stay with their units at the end of a line.
    text = re.sub(r"(?<=\d) (?=%|ms\b)", "\u00a0", text.strip())
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith(('.', '!', '?')) else '.'}"


# ---- the findings ----------------------------------------------------------------------------


def findings(audit: Audit, most: int = MOST_FINDINGS) -> tuple[Finding, ...]:
    """What cost most, the dearest first: costs of one loss, or of one bar and part, together."""
    groups: dict[tuple[str, int, int], list[BarCost]] = {}
    stretches = _form_stretches(audit)
    for cost in audit.judgement.costs:
        if cost.part == "form":
            key = ("form", stretches.get((cost.chorus, cost.bar), 0), 0)
        else:
            key = (cost.part, cost.bar, 1)
        groups.setdefault(key, []).append(cost)
    dearest = sorted(groups.values(), key=lambda g: (-sum(c.points for c in g), g[0].bar))
    return tuple(_finding(group, audit) for group in dearest[:most])


def _form_stretches(audit: Audit) -> dict[tuple[int, int], int]:
    """Number of the run of neighbouring bars that each bar with a cost for form belongs to."""
    bars = len(audit.chart.bars)
    flat = sorted({c.chorus * bars + c.bar - 1 for c in audit.judgement.costs if c.part == "form"})
    numbers: dict[tuple[int, int], int] = {}
    run = 0
    for at, before in zip(flat, [None, *flat], strict=False):
        run += before is None or at != before + 1
        numbers[at // bars, at % bars + 1] = run
    return numbers


def _finding(group: list[BarCost], audit: Audit) -> Finding:
    dearest = max(group, key=lambda c: c.points)
    part = dearest.part
    if part == "form":
        ordered = sorted(group, key=lambda c: (c.chorus, c.bar))
        first, last = ordered[0], ordered[-1]
        title = f"Chorus {first.chorus}, bar {first.bar}"
        if last is not first:
            far = f"chorus {last.chorus}, " if last.chorus != first.chorus else ""
            title += f" to {far}bar {last.bar}"
    else:
        ordered = sorted(group, key=lambda c: (-c.points, c.chorus))
        chords = " ".join(c.chord.symbol for c in audit.chart.bars[dearest.bar - 1].chords)
        title = f"Bar {dearest.bar} ({chords})"
        times = len({c.chorus for c in group})
        title += f", in {times} choruses" if times > 1 else f" of chorus {dearest.chorus}"
    # A loss is heard from its beginning; a bar that goes wrong again and again, every time.
    heard = ordered[:1] if part == "form" else ordered
    places = tuple(dict.fromkeys((c.chorus, c.bar) for c in heard))
    return Finding(
        title=title,
        why=_sentence(dearest.why),
        practise=PRACTICE.get(part, "Listen to this place, then repeat it slowly."),
        points=sum(c.points for c in group),
        places=places[:MOST_PLACES],
        more_places=len(places[MOST_PLACES:]),
    )
