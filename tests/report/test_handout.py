from __future__ import annotations

from dataclasses import replace

from linecheck.report.as_terminal import terminal_page
from linecheck.report.handout import findings, handout
from linecheck.terms import BarCost, Loss
from tests.report.invented_audits import audit_of

AUDIT = audit_of(choruses=3)


def with_costs(*costs):
    audit = replace(AUDIT, judgement=replace(AUDIT.judgement, costs=costs))
    return with_losses(audit)


def cost(chorus, bar, part, points, why="a reason"):
    return BarCost(chorus, bar, "A", part, points, why)


def with_losses(audit, *losses):
    made = tuple(Loss(a * 48, "ahead", 4.0, b * 48, 0.9) for a, b in losses)
    return replace(audit, line=replace(audit.line, losses=made))


def test_all_that_a_loss_cost_is_one_finding():
    audit = with_losses(
        with_costs(
            cost(1, 12, "form", 1.0), cost(1, 11, "form", 1.0), cost(2, 1, "landings", 0.5),
            cost(2, 6, "landings", 0.2),
        ),
        (10, 13),
    )  # fmt: skip
    first, second = findings(audit)
    assert first.title == "Chorus 1, bar 11 to chorus 2, bar 1"
    assert first.why.startswith("The form is lost: one bar ahead. ")
    assert first.points == 2.5
    assert first.places == ((1, 11),)
    assert second.title == "Bar 6 (Bdim7) of chorus 2"


def test_one_bar_that_goes_wrong_in_many_choruses_is_one_finding():
    audit = with_costs(
        cost(3, 10, "landings", 1.1), cost(1, 10, "landings", 1.0), cost(2, 4, "purpose", 1.5)
    )
    first, second = findings(audit)
    assert first.title == "Bar 10 (C7), in 2 choruses"
    assert first.places == ((3, 10), (1, 10))
    assert "landing" in first.practise
    assert second.title == "Bar 4 (F7) of chorus 2"


def test_what_cost_next_to_nothing_is_no_finding():
    audit = with_costs(cost(3, 10, "landings", 0.03), cost(1, 10, "landings", 0.03))
    assert [finding.points for finding in findings(audit)] == [0.06]
    assert findings(with_costs(cost(3, 10, "landings", 0.04))) == ()


def test_losses_that_begin_in_the_same_bar_are_one_finding():
    audit = with_losses(
        with_costs(cost(1, 5, "form", 1.0), cost(1, 6, "form", 1.0), cost(3, 5, "form", 1.0)),
        (4, 6),
        (28, 29),
    )
    (only,) = findings(audit)
    assert only.title == "From bar 5 on, 2 times"
    assert only.places == ((1, 5), (3, 5))


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


def test_a_good_line_in_the_wrong_bar_is_told_from_a_bad_one():
    lesson = findings(AUDIT)[0].why
    assert lesson.startswith("The form is lost: one bar ahead. ")
    notes = [n for n in AUDIT.labels.notes if n.place.chorus == 2 and 5 <= n.place.bar < 10]
    fit = sum(n.function_in_own_place != "outside" for n in notes if n.function_in_own_place)
    judged = sum(n.function_in_own_place is not None for n in notes)
    assert (
        f"{round(100 * fit / judged)}\u00a0% of its notes fit the bars that you were in." in lesson
    )
    bad = tuple(replace(n, function_in_own_place="outside") for n in AUDIT.labels.notes)
    audit = replace(AUDIT, labels=replace(AUDIT.labels, notes=bad))
    assert "The line itself is good" not in findings(audit)[0].why
    adrift = tuple(replace(n, function_in_own_place=None) for n in AUDIT.labels.notes)
    audit = replace(AUDIT, labels=replace(AUDIT.labels, notes=adrift))
    assert "fit the bars" not in findings(audit)[0].why


def test_the_figures_can_be_traced_to_their_bars():
    traces = dict(handout(AUDIT).traces)
    missed = [x for x in AUDIT.labels.landings if x.counted and not x.met]
    assert set(traces["Landings missed"]) == {(x.place.chorus, x.place.bar) for x in missed}
    outside = [n for n in AUDIT.labels.notes if n.function == "outside"]
    assert set(traces["Notes outside"]) == {(n.place.chorus, n.place.bar) for n in outside}


def test_the_feel_of_each_chorus_is_told_with_its_spread():
    text = handout(AUDIT)
    assert text.feel_table[1] == (
        "138", "+5.0\u00a0%", "+4 ± 11", "", "85\u00a0% ± 6\u00a0%", "84 ± 7",
    )  # fmt: skip
    assert handout(replace(AUDIT, line=replace(AUDIT.line, feel=None))).feel_table == ()


def test_how_the_line_was_read_is_a_sentence_of_a_file_and_of_a_recording():
    audit = AUDIT
    played = replace(audit.take, line="track 2, “bass”", kind="midi")
    assert handout(replace(audit, take=played)).read == "The line was read from track 2, “bass”."
    heard = replace(audit.take, line="heard in the recording", kind="audio")
    assert handout(replace(audit, take=heard)).read == "The line was heard in the recording."


def test_the_mark_is_never_rounded_onto_the_other_side_of_the_pass_mark():
    judgement = replace(AUDIT.judgement, commitment=69.6)
    assert handout(replace(AUDIT, judgement=judgement)).commitment == "70"
    strict = replace(judgement, rubric=replace(judgement.rubric, pass_mark=70.0))
    assert handout(replace(AUDIT, judgement=strict)).commitment == "69.6"
    assert "Commitment 69.6 of 100" in terminal_page(replace(AUDIT, judgement=strict)).as_text()
