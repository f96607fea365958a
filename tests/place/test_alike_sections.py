"""Sections that sound alike: where a line begins, and whether it has come back, cannot be heard there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from linecheck.faults import OptionFault
from linecheck.music.form import Form
from linecheck.place.form_evidence import alike_from_the_top, form_tables, sounding_like_the_top
from linecheck.place.other_beginnings import other_beginnings
from linecheck.read.chart_toml import parse_chart_toml
from linecheck.report.as_json import audit_as_data
from linecheck.report.findings_in_words import loss_sentences
from linecheck.steps import audit
from linecheck.terms import Loss, Take, TakeNote, TempoMap

A = "| Dm6 | Em7b5 A7 | Dm6 | Am7 D7 | Gm7 | Em7b5 A7 | Dm6 | Em7b5 A7 |"
B = "| Gm7 | C7 | Fmaj7 | F6 | Bm7b5 | E7 | A7 | A7b9 |"
TUNE = parse_chart_toml(
    f"""title = "Cold Landing"
key = "Dm"
form = ["A", "A", "B", "A"]
[sections]
A = "{A}"
B = "{B}"
""",
    "cold_landing.toml",
)
BEAT_S = 0.45
SKIPPED = ["A", "B", "last", "A", "a", "B", "last"]
START = {"A": 0, "a": 8, "B": 16, "last": 24}  # bars before a section of eight bars


def line_over(sections: list[str]) -> list[int]:
    """A plain walking line: the tones of each chord up and down, from the lowest octave."""
    pitches = []
    for number, section in enumerate(sections):
        for bar in TUNE.bars[START[section] : START[section] + 8]:
            each = 4 // len(bar.chords)
            for placed in bar.chords:
                tones = [tone.pitch_class for tone in placed.chord.tones]
                turn = number % 2
                order = [tones[0], *(tones[1:] if turn else tones[:0:-1])][:each]
                pitches += [28 + (pc - 28) % 12 for pc in order]
    return pitches


def take_of(sections: list[str], *, click: bool = True) -> Take:
    notes = tuple(
        TakeNote(n * BEAT_S, 0.9 * BEAT_S, pitch, 80, float(n), 0.9)
        for n, pitch in enumerate(line_over(sections))
    )
    if click:
        return Take("made", "played", notes, TempoMap((0.0,), (0.0,), (BEAT_S,)))
    free = tuple(TakeNote(n.onset_s + 0.8, n.duration_s, n.pitch, n.velocity) for n in notes)
    return Take("made", "audio", free, None)


def losses_of(found) -> list[tuple[int, int, float | None, bool]]:
    form = Form(found.chart, found.line.choruses)
    places = [(form.place(loss.step), loss) for loss in found.line.losses if loss.certain]
    return [
        (place.chorus, place.bar, loss.offset_beats, loss.recovered_step is not None)
        for place, loss in places
    ]


def test_to_a_click_a_second_a_left_out_in_the_first_chorus_is_a_loss():
    found = audit(TUNE, take_of(SKIPPED))
    assert losses_of(found) == [(1, 9, 32.0, False)]
    (told,) = [text for text in found.warnings if "sounds alike" in text]
    assert told.startswith(
        "the form sounds alike from bar 1 and from bar 9 on; if this line begins at bar 9, give "
    )
    begins_at = told.rpartition(" ")[2]
    again = audit(TUNE, take_of(SKIPPED), first_beat_one=begins_at)
    assert losses_of(again) == []
    assert again.judgement.commitment > 95
    assert not [text for text in again.warnings if "sounds alike" in text]


def test_without_a_click_the_line_begins_where_it_makes_no_slip_and_the_top_is_named():
    take = take_of(SKIPPED, click=False)
    found = audit(TUNE, take)
    assert losses_of(found) == []
    (told,) = [text for text in found.warnings if "sounds alike" in text]
    assert told == (
        "the form sounds alike from bar 9 and from bar 1 on; if this line begins at bar 1, give "
        "--first-beat-one 0.8s"
    )
    assert losses_of(audit(TUNE, take, first_beat_one="0.8s")) == [(1, 9, 32.0, False)]


def test_the_loss_begins_where_the_chords_show_it_when_beat_one_is_given():
    take = take_of(SKIPPED)
    assert losses_of(audit(TUNE, take, first_beat_one="1")) == [(1, 9, 32.0, False)]


def test_an_a_too_many_in_the_first_chorus_is_a_loss_to_a_click_and_the_other_reading_is_named():
    found = audit(TUNE, take_of(["last", "A", "a", "B", "last"]))
    assert losses_of(found) == [(1, 17, -32.0, False)]
    (told,) = [text for text in found.warnings if "sounds alike" in text]
    assert "if this line begins at bar 25, give --first-beat-one -43.2s" in told
    free = audit(TUNE, take_of(["last", "A", "a", "B", "last"], click=False))
    assert losses_of(free) == []
    assert "the line begins at bar 25 of the form" in free.warnings
    (told,) = [text for text in free.warnings if "sounds alike" in text]
    assert "if this line begins at bar 1, give --first-beat-one 0.8s" in told


def test_a_bridge_left_out_is_one_loss_from_where_it_should_stand():
    """Until then the third A is in place: what its own place and the form's share shows no slip."""
    found = audit(TUNE, take_of(["A", "a", "last", "A", "a", "B", "last"]))
    assert losses_of(found) == [(1, 17, 32.0, False)]


