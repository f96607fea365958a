"""Scores of choruses, sections and takes, worked out by hand, and what each bar cost."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linecheck.judge import judge_line
from linecheck.judge.commitment import Count, share, weigh
from linecheck.label import label_line
from linecheck.music.form import Form
from linecheck.read.rubric import read_rubric
from linecheck.terms import FormSpan, Loss, Meter, Rubric
from tests.judge.random_lines import audit, lines
from tests.label_lines import chart_of, line_of, notes_of

CHART = chart_of("| F7 | Bb7 | F7 | F7 |")
CLEAN = "F2 A2 C3 B2 Bb2 D3 F3 E3 F3 Eb3 C3 A2 F2 A2 C3 A2 "
RUBRIC = Rubric("by hand", {"purpose": 50.0, "landings": 30.0, "form": 20.0}, "", "")


def judge(notes, chart=CHART, choruses=1, rubric=RUBRIC, **more):
    line = line_of(notes, chart, choruses, **more)
    form = Form(chart, choruses)
    return judge_line(label_line(line, form, chart.key), line, form, rubric)


def ahead(first_beat, end_beat, offset=4.0, beats=16):
    """In place but for some beats."""
    cuts = [(0, first_beat, 0.0), (first_beat, end_beat, offset), (end_beat, beats, 0.0)]
    return tuple(FormSpan(12 * a, 12 * b, o, 0.9) for a, b, o in cuts if b > a)


# ---- one chorus ------------------------------------------------------------------------------


def test_a_clean_chorus_is_worth_everything():
    judgement = judge(CLEAN + "F2")
    (chorus,) = judgement.choruses
    assert (chorus.purpose, chorus.landings, chorus.form, chorus.presence) == (1, 1, 1, 1)
    assert chorus.commitment == judgement.commitment == 100.0
    assert judgement.costs == ()
    assert chorus.notes == 16  # the hit after the form counts nowhere
    assert sum(chorus.functions.values()) == 16


def test_a_form_for_another_number_of_choruses_is_laid_out_anew():
    line = line_of(CLEAN * 2, CHART, 2)
    labels = label_line(line, Form(CHART, 2), CHART.key)
    judged = [judge_line(labels, line, Form(CHART, n), RUBRIC) for n in (None, 1, 2)]
    assert judged[0] == judged[1] == judged[2]


def test_a_note_outside_costs_its_share_of_purpose():
    judgement = judge(CLEAN.replace("Eb3", "E3"))  # beat 2 of bar 3: a major seventh
    (chorus,) = judgement.choruses
    assert chorus.purpose == 15 / 16
    assert chorus.functions["outside"] == 1
    assert chorus.commitment == pytest.approx(100 - 50 / 16)
    (cost,) = judgement.costs
    assert (cost.chorus, cost.bar, cost.section, cost.part) == (1, 3, "A", "purpose")
    assert cost.why == "beat 2: E3, outside F7"
    assert cost.points == pytest.approx(50 / 16)


def test_a_landing_missed_by_a_tension_costs_a_landing_only():
    judgement = judge(CLEAN.replace("B2 Bb2", "B2 C3"))
    (chorus,) = judgement.choruses
    assert (chorus.purpose, chorus.landings) == (1.0, 3 / 4)
    (cost,) = judgement.costs
    assert (cost.bar, cost.part, cost.why) == (2, "landings", "beat 1: C3, no tone of Bb7")
    assert cost.points == pytest.approx(30 / 4)


def test_the_form_is_a_share_of_beats():
    judgement = judge(CLEAN, spans=ahead(4, 8))
    (chorus,) = judgement.choruses
    assert chorus.form == 12 / 16
    assert chorus.commitment == pytest.approx(100 - 20 / 4)
    (cost,) = judgement.costs
    assert (cost.bar, cost.part, cost.why) == (2, "form", "1 bar ahead")


@pytest.mark.parametrize(
    ("offset", "why"),
    [
        (None, "adrift"),
        (4.0, "1 bar ahead"),
        (-8.0, "2 bars behind"),
        (1.0, "1 beat ahead"),
        (-2.0, "2 beats behind"),
        (0.5, "0.5 beats ahead"),
    ],
)
def test_the_size_of_a_loss_is_said_in_bars_or_beats(offset, why):
    assert judge(CLEAN, spans=ahead(4, 8, offset)).costs[0].why == why


def test_a_loss_that_is_only_possible_costs_nothing():
    loss = Loss(48, "ahead", 4.0, 96, 0.5, certain=False)
    assert judge(CLEAN, spans=ahead(4, 8), losses=(loss,)).commitment == 100.0
    certain = replace(loss, certain=True)
    assert judge(CLEAN, spans=ahead(4, 8), losses=(certain,)).commitment < 100.0


def test_beats_outside_all_spans_are_in_place():
    assert judge(CLEAN, spans=()).choruses[0].form == 1.0
    assert judge(CLEAN, spans=(FormSpan(48, 96, 4.0, 0.9),)).choruses[0].form == 12 / 16


def test_silence_in_a_walking_chorus_multiplies():
    judgement = judge("F2 A2 C3 B2 Bb2 D3 F3 E3 F3 Eb3 - - F2 A2 C3 A2")
    (chorus,) = judgement.choruses
    assert (chorus.style, chorus.purpose, chorus.landings, chorus.form) == ("walking", 1, 1, 1)
    assert chorus.presence == 14 / 16
    assert chorus.commitment == pytest.approx(100 * 14 / 16)
    (cost,) = judgement.costs
    assert (cost.bar, cost.part, cost.why) == (3, "presence", "silent beats")


def test_parts_and_presence_together():
    judgement = judge("F2 A2 C3 B2 A2 D3 F3 E3 F3 Eb3 - - F2 A2 C3 A2", spans=ahead(12, 16))
    (chorus,) = judgement.choruses
    # A over Bb7 on its landing is outside, and B before it leads nowhere but is a tension.
    assert (chorus.purpose, chorus.landings, chorus.form) == (13 / 14, 3 / 4, 3 / 4)
    mean = 0.5 * 13 / 14 + 0.3 * 3 / 4 + 0.2 * 3 / 4
    assert chorus.commitment == pytest.approx(100 * 14 / 16 * mean)
    points = {(cost.bar, cost.part): cost.points for cost in judgement.costs}
    assert points == pytest.approx(
        {
            (3, "presence"): 100 * 2 / 16,
            (2, "purpose"): 100 * 14 / 16 * 0.5 / 14,
            (2, "landings"): 100 * 14 / 16 * 0.3 / 4,
            (4, "form"): 100 * 14 / 16 * 0.2 / 4,
        }
    )


def test_notes_over_no_chord_and_ghosts_are_not_judged():
    chart = chart_of("| F7 | N.C. |")
    judgement = judge("F2 A2:0.5 A2:0.5x C3 C3 Gb2 Gb2 - -", chart)
    (chorus,) = judgement.choruses
    assert (chorus.notes, chorus.purpose, chorus.landings) == (7, 1.0, 1.0)
    assert chorus.presence == 1.0  # silence over N.C. is what the chart asks for
    assert chorus.commitment == 100.0


def test_a_chart_of_no_chords_has_nothing_to_weigh_but_the_form():
    (chorus,) = judge("F2 A2 C3 A2", chart_of("| N.C. |")).choruses
    assert (chorus.purpose, chorus.landings, chorus.form) == (None, None, 1.0)
    assert (chorus.presence, chorus.commitment) == (1.0, 100.0)


# ---- empty and partial choruses --------------------------------------------------------------


def test_an_empty_chorus_between_two_is_worth_nothing():
    judgement = judge(f"{CLEAN} -:16 {CLEAN}", choruses=3)
    assert [chorus.commitment for chorus in judgement.choruses] == pytest.approx([100, 0, 100])
    empty = judgement.choruses[1]
    assert (empty.style, empty.notes, empty.landings, empty.presence) == ("walking", 0, 0.0, 0.0)
    assert judgement.commitment == pytest.approx(200 / 3)
    assert {cost.why for cost in judgement.costs if cost.part == "presence"} == {
        "nothing played in this chorus"
    }


def test_a_chorus_of_ghosts_is_worth_nothing():
    ghosts = " ".join(["F2x"] * 16)
    assert judge(f"{CLEAN} {ghosts} {CLEAN}", choruses=3).choruses[1].commitment == 0.0


def test_a_take_that_is_cut_off_is_judged_up_to_there_and_weighs_that_much():
    judgement = judge(CLEAN + "F2 A2 C3 A2 - - - -"[:11], choruses=2)
    assert [chorus.commitment for chorus in judgement.choruses] == [100.0, 100.0]
    judgement = judge(CLEAN + "F2 - - -", choruses=2)
    assert judgement.choruses[1].presence == 1 / 4
    # 16 beats at 100 and 4 beats at 25.
    assert judgement.commitment == pytest.approx((16 * 100 + 4 * 25) / 20)


def test_a_chorus_before_the_take_begins_is_worth_nothing_and_weighs_nothing():
    judgement = judge(notes_of(CLEAN, step=192), choruses=2)
    assert [chorus.commitment for chorus in judgement.choruses] == [0.0, 100.0]
    assert judgement.commitment == 100.0


def test_a_take_without_a_note_is_worth_nothing():
    judgement = judge((), choruses=2)
    assert judgement.commitment == 0.0
    assert [chorus.commitment for chorus in judgement.choruses] == [0.0, 0.0]
    assert judgement.costs == ()
    assert judgement.sections == ()


def test_pickup_intro_and_ending_count_nowhere():
    chart = chart_of("| F7 |", intro="| C7 |", ending="| Bb7 |")
    wrong = "B2 B2 B2 B2"
    judgement = judge(notes_of(f"{wrong} F2 A2 C3 A2 {wrong} E2", step=-48), chart)
    assert judgement.commitment == 100.0
    assert judgement.choruses[0].notes == 4


# ---- solos -----------------------------------------------------------------------------------

RUN = "F2:0.5 G2:0.5 A2:0.5 C3:0.5 Eb3:0.5 D3:0.5 C3:0.5 A2:0.5 "
LONG = chart_of("|".join(["F7"] * 8))


def test_a_breath_in_a_solo_costs_nothing():
    judgement = judge(f"{RUN}{RUN} -:8 {RUN}{RUN}{RUN}{RUN}", LONG)
    (chorus,) = judgement.choruses
    assert (chorus.style, chorus.presence, chorus.landings, chorus.commitment) == (
        "solo",
        1.0,
        1.0,
        100.0,
    )


def test_a_rest_of_more_than_four_bars_is_no_breath():
    judgement = judge(f"{RUN} -:24 {RUN}", LONG)
    assert judgement.choruses[0].style == "solo"
    assert judgement.choruses[0].presence == 24 / 32
    assert [(cost.bar, cost.part) for cost in judgement.costs] == [(6, "presence"), (7, "presence")]


def test_a_beat_of_ghosts_alone_is_no_breath():
    judgement = judge(f"{RUN} -:2 F2x -:1 {RUN * 6}", LONG)
    assert judgement.choruses[0].style == "solo"
    assert judgement.choruses[0].presence == 31 / 32
    assert judgement.costs[0].why == "only ghosts"


def test_in_a_mixed_chorus_silence_is_a_breath_where_it_solos_only():
    walk = "F2 A2 C3 A2 "
    chart = chart_of("|".join(["F7"] * 12))
    breath = judge(f"{walk * 6} {RUN * 2} -:4 {RUN * 3}", chart).choruses[0]
    hole = judge(f"{walk * 2} -:4 {walk * 3} {RUN * 6}", chart).choruses[0]
    assert (breath.style, breath.presence) == ("mixed", 1.0)
    assert (hole.style, hole.presence) == ("mixed", 44 / 48)


def test_landings_of_a_solo_may_all_lie_in_breaths():
    offs = "-:2 A2:0.5 C3:0.5 Eb3:0.5 C3:0.25 -:0.25 "
    (chorus,) = judge(offs * 8, LONG).choruses
    assert (chorus.style, chorus.landings) == ("solo", None)
    assert chorus.commitment == 100.0


# ---- presence --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("bar", "heard"),
    [
        ("F2 A2 C3 A2", 4),
        ("F2' A2' C3' A2'", 4),  # short notes are notes
        ("F2:2 C3:2", 4),
        ("F2:1.5 -:0.5 C3:1.5 -:0.5", 4),  # in two, a little short
        ("F2:1.25 -:0.75 C3:1.25 -:0.75", 4),  # held through a quarter of the beat
        ("F2:1.16 -:0.84 C3:1.16 -:0.84", 2),
        ("F2:4", 4),
        ("F2 - C3 -", 2),
        ("F2x A2 C3 A2", 3),
    ],
)
def test_a_beat_sounds_when_a_note_is_struck_in_it_or_held_into(bar, heard):
    judgement = judge(f"{CLEAN[:11]} {bar} F2 A2 C3 A2 F2", chart_of("| F7 | F7 | F7 |"))
    assert judgement.choruses[0].presence == (8 + heard) / 12


def test_a_note_held_over_from_before_sounds():
    judgement = judge("F2 A2 C3:2 F2:4 -:4 F2:4", CHART)
    assert judgement.choruses[0].presence == 12 / 16
    pickup = judge(notes_of("F2:3 A2 C3", step=-12), chart_of("| F7 |"))
    assert pickup.choruses[0].presence == 1.0


# ---- sections --------------------------------------------------------------------------------

TWO = chart_of("| F7 | Bb7 |", "| Ebmaj7 | C7 |")


def test_each_section_by_its_own_notes():
    judgement = judge("F2 A2 C3 B2 Bb2 D3 F3 E3 E3 G3 Bb3 D3 C3 E3 G3 E2", TWO)
    first, second = judgement.sections
    assert (first.chorus, first.section, first.bar) == (1, "A", 1)
    assert (first.commitment, first.landings, first.clear) == (100.0, 1.0, True)
    assert (second.section, second.bar, second.landings, second.clear) == ("B", 3, 0.5, False)
    assert second.commitment == pytest.approx(100 * (0.5 * 7 / 8 + 0.3 / 2 + 0.2))


def test_a_boundary_out_of_place_is_blurred():
    judgement = judge("F2 A2 C3 B2 Bb2 D3 F3 E3 Eb3 G3 Bb3 D3 C3 E3 G3 E2", TWO, spans=ahead(8, 12))
    assert [section.clear for section in judgement.sections] == [True, False]


def test_over_no_chord_a_boundary_is_shown_by_being_in_place():
    chart = chart_of("| F7 |", "| N.C. |")
    assert judge("F2 A2 C3 A2 F2", chart).sections[1].clear
    assert not judge("F2 A2 C3 A2 F2", chart, spans=ahead(4, 8, beats=8)).sections[1].clear


def test_sections_that_the_take_does_not_reach_are_not_there():
    judgement = judge("F2 A2 C3 B2 Bb2 D3 F3 D3" + " -:8 F2 A2 C3 A2", TWO, choruses=2)
    assert [(s.chorus, s.section) for s in judgement.sections] == [(1, "A"), (1, "B"), (2, "A")]


def test_in_a_waltz_bars_and_sections_are_of_three():
    chart = chart_of("| F7 | Bb7 |", "| Ebmaj7 | C7 |", meter=Meter(3, 4))
    spans = ahead(3, 9, 3.0, beats=12)
    judgement = judge("F2 A2 C3 Bb2 D3 F3 Eb3 G3 Bb3 C3 E3 G3", chart, spans=spans)
    assert [(c.bar, c.why) for c in judgement.costs] == [(2, "1 bar ahead"), (3, "1 bar ahead")]
    assert [s.clear for s in judgement.sections] == [True, False]


# ---- the take, and what it cost --------------------------------------------------------------


def test_the_dearest_bar_comes_first():
    judgement = judge("F2 A2 C3 B2 Eb3 Eb3 A2 A2 F3 Eb3 C3 Bb2 F2 A2 C3 A2")
    points = [cost.points for cost in judgement.costs]
    assert points == sorted(points, reverse=True)
    assert (judgement.costs[0].bar, judgement.costs[0].part) == (2, "purpose")
    assert judgement.costs[0].why.count("outside Bb7") == 3


def test_many_reasons_in_one_bar_are_cut_short():
    judgement = judge("F2 A2 C3 A2 Eb3 Eb2 A2 A3 F3 Eb3 C3 A2 F2 A2 C3 A2")
    why = next(cost.why for cost in judgement.costs if cost.part == "purpose")
    assert why.endswith("; and 1 more")


@settings(max_examples=80, deadline=None)
@given(lines())
def test_all_that_was_taken_adds_up(made):
    bars, line = made
    labels, judgement = audit(bars, line)
    if not line.notes:
        return
    assert sum(cost.points for cost in judgement.costs) == pytest.approx(
        100 - judgement.commitment, abs=1e-9
    )
    assert all(cost.points > 0 and cost.why for cost in judgement.costs)
    scores = (judgement, *judgement.choruses, *judgement.sections)
    assert all(0 <= score.commitment <= 100 for score in scores)
    of_choruses = [
        sum(cost.points for cost in judgement.costs if cost.chorus == chorus.chorus)
        for chorus in judgement.choruses
    ]
    whole = (labels.judged_to - labels.judged_from) / 12
    beats = Form(line_chart(bars)).beats
    for chorus, taken in zip(judgement.choruses, of_choruses, strict=True):
        first = max((chorus.chorus - 1) * beats, labels.judged_from / 12)
        last = min(chorus.chorus * beats, labels.judged_to / 12)
        weight = max(0.0, last - first) / whole
        assert taken == pytest.approx(weight * (100 - chorus.commitment), abs=1e-9)


def line_chart(bars):
    from tests.judge.random_lines import written

    return written(bars)


@settings(max_examples=40, deadline=None)
@given(lines())
def test_the_reported_numbers_give_the_commitment(made):
    bars, line = made
    _, judgement = audit(bars, line)
    weights = judgement.rubric.weights
    for chorus in judgement.choruses:
        parts = {
            "purpose": chorus.purpose,
            "landings": chorus.landings,
            "form": chorus.form,
        }
        known = {part: found for part, found in parts.items() if found is not None}
        judged = sum(chorus.functions.values())
        assert chorus.notes >= judged
        if chorus.purpose is not None:
            assert chorus.purpose == pytest.approx(1 - chorus.functions["outside"] / judged)
        whole = sum(weights[part] for part in known)
        if whole:
            mean = sum(weights[part] * found for part, found in known.items()) / whole
            assert chorus.commitment == pytest.approx(100 * chorus.presence * mean)


@pytest.mark.parametrize("choruses", range(1, 13))
def test_perfect_choruses_are_worth_exactly_100_however_many(choruses):
    judgement = judge(CLEAN * choruses, choruses=choruses)
    assert judgement.commitment == 100.0


# ---- the rubric ------------------------------------------------------------------------------


WEIGHTS = st.floats(0, 1e9)
COUNTS = st.integers(1, 500).flatmap(lambda n: st.builds(Count, st.just(n), st.integers(0, n)))


@given(st.tuples(WEIGHTS, WEIGHTS, WEIGHTS), st.tuples(COUNTS, COUNTS, COUNTS), COUNTS)
def test_a_score_is_0_to_100_and_all_of_it_only_for_all(weights, counts, sounding):
    rubric = replace(RUBRIC, weights=dict(zip(RUBRIC.weights, weights, strict=True)))
    given_counts = dict(zip(RUBRIC.weights, counts, strict=True))
    assert (
        0 <= weigh({**given_counts, "presence": sounding}, given_counts, rubric).commitment <= 100
    )
    every = {part: Count(count.marks, 0) for part, count in given_counts.items()}
    assert weigh(every, every, rubric).commitment == 100.0
    none = {part: Count(count.marks, count.marks) for part, count in given_counts.items()}
    assert weigh(none, none, rubric).commitment == (0.0 if any(weights) else 100.0)


def test_only_the_proportions_of_weights_matter():
    notes = CLEAN.replace("Eb3", "E3")
    double = replace(RUBRIC, weights={part: 2 * w for part, w in RUBRIC.weights.items()})
    assert judge(notes, rubric=double).commitment == pytest.approx(judge(notes).commitment)


def test_a_part_that_weighs_nothing_touches_nothing():
    form_only = replace(RUBRIC, weights={"purpose": 0.0, "landings": 0.0, "form": 1.0})
    judgement = judge(CLEAN.replace("Eb3", "E3"), rubric=form_only)
    assert judgement.commitment == 100.0
    assert judgement.costs == ()
    assert judgement.rubric is form_only
    unnamed = replace(RUBRIC, weights={"form": 1.0})
    assert judge(CLEAN.replace("Eb3", "E3"), rubric=unnamed).commitment == 100.0


def test_where_no_part_that_weighs_can_be_earned_presence_alone_counts():
    score = weigh(
        {"purpose": Count(1, 0), "presence": Count(2, 1)},
        ("purpose", "landings"),
        Rubric("", {"landings": 1.0}, "", ""),
    )
    assert score.commitment == 50.0
    assert score.shares == {"purpose": 1.0, "landings": None}


def test_the_packaged_rubric_is_a_whole():
    assert sum(read_rubric(None).weights.values()) == 100


def test_a_share_of_nothing_is_none():
    assert share(None) is None
    assert share(Count(0, 0)) is None
    assert share(Count(4, 1)) == 0.75
