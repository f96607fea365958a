"""A chord from the ``<kind>`` and ``<degree>`` of MusicXML's ``<harmony>``, and back.

Source: MusicXML 4.0, data type kind-value and element degree. An added degree is altered against
the dominant ninth's family (major and perfect intervals, the 7th minor); an altered one against
the degree that the kind has; a subtracted one is left out.

The functional kinds have their root as the tonic of the key (as music21 10 reads them): they are
read as the chord that sounds, a Neapolitan as the major triad on b2, an augmented sixth as the
seventh chord on b6, a Tristan chord as the half-diminished chord on its root.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, TypeAlias

from linecheck.faults import ChartFault
from linecheck.music.chord_makeup import Makeup, make_chord, no_chord, write_symbol
from linecheck.music.chord_types import BY_KIND, ORDER_OF
from linecheck.music.pitch import degree_name, degree_number, pitch_class
from linecheck.terms import CHORD_TONES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linecheck.terms import Chord

DegreeType: TypeAlias = Literal["add", "alter", "subtract"]
Degree: TypeAlias = tuple[int, int, DegreeType]

# kind-value → (row of the table of chord types, figure)
_KINDS: dict[str, tuple[str, int]] = {
    "major": ("major", 0),
    "minor": ("minor", 0),
    "augmented": ("augmented", 0),
    "diminished": ("diminished", 0),
    "dominant": ("dominant", 7),
    "major-seventh": ("major-seventh", 7),
    "minor-seventh": ("minor-seventh", 7),
    "diminished-seventh": ("diminished-seventh", 7),
    "augmented-seventh": ("augmented-seventh", 7),
    "half-diminished": ("half-diminished", 7),
    "major-minor": ("minor-major-seventh", 7),
    "major-sixth": ("major-sixth", 0),
    "minor-sixth": ("minor-sixth", 0),
    "dominant-ninth": ("dominant", 9),
    "major-ninth": ("major-seventh", 9),
    "minor-ninth": ("minor-seventh", 9),
    "dominant-11th": ("dominant", 11),
    "major-11th": ("major-seventh", 11),
    "minor-11th": ("minor-seventh", 11),
    "dominant-13th": ("dominant", 13),
    "major-13th": ("major-seventh", 13),
    "minor-13th": ("minor-seventh", 13),
    "suspended-second": ("suspended-second", 0),
    "suspended-fourth": ("suspended-fourth", 0),
    "pedal": ("pedal", 0),
    "power": ("power", 0),
    "Tristan": ("half-diminished", 7),
    "Neapolitan": ("major", 0),
    "Italian": ("dominant", 7),
    "French": ("dominant", 7),
    "German": ("dominant", 7),
    "other": ("pedal", 0),
}
# functional kind → degree of the tonic that is the root that sounds, bass, and what else differs
_FUNCTIONAL: dict[str, tuple[str, str, Sequence[Degree]]] = {
    "Neapolitan": ("b2", "4", ()),
    "Italian": ("b6", "b6", ((5, 0, "subtract"),)),
    "French": ("b6", "b6", ((5, -1, "alter"),)),
    "German": ("b6", "b6", ()),
}
KIND_VALUES = (*_KINDS, "none")
_AS_TENSION = {2: 9, 4: 11, 6: 13}
_TYPES = ("alter", "subtract", "add")  # in this order: what is taken away makes room


def chord_from_musicxml(
    root_name: str,
    kind: str,
    degrees: Sequence[Degree] = (),
    bass_name: str | None = None,
    symbol: str | None = None,
) -> Chord:
    """Build the chord of one ``<harmony>``.

    Args:
        root_name: the root, spelled ("Bb"); not looked at for the kind "none".
        kind: a kind-value of MusicXML 4.0.
        degrees: degree-value, degree-alter and degree-type of each ``<degree>``.
        bass_name: the bass, spelled; None: the root.
        symbol: how the chord is shown; None: a plain chord symbol is written.

    Raises:
        ChartFault: an unknown kind, or a degree that no chord has. The fault has no source and
            no place: the caller knows them.
    """
    if kind == "none":
        return no_chord(symbol or "N.C.")
    _check(root_name, kind, degrees, bass_name)
    row_name, figure = _KINDS[kind]
    if kind in _FUNCTIONAL:
        root, bass, own = _FUNCTIONAL[kind]
        bass_name = bass_name or degree_name(root_name, bass)
        root_name = degree_name(root_name, root)
        degrees = (*own, *degrees)
    row = BY_KIND[row_name]
    makeup = Makeup(row.thirds, row.fifths, row.seventh)
    makeup.name_extension(figure)
    for value, alter, how in sorted(degrees, key=lambda degree: _TYPES.index(degree[2])):
        _change(makeup, value, alter, how)
    _settle(makeup)
    shown = symbol or write_symbol(root_name, makeup, bass_name)
    return make_chord(shown, root_name, makeup, bass_name)


def _check(root_name: str, kind: str, degrees: Sequence[Degree], bass_name: str | None) -> None:
    if kind not in _KINDS:
        expected = ", ".join(KIND_VALUES)
        raise ChartFault(f"{kind!r} is no kind of chord in MusicXML; expected one of {expected}")
    if kind == "other" and not degrees:
        raise ChartFault("a chord of the kind 'other' names no degrees: its tones are not known")
    if unknown := {how for _, _, how in degrees if how not in _TYPES}:
        raise ChartFault(f"{min(unknown)!r} is no type of degree; expected add, alter or subtract")
    for name in filter(None, (root_name, bass_name)):
        try:
            pitch_class(name)
        except ValueError as error:
            raise ChartFault(str(error)) from None


def _settle(makeup: Makeup) -> None:
    """Leave out the plain third or fifth where none was given; refuse what is no chord."""
    makeup.drop_omitted_seventh()
    if "3" in makeup.tensions and not {"2", "4"} & {*makeup.thirds}:
        makeup.thirds = ("3",)
        makeup.tensions.discard("3")
    if not makeup.seventh and "7" in makeup.tensions:
        makeup.seventh = "7"
        makeup.tensions.discard("7")
    is_bare = makeup.fifths == ("5",) or not (makeup.fifths or makeup.tensions)
    if not makeup.thirds and (makeup.seventh or not is_bare):  # neither power chord nor pedal
        makeup.thirds = ("3",)
        makeup.omitted.add("3")
    if makeup.thirds and not makeup.fifths:
        makeup.fifths = ("5",)
        makeup.omitted.add("5")
    if makeup.alters_what_it_omits():
        raise ChartFault("the fifth is both altered and left out")
    if "7" in makeup.tensions and makeup.seventh not in ("6", "bb7"):
        raise ChartFault("the chord has two sevenths")
    if makeup.seventh == "bb7" and (makeup.thirds, makeup.fifths) != (("b3",), ("b5",)):
        raise ChartFault("the degree bb7 is in no chord but a diminished one")


def _change(makeup: Makeup, value: int, alter: int, how: str) -> None:
    seventh = (makeup.seventh,) if makeup.seventh else ()
    degrees = (*makeup.thirds, *makeup.fifths, *seventh, *makeup.tensions)
    present = next((d for d in degrees if degree_number(d) == value), None)
    if how == "subtract":
        if present in {"2", "4", "6", *makeup.tensions}:
            _take(makeup, present)
        elif present is not None:
            makeup.omitted.add(present)
        return
    if how == "alter" and present is not None:
        _take(makeup, present)
        alter += present.count("#") - present.count("b")
    elif value == 7:
        alter -= 1
        if alter == -2 and "b5" not in makeup.fifths:  # lowered against the major scale
            alter = -1
    _put(makeup, value, alter)


def _take(makeup: Makeup, degree: str) -> None:
    """Take a degree out, to be put back altered."""
    makeup.thirds = tuple(d for d in makeup.thirds if d != degree)
    makeup.fifths = tuple(d for d in makeup.fifths if d != degree)
    makeup.seventh = None if makeup.seventh == degree else makeup.seventh
    makeup.tensions.discard(degree)
    makeup.omitted.discard(degree)


def _put(makeup: Makeup, value: int, alter: int) -> None:
    """Put a degree where its number belongs."""
    degree = ("#" * alter if alter > 0 else "b" * -alter) + str(value)
    third_is_free = set(makeup.thirds) <= makeup.omitted
    if degree in ("1", "8"):
        return
    if degree in ("2", "4") and (third_is_free or {degree, *makeup.thirds} == {"2", "4"}):
        makeup.thirds = tuple(sorted({degree, *makeup.thirds} - makeup.omitted))
        makeup.omitted -= {"3", "b3"}
    elif degree in ("3", "b3") and third_is_free:
        makeup.omitted -= set(makeup.thirds)
        makeup.thirds = (degree,)
    elif degree in ("b5", "5", "#5"):
        altered = {f for f in makeup.fifths if "5" not in (f, degree)} - makeup.omitted
        makeup.omitted -= set(makeup.fifths)
        makeup.fifths = tuple(sorted({*altered, degree}, reverse=True))
    elif degree == "7" and makeup.seventh in ("6", "bb7"):
        makeup.tensions.add("7")
    elif degree in ("bb7", "b7", "7"):
        makeup.tensions |= {"13"} if makeup.seventh == "6" else set()
        makeup.omitted -= {makeup.seventh or ""}
        makeup.seventh = degree
    elif degree == "6" and makeup.seventh is None:
        makeup.seventh = "6"
    else:
        _put_tension(makeup, value, degree)


def _put_tension(makeup: Makeup, value: int, degree: str) -> None:
    number = str(_AS_TENSION.get(value, value))
    tension = degree[: -len(str(value))] + number
    if tension == "b3" and "3" in makeup.thirds:
        tension = "#9"
    third_of_sus = tension == "3" and {"2", "4"} & {*makeup.thirds}
    if not third_of_sus and (tension not in ORDER_OF or degree_number(tension) < 9):
        raise ChartFault(f"the degree {degree} is in no chord that can be read")
    makeup.tensions.add(tension)


# ---- and back --------------------------------------------------------------------------------

Tones: TypeAlias = tuple[tuple[str, ...], tuple[str, ...], str | None]

# tones → the kind-value of the plain chord
_KIND_OF_TONES: dict[Tones, str] = {
    (row.thirds, row.fifths, row.seventh): kind
    for kind, (name, figure) in _KINDS.items()
    if figure in (0, 7) and kind not in (*_FUNCTIONAL, "Tristan", "other")
    for row in (BY_KIND[name],)
}
# plain kind → (what it needs, its extended kind), the largest first
_EXTENDED: dict[str, tuple[tuple[set[str], str], ...]] = {
    "dominant": (
        ({"9", "13"}, "dominant-13th"),
        ({"9", "11"}, "dominant-11th"),
        ({"9"}, "dominant-ninth"),
    ),
    "major-seventh": (
        ({"9", "13"}, "major-13th"),
        ({"9", "11"}, "major-11th"),
        ({"9"}, "major-ninth"),
    ),
    "minor-seventh": (
        ({"9", "11", "13"}, "minor-13th"),
        ({"9", "11"}, "minor-11th"),
        ({"9"}, "minor-ninth"),
    ),
}


def musicxml_kind(chord: Chord) -> tuple[str, tuple[Degree, ...]]:
    """The kind and the degrees that write a chord as ``<harmony>``.

    The root is ``chord.root_name``; ``chord.bass_name`` is the bass, where it is another.
    ``chord_from_musicxml`` gives the same tones and tensions back.
    """
    if chord.root is None:
        return "none", ()
    makeup = makeup_of(chord)
    kind, degrees = _plain_kind(makeup)
    rest = set(makeup.tensions)
    for needed, extended in _EXTENDED.get(kind, ()):
        if needed <= rest:
            kind, rest = extended, rest - needed
            break
    degrees += [_added(degree) for degree in sorted(rest, key=ORDER_OF.__getitem__)]
    degrees += [(degree_number(degree), 0, "subtract") for degree in sorted(makeup.omitted)]
    return kind, tuple(degrees)


def _plain_kind(makeup: Makeup) -> tuple[str, list[Degree]]:
    """The kind with these tones, or one near it and the degrees that make the difference."""
    fifth: list[Degree] = []
    if makeup.fifths != ("5",):
        fifth = [(*_added(f)[:2], "add" if n else "alter") for n, f in enumerate(makeup.fifths)]
    seventh = [_added(makeup.seventh)] if makeup.seventh else []
    triad = ("2",) if makeup.thirds == ("2",) else makeup.thirds[-1:]
    second = [_added("2")] if len(makeup.thirds) == 2 else []
    for tones, degrees in (
        ((makeup.thirds, makeup.fifths, makeup.seventh), []),
        ((makeup.thirds, ("5",), makeup.seventh), fifth),
        ((triad, makeup.fifths, None), [*second, *seventh]),
        ((triad, ("5",), None), [*fifth, *second, *seventh]),
    ):
        if tones in _KIND_OF_TONES:
            return _KIND_OF_TONES[tones], [*degrees]
    raise ValueError(f"no kind has the tones of {makeup}")


def _added(degree: str) -> Degree:
    alter = degree.count("#") - degree.count("b")
    number = degree_number(degree)
    return number, alter + (number == 7), "add"


def makeup_of(chord: Chord) -> Makeup:
    """The makeup of a chord, from its type, its tones and the tensions that it names."""
    row = BY_KIND[chord.kind]
    own = {f: tuple(t.degree for t in chord.tones if t.function == f) for f in CHORD_TONES}
    makeup = Makeup(own["third"], own["fifth"], next(iter(own["seventh"]), None))
    if row.thirds and not makeup.thirds:
        makeup.thirds = row.thirds
        makeup.omitted |= {*row.thirds}
    if row.fifths and not makeup.fifths:
        makeup.fifths = row.fifths
        makeup.omitted |= {*row.fifths}
    if row.seventh and not makeup.seventh:
        makeup.seventh = row.seventh
        makeup.omitted.add(row.seventh)
    makeup.tensions = {t.degree for t in chord.tensions}
    return makeup
