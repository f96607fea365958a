"""Standard MIDI Files byte by byte. Each dump can be read alone, with the standard beside it.

Source: *Standard MIDI Files 1.0* (RP-001): its table of variable-length numbers, its description
of chunks, running status, meta events and the time division; *RP-029* for RIFF.
"""

from __future__ import annotations

import re

import pytest

from linecheck.faults import TakeFault
from linecheck.read.midi_file import MidiFile, read_midi_file
from linecheck.terms import Meter


def dump(text: str) -> bytes:
    """The bytes of a hex dump with comments after ``#``."""
    return bytes.fromhex("".join(line.split("#")[0] for line in text.splitlines()))


def chunk(kind: str, content: bytes) -> bytes:
    return kind.encode() + len(content).to_bytes(4, "big") + content


def file_of(*tracks: str | bytes, form: int | None = None, division: str = "01 E0") -> bytes:
    form = (len(tracks) > 1) if form is None else form
    head = dump(f"{form:04X} {len(tracks):04X} {division}")
    bodies = [dump(t) if isinstance(t, str) else t for t in tracks]
    return chunk("MThd", head) + b"".join(chunk("MTrk", body) for body in bodies)


def read(data: bytes) -> MidiFile:
    return read_midi_file(data, "take.mid")


ONE_NOTE = """
    00 90 24 50   # at 0: note on, channel 1, C2, velocity 80
    83 60 80 24 40  # 480 ticks later: note off
    00 FF 2F 00   # End of Track
"""


def test_the_smallest_file():
    data = dump("""
        4D 54 68 64  00 00 00 06   # MThd, 6 bytes
        00 00  00 01  00 60        # format 0, one track, 96 ticks a quarter note
        4D 54 72 6B  00 00 00 0C   # MTrk, 12 bytes
        00 91 1C 64                # at 0: note on, channel 2, E1, velocity 100
        60 81 1C 00                # 96 ticks later: note off
        00 FF 2F 00                # End of Track
    """)
    midi = read(data)
    track = midi.tracks[0]
    assert (midi.format, midi.ticks_per_quarter, midi.ticks_per_second) == (0, 96, None)
    assert (track.onsets, track.ends, track.velocities) == ([0], [96], [100])
    assert track.keys == [1 * 128 + 28]


def test_the_standards_own_example_of_format_0():
    # RP-001, appendix 2: three notes on three channels, running status for none of them.
    data = dump("""
        4D 54 68 64  00 00 00 06  00 00  00 01  00 60
        4D 54 72 6B  00 00 00 3B
        00 FF 58 04 04 02 18 08    # time signature: 4/4
        00 FF 51 03 07 A1 20       # tempo: 500,000
        00 C0 05                   # channel 1, program 5
        00 C1 2E                   # channel 2, program 46
        00 C2 46                   # channel 3, program 70
        00 92 30 60                # channel 3, C3, forte
        00 3C 60                   # channel 3, C4, forte: running status
        60 91 43 40                # channel 2, G4, mezzo-forte
        60 90 4C 20                # channel 1, E5, piano
        81 40 82 30 40             # channel 3, C3 off: a delta of two bytes
        00 3C 40                   # C4 off: running status
        00 81 43 40
        00 80 4C 40
        00 FF 2F 00
    """)
    track = read(data).tracks[0]
    assert track.onsets == [0, 0, 96, 192]
    assert track.ends == [384] * 4
    assert [key & 127 for key in track.keys] == [0x30, 0x3C, 0x43, 0x4C]
    assert [key >> 7 for key in track.keys] == [2, 2, 1, 0]
    assert track.programs == {0: 5, 1: 46, 2: 70}
    assert track.tempi == [(0, 500_000)]
    assert track.meters == [(0, Meter(4, 4))]


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("00", 0x00),
        ("40", 0x40),
        ("7F", 0x7F),
        ("81 00", 0x80),
        ("C0 00", 0x2000),
        ("FF 7F", 0x3FFF),
        ("81 80 00", 0x4000),
        ("C0 80 00", 0x100000),
        ("FF FF 7F", 0x1FFFFF),
        ("81 80 80 00", 0x200000),
        ("C0 80 80 00", 0x8000000),
        ("FF FF FF 7F", 0xFFFFFFF),
    ],
)
def test_variable_length_numbers_of_the_standard(written: str, value: int):
    track = read(file_of(f"{written} 90 24 50  {written} 80 24 40  00 FF 2F 00")).tracks[0]
    assert (track.onsets, track.ends) == ([value], [2 * value])


def test_a_number_of_five_bytes_is_refused():
    with pytest.raises(TakeFault, match="track 1, byte 22: a number of more than four bytes"):
        read(file_of("81 80 80 80 00 90 24 50  00 FF 2F 00"))


