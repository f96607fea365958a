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


def played(audit, begin, end):
    """The audit of a take from one bar to another (exclusive), both from 0, without a loss."""
    line = replace(audit.line, losses=(), choruses=-(-end // 4))
    labels = replace(audit.labels, judged_from=begin * 48, judged_to=end * 48)
    return replace(audit, line=line, labels=labels)


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
    assert what_was_good(played(audit, 0, 4 * choruses))[0] == f"you kept the form for {said}"


@pytest.mark.parametrize(
    ("begin", "end", "said"),
    [
        (0, 3, None),  # of one chorus, three of its four bars
        (1, 4, None),
        (0, 10, "all three choruses"),  # the last chorus ends on its third bar: the tonic
        (0, 9, "the two choruses that you played whole"),
        (1, 12, "the two choruses that you played whole"),
        (1, 9, "the one chorus that you played whole"),
        (2, 5, None),
    ],
)
def test_no_praise_for_a_chorus_that_was_not_played_whole(audit, begin, end, said):
    (kept, *_) = [*what_was_good(played(audit, begin, end), 10)]
    assert (kept == f"you kept the form for {said}") if said else ("form" not in kept)


def test_landings_and_the_strongest_chorus_are_of_whole_choruses(audit):
    assert "every landing is met in chorus 3" in what_was_good(played(audit, 2, 12), 10)
    assert not any("every landing" in text for text in what_was_good(played(audit, 2, 9), 10))
    whole = what_was_good(played(audit, 0, 12), 10)
    assert whole[-1] == "chorus 1 is your strongest, with 98 of 100"
    assert not any("strongest" in text for text in what_was_good(played(audit, 2, 9), 10))
    nowhere_whole = played(audit, 2, 5)
    assert what_was_good(nowhere_whole, 10) == ["your commitment is 84 of 100"]


def test_a_loss_that_is_only_possible_leaves_the_form_kept(audit):
    (perhaps,) = [loss for loss in audit.line.losses if not loss.certain]
    assert what_was_good(with_losses(audit, perhaps))[0].startswith("you kept the form")


def test_the_quickest_way_back_is_praised(audit):
    slow = Loss(0, "ahead", 4.0, 192, 0.9)
    quick = Loss(240, "behind", -4.0, 288, 0.9)
    assert what_was_good(with_losses(audit, slow, quick))[0] == (
        "in chorus 2 you found your way back after one bar"
    )
    brief = Loss(300, "behind", -4.0, 528, 0.9)  # the take ends a bar later
    assert what_was_good(with_losses(audit, slow, brief))[0] == (
        "in chorus 1 you found your way back after four bars"
    )
    again = Loss(240, "behind", -4.0, 480, 0.9)  # two bars from the end
    assert "in chorus 2 you found your way back after five bars" in what_was_good(
        with_losses(audit, again)
    )
    for next_loss in (Loss(312, "ahead", 4.0, None, 0.9), Loss(288, "ahead", 4.0, None, 0.9)):
        away = with_losses(audit, quick, next_loss)
        assert not any("way back" in text for text in what_was_good(away, 10))
    lost_for_nine_bars = Loss(0, "behind", -4.0, 9 * 48, 0.9)  # more than a chorus
    away = with_losses(audit, lost_for_nine_bars)
    assert not any("way back" in text for text in what_was_good(away, 10))
    gone = Loss(240, "behind", -4.0, None, 0.9)
    assert not any("way back" in text for text in what_was_good(with_losses(audit, gone), 10))


def test_purpose_is_praised_from_nine_in_ten_on(audit):
    audit = with_losses(audit)
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
    guided = replace(with_losses(audit), labels=replace(audit.labels, landings=landings))
    assert "38 % of the landings met are on a third or a seventh" in what_was_good(guided, 10)


def test_a_take_of_one_weak_chorus_still_has_something(audit):
    (first, *_) = audit.judgement.choruses
    weak = replace(
        audit,
        line=replace(audit.line, choruses=1, losses=(Loss(0, "adrift", None, None, 0.9),)),
        labels=replace(audit.labels, notes=(), landings=()),
        judgement=replace(
            audit.judgement,
            choruses=(replace(first, landings=0.5, commitment=31.0),),
            commitment=31.0,
        ),
    )
    assert what_was_good(weak)[-1] == "your commitment is 31 of 100"


def test_a_chorus_is_the_strongest_only_where_it_stands_out(audit):
    kept = played(audit, 0, 12)
    for first, praised in ((80.0, False), (82.0, False), (90.0, True)):
        scores = tuple(
            replace(score, commitment=commitment)
            for score, commitment in zip(kept.judgement.choruses, (first, 80.0, 80.0), strict=True)
        )
        equal = replace(kept, judgement=replace(kept.judgement, choruses=scores))
        assert any("strongest" in text for text in what_was_good(equal, 10)) == praised


def test_what_was_played_out_of_place_is_no_accident_to_praise(audit):
    """Chorus 3 runs a bar ahead from its bar 2 on: all that it holds there is left out."""
    kept, lost = played(audit, 0, 12), audit
    assert "every landing is met in choruses 1 and 3" in what_was_good(kept, 10)
    assert "every landing is met in chorus 1" in what_was_good(lost, 10)
    assert any(text.startswith("6 notes lead") for text in what_was_good(kept, 10))
    assert any(text.startswith("5 notes lead") for text in what_was_good(lost, 10))
    everywhere = with_losses(audit, Loss(0, "ahead", 4.0, None, 0.9))
    guided = tuple(replace(x, function="third") for x in audit.labels.landings)
    by_accident = replace(everywhere, labels=replace(audit.labels, landings=guided))
    assert what_was_good(by_accident, 10) == ["your commitment is 84 of 100"]


def test_purpose_is_counted_where_the_line_is_in_place(audit):
    """The two notes outside of chorus 2 are all that stand outside before bar 2 of chorus 3."""
    notes = tuple(
        replace(note, function="root") if note.function == "outside" else note
        for note in audit.labels.notes
    )
    lost = replace(audit, labels=replace(audit.labels, notes=notes))
    assert "every note has a purpose where you are in place" in what_was_good(lost, 10)


def test_guide_tones_on_landings_that_are_met_by_chance(audit):
    """Half of the landings, each by a third: so many are met by any scale."""
    guided = tuple(
        replace(x, function="third", met=bool(n % 2)) for n, x in enumerate(audit.labels.landings)
    )
    chance = replace(played(audit, 0, 12), labels=replace(audit.labels, landings=guided))
    assert not any("third or a seventh" in text for text in what_was_good(chance, 10))
