"""What a chord is made of, from whatever notation: the step between reading it and using it.

A reader of chords (symbols, score formats) fills a ``Makeup``; ``make_chord`` turns it into a
``Chord`` with tones, functions and tensions, ``write_symbol`` into a plain chord symbol.
Degrees are spelled against the root; see ``chord_types``.

An extended chord names its figure and what the figure implies (common practice): 9 names 9; 11
names 9 and 11; 13 names 9 and 13, over a minor third also 11, which a major third leaves out.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from linecheck.music.chord_types import ORDER_OF, ChordType, type_of
from linecheck.music.pitch import (
    LETTERS,
    degree_number,
    degree_semitones,
    pitch_class,
)
from linecheck.terms import Chord, ChordTone, Tension

if TYPE_CHECKING:
    from collections.abc import Iterable

NO_CHORD = "none"
# A bass below the chord is spelled as a tension where it is one: 2 → 9, 4 → 11, 6 → 13.
_COMPOUND = {"2": "9", "4": "11", "6": "13"}
_WRITTEN_BY_NAME = ("power", "pedal", "diminished", "augmented")


@dataclass(slots=True)
class Makeup:
    """The degrees of a chord by function. ``omitted`` are those that the symbol takes away."""

    thirds: tuple[str, ...] = ("3",)
    fifths: tuple[str, ...] = ("5",)
    seventh: str | None = None
    tensions: set[str] = field(default_factory=set)
    omitted: set[str] = field(default_factory=set)

    def name_extension(self, figure: int) -> None:
        """Add what the figure 9, 11 or 13 names, unless an altered one stands in its place."""
        if figure >= 9 and not self.tensions & {"b9", "#9"}:
            self.tensions.add("9")
        eleventh = figure == 11 or (figure == 13 and "b3" in self.thirds)
        if eleventh and "#11" not in self.tensions:
            self.tensions.add("11")
        if figure == 13 and "b13" not in self.tensions:
            self.tensions.add("13")

    def drop_omitted_seventh(self) -> None:
        """A sus chord without its seventh is the plain sus chord."""
        if {"2", "4"} & {*self.thirds} and self.seventh in self.omitted:
            self.omitted.discard(self.seventh or "")
            self.seventh = None

    def alters_what_it_omits(self) -> bool:
        """Whether an altered fifth is left out that is not the type's own, as #5 is in aug."""
        row = type_of(self.thirds, self.fifths, self.seventh)
        return bool(self.omitted & {"b5", "#5"}) and self.fifths != row.fifths


def no_chord(symbol: str = "N.C.") -> Chord:
    """A chord of N.C.: no root, no tones."""
    return Chord(symbol, None, None, "", "", NO_CHORD, (), (), ())


def make_chord(symbol: str, root_name: str, makeup: Makeup, bass_name: str | None = None) -> Chord:
    """Build a chord.

    Args:
        symbol: how the chord is shown.
        root_name: the root, spelled ("Bb").
        makeup: what stands over it.
        bass_name: the slash bass, spelled; None: the root.
    """
    root = pitch_class(root_name)
    bass_name = bass_name or root_name
    bass = pitch_class(bass_name)
    row = type_of(makeup.thirds, makeup.fifths, makeup.seventh)
    tones: list[ChordTone] = [ChordTone(root, "1", "root")]
    taken = {root}

    def add(degrees: tuple[str, ...], function: str) -> None:
        for degree in degrees:
            pc = (root + degree_semitones(degree)) % 12
            if degree not in makeup.omitted and pc not in taken:
                taken.add(pc)
                tones.append(ChordTone(pc, degree, function))  # type: ignore[arg-type]

    add(makeup.thirds, "third")
    add(makeup.fifths, "fifth")
    add((makeup.seventh,) if makeup.seventh else (), "seventh")
    named = _tensions(root, makeup.tensions, taken)
    if bass not in taken:
        taken.add(bass)
        tones.append(ChordTone(bass, bass_degree(root_name, bass_name), "root"))
    may_be_used = _available(row, {t.degree for t in named})
    available = _tensions(root, [*may_be_used, *sorted(makeup.omitted)], taken)
    return Chord(symbol, root, bass, root_name, bass_name, row.kind, tuple(tones), named, available)


def _order(degree: str) -> int:
    return ORDER_OF.get(degree, len(ORDER_OF))


