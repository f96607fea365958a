"""What puts a take in question: every warning that does is raised by an audit that has cause to."""

from __future__ import annotations

import copy
import pickle
from dataclasses import replace
from typing import get_args

import mido
import numpy as np
import pytest

from linecheck import audit, read_take
from linecheck.demo import demo_take, demo_takes
from linecheck.doubts import DOUBTS, GRAVE, asked_first, doubts
from linecheck.grade.findings import findings_of, read_findings, write_findings
from linecheck.practice.planning import drill
from linecheck.read.chart_toml import parse_chart_toml
from linecheck.report.as_html import write_html
from linecheck.report.as_terminal import terminal_page
from linecheck.terms import DoubtKind, FileMeter, Meter, Remark, Take, TakeNote, TempoMap
from tests.place.test_alike_sections import SKIPPED, TUNE, take_of

BLUES = parse_chart_toml(
    'title = "Blues"\nkey = "C"\nform = ["A"]\n[sections]\n'
    'A = "| C7 | F7 | C7 | C7 | F7 | F7 | C7 | C7 | G7 | F7 | C7 | G7 |"\n'
)
BARS = {"C7": (36, 40, 43, 46), "F7": (41, 45, 48, 51), "G7": (31, 35, 38, 41)}
WALKING = [pitch for bar in BLUES.bars for pitch in BARS[bar.chords[0].chord.symbol]]
BEAT_S = 0.45


def played(pitches, *, click=True):
    """Quarter notes, to a click or heard in a recording."""
    notes = tuple(
        TakeNote(n * BEAT_S, 0.9 * BEAT_S, pitch, 80, float(n), 0.9)
        for n, pitch in enumerate(pitches)
    )
    if click:
        return Take("made", "played", notes, TempoMap((0.0,), (0.0,), (BEAT_S,)))
    heard = tuple(replace(n, onset_quarters=None, duration_quarters=None) for n in notes)
    return Take("made", "audio", heard, None)


def track(pitches, name="", program=None, *, channel=0, voices=1, bend=0):
    """A track of a MIDI file; ``voices`` 3 makes a close chord of each note."""
    made = mido.MidiTrack([mido.MetaMessage("track_name", name=name)] if name else [])
    if program is not None:
        made.append(mido.Message("program_change", program=program, channel=channel))
    for pitch in pitches:
        if bend:
            made.append(mido.Message("pitchwheel", pitch=bend, channel=channel))
        tones = [pitch + 4 * voice for voice in range(voices)]
        made += [mido.Message("note_on", note=p, velocity=80, channel=channel) for p in tones]
        for n, p in enumerate(tones):
            made.append(mido.Message("note_off", note=p, time=0 if n else 400, channel=channel))
        made.append(mido.Message("control_change", control=1, time=80, channel=channel))
    return made


def midi(*tracks):
    def made(folder):
        path = folder / "take.mid"
        mido.MidiFile(ticks_per_beat=480, tracks=list(tracks)).save(path)
        return audit(BLUES, path)

    return made


def sounding(change):
    """The line as a recording, changed so that it is to be doubted."""

    def made(folder):
        soundfile = pytest.importorskip("soundfile")
        from tests.synthetic.plucked import RATE, Pluck, pluck

        sound = pluck([Pluck(0.5 + BEAT_S * n, 0.4, pitch) for n, pitch in enumerate(WALKING)])
        path = folder / "take.wav"
        soundfile.write(path, np.clip(change(sound.astype(np.float64), RATE), -1, 1), RATE)
        return audit(BLUES, path)

    return made


def clipped(sound, rate):
    loud = slice(5 * rate, 9 * rate)
    sound[loud] = np.clip(4.0 * sound[loud], -0.5, 0.5)
    return sound


def drowned(sound, rate):
    loud = slice(2 * rate, 9 * rate)
    sound *= 0.1
    sound[loud] += np.random.default_rng(2).normal(0, 0.07, 7 * rate)
    return sound


def lower(_folder):
    one = demo_take("lena")
    take = read_take(one.take)
    notes = tuple(replace(note, pitch=note.pitch - 5) for note in take.notes)
    return audit(one.chart, replace(take, notes=notes))


def in_three(_folder):
    one = demo_take("lena")
    return audit(one.chart, replace(read_take(one.take), meters=(FileMeter(0.0, Meter(3, 4)),)))


