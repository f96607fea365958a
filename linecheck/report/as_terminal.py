"""An audit as a page for a terminal of 80 columns: the answer first, then why.

Colour only repeats what the characters say. A take of many choruses is summed up: clean choruses
in a row share one line of the form strip, and the table keeps the weakest ones; ``full`` shows
all of it, ``brief`` only the answer, the choruses and the form.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from linecheck.doubts import asked_first
from linecheck.music.keys import key_text
from linecheck.report import findings_in_words as words
from linecheck.report.feel_in_words import feel_sentences
from linecheck.report.figures import counted, mark_text, meter_text, percent, plain
from linecheck.report.form_strip import form_strips
from linecheck.report.intonation_in_words import intonation_sentences
from linecheck.report.page import Page
from linecheck.report.strip_lines import put_strips
from linecheck.report.what_was_good import what_was_good

if TYPE_CHECKING:
    from linecheck.terms import Audit, ChorusScore

__all__ = ["terminal_page"]

MOST_CHORUSES = 16  # more than that are summed up
WEAKEST_SHOWN = 8
MOST_LOSSES = 12
WIDE = 80  # cells that the table of choruses takes with its bars


def terminal_page(
    audit: Audit, *, width: int = 80, brief: bool = False, full: bool = False
) -> Page:
    """The report as a page.

    Args:
        audit: the audit.
        width: the widest that a line may be, in cells; what a table does not fit on is told in
            sentences.
        brief: only the answer, the choruses and the form.
        full: every chorus, missed landing and bar, however many.
    """
    page = Page(width)
    _head(page, audit)
    _answer(page, audit)
    _choruses(page, audit, full=full)
    _form(page, audit, full=full)
    _watched(page, audit)
    if not brief:
        _good(page, audit)
        _landings(page, audit, full=full)
        _notes(page, audit)
        _costs(page, audit, full=full)
        _patterns(page, audit)
        _reference(page, audit)
        _carry_over(page, audit)
        page.heading("Time")
        page.points(feel_sentences(audit))
        if audit.intonation is not None:
            page.heading("Intonation")
            page.points(intonation_sentences(audit))
    _warnings(page, audit)
    _foot(page, audit)
    return page


def _head(page: Page, audit: Audit) -> None:
    chart, take = audit.chart, audit.take
    page.say(
        f"{plain(chart.title)}: {key_text(chart.key)}, {meter_text(chart.meter)}, "
        f"{counted(len(chart.bars), 'bar')} a chorus",
        style="heading",
    )
    page.say(
        f"Take: {plain(Path(take.source).name)}, {take.kind}; "
        f"{counted(audit.line.choruses, 'chorus', 'choruses')}, "
        f"{words.notes_counted(audit)}"
    )
    if take.line:
        page.say(f"Line: {plain(take.line)}")


def _answer(page: Page, audit: Audit) -> None:
    page.gap()
    mark = mark_text(audit.judgement.commitment, audit.judgement.rubric.pass_mark)
    page.say(f"Commitment {mark} of 100", indent=2, style="answer")
    page.say(words.verdict(audit), indent=2)
    asked = asked_first(audit.warnings)
    if asked:
        page.say(f"But first: {asked}", indent=2)


# ---- the choruses ----------------------------------------------------------------------------

_COLUMNS = (
    ("chorus", 6),
    ("style", 9),
    ("notes", 5),
    ("purpose", 9),
    ("landings", 10),
    ("form", 7),
    ("presence", 10),
    ("commitment", 12),
)


def _choruses(page: Page, audit: Audit, *, full: bool) -> None:
    scores = audit.judgement.choruses
    if not scores:
        return
    page.heading("Choruses")
    table = page.width >= sum(size for _, size in _COLUMNS)
    if table:
        page.row([(_table_row({name: name for name, _ in _COLUMNS}), "")])
    shown = scores
    if len(scores) > MOST_CHORUSES and not full:
        weakest = sorted(scores, key=lambda score: score.commitment)[:WEAKEST_SHOWN]
        shown = tuple(score for score in scores if score in weakest)
    for score in shown:
        figures = _chorus_figures(score, audit)
        if table:
            bar = f"  {'#' * round(score.commitment / 10)}"
            page.row([(_table_row(figures) + bar * (page.width >= WIDE), "")])
        else:
            page.say(_chorus_sentence(figures), indent=2, hang=3)
    rest = sorted(score.commitment for score in scores if score not in shown)
    if rest:
        page.say(
            f"These are the weakest {len(shown)}. The other {len(rest)}: commitment "
            f"{_range_of(rest)}. --full shows all.",
            indent=2,
        )


def _range_of(commitments: list[float]) -> str:
    """From the least to the most, and the middle one where it tells more than they do."""
    low, middle, high = (f"{commitments[at]:.0f}" for at in (0, len(commitments) // 2, -1))
    if low == high:
        return low
    if middle in (low, high):
        return f"{low} to {high}, at least half of them {middle}"
    return f"{low} to {high}, half of them {middle} or more"


def _table_row(values: dict[str, str]) -> str:
    """Figures to the right, the style to the left."""
    return "".join(
        ("  " + values[name]).ljust(size) if name == "style" else values[name].rjust(size)
        for name, size in _COLUMNS
    )


def _chorus_figures(score: ChorusScore, audit: Audit) -> dict[str, str]:
    return {
        "chorus": str(score.chorus),
        "style": words.style_text(score, audit),
        "notes": str(score.notes),
        "purpose": percent(score.purpose),
        "landings": percent(score.landings),
        "form": words.form_text(score),
        "presence": percent(score.presence),
        "commitment": f"{score.commitment:.0f}",
    }


def _chorus_sentence(figures: dict[str, str]) -> str:
    """A row of the table for a screen that it does not fit on."""
    shares = ", ".join(
        f"{name} {figures[name]}" for name in ("purpose", "landings", "form", "presence")
    )
    return (
        f"{figures['chorus']}: commitment {figures['commitment']}; {figures['style']}, "
        f"{figures['notes']} notes; {shares}"
    )


# ---- the form --------------------------------------------------------------------------------


def _form(page: Page, audit: Audit, *, full: bool) -> None:
    strips = form_strips(audit)
    if not strips:
        return
    page.heading("Form, one character a bar")
    put_strips(page, audit.chart, strips, len(strips) if full else MOST_CHORUSES)
    losses = words.loss_sentences(audit)
    perhaps = words.perhaps_sentences(audit)
    if losses or perhaps:
        page.gap()
    most = len(losses) if full else MOST_LOSSES
    page.points(losses[:most], style="lost")
    if len(losses) > most:
        page.points([f"and {len(losses) - most} more; --full shows all"])
    page.points("perhaps (counts nowhere): " + sentence for sentence in perhaps[:most])
    if losses or perhaps:
        page.say(words.how_sure(audit), indent=2)


# ---- the rest --------------------------------------------------------------------------------


def _good(page: Page, audit: Audit) -> None:
    good = what_was_good(audit)
    if good:
        page.heading("Keep this")
        page.points(good, style="good")


def _landings(page: Page, audit: Audit, *, full: bool) -> None:
    page.heading("Landings and sections")
    page.points(words.landing_sentences(audit))
    most = len(audit.labels.landings) if full else 6
    for sentence in words.missed_landing_sentences(audit, most):
        page.say(sentence, indent=4, hang=2, style="missed")
    page.points(words.section_sentences(audit))


def _notes(page: Page, audit: Audit) -> None:
    page.heading("What the notes are")
    shares = [
        f"{name} {percent(share)}" for name, number, share in words.function_shares(audit) if number
    ]
    page.say("   ".join(shares) or "no note could be judged", indent=2)
    approaches = words.approach_counts(audit)
    if approaches:
        kinds = ", ".join(f"{number} {kind}" for kind, number in approaches)
        page.say(f"approaches: {kinds}", indent=2, hang=2)


def _costs(page: Page, audit: Audit, *, full: bool) -> None:
    sentences = (
        words.cost_sentences(audit, len(audit.judgement.costs), least=0.0)
        if full
        else words.cost_sentences(audit)
    )
    if sentences:
        page.heading("What cost most")
        page.points(sentences)


def _patterns(page: Page, audit: Audit) -> None:
    if audit.patterns:
        from linecheck.report.patterns_in_words import FACTS, pattern_sentences  # noqa: PLC0415

        page.heading("Over and over")
        page.points(pattern_sentences(audit))
        page.say(FACTS, indent=2)


def _watched(page: Page, audit: Audit) -> None:
    if audit.watched:
        from linecheck.report.watched_in_words import watched_sentences  # noqa: PLC0415

        page.heading("Bars to watch")
        page.points(watched_sentences(audit.watched))


def _reference(page: Page, audit: Audit) -> None:
    if audit.reference is not None:
        from linecheck.report.reference_in_words import reading_sentences  # noqa: PLC0415

        page.heading("Against the reference")
        page.points(reading_sentences(audit.reference))


def _carry_over(page: Page, audit: Audit) -> None:
    if audit.carry_over is not None:
        from linecheck.report.comparison_in_words import carry_over_summary  # noqa: PLC0415

        page.heading("From the line to the solo")
        page.points(carry_over_summary(audit.carry_over))


def _warnings(page: Page, audit: Audit) -> None:
    if audit.warnings:
        page.heading("Mind")
        page.points(plain(warning) for warning in audit.warnings)


def _foot(page: Page, audit: Audit) -> None:
    rubric = audit.judgement.rubric
    total = sum(rubric.weights.values()) or 1.0
    weights = ", ".join(
        f"{part} {percent(weight / total)}" for part, weight in rubric.weights.items()
    )
    page.gap()
    page.say(f"Rubric {plain(rubric.name)}: {weights}.")
    page.say(words.CAUTION)
