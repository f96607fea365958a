"""Courses: like is compared with like, each take once, and nothing is claimed of few takes."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise, permutations
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import kendalltau

from linecheck.faults import JournalFault, OptionFault
from linecheck.journal import anonymous, courses, entries, progress, record
from linecheck.journal.course import shown_name
from linecheck.journal.direction import chance, directions
from tests.journal.invented_entries import LOST, entry_like

LANDINGS_FIRST = {
    "weights": {"purpose": 0.3, "landings": 0.5, "form": 0.2},
    "rubric": "Landings first",
    "rubric_fingerprint": "r2",
}


def day(number):
    return (date(2026, 3, 1) + timedelta(days=7 * number)).isoformat()


def takes(commitments, **more):
    return [
        entry_like(date=day(n), take=f"{n}.mid", commitment=c, **more)
        for n, c in enumerate(commitments)
    ]


def dated(values):
    return [(day(n), value) for n, value in enumerate(values)]


def trend(course, name):
    return next(t for t in course.trends if t.measure.name == name)


# ---- direction -------------------------------------------------------------------------------


@pytest.mark.parametrize("many", [4, 5, 6, 7])
def test_the_chance_is_that_of_all_orders_counted(many):
    scores = [
        sum((b > a) - (b < a) for i, a in enumerate(order) for b in order[i + 1 :])
        for order in permutations(range(many))
    ]
    for score in set(scores):
        counted = sum(abs(s) >= abs(score) for s in scores) / len(scores)
        assert chance(many, score) == pytest.approx(counted)


@given(st.permutations(range(12)))
def test_the_chance_is_that_of_scipy(values):
    # scipy.stats.kendalltau, method "exact": an outside implementation of the same test
    score = sum((b > a) - (b < a) for i, a in enumerate(values) for b in values[i + 1 :])
    outside = kendalltau(range(12), values, method="exact")
    assert chance(12, score) == pytest.approx(outside.pvalue)


def test_of_many_takes_the_chance_is_nearly_the_exact_one():
    values = Random(4).sample(range(80), 80)
    score = sum((b > a) - (b < a) for i, a in enumerate(values) for b in values[i + 1 :])
    outside = kendalltau(range(80), values, method="exact")
    assert chance(80, score) == pytest.approx(outside.pvalue, abs=0.01)


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ([1], "too few"),
        ([1, 2, 3, 4], "too few"),
        ([1, 2, 3, 4, 5], "rising"),
        ([5, 4, 3, 2, 1], "falling"),
        ([1, 2, 4, 3, 5], "rising"),
        ([1, 2, 5, 4, 3], "unclear"),
        ([5, 5, 5, 5, 5], "unclear"),
        ([60, 64, 62, 70, 74, 73, 80], "rising"),
    ],
)
def test_a_direction_is_told_only_where_chance_seldom_gives_it(values, told):
    assert directions([dated(values)]) == [told]


@pytest.mark.parametrize("many", [5, 6, 8, 12])
def test_chance_alone_seldom_gives_any_direction_in_a_course_of_five_measures(many):
    draw = Random(11)
    told = sum(
        {"rising", "falling"}
        & set(directions([dated([draw.random() for _ in range(many)]) for _ in range(5)]))
        != set()
        for _ in range(1000)
    )
    assert told / 1000 < 0.1


def test_of_many_measures_each_has_to_be_clearer_but_one_that_is_clear_makes_room():
    up, nearly = dated([1, 2, 3, 4, 5]), dated([1, 2, 3, 5, 4])  # 2 and 10 of 120 orders
    assert directions([nearly]) == ["rising"]
    assert directions([nearly, nearly]) == ["unclear", "unclear"]
    assert directions([up, nearly]) == ["rising", "rising"]
    assert directions([nearly, dated([3, 2, 1])]) == ["rising", "too few"]  # it had no chance
    assert directions([up] * 5) == ["rising"] * 5


def test_takes_of_one_day_are_no_course():
    assert directions([[(day(0), value) for value in range(6)]]) == ["too few"]


# ---- like with like --------------------------------------------------------------------------


def test_a_course_is_one_student_over_one_chart():
    entries = [
        *takes([60, 70]),
        *takes([50], student="Åsa"),
        *takes([55], student=""),
        *takes([80], chart="Attic Window", chart_key="c2", take_key="a"),
        *takes([90], kind="written", grid="written", take_key="w"),
    ]
    found = courses(entries)
    assert [(c.student, c.chart, c.kind, len(c.points)) for c in found] == [
        ("Mira", "Gatepost Blues", "played", 2),
        ("Mira", "Attic Window", "played", 1),
        ("Mira", "Gatepost Blues", "written", 1),
        ("Åsa", "Gatepost Blues", "played", 1),
        ("", "Gatepost Blues", "played", 1),
    ]
    assert [c.student for c in courses(entries, student="Åsa")] == ["Åsa"]


def test_a_change_of_the_rubric_is_marked_and_commitment_is_compared_within():
    entries = takes([60, 62, 64, 66]) + [
        entry_like(date=day(n), take=f"{n}.mid", commitment=c, **LANDINGS_FIRST)
        for n, c in ((4, 90), (5, 80))
    ]
    (course,) = courses(entries)
    assert [p.breaks for p in course.points] == [(), (), (), (), ("rubric",), ()]
    commitment = trend(course, "commitment")
    assert (commitment.takes, commitment.first, commitment.last) == (2, 90, 80)
    assert commitment.direction == "too few"
    assert commitment.better is None
    assert trend(course, "landings").takes == 6  # landings ask for no rubric


def test_a_rubric_of_another_name_that_weighs_alike_is_no_change():
    entries = [*takes([60]), entry_like(date=day(1), take="1.mid", rubric_fingerprint="r9")]
    assert [p.breaks for p in courses(entries)[0].points] == [(), ()]


def test_a_take_judged_by_two_rubrics_counts_once_by_the_one_used_last():
    old = takes([60, 62, 64])
    again = [
        entry_like(date=day(n), take=f"{n}.mid", commitment=c, **LANDINGS_FIRST)
        for n, c in ((1, 71), (2, 73))
    ]
    in_order = sorted([*old, *again], key=lambda e: e.date)
    (course,) = courses(in_order)
    assert [p.entry.commitment for p in course.points] == [60, 71, 73]
    assert [p.breaks for p in course.points] == [(), ("rubric",), ()]


def test_the_rubric_used_last_is_that_of_the_last_judging_whatever_the_day_of_the_take(tmp_path):
    first, second = takes([60, 62])
    by_other = [{**LANDINGS_FIRST, "commitment": c} for c in (70, 72)]
    file = tmp_path / "class.journal"
    record(file, [first, second])
    record(file, [replace(first, **by_other[0])])
    (course,) = courses(entries(file))
    assert [p.entry.commitment for p in course.points] == [70, 62]
    record(file, [replace(second, **by_other[1])])
    record(file, [first])
    (course,) = courses(entries(file))
    assert [p.entry.commitment for p in course.points] == [60, 62]
    assert courses(sorted(entries(file), key=lambda e: e.commitment)) == (course,)


def test_the_take_that_is_in_a_file_now_comes_after_the_one_it_replaced(tmp_path):
    file = tmp_path / "class.journal"
    lost = entry_like(commitment=75, take_key="z")
    clean = entry_like(commitment=100, take_key="a")
    for handed_in in (lost, clean, clean):
        record(file, [handed_in, entry_like(take="another.mid", commitment=80)], settled=True)
    (course,) = courses(entries(file))
    assert [p.entry.commitment for p in course.points] == [80, 75, 100]
    record(file, [lost], settled=True)
    (course,) = courses(entries(file))
    assert [p.entry.commitment for p in course.points] == [80, 100, 75]


def test_time_is_compared_on_one_grid_alone():
    entries = [
        entry_like(date=day(n), take=f"{n}.mid", placement_spread_ms=ms, grid=grid)
        for n, (ms, grid) in enumerate([(5, "tracked"), (30, "tempo-map"), (20, "tempo-map")])
    ]
    (course,) = courses(entries)
    assert [p.breaks for p in course.points] == [(), ("grid",), ()]
    placement = trend(course, "placement")
    assert (placement.takes, placement.first, placement.last) == (2, 30, 20)


def test_lower_is_better_where_it_is():
    entries = [
        entry_like(
            date=day(n), take=f"{n}.mid", losses=(LOST,) * (4 - n), placement_spread_ms=20 + n,
            tempo_change=-0.05 + 0.01 * n,
        )
        for n in range(5)
    ]  # fmt: skip
    (course,) = courses(entries)
    told = {t.measure.name: (t.direction, t.better) for t in course.trends}
    assert told["losses"] == ("falling", True)
    assert told["placement"] == ("rising", False)
    assert told["drift"] == ("falling", True)  # slower by 5 %, then by 1 %
    assert told["commitment"] == ("unclear", None)


def test_what_a_take_does_not_show_is_left_out():
    entries = [
        entry_like(date=day(0), placement_spread_ms=None, tempo_change=None, landings_asked=0)
    ]
    (course,) = courses(entries)
    assert [t.measure.name for t in course.trends] == ["commitment", "losses"]


# ---- whose -----------------------------------------------------------------------------------


def test_courses_are_by_class_where_it_is_known():
    entries = takes([60], student="Anna", class_name="Mo") + takes([70], student="Anna")
    assert [len(c.points) for c in courses(entries)] == [1]  # the same take, judged once
    entries += takes([50, 55], student="Anna", class_name="Do")
    assert [(shown_name(c), len(c.points)) for c in courses(entries)] == [
        ("Anna (no class)", 1),
        ("Anna (Do)", 2),
        ("Anna (Mo)", 1),
    ]
    assert [shown_name(c) for c in courses(entries, student="Anna (Do)")] == ["Anna (Do)"]


# ---- anonymous -------------------------------------------------------------------------------


def test_nothing_of_a_name_is_left_and_the_order_says_nothing():
    names = ["Ada", "Bea", "Cleo", "Dora", "Edda", "Fenja"]
    entries = [e for name in names for e in takes([60, 70], student=name)]
    hidden = anonymous(courses(entries))
    assert [c.student for c in hidden] == [f"Student {n}" for n in range(1, 7)]
    text = repr(hidden)
    assert not any(name in text for name in names)
    assert ".mid" not in text
    numbers = [anonymous(courses(entries), student=name)[0].student for name in names]
    assert sorted(numbers) == [f"Student {n}" for n in range(1, 7)]
    assert any(b < a for a, b in pairwise(numbers))


def test_a_number_stays_when_takes_are_added():
    entries = [e for name in ("Ada", "Bea", "Cleo") for e in takes([60], student=name)]
    before = {n: anonymous(courses(entries), student=n)[0].student for n in ("Ada", "Bea", "Cleo")}
    entries.append(entry_like(student="Bea", date=day(5), take="later.mid"))
    after = {n: anonymous(courses(entries), student=n)[0].student for n in ("Ada", "Bea", "Cleo")}
    assert before == after


# ---- finding the journal and the student -----------------------------------------------------


@pytest.fixture
def journal(tmp_path):
    file = tmp_path / "class.journal"
    record(file, takes([60, 70]) + takes([50], student="Åsa Berg") + takes([40], student=""))
    return file


def test_a_folder_stands_for_the_journal_in_it(journal):
    assert progress(journal.parent) == progress(journal)
    with pytest.raises(JournalFault, match=r"there is no class\.journal in it; grade the folder"):
        progress(journal.parent.parent)


def test_a_student_is_found_whatever_the_capitals(journal):
    assert {c.student for c in progress(journal, student="åsa  berg")} == {"Åsa Berg"}


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("Mria", "is of 'Mria'; did you mean Mira"),
        ("Berk", "did you mean Åsa Berg"),
        ("Quentin", "there are Mira, Åsa Berg$"),
    ],
)
def test_an_unknown_student_is_told(journal, name, says):
    with pytest.raises(OptionFault, match=says):
        progress(journal, student=name)


def test_an_unknown_student_is_told_no_name_where_names_are_hidden(journal):
    with pytest.raises(OptionFault, match=r"no take is of 'Mria'$"):
        progress(journal, student="Mria", hide=True)
