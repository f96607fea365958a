"""Which part of a file is the bass line.

Programs by General MIDI 1 sound set (MMA, 1991): 33 Acoustic Bass to 40 Synth Bass 2, 44
Contrabass, counted from 1; channel 10 is percussion. Names of the bass: common practice.
"""

from __future__ import annotations

import pytest

from linecheck.faults import TakeFault
from linecheck.read.choose_track import BASS_PROGRAMS, choose_part, parts_of
from linecheck.read.midi_file import MidiFile, MidiTrack

WALKING = [36, 40, 43, 45, 46, 45, 43, 40, 41, 45, 48, 50, 36, 38, 40, 41]
MELODY = [72, 74, 76, 77, 79, 81, 79, 77, 76, 74, 72, 71, 72, 76, 79, 84]
DRUMS = [36, 42, 38, 42] * 4


def part(
    pitches: list[int],
    name: str = "",
    program: int | None = None,
    channel: int = 0,
    *,
    voices: int = 1,
    length: int = 400,
) -> MidiTrack:
    """A track of quarter notes; ``voices`` 3 makes a close chord of each."""
    track = MidiTrack(0, name=name, programs={} if program is None else {channel: program})
    for index, pitch in enumerate(pitches):
        for voice in range(voices):
            track.onsets.append(480 * index)
            track.ends.append(480 * index + length)
            track.keys.append(channel << 7 | pitch + 4 * voice)
            track.velocities.append(80)
    return track


def file_with(*tracks: MidiTrack, form: int = 1) -> MidiFile:
    for index, track in enumerate(tracks):
        track.number = index + 1
    return MidiFile(form, 480, None, list(tracks))


def one_track(*tracks: MidiTrack, form: int = 0) -> MidiFile:
    """The parts of several channels in one track, in the order of their onsets."""
    whole = MidiTrack(1)
    rows = sorted(
        row for t in tracks for row in zip(t.onsets, t.ends, t.keys, t.velocities, strict=True)
    )
    whole.onsets, whole.ends, whole.keys, whole.velocities = (
        list(c) for c in zip(*rows, strict=True)
    )
    for track in tracks:
        whole.programs.update(track.programs)
    return MidiFile(form, 480, None, [whole])


def test_the_only_track_with_notes_is_the_line():
    midi = file_with(MidiTrack(0, name="Tollgate Shuffle"), part(MELODY, "Lead"))
    chosen, line, warnings = choose_part(midi, None, "take.mid")
    assert chosen.pitches == MELODY
    assert line == "track 2 'Lead'; no other track holds notes"
    assert warnings == []


def test_the_bass_among_others_and_why():
    midi = file_with(
        part(MELODY, "Piano", 0, 1, voices=3),
        part(DRUMS, "Drums", None, 9),
        part(WALKING, "Bass", 32, 2),
    )
    chosen, line, warnings = choose_part(midi, None, "take.mid")
    assert chosen.pitches == WALKING
    assert line == (
        "track 3 'Bass', program Acoustic Bass, chosen by its name, program, low register and "
        "single voice; 2 other tracks hold notes"
    )
    assert warnings == []


@pytest.mark.parametrize(
    "name",
    [
        "Bass", "BASS 1", "Acoustic Bass", "double bass", "Upright", "Bs.", "Walking-Bass", "E-Bass",
        "synthbass", "B.", "Kontrabaß / Kontrabass", "Kontrabas", "Contrabass", "Contrabbasso",
        "Contrebasse", "Basse", "Basso", "Contrabajo", "Bajo", "Baixo", "Contrabaixo", "Basgitaar",
        "Basszus", "Nagybőgő", "Контрабас", "Бас-гитара", "Κοντραμπάσο", "Μπάσο", "ベース",
        "ウッドベース", "コントラバス", "低音提琴", "贝斯", "베이스", "D.B. (db)",
    ],
)  # fmt: skip
def test_names_of_the_bass(name: str):
    low_piano = part([p + 2 for p in WALKING], "Piano LH")
    chosen, _, _ = choose_part(file_with(low_piano, part(WALKING, name)), None, "")
    assert chosen.name == name


