"""A chart as it was understood, as a page for a terminal of 80 columns.

Bars stand in rows of four under the name of their section, as a chart file writes them: chords
that share a bar equally stand side by side, all others with a slash for every beat that goes on.
Below stands each chord once, with its tones and degrees and the tensions that are available.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.music.keys import key_text
from linecheck.music.pitch import LETTERS, spell
from linecheck.report.figures import beat_text, counted, meter_text, plain, rounded
from linecheck.report.page import Page, cells, fit
from linecheck.terms import STEPS_PER_BEAT

if TYPE_CHECKING:
    from linecheck.terms import Bar, Chart, Chord, Meter

__all__ = ["bar_text", "chart_page"]

BARS_A_ROW = 4


def chart_page(chart: Chart, *, width: int = 80) -> Page:
    """The chart as a page."""
    page = Page(width)
    page.say(plain(chart.title), style="heading")
    facts = [f"key {key_text(chart.key)}", meter_text(chart.meter)]
    if chart.tempo is not None:
        facts.append(f"{rounded(chart.tempo, 2)} quarter notes a minute")
    if chart.feel:
        facts.append(chart.feel)
    page.say(", ".join(facts))
    page.say(
        f"form {' '.join(plain(name) for name in chart.form)}: "
        f"{counted(len(chart.bars), 'bar')} a chorus"
    )
    for title, bars in (
        ("intro, once", chart.intro),
        ("", chart.bars),
        ("ending, once", chart.ending),
    ):
        _bars(page, bars, chart.meter, title)
    _chords(page, chart)
    if chart.warnings:
        page.heading("Mind")
        page.points(plain(warning) for warning in chart.warnings)
    return page


def _bars(page: Page, bars: tuple[Bar, ...], meter: Meter, title: str) -> None:
    sections: list[list[Bar]] = []
    for bar in bars:
        if bar.opens_section or not sections:
            sections.append([])
        sections[-1].append(bar)
    widest = max((cells(bar_text(bar)) for bar in bars), default=0)
    a_row = BARS_A_ROW
    while a_row > 1 and 6 + a_row * (widest + 3) > page.width:
        a_row //= 2
    for section in sections:
        own = section[0].meter
        notes = [title] if title else []
        notes += [meter_text(own)] if own != meter else []
        page.heading(plain(section[0].section) + (f" ({', '.join(notes)})" if notes else ""))
        for begin in range(0, len(section), a_row):
            row = section[begin : begin + a_row]
            texts = (f"| {fit(bar_text(bar), widest)} " for bar in row)
            page.row([(f"{row[0].number:4}  {''.join(texts)}|", "")])


def bar_text(bar: Bar) -> str:
    """The chords of a bar as a chart file writes them, with beat marks where they are needed."""
    steps = {chord.steps for chord in bar.chords}
    symbols = [plain(chord.chord.symbol) for chord in bar.chords]
    if len(steps) == 1:
        return " ".join(symbols)
    if any(chord.step % STEPS_PER_BEAT for chord in bar.chords):  # only notation can say this
        beats = (beat_text(1 + chord.step / STEPS_PER_BEAT) for chord in bar.chords)
        return " ".join(f"{s}@{beat}" for s, beat in zip(symbols, beats, strict=True))
    marks = ["/"] * bar.meter.beats
    for chord, symbol in zip(bar.chords, symbols, strict=True):
        marks[chord.step // STEPS_PER_BEAT] = symbol
    return " ".join(marks)


def _chords(page: Page, chart: Chart) -> None:
    chords: dict[str, Chord] = {}
    for bar in (*chart.intro, *chart.bars, *chart.ending):
        for placed in bar.chords:
            chords.setdefault(placed.chord.symbol, placed.chord)
    if not chords:
        return
    page.heading("Chords")
    wide = min(max(cells(plain(symbol)) for symbol in chords), 16)
    for symbol, chord in chords.items():
        page.say(f"{fit(plain(symbol), wide)}  {chord_in_words(chord)}", indent=2, hang=wide + 2)


def chord_in_words(chord: Chord) -> str:
    """Tones with their degrees, the bass where it is not the root, and the tensions."""
    if chord.root is None:
        return "no chord: notes over it are not judged"
    tones = ", ".join(
        f"{_spelled(chord, tone.degree, tone.pitch_class)} {tone.degree}" for tone in chord.tones
    )
    if chord.bass != chord.root:
        tones += f"; {chord.bass_name} in the bass"
    tensions = " ".join(tension.degree for tension in chord.available)
    return f"{tones}; tensions {tensions}" if tensions else tones


def _spelled(chord: Chord, degree: str, pitch_class: int) -> str:
    """A tone on the letter that its degree asks for, counted from the root's letter."""
    number = int(degree.lstrip("b#"))
    letter = LETTERS[(LETTERS.index(chord.root_name[0]) + number - 1) % 7]
    return spell(letter, pitch_class)
