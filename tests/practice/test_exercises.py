"""Exercises: their own audit is perfect, every landing is met, every approach is what it claims."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings

from linecheck.demo import demo_takes
from linecheck.music.chord_tones import is_available_tension, tone_function
from linecheck.music.form import bar_steps
from linecheck.music.keys import signature_scale
from linecheck.practice.building import build_exercises
from linecheck.practice.exercise_kinds import KINDS
from linecheck.practice.fingerboard import HIGHEST, LOWEST
from linecheck.practice.sheets import take_of
from linecheck.practice.spots import loop_of
from linecheck.read import read_chart
from linecheck.steps import audit
from linecheck.terms import Chart, Key, Meter, Section
from tests.practice.drawn_loops import drawn_loops, loop

TEMPO = 120


def exercises(of):
    return {exercise.kind: exercise for exercise in build_exercises(of, TEMPO)[0]}


def names(exercise):
    return [note.name for note in exercise.sheet.labels.notes]


def assert_perfect(exercise):
    sheet = exercise.sheet
    assert sheet.judgement.commitment == pytest.approx(100), exercise.kind
    assert all(landing.met for landing in sheet.labels.landings if landing.counted)
    assert not [loss for loss in sheet.line.losses if loss.certain]
    by_step = {note.step: note for note in sheet.labels.notes}
    for lead in exercise.leads:
        approach = by_step[lead.step].approach
        assert approach is not None, (exercise.kind, lead)
        assert (approach.kind, approach.direction) == (lead.kind, lead.direction)
    assert all(LOWEST <= note.pitch <= HIGHEST for note in exercise.line)


@pytest.mark.parametrize("chart", sorted({take.chart for take in demo_takes()}))
def test_every_pair_of_bars_of_the_demo_charts_gives_perfect_exercises(chart):
    read = read_chart(chart)
    many = len(read.bars)
    seen = set()
    for first in range(many):
        pair = [read.bars[first].chords, read.bars[(first + 1) % many].chords]
        if str(pair) in seen:  # the same chords once more
            continue
        seen.add(str(pair))
        of = loop_of(read, [first, (first + 1) % many])
        made, _ = build_exercises(of, TEMPO)
        assert [e.kind for e in made][:2] == ["landings", "guide-tones"]
        assert [e.kind for e in made][-2:] == ["walking", "eighths"]
        for exercise in made:
            assert_perfect(exercise)


@given(of=drawn_loops())
@settings(max_examples=40, deadline=None)
def test_exercises_over_any_chords_in_any_meter_are_perfect(of):
    made, _ = build_exercises(of, TEMPO)
    for exercise in made:
        assert_perfect(exercise)


@given(of=drawn_loops())
@settings(max_examples=15, deadline=None)
def test_a_line_fills_its_loop_and_strikes_every_landing(of):
    """Every chord is struck where it begins; between two notes nothing is silent but N.C."""
    for exercise in build_exercises(of, TEMPO)[0]:
        struck = {note.step for note in exercise.line}
        silent = [target for target in of.targets if target.chord.root is None]
        assert {t.step for t in of.targets if t.chord.root is not None} <= struck
        assert not {t.step for t in silent} & struck
        sounding = sum(note.steps for note in exercise.line)
        assert sounding == of.steps - sum(target.steps for target in silent)
        assert all(a.step + a.steps <= b.step for a, b in pairwise(exercise.line))


@given(of=drawn_loops())
@settings(max_examples=8, deadline=None)
def test_a_line_played_round_and_round_is_as_perfect_as_its_sheet(of):
    """Two times round the loop, with a last note on the one, over a chart of the loop alone."""
    bars = tuple(
        bar.__class__(nth, "loop", bar.meter, bar.chords, opens_section=nth == 1)
        for nth, bar in enumerate(of.bars, 1)
    )
    chart = Chart(
        "round", of.chart.key, bars[0].meter, 120.0, None, ("loop",),
        (Section("loop", 1, len(bars)),), bars,
    )  # fmt: skip
    for exercise in build_exercises(of, TEMPO)[0]:
        twice = [
            note.__class__(note.step + turn * of.steps, note.steps, note.pitch)
            for turn in range(2)
            for note in exercise.line
        ]
        first = exercise.line[0]
        twice.append(first.__class__(2 * of.steps + first.step, first.steps, first.pitch))
        found = audit(chart, take_of(tuple(twice), chart, 120), first_beat_one="1")
        for score in found.judgement.choruses:  # where it is in the form is asked of the sheet
            assert (score.purpose, score.landings, score.presence) == (1, 1, 1), exercise.kind


# ---- worked by hand --------------------------------------------------------------------------


def test_landings_are_roots_in_the_low_positions():
    made = exercises(loop("Gm7 | C7"))
    assert names(made["landings"]) == ["G1", "C2", "G1"]
    assert [note.steps for note in made["landings"].line] == [48, 48]


def test_a_slash_bass_is_landed_on():
    assert names(exercises(loop("F7/C | Bb7", key="F"))["landings"])[0] == "C2"


def test_guide_tones_go_by_the_least_motion():
    """Dm7 G7 Cmaj7: F stays as the seventh of G7, C falls to B: textbook voice leading."""
    line = names(exercises(loop("Dm7 | G7 | Cmaj7", key="C"))["guide-tones"])
    assert line[:3] in (["F1", "F1", "E1"], ["C2", "B1", "B1"], ["F2", "F2", "E2"])


def test_a_half_step_from_below_on_the_last_beat():
    """Into C from B over Gm7, into the fifth of Gm7 from C#; nothing else fits so low."""
    made = exercises(loop("Gm7 | C7"))["chromatic-below"]
    notes = made.sheet.labels.notes
    assert [(n.place.bar, n.place.beat) for n in notes if n.approach] == [(1, 4.0), (2, 4.0)]
    assert {n.approach.direction for n in notes if n.approach} == {"below"}
    assert [n.steps for n in made.line] == [36, 12, 36, 12]


