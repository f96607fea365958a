"""Which notes are ghosts.

ghost: muffled, very soft against its neighbours and very short; listed and not judged, and looked
through when the next note is asked for.

Soft is a share of how loud the neighbours speak, short is a share of a beat, so that neither the
level of the recording nor the tempo changes an answer. In a written line a ghost is a sign, a
crossed head, which its reader hands on. Thresholds: common practice of players
(a dead note speaks at about a third of a note and for a sixteenth), from memory.
"""

from __future__ import annotations

from bisect import bisect_right
from typing import TYPE_CHECKING

from linecheck.terms import STEPS_PER_BEAT, PlacedLine, PlacedNote

if TYPE_CHECKING:
    from collections.abc import Sequence

# (no louder than this share of its neighbours, no longer than this share of a beat)
SOFT_AND_SHORT = ((0.4, 0.5), (0.5, 0.4), (0.6, 0.3))
NEIGHBOURS = 8  # on either side
# In a long run of ghosts the neighbours are ghosts too: they speak at least at this share of the
# take's level.
FLOOR = 0.6


def find_ghosts(line: PlacedLine) -> list[bool]:
    """For every note of the line, whether it is a ghost."""
    notes = line.notes
    if line.grid == "written":
        return [bool(note.ghost) for note in notes]
    velocities = [note.velocity for note in notes]
    take = FLOOR * _upper_quartile(velocities)
    soft = SOFT_AND_SHORT[-1][0] * max(velocities, default=0)  # no ghost is louder
    ghosts = [False] * len(notes)
    for index, velocity in enumerate(velocities):
        if velocity <= soft:
            around = velocities[max(0, index - NEIGHBOURS) : index + NEIGHBOURS + 1]
            loud = max(take, _upper_quartile(around))
            ghosts[index] = _is_ghost(notes[index], loud, line.beats_s)
    return ghosts


def _upper_quartile(velocities: Sequence[int]) -> int:
    """How loud the notes among them speak: some ghosts do not lower it."""
    return sorted(velocities)[len(velocities) * 3 // 4] if velocities else 0


def _is_ghost(note: PlacedNote, loud: float, beats_s: Sequence[float]) -> bool:
    softness = note.velocity / loud if loud else 1.0
    length = _length_beats(note, beats_s)
    return any(softness <= soft and length <= short for soft, short in SOFT_AND_SHORT)


def _length_beats(note: PlacedNote, beats_s: Sequence[float]) -> float:
    """Length by the clock, in beats as long as the one it is struck in."""
    if len(beats_s) < 2:
        return (note.end_step - note.step) / STEPS_PER_BEAT
    at = min(max(bisect_right(beats_s, note.onset_s), 1), len(beats_s) - 1)
    beat_s = beats_s[at] - beats_s[at - 1]
    return note.duration_s / beat_s if beat_s > 0 else 0.0
