"""Make the takes in demo_tunes/takes from the lines in tests/demo_lines.

    python tests/make_demo_takes.py

The lines are composed and written down as text; here they are played, with human timing from a
seeded generator (so the files come out byte for byte the same), or written as notation.
"""

from __future__ import annotations

import io
import sys
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import mido
import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))

from tests.lines_as_text import CHARTS, PLACES, TextLine, TextNote, midi_pitch, read_line

TAKES = PLACES / "demo_tunes" / "takes"
PPQ = 480
ACOUSTIC_BASS, PIANO, SIDE_STICK = 32, 0, 37  # General MIDI, programs counted from 0


@dataclass(frozen=True)
class Playing:
    """How a line is played: swing as long to short, timing in milliseconds, lead-in in bars."""

    swing: float = 1.8
    late_ms: float = 6.0
    spread_ms: float = 9.0
    loudness: int = 84
    lead_in_bars: int = 1
    free: bool = False
    drift: float = 0.0
    count_in: bool = False
    piano: bool = False


PLAYED: dict[str, Playing] = {
    "tollgate_mira": Playing(lead_in_bars=2, count_in=True, piano=True),
    "tollgate_oskar": Playing(swing=1.5, late_ms=-14, spread_ms=22, loudness=76),
    "ninepenny_juno": Playing(swing=1.9, late_ms=9, spread_ms=10),
    "gravel_tomasz": Playing(swing=1.7, spread_ms=12, free=True, drift=0.03),
    "gravel_lena": Playing(swing=1.85, late_ms=5, spread_ms=10, free=True, drift=0.025),
    "lamp_oil_ruben": Playing(spread_ms=13, free=True, drift=0.04),
    "lamp_oil_edda": Playing(swing=1.75, late_ms=5, spread_ms=9),
    "attic_wen": Playing(swing=1.6, late_ms=4, spread_ms=8),
    "attic_paola": Playing(swing=1.6, late_ms=12, spread_ms=14, loudness=78),
    "brass_kettle_sefa": Playing(late_ms=8, spread_ms=9),
    "harbour_gate_nadia": Playing(late_ms=3, spread_ms=9),
}
WRITTEN = {"lamp_oil_idris": ".abc", "slow_ferry_bram": ".musicxml"}
PIANO_CHORDS = {  # shells and colours in the left hand's register, for Tollgate Shuffle
    "F7": "A3 Eb4 G4", "Bb7": "Ab3 D4 G4", "Cm7": "Bb3 Eb4 G4", "Bdim7": "Ab3 D4 F4",
    "Am7b5": "G3 C4 Eb4", "D7b9": "F#3 C4 Eb4", "Gm7": "F3 Bb3 D4", "C7": "E3 Bb3 D4",
    "D7": "F#3 C4 E4",
}  # fmt: skip
TOLLGATE = (
    ("F7",), ("Bb7",), ("F7",), ("Cm7", "F7"), ("Bb7",), ("Bdim7",), ("F7",), ("Am7b5", "D7b9"),
    ("Gm7",), ("C7",), ("F7", "D7"), ("Gm7", "C7"),
)  # fmt: skip


def main() -> None:
    TAKES.mkdir(parents=True, exist_ok=True)
    for file, content in all_takes().items():
        (TAKES / file).write_bytes(content)
        print(f"{file}: {len(content)} bytes")
    (CHARTS / "slow_ferry.musicxml").write_text(chart_as_musicxml(), encoding="utf-8")


def all_takes() -> dict[str, bytes]:
    """File name → content of every demo take."""
    made = {f"{name}.mid": played(name) for name in PLAYED}
    made["lamp_oil_idris.abc"] = as_abc(read_line("lamp_oil_idris")).encode()
    made["slow_ferry_bram.musicxml"] = as_musicxml(read_line("slow_ferry_bram")).encode()
    return made


# ---- played ----------------------------------------------------------------------------------


