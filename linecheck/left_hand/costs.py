"""The costs of a fingering, read from a small TOML file.

Every number of the packaged ``costs.toml`` may be changed; one that is left out keeps its packaged
value, an unknown one is a fault. Units stand in that file: costs have none, places of the hand are
half steps above the nut, times are seconds.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linecheck.arguments import checked_file
from linecheck.faults import CostsFault
from linecheck.read.toml_checks import check_keys, is_number, read_table, shown

if TYPE_CHECKING:
    from os import PathLike

__all__ = ["Costs", "read_costs"]

PACKAGED = Path(__file__).with_name("costs.toml")
MOST_BOARD = 36
# Where zero would divide, or leave no hand.
LEAST = {"even_s": 0.01, "least": 0.01, "most": 0.01, "free": 0.01, "neck_to": 1, "board": 1,
         "first": 1, "second": 2, "third": 3, "neighbours": 1, "thumb_from": 1, "third_from": 1}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Costs:
    """What a fingering costs; each field is a key of ``costs.toml``, explained there."""

    name: str
    start: float
    half_step: float
    thumb: float
    pivot: float
    even_s: float
    least: float
    most: float
    free: float
    rest_s: float
    crossing: float
    same_finger: float
    high_on_low: float
    stopped: float
    height: float
    in_thumb: float
    another_finger: float
    slide: float
    neck_to: int
    third_from: int
    thumb_from: int
    board: int
    first: int
    second: int
    third: int
    neighbours: int


def read_costs(path: str | PathLike[str] | None = None) -> Costs:
    """Read the costs; without a path, the packaged ones.

    Raises:
        CostsFault: the file cannot be read as TOML, has an unknown key, or a number is no cost.
    """
    packaged = tomllib.loads(PACKAGED.read_text("utf-8"))
    if path is None:
        return _costs(packaged, packaged, "packaged costs")
    file = checked_file(path, "cost file")
    return _costs(read_table(file, str(file), CostsFault), packaged, str(file))


def _costs(table: dict[str, Any], packaged: dict[str, Any], source: str) -> Costs:
    check_keys(table, tuple(packaged), CostsFault, source)
    name = table.get("name")
    if not isinstance(name, str) or not name.strip():
        raise CostsFault(
            f'name is {shown(name)}; expected a text such as "Small hand"', source=source
        )
    values: dict[str, Any] = {}
    for section, defaults in packaged.items():
        if section == "name":
            continue
        given = table.get(section, {})
        if not isinstance(given, dict):
            raise CostsFault(f"{section} is {shown(given)}; expected a table", source=source)
        check_keys(given, tuple(defaults), CostsFault, source, (f"[{section}]",))
        for key, default in defaults.items():
            value = given.get(key, default)
            values[key] = _checked(key, value, source, section, whole=section == "hand")
    costs = Costs(name.strip(), **values)
    _check_hand(costs, source)
    return costs


def _checked(key: str, value: Any, source: str, section: str, *, whole: bool) -> float | int:
    least = LEAST.get(key, 0)
    good = is_number(value) and value >= least and (not whole or isinstance(value, int))
    if not good:
        kind = "a whole number of half steps" if whole else "a number"
        raise CostsFault(
            f"{key} is {shown(value)}; expected {kind}, {least:g} or more",
            source=source,
            place=(f"[{section}]",),
        )
    return int(value) if whole else float(value)


def _check_hand(costs: Costs, source: str) -> None:
    def refuse(problem: str) -> None:
        raise CostsFault(problem, source=source, place=("[hand]",))

    if costs.board > MOST_BOARD:
        refuse(f"board is {costs.board}; three octaves ({MOST_BOARD} half steps) are the most")
    if costs.thumb_from > costs.neck_to + 3:
        refuse(
            f"thumb_from is {costs.thumb_from} and neck_to {costs.neck_to}: "
            "no hand reaches the notes between them"
        )
    if not costs.first < costs.second < costs.third <= MOST_BOARD:
        refuse("first, second and third must reach further one after the other")
    if costs.least > costs.most:
        raise CostsFault(
            f"least is {costs.least:g}, above most, {costs.most:g}",
            source=source,
            place=("[time]",),
        )
