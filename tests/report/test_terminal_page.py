"""The terminal report: what it says, how wide it is, and what is left when much is to be said."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from linecheck.report import findings_in_words as words
from linecheck.report.as_html import write_html
from linecheck.report.as_terminal import terminal_page
from linecheck.report.chart_as_terminal import bar_text, chart_page
from linecheck.report.form_strip import ChorusStrip, form_strips
from linecheck.report.handout import handout
from linecheck.report.page import Page, cells, fit, fit_apart
from linecheck.report.what_was_good import what_was_good
from linecheck.terms import Bar, BarCost, ChartChord, FormSpan, Loss, Meter, Remark
from tests.hand_made_audit import BB7, C7, F7, GM7, NO_CHORD, bar, hand_made_audit, hand_made_chart

GONE = "not back in place before the take ends"
ADRIFT = "the line fits no place in the form"


@pytest.fixture(scope="module")
def audit():
    return hand_made_audit()


def test_the_answer_comes_first(audit):
    lines = terminal_page(audit).as_text().splitlines()
    assert lines[4] == "  Commitment 84 of 100"
    assert "The form is lost once, in chorus 3;" in lines[5]


@pytest.mark.parametrize("width", [40, 60, 80])
def test_no_sentence_is_wider_than_the_screen(audit, width):
    text = terminal_page(audit, width=width, full=True).as_text()
    table = [line for line in text.splitlines() if len(line) > width]
    assert table == []
    assert all(len(line) <= 80 for line in text.splitlines())


def test_where_the_table_does_not_fit_its_figures_are_told(audit):
    row = "     3  mixed     16     94 %     100 %   25 %     100 %          75"
    assert f"{row}  ########\n" in terminal_page(audit).as_text()
    assert f"{row}\n" in terminal_page(audit, width=70).as_text()
    told = " ".join(terminal_page(audit, width=60).as_text().split())
    assert (
        "3: commitment 75; mixed, 16 notes; purpose 94 %, landings 100 %, form 25 %, presence 100 %"
        in told
    )


def test_colour_only_repeats_the_characters(audit):
    page = terminal_page(audit)
    stripped = "\n".join(line.rstrip() for line in page.as_rich().plain.splitlines()) + "\n"
    assert stripped == page.as_text()


def test_brief_leaves_the_details_out(audit):
    text = terminal_page(audit, brief=True).as_text()
    assert "Commitment" in text
    assert "Form, one character a bar" in text
    assert "What cost most" not in text
    assert words.CAUTION[:20] in text


def test_wide_characters_take_two_cells():
    page = Page(width=20)
    page.say("日本の歌 " * 5 + "低" * 30)
    text = page.as_text()
    assert max(cells(line) for line in text.splitlines()) in (19, 20)
    assert text.count("歌") == 5
    assert text.count("低") == 30
    assert set(text) == set("日本の歌低 \n")


def test_titles_of_any_kind_do_no_harm():
    evil = "A\x1b[2J\nB" + "x" * 300
    text = terminal_page(hand_made_audit(title=evil, source="a\x1b]0;b.mid")).as_text()
    assert "\x1b" not in text
    assert all(len(line) <= 80 for line in text.splitlines())


# ---- the form --------------------------------------------------------------------------------


def test_the_strip_shows_each_bar(audit):
    strips = form_strips(audit)
    assert [strip.bars for strip in strips] == [
        ("in place", "in place", "in place", "in place"),
        ("in place", "missed", "missed", "in place"),
        ("in place", "ahead", "ahead", "ahead"),
    ]
    assert [strip.spotless for strip in strips] == [True, False, False]


def test_a_bar_that_is_lost_in_part_is_lost(audit):
    spans = (FormSpan(0, 50, 0.0, 1.0), FormSpan(50, 60, None, 1.0), FormSpan(60, 576, -2.0, 1.0))
    strips = form_strips(replace(audit, line=replace(audit.line, spans=spans)))
    assert strips[0].bars == ("in place", "adrift", "behind", "behind")


def test_what_no_span_covers_was_not_played(audit):
    spans = (FormSpan(0, 400, 0.0, 1.0),)
    quiet = replace(
        audit,
        line=replace(audit.line, spans=spans),
        labels=replace(audit.labels, landings=(), notes=audit.labels.notes[:5]),
    )
    strips = form_strips(quiet)
    assert strips[0].bars == ("in place", "silent", "silent", "silent")
    assert strips[2].bars == ("silent", "unplayed", "unplayed", "unplayed")


@pytest.mark.parametrize(
    ("beats", "said"),
    [
        (4, "one bar"), (-8, "two bars"), (1, "one beat"), (-2, "two beats"), (0.5, "0.5 beats"),
        (5, "one bar and one beat"), (64, "16 bars"), (10.5, "two bars and 2.5 beats"),
    ],
)  # fmt: skip
def test_distances(beats, said):
    assert words.distance_in_words(beats, hand_made_chart()) == said


def test_distances_in_bars_need_bars_of_one_length():
    bars = (bar(1, "A", F7, opens=True), Bar(2, "A", Meter(3, 4), (ChartChord(F7, 0, 36),), False))  # noqa: FBT003
    assert words.distance_in_words(7, replace(hand_made_chart(), bars=bars)) == "seven beats"


def test_one_sentence_a_loss(audit):
    assert words.loss_sentences(audit) == [
        f"chorus 3: from bar 2 you are one bar ahead; {GONE} (93 % sure)",
    ]
    losses = (
        Loss(96, "behind", -2.0, 192, 0.9),
        Loss(198, "adrift", None, 240, 0.9),
    )
    lost = replace(audit, line=replace(audit.line, losses=losses))
    assert words.loss_sentences(lost) == [
        "chorus 1: from bar 3 you are two beats behind; back in place at chorus 2 bar 1 (90 % sure)",
        f"chorus 2: from bar 1 beat 1.5 {ADRIFT}; back in place at bar 2 (90 % sure)",
    ]
    assert words.verdict(lost).startswith("The form is lost twice, in choruses 1 and 2;")


def test_it_is_told_what_the_sureness_of_a_loss_is_of(audit):
    told = words.how_sure(audit)
    assert told == "That is how sure the loss is; it may begin a bar earlier or later."
    assert terminal_page(audit, brief=True).as_text().count(told) == 1
    assert told in write_html(audit)
    doubted = replace(audit, warnings=(*audit.warnings, Remark("made", "beginning")))
    assert "is, if chorus 1 begins where it was taken to; " in words.how_sure(doubted)


def test_of_a_loss_that_runs_into_another_it_is_said(audit):
    losses = (Loss(96, "behind", -2.0, None, 0.9), Loss(198, "adrift", None, 240, 0.9))
    first, second = words.loss_sentences(replace(audit, line=replace(audit.line, losses=losses)))
    assert "; not back in place before the next loss, at chorus 2 bar 1 beat 1.5 (90 %" in first
    assert "; back in place at bar 2 " in second


def test_a_take_without_a_loss_is_told_so(audit):
    kept = replace(audit, line=replace(audit.line, losses=()))
    assert words.how_sure(kept) not in terminal_page(kept).as_text()
    assert words.how_sure(kept) not in write_html(kept)
    assert words.verdict(kept).startswith("The form is kept throughout; 89 % of the notes")
    assert what_was_good(kept)[0] == "you kept the form for all three choruses"


def test_bars_cost_what_their_parts_cost_together(audit):
    costs = (
        BarCost(1, 2, "A", "form", 1.5, "one bar ahead"),
        BarCost(1, 1, "A", "landings", 1.2, "B2"),
        BarCost(1, 1, "A", "purpose", 0.4, "C3"),
    )
    dear = replace(audit, judgement=replace(audit.judgement, costs=costs))
    assert words.cost_sentences(dear) == [
        "chorus 1 bar 1 (section A), 1.6 points: landings: B2; purpose: C3",
        "chorus 1 bar 2 (section A), 1.5 points: form: one bar ahead",
    ]
    assert len(words.cost_sentences(dear, 1)) == 1


def test_a_loss_costs_as_one(audit):
    costs = (
        BarCost(2, 4, "B", "purpose", 2.0, "B2"),
        BarCost(3, 2, "A", "form", 1.5, "1 bar ahead"),
        BarCost(3, 3, "B", "landings", 1.2, "B2"),
    )
    dear = replace(audit, judgement=replace(audit.judgement, costs=costs))
    assert words.cost_sentences(dear) == [
        "chorus 3 bar 2 to 3, 2.7 points: one bar ahead (form, landings)",
        "chorus 2 bar 4 (section B), 2.0 points: purpose: B2",
    ]


def test_nobody_is_wholly_sure(audit):
    loss = replace(audit.line.losses[0], confidence=1.0)
    sure = replace(audit, line=replace(audit.line, losses=(loss,)))
    assert words.loss_sentences(sure)[0].endswith("(99 % sure)")


# ---- long takes ------------------------------------------------------------------------------


def long_audit(audit, choruses=200):
    """The first two choruses again and again, and a few losses."""
    scores = tuple(
        replace(audit.judgement.choruses[number % 2], chorus=number + 1)
        for number in range(choruses)
    )
    spans = (FormSpan(0, 192 * choruses, 0.0, 1.0),)
    return replace(
        audit,
        line=replace(audit.line, choruses=choruses, spans=spans, losses=()),
        judgement=replace(audit.judgement, choruses=scores),
    )


def test_a_long_take_is_summed_up(audit):
    text = terminal_page(long_audit(audit)).as_text()
    assert len(text.splitlines()) < 75
    assert "These are the weakest 8. The other 192:" in text
    assert "4-200" in text  # clean choruses in a row share a line
    below = text[text.index("Form, one character a bar") :]
    assert "\n    all  .1  1.\n" in below


def test_a_long_take_of_little_troubles_keeps_the_worst_lines(audit):
    long = long_audit(audit, 100)
    missed = tuple(
        replace(landing, place=replace(landing.place, chorus=chorus))
        for chorus in range(1, 101)
        for landing in audit.labels.landings
        if not landing.met and (chorus % 2 or landing.place.bar == 2)
    )
    text = terminal_page(replace(long, labels=replace(long.labels, landings=missed))).as_text()
    assert "\n    all  .9  5.\n" in text
    assert "84 choruses of no more trouble than these not shown" in text
    assert "      1  .x  x.\n      3" in text


def test_costs_of_a_long_take_are_told_bar_by_bar(audit):
    costs = tuple(BarCost(chorus, 2, "A", "landings", 0.1, "B2") for chorus in range(1, 51))
    long = long_audit(audit)
    long = replace(long, judgement=replace(long.judgement, costs=costs))
    assert words.cost_sentences(long) == [
        "bar 2 (section A) in 50 choruses, 5.0 points: landings 50 times"
    ]


def test_names_of_sections_keep_to_their_room(audit):
    names = ("Introduction", "茶の間", "C")
    bars = tuple(bar(n + 1, names[n // 4], F7, opens=n % 4 == 0) for n in range(12))
    text = terminal_page(replace(audit, chart=replace(hand_made_chart(), bars=bars))).as_text()
    assert "         Intr~ 茶の~ C\n" in text


def test_full_shows_every_chorus(audit):
    text = terminal_page(long_audit(audit), full=True).as_text()
    assert text.count("  walking  ") == 200


def test_a_form_longer_than_the_screen_is_shown_in_pieces(audit):
    many = tuple(bar(n + 1, "AB"[n // 32], F7, opens=n % 32 == 0) for n in range(64))
    chart = replace(hand_made_chart(), bars=many)
    text = terminal_page(replace(audit, chart=chart), brief=True).as_text()
    below = text[text.index("Form, one character a bar") :].splitlines()
    assert sum(line.startswith("      1") for line in below) == 2
    assert all(len(line) <= 80 for line in text.splitlines())


def test_the_pieces_of_a_long_form_are_numbered_by_bar(audit):
    many = tuple(bar(n + 1, "A", F7, opens=n == 0) for n in range(40))
    long = replace(audit, chart=replace(hand_made_chart(), bars=many))
    for width, first in ((80, (1, 33)), (48, (1, 33)), (40, (1, 25)), (32, (1, 17, 33))):
        lines = terminal_page(long, width=width, brief=True).as_text().splitlines()
        numbers = [int(n) for n in re.findall(r"^ *bar (\d+)  ", "\n".join(lines), re.MULTILINE)]
        assert numbers == list(first)
        assert all(len(line) <= width for line in lines)
    short = terminal_page(audit, brief=True).as_text()
    assert "         A   B\n" in short


# ---- silence and the edges -------------------------------------------------------------------


def with_scores(audit, **changes):
    """Chorus 2 with other figures, and no form loss."""
    scores = [replace(s, **changes) if s.chorus == 2 else s for s in audit.judgement.choruses]
    judgement = replace(audit.judgement, choruses=tuple(scores))
    return replace(audit, judgement=judgement, line=replace(audit.line, losses=()))


def test_a_chorus_without_notes_is_silent_and_shows_no_form(audit):
    silent = with_scores(audit, notes=0, purpose=None, functions={}, form=1.0)
    assert words.verdict(silent).startswith("The form is kept where you play; chorus 2 is silent; ")
    assert what_was_good(silent)[0] == "you kept the form for the two choruses that you played"
    row = next(x for x in terminal_page(silent).as_text().splitlines() if x.startswith("     2  s"))
    assert row.split()[:7] == ["2", "silent", "0", "-", "60", "%", "-"]
    told = handout(silent).choruses[1]
    assert (told.style, told.form) == ("silent", "-")


def test_where_no_chorus_has_notes_nothing_is_said_of_silence(audit):
    scores = tuple(replace(s, notes=0) for s in audit.judgement.choruses)
    nothing = replace(audit, judgement=replace(audit.judgement, choruses=scores))
    assert words.silent_choruses(nothing) == []


def test_notes_before_the_form_are_counted_apart(audit):
    assert words.notes_counted(audit) == "49 notes, 1 of them before chorus 1"
    assert "49 notes, 1 of them before chorus 1" in terminal_page(audit).as_text()
    assert handout(audit).take.endswith("49 notes, 1 of them before chorus 1")
    own = replace(audit.labels, notes=audit.labels.notes[1:])
    assert words.notes_counted(replace(audit, labels=own)) == "48 notes"


@pytest.mark.parametrize(
    ("rest", "told"),
    [
        ([99.0, 99.8, 100.0], "99 to 100, at least half of them 100"),
        ([99.6, 100.0, 100.0], "100"),
        ([60.0, 60.1, 80.0], "60 to 80, at least half of them 60"),
        ([60.0, 70.0, 80.0], "60 to 80, half of them 70 or more"),
    ],
)
def test_the_middle_of_the_other_choruses_is_told_where_it_tells_something(audit, rest, told):
    one = audit.judgement.choruses[0]
    marks = [10.0] * 8 + rest * 3
    low = tuple(replace(one, chorus=n, commitment=mark) for n, mark in enumerate(marks, 1))
    many = replace(audit, judgement=replace(audit.judgement, choruses=low))
    text = " ".join(terminal_page(many, brief=True).as_text().split())
    assert f"commitment {told}. --full" in text


def test_what_cost_next_to_nothing_is_only_told_in_full(audit):
    costs = (BarCost(1, 2, "A", "form", 0.03, "late"),)
    cheap = replace(audit, judgement=replace(audit.judgement, costs=costs))
    assert words.cost_sentences(cheap) == []
    assert "What cost most" not in terminal_page(cheap).as_text()
    full = terminal_page(cheap, full=True).as_text()
    assert "chorus 1 bar 2 (section A), less than 0.1 points: form: late" in full


# ---- the chart -------------------------------------------------------------------------------


def test_a_chart_is_printed_as_it_would_be_written():
    text = chart_page(hand_made_chart()).as_text()
    assert "key F, 4/4, 120 quarter notes a minute, swing" in text
    assert "   3  | Gm7 C7/E | F7       |" in text
    assert "C7/E  C 1, E 3, G 5, Bb b7; E in the bass; tensions 9 13" in text


def test_bars_with_beat_marks():
    uneven = (ChartChord(GM7, 0, 36), ChartChord(C7, 36, 12))
    assert bar_text(Bar(1, "A", Meter(4, 4), uneven, opens_section=True)) == "Gm7 / / C7/E"
    assert bar_text(bar(1, "A", F7, BB7)) == "F7 Bb7"
    off_beat = (ChartChord(GM7, 0, 42), ChartChord(C7, 42, 6))
    assert bar_text(Bar(1, "A", Meter(4, 4), off_beat, opens_section=True)) == "Gm7@1 C7/E@4.5"


def test_sections_with_a_meter_of_their_own_say_so():
    waltz = Bar(1, "I", Meter(3, 4), (ChartChord(NO_CHORD, 0, 36),), opens_section=True)
    text = chart_page(replace(hand_made_chart(), intro=(waltz,))).as_text()
    assert "I (intro, once, 3/4)" in text
    assert "no chord: notes over it are not judged" in text


def test_wide_bars_stand_in_shorter_rows():
    wide = replace(F7, symbol="F7" + "(b9,#11,b13)" * 2)
    chart = replace(hand_made_chart(), bars=tuple(bar(n, "A", wide, opens=n == 1) for n in (1, 2)))
    assert all(len(line) <= 80 for line in chart_page(chart).as_text().splitlines())


# ---- the page --------------------------------------------------------------------------------


def test_cells_of_wide_characters():
    assert cells("abc") == 3
    assert cells("茶") == 2
    assert fit("茶茶茶", 4) == "茶~ "
    assert fit("abc", 5) == "abc  "
    assert fit("abcdef", 4) == "abc~"


def test_gaps_are_never_doubled():
    page = Page()
    page.gap()
    page.say("a")
    page.gap()
    page.gap()
    page.heading("b")
    assert page.as_text() == "a\n\nb\n"


def test_strips_know_when_they_are_clean():
    assert ChorusStrip(1, ("in place", "silent")).spotless
    assert not ChorusStrip(1, ("in place", "unplayed")).spotless


def test_texts_that_are_cut_differ_where_they_can():
    shown = fit_apart(["Marta Lind", "Marta Lindt", "Bo"], 9)
    assert list(shown.values()) == ["Marta ~nd", "Marta ~dt", "Bo       "]
    assert fit_apart(["Abelone A Zech", "Abelone B Zech"], 5).keys() == {
        "Abelone A Zech",
        "Abelone B Zech",
    }
