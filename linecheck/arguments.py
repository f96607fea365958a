"""How a take is read, as a user says it: one rule for the commands and for Python.

Each check hands a value on as the stages take it, or raises an ``OptionFault`` that names the
argument. Whole numbers and fractions may be Python's or NumPy's.
"""

from __future__ import annotations

from collections.abc import Iterable
from numbers import Integral, Number, Real
from os import PathLike
from pathlib import Path
from typing import Any, TypeGuard

from linecheck.faults import OptionFault

__all__ = [
    "PASS_MARK",
    "TEMPO",
    "checked_choice",
    "checked_click",
    "checked_count",
    "checked_file",
    "checked_first_beat_one",
    "checked_pass_mark",
    "checked_pitches",
    "checked_progress",
    "checked_tempo",
    "checked_track",
    "checked_track_of",
    "is_whole",
]

MOST_TRACKS = 65535  # of a file: their number has 16 bits (SMF 1.0)
TEMPO = (20.0, 500.0)  # quarter notes a minute
HIGHEST_PITCH = 127  # of a MIDI number
MOST_FIGURES = 40  # that are shown; whole numbers of some thousands cannot even be made text
PASS_MARK = (0.0, 100.0)  # commitment


def checked_track(track: object) -> str | None:
    """A track or part by its number from 1 or its name, as text; None: the bass is looked for."""
    if track is None:
        return None
    if is_whole(track):
        if not 1 <= int(track) <= MOST_TRACKS:
            raise OptionFault(f"track is {_shown(track)}; tracks are counted from 1")
        return str(track)
    if not isinstance(track, str):
        raise OptionFault(f"track is {_shown(track)}; expected the number or the name of a track")
    if not track.strip():
        raise OptionFault("track is empty; the number or the name of a track was expected")
    return track


def checked_track_of(read: bool, track: object) -> str | None:
    """As ``checked_track``; of a take that is read already no track can be chosen any more.

    Args:
        read: whether the take is no file.
        track: the number from 1 or the name of a track; None: the bass is looked for.
    """
    found = checked_track(track)
    if read and found is not None:
        raise OptionFault(
            "track is for a file; this take is read already: give its file, or choose with "
            "read_take(file, track=...)"
        )
    return found


def checked_tempo(tempo: Any) -> float | None:
    """Quarter notes a minute within ``TEMPO``; None: no hint."""
    if tempo is None:
        return None
    return _checked_number(tempo, "tempo", "quarter notes a minute", TEMPO)


def checked_pass_mark(pass_mark: Any) -> float | None:
    """A commitment within ``PASS_MARK``; None: that of the rubric, if it asks for one."""
    if pass_mark is None:
        return None
    return _checked_number(pass_mark, "pass_mark", "points of commitment", PASS_MARK)


def checked_first_beat_one(where: object) -> str | None:
    """Where chorus 1 begins, as text; a whole number is a bar. None: it is found."""
    if where is None or isinstance(where, str):
        return where
    if is_whole(where) and abs(int(where)) < 10**MOST_FIGURES:
        return str(where)
    raise OptionFault(
        f"first_beat_one is {_shown(where)}; expected a bar of the file (3), or as text a bar and "
        'a beat ("3:2") or seconds ("4.2s")'
    )


def checked_click(click: object) -> bool | None:
    """True, False or None: the file's tempo map is the grid, is not, or the playing tells."""
    if click is None or isinstance(click, bool):
        return click
    if type(click).__name__ in ("bool", "bool_"):  # NumPy's, of its versions 2 and 1
        return bool(click)
    raise OptionFault(f"click is {_shown(click)}; expected True, False or None")


def checked_count(value: object, name: str, what: str, most: int = 10**9) -> int | None:
    """A whole number from 1 of ``what``, such as "spots"; None: it is not said."""
    if value is None:
        return None
    if is_whole(value) and 1 <= int(value) <= most:
        return int(value)
    raise OptionFault(f"{name} is {_shown(value)}; expected a whole number of {what}, from 1 on")


def checked_choice(value: object, name: str, choices: tuple[str, ...]) -> None:
    """Refuse what is none of the choices."""
    if not (isinstance(value, str) and value in choices):
        names = f"{', '.join(map(repr, choices[:-1]))} or {choices[-1]!r}"
        raise OptionFault(f"{name} is {_shown(value)}; expected {names}")


def checked_progress(progress: object) -> None:
    """Refuse a callback that cannot be called; None is none."""
    if progress is not None and not callable(progress):
        raise OptionFault(f"progress is {_shown(progress)}; expected a function, or None")


def checked_file(file: object, what: str) -> Path:
    """The path of an input; ``what`` it is, such as "chart", is said where it is none."""
    if file == "":
        raise OptionFault(f"{what} is empty; the name of a file was expected")
    if isinstance(file, (str, PathLike)):
        return Path(file)
    raise OptionFault(f"{what} is {_shown(file)}; expected a {what} or the name of its file")


def checked_pitches(pitches: object, what: str, expected: str) -> tuple[int, ...]:
    """Pitches as MIDI numbers; ``what`` they are and what was ``expected`` is said of others."""
    if not isinstance(pitches, Iterable) or isinstance(pitches, (str, bytes)):
        raise OptionFault(f"{what} is {_shown(pitches)}; expected {expected}")
    found = tuple(pitches)
    for pitch in found:
        if not is_whole(pitch) or not 0 <= int(pitch) <= HIGHEST_PITCH:
            raise OptionFault(f"{what}: a pitch is {_shown(pitch)}; expected {expected}")
    return tuple(int(pitch) for pitch in found)


def _checked_number(value: Any, name: str, unit: str, bounds: tuple[float, float]) -> float:
    low, high = bounds
    is_number = isinstance(value, Real) and not isinstance(value, bool)
    if is_number and low <= value <= high:  # NaN is not
        return float(value)
    raise OptionFault(f"{name} is {_shown(value)}; expected {unit}, {low:g} to {high:g}")


def is_whole(value: object) -> TypeGuard[Integral]:
    """Whether it is a whole number; yes and no are none."""
    return isinstance(value, Integral) and not isinstance(value, bool)


def _shown(value: object) -> str:
    """A value as a fault shows it; of a long one only its type."""
    if is_whole(value) and abs(int(value)) >= 10**MOST_FIGURES:
        return f"of type {type(value).__name__}"
    text = str(value) if isinstance(value, Number) else repr(value)
    return text if len(text) <= MOST_FIGURES else f"of type {type(value).__name__}"
