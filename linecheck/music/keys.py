"""Keys: reading their names, and spelling a pitch by the key.

A note of the scale is spelled as the scale has it. A chromatic note follows the signature: sharps
in sharp keys, flats in flat keys; in C major and A minor as their nearest keys have it, F# C# G#
and Bb Eb (common practice). In minor the raised 6th and 7th belong to the scale.
"""

from __future__ import annotations

import re
from functools import lru_cache

from linecheck.faults import ChartFault
from linecheck.music.chord_tokens import plain
from linecheck.music.foreign_names import foreign_name, told
from linecheck.music.pitch import degree_name, pitch_class
from linecheck.terms import Key

_MAJOR = ("1", "2", "3", "4", "5", "6", "7")
_MINOR = ("1", "2", "b3", "4", "5", "b6", "b7", "6", "7")
_BY_SIGNATURE = {
    "flats": ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B"),
    "none": ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "G#", "A", "Bb", "B"),
    "sharps": ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"),
}
_FIFTHS = "FCGDAEB"
MOST_SIGNS = 7
_TONICS = (
    "C", "C#", "Db", "D", "D#", "Eb", "E", "F", "F#", "Gb", "G", "G#", "Ab", "A", "A#", "Bb", "B", "Cb",
)  # fmt: skip
_ANY_MODE = re.compile(r"(.+?)[ -]?(?:(dur|major|maj)|(moll|minor|min|mi|m))?", re.IGNORECASE)
_KEY = re.compile(r"([A-G])(b|#)?(?:[ -]?((?i:major|maj|minor|min|mi)|M|m)|(-))?")


def read_key(text: str) -> Key:
    """Read a key: a tonic and optionally its mode: ``"Bb"``, ``"F#m"``, ``"D minor"``.

    Raises:
        ChartFault: it is no key, or one of more than seven sharps or flats. The fault has no
            source and no place: the caller knows them.
    """
    found = _KEY.fullmatch(plain(text.strip()))
    if found is None:
        raise ChartFault(
            f"{text!r} is no key; expected a tonic such as 'Bb', or 'Dm' for minor"
            f"{nearest_key(text)}"
        )
    mode = found[3] or ""
    key = Key(
        found[1] + (found[2] or ""), bool(found[4]) or mode == "m" or mode.lower()[:2] == "mi"
    )
    if abs(signature(key)) > MOST_SIGNS:
        same = key_text(key_moved(key, 0))
        raise ChartFault(
            f"{text!r} is a key of more than seven sharps or flats; write {same!r}, which sounds "
            "the same"
        )
    return key


def nearest_key(text: str) -> str:
    """What is said of the key that a text most likely means; "" where none is near.

    German names, words for the mode, small letters: ``nearest_key("c-moll")`` ends in ``'Cm'``.
    A small letter alone is taken for minor by some and for a slip by others: both are given.
    """
    found = _ANY_MODE.fullmatch(plain(text.strip()))
    if found is None:
        return ""
    tonic = found[1][:1].upper() + found[1][1:]
    german = (found[2] or found[3] or "").lower() in ("dur", "moll")
    name = foreign_name(tonic)
    if name and name.written == tonic:
        tonic = name.english
    elif german and tonic == "B":
        tonic = "Bb"
    if not _KEY.fullmatch(tonic) or len(tonic) > 2:
        return ""
    keys = [
        Key(tonic, minor)
        for minor in (False, True)
        if abs(signature(Key(tonic, minor))) <= MOST_SIGNS
    ]
    if found[2] or found[3]:
        keys = [key for key in keys if key.minor == bool(found[3])]
    elif found[1][:1].isupper():
        keys = keys[:1]
    readings = " or ".join(repr(key_text(key)) for key in keys)
    why = f" ({told([name])})" if name else ""
    return f"; nearest reading {readings}{why}" if readings else ""


def says_major(text: str) -> bool:
    """Whether a key is called major in so many words: ``"E major"``, ``"EM"``, not ``"E"``."""
    found = _KEY.fullmatch(plain(text.strip()))
    return found is not None and bool(found[3]) and not read_key(text).minor


def key_text(key: Key) -> str:
    """A key as a chart file writes it: ``"Bb"``, ``"Dm"``."""
    return key.tonic + ("m" if key.minor else "")


def signature(key: Key) -> int:
    """Sharps (+) or flats (−) of the key's signature: ``signature(Key("Eb", False)) == -3``."""
    alter = key.tonic.count("#") - key.tonic[1:].count("b")
    return _FIFTHS.index(key.tonic[0]) - 1 + 7 * alter - (3 if key.minor else 0)


def key_moved(key: Key, half_steps: int) -> Key:
    """The key so many half steps higher, with the fewest sharps or flats.

    Of two with as many, F# and Gb, it is the one on the side of the key itself.
    """
    pc = (pitch_class(key.tonic) + half_steps) % 12
    keys = [Key(name, key.minor) for name in _TONICS if pitch_class(name) == pc]
    side = signature(key)
    return min(keys, key=lambda k: (abs(signature(k)), -signature(k) * side))


def key_of_signature(fifths: int, *, minor: bool = False) -> Key:
    """The key with so many sharps (+) or flats (−), −7 to 7."""
    place = fifths + 1 + (3 if minor else 0)
    alter, letter = divmod(place, 7)
    return Key(_FIFTHS[letter] + ("#" * alter if alter > 0 else "b" * -alter), minor)


@lru_cache(maxsize=64)
def scale_names(key: Key) -> dict[int, str]:
    """The name of each pitch class of the key's scale; not to be changed."""
    degrees = _MINOR if key.minor else _MAJOR
    names = (degree_name(key.tonic, degree) for degree in degrees)
    return {pitch_class(name): name for name in names if len(name) < 3}


@lru_cache(maxsize=64)
def signature_scale(key: Key) -> frozenset[int]:
    """The seven pitch classes of the key's signature: in minor without raised sixth and seventh.

    Those are in force where a chord asks for them.
    """
    degrees = _MINOR[:7] if key.minor else _MAJOR
    return frozenset(pitch_class(degree_name(key.tonic, degree)) for degree in degrees)


@lru_cache(maxsize=64)
def names_in_key(key: Key) -> tuple[str, ...]:
    """A name for each of the twelve pitch classes from C, as the key spells them."""
    fifths = signature(key)
    side = "sharps" if fifths > 0 else "flats" if fifths < 0 else "none"
    scale = scale_names(key)
    return tuple(scale.get(pc, name) for pc, name in enumerate(_BY_SIGNATURE[side]))
