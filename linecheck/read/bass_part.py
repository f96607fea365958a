"""Which part of a score is the bass, and in which octave it sounds.

A part is the bass by its name, its instrument (MusicXML 4.0 sound ids; General MIDI
programs), its clef and its register, in that order of weight. Bass parts are written
an octave above their sound (common practice). Where the file itself says so (a transposition,
or a clef with an 8) that holds; where it says nothing, a bass part whose notes stay in the written
range of a double bass, E2 upward, is taken as written so, and the guess is told.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

from linecheck.read.bass_names import BASS_PROGRAMS, names_a_bass
from linecheck.terms import Remark

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.read.fault_place import Where
    from linecheck.read.score import Part

BASS_SOUNDS = ("strings.contrabass", "pluck.bass", "synth.bass")
OTHER_WORDS = frozenset(
    [
        "piano",
        "cello",
        "violoncello",
        "viola",
        "guitar",
        "gitarre",
        "guitare",
        "keys",
        "keyboard",
        "organ",
        "left",
        "hand",
    ]
)
CHOIR = re.compile(
    r"\s*(soprano|canto|cantus|alto|altus|tenore?|quinto)s?\s*\d?\s*$", re.IGNORECASE
)
LOWEST_WRITTEN = 40  # E2, the open E string as it is written
HARDLY = 0.02  # share of notes that may lie below, for a low C or a slip
LOW_REGISTER = 55  # G3: a part whose middle note is below lies low


@dataclass(frozen=True, slots=True)
class Choice:
    """The part, the staff within it, how far it is moved to sound, and why, in words."""

    part: Part
    staff: int | None
    shift: int
    line: Remark
    warnings: tuple[Remark, ...]


def choose_part(parts: Sequence[Part], track: str | None, where: Where) -> Choice:
    """The part to read.

    Args:
        parts: all parts of the score.
        track: a part's number from 1, its name, or a piece of its name; None: look for the bass.
        where: for faults.

    Raises:
        InputFault: no part holds notes, or ``track`` names none (or several).
    """
    playing = [part for part in parts if _pitches(part)]
    if not playing:
        raise where.wrong("it holds no notes")
    if track is not None:
        part, why = _named_part(parts, track, where), "as asked for"
    elif len(playing) == 1:
        part, why = playing[0], "the only one with notes"
    else:
        part, why = _most_like_a_bass(playing)
    staff = _bass_staff(part)
    shift, octave, warning = _octave(part, staff, parts)
    name = f"part {part.number}" + (f" ({part.name})" if part.name else "")
    below = f", staff {staff}" if staff else ""
    line = Remark(f"{name}{below}: {why}; {octave}", names=(part.name,) if part.name else ())
    return Choice(part, staff, shift, line, warning)


def _pitches(part: Part, staff: int | None = None) -> list[int]:
    return [
        note.pitch
        for measure in part.measures
        for note in measure.notes
        if staff is None or note.staff == staff
    ]


def _named_part(parts: Sequence[Part], track: str, where: Where) -> Part:
    called = tuple(part.name for part in parts[:20] if part.name)
    names = ", ".join(f"{part.number} {part.name}".strip() for part in parts[:20])
    wanted = " ".join(track.split()).casefold()
    if wanted.isdecimal():
        found = [part for part in parts if part.number == int(wanted[:6])]
    else:
        found = [part for part in parts if part.name.casefold() == wanted]
        found = found or [part for part in parts if wanted and wanted in part.name.casefold()]
    if len(found) != 1:
        what = "no part" if not found else "more than one part"
        problem = f"{what} is called {track[:40]!r}; its parts are: {names}"
        raise where.wrong(problem, *called)
    if not _pitches(found[0]):
        problem = f"part {found[0].number} holds no notes; its parts are: {names}"
        raise where.wrong(problem, *called)
    return found[0]


# ---- the bass among parts --------------------------------------------------------------------


def _is_named_bass(part: Part) -> bool:
    """Whether its name or its instrument calls it a bass (no bass clarinet, no bass drum)."""
    named = names_a_bass(part.name)
    return named is not False and (bool(named) or _plays_bass(part))


def _plays_bass(part: Part) -> bool:
    return part.sound.startswith(BASS_SOUNDS) or part.program in BASS_PROGRAMS


def _most_like_a_bass(parts: list[Part]) -> tuple[Part, str]:
    def evidence(part: Part) -> list[str]:
        pitches = _pitches(part)
        found = []
        if names_a_bass(part.name):
            found.append("its name")
        if _plays_bass(part):
            found.append("its instrument")
        if any(clef.sign == "F" for clef in part.clefs.values()):
            found.append("its clef")
        if median(pitches) < LOW_REGISTER:
            found.append("its register")
        return found

    weights = {"its name": 8, "its instrument": 6, "its clef": 2, "its register": 1}

    def rank(part: Part) -> tuple[bool, int, float]:
        weight = sum(weights[item] for item in evidence(part))
        return not part.drums, weight, -median(_pitches(part))

    best = max(parts, key=rank)
    why = evidence(best)
    return best, f"the bass by {' and '.join(why)}" if why else "the lowest part"


def _bass_staff(part: Part) -> int | None:
    """The lowest staff in the bass clef, where the part has several with notes."""
    staves = {note.staff for measure in part.measures for note in measure.notes}
    if len(staves) < 2:
        return None
    low = [s for s in staves if s in part.clefs and part.clefs[s].sign == "F"]
    return max(low or staves)


# ---- the octave ------------------------------------------------------------------------------


def _octave(
    part: Part, staff: int | None, parts: Sequence[Part]
) -> tuple[int, str, tuple[Remark, ...]]:
    """Half steps to move, that in words, and a warning where it is a guess."""
    if part.octave_from:
        words = {"transposition": "a transposition in the file", "clef": "a clef with an 8"}
        return 0, f"sounds by {words[part.octave_from]}", ()
    choir = sum(bool(CHOIR.match(other.name)) for other in parts) >= 2
    clef = part.clefs.get(staff or 1)
    if clef and clef.octave:
        return 0, "sounds as its clef with an 8 says", ()
    bass = _is_named_bass(part) and not choir
    unnamed_bass = len(parts) == 1 and bool(clef and clef.sign == "F") and not _is_other(part)
    if not bass and not unnamed_bass:
        return 0, "sounds as written", ()
    pitches = _pitches(part, staff)
    low = sum(pitch < LOWEST_WRITTEN for pitch in pitches)
    if low > HARDLY * len(pitches):
        return 0, "sounds as written, since it goes below the E of a written bass part", ()
    warning = Remark(
        "the file does not say in which octave the part sounds: read as written for the bass, "
        "an octave above its sound"
    )
    return -12, "sounds an octave below what is written (assumed for a bass)", (warning,)


def _is_other(part: Part) -> bool:
    """Whether its name says that it is some other instrument than a bass."""
    words = re.findall(r"[^\W\d_]+", part.name.casefold())
    return names_a_bass(part.name) is False or not OTHER_WORDS.isdisjoint(words)
