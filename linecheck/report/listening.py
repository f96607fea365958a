"""What a page needs to play the take: when every note, chord and bar sounds.

Definition: a played note sounds at its own onset for its own duration; a chord sounds at its
place by the form clock. Units: seconds of the take, to the millisecond; pitches are MIDI numbers.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linecheck.music.form import beat_quarters
from linecheck.report.figures import a_minute
from linecheck.report.notation import notate
from linecheck.report.score_in_words import bar_id
from linecheck.terms import STEPS_PER_BEAT

if TYPE_CHECKING:
    from collections.abc import Callable

    from linecheck.terms import Audit, Chord

__all__ = ["clock", "listening", "voicing"]

LOWEST, HIGHEST = 53, 67  # chords sound in the octave around middle C, clear of the bass


def listening(audit: Audit) -> dict[str, Any]:
    """Everything the player reads.

    Returns:
        ``notes``: [onset, duration, pitch, loudness 0 to 127, ghost 0 or 1];
        ``bars``: [id, begin, end, chorus, bar or 0]; ``chords``: [begin, end, [pitches]];
        ``beats``: seconds; ``tempo``: quarter notes a minute; ``a_minute``: what to write after it.
    """
    at = clock(audit)
    bars: list[list[Any]] = []
    chords: list[list[Any]] = []
    for chorus in notate(audit):
        for bar in chorus.bars:
            end = bar.step + bar.steps
            bars.append([bar_id(bar), at(bar.step), at(end), bar.chorus, bar.number or 0])
            for chord in bar.chords:
                pitches = voicing(chord.chord)
                begin = bar.step + chord.step
                if pitches:
                    chords.append([at(begin), at(begin + chord.steps), pitches])
    return {
        "notes": [
            [round(n.onset_s, 3), round(n.duration_s, 3), n.pitch, n.velocity, int(n.ghost)]
            for n in audit.labels.notes
        ],
        "bars": bars,
        "chords": chords,
        "beats": [round(s, 3) for s in audit.line.beats_s],
        "tempo": round(audit.line.tempo_bpm, 1),
        "a_minute": a_minute(audit.chart),
    }


def clock(audit: Audit) -> Callable[[int], float]:
    """Seconds of a step by the beats of the take; before and after them at the nearest tempo."""
    beats = audit.line.beats_s
    quarter = 60 / audit.line.tempo_bpm if audit.line.tempo_bpm > 0 else 0.5
    fallback = quarter * beat_quarters(audit.chart.bars[0].meter)
    known = beats if len(beats) > 1 else (beats[0] if beats else 0.0, fallback)
    if len(beats) <= 1:
        known = (known[0], known[0] + fallback)

    def at(step: int) -> float:
        beat = step / STEPS_PER_BEAT
        low = min(max(int(beat // 1), 0), len(known) - 2)
        return round(known[low] + (beat - low) * (known[low + 1] - known[low]), 3)

    return at


def voicing(chord: Chord) -> list[int]:
    """The chord's tones around middle C, the root left out where three others stay."""
    tones = chord.tones[1:] if len(chord.tones) > 3 else chord.tones
    return sorted(LOWEST + (tone.pitch_class - LOWEST) % 12 for tone in tones)
