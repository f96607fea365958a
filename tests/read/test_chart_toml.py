"""Charts in TOML: what is read, what is refused, and what the refusal says."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linecheck.faults import ChartFault
from linecheck.read import read_chart
from linecheck.read.chart_toml import KEYS, MOST_BARS, parse_chart_toml
from linecheck.terms import Chart, Key, Meter, Section

# The example of the chart format, sections I and T filled in.
EXAMPLE = '''
title = "Tollgate Shuffle"      # required
key = "F"                       # tonic, optional minor: "Dm"; spelling of reports follows it
meter = "4/4"                   # default of every section
tempo = 132                     # quarter notes a minute, optional: a hint for takes without a click
feel = "swing"                  # "swing" or "straight", optional
form = ["A", "A", "B", "A"]     # order of the sections in one chorus
intro = ["I"]                   # played once before the first chorus, optional
ending = ["T"]                  # played once after the last chorus, optional

[sections]
A = """
| F7         | Bb7        | F7          | Cm7 F7     |
| Bb7        | Bdim7      | F7/C        | Am7b5 / / D7b9 |
"""
B = { meter = "3/4", bars = "| Gm7 | C7 | F6 | % |" }   # a section with a meter of its own
I = "| C7sus4 | C7(b9,b13) |"
T = "| Gm7 / C7 / | F6/9 | N.C. |"
'''


def read(text):
    return parse_chart_toml(text, "tune.toml")


def test_the_example():
    chart = read(EXAMPLE)
    assert (chart.title, chart.key, chart.meter) == (
        "Tollgate Shuffle",
        Key("F", minor=False),
        Meter(4, 4),
    )
    assert (chart.tempo, chart.feel, chart.source) == (132.0, "swing", "tune.toml")
    assert chart.form == ("A", "A", "B", "A")
    assert chart.sections == (
        Section("A", 1, 8), Section("A", 9, 8), Section("B", 17, 4), Section("A", 21, 8)
    )  # fmt: skip
    assert [bar.number for bar in chart.bars] == list(range(1, 29))
    assert [bar.number for bar in chart.bars if bar.opens_section] == [1, 9, 17, 21]
    assert {bar.meter for bar in chart.bars[16:20]} == {Meter(3, 4)}
    assert {bar.section for bar in chart.bars[16:20]} == {"B"}
    assert [(c.chord.symbol, c.step, c.steps) for c in chart.bars[7].chords] == [
        ("Am7b5", 0, 36), ("D7b9", 36, 12)
    ]  # fmt: skip
    assert [(c.chord.symbol, c.step, c.steps) for c in chart.bars[19].chords] == [("F6", 0, 36)]
    assert [b.chords[0].chord.symbol for b in chart.intro] == ["C7sus4", "C7(b9,b13)"]
    assert [(b.number, b.chords[0].chord.symbol) for b in chart.ending] == [
        (1, "Gm7"), (2, "F6/9"), (3, "N.C.")
    ]  # fmt: skip
    assert chart.warnings == ()


def test_a_file_is_read_by_its_suffix(tmp_path):
    file = tmp_path / "tune.TOML"
    file.write_text(EXAMPLE, encoding="utf-8")
    chart = read_chart(file)
    assert chart.title == "Tollgate Shuffle"
    assert chart.source == str(file)


def test_windows_line_ends_and_a_byte_order_mark(tmp_path):
    file = tmp_path / "tune.toml"
    file.write_bytes(b"\xef\xbb\xbf" + EXAMPLE.replace("\n", "\r\n").encode())
    assert read_chart(file).bars == read(EXAMPLE).bars


def test_what_may_be_left_out():
    chart = read('title = "Small"\n[sections]\nA = "| Dm7 | G7 |"')
    assert (chart.form, chart.meter, chart.tempo, chart.feel) == (("A",), Meter(4, 4), None, None)
    assert (chart.intro, chart.ending) == ((), ())
    assert chart.key == Key("D", minor=True)
    assert chart.warnings == ("the chart names no key; taken as Dm",)


def test_a_straight_feel_and_a_tempo_with_a_fraction():
    chart = read(HEAD + 'feel = "straight"\ntempo = 92.5\n' + SECTIONS)
    assert (chart.feel, chart.tempo) == ("straight", 92.5)


def test_a_title_is_one_line():
    assert read(HEAD.replace('"Small"', '"Small \\n Hours "') + SECTIONS).title == "Small Hours"


def test_a_chart_of_no_chords_and_no_key_is_spelled_as_in_c():
    chart = read('title = "Silent"\n[sections]\nA = "| N.C. |"')
    assert chart.key == Key("C", minor=False)


def test_a_section_that_is_not_used_is_a_warning():
    chart = read(EXAMPLE.replace('intro = ["I"]', ""))
    assert chart.warnings == ("section I is defined and not used in form, intro or ending",)


HEAD = 'title = "Small"\nkey = "F"\nform = ["A"]\n'
SECTIONS = '[sections]\nA = "| F7 |"\n'


@pytest.mark.parametrize(
    ("text", "message"),
    [
        # TOML itself
        ('title = "x', 'tune.toml, line 1: the text "x is not closed; its quotation mark is missing at the end'),
        ("title = \n", "tune.toml, line 1: is not valid TOML: nothing stands after title ="),
        ("title: x\n", "tune.toml, line 1: is not valid TOML: expected '=' after a key"),
        (HEAD + "form = []\n", "tune.toml, line 4: form stands twice; give each name once"),
        ("title = Wet Socks\n", 'tune.toml, line 1: a text needs straight quotation marks: title = "Wet Socks"'),
        (HEAD + "meter = 3/4\n", 'tune.toml, line 4: a text needs straight quotation marks: meter = "3/4"'),
        ('title = "x"\nform = ["A", B]\n', 'tune.toml, line 2: a text needs straight quotation marks: form = ["…"]'),
        ("title = “Wet Socks”\n", 'tune.toml, line 1: a text needs straight quotation marks ("), and these are curly'),
        ('title = "Wet Socks”\nkey = "F"\n', "tune.toml, line 1: a text needs straight quotation marks"),
        (HEAD + "tempo = 132 bpm\n", "tune.toml, line 4: tempo is a number without quotation marks or words, such as tempo = 132"),
        (HEAD + "[sections]\nA = '| C |\n| F |'", "tune.toml, line 5: bars over several lines need three quotation marks"),
        (HEAD + '[sections]\nA = "\n| C |\n| F |\n"', "tune.toml, line 5: bars over several lines need three quotation marks"),
        (HEAD + "[sections]\nA =\n| C |\n", "tune.toml, line 5: bars over several lines need three quotation marks"),
        (HEAD + '[sections]\nA = ""\n| C |\n""', "tune.toml, line 6: bars stand outside of quotation marks"),
        (HEAD + '[sections]\nA = "| C |\nB = "| F |"', 'tune.toml, line 5: the text "| C | is not closed'),
        (HEAD + '[sections]\nA = """\n| C |\n', "tune.toml, line 5: the three quotation marks are opened here and never closed"),
        ("a = " + "[" * 50_000, "tune.toml: is nested too deeply for a chart"),
        ("a = " + "9" * 5000, "tune.toml, line 1: a number of 5000 figures; nothing is so large"),
        # keys
        ('titel = "x"', "tune.toml: unknown key 'titel'; a chart has title, key, meter, tempo, feel, form, intro, ending, sections; did you mean 'title'?"),
        ("composer = 3", "tune.toml: unknown key 'composer'; a chart has title, key, meter,"),
        (HEAD + '[sections]\nA = { bar = "| C |" }', "tune.toml, section A: unknown key 'bar'; a section has meter, bars; did you mean 'bars'?"),
        (HEAD + SECTIONS + "tempo = 120", "tune.toml: tempo stands below [sections] and is read as a section; write it above [sections]"),
        (HEAD + SECTIONS + 'feel = "swing"', "tune.toml: feel stands below [sections]"),
        # values
        (SECTIONS, "tune.toml: title is missing; expected title = "),
        ('title = " "\n' + SECTIONS, "tune.toml: title is missing"),
        ("title = 3\n" + SECTIONS, "tune.toml: title is 3; expected text in quotation marks"),
        ('title = "x"\nkey = "H"\n' + SECTIONS, "tune.toml: 'H' is no key; expected a tonic such as 'Bb', or 'Dm' for minor; nearest reading 'B'"),
        (HEAD + 'meter = "4"\n' + SECTIONS, "tune.toml: meter is '4'; expected beats and their note, such as '4/4'"),
        (HEAD + 'meter = "4/3"\n' + SECTIONS, "tune.toml: meter is '4/3'"),
        (HEAD + 'meter = "0/4"\n' + SECTIONS, "tune.toml: meter is '0/4'"),
        (HEAD + "meter = 4\n" + SECTIONS, "tune.toml: meter is 4; expected text in quotation marks"),
        (HEAD + "tempo = 0\n" + SECTIONS, "tune.toml: tempo is 0; expected a number of quarter notes a minute, 20 to 500"),
        (HEAD + "tempo = 1e9\n" + SECTIONS, "tune.toml: tempo is 1000000000.0; expected"),
        (HEAD + "tempo = nan\n" + SECTIONS, "tune.toml: tempo is nan; expected"),
        (HEAD + "tempo = true\n" + SECTIONS, "tune.toml: tempo is true; expected"),
        (HEAD + 'tempo = "120"\n' + SECTIONS, "tune.toml: tempo is '120'; expected"),
        (HEAD + 'feel = "Swing"\n' + SECTIONS, "tune.toml: feel is 'Swing'; expected 'swing' or 'straight'"),
        (HEAD + "feel = 1979-05-27\n" + SECTIONS, "tune.toml: feel is 1979-05-27; expected 'swing' or 'straight'"),
        # form and sections
        (HEAD, "tune.toml: sections are missing; expected [sections] and below it A = "),
        (HEAD + "sections = 3", "tune.toml: sections is 3; expected a table such as [sections]"),
        (HEAD + "[sections]", "tune.toml: sections is empty; expected a table"),
        ('title = "x"\nform = "AABA"\n' + SECTIONS, 'tune.toml: form is \'AABA\'; expected a list of section names, such as form = ["A", "B"]'),
        ('title = "x"\nform = [1]\n' + SECTIONS, "tune.toml: form holds 1; expected a list of section names"),
        ('title = "x"\nform = []\n' + SECTIONS, "tune.toml: form is empty; expected a list of section names"),
        ('title = "x"\n' + SECTIONS + 'B = "| C |"', "tune.toml: form is missing; expected the order of the sections in one chorus"),
        ('title = "x"\nform = ["A", "a"]\n' + SECTIONS, "tune.toml: form names section 'a', which is not defined; sections has A; did you mean 'A'?"),
        (HEAD + 'intro = ["Intro"]\n' + SECTIONS, "tune.toml: intro names section 'Intro', which is not defined; sections has A"),
        (HEAD + "[sections]\nA = 3", "tune.toml, section A: is 3; expected bars in quotation marks, or a table of meter and bars"),
        (HEAD + '[sections]\nA = { meter = "3/4" }', "tune.toml, section A: has no bars; expected bars = "),
        (HEAD + "[sections]\nA = { bars = 3 }", "tune.toml, section A: bars is 3; expected text"),
        (HEAD + '[sections]\nA = { meter = "x", bars = "| C |" }', "tune.toml, section A: meter is 'x'"),
        (HEAD + '[sections]\nA = ""', "tune.toml, section A: has no bars; expected chords between bar lines"),
        (HEAD + '[sections]\nA = "| F7 | Dm7 G7 C7 |"', "tune.toml, section A, bar 2: 3 chords do not share 4 beats equally"),
        (HEAD + '[sections]\nA = "| F7 | C7 Q7 |"', "tune.toml, section A, bar 2, beat 3: 'Q7': a chord symbol begins with its root"),
        (HEAD + SECTIONS + 'B = "| Q7 |"', "tune.toml, section B, bar 1, beat 1: 'Q7'"),
    ],
)  # fmt: skip
def test_faults_in_one_line(text, message):
    with pytest.raises(ChartFault) as caught:
        read(text)
    assert str(caught.value).startswith(message)
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 300