def test_a_whole_step_is_one_of_the_scale_in_force():
    """Over the half-diminished chord of D minor the scale has B flat: no step from B into A."""
    two = loop("Em7b5 | A7", key="F")
    minor = replace(two, chart=replace(two.chart, key=Key("D", minor=True)))
    assert signature_scale(minor.chart.key) == {2, 4, 5, 7, 9, 10, 0}
    for of in (two, minor):
        for exercise in exercises(of).values():
            for lead in exercise.leads:
                if lead.kind == "scale":
                    pitch = next(n.pitch for n in exercise.line if n.step == lead.step)
                    over = next(t.chord for t in reversed(of.targets) if t.step <= lead.step)
                    in_key = pitch % 12 in signature_scale(of.chart.key)
                    assert in_key or is_available_tension(over, pitch % 12)


@pytest.mark.parametrize("text", ["F13 | Dm7 G7", "Cm7 F7b9 | Bbmaj7", "Dbdim7 | Cm7 F7b9"])
def test_bars_that_were_landed_on_by_roots_alone_are_landed_on_otherwise(text):
    of = loop(text, key="Bb")
    grown, _ = build_exercises(of, 100, beyond_roots=True)
    assert {"landings", "walking", "eighths"} <= {exercise.kind for exercise in grown}
    for exercise in grown:
        struck = {note.step: note.pitch % 12 for note in exercise.line}
        functions = [tone_function(t.chord, struck[t.step]) for t in of.targets]
        assert "root" not in functions, exercise.kind


def test_two_half_steps_take_two_beats():
    made = exercises(loop("Gm7 | C7"))["double"]
    kinds = [note.approach.kind for note in made.sheet.labels.notes if note.approach]
    assert kinds == ["double", "chromatic", "double", "chromatic"]
    assert [n.steps for n in made.line] == [24, 12, 12, 24, 12, 12]


def test_where_chords_change_fast_two_half_steps_are_eighths():
    made = exercises(loop("Gm7 C7 | F7 D7"))["double"]
    assert {n.steps for n in made.line} == {12, 6}


