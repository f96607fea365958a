"""A profile of reference lines (JSON, schema 1), as ``linecheck reference --json FILE`` writes it.

Its keys are ``schema``, ``takes``, ``choruses``, ``notes`` and ``shares``; each entry of ``shares``
has ``style``, ``by``, ``name``, what stands behind it, and for every function a ``share`` and a
``mean`` (0 to 1) and a ``spread`` (0 to 0.5). A key that is not known or a figure out of bounds is
a fault.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, get_args

from linecheck.faults import ReferenceFault
from linecheck.read.file_checks import read_text
from linecheck.read.toml_checks import check_keys, is_number, listed, shown
from linecheck.reference_terms import ReferenceGroup, ReferenceProfile, ReferenceShare
from linecheck.terms import FUNCTIONS, Style

if TYPE_CHECKING:
    from pathlib import Path

SCHEMA = 1
COUNTS = ("takes", "choruses", "notes")
KEYS = ("schema", *COUNTS, "shares")
ROW_KEYS = ("style", "by", "name", *COUNTS, "functions")
FIGURES = ("share", "mean", "spread")
LARGEST_SPREAD = 0.5  # no share strays further


def read_reference_profile(path: Path) -> ReferenceProfile:
    """Read a profile.

    Raises:
        ReferenceFault: the file is no profile; one line says where and why.
    """
    source = str(path)
    try:
        data = json.loads(read_text(path, ReferenceFault))
    except (ValueError, RecursionError) as error:
        raise ReferenceFault(
            f"is no profile that linecheck reference has written: not valid JSON ({error})",
            source=source,
        ) from None
    if not isinstance(data, dict) or not isinstance(data.get("shares"), list):
        raise ReferenceFault(
            "is no reference profile; a file that linecheck reference --json wrote was expected",
            source=source,
        )
    if data.get("schema") != SCHEMA:
        raise ReferenceFault(
            f"schema is {shown(data.get('schema'))}; expected {SCHEMA}", source=source
        )
    check_keys(data, KEYS, ReferenceFault, source)
    rows = tuple(
        _row(row, source, (f"shares, entry {number}",))
        for number, row in enumerate(data["shares"], start=1)
    )
    places = [(row.style, row.by, row.name) for row in rows]
    for place in places:
        if places.count(place) > 1:
            raise ReferenceFault(f"has {', '.join(place)} twice", source=source)
    return ReferenceProfile(*_counts(data, source, ()), rows, source)


def _counts(table: dict[str, Any], source: str, place: tuple[str, ...]) -> tuple[int, int, int]:
    for key in COUNTS:
        value = table.get(key)
        if not isinstance(value, int) or isinstance(value, bool) or value < 1:
            raise ReferenceFault(
                f"{key} is {shown(value)}; expected a whole number, 1 or more",
                source=source,
                place=place,
            )
    return table["takes"], table["choruses"], table["notes"]


def _row(row: Any, source: str, place: tuple[str, ...]) -> ReferenceShare:
    if not isinstance(row, dict):
        raise ReferenceFault(f"is {shown(row)}; expected a table", source=source, place=place)
    check_keys(row, ROW_KEYS, ReferenceFault, source, place)
    for key, allowed in (("style", get_args(Style)), ("by", get_args(ReferenceGroup))):
        if row.get(key) not in allowed:
            raise ReferenceFault(
                f"{key} is {shown(row.get(key))}; expected {listed(allowed)}",
                source=source,
                place=place,
            )
    if not isinstance(row.get("name"), str) or not row["name"]:
        raise ReferenceFault(
            f"name is {shown(row.get('name'))}; expected a beat or a type of chord",
            source=source,
            place=place,
        )
    functions = row.get("functions")
    if not isinstance(functions, dict):
        raise ReferenceFault("has no functions; expected a table", source=source, place=place)
    check_keys(functions, FUNCTIONS, ReferenceFault, source, place)
    for function, entry in functions.items():
        if isinstance(entry, dict):
            check_keys(entry, FIGURES, ReferenceFault, source, (*place, function))
    figures = {
        key: {f: _figure(functions.get(f), f, key, source, place) for f in FUNCTIONS}
        for key in FIGURES
    }
    takes, choruses, notes = _counts(row, source, place)
    return ReferenceShare(
        row["style"], row["by"], row["name"], takes, choruses, notes,
        *(figures[key] for key in FIGURES),
    )  # fmt: skip


def _figure(entry: Any, function: str, key: str, source: str, place: tuple[str, ...]) -> float:
    value: Any = entry.get(key) if isinstance(entry, dict) else None
    most = LARGEST_SPREAD if key == "spread" else 1.0
    if not is_number(value) or not 0 <= value <= most:
        raise ReferenceFault(
            f"{key} is {shown(value)}; expected a number from 0 to {most:g}",
            source=source,
            place=(*place, function),
        )
    return float(value)
