"""The table of chord types: what each is made of and what a line may use over it.

Degrees are spelled against the major scale on the root ("b3", "#11"). The four functions: the
``thirds`` hold what stands in the third's place (the 4th or 2nd of a sus chord), ``fifths`` the
fifth that the symbol gives (both in ``alt``), ``seventh`` the 7th, or the 6th of a sixth chord.

Sources. Tones of the kinds that MusicXML 4.0 names: its list of kind values. Available tensions:
the table of the definition; for types that it does not list (diminished triad, power chord, pedal,
no third) common practice, marked below. A type that is not listed here, such as maj7b5, takes the
row with a plain fifth; a tension that is then a chord tone falls away by itself.
"""

from __future__ import annotations

from dataclasses import dataclass

ORDER = ("b9", "9", "#9", "b3", "3", "11", "#11", "b13", "13", "bb7", "b7", "7")
ORDER_OF = {degree: place for place, degree in enumerate(ORDER)}


@dataclass(frozen=True, slots=True)
class ChordType:
    """A row of the table. ``suffix`` is the plain spelling after the root.

    ``dominant``: where the symbol alters the 9th or the 13th, the plain one is not available.
    """

    kind: str
    suffix: str
    thirds: tuple[str, ...]
    fifths: tuple[str, ...]
    seventh: str | None
    available: tuple[str, ...]
    dominant: bool = False


def _row(
    kind: str, suffix: str, tones: str, available: str, *, dominant: bool = False
) -> ChordType:
    """Read a row: ``tones`` are third, fifth and seventh, "." for none, "+" between two."""
    third, fifth, seventh = (tuple(t.split("+")) if t != "." else () for t in tones.split())
    tensions = tuple(available.split())
    return ChordType(
        kind, suffix, third, fifth, seventh[0] if seventh else None, tensions, dominant
    )


_DOMINANT = "b9 9 #9 #11 b13 13"
_SUS = "9 3 13"

CHORD_TYPES: tuple[ChordType, ...] = (
    # kind                         plain spelling  third fifth seventh  available
    _row("major", "", "3 5 .", "9 #11 13"),
    _row("major-seventh", "maj7", "3 5 7", "9 #11 13"),
    _row("major-sixth", "6", "3 5 6", "9 #11 7"),
    _row("minor", "m", "b3 5 .", "9 11 13"),
    _row("minor-seventh", "m7", "b3 5 b7", "9 11 13"),
    _row("minor-sixth", "m6", "b3 5 6", "9 11 7"),
    _row("minor-major-seventh", "mMaj7", "b3 5 7", "9 11 13"),
    _row("dominant", "7", "3 5 b7", _DOMINANT, dominant=True),
    _row("augmented-seventh", "7#5", "3 #5 b7", _DOMINANT, dominant=True),
    _row("altered", "7alt", "3 b5+#5 b7", "b9 #9", dominant=True),
    _row("suspended-fourth", "sus4", "4 5 .", _SUS),
    _row("suspended-second", "sus2", "2 5 .", _SUS),
    _row("suspended-second-fourth", "sus24", "2+4 5 .", _SUS),
    _row("suspended-fourth-seventh", "7sus4", "4 5 b7", _SUS),
    _row("half-diminished", "m7b5", "b3 b5 b7", "9 11 b13"),
    # Common practice: a diminished triad is played as the seventh chord.
    _row("diminished", "dim", "b3 b5 .", "9 11 b13 bb7"),
    _row("diminished-seventh", "dim7", "b3 b5 bb7", "9 11 b13 7"),
    _row("diminished-major-seventh", "dim(maj7)", "b3 b5 7", "9 11 b13"),
    _row("augmented", "aug", "3 #5 .", "9 #11"),
    _row("augmented-major-seventh", "maj7#5", "3 #5 7", "9 #11"),
    # Common practice: what a power chord or a pedal leaves open may be filled.
    _row("power", "5", ". 5 .", "9 b3 3 11 13"),
    _row("pedal", "pedal", ". . .", "9 b3 3 11 13"),
)

_BY_TONES = {(t.thirds, t.fifths, t.seventh): t for t in CHORD_TYPES}
BY_KIND = {t.kind: t for t in CHORD_TYPES}


def type_of(thirds: tuple[str, ...], fifths: tuple[str, ...], seventh: str | None) -> ChordType:
    """The row of a chord: its own, else that with a plain fifth, else that of the plain triad."""
    for tones in ((thirds, fifths, seventh), (thirds, ("5",), seventh)):
        if tones in _BY_TONES:
            return _BY_TONES[tones]
    return _BY_TONES[thirds, ("5",), None]