def played(name: str) -> bytes:
    """The line as a MIDI file, to a click or free."""
    line, playing = read_line(name), PLAYED[name]
    rng = np.random.default_rng(sum(name.encode()))
    if playing.free:
        return free(line, playing, rng)
    tempo = line.facts["tempo"]
    lead_in = playing.lead_in_bars * line.meters[0][0]
    conductor = mido.MidiTrack([
        mido.MetaMessage("track_name", name="Click"),
        mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(tempo)),
        *meter_events(line, lead_in),
    ])  # fmt: skip
    beat_s = 60 / tempo

    def ticks(note_beats: float, shift_s: float) -> int:
        return round((note_beats + lead_in + shift_s / beat_s) * PPQ)

    bass = notes_track("Bass", 0, ACOUSTIC_BASS, sounded(line, playing, rng, ticks, beat_s))
    tracks = [conductor, bass]
    if playing.piano:
        tracks.append(notes_track("Piano", 1, PIANO, piano(rng, lead_in)))
    if playing.count_in:
        beats = [((beat * PPQ), (beat * PPQ) + 60, SIDE_STICK, 90) for beat in range(lead_in)]
        tracks.append(notes_track("Drums", 9, 0, beats))
    return as_bytes(tracks)


def free(line: TextLine, playing: Playing, rng: np.random.Generator) -> bytes:
    """Without a click: the tempo drifts, and the file's ticks say nothing but the time."""
    beats = int(line.bars[-1]) + 1
    steps = rng.normal(0, 1, beats)
    wander = np.convolve(np.cumsum(steps), np.ones(16) / 16, mode="same")
    wander *= playing.drift / max(1e-9, np.abs(wander - wander[0]).max())
    beat_s = 60 / line.facts["tempo"] / (1 + wander - wander[0])
    beat_times = np.concatenate(([0.0], np.cumsum(beat_s))) + 1.3

    def ticks(note_beats: float, shift_s: float) -> int:
        seconds = np.interp(note_beats, np.arange(beats + 1), beat_times) + shift_s
        return round(seconds * 2 * PPQ)  # a file without a tempo runs at 120

    notes = sounded(line, playing, rng, ticks, float(beat_s.mean()))
    return as_bytes([notes_track("Bass", 0, ACOUSTIC_BASS, notes)])


def sounded(line: TextLine, playing: Playing, rng, ticks, beat_s: float):
    """Start tick, end tick, pitch and velocity of every note, as a person plays it."""
    long_share = playing.swing / (1 + playing.swing)

    def swung(beats: Fraction) -> float:
        whole, part = divmod(beats, 1)
        return float(whole) + (long_share if part == Fraction(1, 2) else float(part))

    notes = (*line.pickup, *line.notes)
    rows = []
    for note in notes:
        jitter = float(np.clip(rng.normal(0, 1), -2.2, 2.2)) * playing.spread_ms
        shift_s = (playing.late_ms + jitter) / 1000
        begin = ticks(swung(note.begin), shift_s)
        held = rng.uniform(0.86, 0.96)
        end = ticks(swung(note.begin + note.beats), shift_s)
        end = begin + round((end - begin) * held)
        accent = 5 if note.begin % 2 == 1 else 0
        velocity = playing.loudness + accent + round(float(rng.normal(0, 4)))
        if note.ghost:
            end = begin + round(0.05 / beat_s * PPQ)
            velocity = 26 + round(float(rng.normal(0, 2)))
        rows.append([begin, end, note.pitch, velocity])
    for row, after in pairwise(rows):
        row[1] = min(row[1], after[0] - 5)
    return [tuple(row) for row in rows]