def test_the_top_is_named_also_where_the_line_is_lost_later():
    skipping = ["A", "B", "last"] * 2
    found = audit(TUNE, take_of(skipping, click=False))
    assert [text for text in found.warnings if "from bar 9 and from bar 1 on" in text]


@pytest.mark.parametrize("click", [True, False])
def test_a_bridge_gives_the_beginning_away(click):
    found = audit(TUNE, take_of(["B", "last", "A", "a", "B", "last"], click=click))
    assert losses_of(found) == []
    assert "the line begins at bar 17 of the form" in found.warnings
    assert not [text for text in found.warnings if "sounds alike" in text]


def test_a_section_that_sounds_like_another_is_no_way_back():
    """Eight bars behind, the A of the place and the A of the clock are the same."""
    found = audit(TUNE, take_of(["A", "a", "B", "B", "last", "A", "a", "B", "last"]))
    assert losses_of(found) == [(1, 25, -32.0, False)]


def test_a_second_slip_begins_where_it_can_be_heard():
    found = audit(TUNE, take_of(["A", "B", "last", "A", "B", "last", "A", "B", "last"]))
    assert losses_of(found)[:2] == [(1, 9, 32.0, False), (2, 1, 64.0, False)]


def test_a_clean_take_says_nothing_of_all_this():
    found = audit(TUNE, take_of(["A", "a", "B", "last"] * 2))
    assert losses_of(found) == []
    assert not [text for text in found.warnings if "alike" in text or "begins" in text]


def test_a_beat_one_more_than_a_chorus_before_the_take_is_refused():
    take = take_of(["A", "a", "B", "last"])
    with pytest.raises(OptionFault, match="the take begins more than a chorus after it"):
        audit(TUNE, take, first_beat_one="-58s")
    assert audit(TUNE, take, first_beat_one="-14.4s").labels.notes[0].place.bar == 9


def test_how_far_a_form_sounds_as_from_its_top():
    form = Form(TUNE)
    alike = alike_from_the_top(form_tables(form))
    assert (alike[0], alike[32], alike[64], alike[96]) == (128, 32, 0, 64)
    assert list(sounding_like_the_top(form)) == [32, 96]


@pytest.mark.parametrize("click", [True, False])
def test_a_line_that_stops_and_begins_again_from_the_top_is_told_so(click):
    take = take_of(["A", "a", "B", "last", "A", "a", "B", "last"], click=click)
    cut, rest = 42, 9.0  # beats played before it stops, and of silence
    kept, moved = take.notes[:cut], take_of(["A", "a", "B", "last"] * 2, click=click).notes
    later = cut + rest
    again = tuple(
        replace(
            n,
            onset_s=n.onset_s + later * BEAT_S,
            onset_quarters=None if n.onset_quarters is None else n.onset_quarters + later,
        )
        for n in moved
    )
    take = replace(take, notes=kept + again)
    found = audit(TUNE, take)
    (told,) = [text for text in found.warnings if "begins again" in text]
    at = (later * BEAT_S) + (0.0 if click else 0.8)
    assert told == (
        "the line stops and begins again from the top; to have it judged from there on, give "
        f"--first-beat-one {at:.1f}s"
    )
    judged = audit(TUNE, take, first_beat_one=told.rpartition(" ")[2])
    assert losses_of(judged) == []
    assert judged.line.choruses == 2
    assert not [text for text in judged.warnings if "begins again" in text]


@pytest.mark.parametrize("click", [True, False])
def test_where_the_chords_are_the_same_it_is_told_that_nobody_knows_the_way(click):
    bridge_forgotten = ["A", "a", "B", "last", "A", "a", "A", "last", "A", "a", "B", "last"]
    found = audit(TUNE, take_of(bridge_forgotten, click=click))
    (loss,) = [loss for loss in found.line.losses if loss.certain]
    assert {loss.offset_beats, *loss.other_offsets} == {32.0, -32.0}
    (said,) = loss_sentences(found)
    assert said.startswith(f"chorus 2: from bar 17 you are eight bars {loss.kind} or ")
    assert "(the chords are the same), playing section A where section B is; " in said
    assert said.partition("; ")[2].startswith("back in place at bar 25 ")  # where all play A
    (row,) = audit_as_data(found)["form"]["losses"]
    assert row["other_offsets"] == list(loss.other_offsets)


def test_a_way_that_the_chords_show_has_no_other():
    found = audit(
        TUNE, take_of(["A", "a", "B", "last", "A", "a", "B", "last", "A", "B", "B", "last"])
    )
    (loss,) = [loss for loss in found.line.losses if loss.certain]
    assert (loss.offset_beats, loss.other_offsets) == (32.0, ())


def test_a_rest_of_the_form_is_no_stop():
    take = take_of(["A", "a", "B", "last"] * 2)
    silent = tuple(n for n in take.notes if not 40 <= n.onset_quarters < 52)
    found = audit(TUNE, replace(take, notes=silent))
    assert losses_of(found) == []
    assert not [text for text in found.warnings if "begins again" in text]


def test_the_other_beginning_lies_less_than_a_chorus_back():
    form = Form(TUNE, 3)
    steps = np.array([96 * 12, 250 * 12])
    loss = Loss(240 * 12, "behind", -64.0, None, 0.9)
    told = other_beginnings(
        steps, steps + 12, (loss,), form, lambda beats: beats * 0.5, given=False
    )
    for text in told:
        at = float(text.rpartition(" ")[2].removesuffix("s"))
        assert abs(at) <= form.beats * 0.5
