"""The practice track as a MIDI file: ``--midi FILE``.

Tracks: tempo, meters and markers; the click on channel 10; the piano on channel 1; and, where it
was asked for, the bass on channel 2. A marker names spot and tempo where they begin, then each
bar. Instruments and drums are those of General MIDI 1: pedal hi-hat for the click, side stick for
the count-in, acoustic grand piano, acoustic bass. Eighths are swung two to one where the chart
says swing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from linecheck.music.form import bar_steps, beat_quarters
from linecheck.practice.midi_writing import TICKS, Events, midi_bytes
from linecheck.practice.practice_track import clicks
from linecheck.practice.voicings import voicings
from linecheck.practice.ways import pulse_starts
from linecheck.terms import STEPS_PER_BEAT

if TYPE_CHECKING:
    from linecheck.practice.practice_plan import LineNote
    from linecheck.practice.practice_track import PracticeTrack, TrackBar, TrackLoop
    from linecheck.terms import Meter

__all__ = ["bar_ticks", "write_midi"]

PIANO, BASS, DRUMS = 1, 2, 10  # channels
GRAND_PIANO, ACOUSTIC_BASS = 1, 33  # programs, from 1
SIDE_STICK, PEDAL_HI_HAT = 37, 44
COUNT_ONE, COUNT, CLICK, CHORD, NOTE = 110, 85, 95, 64, 92  # velocities
STRUCK = TICKS // 8
GAP = 0.95  # of its length a note sounds, so that the next is heard to be struck
SWUNG = 8  # where an off-beat stands in its beat, in steps, two to one


def write_midi(track: PracticeTrack) -> bytes:
    """The whole file, the same for the same track."""
    writer = _Writer(track)
    for loop in track.loops:
        writer.loop(loop)
    return writer.file()


def bar_ticks(meter: Meter) -> int:
    """How long a bar is."""
    return _ticks(bar_steps(meter), meter)


def _ticks(steps: int, meter: Meter) -> int:
    return round(steps * TICKS * beat_quarters(meter) / STEPS_PER_BEAT)


class _Writer:
    """Puts one loop after another; ``_at`` is the tick that is reached."""

    def __init__(self, track: PracticeTrack) -> None:
        self._track = track
        self._at = 0
        self._meter: Meter | None = None
        self._guide = Events(track.title)
        self._click = Events("Click")
        self._piano = Events("Piano")
        self._piano.program(PIANO, GRAND_PIANO)
        self._bass = Events("Bass")
        self._bass.program(BASS, ACOUSTIC_BASS)

    def file(self) -> bytes:
        tracks = [self._guide, self._click, self._piano]
        return midi_bytes(tracks if self._track.bass is None else [*tracks, self._bass], self._at)

    def loop(self, loop: TrackLoop) -> None:
        """One spot at one tempo."""
        self._guide.tempo(self._at, loop.tempo)
        self._guide.marker(self._at, loop.title)
        voiced = _voiced(loop)
        for bar in loop.bars:
            if bar.meter != self._meter:
                self._guide.meter(self._at, bar.meter.beats, bar.meter.unit)
                self._meter = bar.meter
            if bar.what == "count-in":
                self._count_in(bar)
            else:
                self._bar(bar, voiced, loop.bass)
            self._at += bar_ticks(bar.meter)

    def _count_in(self, bar: TrackBar) -> None:
        self._guide.marker(self._at, "count-in")
        for nth, step in enumerate(pulse_starts(bar.meter)):
            at = self._at + _ticks(step, bar.meter)
            loud = COUNT if nth else COUNT_ONE
            self._click.note(DRUMS, SIDE_STICK, loud, at, at + STRUCK)

    def _bar(
        self, bar: TrackBar, voiced: dict[tuple[int, int], tuple[int, ...]],
        bass: tuple[LineNote, ...],
    ) -> None:  # fmt: skip
        name = "closing bar" if bar.what == "closing" else f"bar {bar.number}"
        self._guide.marker(self._at, name)
        for step in clicks(bar.meter):
            at = self._at + _ticks(step, bar.meter)
            self._click.note(DRUMS, PEDAL_HI_HAT, CLICK, at, at + STRUCK)
        for placed in bar.chords:
            begin = self._at + _ticks(placed.step, bar.meter)
            length = _ticks(placed.steps, bar.meter)
            for pitch in voiced[bar.begins, placed.step]:
                self._piano.note(PIANO, pitch, CHORD, begin, begin + round(GAP * length))
        if bar.what == "closing":
            self._closing_note(bar, bass)
        else:
            self._notes(bar, bass)

    def _notes(self, bar: TrackBar, bass: tuple[LineNote, ...]) -> None:
        end = bar.begins + bar_steps(bar.meter)
        for note in bass:
            if bar.begins <= note.step < end:
                begin, stop = (
                    self._at + _ticks(self._swung(step - bar.begins, bar.meter), bar.meter)
                    for step in (note.step, note.step + note.steps)
                )
                stop = begin + round(GAP * (stop - begin))
                self._bass.note(BASS, note.pitch, NOTE, begin, stop)

    def _closing_note(self, bar: TrackBar, bass: tuple[LineNote, ...]) -> None:
        if bass and bass[0].step == 0:
            stop = self._at + round(GAP * bar_ticks(bar.meter))
            self._bass.note(BASS, bass[0].pitch, NOTE, self._at, stop)

    def _swung(self, step: int, meter: Meter) -> int:
        """Where an eighth off the beat is played, where eighths swing."""
        off_beat = meter.unit == 4 and step % STEPS_PER_BEAT == STEPS_PER_BEAT // 2
        return step - STEPS_PER_BEAT // 2 + SWUNG if off_beat and self._track.swing else step


def _voiced(loop: TrackLoop) -> dict[tuple[int, int], tuple[int, ...]]:
    """(Step of the bar in the loop, step of the chord in the bar) → its voicing.

    The closing bar has that of the loop's first chord.
    """
    placed = [(bar.begins, chord) for bar in loop.once() for chord in bar.chords]
    voiced = voicings([chord.chord for _, chord in placed])
    found = {
        (begins, chord.step): voicing
        for (begins, chord), voicing in zip(placed, voiced, strict=True)
    }
    return {**found, (loop.spot.loop.steps, 0): voiced[0]}
