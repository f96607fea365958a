"""How much of the form a take holds: told where bars are missing, and never in the way of a score."""

from __future__ import annotations

import pytest

import linecheck
from linecheck.demo import demo_takes
from linecheck.judge import part_played
from linecheck.music.form import Form
from linecheck.terms import Meter
from tests.label_lines import chart_of, label

BLUES = chart_of("| F7 | Bb7 | F7 | F7 |", "| Bb7 | Bb7 | F7 | F7 |")
F, B = "F2 A2 C3 A2 ", "Bb2 D3 F3 D3 "
EIGHT = F + B + F + F + B + B + F + F


def told(notes, chart=BLUES, choruses=1):
    return part_played(label(notes, chart, choruses), Form(chart, choruses))


def only(bars, of=8):
    return (f"only {bars} of {of} bars of the form were played; every score is of these alone",)


def breaks_off(chorus, bar, of=8):
    return (f"chorus {chorus} breaks off after bar {bar} of {of}; it is scored up to there",)


@pytest.mark.parametrize(
    ("notes", "choruses", "said"),
    [
        (F + B + F, 1, only(3)),
        (F + B + F + F + B + B + F, 1, only(7)),
        (EIGHT, 1, ()),
        (EIGHT + "F2", 1, ()),  # a last hit begins no chorus
        (EIGHT + F, 2, breaks_off(2, 1)),
        (EIGHT * 2 + F + B + "F2 A2", 3, breaks_off(3, 3)),
        (EIGHT + F + B + F + F + B, 2, breaks_off(2, 5)),
        (EIGHT + F + B + F + F + B + B, 2, ()),  # a tune ends on its last tonic
        ("-:16 " + B + B + F + F, 1, only(4)),  # begins in the middle, and ends with the form
        ("-:16 " + B + B + F + F + F + B + F + F, 2, breaks_off(2, 4)),  # once round from there
        (F + "-:24 " + F, 1, ()),  # silence costs elsewhere
        ("-:4 ", 1, ()),
    ],
)  # fmt: skip
def test_what_is_missing_of_the_form_is_told(notes, choruses, said):
    assert told(notes, choruses=choruses) == said


def test_bars_without_a_chord_are_not_missed():
    stop = chart_of("| F7 | Bb7 | F7 | N.C. |", "| N.C. | N.C. | F7 | N.C. |")
    assert told(F + B + F + "-:12 " + F, stop) == ()
    assert told(F + B + F, stop) == only(3)
    assert told(F + B + F + "-:12 " + F + "-:4 " + F + B + F, stop, 2) == ()


def test_bars_of_a_waltz_are_of_three():
    waltz = chart_of("| F7 | Bb7 | F7 | F7 |", meter=Meter(3, 4))
    assert told("F2 A2 C3 Bb2 D3 F3", waltz) == only(2, 4)
    assert told("F2 A2 C3 Bb2 D3 F3 F2 A2 C3 F2 A2 C3", waltz) == ()


def test_it_is_a_warning_of_the_audit_and_changes_no_score(tmp_path):
    line = tmp_path / "begun.abc"
    line.write_text(
        'X:1\nT:Begun\nM:4/4\nL:1/4\nK:F bass\n"F7" F, A, C A, | "Bb7" _B, D F D | "F7" F, A, C A, |]\n'
    )
    chart = tmp_path / "blues.toml"
    chart.write_text(
        'title = "Blues"\nkey = "F"\nform = ["A"]\n[sections]\n'
        'A = "| F7 | Bb7 | F7 | F7 | Bb7 | Bb7 | F7 | F7 |"\n'
    )
    found = linecheck.audit(chart, line)
    assert only(3)[0] in found.warnings
    assert found.judgement.commitment == 100.0


@pytest.mark.parametrize("take", demo_takes(), ids=lambda take: take.name)
def test_the_demo_takes_are_whole(take):
    found = linecheck.audit(take.chart, take.take)
    assert not [text for text in found.warnings if "played;" in text or "breaks off" in text]
