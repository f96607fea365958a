"""The practice track, read back by mido and held against the plan."""

from __future__ import annotations

import io
from dataclasses import replace

import mido
import pytest

from linecheck.demo import demo_take
from linecheck.faults import OptionFault
from linecheck.music.chord_symbol import read_chord
from linecheck.practice import drill, practice_track, write_midi
from linecheck.practice.as_midi import bar_ticks
from linecheck.practice.midi_writing import TICKS, Events, midi_bytes
from linecheck.practice.practice_plan import LineNote
from linecheck.practice.practice_track import clicks
from linecheck.practice.sheets import take_of
from linecheck.practice.voicings import shell, voicings
from linecheck.steps import audit
from linecheck.terms import Meter
from tests.hand_made_audit import hand_made_audit
from tests.label_lines import chart_of

PEDAL_HI_HAT, SIDE_STICK = 44, 37  # General MIDI 1


def plan(**options):
    return drill(hand_made_audit(), **options)


def read(track):
    return mido.MidiFile(file=io.BytesIO(write_midi(track)), charset="utf-8")


def events(track):
    """(tick, message) of one track of the file."""
    at, found = 0, []
    for message in track:
        at += message.time
        found.append((at, message))
    return found


def struck(track):
    return [(at, m) for at, m in events(track) if m.type == "note_on" and m.velocity]


def bars_of(track):
    """(tick, loop, bar) of every bar of the plan, in order."""
    at, found = 0, []
    for loop in track.loops:
        for bar in loop.bars:
            found.append((at, loop, bar))
            at += bar_ticks(bar.meter)
    return found


@pytest.fixture(scope="module")
def track():
    return practice_track(plan(bars=((1, 2), (3, 3))), start=60, to=90, step=20, repeats=2)


@pytest.fixture(scope="module")
def file(track):
    return read(track)


def test_tempos_go_up_by_steps_to_the_last_for_every_spot(track, file):
    tempos = [(at, m.tempo) for at, m in events(file.tracks[0]) if m.type == "set_tempo"]
    assert [round(mido.tempo2bpm(tempo)) for _, tempo in tempos] == [60, 80, 90] * 2
    assert [at for at, _ in tempos] == [
        at for at, _, bar in bars_of(track) if bar.what == "count-in"
    ]


def test_markers_name_spot_tempo_and_bar(track, file):
    markers = [(at, m.text) for at, m in events(file.tracks[0]) if m.type == "marker"]
    assert [text for _, text in markers[:7]] == [
        "spot 1, 60 a minute", "count-in", "bar 1", "bar 2", "bar 1", "bar 2", "closing bar",
    ]  # fmt: skip
    named = [(at, text) for at, text in markers if text.startswith("bar ")]
    assert named == [
        (at, f"bar {bar.number}") for at, _, bar in bars_of(track) if bar.what == "loop"
    ]


def test_the_click_is_on_two_and_four_after_a_bar_of_count_in(track, file):
    click = struck(file.tracks[1])
    assert {m.channel for _, m in click} == {9}
    expected = []
    for at, _, bar in bars_of(track):
        beats = (0, 1, 2, 3) if bar.what == "count-in" else (1, 3)
        key = SIDE_STICK if bar.what == "count-in" else PEDAL_HI_HAT
        expected += [(at + beat * TICKS, key) for beat in beats]
    assert [(at, m.note) for at, m in click] == expected


