"""Landings, sections and losses in words: what stood where a landing was missed, how late."""

from __future__ import annotations

from dataclasses import replace

import pytest

import linecheck
from linecheck.report import findings_in_words as words
from linecheck.report.findings_in_words import loss_sentences
from linecheck.terms import Loss, Meter, Section
from tests.hand_made_audit import hand_made_audit


@pytest.fixture(scope="module")
def audit():
    return hand_made_audit()


def with_landing(audit, note=None, **changes):
    """The audit with one landing, missed at chorus 2, bar 2, and its note changed."""
    landing = next(x for x in audit.labels.landings if not x.met)
    notes = list(audit.labels.notes)
    if note is not None:
        notes[landing.note] = replace(notes[landing.note], **note)
    labels = replace(audit.labels, notes=tuple(notes), landings=(replace(landing, **changes),))
    return replace(audit, labels=labels)


def test_what_a_landing_was_missed_by(audit):
    cases = {
        "a note outside the chord": {"function": "outside"},
        "a tension": {"function": "tension"},
        "an approach note": {"function": "approach"},
        "a ghost": {"ghost": True, "function": None},
        "a chord tone not struck for it": {"function": "fifth"},
        "a note not judged": {"function": None},
    }
    for said, note in cases.items():
        (sentence,) = words.missed_landing_sentences(with_landing(audit, note))
        assert sentence.startswith("chorus 2 bar 2 (Bb7): B2, the #1: " + said)
        assert words.landing_sentences(with_landing(audit, note))[-1] == f"1 missed: 1 by {said}"


def test_a_landing_where_nothing_was_struck(audit):
    landing = next(x for x in audit.labels.landings if not x.met)
    labels = replace(audit.labels, landings=(replace(landing, note=None, placement_ms=None),))
    silent = replace(audit, labels=labels)
    assert words.missed_landing_sentences(silent) == ["chorus 2 bar 2 (Bb7): nothing struck"]
    assert words.landing_sentences(silent) == ["0 of 1 met", "1 missed: 1 with nothing struck"]


@pytest.mark.parametrize(
    ("placement", "said"),
    [(None, ""), (4.0, ""), (-19.0, ""), (31.4, ", 31 ms late"), (-50.0, ", 50 ms early")],
)
def test_early_and_late_are_told_where_they_are_heard(audit, placement, said):
    (sentence,) = words.missed_landing_sentences(with_landing(audit, placement_ms=placement))
    assert sentence.endswith("a note outside the chord" + said)


def test_only_landings_that_count_are_told(audit):
    uncounted = with_landing(audit, counted=False)
    assert words.missed_landing_sentences(uncounted) == []
    assert words.landing_sentences(uncounted) == ["no landing could be judged"]


def test_no_more_landings_than_asked_for(audit):
    assert words.missed_landing_sentences(audit, 1)[1:] == ["and 1 more"]


def test_pushed_landings_are_named(audit):
    pushed = tuple(
        replace(x, anticipated=x.place.chorus == 1 and x.place.bar == 4)
        for x in audit.labels.landings
    )
    told = words.landing_sentences(replace(audit, labels=replace(audit.labels, landings=pushed)))
    assert told[0].startswith("13 of 15 met, 1 of them pushed to the off-beat before (by root")


def test_sections_in_words(audit):
    assert words.section_sentences(audit) == [
        "section A: clear 3 of 3 times",
        "section B: clear 2 of 3 times; blurred at chorus 2 bar 3",
    ]


def test_a_take_with_nothing_to_judge(audit):
    empty = replace(
        audit,
        line=replace(audit.line, losses=()),
        labels=replace(audit.labels, landings=()),
        judgement=replace(audit.judgement, choruses=(), costs=()),
    )
    assert words.verdict(empty) == "Nothing could be judged."
    assert words.cost_sentences(empty) == []


def test_lists_in_sentences():
    assert words.listed(["1"]) == "1"
    assert words.listed(["1", "2", "3"]) == "1, 2 and 3"
    assert words.listed([str(n) for n in range(9)], 4) == "0, 1, 2, 3 and 5 more"


def a_loss_in_sections(loss, *, form="AABC", judged_bars=16):
    """The sentence on a loss in a chart of sections of two bars each, one chord a bar.

    A begins on the bars 1 and 3, B on bar 5 and C on bar 7.
    """
    audit = hand_made_audit()
    (first, second, *_) = audit.chart.bars
    chords = {
        "A": (first, second),
        "B": (second, first),
        "C": (second, second),
        "D": (first, second),
    }
    bars, sections = [], []
    for name in form:
        sections.append(Section(name, len(bars) + 1, 2))
        for nth, bar in enumerate(chords[name]):
            opens = nth == 0
            bars.append(replace(bar, number=len(bars) + 1, section=name, opens_section=opens))
    chart = replace(audit.chart, bars=tuple(bars), sections=tuple(sections), form=tuple(form))
    line = replace(audit.line, choruses=2, losses=(loss,))
    labels = replace(audit.labels, judged_from=0, judged_to=48 * judged_bars)
    (said,) = loss_sentences(replace(audit, chart=chart, line=line, labels=labels))
    return said.partition("; ")[0]


