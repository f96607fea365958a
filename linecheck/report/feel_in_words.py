"""Time feel as facts, in sentences: tempo, swing, placement, loudness and length of the notes.

None of them is a fault: laying back is a choice. The spread is one standard deviation.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.music.form import Form
from linecheck.report.figures import a_minute, counted, percent
from linecheck.report.findings_in_words import listed, silent_choruses
from linecheck.terms import STEPS_PER_BEAT

if TYPE_CHECKING:
    from linecheck.terms import Audit

__all__ = ["chorus_tempos", "feel_sentences"]

_GRIDS = {
    "tempo-map": "the beats are the click of the file",
    "tracked": "the beats are found from the playing",
    "written": "the beats are those of the written line",
}
_STEADY = 0.02  # tempo of a chorus within 2 % of the first one is called steady
_DRIFT = 0.03  # a tempo that ends so much faster or slower than it begins is told of any take
_MOVED_MS = 8.0  # choruses whose means are nearer together than that need no list
_MOST_CHORUSES = 12  # of a list
_CENTRED_MS = 3.0  # a mean nearer to the beat than that is called on the beat


def feel_sentences(audit: Audit) -> list[str]:
    """What can be said of the time of the take."""
    line = audit.line
    sentences = [
        f"{_GRIDS[line.grid]}, {line.tempo_bpm:.0f} {a_minute(audit.chart)}{_drift(audit)}"
    ]
    if line.grid == "written":
        return sentences
    mean, spread = line.placement_mean_ms, line.placement_spread_ms
    if abs(mean) < _CENTRED_MS:
        where = "on the beat on average"
    else:
        where = f"{abs(mean):.0f} ms {'after' if mean > 0 else 'before'} the beat on average"
    sentences.append(f"your notes lie {where}, with a spread of {spread:.0f} ms")
    sentences.extend(_by_chorus(audit))
    if line.swing_ratio is not None:
        sentences.append(f"swung eighths: long to short as {line.swing_ratio:.2f} to 1")
    sentences.extend(_touch(audit))
    return sentences


def chorus_tempos(audit: Audit) -> dict[int, float]:
    """Chorus (from 1) → its quarter notes a minute, of all that were played from bar 1 to the last.

    The end of the last one need not be known: it may hold no note to tell it by.
    """
    form = Form(audit.chart)
    beats = audit.line.beats_s
    last_bar = form.beats - audit.chart.bars[-1].meter.beats
    silent = silent_choruses(audit)
    tempos = {}
    for chorus in range(1, audit.line.choruses + 1):
        begin = (chorus - 1) * form.beats
        end = min(begin + form.beats, len(beats) - 1)
        begins_late = audit.labels.judged_from > begin * STEPS_PER_BEAT
        if chorus in silent or begins_late or end < begin + max(1, last_bar):
            continue
        if beats[end] > beats[begin]:
            quarters = form.quarters_of((end - begin) * STEPS_PER_BEAT)
            tempos[chorus] = 60.0 * quarters / (beats[end] - beats[begin])
    return tempos


def _drift(audit: Audit) -> str:
    """How the tempo moves: from chorus to chorus, or from the beginning to the end."""
    if audit.line.grid == "written":
        return ""
    by_chorus = chorus_tempos(audit)
    tempos = list(by_chorus.values())
    if len(tempos) < 2 or max(abs(tempo / tempos[0] - 1) for tempo in tempos) < _STEADY:
        along = audit.line.feel.whole.tempo_change if audit.line.feel else None
        if along is not None and abs(along) >= _DRIFT:
            return f", {_faster(along)} at the end than at the beginning"
        return ", steady from chorus to chorus" if len(tempos) > 1 else ""
    change = tempos[-1] / tempos[0] - 1
    curve = " ".join(f"{tempo:.0f}" for tempo in tempos[:_MOST_CHORUSES]) + (
        " ..." if tempos[_MOST_CHORUSES:] else ""
    )
    left_out = [str(n) for n in range(1, audit.line.choruses + 1) if n not in by_chorus]
    if left_out:
        word = "chorus" if len(left_out) == 1 else "choruses"
        curve += f" (without {word} {listed(left_out)}, not played whole)"
    if abs(change) < _STEADY:
        return f"; by chorus {curve}"
    return f"; by chorus {curve}: {_faster(change)} at the end"


def _faster(change: float) -> str:
    return f"{abs(change) * 100:.1f} % {'faster' if change > 0 else 'slower'}"


def _signed(ms: float) -> str:
    """Nothing has no sign."""
    return f"{ms:+.0f}" if round(ms) else "0"


def _by_chorus(audit: Audit) -> list[str]:
    """Where the placement changes along the take."""
    choruses = audit.line.feel.choruses if audit.line.feel else ()
    means = [feel.placement_mean_ms for feel in choruses if feel.placement_mean_ms is not None]
    if len(means) < 2 or max(means) - min(means) < _MOVED_MS or len(means) > _MOST_CHORUSES:
        return []
    return [f"by chorus {' '.join(_signed(mean) for mean in means)} ms (+ is after the beat)"]


def _touch(audit: Audit) -> list[str]:
    """Length of the notes a beat apart, loudness, and how even they are."""
    if audit.line.feel is None:
        return []
    feel = audit.line.feel.whole
    sentences = []
    if feel.length_share is not None and feel.length_spread is not None:
        sentences.append(
            f"notes a beat apart sound {percent(feel.length_share)} of the way to the next note, "
            f"with a spread of {percent(feel.length_spread)}"
        )
    if feel.loudness is not None and feel.loudness_spread:
        ghosts = sum(note.ghost for note in audit.labels.notes)
        sentences.append(
            f"loudness {feel.loudness:.0f} of 127 on average, with a spread of "
            f"{feel.loudness_spread:.0f}" + (f"; {counted(ghosts, 'ghost note')}" if ghosts else "")
        )
    return sentences
