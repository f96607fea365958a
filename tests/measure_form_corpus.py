"""Measure form losses on lines that nobody generated: parts of music21's corpus.

    python tests/measure_form_corpus.py [--pieces 30]

Four-part chorales (music21's own corpus, public domain): the chart is read off the harmony of all
parts, beat by beat; the line is the bass or the soprano, four choruses of it. A slip is made by
cutting beats out of it or by going back some, for twelve to twenty-four beats. Chords off the
staff are rougher than a chart, and a chorale's bass is no walking line: that is the point.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np
from music21 import corpus

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from linecheck.music.form import Form
from linecheck.place.form_loss import find_form
from linecheck.terms import Bar, Chart, ChartChord, Key, Meter, Section
from tests.measure_form import match
from tests.synthetic.charts import NAMES, QUALITIES, chord
from tests.synthetic.lines import LineNote, monophonic, truth_of

TEMPLATES = ("", "m", "7", "m7", "maj7", "dim7", "m7b5")


def symbol_of(pitch_classes: list[int], bass: int) -> str:
    """The plain chord that shares most with what sounds."""
    best, name = -1.0, "C"
    for root in range(12):
        for quality in TEMPLATES:
            tones = {root, *((root + i) % 12 for i in QUALITIES[quality][0])}
            heard = sum(p in tones for p in pitch_classes)
            score = heard - 0.4 * len(tones - set(pitch_classes)) + 0.3 * (root == bass)
            if score > best:
                best, name = score, NAMES[root] + quality
    return name


def piece(name: str):
    """A chart of one chord a beat, and bass and soprano in steps; None where it will not do."""
    score = corpus.parse(name)
    parts = [p.flatten().notes.stream() for p in score.parts]
    signature = score.recurse().getElementsByClass("TimeSignature")[0]
    if len(parts) != 4 or signature.ratioString not in ("4/4", "3/4"):
        return None
    beats = signature.numerator
    total = int(score.highestTime // beats) * beats
    if not 32 <= total <= 96:
        return None
    symbols = []
    for beat in range(total):
        sounding = [
            (n.pitch.midi)
            for p in parts
            for n in p
            if n.isNote and n.offset < beat + 1 and n.offset + n.quarterLength > beat
        ]
        symbols.append(symbol_of([s % 12 for s in sounding], min(sounding) % 12) if sounding else "N.C.")  # fmt: skip
    bars = tuple(
        Bar(
            b + 1,
            "A",
            Meter(beats, 4),
            tuple(ChartChord(chord(symbols[b * beats + i]), 12 * i, 12) for i in range(beats)),
            opens_section=b == 0,
        )
        for b in range(total // beats)
    )
    chart = Chart(name, Key("C", minor=False), Meter(beats, 4), None, None, ("A",), (Section("A", 1, len(bars)),), bars)  # fmt: skip
    lines = {
        voice: [
            LineNote(
                round(12 * n.offset), round(12 * (n.offset + n.quarterLength)), n.pitch.midi, 80
            )
            for n in part
            if n.isNote and n.offset < total
        ]
        for voice, part in (("bass", parts[-1]), ("soprano", parts[0]))
    }
    return chart, lines


def played(form: Form, line: list[LineNote], course: list[tuple[int, int]], stop: int):
    """The line over and over, at the own places of a course."""
    out = []
    for index, (start, offset) in enumerate(course):
        end = course[index + 1][0] if index + 1 < len(course) else stop
        for chorus in range(-2, stop // form.steps + 2):
            shift = chorus * form.steps - 12 * offset
            out += [
                n._replace(step=n.step + shift, end_step=min(n.end_step + shift, end))
                for n in line
                if start <= n.step + shift < end
            ]
    return monophonic(out)


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("--pieces", type=int, default=30)
    given = options.parse_args()
    rng = np.random.default_rng(1)
    names = [str(p) for p in corpus.getComposer("bach") if "bwv" in str(p)][:400]
    rng.shuffle(names)
    tally = {v: [0, 0, 0, 0, 0, 0] for v in ("bass", "soprano")}
    used = 0
    for name in names:
        made = piece(name)
        if made is None:
            continue
        used += 1
        chart, lines = made
        form = Form(chart, 4)
        for voice, line in lines.items():
            sums = tally[voice]
            clean = played(form, line, [(0, 0)], 4 * form.steps)
            _, losses, _ = find_form(*zip(*clean, strict=True), form)
            sums[0] += sum(x.certain for x in losses)
            sums[1] += 4
            at = int(rng.integers(form.beats, 2 * form.beats))
            offset = int(rng.choice([1, 2, 4, 8])) * int(rng.choice([-1, 1]))
            course = [(0, 0), (12 * at, offset), (12 * (at + int(rng.integers(12, 25))), 0)]
            lost = played(form, line, course, 4 * form.steps)
            _, losses, _ = find_form(*zip(*lost, strict=True), form)
            truth = truth_of(form, course[1:], 4 * form.steps)
            pairs, missed, wrong = match(truth, [x for x in losses if x.certain], 48)
            sums[2] += len(pairs)
            sums[3] += len(pairs) + len(missed)
            sums[4] += len(wrong)
            sums[5] += sum(abs(x.step - t.shown_step) <= 48 for t, x in pairs)
        if used == given.pieces:
            break
    for voice, (false, choruses, right, count, wrong, near) in tally.items():
        print(f"{voice}: {false} false in {choruses} clean choruses; slips {right} of {count} found, {wrong} false, {near} within four beats")  # fmt: skip


if __name__ == "__main__":
    main()
