"""A rubric file (TOML 1.0): what a teacher weighs.

    name = "Even-handed"        # required
    pass_mark = 70              # 0 to 100, optional
    [weights]                   # part → weight, 0 or more, adding up to more than 0
    purpose = 40

The parts are those of the packaged rubric. One that is not named weighs nothing; one that is
unknown is a fault. Only the proportions of the weights have a meaning.
"""

from __future__ import annotations

import hashlib
import json
import tomllib
from pathlib import Path
from typing import Any

from linecheck.faults import RubricFault
from linecheck.read.file_checks import read_text
from linecheck.terms import Rubric

PACKAGED = Path(__file__).parent.parent / "rubric.toml"
LARGEST = 1e9
KEYS = ("name", "pass_mark", "weights")


def read_rubric(path: str | Path | None = None) -> Rubric:
    """Read a rubric; without a path, the packaged one.

    Raises:
        RubricFault: the file cannot be read as TOML, has an unknown key, or a weight is no weight.
    """
    file = PACKAGED if path is None else Path(path)
    source = "packaged rubric" if path is None else str(path)
    return _rubric(_table(file, source), source)


def _table(file: Path, source: str) -> dict[str, Any]:
    text = read_text(file, RubricFault)
    try:
        return tomllib.loads(text)
    except ValueError as fault:  # TOMLDecodeError, or an integer of thousands of digits
        raise RubricFault(f"is not valid TOML: {fault}", source=source) from None
    except RecursionError:
        raise RubricFault("is not valid TOML: nested too deeply", source=source) from None


def _rubric(table: dict[str, Any], source: str) -> Rubric:
    _check_keys(table, KEYS, source, ())
    name = table.get("name")
    if not isinstance(name, str) or not name.strip():
        raise RubricFault(
            f'name is {_shown(name)}; expected a text such as "Even-handed"', source=source
        )
    weights = table.get("weights")
    if not isinstance(weights, dict):
        read = "has no [weights]" if weights is None else f"weights is {_shown(weights)}"
        raise RubricFault(f"{read}; expected a table with {_listed(_parts())}", source=source)
    place = ("[weights]",)
    _check_keys(weights, _parts(), source, place)
    for part, weight in weights.items():
        if not _is_number(weight) or weight < 0:
            raise RubricFault(
                f"{part} is {_shown(weight)}; expected a number, 0 or more",
                source=source,
                place=place,
            )
    if sum(weights.values()) <= 0:
        raise RubricFault(
            "add up to 0; expected at least one weight above 0", source=source, place=place
        )
    pass_mark = table.get("pass_mark")
    if pass_mark is not None and not (_is_number(pass_mark) and 0 <= pass_mark <= 100):
        raise RubricFault(
            f"pass_mark is {_shown(pass_mark)}; expected a number from 0 to 100", source=source
        )
    return Rubric(
        name=name.strip(),
        weights={part: float(weights.get(part, 0)) for part in _parts()},
        source=source,
        fingerprint=_fingerprint(weights, pass_mark),
        pass_mark=None if pass_mark is None else float(pass_mark),
    )


def _parts() -> tuple[str, ...]:
    return tuple(tomllib.loads(PACKAGED.read_text("utf-8"))["weights"])


def _check_keys(
    table: dict[str, Any], known: tuple[str, ...], source: str, place: tuple[str, ...]
) -> None:
    for key in table:
        if key not in known:
            import difflib  # noqa: PLC0415  only a slip needs it

            near = difflib.get_close_matches(key.lower(), known, n=1, cutoff=0.5)
            guess = f"; did you mean {near[0]}?" if near else ""
            raise RubricFault(
                f"unknown key {key!r}; expected {_listed(known)}{guess}",
                source=source,
                place=place,
            )


def _is_number(value: object) -> bool:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return False
    return abs(value) <= LARGEST  # false for nan, inf and integers that no float holds


def _shown(value: object) -> str:
    return "missing" if value is None else repr(value)[:40]


def _listed(names: tuple[str, ...]) -> str:
    return ", ".join(names[:-1]) + " or " + names[-1]


def _fingerprint(weights: dict[str, float], pass_mark: float | None) -> str:
    """A hash of what the rubric means: proportions of weights above 0, and the pass mark."""
    whole = float(sum(weights.values()))
    meaning = {part: f"{weight / whole:.9f}" for part, weight in weights.items() if weight > 0}
    if pass_mark is not None:
        meaning["pass_mark"] = f"{float(pass_mark):.9f}"
    text = json.dumps(meaning, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()
