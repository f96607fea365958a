"""Audits and charts as pandas tables, for a notebook.

Every function returns a new DataFrame with one row an entry and plain columns: places are
``chorus``, ``bar`` and ``beat``; what is null in the JSON is missing here. Nothing is rounded.
Shares are 0 to 1, commitment 0 to 100, pitches MIDI numbers as they sound.

A column has the same type whatever is in it, also in an empty table: whole numbers ``Int64``,
other numbers ``float64``, yes and no ``bool`` (``boolean`` in ``grades``, where it may be
missing), and text as pandas keeps it. What is no audit, chart and so on is a ``TypeError``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linecheck.comparison_terms import Comparison
from linecheck.music.form import Form
from linecheck.reference_terms import ReferenceProfile
from linecheck.terms import FUNCTIONS, STEPS_PER_BEAT, Audit, Chart

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    import pandas as pd

    from linecheck.grade import GradeBook

__all__ = [
    "bars",
    "choruses",
    "costs",
    "grades",
    "landings",
    "losses",
    "notes",
    "places",
    "sections",
    "shares",
]

_WHOLE = (
    "chorus", "bar", "pitch", "velocity", "approach_target", "note", "notes", "root", "bass",
    "recovered_chorus", "recovered_bar", "before_shown", "before_asked", "after_shown",
    "after_asked", "takes", "choruses",
)  # fmt: skip
_FRACTIONS = (
    "beat", "recovered_beat", "onset_s", "duration_s", "placement_ms", "cents", "offset_beats",
    "confidence", "purpose", "landings", "form", "presence", "commitment", "points", "share",
    "mean", "spread",
)  # fmt: skip
_YES_OR_NO = (
    "anticipation", "ghost", "landing", "met", "anticipated", "opens_section", "counted",
    "certain", "clear",
)  # fmt: skip
_TYPES = {  # what is in none of these is text
    **dict.fromkeys(_WHOLE, "Int64"),
    **dict.fromkeys(_FRACTIONS, "float64"),
    **dict.fromkeys(_YES_OR_NO, "bool"),
}


def _table(
    rows: Iterable[dict[str, Any]], columns: Sequence[str], counts: Sequence[str] = ()
) -> pd.DataFrame:
    """A table of these columns; ``counts`` are those that are whole numbers here alone."""
    import pandas as pd  # noqa: PLC0415  (only a notebook needs it)

    text = pd.Series([""]).dtype  # object before pandas 3
    types = {name: "Int64" if name in counts else _TYPES.get(name, text) for name in columns}
    return pd.DataFrame(list(rows), columns=list(columns)).astype(types)


def _unplayed(audit: Audit) -> dict[str, None]:
    """What a written line has no value of: nobody played it, late or early."""
    return {"placement_ms": None} if audit.line.grid == "written" else {}


def _check(given: object, kind: type) -> None:
    """Refuse what a table cannot be made of.

    Raises:
        TypeError: it is of another kind.
    """
    if not isinstance(given, kind):
        name = kind.__name__
        article = "an" if name[0] in "AEIOU" else "a"
        raise TypeError(f"{article} {name} was expected, and {type(given).__name__} was given")


def notes(audit: Audit) -> pd.DataFrame:
    """One row a note, in the order of the line."""
    _check(audit, Audit)
    columns = (
        "chorus", "bar", "beat", "section", "chord", "pitch", "name", "degree", "function",
        "function_in_own_place", "approach", "approach_direction", "approach_target",
        "anticipation", "ghost", "landing", "onset_s", "duration_s", "placement_ms", "velocity",
        "cents",
    )  # fmt: skip
    plain = [name for name in columns[3:] if not name.startswith("approach")]
    rows = (
        {
            "chorus": note.place.chorus,
            "bar": note.place.bar,
            "beat": note.place.beat,
            "approach": note.approach and note.approach.kind,
            "approach_direction": note.approach and note.approach.direction,
            "approach_target": note.approach and note.approach.target,
            **{name: getattr(note, name) for name in plain},
            **_unplayed(audit),
        }
        for note in audit.labels.notes
    )
    return _table(rows, columns)


def landings(audit: Audit) -> pd.DataFrame:
    """One row a landing; ``note`` is the row of ``notes`` that was struck for it."""
    _check(audit, Audit)
    columns = (
        "chorus", "bar", "beat", "section", "chord", "met", "function", "anticipated",
        "placement_ms", "note", "opens_section", "counted",
    )  # fmt: skip
    rows = (
        {
            "chorus": landing.place.chorus,
            "bar": landing.place.bar,
            "beat": landing.place.beat,
            **{name: getattr(landing, name) for name in columns[3:]},
            **_unplayed(audit),
        }
        for landing in audit.labels.landings
    )
    return _table(rows, columns)


def losses(audit: Audit) -> pd.DataFrame:
    """One row a form loss; ``certain`` is false for one that is only possible.

    ``other_offsets``: beats, divided by spaces; nobody can tell those from ``offset_beats``.
    """
    _check(audit, Audit)
    form = Form(audit.chart, audit.line.choruses)
    columns = (
        "chorus", "bar", "beat", "kind", "offset_beats", "recovered_chorus", "recovered_bar",
        "recovered_beat", "confidence", "certain", "other_offsets",
    )  # fmt: skip
    rows = []
    for loss in audit.line.losses:
        place = form.place(loss.step)
        back = None if loss.recovered_step is None else form.place(loss.recovered_step)
        rows.append(
            {
                "chorus": place.chorus,
                "bar": place.bar,
                "beat": place.beat,
                "kind": loss.kind,
                "offset_beats": loss.offset_beats,
                "recovered_chorus": back and back.chorus,
                "recovered_bar": back and back.bar,
                "recovered_beat": back and back.beat,
                "confidence": loss.confidence,
                "certain": loss.certain,
                "other_offsets": " ".join(f"{offset:g}" for offset in loss.other_offsets),
            }
        )
    return _table(rows, columns)


def choruses(audit: Audit) -> pd.DataFrame:
    """One row a chorus, with the number of notes of each of the seven functions."""
    _check(audit, Audit)
    columns = (
        "chorus", "style", "notes", *FUNCTIONS, "purpose", "landings", "form", "presence",
        "commitment",
    )  # fmt: skip
    rows = (
        {
            **{function: score.functions.get(function, 0) for function in FUNCTIONS},
            **{name: getattr(score, name) for name in columns if name not in FUNCTIONS},
        }
        for score in audit.judgement.choruses
    )
    return _table(rows, columns, counts=FUNCTIONS)


def sections(audit: Audit) -> pd.DataFrame:
    """One row a section of a chorus; ``clear`` says whether its boundary was shown."""
    _check(audit, Audit)
    columns = ("chorus", "section", "bar", "commitment", "landings", "clear")
    return _table(
        ({name: getattr(score, name) for name in columns} for score in audit.judgement.sections),
        columns,
    )


def costs(audit: Audit) -> pd.DataFrame:
    """One row for every bar and part that took points, the dearest first."""
    _check(audit, Audit)
    columns = ("chorus", "bar", "section", "part", "points", "why")
    return _table(
        ({name: getattr(cost, name) for name in columns} for cost in audit.judgement.costs),
        columns,
    )


def bars(chart: Chart) -> pd.DataFrame:
    """One row a chord of one chorus; root and bass are pitch classes (C = 0)."""
    _check(chart, Chart)
    columns = ("bar", "section", "beat", "symbol", "root", "bass", "tones", "available")
    rows = (
        {
            "bar": bar.number,
            "section": bar.section,
            "beat": 1 + placed.step / STEPS_PER_BEAT,
            "symbol": placed.chord.symbol,
            "root": placed.chord.root,
            "bass": placed.chord.bass,
            "tones": " ".join(tone.degree for tone in placed.chord.tones),
            "available": " ".join(tension.degree for tension in placed.chord.available),
        }
        for bar in chart.bars
        for placed in bar.chords
    )
    return _table(rows, columns)


def places(comparison: Comparison) -> pd.DataFrame:
    """One row a place of the form of a comparison: how often each side showed it, of how often."""
    _check(comparison, Comparison)
    columns = (
        "kind", "bar", "beat", "section", "chord", "before_shown", "before_asked", "after_shown",
        "after_asked", "outcome",
    )  # fmt: skip
    rows = (
        {
            "before_shown": place.before[0],
            "before_asked": place.before[1],
            "after_shown": place.after[0],
            "after_asked": place.after[1],
            **{name: getattr(place, name) for name in (*columns[:5], "outcome")},
        }
        for place in comparison.places
    )
    return _table(rows, columns)


def shares(profile: ReferenceProfile) -> pd.DataFrame:
    """One row a function in a place of reference lines, with its share and what is behind it."""
    _check(profile, ReferenceProfile)
    columns = (
        "style", "by", "name", "function", "share", "mean", "spread", "takes", "choruses", "notes",
    )  # fmt: skip
    behind = ("style", "by", "name", "takes", "choruses", "notes")
    rows = (
        {
            "function": function,
            "share": row.shares[function],
            "mean": row.means[function],
            "spread": row.spreads[function],
            **{name: getattr(row, name) for name in behind},
        }
        for row in profile.shares
        for function in FUNCTIONS
    )
    return _table(rows, columns)


def grades(book: GradeBook) -> pd.DataFrame:
    """One row a submission of a grade book, by the columns of ``grades.csv``, as the book's files.

    Marks are rounded as they are there. ``passed`` and ``late`` are missing where it is not asked,
    and ``due`` and ``submitted`` are the text of the table.
    """
    from linecheck.grade import GradeBook  # noqa: PLC0415  (only where takes are graded)
    from linecheck.grade.columns import COLUMNS, flat_row  # noqa: PLC0415

    _check(book, GradeBook)
    import pandas as pd  # noqa: PLC0415  (only a notebook needs it)

    text = pd.Series([""]).dtype  # object before pandas 3
    types = {str: text, float: "float64", int: "Int64", bool: "boolean"}
    names = [column.name for column in COLUMNS]
    rows = [flat_row(row) for row in book]
    return pd.DataFrame(rows, columns=names).astype({c.name: types[c.kind] for c in COLUMNS})
