"""The labels against a second, plain reading of the definitions.

``plain_labels`` shares nothing with the package but the chords' own tones and tensions: it asks
every question of every note anew, walks through the chart beat by beat, and is as slow as it is
simple. Lines are random: walking and eighths, pushes, ghosts, rests, N.C. and slash basses.
"""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from linecheck.label import label_line
from linecheck.music.form import Form
from linecheck.terms import Key
from tests.judge.random_lines import RUNS, WALKS, drawn_line, written
from tests.label_lines import chart_of, line_of, placed

SEEDS = range(120)


def chord_at(chart, beat):
    """The chord at a beat (a number, from beat one of chorus 1)."""
    length = sum(bar.meter.beats for bar in chart.bars)
    within = beat % length
    for bar in chart.bars:
        for chord in bar.chords:
            first = chord.step / 12
            if first <= within < first + chord.steps / 12:
                return chord.chord
        within -= bar.meter.beats
    raise AssertionError(beat)


def begins_here(chart, beat):
    """Whether a chord or a bar begins at this very beat."""
    length = sum(bar.meter.beats for bar in chart.bars)
    within = beat % length
    for bar in chart.bars:
        if any(within == chord.step / 12 for chord in bar.chords):
            return True
        within -= bar.meter.beats
    return False


def same_chord(one, other):
    return (one.root, one.bass, one.tones, one.available) == (
        other.root,
        other.bass,
        other.tones,
        other.available,
    )


def is_tone(chord, pitch):
    tones = {tone.pitch_class for tone in chord.tones}
    if chord.bass is not None:
        tones.add(chord.bass)
    return chord.root is not None and pitch % 12 in tones


def tone_name(chord, pitch):
    for tone in chord.tones:
        if tone.pitch_class == pitch % 12:
            return tone.function
    return "root"


class Plain:
    """A line of ``(beat, end, pitch, ghost)`` read by the definitions."""

    def __init__(self, chart, notes):
        self.chart = chart
        self.notes = notes

    def push(self, index):
        """The landing that a note is pushed from: it is on the off-beat before and held over."""
        beat, end, _, _ = self.notes[index]
        for sixths in range(1, 200):
            landing = beat + sixths / 12
            landing = round(landing * 12) / 12
            if not begins_here(self.chart, landing):
                continue
            before = landing - beat
            nearest_eighth_is_the_off_beat = before + 1e-9 >= 0.25 and before < 0.75 - 1e-9
            held = end >= landing + 0.25 - 1e-9
            attacks = [n for n in self.notes[index + 1 :] if n[0] <= landing + 1 / 6 + 1e-9]
            ok = nearest_eighth_is_the_off_beat and held and not attacks
            return landing if ok else None
        return None

    def judged_by(self, index):
        """The chord of a note, and whether it is an anticipation."""
        beat = self.notes[index][0]
        chord = chord_at(self.chart, beat)
        landing = self.push(index)
        if landing is not None:
            new = chord_at(self.chart, landing)
            if new.root is not None and not same_chord(new, chord):
                return new, True
        return chord, False

    def next_of(self, index):
        """The next note that is no ghost, unless a rest of two beats or more comes first."""
        for later in range(index + 1, len(self.notes)):
            if not self.notes[later][3]:
                rest = self.notes[later][0] - self.notes[index][1]
                return later if rest < 2 - 1e-9 else None
        return None

    def is_chord_tone(self, index):
        return is_tone(self.judged_by(index)[0], self.notes[index][2])

    def approach(self, index):  # noqa: PLR0911  one way out a rule
        if begins_here(self.chart, self.notes[index][0]):
            return None
        second = self.next_of(index)
        if second is None:
            return None
        pitch, to = self.notes[index][2], self.notes[second][2]
        if self.is_chord_tone(second):
            if abs(to - pitch) in {1, 2}:
                return (
                    "chromatic" if abs(to - pitch) == 1 else "scale",
                    "below" if to > pitch else "above",
                    second,
                )
            here, there = self.judged_by(index)[0], self.judged_by(second)[0]
            is_root = to % 12 == there.root or (
                to % 12 == there.bass and to % 12 not in {t.pitch_class for t in there.tones}
            )
            if not same_chord(here, there) and is_root and pitch % 12 == (to + 7) % 12:
                return ("from the fifth", None, second)
            return None
        third = self.next_of(second)
        if third is None or not self.is_chord_tone(third):
            return None
        target = self.notes[third][2]
        if (pitch, to) in {(target - 2, target - 1), (target + 2, target + 1)}:
            return ("double", "below" if pitch < target else "above", third)
        below, above = sorted((pitch, to))
        if target - 2 <= below < target < above <= target + 2:
            return ("enclosure", None, third)
        return None

    def label(self, index):
        """Function, approach and anticipation of a note."""
        chord, anticipation = self.judged_by(index)
        pitch, ghost = self.notes[index][2:]
        if ghost:
            return None, None, False
        if chord.root is None:
            return None, None, anticipation
        if is_tone(chord, pitch):
            return tone_name(chord, pitch), None, anticipation
        approach = self.approach(index)
        if approach is not None:
            return "approach", approach, anticipation
        named = {t.pitch_class for t in (*chord.available, *chord.tensions)}
        return ("tension" if pitch % 12 in named else "outside"), None, anticipation

    def is_met(self, landing):
        chord = chord_at(self.chart, landing)
        if chord.root is None:
            return None
        for index, (beat, _end, pitch, ghost) in enumerate(self.notes):
            if beat == landing and not ghost and is_tone(chord, pitch):
                return True
            if not ghost and self.push(index) == landing and is_tone(chord, pitch):
                return True
        # Struck by a sixteenth late, or early and held, where nothing stands on it.
        if any(n[0] == landing for n in self.notes):
            return False
        for beat, end, pitch, ghost in self.notes:
            near = -0.25 <= beat - landing <= 0.25 and end > landing
            if near and not ghost and is_tone(chord, pitch):
                return True
        return False


