"""A played take from a MIDI file. The outside reference is mido's own reading and timing."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import mido
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from linecheck.faults import TakeFault
from linecheck.read.take_midi import read_take_midi
from linecheck.terms import FileMeter, Meter, Take

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

WALKING = [36, 40, 43, 45, 46, 45, 43, 40, 41, 45, 48, 50, 36, 38, 40, 41]
Row = tuple[int, int, int, int]  # onset, end, pitch, velocity


def track_of(rows: Iterable[Row], *extra: tuple[int, mido.MetaMessage]) -> mido.MidiTrack:
    """A track with these notes; at one tick releases stand before attacks."""
    events = [(tick, 0, message) for tick, message in extra]
    for onset, end, pitch, velocity in rows:
        note_on = mido.Message("note_on", note=pitch, velocity=velocity)
        events.append((onset, 2, note_on))
        events.append((end, 1 if end > onset else 3, mido.Message("note_off", note=pitch)))
    events.sort(key=lambda event: event[:2])
    track, last = mido.MidiTrack(), 0
    for tick, _, message in events:
        track.append(message.copy(time=tick - last))
        last = tick
    return track


def save(path: Path, *tracks: mido.MidiTrack, ppq: int = 480, form: int = 1) -> Path:
    mido.MidiFile(type=form, ticks_per_beat=ppq, tracks=list(tracks)).save(path)
    return path


def quarters(pitches: Sequence[int] = WALKING, ppq: int = 480, length: int = 400) -> list[Row]:
    return [(i * ppq, i * ppq + length, p, 80) for i, p in enumerate(pitches)]


def tempo(bpm: float, at: int = 0) -> tuple[int, mido.MetaMessage]:
    return at, mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(bpm))


def meter(beats: int, unit: int, at: int = 0) -> tuple[int, mido.MetaMessage]:
    return at, mido.MetaMessage("time_signature", numerator=beats, denominator=unit)


@pytest.fixture
def mid(tmp_path: Path) -> Path:
    return tmp_path / "take.mid"


def read(path: Path, track: str | None = None) -> Take:
    return read_take_midi(path, track=track)


def test_a_take_to_a_click(mid: Path):
    take = read(save(mid, track_of([], tempo(150), meter(3, 4)), track_of(quarters())))
    assert take.source == str(mid)
    assert take.kind == "played"
    assert [n.pitch for n in take.notes] == WALKING
    assert [n.onset_quarters for n in take.notes] == list(range(16))
    assert [n.onset_s for n in take.notes] == pytest.approx([0.4 * i for i in range(16)])
    assert take.notes[0].duration_s == pytest.approx(400 / 480 * 0.4)
    assert take.notes[0].duration_quarters == pytest.approx(400 / 480)
    assert take.meters == (FileMeter(0.0, Meter(3, 4)),)
    assert take.tempo_map is not None
    assert take.tempo_map.quarters == (0.0,)
    assert take.tempo_map.seconds_per_quarter == pytest.approx((0.4,))
    assert take.line == "track 2; no other track holds notes"
    assert take.warnings == ()


def test_a_file_that_says_nothing_of_tempo_and_meter_is_120_in_4_4(mid: Path):
    take = read(save(mid, track_of(quarters())))
    assert take.notes[1].onset_s == pytest.approx(0.5)
    assert take.meters == (FileMeter(0.0, Meter(4, 4)),)


def test_tempo_changes_hold_for_every_track(mid: Path):
    take = read(
        save(mid, track_of([], tempo(120), tempo(60, 960), tempo(240, 1920)), track_of(quarters()))
    )
    assert [n.onset_s for n in take.notes[:6]] == pytest.approx([0, 0.5, 1.0, 2.0, 3.0, 3.25])
    assert take.tempo_map is not None
    assert take.tempo_map.quarters == (0.0, 2.0, 4.0)
    assert take.tempo_map.seconds == pytest.approx((0.0, 1.0, 3.0))
    # A note over a change lasts as long as its parts.
    long = read(save(mid, track_of([(0, 1920, 36, 80)], tempo(120), tempo(60, 960))))
    assert long.notes[0].duration_s == pytest.approx(3.0)


def test_of_several_tempi_or_meters_at_one_place_the_last_holds(mid: Path):
    take = read(save(mid, track_of(quarters(), tempo(60), tempo(150), meter(4, 4), meter(3, 4))))
    assert take.notes[1].onset_s == pytest.approx(0.4)
    assert take.meters == (FileMeter(0.0, Meter(3, 4)),)


def test_a_tempo_or_meter_said_again_is_no_change(mid: Path):
    take = read(save(mid, track_of(quarters(), tempo(60), tempo(60, 480), meter(4, 4, 1920))))
    assert take.tempo_map is not None
    assert len(take.tempo_map.quarters) == 1
    assert len(take.meters) == 1


def test_meter_changes(mid: Path):
    take = read(save(mid, track_of(quarters(), meter(4, 4), meter(6, 8, 1920))))
    assert take.meters == (FileMeter(0.0, Meter(4, 4)), FileMeter(4.0, Meter(6, 8)))


@pytest.mark.parametrize("ppq", [1, 24, 96, 960, 32767])
def test_any_division(mid: Path, ppq: int):
    take = read(save(mid, track_of(quarters(ppq=ppq, length=ppq)), ppq=ppq))
    assert [n.onset_quarters for n in take.notes] == list(range(16))
    assert take.notes[3].onset_s == pytest.approx(1.5)


def test_smpte_time_has_seconds_and_no_beats(mid: Path):
    save(mid, track_of(quarters(), tempo(60)))
    data = bytearray(mid.read_bytes())
    data[12:14] = b"\xe7\x28"  # 25 frames of 40 ticks: milliseconds
    mid.write_bytes(data)
    take = read(mid)
    assert take.tempo_map is None
    assert take.meters == ()
    assert take.notes[1].onset_s == pytest.approx(0.48)
    assert take.notes[1].duration_s == pytest.approx(0.4)
    assert take.notes[1].onset_quarters is None
    assert take.notes[1].duration_quarters is None


# ---- one voice -------------------------------------------------------------------------------


def ends(take: Take) -> list[float]:
    return [n.onset_quarters + n.duration_quarters for n in take.notes]  # type: ignore[operator]


def test_an_overlapped_note_ends_where_the_next_begins(mid: Path):
    take = read(save(mid, track_of([(0, 600, 36, 80), (480, 900, 40, 80)])))
    assert ends(take) == [1.0, 900 / 480]
    assert take.warnings == ()


def test_a_double_stop_keeps_its_lowest_note(mid: Path):
    rows = [*quarters(WALKING[:4]), (960, 1360, 31, 70), (963, 1360, 48, 75)]
    take = read(save(mid, track_of(rows)))
    assert [n.pitch for n in take.notes] == [36, 40, 31, 45]
    assert take.warnings == ("1 note is struck as a chord; its lowest tone was kept (at 1.0 s)",)


def test_chords_are_counted_and_placed(mid: Path):
    rows = [(480 * i, 480 * i + 400, p, 80) for i in range(5) for p in (45, 52, 36)]
    single = [(480 * i, 480 * i + 400, 36, 80) for i in range(5, 16)]
    take = read(save(mid, track_of([*rows, *single])))
    assert [n.pitch for n in take.notes] == [36] * 16
    assert take.warnings == (
        (
            "5 of 16 notes are struck as a chord; its lowest tone was kept "
            "(at 0.0 s, 0.5 s, 1.0 s and 2 more)"
        ),
    )


def test_chords_throughout_are_doubted(mid: Path):
    rows = [(480 * i, 480 * i + 400, p, 80) for i in range(5) for p in (45, 52, 36)]
    take = read(save(mid, track_of(rows)))
    assert [n.pitch for n in take.notes] == [36] * 5
    assert take.warnings == (
        (
            "5 of 5 notes are struck as chords: this may be the part of another instrument; of each "
            "chord the lowest tone alone was read as the line"
        ),
    )


# ---- pitch bend ------------------------------------------------------------------------------


def bent(*messages: tuple[int, mido.Message]) -> mido.MidiTrack:
    """A walking bar of four quarters with these messages in it."""
    return track_of(quarters(WALKING[:4]), *messages)  # type: ignore[arg-type]


def bend(at: int, half_steps: float, reach: float = 2.0, channel: int = 0) -> tuple:
    pitch = round(half_steps / reach * 8192)
    return at, mido.Message("pitchwheel", pitch=min(pitch, 8191), channel=channel)


def control(number: int, value: int) -> tuple:
    return 0, mido.Message("control_change", control=number, value=value)


TO_TWELVE = (control(101, 0), control(100, 0), control(6, 12), control(101, 127), control(100, 127))


@pytest.mark.parametrize(
    ("messages", "notes"),
    [
        ((bend(0, 0.45), bend(200, -0.45)), ""),  # vibrato
        ((bend(420, 2.0), bend(470, 0)), ""),  # between two notes
        ((bend(0, 2.0, channel=3),), ""),  # on another channel
        ((bend(700, 1.0), bend(800, 0)), "1 note is"),  # while the second is held
        ((bend(700, -1.0), bend(1000, 0)), "2 of 4 notes are"),  # also where the third is struck
        ((bend(0, 2.0),), "4 of 4 notes are"),
        ((*TO_TWELVE, bend(0, 1.0, reach=12)), "4 of 4 notes are"),
        ((*TO_TWELVE, bend(0, 0.4, reach=12)), ""),
        ((control(99, 0), control(98, 0), control(6, 96), bend(0, 0.4)), ""),  # not registered
    ],
)
def test_large_bends_are_told(mid: Path, messages: tuple, notes: str):
    warnings = read(save(mid, bent(*messages))).warnings
    said = (
        f"{notes} bent by more than a quarter tone; pitch bend is not read, and the pitch that was "
        f"struck is judged{': are these the pitches that sound?' if notes.startswith('4') else ''}"
    )
    assert warnings == ((said,) if notes else ())


def test_a_few_bends_in_a_long_line_are_no_question(mid: Path):
    line = quarters(WALKING[:4] * 11)
    (few,) = read(save(mid, track_of(line, bend(0, 2.0), bend(4 * 480 - 60, 0)))).warnings
    assert few.startswith("4 of 44 notes are bent")
    assert few.endswith("is judged")


def test_a_grace_note_is_no_chord(mid: Path):
    rows = [(0, 20, 35, 60), (19, 400, 36, 80), (480, 900, 40, 80)]  # 20 ticks are 21 ms
    take = read(save(mid, track_of(rows)))
    assert [n.pitch for n in take.notes] == [35, 36, 40]
    assert take.warnings == ()


def test_a_note_doubled_at_its_own_pitch_is_one(mid: Path):
    first, second = track_of(quarters(WALKING[:8])), track_of(quarters(WALKING[:8]))
    for message in second:
        if not message.is_meta:
            message.channel = 1
    whole = mido.merge_tracks([first, second])
    take = read(save(mid, whole, form=0))
    assert [n.pitch for n in take.notes] == WALKING[:8]


# ---- warnings --------------------------------------------------------------------------------


def test_notes_never_released(mid: Path):
    track = track_of(quarters(WALKING[:3]))
    track.pop()  # the last release
    track.append(mido.MetaMessage("end_of_track", time=480))
    take = read(save(mid, track))
    assert ends(take)[-1] == 3.0
    assert take.warnings == (
        "1 note is never released: held until the next note or the track's end",
    )


@pytest.mark.parametrize(
    ("pitches", "warning"),
    [
        ([*WALKING, 22], "1 note lies below the range of a double bass (lower than B0)"),
        ([*WALKING, 68, 70], "2 notes lie above the range of a double bass (higher than G4)"),
        ([p + 12 for p in WALKING], "no note lies below E2: the line may be saved an octave too high, as written"),
        ([127] * 20, "no note lies below E8: the line may be saved seven octaves too high, or is not that of a bass"),
        ([p + 24 for p in WALKING], "no note lies below E3: the line may be saved two octaves too high, or is not that of a bass"),
        ([p - 15 for p in WALKING], "half the notes lie below E1: the line may be saved an octave too low"),
    ],
)  # fmt: skip
def test_the_range_is_only_warned_about(mid: Path, pitches: list[int], warning: str):
    take = read(save(mid, track_of(quarters(pitches))))
    assert [n.pitch for n in take.notes] == pitches
    assert take.warnings == (warning,)


@pytest.mark.parametrize("pitches", [WALKING, [23, 67, 30] * 6, [p + 5 for p in WALKING]])
def test_lines_within_the_range_are_not_warned_about(mid: Path, pitches: list[int]):
    assert read(save(mid, track_of(quarters(pitches)))).warnings == ()


def test_meters_that_make_no_sense_are_passed_over(mid: Path):
    save(mid, track_of(quarters(), meter(4, 4), meter(3, 4, 960)))
    mid.write_bytes(mid.read_bytes().replace(b"\xff\x58\x04\x03", b"\xff\x58\x04\x00"))
    take = read(mid)
    assert take.meters == (FileMeter(0.0, Meter(4, 4)),)
    assert take.warnings == ("1 meter of the file makes no sense: passed over",)


# ---- format 2 --------------------------------------------------------------------------------


def test_format_2_is_read_track_by_track(mid: Path):
    first = track_of(quarters(), tempo(60))
    second = track_of(quarters([p + 1 for p in WALKING]), tempo(240))
    save(mid, first, second, form=2)
    with pytest.raises(TakeFault, match="format 2: its 2 tracks are takes of their own; --track"):
        read(mid)
    assert read(mid, "1").notes[1].onset_s == pytest.approx(1.0)
    assert read(mid, "2").notes[1].onset_s == pytest.approx(0.25)


def test_format_2_with_one_track_of_notes(mid: Path):
    save(mid, track_of([]), track_of(quarters(), tempo(60)), form=2)
    assert read(mid).notes[1].onset_s == pytest.approx(1.0)


# ---- faults ----------------------------------------------------------------------------------


def test_no_notes(mid: Path):
    with pytest.raises(TakeFault, match=r"take.mid: the file holds no notes"):
        read(save(mid, track_of([], tempo(120))))


def test_a_file_too_large(mid: Path):
    with mid.open("wb") as file:
        file.write(b"MThd")
        file.seek(5_000_000_000)  # a hole: nothing is stored
        file.write(b"x")
    with pytest.raises(TakeFault, match="is too large: at most 16 MiB is read"):
        read(mid)


def test_a_missing_file(mid: Path):
    with pytest.raises(TakeFault, match="no such file"):
        read(mid)


@pytest.mark.parametrize(
    ("bpm", "ticks", "message"),
    [
        (120, 0x0FFFFFFF, r"the last note lies 2.68e\+08 quarter notes from the start"),
        (4, 900_000, r"the last note lies 1.35e\+07 seconds from the start; expected 1,000,000"),
    ],
)
def test_a_note_absurdly_late(mid: Path, bpm: float, ticks: int, message: str):
    with pytest.raises(TakeFault, match=message):
        read(save(mid, track_of([(ticks, ticks + 1, 36, 80)], tempo(bpm)), ppq=1))


def test_too_many_changes_of_tempo(mid: Path):
    changes = (tempo(100 + i % 2, i) for i in range(100_001))
    with pytest.raises(TakeFault, match="100,001 changes of tempo and meter; expected 100,000"):
        read(save(mid, track_of(quarters(), *changes)))


def test_an_unknown_track(mid: Path):
    with pytest.raises(TakeFault, match="no track 'tuba' that holds notes; there are: track 1"):
        read(save(mid, track_of(quarters())), "tuba")


# ---- against mido ----------------------------------------------------------------------------

rows_of_a_line = st.lists(
    st.tuples(st.integers(1, 2000), st.integers(1, 3000), st.integers(0, 127), st.integers(1, 127)),
    min_size=1,
    max_size=40,
)
tempo_changes = st.lists(st.tuples(st.integers(0, 40_000), st.integers(1, 0xFFFFFF)), max_size=5)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(gaps=rows_of_a_line, changes=tempo_changes, ppq=st.integers(1, 0x7FFF), one=st.booleans())
def test_onsets_are_those_of_mido(
    mid: Path, gaps: list[Row], changes: list[tuple[int, int]], ppq: int, one: bool
):
    rows, tick = [], 0
    for gap, length, pitch, velocity in gaps:
        tick += gap
        rows.append((tick, tick + length, pitch, velocity))
    tempi = [(t, mido.MetaMessage("set_tempo", tempo=value)) for t, value in dict(changes).items()]
    tracks = [track_of(rows, *tempi)] if one else [track_of([], *tempi), track_of(rows)]
    save(mid, *tracks, ppq=ppq, form=0 if one else 1)
    expected, now = [], 0.0
    for message in mido.MidiFile(mid):  # mido's own clock
        now += message.time
        if message.type == "note_on":
            expected.append((now, message.note, message.velocity))
    try:
        take = read(mid)
    except TakeFault as fault:
        assert "from the start" in str(fault)  # noqa: PT017 (a take may be too long)
        return
    # mido does not reduce chords; a line with notes closer than a chord is not compared.
    if all(b[0] - a[0] > 0.031 for a, b in itertools.pairwise(expected)):
        assert [n.onset_s for n in take.notes] == pytest.approx([e[0] for e in expected])
        assert [(n.pitch, n.velocity) for n in take.notes] == [e[1:] for e in expected]
    assert all(n.duration_s >= 0 for n in take.notes)
    assert all(
        a.onset_s + a.duration_s <= b.onset_s + 1e-9 * b.onset_s
        for a, b in zip(take.notes, take.notes[1:], strict=False)
    )


# ---- hostile bytes ---------------------------------------------------------------------------


def is_a_take_or_a_fault(path: Path) -> None:
    try:
        take = read(path)
    except TakeFault as fault:
        text = str(fault)
        assert "\n" not in text
        assert text.isprintable()
        return
    assert take.notes
    assert all(0 <= n.onset_s <= 1e6 and 0 <= n.pitch <= 127 for n in take.notes)
    assert list(take.notes) == sorted(take.notes, key=lambda n: n.onset_s)


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.binary(max_size=400), headed=st.booleans())
def test_any_bytes_are_a_take_or_a_fault_of_one_line(mid: Path, data: bytes, headed: bool):
    head = b"MThd\0\0\0\6\0\0\0\1\0\x60MTrk" + len(data).to_bytes(4, "big") if headed else b""
    mid.write_bytes(head + data)
    is_a_take_or_a_fault(mid)


@settings(max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    edits=st.lists(st.tuples(st.integers(0, 10**6), st.integers(0, 255)), min_size=1, max_size=6),
    cut=st.none() | st.integers(0, 10**6),
)
def test_a_damaged_file_is_a_take_or_a_fault_of_one_line(
    mid: Path, edits: list[tuple[int, int]], cut: int | None
):
    name = (0, mido.MetaMessage("track_name", name="Bass"))
    program = (0, mido.Message("program_change", program=32))
    save(mid, track_of([], tempo(120), meter(4, 4)), track_of(quarters(), name, program))
    data = bytearray(mid.read_bytes())
    for at, byte in edits:
        data[at % len(data)] = byte
    mid.write_bytes(data[: len(data) if cut is None else cut % len(data)] or b"?")
    is_a_take_or_a_fault(mid)
