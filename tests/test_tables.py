"""Tables for notebooks: the same facts as the audit, one row an entry."""

from __future__ import annotations

import pandas as pd
import pytest

from linecheck import tables
from tests.hand_made_audit import hand_made_audit, hand_made_chart


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


def test_empty_tables_keep_their_columns(audit):
    from dataclasses import replace

    none = replace(audit, line=replace(audit.line, losses=()))
    assert list(tables.losses(none)) == list(tables.losses(audit))


def test_places_of_a_comparison_and_shares_of_reference_lines():
    from linecheck import compare, profile_of_audits
    from linecheck.demo import demo_take
    from linecheck.steps import audit as whole_audit

    take = demo_take("edda")
    places = tables.places(compare(take.chart, take.take))
    landings = places[places.kind == "landings"]
    assert landings.before_shown.sum() == 26
    assert landings.after_shown.sum() == 20
    assert set(places.outcome) == {"kept", "dropped"}
    shares = tables.shares(profile_of_audits([whole_audit(take.chart, take.take)]))
    assert shares.groupby(["style", "by", "name"]).share.sum().round(9).eq(1).all()
