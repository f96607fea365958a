"""Written takes hold against music21: the same pitches at the same places, repeats played out.

Scores of music21's corpus. Left out are those in which the two differ for a reason: music21 lets
an accidental of ABC hold in one octave only and loses a broken rhythm under a slur.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from linecheck.read.take_written import read_take_abc, read_take_musicxml

music21 = pytest.importorskip("music21")
CORPUS = Path(music21.__file__).parent / "corpus"
SCORES = [
    "bach/bwv133.6.mxl",  # split bars at a repeat
    "bach/bwv145.5.mxl",
    "bach/bwv18.5-lz.mxl",
    "bach/bwv244.15.mxl",
    "bach/bwv302.mxl",
    "bach/bwv326.mxl",
    "bach/bwv371.mxl",
    "leadSheet/fosterBrownHair.mxl",  # first and second endings
    "ryansMammoth/ArmyAndNavyReel.abc",  # and again, with triplets
    "ryansMammoth/BanjoReel.abc",
]


def notes_of(part):
    """Onset in quarter notes → lowest pitch struck there."""
    played = part.expandRepeats().toSoundingPitch().stripTies()
    found = {}
    for note in played.recurse().notes:
        if note.duration.isGrace or "ChordSymbol" in note.classes:
            continue
        at = Fraction(note.getOffsetInHierarchy(played)).limit_denominator(960)
        lowest = min(pitch.midi for pitch in note.pitches)
        found[at] = min(found.get(at, lowest), lowest)
    return sorted(found.items())


@pytest.mark.parametrize("name", SCORES)
@pytest.mark.filterwarnings("ignore")  # music21's own
def test_pitches_and_places(name):
    file = CORPUS / name
    if not file.exists():
        pytest.skip(f"this music21 has no {name}")
    reader = read_take_abc if name.endswith(".abc") else read_take_musicxml
    parts = music21.converter.parse(file).parts
    for number, part in list(enumerate(parts, 1))[-2:]:
        take = reader(file, track=str(number))
        octave = 12 if "assumed for a bass" in take.line else 0
        read = [
            (Fraction(n.onset_quarters).limit_denominator(960), n.pitch + octave)
            for n in take.notes
        ]
        assert read == notes_of(part)
