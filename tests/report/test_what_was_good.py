"""What was good: every take with a note has something to keep, and nothing is made up."""

from __future__ import annotations

from dataclasses import replace

import pytest

from linecheck.report.what_was_good import what_was_good
from linecheck.terms import Loss
from tests.hand_made_audit import hand_made_audit


@pytest.fixture(scope="module")
def audit():
    return hand_made_audit()


def with_losses(audit, *losses):
    return replace(audit, line=replace(audit.line, losses=losses))


def test_the_strongest_come_first_and_no_more_than_asked_for(audit):
    kept = with_losses(audit)
    assert what_was_good(kept, 2) == [
        "you kept the form for all three choruses",
        "every landing is met in choruses 1 and 3",
    ]
    assert len(what_was_good(kept, 10)) > 3


@pytest.mark.parametrize(
    ("choruses", "said"), [(1, "the whole chorus"), (2, "both choruses"), (20, "all 20 choruses")]
)
def test_the_form_that_was_kept(audit, choruses, said):
    line = replace(audit.line, losses=(), choruses=choruses)
    assert what_was_good(replace(audit, line=line))[0] == f"you kept the form for {said}"


def test_a_loss_that_is_only_possible_leaves_the_form_kept(audit):
    (perhaps,) = [loss for loss in audit.line.losses if not loss.certain]
    assert what_was_good(with_losses(audit, perhaps))[0].startswith("you kept the form")


def test_the_quickest_way_back_is_praised(audit):
    slow = Loss(0, "ahead", 4.0, 192, 0.9)
    quick = Loss(240, "behind", -4.0, 288, 0.9)
    assert what_was_good(with_losses(audit, slow, quick))[0] == (
        "in chorus 2 you found your way back after one bar"
    )
    gone = Loss(240, "behind", -4.0, None, 0.9)
    assert not any("way back" in text for text in what_was_good(with_losses(audit, gone), 10))


def test_purpose_is_praised_from_nine_in_ten_on(audit):
    scores = audit.judgement.choruses
    none_outside = tuple(
        replace(score, functions={**score.functions, "outside": 0}) for score in scores
    )
    pure = replace(audit, judgement=replace(audit.judgement, choruses=none_outside))
    assert "every note has a purpose" in what_was_good(pure, 10)
    assert not any("purpose" in text for text in what_was_good(audit, 10))  # 89 %
    one_outside = tuple(
        replace(score, functions={**score.functions, "outside": 1}) for score in scores
    )
    nearly = replace(audit, judgement=replace(audit.judgement, choruses=one_outside))
    assert "93 % of your notes have a purpose" in what_was_good(nearly, 10)


def test_sections_are_praised_only_where_all_are_clear(audit):
    clear = tuple(replace(score, clear=True) for score in audit.judgement.sections)
    shown = replace(audit, judgement=replace(audit.judgement, sections=clear))
    assert "all 6 section boundaries can be heard in the line" in what_was_good(shown, 10)
    assert not any("boundaries" in text for text in what_was_good(audit, 10))


def test_thirds_and_sevenths_on_landings(audit):
    landings = tuple(
        replace(x, function="seventh" if x.met and x.place.bar == 2 else x.function)
        for x in audit.labels.landings
    )
    guided = replace(audit, labels=replace(audit.labels, landings=landings))
    assert "38 % of the landings met are on a third or a seventh" in what_was_good(guided, 10)


def test_a_take_of_one_weak_chorus_still_has_something(audit):
    (first, *_) = audit.judgement.choruses
    weak = replace(
        audit,
        line=replace(audit.line, choruses=1, losses=(Loss(0, "adrift", None, None, 0.9),)),
        labels=replace(audit.labels, notes=(), landings=()),
        judgement=replace(
            audit.judgement, choruses=(replace(first, landings=0.5, commitment=31.0),)
        ),
    )
    assert what_was_good(weak)[-1] == "your commitment is 31 of 100"