def test_a_section_may_have_the_name_of_a_key_where_the_form_uses_it():
    chart = read(
        'title = "x"\nkey = "F"\nform = ["A"]\nintro = ["intro"]\n' + SECTIONS + 'intro = "| C7 |"'
    )
    assert chart.intro[0].chords[0].chord.symbol == "C7"


def test_a_form_without_end_is_refused():
    bars = "| F7 " * 100 + "|"
    form = ", ".join(['"A"'] * (MOST_BARS // 100 + 1))
    with pytest.raises(ChartFault, match=f"more than {MOST_BARS} bars"):
        read(f'title = "x"\nform = [{form}]\n[sections]\nA = "{bars}"')


def test_a_large_file_is_refused(tmp_path):
    file = tmp_path / "a.toml"
    file.write_bytes(b"#" * (1 << 20) + b"\n")
    with pytest.raises(ChartFault, match="is too large: at most 1 MiB is read"):
        read_chart(file)


VALUES = st.recursive(
    st.none().map(lambda _: "1979-05-27") | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=5,
)  # fmt: skip


def toml_of(value):
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{toml_of(k)} = {toml_of(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml_of, value)) + "]"
    if isinstance(value, str):
        return '"' + "".join(c if c.isalnum() else f"\\U{ord(c):08X}" for c in value) + '"'
    return repr(value)


@settings(max_examples=150)
@given(st.sampled_from(KEYS), VALUES)
def test_any_value_of_any_key_is_read_or_refused(key, value):
    table = {**tomllib.loads(EXAMPLE), key: value}
    text = "\n".join(f"{name} = {toml_of(v)}" for name, v in table.items())
    try:
        chart = read(text)
    except ChartFault as fault:
        problem = str(fault)
    else:
        assert isinstance(chart, Chart)
        return
    assert problem.startswith("tune.toml")
    assert len(problem) < 400


@settings(max_examples=150)
@given(st.integers(0, len(EXAMPLE) - 1), st.integers(0, 6), st.text(max_size=6))
def test_a_damaged_chart_is_read_or_refused(at, gone, put):
    try:
        chart = read(EXAMPLE[:at] + put + EXAMPLE[at + gone :])
    except ChartFault as fault:
        problem = str(fault)
    else:
        assert chart.bars
        return
    assert problem.startswith("tune.toml")
    assert problem.isprintable()


@settings(max_examples=60)
@given(st.binary(max_size=200))
def test_noise_is_refused(tmp_path_factory, noise):
    file = tmp_path_factory.mktemp("noise") / "a.toml"
    file.write_bytes(noise)
    with pytest.raises(ChartFault, match=r"a\.toml"):
        read_chart(file)


def test_a_chart_without_a_chord_judges_nothing(tmp_path):
    file = tmp_path / "tacet.toml"
    file.write_text('title = "Tacet"\nform = ["A"]\n[sections]\nA = "| N.C. | % |"', "utf-8")
    with pytest.raises(ChartFault, match=r"tacet\.toml: its form holds no chord but N\.C\."):
        read_chart(file)


def test_a_number_of_thousands_of_figures_is_told_with_its_line():
    text = 'title = "T"\nkey = "C"\ntempo = 1' + "0" * 5000 + '\nform = ["A"]\n'
    with pytest.raises(ChartFault) as fault:
        parse_chart_toml(text)
    assert str(fault.value).endswith("line 3: a number of 5001 figures; nothing is so large")