def meter_events(line: TextLine, lead_in: int):
    """Time signatures where the meter changes; the lead-in has the first one."""
    events = []
    now, told = 0, None
    begins = [0, *(lead_in + int(bar) for bar in line.bars[:-1])]
    for begin, meter in zip(begins, (line.meters[0], *line.meters), strict=True):
        if meter != told:
            events.append(
                mido.MetaMessage(
                    "time_signature",
                    numerator=meter[0],
                    denominator=meter[1],
                    time=(begin - now) * PPQ,
                )
            )
            now, told = begin, meter
    return events


def piano(rng, lead_in: int):
    """Two chords a bar, short, on one and on the off-beat of two, for three choruses."""
    rows = []
    for bar in range(36):
        chords = TOLLGATE[bar % 12]
        for beat, chord in ((0, chords[0]), (1.64 if len(chords) == 1 else 2, chords[-1])):
            begin = round((lead_in + bar * 4 + beat) * PPQ + rng.normal(0, 5))
            rows += [
                (begin, begin + 300, midi_pitch(name), 62) for name in PIANO_CHORDS[chord].split()
            ]
    return rows


def notes_track(name: str, channel: int, program: int, rows) -> mido.MidiTrack:
    track = mido.MidiTrack([mido.MetaMessage("track_name", name=name)])
    if channel != 9:
        track.append(mido.Message("program_change", channel=channel, program=program))
    events = []
    for begin, end, pitch, velocity in rows:
        events += [(begin, 1, pitch, velocity), (end, 0, pitch, 0)]
    now = 0
    for at, on, pitch, velocity in sorted(events):
        kind = "note_on" if on else "note_off"
        track.append(
            mido.Message(kind, channel=channel, note=pitch, velocity=velocity, time=at - now)
        )
        now = at
    return track


def as_bytes(tracks) -> bytes:
    file = mido.MidiFile(type=1 if len(tracks) > 1 else 0, ticks_per_beat=PPQ)
    file.tracks.extend(tracks)
    content = io.BytesIO()
    file.save(file=content)
    return content.getvalue()


# ---- written ---------------------------------------------------------------------------------


def bars_of(line: TextLine) -> list[list[TextNote]]:
    return [
        [note for note in line.notes if begin <= note.begin < end]
        for begin, end in pairwise(line.bars)
    ]


def as_abc(line: TextLine) -> str:
    """ABC 2.1 with a bass clef that sounds an octave lower; every accidental is written."""
    rows = []
    for number, bar in enumerate(bars_of(line)):
        if number % 4 == 0:
            rows.append("")
        rows[-1] += " ".join(abc_note(note) for note in bar) + " | "
    music = "\n".join(row.rstrip() for row in rows)
    return (
        "X:1\nT:Lamp Oil, bass line\nC:Idris\nM:4/4\nL:1/4\nQ:1/4=116\n"
        f"K:Cm clef=bass-8\n{music}]\n"
    )


def abc_note(note: TextNote) -> str:
    letter, octave = note.name[0], int(note.name[-1]) + 1  # written an octave above its sound
    sign = {"": "=", "b": "_", "#": "^"}[note.name[1:-1]]
    marks = "," * (4 - octave) if octave < 5 else ""
    name = letter if octave < 5 else letter.lower() + "'" * (octave - 5)
    length = "" if note.beats == 1 else str(note.beats)
    return f"{sign}{name}{marks}{length}"


def as_musicxml(line: TextLine) -> str:
    """MusicXML 4.0, partwise, a bass part with its transposition."""
    measures = []
    for number, bar in enumerate(bars_of(line), start=1):
        notes = "".join(xml_note(note) for note in bar)
        head = ""
        if number == 1:
            head = (
                "<attributes><divisions>2</divisions><key><fifths>1</fifths></key>"
                f"<time><beats>{line.meters[0][0]}</beats><beat-type>{line.meters[0][1]}</beat-type>"
                "</time><clef><sign>F</sign><line>4</line></clef><transpose>"
                "<chromatic>0</chromatic><octave-change>-1</octave-change></transpose>"
                f'</attributes><direction><sound tempo="{line.facts["tempo"]}"/></direction>'
            )
        measures.append(f'    <measure number="{number}">{head}{notes}</measure>')
    body = "\n".join(measures)
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
        '"http://www.musicxml.org/dtds/partwise.dtd">\n'
        '<score-partwise version="4.0">\n'
        "  <work><work-title>Slow Ferry, bass line</work-title></work>\n"
        '  <part-list><score-part id="P1"><part-name>Bass</part-name></score-part></part-list>\n'
        f'  <part id="P1">\n{body}\n  </part>\n</score-partwise>\n'
    )