# Every place in which a warning puts a take in question, and an audit that has cause to.
RAISED = {
    "another chart": ("chart", lambda _: audit(demo_take("bram").chart, demo_take("wen").take)),
    "another key": ("key", lower),
    "another meter": ("meter", in_three),
    "one note, to a click": ("beginning", lambda _: audit(BLUES, played([36] * 48))),
    "one note, free": ("beginning", lambda _: audit(BLUES, played([36] * 48, click=False))),
    "sections that sound alike": ("beginning", lambda _: audit(TUNE, take_of(SKIPPED))),
    "the only track is a flute": ("track", midi(track(WALKING, "Solo", 73))),
    "the best track is a guitar": (
        "track",
        midi(track(WALKING, "Solo", 25), track([p + 36 for p in WALKING], "Flute", 73)),
    ),
    "no track is a bass": (
        "track",
        midi(
            track([36, 42] * 24, "Bass", 32, channel=9),
            track([p + 36 for p in WALKING], "Flute", 73),
        ),
    ),
    "two basses": ("track", midi(track(WALKING, "Bass 1", 32), track(WALKING, "Bass 2", 33))),
    "chords": ("track", midi(track(WALKING, voices=3))),
    "an octave high": ("octave", midi(track([p + 12 for p in WALKING]))),
    "an octave low": ("octave", midi(track([p - 17 for p in WALKING]))),
    "bent notes": ("pitches", midi(track(WALKING, bend=4000))),
    "off the click": (
        "click",
        lambda _: audit(demo_take("ruben").chart, demo_take("ruben").take, click=True),
    ),
    "half the form": ("whole", lambda _: audit(BLUES, played(WALKING[:24]))),
    "a quiet recording": ("recording", sounding(lambda sound, _: 0.01 * sound)),
    "a clipped recording": ("recording", sounding(clipped)),
    "a room that drowns some bars": ("recording", sounding(drowned)),
}


def test_every_doubt_is_raised_and_has_its_words():
    assert {kind for kind, _ in RAISED.values()} == set(get_args(DoubtKind)) == set(DOUBTS)
    assert len({doubt.question for doubt in DOUBTS.values()}) == len(DOUBTS)


@pytest.mark.parametrize("cause", RAISED)
def test_an_audit_that_has_cause_to_raises_its_doubt(cause, tmp_path):
    kind, made = RAISED[cause]
    found = made(tmp_path)
    raised = [said for said in found.warnings if said.doubt == kind]
    assert raised, found.warnings
    assert DOUBTS[kind] in doubts(found.warnings)
    # What puts a grade in question does so for a plan, and is asked there once.
    asked = drill(found).questions
    assert set(raised) <= set(asked)
    assert sum(text.endswith("?") for text in asked) >= len(doubts(found.warnings))
    # What is kept of it knows as much.
    kept = read_findings(write_findings(findings_of(found))).warnings
    assert kept == found.warnings
    assert [(said.doubt, said.names) for said in kept] == [
        (said.doubt, said.names) for said in found.warnings
    ]
    # A name stands in its text as it is.
    assert all(name in said for said in found.warnings for name in said.names)


@pytest.mark.parametrize("one", demo_takes(), ids=lambda one: one.name)
def test_how_a_demo_take_was_read_is_no_doubt(one):
    found = audit(one.chart, one.take)
    assert doubts(found.warnings) == ()
    assert drill(found).questions == ()


def test_only_many_bends_are_a_doubt(tmp_path):
    tracks = track(WALKING[:-3]) + track(WALKING[-3:], bend=4000)
    (said,) = midi(mido.MidiTrack(tracks))(tmp_path).warnings
    assert said.startswith("3 of 48 notes are bent by more than a quarter tone")
    assert said.doubt is None


def test_the_names_of_tracks_are_known(tmp_path):
    name = "May: the bass"
    (said,) = midi(track(WALKING, "Bass 1", 32), track(WALKING, name, 33))(tmp_path).warnings
    assert said == f"track 2 '{name}' may be the bass as well; --track chooses another"
    assert said.names == (name,)


def test_each_doubt_is_told_once_and_the_gravest_first():
    said = [Remark("b", "octave"), Remark("a", "octave"), Remark("c"), Remark("d", "chart")]
    assert [doubt.word for doubt in doubts(said)] == ["chart?", "octave?"]
    assert doubts(["is it the right chart?"]) == ()


def sent(remark):
    return pickle.loads(pickle.dumps(remark))  # noqa: S301


@pytest.mark.parametrize("again", [copy.copy, copy.deepcopy, sent])
def test_a_remark_is_a_text_and_keeps_what_it_knows(again):
    remark = again(Remark("section A is not used", "chart", ("A",)))
    assert remark == "section A is not used"
    assert hash(remark) == hash("section A is not used")
    assert (type(remark), remark.doubt, remark.names) == (Remark, "chart", ("A",))


def test_the_gravest_question_stands_before_all_else():
    key, whole, grave = Remark("a", "key"), Remark("b", "whole"), Remark("c", "chart")
    assert asked_first([whole, Remark("d")]) is None
    assert asked_first([whole, key]) == DOUBTS["key"].question
    assert asked_first([key, whole, grave]) == DOUBTS["chart"].question
    assert set(get_args(DoubtKind)) > GRAVE


def test_a_take_in_another_key_is_asked_about_under_its_verdict():
    found = audit(TUNE, lower(take_of(["A", "a", "B", "last"] * 2), 3))
    asked = "But first: is the chart in the right key?"
    assert asked in terminal_page(found).as_text()
    assert asked in write_html(found)
    clean = audit(TUNE, take_of(["A", "a", "B", "last"] * 2))
    assert "But first" not in terminal_page(clean).as_text() + write_html(clean)


def lower(take, half_steps):
    """A take so many half steps lower."""
    return replace(take, notes=tuple(replace(n, pitch=n.pitch - half_steps) for n in take.notes))
