"""Charts for synthetic takes: a small builder of its own, named charts, and random charts.

The builder reads only the plain spellings that stand in ``QUALITIES``. It shares nothing with the
package's own reader of chord symbols, so that truth and judgement do not come from one table.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from linecheck.terms import (
    STEPS_PER_BEAT,
    Bar,
    Chart,
    ChartChord,
    Chord,
    ChordTone,
    Key,
    Meter,
    Section,
    Tension,
)

if TYPE_CHECKING:
    import numpy as np

NATURAL = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
NAMES = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")

# quality: (third, fifth, seventh or sixth or None), available tensions above the root, and the
# scale that a player would run over it (common practice: modes of the major and minor scales).
MAJOR, LYDIAN, MIXOLYDIAN = (0, 2, 4, 5, 7, 9, 11), (0, 2, 4, 6, 7, 9, 11), (0, 2, 4, 5, 7, 9, 10)
DORIAN, LOCRIAN, ALTERED = (0, 2, 3, 5, 7, 9, 10), (0, 1, 3, 5, 6, 8, 10), (0, 1, 3, 4, 6, 8, 10)
MELODIC_MINOR, PHRYGIAN_DOMINANT = (0, 2, 3, 5, 7, 9, 11), (0, 1, 4, 5, 7, 8, 10)
DIMINISHED, WHOLE_TONE = (0, 2, 3, 5, 6, 8, 9, 11), (0, 2, 4, 6, 8, 10)
QUALITIES: dict[str, tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]] = {
    "": ((4, 7), (2, 6, 9), MAJOR),
    "6": ((4, 7, 9), (2, 6, 11), MAJOR),
    "maj7": ((4, 7, 11), (2, 6, 9), MAJOR),
    "maj7#11": ((4, 7, 11), (2, 6, 9), LYDIAN),
    "7": ((4, 7, 10), (1, 2, 3, 6, 8, 9), MIXOLYDIAN),
    "9": ((4, 7, 10), (1, 2, 3, 6, 8, 9), MIXOLYDIAN),
    "13": ((4, 7, 10), (1, 2, 3, 6, 8, 9), MIXOLYDIAN),
    "7b9": ((4, 7, 10), (1, 3, 6, 8, 9), PHRYGIAN_DOMINANT),
    "7#5": ((4, 8, 10), (1, 2, 3, 6), WHOLE_TONE),
    "7alt": ((4, 6, 10), (1, 3), ALTERED),
    "7sus": ((5, 7, 10), (2, 4, 9), MIXOLYDIAN),
    "m": ((3, 7), (2, 5, 9), DORIAN),
    "m6": ((3, 7, 9), (2, 5, 11), MELODIC_MINOR),
    "m7": ((3, 7, 10), (2, 5, 9), DORIAN),
    "mmaj7": ((3, 7, 11), (2, 5, 9), MELODIC_MINOR),
    "m7b5": ((3, 6, 10), (2, 5, 8), LOCRIAN),
    "dim7": ((3, 6, 9), (2, 5, 8, 11), DIMINISHED),
    "aug": ((4, 8), (2, 6), WHOLE_TONE),
}
SYMBOL = re.compile(r"([A-G][b#]?)([^/]*)(?:/([A-G][b#]?))?")
FUNCTIONS = ("third", "fifth", "seventh")


def pitch_class(name: str) -> int:
    return (NATURAL[name[0]] + name.count("#") - name[1:].count("b")) % 12


def chord(symbol: str) -> Chord:
    """A chord from a plain symbol; the degrees are only numbers of half steps."""
    if symbol == "N.C.":
        return Chord(symbol, None, None, "", "", "none", (), (), ())
    match = SYMBOL.fullmatch(symbol)
    assert match, symbol
    root_name, quality, bass_name = match[1], match[2], match[3] or match[1]
    intervals, available, _ = QUALITIES[quality]
    root = pitch_class(root_name)
    tones = [ChordTone(root, "1", "root")]
    for function, interval in zip(FUNCTIONS, intervals, strict=False):
        tones.append(ChordTone((root + interval) % 12, str(interval), function))  # type: ignore[arg-type]
    tensions = tuple(Tension((root + i) % 12, str(i)) for i in available)
    bass = pitch_class(bass_name)
    return Chord(symbol, root, bass, root_name, bass_name, quality, tuple(tones), (), tensions)


def scale(of: Chord) -> tuple[int, ...]:
    """Pitch classes of the scale that a player would run over a chord."""
    root = of.root or 0
    return tuple((root + i) % 12 for i in QUALITIES[of.kind][2]) if of.tones else tuple(range(12))


def bars(text: str, meter: Meter, section: str, first: int) -> list[Bar]:
    """Bars between bar lines; chords share a bar equally, ``/`` holds the chord a beat longer."""
    made: list[Bar] = []
    for cell in text.strip().strip("|").split("|"):
        words = cell.split()
        if words == ["%"]:
            chords = made[-1].chords[-1:]
            chords = (ChartChord(chords[0].chord, 0, meter.beats * STEPS_PER_BEAT),)
        else:
            each = meter.beats * STEPS_PER_BEAT // len(words)
            chords = ()
            for index, word in enumerate(words):
                if word == "/":
                    last = chords[-1]
                    chords = (*chords[:-1], ChartChord(last.chord, last.step, last.steps + each))
                else:
                    chords = (*chords, ChartChord(chord(word), index * each, each))
        made.append(Bar(first + len(made), section, meter, chords, opens_section=not made))
    return made


def chart(
    title: str,
    key: str,
    form: str,
    sections: dict[str, str],
    *,
    beats: int = 4,
    unit: int = 4,
    meters: dict[str, int] | None = None,
    intro: str = "",
    ending: str = "",
) -> Chart:
    """A chart from sections of bar lines; ``form`` is a word of one-letter section names."""
    meter = Meter(beats, unit)
    all_bars: list[Bar] = []
    marks: list[Section] = []
    for name in form:
        own = Meter((meters or {}).get(name, beats), unit)
        part = bars(sections[name], own, name, len(all_bars) + 1)
        marks.append(Section(name, len(all_bars) + 1, len(part)))
        all_bars.extend(part)
    return Chart(
        title=title,
        key=Key(key.rstrip("m"), key.endswith("m")),
        meter=meter,
        tempo=None,
        feel=None,
        form=tuple(form),
        sections=tuple(marks),
        bars=tuple(all_bars),
        intro=tuple(bars(intro, meter, "I", 1)) if intro else (),
        ending=tuple(bars(ending, meter, "T", 1)) if ending else (),
    )


def named_charts() -> list[Chart]:
    """Fifteen invented charts that cover the usual forms, meters and harmonic rhythms."""
    return [
        chart("Tollgate Shuffle", "F", "A", {"A": "F7 | Bb7 | F7 | Cm7 F7 | Bb7 | Bdim7 | F7 | Am7b5 D7b9 | Gm7 | C7 | F7 D7 | Gm7 C7"}),
        chart("Slow Ferry", "C", "A", {"A": "C7 | % | % | % | F7 | % | C7 | % | G7 | F7 | C7 | G7"}),
        chart("Lamp Oil", "Cm", "A", {"A": "Cm7 | Fm7 | Cm7 | C7alt | Fm7 | % | Cm7 | % | Ab7 | G7alt | Cm7 | Dm7b5 G7b9"}),
        chart("Ticket Window", "Bb", "AABA", {"A": "Bb6 G7 | Cm7 F7 | Dm7 G7 | Cm7 F7 | Fm7 Bb7 | Eb7 Edim7 | Bb6/F G7 | Cm7 F7", "B": "D7 | % | G7 | % | C7 | % | F7 | %"}),
        chart("Harbour Lights Out", "Eb", "ABAC", {"A": "Ebmaj7 | % | Bbm7 | Eb7 | Abmaj7 | Abm6 | Ebmaj7 | Cm7", "B": "F7 | % | Fm7 | % | Bb7 | % | Fm7 | Bb7", "C": "Fm7 | Db9 | Gm7 | C7b9 | Fm7 | Bb7 | Eb6 C7 | Fm7 Bb7"}),
        chart("Two Still Rooms", "Dm", "AABA", {"A": "Dm7 | % | % | % | % | % | % | %", "B": "Ebm7 | % | % | % | % | % | % | %"}),
        chart("Paper Windmill", "F", "AB", {"A": "Fmaj7 | Gm7 | Am7 | D7b9 | Gm7 | C7 | Fmaj7 | C7sus", "B": "Cm7 | F7 | Bbmaj7 | Eb7 | Am7 | D7 | Gm7 | C7"}, beats=3),
        chart("Round the Gasworks", "Gm", "AABC", {"A": "Cm7 | F7 | Bbmaj7 | Ebmaj7 | Am7b5 | D7 | Gm6 | %", "B": "Am7b5 | D7 | Gm6 | % | Cm7 | F7 | Bbmaj7 | %", "C": "Am7b5 | D7 | Gm7 C7 | Fm7 Bb7 | Ebmaj7 | D7b9 | Gm6 | %"}),
        chart("Stairwell", "Eb", "AB", {"A": "Ebmaj7 D7 | Gmaj7 Bb7 | Ebmaj7 | Am7 D7 | Gmaj7 Bb7 | Ebmaj7 F#7 | Bmaj7 | Fm7 Bb7", "B": "Ebmaj7 | Am7 D7 | Gmaj7 | C#m7 F#7 | Bmaj7 | Fm7 Bb7 | Ebmaj7 | C#m7 F#7"}),
        chart("Low Bridge", "D", "AB", {"A": "D D/C# | Bm7 D/A | G G/F# | Em7 A7 | D D/C | G/B Gm6/Bb | D/A A7 | D A7", "B": "G | F#m7 B7 | Em7 | A7sus A7 | G | F#m7 B7b9 | Em7 A7 | D"}),
        chart("Market Square", "Ab", "AABA", {"A": "Fm7 | Bbm7 | Eb7 | Abmaj7 | Dbmaj7 | G7 | Cmaj7 | %", "B": "Am7 | D7 | Gmaj7 | % | F#m7b5 | B7b9 | Emaj7 | C7#5"}),
        chart("Five Barrels", "Am", "A", {"A": "Am7 | Bm7b5 E7b9 | Am7 | A7 | Dm7 | G7 | Cmaj7 | Fmaj7 | Bm7b5 | E7b9"}, beats=5),
        chart("Short Straw", "G", "A", {"A": "G6 E7 | Am7 D7 | Bm7 E7 | Am7 D7 | G7 | C7 Cm6 | Bm7 E7 | Am7 D7"}),
        chart("Odd Corner", "C", "ABA", {"A": "Cmaj7 | A7 | Dm7 | G7 | Em7 | A7 | Dm7 G7 | C6", "B": "Fmaj7 | Fm6 | Em7 | Am7"}, meters={"B": 3}),
        chart("Late Tram", "Db", "ABCD", {"A": "Dbmaj7 | Gm7b5 C7b9 | Fm7 | Bb7", "B": "Ebm7 | Ab7 | Dbmaj7 | Abm7 Db7", "C": "Gbmaj7 | Gbm6 | Fm7 | Edim7", "D": "Ebm7 | Ab7sus Ab7 | Db6 Bb7 | Ebm7 Ab7"}, intro="Ebm7 | Ab7 | Ebm7 | Ab7", ending="Ebm7 | Ab7 | Db6 | %"),
    ]  # fmt: skip


def _degree(key: int, interval: int) -> str:
    return NAMES[(key + interval) % 12]


def _phrase(rng: np.random.Generator, key: int, length: int) -> list[str]:
    """``length`` bars of chords in one key, by the usual moves."""

    def d(interval: int, quality: str) -> str:
        return _degree(key, interval) + quality

    one = str(rng.choice(["maj7", "6", "7", "maj7"]))
    moves = [
        [f"{d(2, 'm7')}", f"{d(7, '7')}", f"{d(0, one)}", f"{d(0, one)}"],
        [f"{d(2, 'm7')} {d(7, '7')}", f"{d(0, one)}"],
        [f"{d(0, one)} {d(9, 'm7')}", f"{d(2, 'm7')} {d(7, '7')}"],
        [f"{d(0, one)} {d(9, '7')}", f"{d(2, '7')} {d(7, '7')}"],
        [f"{d(0, '7')}", f"{d(5, '7')}", f"{d(0, '7')}", f"{d(0, '7')}"],
        [f"{d(5, 'maj7')}", f"{d(5, 'm6')}", f"{d(4, 'm7')}", f"{d(9, '7b9')}"],
        [f"{d(11, 'm7b5')} {d(4, '7b9')}", f"{d(9, 'm7')}"],
        [f"{d(0, 'm7')}", f"{d(5, 'm7')}", f"{d(8, 'maj7')}", f"{d(7, '7alt')}"],
        [f"{d(4, '7')}", f"{d(9, '7')}", f"{d(2, '7')}", f"{d(7, '7')}"],
        [f"{d(0, 'm7')}", f"{d(0, 'm7')}", f"{d(0, 'm7')}", f"{d(0, 'm7')}"],
        [f"{d(1, 'maj7')}", f"{d(0, 'maj7')}"],
        [f"{d(0, one)}", f"{d(1, 'dim7')}", f"{d(2, 'm7')}", f"{d(7, '7sus')}"],
        [f"{d(10, '7')}", f"{d(0, one)}"],
        [f"{d(2, 'm7b5')}", f"{d(7, '7b9')}", f"{d(0, 'm6')}", f"{d(0, 'm6')}"],
        [f"{d(0, '')}/{_degree(key, 4)}", f"{d(5, '')}", f"{d(0, '')}/{_degree(key, 7)}", f"{d(7, '7')}"],
    ]  # fmt: skip
    bars_made: list[str] = []
    while len(bars_made) < length:
        bars_made += moves[int(rng.integers(len(moves)))]
    return bars_made[:length]


def random_chart(rng: np.random.Generator) -> Chart:
    """A chart that nobody wrote: usual moves through usual keys in a usual form."""
    key = int(rng.integers(12))
    form = str(rng.choice(["A", "A", "AB", "AABA", "AABA", "ABAC", "ABCD", "AAB"]))
    length = int(rng.choice([4, 8, 8])) if len(form) > 2 else int(rng.choice([8, 8, 12, 16]))
    beats = int(rng.choice([4, 4, 4, 4, 3]))
    sections = {}
    for name in sorted(set(form)):
        own = key if name == "A" else (key + int(rng.choice([0, 3, 4, 5, 7, 8, 10, 0]))) % 12
        half = _phrase(rng, own, length // 2)
        rest = _phrase(rng, own if rng.random() < 0.5 else (own + 5) % 12, length - length // 2)
        sections[name] = " | ".join(half + rest)
    if beats == 3:
        # Two chords do not share three beats: the first one is held for two.
        for name, text in sections.items():
            cells = [c.split() for c in text.split("|")]
            sections[name] = " | ".join(f"{c[0]} / {c[1]}" if len(c) == 2 else c[0] for c in cells)
    return chart("A chart by lot", NAMES[key], form, sections, beats=beats)
