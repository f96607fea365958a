"""Tables for notebooks: the same facts as the audit, one row an entry."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd
import pytest

import linecheck
from linecheck import tables
from linecheck.comparison_terms import Comparison
from linecheck.demo import demo_take
from linecheck.grade.columns import COLUMNS as GRADES
from linecheck.music.chord_symbol import read_chord
from linecheck.reference_terms import ReferenceProfile
from linecheck.terms import Audit, Chart, Place
from tests.grade.class_folders import small_class
from tests.hand_made_audit import hand_made_audit, hand_made_chart
from tests.recorded_audit import recorded


@pytest.fixture(scope="module")
def audit():
    return hand_made_audit()


def test_notes_have_one_row_each_with_plain_columns(audit):
    table = tables.notes(audit)
    assert len(table) == len(audit.labels.notes) == 49
    assert table.loc[4, ["chorus", "bar", "beat", "name", "approach", "approach_target"]].tolist() == [
        1, 1, 4.0, "B2", "chromatic", 46,
    ]  # fmt: skip
    assert pd.isna(table.loc[0, "bar"])
    assert table["bar"].dtype == "Int64"
    by_function = table["function"].value_counts()
    assert by_function["outside"] == sum(n.function == "outside" for n in audit.labels.notes)


def test_landings_point_at_their_notes(audit):
    table = tables.landings(audit)
    missed = table[~table["met"]]
    assert missed["bar"].tolist() == [2, 3]
    assert tables.notes(audit).loc[missed["note"], "name"].tolist() == ["B2", "Ab2"]


def test_losses(audit):
    table = tables.losses(audit)
    assert table["kind"].tolist() == ["ahead", "adrift"]
    assert table["certain"].tolist() == [True, False]
    assert pd.isna(table.loc[0, "recovered_bar"])
    assert table.loc[1, "recovered_bar"] == 4


def test_choruses_count_the_functions(audit):
    table = tables.choruses(audit)
    functions = ["root", "third", "fifth", "seventh", "approach", "tension", "outside"]
    assert (table[functions].sum(axis=1) == table["notes"]).all()
    assert table["commitment"].mean() == pytest.approx(audit.judgement.commitment)


def test_sections_and_costs(audit):
    assert tables.sections(audit)["clear"].tolist() == [True, True, True, False, True, True]
    assert tables.costs(audit)["points"].is_monotonic_decreasing


def test_bars_of_a_chart():
    table = tables.bars(hand_made_chart())
    assert table["symbol"].tolist() == ["F7", "Bb7", "Gm7", "C7/E", "F7"]
    assert table["beat"].tolist() == [1, 1, 1, 3, 1]
    assert table.loc[3, "bass"] == 4


# Every column with its type, whatever is in it: w whole number, f fraction, b yes or no, t text.
COLUMNS = {
    tables.notes: (
        "chorus w, bar w, beat f, section t, chord t, pitch w, name t, degree t, function t, "
        "function_in_own_place t, approach t, approach_direction t, approach_target w, "
        "anticipation b, ghost b, landing b, onset_s f, duration_s f, placement_ms f, velocity w, "
        "cents f"
    ),
    tables.landings: (
        "chorus w, bar w, beat f, section t, chord t, met b, function t, anticipated b, "
        "placement_ms f, note w, opens_section b, counted b"
    ),
    tables.losses: (
        "chorus w, bar w, beat f, kind t, offset_beats f, recovered_chorus w, recovered_bar w, "
        "recovered_beat f, confidence f, certain b, other_offsets t"
    ),
    tables.choruses: (
        "chorus w, style t, notes w, root w, third w, fifth w, seventh w, approach w, tension w, "
        "outside w, purpose f, landings f, form f, presence f, commitment f"
    ),
    tables.sections: "chorus w, section t, bar w, commitment f, landings f, clear b",
    tables.costs: "chorus w, bar w, section t, part t, points f, why t",
    tables.bars: "bar w, section t, beat f, symbol t, root w, bass w, tones t, available t",
    tables.places: (
        "kind t, bar w, beat f, section t, chord t, before_shown w, before_asked w, "
        "after_shown w, after_asked w, outcome t"
    ),
    tables.shares: (
        "style t, by t, name t, function t, share f, mean f, spread f, takes w, choruses w, notes w"
    ),
}
TYPES = {"w": "Int64", "f": "float64", "b": "bool", "t": pd.Series([""]).dtype}


@pytest.fixture(scope="module")
def compared():
    take = demo_take("edda")
    return linecheck.compare(take.chart, take.take)


@pytest.fixture(scope="module")
def profile():
    take = demo_take("edda")
    return linecheck.profile_of_audits([linecheck.audit(take.chart, take.take)])


def _empty(thing):
    """The same with nothing in it."""
    if isinstance(thing, Audit):
        return replace(
            thing,
            labels=replace(thing.labels, notes=(), landings=()),
            line=replace(thing.line, losses=()),
            judgement=replace(thing.judgement, choruses=(), sections=(), costs=()),
        )
    field = {Chart: "bars", Comparison: "places", ReferenceProfile: "shares"}[type(thing)]
    return replace(thing, **{field: ()})


def _without(thing):
    """The same with everything missing that may be."""
    if isinstance(thing, Chart):
        silent = read_chord("N.C.")
        bars = [
            replace(bar, chords=tuple(replace(placed, chord=silent) for placed in bar.chords))
            for bar in thing.bars
        ]
        return replace(thing, bars=tuple(bars))
    if not isinstance(thing, Audit):
        return thing
    nowhere = Place(0, None, None)
    notes = [
        replace(
            n, place=nowhere, section=None, chord=None, degree=None, function=None,
            function_in_own_place=None, approach=None, cents=None,
        )
        for n in thing.labels.notes
    ]  # fmt: skip
    landings = [
        replace(x, function=None, placement_ms=None, note=None) for x in thing.labels.landings
    ]
    losses = [replace(x, offset_beats=None, recovered_step=None) for x in thing.line.losses]
    choruses = [
        replace(x, purpose=None, landings=None, form=None) for x in thing.judgement.choruses
    ]
    sections = [replace(x, landings=None) for x in thing.judgement.sections]
    return replace(
        thing,
        labels=replace(thing.labels, notes=tuple(notes), landings=tuple(landings)),
        line=replace(thing.line, losses=tuple(losses)),
        judgement=replace(
            thing.judgement, choruses=tuple(choruses), sections=tuple(sections)
        ),
    )  # fmt: skip


@pytest.mark.parametrize("table", COLUMNS, ids=lambda table: table.__name__)
@pytest.mark.parametrize("changed", [lambda x: x, _empty, _without], ids=["full", "empty", "none"])
def test_a_column_has_one_type_whatever_is_in_it(audit, compared, profile, table, changed):
    of = {"bars": hand_made_chart(), "places": compared, "shares": profile}
    made = table(changed(of.get(table.__name__, audit)))
    told = [column.split() for column in COLUMNS[table].split(", ")]
    assert {name: str(kind) for name, kind in made.dtypes.items()} == {
        name: str(TYPES[kind]) for name, kind in told
    }
    assert list(made) == [name for name, _ in told]
    assert made.empty == (changed is _empty)


def test_every_table_is_asked_for_its_types():
    assert {table.__name__ for table in COLUMNS} | {"grades"} == set(tables.__all__)


def test_the_grades_of_a_folder_are_a_table(tmp_path):
    book = linecheck.grade_folder(small_class(tmp_path / "class"), jobs=1, pass_mark=90)
    made = tables.grades(book)
    kinds = {str: str(TYPES["t"]), float: "float64", int: "Int64", bool: "boolean"}
    assert {name: str(kind) for name, kind in made.dtypes.items()} == {
        column.name: kinds[column.kind] for column in GRADES
    }
    assert made["student"].tolist() == ["mira", "oskar", "zoe"]
    assert made["commitment"].tolist()[:2] == [99.17, 78.18]
    assert made["passed"].tolist()[:2] == [True, False]
    assert made.loc[2, ["commitment", "passed", "notes"]].isna().all()
    assert repr(book) == "GradeBook(class: 3 submissions, rubric Even-handed)"


@pytest.mark.parametrize("table", [*COLUMNS, tables.grades], ids=lambda table: table.__name__)
def test_what_a_table_cannot_be_made_of_is_told_in_one_line(audit, table):
    with pytest.raises(TypeError, match=r"^an? \w+ was expected, and Take was given$"):
        table(audit.take)


def test_what_is_missing_is_missing_whatever_its_type(audit):
    made = tables.notes(_without(audit))
    for name in ("bar", "beat", "chord", "function", "approach", "approach_target", "cents"):
        assert made[name].isna().all()


def test_cents_of_a_recording_stand_in_the_notes(audit):
    heard = recorded(audit)
    assert tables.notes(heard)["cents"].tolist() == [note.cents for note in heard.labels.notes]


def test_places_of_a_comparison_and_shares_of_reference_lines(compared, profile):
    places = tables.places(compared)
    landings = places[places.kind == "landings"]
    assert landings.before_shown.sum() == 26
    assert landings.after_shown.sum() == 20
    assert set(places.outcome) == {"kept", "dropped"}
    shares = tables.shares(profile)
    assert shares.groupby(["style", "by", "name"]).share.sum().round(9).eq(1).all()


def test_a_written_line_lies_around_no_beat():
    take = demo_take("idris")
    written = linecheck.audit(take.chart, take.take)
    assert tables.notes(written)["placement_ms"].isna().all()
    assert tables.landings(written)["placement_ms"].isna().all()
    assert tables.notes(written)["placement_ms"].dtype == "float64"