def test_running_status_goes_on_over_meta_and_system_exclusive():
    # The standard ends running status there; files in use go on.
    track = read(
        file_of("""
        00 90 24 50
        10 FF 06 01 41     # a marker "A"
        00 24 00           # running status: released
        10 F0 03 01 02 F7  # system exclusive
        00 26 50           # running status: D2
        10 26 00
        00 FF 2F 00
    """)
    ).tracks[0]
    assert (track.onsets, track.ends) == ([0, 32], [16, 48])


def test_note_on_with_velocity_0_is_a_release():
    track = read(file_of("00 90 24 50  10 90 24 00  00 FF 2F 00")).tracks[0]
    assert (track.onsets, track.ends) == ([0], [16])


def test_a_note_struck_again_before_its_release_ends_there():
    track = read(file_of("00 90 24 50  10 24 50  10 24 00  00 FF 2F 00")).tracks[0]
    assert (track.onsets, track.ends, track.unended) == ([0, 16], [16, 32], 0)


def test_the_release_of_a_note_struck_over_does_not_cut_the_next_short():
    track = read(
        file_of("""
        00 90 24 50
        10 90 24 50   # struck again at 16
        01 80 24 40   # the first one's release, at 17
        10 80 24 40   # the second one's, at 33
        00 FF 2F 00
    """)
    ).tracks[0]
    assert (track.onsets, track.ends) == ([0, 16], [16, 33])


def test_releases_without_a_note_are_passed_over():
    track = read(file_of("00 80 24 40  00 90 24 50 10 80 24 40 10 80 24 40 00 FF 2F 00")).tracks[0]
    assert (track.onsets, track.ends) == ([0], [16])


def test_a_note_never_released_ends_with_its_track():
    track = read(file_of("00 90 24 50  40 FF 2F 00")).tracks[0]
    assert (track.ends, track.unended) == ([64], 1)


def test_a_note_of_no_length_is_kept():
    track = read(file_of("00 90 24 50  00 80 24 40  00 FF 2F 00")).tracks[0]
    assert (track.onsets, track.ends) == ([0], [0])


def test_controllers_bend_and_pressure_are_passed_over():
    track = read(
        file_of("""
        00 B0 40 7F   # sustain pedal down
        00 E0 00 30   # pitch bend
        00 90 24 50
        10 A0 24 10   # key pressure
        00 D0 10      # channel pressure
        10 80 24 40
        00 B0 40 00
        00 FF 2F 00
    """)
    ).tracks[0]
    assert (track.onsets, track.ends) == ([0], [32])


def test_a_program_after_the_first_note_does_not_name_the_part():
    track = read(file_of("00 C0 00  00 C0 20  00 90 24 50  10 80 24 40 00 C0 07 00 FF 2F 00"))
    assert track.tracks[0].programs == {0: 32}


def test_bytes_after_the_end_of_track_and_the_last_chunk_are_passed_over():
    data = file_of("00 90 24 50  10 80 24 40  00 FF 2F 00  FF FF FF") + b"rest"
    assert read(data).tracks[0].ends == [16]


def test_a_track_without_an_end_of_track_is_read():
    assert read(file_of("00 90 24 50  10 80 24 40")).tracks[0].ends == [16]


def test_a_length_that_is_too_large_is_read_where_the_tracks_own_end_is_there():
    data = file_of(ONE_NOTE).replace(b"MTrk\0\0\0", b"MTrk\x7f\0\0")
    assert read(data).tracks[0].ends == [480]


def test_chunks_of_other_kinds_are_passed_over():
    data = file_of(ONE_NOTE)
    head, rest = data[:14], data[14:]
    assert read(head + chunk("XFIH", b"\xff" * 5) + rest).tracks[0].ends == [480]


def test_a_longer_header_is_passed_over():
    data = file_of(ONE_NOTE)
    longer = chunk("MThd", data[8:14] + b"\0\0")
    assert read(longer + data[14:]).tracks[0].ends == [480]


def test_a_file_wrapped_in_riff():
    inner = file_of(ONE_NOTE)
    little = len(inner).to_bytes(4, "little")
    data = b"RIFF\0\0\0\0RMID" + b"DISP\3\0\0\0abc\0" + b"data" + little + inner
    assert read(data).tracks[0].ends == [480]
    with pytest.raises(TakeFault, match="RIFF file that holds no MIDI data"):
        read(data[:20])


@pytest.mark.parametrize(
    ("division", "per_second"),
    [
        ("E8 04", 96.0),  # −24: 24 frames of 4 ticks
        ("E7 28", 1000.0),  # −25: 25 frames of 40 ticks, the standard's example: milliseconds
        ("E3 50", 80 * 30_000 / 1_001),  # −29: 29.97 frames of 80
        ("E2 50", 2400.0),  # −30: 30 frames of 80
    ],
)
def test_smpte_division_counts_clock_time(division: str, per_second: float):
    midi = read(file_of(ONE_NOTE, division=division))
    assert midi.ticks_per_quarter is None
    assert midi.ticks_per_second == pytest.approx(per_second)


