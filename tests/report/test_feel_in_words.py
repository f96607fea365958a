"""What is said of the tempo: in which unit, and of which choruses."""

from __future__ import annotations

from dataclasses import replace
from itertools import accumulate

import pytest

from linecheck.practice.planning import take_tempo
from linecheck.report.as_musicxml import write_musicxml
from linecheck.report.feel_in_words import chorus_tempos, feel_sentences
from linecheck.report.feel_picture import feel_picture
from linecheck.report.handout import handout
from linecheck.report.listening import clock, listening
from linecheck.terms import Feel, Meter, TimeFeel
from tests.hand_made_audit import hand_made_audit
from tests.report.invented_audits import blues_chart

FOUR = Meter(4, 4)
QUARTER_S = (0.5, 0.4, 0.6)  # of each chorus


def audit_at(quarters_s=QUARTER_S, *, meter=FOUR, missing=0, **line):
    """Twelve bars a chorus, each at a tempo of its own; the last beats are not known."""
    chart = blues_chart(meter=meter)
    beats = 12 * meter.beats
    lengths = [s * 4 / meter.unit for s in quarters_s for _ in range(beats)]
    beats_s = tuple(accumulate(lengths, initial=2.0))[: len(lengths) + 1 - missing]
    audit = hand_made_audit()
    tempo = 60 / quarters_s[0]
    changed = replace(audit.line, beats_s=beats_s, tempo_bpm=tempo, grid="tracked", **line)
    return replace(audit, chart=chart, line=changed)


def test_the_last_chorus_counts_though_nothing_is_struck_after_it():
    assert chorus_tempos(audit_at(missing=1)) == pytest.approx({1: 120, 2: 150, 3: 100})
    assert "by chorus 120 150 100: 16.7 % slower" in feel_sentences(audit_at(missing=1))[0]


def test_a_last_bar_that_is_only_begun_is_enough_and_no_bar_is_too_little():
    assert list(chorus_tempos(audit_at(missing=4))) == [1, 2, 3]
    assert list(chorus_tempos(audit_at(missing=5))) == [1, 2]
    told = feel_sentences(audit_at(missing=5))[0]
    assert "by chorus 120 150 (without chorus 3, not played whole): 25.0 % faster" in told


def test_a_chorus_without_notes_and_one_that_begins_late_have_no_tempo():
    audit = audit_at()
    scores = [replace(s, notes=0) if s.chorus == 2 else s for s in audit.judgement.choruses]
    audit = replace(
        audit,
        judgement=replace(audit.judgement, choruses=tuple(scores)),
        labels=replace(audit.labels, judged_from=48),
    )
    assert list(chorus_tempos(audit)) == [3]


def test_the_picture_names_the_choruses_by_their_numbers():
    audit = audit_at()
    late = replace(audit, labels=replace(audit.labels, judged_from=48))
    picture = feel_picture(late)
    assert ">2</text>" in picture
    assert ">3</text>" in picture
    assert ">1</text>" not in picture


def test_the_figures_of_the_picture_stand_over_its_curve_and_inside_it():
    picture = feel_picture(audit_at((0.43, 0.42) * 20, choruses=40))
    assert picture.count("<circle") == 40
    figures = [part for part in picture.split("<text") if '" font-weight="600">14' in part]
    assert len(figures) == 10
    assert len({part.split('y="')[1].split('"')[0] for part in figures}) == 1
    assert all(12 <= float(part.split('x="')[1].split('"')[0]) <= 348 for part in figures)


def test_a_tempo_counts_quarter_notes_and_says_so_where_a_beat_is_none():
    in_eight = audit_at(meter=Meter(6, 8))
    assert take_tempo(in_eight) == 120
    assert chorus_tempos(in_eight) == pytest.approx({1: 120, 2: 150, 3: 100})
    assert ", 120 quarter notes a minute" in feel_sentences(in_eight)[0]
    text = handout(in_eight)
    assert "120 quarter notes a minute" in text.tune
    assert text.tempo_unit == "quarter notes"
    assert [row[0] for row in text.feel_table] == ["60"] * 3  # of 120 eighths
    assert "tempo of each chorus, quarter notes a minute" in feel_picture(in_eight)
    assert listening(in_eight)["a_minute"] == "quarter notes a minute"


def test_in_quarter_meters_beats_are_what_a_tempo_counts():
    assert ", 120 a minute" in feel_sentences(audit_at())[0]
    assert "120 beats a minute" in handout(audit_at()).tune


def test_a_line_without_known_beats_keeps_the_tempo_in_quarter_notes():
    unknown = audit_at(meter=Meter(6, 8))
    unknown = replace(unknown, line=replace(unknown.line, beats_s=(2.0,)))
    assert "<per-minute>120</per-minute>" in write_musicxml(unknown)
    assert clock(unknown)(12) == 2.25


def drifting(change, **line):
    """The time feel of a take whose tempo ends so much faster than it begins."""
    whole = Feel(120.0, change, 0.0, 9.0, None, None, None, None, None)
    return {"feel": TimeFeel(whole, ()), **line}


@pytest.mark.parametrize(
    ("quarters_s", "missing"), [((0.5,), 0), ((0.5, 0.5), 40), ((0.5, 0.495), 0)]
)
def test_a_drift_is_told_where_choruses_cannot_tell_it(quarters_s, missing):
    choruses = len(quarters_s)
    faster = audit_at(quarters_s, missing=missing, choruses=choruses, **drifting(0.049))
    told = ", 120 a minute, 4.9 % faster at the end than at the beginning"
    assert feel_sentences(faster)[0].endswith(told)
    slower = audit_at(quarters_s, missing=missing, choruses=choruses, **drifting(-0.06))
    assert feel_sentences(slower)[0].endswith(", 6.0 % slower at the end than at the beginning")


@pytest.mark.parametrize("change", [0.02, -0.02, None])
def test_hardly_a_drift_is_none(change):
    one = audit_at((0.5,), choruses=1, **drifting(change))
    assert feel_sentences(one)[0].endswith(", 120 a minute")
    two = audit_at((0.5, 0.495), choruses=2, **drifting(change))
    assert feel_sentences(two)[0].endswith(", steady from chorus to chorus")
