"""What a line does over and over: facts that a teacher listens for, with the bars.

They are no faults and touch no score: a figure that comes back may be the idea of a solo. Each is
asked of the walking and of the solo choruses for themselves, and only where there is enough of them
to mean something:

- ``same figure``: bars with the same degrees of their chords and the same ups and downs;
- ``root on one``: the root, struck or pushed, on every beat one that counts;
- ``one side``: approaches by a step that all come from below, or all from above;
- ``one direction``: bars that run straight up, or straight down, all their notes;
- ``unused range``: a part of the bass that a line of many bars never goes to;
- ``same rhythm``: bars of a solo with their notes in the same places.

Ghosts and notes over N.C. are not asked. From when on each is told stands in ``RULES`` with its
reason; the good lines of the demo and basses of a corpus of chorales stay well below
(``tests/judge/test_patterns.py``). Pitches are MIDI numbers as they sound.
"""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from linecheck.terms import Pattern

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from linecheck.terms import LabelledLine, Note, PatternKind, Style

__all__ = ["RULES", "UNUSED", "find_patterns"]


class Rule(NamedTuple):
    """A pattern is told from ``share`` on of at least ``least``, and ``times`` at least."""

    least: int
    times: int
    share: float
    reason: str


RULES: dict[PatternKind, Rule] = {
    "same figure": Rule(
        16,
        6,
        0.2,
        "common practice: of varied lines no figure makes up a sixth, see the demo takes",
    ),
    "root on one": Rule(
        16, 16, 0.97, "common practice: the first rule of walking, and good lines leave it at times"
    ),
    "one side": Rule(12, 12, 0.95, "by lot 12 of 12 from one side come once in two thousand lines"),
    "one direction": Rule(
        16, 10, 0.6, "from memory: in varied lines up to two bars of five run straight one way"
    ),
    "unused range": Rule(
        24, 24, 1.0, "common practice: two choruses of a blues go to every string"
    ),
    "same rhythm": Rule(
        12, 8, 0.5, "from memory: a solo that sings has its commonest rhythm in a third of its bars"
    ),
}
# (style, pitch): what is told where nothing lies below, and above. A1, G2: open strings;
# D3: a fifth up the highest string, where the neck ends and the body begins (common practice). A
# solo is not asked for the lowest string: most never go there.
UNUSED: dict[Style, tuple[tuple[str, int], ...]] = {
    "walking": (("below", 33), ("above", 43)),
    "solo": (("above", 50),),
}
FULL = 3  # notes from which on a bar has a figure and a direction


class _Bars(NamedTuple):
    """The choruses of one style: the notes of each bar, and the moves of its full bars."""

    notes: dict[tuple[int, int], list[Note]]
    moves: dict[tuple[int, int], tuple[int, ...]]


def find_patterns(labels: LabelledLine) -> tuple[Pattern, ...]:
    """The patterns of a labelled line, walking before solo, in the order of ``RULES``."""
    found: list[Pattern] = []
    notes = _notes_by_bar(labels)
    for style in ("walking", "solo"):
        if style in labels.styles:
            of_style = notes[style]
            full = {place: bar for place, bar in of_style.items() if len(bar) >= FULL}
            bars = _Bars(of_style, {place: _moves(bar) for place, bar in full.items()})
            found.extend(_of_style(style, bars, labels))
    return tuple(found)


def _notes_by_bar(labels: LabelledLine) -> dict[Style, dict[tuple[int, int], list[Note]]]:
    """For each style the judged notes of its bars, by chorus and bar."""
    bars: dict[Style, dict[tuple[int, int], list[Note]]] = {"walking": {}, "solo": {}, "mixed": {}}
    now: tuple[int, int | None] = (0, None)
    here: list[Note] = []
    for note in labels.notes:  # in the order of their places, so that a bar is one run
        if note.function is None:
            continue
        place = note.place
        if place.bar != now[1] or place.chorus != now[0]:
            now, here = (place.chorus, place.bar), []
            if 0 < place.chorus <= len(labels.styles) and place.bar is not None:
                of_style = bars[labels.styles[place.chorus - 1]]
                here = of_style.setdefault((place.chorus, place.bar), here)
        here.append(note)
    return bars