def _available(row: ChordType, named: set[str]) -> list[str]:
    """The tensions that the symbol names and the row's; the first for their spelling."""
    gone: set[str] = set()
    if row.dominant:
        gone |= {"9"} if named & {"b9", "#9"} else set()
        gone |= {"13"} if "b13" in named else set()
    return [*named, *(degree for degree in row.available if degree not in gone)]


def _tensions(root: int, degrees: Iterable[str], taken: set[int]) -> tuple[Tension, ...]:
    """Those of ``degrees`` that are no chord tones, each pitch class once, in order."""
    found: dict[int, str] = {}
    for degree in degrees:
        pc = (root + degree_semitones(degree)) % 12
        if pc not in taken:
            found.setdefault(pc, degree)
    in_order = sorted(found.items(), key=lambda item: _order(item[1]))
    return tuple(Tension(pc, degree) for pc, degree in in_order)


def bass_degree(root_name: str, bass_name: str) -> str:
    """A slash bass spelled against the root: ``bass_degree("C", "F#") == "#11"``."""
    steps = (LETTERS.index(bass_name[0]) - LETTERS.index(root_name[0])) % 7
    number = _COMPOUND.get(str(steps + 1), str(steps + 1))
    interval = pitch_class(bass_name) - pitch_class(root_name)
    shift = (interval - degree_semitones(number) + 6) % 12 - 6
    return ("#" * shift if shift > 0 else "b" * -shift) + number


def write_symbol(root_name: str, makeup: Makeup, bass_name: str | None = None) -> str:
    """A plain chord symbol that reads back as the same chord: ``"C13b9/E"``."""
    bass = f"/{bass_name}" if bass_name and bass_name != root_name else ""
    return f"{root_name}{_quality(makeup)}{bass}"


def _quality(makeup: Makeup) -> str:
    row = type_of(makeup.thirds, makeup.fifths, makeup.seventh)
    tones = (makeup.thirds, makeup.fifths, makeup.seventh)
    head, rest = "", set(makeup.tensions)
    parts: list[str] = []
    if (row.thirds, row.fifths, row.seventh) == tones and row.kind in _WRITTEN_BY_NAME:
        head = row.suffix
    elif row.kind == "altered" and rest == {"b9", "#9"} and not makeup.omitted:
        head, rest = row.suffix, set()
    else:
        figure, named = _figure(makeup)
        rest -= named
        sus = "".join(makeup.thirds) if {"2", "4"} & {*makeup.thirds} else ""
        head = f"{_stem(makeup)}{figure}{sus and 'sus'}{sus}"
        own = ("b5",) if makeup.seventh == "bb7" else ("5",)
        parts = [fifth for fifth in makeup.fifths if (fifth,) != own]
        parts += [f"no{n}" for n, tone in ((3, makeup.thirds), (5, makeup.fifths)) if not tone]
    for degree in sorted(rest, key=_order):
        parts.append("maj7" if degree == "7" else degree if degree[0] in "b#" else f"add{degree}")
    parts += [f"no{degree_number(degree)}" for degree in sorted(makeup.omitted)]
    if not parts:
        return head
    plain_head = head in ("", "m")  # an accidental must not meet the root's letter
    if len(parts) == 1 and not (plain_head and parts[0][0] in "b#") and parts[0] != "maj7":
        return head + parts[0]
    return f"{head}({','.join(parts)})"


def _stem(makeup: Makeup) -> str:
    if makeup.seventh == "bb7":
        return "dim"
    minor = "m" if "b3" in makeup.thirds else ""
    if makeup.seventh == "7":
        return "mMaj" if minor else "maj"
    return minor


def _figure(makeup: Makeup) -> tuple[str, set[str]]:
    """The largest figure whose tensions are all there, and those tensions."""
    if makeup.seventh is None:
        return "", set()
    if makeup.seventh == "6":
        plain_ninth = {"b9", "9", "#9"} & makeup.tensions == {"9"}
        return ("69", {"9"}) if plain_ninth else ("6", set())
    for figure in (13, 11, 9):
        plain = Makeup(makeup.thirds)
        plain.name_extension(figure)
        read = Makeup(makeup.thirds, tensions=makeup.tensions - plain.tensions)
        clash = {f"b{figure}", f"#{figure}"} & read.tensions  # no one reads C9b9
        read.name_extension(figure)
        if str(figure) in makeup.tensions and not clash and read.tensions == makeup.tensions:
            return str(figure), plain.tensions & makeup.tensions
    return "7", set()
