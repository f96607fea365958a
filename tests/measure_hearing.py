"""Measure what is heard in recordings: notes, octaves, cents, and the time it takes.

    python tests/measure_hearing.py [--fonts tim,csound] [--lines 5] [--seed 900] [--seconds 30]

Lines of ``tests/synthetic/recorded_lines.py`` are rendered through sound fonts (program 32 unless
asked otherwise) and spoiled as ``CONDITIONS`` say. F is mir_eval.transcription's: onsets within
50 ms, pitches within 50 cents, offsets not asked. The true pitch is what was played plus the font's
own deviation (up to half a semitone in "fluid"), which is measured on a long tone of each pitch. Octave errors
are heard notes at a true onset, a whole number of octaves off. The weights were fitted through the
font "fluid" ("general" holds the same samples); "tim" and "csound" were heard by nothing.
"""

from __future__ import annotations

import argparse
import sys
import time
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory

import mir_eval
import numpy as np
import soundfile

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from linecheck.hear.decode import open_recording
from linecheck.hear.listen import hear
from tests.synthetic.recorded_lines import expressive_line, recorded_line
from tests.synthetic.recordings import CONDITIONS, RATE, SoundNote, render


@lru_cache(maxsize=512)
def own_cents(font: str, program: int, pitch: int) -> float:
    """How far a font's tone lies off equal temperament: the peak of its own comb."""
    sound = render([SoundNote(0.1, 1.2, pitch, 90)], font, program)
    part = sound[round(0.16 * RATE) : round(0.8 * RATE)]
    size = 1 << 19
    spectrum = np.abs(np.fft.rfft(part * np.hanning(len(part)), size))
    rough = 440 * 2 ** ((pitch - 69) / 12)
    grid = rough * 2 ** (np.arange(-45, 45.1, 0.25) / 1200)
    numbers = np.arange(1, 7)
    bins = np.rint(grid[:, None] * numbers * size / RATE).astype(int)
    return float(1200 * np.log2(grid[int((spectrum[bins] ** 2).sum(axis=1).argmax())] / rough))


def heard_in(sound, folder: str):
    path = Path(folder) / "take.wav"
    soundfile.write(path, np.clip(sound, -1, 1), RATE, subtype="PCM_16")
    begin = time.process_time()
    with open_recording(path) as source:
        heard = hear(source)
    return heard, time.process_time() - begin


def scores(truth, tones, font: str, program: int):
    """F, precision, recall, share of octave errors, cents errors of all and of long notes."""
    intervals = np.array([[n.onset_s, n.onset_s + max(n.duration_s, 0.02)] for n in truth])
    sounding = [n.pitch + (n.cents + own_cents(font, program, n.pitch)) / 100 for n in truth]
    hertz = 440 * 2 ** ((np.array(sounding) - 69) / 12)
    if not tones:
        return 0.0, 0.0, 0.0, 0, [], [], 0
    est = np.array([[t.onset_s, t.end_s] for t in tones])
    est_hertz = np.array([t.hertz for t in tones])
    args = (intervals, hertz, est, est_hertz)
    p, r, f, _ = mir_eval.transcription.precision_recall_f1_overlap(*args, offset_ratio=None)
    octaves, matched, cents, longs = 0, 0, [], []
    pairs = mir_eval.transcription.match_note_onsets(intervals, est)
    for ref, found in pairs:
        away = 1200 * np.log2(est_hertz[found] / hertz[ref])
        matched += 1
        octaves += abs(away) > 600 and abs(away - 1200 * round(away / 1200)) < 60
        if abs(away) > 50 or not tones[found].settled:
            continue
        cents.append(away)
        if truth[ref].duration_s >= 0.35:
            longs.append(away)
    return f, p, r, octaves, cents, longs, matched


def middle_and_95(errors) -> str:
    if not len(errors):
        return "    -     -"
    size = np.abs(np.array(errors))
    return f"{np.median(size):5.1f} {np.percentile(size, 95):5.1f}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--fonts", default="tim,csound")
    parser.add_argument("--program", type=int, default=32)
    parser.add_argument("--lines", type=int, default=5)
    parser.add_argument("--seed", type=int, default=900)
    parser.add_argument("--seconds", type=float, default=30.0)
    parser.add_argument("--conditions", default="")
    parser.add_argument("--expressive", action="store_true")
    given = parser.parse_args()
    chosen = [c for c in given.conditions.split(";") if c] or [*CONDITIONS]
    print(
        "font    condition           notes    F     P     R   oct%  cents med/95  long med/95  s/s"
    )
    for font in given.fonts.split(","):
        lines = []
        for number in range(given.lines):
            seed = given.seed + number
            line = expressive_line(seed) if given.expressive else recorded_line(seed, given.seconds)
            sound = render(line.played, font, given.program, bends=line.bends)
            lines.append((seed, line, sound))
        for name in chosen:
            rows, cpu, length = [], 0.0, 0.0
            with TemporaryDirectory() as folder:
                for seed, line, sound in lines:
                    spoiled = CONDITIONS[name](sound, np.random.default_rng((seed, 1)))
                    heard, took = heard_in(spoiled, folder)
                    cpu, length = cpu + took, length + len(sound) / RATE
                    rows.append(scores(line.truth, heard.tones, font, given.program))
            notes = sum(len(line.truth) for _, line, _ in lines)
            f, p, r = (np.mean([row[k] for row in rows]) for k in range(3))
            octaves = 100 * sum(row[3] for row in rows) / max(1, sum(row[6] for row in rows))
            cents = [e for row in rows for e in row[4]]
            longs = [e for row in rows for e in row[5]]
            print(
                f"{font:7s} {name:20s}{notes:5d}  {f:.3f} {p:.3f} {r:.3f} {octaves:5.2f}"
                f"   {middle_and_95(cents)}  {middle_and_95(longs)}  {cpu / length:.4f}",
                flush=True,
            )


if __name__ == "__main__":
    main()