def with_no_chord(bars, rng):
    """The chart of drawn bars; in some of them the chord falls silent."""
    chart = written(bars)
    if rng.random() < 0.5:
        return chart
    silent = chart_of("N.C.").bars[0].chords[0].chord
    index = rng.randrange(len(chart.bars))
    bar = chart.bars[index]
    quiet = replace(bar, chords=tuple(replace(c, chord=silent) for c in bar.chords))
    return replace(chart, bars=(*chart.bars[:index], quiet, *chart.bars[index + 1 :]))


@pytest.mark.parametrize("seed", SEEDS)
def test_two_readings_agree(seed):
    rng = random.Random(seed)
    bars, line = drawn_line(rng, WALKS if seed % 2 else RUNS, in_place=True)
    chart = with_no_chord(bars, rng)
    labels = label_line(line, Form(chart, line.choruses), Key("F", minor=False))
    plain = Plain(
        chart,
        [
            (note.step / 12, note.end_step / 12, note.pitch, label.ghost)
            for note, label in zip(line.notes, labels.notes, strict=True)
        ],
    )
    for index, note in enumerate(labels.notes):
        approach = note.approach and (
            note.approach.kind,
            note.approach.direction,
            note.approach.target_note,
        )
        assert (note.function, approach, note.anticipation) == plain.label(index), note
        assert note.landing is begins_here(chart, note.step / 12)
    for landing in labels.landings:
        met = plain.is_met(landing.step / 12)
        assert landing.met is bool(met), landing
        if met is None:
            assert not landing.counted


def test_the_random_lines_have_all_kinds_of_notes():
    kinds, functions = set(), set()
    anticipations = 0
    for seed in SEEDS:
        rng = random.Random(seed)
        bars, line = drawn_line(rng, WALKS if seed % 2 else RUNS, in_place=True)
        for note in label_line(
            line, Form(written(bars), line.choruses), Key("F", minor=False)
        ).notes:
            functions.add(note.function)
            kinds.add(note.approach and note.approach.kind)
            anticipations += note.anticipation
    assert kinds == {None, "chromatic", "scale", "double", "enclosure", "from the fifth"}
    assert len(functions) == 8
    assert anticipations > 20


def test_the_plain_reading_reads():
    chart = chart_of("| F7 | Bb7 |")
    line = line_of((placed(0, 41), placed(36, 47), placed(48, 46)), chart)
    plain = Plain(chart, [(n.step / 12, n.end_step / 12, n.pitch, False) for n in line.notes])
    assert plain.label(1) == ("approach", ("chromatic", "above", 2), False)
