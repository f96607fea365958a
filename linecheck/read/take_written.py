"""A take from notation: a written bass line in MusicXML or ABC.

The line is played out as written: repeats and endings in order, ties joined, tuplets exact.
Pitches are as they sound (see ``bass_part`` for the octave). ``onset_quarters`` count from the
beginning of the file, a pickup included, whose length is ``Take.pickup_quarters``; seconds follow
the tempo marks, 120 quarter notes a minute where there are none.

Decisions, where notation leaves them open: of notes struck together, or over a note of theirs that
is tied on, the lowest is the line; a note that begins while another sounds (a second voice) stops
it. Grace notes are ornaments of the note they lead to and are left out, as are cue notes. A note
with an x for its head, or in brackets, is a ghost: its pitch is kept, it sounds with velocity
``GHOST_VELOCITY`` and at most ``GHOST_QUARTERS`` long, and ``TakeNote.ghost`` says so.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from linecheck.faults import TakeFault
from linecheck.read.abc_score import read_abc
from linecheck.read.bass_part import Choice, choose_part
from linecheck.read.fault_place import Where
from linecheck.read.musicxml_score import read_musicxml
from linecheck.read.played_bars import ROUNDING, PlayedBar, contents, played_bars
from linecheck.terms import FileMeter, Take, TakeNote, TempoMap

if TYPE_CHECKING:
    from pathlib import Path

    from linecheck.read.score import Score

DEFAULT_TEMPO = 120.0  # quarter notes a minute; MIDI's own default
GHOST_VELOCITY = 12
GHOST_QUARTERS = Fraction(1, 8)
MOST_NOTES = 500_000


def read_take_musicxml(path: Path, *, track: str | None = None) -> Take:
    """Read a written line from a .musicxml, .xml or .mxl file.

    Args:
        path: the file.
        track: the part: its number from 1, or its name; None: the bass is looked for.

    Raises:
        TakeFault: no line; one text line says where (part, measure) and why.
    """
    score = read_musicxml(path, TakeFault, with_chords=False)
    return _take(score, track, Where(TakeFault, str(path)))


def read_take_abc(path: Path, *, track: str | None = None) -> Take:
    """Read a written line from an .abc file; as ``read_take_musicxml``, voices being the parts."""
    score = read_abc(path, TakeFault, with_chords=False)
    return _take(score, track, Where(TakeFault, str(path)))


@dataclass(slots=True)
class _Sounding:
    onset: Fraction
    end: Fraction
    pitch: int
    velocity: int
    ghost: bool
    voice: str
    tied: bool = False
    fingering: str | None = None
    string: int | None = None
    spelled: str | None = None
    written_at: tuple[int, int, int] | None = None


def _take(score: Score, track: str | None, where: Where) -> Take:
    choice = choose_part(score.parts, track, where)
    bars = played_bars(score, choice.part, where)
    notes = _reduced(_laid_out(choice, bars, where), score)
    tempo_map = _tempo_map(score, bars)
    part = choice.part
    if part.graces:
        what = "an ornament" if part.graces == 1 else "ornaments"
        score.warn(f"{_many(part.graces, 'grace note')} left out as {what}")
    if part.cues:
        score.warn(f"{_many(part.cues, 'cue note')} left out")
    return Take(
        source=where.source,
        kind="written",
        notes=_timed(notes, tempo_map),
        tempo_map=tempo_map,
        meters=_meters(bars),
        line=choice.line,
        pickup_quarters=float(bars[0].quarters) if bars[0].pickup else 0.0,
        warnings=(*choice.warnings, *score.warnings),
    )


# ---- the notes -------------------------------------------------------------------------------


def _laid_out(choice: Choice, bars: list[PlayedBar], where: Where) -> list[_Sounding]:
    """Every note of the part in its turn, ties joined, in quarter notes from the start."""
    measures = contents(choice.part)
    sounding: list[_Sounding] = []
    open_ties: dict[int, _Sounding] = {}
    start = Fraction(0)
    for bar in bars:
        for index, offset in bar.pieces:
            for note in sorted(measures[index].notes, key=lambda n: (n.at, n.pitch)):
                if choice.staff is not None and note.staff != choice.staff:
                    continue
                onset = start + offset + note.at
                pitch = note.pitch + choice.shift
                if not 0 <= pitch <= 127:
                    raise where.wrong(f"a pitch of MIDI number {pitch} was read; 0 to 127 sound")
                tied = open_ties.pop(pitch, None)
                # Some programs write only the beginning of a tie.
                if tied and abs(tied.end - onset) < ROUNDING:
                    tied.end = onset + note.quarters
                    tied.tied = True
                else:
                    tied = _Sounding(
                        onset, onset + note.quarters, pitch, note.velocity, note.ghost, note.voice
                    )
                    tied.fingering, tied.string = note.fingering, note.string
                    tied.spelled = note.spelled
                    if note.element is not None:
                        tied.written_at = (choice.part.number, *note.element)
                    sounding.append(tied)
                if note.ties_on:
                    open_ties[pitch] = tied
        start += bar.quarters
        if len(sounding) > MOST_NOTES:
            raise where.wrong(f"more than {MOST_NOTES} notes are played")
    return sounding


def _reduced(notes: list[_Sounding], score: Score) -> list[_Sounding]:
    """One note at a time: the lowest of those struck together, each cut by the next."""
    line: list[_Sounding] = []
    chords = cut = 0
    for note in sorted(notes, key=lambda n: (n.onset, n.pitch)):
        if line and (note.onset == line[-1].onset or _is_above_held(note, line[-1])):
            chords += 1
            continue
        if line and line[-1].end > note.onset:
            line[-1].end = note.onset
            cut += 1
        line.append(note)
    if chords:
        score.warn(f"{_many(chords, 'note')} left out, above the lowest of a chord")
    if cut:
        score.warn(f"{_many(cut, 'note')} cut short by the next, in another voice")
    return line


def _is_above_held(note: _Sounding, before: _Sounding) -> bool:
    """Whether a chord's lower note is tied on while an upper one is struck anew."""
    held = before.tied and note.onset < before.end
    return held and note.voice == before.voice and note.pitch > before.pitch


