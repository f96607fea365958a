"""A score as it is written, whatever format it came from: measures, parts, signs.

``at`` and ``quarters`` are exact quarter notes, ``at`` from the beginning of the measure. Pitches
are MIDI numbers as they sound by what the file says itself; an octave that has to be guessed is
not yet in them (see ``bass_part``). What all parts share (meter, tempo, repeat signs, rehearsal
marks) stands in the ``Frame`` of a measure, because programs write it into one part only.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING, Literal

from linecheck.terms import Remark

if TYPE_CHECKING:
    from linecheck.terms import Chord, Key, Meter

MOST_WARNINGS = 20
MOST_NAME = 3  # signs of a note's name: two sharps or flats


@dataclass(slots=True)
class Flow:
    """The signs of one measure that say what is played next.

    ``closes_repeat`` is how many times in all the repeat is played, 0 where none ends here.
    ``ending`` are the passes of an ending (volta) that begins here. Labels tie signs of one
    kind together ("" where the file gives none); None: no such sign.
    """

    opens_repeat: bool = False
    closes_repeat: int = 0
    repeats_after_jump: bool = False
    ending: tuple[int, ...] = ()
    ending_stops: bool = False
    segno: str | None = None
    coda: str | None = None
    to_coda: str | None = None
    fine: bool = False
    da_capo: bool = False
    dal_segno: str | None = None


@dataclass(slots=True)
class Frame:
    """What all parts share in one measure. ``filled`` is how far its fullest part reaches."""

    number: str
    meter: Meter | None = None
    implicit: bool = False
    filled: Fraction = Fraction(0)
    mark: str | None = None
    tempos: list[tuple[Fraction, float]] = field(default_factory=list)
    double_bar: bool = False
    flow: Flow = field(default_factory=Flow)


@dataclass(slots=True)
class ScoreNote:
    """A note; ``ties_on``: a tie leads on to the next of its pitch; ``ghost``: a muffled one.

    ``spelled`` is its name as it sounds, without an octave: "Db"; None where that has no name of
    up to two sharps or flats. ``fingering`` and ``string`` are its marks (see ``terms.TakeNote``);
    ``element`` is where it stands in MusicXML: its measure, and its number among the ``<note>``
    there, both from 0.
    """

    at: Fraction
    quarters: Fraction
    pitch: int
    velocity: int
    voice: str
    staff: int
    ties_on: bool = False
    ghost: bool = False
    fingering: str | None = None
    string: int | None = None
    spelled: str | None = None
    element: tuple[int, int] | None = None


@dataclass(slots=True)
class Measure:
    """One part's own content of a measure. ``filled`` is how far its notes and rests reach.

    ``repeats_bars`` is n where a sign says to repeat the last n measures.
    """

    notes: list[ScoreNote] = field(default_factory=list)
    chords: list[tuple[Fraction, Chord]] = field(default_factory=list)
    repeats_bars: int = 0
    filled: Fraction = Fraction(0)


@dataclass(slots=True)
class Clef:
    """A clef: its letter, and the octaves that a small 8 or 15 shifts what is read."""

    sign: str
    octave: int = 0


@dataclass(slots=True)
class Part:
    """One part (or voice). ``octave_from`` is the file's own word on the sounding octave."""

    number: int
    name: str
    sound: str = ""
    program: int | None = None
    clefs: dict[int, Clef] = field(default_factory=dict)
    octave_from: Literal["", "transposition", "clef"] = ""
    drums: bool = False
    measures: list[Measure] = field(default_factory=list)
    graces: int = 0
    cues: int = 0


@dataclass(slots=True)
class Score:
    """A whole score; ``frames`` and every part's ``measures`` are of one length.

    ``mode_given`` false: the key's signature stands there and nobody says major or minor.
    ``typed`` true: its bars are typed by hand and not filled up by a program.
    ``order`` are the names of the marks in the order that they are played, where the file has one.
    """

    title: str
    frames: list[Frame]
    parts: list[Part]
    key: Key | None = None
    mode_given: bool = True
    feel: Literal["swing", "straight"] | None = None
    order: list[str] | None = None
    typed: bool = False
    _warnings: dict[Remark, None] = field(default_factory=dict)
    _unnamed: int = 0

    def warn(self, text: str, *names: str) -> None:
        """Note what had to be assumed; the same text is noted once. ``names`` as in ``Remark``."""
        if text in self._warnings or len(self._warnings) < MOST_WARNINGS:
            self._warnings[Remark(text, names=names)] = None
        else:
            self._unnamed += 1

    @property
    def warnings(self) -> tuple[Remark, ...]:
        """What had to be assumed, in the order that it was found."""
        more = (Remark(f"{self._unnamed} more of these"),) if self._unnamed else ()
        return (*self._warnings, *more)