# Slow Ferry as a lead sheet: root, kind of MusicXML 4.0, its text, degrees added.
SLOW_FERRY = """
G major-seventh maj7 | E minor-seventh m7 | A minor-seventh m7 | D dominant 7 |
B minor-seventh m7 | E dominant 7b9 b9 | A minor-seventh m7 | D suspended-fourth 7sus 7 |
C major-seventh maj7 | F# half-diminished m7b5 | B dominant 7b9 b9 | E minor-seventh m7 |
A dominant 7 | A minor-seventh m7 , D dominant 7 | G major-seventh maj7 | G major-seventh maj7 |
"""


def chart_as_musicxml() -> str:
    """A chart as a notation program saves it: chord symbols over rests, sections as letters."""
    measures = []
    for number, bar in enumerate(SLOW_FERRY.strip().rstrip("|").split("|"), start=1):
        chords = [chord.split() for chord in bar.split(",")]
        head = ""
        if number == 1:
            head = (
                "<attributes><divisions>1</divisions><key><fifths>1</fifths><mode>major</mode></key>"
                "<time><beats>3</beats><beat-type>4</beat-type></time>"
                "<clef><sign>G</sign><line>2</line></clef></attributes><direction>"
                '<sound tempo="108"/></direction>'
            )
        if number in (1, 9):
            letter = "A" if number == 1 else "B"
            head += (
                "<direction><direction-type><rehearsal>"
                f"{letter}</rehearsal></direction-type></direction>"
            )
        lengths = [3] if len(chords) == 1 else [2, 1]
        body = "".join(
            f"{xml_chord(*chord)}<note><rest/><duration>{beats}</duration></note>"
            for chord, beats in zip(chords, lengths, strict=True)
        )
        measures.append(f'    <measure number="{number}">{head}{body}</measure>')
    bars = "\n".join(measures)
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<score-partwise version="4.0">\n'
        "  <work><work-title>Slow Ferry</work-title></work>\n"
        '  <part-list><score-part id="P1"><part-name>Lead</part-name></score-part></part-list>\n'
        f'  <part id="P1">\n{bars}\n  </part>\n</score-partwise>\n'
    )


def xml_chord(root: str, kind: str, text: str, *degrees: str) -> str:
    alter = "<root-alter>1</root-alter>" if root.endswith("#") else ""
    added = "".join(
        f"<degree><degree-value>{degree.strip('b')}</degree-value>"
        f"<degree-alter>{-degree.count('b')}</degree-alter><degree-type>add</degree-type></degree>"
        for degree in degrees
    )
    return (
        f"<harmony><root><root-step>{root[0]}</root-step>{alter}</root>"
        f'<kind text="{text}">{kind}</kind>{added}</harmony>'
    )


def xml_note(note: TextNote) -> str:
    alter = {"": "", "b": "<alter>-1</alter>", "#": "<alter>1</alter>"}[note.name[1:-1]]
    octave = int(note.name[-1]) + 1
    kind = {1: "<type>quarter</type>", 2: "<type>half</type>", 3: "<type>half</type><dot/>"}
    return (
        f"<note><pitch><step>{note.name[0]}</step>{alter}<octave>{octave}</octave></pitch>"
        f"<duration>{note.beats * 2}</duration>{kind[int(note.beats)]}</note>"
    )


if __name__ == "__main__":
    main()