def test_from_the_fifth_is_left_out_where_the_fifth_belongs_to_the_chord_before():
    """Round the fifths G of C7 belongs to Gm7, C of F7 to C7: no approach, a chord tone."""
    made, left_out = build_exercises(loop("D7 | G7 | C7 | F7"), TEMPO)
    fifth = [e for e in made if e.kind == "from-the-fifth"]
    # Only from F7 back to D7 the A is no tone of the chord before ... but F7 has it: its third.
    assert fifth == []
    assert [text for text in left_out if text.startswith("From the fifth:")]


def test_an_approach_into_fewer_than_half_of_the_landings_is_no_exercise():
    made, left_out = build_exercises(loop("Fm7 Bb7 | Eb7"), TEMPO)
    assert "from-the-fifth" not in {e.kind for e in made}
    assert "From the fifth: it leads into only 1 of these 3 landings." in left_out
    assert "from-the-fifth" in exercises(loop("Gm7 | Eb7"))


def test_one_chord_alone_has_no_change_to_lead_from_the_fifth():
    _, left_out = build_exercises(loop("F7 | F7"), TEMPO)
    assert "From the fifth: the chord never changes here." in left_out


def test_a_bar_without_a_chord_is_a_rest_and_is_told():
    made, left_out = build_exercises(loop("F7 | N.C."), TEMPO)
    assert left_out[-1] == "Bar 2 is N.C.: rest there and count."
    for exercise in made:
        assert max(note.step + note.steps for note in exercise.line) == 48


def test_walking_in_six_eight_goes_in_dotted_quarters():
    made = exercises(loop("F7 | Bb7", Meter(6, 8)))
    assert {note.steps for note in made["walking"].line} == {36}
    assert {note.steps for note in made["eighths"].line} == {12}


def test_walking_in_seven_eight_goes_in_twos_and_a_three():
    walking = exercises(loop("F7 | Bb7", Meter(7, 8)))["walking"].line
    assert [note.steps for note in walking] == [24, 24, 36] * 2


def test_in_two_two_quarters_are_half_a_beat():
    made = exercises(loop("F7 | Bb7", Meter(2, 2)))
    assert {note.steps for note in made["walking"].line} == {6}
    assert {note.steps for note in made["eighths"].line} == {3}


@given(of=drawn_loops())
@settings(max_examples=8, deadline=None)
def test_the_eighths_reach_the_landings_of_the_walking_line(of):
    made = exercises(of)
    if not {"walking", "eighths"} <= set(made):  # told among what is left out
        return
    walking = {note.step: note.pitch for note in made["walking"].line}
    eighths = {note.step: note.pitch for note in made["eighths"].line}
    for target in of.targets:
        assert walking.get(target.step) == eighths.get(target.step)


@given(of=drawn_loops())
@settings(max_examples=4, deadline=None)
def test_tempos_rise_to_the_own_one_and_no_note_is_too_fast(of):
    for tempo in (30, 76, 200, 320):
        for exercise in build_exercises(of, tempo)[0]:
            assert list(exercise.tempos) == sorted(set(exercise.tempos))
            assert exercise.tempos[-1] <= tempo
            unit = of.bars[0].meter.unit
            shortest = min(note.steps for note in exercise.line) / 12 * 4 / unit
            assert shortest * 60 / exercise.tempos[-1] >= 0.199


def test_the_kinds_come_in_the_order_in_which_they_are_built_up():
    made, _ = build_exercises(loop("Bdim7 | F7"), TEMPO)
    order = [kind.name for kind in KINDS]
    assert [e.kind for e in made] == [name for name in order if name in {e.kind for e in made}]
    assert [kind.moves for kind in KINDS][-2:] == ["walked", "in eighths"]


def test_the_sheet_closes_on_its_first_note_and_keeps_the_bars_numbers():
    made = exercises(loop("Gm7 | C7 | F7", first=3))["walking"]
    bars = made.sheet.chart.bars
    assert [bar.number for bar in bars] == [3, 1, 2, 3]
    last = made.sheet.labels.notes[-1]
    assert (last.pitch, last.step) == (made.line[0].pitch, 3 * 48)
    assert last.end_step - last.step == bar_steps(bars[-1].meter)
