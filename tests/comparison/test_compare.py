"""Which choruses are compared, what is refused and how it is said, and every way it is written."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import linecheck
from linecheck import command_line
from linecheck.comparison import compare_audits
from linecheck.demo import demo_take
from linecheck.faults import ChartFault, OptionFault, TakeFault
from linecheck.report.comparison_as_html import write_comparison_html
from linecheck.report.comparison_as_json import write_comparison_json
from linecheck.report.comparison_as_terminal import comparison_page
from linecheck.report.comparison_in_words import carried_rows, change_sentence

README = (Path(__file__).parents[2] / "README.md").read_text("utf-8")


@pytest.fixture(scope="module")
def audits():
    names = ("edda", "juno", "ruben", "lena", "tomasz")
    return {n: linecheck.audit(demo_take(n).chart, demo_take(n).take) for n in names}


@pytest.fixture(scope="module")
def edda(audits):
    return compare_audits(audits["edda"])


def test_the_story_of_the_demo_take(edda):
    """Her solo comes late to G7b9 and G7alt, once to two others (tests/demo_lines)."""
    assert (edda.before.choruses, edda.after.choruses) == ((1, 2), (3, 4))
    dropped = [
        (p.bar, p.chord, p.after)
        for p in edda.places
        if p.kind == "landings" and p.outcome == "dropped"
    ]
    assert dropped == [(10, "G7b9", (0, 2)), (12, "G7alt", (0, 2))]
    assert [(b.chorus, b.bar) for b in edda.first_breaks] == [(3, 4), (4, 10)]
    kept = edda.carried[0].kept
    assert (kept.shown, kept.asked) == (20, 26)
    assert kept.low < 0.5
    assert kept.high > 0.85


def test_an_audit_of_both_styles_carries_its_comparison(audits, edda):
    assert audits["edda"].carry_over == replace(edda, warnings=())
    assert audits["ruben"].carry_over is None


def test_choruses_that_are_named_take_their_sides(audits):
    made = compare_audits(audits["edda"], walking=[2], solo=[4, 3, 3])
    assert (made.before.choruses, made.after.choruses) == ((2,), (3, 4))
    made = compare_audits(audits["edda"], solo=[2])
    assert (made.before.choruses, made.after.choruses) == ((1,), (2,))


def test_two_takes_of_one_style_are_first_and_second(audits):
    made = compare_audits(audits["edda"], audits["ruben"])
    assert (made.before.name, made.after.name) == ("first", "second")
    assert (made.before.style, made.after.style) == ("walking", "walking")
    assert made.after.choruses == (1, 2, 3)


def test_a_line_in_one_take_and_a_solo_in_another(audits):
    made = compare_audits(audits["ruben"], audits["edda"], solo=[3, 4])
    assert (made.before.name, made.after.name) == ("line", "solo")
    made = compare_audits(audits["edda"], walking=(n for n in (1, 2)), solo=np.arange(3, 5))
    assert (made.before.choruses, made.after.choruses) == ((1, 2), (3, 4))
    made = compare_audits(audits["edda"], audits["edda"], style="solo")
    assert made.before.choruses == made.after.choruses == (3, 4)
    assert {p.outcome for p in made.places} <= {"kept", "neither", "open"}


REFUSED = [
    ({"walking": [7]}, OptionFault, r"walking names chorus 7; .*\.mid has choruses 1 to 4"),
    ({"walking": [1, 3], "solo": [3]}, OptionFault, "chorus 3 stands in walking and in solo"),
    ({"style": "solo"}, OptionFault, "style chooses the choruses of two takes"),
    ({"walking": [1, 2, 3, 4]}, TakeFault, "no chorus is a solo by its rhythm"),
    ({"walking": 1}, OptionFault, r"walking is 1; expected numbers of choruses such as \[1, 2\]"),
    ({"solo": "3-4"}, OptionFault, "solo is '3-4'; expected numbers of choruses"),
    ({"solo": [3.0]}, OptionFault, r"solo is \[3.0\]; expected numbers of choruses"),
    ({"style": "slow"}, OptionFault, "style is 'slow'; expected walking, solo or mixed"),
]


@pytest.mark.parametrize(("options", "fault", "said"), REFUSED)
def test_what_cannot_be_told_apart_is_refused(audits, options, fault, said):
    with pytest.raises(fault, match=said):
        compare_audits(audits["edda"], **options)


def test_a_take_of_one_style_asks_for_another_take(audits):
    with pytest.raises(TakeFault, match=r"no chorus is a solo .*chorus 3 walking"):
        compare_audits(audits["ruben"])
    with pytest.raises(TakeFault, match="no chorus is a solo"):
        compare_audits(audits["ruben"], audits["edda"], style="solo")


def test_two_charts_are_refused(audits):
    with pytest.raises(ChartFault, match="different charts"):
        compare_audits(audits["edda"], audits["tomasz"])


# ---- written ---------------------------------------------------------------------------------


def test_every_key_of_the_json_is_in_the_readme_and_the_other_way_round(edda):
    part = README.partition("<!-- keys of the comparison -->")[2].partition("\n\n")[0]
    data = json.loads(write_comparison_json(edda))
    rows = {}
    for row in part.strip().splitlines()[2:]:
        first, _, rest = row.strip("| ").partition("|")
        rows[first.strip().strip("`")] = set(re.findall(r"`(\w+)`", rest))
    assert list(rows) == list(data)
    for key, told in rows.items():
        assert told == keys_below(data[key]), key


def keys_below(value) -> set[str]:
    if isinstance(value, dict):
        return set(value).union(*map(keys_below, value.values()))
    if isinstance(value, list):
        return set().union(*map(keys_below, value))
    return set()


def test_the_json_says_what_was_found(edda):
    data = json.loads(write_comparison_json(edda))
    assert data["carried"][0]["kept"]["shown"] == 20
    assert data["carried"][0]["kept"]["share"] == 0.7692
    assert [p for p in data["places"] if p["kind"] == "landings"][3] == {
        "kind": "landings", "bar": 4, "beat": 1, "section": "blues", "chord": "C7alt",
        "before": {"shown": 2, "asked": 2}, "after": {"shown": 1, "asked": 2}, "outcome": "kept",
    }  # fmt: skip


@pytest.mark.parametrize("name", ["edda", "juno", "lena"])
def test_the_page_for_a_terminal_fits(audits, name):
    text = comparison_page(compare_audits(audits[name])).as_text()
    assert max(map(len, text.splitlines())) <= 80
    assert "Where it breaks first" in text


@pytest.mark.parametrize("width", [40, 60])
def test_where_its_tables_do_not_fit_the_figures_are_told(edda, width):
    text = comparison_page(edda, width=width).as_text()
    assert all(len(line) <= width for line in text.splitlines())
    told = " ".join(text.split())
    for name, before, after, kept, times, interval in carried_rows(edda):
        assert (
            f"- {name}: line {before}, solo {after}; kept {kept}, {times} times, 95 % inter" in told
        )
        assert interval in told


def test_the_form_strip_of_the_page(edda):
    text = comparison_page(edda).as_text()
    assert "   line  .... .... ....\n   solo  ...o .... .x.x\n" in text


def test_as_many_landings_in_both_takes_is_said_so(audits):
    text = comparison_page(compare_audits(audits["ruben"], audits["ruben"])).as_text()
    assert "as many landings are met in both; so few choruses leave room for \u2212" in text


@pytest.mark.parametrize("change", [(0.001, -0.02, 0.02), (-0.05, -0.09, 0.01)])
def test_many_choruses_are_not_called_few(audits, change):
    found = compare_audits(audits["ruben"], audits["ruben"])
    carried = tuple(replace(one, change=change) for one in found.carried)
    few = replace(found, carried=carried)
    assert "so few choruses" in change_sentence(few)
    many = tuple(range(1, 226))
    much = replace(
        few,
        before=replace(found.before, choruses=many),
        after=replace(found.after, choruses=many),
    )
    assert "few choruses" not in change_sentence(much)


def test_columns_stay_apart_however_large_their_figures_are(audits):
    found = compare_audits(audits["ruben"], audits["ruben"])
    carried = tuple(
        replace(one, kept=replace(one.kept, share=0.96, shown=21670, asked=22500))
        for one in found.carried
    )
    text = comparison_page(replace(found, carried=carried), width=120).as_text()
    assert "96 %  21670 of 22500  " in text
    assert (
        max(map(len, comparison_page(replace(found, carried=carried)).as_text().split("\n"))) <= 80
    )


def test_nothing_to_say_is_said():
    chart = linecheck.read_chart(demo_take("edda").chart)
    take = linecheck.read_take(demo_take("edda").take)
    wrong = replace(take, notes=tuple(replace(n, pitch=n.pitch + 1) for n in take.notes))
    made = linecheck.compare(chart, wrong, take, walking=[1], solo=[1])
    text = comparison_page(made).as_text()
    assert made.carried[0].kept.asked < 13
    assert "nan" not in text.lower()


def test_a_page_holds_no_markup_of_a_title(audits):
    found = audits["edda"]
    titled = replace(found, chart=replace(found.chart, title="<b>Oil</b> & {{ 7*7 }}"))
    page = write_comparison_html(compare_audits(titled))
    assert "<b>Oil" not in page
    assert "&lt;b&gt;Oil&lt;/b&gt; &amp; {{ 7*7 }}" in page
    assert "http" not in page.replace("http-equiv", "").replace("http://www.w3.org", "")


# ---- the command -----------------------------------------------------------------------------


def paths(name):
    take = demo_take(name)
    return str(take.chart), str(take.take)


def test_the_command_prints_and_writes(tmp_path, capsys):
    files = tmp_path / "c.json", tmp_path / "c.html"
    status = command_line.run(
        ["compare", *paths("edda"), "--json", str(files[0]), "--html", str(files[1])]
    )
    assert status == 0
    assert "The solo keeps 77 % of the landings that the line shows" in capsys.readouterr().out
    assert json.loads(files[0].read_text("utf-8"))["after"]["choruses"] == [3, 4]
    assert "<!doctype html>" in files[1].read_text("utf-8")


def test_json_on_standard_output_stands_alone(capsys):
    assert command_line.run(["compare", *paths("edda"), "--solo", "3", "--json", "-"]) == 0
    assert json.loads(capsys.readouterr().out)["after"]["choruses"] == [3]


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--solo", "4-3"], "4-3 names no choruses; such as 1-3 or 2,5 was expected"),
        (["--walking", "0"], "0 names no choruses"),
        (["--solo", "1-9999999999"], "names no choruses"),
        (["--solo", "5"], "solo names chorus 5"),
        (["--style", "walking"], "style chooses the choruses of two takes; one was given"),
    ],
)
def test_faults_are_one_line(more, said, capsys):
    assert command_line.run(["compare", *paths("edda"), *more]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert said in err
