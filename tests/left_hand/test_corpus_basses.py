"""Basses that nobody generated: those of chorales of music21's corpus (public domain)."""

from __future__ import annotations

from pathlib import Path

import music21
import pytest

import linecheck

CHORALES = sorted((Path(music21.__file__).parent / "corpus" / "bach").glob("bwv2[5-6]*.mxl"))[:8]


def test_there_are_chorales_to_try():
    assert len(CHORALES) == 8


@pytest.mark.parametrize("file", CHORALES, ids=lambda path: path.stem)
def test_a_bass_of_the_corpus_has_a_fingering(file):
    found = linecheck.fingering(file, track="Bass")
    assert len(found.notes) > 20
    assert found.out_of_reach == 0
    for before, note in zip(found.notes, found.notes[1:], strict=False):
        stop = note.pitch - (28, 33, 38, 43)[-note.string]
        assert (stop == 0) == (note.finger == "0")
        assert abs(note.shift) <= 12
        assert note.crossing == before.string - note.string
    # Choir basses lie in the middle of the instrument and move by step: three notes in four and
    # more lie under the hand (a bound of this tool's own, to be seen if it is ever crossed).
    assert sum(note.shift != 0 for note in found.notes) == found.shifts <= len(found.notes) / 4
