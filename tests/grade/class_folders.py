"""Class folders for the tests: charts and takes of the demo under names of the test's own."""

from __future__ import annotations

import shutil
from pathlib import Path

import mido

from linecheck.demo import demo_takes

TUNES = {take.name: take for take in demo_takes()}
BROKEN = b"this is no MIDI file"


def put(folder: Path, name: str, take: str) -> Path:
    """A demo take as a file of that name."""
    return _copy(TUNES[take].take, folder / name)


def put_chart(folder: Path, name: str, take: str) -> Path:
    """The chart of a demo take as a file of that name."""
    return _copy(TUNES[take].chart, folder / name)


def _copy(source: Path, place: Path) -> Path:
    place.parent.mkdir(parents=True, exist_ok=True)
    return Path(shutil.copyfile(source, place))


def small_class(folder: Path) -> Path:
    """Two takes over one chart, and a file that is none."""
    put_chart(folder, "shuffle.toml", "mira")
    put(folder, "mira.mid", "mira")
    put(folder, "oskar.mid", "oskar")
    (folder / "zoe.mid").write_bytes(BROKEN)
    return folder


def cut_to_a_chorus(path: Path, track_name: str = "", bars: int = 12) -> None:
    """Leave twelve bars of a played take, for what takes long; its tracks may get a name."""
    file = mido.MidiFile(path)
    for track in file.tracks:
        at, kept = 0, []
        for message in track:
            at += message.time
            if at <= bars * 4 * file.ticks_per_beat or message.type == "note_off":
                kept.append(message)
        track[:] = kept
        if track_name:
            track.insert(0, mido.MetaMessage("track_name", name=track_name))
    file.save(path)