def _many(count: int, what: str) -> str:
    return f"1 {what} is" if count == 1 else f"{count} {what}s are"


def _timed(notes: list[_Sounding], tempo_map: TempoMap) -> tuple[TakeNote, ...]:
    timed = []
    for note in notes:
        quarters = note.end - note.onset
        if note.ghost:
            quarters = min(quarters, GHOST_QUARTERS)
        onset_s = _seconds(tempo_map, float(note.onset))
        end_s = _seconds(tempo_map, float(note.onset + quarters))
        velocity = GHOST_VELOCITY if note.ghost else note.velocity
        timed.append(
            TakeNote(
                onset_s,
                end_s - onset_s,
                note.pitch,
                velocity,
                float(note.onset),
                float(quarters),
                fingering=note.fingering,
                string=note.string,
                written_at=note.written_at,
                spelled=note.spelled,
                ghost=note.ghost,
            )
        )
    return tuple(timed)


# ---- time ------------------------------------------------------------------------------------


def _tempo_map(score: Score, bars: list[PlayedBar]) -> TempoMap:
    marks: dict[Fraction, float] = {}
    start = Fraction(0)
    for bar in bars:
        for index, offset in bar.pieces:
            for at, tempo in score.frames[index].tempos:
                marks[start + offset + min(at, bar.quarters)] = tempo
        start += bar.quarters
    quarters, seconds, pace = [0.0], [0.0], [60.0 / marks.get(Fraction(0), DEFAULT_TEMPO)]
    for at in sorted(marks):
        here = float(at)
        if not at or 60.0 / marks[at] == pace[-1]:
            continue
        seconds.append(seconds[-1] + (here - quarters[-1]) * pace[-1])
        quarters.append(here)
        pace.append(60.0 / marks[at])
    return TempoMap(tuple(quarters), tuple(seconds), tuple(pace))


def _seconds(tempo_map: TempoMap, quarters: float) -> float:
    row = bisect_right(tempo_map.quarters, quarters) - 1
    inside = quarters - tempo_map.quarters[row]
    return tempo_map.seconds[row] + inside * tempo_map.seconds_per_quarter[row]


def _meters(bars: list[PlayedBar]) -> tuple[FileMeter, ...]:
    """The meters as they change; the first holds from the start, the pickup included."""
    full = [bar for bar in bars if not bar.pickup] or bars
    found = [FileMeter(0.0, full[0].meter)]
    start = Fraction(0)
    for bar in bars:
        if not bar.pickup and bar.meter != found[-1].meter:
            found.append(FileMeter(float(start), bar.meter))
        start += bar.quarters
    return tuple(found)
