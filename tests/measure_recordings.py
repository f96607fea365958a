"""Measure whole audits of recordings against the audits of what was played.

    python tests/measure_recordings.py [--font tim] [--program 32] [--conditions "clean;phone in a room"]

Every demo take that is MIDI is rendered, spoiled, and audited as a recording: its beats are found
by the playing. It is held against the audit of the MIDI file itself (with its click where it has
one) and, where that has a click, against the same notes taken as free. A label agrees where pitch,
place, ghost, anticipation, function and approach are the same; a note that is missed disagrees,
and so does one that was added. Losses agree where kind and offset are the same and both ends lie
within a bar.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import soundfile

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import linecheck
from linecheck.demo import demo_takes
from linecheck.faults import InputFault
from tests.synthetic.recordings import CONDITIONS, RATE, SoundNote, render

SAME_S = 0.05
BAR_STEPS = 48
ASKED = ("pitch", "place", "ghost", "anticipation", "function", "approach")


def labels_that_agree(played, heard) -> tuple[int, int, Counter]:
    """Labels that are the same, labels in all, and what the others differ in."""
    differ: Counter = Counter()
    onsets = np.array([note.onset_s for note in heard.labels.notes])
    same, used = 0, set()
    for note in played.labels.notes:
        nearest = int(np.abs(onsets - note.onset_s).argmin())
        if abs(onsets[nearest] - note.onset_s) > SAME_S or nearest in used:
            differ["missed"] += 1
            continue
        used.add(nearest)
        other = heard.labels.notes[nearest]
        wrong = next((a for a in ASKED if told(note, a) != told(other, a)), None)
        if wrong:
            differ[wrong] += 1
        else:
            same += 1
    differ["added"] += len(onsets) - len(used)
    return same, len(played.labels.notes) + differ["added"], +differ


def told(note, what: str):
    value = getattr(note, what)
    return value and (value.kind, value.target) if what == "approach" else value


def same_losses(played, heard) -> bool:
    pairs = [[loss for loss in audit.line.losses if loss.certain] for audit in (played, heard)]
    if len(pairs[0]) != len(pairs[1]):
        return False
    for one, other in zip(*pairs, strict=True):
        ends = (one.recovered_step, other.recovered_step)
        near = ends[0] == ends[1] or (None not in ends and abs(ends[0] - ends[1]) <= BAR_STEPS)
        alike = (one.kind, one.offset_beats) == (other.kind, other.offset_beats)
        if not (alike and near and abs(one.step - other.step) <= BAR_STEPS):
            return False
    return True


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--font", default="tim")
    parser.add_argument("--program", type=int, default=32)
    parser.add_argument("--conditions", default="clean;phone, from 120 Hz;phone in a room")
    parser.add_argument("--each", action="store_true")
    given = parser.parse_args()
    for name in given.conditions.split(";"):
        agree = whole = losses = takes = 0
        away, differ, cpu, seconds = [], Counter(), 0.0, 0.0
        for demo in demo_takes():
            if demo.take.suffix != ".mid":
                continue
            played = linecheck.audit(demo.chart, demo.take)
            line = [
                SoundNote(n.onset_s, n.duration_s, n.pitch, n.velocity) for n in played.take.notes
            ]
            sound = CONDITIONS[name](
                render(line, given.font, given.program), np.random.default_rng(len(line))
            )
            with TemporaryDirectory() as folder:
                path = Path(folder) / "take.wav"
                soundfile.write(path, np.clip(sound, -1, 1), RATE)
                begin = time.process_time()
                takes += 1
                try:
                    heard = linecheck.audit(demo.chart, path)
                except InputFault as fault:
                    print(f"  {demo.name}: {fault.problem}")
                    whole += len(line)
                    continue
                cpu += time.process_time() - begin
            seconds += len(sound) / RATE
            same, of, how = labels_that_agree(played, heard)
            agree, whole, differ = agree + same, whole + of, differ + how
            alike = same_losses(played, heard)
            losses += alike
            away.append(abs(played.judgement.commitment - heard.judgement.commitment))
            if given.each:
                print(f"  {demo.name}: {same / of:.3f} {dict(how)} losses {alike}, {away[-1]:.1f}")
        print(
            f"{given.font} {name:22s} labels {agree / whole:.4f} of {whole} {dict(differ)}; "
            f"losses alike in {losses} of {takes}; commitment off by at most {max(away):.1f}; "
            f"{cpu / seconds:.4f} s/s",
            flush=True,
        )


if __name__ == "__main__":
    main()
