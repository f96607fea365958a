"""Charts and placed lines written in a few characters, for the tests of labels and scores.

A chart is written as bars: ``chart_of("| F7 | Cm7 F7 |")``, each bar shared equally by its chords.
A line is written as notes, ``"F2 A2:0.5 -:1 Ab2:0.5~"``: pitch name with octave, length in beats
after the colon (1 if left out), ``-`` for a rest, ``x`` after it for a ghost, and ``'`` for a
note that is struck short. Notes follow one another from beat one of chorus 1 on.
"""

from __future__ import annotations

import re

from linecheck.music.chord_symbol import read_chord
from linecheck.music.form import Form
from linecheck.music.pitch import NATURAL
from linecheck.terms import (
    Bar,
    Chart,
    ChartChord,
    FormSpan,
    Key,
    LabelledLine,
    Loss,
    Meter,
    PlacedLine,
    PlacedNote,
    Section,
)

FOUR_FOUR = Meter(4, 4)
BEAT_S = 0.5
_NOTE = re.compile(
    r"(?P<letter>[A-G])(?P<accidentals>[b#]*)(?P<octave>-?\d)(?P<length>:[\d.]+)?(?P<signs>[x']*)"
)


def bars_of(
    text: str, meter: Meter = FOUR_FOUR, section: str = "A", first: int = 1
) -> tuple[Bar, ...]:
    """Bars of a text such as ``"| F7 | Cm7 F7 |"``; equal chords may be written once a bar."""
    bars = []
    for index, symbols in enumerate(part for part in text.split("|") if part.strip()):
        chords = symbols.split()
        steps = meter.beats * 12 // len(chords)
        bars.append(
            Bar(
                number=first + index,
                section=section,
                meter=meter,
                chords=tuple(
                    ChartChord(read_chord(symbol), at * steps, steps)
                    for at, symbol in enumerate(chords)
                ),
                opens_section=index == 0,
            )
        )
    return tuple(bars)


def chart_of(
    *sections: str,
    meter: Meter = FOUR_FOUR,
    key: Key | None = None,
    intro: str = "",
    ending: str = "",
) -> Chart:
    """A chart of sections A, B, C … as they are given."""
    bars: list[Bar] = []
    found = []
    for name, text in zip("ABCDEFGH", sections, strict=False):
        of_section = bars_of(text, meter, name, len(bars) + 1)
        found.append(Section(name, len(bars) + 1, len(of_section)))
        bars.extend(of_section)
    return Chart(
        title="Made for a test",
        key=key or Key("F", minor=False),
        meter=meter,
        tempo=None,
        feel=None,
        form=tuple(section.name for section in found),
        sections=tuple(found),
        bars=tuple(bars),
        intro=bars_of(intro, meter, "I"),
        ending=bars_of(ending, meter, "T"),
    )


def pitch_of(name: str) -> int:
    """MIDI number of a name with octave: ``pitch_of("A1") == 33``."""
    match = _NOTE.fullmatch(name)
    assert match, name
    accidentals = match["accidentals"]
    shift = accidentals.count("#") - accidentals.count("b")
    return NATURAL[match["letter"]] + shift + 12 * (int(match["octave"]) + 1)


def placed(
    step: int, pitch: int, steps: int = 11, velocity: int = 80, placement_ms: float = 0.0
) -> PlacedNote:
    """A note at a place."""
    return PlacedNote(
        onset_s=4.0 + step / 12 * BEAT_S,
        duration_s=steps / 12 * BEAT_S,
        pitch=pitch,
        velocity=velocity,
        step=step,
        end_step=step + steps,
        placement_ms=placement_ms,
    )


def notes_of(text: str, step: int = 0) -> tuple[PlacedNote, ...]:
    """The notes of a text, the first at ``step``."""
    notes = []
    for word in text.replace("|", " ").split():
        if word.startswith("-"):
            step += round(12 * float(word[2:] or 1))
            continue
        match = _NOTE.fullmatch(word)
        assert match, word
        steps = round(12 * float((match["length"] or ":1")[1:]))
        sounding, velocity = steps, 80
        if "'" in match["signs"]:
            sounding = max(1, steps // 3)
        if "x" in match["signs"]:
            sounding, velocity = 1, 20
        name = match["letter"] + match["accidentals"] + match["octave"]
        notes.append(placed(step, pitch_of(name), sounding, velocity))
        step += steps
    return tuple(notes)


def line_of(
    notes: str | tuple[PlacedNote, ...],
    chart: Chart,
    choruses: int = 1,
    *,
    spans: tuple[FormSpan, ...] | None = None,
    losses: tuple[Loss, ...] = (),
    grid: str = "tempo-map",
) -> PlacedLine:
    """A placed line, in place unless ``spans`` says otherwise."""
    found = notes_of(notes) if isinstance(notes, str) else notes
    end = Form(chart).steps * choruses
    return PlacedLine(
        notes=found,
        grid=grid,
        beats_s=tuple(4.0 + beat * BEAT_S for beat in range(end // 12 + 1)),
        tempo_bpm=120.0,
        swing_ratio=None,
        placement_mean_ms=0.0,
        placement_spread_ms=0.0,
        choruses=choruses,
        spans=(FormSpan(0, end, 0.0, 1.0),) if spans is None else spans,
        losses=losses,
    )


def label(
    notes: str | tuple[PlacedNote, ...], chart: Chart, choruses: int = 1, **more: object
) -> LabelledLine:
    """The labels of a line."""
    from linecheck.label import label_line

    return label_line(line_of(notes, chart, choruses, **more), Form(chart, choruses), chart.key)
