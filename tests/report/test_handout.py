from __future__ import annotations

from dataclasses import replace

from linecheck.report.handout import findings, handout
from linecheck.terms import BarCost
from tests.report.invented_audits import audit_of

AUDIT = audit_of(choruses=3)


def with_costs(*costs):
    return replace(AUDIT, judgement=replace(AUDIT.judgement, costs=costs))


def cost(chorus, bar, part, points, why="a reason"):
    return BarCost(chorus, bar, "A", part, points, why)


def test_neighbouring_bars_of_one_loss_are_one_finding():
    audit = with_costs(
        cost(1, 12, "form", 1.0), cost(1, 11, "form", 1.0), cost(2, 1, "form", 0.5),
        cost(2, 6, "form", 0.2),
    )  # fmt: skip
    first, second = findings(audit)
    assert first.title == "Chorus 1, bar 11 to chorus 2, bar 1"
    assert first.points == 2.5
    assert first.places == ((1, 11),)
    assert second.title == "Chorus 2, bar 6"


def test_one_bar_that_goes_wrong_in_many_choruses_is_one_finding():
    audit = with_costs(
        cost(3, 10, "landings", 1.1), cost(1, 10, "landings", 1.0), cost(2, 4, "purpose", 1.5)
    )
    first, second = findings(audit)
    assert first.title == "Bar 10 (C7), in 2 choruses"
    assert first.places == ((3, 10), (1, 10))
    assert "landing" in first.practise
    assert second.title == "Bar 4 (F7) of chorus 2"


def test_only_the_three_dearest_are_told():
    audit = with_costs(*(cost(1, bar, "landings", bar / 10) for bar in range(1, 9)))
    assert [f.places[0][1] for f in findings(audit)] == [8, 7, 6]


def test_the_points_of_all_findings_are_those_of_the_costs():
    every = findings(AUDIT, most=10_000)
    total = sum(c.points for c in AUDIT.judgement.costs)
    assert abs(sum(f.points for f in every) - total) < 1e-9


def test_sentences_stand_alone_and_units_stay_with_their_figures():
    text = handout(AUDIT)
    for sentence in (*text.good, *text.losses, *text.feel, *text.landings, *text.warnings):
        assert sentence[0].isupper() or sentence[0].isdigit(), sentence
        assert sentence.endswith("."), sentence
        assert " %" not in sentence
        assert " ms" not in sentence


def test_a_take_with_nothing_to_say_still_makes_a_handout():
    bare = replace(
        AUDIT,
        labels=replace(AUDIT.labels, notes=(), landings=()),
        judgement=replace(AUDIT.judgement, choruses=(), sections=(), costs=(), commitment=0.0),
    )
    text = handout(bare)
    assert text.findings == ()
    assert text.commitment == "0"