def test_meters_and_tempi():
    track = read(
        file_of("""
        00 FF 58 04 06 03 24 08   # 6/8
        00 FF 51 03 03 D0 90      # 250,000 microseconds
        60 FF 58 04 03 02 18 08   # 3/4 at 96
        00 FF 2F 00
    """)
    ).tracks[0]
    assert track.meters == [(0, Meter(6, 8)), (96, Meter(3, 4))]
    assert track.tempi == [(0, 250_000)]


def test_a_meter_that_makes_no_sense_is_counted():
    midi = read(file_of("00 FF 58 04 00 02 18 08  00 FF 58 04 04 F0 18 08 00 FF 2F 00"))
    assert midi.tracks[0].meters == []
    assert midi.tracks[0].unread_meters == 2


def name(content: bytes, kind: str = "03") -> str:
    return f"00 FF {kind} {len(content):02X} {content.hex()} 00 FF 2F 00"


@pytest.mark.parametrize(
    ("content", "text"),
    [
        (b"Bass", "Bass"),
        ("Baß – bőgő".encode(), "Baß – bőgő"),  # UTF-8
        ("Kontrabaß".encode("latin-1"), "Kontrabaß"),
        ("ベース".encode("cp932"), "ベース"),
        (b"\x1b[31mBass\0\n\x07 2", "[31mBass 2"),  # control characters never reach a terminal
        (b"", ""),
    ],
)
def test_names_in_the_encodings_in_use(content: bytes, text: str):
    assert read(file_of(name(content))).tracks[0].name == text


def test_a_name_for_one_channel():
    track = read(file_of("00 FF 20 01 03  00 FF 04 02 42 62  00 FF 04 02 43 63 00 FF 2F 00"))
    assert track.tracks[0].channel_names == {3: "Bb"}
    assert track.tracks[0].instrument == "Cc"


# ---- faults ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "take.mid: no MIDI file: one begins with MThd, and this does not"),
        (b"MTh", "no MIDI file: one begins with MThd, and this does not"),
        (b"MThd\0\0\0\6\0\0", "cut off within its header"),
        (b"MThd\0\0\0\2\0\0\0\1\0\x60", "a header of 2 bytes"),
        (b"MThd\0\0\0\6\0\7\0\1\0\x60", "format 7"),
        (b"MThd\0\0\0\6\0\0\0\1\0\0", "0 ticks a quarter note"),
        (b"MThd\0\0\0\6\0\0\0\1\xe7\0", "25 frames of 0 ticks"),
        (b"MThd\0\0\0\6\0\0\0\1\x80\1", "128 frames of 1 ticks; expected 24, 25, 29 or 30"),
        (b"MThd\0\0\0\6\0\1\0\2\0\x60", "its header says 2 tracks, 0 are whole"),
        (b"MThd\0\0\0\6\0\0\0\1\0\x60\0\0\0\1abcd", "a track was expected"),
    ],
)
def test_what_is_no_midi_file_is_refused(data: bytes, message: str):
    with pytest.raises(TakeFault, match=re.escape(message)):
        read(data)


@pytest.mark.parametrize(
    ("track", "message"),
    [
        ("00 24 50 00 FF 2F 00", "track 1, byte 23: an event without a status"),
        ("00 90 24 80 00 FF 2F 00", "a note's data byte is over 127"),
        ("00 B0 80 00 00 FF 2F 00", "a data byte is over 127"),
        ("00 F4 00 FF 2F 00", "an unknown status 0xF4"),
        ("00 FF 51 03 00 00 00 00 FF 2F 00", "a tempo of 0 microseconds"),
        ("00 FF 51 01 05 00 FF 2F 00", "a tempo of 5 microseconds"),
        ("00 90 24", "cut off: the track has no end"),
        ("00 FF 01 7F 41", "cut off: the track has no end"),
    ],
)
def test_broken_events_are_refused(track: str, message: str):
    with pytest.raises(TakeFault, match=re.escape(message)):
        read(file_of(track))


def test_an_event_over_the_end_of_its_track_is_refused():
    data = file_of("00 FF 01 05 41", ONE_NOTE)
    with pytest.raises(TakeFault, match="track 1, byte 27: an event runs over the end"):
        read(data)


def test_a_file_cut_off_anywhere_is_refused():
    data = file_of("00 FF 03 04 42617373 00 FF 51 03 07 A1 20 00 FF 2F 00", ONE_NOTE)
    for length in range(len(data)):
        with pytest.raises(TakeFault):
            read(data[:length])
    assert read(data).tracks[1].ends == [480]


def test_thousands_of_empty_tracks_are_read():
    data = b"MThd\0\0\0\6\0\1\xff\xff\0\x60" + b"MTrk\0\0\0\0" * 0xFFFF
    assert len(read(data).tracks) == 0xFFFF
