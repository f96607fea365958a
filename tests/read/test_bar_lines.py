"""Bars between bar lines: sharing, beat marks, repeats, and faults that say where."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linecheck.faults import ChartFault
from linecheck.read.bar_lines import MOST_BARS, read_bars
from linecheck.terms import STEPS_PER_BEAT, Meter

FOUR = Meter(4, 4)


def shown(text, meter=FOUR):
    """Each bar as its chords with their beats: ``"F7@1 Bb7@3"``."""
    return [
        " ".join(f"{c.chord.symbol}@{1 + c.step // STEPS_PER_BEAT}" for c in bar)
        for bar in read_bars(text, meter)
    ]


@pytest.mark.parametrize(
    ("text", "bars"),
    [
        ("| F7 | Bb7 | F7 | Cm7 F7 |", ["F7@1", "Bb7@1", "F7@1", "Cm7@1 F7@3"]),
        ("| Dm7 / G7 / |", ["Dm7@1 G7@3"]),
        ("| Am7b5 / / D7b9 |", ["Am7b5@1 D7b9@4"]),
        ("| C7 / / / |", ["C7@1"]),
        ("| C D E F |", ["C@1 D@2 E@3 F@4"]),
        ("| F7/C | Am7b5 / / D7b9 |", ["F7/C@1", "Am7b5@1 D7b9@4"]),
        ("| Gm7 | % | % | C7 |", ["Gm7@1", "Gm7@1", "Gm7@1", "C7@1"]),
        ("| Gm7 C7 | % |", ["Gm7@1 C7@3", "Gm7@1 C7@3"]),
        ("| N.C. | C7 / N.C. / |", ["N.C.@1", "C7@1 N.C.@3"]),
        ("| C7 | / / F7 / |", ["C7@1", "C7@1 F7@3"]),
        ("| C7 | / / / / |", ["C7@1", "C7@1"]),
        ("| C7 C7 |", ["C7@1"]),  # one chord, written twice
        ("| C7 / C7 F7 |", ["C7@1 F7@4"]),
        # bar lines of every kind
        ("F7 | Bb7", ["F7@1", "Bb7@1"]),
        ("F7", ["F7@1"]),
        ("|F7|Bb7|", ["F7@1", "Bb7@1"]),
        ("|| F7 || Bb7 ||", ["F7@1", "Bb7@1"]),
        ("| F7 | Bb7 |]", ["F7@1", "Bb7@1"]),
        ("|: F7 | Bb7 :|", ["F7@1", "Bb7@1", "F7@1", "Bb7@1"]),
        ("║ F7 │ 𝄎 ║", ["F7@1", "F7@1"]),
        ("||: F7 :||: Bb7 :|| C7 |", ["F7@1", "F7@1", "Bb7@1", "Bb7@1", "C7@1"]),
        ("| F7 | Bb7 :| C7 :|", ["F7@1", "Bb7@1", "F7@1", "Bb7@1", "C7@1", "C7@1"]),
        ("| F7 |: Bb7 | % :|", ["F7@1", "Bb7@1", "Bb7@1", "Bb7@1", "Bb7@1"]),
        ("| C:maj7 |: C:7 :|", ["C:maj7@1", "C:7@1", "C:7@1"]),
        # line breaks
        ("\n| F7 |\n\n| Bb7 |\n", ["F7@1", "Bb7@1"]),
        ("| F7 |\n Bb7 |", ["F7@1", "Bb7@1"]),
        ("| F7\n| Bb7", ["F7@1", "Bb7@1"]),
        ("F7 | Cm7 F7\nBb7 | C7", ["F7@1", "Cm7@1 F7@3", "Bb7@1", "C7@1"]),
        ("|: F7 :|\n|: Bb7 :|", ["F7@1", "F7@1", "Bb7@1", "Bb7@1"]),
        # blanks before and in brackets
        ("| Gm7 C7 (b9, b13) |", ["Gm7@1 C7(b9, b13)@3"]),
        ("| C7(b9 b13) |", ["C7(b9 b13)@1"]),
        ("|\tF7\t|\tC6/9/G\t|", ["F7@1", "C6/9/G@1"]),
    ],
)
def test_bars(text, bars):
    assert shown(text) == bars


@pytest.mark.parametrize(
    ("meter", "text", "bars"),
    [
        (Meter(3, 4), "| Gm7 | C7 | F6 | % |", ["Gm7@1", "C7@1", "F6@1", "F6@1"]),
        (Meter(3, 4), "| Gm7 / C7 | F Gm A |", ["Gm7@1 C7@3", "F@1 Gm@2 A@3"]),
        (Meter(6, 8), "| Dm G7 | A B C |", ["Dm@1 G7@4", "A@1 B@3 C@5"]),
        (Meter(5, 4), "| Dm / / G7 / | C |", ["Dm@1 G7@4", "C@1"]),
        (Meter(2, 2), "| Dm G7 | C |", ["Dm@1 G7@2", "C@1"]),
        (Meter(1, 4), "| Dm | G7 |", ["Dm@1", "G7@1"]),
    ],
)
def test_other_meters(meter, text, bars):
    assert shown(text, meter) == bars


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("| F7 | Dm7 G7 C7 |", "bar 2: 3 chords do not share 4 beats equally; say where each begins with beat marks, one entry a beat, such as | Dm7 / G7 C7 |"),
        ("| A B C D E |", "bar 1: 5 chords in 4 beats; a beat has one chord at most, and none is left for 'E'"),
        ("| Dm7 / G7 |", "bar 1: 3 entries in 4 beats; a bar with beat marks has exactly one entry a beat, 4 in all"),
        ("| / / / / |", "bar 1, beat 1: a slash goes on with the chord before it, and there is none"),
        ("| C7 | | F7 |", "bar 2: the bar is empty; expected chords, % or N.C."),
        ("| % |", "bar 1: % repeats the bar before it, and this is the first of the section"),
        ("| C7 | % F7 |", "bar 2: % stands with other entries; it repeats a whole bar alone"),
        ("| C7 | F7 Q7 |", "bar 2, beat 3: 'Q7': a chord symbol begins with its root, A to G, not with 'Q'"),
        ("| C7 / H7 / |", "bar 1, beat 3: 'H7': H is B in German"),
        ("| C7 | Cmaj77 |", "bar 2, beat 1: 'Cmaj77': cannot read '7' after 'Cmaj7'; nearest reading 'Cmaj7'"),
        ("| C maj7 |", "bar 1: 'maj7' stands apart from 'C', the chord that it seems to belong to; nearest reading 'Cmaj7'"),
        ("| F7 | C 7 |", "bar 2: '7' stands apart from 'C', the chord that it seems to belong to; nearest reading 'C7'"),
        ("| C m7 F7 |", "bar 1: 'm7' stands apart from 'C', the chord that it seems to belong to; nearest reading 'Cm7'"),
        ("| C7 // F7 |", "bar 1: '//' is no chord; a beat mark is a slash alone"),
        ("| C7 /// |", "bar 1: '///' is no chord; a beat mark is a slash alone"),
        ("| C7 - F7 - |", "bar 1, beat 2: '-': a chord symbol begins with its root, A to G, not with '-'; a beat mark is a slash alone"),
        ("| C7(b9 |", "bar 1, beat 1: 'C7(b9' has a bracket that is not closed; nearest reading 'C7(b9)'"),
        ("| G7 (D7) |", "bar 1, beat 1: 'G7(D7)': cannot read 'D7)' after 'G7('"),
        ("| C7 . F7 . |", "bar 1, beat 2: '.': a chord symbol begins with its root, A to G, not with '.'; a beat mark is a slash alone"),
        ("| C7 | 1. F7 |", "bar 2: '1.' looks like an ending; write the bars out instead"),
        ("|: C7 | F7 |", "bar 2: the repeat sign '|:' is never closed by ':|'"),
        ("|: C7 |: F7 :|", "bar 1: the repeat sign '|:' comes before the last one was closed"),
        (":| C7 |", "bar 1: the repeat sign ':|' has no bars to repeat"),
        ("", "has no bars; expected chords between bar lines, such as | F7 | Bb7 |"),
        (" \n ", "has no bars"),
        ("|||", "has no bars"),
        ("| Dm7\nG7 |", "the line 'G7 |' follows a line break within a bar; put a bar line at the end of the line before it"),
    ],
)  # fmt: skip
def test_faults_say_where(text, message):
    with pytest.raises(ChartFault) as caught:
        read_bars(text, FOUR)
    assert str(caught.value).startswith(message)


def test_too_many_bars_are_refused():
    assert len(read_bars("| C " * MOST_BARS + "|", FOUR)) == MOST_BARS
    with pytest.raises(ChartFault, match=f"has more than {MOST_BARS} bars"):
        read_bars("| C " * (MOST_BARS + 1) + "|", FOUR)
    with pytest.raises(ChartFault, match=f"has more than {MOST_BARS} bars"):
        read_bars("|: " + "C | " * (MOST_BARS // 2) + "C :|", FOUR)


@pytest.mark.parametrize("text", [":" * 200_000, "(" * 200_000, "Q" + " " * 200_000, "|" * 200_000])
def test_hostile_text_is_refused_in_no_time(text):
    with pytest.raises(ChartFault, match=r"longer than|has no bars|begins with|chords in 4 beats"):
        read_bars(text, FOUR)


PIECES = ["|", "||", "|:", ":|", "/", "%", "N.C.", "C7", "F#m7b5/E", "Q", "\n", " ", "(", ")", "1."]


@given(
    st.lists(st.sampled_from(PIECES), max_size=25).map(" ".join)
    | st.text("|:/%CF7 \n()", max_size=30),
    st.integers(1, 7),
)
def test_every_step_of_a_bar_is_under_one_chord_or_the_text_is_refused(text, beats):
    try:
        bars = read_bars(text, Meter(beats, 4))
    except ChartFault:
        return
    assert bars
    for chords in bars:
        at = 0
        for chart_chord in chords:
            assert chart_chord.step == at
            assert chart_chord.steps > 0
            assert chart_chord.steps % STEPS_PER_BEAT == 0
            at += chart_chord.steps
        assert at == beats * STEPS_PER_BEAT
