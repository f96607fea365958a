"""The checks of small TOML files that a teacher changes: a table is read, its keys and numbers told.

A key that is not known is a fault that names the nearest one; a number is finite and below 1e9.
"""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any

from linecheck.read.file_checks import read_text

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from linecheck.faults import InputFault

LARGEST = 1e9


def read_table(file: Path, source: str, fault: type[InputFault]) -> dict[str, Any]:
    """The table of a TOML file; ``fault`` where it is none."""
    text = read_text(file, fault)
    try:
        return tomllib.loads(text)
    except ValueError as error:  # TOMLDecodeError, or an integer of thousands of digits
        from linecheck.read.toml_slips import explain  # noqa: PLC0415  only a slip needs it

        problem, line = explain(text, error)
        place = (f"line {line}",) if line else ()
        raise fault(problem, source=source, place=place) from None
    except RecursionError:
        raise fault("is not valid TOML: nested too deeply", source=source) from None


def check_keys(
    table: dict[str, Any],
    known: Sequence[str],
    fault: type[InputFault],
    source: str,
    place: tuple[str, ...] = (),
) -> None:
    """Refuse a key that is not known, with the nearest one."""
    for key in table:
        if key not in known:
            import difflib  # noqa: PLC0415  only a slip needs it

            near = difflib.get_close_matches(key.lower(), known, n=1, cutoff=0.5)
            guess = f"; did you mean {near[0]}?" if near else ""
            raise fault(
                f"unknown key {key!r}; expected {listed(known)}{guess}",
                source=source,
                place=place,
            )


def is_number(value: object) -> bool:
    """Whether it is a number that can be reckoned with."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return False
    return abs(value) <= LARGEST  # false for nan, inf and integers that no float holds


def shown(value: object) -> str:
    """A value as a fault shows it."""
    return "missing" if value is None else repr(value)[:40]


def listed(names: Sequence[str]) -> str:
    """Names as a fault lists them: ``"a, b or c"``."""
    return f"{', '.join(names[:-1])} or {names[-1]}" if len(names) > 1 else names[0]
