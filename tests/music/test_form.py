"""The form laid out in steps, against a walk through the chart step by step."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linecheck.music.form import Form, bar_groups, bar_steps, beat_quarters, counted_alike
from linecheck.terms import Bar, Chart, ChartChord, Chord, Key, Meter, Place, Section

METERS = [Meter(4, 4), Meter(3, 4), Meter(5, 4), Meter(2, 2), Meter(6, 8), Meter(12, 8)]
NO_CHORD = Chord("N.C.", None, None, "", "", "none", (), (), ())


def chord(symbol):
    if symbol == "N.C.":
        return NO_CHORD
    return Chord(symbol, 0, 0, symbol, symbol, "major", (), (), ())


def bars_of(rows, section="A"):
    """Bars of ``(meter, symbols)``; the first chord takes all but a beat for each of the rest."""
    bars = []
    for number, (meter, symbols) in enumerate(rows, 1):
        last = meter.beats - len(symbols)
        starts = [0, *(last + i for i in range(1, len(symbols)))]
        ends = [*starts[1:], meter.beats]
        chords = tuple(
            ChartChord(chord(s), 12 * a, 12 * (b - a))
            for s, a, b in zip(symbols, starts, ends, strict=True)
        )
        bars.append(Bar(number, section, meter, chords, number == 1))
    return tuple(bars)


def chart_of(rows, intro=(), ending=()):
    bars = bars_of(rows)
    return Chart(
        title="",
        key=Key("C", minor=False),
        meter=bars[0].meter,
        tempo=None,
        feel=None,
        form=("A",),
        sections=(Section("A", 1, len(bars)),),
        bars=bars,
        intro=bars_of(intro, "I"),
        ending=bars_of(ending, "T"),
    )


FOUR = Meter(4, 4)
BLUES = chart_of([(FOUR, ["F7"]), (FOUR, ["Bb7"]), (FOUR, ["Cm7", "F7"]), (FOUR, ["F7"])])

rows = st.lists(
    st.tuples(
        st.sampled_from(METERS),
        st.lists(st.sampled_from(["C", "F", "G7", "N.C."]), min_size=1, max_size=2),
    ),
    min_size=1,
    max_size=4,
)
charts = st.builds(chart_of, rows, st.just([]) | rows, st.just([]) | rows)


def walked(chart, choruses):
    """Every step of a form in order: (step, bar, place, step in bar, quarters)."""
    quarters = -sum(b.meter.beats * beat_quarters(b.meter) for b in chart.intro)
    step = -sum(bar_steps(b.meter) for b in chart.intro)
    last = choruses + (2 if chart.ending else 1)
    runs = [(0, chart.intro), *((n, chart.bars) for n in range(1, choruses + 1))]
    runs += [(choruses + 1, chart.ending), (last, chart.bars), (last + 1, chart.bars)]
    for chorus, bars in runs:
        for bar in bars:
            for inside in range(bar_steps(bar.meter)):
                yield step, bar, Place(chorus, bar.number, 1 + inside / 12), inside, quarters
                step += 1
                quarters += beat_quarters(bar.meter) / 12


@settings(max_examples=40, deadline=None)
@given(charts, st.integers(1, 3))
def test_every_step_is_where_a_walk_through_the_chart_finds_it(chart, choruses):
    form = Form(chart, choruses)
    landing = None
    steps = list(walked(chart, choruses))
    for step, bar, place, inside, quarters in reversed(steps):
        under = next(c for c in bar.chords if c.step <= inside < c.step + c.steps)
        begins = inside in (0, under.step)
        assert form.bar(step) is bar
        assert form.place(step) == place
        assert form.bar_begins(step) == step - inside
        assert form.chord(step) is under.chord
        assert form.is_landing(step) is begins
        assert form.quarters_of(step) == pytest.approx(quarters, abs=1e-9)
        assert form.beats_of_quarters(quarters) == pytest.approx(step / 12, abs=1e-9)
        if landing is not None:
            assert form.next_landing(step) == landing
        if begins:
            landing = step


def test_choruses_that_never_end():
    form = Form(BLUES)
    assert form.place(1000 * form.steps + 60) == Place(1001, 2, 2.0)
    assert form.beats_of_quarters(16000.5) == 16000.5


def test_before_the_intro_there_is_no_chart():
    form = Form(BLUES, 1)
    assert form.place(-1) == Place(0, None, None)
    assert (form.bar(-1), form.chord(-1)) == (None, None)
    assert (form.bar_begins(-7), form.is_landing(-12)) == (-7, False)
    assert form.next_landing(-30) == 0
    assert form.next_landing(-1) == 0
    assert (form.quarters_of(-18), form.beats_of_quarters(-1.5)) == (-1.5, -1.5)


def test_before_an_intro_beats_are_as_long_as_its_own():
    chart = chart_of([(FOUR, ["C"])], intro=[(Meter(6, 8), ["G7"])])
    form = Form(chart, 1)
    assert form.next_landing(-100) == -72
    assert form.quarters_of(-72) == -3.0
    assert form.quarters_of(-84) == -3.5
    assert form.beats_of_quarters(-3.5) == -7.0
    assert form.beats_of_quarters(-3.0) == -6.0


def test_a_last_hit_stands_on_the_one_of_the_chorus_after():
    assert Form(BLUES, 2).place(2 * 192) == Place(3, 1, 1.0)
    ended = chart_of([(FOUR, ["C"])], ending=[(FOUR, ["F"]), (Meter(3, 4), ["C"])])
    form = Form(ended, 2)
    assert form.place(96) == Place(3, 1, 1.0)
    assert form.bar(96).section == "T"
    assert form.place(96 + 84) == Place(4, 1, 1.0)
    assert form.bar(96 + 84).section == "A"


def test_a_chord_that_goes_on_is_one_chord():
    form = Form(BLUES)
    assert form.landings == (0, 48, 96, 132, 144)


@settings(max_examples=40, deadline=None)
@given(charts)
def test_counted_alike_a_beat_is_as_long_in_every_bar(chart):
    alike = counted_alike(chart)
    plain, counted = Form(chart, 1), Form(alike, 1)
    units = {bar.meter.unit for bar in (*alike.intro, *alike.bars, *alike.ending)}
    assert len(units) == 1
    for step in range(-plain.intro_steps, plain.steps + plain.ending_steps, 3):
        quarters = plain.quarters_of(step)
        there = round(counted.beats_of_quarters(quarters) * 12)
        assert counted.quarters_of(there) == pytest.approx(quarters, abs=1e-9)
        here, same = plain.place(step), counted.place(there)
        assert (same.chorus, same.bar) == (here.chorus, here.bar)
        assert counted.chord(there) is plain.chord(step)
        assert plain.beat_quarters_at(step) == beat_quarters(plain.bar(step).meter)


def test_a_chart_of_one_beat_is_left_as_it_is():
    assert counted_alike(BLUES) is BLUES


@pytest.mark.parametrize(
    ("meter", "beats"),
    [
        (Meter(2, 4), [1]),
        (Meter(3, 4), [1]),
        (Meter(4, 4), [1, 3]),
        (Meter(5, 4), [1, 4]),
        (Meter(7, 4), [1, 3, 5]),
        (Meter(5, 8), [1, 4]),
        (Meter(6, 8), [1, 4]),
        (Meter(7, 8), [1, 3, 5]),
        (Meter(9, 8), [1, 4, 7]),
        (Meter(11, 8), [1, 3, 5, 7, 9]),
        (Meter(1, 4), [1]),
    ],
)
def test_the_groups_of_a_bar(meter, beats):
    """Common practice."""
    assert [1 + step // 12 for step in bar_groups(meter)] == beats
