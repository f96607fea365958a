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

from linecheck.arguments import PASS_MARK
from linecheck.faults import RubricFault
from linecheck.read.toml_checks import check_keys, is_number, listed, read_table, shown
from linecheck.terms import Rubric

PACKAGED = Path(__file__).parent.parent / "rubric.toml"
KEYS = ("name", "pass_mark", "weights")


def read_rubric(path: str | Path | None = None) -> Rubric:
    """Read a rubric; without a path, the packaged one.

    Raises:
        RubricFault: the file cannot be read as TOML, has an unknown key, or a weight is no weight.
    """
    file = PACKAGED if path is None else Path(path)
    source = "packaged rubric" if path is None else str(path)
    return _rubric(read_table(file, source, RubricFault), source)


def _rubric(table: dict[str, Any], source: str) -> Rubric:
    check_keys(table, KEYS, RubricFault, source)
    name = table.get("name")
    if not isinstance(name, str) or not name.strip():
        raise RubricFault(
            f'name is {shown(name)}; expected a text such as "Even-handed"', source=source
        )
    weights = table.get("weights")
    if not isinstance(weights, dict):
        read = "has no [weights]" if weights is None else f"weights is {shown(weights)}"
        raise RubricFault(f"{read}; expected a table with {listed(_parts())}", source=source)
    place = ("[weights]",)
    check_keys(weights, _parts(), RubricFault, source, place)
    for part, weight in weights.items():
        if not is_number(weight) or weight < 0:
            raise RubricFault(
                f"{part} is {shown(weight)}; expected a number, 0 or more",
                source=source,
                place=place,
            )
    if sum(weights.values()) <= 0:
        raise RubricFault(
            "add up to 0; expected at least one weight above 0", source=source, place=place
        )
    pass_mark = table.get("pass_mark")
    low, high = PASS_MARK
    if pass_mark is not None and not (is_number(pass_mark) and low <= pass_mark <= high):
        raise RubricFault(
            f"pass_mark is {shown(pass_mark)}; expected a number from {low:g} to {high:g}",
            source=source,
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


def _fingerprint(weights: dict[str, float], pass_mark: float | None) -> str:
    """A hash of what the rubric means: proportions of weights above 0, and the pass mark."""
    whole = float(sum(weights.values()))
    meaning = {part: f"{weight / whole:.9f}" for part, weight in weights.items() if weight > 0}
    if pass_mark is not None:
        meaning["pass_mark"] = f"{float(pass_mark):.9f}"
    text = json.dumps(meaning, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()
