"""What each note is, against the chord in force at its place: one of seven functions.

The first rule that fits holds:

1. ``root``, ``third``, ``fifth``, ``seventh``: the chord's own tones.
2. ``approach``: see ``approach``; never on a landing.
3. ``tension``: an available one.
4. ``outside``: the rest.

A ghost, a pickup and a note over N.C. have none. By the form clock the chord is the one that the
band plays; in the line's own place it is the one that the line plays.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.label.approach import find_approach

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.label.anticipation import Standing
    from linecheck.terms import Approach, Function, PlacedNote


def note_function(
    index: int,
    notes: Sequence[PlacedNote],
    standings: Sequence[Standing],
    following: Sequence[int],
) -> tuple[Function | None, Approach | None]:
    """The function of note ``index`` and how it approaches, if that is what it does.

    Args:
        index: the note asked about, no ghost.
        notes: the line.
        standings: what each note is judged by.
        following: the note that each note leads to, −1 for none.
    """
    facts, landing, _, _ = standings[index]
    if facts is None or not facts.is_chord:
        return None, None
    pitch_class = notes[index].pitch % 12
    tone = facts.tones[pitch_class]
    if tone is not None:
        return tone, None
    if not landing:
        approach = find_approach(index, notes, standings, following)
        if approach is not None:
            return "approach", approach
    return ("tension" if facts.available[pitch_class] else "outside"), None