def test_the_piano_plays_tones_and_named_tensions_where_chords_begin(track, file):
    piano = struck(file.tracks[2])
    at_ticks = {}
    for at, message in piano:
        at_ticks.setdefault(at, set()).add(message.note)
    expected = {}
    for at, _, bar in bars_of(track):
        for placed in bar.chords:
            expected[at + placed.step * TICKS // 12] = placed.chord
    assert set(at_ticks) == set(expected)
    for at, chord in expected.items():
        classes = {t.pitch_class for t in (*chord.tones, *chord.tensions)}
        assert {note % 12 for note in at_ticks[at]} <= classes
        assert all(52 <= note <= 71 for note in at_ticks[at])


def test_no_bass_unless_it_is_asked_for(track, file):
    assert [t.name for t in file.tracks] == ["Hand-made Stomp", "Click", "Piano"]
    with_bass = read(replace(track, bass="walking"))
    assert [t.name for t in with_bass.tracks][-1] == "Bass"


@pytest.mark.parametrize("kind", ["landings", "walking", "eighths"])
def test_the_bass_plays_the_exercise_and_closes_it(kind):
    found = practice_track(plan(bars=((1, 2),)), start=60, to=60, repeats=2, bass=kind)
    bass = struck(read(found).tracks[3])
    (exercise,) = [e for e in found.loops[0].spot.exercises if e.kind == kind]
    once = [note.pitch for note in exercise.line]
    assert [m.note for _, m in bass] == [*once, *once, once[0]]
    assert {m.channel for _, m in bass} == {1}


def test_eighths_swing_where_the_chart_swings():
    found = practice_track(plan(bars=((1, 2),)), start=60, to=60, repeats=1, bass="eighths")
    for swing, off_beat in ((True, TICKS * 2 // 3), (False, TICKS // 2)):
        places = {at % TICKS for at, _ in struck(read(replace(found, swing=swing)).tracks[3])}
        assert places == {0, off_beat}


def test_every_note_stops_before_it_is_struck_again(file):
    for one in file.tracks:
        sounding = set()
        for _, message in events(one):
            if message.type == "note_on":
                assert (message.channel, message.note) not in sounding
                sounding.add((message.channel, message.note))
            elif message.type == "note_off":
                sounding.remove((message.channel, message.note))
        assert not sounding


def test_the_file_is_the_same_every_time(track):
    assert write_midi(track) == write_midi(track)


@pytest.mark.parametrize(
    ("meter", "beats"),
    [
        (Meter(4, 4), (2, 4)),
        (Meter(3, 4), (2, 3)),
        (Meter(2, 4), (2,)),
        (Meter(5, 4), (2, 3, 5)),
        (Meter(6, 4), (2, 4, 6)),
        (Meter(7, 4), (2, 4, 6, 7)),
        (Meter(2, 2), (1.5, 2.5)),
        (Meter(6, 8), (4,)),
        (Meter(9, 8), (4, 7)),
        (Meter(12, 8), (4, 10)),
        (Meter(5, 8), (4,)),
        (Meter(7, 8), (3, 5)),
        (Meter(1, 4), (1,)),
    ],
)  # fmt: skip
def test_where_the_click_is(meter, beats):
    """Beats as the meter counts them; common practice."""
    assert [1 + step / 12 for step in clicks(meter)] == list(beats)


def test_a_six_eight_bar_is_three_quarters_long_and_counted_in_dotted_ones():
    chart = chart_of("F7 | Bb7", meter=Meter(6, 8))
    line = tuple(LineNote(12 * nth, 12, 29 + nth % 3) for nth in range(12))
    found = drill(audit(chart, take_of(line, chart, 60)), bars=((1, 1),))
    found = practice_track(found, start=60, to=60, repeats=1)
    made = read(found)
    meters = [m for _, m in events(made.tracks[0]) if m.type == "time_signature"]
    assert [(m.numerator, m.denominator) for m in meters] == [(6, 8)]
    click = [(at, m.note) for at, m in struck(made.tracks[1])]
    assert click[:3] == [(0, SIDE_STICK), (720, SIDE_STICK), (1440 + 720, PEDAL_HI_HAT)]


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ({"start": 120, "to": 90}, "--from 120 is faster than --to 90"),
        ({"start": 40, "to": 400, "step": 1}, "a larger --step or fewer --repeats"),
    ],
)
def test_options_that_make_no_track_are_told(options, told):
    with pytest.raises(OptionFault, match=told):
        practice_track(plan(bars=((1, 2),)), **options)


# ---- voicings --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("symbol", "classes"),
    [
        ("G7", {11, 5, 2}),
        ("Dm7", {5, 0, 9}),
        ("G7alt", {11, 5, 1}),
        ("C7b9", {4, 10, 1}),
        ("F13", {9, 3, 7}),
        ("Am7b5", {0, 7, 3}),
        ("G7sus4", {0, 5, 2}),
        ("F", {9, 0, 5}),
        ("C6", {4, 9, 7}),
        ("N.C.", set()),
    ],
)  # fmt: skip
def test_a_shell_is_third_seventh_and_one_voice_more(symbol, classes):
    """By hand, from the chords' spelling; pitch classes from C = 0."""
    assert set(shell(read_chord(symbol))) == classes


def test_voices_move_as_little_as_they_can():
    """Dm7 to G7: the seventh falls a half step, the third stays (textbook)."""
    two, five, one = voicings([read_chord(s) for s in ("Dm7", "G7", "Cmaj7")])
    assert len(set(two) & set(five)) == 1
    assert sum(abs(a - b) for a, b in zip(two, five, strict=True)) <= 6
    assert sum(abs(a - b) for a, b in zip(five, one, strict=True)) <= 6


# ---- the writer of files ---------------------------------------------------------------------


def test_a_small_file_byte_by_byte():
    """A track of one note on channel 10, with a name; written out from the standard."""
    one = Events("A")
    one.note(10, 37, 100, 0, 200)
    expected = """
        4D 54 68 64 00 00 00 06 00 01 00 01 01 E0  # format 1, 1 track, 480 ticks
        4D 54 72 6B 00 00 00 12                    # a track of 18 bytes
        00 FF 03 01 41                             # its name, "A"
        00 99 25 64                                # channel 10 on, 37, 100
        81 48 89 25 00                             # off 200 ticks later
        00 FF 2F 00                                # end
    """
    digits = "".join(row.partition("#")[0] for row in expected.splitlines())
    assert midi_bytes([one], 0) == bytes.fromhex(digits)


def test_a_change_of_meter_within_a_loop_is_played_and_clicked():
    """Bar 8 of the tune is in four, the waltz begins in bar 9; the closing bar is in four again."""
    take = demo_take("nadia")
    plan = drill(audit(take.chart, take.take), bars=((8, 9),))
    made = read(practice_track(plan, start=60, to=60, repeats=1))
    meters = [(at, m.numerator) for at, m in events(made.tracks[0]) if m.type == "time_signature"]
    assert meters == [(0, 4), (8 * TICKS, 3), (11 * TICKS, 4)]
    clicked = [at // TICKS for at, m in struck(made.tracks[1]) if m.note == PEDAL_HI_HAT]
    assert clicked == [5, 7, 9, 10, 12, 14]