@pytest.mark.parametrize(
    "name",
    [
        "Bass Drum", "Bassdrum", "Bassoon", "Bass Clarinet", "Bass Trombone", "Bass Flute",
        "Bass voice", "Bass clef", "Basset horn", "Gran cassa", "Batterie", "Part B", "Basic",
    ],
)  # fmt: skip
def test_names_that_only_sound_like_the_bass(name: str):
    line = part(WALKING, "Cello part")
    chosen, _, _ = choose_part(file_with(part([p + 1 for p in WALKING], name), line), None, "")
    if name in {"Part B", "Basic"}:  # no word against them: the first of two alike
        assert chosen.name == name
    else:
        assert chosen.name == "Cello part"


@pytest.mark.parametrize("program", sorted(BASS_PROGRAMS))
def test_general_midi_basses(program: int):
    other = part([p + 1 for p in WALKING], program=42)  # Cello
    chosen, line, _ = choose_part(file_with(other, part(WALKING, program=program)), None, "")
    assert chosen.program == program
    assert BASS_PROGRAMS[program] in line


def test_the_table_of_programs_is_general_midis():
    assert sorted(BASS_PROGRAMS) == [*range(33 - 1, 40), 44 - 1]


def test_register_and_single_voice_decide_where_nothing_is_named():
    midi = file_with(part(MELODY), part(WALKING, voices=3), part(WALKING))
    chosen, line, _ = choose_part(midi, None, "")
    assert chosen.track == 3
    assert "chosen by its low register and single voice" in line


def test_a_drum_part_named_bass_does_not_win():
    midi = file_with(part(DRUMS, "Bass", 32, 9), part(MELODY, "Flute", 73))
    chosen, _, warnings = choose_part(midi, None, "")
    assert chosen.name == "Flute"
    assert warnings == [
        (
            "no track looks like a bass; track 2 'Flute', a flute or pipe by its program (74), was "
            "read. --track chooses another"
        )
    ]


@pytest.mark.parametrize(
    ("program", "what"), [(25, "a guitar"), (4, "a piano"), (42, "a string instrument")]
)
def test_a_line_of_another_instrument_is_named_as_such(program, what):
    _, _, warnings = choose_part(file_with(part(WALKING, "Solo", program)), None, "")
    said = f"track 1 'Solo' is {what} by its program ({program + 1}), and was read as the bass line"
    assert warnings == [said]
    midi = file_with(part(WALKING, "Solo", program), part(MELODY, "Flute", 73))
    _, _, warnings = choose_part(midi, None, "")
    assert warnings == [f"{said}. --track chooses another"]


@pytest.mark.parametrize(
    ("line", "called"),
    [
        (part(WALKING, "Bass", 25), ""),
        (part(WALKING, "", 32), ""),
        (part(WALKING, "", 43), ""),
        (part(WALKING, "", None), ""),
        (part(WALKING, "", 0), ""),  # a program that says nothing
        (part(WALKING, "", 0, voices=3), "a piano"),
        (part(MELODY, "", 0), "a piano"),
    ],
)
def test_the_program_is_told_only_where_it_speaks_against_a_bass(line, called):
    _, _, warnings = choose_part(file_with(line), None, "")
    assert bool(warnings) == bool(called)
    assert called in "".join(warnings)


def test_a_track_that_was_asked_for_is_not_doubted():
    midi = file_with(part(WALKING, "Solo", 25))
    assert choose_part(midi, "1", "")[2] == []


def test_a_name_alone_does_not_outweigh_program_and_register():
    midi = file_with(part(MELODY, "Bass", 52, voices=3), part(WALKING, "Track 2", 32))
    assert choose_part(midi, None, "")[0].track == 2


def test_two_that_fit_alike_are_said():
    midi = file_with(part(WALKING, "Bass 1", 32), part(WALKING, "Bass 2", 33))
    chosen, _, warnings = choose_part(midi, None, "")
    assert chosen.name == "Bass 1"
    assert warnings == ["track 2 'Bass 2' may be the bass as well; --track chooses another"]