def _of_style(style: Style, bars: _Bars, labels: LabelledLine) -> Iterable[Pattern]:
    yield from _figures(style, bars)
    yield from _roots(style, labels)
    yield from _sides(style, bars)
    yield from _directions(style, bars)
    yield from _ranges(style, bars)
    if style == "solo":
        yield from _rhythms(style, bars)


def _told(
    kind: PatternKind, style: Style, what: str, places: Sequence[tuple[int, int]], of: int
) -> Iterable[Pattern]:
    """The pattern where there is enough of it; one place each time that it occurs."""
    rule, times = RULES[kind], len(places)
    if of >= rule.least and times >= rule.times and times >= rule.share * of:
        yield Pattern(kind, style, what, times, of, tuple(dict.fromkeys(places)))


def _moves(notes: Sequence[Note]) -> tuple[int, ...]:
    pitches = [note.pitch for note in notes]
    return tuple((after > pitch) - (after < pitch) for pitch, after in pairwise(pitches))


def _figures(style: Style, bars: _Bars) -> Iterable[Pattern]:
    figures: dict[tuple[tuple[str | None, ...], tuple[int, ...]], list[tuple[int, int]]] = {}
    for place, moves in bars.moves.items():
        key = (tuple([note.degree for note in bars.notes[place]]), moves)
        figures.setdefault(key, []).append(place)
    for (degrees, moves), places in figures.items():
        if len(places) < RULES["same figure"].times:
            continue
        signs = {1: " up to ", -1: " down to ", 0: " and "}
        what = (degrees[0] or "") + "".join(
            signs[move] + (degree or "") for move, degree in zip(moves, degrees[1:], strict=True)
        )
        yield from _told("same figure", style, what, places, len(bars.moves))


def _roots(style: Style, labels: LabelledLine) -> Iterable[Pattern]:
    ones = [
        landing
        for landing in labels.landings
        if landing.counted
        and landing.place.beat == 1
        and labels.styles[landing.place.chorus - 1] == style
    ]
    roots = [x for x in ones if x.function == "root"]
    places = [(x.place.chorus, x.place.bar or 0) for x in roots]
    yield from _told("root on one", style, "the root", places, len(ones))


def _sides(style: Style, bars: _Bars) -> Iterable[Pattern]:
    sides: dict[str, list[tuple[int, int]]] = {"below": [], "above": []}
    for place, notes in bars.notes.items():
        for note in notes:
            if note.approach is not None and note.approach.direction is not None:
                sides[note.approach.direction].append(place)
    of = len(sides["below"]) + len(sides["above"])
    for side, places in sides.items():
        yield from _told("one side", style, side, places, of)


def _directions(style: Style, bars: _Bars) -> Iterable[Pattern]:
    straight: dict[str, list[tuple[int, int]]] = {"up": [], "down": []}
    for place, moves in bars.moves.items():
        if moves[0] and moves.count(moves[0]) == len(moves):
            straight["up" if moves[0] > 0 else "down"].append(place)
    for way, places in straight.items():
        yield from _told("one direction", style, way, places, len(bars.moves))


def _ranges(style: Style, bars: _Bars) -> Iterable[Pattern]:
    of = len(bars.notes)
    if of < RULES["unused range"].least:
        return
    pitches = {note.pitch for notes in bars.notes.values() for note in notes}
    for side, pitch in UNUSED[style]:
        if min(pitches) >= pitch if side == "below" else max(pitches) <= pitch:
            yield Pattern("unused range", style, f"{side} {pitch}", of, of, ())


def _rhythms(style: Style, bars: _Bars) -> Iterable[Pattern]:
    several = {
        place: tuple([note.place.beat for note in notes])
        for place, notes in bars.notes.items()
        if len(notes) > 1
    }
    rule = RULES["same rhythm"]
    for beats, times in Counter(several.values()).items():
        # Of rhythms with their share there are few: only those are worth another walk.
        if times >= rule.times and times >= rule.share * len(several):
            places = [place for place, here in several.items() if here == beats]
            what = " ".join(f"{beat:.4g}" for beat in beats if beat is not None)
            yield from _told("same rhythm", style, what, places, len(several))
