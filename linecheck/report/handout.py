"""What the handout says, whatever it is printed on: the answer first, then why, then where.

A *finding* is one thing to practise: all that a loss of the form cost, or one bar of the form
that went wrong in the same way in several choruses, with its places and its points.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from linecheck.doubts import asked_first
from linecheck.music.form import chart_beat_quarters
from linecheck.music.keys import key_text
from linecheck.report import findings_in_words as words
from linecheck.report.feel_in_words import feel_sentences
from linecheck.report.figures import (
    counted,
    mark_text,
    meter_text,
    percent,
    plain,
    tempo_unit,
)
from linecheck.report.function_looks import LOOKS, Look
from linecheck.report.intonation_in_words import intonation_sentences
from linecheck.report.left_hand_marks import CAUTION as FINGERING_CAUTION
from linecheck.report.patterns_in_words import pattern_sentence
from linecheck.report.reference_in_words import reading_sentences
from linecheck.report.watched_in_words import watched_sentences
from linecheck.report.what_was_good import what_was_good

if TYPE_CHECKING:
    from linecheck.terms import Audit, BarCost

__all__ = ["CAUTIONS", "ChorusRow", "Finding", "Handout", "handout", "sentence"]

MOST_FINDINGS = 3
FEW_NOTES = 4
GOOD_LINE = 0.85  # share of notes with a purpose from which a line is called good
LOSS = "loss"  # the group of what a loss cost; the parts are the other groups
CAUTIONS = (
    words.CAUTION,
    "What to practise is a suggestion. If a hand hurts, stop and ask a teacher or a doctor.",
    (
        "This page was made on your own machine and loads nothing from anywhere: names and takes "
        "stay where you keep them."
    ),
)
FINGERING = (
    "Under the notes stand fingers (T for the thumb, 0 for an open string), and the string where it "
    f"changes. {FINGERING_CAUTION}"
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
    """All texts of a handout; none of them is markup.

    ``fingered``, ``pushed`` and ``out_of_place`` say which marks the notation holds, for its key.
    """

    title: str
    tune: str
    take: str
    tempo_unit: str
    read: str
    commitment: str
    verdict: str
    asked: str
    findings: tuple[Finding, ...]
    good: tuple[str, ...]
    losses: tuple[str, ...]
    perhaps: tuple[str, ...]
    choruses: tuple[ChorusRow, ...]
    landings: tuple[str, ...]
    sections: tuple[str, ...]
    functions: tuple[tuple[Look, int, str], ...]
    feel: tuple[str, ...]
    intonation: tuple[str, ...]
    feel_table: tuple[tuple[str, ...], ...]
    traces: tuple[tuple[str, tuple[tuple[int, int], ...]], ...]
    weights: tuple[tuple[str, str], ...]
    rubric: str
    warnings: tuple[str, ...]
    cautions: tuple[str, ...]
    fingered: bool = False
    pushed: bool = False
    out_of_place: bool = False
    patterns: tuple[tuple[str, tuple[tuple[int, int], ...]], ...] = ()
    watched: tuple[str, ...] = ()
    reference: tuple[str, ...] = ()
    student: str = ""


def handout(audit: Audit) -> Handout:
    """The texts of the handout of one audit."""
    chart, take, line = audit.chart, audit.take, audit.line
    rubric = audit.judgement.rubric
    whole = sum(rubric.weights.values())
    heard = "" if take.kind == "audio" else "read from "  # a recording's is "heard in" it
    return Handout(
        title=plain(chart.title) or "Untitled",
        tune=f"{key_text(chart.key)} · {meter_text(chart.meter)} · "
        f"{counted(len(chart.bars), 'bar')} a chorus · "
        f"{line.tempo_bpm:.0f} {tempo_unit(chart)} a minute",
        take=f"{_file_name(take.source)}, {take.kind} · "
        f"{counted(line.choruses, 'chorus', 'choruses')} · "
        f"{words.notes_counted(audit)}",
        tempo_unit=tempo_unit(chart),
        read=sentence(f"the line was {heard}{plain(take.line)}") if take.line else "",
        commitment=mark_text(audit.judgement.commitment, rubric.pass_mark),
        verdict=sentence(words.verdict(audit)),
        asked=f"But first: {asked}" if (asked := asked_first(audit.warnings)) else "",
        findings=findings(audit),
        good=tuple(sentence(s) for s in what_was_good(audit)),
        losses=tuple(sentence(s) for s in words.loss_sentences(audit)),
        perhaps=tuple(sentence(s) for s in words.perhaps_sentences(audit)),
        choruses=tuple(
            ChorusRow(
                s.chorus,
                words.style_text(s, audit),
                s.notes,
                percent(s.purpose),
                percent(s.landings),
                words.form_text(s),
                percent(s.presence),
                f"{s.commitment:.0f}",
            )
            for s in audit.judgement.choruses
        ),
        landings=tuple(sentence(s) for s in words.landing_sentences(audit)),
        sections=tuple(sentence(s) for s in words.section_sentences(audit)),
        functions=tuple(
            (LOOKS[name], many, percent(share))  # type: ignore[index]
            for name, many, share in words.function_shares(audit)
        ),
        feel=tuple(sentence(s) for s in feel_sentences(audit)),
        intonation=tuple(sentence(s) for s in intonation_sentences(audit)),
        feel_table=_feel_table(audit),
        traces=_traces(audit),
        weights=tuple((part, percent(w / whole)) for part, w in rubric.weights.items()),
        rubric=plain(rubric.name),
        warnings=tuple(sentence(plain(warning)) for warning in dict.fromkeys(audit.warnings)),
        cautions=CAUTIONS if audit.fingering is None else (*CAUTIONS, FINGERING),
        fingered=audit.fingering is not None,
        student=plain(audit.student),
        pushed=any(note.anticipation for note in audit.labels.notes),
        out_of_place=any(
            note.function_in_own_place not in (None, note.function) for note in audit.labels.notes
        ),
        patterns=tuple(
            (sentence(pattern_sentence(pattern, chart.key)), pattern.bars)
            for pattern in audit.patterns
        ),
        watched=tuple(sentence(s) for s in watched_sentences(audit.watched or ())),
        reference=tuple(
            sentence(s) for s in (reading_sentences(audit.reference) if audit.reference else ())
        ),
    )


def _feel_table(audit: Audit) -> tuple[tuple[str, ...], ...]:
    """For every chorus: tempo, its change, placement, swing, length of notes, loudness."""
    if audit.line.feel is None or audit.line.grid == "written":
        return ()
    quarters_a_beat = chart_beat_quarters(audit.chart)
    return tuple(
        (
            _figure(one.tempo and one.tempo * quarters_a_beat, ".0f"),
            _figure(one.tempo_change, "+.1%"),
            _with_spread(one.placement_mean_ms, one.placement_spread_ms, "+.0f", ".0f"),
            _figure(one.swing_ratio, ".2f"),
            _with_spread(one.length_share, one.length_spread, ".0%", ".0%"),
            _with_spread(one.loudness, one.loudness_spread, ".0f", ".0f"),
        )
        for one in audit.line.feel.choruses
    )


def _figure(value: float | None, form: str) -> str:
    if value is None:
        return ""
    figure = format(value, form)
    if not figure.strip("+-0.%"):  # nothing has no sign
        figure = figure.lstrip("+-")
    return figure.replace("-", "−").replace("%", "\u00a0%")


def _with_spread(value: float | None, spread: float | None, form: str, spread_form: str) -> str:
    return "" if value is None else f"{_figure(value, form)} ± {_figure(spread, spread_form)}"


def _traces(audit: Audit) -> tuple[tuple[str, tuple[tuple[int, int], ...]], ...]:
    """The bars behind the figures: where a landing was missed, and where a note is outside."""
    missed = [x.place for x in audit.labels.landings if x.counted and not x.met]
    outside = [note.place for note in audit.labels.notes if note.function == "outside"]
    within = range(1, audit.line.choruses + 1)
    return tuple(
        (
            name,
            tuple(dict.fromkeys((p.chorus, p.bar) for p in places if p.bar and p.chorus in within)),
        )
        for name, places in (("Landings missed", missed), ("Notes outside", outside))
    )


def _file_name(source: str) -> str:
    """The file without its folders: they are nobody's business but the user's."""
    return plain(source).replace("\\", "/").rsplit("/", 1)[-1]


def sentence(text: str) -> str:
    """A sentence of a list as one that stands alone: capital letter and full stop."""
    # Figures stay with their units at the end of a line.
    text = re.sub(r"(?<=\d) (?=%|ms\b)", "\u00a0", text.strip())
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith(('.', '!', '?')) else '.'}"


# ---- the findings ----------------------------------------------------------------------------


def findings(audit: Audit, most: int = MOST_FINDINGS) -> tuple[Finding, ...]:
    """What cost most, the dearest first; what cost next to nothing is no finding.

    All that a lost stretch cost belongs to its loss, and losses that begin in the same bar of the
    form belong together. Elsewhere the costs of one part in one bar of the form are together,
    whatever the chorus.
    """
    lost = words.lost_bars(audit)
    begins = [words.loss_place(loss, audit).bar or 0 for loss in words.certain_losses(audit)]
    groups: dict[tuple[str, int], list[BarCost]] = {}
    for cost in audit.judgement.costs:
        loss = lost.get((cost.chorus, cost.bar))
        key = (cost.part, cost.bar) if loss is None else (LOSS, begins[loss])
        groups.setdefault(key, []).append(cost)
    points = {key: sum(cost.points for cost in costs) for key, costs in groups.items()}
    told = [group for group in groups.items() if points[group[0]] >= words.LEAST_POINTS]
    dearest = sorted(told, key=lambda group: (-points[group[0]], group[0]))
    return tuple(
        _loss_finding(costs, lost, audit) if part == LOSS else _bar_finding(costs, audit)
        for (part, _), costs in dearest[:most]
    )


def _loss_finding(costs: list[BarCost], lost: dict[tuple[int, int], int], audit: Audit) -> Finding:
    bars = sorted({(cost.chorus, cost.bar) for cost in costs})
    # A loss is heard from its beginning.
    heard = tuple({lost[place]: place for place in reversed(bars)}.values())[::-1]
    losses = words.certain_losses(audit)
    what = ", then ".join(
        dict.fromkeys(words.off_by(losses[lost[place]], audit.chart) for place in heard)
    )
    if len(heard) > 1:
        title = f"From bar {heard[0][1]} on, {len(heard)} times"
    else:
        (chorus, bar), (last_chorus, last_bar) = bars[0], bars[-1]
        title = f"Chorus {chorus}, bar {bar}"
        if bars[-1] != bars[0]:
            far = f"chorus {last_chorus}, " if last_chorus != chorus else ""
            title += f" to {far}bar {last_bar}"
    return Finding(
        title=title,
        why=sentence(f"the form is lost: {what}") + _own_place(costs, lost, audit),
        practise=PRACTICE["form"],
        points=sum(cost.points for cost in costs),
        places=heard,
    )


def _own_place(costs: list[BarCost], lost: dict[tuple[int, int], int], audit: Audit) -> str:
    """How good the line is where the player was: another lesson than a bad line."""
    numbers = {lost[cost.chorus, cost.bar] for cost in costs}
    losses = [loss for n, loss in enumerate(words.certain_losses(audit)) if n in numbers]
    end = max((note.step for note in audit.labels.notes), default=0) + 1
    stretches = [(x.step, end if x.recovered_step is None else x.recovered_step) for x in losses]
    own = [
        note.function_in_own_place
        for note in audit.labels.notes
        if any(low <= note.step < high for low, high in stretches)
    ]
    known = [function for function in own if function is not None]
    if len(known) < FEW_NOTES or len(known) < len(own) / 2:
        return ""
    share = 1 - known.count("outside") / len(known)
    good = "The line itself is good: " if share >= GOOD_LINE else ""
    told = sentence(f"{percent(share)} of its notes fit the bars that you were in")
    return f" {good}{told}"


def _bar_finding(costs: list[BarCost], audit: Audit) -> Finding:
    ordered = sorted(costs, key=lambda cost: (-cost.points, cost.chorus))
    dearest = ordered[0]
    chords = " ".join(c.chord.symbol for c in audit.chart.bars[dearest.bar - 1].chords)
    times = len({cost.chorus for cost in costs})
    where = f", in {times} choruses" if times > 1 else f" of chorus {dearest.chorus}"
    return Finding(
        title=f"Bar {dearest.bar} ({chords}){where}",
        why=sentence(dearest.why),
        practise=PRACTICE.get(dearest.part, "Listen to this place, then repeat it slowly."),
        points=sum(cost.points for cost in costs),
        places=tuple(dict.fromkeys((cost.chorus, cost.bar) for cost in ordered)),
    )
