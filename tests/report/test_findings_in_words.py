"""Landings, sections and losses in words: what stood where a landing was missed, how late."""

from __future__ import annotations

from dataclasses import replace

import pytest

from linecheck.report import findings_in_words as words
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