def test_a_loss_by_whole_sections_names_them():
    ahead = Loss(4 * 48, "ahead", 8.0, 6 * 48, 0.9)  # from B on, for two bars
    assert a_loss_in_sections(ahead) == (
        "chorus 1: from bar 5 you are two bars ahead, playing section C where section B is"
    )
    stays = replace(ahead, recovered_step=None)
    assert a_loss_in_sections(stays).endswith(
        ", playing section C where section B is (section B is left out)"
    )
    # The take ends with the two bars: as the form does, or in the middle of it.
    left_out = ", playing section C where section B is (section B is left out)"
    assert a_loss_in_sections(stays, judged_bars=6).endswith(left_out)
    assert a_loss_in_sections(stays, form="AABCA", judged_bars=6).endswith("where section B is")
    over_the_top = Loss(6 * 48, "ahead", 8.0, None, 0.9)  # the next chorus begins where C is
    assert a_loss_in_sections(over_the_top).endswith(
        "section A where section C is (section C is left out)"
    )
    again = Loss(6 * 48, "behind", -8.0, None, 0.9)
    assert a_loss_in_sections(again).endswith(
        ", playing section B where section C is (section B is played once more)"
    )


def test_a_loss_that_may_as_well_be_another_says_so():
    either_way = Loss(4 * 48, "ahead", 4.0, None, 0.9, other_offsets=(-4.0,))
    same = "(the chords are the same)"
    assert a_loss_in_sections(either_way).endswith(f"you are one bar ahead or behind {same}")
    farther = replace(either_way, other_offsets=(-8.0,))
    assert a_loss_in_sections(farther).endswith(f"one bar ahead or two bars behind {same}")
    many = replace(either_way, other_offsets=(-4.0, -8.0))
    assert a_loss_in_sections(many).endswith(f"one bar ahead or elsewhere {same}")
    by_a_section = Loss(4 * 48, "ahead", 8.0, None, 0.9, other_offsets=(-8.0,))
    assert "left out" not in a_loss_in_sections(by_a_section)


def test_no_sections_are_named_where_that_may_not_be_true():
    one_bar = Loss(4 * 48, "ahead", 4.0, None, 0.9)
    assert a_loss_in_sections(one_bar) == "chorus 1: from bar 5 you are one bar ahead"
    same_name = Loss(0, "ahead", 8.0, None, 0.9)  # the second A for the first
    assert a_loss_in_sections(same_name) == "chorus 1: from bar 1 you are two bars ahead"
    half_way_round = Loss(4 * 48, "ahead", 16.0, None, 0.9)  # or behind, as far
    assert a_loss_in_sections(half_way_round).endswith(", playing section A where section B is")
    within = Loss(5 * 48, "ahead", 8.0, None, 0.9)  # begins in the second bar of B
    assert a_loss_in_sections(within).endswith(", playing section C where section B is")
    sounds_like_another = Loss(4 * 48, "behind", -8.0, None, 0.9)  # D has the chords of A
    assert a_loss_in_sections(sounds_like_another, form="AABD").endswith("two bars behind")


def test_one_file_that_is_chart_and_take_warns_once(tmp_path):
    tune = tmp_path / "short_bar.abc"
    tune.write_text(
        'X:1\nT:Short Bar\nM:4/4\nL:1/4\nK:C clef=bass\n"C7"C,E,G,C|"F7"F,A,C|"C7"C,E,G,C|]\n'
    )
    warnings = linecheck.audit(tune, tune).warnings
    assert any("taken as a full bar" in warning for warning in warnings)
    assert len(set(warnings)) == len(warnings)


def test_walking_that_is_mostly_half_notes_is_in_two(audit):
    """Chorus 1 keeps the notes on one and three, chorus 2 all; the style itself stays walking."""
    in_two = tuple(
        note for note in audit.labels.notes if note.place.chorus != 1 or note.place.beat in (1, 3)
    )
    halves = replace(audit, labels=replace(audit.labels, notes=in_two))
    first, second, third = audit.judgement.choruses
    assert words.style_text(first, halves) == "in two"
    assert words.style_text(first, audit) == words.style_text(second, halves) == "walking"
    assert words.style_text(third, halves) == "mixed"
    waltz = tuple(replace(bar, meter=Meter(3, 4)) for bar in audit.chart.bars)
    in_three = replace(halves, chart=replace(audit.chart, bars=waltz))
    assert words.style_text(first, in_three) == "walking"


def test_the_style_of_every_chorus_is_told_from_one_walk_over_the_notes():
    class Notes(tuple):
        __slots__ = ()
        walks = 0

        def __iter__(self):
            Notes.walks += 1
            return super().__iter__()

    audit = hand_made_audit()
    notes = Notes(audit.labels.notes)
    audit = replace(audit, labels=replace(audit.labels, notes=notes))
    for _ in range(3):
        for score in audit.judgement.choruses:
            words.style_text(score, audit)
    assert Notes.walks <= 1


def test_a_loss_over_a_chart_without_sections_is_told_without_them():
    audit = hand_made_audit()
    bare = replace(audit, chart=replace(audit.chart, sections=()))
    assert len(loss_sentences(bare)) == len(loss_sentences(audit))
    assert not any("playing section" in text for text in loss_sentences(bare))
