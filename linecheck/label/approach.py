"""How a note leads to the next one.

approach: a note that is not on a landing and no tone of its own chord, and

a. a step: the next note is a chord tone (of the chord in force at that next note) a half or a
   whole step away in actual pitch (``chromatic`` for a half step, ``scale`` for a whole step;
   ``above``, ``below``); or
b. ``double``: the first of two that walk by half steps in one direction into such a target, the
   second no chord tone; or
c. ``enclosure``: the first of two, each within a whole step of the target and on either side of
   it, the second no chord tone; or
d. ``from the fifth``: the last note before a chord change, a fifth above the new root in any
   octave, and the next note is that root.

A ghost is looked through when the next note is asked for, a repeated note is not. A rest of two
beats or more breaks the link. A target that is an anticipation is judged by its new chord.

Pitches are MIDI numbers; ``above`` means that the note comes down into its target.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

from linecheck.music.pitch import FIFTH
from linecheck.terms import STEPS_PER_BEAT, Approach, ApproachKind, Direction, PlacedNote

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.label.anticipation import Standing

BREAKING_REST = 2 * STEPS_PER_BEAT
HALF_STEP, WHOLE_STEP = 1, 2  # semitones

_Way: TypeAlias = "tuple[ApproachKind, Direction | None]"


def following_notes(notes: Sequence[PlacedNote], ghosts: Sequence[bool]) -> list[int]:
    """The index of the note that each note leads to; −1 where a rest or the end cuts it off."""
    following = [-1] * len(notes)
    after = -1
    for index in range(len(notes) - 1, -1, -1):
        if after >= 0 and notes[after].step - notes[index].end_step < BREAKING_REST:
            following[index] = after
        if not ghosts[index]:
            after = index
    return following


def find_approach(
    index: int,
    notes: Sequence[PlacedNote],
    standings: Sequence[Standing],
    following: Sequence[int],
) -> Approach | None:
    """How note ``index`` approaches what follows; None if it does not.

    That the note itself is no chord tone and not on a landing is for the caller to know.

    Args:
        index: the note asked about.
        notes: the line.
        standings: what each note is judged by.
        following: what ``following_notes`` gave.
    """
    second = following[index]
    if second < 0:
        return None
    pitch, next_pitch = notes[index].pitch, notes[second].pitch
    if _is_chord_tone(standings[second], next_pitch):
        found = _step(pitch, next_pitch) or _from_the_fifth(
            pitch, next_pitch, standings[index], standings[second]
        )
        return None if found is None else Approach(*found, next_pitch, second)
    third = following[second]
    if third < 0 or not _is_chord_tone(standings[third], notes[third].pitch):
        return None
    target = notes[third].pitch
    found = _double(pitch, next_pitch, target) or _enclosure(pitch, next_pitch, target)
    return None if found is None else Approach(*found, target, third)


def _is_chord_tone(standing: Standing, pitch: int) -> bool:
    return standing.facts is not None and standing.facts.tones[pitch % 12] is not None


def _step(pitch: int, target: int) -> _Way | None:
    interval = target - pitch
    if abs(interval) == HALF_STEP:
        return "chromatic", _side(interval)
    return ("scale", _side(interval)) if abs(interval) == WHOLE_STEP else None


def _double(pitch: int, next_pitch: int, target: int) -> _Way | None:
    interval = next_pitch - pitch
    if abs(interval) == HALF_STEP and target - next_pitch == interval:
        return "double", _side(interval)
    return None


def _enclosure(pitch: int, next_pitch: int, target: int) -> _Way | None:
    here, there = pitch - target, next_pitch - target
    if here * there < 0 and abs(here) <= WHOLE_STEP and abs(there) <= WHOLE_STEP:
        return "enclosure", None
    return None


def _from_the_fifth(pitch: int, target: int, here: Standing, there: Standing) -> _Way | None:
    if here.facts is None or there.facts is None or here.facts.identity == there.facts.identity:
        return None
    # A slash bass that is no chord member counts as root, so it is one to lead to as well.
    is_root = there.facts.tones[target % 12] == "root"
    return ("from the fifth", None) if is_root and (pitch - target) % 12 == FIFTH else None


def _side(interval: int) -> Direction:
    return "below" if interval > 0 else "above"
