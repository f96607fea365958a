from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linecheck.report.notation import key_fifths, notate, written_pitch
from linecheck.terms import Key, Meter
from tests.report.invented_audits import audit_with, lines


def written(spans, kind="written", meter=None):
    """The first bar as text: value with dots, r for a rest, ~ for a tie on, t for a tuplet."""
    bar = notate(audit_with(spans, kind, meter))[0].bars[0]
    return " ".join(
        ("r" if s.note is None else "")
        + f"{s.value}{'.' * s.dots}"
        + ("t" if s.tuplet is not None else "")
        + ("~" if s.tied_to else "")
        for s in bar.symbols
    )


@pytest.mark.parametrize(
    ("spans", "text"),
    [
        ([], "r1"),
        ([(0, 48)], "1"),
        ([(0, 12), (12, 24), (24, 36), (36, 48)], "4 4 4 4"),
        ([(0, 36)], "2. r4"),
        ([(12, 36)], "r4 2 r4"),
        ([(6, 18)], "r8 4 r8 r2"),
        ([(18, 30)], "r4 r8 8~ 8 r8 r4"),  # the middle of the bar stays visible
        ([(0, 9), (9, 12)], "8. 16 r4 r2"),
        ([(0, 4), (4, 8), (8, 12)], "8t 8t 8t r4 r2"),
        ([(0, 8), (8, 12)], "4t 8t r4 r2"),
        ([(0, 8), (8, 16), (16, 24)], "4t 4t 4t r2"),
        ([(36, 60)], "r2 r4 4~"),
    ],
)
def test_values_of_common_rhythms(spans, text):
    # Common practice of notation; each line was checked by eye.
    assert written(spans) == text


def test_a_played_quarter_is_written_full_length():
    assert written([(0, 7), (12, 20), (24, 28), (36, 47)], "played") == "4 4 4 4"


def test_a_played_short_note_before_a_long_silence_keeps_its_rest():
    assert written([(0, 11), (36, 48)], "played") == "4 r4 r4 4"


def test_compound_meter_shows_the_dotted_beats():
    six = Meter(6, 8)
    assert written([(0, 36), (36, 72)], meter=six) == "4. 4."
    assert written([(24, 48)], meter=six) == "r4 8~ 8 r4"


def test_beams_follow_the_half_bar():
    bar = notate(audit_with([(s, s + 6) for s in range(0, 48, 6)]))[0].bars[0]
    assert [s.beam for s in bar.symbols] == [0, 0, 0, 0, 1, 1, 1, 1]


def beams(eighths, meter):
    """The eighths of the first bar that are beamed together."""
    spans = [(12 * at, 12 * at + 12) for at in eighths]
    bar = notate(audit_with(spans, "written", meter))[0].bars[0]
    groups = {}
    for symbol in bar.symbols:
        if symbol.beam is not None:
            groups.setdefault(symbol.beam, []).append(symbol.step // 12 + 1)
    return list(groups.values())


@pytest.mark.parametrize(
    ("meter", "groups"),
    [
        (Meter(5, 8), [[1, 2, 3], [4, 5]]),
        (Meter(6, 8), [[1, 2, 3], [4, 5, 6]]),
        (Meter(7, 8), [[1, 2], [3, 4], [5, 6, 7]]),
        (Meter(4, 8), [[1, 2], [3, 4]]),
    ],
)
def test_eighths_are_beamed_by_the_groups_of_the_bar(meter, groups):
    assert beams(range(meter.beats), meter) == groups


@pytest.mark.parametrize(
    ("meter", "spans", "text"),
    [
        (Meter(7, 8), [(0, 12), (72, 84)], "8 r8 r4 r4 8"),
        (Meter(7, 8), [(0, 84)], "2~ 4."),
        (Meter(7, 8), [(12, 48), (48, 84)], "r8 8~ 4 4."),
        (Meter(5, 8), [(0, 60)], "4.~ 4"),
        (Meter(5, 8), [(0, 24), (24, 48), (48, 60)], "4 8~ 8 8"),
    ],
)
def test_uneven_bars_show_their_groups(meter, spans, text):
    assert written(spans, meter=meter) == text


def test_an_accidental_holds_to_the_bar_line():
    audit = audit_with([(0, 12), (12, 24), (24, 36), (48, 60)])
    names = ["Gb1", "Gb1", "G1", "Gb1"]
    notes = tuple(replace(n, name=name) for n, name in zip(audit.labels.notes, names, strict=True))
    audit = replace(audit, labels=replace(audit.labels, notes=notes))
    bars = notate(audit)[0].bars
    shown = [s.accidental for bar in bars for s in bar.symbols if s.note is not None]
    assert shown == ["b", None, "n", "b"]


@pytest.mark.parametrize(
    ("tonic", "minor", "fifths"),
    [("C", False, 0), ("Bb", False, -2), ("F#", False, 6), ("D", True, -1), ("Eb", True, -6),
     ("Ab", True, -7), ("G#", False, -4)],
)  # fmt: skip
def test_signatures_of_the_circle_of_fifths(tonic, minor, fifths):
    # Common practice; G# major has no signature of its own and is written as A flat.
    assert key_fifths(Key(tonic, minor)) == fifths


def test_a_bass_part_is_written_an_octave_up():
    assert written_pitch("Bb1") == ("B", "b", 2)
    with pytest.raises(ValueError, match="no pitch name"):
        written_pitch("H1")


@settings(max_examples=60, deadline=None)
@given(
    lines(),
    st.sampled_from(["written", "played"]),
    st.sampled_from(
        [Meter(4, 4), Meter(3, 4), Meter(6, 8), Meter(2, 2), Meter(5, 4), Meter(7, 8), Meter(5, 8)]
    ),
)
def test_every_bar_is_filled_and_every_value_is_as_long_as_it_sounds(spans, kind, meter):
    audit = audit_with(spans, kind, meter if meter.beats % 2 == 0 else None)
    seen = []
    for chorus in notate(audit):
        for bar in chorus.bars:
            at = bar.step
            for symbol in bar.symbols:
                assert symbol.step == at
                at += symbol.steps
                whole = 12 * bar.meter.unit
                many, plain = symbol.tuplet_ratio or (1, 1)
                long = Fraction(whole, symbol.value) * (Fraction(3, 2) if symbol.dots else 1)
                if len(bar.symbols) > 1:
                    assert long * plain / many == symbol.steps
                if symbol.note is not None and not symbol.tied_from:
                    seen.append(symbol.step)
            assert at == bar.step + bar.steps
    assert seen == [s for s, _ in spans]


@settings(max_examples=40, deadline=None)
@given(lines())
def test_ties_join_symbols_of_one_note_only(spans):
    symbols = [s for c in notate(audit_with(spans)) for b in c.bars for s in b.symbols]
    for here, after in pairwise(symbols):
        assert here.tied_to == after.tied_from
        if here.tied_to:
            assert here.note == after.note