def test_channel_10_alone_is_read_only_where_it_is_asked_for():
    midi = file_with(part(WALKING, "", None, 9))
    with pytest.raises(TakeFault, match="on channel 10, which is for drums; expected a bass line"):
        choose_part(midi, None, "")
    chosen, _, warnings = choose_part(midi, "1", "")
    assert chosen.drums
    assert warnings == []


def test_among_drums_alone_none_is_chosen():
    midi = file_with(part(DRUMS, "Drums", None, 9), part(DRUMS, "Shaker", None, 9))
    with pytest.raises(
        TakeFault, match="every track with notes is on channel 10, which is for drums"
    ):
        choose_part(midi, None, "")
    assert choose_part(midi, "Shaker", "")[0].track == 2


def test_channels_of_format_0_are_told_apart():
    midi = one_track(
        part(MELODY, program=0, channel=0),
        part(DRUMS, channel=9),
        part(WALKING, program=32, channel=3),
    )
    chosen, line, _ = choose_part(midi, None, "")
    assert chosen.pitches == WALKING
    assert line == (
        "channel 4, program Acoustic Bass, chosen by its program, low register and single voice; "
        "2 other channels hold notes"
    )
    assert choose_part(midi, "1", "")[0].pitches == MELODY
    assert choose_part(midi, "10", "")[0].pitches == DRUMS


def test_the_strings_of_a_controller_are_one_line():
    strings = [part(WALKING, program=33, channel=c) for c in range(4)]
    for channel, track in enumerate(strings):  # every string plays a quarter of the notes
        for column in (track.onsets, track.ends, track.keys, track.velocities):
            column[:] = column[channel::4]
    chosen, line, _ = choose_part(one_track(*strings), None, "")
    assert chosen.pitches == WALKING
    assert chosen.channels == (0, 1, 2, 3)
    assert line.startswith("track 1, channels 1, 2, 3 and 4 together, program Electric Bass")


def test_two_players_on_two_channels_are_not_joined():
    midi = one_track(part(WALKING, channel=0), part([p + 7 for p in WALKING], channel=1))
    assert len(parts_of(midi)) == 2


# ---- asked for -------------------------------------------------------------------------------


@pytest.fixture
def band() -> MidiFile:
    return file_with(
        MidiTrack(0, name="Tempo"),
        part(MELODY, "Piano RH"),
        part(WALKING, "Bass", 32),
        part([p - 1 for p in WALKING], "Piano LH"),
    )


@pytest.mark.parametrize(
    ("wanted", "name"),
    [
        ("2", "Piano RH"),
        ("3", "Bass"),
        (" 4 ", "Piano LH"),
        ("3:1", "Bass"),
        ("bass", "Bass"),
        ("PIANO LH", "Piano LH"),
        ("piano", "Piano LH"),  # of two that have the word, the one most like a bass
        ("rh", "Piano RH"),
    ],
)
def test_a_track_asked_for(band: MidiFile, wanted: str, name: str):
    chosen, line, warnings = choose_part(band, wanted, "")
    assert chosen.name == name
    assert "as asked; 2 other tracks hold notes" in line
    assert warnings == []


def test_a_number_may_be_a_name():
    midi = file_with(part(WALKING, "7"), part(MELODY, "x"))
    assert choose_part(midi, "7", "")[0].pitches == WALKING


@pytest.mark.parametrize("wanted", ["1", "5", "tuba", "3:2", "3:x", "", "²", "-3", "0"])
def test_a_track_that_is_not_there(band: MidiFile, wanted: str):
    with pytest.raises(
        TakeFault,
        match=r"take.mid: no track '.*' that holds notes; there are: "
        r"track 2 'Piano RH', track 3 'Bass', track 4 'Piano LH'$",
    ):
        choose_part(band, wanted, "take.mid")


def test_a_long_list_of_tracks_is_cut():
    midi = file_with(*(part(WALKING) for _ in range(40)))
    with pytest.raises(TakeFault, match=r"track 12, and 28 more$"):
        choose_part(midi, "flute", "")


def test_no_notes_at_all():
    with pytest.raises(TakeFault, match="the file holds no notes; expected a bass line"):
        choose_part(file_with(MidiTrack(0)), None, "")
